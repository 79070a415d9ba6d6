#include "sheet/shown_impl.h"
#include "sheet/xml_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * OpenDocument 1.2, content.xml: everything in one part.  Runs of equal rows and cells are written
 * once with a count, and the last row of a sheet is usually a million empty ones: empty runs are
 * stepped over, and full ones count against the limits like any other cells.
 */
enum {
  TABLE = 1,
  ROW,
  CELL,
  COVERED,
  COLUMN,
  ANNOTATION,
  P,
  S,
  TAB,
  BREAK,
  RUBY,
  DRAWN,
  STYLE,
  TABLE_LOOK,
  TEXT_LOOK,
  SPAN,
  DATE_SYSTEM
};
static const struct xml_word words[] = {
    {XML_SPACE_TABLE, "table", TABLE},
    {XML_SPACE_TABLE, "table-row", ROW},
    {XML_SPACE_TABLE, "table-cell", CELL},
    {XML_SPACE_TABLE, "covered-table-cell", COVERED},
    {XML_SPACE_TABLE, "table-column", COLUMN},
    {XML_SPACE_TABLE, "shapes", DRAWN},
    {XML_SPACE_OFFICE, "annotation", ANNOTATION},
    {XML_SPACE_TEXT, "p", P},
    {XML_SPACE_TEXT, "s", S},
    {XML_SPACE_TEXT, "tab", TAB},
    {XML_SPACE_TEXT, "line-break", BREAK},
    {XML_SPACE_TEXT, "ruby-text", RUBY},
    {XML_SPACE_TEXT, "span", SPAN},
    {XML_SPACE_DRAW, "frame", DRAWN},
    {XML_SPACE_DRAW, "custom-shape", DRAWN},
    {XML_SPACE_DRAW, "g", DRAWN},
    {XML_SPACE_DRAW, "rect", DRAWN},
    {XML_SPACE_DRAW, "line", DRAWN},
    {XML_SPACE_DRAW, "caption", DRAWN},
    {XML_SPACE_STYLE, "style", STYLE},
    {XML_SPACE_STYLE, "table-properties", TABLE_LOOK},
    {XML_SPACE_STYLE, "text-properties", TEXT_LOOK},
};

/* Styles are few; those that hide a table or strike a text are all we keep. */
enum { STYLES_MOST = 4000, FAR = 2000000 };

struct ods {
  struct reading *r;
  const char *hidden[STYLES_MOST], *struck[STYLES_MOST];
  int hidden_count, struck_count;
  const char *style; /* being defined */
  struct sheet_table tables[SHEET_MOST_TABLES];
  struct grid *grid; /* of the table we are in, or NULL */
  int tables_deep, drawn, ruby;
  int row, row_times, row_first, column, column_hidden_at;
  bool in_row, row_hidden;
  /* the cell at hand */
  bool in_cell, covered, in_note, in_p, first_p, note_first_p;
  int times, columns_spanned, rows_spanned;
  const char *type, *number, *date, *time, *boolean, *formula, *text; /* attributes, in scratch */
  bool is_struck, part_struck;
  int spans, struck_from; /* spans we are in, and the one from which on text is struck; 0: none */
  struct buf shown, kept, note; /* kept: what is shown and not struck */
};

static const char *keep(struct ods *s, const char **attributes, enum xml_space space,
                        const char *local)
{
  const char *value = xml_attribute(attributes, space, local);

  return value ? arena_strdup(&s->r->scratch, value) : NULL;
}

static int count_of(const char **attributes, const char *local, int least)
{
  int count = xml_int(xml_attribute(attributes, XML_SPACE_TABLE, local), FAR, least);

  return count > least ? count : least;
}

static bool listed(const char *const *list, int count, const char *name)
{
  for (int i = 0; name && i < count; i++)
    if (strcmp(list[i], name) == 0)
      return true;
  return false;
}

static void on_style(struct ods *s, int id, const char **attributes)
{
  if (id == STYLE)
    s->style = keep(s, attributes, XML_SPACE_STYLE, "name");
  else if (id == TABLE_LOOK && s->style && s->hidden_count < STYLES_MOST) {
    const char *shown = xml_attribute(attributes, XML_SPACE_TABLE, "display");

    if (shown && strcmp(shown, "false") == 0)
      s->hidden[s->hidden_count++] = s->style;
  } else if (id == TEXT_LOOK && s->style && s->struck_count < STYLES_MOST) {
    const char *line = xml_attribute(attributes, XML_SPACE_STYLE, "text-line-through-style");
    const char *sort = xml_attribute(attributes, XML_SPACE_STYLE, "text-line-through-type");
    const char *says = line ? line : sort;

    if (says && strcmp(says, "none") != 0)
      s->struck[s->struck_count++] = s->style;
  }
}

static bool begin_table(struct ods *s, const char **attributes)
{
  const char *name = xml_attribute(attributes, XML_SPACE_TABLE, "name");
  const char *style = xml_attribute(attributes, XML_SPACE_TABLE, "style-name");

  if (s->tables_deep++ > 0)
    return true; /* a table inside a cell: its cells are passed over */
  if (s->r->book.table_count == SHEET_MOST_TABLES)
    return sheet_refuse(s->r, 0, 0,
                        "the workbook has more than %d sheets; save the one that is needed "
                        "as a file of its own",
                        SHEET_MOST_TABLES);

  struct sheet_table *table = &s->tables[s->r->book.table_count];

  *table = (struct sheet_table){.hidden = listed(s->hidden, s->hidden_count, style)};
  table->name = sheet_name(s->r->arena, name ? name : "Sheet");
  s->grid = grid_new();
  s->row = -1;
  s->row_times = 1;
  s->column_hidden_at = 0;
  return table->name || sheet_refuse(s->r, 0, 0, "the file holds more than can be kept");
}

static void begin_row(struct ods *s, const char **attributes)
{
  const char *seen = xml_attribute(attributes, XML_SPACE_TABLE, "visibility");

  s->in_row = true;
  s->row = s->row + s->row_times < FAR ? s->row + s->row_times : FAR;
  s->row_times = count_of(attributes, "number-rows-repeated", 1);
  s->row_first = s->grid->count;
  s->column = 0;
  s->row_hidden = seen && strcmp(seen, "visible") != 0;
  for (int i = s->row; s->row_hidden && i < s->row + s->row_times && i < SHEET_MOST_ROWS; i++)
    s->grid->row_hidden[i] = true;
}

static void hide_columns(struct ods *s, const char **attributes)
{
  const char *seen = xml_attribute(attributes, XML_SPACE_TABLE, "visibility");
  int times = count_of(attributes, "number-columns-repeated", 1);

  for (int i = 0; i < times && s->column_hidden_at < SHEET_MOST_COLUMNS; i++)
    s->grid->column_hidden[s->column_hidden_at++] |= seen && strcmp(seen, "visible") != 0;
}

static void begin_cell(struct ods *s, int id, const char **attributes)
{
  s->in_cell = true;
  s->covered = id == COVERED;
  s->in_note = s->in_p = false;
  s->first_p = s->note_first_p = true;
  s->times = count_of(attributes, "number-columns-repeated", 1);
  s->columns_spanned = count_of(attributes, "number-columns-spanned", 1);
  s->rows_spanned = count_of(attributes, "number-rows-spanned", 1);
  s->number = keep(s, attributes, XML_SPACE_OFFICE, "value");
  s->date = keep(s, attributes, XML_SPACE_OFFICE, "date-value");
  s->time = keep(s, attributes, XML_SPACE_OFFICE, "time-value");
  s->boolean = keep(s, attributes, XML_SPACE_OFFICE, "boolean-value");
  s->formula = keep(s, attributes, XML_SPACE_TABLE, "formula");
  s->text = keep(s, attributes, XML_SPACE_OFFICE, "string-value");
  s->type = keep(s, attributes, XML_SPACE_OFFICE, "value-type");

  const char *sort = xml_attribute(attributes, XML_SPACE_CALCEXT, "value-type");

  if (sort && strcmp(sort, "error") == 0)
    s->type = "error";
  s->is_struck =
      listed(s->struck, s->struck_count, xml_attribute(attributes, XML_SPACE_TABLE, "style-name"));
  s->part_struck = false;
  s->spans = s->struck_from = 0;
  buf_clear(&s->shown);
  buf_clear(&s->kept);
  buf_clear(&s->note);
}

static void put_text(struct ods *s, char c)
{
  if (s->in_note) {
    buf_putc(&s->note, c);
    return;
  }
  buf_putc(&s->shown, c);
  if (s->struck_from == 0)
    buf_putc(&s->kept, c);
  else
    s->part_struck = true;
}

/* Inside a cell: paragraphs are lines. */
static void on_words(struct ods *s, int id, const char **attributes)
{
  bool *first = s->in_note ? &s->note_first_p : &s->first_p;

  if (id == ANNOTATION)
    s->in_note = true;
  else if (id == P) {
    if (!*first)
      put_text(s, '\n');
    *first = false;
    s->in_p = true;
  } else if (id == S) {
    int count = xml_int(xml_attribute(attributes, XML_SPACE_TEXT, "c"), SHEET_MOST_TEXT, 1);

    for (int i = 0; i < count; i++)
      put_text(s, ' ');
  } else if (id == TAB)
    put_text(s, '\t');
  else if (id == BREAK)
    put_text(s, '\n');
  else if (id == SPAN && !s->in_note) {
    const char *style = xml_attribute(attributes, XML_SPACE_TEXT, "style-name");

    s->spans++;
    if (s->struck_from == 0 && listed(s->struck, s->struck_count, style))
      s->struck_from = s->spans;
  }
}

static bool on_start(struct xml *xml, int id, const char **attributes)
{
  struct ods *s = xml->to;

  if (id == STYLE || id == TABLE_LOOK || id == TEXT_LOOK)
    on_style(s, id, attributes);
  s->drawn += id == DRAWN;
  s->ruby += id == RUBY;
  if (id == TABLE)
    return begin_table(s, attributes);
  if (s->tables_deep != 1 || s->drawn > 0 || s->ruby > 0)
    return true;
  if (s->in_cell)
    on_words(s, id, attributes);
  else if (id == ROW)
    begin_row(s, attributes);
  else if (id == COLUMN)
    hide_columns(s, attributes);
  else if ((id == CELL || id == COVERED) && s->in_row)
    begin_cell(s, id, attributes);
  return true;
}

static bool damaged(struct ods *s, const char *what)
{
  char place[120];

  sheet_place_in(s->tables[s->r->book.table_count].name, s->row, s->column, place, sizeof place);
  return sheet_refuse(s->r, 0, 0, "%s: %s; the file is damaged: open it and save it again", place,
                      what);
}

/* How many bytes of blank or of a sign that groups digits stand here; 0 for none. */
static int grouping(const char *at)
{
  static const char *const wide[] = {"\xc2\xa0", "\xe2\x80\xaf", "\xe2\x80\x89", "\xe2\x80\x99"};

  if (*at == ' ' || *at == '\'')
    return 1;
  for (size_t i = 0; i < sizeof wide / sizeof wide[0]; i++)
    if (strncmp(at, wide[i], strlen(wide[i])) == 0)
      return (int)strlen(wide[i]);
  return 0;
}

/* Whether digits as shown are the value, rounded: with `point` for the decimal point, and whatever
 * else stands between them only there to group them. */
static bool are_value(const char *digits, size_t size, char point, double value)
{
  char plain[40];
  size_t used = 0;
  int places = -1;

  for (size_t i = 0; i < size && used + 1 < sizeof plain; i++) {
    bool is_point = digits[i] == point;

    if (is_point && places >= 0)
      return false;
    if (is_point)
      places = 0;
    else if (digits[i] >= '0' && digits[i] <= '9')
      places += places >= 0;
    else
      continue;
    plain[used++] = is_point ? '.' : digits[i];
  }
  plain[used] = '\0';
  return fabs(strtod(plain, NULL) - fabs(value)) <= 0.5000001 * pow(10, places > 0 ? -places : 0);
}

/*
 * What the sheet shows around the number: "620 m3/h", "S07".  The number is shown in the writer's
 * own language and its value stands elsewhere, so the words are taken only where the digits between
 * them are that value; "1560 k" for 1560000 stays the plain number.
 */
static void find_words(struct ods *s, double value, struct shown *shown)
{
  const char *text = s->shown.text, *digits = text + strcspn(text, "0123456789"), *after = digits;
  const char *last = digits;

  for (int size = 1; size > 0; after += size) {
    size = *after != '\0' && strchr("0123456789.,", *after) ? 1 : grouping(after);
    if (*after >= '0' && *after <= '9')
      last = after + 1;
  }
  if (shown->as == SHOWN_PERCENT || last == digits || *last == 'E' || *last == 'e')
    return;
  if (strcmp(last, "%") == 0 && are_value(digits, (size_t)(last - digits), '.', value * 100)) {
    shown->as = SHOWN_PERCENT;
    return;
  }
  if (!are_value(digits, (size_t)(last - digits), '.', value) &&
      !are_value(digits, (size_t)(last - digits), ',', value))
    return;
  if (strspn(last, " +-()") < strlen(last))
    shown->after = arena_strdup(&s->r->scratch, last);
  if (strcspn(text, " +-()") > 0 && digits > text && text[0] != '\xe2') /* no typographic minus */
    shown->before = arena_printf(&s->r->scratch, "%.*s", (int)(digits - text), text);
  if (digits[0] == '0' && strspn(digits, "0123456789") == (size_t)(last - digits))
    shown->digits = (int)(last - digits);
}

static bool take_number(struct ods *s, struct sheet_cell *cell)
{
  struct shown shown = {.as = strcmp(s->type, "percentage") == 0 ? SHOWN_PERCENT : SHOWN_NUMBER};
  char *end;
  double value;

  if (!s->number || s->number[0] == '\0' || s->number[strspn(s->number, "+-.0123456789eE")])
    return damaged(s, "this cell holds a number that is none");
  value = strtod(s->number, &end);
  if (*end != '\0')
    return damaged(s, "this cell holds a number that is none");
  find_words(s, value, &shown);
  return shown_number(value, &shown, false, s->r->arena, cell) ||
         damaged(s, "there is no room for this cell");
}

/* Some programs have no type for yes and no, but a formula. */
static bool is_yes_no(const struct ods *s)
{
  return strcmp(s->type, "boolean") == 0 ||
         (s->formula &&
          (strcmp(s->formula, "of:=TRUE()") == 0 || strcmp(s->formula, "of:=FALSE()") == 0));
}

static bool take_yes_no(struct ods *s, struct sheet_cell *cell)
{
  const char *value = s->boolean ? s->boolean : s->number;
  bool yes = value && (strcmp(value, "true") == 0 || strcmp(value, "1") == 0);

  cell->kind = SHEET_YES_NO;
  cell->text = yes ? "TRUE" : "FALSE";
  cell->number = yes;
  return true;
}

/* "PT26H30M00.5S" (ISO 8601): a time of day, or one that goes on. */
static bool take_duration(struct ods *s, struct sheet_cell *cell)
{
  const char *at = s->time ? s->time : "";
  bool negative = *at == '-';
  double seconds = 0;

  at += negative;
  if (at[0] != 'P' || at[1] != 'T' || at[2] == '\0')
    return damaged(s, "this cell holds a time that is none");
  for (at += 2; *at;) {
    size_t digits = strspn(at, "0123456789.");
    double unit = at[digits] == 'H' ? 3600 : at[digits] == 'M' ? 60 : at[digits] == 'S' ? 1 : 0;

    if (unit == 0 || at[0] < '0' || at[0] > '9')
      return damaged(s, "this cell holds a time that is none");
    seconds += strtod(at, NULL) * unit;
    at += digits + 1;
  }

  struct shown shown = {.as = seconds < 86400 ? SHOWN_TIME : SHOWN_ELAPSED};

  return shown_number((negative ? -seconds : seconds) / 86400, &shown, false, s->r->arena, cell) ||
         damaged(s, "there is no room for this cell");
}

static bool some_is_kept(const struct ods *s)
{
  return s->kept.text[strspn(s->kept.text, " \t\n")] != '\0';
}

static bool take_text(struct ods *s, struct sheet_cell *cell)
{
  const char *shown = s->part_struck && some_is_kept(s) ? s->kept.text : s->shown.text;
  const char *text = s->first_p && s->text ? s->text : shown;
  bool fault = strcmp(s->type, "error") == 0 ||
               (s->formula && (text[0] == '#' || strncmp(text, "Err:", 4) == 0));

  if (fault && text[0] == '\0')
    text = "formula without a stored result";
  if (s->shown.full || s->note.full || strlen(text) > SHEET_MOST_TEXT)
    return damaged(s, "this cell holds more text than a spreadsheet program can");
  cell->text = arena_strdup(s->r->arena, text);
  cell->kind = fault ? SHEET_FAULT : text[0] != '\0' ? SHEET_TEXT : SHEET_EMPTY;
  return cell->text || damaged(s, "there is no room for this cell");
}

static bool take_value(struct ods *s, struct sheet_cell *cell)
{
  if (!s->type && s->first_p && !s->formula)
    return true;
  if (!s->type)
    s->type = "string";
  if (is_yes_no(s))
    return take_yes_no(s, cell);
  if (strcmp(s->type, "float") == 0 || strcmp(s->type, "percentage") == 0 ||
      strcmp(s->type, "currency") == 0)
    return take_number(s, cell);
  if (strcmp(s->type, "date") == 0 && s->date)
    return shown_iso(s->date, s->r->arena, cell) || take_text(s, cell);
  if (strcmp(s->type, "time") == 0)
    return take_duration(s, cell);
  return take_text(s, cell);
}

static bool end_cell(struct ods *s)
{
  struct sheet_cell cell = sheet_empty_cell;
  const char *table = s->tables[s->r->book.table_count].name;

  s->in_cell = false;
  if (!s->covered && !take_value(s, &cell))
    return false;
  cell.formula = s->formula != NULL;
  cell.part_struck = s->part_struck && some_is_kept(s);
  cell.struck = s->is_struck || (s->part_struck && !cell.part_struck);
  if (s->note.used > 0) {
    cell.note = arena_strdup(s->r->arena, s->note.text);
    if (!cell.note)
      return damaged(s, "there is no room for this cell");
  }
  if ((s->columns_spanned > 1 || s->rows_spanned > 1) &&
      !grid_merge(s->grid, s->r, table,
                  (struct grid_merge){s->row, s->column, s->row + s->rows_spanned - 1,
                                      s->column + s->columns_spanned - 1}))
    return false;
  for (int i = 0; i < s->times && (cell.kind != SHEET_EMPTY || cell.note); i++)
    if (!grid_add(s->grid, s->r, table, s->row, s->column + i, cell))
      return false;
  s->column = s->column + s->times < FAR ? s->column + s->times : FAR;
  return true;
}

static bool end_row(struct ods *s)
{
  s->in_row = false;
  return s->grid->count == s->row_first ||
         grid_repeat(s->grid, s->r, s->tables[s->r->book.table_count].name, s->row_first,
                     s->row_times - 1);
}

static bool end_table(struct ods *s)
{
  if (--s->tables_deep > 0)
    return true;

  bool good = grid_finish(s->grid, s->r, &s->tables[s->r->book.table_count]);

  grid_free(s->grid);
  s->grid = NULL;
  s->r->book.table_count++;
  return good;
}

static bool on_end(struct xml *xml, int id)
{
  struct ods *s = xml->to;

  s->drawn -= id == DRAWN;
  s->ruby -= id == RUBY;
  if (id == STYLE)
    s->style = NULL;
  if (id == TABLE)
    return end_table(s);
  if (s->tables_deep != 1 || s->drawn > 0 || s->ruby > 0)
    return true;
  if (id == P)
    s->in_p = false;
  else if (id == SPAN && s->in_cell && !s->in_note) {
    s->struck_from = s->struck_from == s->spans ? 0 : s->struck_from;
    s->spans--;
  } else if (id == ANNOTATION)
    s->in_note = false;
  else if ((id == CELL || id == COVERED) && s->in_cell)
    return end_cell(s);
  else if (id == ROW && s->in_row)
    return end_row(s);
  return true;
}

/* Runs of blanks are one blank (OpenDocument 1.2, 6.1.2): more are written as text:s. */
static void on_text(struct xml *xml, const char *bytes, int count)
{
  struct ods *s = xml->to;

  if (!s->in_cell || !s->in_p || s->drawn > 0 || s->ruby > 0 || s->tables_deep != 1)
    return;

  for (int i = 0; i < count; i++) {
    const struct buf *out = s->in_note ? &s->note : &s->shown;
    bool blank = bytes[i] == ' ' || bytes[i] == '\t' || bytes[i] == '\n' || bytes[i] == '\r';
    bool again =
        out->used == 0 || out->text[out->used - 1] == ' ' || out->text[out->used - 1] == '\n';

    if (!blank)
      put_text(s, bytes[i]);
    else if (!again)
      put_text(s, ' ');
  }
}

struct looking {
  const char *want;
  size_t matched;
  bool found;
};

static bool look_for(void *to, const char *bytes, size_t size)
{
  struct looking *s = to;

  for (size_t i = 0; i < size && !s->found; i++) {
    s->matched = bytes[i] == s->want[s->matched] ? s->matched + 1 : bytes[i] == s->want[0];
    s->found = s->want[s->matched] == '\0';
  }
  return true;
}

/* The manifest tells a locked file; it is only searched, because older ones declare a type. */
static bool is_open(struct reading *r, struct pack *pack)
{
  struct looking looking = {.want = "encryption-data"};
  const char *manifest = pack_find(pack, "META-INF/manifest.xml");

  if (manifest && !pack_feed(pack, manifest, look_for, &looking))
    return false;
  if (looking.found)
    return sheet_refuse(r, 0, 0,
                        "the file is locked with a password; take the password off (save it "
                        "without one) and try again");
  if (pack_find_like(pack, "Basic/", ".xml"))
    return sheet_refuse(r, 0, 0,
                        "this workbook holds macros, which are not let in; save it as .xlsx "
                        "without them");
  return true;
}

bool ods_read(struct reading *r, struct pack *pack)
{
  if (!is_open(r, pack))
    return false;

  struct ods *s = calloc(1, sizeof *s);

  if (!s)
    err_no_memory();
  s->r = r;
  buf_init(&s->shown, SHEET_MOST_TEXT);
  buf_init(&s->kept, SHEET_MOST_TEXT);
  buf_init(&s->note, SHEET_MOST_TEXT);

  struct xml xml = {r,        pack_find(pack, "content.xml"),
                    words,    sizeof words / sizeof words[0],
                    on_start, on_end,
                    on_text,  s,
                    NULL,     0,
                    false};
  bool good = xml_read(&xml, pack);

  if (good && r->book.table_count == 0)
    good = sheet_refuse(r, 0, 0, "there is no sheet of cells in this workbook");
  if (good) {
    size_t size = (size_t)r->book.table_count * sizeof *s->tables;
    void *tables = arena_push(r->arena, size, 1);

    if (tables)
      r->book.tables = memcpy(tables, s->tables, size);
    else
      good = sheet_refuse(r, 0, 0, "the file holds more than can be kept");
  }
  r->book.format = SHEET_ODS;
  if (s->grid)
    grid_free(s->grid);
  buf_release(&s->shown);
  buf_release(&s->kept);
  buf_release(&s->note);
  free(s);
  return good;
}
