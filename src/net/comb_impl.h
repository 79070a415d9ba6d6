#ifndef NET_COMB_IMPL_H
#define NET_COMB_IMPL_H

#include "net/comb.h"
#include "net/net_impl.h"

/*
 * A comb, ready to march.  Header nodes are numbered from the far end; teeth stand in the order of
 * their header nodes, so one walk over them is one march.
 */
enum {
  COMB_BLOCK = 32,   /* sets at a time, on every path */
  COMB_LOW_BITS = 5, /* of a set, that number the sets of a block */
  COMB_TEETH_MAX = 64,
  COMB_LEAKS_MAX = 8,
  COMB_PARTS_MAX = 64,
  COMB_LAWS_MAX = 1024,
  COMB_DARCY_MAX = 128,
  COMB_ORDER = 4,
  COMB_FROM_MAX = (1 << COMB_ORDER) - 1,
  COMB_DECREE = -2
};

/*
 * Flow at a drop, [0] forward and [1] backward: min(cap, root drop^n), from the knee on.  Below it the
 * members' drops, each run through its own knee, have to sum up to it; a law without members has no form
 * there that the lanes know.
 */
struct comb_law {
  double root[2], knee_Pa[2], cap; /* knee -INFINITY: none passes that way */
  double holds_Pa;                 /* from there on surely the cap */
  int first, count;                /* members, in net_comb.laws */
  double least_kg_s, most_kg_s;    /* what it may not miss */
};

/* What of it differs between the sets of one block, of a tooth that a low bit opens. */
struct comb_lanes {
  double root[COMB_BLOCK], cap[COMB_BLOCK], knee_Pa[COMB_BLOCK], holds_Pa[COMB_BLOCK];
  double least_kg_s[COMB_BLOCK], most_kg_s[COMB_BLOCK];
} __attribute__((aligned(64)));

struct comb_run { /* from a tooth to the next, where the next joins another node */
  bool passes, square;
  double k, lift_Pa, inflow_kg_s; /* k g^2; inflow: of the node that the run leaves */
  double least_kg_s;              /* below it, or where not square, the members one by one */
  int first, count;               /* in net_comb.laws */
};

struct comb_tooth {
  int node, bit;     /* bit: -1 none */
  double lift_Pa, n; /* n: 1/2, or one other power law alone */
  struct comb_law law[2];
  bool holds; /* may stand at a cap */
  bool bound; /* may miss something in one of its states */
  struct comb_run after;
};

struct comb_leak { /* flow from the room, C |d|^n; equal outer pressures and exponents are one */
  double out_Pa, n, root[2], knee_Pa; /* below the knee part by part */
};

struct comb_part { /* of a leak */
  int leak;
  struct comb_law law;
};

static const double slack_kg_s = 2e-8, slack_Pa = 1e-6; /* nearer to a bound, others decide */

enum comb_supply { COMB_DECREED, COMB_HOLDS };

struct comb_block;

struct net_comb {
  struct arena arena;
  int room, far, end, link_count, switch_count, tooth_count, leak_count;
  struct comb_tooth teeth[COMB_TEETH_MAX];
  struct comb_leak leaks[COMB_LEAKS_MAX];
  struct comb_part parts[COMB_PARTS_MAX];
  int part_count;
  struct resist laws[COMB_LAWS_MAX]; /* each in the direction of its row */
  int law_count, darcy_count;
  struct net_member darcy[COMB_DARCY_MAX]; /* of those among them */
  /* supply */
  enum comb_supply supply;
  double inflow_kg_s; /* decreed, net */
  double hold_Pa, least_kg_s, most_kg_s;
  double path_from_Pa;
  struct comb_law path; /* wide open */
  /* the end */
  double end_inflow_kg_s, out_Pa;
  struct comb_run tail;
  bool fan_holds;
  double fan_hold_Pa;
  struct curve least,
      most; /* at the lowest and the highest speed; the same where it holds nothing */
  bool has_least;
  int *link_tooth; /* by link of the problem: -1 none, COMB_DECREE a decreed flow */
  double *link_decree_kg_s;
  /* of net_comb_all */
  double room_least_Pa, room_most_Pa, end_most_Pa;
  struct comb_lanes *lanes; /* by low bit */
  struct comb_block *block;
  double *start; /* by set: what the sets above it start from */
};

/* What a block of sets works on. */
struct comb_block {
  /* out; a bit for each set */
  double room_Pa[COMB_BLOCK], far_Pa[COMB_BLOCK];
  uint32_t failed;       /* not converged */
  uint32_t lost;         /* some law has no form that the lanes know */
  uint32_t missed, near; /* a bound; so near to one that others decide */
  /* the largest over all blocks; summed over them, by set */
  double worst_kg_s; /* residual of the second pass */
  long steps, looks;
  /* in */
  const struct comb_law *law[COMB_TEETH_MAX];
  const struct comb_lanes *lanes[COMB_TEETH_MAX]; /* NULL: the law is that of all sets */
  uint32_t base;                                  /* the first set of the block */
  int from_count; /* where to start from: the sum of these blocks, some taken away */
  uint32_t from[COMB_FROM_MAX];
  bool minus[COMB_FROM_MAX];
} __attribute__((aligned(64)));

/* One for each instruction set; lanes.c is compiled for each. */
typedef void comb_solve(const struct net_comb *comb, struct comb_block *block);
comb_solve comb_solve_plain;
#if defined(__x86_64__)
comb_solve comb_solve_avx2;
comb_solve comb_solve_avx512;
#endif

#endif
