#include "facility/reader_impl.h"

#include <stdlib.h>

/* The rows of the kinds of reading, in the order of enum facility_gauge_of. */
static const struct gauge_rows {
  enum schema_key_id section, reading, least, swing, model, source;
} rows[FACILITY_GAUGE_COUNT] = {
#define ROWS(name)                                                                                 \
  {                                                                                                \
    KEY_walk_##name, KEY_walk_##name##_reading, KEY_walk_##name##_least, KEY_walk_##name##_swing,  \
        KEY_walk_##name##_model, KEY_walk_##name##_source                                          \
  }
    ROWS(room), ROWS(face), ROWS(duct), ROWS(supply), ROWS(speed), ROWS(flow),
#undef ROWS
};

static double si(const struct record *record, enum schema_key_id key)
{
  return record ? record_si(record, key) : build_fallback_si(key);
}

static struct facility_gauge one_gauge(struct build *b, const struct record *walk,
                                       const struct gauge_rows *row)
{
  const struct record *gauge = walk ? record_inner(walk, row->section) : NULL;

  return (struct facility_gauge){
      .reading_ratio = si(gauge, row->reading),
      .least_si = si(gauge, row->least),
      .swing_si = si(gauge, row->swing),
      .model_si = si(gauge, row->model),
      .source = build_text(b, gauge ? record_value(gauge, row->source)->text
                                    : schema_key_at((int)row->source)->fallback),
  };
}

static const int *copied(struct build *b, const struct value *refs)
{
  int *out = ARENA_ARRAY(b->facility->arena, int, (size_t)refs->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < refs->count; i++)
    out[i] = refs->items[i].number;
  return out;
}

static const int *displays(struct build *b, const struct value *refs)
{
  int *out = ARENA_ARRAY(b->facility->arena, int, (size_t)refs->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < refs->count; i++)
    out[i] = refs->items[i].kind == ID_SUPPLY ? -1 - refs->items[i].number : refs->items[i].number;
  return out;
}

void build_walk(struct build *b, const struct record *walk)
{
  struct facility_walk *out = &b->facility->walk;

  for (int i = 0; i < FACILITY_GAUGE_COUNT; i++)
    out->gauges[i] = one_gauge(b, walk, &rows[i]);
  out->opening_m = si(walk, KEY_walk_opening);
  out->slowest_m_s = si(walk, KEY_walk_slowest);
  out->covers_ratio = si(walk, KEY_walk_covers);
  out->per_step_s = si(walk, KEY_walk_per_step);
  out->per_reading_s = si(walk, KEY_walk_per_reading);
  out->at_most_s = si(walk, KEY_walk_at_most);
  if (!walk)
    return;
  out->tap_count = record_value(walk, KEY_walk_taps)->count;
  out->taps = copied(b, record_value(walk, KEY_walk_taps));
  out->display_count = record_value(walk, KEY_walk_displays)->count;
  out->displays = displays(b, record_value(walk, KEY_walk_displays));
}

static int count(const struct record *match, enum schema_key_id key)
{
  return match ? record_value(match, key)->number
               : (int)strtol(schema_key_at((int)key)->fallback, NULL, 10);
}

/* The time of day of the board's own match; -1: it is not asked for. */
static int nightly_min(const struct record *match)
{
  const struct value *value = match ? record_given(match, KEY_match_nightly) : NULL;

  return value ? reader_minute_of(value->text) : -1;
}

void build_match(struct build *b, const struct record *match)
{
  b->facility->match = (struct facility_match){
      .lasting_ratio = si(match, KEY_match_lasting),
      .exponent_ratio = si(match, KEY_match_exponent),
      .full_ratio = si(match, KEY_match_full),
      .named_ratio = si(match, KEY_match_named),
      .known_ratio = si(match, KEY_match_known),
      .least_count = count(match, KEY_match_least),
      .steady_s = si(match, KEY_match_steady),
      .settles_s = si(match, KEY_match_settles),
      .stuck_s = si(match, KEY_match_stuck),
      .back_s = si(match, KEY_match_back),
      .nightly_min = nightly_min(match),
      .within_s = si(match, KEY_match_within),
      .source = build_text(b, match ? record_value(match, KEY_match_source)->text
                                    : schema_key_at((int)KEY_match_source)->fallback),
  };
}
