#include "net/net_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* From values to a verdict. */

enum { ITERATIONS_MAX = 60 };

double net_naive_work(const struct net_problem *problem, const double *pressure_Pa,
                      const double *flow_kg_s, double *sum, int *worst_node_out,
                      int *broken_link_out);

static bool iterate(struct net *net)
{
  if (net->started && newton_run(net, ITERATIONS_MAX))
    return true;
  newton_start(net);
  return newton_run(net, ITERATIONS_MAX) || safe_run(net);
}

/* Solves; parts that cannot balance at any pressure are tied down, and the rest solved again. */
bool converge(struct net *net)
{
  bool ok = iterate(net);
  while (!ok && diagnose_flat(net, true)) {
    net->started = false;
    ok = iterate(net);
  }
  return ok;
}

/* Every pressure is surely determined when no pivot is near the tie that flat parts hang on. */
static void find_known(struct net *net)
{
  if (net->pin_count > 0 || net->humped_count > 0 || net->control_count > 0 ||
      net->pivots.least < 1e3 * TIE_KG_SPA) {
    diagnose_flat(net, false);
    return;
  }
  for (int s = 0; s < net->slots; s++)
    if (net->slot_node[s] >= 0)
      net->known[net->slot_node[s]] = true;
}

static void blank_unknown(struct net *net, bool blank)
{
  for (int n = 0; n < net->problem.node_count; n++)
    if (!net->known[n])
      net->node_p[n] = blank ? NAN : 0;
}

static double largest_pressure(const struct net *net)
{
  double p = 0;
  for (int n = 0; n < net->problem.node_count; n++)
    p = net->known[n] && fabs(net->node_p[n]) > p ? fabs(net->node_p[n]) : p;
  return p;
}

static void judge(struct net *net, struct net_report *report, bool ok, double conductance)
{
  int broken;
  double eps = 2.220446049250313e-16;
  report->floor_kg_s = 8 * eps * conductance * largest_pressure(net);
  blank_unknown(net, true);
  report->residual_kg_s = net_naive_work(&net->problem, net->node_p, net->link_flow, net->sum,
                                         &report->worst_node, &broken);
  report->ill_posed_node = net->ill_node;
  memcpy(report->reason, net->ill_reason, sizeof report->reason);
  double goal = fmax(GOAL_KG_S, report->floor_kg_s);
  bool met = report->residual_kg_s <= goal && (broken == NET_NONE);
  if (net->ill_node != NET_NONE) {
    report->verdict = NET_ILL_POSED;
  } else if (met) {
    report->verdict = NET_SOLVED;
  } else if (ok && broken == NET_NONE && report->residual_kg_s <= 16 * goal) {
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
  *report = (struct net_report){.worst_node = NET_NONE, .ill_posed_node = NET_NONE};
  net->iterations = net->fallbacks = 0;
  struct net_report several = {0};
  bool ok = net->any_humped ? hump_run(net, &several) : converge(net);
  int kept_node = net->ill_node;
  char kept_reason[sizeof net->ill_reason];
  memcpy(kept_reason, net->ill_reason, sizeof kept_reason);
  find_known(net);
  judge(net, report, ok, recover(net));
  net->ill_node = kept_node; /* what the present state alone shows is not remembered */
  memcpy(net->ill_reason, kept_reason, sizeof kept_reason);
  report->iterations = net->iterations;
  report->fallbacks = net->fallbacks;
  report->crossing_count = several.crossing_count;
  memcpy(report->crossings, several.crossings, sizeof report->crossings);
  if (report->crossing_count > 1 && report->verdict == NET_SOLVED)
    report->verdict = NET_SEVERAL_SOLUTIONS;
  if (report->verdict == NET_FAILED)
    net->started = false;
  return report->verdict;
}

double net_naive_imbalance_kg_s(const struct net_problem *problem, const double *pressure_Pa,
                                const double *flow_kg_s, int *worst_node_out, int *broken_link_out)
{
  struct arena arena;
  arena_init(&arena, SIZE_MAX);
  double *sum = ARENA_ARRAY(&arena, double, (size_t)problem->node_count);
  double worst =
      net_naive_work(problem, pressure_Pa, flow_kg_s, sum, worst_node_out, broken_link_out);
  arena_release(&arena);
  return worst;
}
