#include "net/net_impl.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/*
 * From links to edges and from edges to a frozen pattern.  Runs when a net is
 * made, and again when new values no longer fit the folding.
 */

bool link_folds(const struct net_problem *problem, int link)
{
  const struct net_link *l = &problem->links[link];
  return !(l->law == NET_HOLD || l->law == NET_FOLLOW || (l->law == NET_FAN && l->fan->holds));
}

/* Links at a node as a compressed list. */
struct star {
  int *start, *links;
};

static struct star star_make(const struct net_problem *problem, struct arena *arena)
{
  struct star star = {ARENA_ARRAY(arena, int, (size_t)problem->node_count + 2),
                      ARENA_ARRAY(arena, int, 2 * (size_t)problem->link_count)};
  for (int l = 0; l < problem->link_count; l++) {
    star.start[problem->links[l].from + 2]++;
    star.start[problem->links[l].to + 2]++;
  }
  for (int i = 2; i < problem->node_count + 2; i++)
    star.start[i] += star.start[i - 1];
  for (int l = 0; l < problem->link_count; l++) {
    star.links[star.start[problem->links[l].from + 1]++] = l;
    star.links[star.start[problem->links[l].to + 1]++] = l;
  }
  return star;
}

static int other_end(const struct net_problem *problem, int link, int node)
{
  const struct net_link *l = &problem->links[link];
  return l->from == node ? l->to : l->from;
}

/* A node is kept when it branches, ends, is given, is watched, or touches what cannot be folded. */
static void choose_kept(struct net *net, const struct star *star)
{
  const struct net_problem *problem = &net->problem;
  for (int n = 0; n < problem->node_count; n++)
    if (problem->nodes[n].fixed || problem->nodes[n].inflow_kg_s != 0 ||
        star->start[n + 1] - star->start[n] != 2)
      net->kept[n] = true;
  for (int l = 0; l < problem->link_count; l++) {
    const struct net_link *link = &problem->links[l];
    if (link_folds(problem, l) && !(link->law == NET_FAN && net->curves[l].humped))
      continue;
    net->kept[link->from] = net->kept[link->to] = true;
    int held = link->law == NET_FAN ? link->fan->held : link->held;
    int over = link->law == NET_FAN ? link->fan->over : link->over;
    bool holds = link->law == NET_HOLD || (link->law == NET_FAN && link->fan->holds);
    if (holds && held >= 0)
      net->kept[held] = true;
    if (holds && over >= 0)
      net->kept[over] = true;
  }
}

/* One link after another from a kept node to the next kept node. */
static int walk(struct net *net, const struct star *star, int node, int link, struct item *items,
                int *nodes)
{
  const struct net_problem *problem = &net->problem;
  int count = 0;
  for (;;) {
    items[count] = (struct item){.link = link, .reversed = problem->links[link].from != node};
    node = other_end(problem, link, node);
    nodes[count++] = node;
    if (net->kept[node])
      return count;
    int first = star->links[star->start[node]], second = star->links[star->start[node] + 1];
    link = first == link ? second : first;
  }
}

struct raw {
  int first, count, a, b;
  enum edge_class class;
};

bool edge_classify(const struct net *net, const struct item *items, int count,
                   enum edge_class *class_out)
{
  const struct net_problem *problem = &net->problem;
  bool quad = true;
  int members = 0;
  for (int i = 0; i < count; i++) {
    const struct net_link *link = &problem->links[items[i].link];
    if (link->law == NET_FAN)
      quad = false;
    members += link->member_count;
    for (int k = 0; k < link->member_count; k++)
      if (link->members[k].kind != NET_POWER || link->members[k].m != 2)
        quad = false;
  }
  bool power = count == 1 && members == 1 && problem->links[items[0].link].law != NET_FAN &&
               problem->links[items[0].link].members[0].kind == NET_POWER;
  *class_out = quad ? EDGE_QUAD : power ? EDGE_POWER : EDGE_CHAIN;
  return true;
}

/* Folds everything; false when a ring without a kept node or a loop on one node was opened. */
static bool fold(struct net *net, const struct star *star, struct raw *raw, int *raw_count)
{
  const struct net_problem *problem = &net->problem;
  int item = 0, count = 0;
  for (int l = 0; l < problem->link_count; l++) {
    net->link_edge[l] = net->link_control[l] = -1;
  }
  for (int n = 0; n < problem->node_count; n++) {
    if (!net->kept[n])
      continue;
    for (int s = star->start[n]; s < star->start[n + 1]; s++) {
      int link = star->links[s];
      if (net->link_edge[link] >= 0 || !link_folds(problem, link))
        continue;
      struct raw *r = &raw[count];
      r->first = item;
      r->count = walk(net, star, n, link, net->items + item, net->item_node + item);
      r->a = n;
      r->b = net->item_node[item + r->count - 1];
      if (r->a == r->b) {
        net->kept[net->item_node[item]] = true;
        return false;
      }
      edge_classify(net, net->items + item, r->count, &r->class);
      for (int i = item; i < item + r->count; i++)
        net->link_edge[net->items[i].link] = count;
      item += r->count;
      count++;
    }
  }
  for (int l = 0; l < problem->link_count; l++)
    if (net->link_edge[l] < 0 && link_folds(problem, l)) {
      net->kept[problem->links[l].from] = true;
      return false;
    }
  *raw_count = count;
  return true;
}

static void edges_allocate(struct net *net)
{
  struct arena *arena = &net->arena;
  size_t n = (size_t)net->edge_count;
  double **numbers[] = {&net->k0,   &net->k1,       &net->m,         &net->knee,  &net->knee1,
                        &net->lift, &net->g,        &net->c,         &net->base,  &net->flow,
                        &net->cap,  &net->cap_drop, &net->zero_drop, &net->forced};
  for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++)
    *numbers[i] = ARENA_ARRAY(arena, double, n);
  int **ints[] = {&net->a,          &net->b,      &net->stop,  &net->absorb,
                  &net->stop_count, &net->capped, &net->humped};
  for (size_t i = 0; i < sizeof ints / sizeof *ints; i++)
    *ints[i] = ARENA_ARRAY(arena, int, n);
  net->entry = ARENA_ARRAY(arena, int, 4 * n);
  net->item_first = ARENA_ARRAY(arena, int, n + 1);
  net->seg = ARENA_ARRAY(arena, unsigned char, n);
  net->mode = ARENA_ARRAY(arena, unsigned char, n);
  net->exact = ARENA_ARRAY(arena, bool, n);
}

/* Puts the edges in the order of their class. */
static void edges_place(struct net *net, const struct raw *raw, int raw_count,
                        struct arena *scratch)
{
  size_t links = (size_t)net->problem.link_count;
  struct item *items = ARENA_ARRAY(scratch, struct item, links);
  int *nodes = ARENA_ARRAY(scratch, int, links), e = 0, item = 0;
  memcpy(items, net->items, links * sizeof *items);
  memcpy(nodes, net->item_node, links * sizeof *nodes);
  net->edge_count = raw_count;
  edges_allocate(net);
  for (int class = EDGE_QUAD; class <= EDGE_CHAIN; class ++) {
    for (int r = 0; r < raw_count; r++) {
      if (raw[r].class != (enum edge_class) class)
        continue;
      net->a[e] = raw[r].a;
      net->b[e] = raw[r].b;
      net->item_first[e] = item;
      for (int i = raw[r].first; i < raw[r].first + raw[r].count; i++) {
        net->items[item] = items[i];
        net->item_node[item++] = nodes[i];
        net->link_edge[items[i].link] = e;
        net->link_reversed[items[i].link] = items[i].reversed;
      }
      e++;
    }
    if (class == EDGE_QUAD)
      net->quad_count = e;
    if (class == EDGE_POWER)
      net->power_count = e - net->quad_count;
  }
  net->item_first[e] = item;
}

static void controls_find(struct net *net)
{
  const struct net_problem *problem = &net->problem;
  net->control_count = 0;
  for (int l = 0; l < problem->link_count; l++)
    net->control_count += !link_folds(problem, l);
  net->controls = ARENA_ARRAY(&net->arena, struct control, (size_t)net->control_count);
  int count = 0;
  for (int l = 0; l < problem->link_count; l++) {
    if (link_folds(problem, l))
      continue;
    const struct net_link *link = &problem->links[l];
    struct control *c = &net->controls[count];
    bool fan = link->law == NET_FAN;
    *c = (struct control){.link = l, .law = link->law, .from = link->from, .to = link->to};
    c->held = link->law == NET_FOLLOW ? NET_NONE : fan ? link->fan->held : link->held;
    c->over = link->law == NET_FOLLOW ? NET_NONE : fan ? link->fan->over : link->over;
    net->link_control[l] = count++;
  }
}

/* Which node's balance a holding flow can close by itself, and which way it acts. */
static void control_target(const struct net *net, struct control *c)
{
  c->swap = -1;
  if (c->law == NET_FOLLOW)
    return;
  int ends[2] = {c->held, c->over};
  for (int i = 0; i < 2; i++) {
    int node = ends[i];
    if (node < 0 || net->problem.nodes[node].fixed || (node != c->from && node != c->to))
      continue;
    bool taken = false; /* one balance can be closed by one flow only */
    for (const struct control *other = net->controls; other < c; other++)
      taken = taken || other->swap == node;
    if (taken)
      continue;
    c->swap = node;
    c->sign = (node == c->to) == (i == 0) ? 1 : -1;
    return;
  }
}

static int root(int *group, int i)
{
  while (group[i] != i)
    i = group[i] = group[group[i]];
  return i;
}

/* Holds that close a ring of given differences contradict, or repeat, the others. */
static void control_clashes(struct net *net, struct arena *scratch)
{
  int nodes = net->problem.node_count;
  int *group = ARENA_ARRAY(scratch, int, (size_t)nodes + 1);
  for (int i = 0; i <= nodes; i++)
    group[i] = i < nodes && net->problem.nodes[i].fixed ? nodes : i;
  for (int i = 0; i < net->control_count; i++) {
    struct control *c = &net->controls[i];
    if (c->law == NET_FOLLOW)
      continue;
    int held = root(group, c->held), over = root(group, c->over < 0 ? nodes : c->over);
    c->clash = held == over;
    for (const struct control *other = net->controls; other < c && !c->clash; other++)
      c->clash = other->law != NET_FOLLOW && !other->clash && /* one flow cannot serve two */
                 ((other->from == c->from && other->to == c->to) ||
                  (other->from == c->to && other->to == c->from));
    group[held] = over;
  }
}

struct pairs {
  int (*list)[2];
  int count, room;
};

static void pair(struct pairs *pairs, int i, int j)
{
  if (i < 0 || j < 0)
    return;
  if (pairs->count == pairs->room) {
    pairs->room = 2 * pairs->room + 64;
    pairs->list = realloc(pairs->list, (size_t)pairs->room * sizeof *pairs->list);
    BUG_IF(!pairs->list);
  }
  pairs->list[pairs->count][0] = i;
  pairs->list[pairs->count++][1] = j;
}

/* Everything that meets in the rows of a control; `number` gives unknowns, -1 for given ones. */
static void control_pairs(const struct net *net, const int *number, const struct control *c, int v,
                          struct pairs *pairs)
{
  const struct net_link *link = &net->problem.links[c->link];
  int held = c->held >= 0 ? number[c->held] : -1, over = c->over >= 0 ? number[c->over] : -1;
  pair(pairs, v, number[c->from]);
  pair(pairs, v, number[c->to]);
  pair(pairs, v, held);
  pair(pairs, v, over);
  pair(pairs, held, over);
  for (int i = 0; c->law == NET_FOLLOW && i < link->follow_count; i++) {
    int e = net->link_edge[link->follows[i]], k = net->link_control[link->follows[i]];
    if (e >= 0) {
      pair(pairs, v, number[net->a[e]]);
      pair(pairs, v, number[net->b[e]]);
    } else {
      pair(pairs, v, number[net->problem.node_count + k]);
    }
  }
  if (c->swap < 0)
    return;
  for (int e = 0; e < net->edge_count; e++)
    if (net->a[e] == c->swap || net->b[e] == c->swap) {
      pair(pairs, v, number[net->a[e]]);
      pair(pairs, v, number[net->b[e]]);
    }
  for (int k = 0; k < net->control_count; k++)
    if (net->controls[k].from == c->swap || net->controls[k].to == c->swap)
      pair(pairs, v, number[net->problem.node_count + k]);
}

static void system_allocate(struct net *net)
{
  struct arena *arena = &net->arena;
  size_t slots = (size_t)net->slots;
  net->x = ARENA_ARRAY(arena, double, slots + 1);
  net->f = ARENA_ARRAY(arena, double, slots + 1);
  net->x_old = ARENA_ARRAY(arena, double, slots + 1);
  net->step = ARENA_ARRAY(arena, double, slots + 1);
  net->x_try = ARENA_ARRAY(arena, double, slots + 1);
  net->row = ARENA_ARRAY(arena, int, slots + 1);
  net->inflow_slot = ARENA_ARRAY(arena, int, slots + 1);
  net->inflow = ARENA_ARRAY(arena, double, slots + 1);
  net->pin = ARENA_ARRAY(arena, int, slots + 1);
  net->group = ARENA_ARRAY(arena, int, slots + 2);
  net->group_mark = ARENA_ARRAY(arena, int, slots + 2);
  if (!net->symmetric && net->unknowns <= 400)
    net->dense = ARENA_ARRAY(arena, double, (size_t)net->unknowns *(size_t)net->unknowns);
}

static bool system_build(struct net *net, struct arena *scratch, struct err *err)
{
  const struct net_problem *problem = &net->problem;
  int nodes = problem->node_count, count = 0;
  int *number = ARENA_ARRAY(scratch, int, (size_t)(nodes + net->control_count) + 1);
  bool *last = ARENA_ARRAY(scratch, bool, (size_t)(nodes + net->control_count) + 1);
  for (int n = 0; n < nodes; n++)
    number[n] = net->kept[n] && !problem->nodes[n].fixed ? count++ : -1;
  for (int k = 0; k < net->control_count; k++) {
    control_target(net, &net->controls[k]);
    last[count] = net->controls[k].law != NET_FOLLOW && net->controls[k].swap < 0;
    number[nodes + k] = count++;
  }
  control_clashes(net, scratch);
  struct pairs pairs = {0};
  for (int e = 0; e < net->edge_count; e++)
    pair(&pairs, number[net->a[e]], number[net->b[e]]);
  for (int k = 0; k < net->control_count; k++)
    control_pairs(net, number, &net->controls[k], number[nodes + k], &pairs);
  net->symmetric = net->control_count == 0;
  net->unknowns = net->slots = count;
  for (int n = 0; n < nodes; n++)
    net->slots += net->kept[n] && problem->nodes[n].fixed;
  struct numeric_pattern pattern = {.unknowns = count,
                                    .pair_count = pairs.count,
                                    .pairs = (const int(*)[2])pairs.list,
                                    .last = last,
                                    .symmetric = net->symmetric,
                                    .spare = net->slots - count + 1};
  net->sparse = numeric_sparse_new(&pattern, err);
  free(pairs.list);
  if (!net->sparse)
    return false;
  net->slot_node = ARENA_ARRAY(&net->arena, int, (size_t)net->slots + 1);
  int fixed = count;
  for (int n = 0; n < nodes; n++) {
    net->slot[n] = !net->kept[n]    ? -1
                   : number[n] >= 0 ? numeric_sparse_place(net->sparse, number[n])
                                    : fixed++;
    if (net->slot[n] >= 0)
      net->slot_node[net->slot[n]] = n;
  }
  for (int k = 0; k < net->control_count; k++) {
    net->controls[k].slot = numeric_sparse_place(net->sparse, number[nodes + k]);
    net->slot_node[net->controls[k].slot] = -1;
  }
  system_allocate(net);
  return true;
}

static void number_by_slot(struct net *net)
{
  for (int e = 0; e < net->edge_count; e++) {
    net->a[e] = net->slot[net->a[e]];
    net->b[e] = net->slot[net->b[e]];
    if (net->symmetric)
      net->entry[e] = numeric_sparse_entry(net->sparse, net->a[e], net->b[e]);
  }
  for (int s = 0; s < net->slots; s++)
    net->row[s] = s;
  for (int k = 0; k < net->control_count; k++) {
    struct control *c = &net->controls[k];
    c->from = net->slot[c->from];
    c->to = net->slot[c->to];
    c->held = c->held >= 0 ? net->slot[c->held] : -1;
    c->over = c->over >= 0 ? net->slot[c->over] : -1;
    c->swap = c->swap >= 0 ? net->slot[c->swap] : -1;
  }
  for (int e = 0; !net->symmetric && e < net->edge_count; e++) {
    int a = net->a[e], b = net->b[e], *entry = net->entry + 4 * e;
    entry[0] = numeric_sparse_entry(net->sparse, a, a);
    entry[1] = numeric_sparse_entry(net->sparse, a, b);
    entry[2] = numeric_sparse_entry(net->sparse, b, b);
    entry[3] = numeric_sparse_entry(net->sparse, b, a);
  }
}

static void nodes_allocate(struct net *net)
{
  struct arena *arena = &net->arena;
  size_t nodes = (size_t)net->problem.node_count, links = (size_t)net->problem.link_count;
  size_t members = 0;
  net->resist_first = ARENA_ARRAY(arena, int, links + 1);
  for (size_t l = 0; l < links; l++) {
    net->resist_first[l] = (int)members;
    members += (size_t)net->problem.links[l].member_count;
  }
  net->resist_first[links] = (int)members;
  net->resists = ARENA_ARRAY(arena, struct resist, members + 1);
  net->slot = ARENA_ARRAY(arena, int, nodes);
  net->node_p = ARENA_ARRAY(arena, double, nodes);
  net->known = ARENA_ARRAY(arena, bool, nodes);
  net->sum = ARENA_ARRAY(arena, double, nodes);
  net->naive = ARENA_ARRAY(arena, struct naive_link, links);
  net->kept = ARENA_ARRAY(arena, bool, nodes);
  net->curves = ARENA_ARRAY(arena, struct curve, links);
  net->link_edge = ARENA_ARRAY(arena, int, links);
  net->link_control = ARENA_ARRAY(arena, int, links);
  net->link_reversed = ARENA_ARRAY(arena, bool, links);
  net->link_flow = ARENA_ARRAY(arena, double, links);
  net->speed = ARENA_ARRAY(arena, double, links);
  net->items = ARENA_ARRAY(arena, struct item, links);
  net->item_node = ARENA_ARRAY(arena, int, links);
  net->item_drop = ARENA_ARRAY(arena, double, links);
}

bool build_structure(struct net *net, struct err *err)
{
  struct arena scratch;
  arena_init(&scratch, SIZE_MAX);
  nodes_allocate(net);
  for (int l = 0; l < net->problem.link_count; l++)
    if (net->problem.links[l].law == NET_FAN)
      curve_init(&net->curves[l], net->problem.links[l].fan, &net->arena);
  struct star star = star_make(&net->problem, &scratch);
  struct raw *raw = ARENA_ARRAY(&scratch, struct raw, (size_t)net->problem.link_count);
  int raw_count = 0;
  choose_kept(net, &star);
  while (!fold(net, &star, raw, &raw_count)) {
  }
  edges_place(net, raw, raw_count, &scratch);
  controls_find(net);
  bool ok = system_build(net, &scratch, err);
  if (ok)
    number_by_slot(net);
  arena_release(&scratch);
  return ok;
}
