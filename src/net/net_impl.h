#ifndef NET_NET_IMPL_H
#define NET_NET_IMPL_H

#include "base/arena.h"
#include "net/naive_impl.h"
#include "net/net.h"
#include "numeric/numeric.h"

/*
 * Inside a net.
 *
 * Links in a row without a branch are folded into one *edge*; the pressures
 * between them are found again afterwards.  Every kept node and every control
 * flow has a *slot*: unknowns first, in elimination order, then the kept nodes
 * of fixed pressure.  `x` holds pressures and control flows by slot.
 *
 * Numbers of the form (n) are equations of docs/physics-networks.md.
 */
#define KNEE_PA      0.01  /* below this drop a power law runs smoothly through zero */
#define TIE_KG_SPA   1e-10 /* keeps the matrix definite on flat parts; never in a residual */
#define LEAST_SLOPE  1e-8  /* Pa s/kg, of the linearisation only */
#define GOAL_KG_S    1e-9
#define DROP_GOAL_PA 1e-9 /* of a held pressure */
/* After a step d from a tangent at g a law k g|g| is missed by the flow d^2 / 2g. */
#define FORECAST_KG_S  2e-11
#define RELATIVE_SHIFT 1e-5 /* of a flow against its tangent: squared, it is out of sight */

enum edge_class { EDGE_QUAD, EDGE_POWER, EDGE_CHAIN };

/* One series resistance, ready to evaluate.  power_* [0] forward, [1] backward. */
struct resist {
  const struct net_member *darcy; /* NULL for a power law */
  double k[2], m, knee[2];        /* knee: flow at KNEE_PA */
};

/* A fan curve over unit flow, ready to evaluate: cubic pieces, or a - b q^2. */
struct curve {
  int piece_count;   /* 0: a - b q^2 */
  double *at, *c;    /* piece_count + 1 abscissae; 4 coefficients per piece */
  double a, b, last; /* last: end of the known curve */
  double start_rise, start_slope, back_slope, end_rise, end_slope;
  double inverse, amplitude; /* unit flow per kg/s; rise factor */
  double rho_n;              /* kg/s per m3/s of one unit */
  double least_slope;        /* of the linearisation */
  int flat_count;            /* the monotone envelope: flat parts, from the right */
  double *flat_from, *flat_to, *flat_rise, *flat_least; /* least: lowest true rise there */
  bool humped;
  double peak; /* unit flow of the highest rise */
};

enum fan_mode { FAN_CURVE, FAN_ENVELOPE, FAN_FORCED };

/* A link inside its edge, in the edge's direction. */
struct item {
  int link;
  bool reversed, simple; /* simple: k g|g| above the knee, nothing else */
  double k[2], knee, lift_Pa;
};

enum { CHANGED_MAX = 4 }; /* links changed between two solves, of which the second is guessed */

enum edge_seg { SEG_LAW, SEG_CAP, SEG_NONE };

enum control_seg { CONTROL_HOLDS, CONTROL_LEAST, CONTROL_MOST, CONTROL_WIDE, CONTROL_NONE };

/* A link whose flow is an unknown of its own. */
struct control {
  int link, slot, from, to; /* slots */
  enum net_law law;
  int held, over; /* slots; -1: none */
  int swap;       /* slot of the node whose balance this flow closes; -1: remote */
  int sign;       /* +1: more flow raises p[held] - p[over] */
  bool clash;     /* cannot regulate: another does, or the pressure is given */
  bool frozen;    /* found no resting place: stays at its limit */
  bool swapped;   /* rows are exchanged now */
  enum control_seg seg;
  double hold_Pa, least, most, lift, offset;
  double g, c, base;  /* own law when wide open or at a speed limit */
  double near;        /* flow without droop, kg/s, while regulation is soft (18) */
  unsigned char mode; /* FAN: enum fan_mode */
  double forced;
};

/* Work on every edge, by one set of instructions: abreast.c. */
struct abreast {
  bool (*quads)(struct net *net);
  bool (*powers)(struct net *net);
  double (*flows)(struct net *net);
  int (*advance)(struct net *net);
  double (*largest)(const double *x, int count);
};

struct net {
  struct net_problem problem;
  enum net_path path;
  const struct abreast *abreast; /* of the path */
  struct arena arena;
  int slots, unknowns, edge_count, quad_count, power_count, control_count;
  bool symmetric, started;

  /* nodes */
  int *slot;      /* -1: folded */
  int *slot_node; /* -1: a control flow */
  double *node_p;
  bool *known;
  bool *kept;

  /* links */
  struct resist *resists;
  int *resist_first;    /* link_count + 1 */
  struct curve *curves; /* by link; only fans are filled */
  int *link_edge;       /* -1: a control, then link_control */
  int *link_control;
  bool *link_reversed;
  double *link_flow;
  double *speed; /* by link, fans */

  /* edges: quads, then single powers, then the rest */
  struct item *items;
  double *item_drop;           /* scratch of recover */
  int *item_first, *item_node; /* item_node[i]: node between item i and i + 1 */
  int *a, *b, *entry;          /* entry: 1 per edge when symmetric, else 4 */
  double *k0, *k1, *m, *knee, *knee1, *lift;
  double *g, *c, *base, *flow;
  double *cap, *cap_drop, *zero_drop; /* cap: signed limit, +-INFINITY none; drops needed there */
  unsigned char *seg, *mode;          /* enum edge_seg, enum fan_mode */
  bool *exact;                        /* the cap is met at any drop */
  double *forced;                     /* flow when FAN_FORCED */
  int *stop, *absorb;                 /* item that binds at the cap; item of the largest k */
  int *stop_count;                    /* binding stops */
  int *capped, capped_count;

  /* system */
  struct numeric_sparse *sparse;
  double *x, *f, *x_old, *x_try, *step;
  double *dense;
  int *row; /* by slot: row of its balance */
  struct control *controls;
  bool factored; /* the system holds the factors of the last step */
  bool guessed;  /* flows and pressures are a guess, and want a step whatever they leave over */
  int changed[CHANGED_MAX], changed_count; /* edges, since the last solve */
  int *inflow_slot, inflow_count;
  double *inflow;
  int *pin, pin_count;     /* slots tied to zero: isolated parts */
  int *group, *group_mark; /* union-find, by slot + ground */
  struct numeric_pivots pivots;
  bool strict; /* no forecast of convergence */
  double largest_step;
  double moved_Pa; /* furthest that a part was moved for want of a pressure of its own */
  int unsettled;   /* edges that the last step left far from their tangents */
  double soft;     /* share of droop in every hold; 0: exact (18) */
  bool give_up;    /* a control that finds no rest is frozen and named */
  bool singular;   /* the last matrix had no answer, not even in full */
  bool unrest;
  int last_moved, came_from;
  int iterations, fallbacks;
  int looks;       /* evaluations of the present run of the safe method */
  bool any_humped; /* fans that hold among them */
  int humped_count;
  int *humped; /* edges */

  /* diagnosis */
  struct naive_link *naive; /* by link, its notes */
  double *sum;              /* by node, scratch of the second evaluation */
  int ill_node;
  char ill_reason[160];
};

struct worst {
  double balance, shift;
};

/* laws.c */
void law_resist(const struct resist *resist, double g, double *drop, double *slope);
void law_link(const struct net *net, int link, double g, double *drop, double *slope);
void law_edge(const struct net *net, int edge, double g, double *drop, double *slope);
double law_guess(const struct net *net, int edge, double drop_Pa);

double law_inverse(void (*law)(const void *what, double g, double *drop, double *slope),
                   const void *what, double drop_Pa, double guess);
void laws_linearise(struct net *net);
void laws_secant(struct net *net);

/* abreast.c */
const struct abreast *abreast_of(enum net_path path); /* that the machine has */

/* fan.c */
void curve_init(struct curve *curve, const struct net_fan *fan, struct arena *arena);
void curve_speed(struct curve *curve, const struct net_fan *fan, double speed_ratio);
void curve_rise(const struct curve *curve, double g, bool envelope, double *rise, double *slope);
double curve_unit_flow(const struct curve *curve, double g);
bool curve_left_of_peak(const struct curve *curve, double g);

/* build.c, values.c */
bool build_structure(struct net *net, struct err *err);
void values_load(struct net *net);
bool values_fit(const struct net *net);                  /* the folding still holds */
void values_edge(struct net *net, int e, int only_link); /* NET_NONE: all its links */
bool edge_classify(const struct net *net, const struct item *items, int count,
                   enum edge_class *class_out);
bool link_folds(const struct net_problem *problem, int link);

/* newton.c */
struct worst newton_assemble(struct net *net);
bool newton_steps(struct net *net, int limit);
bool newton_run(struct net *net, int limit); /* that many, and more for its controls */
void newton_start(struct net *net);
void newton_linear(struct net *net);
int edge_settle(struct net *net, int e, double drop_Pa);

/* control.c */
void control_load(struct net *net, struct control *c);
void controls_remote(struct net *net);
void controls_linearise(struct net *net);
void control_tangent(const struct net *net, struct control *c);
bool control_on_law(const struct control *c);
double control_limit(const struct control *c);
void controls_assemble(struct net *net);
int controls_unsettled(const struct net *net);
int controls_settle(struct net *net, int most_moves);
void control_rows(struct net *net, struct control *c, bool swapped);
bool control_speed_fits(const struct net *net, const struct control *control);
void control_freeze(struct net *net);
void control_exact(struct net *net, struct control *c);
bool control_wants(struct net *net, const struct control *control, enum control_seg *seg);
void control_move(struct net *net, struct control *c, enum control_seg seg);

/* predict.c */
void predict_note(struct net *net, int e); /* the edge is changed */
void predict_changed(struct net *net);

/* soft.c */
bool soft_run(struct net *net);
double soft_droop(const struct net *net, const struct control *c); /* Pa per kg/s */
double soft_yield(const struct net *net, const struct control *c); /* kg/s per Pa, at a limit */

/* safe.c */
bool safe_run(struct net *net);

/* diagnose.c */
void diagnose_structure(struct net *net);
void diagnose_float(struct net *net);
bool diagnose_flat(struct net *net, bool pin_them);
bool diagnose_joined(struct net *net);
bool diagnose_runaway(struct net *net);
void ill_posed(struct net *net, int node, const char *fmt, ...) PRINTF_LIKE(3, 4);

/* solve.c */
bool converge(struct net *net);

/* hump.c */
bool hump_run(struct net *net, struct net_report *report);

/* recover.c */
double recover(struct net *net); /* node pressures, link flows; gives the rounding floor, kg/s */
void recover_known(struct net *net, bool all);

#endif
