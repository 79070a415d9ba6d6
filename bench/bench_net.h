#ifndef BENCH_BENCH_NET_H
#define BENCH_BENCH_NET_H

#include "net/net.h"

#include <stdbool.h>

/*
 * The same made-up building twice: as a net_problem, and as edges of flow over
 * pressure for a general nonlinear solver, both with every node of the station
 * chains (full) and with the chains folded by hand (reduced).
 */
struct shape {
  const char *name;
  int rooms, stations, inner, mains, corridors; /* inner: nodes inside a station's chain */
};

enum edge_kind { EDGE_RESIST, EDGE_VALVE, EDGE_FAN };

struct pressure_edge {
  enum edge_kind kind;
  int from, to; /* unknowns; -1: outdoors, 0 Pa */
  double k, m, set_kg_s, a_Pa, b;
  double gain_kg_sPa, hold_Pa; /* EDGE_FAN: of its control line; gain 0: full speed always */
  int station;                 /* -1: none; whose opening changes k, whose valve changes set_kg_s */
};

struct graph {
  int unknowns, edge_count;
  struct pressure_edge *edges;
  double *inflow_kg_s;
};

enum building_kind {
  BUILDING_PLAIN,  /* fans at full speed, supplies by decree */
  BUILDING_STATIC, /* fans that hold the pressure of their main */
  BUILDING_HELD    /* these, and rooms that are held or followed: no rival has such laws */
};

struct building {
  struct shape shape;
  struct net_problem problem;
  struct net_node *nodes;
  struct net_link *links;
  struct net_member *members;
  struct net_fan *fans;
  int *sash_link, *valve_link, *sash_member; /* by station; valve_link -1: a fixed damper */
  double *sash_k;                            /* at the first opening */
  double *valve_set;
  double *rest_k; /* the rest of the station's chain */
  int *full_sash, *full_valve, *reduced_edge;
  struct graph full, reduced;
};

void building_make(struct building *b, const struct shape *shape, enum building_kind kind);
void building_release(struct building *b);
/* Moves one sash, and the set flow of its valve if it has one, in all three descriptions. */
void building_move(struct building *b, int s, double opening_ratio);
/* Other fans, all of them: this much of the rise they were made with. */
void building_weaken(struct building *b, double rise_ratio);

/* Flow of one edge at a drop and its slope: the one kernel that KINSOL calls. */
double pressure_flow(const struct pressure_edge *e, double drop_Pa, double *slope);

/* KINSOL with KLU, line search, exact Jacobian at every iteration. */
struct rival;
struct rival *rival_new(const struct graph *graph);
void rival_free(struct rival *r);
void rival_forget(struct rival *r); /* start from zero pressures */
int rival_solve(struct rival *r);   /* Newton iterations, or -1 */
double rival_residual_kg_s(struct rival *r);
double rival_pressure_Pa(const struct rival *r, int unknown);

#endif
