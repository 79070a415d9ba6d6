/* What a set of stations may not miss, as bounds of flows and pressures. */
#include "air/bounds_impl.h"

#include <math.h>
#include <string.h>

static const double reached_ratio = 1e-6; /* as outcome.c has it */

bool air_keep(struct air_kept *k, const struct air *air, struct arena *arena)
{
  size_t nodes = (size_t)air->problem.node_count, links = (size_t)air->problem.link_count;

  k->nodes = ARENA_ARRAY(arena, struct net_node, nodes + 1);
  k->links = ARENA_ARRAY(arena, struct net_link, links + 1);
  k->members = ARENA_ARRAY(arena, struct net_member, links * AIR_MEMBERS_PER_LINK + 1);
  if (!k->nodes || !k->links || !k->members)
    return false;
  memcpy(k->nodes, air->nodes, nodes * sizeof *k->nodes);
  memcpy(k->links, air->links, links * sizeof *k->links);
  memcpy(k->members, air->members, links * AIR_MEMBERS_PER_LINK * sizeof *k->members);
  for (size_t l = 0; l < links; l++)
    k->links[l].members = &k->members[l * AIR_MEMBERS_PER_LINK];
  k->problem = (struct net_problem){
      .node_count = (int)nodes, .link_count = (int)links, .nodes = k->nodes, .links = k->links};
  return true;
}

/* ---- what a station may not miss, as flows ---- */

/* The flows that meet its criterion; false: nothing is judged by one. */
static bool criterion_range(const struct air *air, const struct scene *scene, int station,
                            struct air_range *out)
{
  const struct facility_station *s = &air->facility->stations[station];
  const struct facility_criterion *c =
      s->criterion >= 0 ? &air->facility->criteria[s->criterion] : NULL;
  double through = 1, beside_m3_s = 0;

  if (!c || !air_station_works(air, scene, station))
    return false;
  if (c->of != FACILITY_OF_FLOW && !air_face_line(air, scene, station, &through, &beside_m3_s))
    return false;
  out->least_m3_s = c->has_low && c->low > 0.0
                        ? c->low * (1.0 - reached_ratio) * through + beside_m3_s
                        : -(double)INFINITY;
  out->most_m3_s =
      c->has_high ? c->high * (1.0 + reached_ratio) * through + beside_m3_s : (double)INFINITY;
  return true;
}

bool air_station_range(const struct air *air, const struct scene *scene, int station,
                       enum air_fault fault, struct air_range *out)
{
  double ask_m3_s = scene_station_ask_m3_s(air->facility, scene, station);
  struct air_range asked = {ask_m3_s > 0.0 ? ask_m3_s * (1.0 - reached_ratio) : -(double)INFINITY,
                            (double)INFINITY};

  *out = (struct air_range){-(double)INFINITY, (double)INFINITY};
  if (!air->facility->stations[station].in_service || fault == AIR_FAULT_OF_PATH)
    return true;
  if (!criterion_range(air, scene, station, out)) {
    *out = asked;
    return true;
  }
  if (fault == AIR_NO_FAULT)
    return true;
  /* What it asks is not enough: not getting even that counts, whatever the criterion makes of it. */
  if (ask_m3_s > out->most_m3_s)
    return false;
  *out = asked;
  return true;
}

/* ---- the list ---- */

static struct net_sets_bound *add(struct air_bounds *b, double least, double most)
{
  struct net_sets_bound *one = &b->list[b->count];

  BUG_IF(b->count == b->most);
  b->count++;
  *one = (struct net_sets_bound){.over = NET_NONE,
                                 .least = least,
                                 .most = most,
                                 .at = NET_NONE,
                                 .but_at_least = NET_NONE,
                                 .mark = AIR_MARK_MISSED};
  return one;
}

static void add_drop(struct air_bounds *b, int node, int over, double least_Pa, double most_Pa)
{
  struct net_sets_bound *one = add(b, least_Pa, most_Pa);

  one->node = node;
  one->over = over;
}

/* Flows of the air that enters: a station's, of its room. */
static bool add_station(struct air_bounds *b, const struct air_sets *s, int station, bool raised)
{
  const struct air *air = s->search.air;
  const struct scene *scene = raised ? &s->raised : &s->parked;
  const int *link = &air->station_link[station];
  double rho = air->density_kg_m3[air->links[*link].from];
  struct air_range range;
  struct net_sets_bound *one;

  if (!air_station_range(air, scene, station,
                         raised ? s->search.at_work[station] : s->search.own_fault[station],
                         &range))
    return false;
  one = add(b, range.least_m3_s * rho, range.most_m3_s * rho);
  one->link_count = 1;
  one->links = link;
  return true;
}

static bool add_switched(struct air_bounds *b, const struct air_sets *s, int at)
{
  bool idle = s->idle >> at & 1u;

  for (int raised = 0; raised < 2; raised++) {
    if (!add_station(b, s, s->station[at], raised))
      return false;
    struct net_sets_bound *one = &b->list[b->count - 1];

    one->at = idle ? NET_NONE : at;
    one->on = raised;
    if (idle)
      one->mark = (raised ? AIR_MARK_RAISED : AIR_MARK_PARKED) + at;
  }
  return true;
}

static bool add_stations(struct air_bounds *b, const struct air_sets *s)
{
  for (int i = 0; i < s->search.air->facility->station_count; i++) {
    int at = -1;

    for (int j = 0; j < s->count; j++)
      at = s->station[j] == i ? j : at;
    if (at >= 0 ? !add_switched(b, s, at) : !add_station(b, s, i, false))
      return false;
  }
  return true;
}

static void add_keeps(struct air_bounds *b, const struct air *air)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->room_count; i++)
    for (int j = 0; j < f->rooms[i].keep_count; j++) {
      const struct facility_keep *k = &f->rooms[i].keeps[j];

      if (air->unmodelled[i] || air->unmodelled[k->over])
        continue; /* the file cannot tell */
      add_drop(b, i, k->over, k->has_least ? k->least_Pa - f->met_tolerance_Pa : -(double)INFINITY,
               k->has_most ? k->most_Pa + f->met_tolerance_Pa : (double)INFINITY);
    }
}

/* What a unit gives, and each of its terminals; flows of supplied air. */
static bool add_supply(struct air_bounds *b, const struct air *air, int i)
{
  const struct facility *f = air->facility;
  const struct facility_supply *s = &f->supplies[i];
  double rho = air->density_kg_m3[facility_node_plenum(f, i)];
  struct net_sets_bound *one;

  for (int j = 0; j < s->feed_count; j++) {
    const struct facility_feed *feed = &s->feeds[j];

    if (feed->form == FACILITY_FEED_FOLLOWS)
      return false;
    if (feed->form == FACILITY_FEED_HOLDS && !air->unmodelled[feed->room])
      add_drop(b, feed->room, feed->over, feed->hold_Pa - f->met_tolerance_Pa, (double)INFINITY);
    if (feed->form != FACILITY_FEED_FLOW)
      continue;
    one = add(b, feed->flow_m3_s * (1.0 - reached_ratio) * rho, (double)INFINITY);
    one->links = &air->feed_link[i][j];
    one->link_count = 1;
  }
  if (!s->has_most || s->feed_count == 0)
    return true;
  one = add(b, -(double)INFINITY, s->most_m3_s * (1.0 + reached_ratio) * rho);
  one->links = air->feed_link[i];
  one->link_count = s->feed_count;
  return true;
}

/* Above or below what it holds it is short of something, unless it could do with less. */
static void add_fans(struct air_bounds *b, const struct air *air, const struct scene *scene)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->fan_count; i++) {
    const struct facility_fan *fan = &f->fans[i];

    if (!fan->holds || air->unmodelled[fan->hold_node])
      continue;
    if (scene->fan_running[i] == 0) {
      b->always_missed = true;
      continue;
    }
    add_drop(b, fan->hold_node, fan->hold_over, fan->hold_Pa - f->met_tolerance_Pa,
             fan->hold_Pa + f->met_tolerance_Pa);
    b->list[b->count - 1].but_at_least = air->fan_link[i];
  }
}

bool air_bounds_of(struct air_sets *s, struct arena *arena, struct air_bounds *out)
{
  const struct air *air = s->search.air;
  const struct facility *f = air->facility;
  int most = 2 * f->station_count + f->fan_count + f->supply_count;

  for (int p = 0; p < air_pool_count(f); p++)
    if (air_pool_declared(air, &s->parked, p, NULL).given) /* judged by sums of what is asked */
      return false;
  for (int i = 0; i < f->room_count; i++)
    most += f->rooms[i].keep_count;
  for (int i = 0; i < f->supply_count; i++)
    most += f->supplies[i].feed_count;
  *out = (struct air_bounds){.most = most};
  out->list = ARENA_ARRAY(arena, struct net_sets_bound, (size_t)most + 1);
  if (!out->list || !add_stations(out, s))
    return false;
  add_keeps(out, air);
  for (int i = 0; i < f->supply_count; i++)
    if (!add_supply(out, air, i))
      return false;
  add_fans(out, air, &s->parked);
  return true;
}
