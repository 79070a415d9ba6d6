#include "net/derive.h"

#include "check.h"
#include "random_net.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Derivatives by implicit differentiation against warm solves of the same net, moved there and back. */

static struct random_net r;

enum kind { DROP, SET, HOLD, KINDS };

/* One pressure and one flow, whichever the seed says, with a weight each. */
struct figure {
  int node, link;
  double node_weight, link_weight;
};

static double solved(struct net *net, const struct figure *figure, bool *ok)
{
  struct net_report report;
  net_solve(net, &report);
  *ok = *ok && report.verdict == NET_SOLVED;
  return figure->node_weight * net_pressure_Pa(net, figure->node) +
         figure->link_weight * net_flow_kg_s(net, figure->link);
}

static double step_of(enum kind kind)
{
  return kind == SET ? 1e-5 : 1e-3;
}

static void move(int link, enum kind kind, double by)
{
  struct net_link *l = &r.links[link];
  if (kind == DROP)
    l->lift_Pa -= by;
  else if (kind == SET)
    l->set_kg_s += by;
  else if (l->law == NET_FAN)
    r.fans[l->fan - r.fans].hold_Pa += by;
  else
    l->hold_Pa += by;
}

static bool applies(const struct net_link *l, enum kind kind)
{
  return kind == DROP || (kind == SET && (l->law == NET_SET_FLOW || l->law == NET_FOLLOW)) ||
         (kind == HOLD && (l->law == NET_HOLD || (l->law == NET_FAN && l->fan->holds)));
}

static double told(const struct net_derive *d, int link, enum kind kind)
{
  return kind == DROP  ? d->per_drop_Pa[link]
         : kind == SET ? d->per_set_kg_s[link]
                       : d->per_hold_Pa[link];
}

/* NaN where the two sides differ: a part of a law ends there, or the net answers otherwise. */
static double by_solves(struct net *net, const struct figure *figure, int link, enum kind kind)
{
  double h = step_of(kind), middle, up, down;
  bool ok = true;
  middle = solved(net, figure, &ok);
  move(link, kind, h);
  net_update(net, &r.problem);
  up = solved(net, figure, &ok);
  move(link, kind, -2 * h);
  net_update(net, &r.problem);
  down = solved(net, figure, &ok);
  move(link, kind, h);
  net_update(net, &r.problem);
  solved(net, figure, &ok);
  double bent = fabs(up - 2 * middle + down), straight = fabs(up - down);
  return ok && bent <= 1e-3 * straight + 1e-9 ? (up - down) / (2 * h) : (double)NAN;
}

struct compared {
  int compared, far;
};

static double largest_of(const struct net_derive *d)
{
  double largest = 0;
  for (int l = 0; l < r.link_count; l++)
    for (enum kind k = 0; k < KINDS; k++)
      largest = fmax(largest, fabs(told(d, l, k)) * step_of(k));
  return largest;
}

static void compare_one(struct net *net, const struct net_derive *d, const struct figure *figure,
                        int link, enum kind k, double largest, struct compared *c)
{
  double wanted = by_solves(net, figure, link, k),
         slack = 1e-5 * largest / step_of(k) + 1e-8 / step_of(k);
  if (isnan(wanted))
    return;
  c->compared += fabs(wanted) > 20 * slack; /* told apart from nothing */
  if (fabs(told(d, link, k) - wanted) <= 2e-3 * fabs(wanted) + slack)
    return;
  if (c->far++ < 8)
    printf("  link %d law %d kind %d: told %g, wanted %g\n", link, (int)r.links[link].law, (int)k,
           told(d, link, k), wanted);
}

static void compare_net(struct net *net, struct compared *c)
{
  bool ok = true;
  struct figure figure = {numeric_random_below(&r.random, r.node_count),
                          numeric_random_below(&r.random, r.link_count), 1, 7};
  solved(net, &figure, &ok);
  struct net_derive *d = net_derive_new(net);
  if (ok && net_derive_begin(d)) {
    d->pressure_weight_ratio[figure.node] = figure.node_weight;
    d->flow_weight_ratio[figure.link] = figure.link_weight;
    net_derive_find(d);
    double largest = largest_of(d);
    for (int l = 0; l < r.link_count; l++)
      for (enum kind k = 0; k < KINDS; k++)
        if (applies(&r.links[l], k))
          compare_one(net, d, &figure, l, k, largest, c);
  }
  net_derive_free(d);
}

static void compare(enum random_net_kind kind, int nets, int least_compared)
{
  struct compared c = {0};
  for (uint64_t seed = 1; seed <= (uint64_t)nets; seed++) {
    struct err err = {0};
    random_net_make(&r, seed, kind);
    struct net *net = net_new(&r.problem, &err);
    if (!CHECK(net))
      exit(check_end());
    compare_net(net, &c);
    net_free(net);
  }
  printf("  %d derivatives compared, %d far\n", c.compared, c.far);
  CHECK(c.compared >= least_compared);
  CHECK_INT(c.far, 0);
}

static void every_derivative_of_a_plain_net_is_what_solving_anew_says(void)
{
  compare(RANDOM_NET_PLAIN, 40, 500);
}

static void every_derivative_of_a_controlled_net_is_what_solving_anew_says(void)
{
  compare(RANDOM_NET_CONTROLLED, 40, 500);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(every_derivative_of_a_plain_net_is_what_solving_anew_says);
  RUN(every_derivative_of_a_controlled_net_is_what_solving_anew_says);
  return check_end();
}
