#include "watch/watch_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A watch, and the belief of a moment put together. */

struct watch *watch_new(const struct facility *facility, const struct feeds *feeds)
{
  struct watch *watch = calloc(1, sizeof *watch);

  if (!watch)
    err_no_memory();
  watch->facility = facility;
  watch->feeds = feeds;
  arena_init(&watch->arena, SIZE_MAX); /* bounded by the feeds file */
  arena_init(&watch->stop_arena, SIZE_MAX);
  watch->memories = ARENA_ARRAY(&watch->arena, struct memory, (size_t)feeds->point_count + 1);
  watch->withdrawn = ARENA_ARRAY(&watch->arena, bool, (size_t)facility->station_count + 1);
  watch->needs_flow = ARENA_ARRAY(&watch->arena, const char *, (size_t)facility->station_count + 1);
  BUG_IF(!watch->memories || !watch->withdrawn || !watch->needs_flow);
  groups_make(watch);
  return watch;
}

void watch_free(struct watch *watch)
{
  if (!watch)
    return;
  arena_release(&watch->arena);
  arena_release(&watch->stop_arena);
  free(watch);
}

void watch_take(struct watch *watch, const struct feed_observation *observation)
{
  BUG_IF(observation->point < 0 || observation->point >= watch->feeds->point_count);
  memory_take(&watch->memories[observation->point], observation);
}

void watch_withdraw(struct watch *watch, int station, bool withdrawn)
{
  watch->withdrawn[station] = withdrawn;
}

/* A scene may outlive what is said next: its text stays as long as the watch. */
void watch_need_flow(struct watch *watch, int station, const char *why)
{
  const char *before = watch->needs_flow[station];

  if (why && before && strcmp(why, before) == 0)
    return;
  watch->needs_flow[station] = why ? arena_strdup(&watch->arena, why) : NULL;
  BUG_IF(why && !watch->needs_flow[station]);
}

bool watch_is_withdrawn(const struct watch *watch, int station)
{
  return watch->withdrawn[station];
}

void watch_forget_from(struct watch *watch, int64_t t_ms)
{
  for (int i = 0; i < watch->feeds->point_count; i++)
    memory_forget_from(&watch->memories[i], t_ms);
}

const char *watch_age_name(enum watch_age age)
{
  static const char *const names[] = {"fresh", "old", "never", "bad", "frozen"};

  return names[age];
}

/* ---- what the parts put into a belief ---- */

const char *believer_say(struct believer *b, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  const char *said = arena_vprintf(b->arena, fmt, args);

  va_end(args);
  BUG_IF(!said);
  return said;
}

void believer_assume(struct believer *b, const char *text)
{
  b->assumed[b->out->assumed_count++] = text;
}

struct watch_gap *believer_gap(struct believer *b, const char *about, const char *text)
{
  struct watch_gap *gap = &b->gaps[b->out->gap_count++];

  *gap =
      (struct watch_gap){.about = about,
                         .text = believer_say(b, "%s%s%s", about, *about ? ": " : "", text),
                         .of_main = ARENA_ARRAY(b->arena, bool, (size_t)b->f->main_count + 1),
                         .of_supply = ARENA_ARRAY(b->arena, bool, (size_t)b->f->supply_count + 1)};
  BUG_IF(!gap->of_main || !gap->of_supply);
  return gap;
}

static void make_room(struct believer *b)
{
  const struct facility *f = b->f;
  struct watch_belief *out = b->out;
  /* A part has a gap for each thing a point may say of it, and one assumption. */
  size_t parts = (size_t)f->station_count * FEEDS_WHAT_COUNT + (size_t)f->door_count +
                 (size_t)f->supply_count + (size_t)b->feeds->point_count + 4;

  for (int i = 0; i < f->fan_count; i++)
    parts += (size_t)f->fans[i].count + 1;
  b->inputs = ARENA_ARRAY(b->arena, struct watch_input, (size_t)b->feeds->point_count + 1);
  b->stations = ARENA_ARRAY(b->arena, struct watch_station, (size_t)f->station_count + 1);
  b->main_not_known = ARENA_ARRAY(b->arena, bool, (size_t)f->main_count + 1);
  b->supply_not_known = ARENA_ARRAY(b->arena, bool, (size_t)f->supply_count + 1);
  b->gaps = ARENA_ARRAY(b->arena, struct watch_gap, parts);
  b->assumed = ARENA_ARRAY(b->arena, const char *, parts);
  b->pressures = ARENA_ARRAY(b->arena, struct watch_pressure, (size_t)b->watch->group_count + 1);
  BUG_IF(!b->inputs || !b->stations || !b->main_not_known || !b->supply_not_known || !b->gaps ||
         !b->assumed || !b->pressures);
  out->scene = scene_parked(f, b->arena);
  BUG_IF(!out->scene.stations);
  out->scene.name = "live";
  out->inputs = b->inputs;
  out->stations = b->stations;
  out->main_not_known = b->main_not_known;
  out->supply_not_known = b->supply_not_known;
  out->gaps = b->gaps;
  out->assumed = b->assumed;
  out->pressures = b->pressures;
}

/* ---- doors, plant, outdoors ---- */

static void believe_doors(struct believer *b)
{
  for (int i = 0; i < b->f->door_count; i++) {
    const struct facility_door *d = &b->f->doors[i];
    struct reading open = reading_of(b, b->watch->door_group[i]);

    if (open.known) {
      b->out->scene.door_open[i] = open.si != 0;
    } else if (open.has_points) {
      struct watch_gap *gap = believer_gap(b, d->part.id, open.why);

      need_room(b, gap, d->from);
      need_room(b, gap, d->to);
    } else {
      believer_assume(
          b, believer_say(b, "%s: no point says whether it is open; taken as closed", d->part.id));
    }
  }
}

static void run_count(struct believer *b, int fan, int running)
{
  for (int unit = 0; unit < b->f->fans[fan].count; unit++)
    scene_run_unit(b->f, &b->out->scene, fan, unit, unit < running);
}

/* How many run, by a point of the whole fan. */
static void believe_whole_fan(struct believer *b, int i, const struct reading *r)
{
  const struct facility_fan *fan = &b->f->fans[i];
  double running = r->si * (b->feeds->points[r->point].yes_no ? fan->count : 1);

  if (running < 0 || running > fan->count || running != floor(running))
    need_fan(b,
             believer_gap(b, fan->part.id,
                          believer_say(b, "%s says that %g run, of %d: they contradict each other",
                                       b->feeds->points[r->point].part.id, running, fan->count)),
             i);
  else
    run_count(b, i, (int)running);
}

/* A unit without a point of its own is as the file says. */
static bool believe_units(struct believer *b, int i)
{
  bool any = false;

  for (int unit = 0; unit < b->f->fans[i].count; unit++) {
    struct reading r = reading_of(b, b->watch->fan_group[i][unit + 1]);

    any = any || r.has_points;
    if (r.known)
      scene_run_unit(b->f, &b->out->scene, i, unit, r.si != 0);
    else if (r.has_points)
      need_fan(b, believer_gap(b, believer_say(b, "%s/%d", b->f->fans[i].part.id, unit + 1), r.why),
               i);
  }
  return any;
}

static void believe_fans(struct believer *b)
{
  for (int i = 0; i < b->f->fan_count; i++) {
    struct reading whole = reading_of(b, b->watch->fan_group[i][0]);
    const char *id = b->f->fans[i].part.id;

    if (whole.known)
      believe_whole_fan(b, i, &whole);
    else if (whole.has_points)
      need_fan(b, believer_gap(b, id, whole.why), i);
    if (!believe_units(b, i) && !whole.has_points)
      believer_assume(b,
                      believer_say(b, "%s: no point says how many run; taken as the file says, %d",
                                   id, b->f->fans[i].running));
  }
}

static void believe_supplies(struct believer *b)
{
  for (int i = 0; i < b->f->supply_count; i++) {
    struct reading runs = reading_of(b, b->watch->supply_group[i]);
    const char *id = b->f->supplies[i].part.id;

    if (runs.known)
      b->out->scene.supply_off[i] = runs.si == 0;
    else if (runs.has_points)
      need_supply(b, believer_gap(b, id, runs.why), i);
    else
      believer_assume(b,
                      believer_say(b, "%s: no point says whether it runs; taken as running", id));
  }
}

static void believe_outdoors(struct believer *b)
{
  struct reading outdoors = reading_of(b, b->watch->outdoors_group);

  if (outdoors.known) {
    b->out->scene.has_outdoor_temperature = true;
    b->out->scene.outdoor_temperature_K = outdoors.si;
  } else if (outdoors.has_points) {
    believer_gap(b, "outdoors", outdoors.why);
    believer_assume(b, "outdoors: the suite's own temperature is taken");
  }
}

static void believe_pressures(struct believer *b)
{
  for (int i = 0; i < b->watch->group_count; i++) {
    const struct group *g = &b->watch->groups[i];

    if (g->what != FEEDS_PRESSURE || g->of != FEEDS_OF_ROOM)
      continue;

    struct reading r = reading_of(b, i);

    if (r.known)
      b->pressures[b->out->pressure_count++] =
          (struct watch_pressure){.room = g->index,
                                  .over = g->over,
                                  .point = r.point,
                                  .pressure_Pa = r.si,
                                  .resolution_Pa = r.resolution_si};
    else
      believer_gap(b, b->f->rooms[g->index].part.id, r.why);
  }
}

static void believe_building_alarm(struct believer *b)
{
  struct reading alarm = reading_of(b, b->watch->alarm_group);

  b->out->building_alarm = alarm.known && alarm.si != 0;
  if (alarm.has_points && !alarm.known)
    need_all(b, believer_gap(b, "",
                             believer_say(b, "the building's alarm is not heard: %s", alarm.why)));
}

struct watch_belief watch_believe(const struct watch *watch, int64_t now_ms, struct arena *arena)
{
  struct watch_belief belief = {.now_ms = now_ms};
  struct believer b = {.watch = watch,
                       .f = watch->facility,
                       .feeds = watch->feeds,
                       .now_ms = now_ms,
                       .arena = arena,
                       .out = &belief};

  make_room(&b);
  for (int i = 0; i < watch->feeds->point_count; i++)
    b.inputs[i] = input_of(watch, i, now_ms);
  believe_building_alarm(&b);
  believe_stop(&b);
  believe_stations(&b);
  believe_doors(&b);
  believe_fans(&b);
  believe_supplies(&b);
  believe_outdoors(&b);
  believe_pressures(&b);
  return belief;
}

/* ---- when it changes by itself ---- */

static void sooner(int64_t t_ms, int64_t now_ms, int64_t *next_ms)
{
  if (t_ms > now_ms && t_ms < *next_ms)
    *next_ms = t_ms;
}

int64_t watch_next_ms(const struct watch *watch, int64_t now_ms)
{
  int64_t next_ms = INT64_MAX;
  int64_t ahead_ms = llround(watch->feeds->future_s * 1000);

  for (int i = 0; i < watch->feeds->point_count; i++) {
    const struct memory *m = &watch->memories[i];
    const struct feeds_point *p = &watch->feeds->points[i];
    double frozen_s = watch->feeds->sources[p->source].frozen_after_s;

    for (int k = 0; k < m->kept_count; k++) {
      int64_t old_ms = m->kept[k].t_ms + llround(p->old_after_s * 1000) + 1;

      sooner(m->kept[k].t_ms - ahead_ms, now_ms, &next_ms);  /* its time comes */
      if (k == 0 || old_ms < m->kept[k - 1].t_ms - ahead_ms) /* a newer one is not there by then */
        sooner(old_ms, now_ms, &next_ms);
    }
    if (p->what == FEEDS_OPENING)
      sooner(memory_rise_ends_ms(watch, i, now_ms), now_ms, &next_ms);
    if (m->has_value && frozen_s > 0)
      sooner(memory_unmoved_since_ms(m) + llround(frozen_s * 1000) + 1, now_ms, &next_ms);
  }
  return next_ms;
}
