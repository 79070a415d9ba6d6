/* What the house has ruled: about glass marks, and about runs with nobody there. */
#include "facility/reader_impl.h"

static double si(const struct record *record, enum schema_key_id key)
{
  return record ? record_si(record, key) : build_fallback_si(key);
}

void build_glass(struct build *b, const struct record *rules)
{
  struct facility_glass_rules *out = &b->facility->glass;
  const struct value *off = rules ? record_value(rules, KEY_glass_rules_keep_off) : NULL;

  out->least_colour = si(rules, KEY_glass_rules_least_colour);
  out->least_shape_ratio = si(rules, KEY_glass_rules_least_shape);
  if (!off)
    return;

  struct facility_kept_off *list =
      ARENA_ARRAY(b->facility->arena, struct facility_kept_off, (size_t)off->count + 1);

  BUG_IF(!list);
  for (int i = 0; i < off->count; i++)
    list[i] = (struct facility_kept_off){
        .colour = (enum mark_colour)record_value(off->records[i], KEY_kept_off_colour)->number,
        .means = build_text(b, record_value(off->records[i], KEY_kept_off_means)->text),
        .source = build_text(b, record_value(off->records[i], KEY_kept_off_source)->text),
    };
  out->kept_off_count = off->count;
  out->kept_off = list;
}

static const int *stations_of(struct build *b, const struct value *refs)
{
  int *out = ARENA_ARRAY(b->facility->arena, int, (size_t)refs->count + 1);

  BUG_IF(!out);
  for (int i = 0; i < refs->count; i++)
    out[i] = refs->items[i].number;
  return out;
}

void build_unattended(struct build *b, const struct record *record)
{
  struct facility_unattended *out = &b->facility->unattended;
  const struct value *waits = record ? record_value(record, KEY_unattended_waits) : NULL;

  out->cold_K = si(record, KEY_unattended_cold_below);
  out->reading_pm_K = si(record, KEY_unattended_reading);
  out->around_pm_K = si(record, KEY_unattended_around);
  if (!waits)
    return;

  struct facility_wait *list =
      ARENA_ARRAY(b->facility->arena, struct facility_wait, (size_t)waits->count + 1);

  BUG_IF(!list);
  for (int i = 0; i < waits->count; i++) {
    const struct record *r = waits->records[i];
    const struct value *stations = record_value(r, KEY_unattended_wait_stations);

    list[i] = (struct facility_wait){
        .station_count = stations->count,
        .stations = stations_of(b, stations),
        .wait_s = record_si(r, KEY_unattended_wait_wait),
        .why = build_text(b, record_value(r, KEY_unattended_wait_why)->text),
        .source = build_text(b, record_value(r, KEY_unattended_wait_source)->text),
        .own_heat = record_value(r, KEY_unattended_wait_own_heat)->number != 0,
    };
  }
  out->wait_count = waits->count;
  out->waits = list;
}
