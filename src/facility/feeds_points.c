#include "facility/feeds_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- what can be said of what ---- */

static const struct {
  const char *name;
  uint64_t of; /* kinds of parts; 0: the whole suite */
  enum units_dimension dimension;
  bool yes_no, count;
  const char *resolution; /* what the record keeps unless the file says else */
} whats[FEEDS_WHAT_COUNT] = {
    [FEEDS_OPENING] = {"opening", ID_STATION, UNITS_LENGTH, .resolution = "1 mm"},
    [FEEDS_FLOW] = {"flow", ID_STATION | ID_MAIN | ID_SUPPLY | ID_EXHAUST, UNITS_FLOW,
                    .resolution = "1 m3/h"},
    [FEEDS_FACE_VELOCITY] = {"face velocity", ID_STATION, UNITS_VELOCITY,
                             .resolution = "0.001 m/s"},
    [FEEDS_BLOCKED] = {"blocked", ID_STATION, UNITS_RATIO, .yes_no = true},
    [FEEDS_PRESENCE] = {"presence", ID_STATION, UNITS_RATIO, .yes_no = true},
    [FEEDS_ALARM] = {"alarm", ID_STATION, UNITS_RATIO, .yes_no = true},
    [FEEDS_COVERED] = {"covered", ID_STATION, UNITS_SHARE, .resolution = "0.1 %"},
    [FEEDS_PRESSURE] = {"pressure", ID_ROOM | ID_JUNCTION, UNITS_PRESSURE_DIFFERENCE,
                        .resolution = "0.1 Pa"},
    [FEEDS_OPEN] = {"open", ID_DOOR, UNITS_RATIO, .yes_no = true},
    [FEEDS_RUNNING] = {"running", ID_FAN | ID_SUPPLY, UNITS_RATIO, .yes_no = true},
    [FEEDS_SPEED] = {"speed", ID_FAN, UNITS_SHARE, .resolution = "0.1 %"},
    [FEEDS_TEMPERATURE] = {"temperature", ID_ROOM | ID_OUTDOORS, UNITS_TEMPERATURE,
                           .resolution = "0.01 K"},
    [FEEDS_HUMIDITY] = {"humidity", ID_ROOM | ID_OUTDOORS, UNITS_RELATIVE_HUMIDITY,
                        .resolution = "0.1 %RH"},
    [FEEDS_PEOPLE] = {"people", 0, UNITS_RATIO, .count = true},
    [FEEDS_LEAK] = {"leak", ID_STATION, UNITS_RATIO, .yes_no = true},
    [FEEDS_LEVEL] = {"level", ID_STATION, UNITS_VOLUME, .resolution = "0.01 L"},
    [FEEDS_LOW_LEVEL] = {"low level", ID_STATION, UNITS_RATIO, .yes_no = true},
    [FEEDS_BATH_TEMPERATURE] = {"bath temperature", ID_STATION, UNITS_TEMPERATURE,
                                .resolution = "0.1 K"},
    [FEEDS_HEATING] = {"heating", ID_STATION, UNITS_RATIO, .yes_no = true},
    [FEEDS_LID_OPEN] = {"lid open", ID_STATION, UNITS_RATIO, .yes_no = true},
    [FEEDS_RESISTIVITY] = {"resistivity", ID_STATION, UNITS_RESISTIVITY,
                           .resolution = "0.01 MOhm cm"},
    [FEEDS_DUMPS] = {"dumps", ID_STATION, UNITS_RATIO, .count = true},
    [FEEDS_DECK_FLOW] = {"deck flow", ID_STATION, UNITS_FLOW, .resolution = "1 m3/h"},
    [FEEDS_OTHER] = {"other", UINT64_MAX, UNITS_RATIO, .resolution = NULL},
};

bool feeds_what_is_of_bench(enum feeds_what what)
{
  return what >= FEEDS_LEAK && what <= FEEDS_DUMPS;
}

const char *feeds_what_name(enum feeds_what what)
{
  return whats[what].name;
}

static void complain(struct feeds_build *b, const struct record *r, enum schema_key_id key,
                     const char *fmt, ...) PRINTF_LIKE(4, 5);
static void complain(struct feeds_build *b, const struct record *r, enum schema_key_id key,
                     const char *fmt, ...)
{
  const struct value *at = record_given(r, key);
  va_list args;

  va_start(args, fmt);
  const char *said = arena_vprintf(b->reader->work, fmt, args);

  va_end(args);
  BUG_IF(!said);
  reader_complain(b->reader, r->who, at ? at->tree->place : r->place,
                  at ? at->tree->width : r->width, "%s", said);
}

static void take_part(struct feeds_build *b, const struct record *r, struct feeds_point *p)
{
  static const struct {
    uint64_t kind;
    enum feeds_of of;
  } kinds[] = {
      {ID_STATION, FEEDS_OF_STATION},   {ID_ROOM, FEEDS_OF_ROOM}, {ID_JUNCTION, FEEDS_OF_JUNCTION},
      {ID_OUTDOORS, FEEDS_OF_OUTDOORS}, {ID_DOOR, FEEDS_OF_DOOR}, {ID_FAN, FEEDS_OF_FAN},
      {ID_SUPPLY, FEEDS_OF_SUPPLY},     {ID_MAIN, FEEDS_OF_MAIN}, {ID_EXHAUST, FEEDS_OF_EXHAUST}};
  const struct value *of = record_given(r, KEY_feeds_point_of);
  uint64_t allowed = whats[p->what].of;
  bool fits = of ? (allowed & of->kind) != 0
                 : allowed == 0 || allowed == UINT64_MAX || p->what == FEEDS_ALARM;

  p->unit = of ? of->unit : -1;
  for (size_t i = 0; of && i < sizeof kinds / sizeof *kinds; i++)
    if (kinds[i].kind == of->kind) {
      p->of = kinds[i].of;
      p->index = of->number;
    }
  if (!fits && of)
    complain(b, r, KEY_feeds_point_what, "nothing is called '%s' of a %s", whats[p->what].name,
             schema_kind_words(of->kind));
  else if (!fits)
    complain(b, r, KEY_feeds_point_what, "'%s' is said of a part; name it with 'of'",
             whats[p->what].name);
  if (p->of == FEEDS_OF_FAN && p->unit >= b->facility->fans[p->index].count)
    complain(b, r, KEY_feeds_point_of, "fan %s has %d units", b->facility->fans[p->index].part.id,
             b->facility->fans[p->index].count);
}

/* ---- units ---- */

/* SI of one and of none of a unit: exact enough, as both come from the one table. */
static bool scale_of(const char *unit, enum units_dimension dimension, struct feeds_point *p)
{
  struct units_quantity none, one;
  char text[96];

  if (!units_knows(unit, dimension))
    return false;
  snprintf(text, sizeof text, "1 %s", unit);
  if (units_parse(text, dimension, UNITS_NOTHING, &one, NULL) != ERR_OK)
    return false;
  snprintf(text, sizeof text, "0 %s", unit);
  if (units_parse(text, dimension, UNITS_NOTHING, &none, NULL) != ERR_OK)
    none.si = 0; /* a unit that has no zero, and no offset either */
  p->factor = one.si - none.si;
  p->zero = none.si == 0 ? 0 : -none.si / p->factor;
  return true;
}

/* Any dimension that the unit has: for what the model does not use. */
static bool some_scale(const char *unit, struct feeds_point *p)
{
  for (int d = 0; d < UNITS_DIMENSION_COUNT; d++)
    if (d != UNITS_NOTHING && d != UNITS_RATIO && scale_of(unit, (enum units_dimension)d, p)) {
      p->dimension = (enum units_dimension)d;
      return true;
    }
  return false;
}

static bool is_percent(const char *unit)
{
  return units_knows(unit, UNITS_SHARE) || units_knows(unit, UNITS_OPEN_SHARE);
}

static void take_percent_of_opening(struct feeds_build *b, const struct record *r,
                                    struct feeds_point *p)
{
  const struct value *full = record_given(r, KEY_feeds_point_full);

  if (!full) {
    complain(b, r, KEY_feeds_point_unit,
             "100 %% of what? Say with 'full' which opening that is: the mark, or the highest");
    return;
  }
  const struct facility_station *s =
      p->of == FEEDS_OF_STATION ? &b->facility->stations[p->index] : NULL;

  if (s && s->has_openings && s->most_m > s->work_m && full->si > s->most_m)
    complain(b, r, KEY_feeds_point_full, "the sash of %s opens %g m at most; it cannot be %g m",
             s->part.id, s->most_m, full->si);
  p->factor = full->si / 100;
  p->zero = 0;
}

static void take_unit(struct feeds_build *b, const struct record *r, struct feeds_point *p)
{
  const struct value *unit = record_given(r, KEY_feeds_point_unit);
  double factor = record_si(r, KEY_feeds_point_factor);
  struct buf list;

  p->unit_text = unit ? build_text(&b->build, unit->text) : NULL;
  if (p->yes_no || p->count || (p->what == FEEDS_OTHER && !unit)) {
    if (unit)
      complain(b, r, KEY_feeds_point_unit, "'%s' has no unit; take it out", whats[p->what].name);
  } else if (!unit) {
    complain(b, r, KEY_feeds_point_what, "in which unit? Say it with 'unit'");
  } else if (p->what == FEEDS_OPENING && is_percent(unit->text)) {
    take_percent_of_opening(b, r, p);
  } else if (p->what == FEEDS_OTHER ? !some_scale(unit->text, p)
                                    : !scale_of(unit->text, p->dimension, p)) {
    buf_init(&list, 1000);
    units_list(p->dimension, &list);
    complain(b, r, KEY_feeds_point_unit, "'%s' is no unit of a %s; there are: %s",
             tree_shown(b->reader->work, unit->text), units_words(p->dimension), list.text);
    buf_release(&list);
  }
  if (factor == 0)
    complain(b, r, KEY_feeds_point_factor, "a factor of 0 leaves nothing of the value");
  else if (p->zero != 0)
    p->zero /= factor;
  p->factor *= factor;
  p->said_factor = factor;
}

static void take_resolution(struct feeds_build *b, const struct record *r, struct feeds_point *p)
{
  const struct value *given = record_given(r, KEY_feeds_point_resolution);
  const char *usual = whats[p->what].resolution;
  struct units_quantity read = {.si = p->what == FEEDS_OTHER ? fabs(p->factor) * 1e-3 : 1};
  enum units_dimension as =
      p->dimension == UNITS_TEMPERATURE ? UNITS_TEMPERATURE_DIFFERENCE : p->dimension;
  struct err err = {0};

  if (given && units_parse(given->text, as, UNITS_NOTHING, &read, &err) != ERR_OK)
    complain(b, r, KEY_feeds_point_resolution, "%s", err.text);
  else if (given && !(read.si > 0))
    complain(b, r, KEY_feeds_point_resolution, "a resolution is above zero");
  else if (!given && usual)
    BUG_IF(units_parse(usual, as, UNITS_NOTHING, &read, NULL) != ERR_OK);
  p->resolution_si = read.si;
}

/* ---- where the source keeps it ---- */

/* "40001" as manuals count, or "holding 0" as it is sent. */
static bool take_register(const char *at, struct feeds_point *p)
{
  static const struct {
    const char *word;
    char digit;
    enum feeds_bank bank;
  } banks[] = {{"coil ", '0', FEEDS_COIL},
               {"discrete ", '1', FEEDS_DISCRETE},
               {"input ", '3', FEEDS_INPUT},
               {"holding ", '4', FEEDS_HOLDING}};
  char *end;

  for (size_t i = 0; i < sizeof banks / sizeof *banks; i++) {
    size_t word = strlen(banks[i].word), length = strlen(at);
    bool sent = strncmp(at, banks[i].word, word) == 0;
    bool counted = !sent && at[0] == banks[i].digit && (length == 5 || length == 6);
    const char *number = at + (sent ? word : 1);

    if (!(sent || counted) || *number < '0' || *number > '9')
      continue;

    long n = strtol(number, &end, 10) - (counted ? 1 : 0);

    p->bank = banks[i].bank;
    p->address = (int)n;
    return *end == '\0' && n >= 0 && n <= 65535;
  }
  return false;
}

static void take_none(struct feeds_build *b, const struct record *r, struct feeds_point *p)
{
  const struct value *from = record_value(r, KEY_feeds_point_none);
  double *list = ARENA_ARRAY(b->feeds->arena, double, (size_t)from->count + 1);
  char *end;

  BUG_IF(!list);
  for (int i = 0; i < from->count; i++) {
    list[i] = strtod(from->items[i].text, &end);
    if (*end || !isfinite(list[i]))
      complain(b, r, KEY_feeds_point_none, "'%s' is no register value: write 65535 or -32768",
               tree_shown(b->reader->work, from->items[i].text));
  }
  p->none = list;
  p->none_count = from->count;
}

static void take_modbus(struct feeds_build *b, const struct record *r, struct feeds_point *p)
{
  const struct feeds_source *source = &b->feeds->sources[p->source];
  bool has_as = record_has(r, KEY_feeds_point_as);

  if (!p->at || !take_register(p->at, p)) {
    complain(b, r, p->at ? KEY_feeds_point_at : KEY_feeds_point_from,
             "which register? Write 'at: 40001' as the manual counts, or 'at: holding 0' as it is "
             "sent; 0, 1, 3 and 4 in front are coil, discrete, input and holding");
    return;
  }

  bool bits = p->bank == FEEDS_COIL || p->bank == FEEDS_DISCRETE;

  p->as = has_as ? (enum feeds_register)record_value(r, KEY_feeds_point_as)->number : FEEDS_BIT;
  if (bits != (p->as == FEEDS_BIT))
    complain(b, r, has_as ? KEY_feeds_point_as : KEY_feeds_point_at,
             bits ? "a coil or discrete input is a bit; write 'as: bit' or nothing"
                  : "how does the register hold it? Write 'as: u16' or another of the list");
  if (p->as >= FEEDS_U32 && p->as <= FEEDS_F32 && !source->has_word_order)
    complain(b, r, KEY_feeds_point_as,
             "32 bits are two registers; say with 'words' of source %s which one comes first",
             source->part.id);
  take_none(b, r, p);
}

/* Object types by number: ISO 16484-5, BACnetObjectType. */
static bool take_object(const char *at, struct feeds_point *p)
{
  static const struct {
    const char *word;
    int type;
  } types[] = {{"analog-input ", 0},       {"analog-output ", 1},       {"analog-value ", 2},
               {"binary-input ", 3},       {"binary-output ", 4},       {"binary-value ", 5},
               {"multi-state-input ", 13}, {"multi-state-output ", 14}, {"multi-state-value ", 19},
               {"trend-log ", 20}};
  char *end;

  for (size_t i = 0; i < sizeof types / sizeof *types; i++) {
    size_t word = strlen(types[i].word);
    const char *number = at + word;

    if (strncmp(at, types[i].word, word) != 0 || *number < '0' || *number > '9')
      continue;

    long n = strtol(number, &end, 10);

    p->object_type = types[i].type;
    p->object_instance = (int)n;
    return *end == '\0' && n <= 4194302;
  }
  return false;
}

static void take_place(struct feeds_build *b, const struct record *r, struct feeds_point *p)
{
  const struct feeds_source *source = &b->feeds->sources[p->source];

  p->at = build_text(&b->build, record_value(r, KEY_feeds_point_at)->text);
  switch (source->kind) {
  case FEEDS_MODBUS:
    take_modbus(b, r, p);
    return;
  case FEEDS_BACNET:
    if (!p->at || !take_object(p->at, p))
      complain(b, r, p->at ? KEY_feeds_point_at : KEY_feeds_point_from,
               "which object? Write 'at: analog-input 31', its type and instance");
    return;
  case FEEDS_CSV:
  case FEEDS_MQTT:
    if (!p->at)
      complain(b, r, KEY_feeds_point_from,
               source->kind == FEEDS_CSV ? "which column? Say it with 'at'"
                                         : "which topic? Say it with 'at'");
    else if (source->kind == FEEDS_MQTT && strpbrk(p->at, "+#"))
      complain(b, r, KEY_feeds_point_at, "one point is one topic: no '+' and no '#'");
    return;
  case FEEDS_CALENDAR:
    complain(b, r, KEY_feeds_point_from, "a calendar has bookings and no points");
    return;
  case FEEDS_WEBHOOK:
  case FEEDS_HAND:
  default:
    if (!p->at)
      p->at = p->part.id;
  }
}

/* The first word of `a` that is in `b` too, or NULL. */
static const char *shared_word(const char *const *a, int a_count, const char *const *b, int b_count)
{
  for (int i = 0; i < a_count; i++)
    for (int k = 0; k < b_count; k++)
      if (strcmp(a[i], b[k]) == 0)
        return a[i];
  return NULL;
}

static void check_words(struct feeds_build *b, const struct record *r, const struct feeds_point *p)
{
  const char *both = shared_word(p->yes, p->yes_count, p->no, p->no_count);
  const char *none = shared_word(p->missing, p->missing_count, p->yes, p->yes_count);

  if (!none)
    none = shared_word(p->missing, p->missing_count, p->no, p->no_count);
  if (both)
    complain(b, r, KEY_feeds_point_no, "'%s' cannot mean yes and no", both);
  if (none)
    complain(b, r, KEY_feeds_point_missing, "'%s' cannot mean a value and none", none);
}

static void take_words(struct feeds_build *b, const struct record *r, struct feeds_point *p)
{
  const struct value *yes = record_value(r, KEY_feeds_point_yes);
  const struct value *no = record_value(r, KEY_feeds_point_no);
  const struct value *missing = record_value(r, KEY_feeds_point_missing);

  p->yes_count = yes->count;
  p->yes = build_texts(&b->build, yes);
  p->no_count = no->count;
  p->no = build_texts(&b->build, no);
  p->missing_count = missing->count;
  p->missing = build_texts(&b->build, missing);
  if (!p->yes_no && (yes->count || no->count))
    complain(b, r, yes->count ? KEY_feeds_point_yes : KEY_feeds_point_no,
             "'%s' is no question of yes or no", whats[p->what].name);
  if (p->yes_no && (yes->count == 0) != (no->count == 0))
    complain(b, r, yes->count ? KEY_feeds_point_yes : KEY_feeds_point_no,
             "give the words for both, 'yes' and 'no': any other word is unreadable");
  check_words(b, r, p);
}

static void take_over(struct feeds_build *b, const struct record *r, struct feeds_point *p)
{
  const struct value *over = record_given(r, KEY_feeds_point_over);
  bool wanted = p->what == FEEDS_PRESSURE && p->of == FEEDS_OF_ROOM;

  p->over = over ? over->number : facility_node_outdoors(b->facility);
  if (wanted && !over)
    complain(b, r, KEY_feeds_point_what, "over what? Name the neighbour with 'over'");
  else if (wanted && p->over == p->index)
    complain(b, r, KEY_feeds_point_over, "a room has no pressure over itself");
  else if (over && !wanted)
    complain(b, r, KEY_feeds_point_over, "only the pressure of a room is over something");
}

static struct feeds_point one_point(struct feeds_build *b, const struct record *r)
{
  const struct value *old = record_given(r, KEY_feeds_point_old);
  enum feeds_what what = (enum feeds_what)record_value(r, KEY_feeds_point_what)->number;
  struct feeds_point p = {
      .part = build_part(&b->build, r),
      .source = record_value(r, KEY_feeds_point_from)->number,
      .what = what,
      .yes_no = whats[what].yes_no,
      .count = whats[what].count,
      .dimension = whats[what].dimension,
      .factor = 1,
      .field = build_text(&b->build, record_value(r, KEY_feeds_point_field)->text),
      .time_field = build_text(&b->build, record_value(r, KEY_feeds_point_time_field)->text),
      .unit_field = build_text(&b->build, record_value(r, KEY_feeds_point_unit_field)->text),
      .quality_field = build_text(&b->build, record_value(r, KEY_feeds_point_quality_field)->text),
  };

  take_part(b, r, &p);
  /* Of a whole fan it is how many units run. */
  if (p.what == FEEDS_RUNNING && p.of == FEEDS_OF_FAN && p.unit < 0 &&
      b->facility->fans[p.index].count > 1) {
    p.yes_no = false;
    p.count = true;
  }
  p.old_after_s = old ? old->si : b->feeds->sources[p.source].old_after_s;
  take_unit(b, r, &p);
  take_resolution(b, r, &p);
  take_place(b, r, &p);
  take_words(b, r, &p);
  take_over(b, r, &p);
  return p;
}

/* Two points of one source may not say the same of one part. */
static void check_once(struct feeds_build *b, const struct value *from)
{
  const struct feeds_point *list = b->feeds->points;

  for (int i = 0; i < b->feeds->point_count; i++)
    for (int k = 0; k < i; k++)
      if (list[i].what != FEEDS_OTHER && !feeds_what_is_of_bench(list[i].what) &&
          list[i].what == list[k].what && list[i].of == list[k].of &&
          list[i].index == list[k].index && list[i].unit == list[k].unit &&
          list[i].over == list[k].over && list[i].source == list[k].source)
        reader_complain(
            b->reader, from->records[i]->who, from->records[i]->place, from->records[i]->width,
            "point %s of the same source says this already; keep one of them", list[k].part.id);
}

void feeds_build_points(struct feeds_build *b, const struct value *from)
{
  struct feeds_point *list =
      ARENA_ARRAY(b->feeds->arena, struct feeds_point, (size_t)from->count + 1);

  BUG_IF(!list);
  for (int i = 0; i < from->count; i++)
    list[i] = one_point(b, from->records[i]);
  b->feeds->points = list;
  b->feeds->point_count = from->count;
  check_once(b, from);
}

void feeds_about(const struct facility *facility, const struct feeds_point *point, struct buf *out)
{
  switch (point->of) {
  case FEEDS_OF_SUITE:
    return;
  case FEEDS_OF_STATION:
    buf_puts(out, facility->stations[point->index].part.id);
    return;
  case FEEDS_OF_DOOR:
    buf_puts(out, facility->doors[point->index].part.id);
    return;
  case FEEDS_OF_FAN:
    buf_puts(out, facility->fans[point->index].part.id);
    if (point->unit >= 0)
      buf_printf(out, "/%d", point->unit + 1);
    return;
  case FEEDS_OF_SUPPLY:
    buf_puts(out, facility->supplies[point->index].part.id);
    return;
  case FEEDS_OF_MAIN:
    buf_puts(out, facility->mains[point->index].part.id);
    return;
  case FEEDS_OF_EXHAUST:
    buf_puts(out, facility->exhausts[point->index].part.id);
    return;
  case FEEDS_OF_ROOM:
  case FEEDS_OF_JUNCTION:
  case FEEDS_OF_OUTDOORS:
  default:
    buf_puts(out, facility_node_id(facility, point->index));
  }
}
