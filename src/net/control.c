#include "net/net_impl.h"

#include <math.h>

/*
 * Links whose flow is an unknown of its own: holds, followers, fans that hold a
 * pressure.  Each has its own equation; while a hold regulates, its equation is
 * written in the row of the pressure it holds and that node's balance in the
 * row of its flow, so that both keep a pivot.  docs/physics-networks.md (13)-(16).
 */

static bool is_fan(const struct control *c)
{
  return c->law == NET_FAN;
}

static bool has_path(const struct net *net, const struct control *c)
{
  for (int i = net->resist_first[c->link]; i < net->resist_first[c->link + 1]; i++)
    if (net->resists[i].darcy || net->resists[i].k[0] > 0 || net->resists[i].k[1] > 0)
      return true;
  return false;
}

void control_load(struct net *net, struct control *c)
{
  const struct net_link *link = &net->problem.links[c->link];
  c->frozen = false;
  c->lift = link->lift_Pa;
  c->offset = link->set_kg_s;
  c->least = link->least_kg_s;
  c->most = link->most_kg_s;
  c->hold_Pa = link->hold_Pa;
  if (!is_fan(c))
    return;
  c->hold_Pa = link->fan->hold_Pa;
  c->least = link->fan->least_speed_ratio;
  c->most = link->fan->most_speed_ratio;
  curve_speed(&net->curves[c->link], link->fan, c->most);
}

static double drop_of(const struct net *net, const struct control *c)
{
  return net->x[c->from] - net->x[c->to] + c->lift;
}

/* Rise of a fan at a speed; none when it stands. */
static void fan_rise(const struct net *net, const struct control *c, double speed, double g,
                     double *rise, double *slope)
{
  struct curve curve = net->curves[c->link];
  curve_speed(&curve, net->problem.links[c->link].fan, speed);
  curve_rise(&curve, g, c->mode != FAN_CURVE, rise, slope);
}

static double limit_speed(const struct control *c)
{
  return c->seg == CONTROL_LEAST ? c->least : c->most;
}

/* Does the flow follow a law of the drop, rather than a number or the hold? */
bool control_on_law(const struct control *c)
{
  if (is_fan(c))
    return c->mode != FAN_FORCED &&
           (c->seg == CONTROL_MOST || (c->seg == CONTROL_LEAST && c->least > 0));
  return c->seg == CONTROL_WIDE;
}

/* The tangent of its own law; none where it has no law of the drop. */
void control_tangent(const struct net *net, struct control *c)
{
  double h, dh, least = LEAST_SLOPE;
  c->c = c->base = 0;
  if (!control_on_law(c))
    return;
  if (is_fan(c)) {
    fan_rise(net, c, limit_speed(c), c->g, &h, &dh);
    h = -h;
    dh = -dh;
    least = net->curves[c->link].least_slope;
  } else {
    law_link(net, c->link, c->g, &h, &dh);
  }
  c->c = c->mode == FAN_CURVE && dh < -least ? 1 / dh : 1 / fmax(dh, least);
  c->base = c->g - c->c * h;
}

void controls_linearise(struct net *net)
{
  for (int k = 0; k < net->control_count; k++)
    control_tangent(net, &net->controls[k]);
}

struct own_law {
  const struct net *net;
  const struct control *c;
};

static void own_law(const void *what, double g, double *drop, double *slope)
{
  const struct own_law *own = what;
  if (!is_fan(own->c)) {
    law_link(own->net, own->c->link, g, drop, slope);
    return;
  }
  fan_rise(own->net, own->c, limit_speed(own->c), g, drop, slope);
  *drop = -*drop;
  *slope = -*slope;
}

/* Puts the state on the law at the present drop. */
void control_exact(struct net *net, struct control *c)
{
  struct own_law own = {net, c};
  if (control_on_law(c))
    c->g = law_inverse(own_law, &own, drop_of(net, c), c->g);
}

static void add(struct net *net, int row, int column, double value)
{
  numeric_sparse_values(net->sparse)[numeric_sparse_entry(net->sparse, row, column)] += value;
}

static double excess(const struct net *net, const struct control *c)
{
  return net->x[c->held] - (c->over >= 0 ? net->x[c->over] : 0) - c->hold_Pa;
}

/* How far more is pushed than the hold asks for, droop counted; 0 while it regulates. */
static double push_of(const struct net *net, const struct control *c)
{
  double push = c->sign * excess(net, c);
  return net->soft > 0 ? push + soft_droop(net, c) * (net->x[c->slot] - c->near) : push;
}

static double followed(const struct net *net, const struct control *c, const double *edge_flow)
{
  const struct net_link *link = &net->problem.links[c->link];
  double sum = c->offset;
  for (int i = 0; i < link->follow_count; i++) {
    int l = link->follows[i], e = net->link_edge[l];
    if (e >= 0)
      sum += net->link_reversed[l] ? -edge_flow[e] : edge_flow[e];
    else
      sum += net->x[net->controls[net->link_control[l]].slot];
  }
  return sum;
}

static void follow_row(struct net *net, const struct control *c)
{
  const struct net_link *link = &net->problem.links[c->link];
  for (int i = 0; i < link->follow_count; i++) {
    int l = link->follows[i], e = net->link_edge[l];
    if (e >= 0) {
      double conductance = net->link_reversed[l] ? -net->c[e] : net->c[e];
      add(net, c->slot, net->a[e], -conductance);
      add(net, c->slot, net->b[e], conductance);
    } else {
      add(net, c->slot, net->controls[net->link_control[l]].slot, -1);
    }
  }
  net->f[c->slot] = followed(net, c, net->flow) - net->x[c->slot];
}

/* At a limit, while regulation is soft: a little more than the limit the more the pressure asks. */
static void yield(struct net *net, const struct control *c)
{
  double yields = c->sign * soft_yield(net, c);
  add(net, c->slot, c->held, yields);
  if (c->over >= 0)
    add(net, c->slot, c->over, -yields);
  net->f[c->slot] -= yields * excess(net, c);
}

/* Its flow where it neither holds nor follows a law. */
double control_limit(const struct control *c)
{
  if (is_fan(c) && c->mode == FAN_FORCED)
    return c->forced;
  if (c->seg == CONTROL_NONE || is_fan(c))
    return 0;
  return c->seg == CONTROL_LEAST ? c->least : c->most;
}

static void own_row(struct net *net, const struct control *c)
{
  int v = c->slot;
  if (c->seg == CONTROL_HOLDS && c->law != NET_FOLLOW) {
    int row = c->swapped ? c->swap : v;
    add(net, row, c->held, 1);
    if (c->over >= 0)
      add(net, row, c->over, -1);
    net->f[row] = -c->sign * push_of(net, c);
    if (net->soft > 0)
      add(net, row, v, c->sign * soft_droop(net, c));
    return;
  }
  add(net, v, v, 1);
  if (c->seg == CONTROL_HOLDS) {
    follow_row(net, c);
  } else if (control_on_law(c)) {
    add(net, v, c->from, -c->c);
    add(net, v, c->to, c->c);
    net->f[v] = c->base + c->c * drop_of(net, c) - net->x[v];
  } else {
    net->f[v] = control_limit(c) - net->x[v];
    if (net->soft > 0 && c->law == NET_HOLD && c->seg != CONTROL_NONE)
      yield(net, c);
  }
}

void controls_assemble(struct net *net)
{
  for (int k = 0; k < net->control_count; k++) {
    const struct control *c = &net->controls[k];
    double g = net->x[c->slot];
    net->f[net->row[c->from]] -= g;
    net->f[net->row[c->to]] += g;
    add(net, net->row[c->from], c->slot, 1);
    add(net, net->row[c->to], c->slot, -1);
  }
  for (int k = 0; k < net->control_count; k++)
    own_row(net, &net->controls[k]);
}

/* Exchanges, or puts back, the rows of a hold and of the node it holds. */
void control_rows(struct net *net, struct control *c, bool swapped)
{
  if (c->swapped == swapped || c->swap < 0)
    return;
  c->swapped = swapped;
  net->row[c->swap] = swapped ? c->slot : c->swap;
  for (int e = 0; e < net->edge_count; e++) {
    int a = net->a[e], b = net->b[e], *entry = net->entry + 4 * e;
    if (a == c->swap) {
      entry[0] = numeric_sparse_entry(net->sparse, net->row[a], a);
      entry[1] = numeric_sparse_entry(net->sparse, net->row[a], b);
    }
    if (b == c->swap) {
      entry[2] = numeric_sparse_entry(net->sparse, net->row[b], b);
      entry[3] = numeric_sparse_entry(net->sparse, net->row[b], a);
    }
  }
}

static bool fan_wants(const struct net *net, const struct control *c, enum control_seg *seg)
{
  double rise, slope, needed = -drop_of(net, c), g = net->x[c->slot];
  double push = push_of(net, c), slack = 1e-10 * (1 + fabs(c->hold_Pa));
  enum control_seg want = c->seg;
  if (c->seg == CONTROL_HOLDS) {
    fan_rise(net, c, c->most, g, &rise, &slope);
    if (needed > rise + slack)
      want = CONTROL_MOST;
    if (c->least > 0)
      fan_rise(net, c, c->least, g, &rise, &slope);
    if (c->least > 0 ? needed < rise - slack : g < -1e-12)
      want = CONTROL_LEAST;
  } else if (!c->clash) {
    if (c->seg == CONTROL_MOST ? push > slack : push < -slack)
      want = CONTROL_HOLDS;
  } else if (c->seg == CONTROL_MOST ? push > slack : push < -slack) {
    want = c->seg == CONTROL_MOST ? CONTROL_LEAST : CONTROL_MOST;
  }
  bool moved = want != c->seg;
  *seg = want;
  return moved;
}

/* Is there a speed within the limits at which the true curve gives what is needed? */
bool control_speed_fits(const struct net *net, const struct control *c)
{
  enum { SPEEDS = 64 };
  double needed = -drop_of(net, c), low = INFINITY, high = -INFINITY;
  for (int i = 0; i <= SPEEDS; i++) {
    struct curve curve = net->curves[c->link];
    double rise, slope;
    curve_speed(&curve, net->problem.links[c->link].fan,
                c->least + (c->most - c->least) * i / SPEEDS);
    if (!(curve.inverse > 0))
      continue;
    curve_rise(&curve, net->x[c->slot], false, &rise, &slope);
    low = fmin(low, rise);
    high = fmax(high, rise);
  }
  return needed <= high + 1e-9 && (c->least == 0 || needed >= low - 1e-9);
}

static enum control_seg within(const struct control *c, double g)
{
  double slack = 1e-12 * (1 + fabs(g));
  return g > c->most + slack ? CONTROL_MOST : g < c->least - slack ? CONTROL_LEAST : CONTROL_HOLDS;
}

/* Is the path, wide open, too tight for this flow? */
static bool starved(const struct net *net, const struct control *c, double g)
{
  double h, dh, drop = drop_of(net, c);
  if (!has_path(net, c) || g <= 0)
    return false;
  law_link(net, c->link, g, &h, &dh);
  return drop < h - 1e-12 * (1 + fabs(drop));
}

/* At a limit: what the pressure asks for.  One that must not regulate goes to its other limit. */
static enum control_seg leave_limit(const struct net *net, const struct control *c)
{
  double push = push_of(net, c), slack = 1e-10 * (1 + fabs(c->hold_Pa));
  bool more = c->seg == CONTROL_LEAST;
  if (starved(net, c, more ? c->least : c->most))
    return CONTROL_WIDE;
  if (more ? push >= -slack : push <= slack)
    return c->seg;
  return !c->clash ? CONTROL_HOLDS : more ? CONTROL_MOST : CONTROL_LEAST;
}

/* Wide open and short of what it should hold, or no longer so. */
static enum control_seg leave_wide(const struct net *net, const struct control *c)
{
  double push = push_of(net, c), slack = 1e-10 * (1 + fabs(c->hold_Pa));
  double g = net->x[c->slot];
  if (g < 0)
    return CONTROL_NONE;
  if (g > c->most)
    return CONTROL_MOST;
  if (push <= slack || g <= c->least)
    return CONTROL_WIDE;
  return c->clash ? CONTROL_LEAST : CONTROL_HOLDS;
}

static enum control_seg hold_next(const struct net *net, const struct control *c)
{
  double g = net->x[c->slot];
  switch (c->seg) {
  case CONTROL_HOLDS:
    return within(c, g) != CONTROL_HOLDS ? within(c, g)
           : starved(net, c, g)          ? CONTROL_WIDE
                                         : CONTROL_HOLDS;
  case CONTROL_LEAST:
  case CONTROL_MOST:
    return leave_limit(net, c);
  case CONTROL_WIDE:
    return leave_wide(net, c);
  case CONTROL_NONE:
  default:
    return drop_of(net, c) > 1e-12 ? CONTROL_WIDE : CONTROL_NONE;
  }
}

static enum control_seg follow_next(const struct net *net, const struct control *c)
{
  double wanted = c->seg == CONTROL_HOLDS ? net->x[c->slot] : followed(net, c, net->g);
  return within(c, wanted);
}

bool control_wants(struct net *net, const struct control *c, enum control_seg *seg)
{
  if (c->frozen)
    return false;
  if (is_fan(c))
    return c->mode != FAN_FORCED && fan_wants(net, c, seg);
  *seg = c->law == NET_FOLLOW ? follow_next(net, c) : hold_next(net, c);
  return *seg != c->seg;
}

void control_move(struct net *net, struct control *c, enum control_seg seg)
{
  double g = net->x[c->slot];
  if (is_fan(c)) {
    struct curve curve = net->curves[c->link];
    double most;
    curve_speed(&curve, net->problem.links[c->link].fan, c->most);
    most = curve.piece_count > 0 ? curve.last : sqrt(fmax(curve.a, 1e-3) / fmax(curve.b, 1e-9));
    most = curve.inverse > 0 ? most / curve.inverse : 0;
    g = fmin(fmax(g, 0), most);
  } else if (seg == CONTROL_WIDE) {
    g = fmin(fmax(g, 0), c->most);
    if (c->seg == CONTROL_NONE || g == 0) {
      double h, dh;
      law_link(net, c->link, 1, &h, &dh);
      g = h > 0 ? fmin(sqrt(fabs(drop_of(net, c)) / h), c->most) : 0;
    }
  }
  c->g = g;
  c->seg = seg;
  control_rows(net, c, seg == CONTROL_HOLDS && c->law != NET_FOLLOW && c->swap >= 0);
}

/* Controls on a law of the drop that the last step carried far from their tangents. */
int controls_unsettled(const struct net *net)
{
  int far = 0;
  for (int k = 0; k < net->control_count; k++) {
    const struct control *c = &net->controls[k];
    double by = net->x[c->slot] - c->g;
    far += control_on_law(c) && by * by > 2e-11 * (fabs(c->g) + 1e-9);
  }
  return far;
}

int controls_settle(struct net *net, int most_moves)
{
  int moved = 0;
  for (int k = 0; k < net->control_count; k++) {
    struct control *c = &net->controls[k];
    enum control_seg seg;
    c->g = net->x[c->slot];
    if (moved < most_moves && control_wants(net, c, &seg)) {
      net->unrest = net->last_moved == k && net->came_from == (int)seg;
      net->last_moved = k;
      net->came_from = (int)c->seg;
      control_move(net, c, seg);
      moved++;
    }
  }
  return moved;
}

/* The control that moved last has come back to where it was, the flows at rest each time: at its
 * limit it asks to regulate, regulating it asks for more than its limit.  It stays at the limit. */
void control_freeze(struct net *net)
{
  struct control *c = &net->controls[net->last_moved];
  if (!net->unrest)
    return;
  if (c->seg == CONTROL_HOLDS)
    control_move(net, c, (enum control_seg)net->came_from);
  c->frozen = true;
  ill_posed(net, net->problem.links[c->link].to, "link %d finds no flow at which it comes to rest",
            c->link);
}

/*
 * Which way a flow moves a pressure at neither of its ends: asked of the chords
 * of the network, with all regulation off.  No influence at all is a fault.
 */
void controls_remote(struct net *net)
{
  int remote = 0;
  for (int k = 0; k < net->control_count; k++)
    remote += net->controls[k].law != NET_FOLLOW && net->controls[k].swap < 0;
  if (remote == 0)
    return;
  for (int k = 0; k < net->control_count; k++) {
    if (net->controls[k].mode == FAN_FORCED)
      continue;
    net->controls[k].seg = CONTROL_NONE;
    control_rows(net, &net->controls[k], false);
  }
  laws_secant(net);
  controls_linearise(net);
  newton_assemble(net);
  numeric_sparse_factor(net->sparse, net->f, 1e-13, &net->pivots);
  for (int k = 0; k < net->control_count; k++) {
    struct control *c = &net->controls[k];
    if (c->law == NET_FOLLOW || c->swap >= 0)
      continue;
    for (int s = 0; s < net->slots; s++)
      net->x_try[s] = 0;
    net->x_try[c->from] -= 1;
    net->x_try[c->to] += 1;
    for (int s = net->unknowns; s < net->slots; s++)
      net->x_try[s] = 0;
    numeric_sparse_solve(net->sparse, net->x_try);
    double effect = net->x_try[c->held] - (c->over >= 0 ? net->x_try[c->over] : 0);
    c->sign = effect < 0 ? -1 : 1;
    if (fabs(effect) < 1e-9 && !c->clash) {
      c->clash = true;
      ill_posed(net, net->slot_node[c->held], "link %d has no influence on the pressure it holds",
                c->link);
    }
  }
}
