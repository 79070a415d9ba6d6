/*
 * The network with its controllers taken off: every valve, terminal and fan stands where somebody
 * else (src/after, in time) put it, and the air finds its pressures.
 */
#include "air/air_impl.h"

#include <math.h>
#include <string.h>

static const double blend_at_Pa = 10.0; /* where laws of different exponent are put together */

int air_feed_count(const struct facility *f)
{
  int count = 0;

  for (int i = 0; i < f->supply_count; i++)
    count += f->supplies[i].feed_count;
  return count;
}

struct air_drive *air_drive_new(const struct facility *f, struct arena *arena)
{
  struct air_drive *d = ARENA_NEW(arena, struct air_drive);

  if (!d)
    return NULL;
  d->feed_m3_s = ARENA_ARRAY(arena, double, (size_t)air_feed_count(f) + 1);
  d->unit_ratio = ARENA_ARRAY(arena, double, (size_t)f->supply_count + 1);
  d->fan_speed_ratio = ARENA_ARRAY(arena, double, (size_t)f->fan_count + 1);
  d->door_ratio = ARENA_ARRAY(arena, double, (size_t)f->door_count + 1);
  d->duct_ratio = ARENA_ARRAY(arena, double, (size_t)f->duct_count + 1);
  if (!d->feed_m3_s || !d->unit_ratio || !d->fan_speed_ratio || !d->door_ratio || !d->duct_ratio)
    return NULL;
  for (int i = 0; i < f->supply_count; i++)
    d->unit_ratio[i] = 1.0;
  for (int i = 0; i < f->duct_count; i++)
    d->duct_ratio[i] = 1.0;
  return d;
}

/* ---- the links that are driven ---- */

static bool is_same(const struct net_member *a, const struct net_member *b)
{
  return a->kind == b->kind && a->k[0] == b->k[0] && a->k[1] == b->k[1] && a->m == b->m &&
         a->length_m == b->length_m && a->loss_ratio == b->loss_ratio;
}

/* A drive changes no more of a link than this. */
static void put(struct air *air, int link, const struct net_link *was,
                const struct net_member *was_member)
{
  const struct net_link *now = &air->links[link];

  if (was->law != now->law || was->set_kg_s != now->set_kg_s || was->most_kg_s != now->most_kg_s ||
      was->member_count != now->member_count ||
      (now->member_count > 0 && !is_same(was_member, now->members)))
    net_update_link(air->net, &air->problem, link);
}

/* Q = C dp^n of a gap that is partly open: both laws side by side. */
static void blend(struct net_member *to, const struct net_member *shut,
                  const struct net_member *open, double ratio)
{
  double n0 = 1.0 / shut->m, n1 = 1.0 / open->m, n = n0 + ratio * (n1 - n0);

  to->kind = NET_POWER;
  to->m = 1.0 / n;
  for (int d = 0; d < 2; d++) {
    double g0 = pow(blend_at_Pa / shut->k[d], n0), g1 = pow(blend_at_Pa / open->k[d], n1);
    double g = g0 + ratio * (g1 - g0);

    to->k[d] = blend_at_Pa / pow(g, to->m);
  }
}

static void drive_door(struct air *air, int door, double ratio)
{
  int link = air->door_link[door];
  struct net_link *l = &air->links[link];
  struct net_link was = *l;
  struct net_member *member = &air->members[link * AIR_MEMBERS_PER_LINK], before = *member;
  struct net_member shut, open;
  bool has_shut = air_door_member(air, door, false, &shut),
       has_open = air_door_member(air, door, true, &open);

  l->member_count = 1;
  l->law = (has_shut && ratio < 1.0) || (has_open && ratio > 0.0) ? NET_RESIST : NET_SHUT;
  if (has_shut && has_open && ratio > 0.0 && ratio < 1.0) {
    blend(member, &shut, &open, ratio);
  } else if (has_shut && (ratio <= 0.0 || !has_open)) {
    *member = shut;
  } else if (has_open && ratio > 0.0) {
    *member = open;
    for (int d = 0; d < 2 && ratio < 1.0; d++) /* a door that is tight when shut */
      member->k[d] = open.k[d] / pow(ratio, open.m);
  }
  put(air, link, &was, &before);
}

static void drive_duct(struct air *air, int duct, double ratio)
{
  int link = air->duct_link[duct];
  struct net_link was = air->links[link];
  struct net_member *member = &air->members[link * AIR_MEMBERS_PER_LINK], before = *member;

  if (air->last.duct_shut[duct])
    return;
  air_duct_member(air, duct, member);
  for (int d = 0; d < 2; d++)
    member->k[d] *= ratio;
  member->length_m *= ratio;
  member->loss_ratio *= ratio;
  put(air, link, &was, &before);
}

static void drive_fan(struct air *air, int fan, double speed_ratio)
{
  int link = air->fan_link[fan];
  struct net_fan *f = &air->fans[fan];

  if (air->last.fan_running[fan] == 0 || (!f->holds && f->speed_ratio == speed_ratio))
    return;
  f->speed_ratio = speed_ratio;
  if (f->holds) {
    f->holds = false;
    net_update_link(air->net, &air->problem, link);
  } else {
    net_update_speed(air->net, &air->problem, link);
  }
}

static void drive_feed(struct air *air, int supply, int feed, double flow_m3_s)
{
  int link = air->feed_link[supply][feed];
  struct net_link *l = &air->links[link], was = *l;

  if (air->last.supply_off[supply])
    return;
  l->law = flow_m3_s > 0.0 ? NET_SET_FLOW : NET_SHUT;
  l->set_kg_s = flow_m3_s * air->density_kg_m3[facility_node_plenum(air->facility, supply)];
  put(air, link, &was, l->members);
}

static void drive_unit(struct air *air, int supply, double ratio)
{
  int link = air->unit_link[supply];
  const struct facility_supply *s = &air->facility->supplies[supply];
  struct net_link *l, was;

  if (link < 0 || air->last.supply_off[supply])
    return;
  l = &air->links[link];
  was = *l;
  l->most_kg_s =
      ratio * s->most_m3_s * air->density_kg_m3[facility_node_plenum(air->facility, supply)];
  put(air, link, &was, l->members);
}

bool air_drive_solve(struct air *air, const struct scene *scene, const struct air_drive *drive)
{
  const struct facility *f = air->facility;
  struct net_report report;
  int feed = 0;

  air->driven = false;
  air_network_set_scene(air, scene);
  air->driven = true;
  for (int i = 0; i < f->door_count; i++)
    drive_door(air, i, drive->door_ratio[i]);
  for (int i = 0; i < f->duct_count; i++)
    drive_duct(air, i, drive->duct_ratio[i]);
  for (int i = 0; i < f->fan_count; i++)
    drive_fan(air, i, drive->fan_speed_ratio[i]);
  for (int i = 0; i < f->supply_count; i++) {
    drive_unit(air, i, drive->unit_ratio[i]);
    for (int j = 0; j < f->supplies[i].feed_count; j++, feed++)
      drive_feed(air, i, j,
                 f->supplies[i].has_most ? drive->feed_m3_s[feed]
                                         : drive->feed_m3_s[feed] * drive->unit_ratio[i]);
  }
  net_solve(air->net, &report);
  air->failed = report.verdict == NET_FAILED;
  return !air->failed;
}

void air_drive_cold(struct air *air)
{
  net_forget(air->net);
}

/* ---- what came of it ---- */

double air_drive_pressure_Pa(const struct air *air, int node)
{
  return air_node_known(air, node) ? net_pressure_Pa(air->net, node) : (double)NAN;
}

double air_drive_station_m3_s(const struct air *air, int station)
{
  return air_link_flow_m3_s(air, air->station_link[station]);
}

double air_drive_door_m3_s(const struct air *air, int door)
{
  return air_link_flow_m3_s(air, air->door_link[door]);
}

double air_drive_exhaust_m3_s(const struct air *air, int exhaust)
{
  return air_link_flow_m3_s(air, air->exhaust_link[exhaust]);
}

double air_drive_feed_m3_s(const struct air *air, int supply, int feed)
{
  return air_link_flow_m3_s(air, air->feed_link[supply][feed]);
}

double air_drive_fan_m3_s(const struct air *air, int fan)
{
  return air_link_flow_m3_s(air, air->fan_link[fan]);
}

bool air_drive_feed_limited(const struct air *air, int supply, int feed)
{
  const struct net_link *l = &air->links[air->feed_link[supply][feed]];

  return !air->failed && l->law == NET_SET_FLOW &&
         net_link_segment(air->net, air->feed_link[supply][feed]) != NET_ON_SET;
}

bool air_drive_unit_limited(const struct air *air, int supply)
{
  int link = air->unit_link[supply];

  return link >= 0 && !air->failed && air->links[link].law == NET_HOLD &&
         net_link_segment(air->net, link) == NET_AT_MOST;
}

int air_drive_link_count(const struct air *air)
{
  return air->problem.link_count;
}

struct air_drive_link air_drive_link_at(const struct air *air, int link)
{
  const struct net_link *l = &air->links[link];
  const struct air_link_meaning *m = &air->meanings[link];

  return (struct air_drive_link){
      .from = l->from,
      .to = l->to,
      .mass_kg_s = air->failed ? 0.0 : net_flow_kg_s(air->net, link),
      .fan = m->kind == AIR_LINK_FAN || m->kind == AIR_LINK_FAN_STOPPED ? m->index : -1,
      .is_feed = m->kind == AIR_LINK_FEED,
  };
}

double air_drive_density_kg_m3(const struct air *air, int node)
{
  return air->density_kg_m3[node];
}

bool air_drive_modelled(const struct air *air, int node)
{
  return !air->unmodelled[node];
}
