#ifndef NET_COMB_IMPL_H
#define NET_COMB_IMPL_H

#include "net/comb.h"
#include "net/net_impl.h"

/*
 * A comb, ready to march.  Header nodes are numbered from the far end; teeth stand in the order of
 * their header nodes, so one walk over them is one march.
 */
enum {
  COMB_BLOCK = 16,   /* sets at a time, on every path: the same arithmetic everywhere */
  COMB_LOW_BITS = 4, /* of a set, that number the sets of a block */
  COMB_TEETH_MAX = 64,
  COMB_LEAKS_MAX = 8,
  COMB_LAWS_MAX = 128,
  COMB_ORDER = 5,
  COMB_FROM_MAX = (1 << COMB_ORDER) - 1,
  COMB_DECREE = -2
};

/* A tooth in one of its states.  Flow: min(cap, root drop^n), backwards -back (-drop)^n. */
struct comb_law {
  double root, back, cap;
  double knee_Pa,
      back_knee_Pa; /* below these drops the root is not the law; back: -INFINITY where none passes */
  double least_kg_s, most_kg_s; /* what it may not miss */
};

/* The same for the sets of one block. */
struct comb_lanes {
  double root[COMB_BLOCK], back[COMB_BLOCK], cap[COMB_BLOCK];
  double knee_Pa[COMB_BLOCK], back_knee_Pa[COMB_BLOCK];
  double least_kg_s[COMB_BLOCK], most_kg_s[COMB_BLOCK];
} __attribute__((aligned(64)));

struct comb_run { /* from a tooth to the next, where the next joins another node */
  bool passes;
  double k, lift_Pa, inflow_kg_s; /* inflow: of the node that the run leaves */
  double knee_kg_s;               /* below it the one member runs through its knee */
  double least_kg_s;              /* below it the law is another one */
  int first_law, law_count; /* laws that are not square, one lane after another; then k is 0 */
};

struct comb_tooth {
  int node, bit;     /* bit: -1 none */
  double lift_Pa, n; /* n: 1/2, or one other power law alone */
  struct comb_law law[2];
  struct comb_run after;
};

struct comb_leak { /* flow from the room, C |d|^n; equal outer pressures and exponents are one */
  double out_Pa, forward, backward, n, knee_Pa;
};

enum comb_supply { COMB_DECREED, COMB_HOLDS };

struct comb_block;

struct net_comb {
  struct arena arena;
  int room, far, end, link_count, switch_count, tooth_count, leak_count;
  struct comb_tooth teeth[COMB_TEETH_MAX];
  struct comb_leak leaks[COMB_LEAKS_MAX];
  struct resist laws[COMB_LAWS_MAX];      /* of the header, each in its direction */
  struct net_member darcy[COMB_LAWS_MAX]; /* of those among them */
  int law_count;
  /* supply */
  enum comb_supply supply;
  double inflow_kg_s; /* decreed, net */
  double hold_Pa, least_kg_s, most_kg_s;
  double path_root, path_from_Pa, path_knee_Pa; /* wide open: root sqrt(from - p) */
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
  /* scratch of net_comb_all */
  struct comb_lanes (*lanes)[2];
  struct comb_block *block;
};

/* What a block of sets works on. */
struct comb_block {
  double residual_kg_s[COMB_BLOCK]; /* of the second pass */
  double knee[COMB_BLOCK];          /* below 0: some law stands at its knee */
  double left_kg_s[COMB_BLOCK];     /* to the nearest flow bound; below 0: past it */
  double end_Pa[COMB_BLOCK];
  const struct comb_lanes *teeth[COMB_TEETH_MAX];
  double *room_Pa, *far_Pa; /* of all sets: those of this block are filled from earlier ones */
  uint32_t base;            /* the first set of the block */
  int from_count;           /* where to start from: the sum of these blocks, some taken away */
  uint32_t from[COMB_FROM_MAX];
  bool minus[COMB_FROM_MAX];
  long passes;
} __attribute__((aligned(64)));

/* One for each instruction set; lanes.c is compiled for each. */
typedef void comb_solve(const struct net_comb *comb, struct comb_block *block);
comb_solve comb_solve_plain;
#if defined(__x86_64__)
comb_solve comb_solve_avx2;
comb_solve comb_solve_avx512;
#endif

#endif
