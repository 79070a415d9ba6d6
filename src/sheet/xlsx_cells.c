#include "sheet/xlsx_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* One worksheet part: rows, cells, hidden rows and columns, merged blocks. */
enum {
  SHEET_DATA = 1,
  ROW,
  CELL,
  VALUE,
  FORMULA,
  INLINE,
  T,
  RPH,
  RUN,
  LOOK,
  STRIKE,
  COLUMN,
  MERGE
};
static const struct xml_word words[] = {
    {XML_SPACE_SHEET, "sheetData", SHEET_DATA},
    {XML_SPACE_SHEET, "row", ROW},
    {XML_SPACE_SHEET, "c", CELL},
    {XML_SPACE_SHEET, "v", VALUE},
    {XML_SPACE_SHEET, "f", FORMULA},
    {XML_SPACE_SHEET, "is", INLINE},
    {XML_SPACE_SHEET, "t", T},
    {XML_SPACE_SHEET, "rPh", RPH},
    {XML_SPACE_SHEET, "r", RUN},
    {XML_SPACE_SHEET, "rPr", LOOK},
    {XML_SPACE_SHEET, "strike", STRIKE},
    {XML_SPACE_SHEET, "col", COLUMN},
    {XML_SPACE_SHEET, "mergeCell", MERGE},
};

/* What a cell's `t` says its value is. */
enum cell_type { T_NUMBER, T_SHARED, T_TEXT, T_INLINE, T_BOOLEAN, T_ERROR, T_DATE };
static const struct {
  const char *name;
  enum cell_type type;
} types[] = {
    {"n", T_NUMBER},  {"s", T_SHARED}, {"str", T_TEXT}, {"inlineStr", T_INLINE},
    {"b", T_BOOLEAN}, {"e", T_ERROR},  {"d", T_DATE},
};

struct cells {
  struct xlsx *book;
  const char *table, *part;
  struct grid *grid;
  int row, column; /* of the cell at hand; the one before the first is -1 */
  bool in_data, in_row, in_cell, in_inline, takes_text;
  int phonetic;
  /* of the cell at hand */
  enum cell_type type;
  int style;
  bool has_value, has_formula;
  struct xlsx_runs value; /* one run, but for inline texts */
};

static bool damaged(struct cells *s, const char *what)
{
  char place[120];

  sheet_place_in(s->table, s->row > 0 ? s->row : 0, s->column > 0 ? s->column : 0, place,
                 sizeof place);
  return sheet_refuse(s->book->r, 0, 0, "%s: %s; the file is damaged: open it and save it again",
                      place, what);
}

static bool begin_row(struct cells *s, const char **attributes)
{
  const char *number = xml_attribute(attributes, XML_SPACE_NONE, "r");
  int row = number ? xml_int(number, 1048576, 0) - 1 : s->row + 1;

  if (row < 0)
    return damaged(s, "the row after this has a number that no sheet has");
  s->in_row = true;
  s->row = row;
  s->column = -1;
  if (row < SHEET_MOST_ROWS)
    s->grid->row_hidden[row] |= xml_is_true(xml_attribute(attributes, XML_SPACE_NONE, "hidden"));
  return true;
}

static bool begin_cell(struct cells *s, const char **attributes)
{
  const char *reference = xml_attribute(attributes, XML_SPACE_NONE, "r");
  const char *type = xml_attribute(attributes, XML_SPACE_NONE, "t");
  int row = s->row;

  s->column++;
  if (reference && (!xlsx_reference(&reference, &row, &s->column) || *reference != '\0'))
    return damaged(s, "a cell of this row has a name that no cell has");
  if (row != s->row)
    return damaged(s, "a cell stands in this row that belongs to another");
  s->type = T_NUMBER;
  for (size_t i = 0; type && i < sizeof types / sizeof types[0]; i++)
    if (strcmp(types[i].name, type) == 0)
      s->type = types[i].type;
  s->style = xml_int(xml_attribute(attributes, XML_SPACE_NONE, "s"), 65536, 0);
  s->in_cell = true;
  s->has_value = s->has_formula = false;
  xlsx_runs_clear(&s->value);
  return true;
}

static void hide_columns(struct cells *s, const char **attributes)
{
  int first = xml_int(xml_attribute(attributes, XML_SPACE_NONE, "min"), 16384, 0);
  int last = xml_int(xml_attribute(attributes, XML_SPACE_NONE, "max"), 16384, 0);

  if (first < 1 || !xml_is_true(xml_attribute(attributes, XML_SPACE_NONE, "hidden")))
    return;
  for (int i = first; i <= last && i <= SHEET_MOST_COLUMNS; i++)
    s->grid->column_hidden[i - 1] = true;
}

static bool merge(struct cells *s, const char **attributes)
{
  const char *reference = xml_attribute(attributes, XML_SPACE_NONE, "ref");
  struct grid_merge block;

  if (!reference || !xlsx_reference(&reference, &block.row, &block.column) || *reference++ != ':' ||
      !xlsx_reference(&reference, &block.row_end, &block.column_end))
    return true; /* of one cell, or of none */
  if (block.row_end < block.row || block.column_end < block.column)
    return damaged(s, "a merged block ends before it begins");
  return grid_merge(s->grid, s->book->r, s->table, block);
}

/* Inside a cell. */
static void begin_value(struct cells *s, int id, const char **attributes)
{
  if (id == VALUE) {
    s->takes_text = s->has_value = true;
    xlsx_runs_clear(&s->value);
  } else if (id == FORMULA)
    s->has_formula = true;
  else if (id == INLINE)
    s->in_inline = s->has_value = true;
  else if (id == RPH)
    s->phonetic++;
  else if (id == T && s->in_inline)
    s->takes_text = s->phonetic == 0;
  else if (id == RUN)
    xlsx_runs_next(&s->value);
  else if (id == LOOK)
    s->value.run_looks = true;
  else if (id == STRIKE)
    xlsx_runs_strike(&s->value, attributes);
}

static bool on_start(struct xml *xml, int id, const char **attributes)
{
  struct cells *s = xml->to;

  if (s->in_cell)
    begin_value(s, id, attributes);
  else if (id == SHEET_DATA)
    s->in_data = true;
  else if (id == ROW && s->in_data)
    return begin_row(s, attributes);
  else if (id == CELL && s->in_row)
    return begin_cell(s, attributes);
  else if (id == COLUMN)
    hide_columns(s, attributes);
  else if (id == MERGE)
    return merge(s, attributes);
  return true;
}

/* What the runs of its text say, and for what has no look of its own the cell's. */
static void strike(const struct cells *s, struct sheet_cell *cell, bool all, bool part,
                   bool as_cell)
{
  bool cell_struck = s->style < s->book->style_count && s->book->styles[s->style].struck;

  cell->part_struck = part;
  cell->struck = all || (cell_struck && (!part || as_cell));
}

static bool take_shared(struct cells *s, struct sheet_cell *cell)
{
  int at = xml_int(s->value.all.text, SHEET_MOST_CELLS, -1);

  if (at < 0 || at >= s->book->string_count)
    return damaged(s, "this cell names a text that is not in the workbook's list");
  cell->kind = SHEET_TEXT;
  cell->text = s->book->strings[at].text;

  const struct xlsx_text *text = &s->book->strings[at];

  strike(s, cell, text->struck, text->part_struck, text->as_cell);
  return true;
}

static bool take_text(struct cells *s, struct sheet_cell *cell, enum sheet_kind kind)
{
  char place[120];

  sheet_place_in(s->table, s->row, s->column, place, sizeof place);
  cell->kind = kind;
  cell->text = xlsx_keep(s->book, xlsx_runs_text(&s->value), place);
  return cell->text != NULL;
}

static bool take_number(struct cells *s, struct sheet_cell *cell)
{
  static const struct shown plain = {.as = SHOWN_NUMBER};
  const struct shown *shown =
      s->style < s->book->style_count ? &s->book->styles[s->style].shown : &plain;
  char *end;
  double value = strtod(s->value.all.text, &end);

  if (end == s->value.all.text || *end != '\0' ||
      s->value.all.text[strspn(s->value.all.text, "+-.0123456789eE")])
    return damaged(s, "this cell holds a number that is none");
  return shown_number(value, shown, s->book->from_1904, s->book->r->arena, cell) ||
         damaged(s, "there is no room for this cell");
}

static bool take_boolean(struct cells *s, struct sheet_cell *cell)
{
  bool yes = strcmp(s->value.all.text, "1") == 0 || strcmp(s->value.all.text, "true") == 0;

  cell->kind = SHEET_YES_NO;
  cell->text = yes ? "TRUE" : "FALSE";
  cell->number = yes;
  return true;
}

static bool take_date(struct cells *s, struct sheet_cell *cell)
{
  if (shown_iso(s->value.all.text, s->book->r->arena, cell))
    return true;
  return damaged(s, "this cell holds a date that is none");
}

static bool take_value(struct cells *s, struct sheet_cell *cell)
{
  switch (s->type) {
  case T_SHARED:
    return take_shared(s, cell);
  case T_BOOLEAN:
    return take_boolean(s, cell);
  case T_ERROR:
    return take_text(s, cell, SHEET_FAULT);
  case T_DATE:
    return take_date(s, cell);
  case T_TEXT:
  case T_INLINE:
    return take_text(s, cell, SHEET_TEXT);
  case T_NUMBER:
    break;
  }
  return take_number(s, cell);
}

static bool end_cell(struct cells *s)
{
  struct sheet_cell cell = sheet_empty_cell;

  s->in_cell = s->in_inline = s->takes_text = false;
  s->phonetic = 0;
  cell.formula = s->has_formula;

  bool remains = xlsx_runs_remain(&s->value);

  strike(s, &cell, s->value.struck && !remains, s->value.struck && remains, s->value.kept_as_cell);
  if (s->has_value && (s->value.all.used > 0 || s->type == T_INLINE || s->type == T_TEXT)) {
    if (!take_value(s, &cell))
      return false;
    s->book->formulas_stored |= s->has_formula;
  } else if (s->has_formula) {
    cell.kind = SHEET_FAULT;
    cell.text = "formula without a stored result";
  }
  if (cell.kind == SHEET_TEXT && cell.text[0] == '\0')
    cell.kind = SHEET_EMPTY;
  if (cell.kind == SHEET_EMPTY)
    return true;
  return grid_add(s->grid, s->book->r, s->table, s->row, s->column, cell);
}

static bool on_end(struct xml *xml, int id)
{
  struct cells *s = xml->to;

  if (id == CELL && s->in_cell)
    return end_cell(s);
  if (id == VALUE || id == T)
    s->takes_text = false;
  else if (id == RPH && s->phonetic > 0)
    s->phonetic--;
  else if (id == INLINE)
    s->in_inline = false;
  else if (id == ROW)
    s->in_row = false;
  else if (id == SHEET_DATA)
    s->in_data = false;
  return true;
}

static void on_text(struct xml *xml, const char *bytes, int count)
{
  struct cells *s = xml->to;

  if (s->takes_text)
    xlsx_runs_add(&s->value, bytes, count);
}

bool xlsx_read_cells(struct xlsx *book, const char *part, const char *name, struct grid *grid)
{
  struct cells cells = {.book = book, .table = name, .part = part, .grid = grid, .row = -1};
  struct xml xml = {book->r,  part,   words,   sizeof words / sizeof words[0],
                    on_start, on_end, on_text, &cells,
                    NULL,     0,      false};

  xlsx_runs_init(&cells.value);

  bool good = xml_read(&xml, book->pack);

  xlsx_runs_release(&cells.value);
  return good;
}
