#include "random_net.h"

#include <math.h>
#include <string.h>

static double unit(struct random_net *r)
{
  return numeric_random_unit(&r->random);
}

static double between(struct random_net *r, double low, double high)
{
  return numeric_random_between(&r->random, low, high);
}

static double spread(struct random_net *r, double low, double high) /* even in the logarithm */
{
  return exp(between(r, log(low), log(high)));
}

static bool chance(struct random_net *r, double p)
{
  return unit(r) < p;
}

static bool odd(struct random_net *r, double p) /* a degenerate feature */
{
  return r->kind == RANDOM_NET_DEGENERATE && chance(r, p);
}

static int add_node(struct random_net *r)
{
  r->nodes[r->node_count] = (struct net_node){0};
  return r->node_count++;
}

static struct net_link *add_link(struct random_net *r, int from, int to, enum net_law law)
{
  struct net_link *link = &r->links[r->link_count++];
  if (chance(r, 0.2)) { /* either way round */
    int t = from;
    from = to;
    to = t;
  }
  *link = (struct net_link){.from = from, .to = to, .law = law, .held = NET_NONE, .over = NET_NONE};
  link->members = &r->members[r->member_count];
  return link;
}

static void straighten(struct net_link *link, int from)
{
  if (link->from == from)
    return;
  link->to = link->from;
  link->from = from;
}

static void add_power(struct random_net *r, struct net_link *link, double k, double m)
{
  if (odd(r, 0.03))
    k = 1e12;
  if (odd(r, 0.04))
    k = chance(r, 0.3) ? 0 : spread(r, 1e-12, 1e-4);
  if (odd(r, 0.05))
    m = chance(r, 0.5) ? 1 : 3;
  double back = chance(r, 0.5) ? k : k * between(r, 0.9, 1.1);
  r->members[r->member_count++] = (struct net_member){.kind = NET_POWER, .k = {k, back}, .m = m};
  link->member_count++;
}

/* A duct sized for its flow. */
static void add_duct(struct random_net *r, struct net_link *link, double flow_kg_s)
{
  if (chance(r, 0.8)) {
    add_power(r, link, between(r, 5, 60) / (flow_kg_s * flow_kg_s), 2);
    return;
  }
  double area = flow_kg_s / 1.2 / between(r, 4, 10), d = sqrt(4 * area / 3.14159265);
  r->members[r->member_count++] = (struct net_member){.kind = NET_DARCY,
                                                      .length_m = between(r, 1, 20),
                                                      .diameter_m = d,
                                                      .area_m2 = area,
                                                      .roughness_m = 1.5e-4,
                                                      .loss_ratio = between(r, 0, 3),
                                                      .density_kg_m3 = {1.2, 1.19},
                                                      .viscosity_Pa_s = 1.82e-5};
  link->member_count++;
}

static void leak(struct random_net *r, int from, int to)
{
  if (odd(r, 0.35))
    return;
  struct net_link *link = add_link(r, from, to, NET_RESIST);
  double flow = spread(r, 0.01, 0.3); /* at 15 Pa */
  double m = 1 / between(r, 0.5, 0.75);
  if (odd(r, 0.3))
    m = chance(r, 0.5) ? 2 : 1;
  link->lift_Pa = chance(r, 0.2) ? between(r, -3, 3) : 0;
  add_power(r, link, 15 / pow(flow, m), m);
}

static struct net_fan *add_fan(struct random_net *r, double flow_kg_s, double rise_Pa)
{
  int index = r->fan_count++;
  struct net_fan *fan = &r->fans[index];
  double q = flow_kg_s / 1.2;
  *fan = (struct net_fan){.density_kg_m3 = 1.2,
                          .rise_factor = 1,
                          .running = 1,
                          .speed_ratio = chance(r, 0.5) ? 1 : between(r, 0.6, 1.1),
                          .held = NET_NONE,
                          .over = NET_NONE};
  if (odd(r, 0.1))
    fan->speed_ratio = 0;
  if (chance(r, 0.3)) {
    fan->running = 1 + numeric_random_below(&r->random, 3);
    q /= fan->running;
  }
  if (chance(r, 0.4)) {
    fan->kind = NET_CURVE_A_MINUS_B_Q2;
    fan->a_Pa = 1.5 * rise_Pa;
    fan->b_Pa_s2_m6 = 0.5 * rise_Pa / (q * q);
    return fan;
  }
  const double falling[] = {1.5, 1.45, 1.35, 1.2, 1.0, 0.7, 0.3};
  const double humped[] = {1.3, 1.1, 1.25, 1.3, 1.0, 0.7, 0.3};
  const double *shape = r->kind == RANDOM_NET_DEGENERATE && chance(r, 0.25) ? humped : falling;
  fan->kind = (enum net_curve_kind)numeric_random_below(&r->random, 3);
  fan->point_count = 7;
  fan->flow_m3_s = r->points[index][0];
  fan->rise_Pa = r->points[index][1];
  for (int i = 0; i < 7; i++) {
    r->points[index][0][i] = q * i / 4;
    r->points[index][1][i] = rise_Pa * shape[i];
  }
  return fan;
}

static void supply(struct random_net *r, int room, int outdoors, double flow_kg_s,
                   int exhaust_first, int exhaust_count)
{
  bool controlled = r->kind != RANDOM_NET_PLAIN && chance(r, 0.7);
  if (odd(r, 0.1))
    return;
  struct net_link *link = add_link(r, outdoors, room, NET_SET_FLOW);
  straighten(link, outdoors);
  link->set_kg_s = flow_kg_s;
  link->most_kg_s = flow_kg_s * between(r, 0.6, 1.6);
  if (controlled && chance(r, 0.5)) {
    link->law = NET_HOLD;
    link->held = room;
    link->hold_Pa = between(r, -20, 25);
    link->least_kg_s = chance(r, 0.5) ? 0 : 0.2 * link->most_kg_s;
    if (odd(r, 0.1)) /* a remote pressure, or one that is given */
      link->held = numeric_random_below(&r->random, r->node_count);
    if (link->held == link->over)
      link->over = NET_NONE;
  } else if (controlled && exhaust_count > 0) {
    link->law = NET_FOLLOW;
    link->set_kg_s = between(r, -0.1, 0.1);
    link->least_kg_s = 0.1 * flow_kg_s;
    link->follow_count = exhaust_count;
    link->follows = &r->follows[r->follow_count];
    for (int i = 0; i < exhaust_count; i++)
      r->follows[r->follow_count++] = exhaust_first + i;
    link->member_count = 0;
    return;
  } else if (chance(r, 0.3)) {
    link->lift_Pa = 60;
    add_power(r, link, 30 / (flow_kg_s * flow_kg_s), 2);
  }
  if (link->law == NET_HOLD && chance(r, 0.4)) {
    link->lift_Pa = 100;
    add_power(r, link, between(r, 30, 90) / (flow_kg_s * flow_kg_s), 2);
  }
}

/* Hood, valve or damper, branch; gives the index of its first link. */
static int station(struct random_net *r, int room, int header, double flow_kg_s)
{
  int hood = add_node(r), valve = add_node(r), first = r->link_count;
  struct net_link *link = add_link(r, room, hood, NET_RESIST);
  straighten(link, room);
  add_power(r, link, between(r, 5, 30) / (flow_kg_s * flow_kg_s), 2);
  link = add_link(r, hood, valve, NET_RESIST);
  if (chance(r, 0.5)) {
    straighten(link, hood);
    link->law = NET_SET_FLOW;
    link->set_kg_s = flow_kg_s * between(r, 0.3, 1.2);
  }
  add_power(r, link, between(r, 20, 200) / (flow_kg_s * flow_kg_s), 2);
  if (odd(r, 0.08))
    link->law = NET_SHUT;
  add_duct(r, add_link(r, valve, header, NET_RESIST), flow_kg_s);
  if (odd(r, 0.03))
    r->nodes[hood].inflow_kg_s = 0.02;
  return first;
}

static void exhaust_fan(struct random_net *r, int header, int stack, int room, double flow_kg_s)
{
  struct net_link *link = add_link(r, header, stack, NET_FAN);
  struct net_fan *fan = add_fan(r, flow_kg_s, between(r, 300, 900));
  straighten(link, header);
  link->fan = fan;
  if (odd(r, 0.07))
    link->law = NET_SHUT;
  if (r->kind == RANDOM_NET_PLAIN || chance(r, 0.5) ||
      (r->kind == RANDOM_NET_CONTROLLED && r->fan_count > 1))
    return; /* two fans that hold one pressure are a contradiction */
  fan->holds = true;
  fan->held = header;
  fan->hold_Pa = -between(r, 100, 500);
  fan->least_speed_ratio = chance(r, 0.3) ? 0 : between(r, 0.2, 0.5);
  fan->most_speed_ratio = between(r, 0.8, 1.2);
  if (odd(r, 0.1))
    fan->held = numeric_random_below(&r->random, r->node_count);
  if (odd(r, 0.1) && room != fan->held)
    fan->over = room;
}

void random_net_make(struct random_net *r, uint64_t seed, enum random_net_kind kind)
{
  numeric_random_seed(&r->random, seed * 3 + (uint64_t)kind);
  r->node_count = r->link_count = r->member_count = r->fan_count = r->follow_count = 0;
  r->kind = kind;
  int outdoors = add_node(r), corridor = add_node(r), header = add_node(r), first_room = 0;
  r->nodes[outdoors].fixed = true;
  r->nodes[corridor].fixed = chance(r, 0.5);
  r->nodes[corridor].pressure_Pa = r->nodes[corridor].fixed ? 5 : 0;
  leak(r, corridor, outdoors);
  int rooms = 1 + numeric_random_below(&r->random, 5), header_first = header;
  double total = 0;
  for (int i = 0; i < rooms; i++) {
    int room = add_node(r), stations = 1 + numeric_random_below(&r->random, 40 / rooms);
    double flow = 0;
    int exhaust = 0;
    first_room = i == 0 ? room : first_room;
    for (int s = 0; s < stations; s++) {
      double wanted = between(r, 0.15, 0.8);
      exhaust = station(r, room, header, wanted);
      flow += wanted;
      if (chance(r, 0.4)) {
        int next = add_node(r);
        add_duct(r, add_link(r, header, next, NET_RESIST), total + flow);
        header = next;
      }
    }
    supply(r, room, outdoors, flow * between(r, 0.7, 1.2), exhaust, 1);
    leak(r, room, corridor);
    leak(r, room, outdoors);
    if (i > 0 && chance(r, 0.4))
      leak(r, room, first_room);
    total += flow;
  }
  if (chance(r, 0.3) && header != header_first)
    add_duct(r, add_link(r, header_first, header, NET_RESIST), 0.3 * total);
  int stack = add_node(r), fans = 1 + numeric_random_below(&r->random, 2);
  for (int f = 0; f < fans; f++)
    exhaust_fan(r, header, stack, first_room, total / fans);
  add_duct(r, add_link(r, stack, outdoors, NET_RESIST), total);
  r->problem = (struct net_problem){r->node_count, r->link_count, r->nodes, r->links};
}
