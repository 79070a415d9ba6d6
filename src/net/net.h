#ifndef NET_NET_H
#define NET_NET_H

#include "base/err.h"

#include <stdbool.h>

/*
 * Steady flow in a network of nodes joined by links, each link obeying a law.
 *
 * It knows no room, station or fan catalogue: pressures, mass flows and laws
 * only, so the same solver serves a suite's air and a textbook's water pipes.
 * Method, equations and limits: docs/physics-networks.md.
 *
 *     struct net_problem problem = {...};
 *     struct net *net = net_new(&problem, &err);
 *     net_solve(net, &report);
 *     printf("%g kg/s\n", net_flow_kg_s(net, 3));
 *     net_free(net);
 *
 * One net belongs to one thread at a time.  net_solve allocates nothing.
 *
 * Signs: a flow is positive from `from` to `to`; the drop of a link is
 * p[from] - p[to] + lift_Pa.  Each law is exact where |drop| >= 0.01 Pa; below
 * that the resistance laws run smoothly through zero (docs/physics-networks.md, "The
 * knee").  Ideal limits (set flow, hold, least, most) hold exactly.
 */
struct net;

enum { NET_NONE = -1 };

struct net_node {
  bool fixed;         /* pressure given; else unknown */
  double pressure_Pa; /* when fixed; a first guess otherwise */
  double inflow_kg_s; /* by decree, into the network; negative takes out */
};

enum net_law {
  NET_SHUT,     /* no flow at any drop */
  NET_RESIST,   /* drop = sum over members, each odd and increasing in the flow */
  NET_FAN,      /* drop = -rise(flow): pushes from `from` to `to` */
  NET_SET_FLOW, /* `set`, but never more than its members and its chain let through, nor backwards;
                   without members a decree: exactly `set` at any drop */
  NET_HOLD,     /* whatever flow within least..most keeps p[held] - p[over] = hold_Pa */
  NET_FOLLOW    /* flow = sum of the flows of `follows` + set, within least..most */
};

/*
 * One resistance in series on a link.  Flows are mass flows; densities differ
 * by the direction of flow (air enters from the one or the other end), so every
 * coefficient comes twice: [0] for forward, [1] for backward flow.
 */
enum net_member_kind {
  NET_POWER, /* drop = k |g|^(m-1) g,  1 <= m <= 3 */
  NET_DARCY  /* drop = (f(Re) L/D + loss) g|g| / (2 rho A^2), f by Colebrook, 64/Re when laminar */
};

struct net_member {
  enum net_member_kind kind;
  double k[2], m;                                                /* NET_POWER: k in Pa/(kg/s)^m */
  double length_m, diameter_m, area_m2, roughness_m, loss_ratio; /* NET_DARCY */
  double density_kg_m3[2], viscosity_Pa_s;
};

/* Rise over volume flow of one unit at full speed, at the density of the curve. */
enum net_curve_kind {
  NET_CURVE_TABLE_CUBIC,
  NET_CURVE_TABLE_LINEAR,
  NET_CURVE_TABLE_SPLINE,
  NET_CURVE_A_MINUS_B_Q2
};

struct net_fan {
  enum net_curve_kind kind;
  int point_count;
  const double *flow_m3_s, *rise_Pa; /* borrowed; flows strictly increasing */
  double a_Pa, b_Pa_s2_m6;
  double density_kg_m3; /* of the air entering the fan, turns kg/s into m3/s */
  double rise_factor;   /* density_kg_m3 / density of the curve; 1 when as measured */
  double speed_ratio;   /* rise(q, s) = s^2 rise(q/s): fan laws */
  int running;          /* equal units side by side, >= 1 (else use NET_SHUT) */
  bool holds;           /* speed moves within least..most to keep the pressure below */
  int held, over;
  double hold_Pa, least_speed_ratio, most_speed_ratio;
};

struct net_link {
  int from, to;
  enum net_law law;
  double lift_Pa; /* constant drive along the link, e.g. stack effect */
  int member_count;
  const struct net_member *members; /* borrowed; RESIST, SET_FLOW, HOLD (wide-open path) */
  const struct net_fan *fan;        /* borrowed; FAN */
  double set_kg_s;                  /* SET_FLOW; FOLLOW: the offset */
  int held, over;                   /* HOLD: nodes; over == NET_NONE means zero pressure */
  double hold_Pa;
  double least_kg_s, most_kg_s; /* HOLD, FOLLOW; most may be INFINITY */
  int follow_count;
  const int *follows; /* FOLLOW: link indices, flows counted positive from->to */
};

/* Everything is borrowed and must outlive the net. */
struct net_problem {
  int node_count, link_count;
  const struct net_node *nodes;
  const struct net_link *links;
};

enum net_verdict {
  NET_SOLVED,            /* imbalance <= max(1e-9 kg/s, floor) */
  NET_AT_FLOOR,          /* above both, by no more than a factor of 16; floor reported */
  NET_ILL_POSED,         /* some nodes have no answer; `reason` names them; the rest is solved */
  NET_SEVERAL_SOLUTIONS, /* a humped fan curve crosses its system more than once; all given */
  NET_FAILED             /* well posed as far as we can tell, yet no answer: a bug to report */
};

/* Which part of its law a link ended on.  "Set point held" is a result. */
enum net_segment {
  NET_ON_LAW,
  NET_ON_SET,
  NET_AT_LEAST,
  NET_AT_MOST,
  NET_WIDE_OPEN,
  NET_BEYOND_CURVE,
  NET_LEFT_OF_PEAK,
  NET_NO_FLOW
};

struct net_crossing {
  int link;
  double flow_kg_s;
  bool left_of_peak;
};
enum { NET_CROSSINGS_MAX = 16 };

struct net_report {
  enum net_verdict verdict;
  int iterations, fallbacks; /* fallbacks: iterations of the slower, safer method */
  double residual_kg_s;      /* largest node imbalance, by the naive second evaluation */
  int worst_node;
  double floor_kg_s;  /* 8 eps max(conductance) max(|p|) */
  int ill_posed_node; /* one of them, or NET_NONE */
  char reason
      [160]; /* for ILL_POSED, AT_FLOOR and FAILED; "" otherwise; names no ids, only indices */
  int crossing_count;
  struct net_crossing crossings[NET_CROSSINGS_MAX];
};

/* NULL with ERR_INPUT and words when the problem itself is malformed (index out of range, k < 0 ...). */
struct net *net_new(const struct net_problem *problem, struct err *err);
void net_free(struct net *net); /* NULL is fine */

/*
 * Values (not shape) may change between solves: set flows, fixed pressures,
 * inflows, holds and limits, member coefficients, fan speed and number running.
 * Pass the same problem with new values; law changes (SHUT <-> RESIST ...) are
 * allowed too, ends and counts are not.
 */
void net_update(struct net *net, const struct net_problem *problem);
/* The same when only this link's values changed: much faster on a large net. */
void net_update_link(struct net *net, const struct net_problem *problem, int link);
/* The same when of this link's fan, which holds nothing, only the speed changed: faster still. */
void net_update_speed(struct net *net, const struct net_problem *problem, int link);

/*
 * Solves, from the last answer when there is one.  Always ends in a verdict.
 * On NET_ILL_POSED the well-posed part is solved and net_has_pressure tells which.
 */
enum net_verdict net_solve(struct net *net, struct net_report *report);
void net_forget(struct net *net); /* next solve starts cold */

/*
 * Instructions that work on several numbers at a time: of a net on its links, of comb.h on sets of
 * stations.  Every path gives the same answer, bit by bit.
 */
enum net_path { NET_PATH_BEST, NET_PATH_PLAIN, NET_PATH_AVX2, NET_PATH_AVX512 };
bool net_path_has(enum net_path path); /* this machine */
enum net_path net_path_best(void);     /* the widest it has */
const char *net_path_name(enum net_path path);

/* A new net takes the best.  False: the machine has none such, nothing changes. */
bool net_take_path(struct net *net, enum net_path path);
enum net_path net_path_of(const struct net *net);

bool net_has_pressure(const struct net *net, int node); /* false: isolated, pressure undetermined */
double net_pressure_Pa(const struct net *net, int node);
double net_flow_kg_s(const struct net *net, int link);
double net_drop_Pa(const struct net *net, int link); /* p[from]-p[to]+lift */
double net_member_drop_Pa(const struct net *net, int link, int member);
double net_rise_Pa(const struct net *net, int link);     /* FAN */
double net_speed_ratio(const struct net *net, int link); /* FAN */
enum net_segment net_link_segment(const struct net *net, int link);
/* Of a fan that holds its pressure, where it stands: what its rise changes by with the flow and with
 * the speed.  False: its speed is not free. */
bool net_fan_slopes(const struct net *net, int link, double *rise_per_kg_s,
                    double *rise_per_speed_Pa);

/*
 * The deliberately naive second opinion: largest node imbalance of the given
 * pressures, by plain evaluation of each law from its pressures, one link at a
 * time, sharing no code with the solver's kernels (net/naive.c).  Flows of
 * SET/HOLD/FOLLOW links are taken from `flow_kg_s` and checked against their
 * own conditions; `broken_link_out` is the first link whose law does not hold,
 * or NET_NONE.
 */
double net_naive_imbalance_kg_s(const struct net_problem *problem, const double *pressure_Pa,
                                const double *flow_kg_s, int *worst_node_out, int *broken_link_out);

/* A small text of the problem, for bug reports and for replay in tests. */
struct buf;
void net_print(const struct net_problem *problem, struct buf *out);

#endif
