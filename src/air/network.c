/*
 * From a facility and a scene to a network of nodes and laws.
 *
 * Flows become mass flows here.  A volume flow is actual, at the density of the
 * air entering the link, so each coefficient comes for both directions.
 */
#include "air/air_impl.h"

#include "matter/matter.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double gravity_m_s2 = 9.80665;       /* standard gravity, ISO 80000-3 */
static const double wide_open_plenum_ratio = 0.5; /* assumed share of the plenum pressure a terminal
                                                     wide open needs; said in assumed[] */

/* A station or fixed exhaust whose branch the file leaves out still needs a main
 * that pulls: its valve wide open is given this drop.  Said in assumed[]; common practice, no source. */
static const double valve_alone_Pa = 1.0;

/* ---- coefficients ---- */

static struct net_member power(double k_forward, double k_backward, double m)
{
  return (struct net_member){.kind = NET_POWER, .k = {k_forward, k_backward}, .m = m};
}

/* Q = C dp^n  <=>  dp = (g / (rho C))^(1/n), for the density of either end. */
static struct net_member leak_member(const struct facility_leak_law *law, const double rho[2])
{
  double k[2], n = law->form == FACILITY_POWER_LAW ? law->n : 0.5;

  for (int d = 0; d < 2; d++) {
    double c = law->form == FACILITY_ORIFICE
                   ? law->coefficient_ratio * law->area_m2 * sqrt(2.0 / rho[d])
               : law->form == FACILITY_ORIFICE_PRINTED ? law->constant * law->area_m2
                                                       : law->c;

    k[d] = pow(rho[d] * c, -1.0 / n);
  }
  return power(k[0], k[1], 1.0 / n);
}

static struct net_member resistance_member(const struct facility_resistance *r, const double rho[2],
                                           double viscosity_Pa_s)
{
  double k[2] = {0.0, 0.0};

  if (r->form == FACILITY_GEOMETRY)
    return (struct net_member){
        .kind = NET_DARCY,
        .length_m = r->length_m,
        .diameter_m = r->hydraulic_diameter_m,
        .area_m2 = r->area_m2,
        .roughness_m = r->roughness_m,
        .loss_ratio = r->loss_ratio,
        .density_kg_m3 = {rho[0], rho[1]},
        .viscosity_Pa_s = viscosity_Pa_s,
    };
  for (int d = 0; d < 2; d++) {
    if (r->form == FACILITY_DROP_AT_FLOW)
      k[d] = r->drop_Pa / pow(rho[d] * r->flow_m3_s, r->exponent);
    else if (r->form == FACILITY_LUMPED)
      k[d] = r->lumped_Pa_s2_m6 / (rho[d] * rho[d]);
    else if (r->form == FACILITY_LOSS)
      k[d] = r->loss_ratio / (2.0 * rho[d] * r->area_m2 * r->area_m2);
  }
  return power(k[0], k[1], r->form == FACILITY_DROP_AT_FLOW ? r->exponent : 2.0);
}

/* ---- the shape: which links there are ---- */

static const char *derived_id(struct air *air, const char *id, const char *suffix)
{
  return air_say(&air->arena, "%s/%s", id, suffix);
}

static int add_link(struct air *air, enum air_link_kind kind, int index, int feed, const char *id,
                    int from, int to)
{
  int i = air->problem.link_count++;

  air->meanings[i] = (struct air_link_meaning){kind, index, feed, id};
  air->links[i] = (struct net_link){
      .from = from,
      .to = to,
      .law = NET_SHUT,
      .members = &air->members[i * AIR_MEMBERS_PER_LINK],
      .held = NET_NONE,
      .over = NET_NONE,
      .most_kg_s = INFINITY,
  };
  return i;
}

static void add_passive_links(struct air *air)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->leak_count; i++)
    add_link(air, AIR_LINK_LEAK, i, -1, f->leaks[i].part.id, f->leaks[i].from, f->leaks[i].to);
  for (int i = 0; i < f->door_count; i++)
    air->door_link[i] =
        add_link(air, AIR_LINK_DOOR, i, -1, f->doors[i].part.id, f->doors[i].from, f->doors[i].to);
  for (int i = 0; i < f->duct_count; i++)
    air->duct_link[i] =
        add_link(air, AIR_LINK_DUCT, i, -1, f->ducts[i].part.id, f->ducts[i].from, f->ducts[i].to);
  for (int i = 0; i < f->fan_count; i++) {
    const struct facility_fan *fan = &f->fans[i];

    air->fan_link[i] = add_link(air, AIR_LINK_FAN, i, -1, fan->part.id, fan->from, fan->to);
    air->stopped_link[i] = -1;
    if (fan->open_when_stopped)
      air->stopped_link[i] = add_link(air, AIR_LINK_FAN_STOPPED, i, -1,
                                      derived_id(air, fan->part.id, "stopped"), fan->from, fan->to);
  }
}

static void add_decreed_links(struct air *air)
{
  const struct facility *f = air->facility;
  int outdoors = facility_node_outdoors(f);

  for (int i = 0; i < f->exhaust_count; i++)
    air->exhaust_link[i] =
        add_link(air, AIR_LINK_EXHAUST, i, -1, f->exhausts[i].part.id, f->exhausts[i].from,
                 f->exhausts[i].to >= 0 ? f->exhausts[i].to : outdoors);
  for (int i = 0; i < f->station_count; i++)
    air->station_link[i] =
        add_link(air, AIR_LINK_STATION, i, -1, f->stations[i].part.id, f->stations[i].room,
                 f->stations[i].joins >= 0 ? f->stations[i].joins : outdoors);
  for (int i = 0; i < f->supply_count; i++) {
    const struct facility_supply *s = &f->supplies[i];
    int from = s->has_most ? facility_node_plenum(f, i) : outdoors;

    air->unit_link[i] = -1;
    if (s->has_most)
      air->unit_link[i] = add_link(air, AIR_LINK_UNIT, i, -1, s->part.id, outdoors, from);
    for (int j = 0; j < s->feed_count; j++)
      air->feed_link[i][j] =
          add_link(air, AIR_LINK_FEED, i, j, s->feeds[j].part.id, from, s->feeds[j].room);
  }
}

static int count_links(const struct facility *f)
{
  int count = f->leak_count + f->door_count + f->duct_count + 2 * f->fan_count + f->exhaust_count +
              f->station_count + f->supply_count;

  for (int i = 0; i < f->supply_count; i++)
    count += f->supplies[i].feed_count;
  return count;
}

static bool make_room(struct air *air)
{
  const struct facility *f = air->facility;
  struct arena *a = &air->arena;
  size_t links = (size_t)count_links(f) + 1, nodes = (size_t)facility_node_count(f) + 1;

  air->nodes = ARENA_ARRAY(a, struct net_node, nodes);
  air->links = ARENA_ARRAY(a, struct net_link, links);
  air->members = ARENA_ARRAY(a, struct net_member, links * AIR_MEMBERS_PER_LINK);
  air->meanings = ARENA_ARRAY(a, struct air_link_meaning, links);
  air->fans = ARENA_ARRAY(a, struct net_fan, (size_t)f->fan_count + 1);
  air->density_kg_m3 = ARENA_ARRAY(a, double, nodes);
  air->unmodelled = ARENA_ARRAY(a, bool, nodes);
  air->station_link = ARENA_ARRAY(a, int, (size_t)f->station_count + 1);
  air->exhaust_link = ARENA_ARRAY(a, int, (size_t)f->exhaust_count + 1);
  air->door_link = ARENA_ARRAY(a, int, (size_t)f->door_count + 1);
  air->duct_link = ARENA_ARRAY(a, int, (size_t)f->duct_count + 1);
  air->fan_link = ARENA_ARRAY(a, int, (size_t)f->fan_count + 1);
  air->stopped_link = ARENA_ARRAY(a, int, (size_t)f->fan_count + 1);
  air->unit_link = ARENA_ARRAY(a, int, (size_t)f->supply_count + 1);
  air->feed_link = ARENA_ARRAY(a, int *, (size_t)f->supply_count + 1);
  for (int i = 0; i < f->supply_count; i++)
    air->feed_link[i] = ARENA_ARRAY(a, int, (size_t)f->supplies[i].feed_count + 1);
  return true;
}

/* A node that no law touches, only decreed flows, has no pressure to speak of:
 * it takes what air it needs.  Marking it keeps a coarse suite answerable. */
static void mark_unmodelled(struct air *air)
{
  const struct facility *f = air->facility;
  int outdoors = facility_node_outdoors(f);

  for (int i = 0; i < air->problem.node_count; i++)
    air->unmodelled[i] = i != outdoors && !air->nodes[i].fixed;
  for (int i = 0; i < air->problem.link_count; i++) {
    const struct air_link_meaning *m = &air->meanings[i];
    bool by_law = m->kind <= AIR_LINK_FAN_STOPPED || m->kind == AIR_LINK_UNIT;

    if (m->kind == AIR_LINK_STATION)
      by_law = f->stations[m->index].joins >= 0;
    if (m->kind == AIR_LINK_EXHAUST)
      by_law = air->links[i].to != outdoors;
    if (m->kind == AIR_LINK_FEED)
      by_law = f->supplies[m->index].feeds[m->feed].form != FACILITY_FEED_FLOW;
    if (by_law) {
      air->unmodelled[air->links[i].from] = false;
      air->unmodelled[air->links[i].to] = false;
    }
  }
  for (int i = 0; i < f->junction_count; i++)
    if (f->junctions[i].gives_m3_s != 0.0)
      air->unmodelled[f->room_count + i] = false;
}

/* ---- density ---- */

struct climate {
  double temperature_K, rh, elevation_m;
};

static struct climate node_climate(const struct facility *f, const struct scene *scene, int node)
{
  int junction = node - f->room_count, supply = node - facility_node_outdoors(f) - 1;

  if (node < f->room_count)
    return (struct climate){f->rooms[node].temperature_K, f->rooms[node].relative_humidity_ratio,
                            f->rooms[node].elevation_m};
  if (junction < f->junction_count)
    return (struct climate){f->junctions[junction].temperature_K,
                            f->junctions[junction].relative_humidity_ratio,
                            f->junctions[junction].elevation_m};
  if (supply >= 0)
    return (struct climate){f->supplies[supply].temperature_K,
                            f->supplies[supply].relative_humidity_ratio, 0.0};
  return (struct climate){scene && scene->has_outdoor_temperature ? scene->outdoor_temperature_K
                                                                  : f->outdoor_temperature_K,
                          f->outdoor_relative_humidity_ratio, 0.0};
}

static void set_densities(struct air *air, const struct scene *scene)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < air->problem.node_count; i++) {
    struct climate c = node_climate(f, scene, i);

    air->density_kg_m3[i] =
        f->has_air_density ? f->air_density_kg_m3
                           : matter_air_density_kg_m3(c.temperature_K, c.rh, f->site_pressure_Pa);
  }
}

/* Pressures are gauge to outdoors at the same height, so a column of other air
 * drives flow: (rho_out - rho) g (z_to - z_from), ASHRAE F21 ch. 21 eq. 14. */
static double lift_Pa(const struct air *air, const struct scene *scene, const struct net_link *link)
{
  const struct facility *f = air->facility;
  double rise_m =
      node_climate(f, scene, link->to).elevation_m - node_climate(f, scene, link->from).elevation_m;

  if (link->from == facility_node_outdoors(f) || link->to == facility_node_outdoors(f))
    rise_m = 0.0; /* outdoors is everywhere: the link opens at its own height */
  return (air->density_kg_m3[facility_node_outdoors(f)] - air->density_kg_m3[link->from]) *
         gravity_m_s2 * rise_m;
}

/* ---- values ---- */

static void set_node_values(struct air *air)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < air->problem.node_count; i++) {
    int junction = i - f->room_count;
    bool is_junction = junction >= 0 && junction < f->junction_count;

    air->nodes[i] = (struct net_node){.fixed = i == facility_node_outdoors(f)};
    if (is_junction) {
      air->nodes[i].fixed = f->junctions[junction].has_pressure;
      air->nodes[i].pressure_Pa = f->junctions[junction].pressure_Pa;
      air->nodes[i].inflow_kg_s = f->junctions[junction].gives_m3_s * air->density_kg_m3[i];
    }
  }
}

static double viscosity_at(const struct air *air, const struct scene *scene, int node)
{
  const struct facility *f = air->facility;

  return f->has_air_viscosity
             ? f->air_viscosity_Pa_s
             : matter_air_viscosity_Pa_s(node_climate(f, scene, node).temperature_K);
}

static void set_members(struct air *air, const struct scene *scene, int link)
{
  const struct facility *f = air->facility;
  const struct air_link_meaning *m = &air->meanings[link];
  struct net_link *l = &air->links[link];
  struct net_member *member = &air->members[link * AIR_MEMBERS_PER_LINK];
  const double rho[2] = {air->density_kg_m3[l->from], air->density_kg_m3[l->to]};
  double mu = viscosity_at(air, scene, l->from);

  l->lift_Pa = lift_Pa(air, scene, l);
  if (m->kind == AIR_LINK_LEAK) {
    *member = leak_member(&f->leaks[m->index].law, rho);
    l->law = NET_RESIST;
    l->member_count = 1;
  } else if (m->kind == AIR_LINK_STATION &&
             f->stations[m->index].branch.form != FACILITY_NO_RESISTANCE) {
    *member = resistance_member(&f->stations[m->index].branch, rho, mu);
    l->member_count = 1;
  }
}

/* Everything that depends on the weather and not on the minute. */
static void set_climate(struct air *air, const struct scene *scene)
{
  set_densities(air, scene);
  set_node_values(air);
  for (int i = 0; i < air->problem.node_count; i++)
    if (air->unmodelled[i])
      air->nodes[i].fixed = true;
  for (int i = 0; i < air->problem.link_count; i++)
    set_members(air, scene, i);
  air->outdoor_temperature_K =
      node_climate(air->facility, scene, facility_node_outdoors(air->facility)).temperature_K;
}

static void set_door(struct air *air, const struct scene *scene, int door)
{
  const struct facility_door *d = &air->facility->doors[door];
  const struct facility_leak_law *law = scene->door_open[door] ? &d->open : &d->closed;
  struct net_link *l = &air->links[air->door_link[door]];
  const double rho[2] = {air->density_kg_m3[d->from], air->density_kg_m3[d->to]};

  l->law = law->form == FACILITY_NO_LEAK ? NET_SHUT : NET_RESIST;
  l->member_count = 1;
  if (l->law == NET_RESIST)
    air->members[air->door_link[door] * AIR_MEMBERS_PER_LINK] = leak_member(law, rho);
}

static void set_duct(struct air *air, const struct scene *scene, int duct)
{
  const struct facility_duct *d = &air->facility->ducts[duct];
  struct net_link *l = &air->links[air->duct_link[duct]];
  struct net_member *member = &air->members[air->duct_link[duct] * AIR_MEMBERS_PER_LINK];
  const double rho[2] = {air->density_kg_m3[d->from], air->density_kg_m3[d->to]};

  l->law = NET_RESIST;
  l->member_count = 1;
  if (!scene->duct_shut[duct] || d->shut_leak.form == FACILITY_NO_LEAK)
    *member = resistance_member(&d->resistance, rho, viscosity_at(air, scene, d->from));
  else
    *member = leak_member(&d->shut_leak, rho);
  if (scene->duct_shut[duct] && d->shut_leak.form == FACILITY_NO_LEAK)
    l->law = NET_SHUT; /* tight; its members stay sound, because the net checks them */
}

static void set_fan(struct air *air, const struct scene *scene, int fan)
{
  static const enum net_curve_kind kinds[] = {
      [FACILITY_MONOTONE_CUBIC] = NET_CURVE_TABLE_CUBIC,
      [FACILITY_LINEAR] = NET_CURVE_TABLE_LINEAR,
      [FACILITY_NATURAL_SPLINE] = NET_CURVE_TABLE_SPLINE,
  };
  const struct facility_fan *f = &air->facility->fans[fan];
  struct net_link *l = &air->links[air->fan_link[fan]];
  double rho = air->density_kg_m3[f->from];
  int running = scene->fan_running[fan], stopped = f->count - running;

  air->fans[fan] = (struct net_fan){
      .kind = f->curve == FACILITY_CURVE_TABLE ? kinds[f->between] : NET_CURVE_A_MINUS_B_Q2,
      .point_count = f->point_count,
      .flow_m3_s = f->flow_m3_s,
      .rise_Pa = f->rise_Pa,
      .a_Pa = f->a_Pa,
      .b_Pa_s2_m6 = f->b_Pa_s2_m6,
      .density_kg_m3 = rho,
      .rise_factor = f->has_rated_density ? rho / f->rated_density_kg_m3 : 1.0,
      .speed_ratio = f->speed_ratio,
      .running = running > 0 ? running : 1,
      .holds = f->holds,
      .held = f->holds ? f->hold_node : NET_NONE,
      .over = f->holds && f->hold_over != facility_node_outdoors(air->facility) ? f->hold_over
                                                                                : NET_NONE,
      .hold_Pa = f->hold_Pa,
      .least_speed_ratio = f->least_speed_ratio,
      .most_speed_ratio = f->most_speed_ratio,
  };
  l->law = running > 0 ? NET_FAN : NET_SHUT;
  l->fan = &air->fans[fan];
  if (air->stopped_link[fan] >= 0) {
    struct net_link *open = &air->links[air->stopped_link[fan]];
    const double both[2] = {rho, air->density_kg_m3[f->to]};
    struct net_member member =
        resistance_member(&f->stopped, both, viscosity_at(air, scene, f->from));

    for (int d = 0; d < 2 && stopped > 0; d++) /* equal paths side by side */
      member.k[d] /= pow(stopped, member.m);
    member.area_m2 *= stopped;
    air->members[air->stopped_link[fan] * AIR_MEMBERS_PER_LINK] = member;
    open->law = stopped > 0 ? NET_RESIST : NET_SHUT;
    open->member_count = 1;
  }
}

/* A face and a deck that nothing controls: orifices side by side at one drop. */
static double passive_area_m2(const struct facility_station *s, const struct scene_station *now)
{
  double opening_m = now->raised ? now->opening_m : s->parked_m;
  double share = s->deck_share_ratio;
  double deck_m2 = share > 0.0 ? share / (1.0 - share) * s->width_m * s->work_m : 0.0;

  return s->width_m * opening_m + s->bypass_area_m2 + deck_m2 * (1.0 - now->cover_ratio);
}

static void set_passive(struct air *air, const struct scene *scene, int station)
{
  const struct facility_station *s = &air->facility->stations[station];
  int link = air->station_link[station];
  struct net_link *l = &air->links[link];
  struct net_member *members = &air->members[link * AIR_MEMBERS_PER_LINK];
  double area_m2 = passive_area_m2(s, &scene->stations[station]);
  const double rho[2] = {air->density_kg_m3[l->from], air->density_kg_m3[l->to]};
  struct facility_leak_law face = {
      .form = FACILITY_ORIFICE, .area_m2 = area_m2, .coefficient_ratio = s->face_coefficient_ratio};

  if (area_m2 <= 0.0)
    face.area_m2 = s->width_m * s->work_m; /* shut: any sound member will do */
  l->law = s->in_service && area_m2 > 0.0 ? NET_RESIST : NET_SHUT;
  l->member_count = s->branch.form == FACILITY_NO_RESISTANCE ? 1 : 2;
  members[l->member_count - 1] = leak_member(&face, rho);
}

/* A valve that nothing is known of but its flow: wide open it drops valve_alone_Pa there. */
static void needs_a_pull(struct air *air, int link)
{
  struct net_link *l = &air->links[link];
  double k = valve_alone_Pa / (l->set_kg_s * l->set_kg_s);

  air->members[link * AIR_MEMBERS_PER_LINK] = power(k, k, 2.0);
  l->member_count = 1;
}

static void set_station(struct air *air, const struct scene *scene, int station)
{
  const struct facility_station *s = &air->facility->stations[station];
  struct net_link *l = &air->links[air->station_link[station]];
  double ask = scene_station_ask_m3_s(air->facility, scene, station);

  if (s->flow == FACILITY_PASSIVE) {
    set_passive(air, scene, station);
    return;
  }
  l->law = ask > 0.0 ? NET_SET_FLOW : NET_SHUT;
  l->set_kg_s = ask * air->density_kg_m3[l->from];
  if (s->joins >= 0 && s->branch.form == FACILITY_NO_RESISTANCE && ask > 0.0)
    needs_a_pull(air, air->station_link[station]);
}

/* Every station and exhaust that leaves the room, for a supply that follows them. */
static void collect_exhaust(struct air *air, struct net_link *l, int room)
{
  int *list = ARENA_ARRAY(&air->arena, int, (size_t)air->problem.link_count + 1);

  l->follow_count = 0;
  for (int i = 0; i < air->problem.link_count; i++)
    if (air->links[i].from == room &&
        (air->meanings[i].kind == AIR_LINK_EXHAUST || air->meanings[i].kind == AIR_LINK_STATION))
      list[l->follow_count++] = i;
  l->follows = list;
}

static void set_feed_law(struct air *air, struct net_link *l, const struct facility_feed *feed,
                         double rho)
{
  l->least_kg_s = feed->least_m3_s * rho;
  l->most_kg_s = feed->has_most ? feed->most_m3_s * rho : (double)INFINITY;
  switch (feed->form) {
  case FACILITY_FEED_FLOW:
    l->law = feed->flow_m3_s > 0.0 ? NET_SET_FLOW : NET_SHUT;
    l->set_kg_s = feed->flow_m3_s * rho;
    break;
  case FACILITY_FEED_HOLDS:
    l->law = NET_HOLD;
    l->held = feed->room;
    l->over = feed->over == facility_node_outdoors(air->facility) ? NET_NONE : feed->over;
    l->hold_Pa = feed->hold_Pa;
    break;
  case FACILITY_FEED_FOLLOWS:
    l->law = NET_FOLLOW;
    l->set_kg_s = feed->offset_m3_s * rho;
    if (!l->follows)
      collect_exhaust(air, l, feed->room);
    break;
  }
}

/* What the terminal lets through wide open; only a unit with a limit can run short of it. */
static void set_wide_open(struct air *air, const struct facility_supply *s,
                          const struct facility_feed *feed, int link, double rho)
{
  double flow_m3_s = feed->has_wide_open                ? feed->wide_open_m3_s
                     : feed->has_most                   ? feed->most_m3_s
                     : feed->form == FACILITY_FEED_FLOW ? feed->flow_m3_s
                                                        : s->most_m3_s;
  double drop_Pa = feed->has_wide_open ? feed->wide_open_Pa : wide_open_plenum_ratio * s->plenum_Pa;
  double k = flow_m3_s > 0.0 ? drop_Pa / (rho * rho * flow_m3_s * flow_m3_s) : 0.0;

  air->members[link * AIR_MEMBERS_PER_LINK] = power(k, k, 2.0);
  air->links[link].member_count = k > 0.0 ? 1 : 0;
}

static void set_supply(struct air *air, const struct scene *scene, int supply)
{
  const struct facility_supply *s = &air->facility->supplies[supply];
  int plenum = facility_node_plenum(air->facility, supply);
  double rho = air->density_kg_m3[plenum];
  bool off = scene->supply_off[supply];

  air->nodes[plenum].fixed = !s->has_most || off; /* nothing passes: any value does */
  if (s->has_most) {
    struct net_link *unit = &air->links[air->unit_link[supply]];

    unit->law = off ? NET_SHUT : NET_HOLD;
    unit->held = plenum;
    unit->hold_Pa = s->plenum_Pa;
    unit->least_kg_s = 0.0;
    unit->most_kg_s = s->most_m3_s * rho;
  }
  for (int j = 0; j < s->feed_count; j++) {
    int link = air->feed_link[supply][j];

    if (off) {
      air->links[link].law = NET_SHUT;
      continue;
    }
    set_feed_law(air, &air->links[link], &s->feeds[j], rho);
    if (s->has_most)
      set_wide_open(air, s, &s->feeds[j], link, rho);
  }
}

static void set_exhausts(struct air *air)
{
  for (int i = 0; i < air->facility->exhaust_count; i++) {
    struct net_link *l = &air->links[air->exhaust_link[i]];

    l->law = air->facility->exhausts[i].flow_m3_s > 0.0 ? NET_SET_FLOW : NET_SHUT;
    l->set_kg_s = air->facility->exhausts[i].flow_m3_s * air->density_kg_m3[l->from];
    if (l->law == NET_SET_FLOW && l->to != facility_node_outdoors(air->facility))
      needs_a_pull(air, air->exhaust_link[i]);
  }
}

static void set_values(struct air *air, const struct scene *scene)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->door_count; i++)
    set_door(air, scene, i);
  for (int i = 0; i < f->duct_count; i++)
    set_duct(air, scene, i);
  for (int i = 0; i < f->fan_count; i++)
    set_fan(air, scene, i);
  for (int i = 0; i < f->station_count; i++)
    set_station(air, scene, i);
  for (int i = 0; i < f->supply_count; i++)
    set_supply(air, scene, i);
  set_exhausts(air);
}

/* ---- public within the folder ---- */

/* Did anything but sashes change since the last scene? */
static bool plant_changed(const struct air *air, const struct scene *scene)
{
  const struct facility *f = air->facility;
  const struct scene *last = &air->last;

  return memcmp(last->door_open, scene->door_open, (size_t)f->door_count * sizeof(bool)) != 0 ||
         memcmp(last->fan_running, scene->fan_running, (size_t)f->fan_count * sizeof(int)) != 0 ||
         memcmp(last->supply_off, scene->supply_off, (size_t)f->supply_count * sizeof(bool)) != 0 ||
         memcmp(last->duct_shut, scene->duct_shut, (size_t)f->duct_count * sizeof(bool)) != 0;
}

bool air_station_changed(const struct scene_station *a, const struct scene_station *b)
{
  return a->raised != b->raised || a->opening_m != b->opening_m || a->blocked != b->blocked ||
         a->cover_ratio != b->cover_ratio || a->has_ask != b->has_ask || a->ask_m3_s != b->ask_m3_s;
}

/* Searches ask thousands of scenes that differ by a sash or two: only what
 * changed is made anew. */
void air_network_set_scene(struct air *air, const struct scene *scene)
{
  const struct facility *f = air->facility;
  double outdoors_K = node_climate(f, scene, facility_node_outdoors(f)).temperature_K;

  if (outdoors_K != air->outdoor_temperature_K || plant_changed(air, scene)) {
    if (outdoors_K != air->outdoor_temperature_K)
      set_climate(air, scene);
    set_values(air, scene);
    net_update(air->net, &air->problem);
  } else {
    for (int i = 0; i < f->station_count; i++)
      if (air_station_changed(&air->last.stations[i], &scene->stations[i])) {
        set_station(air, scene, i);
        net_update_link(air->net, &air->problem, air->station_link[i]);
      }
  }
  scene_assign(f, &air->last, scene);
}

static enum err_code refuse_what_cannot_be(const struct facility *f, struct err *err)
{
  if (f->main_count + f->supply_count > AIR_POOLS_MAX)
    return err_set(err, ERR_LIMIT, "%d mains and supplies; at most %d are judged together",
                   f->main_count + f->supply_count, AIR_POOLS_MAX);
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].flow == FACILITY_PASSIVE && f->stations[i].joins < 0)
      return err_set(err, ERR_INPUT,
                     "station %s is passive, so its main needs a network: give main %s an 'at'",
                     f->stations[i].part.id, f->mains[f->stations[i].main].part.id);
  return ERR_OK;
}

/* The solver refuses by number; a person knows the ids of the file. */
static void name_link(const struct air *air, struct err *err)
{
  char *rest, named[sizeof err->text];

  if (strncmp(err->text, "link ", 5) != 0)
    return;
  long link = strtol(err->text + 5, &rest, 10);

  snprintf(named, sizeof named, "%s%s", air->meanings[link].id, rest);
  memcpy(err->text, named, sizeof named);
}

enum err_code air_network_build(struct air *air, struct err *err)
{
  const struct facility *f = air->facility;
  enum err_code code = refuse_what_cannot_be(f, err);
  struct scene scene;

  if (code != ERR_OK)
    return code;
  make_room(air);
  air->problem.node_count = facility_node_count(f);
  add_passive_links(air);
  add_decreed_links(air);
  air->problem.nodes = air->nodes;
  air->problem.links = air->links;

  scene = scene_parked(f, &air->arena);
  air->last = scene;
  set_densities(air, &scene);
  set_node_values(air);
  mark_unmodelled(air);
  set_climate(air, &scene);
  set_values(air, &scene);
  air->net = net_new(&air->problem, err);
  if (!air->net && err)
    name_link(air, err);
  return air->net ? ERR_OK : ERR_INPUT;
}

double air_link_flow_m3_s(const struct air *air, int link)
{
  const struct net_link *l = &air->links[link];
  double g = net_flow_kg_s(air->net, link);
  enum air_link_kind kind = air->meanings[link].kind;
  int entering = g >= 0.0 ? l->from : l->to;

  if (air->failed)
    return (double)NAN;
  if (kind == AIR_LINK_UNIT || kind == AIR_LINK_FEED) /* a supply's flows are of supplied air */
    entering = facility_node_plenum(air->facility, air->meanings[link].index);
  return g / air->density_kg_m3[entering];
}

double air_station_branch_drop_Pa(const struct air *air, int station)
{
  int link = air->station_link[station];
  double drop = 0.0;

  for (int i = 0; i < air->links[link].member_count; i++)
    drop += net_member_drop_Pa(air->net, link, i);
  return drop;
}
