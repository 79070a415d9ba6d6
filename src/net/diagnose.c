#include "net/net_impl.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

/*
 * Which nodes have no pressure of their own.  Before solving: parts without any
 * path to a given pressure.  After: parts that only flat segments reach.
 */

void ill_posed(struct net *net, int node, const char *fmt, ...)
{
  if (net->ill_node != NET_NONE)
    return;
  va_list args;
  va_start(args, fmt);
  vsnprintf(net->ill_reason, sizeof net->ill_reason, fmt, args);
  va_end(args);
  net->ill_node = node;
}

static int root(int *group, int i)
{
  while (group[i] != i)
    i = group[i] = group[group[i]];
  return i;
}

static void join(struct net *net, int i, int j)
{
  int ground = net->slots;
  i = root(net->group, i < 0 || i >= net->unknowns ? ground : i);
  j = root(net->group, j < 0 || j >= net->unknowns ? ground : j);
  net->group[i] = j;
}

static bool edge_conducts(const struct net *net, int e, bool now)
{
  if (!now)
    return !(net->cap[e] == 0 || net->exact[e]);
  return net->seg[e] == SEG_LAW && net->mode[e] != FAN_FORCED;
}

static void control_joins(struct net *net, const struct control *c, bool now)
{
  bool path = c->law == NET_FAN || net->resist_first[c->link + 1] > net->resist_first[c->link];
  bool holds = c->law != NET_FOLLOW && !c->clash;
  if (now) {
    holds = holds && c->seg == CONTROL_HOLDS;
    path = c->seg == CONTROL_WIDE || (c->law == NET_FAN && c->seg != CONTROL_HOLDS);
    path = path && !(c->law == NET_FAN && c->seg == CONTROL_LEAST && !(c->least > 0));
  }
  if (holds)
    join(net, c->held, c->over);
  if (path)
    join(net, c->from, c->to);
}

static void find_groups(struct net *net, bool now)
{
  for (int i = 0; i <= net->slots; i++)
    net->group[i] = i;
  for (int e = 0; e < net->edge_count; e++)
    if (edge_conducts(net, e, now))
      join(net, net->a[e], net->b[e]);
  for (int k = 0; k < net->control_count; k++)
    control_joins(net, &net->controls[k], now);
}

static bool grounded(struct net *net, int slot)
{
  return root(net->group, slot) == root(net->group, net->slots);
}

static bool pinned(const struct net *net, int group)
{
  for (int i = 0; i < net->pin_count; i++)
    if (root(net->group, net->pin[i]) == group)
      return true;
  return false;
}

/* Root of a slot among short circuits, and how far its pressure is above the root's. */
static int short_root(const struct net *net, const double *above, int i, double *sum)
{
  *sum = 0;
  while (net->group[i] != i) {
    *sum += above[i];
    i = net->group[i];
  }
  return i;
}

static bool is_short(const struct net *net, int e)
{
  double drop, slope;
  if (isfinite(net->cap[e]))
    return false;
  law_edge(net, e, 1, &drop, &slope);
  return drop == 0 && slope == 0;
}

/* Short circuits that join two different given pressures, or a ring whose lifts do not cancel: no
 * flow is right for them.  The one that closes the contradiction is shut and named. */
static void shut_short_circuits(struct net *net)
{
  double *above = net->x_try, from, to;
  for (int s = 0; s <= net->slots; s++) {
    bool given = s >= net->unknowns && s < net->slots;
    net->group[s] = given ? net->slots : s;
    above[s] = given ? net->x[s] : 0;
  }
  for (int e = 0; e < net->edge_count; e++) {
    if (!is_short(net, e))
      continue;
    int a = short_root(net, above, net->a[e], &from), b = short_root(net, above, net->b[e], &to);
    if (a != b) { /* p[a] + lift = p[b] */
      bool a_is_ground = a == net->slots;
      net->group[a_is_ground ? b : a] = a_is_ground ? a : b;
      above[a_is_ground ? b : a] =
          a_is_ground ? from + net->lift[e] - to : to - net->lift[e] - from;
      continue;
    }
    if (fabs(from + net->lift[e] - to) <= 1e-12 * (1 + fabs(from)))
      continue;
    net->cap[e] = 0;
    net->seg[e] = SEG_CAP;
    net->exact[e] = true;
    net->capped[net->capped_count++] = e;
    ill_posed(net, net->slot_node[net->a[e]], "link %d contradicts others without any resistance",
              net->items[net->item_first[e]].link);
  }
}

void diagnose_structure(struct net *net)
{
  net->pin_count = 0;
  shut_short_circuits(net);
  find_groups(net, false);
  for (int n = 0; n < net->problem.node_count; n++) {
    int slot = net->slot[n];
    if (slot < 0 || slot >= net->unknowns || grounded(net, slot))
      continue;
    int group = root(net->group, slot);
    if (pinned(net, group))
      continue;
    net->pin[net->pin_count++] = slot;
    net->x[slot] = 0;
    ill_posed(net, n, "no path leads from node %d to any given pressure", n);
  }
  for (int k = 0; k < net->control_count; k++)
    if (net->controls[k].clash)
      ill_posed(net, net->problem.links[net->controls[k].link].from,
                "link %d holds a pressure that others already give", net->controls[k].link);
}

/* What flows into a group that nothing but flat parts joins to the rest. */
static double group_gain(struct net *net, int group)
{
  double gain = 0;
  for (int i = 0; i < net->inflow_count; i++)
    if (root(net->group, net->inflow_slot[i]) == group)
      gain += net->inflow[i];
  for (int e = 0; e < net->edge_count; e++) {
    int from = net->a[e] < net->unknowns ? root(net->group, net->a[e]) : -1;
    int to = net->b[e] < net->unknowns ? root(net->group, net->b[e]) : -1;
    if (from != to)
      gain += from == group ? -net->flow[e] : to == group ? net->flow[e] : 0;
  }
  for (int k = 0; k < net->control_count; k++) {
    const struct control *c = &net->controls[k];
    if (c->from < net->unknowns && root(net->group, c->from) == group)
      gain -= net->x[c->slot];
    if (c->to < net->unknowns && root(net->group, c->to) == group)
      gain += net->x[c->slot];
  }
  return gain;
}

/* How far a part may move before something that limits its flows no longer does. */
struct room_to_move {
  double least, most;        /* Pa */
  int edge_least, edge_most; /* the one that binds there, or */
  struct control *control_least, *control_most;
  struct control *holder; /* asks for a pressure in the part, from its limit */
  double wanted;
  bool flows;
};

/* A drop across the part's border that must stay below, or above, what it is now plus `spare`. */
static void keep_drop(struct room_to_move *room, bool below, bool from, double spare, int edge,
                      struct control *control)
{
  double by = from ? spare : -spare;
  if (below == from && by < room->most) {
    room->most = by;
    room->edge_most = edge;
    room->control_most = control;
  } else if (below != from && by > room->least) {
    room->least = by;
    room->edge_least = edge;
    room->control_least = control;
  }
}

static bool in_part(struct net *net, int group, int slot)
{
  return slot >= 0 && root(net->group, slot) == group;
}

/* Edges at a limit; false when one crosses the border that is not. */
static bool room_of_edges(struct net *net, int group, struct room_to_move *room)
{
  for (int e = 0; e < net->edge_count; e++) {
    bool from = in_part(net, group, net->a[e]), to = in_part(net, group, net->b[e]);
    if (from == to || net->cap[e] == 0)
      continue;
    if (net->seg[e] == SEG_LAW)
      return false;
    bool none = net->seg[e] == SEG_NONE;
    double needs = none ? net->zero_drop[e] : net->cap_drop[e];
    room->flows = room->flows || !none;
    if (!net->exact[e])
      keep_drop(room, none == (net->cap[e] > 0), from,
                needs - (net->x[net->a[e]] - net->x[net->b[e]] + net->lift[e]), e, NULL);
  }
  return true;
}

/* A hold whose path the part's border crosses; false when something else flows through it. */
static bool room_of_path(struct net *net, struct control *c, bool from, struct room_to_move *room)
{
  double g = net->x[c->slot], drop = net->x[c->from] - net->x[c->to] + c->lift, h, slope;
  if (c->law == NET_HOLD && c->seg == CONTROL_NONE)
    keep_drop(room, true, from, -drop, -1, c);
  if (g == 0)
    return true;
  room->flows = true;
  if (c->law == NET_HOLD && g > 0) {
    law_link(net, c->link, g, &h, &slope);
    if (h > 0)
      keep_drop(room, false, from, h - drop, -1, c);
  }
  return c->law != NET_FAN;
}

/* At its limit, and asking for a pressure in the part. */
static void room_of_holder(const struct net *net, struct control *c, bool held,
                           struct room_to_move *room)
{
  if (c->law != NET_HOLD || c->clash || room->holder ||
      (c->seg != CONTROL_MOST && c->seg != CONTROL_LEAST))
    return;
  double excess = net->x[c->held] - (c->over >= 0 ? net->x[c->over] : 0) - c->hold_Pa;
  room->holder = c;
  room->wanted = held ? -excess : excess;
}

static bool room_of_controls(struct net *net, int group, struct room_to_move *room)
{
  for (int k = 0; k < net->control_count; k++) {
    struct control *c = &net->controls[k];
    bool from = in_part(net, group, c->from), to = in_part(net, group, c->to);
    bool held = in_part(net, group, c->held), over = in_part(net, group, c->over);
    if (from != to && !room_of_path(net, c, from, room))
      return false;
    if (held != over)
      room_of_holder(net, c, held, room);
  }
  return true;
}

static bool find_room(struct net *net, int group, struct room_to_move *room)
{
  *room = (struct room_to_move){
      .least = -(double)INFINITY, .most = (double)INFINITY, .edge_least = -1, .edge_most = -1};
  if (!room_of_edges(net, group, room) || !room_of_controls(net, group, room))
    return false;
  if (!(room->least <= room->most + 1e-9))
    return false;
  if (room->flows)
    return room->holder && fabs(group_gain(net, group)) <= GOAL_KG_S;
  return isfinite(room->least) || isfinite(room->most) || room->holder;
}

/* Moves the part, and puts what binds there on its law, so that it is joined to the rest. */
static void move_part(struct net *net, int group, struct room_to_move *room)
{
  bool low = room->edge_least >= 0 || room->control_least;
  double by = low ? room->least : room->most;
  int edge = low ? room->edge_least : room->edge_most;
  struct control *binds = low ? room->control_least : room->control_most;
  if (room->holder) {
    by = fmin(fmax(room->wanted, room->least), room->most);
    low = by <= room->least;
    edge = by == room->wanted ? -1 : low ? room->edge_least : room->edge_most;
    binds = by == room->wanted ? room->holder : low ? room->control_least : room->control_most;
  }
  net->moved_Pa = fmax(net->moved_Pa, fabs(by));
  for (int i = 0; i < net->unknowns; i++)
    if (net->slot_node[i] >= 0 && root(net->group, i) == group)
      net->x[i] += by;
  if (edge >= 0) {
    net->g[edge] = net->flow[edge];
    net->seg[edge] = SEG_LAW;
    join(net, net->a[edge], net->b[edge]);
  } else {
    control_move(net, binds, binds == room->holder ? CONTROL_HOLDS : CONTROL_WIDE);
    control_joins(net, binds, true);
  }
}

static void float_parts(struct net *net)
{
  struct room_to_move room;
  find_groups(net, true);
  for (int s = 0; s < net->unknowns; s++) {
    int group = root(net->group, s);
    if (net->slot_node[s] >= 0 && !grounded(net, s) && !pinned(net, group) &&
        find_room(net, group, &room))
      move_part(net, group, &room);
  }
}

static const double just_kg_s = 1e-10; /* of a flow at its limit: rounding */

static bool joined(struct net *net, int from, int to)
{
  return (from >= net->unknowns || grounded(net, from)) &&
         (to >= net->unknowns || grounded(net, to));
}

/* On its path and just at its most is at its most, if then all keep a pressure. */
static void close_control(struct net *net, struct control *c)
{
  double g = net->x[c->slot];
  if (c->law != NET_HOLD || c->seg != CONTROL_WIDE || fabs(g - c->most) > just_kg_s)
    return;
  net->x[c->slot] = c->most;
  c->seg = CONTROL_MOST;
  float_parts(net);
  if (joined(net, c->from, c->to))
    return;
  net->x[c->slot] = g;
  c->seg = CONTROL_WIDE;
}

static void close_edge(struct net *net, int e)
{
  double g = net->flow[e];
  if (net->exact[e] || net->seg[e] != SEG_LAW || fabs(g - net->cap[e]) > just_kg_s)
    return;
  net->flow[e] = net->g[e] = net->cap[e];
  net->seg[e] = SEG_CAP;
  float_parts(net);
  if (joined(net, net->a[e], net->b[e]))
    return;
  net->flow[e] = net->g[e] = g;
  net->seg[e] = SEG_LAW;
}

/*
 * A part whose flows are all at their limits, and balance, has a choice of
 * pressures.  Held by someone, it takes the pressure held: a unit whose most is
 * just what its feeds take still holds.  Without any flow, as behind a fan that
 * stands, it takes the one at which the first shut valve would open.  Either
 * does not depend on what was before.
 */
void diagnose_float(struct net *net)
{
  const double far_Pa = 1e4; /* from there the last digits of the pressures were lost */
  net->moved_Pa = 0;
  for (int k = 0; k < net->control_count; k++)
    close_control(net, &net->controls[k]);
  for (int i = 0; i < net->capped_count; i++)
    close_edge(net, net->capped[i]);
  float_parts(net);
  if (net->moved_Pa > far_Pa)
    newton_run(net, 20);
}

/*
 * Marks the nodes whose pressure nothing determines in the present segments.
 * With pin_them, also ties to zero every such part that does not balance; true
 * when one was tied, so that solving again makes sense.
 */
bool diagnose_flat(struct net *net, bool pin_them)
{
  bool tied = false;
  find_groups(net, true);
  for (int s = 0; s < net->slots; s++) {
    int n = net->slot_node[s];
    if (n < 0)
      continue;
    net->known[n] = s >= net->unknowns || grounded(net, s);
    if (net->known[n])
      continue;
    int group = root(net->group, s);
    if (!pin_them) {
      ill_posed(net, n, "only set flows reach node %d: its pressure is not determined", n);
    } else if (!pinned(net, group) && fabs(group_gain(net, group)) > GOAL_KG_S) {
      net->pin[net->pin_count++] = s;
      tied = true;
      ill_posed(net, n, "what flows into node %d cannot leave it at any pressure", n);
    }
  }
  for (int i = 0; i < net->pin_count; i++)
    net->known[net->slot_node[net->pin[i]]] = false;
  return tied;
}

/* Does every node hang on a given pressure, in the present segments? */
bool diagnose_joined(struct net *net)
{
  bool all = true;
  find_groups(net, true);
  for (int s = 0; s < net->unknowns; s++)
    all = all && (net->slot_node[s] < 0 || grounded(net, s));
  return all;
}

/*
 * After a failure: the node whose pressure has run furthest away is tied down
 * and named, so that the rest can be solved.  No pressure of a building, a mine
 * or a water main comes near this bound; what passes it is inflow that finds no
 * outlet but a closed one.
 */
bool diagnose_runaway(struct net *net)
{
  const double runaway_Pa = 1e9;
  int furthest = -1;
  for (int s = 0; s < net->unknowns; s++)
    if (net->slot_node[s] >= 0 && net->row[s] == s && fabs(net->x[s]) > runaway_Pa &&
        (furthest < 0 || fabs(net->x[s]) > fabs(net->x[furthest])))
      furthest = s;
  for (int i = 0; i < net->pin_count; i++)
    if (net->pin[i] == furthest)
      return false;
  if (furthest < 0)
    return false;
  net->pin[net->pin_count++] = furthest;
  ill_posed(net, net->slot_node[furthest],
            "the pressure of node %d runs away: its inflow finds no outlet",
            net->slot_node[furthest]);
  return true;
}
