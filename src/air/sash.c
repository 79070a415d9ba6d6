/*
 * What one centimetre of each raised sash is worth: to each keep, and to what is left in each pool.
 *
 * All of it from derivatives of two kinds of solves (net/derive.h): of the scene as it is, and a
 * little beyond each pool's limit, where what is missed there tells how far the limit moves.
 */
#include "air/air_impl.h"
#include "net/derive.h"

#include <math.h>

static const double moved_m = 1e-3, cm_m = 1e-2;
static const double aside_ratio = 5e-4; /* of the demand, as slopes.c stands aside from a limit */

struct touch {
  struct air_search *search;
  const struct facility *f;
  struct air_per_cm *out;
  struct scene raised; /* the scene with one sash moved */
  double *ask_m3_s;    /* per station, at an edge */
  double *worth;       /* per station: of what is missed there, per m3/s of its asked flow */
};

/* ---- which sashes, and what they ask ---- */

static const char *why_not(const struct air_search *search, int station)
{
  const struct facility *f = search->air->facility;
  const struct scene *scene = search->scene;
  double opening_m;

  if (!f->stations[station].in_service || scene->stations[station].withdrawn)
    return "out of service";
  if (f->stations[station].flow == FACILITY_PASSIVE)
    return "nothing controls its flow: what it draws is its main's doing";
  if (!scene->stations[station].raised)
    return air_say(search->arena, "parked: raise it in a trial to see (sash %s=work)",
                   f->stations[station].part.id);
  if (scene->stations[station].has_ask || !scene_station_opening_m(f, scene, station, &opening_m) ||
      opening_m <= 0.0)
    return "no opening in the file to move";
  return NULL;
}

static void raise_sash(struct touch *t, int station)
{
  double opening_m = 0.0;

  scene_assign(t->f, &t->raised, t->search->scene);
  scene_station_opening_m(t->f, t->search->scene, station, &opening_m);
  t->raised.stations[station].opening_m = opening_m + moved_m;
}

static void look_at_stations(struct touch *t)
{
  for (int i = 0; i < t->f->station_count; i++) {
    struct air_cm *cm = &t->out->stations[i];

    cm->why = why_not(t->search, i);
    cm->known = !cm->why;
    if (!cm->known)
      continue;
    raise_sash(t, i);
    cm->asks_m3_s = (scene_station_ask_m3_s(t->f, &t->raised, i) -
                     scene_station_ask_m3_s(t->f, t->search->scene, i)) *
                    cm_m / moved_m;
  }
}

/* Per m3/s that a station is set to. */
static double per_asked(const struct air *air, const struct net_derive *d, int station)
{
  int link = air->station_link[station];

  return d->per_set_kg_s[link] * air->density_kg_m3[air->links[link].from];
}

/* ---- keeps, in the scene as it is ---- */

static void touch_keep(struct touch *t, struct net_derive *d, int at, int room, int over)
{
  const struct air *air = t->search->air;

  if (!d || !air_node_known(air, room) || !air_node_known(air, over))
    return;
  d->pressure_weight_ratio[room] += 1.0;
  d->pressure_weight_ratio[over] -= 1.0;
  net_derive_find(d);
  d->pressure_weight_ratio[room] = d->pressure_weight_ratio[over] = 0.0;
  for (int i = 0; i < t->f->station_count; i++)
    if (t->out->stations[i].known)
      t->out->stations[i].keeps_Pa[at] = per_asked(air, d, i) * t->out->stations[i].asks_m3_s;
}

static void touch_keeps(struct touch *t)
{
  struct air *air = t->search->air;
  struct air_outcome o;
  struct net_derive *d;
  int at = 0;

  net_forget(air->net);
  air_outcome_of(air, t->search->scene, NULL, &o, NULL);
  d = net_derive_new(air->net);
  if (o.answered && net_derive_begin(d))
    for (int i = 0; i < t->f->room_count; i++)
      for (int k = 0; k < t->f->rooms[i].keep_count; k++)
        touch_keep(t, d, at++, i, t->f->rooms[i].keeps[k].over);
  net_derive_free(d);
}

/* ---- what is left in a pool ---- */

static bool weigh_feed(const struct air *air, struct net_derive *d, const struct air_miss *m)
{
  const struct facility_feed *feed = &air->facility->supplies[m->index].feeds[m->sub];
  int link = air->feed_link[m->index][m->sub];

  if (feed->form == FACILITY_FEED_HOLDS) {
    d->pressure_weight_ratio[feed->room] += 1.0;
    d->pressure_weight_ratio[feed->over] -= 1.0;
    return true;
  }
  d->flow_weight_ratio[link] += 1.0;
  for (int i = 0; feed->form == FACILITY_FEED_FOLLOWS && i < air->links[link].follow_count; i++)
    d->flow_weight_ratio[air->links[link].follows[i]] -= 1.0;
  return true;
}

/* What is missed there, as a sum of pressures and flows; its sign and size do not count. */
static bool weigh(const struct air *air, struct net_derive *d, const struct air_miss *m)
{
  const struct facility *f = air->facility;

  switch (m->kind) {
  case AIR_MISS_KEEP:
    d->pressure_weight_ratio[m->index] += 1.0;
    d->pressure_weight_ratio[f->rooms[m->index].keeps[m->sub].over] -= 1.0;
    return true;
  case AIR_MISS_FEED:
    return weigh_feed(air, d, m);
  case AIR_MISS_UNIT:
    for (int j = 0; j < f->supplies[m->index].feed_count; j++)
      d->flow_weight_ratio[air->feed_link[m->index][j]] += 1.0;
    return true;
  case AIR_MISS_FAN:
    d->pressure_weight_ratio[f->fans[m->index].hold_node] += 1.0;
    d->pressure_weight_ratio[f->fans[m->index].hold_over] -= 1.0;
    return true;
  case AIR_MISS_STATION:
  case AIR_MISS_DECLARED:
  case AIR_MISS_UNKNOWN:
    break;
  }
  return false;
}

/* The worth of each station's flow at the edge; false: none can be told. */
static bool worth_at(struct touch *t, const struct air_edge *edge)
{
  struct air *air = t->search->air;
  struct air_outcome o;
  struct net_derive *d;
  bool ok;

  air_outcome_of(air, &t->search->trial, NULL, &o, NULL);
  if (!o.answered)
    return false;
  d = net_derive_new(air->net);
  ok = net_derive_begin(d) && weigh(air, d, &edge->miss);
  if (ok)
    net_derive_find(d);
  for (int i = 0; i < t->f->station_count; i++)
    t->worth[i] = ok ? per_asked(air, d, i) : 0.0;
  net_derive_free(d);
  return ok;
}

/* Of what is missed: what the trial's asked flows, against those remembered, are worth. */
static double worth_of_trial(const struct touch *t)
{
  double sum = 0.0;

  for (int i = 0; i < t->f->station_count; i++)
    sum += t->worth[i] * (scene_station_ask_m3_s(t->f, &t->search->trial, i) - t->ask_m3_s[i]);
  return sum;
}

static void touch_pool(struct touch *t, int pool, const struct air_edge *edge)
{
  struct air_search *search = t->search;
  double all = fabs(air_edge_scene(search, search->scene, pool, edge->way, 1.0));
  double demand = air_pool_demand_m3_s(search->air, search->scene, pool);
  double aside = all > 0.0 ? aside_ratio * fmax(demand, all) / all : aside_ratio;
  double share =
      edge->share + (edge->way == AIR_WAY_DOWN ? -fmin(aside, 0.5 * edge->share) : aside);
  double extra = air_edge_scene(search, search->scene, pool, edge->way, share);

  if (!worth_at(t, edge))
    return;
  for (int i = 0; i < t->f->station_count; i++)
    t->ask_m3_s[i] = scene_station_ask_m3_s(t->f, &search->trial, i);

  const double step = 1e-3;
  double per_share = (air_edge_scene(search, search->scene, pool, edge->way, share + step) - extra);
  double worth_per_share = worth_of_trial(t);

  for (int i = 0; i < t->f->station_count; i++) {
    struct air_cm *cm = &t->out->stations[i];

    if (!cm->known || worth_per_share == 0.0)
      continue;
    raise_sash(t, i);

    double fixed = air_edge_scene(search, &t->raised, pool, edge->way, share) - extra;

    cm->headroom_m3_s[pool] =
        (fixed - per_share * worth_of_trial(t) / worth_per_share) * cm_m / moved_m;
  }
}

static void touch_pools(struct touch *t)
{
  struct air_levels levels;

  air_find_own_faults(t->search);
  air_levels_of(t->search, t->search->scene, &levels);
  for (int p = 0; p < air_pool_count(t->f); p++) {
    struct air_pool pool = {.demand_m3_s =
                                air_pool_demand_m3_s(t->search->air, t->search->scene, p)};
    struct air_edge edge = {.found = false};

    if (levels.computed[p] == FACILITY_NOT_KNOWN)
      continue;
    air_headroom(t->search, &levels, p, &pool, &edge);
    if (edge.found)
      touch_pool(t, p, &edge);
  }
}

/* ---- all of it ---- */

static bool make_room(struct touch *t, struct arena *arena)
{
  size_t n = (size_t)t->f->station_count + 1;

  for (int i = 0; i < t->f->room_count; i++)
    t->out->keep_count += t->f->rooms[i].keep_count;
  t->out->pool_count = air_pool_count(t->f);
  t->out->stations = ARENA_ARRAY(arena, struct air_cm, n);
  t->ask_m3_s = ARENA_ARRAY(arena, double, n);
  t->worth = ARENA_ARRAY(arena, double, n);
  for (int i = 0; t->out->stations && i < t->f->station_count; i++) {
    struct air_cm *cm = &t->out->stations[i];

    cm->keeps_Pa = ARENA_ARRAY(arena, double, (size_t)t->out->keep_count + 1);
    cm->headroom_m3_s = ARENA_ARRAY(arena, double, (size_t)t->out->pool_count + 1);
    if (!cm->keeps_Pa || !cm->headroom_m3_s)
      return false;
    for (int k = 0; k < t->out->keep_count; k++)
      cm->keeps_Pa[k] = NAN;
    for (int p = 0; p < t->out->pool_count; p++)
      cm->headroom_m3_s[p] = NAN;
  }
  return t->out->stations && t->ask_m3_s && t->worth;
}

const struct air_per_cm *air_per_cm(struct air *air, const struct scene *scene, struct arena *arena,
                                    struct err *err)
{
  const struct facility *f = air->facility;
  size_t n = (size_t)f->station_count;
  enum air_fault *faults = ARENA_ARRAY(arena, enum air_fault, 3 * n + 1);
  struct air_per_cm *out = ARENA_NEW(arena, struct air_per_cm);
  struct air_search search = {.air = air,
                              .scene = scene,
                              .own_fault = faults,
                              .at_work = faults + n,
                              .judged = faults + 2 * n,
                              .trial = scene_copy(f, scene, arena),
                              .after = scene_copy(f, scene, arena),
                              .budget = air_settings_default.solve_budget,
                              .solves_left = air_settings_default.solve_budget,
                              .memory = air_memory_new(arena),
                              .arena = arena};
  struct touch t = {.search = &search, .f = f, .out = out, .raised = scene_copy(f, scene, arena)};

  if (!faults || !out || !make_room(&t, arena)) {
    err_set(err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
    return NULL;
  }
  look_at_stations(&t);
  touch_keeps(&t);
  touch_pools(&t);
  return out;
}
