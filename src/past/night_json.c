/* A night for programs: inward.night.1. */
#include "past/night_impl.h"

#include <stdio.h>

/* "open, nobody there" as a key. */
static const char *const keys[ENERGY_PARTS] = {"attended", "unattended", "blocked",
                                               "beyond",   "parked",     "untold"};

static void range_json(struct emit *json, const char *key, const struct energy_range *r)
{
  emit_object(json, key);
  emit_number(json, "least_m3", r->least_m3);
  emit_number(json, "most_m3", r->most_m3);
  emit_number(json, "best_m3", r->best_m3);
  emit_close(json);
}

static void parts_json(struct emit *json, const struct energy_range parts[ENERGY_PARTS])
{
  emit_object(json, "parts");
  for (int i = 0; i < ENERGY_PARTS; i++)
    range_json(json, keys[i], &parts[i]);
  emit_close(json);
}

static void stretch_json(struct emit *json, const struct energy_stretch *s)
{
  double length_s = (double)(s->to_ms - s->from_ms) * 1e-3;

  emit_object(json, NULL);
  when_emit(json, "from", s->from_ms);
  when_emit(json, "to", s->to_ms);
  emit_text(json, "cause", keys[s->cause]);
  emit_bool(json, "flow_known", s->flow_known);
  emit_bool(json, "told_on", s->told_on);
  emit_number(json, "excess_least_m3_s", s->excess.least_m3 / length_s);
  emit_number(json, "excess_most_m3_s", s->excess.most_m3 / length_s);
  emit_number(json, "excess_best_m3_s", s->excess.best_m3 / length_s);
  emit_close(json);
}

static void station_json(struct emit *json, const struct past_place *place,
                         const struct past_night *night, int station)
{
  const struct facility_station *f = &place->facility->stations[station];
  const struct energy_station *s = &night->air.stations[station];
  enum energy_cause leading = night_leading(s);

  emit_object(json, NULL);
  emit_text(json, "id", f->part.id);
  emit_text(json, "name", f->part.name);
  emit_bool(json, "counted", s->counted);
  emit_text(json, "flow", !s->counted ? NULL : s->measures_flow ? "measured" : "computed");
  emit_number_if(json, "parked_m3", s->counted, s->parked_m3);
  range_json(json, "moved", &s->moved);
  range_json(json, "excess", &s->excess);
  parts_json(json, s->parts);
  emit_text(json, "leading", leading == ENERGY_PARTS ? NULL : keys[leading]);
  emit_int(json, "same_nights", night->same_nights[station]);
  emit_number(json, "not_known_s", s->not_known_s);
  emit_number(json, "beyond_s", s->beyond_s);
  emit_number(json, "less_s", s->less_s);
  emit_number(json, "less_m3", s->less_m3);
  emit_array(json, "stretches");
  for (int i = 0; i < s->stretch_count; i++)
    stretch_json(json, &s->stretches[i]);
  emit_close(json);
  emit_close(json);
}

static void pool_json(struct emit *json, const char *id, const char *kind,
                      const struct energy_sum *sum, const struct past_levels *levels)
{
  emit_object(json, id ? NULL : "all");
  if (id)
    emit_text(json, "id", id);
  emit_text(json, "kind", kind);
  emit_int(json, "stations", sum->station_count);
  emit_number(json, "parked_m3", sum->parked_m3);
  range_json(json, "excess", &sum->excess);
  emit_number_if(json, "short_s", levels != NULL,
                 levels ? past_level_s(levels, FACILITY_SHORT) : 0);
  emit_number_if(json, "near_limit_s", levels != NULL,
                 levels ? past_level_s(levels, FACILITY_NEAR_LIMIT) : 0);
  emit_number_if(json, "not_known_s", levels != NULL,
                 levels ? past_level_s(levels, FACILITY_NOT_KNOWN) : 0);
  emit_close(json);
}

static void pools_json(struct emit *json, const struct past_place *place,
                       const struct past_night *night)
{
  const struct facility *f = place->facility;

  emit_array(json, "pools");
  for (int i = 0; i < f->main_count; i++)
    pool_json(json, f->mains[i].part.id, "main", &night->air.mains[i],
              night->has_levels ? &night->levels.pools[i] : NULL);
  for (int i = 0; i < f->supply_count; i++)
    pool_json(json, f->supplies[i].part.id, "supply", &night->air.supplies[i],
              night->has_levels ? &night->levels.pools[f->main_count + i] : NULL);
  emit_close(json);
  pool_json(json, NULL, "suite", &night->air.all, night->has_levels ? &night->levels.air : NULL);
}

static void gaps_json(struct emit *json, const struct past_night *night)
{
  emit_array(json, "not_known");
  for (int i = 0; i < night->gap_count; i++) {
    emit_object(json, NULL);
    emit_text(json, "about", night->gaps[i].about);
    emit_text(json, "what", feeds_what_name(night->gaps[i].what));
    when_emit(json, "from", night->gaps[i].from_ms);
    when_emit(json, "to", night->gaps[i].to_ms);
    emit_text(json, "why", night->gaps[i].why);
    emit_close(json);
  }
  emit_close(json);
}

static void texts_json(struct emit *json, const struct past_place *place,
                       const struct past_night *night)
{
  struct buf said;

  buf_init(&said, 10000);
  night_put_result(place, night, &said);
  emit_text(json, "result", said.text);
  buf_clear(&said);
  night_put_earlier(night, &said);
  emit_text(json, "earlier_text", said.text);
  buf_clear(&said);
  night_next(place, night, &said);
  emit_text(json, "next", said.text);
  buf_release(&said);
}

void past_night_json(const struct past_place *place, const struct past_night *night,
                     struct buf *out)
{
  char date[16];
  struct emit json;

  snprintf(date, sizeof date, "%04d-%02d-%02d", night->date.year % 10000, night->date.month % 100,
           night->date.day % 100);
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.night.1");
  past_put_span(&json, place, &night->span);
  past_emit_kept(place, night->span.from_ms, &json);
  emit_text(&json, "suite_sha256", place->facility->sha256);
  emit_text(&json, "night", date);
  emit_bool(&json, "ended", night->ended);
  when_emit(&json, "ends", night->end_ms);
  emit_bool(&json, "known", night->any_known);
  texts_json(&json, place, night);
  range_json(&json, "excess", &night->air.all.excess);
  range_json(&json, "moved", &night->air.all.moved);
  emit_number(&json, "parked_m3", night->air.all.parked_m3);
  parts_json(&json, night->air.all.parts);
  emit_array(&json, "stations");
  for (int i = 0; i < place->facility->station_count; i++)
    station_json(&json, place, night, night->order[i]);
  emit_close(&json);
  pools_json(&json, place, night);
  emit_text(&json, "levels_why", night->levels_why);
  emit_int(&json, "earlier_nights", night->earlier_count);
  emit_int(&json, "earlier_left_out", night->earlier_left);
  emit_number(&json, "earlier_median_m3", night->earlier_m3);
  gaps_json(&json, night);
  emit_int(&json, "settings_changed", night->settings_changed);
  emit_close(&json);
  emit_end(&json);
}
