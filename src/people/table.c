#include "people/people_impl.h"

#include <stdarg.h>
#include <string.h>
#include <strings.h>

/* A table of people to rows: what stands in each cell, and what a cell that says nothing lacks. */

/* A place in an answer names the file as people know it: without its folder. */
static const char *without_folder(const char *path)
{
  const char *slash = strrchr(path, '/');

  return slash ? slash + 1 : path;
}

const char *people_where(struct people_build *b, const struct people_row *row)
{
  char place[120];

  if (!row->book)
    return arena_printf(b->arena, "%s:%d", without_folder(b->roster->file), row->place.line);
  sheet_place(&row->book->tables[row->table], row->row, row->id_column, place, sizeof place);
  return arena_printf(b->arena, "%s %s", without_folder(row->book->file), place);
}

void people_remark(struct people_build *b, const struct people_row *row, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  const char *text = arena_vprintf(b->complaints->arena, fmt, args);

  va_end(args);
  if (!text)
    return;
  if (row->book)
    sheet_complain(b->complaints, row->book, row->table, row->row, row->id_column, "%s", text);
  else
    complaints_add(b->complaints, row->place, 0, "%s", text);
}

struct people_row *people_new_row(struct people_build *b)
{
  struct people_rows *rows = &b->rows;

  if (rows->count == rows->room) {
    int room = rows->room ? 2 * rows->room : 64;
    struct people_row *bigger = ARENA_ARRAY(b->arena, struct people_row, (size_t)room);

    BUG_IF(!bigger);
    if (rows->count > 0)
      memcpy(bigger, rows->list, (size_t)rows->count * sizeof *bigger);
    rows->list = bigger;
    rows->room = room;
  }
  struct people_row *row = &rows->list[rows->count++];

  *row = (struct people_row){0};
  row->granted = ARENA_ARRAY(b->arena, struct people_day, (size_t)b->roster->endorsement_count + 1);
  BUG_IF(!row->granted);
  row->person.granted = row->granted;
  row->person.row_count = 1;
  return row;
}

/* ---- columns ---- */

struct columns {
  int id, name, group, last_use, status; /* -1: no such column */
  int endorsements[ROSTER_ENDORSEMENTS_MAX];
};

struct table {
  struct people_build *b;
  const struct roster_table *said;
  const struct sheet_book *book;
  int table;
  struct columns columns;
  bool whole; /* every column that was named is there */
};

/* Blanks that other programs leave, the unseen ones too; "U14" and "U14 " are one person. */
static size_t blank_at(const char *text, size_t length, bool at_end)
{
  static const char *const blanks[] = {" ",
                                       "\t",
                                       "\r",
                                       "\n",
                                       "\xc2\xa0",
                                       "\xc2\xad",
                                       "\xe2\x80\x8b",
                                       "\xe2\x80\x8c",
                                       "\xe2\x80\x8d",
                                       "\xe2\x80\xaf",
                                       "\xe2\x81\xa0",
                                       "\xef\xbb\xbf"};

  for (size_t i = 0; i < sizeof blanks / sizeof *blanks; i++) {
    size_t size = strlen(blanks[i]);

    if (size <= length && memcmp(text + (at_end ? length - size : 0), blanks[i], size) == 0)
      return size;
  }
  return 0;
}

/* Blanks at both ends off. */
static const char *trimmed(struct people_build *b, const char *text)
{
  size_t length = strlen(text), blank;

  while ((blank = blank_at(text, length, false)) > 0) {
    text += blank;
    length -= blank;
  }
  while ((blank = blank_at(text, length, true)) > 0)
    length -= blank;

  const char *out = arena_printf(b->arena, "%.*s", (int)length, text);

  BUG_IF(!out);
  return out;
}

static const struct sheet_table *cells_of(const struct table *t)
{
  return &t->book->tables[t->table];
}

static int column_of(struct table *t, const char *title)
{
  const struct sheet_table *cells = cells_of(t);
  int row = t->said->title_row - 1;

  if (!title)
    return -1;
  int found = -1;

  for (int c = 0; c < cells->column_count; c++) {
    if (strcasecmp(trimmed(t->b, sheet_at(cells, row, c)->text), title) != 0)
      continue;
    if (found >= 0) {
      complaints_add(
          t->b->complaints, t->said->place, 0,
          "table %s: row %d of %s has the title '%.60s' twice, and neither counts; which "
          "is it? Rename the other",
          t->said->part.id, t->said->title_row, t->book->file, title);
      t->whole = false;
      return -1;
    }
    found = c;
  }
  if (found >= 0)
    return found;
  complaints_add(t->b->complaints, t->said->place, 0,
                 "table %s: row %d of %s has no title '%.60s'; name the column as its title reads",
                 t->said->part.id, t->said->title_row, t->book->file, title);
  t->whole = false;
  return -1;
}

static void find_columns(struct table *t)
{
  t->whole = true;
  t->columns.id = column_of(t, t->said->id);
  t->columns.name = column_of(t, t->said->full_name);
  t->columns.group = column_of(t, t->said->group);
  t->columns.last_use = column_of(t, t->said->last_use);
  t->columns.status = column_of(t, t->said->status);
  for (int i = 0; i < t->b->roster->endorsement_count; i++)
    t->columns.endorsements[i] = column_of(t, t->said->columns[i]);
}

/* ---- cells ---- */

/* What stands there, NULL: nothing.  Struck out is nothing, too. */
static const char *text_at(struct table *t, int row, int column)
{
  const struct sheet_cell *cell = sheet_at(cells_of(t), row, column < 0 ? 0 : column);

  if (column < 0 || cell->kind == SHEET_EMPTY || cell->struck)
    return NULL;

  const char *text = trimmed(t->b, cell->text);

  return *text ? text : NULL;
}

/* Every day that a text may be, in the styles that are said; two different ones is one too many. */
struct readings {
  int count, first_day, second_day;
};

static void one_reading(struct readings *r, const char *style, const char *text)
{
  int day;

  if (!roster_style_read(style, text, &day))
    return;
  if (r->count == 0)
    r->first_day = day;
  else if (day == r->first_day || r->count > 1)
    return;
  else
    r->second_day = day;
  r->count++;
}

static struct readings readings_of(const struct table *t, const char *style, const char *text)
{
  struct readings out = {0};

  if (style)
    one_reading(&out, style, text);
  for (int i = 0; !style && i < t->said->style_count; i++)
    one_reading(&out, t->said->styles[i], text);
  return out;
}

static const char *shown_day(struct people_build *b, int day)
{
  struct buf text;

  buf_init(&text, 40);
  roster_print_day(day, &text);
  const char *out = arena_strdup(b->arena, text.text);

  BUG_IF(!out);
  buf_release(&text);
  return out;
}

static struct people_day unclear(struct table *t, int row, int column, const char *why)
{
  sheet_complain(t->b->complaints, t->book, t->table, row, column, "%s", why);
  return (struct people_day){.kind = PEOPLE_UNCLEAR, .why = why};
}

/* A cell whose program says that it is a day needs no style. */
static struct people_day day_of_text(struct table *t, int row, int column, const char *style,
                                     const char *text)
{
  struct people_build *b = t->b;
  bool dated = sheet_at(cells_of(t), row, column)->kind == SHEET_DATE;
  const char *title = sheet_at(cells_of(t), t->said->title_row - 1, column)->text;
  struct readings r =
      readings_of(t, dated ? "ISO" : style, dated ? arena_printf(b->arena, "%.10s", text) : text);

  if (r.count == 0)
    return unclear(t, row, column,
                   arena_printf(b->arena,
                                "%.40s: '%.40s' is no day in a style that is said; correct it, or "
                                "add its style to dates",
                                title, text));
  if (r.count > 1)
    return unclear(t, row, column,
                   arena_printf(b->arena,
                                "%.40s: '%.40s' may be %s or %s; say which style the column has "
                                "(dates by), or write the day year first",
                                title, text, shown_day(b, r.first_day),
                                shown_day(b, r.second_day)));
  if (r.first_day > b->today_day)
    sheet_complain(b->complaints, t->book, t->table, row, column,
                   "%.40s: %s is in the future, and does not count before; correct it if it is a "
                   "slip",
                   title, shown_day(b, r.first_day));
  return (struct people_day){.kind = PEOPLE_ON_DAY, .day = r.first_day};
}

static struct people_day day_at(struct table *t, int row, int column, const char *style)
{
  const char *text = text_at(t, row, column);
  struct people_day out = {0};
  char place[120];

  if (column < 0)
    return out;
  if (text)
    out = day_of_text(t, row, column, style, text);
  sheet_place(cells_of(t), row, column, place, sizeof place);
  out.where = arena_printf(t->b->arena, "%s %s", without_folder(t->book->file), place);
  return out;
}

static bool among(const char *const *words, int count, const char *text)
{
  for (int i = 0; i < count; i++)
    if (strcasecmp(words[i], text) == 0)
      return true;
  return false;
}

static void take_status(struct table *t, int row, struct people_person *person)
{
  const char *text = text_at(t, row, t->columns.status);

  person->status = PEOPLE_ACTIVE;
  if (!t->said->status)
    return;
  person->status = PEOPLE_STATUS_UNKNOWN;
  if (text && among(t->said->gone, t->said->gone_count, text)) {
    person->status = PEOPLE_GONE;
    person->status_why = arena_printf(t->b->arena, "status '%.40s'", text);
    return;
  }
  if (text && among(t->said->active, t->said->active_count, text)) {
    person->status = PEOPLE_ACTIVE;
    return;
  }
  person->status_why =
      text ? arena_printf(t->b->arena, "status '%.40s' is no word that is said", text)
           : "no status is given";
  if (t->columns.status >= 0)
    sheet_complain(t->b->complaints, t->book, t->table, row, t->columns.status,
                   "%s; add the word to active or gone, or correct the cell", person->status_why);
}

/* ---- rows ---- */

static bool is_blank(struct table *t, int row)
{
  for (int c = 0; c < cells_of(t)->column_count; c++)
    if (text_at(t, row, c))
      return false;
  return true;
}

static bool is_plain(const char *id)
{
  for (; *id; id++)
    if (*id < ' ' || *id > '~')
      return false;
  return true;
}

static void take_row(struct table *t, int at)
{
  struct people_build *b = t->b;
  const char *id = text_at(t, at, t->columns.id);

  if (is_blank(t, at))
    return;
  if (!id) {
    sheet_complain(b->complaints, t->book, t->table, at, t->columns.id,
                   "this row has no id, and counts for nobody; give it one");
    return;
  }
  if (!is_plain(id))
    sheet_complain(
        b->complaints, t->book, t->table, at, t->columns.id,
        "'%.40s' has a letter that looks like another, and is the id of nobody else; write "
        "it in A to Z and 0 to 9",
        id);

  struct people_row *row = people_new_row(b);

  row->book = t->book;
  row->table = t->table;
  row->row = at;
  row->id_column = t->columns.id;
  row->person.id = id;
  row->person.name = text_at(t, at, t->columns.name);
  row->person.group = text_at(t, at, t->columns.group);
  row->person.where = people_where(b, row);
  take_status(t, at, &row->person);
  row->person.last_use = day_at(t, at, t->columns.last_use, t->said->last_use_style);
  for (int i = 0; i < b->roster->endorsement_count; i++)
    row->granted[i] = day_at(t, at, t->columns.endorsements[i], t->said->column_styles[i]);
}

static bool choose_table(struct table *t)
{
  t->table = -1;
  for (int i = 0; i < t->book->table_count; i++)
    if (!t->said->sheet || strcmp(t->book->tables[i].name, t->said->sheet) == 0) {
      t->table = i;
      return true;
    }
  complaints_add(t->b->complaints, t->said->place, 0, "table %s: %s has no sheet '%.60s'",
                 t->said->part.id, t->book->file, t->said->sheet);
  return false;
}

void people_take_table(struct people_build *b, int table, const struct people_table *text)
{
  struct table t = {.b = b, .said = &b->roster->tables[table]};

  b->unread_count++;
  if (!text->bytes) {
    complaints_add(b->complaints, t.said->place, 0,
                   "table %s: %s; nobody who stands only there is known", t.said->part.id,
                   text->why ? text->why : "it was not read");
    return;
  }
  t.book = sheet_read(text->file, text->bytes, text->size, b->arena, b->complaints);
  if (!t.book || !choose_table(&t))
    return;
  find_columns(&t);
  if (t.columns.id < 0)
    return;
  b->unread_count--;
  for (int row = t.said->title_row; row < cells_of(&t)->row_count; row++)
    take_row(&t, row);
}
