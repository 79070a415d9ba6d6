/*
 * A trend becomes readings: stretches in which nothing was moved, the mean of each point in them.
 *
 * The belief of each moment (src/watch) says which scene it was.  A stretch ends where something moves, where
 * something the air hangs on is not known, or where the building's alarm stands; what comes too soon after its
 * beginning does not count.  A scene that comes again adds to the readings it has.  Where there are more
 * scenes than a match takes, those that were read most often stay.
 */
#include "match/trend_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double outdoors_K = 2.0; /* a change by less changes no reading that is told apart */
enum { ROWS_LEAST = 3, KEPT_MOST = 500 };

/* ---- which points measure something the model computes ---- */

static bool quantity_of(const struct feeds_point *p, struct match_quantity *out)
{
  bool flow = p->what == FEEDS_FLOW;

  switch (p->of) {
  case FEEDS_OF_STATION:
    *out = (struct match_quantity){flow ? MATCH_STATION : MATCH_FACE, p->index, 0};
    return flow || p->what == FEEDS_FACE_VELOCITY;
  case FEEDS_OF_SUPPLY:
    *out = (struct match_quantity){MATCH_SUPPLY, p->index, 0};
    return flow;
  case FEEDS_OF_MAIN:
    *out = (struct match_quantity){MATCH_MAIN, p->index, 0};
    return flow;
  case FEEDS_OF_EXHAUST:
    *out = (struct match_quantity){MATCH_EXHAUST, p->index, 0};
    return flow;
  case FEEDS_OF_ROOM:
  case FEEDS_OF_JUNCTION:
    *out = (struct match_quantity){MATCH_PRESSURE, p->index, p->over};
    return p->what == FEEDS_PRESSURE;
  case FEEDS_OF_FAN:
    *out = (struct match_quantity){MATCH_SPEED, p->index, 0};
    return p->what == FEEDS_SPEED;
  case FEEDS_OF_SUITE:
  case FEEDS_OF_OUTDOORS:
  case FEEDS_OF_DOOR:
    break;
  }
  return false;
}

static void find_points(struct match_trend *t)
{
  for (int i = 0; i < t->feeds->point_count; i++) {
    const struct feeds_point *p = &t->feeds->points[i];

    t->said[i].measures = quantity_of(p, &t->said[i].quantity);
    t->said[i].held_ms = INT64_MIN;
    if (p->of == FEEDS_OF_JUNCTION)
      t->said[i].quantity.over = facility_node_outdoors(t->f);
  }
}

/* ---- scenes ---- */

static bool same_station(const struct match_trend *t, const struct scene_station *a,
                         const struct scene_station *b)
{
  return a->raised == b->raised && fabs(a->cover_ratio - b->cover_ratio) < 0.01 &&
         (!a->raised || fabs(a->opening_m - b->opening_m) <= t->feeds->lower.moves_m);
}

static bool same_scene(const struct match_trend *t, const struct scene *a, const struct scene *b)
{
  const struct facility *f = t->f;

  for (int i = 0; i < f->station_count; i++)
    if (!same_station(t, &a->stations[i], &b->stations[i]))
      return false;
  if (a->has_outdoor_temperature != b->has_outdoor_temperature ||
      (a->has_outdoor_temperature &&
       fabs(a->outdoor_temperature_K - b->outdoor_temperature_K) > outdoors_K))
    return false;
  return memcmp(a->door_open, b->door_open, (size_t)f->door_count * sizeof *a->door_open) == 0 &&
         memcmp(a->fan_units, b->fan_units, (size_t)f->fan_count * sizeof *a->fan_units) == 0 &&
         memcmp(a->supply_off, b->supply_off, (size_t)f->supply_count * sizeof *a->supply_off) ==
             0 &&
         memcmp(a->duct_shut, b->duct_shut, (size_t)f->duct_count * sizeof *a->duct_shut) == 0;
}

/* ---- stretches ---- */

static void add_sums(struct match_trend *t, struct stretch *to)
{
  for (int i = 0; i < t->feeds->point_count; i++) {
    to->sums[i].si += t->now.sums[i].si;
    to->sums[i].count += t->now.sums[i].count;
    to->count += t->now.sums[i].count;
  }
}

static void keep(struct match_trend *t)
{
  int at = 0;

  while (at < t->kept_count && !same_scene(t, &t->kept[at].as.scene, &t->now.as.scene))
    at++;
  if (at == KEPT_MOST) {
    t->beyond++;
    return;
  }
  if (at == t->kept_count) {
    struct sum *sums = ARENA_ARRAY(t->arena, struct sum, (size_t)t->feeds->point_count + 1);

    if (!sums) {
      t->beyond++;
      return;
    }
    t->kept[t->kept_count++] =
        (struct stretch){.as = {.scene = scene_copy(t->f, &t->now.as.scene, t->arena)},
                         .first_ms = t->now.first_ms,
                         .sums = sums};
  }
  add_sums(t, &t->kept[at]);
}

static void end_stretch(struct match_trend *t)
{
  double lasted_s = (double)(t->now.last_ms - t->now.first_ms) / 1000.0;

  if (t->now.first_ms < 0)
    return;
  if (lasted_s >= t->f->match.steady_s)
    keep(t);
  else
    t->moved++;
  t->now.first_ms = -1;
}

static void begin_stretch(struct match_trend *t, const struct watch_belief *belief)
{
  scene_assign(t->f, &t->now.as.scene, &belief->scene);
  t->now.as.scene.name = "trend"; /* its texts die with the belief */
  t->now.as.scene.note = NULL;
  for (int i = 0; i < t->f->station_count; i++)
    t->now.as.scene.stations[i].needs_flow = NULL;
  t->now.first_ms = belief->now_ms;
  memset(t->now.sums, 0, (size_t)t->feeds->point_count * sizeof *t->now.sums);
}

/* Only what is fresh counts: no value that was missing, faulty, set by hand, frozen or old. */
static void take_input(struct match_trend *t, int point, const struct watch_input *in)
{
  t->said[point].frozen += in->age == WATCH_FROZEN;
  if (in->age != WATCH_FRESH)
    return;
  t->now.sums[point].si += in->newest.si;
  t->now.sums[point].count++;
}

static void take_moment(struct match_trend *t, const struct watch_belief *belief)
{
  bool settled;

  if (belief->any_not_known || belief->building_alarm) {
    t->unknown += belief->any_not_known;
    t->alarms += belief->building_alarm;
    end_stretch(t);
    return;
  }
  if (t->now.first_ms >= 0 && !same_scene(t, &t->now.as.scene, &belief->scene))
    end_stretch(t);
  if (t->now.first_ms < 0)
    begin_stretch(t, belief);
  t->now.last_ms = belief->now_ms;
  settled = (double)(belief->now_ms - t->now.first_ms) / 1000.0 >= t->f->match.settles_s;
  for (int i = 0; settled && i < t->feeds->point_count; i++)
    if (t->said[i].measures && belief->inputs[i].newest.t_ms == belief->now_ms)
      take_input(t, i, &belief->inputs[i]);
}

static void believe(struct match_trend *t)
{
  struct watch_belief belief;
  struct arena arena;

  if (t->moment_ms == INT64_MIN)
    return;
  arena_init(&arena, SIZE_MAX); /* bounded by the two files */
  belief = watch_believe(t->watch, t->moment_ms, &arena);
  take_moment(t, &belief);
  arena_release(&arena);
}

/* ---- what comes ---- */

static bool is_number(const struct feed_observation *o)
{
  return (o->quality == FEED_GOOD || o->quality == FEED_OLD) && isfinite(o->si);
}

void match_trend_look(struct match_trend *t, const struct feed_observation *o)
{
  struct said *said = &t->said[o->point];
  double after_s = t->f->match.stuck_s;

  said->heard++;
  said->bad += !is_number(o);
  if (!said->measures || !is_number(o))
    return;
  if (said->held_ms == INT64_MIN || o->si < said->held_si || o->si > said->held_si) {
    said->held_ms = o->t_ms;
    said->held_si = o->si;
  } else if (after_s > 0.0 && (double)(o->t_ms - said->held_ms) / 1000.0 >= after_s) {
    said->stuck = true;
  }
}

void match_trend_take(struct match_trend *t, const struct feed_observation *o)
{
  if (o->t_ms != t->moment_ms)
    believe(t);
  t->moment_ms = o->t_ms;
  watch_take(t->watch, o);
}

/* ---- readings ---- */

static double row_si(const struct match_trend *t, const struct feeds_point *p, double value_si)
{
  const struct feeds_faults *s = &t->feeds->faults;
  double step_si = p->resolution_si / sqrt(12.0), size_si = fabs(value_si);

  switch ((int)p->what) {
  case FEEDS_FLOW:
    return hypot(s->flow_ratio * size_si, step_si);
  case FEEDS_FACE_VELOCITY:
    return hypot(s->velocity_ratio * size_si, step_si);
  case FEEDS_SPEED:
    return hypot(s->speed_ratio * size_si, step_si);
  default:
    return hypot(hypot(s->pressure_ratio * size_si, s->pressure_Pa), step_si);
  }
}

static void add_reading(struct match_trend *t, int scene, int point, const struct sum *sum)
{
  const struct feeds_point *p = &t->feeds->points[point];
  struct match_reading *r = &t->out->list[t->out->count];
  double mean_si = sum->si / sum->count;
  const char *instrument;

  *r = (struct match_reading){.id = arena_printf(t->arena, "%d-%s", scene + 1, p->part.id),
                              .name = match_name(t->f, &t->said[point].quantity, t->arena),
                              .quantity = t->said[point].quantity,
                              .gauge = match_gauge(t->f, &t->said[point].quantity),
                              .scene = scene,
                              .measured_si = mean_si,
                              .setting_si = row_si(t, p, mean_si) / sqrt(sum->count),
                              .place = {.file = t->job.file}};
  instrument = arena_strdup(t->arena, p->part.id); /* the feeds file may go */
  r->instrument = match_instrument(t->out, t->f, instrument ? instrument : "", r->gauge);
  r->own_si = match_own_si(t->f, r->gauge, mean_si, r->setting_si);
  t->out->count++;
}

static bool counts(const struct match_trend *t, const struct stretch *s, int point)
{
  return t->said[point].measures && !t->said[point].stuck && s->sums[point].count >= ROWS_LEAST;
}

static void add_stretch(struct match_trend *t, const struct stretch *s)
{
  int scene = t->out->scene_count, before = t->out->count;

  for (int i = 0; i < t->feeds->point_count; i++)
    if (counts(t, s, i) && t->out->count < MATCH_READINGS_MAX)
      add_reading(t, scene, i, &s->sums[i]);
  if (t->out->count > before)
    t->out->scenes[t->out->scene_count++] = s->as;
}

static int readings_of(const struct match_trend *t, const struct stretch *s)
{
  int count = 0;

  for (int i = 0; i < t->feeds->point_count; i++)
    count += counts(t, s, i);
  return count;
}

/* As many as a match takes: what was read most often first, of equals the earlier one. */
static int choose(struct match_trend *t)
{
  int scenes = 0, readings = 0, left_out = 0;

  for (int i = 0; i < t->kept_count; i++)
    t->kept[i].left_out = true;
  for (;;) {
    struct stretch *best = NULL;
    int more;

    for (int i = 0; i < t->kept_count; i++)
      if (t->kept[i].left_out && t->kept[i].count > 0 && (!best || t->kept[i].count > best->count))
        best = &t->kept[i];
    if (!best)
      break;
    more = readings_of(t, best);
    best->left_out = scenes == MATCH_SCENES_MAX || readings + more > MATCH_READINGS_MAX;
    best->count = best->left_out ? 0 : best->count;
    left_out += best->left_out;
    scenes += !best->left_out;
    readings += best->left_out ? 0 : more;
  }
  return left_out + t->beyond;
}

static const char *words(struct match_trend *t, const struct stretch *s)
{
  struct buf out;
  const char *copy;

  buf_init(&out, 1000);
  buf_puts(&out, "as it stood from ");
  when_print(&out, t->job.zone, s->first_ms);
  for (int i = 0, count = 0; i < t->f->station_count; i++)
    if (s->as.scene.stations[i].raised)
      buf_printf(&out, "%s %s", count++ ? "," : "; raised:", t->f->stations[i].part.id);
  copy = arena_strdup(t->arena, out.text);
  buf_release(&out);
  return copy ? copy : "";
}

/* ---- life ---- */

static bool make_room(struct match_trend *t)
{
  size_t points = (size_t)t->feeds->point_count + 1;

  t->out = ARENA_NEW(t->arena, struct match_readings);
  t->kept = ARENA_ARRAY(t->arena, struct stretch, KEPT_MOST + 1);
  t->now.sums = ARENA_ARRAY(t->arena, struct sum, points);
  t->said = ARENA_ARRAY(t->arena, struct said, points);
  if (!t->out || !t->kept || !t->now.sums || !t->said)
    return false;
  t->out->list = ARENA_ARRAY(t->arena, struct match_reading, MATCH_READINGS_MAX + 1);
  t->out->instruments = ARENA_ARRAY(t->arena, struct match_instrument, MATCH_READINGS_MAX + 1);
  t->out->scenes = ARENA_ARRAY(t->arena, struct match_scene, MATCH_SCENES_MAX + 1);
  t->out->notes = ARENA_ARRAY(t->arena, const char *, MATCH_TREND_NOTES);
  return t->out->list && t->out->instruments && t->out->scenes && t->out->notes;
}

struct match_trend *match_trend_new(const struct match_trend_job *job, struct arena *arena)
{
  struct match_trend *t = ARENA_NEW(arena, struct match_trend);

  if (!t)
    return NULL;
  *t = (struct match_trend){.job = *job,
                            .f = job->facility,
                            .feeds = job->feeds,
                            .arena = arena,
                            .now = {.first_ms = -1},
                            .moment_ms = INT64_MIN};
  if (!make_room(t))
    return NULL;
  t->out->source = "trend";
  t->now.as.scene = scene_parked(t->f, arena);
  find_points(t);
  t->watch = watch_new(t->f, t->feeds);
  return t;
}

struct match_readings *match_trend_end(struct match_trend *t)
{
  int left_out;

  if (!t)
    return NULL;
  believe(t);
  end_stretch(t);
  watch_free(t->watch);
  t->watch = NULL;
  left_out = choose(t);
  for (int i = 0; i < t->kept_count; i++) {
    if (t->kept[i].left_out)
      continue;
    t->kept[i].as.words = words(t, &t->kept[i]);
    add_stretch(t, &t->kept[i]);
  }
  match_trend_tell(t, left_out);
  return t->out;
}

struct match_readings *match_trend(const struct match_trend_job *job, struct arena *arena)
{
  struct match_trend *t = match_trend_new(job, arena);

  for (long i = 0; t && i < job->count; i++)
    match_trend_look(t, &job->list[i]);
  for (long i = 0; t && i < job->count; i++)
    match_trend_take(t, &job->list[i]);
  return match_trend_end(t);
}
