#include "sheet/sheet_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct grid *grid_new(void)
{
  struct grid *grid = calloc(1, sizeof *grid);

  if (!grid)
    err_no_memory();
  return grid;
}

void grid_free(struct grid *grid)
{
  free(grid->cells);
  free(grid->merges);
  free(grid);
}

/* Room for one more of what is counted. */
static void *grown(void *list, int count, int *room, size_t size)
{
  if (count < *room)
    return list;
  *room = *room > 0 ? *room * 2 : 64;
  list = realloc(list, (size_t)*room * size);
  if (!list)
    err_no_memory();
  return list;
}

static bool too_many(struct reading *r, const char *table, const struct grid_cell *at, int most,
                     const char *what)
{
  char place[120];

  sheet_place_in(table, at->row, at->column, place, sizeof place);
  return sheet_refuse(r, at->cell.line, at->cell.column,
                      "%s: there are more than %d %s; save the part that is needed as a "
                      "sheet of its own",
                      place, most, what);
}

static bool beyond(int row, int column)
{
  return row >= SHEET_MOST_ROWS || column >= SHEET_MOST_COLUMNS;
}

bool grid_add(struct grid *grid, struct reading *r, const char *table, int row, int column,
              struct sheet_cell cell)
{
  BUG_IF(row < 0 || column < 0);
  bool holds = cell.kind != SHEET_EMPTY || cell.note;
  const struct grid_cell made = {row, column, cell};

  if (!holds && beyond(row, column))
    return true;
  if (row >= SHEET_MOST_ROWS)
    return too_many(r, table, &made, SHEET_MOST_ROWS, "rows");
  if (column >= SHEET_MOST_COLUMNS)
    return too_many(r, table, &made, SHEET_MOST_COLUMNS, "columns");
  if (grid->count == SHEET_MOST_CELLS)
    return too_many(r, table, &made, SHEET_MOST_CELLS, "cells");
  grid->cells = grown(grid->cells, grid->count, &grid->room, sizeof *grid->cells);
  grid->cells[grid->count++] = made;
  if (holds) {
    grid->rows = row >= grid->rows ? row + 1 : grid->rows;
    grid->columns = column >= grid->columns ? column + 1 : grid->columns;
  }
  return true;
}

bool grid_note(struct grid *grid, struct reading *r, const char *table, int row, int column,
               const char *note)
{
  struct sheet_cell cell = sheet_empty_cell;

  cell.note = note;
  return grid_add(grid, r, table, row, column, cell);
}

bool grid_merge(struct grid *grid, struct reading *r, const char *table, struct grid_merge block)
{
  const struct grid_cell at = {block.row, block.column, sheet_empty_cell};

  if (grid->merge_count == SHEET_MOST_CELLS)
    return too_many(r, table, &at, SHEET_MOST_CELLS, "merged blocks");
  grid->merges = grown(grid->merges, grid->merge_count, &grid->merge_room, sizeof *grid->merges);
  grid->merges[grid->merge_count++] = block;
  return true;
}

bool grid_repeat(struct grid *grid, struct reading *r, const char *table, int first, int times)
{
  int last = grid->count;

  for (int again = 1; again <= times; again++)
    for (int i = first; i < last; i++) {
      struct grid_cell copy = grid->cells[i];

      if (!grid_add(grid, r, table, copy.row + again, copy.column, copy.cell))
        return false;
    }
  return true;
}

/* A note comes as a cell of its own that holds nothing else. */
static bool put(struct sheet_cell *at, const struct sheet_cell *cell)
{
  bool note_alone = cell->kind == SHEET_EMPTY && cell->note;
  const char *note = cell->note ? cell->note : at->note;
  bool fits = at->kind == SHEET_EMPTY || cell->kind == SHEET_EMPTY;

  if (!note_alone && fits && cell->kind != SHEET_EMPTY)
    *at = *cell;
  else if (at->line == 0) /* an empty cell still says where it stands, and how it looks */
    at->line = cell->line, at->column = cell->column;
  at->note = note;
  return fits;
}

static bool fill(const struct grid *grid, struct reading *r, const struct sheet_table *table,
                 struct sheet_cell *cells)
{
  for (int i = 0; i < grid->count; i++) {
    const struct grid_cell *g = &grid->cells[i];

    if (g->row >= grid->rows || g->column >= grid->columns)
      continue;
    if (!put(&cells[(size_t)g->row * (size_t)grid->columns + (size_t)g->column], &g->cell)) {
      char place[120];

      sheet_place_in(table->name, g->row, g->column, place, sizeof place);
      return sheet_refuse(r, 0, 0,
                          "%s: the file holds this cell twice; it is damaged: open it and "
                          "save it again",
                          place);
    }
  }
  return true;
}

/* Blocks that overlap would let a small file ask for a day's work, and mean nothing. */
static bool cover(const struct grid *grid, struct reading *r, const struct sheet_table *table,
                  struct sheet_cell *cells)
{
  for (int i = 0; i < grid->merge_count; i++) {
    const struct grid_merge *m = &grid->merges[i];
    int row_end = m->row_end < grid->rows ? m->row_end : grid->rows - 1;
    int column_end = m->column_end < grid->columns ? m->column_end : grid->columns - 1;

    for (int row = m->row; row <= row_end; row++)
      for (int column = m->column; column <= column_end; column++) {
        const struct sheet_cell *first =
            &cells[(size_t)m->row * (size_t)grid->columns + (size_t)m->column];
        struct sheet_cell *cell = &cells[(size_t)row * (size_t)grid->columns + (size_t)column];
        char place[120];

        if (cell->covered) {
          sheet_place_in(table->name, row, column, place, sizeof place);
          return sheet_refuse(r, 0, 0,
                              "%s: two merged blocks overlap here; the file is damaged: "
                              "take the merging out and save it again",
                              place);
        }
        if (cell != first) {
          *cell = *first;
          cell->note = NULL;
        }
        cell->covered = true;
      }
  }
  for (int i = 0; i < grid->merge_count; i++) { /* the first was marked only to see overlaps */
    const struct grid_merge *m = &grid->merges[i];

    if (m->row < grid->rows && m->column < grid->columns)
      cells[(size_t)m->row * (size_t)grid->columns + (size_t)m->column].covered = false;
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
  if (!fill(grid, r, table, cells) || !cover(grid, r, table, cells))
    return false;
  memcpy(rows, grid->row_hidden, (size_t)grid->rows);
  memcpy(columns, grid->column_hidden, (size_t)grid->columns);
  r->cells += (int)count;
  table->row_count = grid->rows;
  table->column_count = grid->columns;
  table->cells = cells;
  table->row_hidden = rows;
  table->column_hidden = columns;
  return true;
}
