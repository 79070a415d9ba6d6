#include "net/net_impl.h"

#include <math.h>

/*
 * Fans whose curve rises somewhere.
 *
 * First the network is solved with the least falling curve above each (9): one
 * solution, found safely.  What a monotone network needs grows with the flow,
 * so another crossing can only lie where the true curve, at some smaller flow,
 * is no higher than here; only then is the fan's flow scanned, with the fan as
 * a given flow and one warm solve per point.  docs/physics-networks.md (17).
 */

enum { SITES_MAX = 64, SCAN_POINTS = 48, REFINE_MAX = 60, PASSES_MAX = 4 };

struct site {
  int edge; /* -1: a control */
  struct control *control;
  int link;
  enum control_seg limit; /* the speed limit it was found at */
};

static bool site_reversed(const struct net *net, const struct site *site)
{
  return site->edge >= 0 && net->link_reversed[site->link];
}

static struct curve site_curve(const struct net *net, const struct site *site)
{
  struct curve curve = net->curves[site->link];
  if (site->control)
    curve_speed(&curve, net->problem.links[site->link].fan,
                site->control->seg == CONTROL_LEAST ? site->control->least : site->control->most);
  return curve;
}

static void site_mode(struct net *net, const struct site *site, enum fan_mode mode)
{
  if (site->control)
    site->control->mode = (unsigned char)mode;
  else
    net->mode[site->edge] = (unsigned char)mode;
}

/* Flow in the fan's own direction. */
static double site_flow(const struct net *net, const struct site *site)
{
  if (site->control)
    return net->x[site->control->slot];
  return site_reversed(net, site) ? -net->flow[site->edge] : net->flow[site->edge];
}

static void site_set(struct net *net, const struct site *site, double g)
{
  if (site->control) {
    site->control->forced = site->control->g = g;
    return;
  }
  double way = site_reversed(net, site) ? -g : g;
  net->forced[site->edge] = net->g[site->edge] = way;
}

static double site_needs(const struct net *net, const struct site *site)
{
  const struct net_link *link = &net->problem.links[site->link];
  return net->x[net->slot[link->to]] - net->x[net->slot[link->from]] - link->lift_Pa;
}

static double true_rise(const struct curve *curve, double g)
{
  double rise, slope;
  curve_rise(curve, g, false, &rise, &slope);
  return rise;
}

/* How far the true curve is above what the system needs at this flow; NaN when there is no answer. */
static double excess_at(struct net *net, const struct site *site, const struct curve *curve,
                        double g)
{
  site_mode(net, site, FAN_FORCED);
  site_set(net, site, g);
  if (!newton_run(net, 40)) {
    newton_start(net);
    site_set(net, site, g);
    if (!newton_run(net, 60))
      return (double)NAN;
  }
  return true_rise(curve, g) - site_needs(net, site);
}

/* Illinois' rule of false position between two flows of opposite excess. */
static double refine(struct net *net, const struct site *site, const struct curve *curve,
                     const double bracket[2], const double excess[2])
{
  double low = bracket[0], high = bracket[1], at_low = excess[0], at_high = excess[1], g = high;
  int side = 0;
  for (int i = 0; i < REFINE_MAX; i++) {
    g = (low * at_high - high * at_low) / (at_high - at_low);
    if (fabs(high - low) <= 1e-13 * fabs(high))
      break;
    double at = excess_at(net, site, curve, g);
    if (!isfinite(at) || fabs(at) < 1e-10)
      break;
    if ((at > 0) == (at_high > 0)) {
      high = g;
      at_high = at;
      at_low = side == 1 ? at_low / 2 : at_low;
      side = 1;
    } else {
      low = g;
      at_low = at;
      at_high = side == -1 ? at_high / 2 : at_high;
      side = -1;
    }
  }
  return g;
}

static void add_crossing(struct net_report *report, const struct site *site,
                         const struct curve *curve, double g)
{
  for (int i = 0; i < report->crossing_count; i++)
    if (report->crossings[i].link == site->link &&
        fabs(report->crossings[i].flow_kg_s - g) <= 1e-6 * fabs(g) + 1e-9)
      return;
  if (report->crossing_count < NET_CROSSINGS_MAX)
    report->crossings[report->crossing_count++] = (struct net_crossing){
        .link = site->link, .flow_kg_s = g, .left_of_peak = curve_left_of_peak(curve, g)};
}

/* All crossings of one fan up to a flow.  Gives the one to keep: falling side, largest flow. */
static double scan(struct net *net, const struct site *site, double top, struct net_report *report)
{
  struct curve curve = site_curve(net, site);
  double step = top / SCAN_POINTS, before = (double)NAN, best = (double)NAN;
  for (int i = -1; i <= SCAN_POINTS + 1; i++) {
    double g = step * i, at = excess_at(net, site, &curve, g);
    if (isfinite(at) && isfinite(before) && (at <= 0) != (before <= 0)) {
      bool falling = before > 0;
      double root =
          refine(net, site, &curve, (const double[]){g - step, g}, (const double[]){before, at});
      add_crossing(report, site, &curve, root);
      if (falling) /* more than needed below, less above: it stays there */
        best = root;
    }
    before = at;
  }
  return best;
}

/* May the curve be met at a smaller flow, too? */
static bool may_cross_again(const struct curve *curve, double g)
{
  double rise = true_rise(curve, g), x = curve_unit_flow(curve, g);
  for (int i = 0; i < curve->flat_count; i++)
    if (curve->flat_from[i] < x && curve->flat_least[i] * curve->amplitude <= rise)
      return true;
  return false;
}

/* Settles one fan; false when it could not be. */
static bool settle_site(struct net *net, const struct site *site, struct net_report *report)
{
  struct curve curve = site_curve(net, site);
  double g = site_flow(net, site);
  bool on_curve = !curve_left_of_peak(&curve, g);
  if (on_curve && !may_cross_again(&curve, g))
    return true;
  double best = scan(net, site, fmax(g, 0.02 / fmax(curve.inverse, 1e-9) * curve.last), report);
  if (on_curve) {
    add_crossing(report, site, &curve, g);
    site_mode(net, site, FAN_ENVELOPE);
    site_set(net, site, g);
    return newton_run(net, 60) || converge(net);
  }
  if (!isfinite(best))
    return false;
  site_mode(net, site, FAN_FORCED);
  site_set(net, site, best);
  return newton_run(net, 60) || converge(net);
}

static void freeze(const struct site *sites, int count, bool frozen)
{
  for (int i = 0; i < count; i++)
    if (sites[i].control)
      sites[i].control->frozen = frozen;
}

/* Put back to its speed limit: between the passes others may have let it regulate. */
static void site_limit(struct net *net, const struct site *site)
{
  if (site->control && site->control->seg != site->limit)
    control_move(net, site->control, site->limit);
}

/* All curves as they are, from the flows found one by one; failing that, those flows. */
static bool polish(struct net *net, const struct site *sites, int count)
{
  double flows[SITES_MAX];
  for (int i = 0; i < count; i++) {
    flows[i] = site_flow(net, &sites[i]);
    site_limit(net, &sites[i]);
    site_set(net, &sites[i], flows[i]);
    site_mode(net, &sites[i], FAN_CURVE);
  }
  freeze(sites, count, true);
  bool ok = newton_run(net, 60);
  for (int i = 0; !ok && i < count; i++) {
    site_mode(net, &sites[i], FAN_FORCED);
    site_set(net, &sites[i], flows[i]);
  }
  int link = sites[0].link, node = net->problem.links[link].from;
  if (!ok && count > 1)
    ill_posed(net, node,
              "fans with humps, link %d among them, were not found a common operating point", link);
  if (!ok)
    ill_posed(net, node, "the fan with a hump, link %d, was not found an operating point", link);
  ok = ok || newton_run(net, 60) || converge(net);
  freeze(sites, count, false);
  return ok;
}

static int list_sites(struct net *net, struct site *sites, int room)
{
  int count = 0;
  for (int i = 0; i < net->humped_count && count < room; i++)
    sites[count++] = (struct site){.edge = net->humped[i],
                                   .link = net->items[net->item_first[net->humped[i]]].link};
  for (int k = 0; k < net->control_count && count < room; k++) {
    struct control *c = &net->controls[k];
    if (c->law == NET_FAN && net->curves[c->link].humped && c->seg == CONTROL_HOLDS &&
        !control_speed_fits(net, c)) { /* the envelope could, the curve cannot */
      control_move(net, c, CONTROL_MOST);
      c->frozen = true;
    }
    if (c->law == NET_FAN && net->curves[c->link].humped && c->seg != CONTROL_HOLDS &&
        !(c->seg == CONTROL_LEAST && !(c->least > 0)))
      sites[count++] = (struct site){.edge = -1, .control = c, .link = c->link, .limit = c->seg};
  }
  return count;
}

bool hump_run(struct net *net, struct net_report *report)
{
  struct site sites[SITES_MAX];
  for (int i = 0; i < net->humped_count; i++)
    net->mode[net->humped[i]] = FAN_ENVELOPE;
  for (int k = 0; k < net->control_count; k++)
    net->controls[k].mode = FAN_ENVELOPE;
  net->strict = true;
  if (!converge(net))
    return false;
  int count = list_sites(net, sites, SITES_MAX);
  bool all_on_curve = true, ok = true;
  for (int pass = 0; pass < PASSES_MAX; pass++) {
    all_on_curve = true;
    report->crossing_count = 0;
    for (int i = 0; i < count; i++) {
      site_mode(net, &sites[i], FAN_ENVELOPE);
      ok = newton_run(net, 60) && settle_site(net, &sites[i], report) && ok;
      struct curve curve = site_curve(net, &sites[i]);
      all_on_curve = all_on_curve && !curve_left_of_peak(&curve, site_flow(net, &sites[i]));
    }
    if (all_on_curve && ok) {
      freeze(sites, count, false);
      return true;
    }
    if (count < 2)
      break;
  }
  return polish(net, sites, count);
}
