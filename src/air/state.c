/*
 * Levels: short, near limit, ample, not known; per pool and worst of all.
 * Definitions: docs/air-state.md.
 */
#include "air/air_impl.h"

#include <math.h>
#include <stdarg.h>

const char *air_say(struct arena *arena, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  const char *text = arena_vprintf(arena, fmt, args);

  va_end(args);
  return text ? text : "";
}

/* Where a search ends on the very edge of a miss, two equal figures would tell nothing. */
static const double told_apart_Pa = 0.5, told_apart_ratio = 0.98, told_apart_m3_s = 10.0 / 3600.0;

static const char *feed_words(const struct facility *f, const struct air_miss *m,
                              struct arena *arena)
{
  const struct facility_feed *feed = &f->supplies[m->index].feeds[m->sub];

  if (feed->form == FACILITY_FEED_HOLDS && fabs(m->actual - m->wanted) < told_apart_Pa)
    return air_say(arena, "%s can no longer hold %s at %.1f Pa over %s",
                   f->supplies[m->index].part.id, facility_node_id(f, feed->room), m->wanted,
                   facility_node_id(f, feed->over));
  if (feed->form == FACILITY_FEED_HOLDS)
    return air_say(arena, "%s cannot hold %s at %.1f Pa over %s: it is %.1f Pa",
                   f->supplies[m->index].part.id, facility_node_id(f, feed->room), m->wanted,
                   facility_node_id(f, feed->over), m->actual);
  if (m->actual > told_apart_ratio * m->wanted)
    return air_say(arena, "%s can no longer give %s its %.0f m3/h", f->supplies[m->index].part.id,
                   facility_node_id(f, feed->room), m->wanted * 3600.0);
  if (m->actual * 3600.0 < 0.5)
    return air_say(arena, "%s gives %s none of the air it should", f->supplies[m->index].part.id,
                   facility_node_id(f, feed->room));
  return air_say(arena, "%s cannot give %s the air it should: it gives %.0f m3/h",
                 f->supplies[m->index].part.id, facility_node_id(f, feed->room),
                 m->actual * 3600.0);
}

const char *air_miss_words(const struct air *air, const struct air_miss *m, struct arena *arena)
{
  const struct facility *f = air->facility;
  const struct facility_keep *k;

  switch (m->kind) {
  case AIR_MISS_KEEP:
    k = &f->rooms[m->index].keeps[m->sub];
    if (fabs(m->actual - m->wanted) < told_apart_Pa)
      return air_say(arena, "%s over %s is just %s %.1f Pa", f->rooms[m->index].part.id,
                     facility_node_id(f, k->over),
                     m->actual < m->wanted ? "below its min" : "above its max", m->wanted);
    return air_say(arena, "%s over %s is %.1f Pa, %s %.1f Pa", f->rooms[m->index].part.id,
                   facility_node_id(f, k->over), m->actual, m->actual < m->wanted ? "min" : "max",
                   m->wanted);
  case AIR_MISS_FEED:
    return feed_words(f, m, arena);
  case AIR_MISS_UNIT:
    if (m->actual - m->wanted < told_apart_m3_s)
      return air_say(arena, "%s is asked for just more than its most, %.0f m3/h",
                     f->supplies[m->index].part.id, m->wanted * 3600.0);
    return air_say(arena, "%s is asked for %.0f m3/h, more than its most, %.0f m3/h",
                   f->supplies[m->index].part.id, m->actual * 3600.0, m->wanted * 3600.0);
  case AIR_MISS_FAN:
    if (fabs(m->actual - m->wanted) < told_apart_Pa)
      return air_say(arena, "%s can no longer hold %.0f Pa in %s", f->fans[m->index].part.id,
                     m->wanted, facility_node_id(f, f->fans[m->index].hold_node));
    return air_say(arena, "%s cannot hold %.0f Pa in %s: it is %.0f Pa", f->fans[m->index].part.id,
                   m->wanted, facility_node_id(f, f->fans[m->index].hold_node), m->actual);
  case AIR_MISS_STATION:
    if (!m->sub)
      return air_say(arena, "%s: implied face velocity %.2f m/s, %s %.2f m/s",
                     f->stations[m->index].part.id, m->actual,
                     m->actual < m->wanted ? "min" : "max", m->wanted);
    return air_say(arena, "%s: flow %.0f m3/h, %s %.0f m3/h", f->stations[m->index].part.id,
                   m->actual * 3600.0, m->actual < m->wanted ? "wants" : "max", m->wanted * 3600.0);
  case AIR_MISS_DECLARED:
    return air_say(arena, "demand %.0f m3/h of the %.0f m3/h declared for %s", m->actual * 3600.0,
                   m->wanted * 3600.0, air_pool_id(f, m->index));
  case AIR_MISS_UNKNOWN:
    if (m->sub < 0)
      return air_say(arena,
                     "%s: more air is given than taken, or less, and nothing lets it through",
                     f->rooms[m->index].part.id);
    return air_say(arena, "%s over %s is not known: nothing in this scene determines it",
                   f->rooms[m->index].part.id,
                   facility_node_id(f, f->rooms[m->index].keeps[m->sub].over));
  }
  return "";
}

/* ---- one solve within the purse ---- */

/* A sash that a trial raises is judged by what it could do alone where it then stands. */
const enum air_fault *air_faults_in(struct air_search *search, const struct scene *scene)
{
  for (int i = 0; i < search->air->facility->station_count; i++) {
    const struct scene_station *now = &scene->stations[i], *asked = &search->scene->stations[i];
    bool moved = now->raised != asked->raised || now->opening_m != asked->opening_m;

    search->judged[i] = moved && now->raised ? search->at_work[i] : search->own_fault[i];
  }
  return search->judged;
}

bool air_search_ask(struct air_search *search, const struct scene *scene,
                    struct air_outcome *outcome)
{
  if (search->solves_left <= 0) {
    search->cut = true;
    return false;
  }
  search->solves_left--;
  air_outcome_of(search->air, scene, air_faults_in(search, scene), outcome, NULL);
  return outcome->answered;
}

static void levels_by_miss(const struct facility *f, const struct air_outcome *o,
                           struct air_levels *levels)
{
  levels->unsure = levels->unsure || o->miss_count == AIR_MISSES_MAX;
  for (int p = 0; p < air_pool_count(f); p++)
    for (int i = 0; i < o->miss_count && !levels->missed[p]; i++)
      if (air_pool_has_miss(f, p, &o->misses[i])) {
        bool unknown = o->misses[i].kind == AIR_MISS_UNKNOWN;

        if (!unknown || !levels->unknown[p])
          levels->first_miss[p] = o->misses[i];
        levels->missed[p] = !unknown;
        levels->unknown[p] = unknown; /* what is missed for certain outweighs it */
      }
  for (int i = 0; i < o->miss_count; i++) {
    bool belongs = false;

    for (int p = 0; p < air_pool_count(f); p++)
      belongs = belongs || air_pool_has_miss(f, p, &o->misses[i]);
    if (!belongs && !levels->orphan_missed) {
      levels->orphan_missed = true;
      levels->orphan_miss = o->misses[i];
    }
  }
}

/* The first miss that was not there before: of a pool that had none. */
const struct air_miss *air_new_miss(const struct facility *f, const struct air_outcome *o,
                                    const struct air_levels *before)
{
  for (int i = 0; i < o->miss_count; i++) {
    bool belongs = false;

    for (int p = 0; p < air_pool_count(f); p++)
      if (air_pool_has_miss(f, p, &o->misses[i])) {
        if (!before->missed[p])
          return &o->misses[i];
        belongs = true;
      }
    if (!belongs && !before->orphan_missed)
      return &o->misses[i];
  }
  return NULL;
}

/* Would opening `station` to work bring a miss that is not there now? */
static void try_opening(struct air_search *search, int station, struct air_levels *levels)
{
  const struct facility *f = search->air->facility;
  struct scene_station kept = search->trial.stations[station];
  struct air_outcome after;
  const struct air_miss *miss = NULL;

  air_raise_to_work(search->air, &search->trial, station);
  if (air_search_recall(search, &search->trial, &after))
    miss = air_new_miss(f, &after, levels);
  else
    levels->unsure = true;
  for (int p = 0; miss && p < air_pool_count(f); p++)
    if (air_pool_has_station(f, p, station) && levels->binding_station[p] < 0) {
      levels->binding_station[p] = station;
      levels->binding_miss[p] = *miss;
    }
  search->trial.stations[station] = kept;
}

/*
 * Moves the pool's waiting stations a share of the way from parked to work in
 * search->trial, and returns the extra flow they then ask for.  A passive
 * station asks for nothing; its opening moves instead.
 */
double air_spread(struct air_search *search, const struct scene *scene, int pool, double share)
{
  struct air *air = search->air;
  const struct facility *f = air->facility;
  double extra = 0.0;

  scene_assign(f, &search->trial, scene);
  for (int i = 0; i < f->station_count; i++) {
    const struct facility_station *s = &f->stations[i];
    struct scene_station *now = &search->trial.stations[i];

    if (!air_pool_has_station(f, pool, i) || !air_station_waits(air, scene, i))
      continue;
    if (s->flow == FACILITY_PASSIVE) {
      now->raised = true;
      now->opening_m = s->parked_m + share * (s->work_m - s->parked_m);
      continue;
    }
    double parked = scene_station_ask_m3_s(f, scene, i);
    double more = fmax(0.0, air_work_ask_m3_s(air, i) - parked);

    now->has_ask = true;
    now->ask_m3_s = parked + share * more;
    extra += share * more;
  }
  return extra;
}

/* Is there less headroom than the suite's own margin?  One solve tells. */
static void try_margin(struct air_search *search, const struct scene *scene, int pool,
                       struct air_levels *levels)
{
  const struct facility *f = search->air->facility;
  double all = air_spread(search, scene, pool, 1.0);
  struct air_outcome after;
  const struct air_miss *miss;

  if (all <= f->headroom_margin_m3_s) /* those waiting cannot even ask for the margin */
    return;
  air_spread(search, scene, pool, f->headroom_margin_m3_s / all);
  if (!air_search_recall(search, &search->trial, &after)) {
    levels->unsure = true;
    return;
  }
  miss = air_new_miss(f, &after, levels);
  if (miss) {
    levels->margin_short[pool] = true;
    levels->binding_miss[pool] = *miss;
  }
}

/* What the suite declares, read while the net still holds the scene's own flows. */
static void declare(struct air_search *search, const struct scene *scene, struct air_levels *levels)
{
  for (int p = 0; p < air_pool_count(search->air->facility); p++) {
    struct air_declared d = air_pool_declared(search->air, scene, p, NULL);

    levels->is_declared[p] = d.given;
    levels->declared[p] = d.state;
  }
}

static enum facility_level computed_level(const struct air_levels *levels, int pool)
{
  if (levels->missed[pool])
    return FACILITY_SHORT;
  if (levels->unknown[pool])
    return FACILITY_NOT_KNOWN;
  if (levels->binding_station[pool] >= 0 || levels->margin_short[pool])
    return FACILITY_NEAR_LIMIT;
  return levels->unsure ? FACILITY_NOT_KNOWN : FACILITY_AMPLE;
}

/* A declared rule decides where there is one, but a computed miss is a fact and is
 * never hidden by it. */
static enum facility_level pool_level(const struct air_levels *levels, int pool)
{
  bool decides = levels->is_declared[pool] && !levels->missed[pool] &&
                 (!levels->unknown[pool] || levels->declared[pool] == FACILITY_SHORT);

  return decides ? levels->declared[pool] : levels->computed[pool];
}

static void conclude(const struct facility *f, bool answered, struct air_levels *levels)
{
  levels->worst = answered ? FACILITY_AMPLE : FACILITY_NOT_KNOWN;
  if (answered && levels->orphan_missed)
    levels->worst =
        levels->orphan_miss.kind == AIR_MISS_UNKNOWN ? FACILITY_NOT_KNOWN : FACILITY_SHORT;
  for (int p = 0; p < air_pool_count(f); p++) {
    levels->computed[p] =
        answered && !air_pool_is_blind(f, p) ? computed_level(levels, p) : FACILITY_NOT_KNOWN;
    levels->pool[p] = pool_level(levels, p);
    if (levels->pool[p] > levels->worst)
      levels->worst = levels->pool[p];
  }
}

void air_levels_of(struct air_search *search, const struct scene *scene, struct air_levels *levels)
{
  struct air *air = search->air;
  const struct facility *f = air->facility;
  struct air_outcome now;
  bool answered;

  *levels = (struct air_levels){.worst = FACILITY_NOT_KNOWN};
  for (int p = 0; p < AIR_POOLS_MAX; p++)
    levels->binding_station[p] = -1;
  answered = air_search_ask(search, scene, &now);
  if (answered) {
    levels_by_miss(f, &now, levels);
    declare(search, scene, levels);
    scene_assign(f, &search->trial, scene);
    for (int i = 0; i < f->station_count; i++)
      if (air_station_waits(air, scene, i))
        try_opening(search, i, levels);
    for (int p = 0; f->has_headroom_margin && p < air_pool_count(f); p++)
      if (!levels->missed[p] && levels->binding_station[p] < 0)
        try_margin(search, scene, p, levels);
  }
  conclude(f, answered, levels);
}

/* The same question with an early end, because many subsets are asked it. */
bool air_is_ample(struct air_search *search, const struct scene *scene)
{
  const struct facility *f = search->air->facility;
  struct air_levels levels = {.worst = FACILITY_AMPLE};
  struct air_outcome now;

  if (!air_search_ask(search, scene, &now) || now.miss_count > 0)
    return false;
  declare(search, scene, &levels);
  for (int p = 0; p < air_pool_count(f); p++) {
    levels.binding_station[p] = -1;
    if (air_pool_is_blind(f, p) || (levels.is_declared[p] && levels.declared[p] != FACILITY_AMPLE))
      return false;
  }
  scene_assign(f, &search->trial, scene);
  for (int i = 0; i < f->station_count; i++)
    if (air_station_waits(search->air, scene, i)) {
      try_opening(search, i, &levels);
      for (int p = 0; p < air_pool_count(f); p++)
        if (levels.binding_station[p] >= 0 && !levels.is_declared[p])
          return false;
    }
  for (int p = 0; f->has_headroom_margin && p < air_pool_count(f); p++) {
    try_margin(search, scene, p, &levels);
    if (levels.margin_short[p] && !levels.is_declared[p])
      return false;
  }
  return !levels.unsure;
}
