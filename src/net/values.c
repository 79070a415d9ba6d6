#include "net/net_impl.h"

#include <math.h>

/* Numbers from the problem into the shapes the kernels read. */

static void load_resists(struct net *net, int link)
{
  const struct net_link *l = &net->problem.links[link];
  for (int i = 0; i < l->member_count; i++) {
    const struct net_member *member = &l->members[i];
    struct resist *r = &net->resists[net->resist_first[link] + i];
    *r = (struct resist){.darcy = member->kind == NET_DARCY ? member : NULL, .m = member->m};
    if (r->darcy)
      continue;
    for (int way = 0; way < 2; way++) {
      double k = member->k[way], ratio = k > 0 ? KNEE_PA / k : (double)INFINITY;
      r->k[way] = k;
      r->knee[way] = way == 1 && k == r->k[0] ? r->knee[0]
                     : member->m == 2         ? sqrt(ratio)
                                              : pow(ratio, 1 / member->m);
    }
  }
}

static void load_item(struct net *net, struct item *item)
{
  const struct net_link *link = &net->problem.links[item->link];
  load_resists(net, item->link);
  item->lift_Pa = item->reversed ? -link->lift_Pa : link->lift_Pa;
  item->simple = link->law != NET_FAN;
  item->k[0] = item->k[1] = item->knee = 0;
  for (int i = net->resist_first[item->link]; i < net->resist_first[item->link + 1]; i++) {
    const struct resist *r = &net->resists[i];
    if (r->darcy || r->m != 2) {
      item->simple = false;
      continue;
    }
    for (int way = 0; way < 2; way++) {
      item->k[way] += r->k[item->reversed ? !way : way];
      if (r->k[way] > 0)
        item->knee = fmax(item->knee, r->knee[way]);
    }
  }
}

struct stops {
  double cap;
  int stop, count, sets;
  bool differ, resisted, decreed;
};

/* What a shut link, a fan that stands, or a set flow allows at most, in the edge's direction. */
static bool stop_of(const struct net *net, const struct item *item, double *cap)
{
  const struct net_link *link = &net->problem.links[item->link];
  if (link->law == NET_SHUT || (link->law == NET_FAN && !(net->curves[item->link].inverse > 0)))
    *cap = 0;
  else if (link->law == NET_SET_FLOW)
    *cap = item->reversed ? -link->set_kg_s : link->set_kg_s;
  else
    return false;
  return true;
}

static struct stops find_stops(const struct net *net, int edge)
{
  struct stops stops = {.cap = INFINITY, .stop = -1};
  for (int i = net->item_first[edge]; i < net->item_first[edge + 1]; i++) {
    const struct item *item = &net->items[i];
    const struct net_link *link = &net->problem.links[item->link];
    if (link->law == NET_FAN)
      stops.resisted = true;
    for (int r = net->resist_first[item->link]; r < net->resist_first[item->link + 1]; r++)
      if (net->resists[r].darcy || net->resists[r].k[0] > 0 || net->resists[r].k[1] > 0)
        stops.resisted = true;
    double cap;
    if (!stop_of(net, item, &cap))
      continue;
    stops.sets += link->law == NET_SET_FLOW;
    /* no path of its own to push against: a decree, not a valve */
    if (link->law == NET_SET_FLOW &&
        net->resist_first[item->link] == net->resist_first[item->link + 1])
      stops.decreed = true;
    if (stops.stop >= 0 && cap != stops.cap)
      stops.differ = true;
    if (stops.stop >= 0 && cap == stops.cap) {
      stops.count++;
    } else if (stops.stop >= 0 && cap * stops.cap < 0) { /* one each way: nothing passes */
      stops.cap = 0;
      stops.count = 2;
    } else if (fabs(cap) < fabs(stops.cap)) {
      stops.cap = cap;
      stops.stop = i;
      stops.count = 1;
    }
  }
  return stops;
}

/* A limit that comes or goes leaves the edge in a state it can start from. */
static void load_cap(struct net *net, int e)
{
  struct stops stops = find_stops(net, e);
  double before = net->cap[e];
  bool same =
      before == stops.cap || (isfinite(before) && isfinite(stops.cap) && before * stops.cap > 0);
  net->cap[e] = stops.cap;
  net->stop[e] = stops.stop;
  net->stop_count[e] = stops.count;
  net->exact[e] = stops.cap == 0 || stops.decreed || (stops.sets > 0 && !stops.resisted);
  if (net->exact[e] && stops.differ && stops.cap != 0)
    ill_posed(net, net->item_node[net->item_first[e]],
              "set flows in series that disagree meet at node %d",
              net->item_node[net->item_first[e]]);
  double slope;
  if (isfinite(stops.cap)) {
    law_edge(net, e, stops.cap, &net->cap_drop[e], &slope);
    law_edge(net, e, 0, &net->zero_drop[e], &slope);
  }
  if (!same && isfinite(stops.cap)) {
    net->seg[e] = SEG_CAP;
  } else if (!same && net->started) {
    net->seg[e] = SEG_LAW;
    net->g[e] = law_guess(net, e, net->x[net->a[e]] - net->x[net->b[e]] + net->lift[e]);
  } else if (!isfinite(stops.cap)) {
    net->seg[e] = SEG_LAW;
  }
}

void values_edge(struct net *net, int e, int only_link)
{
  double k0 = 0, k1 = 0, knee = 0, lift = 0, steepest = -1;
  for (int i = net->item_first[e]; i < net->item_first[e + 1]; i++) {
    struct item *item = &net->items[i];
    const struct net_link *link = &net->problem.links[item->link];
    if (link->law == NET_FAN)
      curve_speed(&net->curves[item->link], link->fan, link->fan->speed_ratio);
    if (only_link == NET_NONE || only_link == item->link)
      load_item(net, item);
    double drop, slope = item->k[0];
    if (!item->simple)
      law_link(net, item->link, item->reversed ? -0.1 : 0.1, &drop, &slope);
    if (slope > steepest) {
      steepest = slope;
      net->absorb[e] = i;
    }
    k0 += item->k[0];
    k1 += item->k[1];
    knee = fmax(knee, item->knee);
    lift += item->lift_Pa;
  }
  double before = net->g[e] < 0 ? net->k1[e] : net->k0[e], after = net->g[e] < 0 ? k1 : k0;
  if (net->started && e < net->quad_count && before > 0 && after > 0 && before != after)
    net->g[e] *= sqrt(before / after); /* the old drop, of which most will be left */
  net->k0[e] = k0;
  net->k1[e] = k1;
  net->knee[e] = knee > 0 ? knee : (double)INFINITY;
  net->lift[e] = lift;
  if (e >= net->quad_count && e < net->quad_count + net->power_count) {
    const struct item *item = &net->items[net->item_first[e]];
    const struct resist *r = &net->resists[net->resist_first[item->link]];
    net->m[e] = r->m;
    net->k0[e] = r->k[item->reversed];
    net->k1[e] = r->k[!item->reversed];
    net->knee[e] = r->knee[item->reversed];
    net->knee1[e] = r->knee[!item->reversed];
  }
  load_cap(net, e);
}

static void load_nodes(struct net *net)
{
  net->inflow_count = 0;
  for (int n = 0; n < net->problem.node_count; n++) {
    const struct net_node *node = &net->problem.nodes[n];
    int slot = net->slot[n];
    if (slot >= net->unknowns)
      net->x[slot] = node->pressure_Pa;
    if (slot >= 0 && slot < net->unknowns && node->inflow_kg_s != 0) {
      net->inflow_slot[net->inflow_count] = slot;
      net->inflow[net->inflow_count++] = node->inflow_kg_s;
    }
  }
}

static void list_special(struct net *net)
{
  net->capped_count = net->humped_count = 0;
  net->any_humped = false;
  for (int e = 0; e < net->edge_count; e++) {
    if (isfinite(net->cap[e]))
      net->capped[net->capped_count++] = e;
    int link = net->items[net->item_first[e]].link;
    if (net->problem.links[link].law == NET_FAN && net->curves[link].humped &&
        net->curves[link].inverse > 0)
      net->humped[net->humped_count++] = e;
  }
  for (int l = 0; l < net->problem.link_count; l++)
    net->any_humped =
        net->any_humped || (net->problem.links[l].law == NET_FAN && net->curves[l].humped);
}

void values_load(struct net *net)
{
  net->factored = false;
  net->ill_node = NET_NONE;
  net->ill_reason[0] = '\0';
  load_nodes(net);
  for (int l = 0; l < net->problem.link_count; l++)
    naive_load(&net->problem, l, &net->naive[l]);
  for (int e = 0; e < net->edge_count; e++)
    values_edge(net, e, NET_NONE);
  list_special(net);
  for (int k = 0; k < net->control_count; k++) {
    struct control *c = &net->controls[k];
    load_resists(net, c->link);
    control_load(net, c);
  }
  diagnose_structure(net);
}

static bool edge_fits(const struct net *net, int e)
{
  enum edge_class class, had = e < net->quad_count                      ? EDGE_QUAD
                               : e < net->quad_count + net->power_count ? EDGE_POWER
                                                                        : EDGE_CHAIN;
  int first = net->item_first[e], count = net->item_first[e + 1] - first;
  for (int i = first; i < first + count; i++) {
    int link = net->items[i].link;
    if (!link_folds(&net->problem, link))
      return false;
    if (net->problem.links[link].member_count !=
        net->resist_first[link + 1] - net->resist_first[link])
      return false;
    if (count > 1 && net->problem.links[link].law == NET_FAN && net->curves[link].humped)
      return false;
  }
  edge_classify(net, net->items + first, count, &class);
  return had == EDGE_CHAIN || class == had;
}

bool values_fit(const struct net *net)
{
  for (int n = 0; n < net->problem.node_count; n++) {
    const struct net_node *node = &net->problem.nodes[n];
    int slot = net->slot[n];
    if (slot < 0 ? node->fixed || node->inflow_kg_s != 0 : node->fixed != (slot >= net->unknowns))
      return false;
  }
  for (int e = 0; e < net->edge_count; e++)
    if (!edge_fits(net, e))
      return false;
  for (int k = 0; k < net->control_count; k++) {
    const struct control *c = &net->controls[k];
    const struct net_link *link = &net->problem.links[c->link];
    if (link->law != c->law || link_folds(&net->problem, c->link))
      return false;
    int held = link->law == NET_FAN ? link->fan->held : link->held;
    int over = link->law == NET_FAN ? link->fan->over : link->over;
    if (c->law != NET_FOLLOW && (net->slot[held] != c->held || (over < 0) != (c->over < 0) ||
                                 (over >= 0 && net->slot[over] != c->over)))
      return false;
  }
  return true;
}
