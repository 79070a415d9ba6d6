#include "chem/chem.h"

#include "chem/data_impl.h"
#include "sheet/sheet.h"

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

const char *chem_basis_words(enum chem_basis basis)
{
  return basis_words[basis];
}

static const struct chem_data *data_of(const char *name)
{
  for (int i = 0; i < chem_data_count; i++)
    if (strcmp(chem_data[i].name, name) == 0)
      return &chem_data[i];
  return NULL;
}

const struct chem_table *chem_table(const char *name, struct arena *arena)
{
  const struct chem_data *data = data_of(name);
  struct chem_table *table = ARENA_NEW(arena, struct chem_table);
  struct complaints complaints;
  struct sheet_book *book;

  BUG_IF(!data || !table);
  complaints_init(&complaints, arena);
  book = sheet_read(name, data->bytes, data->size, arena, &complaints);
  BUG_IF(!book || complaints.count > 0);
  table->name = name;
  table->sheet = &book->tables[0];
  table->row_count = table->sheet->row_count - 1;
  return table;
}

static int column_of(const struct chem_table *table, const char *column)
{
  for (int i = 0; i < table->sheet->column_count; i++)
    if (strcmp(sheet_at(table->sheet, 0, i)->text, column) == 0)
      return i;
  return -1;
}

bool chem_has_column(const struct chem_table *table, const char *column)
{
  return column_of(table, column) >= 0;
}

const char *chem_cell(const struct chem_table *table, int row, const char *column)
{
  int at = column_of(table, column);

  BUG_IF(at < 0 || row < 0 || row >= table->row_count);
  return sheet_at(table->sheet, row + 1, at)->text;
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
  const char *basis = chem_cell(table, row, "basis");
  struct chem_origin of = {CHEM_MEMORY, chem_cell(table, row, "date"),
                           chem_cell(table, row, "source"), chem_cell(table, row, "note")};
  int named = -1;

  for (int i = 0; i < CHEM_SUITE; i++)
    if (strcmp(basis, basis_names[i]) == 0)
      named = i;
  BUG_IF(named < 0);
  of.basis = (enum chem_basis)named;
  return of;
}
