/*
 * Pools: what shares one limit.  First the mains, then the supplies; a pool's
 * number runs over both.
 */
#include "air/air_impl.h"

#include <math.h>

int air_pool_count(const struct facility *facility)
{
  int count = facility->main_count + facility->supply_count;

  return count < AIR_POOLS_MAX ? count : AIR_POOLS_MAX;
}

enum air_pool_kind air_pool_kind_of(const struct facility *facility, int pool, int *index_out)
{
  bool is_main = pool < facility->main_count;

  *index_out = is_main ? pool : pool - facility->main_count;
  return is_main ? AIR_POOL_MAIN : AIR_POOL_SUPPLY;
}

const char *air_pool_id(const struct facility *facility, int pool)
{
  int i;

  return air_pool_kind_of(facility, pool, &i) == AIR_POOL_MAIN ? facility->mains[i].part.id
                                                               : facility->supplies[i].part.id;
}

static bool feeds_room(const struct facility_supply *supply, int room)
{
  for (int i = 0; i < supply->feed_count; i++)
    if (supply->feeds[i].room == room)
      return true;
  return false;
}

bool air_pool_has_station(const struct facility *facility, int pool, int station)
{
  const struct facility_station *s = &facility->stations[station];
  int i;

  if (air_pool_kind_of(facility, pool, &i) == AIR_POOL_MAIN)
    return s->main == i;
  return feeds_room(&facility->supplies[i], s->room);
}

static bool main_draws_from(const struct facility *facility, int main, int room)
{
  for (int i = 0; i < facility->station_count; i++)
    if (facility->stations[i].main == main && facility->stations[i].room == room)
      return true;
  return false;
}

static bool main_has_fan(const struct facility *facility, int main, int fan)
{
  for (int i = 0; i < facility->mains[main].fan_count; i++)
    if (facility->mains[main].fans[i] == fan)
      return true;
  return false;
}

/* What is missed in a room is missed by the supply that feeds it and by the
 * mains that draw from it. */
static bool room_belongs(const struct facility *facility, int pool, int room)
{
  int i;

  if (air_pool_kind_of(facility, pool, &i) == AIR_POOL_SUPPLY)
    return feeds_room(&facility->supplies[i], room);
  return main_draws_from(facility, i, room);
}

bool air_pools_share(const struct facility *facility, int a, int b)
{
  for (int i = 0; i < facility->station_count; i++)
    if (air_pool_has_station(facility, a, i) && air_pool_has_station(facility, b, i))
      return true;
  return a == b;
}

bool air_pool_has_miss(const struct facility *facility, int pool, const struct air_miss *miss)
{
  int i;
  bool is_main = air_pool_kind_of(facility, pool, &i) == AIR_POOL_MAIN;

  switch (miss->kind) {
  case AIR_MISS_KEEP:
  case AIR_MISS_UNKNOWN:
    return room_belongs(facility, pool, miss->index);
  case AIR_MISS_FEED:
    return is_main
               ? main_draws_from(facility, i, facility->supplies[miss->index].feeds[miss->sub].room)
               : miss->index == i;
  case AIR_MISS_UNIT:
    for (int j = 0; is_main && j < facility->supplies[miss->index].feed_count; j++)
      if (main_draws_from(facility, i, facility->supplies[miss->index].feeds[j].room))
        return true;
    return !is_main && miss->index == i;
  case AIR_MISS_FAN:
    return is_main && main_has_fan(facility, i, miss->index);
  case AIR_MISS_STATION:
    return is_main && facility->stations[miss->index].main == i;
  case AIR_MISS_DECLARED:
    return pool == miss->index;
  }
  return false;
}

bool air_miss_is_orphan(const struct facility *facility, const struct air_miss *miss)
{
  for (int p = 0; p < air_pool_count(facility); p++)
    if (air_pool_has_miss(facility, p, miss))
      return false;
  return true;
}

bool air_pool_is_blind(const struct facility *facility, int pool)
{
  int i;

  return air_pool_kind_of(facility, pool, &i) == AIR_POOL_MAIN && facility->mains[i].at < 0 &&
         !facility->mains[i].declared.given;
}

/* ---- demand ---- */

static double station_demand_m3_s(const struct air *air, const struct scene *scene, int station,
                                  bool measured)
{
  const struct facility_station *s = &air->facility->stations[station];

  if (measured && scene->stations[station].has_measured)
    return scene->stations[station].measured_m3_s;
  if (measured || s->flow == FACILITY_PASSIVE)
    return s->in_service ? air_link_flow_m3_s(air, air->station_link[station]) : 0.0;
  return scene_station_ask_m3_s(air->facility, scene, station);
}

static bool exhaust_in_pool(const struct facility *facility, int pool, int exhaust)
{
  int i;

  if (air_pool_kind_of(facility, pool, &i) == AIR_POOL_MAIN)
    return facility->exhausts[exhaust].main == i;
  return feeds_room(&facility->supplies[i], facility->exhausts[exhaust].from);
}

static bool is_subtracted(const struct facility_declared *d, int exhaust)
{
  for (int i = 0; i < d->subtract_count; i++)
    if (d->subtract[i] == exhaust)
      return true;
  return false;
}

static double demand_m3_s(const struct air *air, const struct scene *scene, int pool, bool measured,
                          const struct facility_declared *without)
{
  const struct facility *f = air->facility;
  double demand = 0.0;

  for (int i = 0; i < f->station_count; i++)
    if (air_pool_has_station(f, pool, i))
      demand += station_demand_m3_s(air, scene, i, measured);
  for (int i = 0; i < f->exhaust_count; i++)
    if (exhaust_in_pool(f, pool, i) && !(without && is_subtracted(without, i)))
      demand += f->exhausts[i].flow_m3_s;
  return demand;
}

double air_pool_demand_m3_s(const struct air *air, const struct scene *scene, int pool)
{
  return demand_m3_s(air, scene, pool, false, NULL);
}

/* ---- what the suite declares ---- */

static const struct facility_declared *declared_of(const struct facility *facility, int pool)
{
  int i;

  return air_pool_kind_of(facility, pool, &i) == AIR_POOL_MAIN ? &facility->mains[i].declared
                                                               : &facility->supplies[i].declared;
}

static int running_units(const struct air *air, const struct scene *scene, int pool)
{
  const struct facility *f = air->facility;
  int i, running = 0;

  if (air_pool_kind_of(f, pool, &i) == AIR_POOL_SUPPLY)
    return scene->supply_off[i] ? 0 : 1;
  for (int j = 0; j < f->mains[i].fan_count; j++)
    running += scene->fan_running[f->mains[i].fans[j]];
  return running;
}

/* The capacity for the fans that run; a number between two rows counts as the lower row. */
static double declared_capacity_m3_s(const struct facility_declared *d, int running)
{
  double capacity = NAN;

  if (!d->running_fans)
    return d->capacity_m3_s[0];
  for (int i = 0; i < d->value_count; i++)
    if (d->running_fans[i] <= running)
      capacity = d->capacity_m3_s[i];
  return capacity;
}

/* A level is entered above its enter ratio and, once entered, kept while above
 * its leave ratio.  Demand equal to a threshold, to rounding, is not above it. */
static bool holds_level(const struct facility_threshold *t, double ratio, bool was_there)
{
  const double rounding_ratio = 1e-9;

  return t->given && (ratio > t->enter_ratio + rounding_ratio ||
                      (was_there && ratio > t->leave_ratio + rounding_ratio));
}

/* A capacity alone, without thresholds, is short above the whole of it. */
static struct facility_threshold short_above(const struct facility_declared *d)
{
  if (d->shortage.given)
    return d->shortage;
  return (struct facility_threshold){.given = true, .enter_ratio = 1.0, .leave_ratio = 1.0};
}

double air_pool_short_ratio(const struct facility *facility, int pool)
{
  return short_above(declared_of(facility, pool)).enter_ratio;
}

static enum facility_level declared_level(const struct facility_declared *d,
                                          const struct scene *scene, int pool, double ratio)
{
  const struct facility_threshold shortage = short_above(d);
  bool has_was = scene->was_of_pool || scene->has_was;
  enum facility_level was = scene->was_of_pool ? scene->was_of_pool[pool] : scene->was;
  bool was_short = has_was && was == FACILITY_SHORT;
  bool was_near = has_was && (was == FACILITY_NEAR_LIMIT || was_short);

  if (!isfinite(ratio))
    return FACILITY_NOT_KNOWN;
  if (holds_level(&shortage, ratio, was_short))
    return FACILITY_SHORT;
  if (holds_level(&d->near_limit, ratio, was_near))
    return FACILITY_NEAR_LIMIT;
  return FACILITY_AMPLE;
}

static const char *declared_why(const struct air_declared *now, const struct facility_declared *d,
                                const struct scene *scene, int running, struct arena *arena)
{
  const struct facility_threshold shortage = short_above(d);
  const struct facility_threshold *t = now->state == FACILITY_SHORT ? &shortage : &d->near_limit;

  if (now->state == FACILITY_NOT_KNOWN)
    return air_say(arena, "no capacity is declared for %d running fan%s", running,
                   running == 1 ? "" : "s");
  if (now->state == FACILITY_AMPLE)
    return air_say(arena, "declared: demand %.0f %% of capacity", now->ratio * 100.0);
  return air_say(arena, "declared: demand %.0f %% of capacity; %s above %.0f %%, left at %.0f %%%s",
                 now->ratio * 100.0, air_level_name(now->state), t->enter_ratio * 100.0,
                 t->leave_ratio * 100.0,
                 (scene->has_was || scene->was_of_pool) && now->ratio <= t->enter_ratio
                     ? " (not left yet)"
                     : "");
}

struct air_declared air_pool_declared(const struct air *air, const struct scene *scene, int pool,
                                      struct arena *arena)
{
  const struct facility_declared *d = declared_of(air->facility, pool);
  struct air_declared now = {.given = d->given};
  double subtracted = 0.0;

  if (!d->given)
    return now;
  for (int i = 0; i < d->subtract_count; i++)
    subtracted += air->facility->exhausts[d->subtract[i]].flow_m3_s;
  int running = running_units(air, scene, pool);

  now.demand_m3_s = demand_m3_s(air, scene, pool, d->demand_measured, d);
  now.capacity_m3_s = declared_capacity_m3_s(d, running) - subtracted;
  now.ratio = now.capacity_m3_s > 0.0    ? now.demand_m3_s / now.capacity_m3_s
              : isnan(now.capacity_m3_s) ? (double)NAN
                                         : (double)INFINITY;
  now.state = isinf(now.ratio) ? FACILITY_SHORT : declared_level(d, scene, pool, now.ratio);
  if (arena)
    now.why = declared_why(&now, d, scene, running, arena);
  return now;
}
