/* What a night cost in air: its samples through src/energy, its air state, and the nights before it. */
#include "past/night_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---- what a passive station draws: the network says ---- */

static bool has_passive(const struct facility *f)
{
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].in_service && f->stations[i].flow == FACILITY_PASSIVE)
      return true;
  return false;
}

/* Parked, all others parked; and at its most. */
static void bound_passive(const struct past_place *place, struct air *air,
                          struct energy_given *given, int station)
{
  const struct facility *f = place->facility;
  struct err err = {0};
  struct arena arena;

  arena_init(&arena, (size_t)64 << 20);
  struct scene scene = scene_parked(f, &arena);
  const struct air_answer *answer = scene.stations ? air_flows(air, &scene, &arena, &err) : NULL;

  if (answer) {
    given->parked_m3_s = answer->stations[station].flow_m3_s;
    scene.stations[station].raised = true;
    scene.stations[station].opening_m = f->stations[station].most_m;
    answer = air_flows(air, &scene, &arena, &err);
  }
  if (answer) {
    given->most_m3_s = answer->stations[station].flow_m3_s;
    given->has_bounds = isfinite(given->parked_m3_s) && isfinite(given->most_m3_s) &&
                        given->most_m3_s >= given->parked_m3_s;
  }
  arena_release(&arena);
}

/* Once for all nights; where the air cannot be computed such a station is not counted. */
static void bound_all(const struct past_place *place, struct energy_given *bounds)
{
  const struct facility *f = place->facility;
  struct err err = {0};
  struct air *air = has_passive(f) ? air_new(f, &err) : NULL;

  for (int i = 0; air && i < f->station_count; i++)
    if (f->stations[i].in_service && f->stations[i].flow == FACILITY_PASSIVE)
      bound_passive(place, air, &bounds[i], i);
  air_free(air);
}

/* ---- one night's air ---- */

static enum err_code ask_air(const struct past_place *place, const struct past_span *span,
                             const struct energy_given *bounds, struct arena *arena,
                             struct night_traces *traces, struct energy_answer *out,
                             struct err *err)
{
  enum err_code code = night_traces_read(place, span, arena, traces, err);

  if (code != ERR_OK)
    return code;
  for (int i = 0; i < place->facility->station_count; i++) {
    traces->given[i].has_bounds = bounds[i].has_bounds;
    traces->given[i].parked_m3_s = bounds[i].parked_m3_s;
    traces->given[i].most_m3_s = bounds[i].most_m3_s;
  }
  struct energy_question question = {.facility = place->facility,
                                     .from_ms = span->from_ms,
                                     .to_ms = span->to_ms,
                                     .bridge_s = place->feeds->night.bridge_s,
                                     .given = traces->given,
                                     .fans = traces->fans};

  return energy_ask(&question, arena, out, err);
}

/* ---- the order: what cost most first ---- */

static double cost_of(const struct energy_station *s)
{
  return isnan(s->excess.best_m3) ? s->excess.most_m3 : s->excess.best_m3;
}

static bool put_order(struct past_night *night, int count, struct arena *arena)
{
  int *order = ARENA_ARRAY(arena, int, (size_t)count + 1);

  if (!order)
    return false;
  for (int i = 0; i < count; i++) {
    int at = i;

    while (at > 0 &&
           cost_of(&night->air.stations[order[at - 1]]) < cost_of(&night->air.stations[i])) {
      order[at] = order[at - 1];
      at--;
    }
    order[at] = i;
  }
  night->order = order;
  return true;
}

/* ---- the nights before ---- */

struct earlier {
  const struct past_place *place;
  const struct energy_given *bounds;
  struct past_night *night;
  int64_t known_ms, first_ms;
  int *same;      /* per station */
  bool *same_yet; /* every night so far */
  double excess_m3[PAST_NIGHTS_MOST];
};

static void follow_causes(struct earlier *e, const struct energy_answer *air)
{
  for (int i = 0; i < e->place->facility->station_count; i++) {
    enum energy_cause cause = night_leading(&e->night->air.stations[i]);

    e->same_yet[i] = e->same_yet[i] && cause != ENERGY_PARTS && air->stations[i].counted &&
                     air->stations[i].part_s[cause] >= e->place->feeds->night.counts_s;
    e->same[i] += e->same_yet[i];
  }
}

static enum err_code ask_one_before(struct earlier *e, const struct past_span *span,
                                    struct err *err)
{
  struct night_traces traces;
  struct energy_answer air;
  struct arena arena;

  arena_init(&arena, (size_t)256 << 20);
  enum err_code code = ask_air(e->place, span, e->bounds, &arena, &traces, &air, err);

  if (code == ERR_OK) {
    follow_causes(e, &air);
    if (traces.any_known && !isnan(air.all.excess.best_m3))
      e->excess_m3[e->night->earlier_count++] = air.all.excess.best_m3;
    else
      e->night->earlier_left++;
  }
  arena_release(&arena);
  return code;
}

static int by_size(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

static double median(double *list, int count)
{
  if (count == 0)
    return (double)NAN;
  qsort(list, (size_t)count, sizeof *list, by_size);
  return (list[(count - 1) / 2] + list[count / 2]) / 2;
}

/* Only whole nights that the record has begun before. */
static enum err_code ask_earlier(struct earlier *e, struct arena *arena, struct err *err)
{
  size_t count = (size_t)e->place->facility->station_count + 1;
  enum err_code code = ERR_OK;

  e->same = ARENA_ARRAY(arena, int, count);
  e->same_yet = ARENA_ARRAY(arena, bool, count);
  if (!e->same || !e->same_yet)
    return err_set(err, ERR_LIMIT, "too many stations to compare nights");
  for (int i = 0; i < e->place->facility->station_count; i++)
    e->same_yet[i] = e->night->air.stations[i].counted;
  for (int i = 1; code == ERR_OK && i <= PAST_NIGHTS_MOST; i++) {
    struct when_civil day = night_before(e->place, &e->night->date, i);
    struct past_span span = night_span(e->place, &day);

    if (span.from_ms < e->first_ms)
      break;
    span.known_ms = e->known_ms;
    code = ask_one_before(e, &span, err);
  }
  e->night->same_nights = e->same;
  e->night->earlier_m3 = median(e->excess_m3, e->night->earlier_count);
  return code;
}

/* ---- asking ---- */

/* Of a night that goes on: as far as anything was heard.  What comes next is not missing yet. */
static enum err_code heard_until(const struct past_place *place, int64_t *until_ms, struct err *err)
{
  int count = place->feeds->point_count;
  struct feed_observation *list = calloc((size_t)count + 1, sizeof *list);
  int64_t newest_ms = INT64_MIN;

  if (!list)
    err_no_memory();
  enum err_code code = record_latest(place->record, list, count, err);

  for (int i = 0; code == ERR_OK && i < count; i++)
    if (list[i].t_ms > newest_ms)
      newest_ms = list[i].t_ms;
  free(list);
  if (code == ERR_OK && newest_ms < *until_ms)
    *until_ms = newest_ms;
  return code;
}

enum err_code past_night_levels(const struct past_place *place, struct past_night *night,
                                struct arena *arena, struct err *err)
{
  struct err why = {0};
  enum err_code code = past_replay_ask(place, &night->span, arena, &night->levels, &why);

  night->has_levels = code == ERR_OK;
  if (code == ERR_INPUT) {
    night->levels_why = arena_strdup(arena, why.text);
    return ERR_OK;
  }
  if (code != ERR_OK)
    *err = why;
  return code;
}

enum err_code past_night_ask(const struct past_place *place, const struct when_civil *date,
                             int64_t now_ms, int64_t known_ms, struct arena *arena,
                             struct past_night *out, struct err *err)
{
  size_t count = (size_t)place->facility->station_count + 1;
  struct energy_given *bounds = ARENA_ARRAY(arena, struct energy_given, count);
  struct night_traces traces;
  struct earlier earlier = {.place = place, .night = out, .known_ms = known_ms};
  int64_t until_ms = now_ms < known_ms ? now_ms : known_ms;

  *out = (struct past_night){.date = *date, .span = night_span(place, date)};
  out->levels_why = "the state was not asked for";
  out->end_ms = out->span.to_ms;
  out->ended = until_ms >= out->end_ms;
  enum err_code code = out->ended ? ERR_OK : heard_until(place, &until_ms, err);

  if (code != ERR_OK)
    return code;
  out->span.to_ms = out->ended ? out->end_ms : until_ms;
  out->span.known_ms = known_ms;
  if (!bounds)
    return err_set(err, ERR_LIMIT, "too many stations for one night");
  if (out->span.to_ms <= out->span.from_ms)
    return err_set(err, ERR_INPUT, "nothing of that night was heard yet");
  bound_all(place, bounds);
  earlier.bounds = bounds;
  code = ask_air(place, &out->span, bounds, arena, &traces, &out->air, err);

  out->any_known = code == ERR_OK && traces.any_known;
  out->gaps = traces.gaps;
  out->gap_count = traces.gap_count;
  if (code == ERR_OK && !put_order(out, place->facility->station_count, arena))
    code = err_set(err, ERR_LIMIT, "too many stations for one night");
  if (code == ERR_OK)
    code = record_first(place->record, &earlier.first_ms, err);
  if (code == ERR_OK)
    code = ask_earlier(&earlier, arena, err);
  if (code == ERR_OK)
    code = past_count_settings(place, &out->span, arena, &out->settings_changed, err);
  return code;
}
