#include "net/net_impl.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

/* From values to a verdict. */

enum { ITERATIONS_MAX = 60, QUICK_MAX = 20 };

static bool iterate(struct net *net)
{
  bool controlled = net->control_count > 0;
  int limit = controlled ? QUICK_MAX : ITERATIONS_MAX; /* what settles at all settles by then */
  predict_changed(net);
  if (net->started && newton_steps(net, limit))
    return true;
  newton_start(net);
  return newton_steps(net, limit) || (controlled && soft_run(net)) || safe_run(net);
}

/* Solves; parts that cannot balance at any pressure are tied down, and the rest solved again. */
bool converge(struct net *net)
{
  bool ok = iterate(net);
  while (!ok && (diagnose_flat(net, true) || diagnose_runaway(net))) {
    net->started = false;
    ok = iterate(net);
  }
  return ok;
}

/* Every pressure is surely determined when no pivot is near the tie that flat parts hang on. */
static bool surely_known(const struct net *net)
{
  return net->pin_count == 0 && !net->any_humped && net->control_count == 0 &&
         net->pivots.least >= 1e3 * TIE_KG_SPA;
}

static void find_known(struct net *net, bool all)
{
  if (!all)
    diagnose_flat(net, false);
  recover_known(net, all);
  for (int n = 0; !all && n < net->problem.node_count; n++)
    if (!net->known[n])
      net->node_p[n] = (double)NAN; /* nothing may be concluded from it */
}

/* What the second evaluation says of the present state; true when it is content. */
static bool check(struct net *net, struct net_report *report, int *broken)
{
  bool all = surely_known(net);
  if (!all)
    diagnose_float(net);
  report->floor_kg_s = recover(net);
  find_known(net, all);
  report->residual_kg_s = naive_work(&net->problem, net->naive, net->node_p, net->link_flow,
                                     net->sum, &report->worst_node, broken);
  return report->residual_kg_s <= fmax(GOAL_KG_S, report->floor_kg_s) && *broken == NET_NONE;
}

/* Where not even the rest of an ill-posed network was solved, no pressure is told. */
static void tell_none(struct net *net)
{
  for (int n = 0; n < net->problem.node_count; n++)
    net->known[n] = net->problem.nodes[n].fixed;
}

static void judge(const struct net *net, struct net_report *report, bool met, int broken)
{
  double goal = fmax(GOAL_KG_S, report->floor_kg_s);
  report->ill_posed_node = net->ill_node;
  memcpy(report->reason, net->ill_reason, sizeof report->reason);
  if (net->ill_node != NET_NONE) {
    report->verdict = NET_ILL_POSED;
  } else if (met) {
    report->verdict = NET_SOLVED;
  } else if (broken == NET_NONE && report->residual_kg_s <= 16 * goal) {
    report->verdict = NET_AT_FLOOR;
    snprintf(report->reason, sizeof report->reason,
             "rounding of the pressures leaves %.2g kg/s at node %d", report->residual_kg_s,
             report->worst_node);
  } else {
    report->verdict = NET_FAILED;
    if (broken != NET_NONE)
      snprintf(report->reason, sizeof report->reason, "link %d does not obey its law", broken);
    else
      snprintf(report->reason, sizeof report->reason, "%.2g kg/s are left over at node %d",
               report->residual_kg_s, report->worst_node);
  }
}

enum net_verdict net_solve(struct net *net, struct net_report *report)
{
  int broken, kept_node = net->ill_node;
  char kept_reason[sizeof net->ill_reason];
  memset(report, 0, offsetof(struct net_report, crossings));
  net->iterations = net->fallbacks = 0;
  net->strict = false;
  bool ok = net->any_humped ? hump_run(net, report) : converge(net);
  if (net->ill_node != kept_node)
    kept_node = net->ill_node;
  memcpy(kept_reason, net->ill_reason, sizeof kept_reason);
  bool met = check(net, report, &broken);
  if (ok && !met && !net->strict) { /* the forecast of the last step was too bright */
    net->strict = true;
    newton_run(net, ITERATIONS_MAX);
    met = check(net, report, &broken);
  }
  while (!met && !net->any_humped && diagnose_runaway(net)) { /* at rest, but beyond any bound */
    net->started = false;
    converge(net);
    met = check(net, report, &broken);
    kept_node = net->ill_node;
    memcpy(kept_reason, net->ill_reason, sizeof kept_reason);
  }
  judge(net, report, met, broken);
  if (report->verdict == NET_ILL_POSED &&
      report->residual_kg_s > 16 * fmax(GOAL_KG_S, report->floor_kg_s))
    tell_none(net);
  net->ill_node = kept_node; /* what the present state alone shows is not remembered */
  memcpy(net->ill_reason, kept_reason, sizeof kept_reason);
  report->iterations = net->iterations;
  report->fallbacks = net->fallbacks;
  if (report->crossing_count > 1 && report->verdict == NET_SOLVED)
    report->verdict = NET_SEVERAL_SOLUTIONS;
  if (report->verdict == NET_FAILED)
    net->started = false;
  return report->verdict;
}
