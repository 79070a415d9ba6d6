#ifndef NET_SETS_IMPL_H
#define NET_SETS_IMPL_H

#include "net/net_impl.h"
#include "net/sets.h"

/*
 * Inside net_sets.  Numbers of a block stand lane by lane: the i-th number of lane j is
 * [i * SETS_BLOCK + j].  Edges, slots and controls are those of the two nets, which are folded alike.
 */
enum {
  SETS_BLOCK = 16,
  SETS_ORDER = 3,
  SETS_FROM_MAX = (1 << SETS_ORDER) - 1,
  SETS_TERMS_MAX = 8, /* of one edge */
  SETS_OFF = 0,
  SETS_ON = 1,
  SETS_MIXED = 2 /* its switch is one of those that number the lanes */
};

enum sets_term_kind { SETS_DARCY, SETS_POWER, SETS_FAN };

/* What an edge has besides k g|g|. */
struct sets_term {
  enum sets_term_kind kind;
  bool reversed;
  /* Darcy: turbulent, docs/physics-networks.md (5) */
  double re_per_kg_s, rough, shape, loss_ratio, per[2];
  int root;       /* place of its 1/sqrt(f) in the block */
  double k[2], m; /* power */
  const struct curve *curve;
};

/* An edge's numbers by lane, for one way its switch may stand: SETS_OFF, SETS_ON, SETS_MIXED. */
struct sets_lanes {
  double k[2][SETS_BLOCK], knee_kg_s[SETS_BLOCK];
  double cap[SETS_BLOCK],
      cap_drop[SETS_BLOCK]; /* cap_drop: -INFINITY way where it never leaves it */
} __attribute__((aligned(64)));

struct sets_edge {
  int a, b,
      entry[4]; /* entry: -1 where an end is given; symmetric: [1] alone is off the diagonal */
  int on;       /* switch, or -1 */
  bool capped;  /* has a limit, in some state */
  double way, lift, least;
  int term_count;
  struct sets_term terms[SETS_TERMS_MAX];
  struct sets_lanes *lanes; /* three of them */
};

struct sets_move { /* an entry of a held node's balance, in its own row and in the control's */
  int from, to;
};

struct sets_control {
  int slot, from, to, held, over, swap;
  bool is_fan;
  int own, own_from, own_to, own_held, own_over;  /* entries of its own row; -1: none */
  int swap_held, swap_over, from_entry, to_entry; /* of the held node's, and of the balances */
  double hold_Pa, least, most, lift;
  bool has_path, odd_path; /* wide open k g|g| above the knee; odd: not so simple */
  double k, knee_kg_s;
  struct curve slowest, fastest;
  int move_count;
  struct sets_move *moves;
};

/* What a control wants in a lane: another segment, and how much drop it lacks if it is starved. */
struct sets_want {
  bool moves;
  enum control_seg seg;
  double lack_Pa; /* -1: it does not lack any */
};

struct sets_bound_lanes {
  double least[SETS_BLOCK], most[SETS_BLOCK];
} __attribute__((aligned(64)));

struct sets_bound {
  int term_count;
  int slot[2]; /* pressures; -1: zero */
  int *place;  /* flows: an edge, or -1 - the slot of a control */
  double *sign;
  int on, control; /* control: not where it is at its least; -1 */
  double slack;
  int mark;
  struct sets_bound_lanes *lanes;
};

struct net_sets {
  struct arena arena, run; /* run: of one net_sets_all */
  struct net *net[2];
  int unknowns, slots, edge_count, control_count, root_count, capped_count;
  int *switch_edge, switch_count;
  struct sets_edge *edges;
  int *capped; /* edges */
  struct sets_control *controls;
  double *start;            /* the answer with nothing switched: slots, then edges */
  unsigned char *start_seg; /* edges, then controls */
  struct numeric_plan plan;
  struct sets_block *block;
};

/* What a block of sets works on. */
struct sets_block {
  double residual[SETS_BLOCK], shift[SETS_BLOCK], moved[SETS_BLOCK];
  const struct net_sets *of;
  int pattern[NET_SETS_SWITCHES_MAX]; /* SETS_OFF, SETS_ON, SETS_MIXED */
  unsigned char on[NET_SETS_SWITCHES_MAX][SETS_BLOCK];
  const struct sets_lanes **lanes; /* by edge */
  double *x, *f, *values;          /* by slot, by slot, by entry */
  double *g, *c, *flow, *flat;     /* by edge; flat: the flow where it stands at a limit */
  double *at_limit;                /* by edge: 1 there, 0 on its law */
  double *root;
  double *hold, *own_c, *own_base, *own_g; /* by control; hold: 1 where it holds */
  struct sets_want *wants;                 /* by control, scratch */
  bool *look;                              /* by control and lane: it may want another segment */
  unsigned char *seg, *control_seg;        /* by edge and lane, by control and lane */
  int *law_count, *none_count,
      *free_count; /* lanes: of an edge on its law, at none; of a control not holding */
  int from_count;
  const double *from[SETS_FROM_MAX]; /* answers: slots, then edges */
  bool minus[SETS_FROM_MAX];
  const unsigned char *from_seg;
  int bound_count;
  const struct sets_bound *bounds;
  uint64_t marks[SETS_BLOCK];
  double near[SETS_BLOCK];
  unsigned char
      *joined; /* segments in which every node was found to be joined to a given pressure */
  bool any_joined;
  int step;
  long passes;
} __attribute__((aligned(64)));

/* One for each instruction set; sets_lanes.c is compiled for each. */
typedef void sets_solve(struct sets_block *block);
sets_solve sets_solve_portable;
#if defined(__x86_64__)
sets_solve sets_solve_avx2;
sets_solve sets_solve_avx512;
#endif

/* sets.c: zeroed, as a vector wants it; NULL beyond the arena's limit */
void *sets_push(struct arena *arena, size_t bytes);
/* sets_take.c: `mixed`, by lane, where the edge's switch numbers the lanes; NULL: it does not */
void sets_fill_edge(const struct net_sets *s, int e, const unsigned char *mixed);

/* sets_rare.c: what the lanes do not know by heart, by the scalar solver, one lane at a time */
void sets_law_of_lane(const struct sets_block *b, int e, int lane, double *drop, double *slope);
void sets_settle_edge(struct sets_block *b, int e);
void sets_settle_controls(struct sets_block *b); /* where `look` says so */
void sets_tangent_control(struct sets_block *b, int k);
bool sets_lane_is_joined(struct sets_block *b, int lane);

#endif
