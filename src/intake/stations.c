#include "intake/intake_impl.h"

#include <string.h>

/*
 * Rows to stations.  Each field's column has one reader; what it cannot read is a fault at its cell
 * and the station goes on without it.
 */

static char *trimmed(struct arena *arena, const char *text)
{
  char *out = arena_printf(arena, "%s", text);
  size_t length = strlen(out);

  for (char *p = out; *p != '\0'; p++)
    if ((unsigned char)*p < 0x20 || *p == 0x7F)
      *p = ' ';
  while (length > 0 && out[length - 1] == ' ')
    out[--length] = '\0';
  return out + strspn(out, " ");
}

static void add_note(struct intake *in, struct intake_station *s, int column, const char *text)
{
  const char *more = trimmed(in->arena, text);
  const char *both = s->note ? intake_text(in, "%s; %s", s->note, more) : more;

  if (more[0] == '\0')
    return;
  if (strlen(both) <= INTAKE_MOST_TEXT)
    s->note = both;
  else
    intake_remark(
        in, INTAKE_FAULT, s->row, column,
        "'%.40s...' is not taken into the suite: with the row's other remarks it is longer "
        "than %d bytes; shorten it",
        more, INTAKE_MOST_TEXT);
}

/* ---- ids ---- */

/* [A-Za-z][A-Za-z0-9_-]{0,31} of what people write: "Hood 3" is Hood-3, "3" is St3. */
static const char *legal_id(struct arena *arena, const char *text, const char *prefix)
{
  char folded[80], out[40];
  size_t used = 0;
  const char *p = text;

  while (*p != '\0' && ((unsigned char)*p & 0x80) == 0)
    p++;
  if (*p != '\0') { /* accents go, and with them the capitals */
    intake_fold(text, folded, sizeof folded);
    text = folded;
  }
  if (!((text[0] >= 'A' && text[0] <= 'Z') || (text[0] >= 'a' && text[0] <= 'z')))
    used = (size_t)snprintf(out, sizeof out, "%s", prefix);
  for (p = text; *p != '\0' && used < 32; p++) {
    bool fits = (*p >= 'A' && *p <= 'Z') || (*p >= 'a' && *p <= 'z') || (*p >= '0' && *p <= '9') ||
                *p == '_' || *p == '-';

    if (fits)
      out[used++] = *p;
    else if (used > 0 && out[used - 1] != '-')
      out[used++] = '-';
  }
  while (used > 1 && out[used - 1] == '-')
    used--;
  out[used] = '\0';
  return arena_printf(arena, "%s", out);
}

bool intake_is_legal_of(struct arena *arena, const char *written, const char *id)
{
  return strcmp(legal_id(arena, written, "St"), id) == 0;
}

static bool id_is_taken(const struct intake *in, const char *id)
{
  if (strcmp(id, "outdoors") == 0)
    return true;
  for (int i = 0; i < in->station_count; i++)
    if (strcmp(in->stations[i].id, id) == 0)
      return true;
  for (int i = 0; i < in->room_count; i++)
    if (strcmp(in->rooms[i].id, id) == 0)
      return true;
  for (int i = 0; i < in->main_count; i++)
    if (strcmp(in->mains[i].id, id) == 0)
      return true;
  return false;
}

/* Alike but for capitals and blanks. */
static bool same_name(const char *a, const char *b)
{
  for (;; a++, b++) {
    a += strspn(a, " ");
    b += strspn(b, " ");

    char x = *a >= 'A' && *a <= 'Z' ? (char)(*a - 'A' + 'a') : *a;
    char y = *b >= 'A' && *b <= 'Z' ? (char)(*b - 'A' + 'a') : *b;

    if (x != y)
      return false;
    if (x == '\0')
      return true;
  }
}

/* The room or main of that name, made when it is new.  Two pools for "acid" and "Acid" would each
 * have too much left. */
static const char *named(struct intake *in, int row, enum intake_field field,
                         struct intake_named *list, int *count, const char *text)
{
  const struct intake_column *column = intake_column_of(in, field);
  const char *what = field == FIELD_ROOM ? "room" : "main";

  for (int i = 0; i < *count; i++) {
    if (!same_name(list[i].written, text))
      continue;
    if (strcmp(list[i].written, text) != 0)
      intake_remark(in, INTAKE_NOTICE, row, column ? column->column : -1,
                    "'%.40s' is read as the same %s as '%.40s'; if it is another, give it another "
                    "name",
                    text, what, list[i].written);
    return list[i].id;
  }

  const char *id = legal_id(in->arena, text, what);

  for (int i = 2; id_is_taken(in, id); i++)
    id = intake_text(in, "%.20s-%s%.0d", legal_id(in->arena, text, what), what, i > 2 ? i : 0);
  list[*count] = (struct intake_named){id, text};
  return list[(*count)++].id;
}

static bool take_id(struct intake *in, struct intake_station *s, const char *text, int column)
{
  char folded[80];

  intake_fold(text, folded, sizeof folded);
  if (intake_missing_as(text) >= 0) {
    intake_remark(in, INTAKE_FAULT, s->row, column,
                  "there is no id here, so the row is left out; give the station one");
    return false;
  }
  if (folded[0] == '\0' || folded[0] == '?') {
    intake_remark(in, INTAKE_FAULT, s->row, column,
                  "'%.40s' has none of the letters and digits of an id, A-Z, a-z and 0-9, so the "
                  "row is left out; give the station one that has",
                  text);
    return false;
  }
  s->written_id = trimmed(in->arena, text);
  s->id = legal_id(in->arena, s->written_id, "St");
  if (strcmp(s->id, "outdoors") == 0) {
    intake_remark(
        in, INTAKE_FAULT, s->row, column,
        "'outdoors' is the outdoor air in a suite, so the row is left out; give the station "
        "another id");
    return false;
  }
  for (int i = 0; i < in->station_count; i++) {
    const struct intake_station *other = &in->stations[i];

    if (!same_name(other->id, s->id)) /* nor do people tell a1 from A1 */
      continue;
    intake_remark(in, INTAKE_FAULT, s->row, column,
                  strcmp(other->written_id, s->written_id) == 0
                      ? "'%.40s' stands here twice, first at %s; this row is left out. Give one of "
                        "them another id"
                      : "'%.40s' cannot be told from the one at %s as an id; this row is left out. "
                        "Give one of them another id",
                  s->written_id, intake_place(in, other->row, column));
    return false;
  }
  if (strcmp(s->id, s->written_id) != 0)
    intake_remark(in, INTAKE_NOTICE, s->row, column,
                  "'%.40s' is %s in the suite: an id has letters, digits, - and _ only",
                  s->written_id, s->id);
  return true;
}

/* ---- figures ---- */

static const struct range {
  double low_si, high_si;
} plausible[V_COUNT] = {
    /* Bounds of ours that catch a wrong unit or a lost digit; they are not limits for work. */
    {0.2, 6.0},    /* width, m */
    {0.0, 0.5},    /* sash down */
    {0.05, 1.5},   /* at the mark */
    {0.05, 2.5},   /* as far as it goes */
    {0.0, 6.0},    /* parked flow, m3/s */
    {0.0015, 6.0}, /* at work */
    {0.0015, 6.0}, /* largest */
    {0.0015, 6.0}, /* a flow */
    {0.05, 2.0},   /* face velocity, m/s */
};

static const char *cell_is_no_figure(const struct sheet_cell *cell)
{
  switch (cell->kind) {
  case SHEET_DATE:
    return "is a date: the spreadsheet may have made it of something like 1-5; format the cell as "
           "text and type it again";
  case SHEET_YES_NO:
    return "is yes or no, and a figure belongs here";
  case SHEET_FAULT:
    return "is what a failed formula left; type the figure";
  case SHEET_EMPTY:
    return cell->formula
               ? "is a formula without a stored result; open the file, let it compute, and "
                 "save it"
               : NULL;
  case SHEET_TEXT:
  case SHEET_NUMBER:
    break;
  }
  return NULL;
}

static void refuse_figure(struct intake *in, int row, int column, const char *text, const char *why)
{
  intake_remark(in, INTAKE_FAULT, row, column, "'%.40s' %s", trimmed(in->arena, text), why);
}

/* Read, and not what such a thing is. */
static void refuse_range(struct intake *in, const struct intake_column *c, int row,
                         const struct figure *f)
{
  const struct range *range = &plausible[c->field - FIELD_WIDTH];
  enum units_dimension dimension = intake_dimension(c->field);
  struct buf low, high;

  buf_init(&low, 60);
  buf_init(&high, 60);
  units_print(&low, range->low_si, dimension, UNITS_SYSTEM_SI);
  units_print(&high, range->high_si, dimension, UNITS_SYSTEM_SI);
  intake_remark(
      in, INTAKE_FAULT, row, c->column,
      "this reads as %s, and no '%.40s' is that: %s to %s are taken; correct the figure or "
      "its unit",
      f->text, c->header, low.text, high.text);
  buf_release(&low);
  buf_release(&high);
}

static enum figure_mark what_marks_mean(struct intake *in, const struct sheet_cell *cell)
{
  const struct intake_answer *a = intake_answer_find(in, "thousands mark");

  if (cell->kind == SHEET_NUMBER)
    return MARK_DECIMAL;
  return a && a->text ? (a->choice == 0 ? MARK_THOUSANDS : MARK_DECIMAL) : MARK_ASK;
}

static void open_question(struct intake *in, const char *key)
{
  for (int i = 0; i < in->answer_count; i++)
    if (strcmp(in->answers[i].question.key, key) == 0)
      in->answers[i].open = true;
}

/* In a block of cells merged over rows, and not in its first. */
static bool is_merged_down(const struct intake *in, const struct intake_row *row, int column)
{
  const struct sheet_cell *cell = sheet_at(in->table.sheet, row->row, column);
  const struct sheet_cell *above = sheet_at(in->table.sheet, row->row - 1, column);

  return cell->covered && strcmp(cell->text, above->text) == 0;
}

static void take_figure(struct intake *in, struct intake_station *s, const struct intake_row *row,
                        int column)
{
  const struct intake_column *c = &in->table.columns[column];
  const struct sheet_cell *cell = row->cells[column];
  const struct range *range = &plausible[c->field - FIELD_WIDTH];
  struct figure_wanted wanted = {.dimension = intake_dimension(c->field),
                                 .unit = c->unit,
                                 .mark = what_marks_mean(in, cell),
                                 .low_si = range->low_si,
                                 .high_si = range->high_si};
  const char *no = cell_is_no_figure(cell);

  if (no) {
    refuse_figure(in, row->row, c->column, cell->text, no);
    return;
  }

  struct figure f = intake_figure(cell->text, &wanted, in->arena);

  if (f.needs_mark)
    open_question(in, "thousands mark");
  if (f.state == FIGURE_BAD)
    refuse_figure(in, row->row, c->column, cell->text, f.why);
  if (f.state != FIGURE_GIVEN)
    return;
  if (f.needs_unit) {
    open_question(in, intake_text(in, "unit of column %s", c->letters));
    if (c->unit_asked)
      intake_remark(in, INTAKE_FAULT, row->row, c->column,
                    "'%.40s' has no unit, and nor has the column; write it into the header, as in "
                    "'%.40s (%s)'",
                    f.text, c->header,
                    wanted.dimension == UNITS_LENGTH ? "m"
                    : wanted.dimension == UNITS_FLOW ? "m3/h"
                                                     : "m/s");
    return;
  }
  if (f.needs_check) {
    refuse_range(in, c, row->row, &f);
    return;
  }
  if (c->field >= FIELD_PARKED && c->field <= FIELD_FLOW && is_merged_down(in, row, c->column))
    intake_remark(
        in, INTAKE_NOTICE, row->row, c->column,
        "one cell over several rows: %s is read for each of them; if it is their sum, give "
        "each its own",
        f.text);
  VALUE(s, c->field) = (struct intake_value){f.text, f.si, c->column, f.about, false, f.more};
  if (f.about)
    intake_remark(
        in, INTAKE_NOTICE, row->row, c->column,
        "'%.40s' is read as %s; in the suite you may say how sure it is: %s \302\261 10 %%",
        trimmed(in->arena, cell->text), f.text, f.text);
}

/* ---- words ---- */

static void take_type(struct intake *in, struct intake_station *s, const char *text, int column)
{
  char folded[INTAKE_MOST_TEXT + 1];
  int kind, rule;

  intake_fold(text, folded, sizeof folded);
  if (intake_missing_as(text) >= 0)
    return;
  kind = intake_word_in(intake_kinds, folded);
  rule = intake_word_in(intake_rules, folded);
  if (intake_word_meanings(intake_kinds, folded) > 1 ||
      intake_word_meanings(intake_rules, folded) > 1 || (kind < 0 && rule < 0) ||
      intake_word_doubted(intake_kinds, folded) || intake_word_doubted(intake_rules, folded)) {
    intake_remark(in, INTAKE_FAULT, s->row, column,
                  "'%.40s' does not say one thing; write fume hood, wet bench or cabinet, and VAV "
                  "(follows the sash), two speed or constant",
                  text);
    s->type_refused = true;
    return;
  }
  if ((kind >= 0 && s->kind >= 0 && s->kind != kind) ||
      (rule > 0 && s->rule != RULE_NONE && (int)s->rule != rule)) {
    intake_remark(in, INTAKE_FAULT, s->row, column,
                  "'%.40s' says otherwise than another cell of this row; let them agree", text);
    s->type_refused = true;
    return;
  }
  s->kind = kind >= 0 ? kind : s->kind;
  s->rule = rule > 0 ? (enum intake_rule)rule : s->rule;
}

/* A single letter or digit among the words. */
static const char *single_letter(struct intake *in, const char *text)
{
  for (const char *p = text; *p != '\0'; p += strcspn(p, " ,/"), p += strspn(p, " ,/"))
    if (strcspn(p, " ,/") == 1 && ((p[0] >= 'A' && p[0] <= 'Z') || (p[0] >= '0' && p[0] <= '9')))
      return intake_text(in, "%c", p[0]);
  return NULL;
}

static void take_glass(struct intake *in, struct intake_station *s, const char *text, int column)
{
  char folded[120];
  int colour, shape;

  intake_fold(text, folded, sizeof folded);
  if (intake_missing_as(text) >= 0)
    return;
  colour = intake_word_in(intake_colours, folded);
  shape = intake_word_in(intake_shapes, folded);
  s->letter = single_letter(in, text);
  if (intake_word_meanings(intake_colours, folded) > 1 ||
      intake_word_meanings(intake_shapes, folded) > 1 ||
      intake_word_doubted(intake_colours, folded) || intake_word_doubted(intake_shapes, folded) ||
      (colour < 0 && shape < 0 && !s->letter)) {
    intake_remark(in, INTAKE_FAULT, s->row, column,
                  "'%.40s' is no single glass mark; give one colour (white grey black brown red "
                  "orange yellow green blue violet pink), one shape (ring dot bar square cross "
                  "triangle star diamond), and a letter",
                  text);
    s->letter = NULL;
    return;
  }
  s->colour = colour >= 0 ? intake_colour_names[colour] : NULL;
  s->shape = shape >= 0 ? intake_shape_names[shape] : NULL;
}

static void take_wear(struct intake *in, struct intake_station *s, const char *text, int column)
{
  const char *what = trimmed(in->arena, text), *open = strrchr(what, '(');
  size_t length = strlen(what);

  if (length == 0)
    return;
  if (!open || what[length - 1] != ')' || open == what) {
    intake_remark(in, INTAKE_FAULT, s->row, column,
                  "'%.40s' does not say who asks for it; add the source in brackets, as in 'face "
                  "shield (house rule 3)'",
                  what);
    return;
  }
  s->wear = trimmed(in->arena, intake_text(in, "%.*s", (int)(open - what), what));
  s->wear_source = intake_text(in, "%.*s", (int)(what + length - 1 - open - 1), open + 1);
}

/* "removed in 2024" */
static const char *behind_a_word_for_when(const char *text)
{
  static const char *const words[] = {"in ", "im ", "en ", "el ", "le ", "since ", "seit ", "on "};

  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strncmp(text, words[i], strlen(words[i])) == 0)
      return text + strlen(words[i]);
  return text;
}

/* PRESENT, unless the text begins with a word for the contrary and nothing that limits it. */
static enum intake_presence presence_of_remark(struct intake *in, const struct intake_station *s,
                                               const char *text, int column)
{
  char folded[200];

  intake_fold(text, folded, sizeof folded);
  for (const struct intake_word *w = intake_statuses; w->text; w++) {
    size_t length = strlen(w->text);
    bool begins =
        strncmp(folded, w->text, length) == 0 && (folded[length] == ' ' || folded[length] == '\0');

    if (w->means == PRESENT || length < (w->means == REMOVED ? 6 : 10) || !begins)
      continue;

    const char *rest = behind_a_word_for_when(folded + length + (folded[length] == ' '));
    char behind = strlen(text) > length ? text[length] : '\0';
    bool ends = intake_word_in(intake_mended, rest) < 0 &&
                (rest[0] == '\0' || (rest[0] >= '0' && rest[0] <= '9') || behind == ',' ||
                 behind == ';' || behind == '.');

    if (ends)
      return (enum intake_presence)w->means;
    intake_remark(
        in, INTAKE_FAULT, s->row, column,
        "'%.60s': is it the station that is meant? It is kept; take the row out, or say it "
        "in a column 'Status'",
        text);
    return PRESENT;
  }
  return PRESENT;
}

static enum intake_presence presence_of_status(struct intake *in, const struct intake_station *s,
                                               const char *text, int column)
{
  char folded[120];
  int means;

  intake_fold(text, folded, sizeof folded);
  if (intake_missing_as(text) >= 0)
    return PRESENT;
  means = intake_word_find(intake_statuses, folded);
  if (means < 0)
    means = (int)presence_of_remark(in, s, text, column);
  else
    return (enum intake_presence)means;
  if (means == PRESENT)
    intake_remark(
        in, INTAKE_FAULT, s->row, column,
        "'%.40s' is no status known here; write in service, out of service or removed. It "
        "is kept as in service",
        text);
  return (enum intake_presence)means;
}

/* ---- a row ---- */

static void take_cell(struct intake *in, struct intake_station *s, const struct intake_row *row,
                      int column, enum intake_presence *presence)
{
  const struct intake_column *c = &in->table.columns[column];
  const struct sheet_cell *cell = row->cells[column];
  enum intake_presence told = PRESENT;
  const char *text;

  if (cell->note && sheet_at(in->table.sheet, row->row, c->column) == cell)
    add_note(in, s, c->column, intake_text(in, "%s: %s", c->header, cell->note));
  if (intake_row_struck(in, row, column)) {
    s->type_refused |= c->field == FIELD_TYPE;
    return;
  }
  if (c->field >= FIELD_WIDTH && c->field <= FIELD_VELOCITY) {
    take_figure(in, s, row, column);
    return;
  }
  if (c->field != FIELD_TYPE && c->field != FIELD_GLASS && c->field != FIELD_WEAR &&
      c->field != FIELD_STATUS && c->field != FIELD_NOTE)
    return; /* take_texts has it */
  text = trimmed(in->arena, intake_row_text(in, row, column));
  if (c->field == FIELD_TYPE)
    take_type(in, s, text, c->column);
  else if (c->field == FIELD_GLASS)
    take_glass(in, s, text, c->column);
  else if (c->field == FIELD_WEAR)
    take_wear(in, s, text, c->column);
  else if (c->field == FIELD_STATUS)
    told = presence_of_status(in, s, text, c->column);
  else if (c->field == FIELD_NOTE && text[0] != '\0') {
    told = presence_of_remark(in, s, text, c->column);
    s->remark = text;
    s->remark_column = c->column;
    add_note(in, s, c->column, text);
  }
  *presence = told > *presence ? told : *presence;
}

static const char *text_or_null(const char *text)
{
  return intake_missing_as(text) >= 0 ? NULL : text;
}

static void take_texts(struct intake *in, struct intake_station *s, const struct intake_row *row)
{
  static const struct {
    enum intake_field field;
    size_t at;
  } texts[] = {{FIELD_NAME, offsetof(struct intake_station, name)},
               {FIELD_ROOM, offsetof(struct intake_station, room)},
               {FIELD_MAIN, offsetof(struct intake_station, main)},
               {FIELD_CHEMISTRY, offsetof(struct intake_station, chemistry)},
               {FIELD_NOT_HERE, offsetof(struct intake_station, not_here)},
               {FIELD_CALL, offsetof(struct intake_station, call)}};

  for (int i = 0; i < in->table.column_count; i++)
    for (size_t k = 0; k < sizeof texts / sizeof texts[0]; k++)
      if (in->table.columns[i].field == texts[k].field && !row->cells[i]->struck) {
        const char *text = text_or_null(trimmed(in->arena, intake_row_text(in, row, i)));

        memcpy((char *)s + texts[k].at, &text, sizeof text);
      }
}

/* German puts it at the end of the word: "Lackabzug", "Ätzbank". */
static int kind_by_ending(const char *folded)
{
  static const struct intake_word endings[] = {{"abzug", FACILITY_FUME_HOOD},
                                               {"bank", FACILITY_WET_BENCH},
                                               {"schrank", FACILITY_CABINET},
                                               {NULL, 0}};
  int found = -1;

  for (const char *p = folded; *p != '\0'; p += strcspn(p, " "), p += *p == ' ')
    for (const struct intake_word *w = endings; w->text; w++) {
      size_t length = strcspn(p, " "), end = strlen(w->text);

      if (length < end + 2 || strncmp(p + length - end, w->text, end) != 0)
        continue;
      if (found >= 0 && found != w->means)
        return -1;
      found = w->means;
    }
  return found;
}

/* The station's own words say what it is: "Metal etch bench". */
static void kind_by_words(struct intake *in, struct intake_station *s)
{
  const char *const texts[] = {s->name ? s->name : "", s->written_id,
                               intake_column_of(in, FIELD_ID)->header};
  char folded[200];

  for (size_t i = 0; i < sizeof texts / sizeof texts[0] && s->kind < 0; i++) {
    intake_fold(texts[i], folded, sizeof folded);
    if (intake_word_doubted(intake_kinds, folded))
      continue;
    if (intake_word_meanings(intake_kinds, folded) == 1)
      s->kind = intake_word_in(intake_kinds, folded);
    else if (intake_word_meanings(intake_kinds, folded) == 0)
      s->kind = kind_by_ending(folded);
  }
}

/* One row for three hoods has one id for them and, who knows, the flow of one or of all. */
static bool is_several(struct intake *in, const struct intake_station *s,
                       const struct intake_row *row)
{
  for (int i = 0; i < in->table.column_count; i++) {
    const struct intake_column *c = &in->table.columns[i];
    const char *text;

    if (c->field != FIELD_PIECES || row->cells[i]->struck)
      continue;
    text = trimmed(in->arena, intake_row_text(in, row, i));
    if (intake_missing_as(text) == 0 || strcmp(text, "1") == 0)
      continue;
    intake_remark(in, INTAKE_FAULT, row->row, c->column,
                  "'%.40s' in '%.40s': each station needs a row and an id of its own, so %.40s is "
                  "left out; write one row for each",
                  text, c->header, s->written_id);
    return true;
  }
  return false;
}

static void read_row(struct intake *in, const struct intake_row *row)
{
  struct intake_station s = {.row = row->row, .kind = -1};
  const struct intake_column *id = intake_column_of(in, FIELD_ID);
  const struct sheet_cell *id_cell = sheet_at(in->table.sheet, row->row, id->column);
  enum intake_presence presence = id_cell->struck ? REMOVED : PRESENT;
  int remarks_before = in->remark_count;
  const bool *hidden = in->table.sheet->row_hidden;

  if (!take_id(in, &s, intake_row_text(in, row, (int)(id - in->table.columns)), id->column)) {
    in->result.left_out_count++;
    intake_row_out(in, row->row);
    return;
  }
  take_texts(in, &s, row);
  for (int i = 0; i < in->table.column_count; i++)
    take_cell(in, &s, row, i, &presence);
  if (presence != REMOVED && is_several(in, &s, row)) {
    in->result.left_out_count++;
    intake_row_out(in, row->row);
    return;
  }
  if (presence == REMOVED) { /* what its cells lack is nobody's matter */
    in->remark_count = remarks_before;
    intake_remark(in, INTAKE_NOTICE, row->row, id->column, "%.40s is %s, so it is not written",
                  s.written_id, id_cell->struck ? "struck through" : "said to be removed");
    return;
  }
  if (hidden && hidden[row->row])
    intake_remark(in, INTAKE_NOTICE, row->row, id->column,
                  "this row is hidden in the workbook; %.40s is read as if it were not",
                  s.written_id);
  s.out_of_service = presence == OUT_OF_SERVICE;
  kind_by_words(in, &s);
  in->stations[in->station_count++] = s;
}

/* ---- rooms and mains ---- */

enum intake_family intake_family_of(const struct intake_station *s)
{
  char folded[INTAKE_MOST_TEXT + 1];

  intake_fold(s->chemistry ? s->chemistry : "", folded, sizeof folded);
  if (intake_word_meanings(intake_families, folded) != 1 ||
      intake_word_doubted(intake_families, folded))
    return FAMILY_NONE;
  return (enum intake_family)intake_word_in(intake_families, folded);
}

static const char *family_main(const struct intake_station *s)
{
  enum intake_family family = intake_family_of(s);

  return family == FAMILY_ACID ? "Acid" : family == FAMILY_SOLVENT ? "Solvent" : NULL;
}

static void settle_main(struct intake *in, struct intake_station *s, bool by_chemistry)
{
  const struct intake_column *main = intake_column_of(in, FIELD_MAIN);
  const struct intake_column *chemistry = intake_column_of(in, FIELD_CHEMISTRY);
  const char *text = "Exhaust";

  if (main) {
    text = s->main ? s->main : INTAKE_NO_MAIN;
    if (!s->main)
      intake_remark(in, INTAKE_FAULT, s->row, main->column,
                    "the exhaust main of %.40s is not said; it stands apart as 'main not said'",
                    s->id);
  } else if (by_chemistry) {
    text = family_main(s);
    if (!text)
      intake_remark(in, INTAKE_FAULT, s->row, chemistry ? chemistry->column : -1,
                    "the chemistry of %.40s does not say on which main it is; it stands apart as "
                    "'main not said'",
                    s->id);
    text = text ? text : INTAKE_NO_MAIN;
  }
  s->main = named(in, s->row, FIELD_MAIN, in->mains, &in->main_count, text);
}

static void settle_places(struct intake *in)
{
  const struct intake_answer *mains = intake_answer_find(in, "exhaust mains");
  const char *usual = intake_said(in, "room");
  bool by_chemistry = mains && mains->text && mains->choice == 1;
  size_t most = (size_t)in->station_count + 1;

  in->rooms = ARENA_ARRAY(in->arena, struct intake_named, most);
  in->mains = ARENA_ARRAY(in->arena, struct intake_named, most);
  BUG_IF(!in->rooms || !in->mains);
  for (int i = 0; i < in->station_count; i++) {
    struct intake_station *s = &in->stations[i];
    const struct intake_column *room = intake_column_of(in, FIELD_ROOM);

    if (room && !s->room)
      intake_remark(in, INTAKE_FAULT, s->row, room->column,
                    "the room of %.40s is not said; it stands in 'room not said'", s->id);
    s->room = named(in, s->row, FIELD_ROOM, in->rooms, &in->room_count,
                    s->room ? s->room
                    : room  ? "room not said"
                    : usual ? usual
                            : "Room");
    settle_main(in, s, by_chemistry);
  }
}

void intake_read_stations(struct intake *in)
{
  const struct intake_table *t = &in->table;
  size_t columns = (size_t)t->column_count + 1;
  struct intake_row row = {.cells = ARENA_ARRAY(in->arena, const struct sheet_cell *, columns),
                           .cells_above =
                               ARENA_ARRAY(in->arena, const struct sheet_cell *, columns)};

  in->stations =
      ARENA_ARRAY(in->arena, struct intake_station, (size_t)(t->end_row - t->first_row) + 1);
  in->rows_out = ARENA_ARRAY(in->arena, int, (size_t)(t->end_row - t->first_row) + 1);
  BUG_IF(!in->stations || !in->rows_out || !row.cells || !row.cells_above);
  in->station_count = in->room_count = in->main_count = 0;
  in->row_out_count = 0;
  in->remark_count = in->header_remarks;
  in->remarks_dropped = 0;
  in->result = (struct intake_result){0};
  for (size_t i = 0; i < columns; i++)
    row.cells_above[i] = sheet_at(t->sheet, -1, -1);
  for (int r = t->first_row; r < t->end_row; r++) {
    if (!intake_row_begin(in, &row, r))
      continue;
    read_row(in, &row);
    for (size_t i = 0; i < columns; i++)
      row.cells_above[i] = row.cells[i];
  }
  settle_places(in);
}
