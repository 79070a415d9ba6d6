/*
 * A trend becomes readings: stretches in which nothing was moved, the mean of each point in them.
 *
 * The belief of each moment (src/watch) says which scene it was.  A stretch ends where something moves, where
 * something the air hangs on is not known, or where the building's alarm stands; what comes too soon after its
 * beginning does not count.  A scene that comes again adds to the readings it has.
 */
#include "match/match_impl.h"

#include "watch/watch.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double outdoors_K = 2.0; /* a change by less changes no reading that is told apart */
enum { ROWS_LEAST = 3 };

struct sum {
  double si;
  int count;
};

struct stretch {
  struct match_scene as;
  int64_t first_ms, last_ms;
  struct sum *sums; /* per point */
  bool kept;
};

struct trending {
  const struct match_trend_job *job;
  const struct facility *f;
  const struct feeds *feeds;
  struct watch *watch;
  struct arena *arena;
  struct match_readings *out;
  struct stretch now, *kept; /* `now` is open where now.first_ms is not -1 */
  int kept_count, moved, unknown, alarms;
  struct match_quantity *quantity; /* per point; `measures` says whether it has one */
  bool *measures;
};

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

static void find_points(struct trending *t)
{
  for (int i = 0; i < t->feeds->point_count; i++) {
    const struct feeds_point *p = &t->feeds->points[i];

    t->measures[i] = quantity_of(p, &t->quantity[i]);
    if (p->of == FEEDS_OF_JUNCTION)
      t->quantity[i].over = facility_node_outdoors(t->f);
  }
}

/* ---- scenes ---- */

static bool same_station(const struct trending *t, const struct scene_station *a,
                         const struct scene_station *b)
{
  return a->raised == b->raised && fabs(a->cover_ratio - b->cover_ratio) < 0.01 &&
         (!a->raised || fabs(a->opening_m - b->opening_m) <= t->feeds->lower.moves_m);
}

static bool same_scene(const struct trending *t, const struct scene *a, const struct scene *b)
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

static void add_sums(struct trending *t, struct stretch *to, const struct stretch *from)
{
  for (int i = 0; i < t->feeds->point_count; i++) {
    to->sums[i].si += from->sums[i].si;
    to->sums[i].count += from->sums[i].count;
  }
}

static void keep(struct trending *t)
{
  int at = 0;

  while (at < t->kept_count && !same_scene(t, &t->kept[at].as.scene, &t->now.as.scene))
    at++;
  if (at == MATCH_SCENES_MAX)
    return;
  if (at == t->kept_count) {
    struct stretch *to = &t->kept[t->kept_count++];

    *to = t->now;
    to->as.scene = scene_copy(t->f, &t->now.as.scene, t->arena);
    to->sums = ARENA_ARRAY(t->arena, struct sum, (size_t)t->feeds->point_count + 1);
    BUG_IF(!to->sums);
  }
  add_sums(t, &t->kept[at], &t->now);
}

static void end_stretch(struct trending *t)
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

static void begin_stretch(struct trending *t, const struct watch_belief *belief)
{
  scene_assign(t->f, &t->now.as.scene, &belief->scene);
  t->now.as.scene.name = "trend"; /* its texts die with the belief */
  t->now.as.scene.note = NULL;
  for (int i = 0; i < t->f->station_count; i++)
    t->now.as.scene.stations[i].needs_flow = NULL;
  t->now.first_ms = belief->now_ms;
  memset(t->now.sums, 0, (size_t)t->feeds->point_count * sizeof *t->now.sums);
}

static void take_moment(struct trending *t, const struct watch_belief *belief)
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
  for (int i = 0; settled && i < t->feeds->point_count; i++) {
    const struct watch_input *in = &belief->inputs[i];

    if (!t->measures[i] || in->age != WATCH_FRESH || in->newest.t_ms != belief->now_ms)
      continue;
    t->now.sums[i].si += in->newest.si;
    t->now.sums[i].count++;
  }
}

static void take_all(struct trending *t)
{
  const struct match_trend_job *job = t->job;

  for (long i = 0; i < job->count;) {
    int64_t t_ms = job->list[i].t_ms;
    struct watch_belief belief;
    struct arena arena;

    for (; i < job->count && job->list[i].t_ms == t_ms; i++)
      watch_take(t->watch, &job->list[i]);
    arena_init(&arena, SIZE_MAX); /* bounded by the two files */
    belief = watch_believe(t->watch, t_ms, &arena);
    take_moment(t, &belief);
    arena_release(&arena);
  }
  end_stretch(t);
}

/* ---- readings ---- */

static double row_si(const struct trending *t, const struct feeds_point *p, double value_si)
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

static void add_reading(struct trending *t, int scene, int point, const struct sum *sum)
{
  const struct feeds_point *p = &t->feeds->points[point];
  struct match_reading *r = &t->out->list[t->out->count];
  double mean_si = sum->si / sum->count;
  const char *instrument;

  *r = (struct match_reading){.id = arena_printf(t->arena, "%d-%s", scene + 1, p->part.id),
                              .name = match_name(t->f, &t->quantity[point], t->arena),
                              .quantity = t->quantity[point],
                              .gauge = match_gauge(t->f, &t->quantity[point]),
                              .scene = scene,
                              .measured_si = mean_si,
                              .setting_si = row_si(t, p, mean_si) / sqrt(sum->count),
                              .place = {.file = t->job->file}};
  instrument = arena_strdup(t->arena, p->part.id); /* the feeds file may go */
  r->instrument = match_instrument(t->out, t->f, instrument ? instrument : "", r->gauge);
  r->own_si = match_own_si(t->f, r->gauge, mean_si, r->setting_si);
  t->out->count++;
}

static void add_stretch(struct trending *t, const struct stretch *s)
{
  int scene = t->out->scene_count, before = t->out->count;

  for (int i = 0; i < t->feeds->point_count; i++)
    if (t->measures[i] && s->sums[i].count >= ROWS_LEAST && t->out->count < MATCH_READINGS_MAX)
      add_reading(t, scene, i, &s->sums[i]);
  if (t->out->count > before)
    t->out->scenes[t->out->scene_count++] = s->as;
}

static void note(struct trending *t, const char *text)
{
  if (text)
    t->out->notes[t->out->note_count++] = text;
}

static const char *words(struct trending *t, const struct stretch *s)
{
  struct buf out;
  const char *copy;

  buf_init(&out, 1000);
  buf_puts(&out, "as it stood from ");
  when_print(&out, t->job->zone, s->first_ms);
  for (int i = 0, count = 0; i < t->f->station_count; i++)
    if (s->as.scene.stations[i].raised)
      buf_printf(&out, "%s %s", count++ ? "," : "; raised:", t->f->stations[i].part.id);
  copy = arena_strdup(t->arena, out.text);
  buf_release(&out);
  return copy ? copy : "";
}

static void tell(struct trending *t)
{
  note(t,
       arena_printf(t->arena,
                    "scenes that stood long enough: %d; stretches that did not, because something "
                    "moved: %d",
                    t->kept_count, t->moved));
  if (t->unknown > 0)
    note(t, arena_printf(t->arena,
                         "moments left out, because something the air hangs on was not known: %d",
                         t->unknown));
  if (t->alarms > 0)
    note(t, arena_printf(t->arena, "moments left out, because the building's alarm stood: %d",
                         t->alarms));
}

static bool make_room(struct trending *t)
{
  size_t points = (size_t)t->feeds->point_count + 1;

  t->out = ARENA_NEW(t->arena, struct match_readings);
  t->kept = ARENA_ARRAY(t->arena, struct stretch, MATCH_SCENES_MAX + 1);
  t->now.sums = ARENA_ARRAY(t->arena, struct sum, points);
  t->quantity = ARENA_ARRAY(t->arena, struct match_quantity, points);
  t->measures = ARENA_ARRAY(t->arena, bool, points);
  if (!t->out || !t->kept || !t->now.sums || !t->quantity || !t->measures)
    return false;
  t->out->list = ARENA_ARRAY(t->arena, struct match_reading, MATCH_READINGS_MAX + 1);
  t->out->instruments = ARENA_ARRAY(t->arena, struct match_instrument, MATCH_READINGS_MAX + 1);
  t->out->scenes = ARENA_ARRAY(t->arena, struct match_scene, MATCH_SCENES_MAX + 1);
  t->out->notes = ARENA_ARRAY(t->arena, const char *, 8);
  return t->out->list && t->out->instruments && t->out->scenes && t->out->notes;
}

struct match_readings *match_trend(const struct match_trend_job *job, struct arena *arena)
{
  struct trending t = {
      .job = job, .f = job->facility, .feeds = job->feeds, .arena = arena, .now = {.first_ms = -1}};

  if (!make_room(&t))
    return NULL;
  t.out->source = "trend";
  t.now.as.scene = scene_parked(t.f, arena);
  find_points(&t);
  t.watch = watch_new(t.f, t.feeds);
  take_all(&t);
  watch_free(t.watch);
  for (int i = 0; i < t.kept_count; i++) {
    t.kept[i].as.words = words(&t, &t.kept[i]);
    add_stretch(&t, &t.kept[i]);
  }
  tell(&t);
  return t.out;
}
