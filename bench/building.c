#include "bench_net.h"

#include "numeric/numeric.h"

#include <math.h>
#include <stdlib.h>

#define KNEE_PA     0.01
#define HOLD_PA     -450
#define LEAST_SPEED 0.3
#define MOST_SPEED  1.1
/* Of a control line, kg/s per Pa: 13 kg/s are 0.13 Pa off the pressure that is held. */
#define GAIN_KG_SPA 100

static void *zeroed(int count, size_t size)
{
  void *p = calloc((size_t)count + 1, size);
  if (!p)
    abort();
  return p;
}

static struct net_link *add_link(struct building *b, int from, int to, enum net_law law)
{
  struct net_link *link = &b->links[b->problem.link_count++];
  *link = (struct net_link){.from = from, .to = to, .law = law, .held = NET_NONE, .over = NET_NONE};
  return link;
}

static void give_power(struct building *b, struct net_link *link, int *member_count, double k,
                       double m)
{
  struct net_member *member = &b->members[(*member_count)++];
  *member = (struct net_member){.kind = NET_POWER, .k = {k, k}, .m = m};
  link->members = member;
  link->member_count = 1;
}

static struct pressure_edge *add_edge(struct graph *g, enum edge_kind kind, int from, int to)
{
  struct pressure_edge *edge = &g->edges[g->edge_count++];
  *edge = (struct pressure_edge){.kind = kind, .from = from, .to = to, .m = 2, .station = -1};
  return edge;
}

/* A plain resistance in all three. */
static void add_resist(struct building *b, int from, int to, double k, double m, int *members)
{
  give_power(b, add_link(b, from + 1, to + 1, NET_RESIST), members, k, m);
  struct graph *graphs[] = {&b->full, &b->reduced};
  for (int i = 0; i < 2; i++) {
    struct pressure_edge *edge = add_edge(graphs[i], EDGE_RESIST, from, to);
    edge->k = k;
    edge->m = m;
  }
}

/*
 * room -> hood face -> valve -> branch ... -> main.  Unknown numbers are shared by both graphs:
 * the inner nodes come last, and only the full graph has them.
 */
static void add_station(struct building *b, int s, int room, int header, int *members,
                        struct numeric_random *random)
{
  int inner = b->shape.inner, first = b->reduced.unknowns + s * inner;
  double wanted = numeric_random_between(random, 0.3, 0.6), rest = 0;
  bool valve = s % 2 == 0;
  double sash = numeric_random_between(random, 5, 15) / (wanted * wanted);
  b->sash_k[s] = sash;
  b->valve_set[s] = valve ? wanted : (double)INFINITY;
  b->valve_link[s] = -1;
  for (int i = 0; i <= inner; i++) {
    int from = i == 0 ? room : first + i - 1, to = i == inner ? header : first + i;
    double k = i == 0   ? sash
               : i == 1 ? numeric_random_between(random, 40, 120) / (wanted * wanted)
                        : numeric_random_between(random, 5, 30) / (wanted * wanted);
    bool is_valve = valve && i == 1;
    struct net_link *link = add_link(b, from + 1, to + 1, is_valve ? NET_SET_FLOW : NET_RESIST);
    if (i == 0) {
      b->sash_link[s] = b->problem.link_count - 1;
      b->sash_member[s] = *members;
      b->full_sash[s] = b->full.edge_count;
    }
    give_power(b, link, members, k, 2);
    struct pressure_edge *edge = add_edge(&b->full, is_valve ? EDGE_VALVE : EDGE_RESIST, from, to);
    edge->k = k;
    if (is_valve) {
      link->set_kg_s = edge->set_kg_s = wanted;
      b->valve_link[s] = b->problem.link_count - 1;
      b->full_valve[s] = b->full.edge_count - 1;
    }
    rest += i == 0 ? 0 : k;
  }
  b->rest_k[s] = rest;
  b->reduced_edge[s] = b->reduced.edge_count;
  struct pressure_edge *edge =
      add_edge(&b->reduced, valve ? EDGE_VALVE : EDGE_RESIST, room, header);
  edge->k = sash + rest;
  edge->set_kg_s = wanted;
}

static void allocate(struct building *b, const struct shape *shape)
{
  int links = shape->stations * (shape->inner + 2) + 4 * shape->rooms + 2 * shape->corridors + 64;
  int unknowns = shape->rooms + shape->corridors + shape->stations * (shape->inner + 1);
  *b = (struct building){.shape = *shape};
  b->nodes = zeroed(unknowns + 1, sizeof *b->nodes);
  b->links = zeroed(links, sizeof *b->links);
  b->members = zeroed(links, sizeof *b->members);
  b->fans = zeroed(shape->mains, sizeof *b->fans);
  int **ints[] = {&b->sash_link, &b->valve_link, &b->sash_member,
                  &b->full_sash, &b->full_valve, &b->reduced_edge};
  for (size_t i = 0; i < sizeof ints / sizeof *ints; i++)
    *ints[i] = zeroed(shape->stations, sizeof(int));
  b->sash_k = zeroed(shape->stations, sizeof(double));
  b->valve_set = zeroed(shape->stations, sizeof(double));
  b->rest_k = zeroed(shape->stations, sizeof(double));
  struct graph *graphs[] = {&b->full, &b->reduced};
  for (int i = 0; i < 2; i++) {
    graphs[i]->edges = zeroed(links, sizeof(struct pressure_edge));
    graphs[i]->inflow_kg_s = zeroed(unknowns, sizeof(double));
  }
  b->full.unknowns = unknowns;
  b->reduced.unknowns = shape->rooms + shape->corridors + shape->stations;
  b->problem =
      (struct net_problem){.node_count = unknowns + 1, .nodes = b->nodes, .links = b->links};
  b->nodes[0].fixed = true;
}

static void add_supply(struct building *b, int room, double flow_kg_s, bool controlled)
{
  if (!controlled) {
    b->nodes[room + 1].inflow_kg_s = flow_kg_s;
    b->full.inflow_kg_s[room] = b->reduced.inflow_kg_s[room] = flow_kg_s;
    return;
  }
  struct net_link *link = add_link(b, 0, room + 1, room % 3 == 2 ? NET_FOLLOW : NET_HOLD);
  link->held = room + 1;
  link->hold_Pa = 10 + room % 5;
  link->most_kg_s = 2 * flow_kg_s;
  link->set_kg_s = 0.1; /* a follower: what the fixed exhausts take is not followed here */
  link->least_kg_s = link->law == NET_FOLLOW ? 0.9 * flow_kg_s : 0;
}

static void add_fan(struct building *b, int main_index, int header, double flow_kg_s, bool holds)
{
  struct net_fan *fan = &b->fans[main_index];
  double q = flow_kg_s / 1.2;
  *fan = (struct net_fan){.kind = NET_CURVE_A_MINUS_B_Q2,
                          .a_Pa = 1400,
                          .b_Pa_s2_m6 = 700 / (q * q),
                          .density_kg_m3 = 1.2,
                          .rise_factor = 1,
                          .speed_ratio = 1,
                          .running = 1,
                          .holds = holds,
                          .held = header + 1,
                          .over = NET_NONE,
                          .hold_Pa = HOLD_PA,
                          .least_speed_ratio = LEAST_SPEED,
                          .most_speed_ratio = MOST_SPEED};
  add_link(b, header + 1, 0, NET_FAN)->fan = fan;
  struct graph *graphs[] = {&b->full, &b->reduced};
  for (int i = 0; i < 2; i++) {
    struct pressure_edge *edge = add_edge(graphs[i], EDGE_FAN, header, -1);
    edge->a_Pa = fan->a_Pa;
    edge->b = fan->b_Pa_s2_m6 / (1.2 * 1.2);
    edge->gain_kg_sPa = holds ? GAIN_KG_SPA : 0;
    edge->hold_Pa = HOLD_PA;
  }
}

void building_make(struct building *b, const struct shape *shape, enum building_kind kind)
{
  struct numeric_random random;
  int members = 0, per_main = (shape->stations + shape->mains - 1) / shape->mains;
  numeric_random_seed(&random, 7);
  allocate(b, shape);
  double *room_flow = zeroed(shape->rooms, sizeof *room_flow);
  double along = 0;
  for (int s = 0; s < shape->stations; s++) {
    int room = s * shape->rooms / shape->stations, header = shape->rooms + shape->corridors + s;
    add_station(b, s, room, header, &members, &random);
    double flow = 0.45;
    room_flow[room] += flow;
    along = s % per_main == 0 ? flow : along + flow;
    if (s % per_main == per_main - 1 || s == shape->stations - 1)
      add_fan(b, s / per_main, header, along, kind != BUILDING_PLAIN);
    else
      add_resist(b, header, header + 1, 3 / (along * along), 2, &members);
  }
  for (int r = 0; r < shape->rooms; r++) {
    add_supply(b, r, 0.95 * room_flow[r], kind == BUILDING_HELD);
    int beside = shape->corridors > 0 ? shape->rooms + r * shape->corridors / shape->rooms : -1;
    double m = 1 / 0.65, flow = numeric_random_between(&random, 0.05, 0.15) * room_flow[r];
    add_resist(b, r, beside, 10 / pow(flow, m), m, &members);
    add_resist(b, r, -1, 30 / pow(flow, m), m, &members);
    if (r > 0 && shape->corridors > 0)
      add_resist(b, r, r - 1, 30 / (flow * flow), 2, &members);
  }
  for (int c = 0; c < shape->corridors; c++)
    add_resist(b, shape->rooms + c, -1, 40, 2, &members);
  free(room_flow);
}

void building_release(struct building *b)
{
  void *all[] = {b->nodes,
                 b->links,
                 b->members,
                 b->fans,
                 b->sash_link,
                 b->valve_link,
                 b->sash_member,
                 b->full_sash,
                 b->full_valve,
                 b->reduced_edge,
                 b->sash_k,
                 b->valve_set,
                 b->rest_k,
                 b->full.edges,
                 b->reduced.edges,
                 b->full.inflow_kg_s,
                 b->reduced.inflow_kg_s};
  for (size_t i = 0; i < sizeof all / sizeof *all; i++)
    free(all[i]);
}

void building_move(struct building *b, int s, double opening_ratio)
{
  double k = b->sash_k[s] / (opening_ratio * opening_ratio);
  b->members[b->sash_member[s]].k[0] = b->members[b->sash_member[s]].k[1] = k;
  b->full.edges[b->full_sash[s]].k = k;
  b->reduced.edges[b->reduced_edge[s]].k = k + b->rest_k[s];
  if (b->valve_link[s] < 0)
    return;
  double set = b->valve_set[s] * fmax(opening_ratio, 0.3);
  b->links[b->valve_link[s]].set_kg_s = set;
  b->full.edges[b->full_valve[s]].set_kg_s = set;
  b->reduced.edges[b->reduced_edge[s]].set_kg_s = set;
}

void building_weaken(struct building *b, double rise_ratio)
{
  for (int m = 0; m < b->shape.mains; m++)
    b->fans[m].a_Pa *= rise_ratio;
  struct graph *graphs[] = {&b->full, &b->reduced};
  for (int i = 0; i < 2; i++)
    for (int e = 0; e < graphs[i]->edge_count; e++)
      graphs[i]->edges[e].a_Pa *= rise_ratio;
}

/* The knee, k g_k^m = KNEE_PA, turned round: x (a + b x^2) = |drop| / KNEE_PA. */
static double knee_flow(double k, double m, double size, double *slope)
{
  double knee = pow(KNEE_PA / k, 1 / m), b = (m - 1) / 2, a = (3 - m) / 2, x = size / KNEE_PA;
  for (int i = 0; i < 30; i++) {
    double step = (x * (a + b * x * x) - size / KNEE_PA) / (a + 3 * b * x * x);
    x -= step;
    if (fabs(step) < 1e-15)
      break;
  }
  *slope = knee / KNEE_PA / (a + 3 * b * x * x);
  return knee * x;
}

/* a s^2 - b g^2 = -drop at speed s; blown back, a steep line. */
static double fan_flow(const struct pressure_edge *e, double drop_Pa, double speed, double *slope)
{
  double top = speed * speed * e->a_Pa, left = top + drop_Pa, back = 20 * sqrt(e->a_Pa * e->b);
  if (left > 1e-6 * e->a_Pa) {
    double g = sqrt(left / e->b);
    *slope = 0.5 / (e->b * g);
    return g;
  }
  *slope = 1 / back;
  return left / back;
}

/* A fan whose speed holds a pressure: a steep line between its curves at the least and most speed. */
static double held_fan_flow(const struct pressure_edge *e, double drop_Pa, double *slope)
{
  double line = e->gain_kg_sPa * (drop_Pa - e->hold_Pa), slope_least, slope_most;
  double least = fan_flow(e, drop_Pa, LEAST_SPEED, &slope_least);
  double most = fan_flow(e, drop_Pa, MOST_SPEED, &slope_most);
  *slope = line < least ? slope_least : line > most ? slope_most : e->gain_kg_sPa;
  return fmin(fmax(line, least), most);
}

double pressure_flow(const struct pressure_edge *e, double drop_Pa, double *slope)
{
  double size = fabs(drop_Pa), g;
  if (e->kind == EDGE_FAN)
    return e->gain_kg_sPa > 0 ? held_fan_flow(e, drop_Pa, slope) : fan_flow(e, drop_Pa, 1, slope);
  if (size < KNEE_PA) {
    g = knee_flow(e->k, e->m, size, slope);
  } else {
    g = e->m == 2 ? sqrt(size / e->k) : pow(size / e->k, 1 / e->m);
    *slope = g / (e->m * size);
  }
  if (e->kind == EDGE_VALVE) { /* flat parts keep a trace of slope in the Jacobian only */
    if (drop_Pa <= 0 || g > e->set_kg_s) {
      *slope = 1e-9;
      return drop_Pa <= 0 ? 0 : e->set_kg_s;
    }
  }
  return drop_Pa < 0 ? -g : g;
}
