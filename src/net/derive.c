#include "net/derive.h"

#include "net/net_impl.h"

#include <math.h>
#include <string.h>

/*
 * What a solved net changes by when a little of it is moved.
 */

/* Fan laws: rise(g, v) = v^2 rise(g/v), so that g rise_g + v rise_v = 2 rise. */
bool net_fan_slopes(const struct net *net, int link, double *rise_per_kg_s,
                    double *rise_per_speed_Pa)
{
  int at = net->link_control[link];
  const struct control *c = at >= 0 ? &net->controls[at] : NULL;
  if (!c || c->law != NET_FAN || c->seg != CONTROL_HOLDS)
    return false;
  struct curve curve = net->curves[link];
  double rise, slope, speed = net_speed_ratio(net, link), g = net->link_flow[link];
  if (!(speed > 0))
    return false;
  curve_speed(&curve, net->problem.links[link].fan, speed);
  curve_rise(&curve, g, false, &rise, &slope);
  *rise_per_kg_s = slope;
  *rise_per_speed_Pa = (2 * rise - g * slope) / speed;
  return *rise_per_speed_Pa > 0;
}

/* ---- all derivatives of one figure ---- */

struct derive {
  struct net_derive shown; /* first: what a caller holds */
  struct net *net;
  struct arena arena;
  double *x; /* by slot: weights, then what a unit in each row is worth */
  bool full; /* elimination without pivoting met a zero: the full matrix, transposed, instead */
  double *matrix, *work;
  double *edge; /* by edge: weight of its flow, then the worth of a unit of it */
};

struct net_derive *net_derive_new(struct net *net)
{
  struct arena arena;
  size_t links = (size_t)net->problem.link_count + 1, nodes = (size_t)net->problem.node_count + 1;
  arena_init(&arena, SIZE_MAX); /* bounded by the net */
  struct derive *d = ARENA_NEW(&arena, struct derive);
  BUG_IF(!d);
  d->net = net;
  d->shown.pressure_weight_ratio = ARENA_ARRAY(&arena, double, nodes);
  d->shown.flow_weight_ratio = ARENA_ARRAY(&arena, double, links);
  d->shown.per_drop_Pa = ARENA_ARRAY(&arena, double, links);
  d->shown.per_set_kg_s = ARENA_ARRAY(&arena, double, links);
  d->shown.per_hold_Pa = ARENA_ARRAY(&arena, double, links);
  d->shown.per_limit_kg_s = ARENA_ARRAY(&arena, double, links);
  d->x = ARENA_ARRAY(&arena, double, (size_t)net->slots + 1);
  d->edge = ARENA_ARRAY(&arena, double, (size_t)net->edge_count + 1);
  if (net->dense) { /* as the solver does, where it keeps room for it */
    size_t n = (size_t)net->unknowns;
    d->matrix = ARENA_ARRAY(&arena, double, n *n + 1);
    d->work = ARENA_ARRAY(&arena, double, n *n + 1);
    BUG_IF(!d->matrix || !d->work);
  }
  BUG_IF(!d->x || !d->edge);
  d->arena = arena;
  return &d->shown;
}

void net_derive_free(struct net_derive *shown)
{
  if (!shown)
    return;
  struct arena arena = ((struct derive *)shown)->arena; /* it lives in there itself */
  arena_release(&arena);
}

static bool take_full(struct derive *d)
{
  struct net *net = d->net;
  size_t n = (size_t)net->unknowns;
  double rcond = 0;
  if (!d->matrix)
    return false;
  newton_assemble(net);
  numeric_sparse_to_dense(net->sparse, d->work);
  for (size_t i = 0; i < n; i++)
    for (size_t j = 0; j < n; j++)
      d->matrix[j * n + i] = d->work[i * n + j];
  for (size_t i = 0; i <= n; i++)
    d->x[i] = 0;
  return numeric_dense_solve(net->unknowns, d->work, d->x, &rcond) && rcond > 1e-15;
}

bool net_derive_begin(struct net_derive *shown)
{
  struct derive *d = (struct derive *)shown;
  struct net *net = d->net;
  if (!net->started || net->ill_node != NET_NONE || net->pin_count > 0 || net->any_humped ||
      net->soft > 0)
    return false;
  for (int n = 0; n < net->problem.node_count; n++)
    if (!net->known[n])
      return false;
  laws_linearise(net);
  controls_linearise(net);
  newton_assemble(net);
  numeric_sparse_factor(net->sparse, net->f, net->symmetric ? 1e-11 : 1e-13, &net->pivots);
  d->full = net->pivots.mended > 0;
  return !d->full || take_full(d);
}

/* Which drops lie between the edge's first end and a node inside it that is found from there: up to
 * the item that takes up what is left (recover.c). */
static int middle_of(const struct net *net, int e)
{
  return net->seg[e] != SEG_LAW && net->stop[e] >= 0 ? net->stop[e] : net->absorb[e];
}

static double item_slope(const struct net *net, int e, int i)
{
  const struct item *item = &net->items[i];
  double drop, slope;
  law_link(net, item->link, item->reversed ? -net->flow[e] : net->flow[e], &drop, &slope);
  return slope;
}

/* Weights of the nodes inside an edge, as weights of its ends, of its flow, and of its drops. */
static void fold_weights(struct derive *d, int e)
{
  const struct net *net = d->net;
  int first = net->item_first[e], last = net->item_first[e + 1] - 1, middle = middle_of(net, e);
  double sum = 0;
  for (int i = middle - 1; i >= first; i--) { /* node i lies behind item i */
    sum += d->shown.pressure_weight_ratio[net->item_node[i]];
    d->edge[e] -= sum * item_slope(net, e, i);
    d->shown.per_drop_Pa[net->items[i].link] -= net->items[i].reversed ? -sum : sum;
  }
  d->x[net->a[e]] += sum;
  sum = 0;
  for (int i = middle + 1; i <= last; i++) { /* node i - 1 lies before item i */
    sum += d->shown.pressure_weight_ratio[net->item_node[i - 1]];
    d->edge[e] += sum * item_slope(net, e, i);
    d->shown.per_drop_Pa[net->items[i].link] += net->items[i].reversed ? -sum : sum;
  }
  d->x[net->b[e]] += sum;
}

static void gather(struct derive *d)
{
  const struct net *net = d->net;
  for (int s = 0; s < net->slots; s++)
    d->x[s] = net->slot_node[s] >= 0 ? d->shown.pressure_weight_ratio[net->slot_node[s]] : 0;
  for (int k = 0; k < net->control_count; k++)
    d->x[net->controls[k].slot] += d->shown.flow_weight_ratio[net->controls[k].link];
  for (int e = 0; e < net->edge_count; e++) {
    d->edge[e] = 0;
    for (int i = net->item_first[e]; i < net->item_first[e + 1]; i++) {
      double weight = d->shown.flow_weight_ratio[net->items[i].link];
      d->edge[e] += net->items[i].reversed ? -weight : weight;
    }
    if (net->item_first[e + 1] - net->item_first[e] > 1)
      fold_weights(d, e);
    d->x[net->a[e]] += d->edge[e] * net->c[e];
    d->x[net->b[e]] -= d->edge[e] * net->c[e];
  }
}

/* What one more unit of an edge's flow is worth, at the pressures as they are. */
static void worth_of_edges(struct derive *d)
{
  const struct net *net = d->net;
  for (int e = 0; e < net->edge_count; e++) {
    int from = net->row[net->a[e]], to = net->row[net->b[e]];
    d->edge[e] += (to < net->unknowns ? d->x[to] : 0) - (from < net->unknowns ? d->x[from] : 0);
  }
  for (int k = 0; k < net->control_count; k++) {
    const struct control *c = &net->controls[k];
    const struct net_link *link = &net->problem.links[c->link];
    if (c->law != NET_FOLLOW || c->seg != CONTROL_HOLDS)
      continue;
    for (int i = 0; i < link->follow_count; i++) {
      int e = net->link_edge[link->follows[i]];
      if (e >= 0)
        d->edge[e] += net->link_reversed[link->follows[i]] ? -d->x[c->slot] : d->x[c->slot];
    }
  }
}

static void give_edges(struct derive *d)
{
  const struct net *net = d->net;
  for (int e = 0; e < net->edge_count; e++)
    for (int i = net->item_first[e]; i < net->item_first[e + 1]; i++) {
      const struct item *item = &net->items[i];
      double way = item->reversed ? -1 : 1;
      d->shown.per_drop_Pa[item->link] -= way * net->c[e] * d->edge[e];
      if (net->stop[e] == i && (net->seg[e] == SEG_CAP || net->exact[e]) &&
          net->problem.links[item->link].law == NET_SET_FLOW)
        d->shown.per_set_kg_s[item->link] = way * d->edge[e];
    }
}

static void give_controls(struct derive *d)
{
  const struct net *net = d->net;
  for (int k = 0; k < net->control_count; k++) {
    const struct control *c = &net->controls[k];
    double own = d->x[c->slot];
    if (c->seg == CONTROL_HOLDS && c->law == NET_FOLLOW)
      d->shown.per_set_kg_s[c->link] = own;
    else if (c->seg == CONTROL_HOLDS)
      d->shown.per_hold_Pa[c->link] = d->x[c->swapped ? c->swap : c->slot];
    else if (c->c != 0)
      d->shown.per_drop_Pa[c->link] = -c->c * own;
    else if (c->law != NET_FAN && c->seg != CONTROL_NONE)
      d->shown.per_limit_kg_s[c->link] = own;
  }
}

void net_derive_find(struct net_derive *shown)
{
  struct derive *d = (struct derive *)shown;
  for (int l = 0; l < d->net->problem.link_count; l++)
    shown->per_drop_Pa[l] = shown->per_set_kg_s[l] = shown->per_hold_Pa[l] =
        shown->per_limit_kg_s[l] = 0;
  gather(d);
  if (d->full) {
    double rcond;
    memcpy(d->work, d->matrix,
           (size_t)d->net->unknowns * (size_t)d->net->unknowns * sizeof(double));
    numeric_dense_solve(d->net->unknowns, d->work, d->x, &rcond);
  } else {
    numeric_sparse_solve_transposed(d->net->sparse, d->x);
  }
  worth_of_edges(d);
  give_edges(d);
  give_controls(d);
}
