#include "sheet/sheet_impl.h"

#include <stdlib.h>
#include <string.h>

void grid_init(struct grid *grid)
{
  *grid = (struct grid){0};
}

void grid_release(struct grid *grid)
{
  free(grid->cells);
  *grid = (struct grid){0};
}

static bool too_many(struct reading *r, const char *table, int row, int column, int most,
                     const char *what)
{
  char place[120];

  sheet_place_in(table, row, column, place, sizeof place);
  return sheet_refuse(r, 0, 0,
                      "%s: there are more than %d %s; save the part that is needed as a "
                      "sheet of its own",
                      place, most, what);
}

bool grid_add(struct grid *grid, struct reading *r, const char *table, int row, int column,
              struct sheet_cell cell)
{
  BUG_IF(row < 0 || column < 0);
  bool holds = cell.kind != SHEET_EMPTY || cell.note;

  if (!holds && (row >= SHEET_MOST_ROWS || column >= SHEET_MOST_COLUMNS))
    return true;
  if (row >= SHEET_MOST_ROWS)
    return too_many(r, table, row, column, SHEET_MOST_ROWS, "rows");
  if (column >= SHEET_MOST_COLUMNS)
    return too_many(r, table, row, column, SHEET_MOST_COLUMNS, "columns");
  if (grid->count == SHEET_MOST_CELLS)
    return too_many(r, table, row, column, SHEET_MOST_CELLS, "cells");
  if (grid->count == grid->room) {
    int room = grid->room > 0 ? grid->room * 2 : 256;
    struct grid_cell *cells = realloc(grid->cells, (size_t)room * sizeof *cells);

    if (!cells)
      err_no_memory();
    grid->cells = cells;
    grid->room = room;
  }
  grid->cells[grid->count++] = (struct grid_cell){row, column, cell};
  if (holds) {
    grid->rows = row >= grid->rows ? row + 1 : grid->rows;
    grid->columns = column >= grid->columns ? column + 1 : grid->columns;
  }
  return true;
}

bool grid_finish(struct grid *grid, struct reading *r, struct sheet_table *table)
{
  size_t count = (size_t)grid->rows * (size_t)grid->columns;

  if (count > (size_t)(SHEET_MOST_CELLS - r->cells))
    return sheet_refuse(r, 0, 0,
                        "%s%s%d rows by %d columns are more than the %d cells that are read "
                        "of one file; save the part that is needed as a sheet of its own",
                        table->name, table->name[0] != '\0' ? ": " : "", grid->rows, grid->columns,
                        SHEET_MOST_CELLS);

  struct sheet_cell *cells = ARENA_ARRAY(r->arena, struct sheet_cell, count + 1);
  bool *rows = ARENA_ARRAY(r->arena, bool, (size_t)grid->rows + 1);
  bool *columns = ARENA_ARRAY(r->arena, bool, (size_t)grid->columns + 1);

  if (!cells || !rows || !columns)
    return sheet_refuse(r, 0, 0, "the file holds more than can be kept");
  for (size_t i = 0; i < count; i++)
    cells[i] = sheet_empty_cell;
  for (int i = 0; i < grid->count; i++) {
    const struct grid_cell *g = &grid->cells[i];

    if (g->row < grid->rows && g->column < grid->columns)
      cells[(size_t)g->row * (size_t)grid->columns + (size_t)g->column] = g->cell;
  }
  r->cells += (int)count;
  table->row_count = grid->rows;
  table->column_count = grid->columns;
  table->cells = cells;
  table->row_hidden = rows;
  table->column_hidden = columns;
  return true;
}
