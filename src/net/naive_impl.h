#ifndef NET_NAIVE_IMPL_H
#define NET_NAIVE_IMPL_H

#include "net/net.h"

/* The second evaluation's own notes of a problem; see naive.c. */
enum naive_plain { NAIVE_OTHER, NAIVE_SQUARE, NAIVE_VALVE };

struct naive_link {
  int from, to;
  enum naive_plain plain;
  double per_root_Pa[2], lift_Pa, set_kg_s, set_needs_Pa;
};

void naive_load(const struct net_problem *problem, int l, struct naive_link *out);
double naive_work(const struct net_problem *problem, const struct naive_link *links,
                  const double *pressure_Pa, const double *flow_kg_s, double *sum,
                  int *worst_node_out, int *broken_link_out);

#endif
