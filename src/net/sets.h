#ifndef NET_SETS_H
#define NET_SETS_H

#include "net/net.h"

#include <stdint.h>

/*
 * One network of any shape, and switches in it: all sets of switches, 16 at a time in the lanes of a
 * vector unit.
 *
 * The two problems, nothing switched and everything, are folded once; all sets share the elimination
 * pattern, so one walk over it drives 16 columns of numbers.  Newton's method as in newton.c: a
 * memory per edge, and segments that move a step at a time.  What the lanes do not know by heart (a law
 * below its knee, a control that leaves its set point) is asked of the scalar solver's own functions,
 * lane by lane.  Each set starts from those without one, two or three of its switches (inclusion and
 * exclusion) and ends with an evaluation of the exact laws.  What has not converged then, hangs on
 * nothing, or stands so near a bound that the last digits decide, is handed to the caller's scalar
 * solver and counted.  docs/why/037.
 *
 *     struct net_sets *sets = net_sets_new(&none, &all, 14, links, &err);
 *     if (sets)
 *       net_sets_all(sets, &job, &report);
 *     net_sets_free(sets);
 *
 * Three paths as a comb's (net/comb.h), with the same answers to the last bit.  Refused, with ERR_INPUT and
 * words why: problems that differ in more than the switched links, a switched link that holds or follows,
 * fans with a hump, links that follow, holds that clash, and what is ill-posed with nothing switched.
 * A comb's two unknowns are solved several times faster by comb.h.  One thread at a time.
 */
struct net_sets;

enum { NET_SETS_SWITCHES_MAX = 24, NET_SETS_MARKS_MAX = 64 };

/* `links[i]` is the link of switch i.  The problems must outlive the answer. */
struct net_sets *net_sets_new(const struct net_problem *none, const struct net_problem *all,
                              int count, const int *links, struct err *err);
void net_sets_free(struct net_sets *s); /* NULL is fine */
/* Can a bound be put on this node's pressure?  Not where it lies within a row of links. */
bool net_sets_has_node(const struct net_sets *s, int node);

/* Switches that are equal but for their names: a set is how many of each kind are on, the first of the
 * list before the others. */
struct net_sets_kind {
  int size, switches[NET_SETS_SWITCHES_MAX];
  unsigned long stride; /* of a state's number, per switch that is on */
};

/* A sum of flows, or a difference of pressures, and what it must be within. */
struct net_sets_bound {
  int link_count; /* 0: pressures */
  const int *links;
  int node, over; /* over NET_NONE: against zero */
  double least, most;
  int at; /* counts only while that switch is `on`; NET_NONE: always */
  bool on;
  int but_at_least; /* counts not where this control stands at its least; NET_NONE: always */
  int mark;         /* bit that tells of it */
};

/* What the lanes leave open; false ends the run. */
typedef bool net_sets_ask(void *arg, unsigned long state);

struct net_sets_job {
  enum net_path path;
  int kind_count;
  const struct net_sets_kind *kinds; /* every switch in at most one; the others stay off */
  int bound_count;
  const struct net_sets_bound *bounds;
  net_sets_ask *ask;
  void *arg;
  uint64_t *marks;     /* out, by state: bounds that it misses */
  double *pressure_Pa; /* out, by state and node, for tests; NULL: not wanted */
};

struct net_sets_report {
  enum net_path path;
  long states, passes;      /* passes: of 16 sets at a time, each a factorisation */
  long failed, loose, near; /* asked: not converged; hanging on nothing; near a bound */
  bool stopped;
  double worst_kg_s; /* the largest imbalance of a set that the lanes solved */
};

/* False where the memory for it is not there (a gigabyte and more): nothing was done. */
bool net_sets_all(struct net_sets *s, const struct net_sets_job *job,
                  struct net_sets_report *report);

#endif
