#include "intake/intake_impl.h"

#include "base/spelling.h"
#include "base/utf8.h"

#include <stdlib.h>
#include <string.h>

/*
 * Where the list stands.  A row whose cells are words for columns is a header; the rows below it,
 * to the next header, are its table.  A table that names stations and says at least two things of
 * them is a station list.  More than one such table is a question only a person can answer.
 */
enum { MOST_CANDIDATES = 16, LEAST_SAID = 2, MOST_STATIONS = 2000 };

struct candidate {
  int table, header_row, first_row, end_row, first_column, end_column;
  int said;    /* fields of a station list besides the id */
  bool has_id; /* or a name to stand for one */
  bool by_name;
};

struct header {
  enum intake_field field;
  const char *unit;
  bool standard;
};

static bool is_figure_field(enum intake_field field)
{
  return field >= FIELD_WIDTH && field <= FIELD_VELOCITY;
}

enum units_dimension intake_dimension(enum intake_field field)
{
  if (field == FIELD_VELOCITY)
    return UNITS_VELOCITY;
  return field >= FIELD_WIDTH && field <= FIELD_TOP ? UNITS_LENGTH : UNITS_FLOW;
}

/* ---- one header text ---- */

/* A unit of any dimension a column here may have. */
static const char *any_unit(const char *text, enum units_dimension *dimension)
{
  static const enum units_dimension all[] = {UNITS_LENGTH, UNITS_FLOW, UNITS_VELOCITY,
                                             UNITS_STANDARD_FLOW};

  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
    const char *unit = intake_unit(text, all[i]);

    if (unit) {
      *dimension = all[i];
      return unit;
    }
  }
  return NULL;
}

struct split {
  char words[120]; /* folded, without the unit */
  const char *unit;
  enum units_dimension dimension;
};

static bool cut_unit(struct arena *arena, const char *begin, const char *end, struct split *out)
{
  while (begin < end && (*begin == ' ' || *begin == ','))
    begin++;
  while (end > begin && (end[-1] == ' ' || end[-1] == '\n'))
    end--;
  if (end == begin || end - begin > 20)
    return false;
  out->unit = any_unit(arena_printf(arena, "%.*s", (int)(end - begin), begin), &out->dimension);
  return out->unit != NULL;
}

static void fold_without(struct arena *arena, const char *text, const char *begin, const char *end,
                         struct split *out)
{
  char *rest = arena_printf(arena, "%.*s %s", (int)(begin - text), text, end);

  intake_fold(rest, out->words, sizeof out->words);
}

/* "Width (m)", "Breite [mm]", "Idle cfm", "Breite / mm": words and unit apart. */
static struct split split_header(struct arena *arena, const char *text)
{
  struct split out = {.dimension = UNITS_NOTHING};
  const char *open = strpbrk(text, "([");
  const char *close = open ? strpbrk(open, ")]") : NULL;

  intake_fold(text, out.words, sizeof out.words);
  if (strlen(text) > 100)
    return out;
  if (close && cut_unit(arena, open + 1, close, &out)) {
    fold_without(arena, text, open, close + 1, &out);
    return out;
  }
  for (const char *p = text; *p != '\0'; p++)
    if ((*p == ' ' || *p == ',' || *p == '/' || *p == '\n') && p > text &&
        cut_unit(arena, p + 1, text + strlen(text), &out)) {
      fold_without(arena, text, p, text + strlen(text), &out);
      return out;
    }
  if (cut_unit(arena, text, text + strlen(text), &out))
    out.words[0] = '\0';
  return out;
}

static enum intake_field field_of(const char *words)
{
  int field = words[0] != '\0' ? intake_word_find(intake_headers, words) : -1;

  return field > 0 ? (enum intake_field)field : FIELD_NONE;
}

/* Words that stand for two things are told apart by their unit. */
static enum intake_field by_unit(enum intake_field field, const char *words,
                                 enum units_dimension dimension)
{
  bool flow = dimension == UNITS_FLOW || dimension == UNITS_STANDARD_FLOW;

  if (words[0] == '\0')
    return flow ? FIELD_FLOW : FIELD_NONE;
  if (field == FIELD_MAIN && flow)
    return FIELD_FLOW;
  if (field == FIELD_TOP && flow)
    return FIELD_LARGEST;
  if (dimension != UNITS_NOTHING && is_figure_field(field) && !flow &&
      intake_dimension(field) != dimension)
    return FIELD_NONE; /* "Work (m)" is no flow */
  if (flow && is_figure_field(field) && intake_dimension(field) != UNITS_FLOW)
    return FIELD_NONE;
  return dimension != UNITS_NOTHING && !is_figure_field(field) ? FIELD_NONE : field;
}

static const char *header_text(const struct sheet_table *table, int row, int column)
{
  const struct sheet_cell *cell = sheet_at(table, row, column);

  return row >= 0 && cell->kind == SHEET_TEXT ? cell->text : "";
}

static struct header read_header(struct arena *arena, const char *above, const char *text)
{
  struct split upper = split_header(arena, above), lower = split_header(arena, text);
  struct split *with_unit = lower.unit ? &lower : &upper;
  char both[sizeof upper.words + sizeof lower.words + 2];
  enum intake_field field = FIELD_NONE;

  if (above[0] != '\0' && strcmp(upper.words, lower.words) != 0) {
    snprintf(both, sizeof both, "%s %s", upper.words, lower.words);
    field = field_of(both);
  }
  if (field == FIELD_NONE)
    field = field_of(lower.words);
  if (field == FIELD_NONE && lower.words[0] == '\0' && above[0] != '\0') /* a unit row */
    field = by_unit(field_of(upper.words), upper.words, with_unit->dimension);
  else
    field = by_unit(field, lower.words, with_unit->dimension);
  return (struct header){field, is_figure_field(field) ? with_unit->unit : NULL,
                         with_unit->dimension == UNITS_STANDARD_FLOW};
}

/* ---- one row as a header ---- */

/* A title over the whole width says nothing of single columns. */
static bool is_title(const struct sheet_table *table, int row, int first, int end)
{
  const char *seen = NULL;

  for (int c = first; c < end; c++) {
    const char *text = header_text(table, row, c);

    if (text[0] != '\0' && seen && strcmp(seen, text) != 0)
      return false;
    if (text[0] != '\0')
      seen = text;
  }
  return true;
}

static int score_row(struct arena *arena, const struct sheet_table *table, int row, bool two,
                     int first, int end, struct candidate *out)
{
  bool seen[FIELD_COUNT] = {0};
  int said = 0, known = 0, own = 0;

  for (int c = first; c < end; c++) {
    const char *above = two ? header_text(table, row - 1, c) : "";
    struct header h = read_header(arena, above, header_text(table, row, c));

    known += h.field != FIELD_NONE;
    own += header_text(table, row, c)[0] != '\0';
    if (h.field >= FIELD_TYPE && h.field <= FIELD_VELOCITY && h.field != FIELD_ROOM &&
        !seen[h.field])
      said++;
    seen[h.field] = true;
  }
  out->said = own >= 2 ? said : 0;
  out->by_name = !seen[FIELD_ID] && seen[FIELD_NAME] && said > LEAST_SAID;
  out->has_id = seen[FIELD_ID] || out->by_name;
  return known;
}

static bool is_list(const struct candidate *c)
{
  return c->has_id && c->said >= LEAST_SAID;
}

/* The next column from `from` on that is called as stations are. */
static int next_id(struct arena *arena, const struct sheet_table *table, int row, int from)
{
  for (int c = from; c < table->column_count; c++) {
    struct split words = split_header(arena, header_text(table, row, c));
    bool same_block = c > 0 && sheet_at(table, row, c)->covered &&
                      strcmp(header_text(table, row, c), header_text(table, row, c - 1)) == 0;

    if (!words.unit && !same_block && field_of(words.words) == FIELD_ID)
      return c;
  }
  return -1;
}

/* Is the row a header of anything: all its texts are words for columns, two at least? */
static bool is_any_header(struct arena *arena, const struct sheet_table *table, int row, int first,
                          int end)
{
  int texts = 0, known = 0;

  for (int c = first; c < end; c++) {
    const struct sheet_cell *cell = sheet_at(table, row, c);

    if (cell->kind == SHEET_EMPTY)
      continue;
    texts++;
    known += cell->kind == SHEET_TEXT && !cell->covered &&
             read_header(arena, "", cell->text).field != FIELD_NONE;
  }
  return texts >= 2 && known >= 2 && known * 3 >= texts * 2;
}

static bool is_repeated(const struct sheet_table *table, int row, int header_row, int first,
                        int end)
{
  for (int c = first; c < end; c++)
    if (strcmp(header_text(table, row, c), header_text(table, header_row, c)) != 0)
      return false;
  return true;
}

/* Units alone in the row below the header. */
static bool is_unit_row(struct arena *arena, const struct sheet_table *table, int row, int first,
                        int end)
{
  int units = 0, others = 0;

  for (int c = first; c < end; c++) {
    struct split cell = split_header(arena, header_text(table, row, c));
    bool unit = cell.unit && cell.words[0] == '\0';

    units += unit;
    others +=
        !unit && sheet_at(table, row, c)->kind != SHEET_EMPTY && !sheet_at(table, row, c)->covered;
  }
  return units > 0 && others == 0;
}

static void bound(struct arena *arena, const struct sheet_table *table, struct candidate *c)
{
  c->first_row = c->header_row + 1;
  c->end_row = table->row_count;
  for (int row = c->first_row; row < c->end_row; row++)
    if (is_any_header(arena, table, row, c->first_column, c->end_column) &&
        !is_repeated(table, row, c->header_row, c->first_column, c->end_column))
      c->end_row = row;
}

/* The columns [first, end) of a row as a header, alone or with the row above it. */
static bool candidate_at(struct arena *arena, const struct sheet_table *table, int row, int first,
                         int end, struct candidate *out)
{
  struct candidate one = {0}, two = {0};
  bool above = row > 0 && !is_title(table, row - 1, first, end);
  int known = score_row(arena, table, row, false, first, end, &one);
  int known_two = above ? score_row(arena, table, row, true, first, end, &two) : 0;

  *out = known_two > known ? two : one;
  out->header_row = row;
  out->first_column = first;
  out->end_column = end;
  return is_list(out);
}

/* Two lists side by side each begin with a column for the station; otherwise one list is as wide as
 * the sheet. */
static int candidates_in_row(struct arena *arena, const struct sheet_table *table, int row,
                             struct candidate *list, int room)
{
  int count = 0;

  for (int first = next_id(arena, table, row, 0); first >= 0 && count < room;) {
    int next = next_id(arena, table, row, first + 1);

    count +=
        candidate_at(arena, table, row, first, next < 0 ? table->column_count : next, &list[count]);
    first = next;
  }
  if (count >= 2)
    return count;
  return room > 0 && candidate_at(arena, table, row, 0, table->column_count, &list[0]) ? 1 : 0;
}

/* ---- all tables of all sheets ---- */

static int find_in_table(struct intake *in, int t, struct candidate *list, int room)
{
  const struct sheet_table *table = &in->book->tables[t];
  int count = 0;

  for (int row = 0; row < table->row_count && count < room; row++) {
    struct candidate found[MOST_CANDIDATES], below[MOST_CANDIDATES];
    int n = candidates_in_row(in->arena, table, row, found, room - count);

    if (n == 0)
      continue;
    if (candidates_in_row(in->arena, table, row + 1, below, room - count) == n &&
        below[0].said > found[0].said) /* the header's second row says more */
      memcpy(found, below, (size_t)n * sizeof *found);
    for (int i = 0; i < n; i++) {
      found[i].table = t;
      bound(in->arena, table, &found[i]);
      list[count++] = found[i];
    }
    row = found[0].end_row - 1;
  }
  return count;
}

static int find_candidates(struct intake *in, struct candidate *list)
{
  int count = 0;

  for (int t = 0; t < in->book->table_count; t++)
    count += find_in_table(in, t, list + count, MOST_CANDIDATES - count);
  return count;
}

/* Rows with at least two things in them: what has one is a heading. */
static int data_rows(const struct intake *in, const struct candidate *c)
{
  const struct sheet_table *table = &in->book->tables[c->table];
  int rows = 0;

  for (int row = c->first_row; row < c->end_row; row++) {
    int filled = 0;

    for (int k = c->first_column; k < c->end_column; k++)
      filled += sheet_at(table, row, k)->kind != SHEET_EMPTY;
    rows += filled >= 2;
  }
  return rows;
}

static const char *place_of(struct intake *in, int t, int row, int column)
{
  char place[200];

  sheet_place(&in->book->tables[t], row, column, place, sizeof place);
  return intake_text(in, "%s", place);
}

static void refuse_none(struct intake *in, const char *choice)
{
  struct place file = {.file = in->book->file};

  if (choice)
    complaints_add(in->complaints, file, 0,
                   "there is no station list at '%.60s'; name a sheet, or the cell where the "
                   "header begins, as it stands in the file: Stations or Stations!A20",
                   choice);
  else
    complaints_add(in->complaints, file, 0,
                   "no station list was found: one row must name the columns, with a word for the "
                   "station (Station, Id, No) and two or more of type, chemistry, exhaust main, "
                   "width, sash mark, parked flow, work flow, face velocity");
}

static void refuse_many(struct intake *in, const struct candidate *list, int count)
{
  struct buf names;

  buf_init(&names, 300);
  for (int i = 0; i < count; i++)
    buf_printf(&names, "%s%s (%d row%s)",
               i == 0           ? ""
               : i == count - 1 ? " and "
                                : ", ",
               place_of(in, list[i].table, list[i].header_row, list[i].first_column),
               data_rows(in, &list[i]), data_rows(in, &list[i]) == 1 ? "" : "s");
  complaints_add(in->complaints, (struct place){.file = in->book->file}, 0,
                 "%d tables here look like a station list: %s; say which with --table, as in "
                 "--table '%s'",
                 count, names.text,
                 place_of(in, list[0].table, list[0].header_row, list[0].first_column));
  buf_release(&names);
}

/* Keeps what the person chose: a sheet, or the cell where a header begins. */
static int keep_chosen(struct intake *in, const char *choice, struct candidate *list, int count)
{
  int kept = 0;

  for (int i = 0; i < count; i++) {
    const char *sheet = in->book->tables[list[i].table].name;
    bool by_cell =
        strcmp(choice, place_of(in, list[i].table, list[i].header_row, list[i].first_column)) == 0;

    if (by_cell || strcmp(choice, sheet) == 0)
      list[kept++] = list[i];
  }
  return kept;
}

/* ---- the chosen table's columns ---- */

static void note_unknown_header(struct intake *in, int row, int column, const char *text,
                                const char *names)
{
  char folded[120];
  const char *near = NULL;

  intake_fold(text, folded, sizeof folded);

  int most = strlen(folded) < 4 ? 0 : strlen(folded) < 8 ? 1 : 2, best = most + 1;

  for (const struct intake_word *w = intake_headers; w->text; w++) {
    int distance = most > 0 ? spelling_distance(folded, strlen(folded), w->text, most) : best;

    if (distance < best) {
      best = distance;
      near = w->text;
    }
  }
  if (!near && names) {
    intake_remark(in, INTAKE_FAULT, row, column,
                  "the column '%.40s' is not used: that is no word known here; %s", text, names);
    return;
  }
  intake_remark(in, near ? INTAKE_FAULT : INTAKE_NOTICE, row, column,
                near ? "the column '%.40s' is not used; did you mean '%s'?"
                     : "the column '%.40s' is not used; a suite has no place for it, or it is "
                       "called by a word not known here",
                text, near);
}

/* "Mark" may be the sash's or the glass's: its cells say. */
static enum intake_field settle_mark(const struct intake *in, const struct candidate *c, int column)
{
  const struct sheet_table *table = &in->book->tables[c->table];
  int colours = 0, figures = 0;

  for (int row = c->first_row; row < c->end_row; row++) {
    const struct sheet_cell *cell = sheet_at(table, row, column);
    char folded[80];

    intake_fold(cell->text, folded, sizeof folded);
    if (cell->kind == SHEET_NUMBER || (folded[0] >= '0' && folded[0] <= '9'))
      figures++;
    else if (intake_word_in(intake_colours, folded) >= 0 ||
             intake_word_in(intake_shapes, folded) >= 0)
      colours++;
  }
  if (colours > 0 && figures > 0)
    return FIELD_NONE;
  return colours > 0 ? FIELD_GLASS : FIELD_MARK;
}

static bool is_flow_like(struct intake *in, const struct sheet_cell *cell)
{
  struct figure_wanted wanted = {.dimension = UNITS_FLOW, .high_si = 1e9};
  struct figure f;

  if (cell->kind != SHEET_NUMBER && cell->kind != SHEET_TEXT)
    return false;
  f = intake_figure(cell->text, &wanted, in->arena);
  return f.needs_mark ||
         (f.state == FIGURE_GIVEN && (!f.needs_unit || strtod(f.text, NULL) >= 50.0));
}

/* "Exhaust" may be a main or a flow: figures below it are no names of mains. */
static bool is_flow_of_main(struct intake *in, const struct candidate *c, int column)
{
  const struct sheet_table *table = &in->book->tables[c->table];

  for (int row = c->first_row; row < c->end_row; row++)
    if (is_flow_like(in, sheet_at(table, row, column)))
      return true;
  return false;
}

static bool may_repeat(enum intake_field field)
{
  return field == FIELD_NOTE || field == FIELD_TYPE || field == FIELD_NONE ||
         field == FIELD_NOT_HERE;
}

/* A running number beside the station's own name is no id. */
static bool is_counting(const char *header)
{
  static const struct intake_word words[] = {{"no", 0},     {"nr", 0},     {"number", 0}, {"n", 0},
                                             {"numero", 0}, {"nummer", 0}, {NULL, 0}};
  char folded[60];

  intake_fold(header, folded, sizeof folded);
  return intake_word_find(words, folded) >= 0;
}

/* Two columns of one meaning: neither is taken, for nobody can tell which is meant. */
static void drop_doubles(struct intake *in)
{
  struct intake_table *t = &in->table;

  for (int i = 0; i < t->column_count; i++)
    for (int k = i + 1; k < t->column_count; k++) {
      struct intake_column *a = &t->columns[i], *b = &t->columns[k];

      if (may_repeat(a->field) || a->field != b->field)
        continue;
      if (a->field == FIELD_ID && is_counting(a->header) != is_counting(b->header)) {
        (is_counting(a->header) ? a : b)->field = FIELD_NONE;
        continue;
      }
      intake_remark(in, INTAKE_FAULT, t->header_row, b->column,
                    "the columns '%.40s' and '%.40s' mean the same, so neither is used; rename the "
                    "one that is not meant",
                    a->header, b->header);
      a->field = b->field = FIELD_NONE;
    }
}

/* "E", as a spreadsheet program calls the fifth column. */
static const char *letters_of(struct intake *in, int column)
{
  char text[8];
  int at = (int)sizeof text - 1;

  text[at] = '\0';
  for (int rest = column + 1; rest > 0 && at > 0; rest = (rest - 1) / 26)
    text[--at] = (char)('A' + (rest - 1) % 26);
  return intake_text(in, "%s", text + at);
}

/* A figure in a column that is not understood is a figure lost: say what such columns are called. */
static const char *names_for(enum units_dimension dimension)
{
  if (dimension == UNITS_FLOW || dimension == UNITS_STANDARD_FLOW)
    return "flows are called Parked flow, Work flow, Max flow, or Flow where there is one";
  if (dimension == UNITS_LENGTH)
    return "lengths are called Width, Sash mark, Sash max or Sash down";
  return dimension == UNITS_VELOCITY ? "a velocity is called Face velocity" : NULL;
}

/* What a list usually has, by the name that is always understood. */
static void note_lacking(struct intake *in)
{
  static const struct {
    enum intake_field field;
    const char *name;
  } usual[] = {
      {FIELD_TYPE, "Type"},           {FIELD_ROOM, "Room"},      {FIELD_MAIN, "Main"},
      {FIELD_CHEMISTRY, "Chemistry"}, {FIELD_WIDTH, "Width"},    {FIELD_MARK, "Sash mark"},
      {FIELD_PARKED, "Parked flow"},  {FIELD_WORK, "Work flow"}, {FIELD_GLASS, "Glass mark"}};
  struct buf names;

  buf_init(&names, 300);
  for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++)
    if (!intake_column_of(in, usual[i].field))
      buf_printf(&names, "%s%s", names.used > 0 ? ", " : "", usual[i].name);
  if (names.used > 0)
    intake_remark(in, INTAKE_NOTICE, in->table.header_row, in->table.first_column,
                  "of the usual columns none was found for: %s; where one of those above that are "
                  "not used is meant, give it that name",
                  names.text);
  buf_release(&names);
}

static void map_column(struct intake *in, const struct candidate *c, bool two, int column)
{
  struct intake_table *t = &in->table;
  const char *above = two ? header_text(t->sheet, c->header_row - 1, column) : "";
  const char *text = header_text(t->sheet, c->header_row, column);
  struct header h = read_header(in->arena, above, text);
  struct split unit = split_header(in->arena, header_text(t->sheet, t->first_row - 1, column));
  enum units_dimension dimension = split_header(in->arena, text).dimension;

  if (above[0] != '\0' && strcmp(above, text) != 0)
    text = intake_text(in, "%s %s", above, text);
  if (h.field == FIELD_MARK && !h.unit)
    h.field = settle_mark(in, c, column);
  if (t->first_row - 1 > c->header_row && unit.unit) {
    if (is_figure_field(h.field) && intake_dimension(h.field) == unit.dimension)
      h.unit = unit.unit;
    h.standard |= unit.dimension == UNITS_STANDARD_FLOW;
    dimension = dimension == UNITS_NOTHING ? unit.dimension : dimension;
  }
  if (h.field == FIELD_MAIN && is_flow_of_main(in, c, column)) {
    intake_remark(
        in, INTAKE_FAULT, c->header_row, column,
        "the column '%.40s' holds figures: is it a flow, or the main by number? It is not "
        "used; call it 'Flow (m3/h)' with its unit, or write 'Main 3' into its cells",
        text);
    return;
  }
  if (c->by_name && h.field == FIELD_NAME)
    h.field = FIELD_ID;
  if (h.field == FIELD_NONE && text[0] != '\0') {
    note_unknown_header(in, c->header_row, column, text, names_for(dimension));
    t->has_unknown = true;
  }
  if (h.field == FIELD_NONE)
    return;
  if (sheet_at(t->sheet, c->header_row, column)->struck) {
    intake_remark(in, INTAKE_FAULT, c->header_row, column,
                  "the column '%.40s' is not used: its header is struck through", text);
    return;
  }
  if (t->sheet->column_hidden && t->sheet->column_hidden[column])
    intake_remark(in, INTAKE_NOTICE, c->header_row, column,
                  "the column '%.40s' is hidden in the workbook; it is read as if it were not",
                  text);
  if (h.standard) {
    intake_remark(
        in, INTAKE_FAULT, c->header_row, column,
        "'%.40s' is a flow at standard conditions that it does not state; give the actual "
        "flow. The column is not used",
        text);
    return;
  }
  t->columns[t->column_count++] = (struct intake_column){.column = column,
                                                         .field = h.field,
                                                         .header = text,
                                                         .unit = h.unit,
                                                         .letters = letters_of(in, column)};
}

static bool ids_have_digits(const struct intake *in)
{
  const struct intake_table *t = &in->table;
  const struct intake_column *id = intake_column_of(in, FIELD_ID);
  int with = 0, without = 0;

  for (int row = t->first_row; id && row < t->end_row; row++) {
    int filled = 0;

    for (int i = 0; i < t->column_count; i++)
      filled += sheet_at(t->sheet, row, t->columns[i].column)->kind != SHEET_EMPTY;
    if (filled < 2)
      continue;

    bool digit = strpbrk(sheet_at(t->sheet, row, id->column)->text, "0123456789") != NULL;

    with += digit;
    without += !digit;
  }
  return with >= 3 && without * 4 <= with;
}

static void take_table(struct intake *in, const struct candidate *c)
{
  struct intake_table *t = &in->table;
  struct candidate one = *c, two = *c;
  bool above;

  *t = (struct intake_table){.sheet = &in->book->tables[c->table],
                             .header_row = c->header_row,
                             .first_row = c->first_row,
                             .end_row = c->end_row,
                             .first_column = c->first_column,
                             .end_column = c->end_column};
  if (is_unit_row(in->arena, t->sheet, t->first_row, t->first_column, t->end_column))
    t->first_row++;
  above = c->header_row > 0 &&
          !is_title(t->sheet, c->header_row - 1, c->first_column, c->end_column) &&
          score_row(in->arena, t->sheet, c->header_row, true, c->first_column, c->end_column,
                    &two) > score_row(in->arena, t->sheet, c->header_row, false, c->first_column,
                                      c->end_column, &one);
  t->columns =
      ARENA_ARRAY(in->arena, struct intake_column, (size_t)(t->end_column - t->first_column) + 1);
  BUG_IF(!t->columns);
  for (int column = t->first_column; column < t->end_column; column++)
    map_column(in, c, above, column);
  drop_doubles(in);
  if (t->has_unknown)
    note_lacking(in);
  t->ids_have_digits = ids_have_digits(in);
}

/* Says what else the file holds and was not read. */
static void say_others(struct intake *in, const struct candidate *chosen)
{
  const struct sheet_table *sheet = in->table.sheet;

  for (int i = 0; i < in->book->remark_count; i++)
    intake_remark(in, INTAKE_NOTICE, -1, -1, "%s", in->book->remarks[i]);
  for (int t = 0; t < in->book->table_count; t++)
    if (t != chosen->table && in->book->tables[t].row_count > 0)
      intake_remark(in, INTAKE_NOTICE, -1, -1, "the sheet '%.60s' was not read",
                    in->book->tables[t].name);
  if (chosen->end_row < sheet->row_count)
    intake_remark(in, INTAKE_NOTICE, chosen->end_row, chosen->first_column,
                  "another table begins here; it was not read");
  if (sheet->hidden)
    intake_remark(in, INTAKE_NOTICE, -1, -1, "the sheet '%.60s' is hidden in the workbook",
                  sheet->name);
}

bool intake_find_table(struct intake *in, const char *choice)
{
  struct candidate list[MOST_CANDIDATES];
  int count = find_candidates(in, list);

  if (choice)
    count = keep_chosen(in, choice, list, count);
  if (count == 0) {
    refuse_none(in, choice);
    return false;
  }
  if (count > 1) {
    refuse_many(in, list, count);
    return false;
  }
  if (data_rows(in, &list[0]) > MOST_STATIONS) {
    complaints_add(
        in->complaints, (struct place){.file = in->book->file}, 0,
        "%s: the list has %d rows, and %d stations are the most a list may have; is it the "
        "right sheet?",
        place_of(in, list[0].table, list[0].header_row, list[0].first_column),
        data_rows(in, &list[0]), MOST_STATIONS);
    return false;
  }
  take_table(in, &list[0]);
  say_others(in, &list[0]);
  if (!intake_column_of(in, FIELD_ID)) {
    complaints_add(in->complaints, (struct place){.file = in->book->file}, 0,
                   "%s: two columns could be the station's id; rename the one that is not",
                   place_of(in, list[0].table, list[0].header_row, list[0].first_column));
    return false;
  }
  return true;
}

const struct intake_column *intake_column_of(const struct intake *in, enum intake_field field)
{
  for (int i = 0; i < in->table.column_count; i++)
    if (in->table.columns[i].field == field)
      return &in->table.columns[i];
  return NULL;
}
