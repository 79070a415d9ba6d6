/*
 * A filled form read back.  The titles of the columns are found by name, wherever
 * they went; a reading is known by its id, and must say the same as the plan.
 */
#include "walk/form_impl.h"
#include "walk/walk_impl.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

enum { NUMBER_TEXT = 80 };

struct form {
  const struct walk_plan *plan;
  const struct sheet_book *book;
  const struct sheet_table *table;
  int table_index, titles;       /* row of the titles */
  int column[WALK_COLUMN_COUNT]; /* -1: not there */
  bool comma;
  bool other_suite;
  struct arena *arena;
  struct complaints *complaints;
  struct walk_readings *out;
};

/* ---- cells ---- */

static const char *trimmed(const struct sheet_cell *cell, struct arena *arena)
{
  const char *from = cell->text, *end;
  char *copy;

  while (isspace((unsigned char)*from))
    from++;
  end = from + strlen(from);
  while (end > from && isspace((unsigned char)end[-1]))
    end--;
  copy = arena_strdup(arena, from);
  if (!copy)
    return "";
  copy[end - from] = '\0';
  return copy;
}

static const char *text_at(const struct form *f, int row, int column)
{
  return column < 0 ? "" : trimmed(sheet_at(f->table, row, column), f->arena);
}

static int find_titles(const struct sheet_table *table, struct arena *arena, int *column)
{
  for (int row = 0; row < table->row_count; row++) {
    int found = 0;

    for (int i = 0; i < WALK_COLUMN_COUNT; i++)
      column[i] = -1;
    for (int at = 0; at < table->column_count; at++) {
      const char *text = trimmed(sheet_at(table, row, at), arena);

      for (int i = 0; i < WALK_COLUMN_COUNT; i++)
        if (column[i] < 0 && strcasecmp(text, walk_columns[i]) == 0) {
          column[i] = at;
          found++;
        }
    }
    if (column[WALK_COLUMN_READING] >= 0 && column[WALK_COLUMN_MEASURED] >= 0 && found >= 3)
      return row;
  }
  return -1;
}

/* What stands beside a word of the head, or NULL; `row_out` says where. */
static const char *head_value(const struct form *f, const char *what, int *row_out)
{
  for (int row = 0; row < f->titles; row++)
    if (strcasecmp(text_at(f, row, 0), what) == 0) {
      *row_out = row;
      return text_at(f, row, 1);
    }
  return NULL;
}

/* ---- the head ---- */

static void read_mark(struct form *f)
{
  int row = 0;
  const char *mark = head_value(f, WALK_HEAD_MARK, &row);

  if (!mark || !mark[0] || strcasecmp(mark, "point") == 0 || strcmp(mark, ".") == 0)
    return;
  if (strcasecmp(mark, "comma") == 0 || strcmp(mark, ",") == 0)
    f->comma = true;
  else
    sheet_complain(f->complaints, f->book, f->table_index, row, 1,
                   "the decimal mark is 'point' or 'comma', not '%.20s'", mark);
}

static void read_head(struct form *f)
{
  int row = 0;
  const char *suite = head_value(f, WALK_HEAD_SUITE, &row);
  const char *date = head_value(f, WALK_HEAD_DATE, &row);
  const char *by = head_value(f, WALK_HEAD_BY, &row);

  if (suite && strlen(suite) == 64)
    memcpy(f->out->suite_sha256, suite, 65);
  else
    f->out->suite_sha256[0] = '\0';
  f->other_suite = strcmp(f->out->suite_sha256, f->plan->facility->sha256) != 0;
  f->out->date = date && date[0] ? date : NULL;
  f->out->by = by && by[0] ? by : NULL;
  read_mark(f);
}

/* ---- numbers ---- */

/* Copies, a decimal comma made a point where the form declares it. */
static enum err_code with_point(const char *text, bool comma, char out[NUMBER_TEXT],
                                struct err *err)
{
  const char *mark = strchr(text, ',');

  if (strlen(text) >= NUMBER_TEXT)
    return err_set(err, ERR_INPUT, "this is too long for a reading");
  snprintf(out, NUMBER_TEXT, "%s", text);
  if (!mark)
    return ERR_OK;
  if (!comma)
    return err_set(err, ERR_INPUT,
                   "'%.40s' has a comma and the form declares the decimal point: write 12.5, or "
                   "'comma' beside 'decimal mark'",
                   text);
  if (strchr(mark + 1, ',') || strchr(text, '.'))
    return err_set(err, ERR_INPUT, "'%.40s' has more than one mark: write 12,5", text);
  out[mark - text] = '.';
  return ERR_OK;
}

static bool has_unit(const char *text)
{
  const char *end = text + strspn(text, "+-0123456789. ");

  if ((*end == 'e' || *end == 'E') && strspn(end + 1, "+-0123456789") > 0)
    end += 1 + strspn(end + 1, "+-0123456789");
  return *end != '\0';
}

static enum err_code parse(const char *text, bool comma, enum units_dimension dimension,
                           const char *unit, double *out_si, struct err *err)
{
  char number[NUMBER_TEXT], whole[2 * NUMBER_TEXT];
  struct units_quantity read = {0};
  enum err_code code = with_point(text, comma, number, err);

  if (code != ERR_OK)
    return code;
  snprintf(whole, sizeof whole, "%s%s%s", number, has_unit(number) ? "" : " ",
           has_unit(number) ? "" : unit);
  code = units_parse(whole, dimension, UNITS_NOTHING, &read, err);
  if (code == ERR_OK && !isfinite(read.si))
    code = err_set(err, ERR_INPUT, "this is no number a reading can be");
  if (code == ERR_OK)
    *out_si = read.si;
  return code;
}

enum err_code walk_parse(const struct walk_reading *reading, enum units_system system,
                         const char *text, double *out_si, struct err *err)
{
  const char *comma = strchr(text, ',');
  size_t digits = comma ? strspn(comma + 1, "0123456789") : 0;

  if (comma && digits == 3)
    return err_set(err, ERR_INPUT, "'%.40s': is the comma a decimal mark? write a point", text);
  return parse(text, comma != NULL, walk_dimension(reading->quantity.of),
               walk_unit(reading->quantity.of, system), out_si, err);
}

/* ---- rows ---- */

static int find_reading(const struct walk_plan *plan, const char *id)
{
  for (int i = 0; i < plan->reading_count; i++)
    if (strcasecmp(plan->readings[i].id, id) == 0)
      return i;
  return -1;
}

static bool is_skipped(const char *text)
{
  static const char *const words[] = {"", "-", "skip", "not read", "n/a"};

  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcasecmp(text, words[i]) == 0)
      return true;
  return false;
}

static void complain(struct form *f, int row, enum walk_column column, const char *text)
{
  int at = f->column[column] < 0 ? f->column[WALK_COLUMN_READING] : f->column[column];

  sheet_complain(f->complaints, f->book, f->table_index, row, at, "%s", text);
}

/* The unit a row is in; the plan's own SI unit where the column is gone. */
static const char *unit_at(struct form *f, int row, const struct walk_reading *r)
{
  const char *unit = text_at(f, row, f->column[WALK_COLUMN_UNIT]);

  return unit[0] ? unit : walk_unit(r->quantity.of, UNITS_SYSTEM_SI);
}

static void read_measured(struct form *f, int row, const struct walk_reading *r,
                          struct walk_entry *entry)
{
  const struct sheet_cell *cell = sheet_at(f->table, row, f->column[WALK_COLUMN_MEASURED]);
  const char *text = trimmed(cell, f->arena);
  struct err err = {0};

  if (cell->kind == SHEET_EMPTY || is_skipped(text))
    return;
  if (cell->kind == SHEET_DATE || cell->kind == SHEET_YES_NO || cell->kind == SHEET_FAULT) {
    sheet_complain(f->complaints, f->book, f->table_index, row, f->column[WALK_COLUMN_MEASURED],
                   "reading %s: '%.40s' is no number: the spreadsheet has made something else of "
                   "it; type it again with its unit",
                   r->id, text);
    return;
  }
  if (parse(text, f->comma && cell->kind == SHEET_TEXT, walk_dimension(r->quantity.of),
            unit_at(f, row, r), &entry->value_si, &err) == ERR_OK)
    entry->read = true;
  else
    sheet_complain(f->complaints, f->book, f->table_index, row, f->column[WALK_COLUMN_MEASURED],
                   "reading %s: %s", r->id, err.text);
}

static bool printed_at(struct form *f, int row, enum walk_column column,
                       const struct walk_reading *r, double *out_si)
{
  const char *text = text_at(f, row, f->column[column]);
  bool comma =
      f->comma &&
      sheet_at(f->table, row, f->column[column] < 0 ? 0 : f->column[column])->kind == SHEET_TEXT &&
      strchr(text, ',');

  return text[0] && parse(text, comma, walk_dimension(r->quantity.of), unit_at(f, row, r), out_si,
                          NULL) == ERR_OK;
}

static void read_printed(struct form *f, int row, const struct walk_reading *r,
                         struct walk_entry *entry)
{
  double predicted_si, from_si, to_si;

  if (!printed_at(f, row, WALK_COLUMN_PREDICTED, r, &predicted_si) ||
      !printed_at(f, row, WALK_COLUMN_FROM, r, &from_si) ||
      !printed_at(f, row, WALK_COLUMN_TO, r, &to_si) || to_si < from_si)
    return;
  entry->printed = true;
  entry->printed_si = predicted_si;
  entry->printed_half_si = (to_si - from_si) / 2;
}

/* The row's own words, against the plan's: another plan gives the same id to something else. */
static bool says_the_same(struct form *f, int row, const struct walk_reading *r)
{
  const char *what = text_at(f, row, f->column[WALK_COLUMN_READ]);
  const char *step = text_at(f, row, f->column[WALK_COLUMN_STEP]);

  return (f->column[WALK_COLUMN_READ] < 0 || strcmp(what, r->what) == 0) &&
         (f->column[WALK_COLUMN_STEP] < 0 || strcmp(step, f->plan->steps[r->step].title) == 0);
}

static void read_row(struct form *f, int row, bool *seen)
{
  const char *id = text_at(f, row, f->column[WALK_COLUMN_READING]);
  int i = find_reading(f->plan, id);

  if (!id[0]) {
    if (!is_skipped(text_at(f, row, f->column[WALK_COLUMN_MEASURED])))
      complain(f, row, WALK_COLUMN_READING,
               "a value stands in this row, and no reading's number before it");
    return;
  }
  if (i < 0 || !says_the_same(f, row, &f->plan->readings[i])) {
    if (!f->other_suite)
      sheet_complain(f->complaints, f->book, f->table_index, row, f->column[WALK_COLUMN_READING],
                     "'%.20s' is not this reading of the walk: is it the form of another scene, "
                     "or of --technician? Columns 'step' and 'read' must stay as printed",
                     id);
    else if (!is_skipped(text_at(f, row, f->column[WALK_COLUMN_MEASURED])))
      f->out->foreign_count++;
    return;
  }
  if (seen[i]) {
    sheet_complain(f->complaints, f->book, f->table_index, row, f->column[WALK_COLUMN_READING],
                   "reading %s stands here a second time; keep one row of it", id);
    return;
  }
  seen[i] = true;
  read_measured(f, row, &f->plan->readings[i], &f->out->entries[i]);
  read_printed(f, row, &f->plan->readings[i], &f->out->entries[i]);

  const char *remark = text_at(f, row, f->column[WALK_COLUMN_REMARK]);

  f->out->entries[i].remark = remark[0] ? remark : NULL;
}

static bool find_form(struct form *f)
{
  for (int t = 0; t < f->book->table_count; t++) {
    f->table = &f->book->tables[t];
    f->table_index = t;
    f->titles = find_titles(f->table, f->arena, f->column);
    if (f->titles >= 0)
      return true;
  }
  sheet_complain(f->complaints, f->book, 0, 0, 0,
                 "there is no row with the titles 'reading' and 'measured': use the form that "
                 "'inward walk SUITE --form FILE' writes");
  return false;
}

struct walk_readings *walk_read(const struct walk_plan *plan, const struct sheet_book *book,
                                struct arena *arena, struct complaints *complaints)
{
  struct form f = {.plan = plan, .book = book, .arena = arena, .complaints = complaints};
  bool *seen = ARENA_ARRAY(arena, bool, (size_t)plan->reading_count + 1);
  int before = complaints->count;

  f.out = walk_blank(plan, arena);
  if (!seen || !f.out) {
    complaints_add(complaints, (struct place){.file = book->file}, 0,
                   "the file needs more memory than is set aside for it");
    return NULL;
  }
  if (!find_form(&f))
    return NULL;
  read_head(&f);
  for (int row = f.titles + 1; row < f.table->row_count; row++)
    read_row(&f, row, seen);
  return complaints->count == before ? f.out : NULL;
}

bool walk_form_has_technician(const struct sheet_book *book)
{
  for (int t = 0; t < book->table_count; t++)
    for (int row = 0; row < book->tables[t].row_count; row++)
      for (int column = 0; column < book->tables[t].column_count; column++)
        if (strncmp(sheet_at(&book->tables[t], row, column)->text, "ONLY WITH THE VENTILATION",
                    strlen("ONLY WITH THE VENTILATION")) == 0)
          return true;
  return false;
}
