/*
 * Headroom: how much more a pool's parked stations could draw with nothing newly
 * missed; negative when something is missed already: what its raised stations
 * must give back.  Both are one search for the share of the way at which a miss
 * begins or ends, by real solves.
 */
#include "air/air_impl.h"

#include <math.h>

enum { PROBES_MAX = 40 };

static const double share_tolerance = 1e-6; /* of the way from parked to work */

/* One question asked at many shares; `miss` is the one last met. */
struct probe {
  struct air_search *search;
  const struct air_levels *levels;
  const struct scene *scene; /* from which stations move */
  int pool;
  enum air_way way;
  bool missed;
  struct air_miss miss;
};

/* Raised stations give back a share of what they draw above parked.  On its way
 * down nobody works at a station, so its criterion is not judged. */
static double give_back(struct air_search *search, const struct scene *scene, int pool,
                        double share)
{
  const struct facility *f = search->air->facility;
  double given = 0.0;

  scene_assign(f, &search->trial, scene);
  for (int i = 0; i < f->station_count; i++) {
    struct scene_station *now = &search->trial.stations[i];

    if (!air_pool_has_station(f, pool, i) || !now->raised)
      continue;
    double ask = scene_station_ask_m3_s(f, scene, i);

    now->raised = false;
    double parked = scene_station_ask_m3_s(f, &search->trial, i);

    if (f->stations[i].flow == FACILITY_PASSIVE) {
      now->raised = share < 1.0;
      now->opening_m -= share * (now->opening_m - f->stations[i].parked_m);
      continue;
    }
    now->has_ask = true;
    now->ask_m3_s = ask - share * fmax(0.0, ask - parked);
    given += ask - now->ask_m3_s;
  }
  return given;
}

/* Every station of the pool asks that share more than it does: how far the limit still is
 * where none is left to open. */
static double stretch(struct air_search *search, const struct scene *scene, int pool, double share)
{
  const struct facility *f = search->air->facility;
  double extra = 0.0;

  scene_assign(f, &search->trial, scene);
  for (int i = 0; i < f->station_count; i++) {
    struct scene_station *now = &search->trial.stations[i];
    double ask = scene_station_ask_m3_s(f, scene, i);

    if (!air_pool_has_station(f, pool, i) || f->stations[i].flow == FACILITY_PASSIVE)
      continue;
    now->has_ask = true;
    now->ask_m3_s = ask * (1.0 + share);
    extra += ask * share;
  }
  return extra;
}

double air_edge_scene(struct air_search *search, const struct scene *scene, int pool,
                      enum air_way way, double share)
{
  switch (way) {
  case AIR_WAY_UP:
    return air_spread(search, scene, pool, share);
  case AIR_WAY_DOWN:
    return -give_back(search, scene, pool, share);
  case AIR_WAY_STRETCH:
    return stretch(search, scene, pool, share);
  }
  return 0.0;
}

int air_missed_with(const struct facility *f, const struct air_levels *levels, int pool)
{
  if (levels->missed[pool])
    return pool;
  for (int q = 0; q < air_pool_count(f); q++)
    if (levels->missed[q] && air_pools_share(f, pool, q))
      return q;
  return -1;
}

static bool counts(const struct probe *p, const struct air_miss *miss)
{
  const struct facility *f = p->search->air->facility;

  for (int q = 0; q < air_pool_count(f); q++)
    if (air_pool_has_miss(f, q, miss) &&
        (p->way == AIR_WAY_DOWN ? air_pools_share(f, p->pool, q) : !p->levels->missed[q]))
      return true;
  return p->way != AIR_WAY_DOWN && air_miss_is_orphan(f, miss) && !p->levels->orphan_missed;
}

/* A set point is lost before the keep behind it, so a lost set point is the one to follow. */
static const struct air_miss *miss_to_follow(const struct probe *p, const struct air_outcome *o)
{
  const struct air_miss *keep = NULL;

  for (int i = 0; i < o->miss_count; i++) {
    if (!counts(p, &o->misses[i]))
      continue;
    if (o->misses[i].kind != AIR_MISS_KEEP)
      return &o->misses[i];
    keep = keep ? keep : &o->misses[i];
  }
  return keep;
}

static void look(struct probe *p, double share)
{
  const struct air_miss *miss;
  struct air_outcome o;

  air_edge_scene(p->search, p->scene, p->pool, p->way, share);
  p->missed = true;
  if (!air_search_ask(p->search, &p->search->trial, &o))
    return;
  miss = miss_to_follow(p, &o);
  p->missed = miss != NULL;
  if (miss)
    p->miss = *miss;
}

/* How far beyond its limit the last miss is; it goes to zero where the miss begins. */
static double beyond(const struct probe *p)
{
  bool by_pressure = p->miss.kind == AIR_MISS_KEEP || p->miss.kind == AIR_MISS_FEED ||
                     p->miss.kind == AIR_MISS_FAN;

  return fabs(p->miss.actual - p->miss.wanted) -
         (by_pressure ? p->search->air->facility->met_tolerance_Pa : 0.0);
}

static bool same_miss(const struct air_miss *a, const struct air_miss *b)
{
  return a->kind == b->kind && a->index == b->index && a->sub == b->sub;
}

/*
 * The share at which the miss begins, between one that is fine and one that is
 * missed, from the fine side.  Secants through missed points, where the excess
 * is smooth, each aimed a little short so that the next point is missed too;
 * halving whenever they give no new bracket.
 */
static double boundary(struct probe *p, double fine, double missed)
{
  double last_share = missed, last_beyond = beyond(p), slope = 0.0;
  struct air_miss last = p->miss;
  bool may_aim = false;

  for (int i = 0; i < PROBES_MAX && fabs(missed - fine) > share_tolerance; i++) {
    double inward = missed > fine ? -1.0 : 1.0, aim = last_share - last_beyond / slope;
    double share = 0.5 * (fine + missed);

    if (may_aim && slope != 0.0 && (aim - fine) * (aim - missed) < 0.0)
      share = fabs(missed - aim) > 0.5 * share_tolerance ? aim - inward * 0.05 * fabs(missed - aim)
                                                         : aim + inward * 0.5 * share_tolerance;
    look(p, share);
    if (p->search->cut)
      break;
    may_aim = p->missed;
    if (!p->missed) {
      fine = share;
      continue;
    }
    missed = share;
    slope = same_miss(&last, &p->miss) ? (beyond(p) - last_beyond) / (share - last_share) : 0.0;
    last = p->miss;
    last_share = share;
    last_beyond = beyond(p);
  }
  p->miss = last;
  return fine;
}

static bool anyone_waits(const struct probe *p)
{
  for (int i = 0; i < p->search->air->facility->station_count; i++)
    if (air_pool_has_station(p->search->air->facility, p->pool, i) &&
        air_station_waits(p->search->air, p->scene, i))
      return true;
  return false;
}

static void headroom_up(struct probe *p, struct air_pool *out, struct air_edge *edge)
{
  double all = air_spread(p->search, p->scene, p->pool, 1.0), share = 1.0;

  look(p, 1.0);
  if (p->missed) {
    share = boundary(p, 0.0, 1.0);
    *edge = (struct air_edge){true, AIR_WAY_UP, share, p->miss};
    out->binding = air_miss_words(p->search->air, &p->miss, p->search->arena);
  } else {
    out->binding = anyone_waits(p) ? "nothing: every parked station of this pool may open together"
                                   : "no parked station is waiting here";
  }
  out->headroom_m3_s = share * all;
  look(p, share); /* passive stations ask for nothing: their flow is read from the solve */
  if (!p->search->cut)
    out->headroom_m3_s =
        air_pool_demand_m3_s(p->search->air, &p->search->trial, p->pool) - out->demand_m3_s;
}

static void headroom_down(struct probe *p, struct air_pool *out, struct air_edge *edge)
{
  double share = 1.0;

  out->binding = air_miss_words(p->search->air, &p->miss, p->search->arena);
  look(p, 1.0);
  out->at_most = p->missed;
  if (p->missed) {
    out->binding =
        air_say(p->search->arena, "%s, even with every sash of this pool parked", out->binding);
  } else {
    look(p, 0.0);
    share = boundary(p, 1.0, 0.0);
    *edge = (struct air_edge){true, AIR_WAY_DOWN, share, p->miss};
  }
  out->headroom_m3_s = air_edge_scene(p->search, p->scene, p->pool, p->way, share);
}

bool air_edge_beyond(struct air_search *search, const struct air_levels *levels,
                     const struct scene *scene, int pool, enum air_way way, struct air_edge *out)
{
  struct probe p = {.search = search, .levels = levels, .scene = scene, .pool = pool, .way = way};
  enum { DOUBLINGS = 4 }; /* as far as eight times the way */
  double fine = 0.0, share = way == AIR_WAY_STRETCH ? 0.25 : 1.0;

  *out = (struct air_edge){.way = way};
  if (air_edge_scene(search, scene, pool, way, 1.0) <= 0.0)
    return false;
  for (int i = 0; i < DOUBLINGS + (way == AIR_WAY_STRETCH ? 2 : 0); i++) {
    look(&p, share);
    if (search->cut)
      return false;
    if (p.missed) {
      share = boundary(&p, fine, share);
      *out = (struct air_edge){!search->cut, way, share, p.miss};
      return out->found;
    }
    fine = share;
    share *= 2.0;
  }
  return false;
}

void air_headroom(struct air_search *search, const struct air_levels *levels, int pool,
                  struct air_pool *out, struct air_edge *edge)
{
  int missed = air_missed_with(search->air->facility, levels, pool);
  struct probe p = {.search = search,
                    .levels = levels,
                    .scene = search->scene,
                    .pool = pool,
                    .way = missed >= 0 ? AIR_WAY_DOWN : AIR_WAY_UP};

  out->has_headroom = true;
  if (p.way == AIR_WAY_DOWN) {
    p.miss = levels->first_miss[missed];
    headroom_down(&p, out, edge);
  } else {
    headroom_up(&p, out, edge);
  }
  out->capacity_m3_s = out->demand_m3_s + out->headroom_m3_s;
}
