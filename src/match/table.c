/*
 * A table of readings: what a balancing report holds, a row each.  Titles are found by name, wherever they
 * stand; a row that cannot be used is complained about at its cell, never left out in silence.
 */
#include "match/match_impl.h"

#include "base/utf8.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum column {
  COLUMN_READING,
  COLUMN_SCENE,
  COLUMN_OF,
  COLUMN_WHAT,
  COLUMN_OVER,
  COLUMN_VALUE,
  COLUMN_UNIT,
  COLUMN_PLUS_MINUS,
  COLUMN_INSTRUMENT,
  COLUMN_REMARK,
  COLUMN_PREDICTED,
  COLUMN_FROM,
  COLUMN_TO,
  COLUMN_COUNT
};

static const char *const titles[COLUMN_COUNT] = {"reading",   "scene", "of", "what",       "over",
                                                 "value",     "unit",  "±",  "instrument", "remark",
                                                 "predicted", "from",  "to"};

struct table {
  const struct facility *f;
  const struct sheet_book *book;
  const struct sheet_table *table;
  int index, column[COLUMN_COUNT];
  struct arena *arena;
  struct complaints *complaints;
  struct match_readings *out;
  bool blanks; /* rows without a value are kept */
  int struck;  /* rows */
};

/* ---- cells ---- */

static const char *text_at(const struct table *t, int row, int column)
{
  const char *from = column < 0 ? "" : sheet_at(t->table, row, column)->text, *end;
  char *copy;

  while (isspace((unsigned char)*from))
    from++;
  copy = arena_strdup(t->arena, from);
  if (!copy)
    return "";
  end = copy + strlen(copy);
  while (end > copy && isspace((unsigned char)end[-1]))
    end--;
  copy[end - copy] = '\0';
  return copy;
}

static const char *cell(const struct table *t, int row, enum column column)
{
  return text_at(t, row, t->column[column]);
}

static void complain(struct table *t, int row, enum column column, const char *text)
{
  int at = t->column[column] < 0 ? t->column[COLUMN_OF] : t->column[column];

  sheet_complain(t->complaints, t->book, t->index, row, at, "%s", text);
}

static void complain_of(struct table *t, int row, enum column column, const char *what,
                        const char *said)
{
  const char *text = arena_printf(t->arena, "'%.40s' %s", said, what);

  complain(t, row, column, text ? text : what);
}

static bool is_title(const char *text, int column)
{
  static const struct {
    enum column column;
    const char *other;
  } others[] = {{COLUMN_VALUE, "measured"}, {COLUMN_PLUS_MINUS, "+/-"}, {COLUMN_READING, "row"}};

  if (strcasecmp(text, titles[column]) == 0)
    return true;
  for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
    if ((int)others[i].column == column && strcasecmp(text, others[i].other) == 0)
      return true;
  return false;
}

/* The row of the titles, or -1. */
static int find_titles(struct table *t)
{
  for (int row = 0; row < t->table->row_count; row++) {
    for (int k = 0; k < COLUMN_COUNT; k++)
      t->column[k] = -1;
    for (int at = 0; at < t->table->column_count; at++)
      for (int k = 0; k < COLUMN_COUNT; k++)
        if (t->column[k] < 0 && is_title(text_at(t, row, at), k))
          t->column[k] = at;
    if (t->column[COLUMN_OF] >= 0 && t->column[COLUMN_WHAT] >= 0 && t->column[COLUMN_VALUE] >= 0)
      return row;
  }
  return -1;
}

/* Of two columns with one title nobody says which counts. */
static void check_titles(struct table *t, int row)
{
  for (int at = 0; at < t->table->column_count; at++)
    for (int k = 0; k < COLUMN_COUNT; k++)
      if (t->column[k] >= 0 && at > t->column[k] && is_title(text_at(t, row, at), k)) {
        const char *text = arena_printf(
            t->arena, "a second column '%s': leave one of them, or give it another title",
            titles[k]);

        sheet_complain(t->complaints, t->book, t->index, row, at, "%s", text ? text : titles[k]);
      }
}

/* ---- scenes ---- */

static bool change(struct table *t, int row, struct scene *scene, char *words)
{
  char *argument = strchr(words, ' ');
  struct err err = {0};

  if (argument)
    *argument++ = '\0';
  if (scene_change(t->f, scene, words, argument ? argument : "", &err) == ERR_OK)
    return true;
  complain(t, row, COLUMN_SCENE, err.text);
  return false;
}

/* "busy; sash A3=work; door D2=open" */
static bool make_scene(struct table *t, int row, const char *words, struct scene *out)
{
  char *whole = arena_strdup(t->arena, words), *rest = NULL;
  bool first = true;

  *out = scene_parked(t->f, t->arena);
  for (char *part = whole ? strtok_r(whole, ";", &rest) : NULL; part;
       part = strtok_r(NULL, ";", &rest)) {
    const struct scene *named;

    while (isspace((unsigned char)*part))
      part++;
    for (size_t end = strlen(part); end > 0 && isspace((unsigned char)part[end - 1]); end--)
      part[end - 1] = '\0';
    named = first ? scene_find(t->f, part) : NULL;
    if (named)
      *out = scene_copy(t->f, named, t->arena);
    else if (part[0] && !(first && strcasecmp(part, "parked") == 0) && !change(t, row, out, part))
      return false;
    first = false;
  }
  return true;
}

/* -1 after a complaint. */
static int scene_of(struct table *t, int row)
{
  const char *words = cell(t, row, COLUMN_SCENE);
  struct match_readings *out = t->out;

  if (!words[0])
    words = "parked";
  for (int s = 0; s < out->scene_count; s++)
    if (strcmp(out->scenes[s].words, words) == 0)
      return s;
  if (out->scene_count == MATCH_SCENES_MAX) {
    complain(t, row, COLUMN_SCENE, "more scenes than one match takes; part the table");
    return -1;
  }
  out->scenes[out->scene_count].words = words;
  if (!make_scene(t, row, words, &out->scenes[out->scene_count].scene))
    return -1;
  return out->scene_count++;
}

/* ---- what is read ---- */

static int find_main(const struct facility *f, const char *id)
{
  for (int i = 0; i < f->main_count; i++)
    if (strcmp(f->mains[i].part.id, id) == 0)
      return i;
  return -1;
}

static int find_exhaust(const struct facility *f, const char *id)
{
  for (int i = 0; i < f->exhaust_count; i++)
    if (strcmp(f->exhausts[i].part.id, id) == 0)
      return i;
  return -1;
}

static bool find_feed(const struct facility *f, const char *id, struct match_quantity *out)
{
  for (int i = 0; i < f->supply_count; i++)
    for (int j = 0; j < f->supplies[i].feed_count; j++)
      if (strcmp(f->supplies[i].feeds[j].part.id, id) == 0) {
        *out = (struct match_quantity){MATCH_FEED, i, j};
        return true;
      }
  return false;
}

static bool find_flow(const struct facility *f, const char *id, struct match_quantity *out)
{
  const struct {
    enum match_what what;
    int index;
  } found[] = {{MATCH_STATION, facility_station_find(f, id)},
               {MATCH_SUPPLY, facility_supply_find(f, id)},
               {MATCH_MAIN, find_main(f, id)},
               {MATCH_EXHAUST, find_exhaust(f, id)}};

  for (size_t i = 0; i < sizeof found / sizeof found[0]; i++)
    if (found[i].index >= 0) {
      *out = (struct match_quantity){found[i].what, found[i].index, 0};
      return true;
    }
  return find_feed(f, id, out);
}

static bool find_pressure(struct table *t, int row, const char *id, struct match_quantity *out)
{
  const char *over = cell(t, row, COLUMN_OVER);
  int node = facility_node_find(t->f, id), other;

  if (node < 0)
    return false;
  other = over[0] ? facility_node_find(t->f, over) : facility_node_outdoors(t->f);
  if (!over[0] && node < t->f->room_count) {
    complain(t, row, COLUMN_OVER,
             "a room's pressure is read over something: write the neighbour in column 'over'");
    other = node;
  } else if (other < 0) {
    complain_of(t, row, COLUMN_OVER, "is no room or junction of this suite", over);
    other = node;
  }
  *out = (struct match_quantity){MATCH_PRESSURE, node, other};
  return true;
}

/* False after a complaint. */
static bool find_quantity(struct table *t, int row, struct match_quantity *out)
{
  const char *id = cell(t, row, COLUMN_OF), *what = cell(t, row, COLUMN_WHAT);
  int before = t->complaints->count, unit;
  bool found;

  if (strcasecmp(what, "pressure") == 0) {
    found = find_pressure(t, row, id, out);
  } else if (strcasecmp(what, "face velocity") == 0) {
    *out = (struct match_quantity){MATCH_FACE, facility_station_find(t->f, id), 0};
    found = out->index >= 0;
  } else if (strcasecmp(what, "speed") == 0) {
    *out = (struct match_quantity){MATCH_SPEED, facility_fan_find(t->f, id, &unit), 0};
    found = out->index >= 0;
  } else if (strcasecmp(what, "flow") == 0) {
    found = find_flow(t->f, id, out);
  } else {
    complain_of(t, row, COLUMN_WHAT, "cannot be read: pressure, face velocity, flow or speed",
                what);
    return false;
  }
  if (!found) {
    const char *text = match_no_such(t->f, what, id, t->arena);

    complain(t, row, COLUMN_OF, text ? text : "no such part");
  }
  return found && t->complaints->count == before;
}

/* ---- values ---- */

/* A decimal comma becomes a point where it cannot be anything else. */
static bool with_point(struct table *t, int row, enum column column, char *text)
{
  char *comma = strchr(text, ',');

  if (!comma)
    return true;
  if (strchr(text, '.') || strchr(comma + 1, ',') || strspn(comma + 1, "0123456789") == 3) {
    complain_of(t, row, column, "may be two numbers: write a decimal point", text);
    return false;
  }
  *comma = '.';
  return true;
}

static bool has_unit(const char *text)
{
  const char *end = text + strspn(text, "+-0123456789. ");

  if ((*end == 'e' || *end == 'E') && strspn(end + 1, "+-0123456789") > 0)
    end += 1 + strspn(end + 1, "+-0123456789");
  return *end != '\0';
}

/* What stands behind the number of a cell, or else in the row's column. */
static const char *unit_of(const struct table *t, int row, const char *value)
{
  char *end = NULL;

  if (!has_unit(value))
    return cell(t, row, COLUMN_UNIT);
  (void)strtod(value, &end);
  return end + strspn(end, " ");
}

/* A number with its unit and, where it is the row's value, the row's ±. */
static bool parse_text(struct table *t, int row, enum column column, const char *text,
                       enum facility_gauge_of gauge, struct units_quantity *out)
{
  char *value = arena_strdup(t->arena, text);
  char *pm = arena_strdup(t->arena, column == COLUMN_VALUE ? cell(t, row, COLUMN_PLUS_MINUS) : "");
  const char *unit, *whole;
  struct err err = {0};

  if (!value || !pm || !with_point(t, row, column, value) ||
      !with_point(t, row, COLUMN_PLUS_MINUS, pm))
    return false;
  unit = unit_of(t, row, value);
  if (!unit[0]) {
    complain_of(t, row, column, "has no unit: write it beside the number, or in column 'unit'",
                value);
    return false;
  }
  whole = arena_printf(t->arena, "%s %s", value, has_unit(value) ? "" : unit);
  if (whole && pm[0])
    whole = arena_printf(t->arena, "%s ± %s %s", whole, pm, has_unit(pm) ? "" : unit);
  if (whole && units_parse(whole, walk_dimension(gauge), UNITS_NOTHING, out, &err) == ERR_OK &&
      isfinite(out->si))
    return true;
  complain(t, row, column, err.text[0] ? err.text : "this is no number a reading can be");
  return false;
}

static bool parse(struct table *t, int row, enum column column, enum facility_gauge_of gauge,
                  struct units_quantity *out)
{
  return parse_text(t, row, column, cell(t, row, column), gauge, out);
}

static bool is_blank(const char *text)
{
  static const char *const words[] = {"", "-", "skip", "not read", "n/a"};

  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcasecmp(text, words[i]) == 0)
      return true;
  return false;
}

/* Where a band is not whole, a missed prediction would be missed in silence. */
static void take_printed(struct table *t, int row, struct match_reading *r)
{
  bool predicted = !is_blank(cell(t, row, COLUMN_PREDICTED)),
       from = !is_blank(cell(t, row, COLUMN_FROM)), to = !is_blank(cell(t, row, COLUMN_TO));
  struct units_quantity at, least, most;

  if (t->column[COLUMN_PREDICTED] < 0 || (!from && !to))
    return;
  if (!predicted || !from || !to) {
    complain(t, row,
             predicted ? COLUMN_PREDICTED
             : from    ? COLUMN_FROM
                       : COLUMN_TO,
             "what was predicted and its band, from and to, belong together: leave all three as "
             "they were printed");
    return;
  }
  if (!parse(t, row, COLUMN_PREDICTED, r->gauge, &at) ||
      !parse(t, row, COLUMN_FROM, r->gauge, &least) || !parse(t, row, COLUMN_TO, r->gauge, &most))
    return;
  if (!(least.si <= at.si && at.si <= most.si)) {
    complain(t, row, COLUMN_PREDICTED,
             "what was predicted lies outside its own band: leave predicted, from and to as they "
             "were printed");
    return;
  }
  r->printed = true;
  r->printed_si = at.si;
  r->printed_half_si = (most.si - least.si) / 2.0;
  r->printed_middle_si = (most.si + least.si) / 2.0;
}

/* How sure it is where its ± stands in the row, or else by its instrument. */
static void put_own(struct table *t, int row, const struct units_quantity *value,
                    struct match_reading *r)
{
  const char *name = cell(t, row, COLUMN_INSTRUMENT);

  if (value->has_plus_minus && value->plus_minus_si > 0.0) {
    struct walk_part parts[] = {{WALK_EXPANDED, value->plus_minus_si},
                                {WALK_EXPANDED, t->f->walk.gauges[r->gauge].model_si}};

    r->own_si = walk_combined_si(parts, 2);
    r->own_pm_si = value->plus_minus_si;
    return;
  }
  r->instrument = match_instrument(
      t->out, t->f, name[0] ? name : match_usual_instrument(r->gauge, r->name), r->gauge);
  r->setting_si = match_setting_si(t->f, &t->out->scenes[r->scene].scene, &r->quantity, value->si);
  r->own_si = match_own_si(t->f, r->gauge, value->si, r->setting_si);
}

/* Of a row not read yet: its ± is a share where it doubles with what is read. */
static bool blank_row(struct table *t, int row, struct match_reading *r)
{
  struct units_quantity one, two;

  if (!parse_text(t, row, COLUMN_VALUE, "1", r->gauge, &one) ||
      !parse_text(t, row, COLUMN_VALUE, "2", r->gauge, &two))
    return false;
  put_own(t, row, &one, r);
  if (one.has_plus_minus && two.plus_minus_si > 1.5 * one.plus_minus_si)
    r->own_ratio = one.plus_minus_si / one.si;
  r->blank = true;
  r->measured_si = NAN;
  return true;
}

static bool full_row(struct table *t, int row, struct match_reading *r)
{
  const struct sheet_cell *at = sheet_at(t->table, row, t->column[COLUMN_VALUE]);
  struct units_quantity value = {0};

  if (at->kind == SHEET_DATE || at->kind == SHEET_YES_NO || at->kind == SHEET_FAULT) {
    complain(t, row, COLUMN_VALUE,
             "this is no number: the spreadsheet has made something else of it; type it again");
    return false;
  }
  if (!parse(t, row, COLUMN_VALUE, r->gauge, &value))
    return false;
  r->measured_si = value.si;
  put_own(t, row, &value, r);
  if (r->own_si > 0.0)
    return true;
  complain(t, row, COLUMN_VALUE,
           "nothing says how sure this reading is: give it a ±, or its "
           "instrument one in the suite's `walk`");
  return false;
}

/* Void to a reader. */
static bool is_struck(const struct table *t, int row)
{
  return sheet_at(t->table, row, t->column[COLUMN_VALUE])->struck ||
         sheet_at(t->table, row, t->column[COLUMN_OF])->struck;
}

/* In a CSV "10,4" without quotes is two cells, and the row ends behind its titles. */
static bool is_split(struct table *t, int row, int titles_row)
{
  int at = t->table->column_count - 1;

  while (at >= 0 && sheet_at(t->table, titles_row, at)->kind == SHEET_EMPTY)
    at--;
  if (t->book->format != SHEET_CSV ||
      !isdigit((unsigned char)*sheet_at(t->table, row, at + 1)->text))
    return false;
  sheet_complain(t->complaints, t->book, t->index, row, at + 1,
                 "a number behind the last title: write decimals with a point, or put what holds a "
                 "comma into quotes");
  return true;
}

/* Words that go to a screen as they stand. */
static bool are_plain(struct table *t, int row)
{
  static const enum column columns[] = {COLUMN_READING, COLUMN_SCENE, COLUMN_INSTRUMENT,
                                        COLUMN_REMARK};
  char said[UTF8_SAID_BYTES];
  bool plain = true;

  for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++)
    if (utf8_unseen(cell(t, row, columns[i]), said)) {
      complain(t, row, columns[i], said);
      plain = false;
    }
  return plain;
}

static void read_row(struct table *t, int row)
{
  struct match_readings *out = t->out;
  struct match_reading r = {.instrument = -1};
  const char *id = cell(t, row, COLUMN_READING), *remark = cell(t, row, COLUMN_REMARK);
  const struct sheet_cell *at = sheet_at(t->table, row, t->column[COLUMN_VALUE]);
  bool known = find_quantity(t, row, &r.quantity), blank = is_blank(cell(t, row, COLUMN_VALUE));

  if (!are_plain(t, row))
    return;
  r.scene = scene_of(t, row);
  if (!known || r.scene < 0 || (blank && !t->blanks))
    return;
  r.gauge = match_gauge(t->f, &r.quantity);
  r.id = id[0] ? id : arena_printf(t->arena, "%d", out->count + 1);
  r.name = match_name(t->f, &r.quantity, t->arena);
  r.remark = remark[0] ? remark : NULL;
  r.place = (struct place){t->book->file, at->line, at->column};
  if (!(blank ? blank_row(t, row, &r) : full_row(t, row, &r)))
    return;
  take_printed(t, row, &r);
  out->list[out->count++] = r;
}

static bool is_empty(const struct table *t, int row)
{
  return !cell(t, row, COLUMN_OF)[0] && !cell(t, row, COLUMN_WHAT)[0] &&
         !cell(t, row, COLUMN_VALUE)[0];
}

static void read_head(struct table *t, int until)
{
  for (int row = 0; row < until; row++) {
    const char *what = text_at(t, row, 0), *value = text_at(t, row, 1);

    if (strcasecmp(what, "suite") == 0 && strlen(value) == 64)
      memcpy(t->out->suite_sha256, value, 65);
    else if (strcasecmp(what, "date") == 0 && value[0])
      t->out->date = value;
    else if (strcasecmp(what, "by") == 0 && value[0])
      t->out->by = value;
    else if (strcasecmp(what, MATCH_HEAD_PRINTED) == 0 && value[0])
      t->out->printed_on = value;
    else if (strcasecmp(what, MATCH_HEAD_SIGNED) == 0 && value[0])
      t->out->signed_by = value;
  }
}

/* -1: no table of the book has the titles. */
static int find_table(struct table *t)
{
  for (t->index = 0; t->index < t->book->table_count; t->index++) {
    int row;

    t->table = &t->book->tables[t->index];
    row = find_titles(t);
    if (row >= 0)
      return row;
  }
  sheet_complain(t->complaints, t->book, 0, 0, 0,
                 "there is no row with the titles 'of', 'what' and 'value'; "
                 "examples/quillmere/balancing.csv shows one");
  return -1;
}

static bool is_day(const char *text)
{
  return strlen(text) >= 10 && strspn(text, "0123456789") == 4 && text[4] == '-' &&
         strspn(text + 5, "0123456789") == 2 && text[7] == '-' &&
         strspn(text + 8, "0123456789") == 2;
}

/* Who read first, and asked the file afterwards, has no prediction. */
static void check_days(struct table *t, int head)
{
  const char *read_on = t->out->date, *printed_on = t->out->printed_on;
  bool printed = false;

  for (int i = 0; i < t->out->count; i++)
    printed = printed || t->out->list[i].printed;
  if (!printed || !read_on || !printed_on || !is_day(read_on) || !is_day(printed_on) ||
      strncmp(read_on, printed_on, 10) >= 0)
    return;
  for (int row = 0; row < head; row++)
    if (strcasecmp(text_at(t, row, 0), "date") == 0)
      sheet_complain(t->complaints, t->book, t->index, row, 1,
                     "read on %.10s, before it was predicted on %.10s: that is no prediction; mend "
                     "the day, or take out the column 'predicted'",
                     read_on, printed_on);
}

static void tell_struck(struct table *t)
{
  t->out->notes = ARENA_ARRAY(t->arena, const char *, 1);
  if (!t->out->notes || t->struck == 0)
    return;
  t->out->notes[0] = arena_printf(t->arena, "rows struck through: %d", t->struck);
  t->out->note_count = t->out->notes[0] != NULL;
}

static struct match_readings *read_table(struct table t)
{
  struct arena *arena = t.arena;
  struct complaints *complaints = t.complaints;
  int before = complaints->count, head = find_table(&t);

  if (head < 0)
    return NULL;
  t.out = ARENA_NEW(arena, struct match_readings);
  if (t.out) {
    size_t room = (size_t)t.table->row_count + 1;

    t.out->list = ARENA_ARRAY(arena, struct match_reading, room);
    t.out->instruments = ARENA_ARRAY(arena, struct match_instrument, room);
    t.out->scenes = ARENA_ARRAY(arena, struct match_scene, MATCH_SCENES_MAX + 1);
  }
  if (!t.out || !t.out->list || !t.out->instruments || !t.out->scenes) {
    complaints_add(complaints, (struct place){.file = t.book->file}, 0,
                   "the table needs more memory than is set aside for it");
    return NULL;
  }
  t.out->source = "table";
  check_titles(&t, head);
  read_head(&t, head);
  for (int row = head + 1; row < t.table->row_count; row++) {
    if (is_empty(&t, row))
      continue;
    if (is_struck(&t, row)) {
      t.struck++;
      continue;
    }
    if (t.out->count == MATCH_READINGS_MAX) {
      complain(&t, row, COLUMN_VALUE, "more readings than one match takes; part the table");
      break;
    }
    if (!is_split(&t, row, head))
      read_row(&t, row);
  }
  check_days(&t, head);
  tell_struck(&t);
  return complaints->count == before ? t.out : NULL;
}

struct match_readings *match_table(const struct facility *facility, const struct sheet_book *book,
                                   struct arena *arena, struct complaints *complaints)
{
  return read_table(
      (struct table){.f = facility, .book = book, .arena = arena, .complaints = complaints});
}

struct match_readings *match_blanks(const struct facility *facility, const struct sheet_book *book,
                                    struct arena *arena, struct complaints *complaints)
{
  return read_table((struct table){
      .f = facility, .book = book, .arena = arena, .complaints = complaints, .blanks = true});
}
