#include "intake/intake_impl.h"

#include <string.h>

/* A row's cells as they are meant: ditto marks stand for the cell above. */

static bool is_ditto(const struct sheet_cell *cell)
{
  static const char *const marks[] = {
      "\"", "''", "\xe3\x80\x83", "\xe2\x80\xb3", "\xe2\x80\x9d", "\xe2\x80\x9e", ",,"};
  char folded[40];
  const char *text = cell->text + strspn(cell->text, " ");
  size_t length = strlen(text);

  if (cell->kind != SHEET_TEXT || length > 30)
    return false;
  while (length > 0 && text[length - 1] == ' ')
    length--;
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (length == strlen(marks[i]) && strncmp(text, marks[i], length) == 0)
      return true;
  intake_fold(text, folded, sizeof folded);
  return folded[0] != '\0' && intake_word_find(intake_dittos, folded) >= 0;
}

static bool is_blank(const struct sheet_cell *cell)
{
  return cell->kind == SHEET_EMPTY ||
         (cell->kind == SHEET_TEXT && cell->text[strspn(cell->text, " ")] == '\0');
}

/* Different texts in the row, cells of one merged block counted once. */
static int count_texts(const struct intake *in, int row, const struct sheet_cell **only,
                       int *column)
{
  const struct intake_table *t = &in->table;
  const struct sheet_cell *last = NULL;
  int count = 0;

  for (int c = t->first_column; c < t->end_column; c++) {
    const struct sheet_cell *cell = sheet_at(t->sheet, row, c);

    if (is_blank(cell) || (cell->covered && last && strcmp(last->text, cell->text) == 0))
      continue;
    last = cell;
    if (count++ == 0) {
      *only = cell;
      *column = c;
    }
  }
  return count;
}

static bool is_total(const char *text)
{
  char folded[60], *blank;

  intake_fold(text, folded, sizeof folded);
  blank = strchr(folded, ' ');
  if (blank)
    *blank = '\0';
  return folded[0] != '\0' && intake_word_find(intake_totals, folded) >= 0;
}

static bool repeats_header(const struct intake *in, int row)
{
  const struct intake_table *t = &in->table;
  int same = 0;

  for (int i = 0; i < t->column_count; i++) {
    const char *head = sheet_at(t->sheet, t->header_row, t->columns[i].column)->text;
    const char *text = sheet_at(t->sheet, row, t->columns[i].column)->text;

    if (strcmp(head, text) != 0)
      return false;
    same += text[0] != '\0';
  }
  return same >= 2;
}

/* A heading between rows, or a note below them, and no station. */
static bool is_heading(const struct intake *in, const struct sheet_cell *only, int column)
{
  const struct intake_column *id = intake_column_of(in, FIELD_ID);
  int blanks = 0;

  for (const char *p = only->text; *p != '\0'; p++)
    blanks += *p == ' ';
  if (in->table.ids_have_digits && !strpbrk(only->text, "0123456789"))
    return true;
  return column != id->column || only->covered || blanks >= 2 || strlen(only->text) > 24 ||
         only->text[0] == '*' || only->text[0] == '#' || only->text[strlen(only->text) - 1] == ':';
}

/* Does the row say what something draws, or what it is? */
static bool says_something(const struct intake *in, int row)
{
  const struct intake_table *t = &in->table;

  for (int i = 0; i < t->column_count; i++)
    if ((t->columns[i].field == FIELD_TYPE ||
         (t->columns[i].field >= FIELD_WIDTH && t->columns[i].field <= FIELD_VELOCITY)) &&
        !is_blank(sheet_at(t->sheet, row, t->columns[i].column)))
      return true;
  return false;
}

void intake_row_out(struct intake *in, int row)
{
  if (says_something(in, row))
    in->rows_out[in->row_out_count++] = row;
}

/* A station of the name "Total etch"?  A sum has no type. */
static bool has_type(const struct intake *in, int row)
{
  const struct intake_table *t = &in->table;
  char folded[200];

  for (int i = 0; i < t->column_count; i++) {
    intake_fold(sheet_at(t->sheet, row, t->columns[i].column)->text, folded, sizeof folded);
    if (t->columns[i].field == FIELD_TYPE &&
        (intake_word_in(intake_kinds, folded) >= 0 || intake_word_in(intake_rules, folded) >= 0))
      return true;
  }
  return false;
}

bool intake_row_begin(struct intake *in, struct intake_row *row, int number)
{
  const struct intake_table *t = &in->table;
  const struct sheet_cell *first = NULL;
  int column = 0, texts = count_texts(in, number, &first, &column);

  if (texts == 0 || repeats_header(in, number))
    return false;
  in->result.row_count++;
  if (texts == 1 && is_heading(in, first, column)) {
    intake_remark(in, INTAKE_NOTICE, number, column,
                  "'%.60s' is read as a heading or a note, not as "
                  "a station",
                  first->text);
    return false;
  }
  if (is_total(first->text) && has_type(in, number)) {
    intake_remark(
        in, INTAKE_FAULT, number, column,
        "'%.40s' reads like a sum, and the row has a type like a station; it is left out. "
        "Give the station another id, or empty the type of the sum",
        first->text);
    in->result.left_out_count++;
    intake_row_out(in, number);
    return false;
  }
  if (is_total(first->text)) {
    intake_remark(in, INTAKE_NOTICE, number, column, "'%.40s' is read as a sum, not as a station",
                  first->text);
    return false;
  }
  row->row = number;
  for (int i = 0; i < t->column_count; i++) {
    const struct sheet_cell *cell = sheet_at(t->sheet, number, t->columns[i].column);

    if (is_ditto(cell))
      cell = row->cells_above[i];
    row->cells[i] = cell;
  }
  return true;
}

/* What is struck through is void to a reader, and what holds instead is not said. */
bool intake_row_struck(struct intake *in, const struct intake_row *row, int column)
{
  const struct intake_column *c = &in->table.columns[column];
  const struct sheet_cell *cell = row->cells[column];

  if (c->field == FIELD_ID || is_blank(cell))
    return false;
  if (cell->struck)
    intake_remark(
        in, c->field == FIELD_NOTE ? INTAKE_NOTICE : INTAKE_FAULT, row->row, c->column,
        "'%.40s' is struck through, so it is not used; type what holds, or empty the cell",
        cell->text);
  else if (cell->part_struck)
    intake_remark(in, INTAKE_NOTICE, row->row, c->column,
                  "a part of this cell is struck through; '%.40s' is read", cell->text);
  return cell->struck;
}

/* The text of a cell where words are wanted: "" where there is none or it cannot be one. */
const char *intake_row_text(struct intake *in, const struct intake_row *row, int column)
{
  const struct intake_column *c = &in->table.columns[column];
  const struct sheet_cell *cell = row->cells[column];

  if (cell->kind == SHEET_FAULT) {
    intake_remark(in, INTAKE_FAULT, row->row, c->column,
                  "%.20s: the formula here has failed; type the text", cell->text);
    return "";
  }
  if (cell->kind == SHEET_DATE && c->field != FIELD_NOTE) {
    intake_remark(in, INTAKE_FAULT, row->row, c->column,
                  "this is the date %.20s: the spreadsheet may have made it of something like 1-5; "
                  "format the cell as text and type it again",
                  cell->text);
    return "";
  }
  if (strlen(cell->text) > INTAKE_MOST_TEXT) {
    intake_remark(in, INTAKE_FAULT, row->row, c->column,
                  "this text of %zu bytes is not used: a suite takes %d of one; shorten it",
                  strlen(cell->text), INTAKE_MOST_TEXT);
    return "";
  }
  return is_blank(cell) ? "" : cell->text;
}
