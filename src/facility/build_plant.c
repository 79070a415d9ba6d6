#include "facility/reader_impl.h"

#include <math.h>

/* ---- declared capacity ---- */

static struct facility_threshold threshold(const struct record *record)
{
  if (!record)
    return (struct facility_threshold){0};
  return (struct facility_threshold){
      .given = true,
      .enter_ratio = record_si(record, KEY_threshold_enter),
      .leave_ratio = record_has(record, KEY_threshold_leave)
                         ? record_si(record, KEY_threshold_leave)
                         : record_si(record, KEY_threshold_enter),
      .dwell_s = record_si(record, KEY_threshold_dwell),
  };
}

static const int *indices(struct build *b, const struct value *refs)
{
  int *out = ARENA_ARRAY(b->facility->arena, int, (size_t)refs->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < refs->count; i++)
    out[i] = refs->items[i].number;
  return out;
}

static void capacity_table(struct build *b, const struct value *table,
                           struct facility_declared *out)
{
  int *running = ARENA_ARRAY(b->facility->arena, int, (size_t)table->count + 1);
  double *flows_m3_s = ARENA_ARRAY(b->facility->arena, double, (size_t)table->count + 1);

  BUG_IF(!running || !flows_m3_s);
  for (int i = 0; i < table->count; i++) {
    running[i] = table->items[i].key_number;
    flows_m3_s[i] = table->items[i].si;
  }
  out->value_count = table->count;
  out->running_fans = running;
  out->capacity_m3_s = flows_m3_s;
}

static struct facility_declared declared(struct build *b, const struct record *record)
{
  struct facility_declared out = {0};

  if (!record)
    return out;

  const struct value *subtract = record_value(record, KEY_capacity_subtract);

  out.given = true;
  out.demand_measured = record_value(record, KEY_capacity_demand)->number == 1;
  out.subtract_count = subtract->count;
  out.subtract = indices(b, subtract);
  out.near_limit = threshold(record_inner(record, KEY_capacity_near_limit));
  out.shortage = threshold(record_inner(record, KEY_capacity_shortage));
  if (record_form(record, 0) == FORM_capacity_by_running) {
    capacity_table(b, record_value(record, KEY_capacity_by_running), &out);
  } else {
    double *one_m3_s = ARENA_NEW(b->facility->arena, double);

    BUG_IF(!one_m3_s);
    *one_m3_s = record_si(record, KEY_capacity_value);
    out.value_count = 1;
    out.capacity_m3_s = one_m3_s;
  }
  return out;
}

/* ---- fans ---- */

static void fan_curve(struct build *b, const struct record *r, struct facility_fan *fan)
{
  const struct value *points = record_value(r, KEY_fan_curve);

  if (record_form(r, 0) != FORM_fan_table) {
    fan->curve = FACILITY_CURVE_A_MINUS_B_Q2;
    fan->a_Pa = record_si(r, KEY_fan_shut_off);
    fan->b_Pa_s2_m6 = record_si(r, KEY_fan_falls);
    return;
  }

  double *flow_m3_s = ARENA_ARRAY(b->facility->arena, double, (size_t)points->count + 1);
  double *rise_Pa = ARENA_ARRAY(b->facility->arena, double, (size_t)points->count + 1);

  BUG_IF(!flow_m3_s || !rise_Pa);
  for (int i = 0; i < points->count; i++) {
    flow_m3_s[i] = points->items[i].at_si;
    rise_Pa[i] = points->items[i].si;
  }
  fan->curve = FACILITY_CURVE_TABLE;
  fan->between = (enum facility_between)record_value(r, KEY_fan_between)->number;
  fan->point_count = points->count;
  fan->flow_m3_s = flow_m3_s;
  fan->rise_Pa = rise_Pa;
}

static void fan_hold(const struct record *hold, struct facility_fan *fan)
{
  if (!hold)
    return;
  fan->holds = true;
  fan->hold_node = record_value(hold, KEY_fan_hold_in)->number;
  fan->hold_over = record_value(hold, KEY_fan_hold_over)->number;
  fan->hold_Pa = record_si(hold, KEY_fan_hold_pressure);
  fan->least_speed_ratio = record_si(hold, KEY_fan_hold_least);
  fan->most_speed_ratio = record_si(hold, KEY_fan_hold_most);
}

static struct facility_fan one_fan(struct build *b, const struct record *r)
{
  const struct record *stopped = record_inner(r, KEY_fan_stopped);
  struct facility_fan fan = {
      .part = build_part(b, r),
      .from = record_value(r, KEY_fan_from)->number,
      .to = record_value(r, KEY_fan_to)->number,
      .count = record_value(r, KEY_fan_count)->number,
      .has_rated_density = record_has(r, KEY_fan_rated_density),
      .rated_density_kg_m3 = record_si(r, KEY_fan_rated_density),
      .speed_ratio = record_si(r, KEY_fan_speed),
      .open_when_stopped = stopped != NULL,
      .stopped = build_resistance(stopped),
      .hold_node = -1,
      .hold_over = -1,
      .responds = build_response(record_inner(r, KEY_fan_responds)),
  };

  fan.running =
      record_has(r, KEY_fan_running) ? record_value(r, KEY_fan_running)->number : fan.count;
  fan_curve(b, r, &fan);
  fan_hold(record_inner(r, KEY_fan_holds), &fan);
  return fan;
}

/* ---- pools ---- */

static struct facility_main one_main(struct build *b, const struct record *r)
{
  const struct value *fans = record_value(r, KEY_main_fans);

  return (struct facility_main){
      .part = build_part(b, r),
      .at = record_has(r, KEY_main_at) ? record_value(r, KEY_main_at)->number : -1,
      .fan_count = fans->count,
      .fans = indices(b, fans),
      .declared = declared(b, record_inner(r, KEY_main_capacity)),
  };
}

static struct facility_feed one_feed(struct build *b, const char *supply, const struct record *r)
{
  const struct record *holds = record_inner(r, KEY_feed_holds);
  const struct record *follows = record_inner(r, KEY_feed_follows);
  const struct value *wide_open = record_value(r, KEY_feed_wide_open);
  struct facility_feed feed = {
      .part = build_part(b, r),
      .room = r->key_number,
      .form = holds     ? FACILITY_FEED_HOLDS
              : follows ? FACILITY_FEED_FOLLOWS
                        : FACILITY_FEED_FLOW,
      .flow_m3_s = record_si(r, KEY_feed_flow),
      .over = holds ? record_value(holds, KEY_feed_hold_over)->number : -1,
      .hold_Pa = holds ? record_si(holds, KEY_feed_hold_pressure) : 0.0,
      .offset_m3_s = follows ? record_si(follows, KEY_feed_follow_offset) : 0.0,
      .has_most = record_has(r, KEY_feed_most),
      .least_m3_s = record_si(r, KEY_feed_least),
      .most_m3_s = record_si(r, KEY_feed_most),
      .has_wide_open = record_has(r, KEY_feed_wide_open),
      .wide_open_Pa = wide_open->si,
      .wide_open_m3_s = wide_open->at_si,
      .responds = build_response(record_inner(r, KEY_feed_responds)),
  };
  bool named = feed.part.name != feed.part.id;

  feed.part.id = build_text(b, reader_text(b->reader, "%s/%s", supply, r->id));
  if (!named)
    feed.part.name = feed.part.id;
  return feed;
}

static struct facility_supply one_supply(struct build *b, const struct record *r)
{
  const struct value *feeds = record_value(r, KEY_supply_feeds);
  struct facility_feed *out =
      ARENA_ARRAY(b->facility->arena, struct facility_feed, (size_t)feeds->count + 1);
  bool plenum_matters = record_has(r, KEY_supply_most);

  BUG_IF(!out);
  for (int i = 0; i < feeds->count; i++) {
    out[i] = one_feed(b, r->id, feeds->records[i]);
    plenum_matters |= out[i].has_wide_open;
  }
  if (!record_value(r, KEY_supply_plenum)->stated && plenum_matters)
    reader_assume(b->reader,
                  "%s: plenum %s (common practice, no source; it matters only when "
                  "the unit is at its limit)",
                  r->who, schema_key_at(KEY_supply_plenum)->fallback);
  if (!record_has(r, KEY_supply_temperature) && !b->facility->has_air_density)
    reader_assume(b->reader, "%s: temperature as in 'air' (the file gives none)", r->who);
  return (struct facility_supply){
      .part = build_part(b, r),
      .plenum_id = build_text(b, reader_text(b->reader, "%s/plenum", r->id)),
      .has_most = record_has(r, KEY_supply_most),
      .most_m3_s = record_si(r, KEY_supply_most),
      .plenum_Pa = record_si(r, KEY_supply_plenum),
      .temperature_K = build_or_usual(r, KEY_supply_temperature, b->usual_temperature_K),
      .relative_humidity_ratio =
          build_or_usual(r, KEY_supply_humidity, b->usual_relative_humidity_ratio),
      .feed_count = feeds->count,
      .feeds = out,
      .responds = build_response(record_inner(r, KEY_supply_responds)),
      .declared = declared(b, record_inner(r, KEY_supply_capacity)),
  };
}

static struct facility_exhaust one_exhaust(struct build *b, const struct record *r)
{
  bool on_main = record_has(r, KEY_exhaust_main);
  int main = on_main ? record_value(r, KEY_exhaust_main)->number : -1;

  return (struct facility_exhaust){
      .part = build_part(b, r),
      .from = record_value(r, KEY_exhaust_from)->number,
      .to = record_has(r, KEY_exhaust_to) ? record_value(r, KEY_exhaust_to)->number
            : on_main                     ? b->facility->mains[main].at
                                          : -1,
      .main = main,
      .flow_m3_s = record_si(r, KEY_exhaust_flow),
  };
}

/* ---- all of one kind ---- */

void build_plant(struct build *b, const struct record *sections)
{
  BUILD_ALL(fan, fans, record_value(sections, KEY_sections_fans));
  BUILD_ALL(main, mains, record_value(sections, KEY_sections_mains));
  BUILD_ALL(supply, supplies, record_value(sections, KEY_sections_supplies));
  BUILD_ALL(exhaust, exhausts, record_value(sections, KEY_sections_exhausts));
}

/* ---- stations ---- */

static void station_openings(const struct record *r, struct facility_station *station)
{
  const struct record *opening = record_inner(r, KEY_station_opening);

  station->has_width = record_has(r, KEY_station_width);
  station->width_m = record_si(r, KEY_station_width);
  if (!opening)
    return;
  station->has_openings = true;
  station->parked_m = record_si(opening, KEY_opening_parked);
  station->work_m = record_si(opening, KEY_opening_work);
  station->most_m = record_has(opening, KEY_opening_most) ? record_si(opening, KEY_opening_most)
                                                          : station->work_m;
}

static void station_flow(const struct record *rule, struct facility_station *station)
{
  const struct record *two_state = record_inner(rule, KEY_flow_rule_two_state);
  const struct record *follows = record_inner(rule, KEY_flow_rule_follows);
  const struct record *passive = record_inner(rule, KEY_flow_rule_passive);

  if (two_state) {
    station->flow = FACILITY_TWO_STATE;
    station->parked_m3_s = record_si(two_state, KEY_two_state_parked);
    station->work_m3_s = record_si(two_state, KEY_two_state_work);
  } else if (follows) {
    station->flow = FACILITY_FOLLOWS_OPENING;
    station->velocity_m_s = record_si(follows, KEY_follows_velocity);
    station->least_m3_s = record_si(follows, KEY_follows_least);
    station->most_m3_s = record_si(follows, KEY_follows_most);
    station->bypass_m3_s = record_si(follows, KEY_follows_bypass);
  } else if (passive) {
    station->flow = FACILITY_PASSIVE;
    station->face_coefficient_ratio = record_si(passive, KEY_passive_coefficient);
    station->bypass_area_m2 = record_si(passive, KEY_passive_bypass_area);
  } else {
    station->flow = FACILITY_CONSTANT;
    station->parked_m3_s = station->work_m3_s = record_si(rule, KEY_flow_rule_constant);
  }
}

static struct facility_mark station_mark(struct build *b, const struct record *mark)
{
  const struct value *colour = record_given(mark, KEY_glass_mark_colour),
                     *shape = record_given(mark, KEY_glass_mark_shape),
                     *letter = record_given(mark, KEY_glass_mark_letter);

  return (struct facility_mark){
      .colour = colour ? (enum mark_colour)colour->number : MARK_NO_COLOUR,
      .shape = shape ? (enum mark_shape)shape->number : MARK_NO_SHAPE,
      .letter = letter ? build_text(b, letter->text) : NULL,
  };
}

static const struct facility_glass *station_glass(struct build *b, const struct value *from)
{
  struct facility_glass *out =
      ARENA_ARRAY(b->facility->arena, struct facility_glass, (size_t)from->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < from->count; i++) {
    const struct record *r = from->records[i];
    const struct value *visits = record_value(r, KEY_glass_piece_may_visit);

    out[i] = (struct facility_glass){
        .what = build_text(b, record_value(r, KEY_glass_piece_what)->text),
        .material = build_text(b, record_value(r, KEY_glass_piece_material)->text),
        .drawer = build_text(b, record_value(r, KEY_glass_piece_drawer)->text),
        .on_return = build_text(b, record_value(r, KEY_glass_piece_on_return)->text),
        .count = (int)record_value(r, KEY_glass_piece_count)->number,
        .visit_count = visits->count,
        .visits = indices(b, visits),
    };
  }
  return out;
}

static const struct facility_document *station_documents(struct build *b, const struct value *from)
{
  struct facility_document *out =
      ARENA_ARRAY(b->facility->arena, struct facility_document, (size_t)from->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < from->count; i++) {
    const struct record *r = from->records[i];

    out[i] = (struct facility_document){
        .title = build_text(b, record_value(r, KEY_document_title)->text),
        .version = build_text(b, record_value(r, KEY_document_version)->text),
        .reviewed = build_text(b, record_value(r, KEY_document_reviewed)->text),
        .link = build_text(b, record_value(r, KEY_document_link)->text),
    };
  }
  return out;
}

const char *const *build_texts(struct build *b, const struct value *from)
{
  const char **out = ARENA_ARRAY(b->facility->arena, const char *, (size_t)from->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < from->count; i++)
    out[i] = build_text(b, from->items[i].text);
  return out;
}

static struct facility_card station_card(struct build *b, const struct record *r)
{
  const struct record *wear = record_inner(r, KEY_station_wear);
  const struct value *not_here = record_value(r, KEY_station_not_here),
                     *glass = record_value(r, KEY_station_glass),
                     *documents = record_value(r, KEY_station_documents);

  return (struct facility_card){
      .chemistry = build_text(b, record_value(r, KEY_station_chemistry)->text),
      .not_here_count = not_here->count,
      .not_here = build_texts(b, not_here),
      .mark = station_mark(b, record_inner(r, KEY_station_glass_mark)),
      .glass_count = glass->count,
      .glass = station_glass(b, glass),
      .wear.what = wear ? build_text(b, record_value(wear, KEY_wear_what)->text) : NULL,
      .wear.source = wear ? build_text(b, record_value(wear, KEY_wear_source)->text) : NULL,
      .document_count = documents->count,
      .documents = station_documents(b, documents),
      .call = build_text(b, record_value(r, KEY_station_call)->text),
  };
}

static void station_deck_flow(struct build *b, const struct record *r,
                              struct facility_station *station)
{
  const struct record *deck = record_inner(r, KEY_station_deck_flow);

  station->deck_least_m3_s = (double)NAN;
  if (!deck)
    return;
  station->deck_least_m3_s = record_si(deck, KEY_deck_flow_least);
  station->deck_least_source = build_text(b, record_value(deck, KEY_deck_flow_source)->text);
}

static struct facility_station one_station(struct build *b, const struct record *r)
{
  const struct record *branch = record_inner(r, KEY_station_branch);
  int main = record_value(r, KEY_station_main)->number;
  struct facility_station station = {
      .part = build_part(b, r),
      .kind = (enum facility_station_kind)record_value(r, KEY_station_kind)->number,
      .room = record_value(r, KEY_station_room)->number,
      .main = main,
      .joins = record_has(r, KEY_station_joins) ? record_value(r, KEY_station_joins)->number
                                                : b->facility->mains[main].at,
      .in_service = record_value(r, KEY_station_in_service)->number != 0,
      .deck_share_ratio = record_si(r, KEY_station_deck),
      .branch = build_resistance(branch),
      .criterion = record_has(r, KEY_station_criterion)
                       ? record_value(r, KEY_station_criterion)->number
                       : -1,
      .card = station_card(b, r),
      .responds = build_response(record_inner(r, KEY_station_responds)),
  };

  station_openings(r, &station);
  station_flow(record_inner(r, KEY_station_flow), &station);
  station_deck_flow(b, r, &station);
  if (!branch && station.joins >= 0 && station.flow != FACILITY_PASSIVE)
    reader_assume(b->reader,
                  "%s: its flow is exact while the main pulls 1 Pa or more (no 'branch' is given)",
                  r->who);
  return station;
}

void build_stations(struct build *b, const struct value *from)
{
  BUILD_ALL(station, stations, from);
}
