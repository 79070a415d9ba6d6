#include "net/net.h"

#include "base/buf.h"
#include "random_net.h"

#include <stdio.h>
#include <stdlib.h>

/*
 * usage: print_networks COUNT UNKNOWNS
 *
 * The text of COUNT made-up networks of at most UNKNOWNS unknown pressures, each with the answer
 * of src/net behind it, for a program that solves them anew (scipy_networks.py):
 *
 *     network SEED        then net_print's text, then
 *     verdict V           0 is solved
 *     pressure NODE Pa
 *     flow LINK kg/s
 *     end
 */
static struct random_net sample;

static bool one_in(struct random_net *r, int n)
{
  return numeric_random_below(&r->random, n) == 0;
}

/* What random_net leaves alone: two resistances on one link, wide openings, and thick air in some
 * ducts, so that they run laminar or between. */
static void widen_members(struct random_net *r)
{
  for (int l = 0; l < r->link_count; l++) {
    struct net_link *link = &r->links[l];
    if (link->member_count == 1 && link->members + 1 < r->members + r->member_count && one_in(r, 8))
      link->member_count = 2; /* the next link's as well as its own */
  }
  for (int m = 0; m < r->member_count; m++) {
    struct net_member *member = &r->members[m];
    if (member->kind == NET_DARCY && !one_in(r, 3))
      member->viscosity_Pa_s *= numeric_random_between(&r->random, 20, 120);
    else if (member->kind == NET_POWER && one_in(r, 15))
      member->k[0] = member->k[1] *= 1e-4;
  }
}

/* Tables that begin above zero flow, or end flat, so that the lines outside their points matter. */
static void widen_table(struct random_net *r, int fan)
{
  double *flow = r->points[fan][0], *rise = r->points[fan][1];
  enum net_curve_kind kind = r->fans[fan].kind;
  if (kind == NET_CURVE_A_MINUS_B_Q2)
    return;
  if (one_in(r, 2))
    flow[0] = 0.8 * flow[1];
  if (kind != NET_CURVE_TABLE_SPLINE && one_in(r, 2)) /* a spline would rise before its flat end */
    rise[6] = 0.99 * rise[5];
}

/* Warm air and low speeds at fans, wind against some links, nodes that take or give by decree. */
static void widen(struct random_net *r)
{
  widen_members(r);
  for (int f = 0; f < r->fan_count; f++) {
    widen_table(r, f);
    r->fans[f].rise_factor = numeric_random_between(&r->random, 0.85, 1.1);
    r->fans[f].density_kg_m3 = 1.2 * r->fans[f].rise_factor;
    if (one_in(r, 3))
      r->fans[f].speed_ratio *= 0.4;
  }
  for (int l = 0; l < r->link_count; l++)
    if (r->links[l].member_count > 0 && one_in(r, 12))
      r->links[l].lift_Pa = numeric_random_between(&r->random, -80, 20);
  for (int n = 0; n < r->node_count; n++)
    if (!r->nodes[n].fixed && one_in(r, 10))
      r->nodes[n].inflow_kg_s = numeric_random_between(&r->random, -0.03, 0.03);
}

static int unknowns_of(const struct random_net *r)
{
  int count = 0;
  for (int n = 0; n < r->node_count; n++)
    count += !r->nodes[n].fixed;
  return count;
}

static int print_one(uint64_t seed)
{
  struct err err = {0};
  struct net_report report;
  struct net *net = net_new(&sample.problem, &err);
  if (!net) {
    fprintf(stderr, "seed %llu refused: %s\n", (unsigned long long)seed, err.text);
    return 1;
  }
  struct buf out;
  buf_init(&out, 1 << 20);
  buf_printf(&out, "network %llu\n", (unsigned long long)seed);
  net_print(&sample.problem, &out);
  buf_printf(&out, "verdict %d\n", (int)net_solve(net, &report));
  for (int n = 0; n < sample.node_count; n++)
    buf_printf(&out, "pressure %d %.17g\n", n, net_pressure_Pa(net, n));
  for (int l = 0; l < sample.link_count; l++)
    buf_printf(&out, "flow %d %.17g\n", l, net_flow_kg_s(net, l));
  buf_printf(&out, "end\n");
  fputs(out.text, stdout);
  buf_release(&out);
  net_free(net);
  return 0;
}

int main(int argc, char **argv)
{
  if (argc != 3) {
    fprintf(stderr, "usage: print_networks COUNT UNKNOWNS\n");
    return 2;
  }
  long count = strtol(argv[1], NULL, 10), most = strtol(argv[2], NULL, 10);
  for (uint64_t seed = 0; count > 0 && seed < 100000; seed++) {
    random_net_make(&sample, seed, RANDOM_NET_PLAIN);
    if (unknowns_of(&sample) > most)
      continue;
    widen(&sample);
    if (print_one(seed) != 0)
      return 1;
    count--;
  }
  return count > 0;
}
