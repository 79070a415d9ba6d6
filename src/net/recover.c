#include "net/net_impl.h"

#include <math.h>

/*
 * Pressures inside folded edges.  Walked from both ends towards the tightest
 * resistance, or the stop that binds, which takes up the rounding: that is
 * where a given error in pressure is the smallest error in flow.
 */

static void item_drop(const struct net *net, const struct item *item, double g, double *drop,
                      double *slope)
{
  double size = fabs(g);
  if (item->simple && size >= item->knee) {
    double t = item->k[g < 0] * size;
    *drop = t * g;
    *slope = 2 * t;
    return;
  }
  law_link(net, item->link, item->reversed ? -g : g, drop, slope);
  if (item->reversed)
    *drop = -*drop;
}

static double recover_edge(struct net *net, int e, double least_slope)
{
  double g = net->flow[e], drop, slope;
  int first = net->item_first[e], last = net->item_first[e + 1] - 1;
  bool flat = net->seg[e] != SEG_LAW && net->stop[e] >= 0;
  int middle = flat ? net->stop[e] : net->absorb[e];
  double p = net->x[net->a[e]];
  for (int i = first; i <= last; i++)
    net->link_flow[net->items[i].link] = net->items[i].reversed ? -g : g;
  for (int i = first; i < middle; i++) {
    item_drop(net, &net->items[i], g, &drop, &slope);
    if (slope > 0 && slope < least_slope)
      least_slope = slope;
    p -= drop - net->items[i].lift_Pa;
    net->node_p[net->item_node[i]] = p;
    net->known[net->item_node[i]] = true;
  }
  p = net->x[net->b[e]];
  for (int i = last; i > middle; i--) {
    item_drop(net, &net->items[i], g, &drop, &slope);
    if (slope > 0 && slope < least_slope)
      least_slope = slope;
    p += drop - net->items[i].lift_Pa;
    net->node_p[net->item_node[i - 1]] = p;
    net->known[net->item_node[i - 1]] = true;
  }
  if (!flat && net->mode[e] != FAN_FORCED) {
    item_drop(net, &net->items[middle], g, &drop, &slope);
    if (slope > 0 && slope < least_slope)
      least_slope = slope;
  }
  return least_slope;
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
  double least_slope = INFINITY;
  for (int s = 0; s < net->slots; s++)
    if (net->slot_node[s] >= 0)
      net->node_p[net->slot_node[s]] = net->x[s];
  for (int e = 0; e < net->edge_count; e++)
    least_slope = recover_edge(net, e, least_slope);
  for (int k = 0; k < net->control_count; k++)
    net->link_flow[net->controls[k].link] = net->x[net->controls[k].slot];
  bool all = true;
  for (int s = 0; s < net->slots; s++)
    all = all && (net->slot_node[s] < 0 || net->known[net->slot_node[s]]);
  for (int e = 0; e < net->edge_count; e++)
    if (!all || net->stop_count[e] > 1)
      forget_unknown(net, e);
  return isfinite(least_slope) ? 1 / least_slope : 0;
}
