#include "net/net_impl.h"

#include <math.h>

/*
 * Pressures inside folded edges.  Walked from both ends towards the tightest
 * resistance, or the stop that binds, which takes up what convergence and
 * rounding leave: that is where a given error in pressure is the smallest
 * error in flow.
 */

/* Drop and slope of what is not simply k g|g|. */
static double odd_drop(const struct net *net, const struct item *item, double g, double *slope)
{
  double drop;
  law_link(net, item->link, item->reversed ? -g : g, &drop, slope);
  return item->reversed ? -drop : drop;
}

/* Drops of all items at the edge's flow; gives the least slope of those that bind. */
static double find_drops(struct net *net, int first, int last, double g, double least)
{
  const struct item *restrict items = net->items;
  double *restrict drops = net->item_drop, *restrict flows = net->link_flow;
  double size = fabs(g);
  int way = g < 0;
  for (int i = first; i <= last; i++) {
    double t = items[i].k[way] * size, drop = t * g, slope = 2 * t;
    if (!items[i].simple || size < items[i].knee)
      drop = odd_drop(net, &items[i], g, &slope);
    least = slope > 0 && slope < least ? slope : least;
    flows[items[i].link] = items[i].reversed ? -g : g;
    drops[i] = drop - items[i].lift_Pa;
  }
  return least;
}

static double recover_chain(struct net *net, int e, double least)
{
  int first = net->item_first[e], last = net->item_first[e + 1] - 1;
  int middle = net->seg[e] != SEG_LAW && net->stop[e] >= 0 ? net->stop[e] : net->absorb[e];
  double slope = find_drops(net, first, last, net->flow[e], least), p = net->x[net->a[e]];
  double *restrict drops = net->item_drop, *restrict node_p = net->node_p;
  const int *restrict node = net->item_node;
  for (int i = first; i < middle; i++) {
    p -= drops[i];
    node_p[node[i]] = p;
  }
  p = net->x[net->b[e]];
  for (int i = last; i > middle; i--) {
    p += drops[i];
    node_p[node[i - 1]] = p;
  }
  return slope;
}

/* Two stops that bind alike leave what lies between them to itself; a part
 * whose end has no pressure has none either. */
static void forget_unknown(struct net *net, int e)
{
  const struct net_link *links = net->problem.links;
  int first = net->item_first[e], last = net->item_first[e + 1] - 1;
  bool from_known = net->known[net->slot_node[net->a[e]]];
  bool to_known = net->known[net->slot_node[net->b[e]]];
  bool flat = net->seg[e] != SEG_LAW;
  if (from_known && to_known && !(flat && net->stop_count[e] > 1))
    return;
  int left = first, right = last; /* outermost stops */
  while (flat && left < last && links[net->items[left].link].law != NET_SHUT &&
         links[net->items[left].link].law != NET_SET_FLOW)
    left++;
  while (flat && right > first && links[net->items[right].link].law != NET_SHUT &&
         links[net->items[right].link].law != NET_SET_FLOW)
    right--;
  if (!flat)
    left = right = net->absorb[e];
  for (int i = first; i < last; i++) {
    bool known = i < left ? from_known : i >= right ? to_known : false;
    net->known[net->item_node[i]] = known;
    if (!known)
      ill_posed(net, net->item_node[i], "nothing determines the pressure of node %d",
                net->item_node[i]);
  }
}

double recover(struct net *net)
{
  double least = INFINITY;
  for (int s = 0; s < net->slots; s++)
    if (net->slot_node[s] >= 0)
      net->node_p[net->slot_node[s]] = net->x[s];
  double most = 0;
  for (int e = 0; e < net->edge_count; e++) {
    int first = net->item_first[e];
    if (net->item_first[e + 1] - first > 1) {
      least = recover_chain(net, e, least);
      continue;
    }
    const struct item *item = &net->items[first];
    net->link_flow[item->link] = item->reversed ? -net->flow[e] : net->flow[e];
    most = net->c[e] > most ? net->c[e] : most;
    if (net->c[e] > 0.9 / LEAST_SLOPE) { /* steeper than the tangent was allowed to be */
      double drop, slope;
      law_edge(net, e, net->flow[e], &drop, &slope);
      most = slope > 0 ? fmax(most, 1 / slope) : most;
    }
  }
  least = most > 0 && 1 / most < least ? 1 / most : least;
  for (int k = 0; k < net->control_count; k++)
    net->link_flow[net->controls[k].link] = net->x[net->controls[k].slot];
  double pressure = net->abreast->largest(net->node_p, net->problem.node_count);
  return isfinite(least) ? 8 * 2.220446049250313e-16 / least * pressure : 0;
}

/* Which nodes have a pressure, once those with a slot are judged. */
void recover_known(struct net *net, bool all)
{
  for (int n = 0; n < net->problem.node_count; n++)
    if (all || net->slot[n] < 0)
      net->known[n] = true;
  for (int i = 0; all && i < net->capped_count; i++) /* no other edge has stops */
    if (net->stop_count[net->capped[i]] > 1)
      forget_unknown(net, net->capped[i]);
  for (int e = 0; !all && e < net->edge_count; e++)
    forget_unknown(net, e);
}
