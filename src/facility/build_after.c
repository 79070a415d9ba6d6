/* How fast things move: the section `after`, and `responds` of single parts. */
#include "facility/reader_impl.h"

#include <stddef.h>

/* Every quantity of the section, and where it goes. */
static const struct after_row {
  enum schema_key_id key;
  size_t at;
} rows[] = {
#define ROW(key, member)                                                                           \
  {                                                                                                \
    KEY_after_##key, offsetof(struct facility_after, member)                                       \
  }
    ROW(sash_speed, sash_m_s),
    ROW(door_opens, door_opens_s),
    ROW(door_closes, door_closes_s),
    ROW(valve_time, valve_s),
    ROW(terminal_time, terminal_s),
    ROW(terminal_stroke, stroke_s),
    ROW(pressure_sensor, room_sensor_s),
    ROW(pressure_control, room_control_s),
    ROW(duct_sensor, duct_sensor_s),
    ROW(duct_control, duct_control_s),
    ROW(fan_run_up, fan_run_up_s),
    ROW(fan_coast, fan_coast_s),
    ROW(unit_run_up, unit_run_up_s),
    ROW(unit_coast, unit_coast_s),
    ROW(restart_after, restart_s),
    ROW(leaf_width, leaf_width_m),
    ROW(leaf_height, leaf_height_m),
    ROW(handle, handle_m),
    ROW(door_force, door_force_N),
    ROW(supply_filter, supply_filter_ratio),
    ROW(fan_filter, fan_filter_ratio),
    ROW(outside_class, outside_class),
    ROW(mixing_least, mixing_least_ratio),
    ROW(mixing_most, mixing_most_ratio),
#undef ROW
};

static const struct dark_row {
  enum schema_key_id key;
  size_t at;
} darks[] = {
    {KEY_after_valves_dark, offsetof(struct facility_after, valves)},
    {KEY_after_terminals_dark, offsetof(struct facility_after, terminals)},
};

enum { ROW_COUNT = sizeof rows / sizeof *rows, DARK_COUNT = sizeof darks / sizeof *darks };

static void assume(struct build *b, const char **list, int *count, enum schema_key_id key)
{
  const struct schema_key *row = schema_key_at((int)key);

  list[(*count)++] =
      build_text(b, reader_text(b->reader, "%s %s: %s", row->key, row->fallback, row->doc));
}

void build_after(struct build *b, const struct record *after)
{
  struct facility_after *out = &b->facility->after;
  const char **assumed =
      ARENA_ARRAY(b->facility->arena, const char *, (size_t)(ROW_COUNT + DARK_COUNT));

  BUG_IF(!assumed);
  for (int i = 0; i < ROW_COUNT; i++) {
    bool given = after && record_has(after, rows[i].key);

    *(double *)(void *)((char *)out + rows[i].at) =
        given ? record_si(after, rows[i].key) : build_fallback_si(rows[i].key);
    if (!given)
      assume(b, assumed, &out->assumed_count, rows[i].key);
  }
  for (int i = 0; i < DARK_COUNT; i++) {
    bool given = after && record_has(after, darks[i].key);
    int word = given ? (int)record_value(after, darks[i].key)->number : FACILITY_STAYS;

    *(enum facility_dark *)(void *)((char *)out + darks[i].at) = (enum facility_dark)word;
    if (!given)
      assume(b, assumed, &out->assumed_count, darks[i].key);
  }
  out->assumed = assumed;
}

struct facility_response build_response(const struct record *record)
{
  if (!record)
    return (struct facility_response){0};
  return (struct facility_response){
      .has_time = record_has(record, KEY_responds_time),
      .time_s = record_si(record, KEY_responds_time),
      .has_coast = record_has(record, KEY_responds_coast),
      .coast_s = record_si(record, KEY_responds_coast),
      .has_dark = record_has(record, KEY_responds_dark),
      .dark = record_has(record, KEY_responds_dark)
                  ? (enum facility_dark)record_value(record, KEY_responds_dark)->number
                  : FACILITY_STAYS,
      .stays_off = record_value(record, KEY_responds_restarts)->number == 0,
  };
}
