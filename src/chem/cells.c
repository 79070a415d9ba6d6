#include "chem/chem.h"

#include "base/emit.h"
#include "chem/data_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * The tables are part of the program, so what does not read in them is a bug and ends it, with the
 * row on standard error: tests read every cell of every table.
 */

static const char *const basis_names[] = {"seen", "copy", "memory", "computed", "suite"};
static const char *const basis_words[] = {"read in the source", "read in a copy of the source",
                                          "value from memory", "computed",
                                          "the suite's own figure"};

const char *chem_basis_key(enum chem_basis basis)
{
  return basis_names[basis];
}

const char *chem_basis_words(enum chem_basis basis)
{
  return basis_words[basis];
}

const char chem_closing[] =
    "A sanity check from tables, not an instruction: your procedure, the supplier's safety data "
    "sheet and the safety officer decide.";

void chem_emit_origin(struct emit *json, const struct chem_origin *of)
{
  emit_text(json, "basis", chem_basis_key(of->basis));
  emit_text(json, "date", of->date && *of->date ? of->date : NULL);
  emit_text(json, "source", of->source);
  emit_text(json, "note", of->note && *of->note ? of->note : NULL);
}

static const struct chem_data *data_of(const char *name)
{
  for (int i = 0; i < chem_data_count; i++)
    if (strcmp(chem_data[i].name, name) == 0)
      return &chem_data[i];
  return NULL;
}

/* One cell of RFC 4180 in place: quotes taken off, ended by a NUL.  Returns where the next begins and
 * the mark between them. */
static char *one_cell(char *from, char *mark_out)
{
  bool quoted = *from == '"';
  char *to = from;

  if (quoted)
    from++;
  while (*from && (quoted || (*from != ',' && *from != '\n'))) {
    if (quoted && *from == '"') {
      if (from[1] != '"') {
        from++;
        break;
      }
      from++;
    }
    *to++ = *from++;
  }
  *mark_out = *from;
  *to = '\0';
  return *mark_out ? from + 1 : from;
}

static int count_columns(const char *header)
{
  int count = 1;

  for (; *header && *header != '\n'; header++)
    count += *header == ',';
  return count;
}

static int count_lines(const char *text)
{
  int count = 0;

  for (; *text; text++)
    count += *text == '\n';
  return count;
}

static int column_of(const struct chem_table *table, const char *column)
{
  for (int i = 0; i < table->column_count; i++)
    if (table->cells[i][0] == column[0] && strcmp(table->cells[i], column) == 0)
      return i;
  return -1;
}

/* Where a row says it is from is asked of every row: found once. */
static void number_origin(struct chem_table *table)
{
  static const char *const names[CHEM_ORIGIN_COLUMNS] = {"basis", "date", "source", "note"};

  for (int i = 0; i < CHEM_ORIGIN_COLUMNS; i++)
    table->origin[i] = column_of(table, names[i]);
}

const struct chem_table *chem_table(const char *name, struct arena *arena)
{
  const struct chem_data *data = data_of(name);
  struct chem_table *table = ARENA_NEW(arena, struct chem_table);
  const char **cells;
  char *text, *at;

  BUG_IF(!data || !table);
  at = text = arena_push(arena, data->size + 1, 1);
  BUG_IF(!text);
  memcpy(text, data->bytes, data->size);
  table->name = name;
  table->column_count = count_columns(text);
  table->row_count = count_lines(text) - 1; /* no cell has several lines */
  cells = ARENA_ARRAY(arena, const char *,
                      (size_t)(table->row_count + 1) * (size_t)table->column_count);
  BUG_IF(!cells);
  for (int row = 0; row <= table->row_count; row++)
    for (int column = 0; column < table->column_count; column++) {
      char mark, *next = one_cell(at, &mark);

      if (mark != (column + 1 == table->column_count ? '\n' : ','))
        err_bug(name, row + 1, "a row with another number of cells than the header");
      cells[row * table->column_count + column] = at;
      at = next;
    }
  table->cells = cells;
  number_origin(table);
  return table;
}

static const char *cell_at(const struct chem_table *table, int row, int column)
{
  BUG_IF(column < 0 || row < 0 || row >= table->row_count);
  return table->cells[(row + 1) * table->column_count + column];
}

const char *chem_cell(const struct chem_table *table, int row, const char *column)
{
  return cell_at(table, row, column_of(table, column));
}

double chem_cell_number(const struct chem_table *table, int row, const char *column)
{
  const char *text = chem_cell(table, row, column);
  char *end;
  double value;

  if (!*text)
    return NAN;
  value = strtod(text, &end);
  BUG_IF(*end || !isfinite(value));
  return value;
}

double chem_cell_si(const struct chem_table *table, int row, const char *column,
                    enum units_dimension dimension)
{
  const char *text = chem_cell(table, row, column);
  struct units_quantity quantity;
  struct err err = {0};

  if (!*text)
    return NAN;
  BUG_IF(units_parse(text, dimension, UNITS_NOTHING, &quantity, &err) != ERR_OK);
  return quantity.si;
}

struct chem_origin chem_cell_origin(const struct chem_table *table, int row)
{
  const int *at = table->origin;
  const char *basis = cell_at(table, row, at[0]);
  struct chem_origin of = {CHEM_MEMORY, cell_at(table, row, at[1]), cell_at(table, row, at[2]),
                           cell_at(table, row, at[3])};
  int named = -1;

  for (int i = 0; i < CHEM_SUITE; i++)
    if (strcmp(basis, basis_names[i]) == 0)
      named = i;
  BUG_IF(named < 0);
  of.basis = (enum chem_basis)named;
  return of;
}
