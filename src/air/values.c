/*
 * The values of the network's nodes and links, for a facility and a scene.
 *
 * Flows become mass flows here.  A volume flow is actual, at the density of the
 * air entering the link, so each coefficient comes for both directions.
 */
#include "air/air_impl.h"

#include "matter/matter.h"

#include <math.h>
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
  bool off = scene->supply_off[supply], bare = air_is_bare(air->facility);

  air->nodes[plenum].fixed = !s->has_most || off || bare; /* nothing passes: any value does */
  if (s->has_most && !bare) {
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
    if (s->has_most && !bare) /* a bare unit is judged by what it is asked for */
      set_wide_open(air, s, &s->feeds[j], link, rho);
  }
}

static void set_exhaust(struct air *air, int i)
{
  struct net_link *l = &air->links[air->exhaust_link[i]];

  l->law = air->facility->exhausts[i].flow_m3_s > 0.0 ? NET_SET_FLOW : NET_SHUT;
  l->set_kg_s = air->facility->exhausts[i].flow_m3_s * air->density_kg_m3[l->from];
  if (l->law == NET_SET_FLOW && l->to != facility_node_outdoors(air->facility))
    needs_a_pull(air, air->exhaust_link[i]);
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
  for (int i = 0; i < f->exhaust_count; i++)
    set_exhaust(air, i);
}

void air_values_nodes(struct air *air, const struct scene *scene)
{
  set_densities(air, scene);
  set_node_values(air);
}

void air_values_all(struct air *air, const struct scene *scene)
{
  set_climate(air, scene);
  set_values(air, scene);
}

/* ---- one figure moved ---- */

/* What a solve can see of a link; where its control is at its set point, its path does not count. */
static bool looks_moved(const struct air *air, int link, const struct net_link *was,
                        const struct net_member was_members[AIR_MEMBERS_PER_LINK])
{
  const struct net_link *now = &air->links[link];
  bool on_set = !air->failed && net_link_segment(air->net, link) == NET_ON_SET;
  bool path =
      memcmp(now->members, was_members, (size_t)now->member_count * sizeof *was_members) != 0;

  if (now->law != was->law || now->set_kg_s != was->set_kg_s || now->hold_Pa != was->hold_Pa)
    return true;
  return !on_set &&
         (path || now->least_kg_s != was->least_kg_s || now->most_kg_s != was->most_kg_s);
}

static void set_link(struct air *air, int link)
{
  const struct air_link_meaning *m = &air->meanings[link];

  switch ((int)m->kind) {
  case AIR_LINK_DOOR:
    set_door(air, &air->last, m->index);
    break;
  case AIR_LINK_DUCT:
    set_duct(air, &air->last, m->index);
    break;
  case AIR_LINK_FAN:
  case AIR_LINK_FAN_STOPPED:
    set_fan(air, &air->last, m->index);
    break;
  case AIR_LINK_EXHAUST:
    set_exhaust(air, m->index);
    break;
  case AIR_LINK_UNIT:
  case AIR_LINK_FEED:
    set_supply(air, &air->last, m->index);
    break;
  case AIR_LINK_STATION:
    set_members(air, &air->last, link);
    set_station(air, &air->last, m->index);
    break;
  default:
    set_members(air, &air->last, link);
  }
}

/* The first link whose values hang on that figure, and how many stand in a row; 0: none. */
static int links_of(const struct air *air, const struct facility_input *in, int *first_out)
{
  switch (in->move) {
  case FACILITY_MOVE_LEAK:
    *first_out = in->index; /* leaks are the first links */
    return 1;
  case FACILITY_MOVE_DOOR_CLOSED:
  case FACILITY_MOVE_DOOR_OPEN:
    *first_out = air->door_link[in->index];
    return 1;
  case FACILITY_MOVE_DUCT_DROP:
  case FACILITY_MOVE_DUCT_FLOW:
    *first_out = air->duct_link[in->index];
    return 1;
  case FACILITY_MOVE_FAN_CURVE:
  case FACILITY_MOVE_FAN_HOLD:
    *first_out = air->fan_link[in->index];
    return 1;
  case FACILITY_MOVE_EXHAUST:
    *first_out = air->exhaust_link[in->index];
    return 1;
  case FACILITY_MOVE_SUPPLY_MOST: /* the unit, then its terminals */
    *first_out = air->unit_link[in->index];
    return 1 + air->facility->supplies[in->index].feed_count;
  case FACILITY_MOVE_FEED_FLOW:
  case FACILITY_MOVE_FEED_HOLD:
  case FACILITY_MOVE_FEED_OFFSET:
  case FACILITY_MOVE_FEED_MOST:
  case FACILITY_MOVE_FEED_WIDE_OPEN:
    *first_out = air->feed_link[in->index][in->sub];
    return 1;
  case FACILITY_MOVE_STATION_CONSTANT:
  case FACILITY_MOVE_STATION_PARKED:
  case FACILITY_MOVE_STATION_WORK:
  case FACILITY_MOVE_STATION_VELOCITY:
  case FACILITY_MOVE_STATION_LEAST:
  case FACILITY_MOVE_STATION_MOST:
  case FACILITY_MOVE_STATION_FACE:
  case FACILITY_MOVE_BRANCH_DROP:
  case FACILITY_MOVE_BRANCH_FLOW:
    *first_out = air->station_link[in->index];
    return 1;
  case FACILITY_MOVE_MAIN_CAPACITY:
  case FACILITY_MOVE_SUPPLY_CAPACITY:
    break;
  }
  return 0;
}

bool air_values_moved(struct air *air, const struct facility_input *in)
{
  int first = 0, count = links_of(air, in, &first);
  bool moved = in->move == FACILITY_MOVE_FAN_CURVE && air->last.fan_running[in->index] > 0;

  for (int link = first; link < first + count; link++) {
    struct net_link was = air->links[link];
    struct net_member members[AIR_MEMBERS_PER_LINK];

    memcpy(members, was.members, sizeof members);
    set_link(air, link);
    moved = looks_moved(air, link, &was, members) || moved;
    net_update_link(air->net, &air->problem, link);
  }
  return moved || (in->move == FACILITY_MOVE_FAN_HOLD && air->last.fan_running[in->index] > 0);
}

void air_values_forget(struct air *air)
{
  air->outdoor_temperature_K = (double)NAN; /* unlike any weather: everything is set anew */
}

/* ---- public within the folder ---- */

bool air_door_member(const struct air *air, int door, bool open, struct net_member *out)
{
  const struct facility_door *d = &air->facility->doors[door];
  const struct facility_leak_law *law = open ? &d->open : &d->closed;
  const double rho[2] = {air->density_kg_m3[d->from], air->density_kg_m3[d->to]};

  if (law->form == FACILITY_NO_LEAK)
    return false;
  *out = leak_member(law, rho);
  return true;
}

void air_duct_member(const struct air *air, int duct, struct net_member *out)
{
  const struct facility_duct *d = &air->facility->ducts[duct];
  const double rho[2] = {air->density_kg_m3[d->from], air->density_kg_m3[d->to]};

  *out = resistance_member(&d->resistance, rho, viscosity_at(air, &air->last, d->from));
}

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

  if (air->driven)
    air_values_forget(air);
  air->driven = false;
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
