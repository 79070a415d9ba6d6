/*
 * What the figures of a suite are worth: each figure that an answer hangs on,
 * with its ±, where that comes from and where the figure itself is found.
 */
#include "facility/reader_impl.h"

#include <math.h>
#include <string.h>

/* Which rows of `doubts` speak for a kind of figure. */
static const struct {
  enum schema_key_id usual, at_best;
  const char *words;
} doubt_rows[] = {
    [FACILITY_FIGURE_FLOW] = {KEY_doubts_flow, KEY_at_best_flow, "flow"},
    [FACILITY_FIGURE_MOST] = {KEY_doubts_most, KEY_at_best_most, "most"},
    [FACILITY_FIGURE_CAPACITY] = {KEY_doubts_capacity, KEY_at_best_capacity, "capacity"},
    [FACILITY_FIGURE_OFFSET] = {KEY_doubts_offset, KEY_at_best_offset, "offset"},
    [FACILITY_FIGURE_LEAK] = {KEY_doubts_leak, KEY_at_best_leak, "leak"},
    [FACILITY_FIGURE_DROP] = {KEY_doubts_drop, KEY_at_best_drop, "drop"},
    [FACILITY_FIGURE_CURVE] = {KEY_doubts_curve, KEY_at_best_curve, "fan curve"},
    [FACILITY_FIGURE_VELOCITY] = {KEY_doubts_velocity, KEY_at_best_velocity, "velocity"},
    [FACILITY_FIGURE_PRESSURE] = {KEY_doubts_pressure, KEY_at_best_pressure, "pressure"},
};

struct found {
  struct facility_input input;
  struct found *next;
};

struct listing {
  struct build *b;
  const struct record *doubts, *at_best; /* or NULL */
  const char *kind, *part;               /* of the part being read */
  int index, sub;
  int count;
  struct found *first, *last;
};

const char *facility_figure_name(enum facility_figure figure)
{
  return doubt_rows[figure].words;
}

static double doubt_si(const struct record *record, enum schema_key_id key)
{
  return record && record_has(record, key) ? record_si(record, key) : build_fallback_si(key);
}

static void add(struct listing *l, const struct facility_input *input)
{
  struct found *next = ARENA_NEW(l->b->reader->work, struct found);

  BUG_IF(!next);
  next->input = *input;
  if (l->last)
    l->last->next = next;
  else
    l->first = next;
  l->last = next;
  l->count++;
}

/* One figure of the part: `path` leads to it, as written.  `whole` is what its ± is
 * a part of; a law of several figures counts as 1 and is scaled as a whole. */
struct figure {
  const char *path;
  enum schema_key_id key;
  enum facility_figure figure;
  enum facility_move move;
  enum units_dimension dimension;
  double whole_si;
  bool has_plus_minus;
  double plus_minus_si;
};

static void list_figure(struct listing *l, const struct figure *f)
{
  enum schema_key_id usual = doubt_rows[f->figure].usual;
  bool by_share = f->figure != FACILITY_FIGURE_PRESSURE;
  double unit_si = by_share ? fabs(f->whole_si) : 1.0;
  struct facility_input input = {
      .kind = l->kind,
      .part = l->part,
      .key = build_text(l->b, f->path),
      .find = schema_key_at((int)f->key)->find,
      .figure = f->figure,
      .from = f->has_plus_minus ? FACILITY_DOUBT_STATED : FACILITY_DOUBT_ASSUMED,
      .dimension = f->dimension,
      .value_si = f->whole_si,
      .plus_minus_si = f->has_plus_minus ? f->plus_minus_si : unit_si * doubt_si(l->doubts, usual),
      .at_best_si = unit_si * doubt_si(l->at_best, doubt_rows[f->figure].at_best),
      .move = f->move,
      .index = l->index,
      .sub = l->sub,
  };

  if (!f->has_plus_minus && l->doubts && record_value(l->doubts, usual)->stated)
    input.from = FACILITY_DOUBT_OF_SUITE;
  if (input.plus_minus_si > 0.0)
    add(l, &input);
}

/* A figure that stands for itself. */
static void plain(struct listing *l, const struct record *r, enum schema_key_id key,
                  const char *path, enum facility_figure figure, enum facility_move move)
{
  const struct value *v = record_given(r, key);

  if (v)
    list_figure(l, &(struct figure){path, key, figure, move, schema_key_at((int)key)->dimension,
                                    v->si, v->has_plus_minus, v->plus_minus_si});
}

/* A figure that scales a whole law: its ± counts as a share. */
static void scaling(struct listing *l, const struct record *r, enum schema_key_id key,
                    const char *path, enum facility_figure figure, enum facility_move move)
{
  const struct value *v = record_given(r, key);

  if (!v)
    return;
  bool has = v->has_plus_minus && v->si != 0.0;

  list_figure(l, &(struct figure){path, key, figure, move, UNITS_RATIO, 1.0, has,
                                  has ? v->plus_minus_si / fabs(v->si) : 0.0});
}

/* What follows "at" in a pair. */
static void second_half(struct listing *l, const struct record *r, enum schema_key_id key,
                        const char *path, enum facility_move move)
{
  const struct value *v = record_given(r, key);

  if (v && v->at_si > 0.0)
    list_figure(l, &(struct figure){path, key, FACILITY_FIGURE_FLOW, move, UNITS_FLOW, v->at_si,
                                    v->has_at_plus_minus, v->at_plus_minus_si});
}

static const char *joined(struct listing *l, const char *before, const char *key)
{
  return before[0] ? reader_text(l->b->reader, "%s, %s", before, key) : key;
}

/* ---- laws ---- */

static void resistance(struct listing *l, const struct record *r, const char *path,
                       enum facility_move drop, enum facility_move flow)
{
  if (!r)
    return;
  switch ((int)record_form(r, 0)) {
  case FORM_resistance_drop:
    scaling(l, r, KEY_resistance_drop, joined(l, path, "drop"), FACILITY_FIGURE_DROP, drop);
    second_half(l, r, KEY_resistance_drop, joined(l, path, "drop, at flow"), flow);
    break;
  case FORM_resistance_lumped:
    scaling(l, r, KEY_resistance_lumped, joined(l, path, "resistance"), FACILITY_FIGURE_DROP, drop);
    break;
  case FORM_resistance_loss:
    scaling(l, r, KEY_resistance_loss, joined(l, path, "loss"), FACILITY_FIGURE_DROP, drop);
    break;
  default: /* friction and losses together */
    scaling(l, r, KEY_resistance_length, joined(l, path, "length and loss"), FACILITY_FIGURE_DROP,
            drop);
  }
}

static void leak_law(struct listing *l, const struct record *r, const char *path,
                     enum facility_move move)
{
  static const struct {
    enum schema_form_id form;
    enum schema_key_id key;
    const char *word;
  } sizes[] = {{FORM_leak_law_printed, KEY_leak_law_area, "area"},
               {FORM_leak_law_orifice, KEY_leak_law_area, "area"},
               {FORM_leak_law_power, KEY_leak_law_c, "c"},
               {FORM_leak_law_measured, KEY_leak_law_flow, "flow"}};

  for (size_t i = 0; r && i < sizeof sizes / sizeof *sizes; i++)
    if (record_form(r, 0) == sizes[i].form)
      scaling(l, r, sizes[i].key, joined(l, path, sizes[i].word), FACILITY_FIGURE_LEAK, move);
}

/* ---- parts ---- */

static void a_leak(struct listing *l, const struct record *r)
{
  leak_law(l, record_inner(r, KEY_leak_law), "", FACILITY_MOVE_LEAK);
}

static void a_door(struct listing *l, const struct record *r)
{
  leak_law(l, record_inner(r, KEY_door_closed), "closed", FACILITY_MOVE_DOOR_CLOSED);
  leak_law(l, record_inner(r, KEY_door_open), "open", FACILITY_MOVE_DOOR_OPEN);
}

static void a_duct(struct listing *l, const struct record *r)
{
  resistance(l, record_inner(r, KEY_duct_resistance), "", FACILITY_MOVE_DUCT_DROP,
             FACILITY_MOVE_DUCT_FLOW);
}

static void a_fan(struct listing *l, const struct record *r)
{
  const struct record *hold = record_inner(r, KEY_fan_holds);
  const struct value *points = record_given(r, KEY_fan_curve);

  if (record_form(r, 0) != FORM_fan_table) {
    scaling(l, r, KEY_fan_shut_off, "shut-off", FACILITY_FIGURE_CURVE, FACILITY_MOVE_FAN_CURVE);
  } else if (points && points->count > 0) {
    const struct value *v = &points->items[0]; /* the first point speaks for the curve */
    bool has = v->has_plus_minus && v->si != 0.0;

    list_figure(l, &(struct figure){"curve", KEY_fan_curve, FACILITY_FIGURE_CURVE,
                                    FACILITY_MOVE_FAN_CURVE, UNITS_RATIO, 1.0, has,
                                    has ? v->plus_minus_si / fabs(v->si) : 0.0});
  }
  plain(l, hold, KEY_fan_hold_pressure, "holds, pressure", FACILITY_FIGURE_PRESSURE,
        FACILITY_MOVE_FAN_HOLD);
}

static void capacity(struct listing *l, const struct record *r, enum facility_move move)
{
  const struct value *rows = record_given(r, KEY_capacity_by_running);

  if (!r)
    return;
  l->sub = 0;
  plain(l, r, KEY_capacity_value, "capacity, value", FACILITY_FIGURE_CAPACITY, move);
  for (int i = 0; rows && i < rows->count; i++) {
    const struct value *v = &rows->items[i];

    l->sub = i;
    list_figure(l, &(struct figure){
                       reader_text(l->b->reader, "capacity, by running fans, %d", v->key_number),
                       KEY_capacity_by_running, FACILITY_FIGURE_CAPACITY, move, UNITS_FLOW, v->si,
                       v->has_plus_minus, v->plus_minus_si});
  }
}

static void a_main(struct listing *l, const struct record *r)
{
  capacity(l, record_inner(r, KEY_main_capacity), FACILITY_MOVE_MAIN_CAPACITY);
}

static void a_feed(struct listing *l, const struct record *r)
{
  plain(l, r, KEY_feed_flow, "flow", FACILITY_FIGURE_FLOW, FACILITY_MOVE_FEED_FLOW);
  plain(l, record_inner(r, KEY_feed_holds), KEY_feed_hold_pressure, "holds, pressure",
        FACILITY_FIGURE_PRESSURE, FACILITY_MOVE_FEED_HOLD);
  plain(l, record_inner(r, KEY_feed_follows), KEY_feed_follow_offset, "follows exhaust, offset",
        FACILITY_FIGURE_OFFSET, FACILITY_MOVE_FEED_OFFSET);
  plain(l, r, KEY_feed_most, "most", FACILITY_FIGURE_MOST, FACILITY_MOVE_FEED_MOST);
  scaling(l, r, KEY_feed_wide_open, "wide open", FACILITY_FIGURE_DROP,
          FACILITY_MOVE_FEED_WIDE_OPEN);
}

static void a_supply(struct listing *l, const struct record *r)
{
  const struct value *feeds = record_value(r, KEY_supply_feeds);
  const struct facility_supply *s = &l->b->facility->supplies[l->index];

  plain(l, r, KEY_supply_most, "most", FACILITY_FIGURE_MOST, FACILITY_MOVE_SUPPLY_MOST);
  capacity(l, record_inner(r, KEY_supply_capacity), FACILITY_MOVE_SUPPLY_CAPACITY);
  l->kind = "feed";
  for (int i = 0; i < feeds->count; i++) {
    l->sub = i;
    l->part = s->feeds[i].part.id;
    a_feed(l, feeds->records[i]);
  }
}

static void an_exhaust(struct listing *l, const struct record *r)
{
  plain(l, r, KEY_exhaust_flow, "flow", FACILITY_FIGURE_FLOW, FACILITY_MOVE_EXHAUST);
}

static void a_station(struct listing *l, const struct record *r)
{
  const struct record *rule = record_inner(r, KEY_station_flow);
  const struct record *states = record_inner(rule, KEY_flow_rule_two_state);
  const struct record *follows = record_inner(rule, KEY_flow_rule_follows);

  plain(l, rule, KEY_flow_rule_constant, "flow, constant", FACILITY_FIGURE_FLOW,
        FACILITY_MOVE_STATION_CONSTANT);
  plain(l, states, KEY_two_state_parked, "flow, two-state, parked", FACILITY_FIGURE_FLOW,
        FACILITY_MOVE_STATION_PARKED);
  plain(l, states, KEY_two_state_work, "flow, two-state, work", FACILITY_FIGURE_FLOW,
        FACILITY_MOVE_STATION_WORK);
  plain(l, follows, KEY_follows_velocity, "flow, follows opening, velocity",
        FACILITY_FIGURE_VELOCITY, FACILITY_MOVE_STATION_VELOCITY);
  plain(l, follows, KEY_follows_least, "flow, follows opening, least", FACILITY_FIGURE_FLOW,
        FACILITY_MOVE_STATION_LEAST);
  plain(l, follows, KEY_follows_most, "flow, follows opening, most", FACILITY_FIGURE_FLOW,
        FACILITY_MOVE_STATION_MOST);
  scaling(l, record_inner(rule, KEY_flow_rule_passive), KEY_passive_coefficient,
          "flow, passive, coefficient", FACILITY_FIGURE_FLOW, FACILITY_MOVE_STATION_FACE);
  resistance(l, record_inner(r, KEY_station_branch), "branch", FACILITY_MOVE_BRANCH_DROP,
             FACILITY_MOVE_BRANCH_FLOW);
}

static const struct {
  enum schema_key_id section;
  const char *kind;
  void (*list)(struct listing *, const struct record *);
} kinds[] = {
    {KEY_sections_leaks, "leak", a_leak},           {KEY_sections_doors, "door", a_door},
    {KEY_sections_ducts, "duct", a_duct},           {KEY_sections_fans, "fan", a_fan},
    {KEY_sections_mains, "main", a_main},           {KEY_sections_supplies, "supply", a_supply},
    {KEY_sections_exhausts, "exhaust", an_exhaust}, {KEY_sections_stations, "station", a_station},
};

void build_inputs(struct build *b, const struct record *sections)
{
  const struct record *doubts = record_inner(sections, KEY_sections_doubts);
  struct listing l = {.b = b,
                      .doubts = doubts,
                      .at_best = doubts ? record_inner(doubts, KEY_doubts_at_best) : NULL};
  struct facility_input *out;
  int i = 0;

  for (size_t k = 0; k < sizeof kinds / sizeof *kinds; k++) {
    const struct value *parts = record_value(sections, kinds[k].section);

    for (l.index = 0; l.index < parts->count; l.index++) {
      l.kind = kinds[k].kind;
      l.part = build_text(b, parts->records[l.index]->id);
      l.sub = 0;
      kinds[k].list(&l, parts->records[l.index]);
    }
  }
  b->facility->doubts_at_worst = doubts && record_value(doubts, KEY_doubts_combine)->number == 1;
  out = ARENA_ARRAY(b->facility->arena, struct facility_input, (size_t)l.count + 1);
  BUG_IF(!out);
  for (const struct found *f = l.first; f; f = f->next)
    out[i++] = f->input;
  b->facility->inputs = out;
  b->facility->input_count = i;
}
