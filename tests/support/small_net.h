#ifndef TESTS_SUPPORT_SMALL_NET_H
#define TESTS_SUPPORT_SMALL_NET_H

#include "net/net.h"

#include "check.h"

#include <stdlib.h>

/* Networks written by hand in a test: the parts in a line each, and the solve. */

static inline struct net_node given(double pressure_Pa)
{
  return (struct net_node){.fixed = true, .pressure_Pa = pressure_Pa};
}

static inline struct net_node unknown(double inflow_kg_s)
{
  return (struct net_node){.inflow_kg_s = inflow_kg_s};
}

static inline struct net_member power(double k, double m)
{
  return (struct net_member){.kind = NET_POWER, .k = {k, k}, .m = m};
}

static inline struct net_link resist(int from, int to, const struct net_member *member)
{
  return (struct net_link){
      .from = from, .to = to, .law = NET_RESIST, .member_count = 1, .members = member};
}

struct solved {
  struct net *net;
  struct net_report report;
};

static inline struct solved solve(const struct net_node *nodes, int node_count,
                                  const struct net_link *links, int link_count)
{
  struct err err = {0};
  struct net_problem problem = {node_count, link_count, nodes, links};
  struct solved s = {.net = net_new(&problem, &err)};
  if (!CHECK(s.net)) {
    CHECK_STR(err.text, "");
    exit(check_end());
  }
  net_solve(s.net, &s.report);
  return s;
}

#endif
