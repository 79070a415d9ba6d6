#ifndef NET_COMB_H
#define NET_COMB_H

#include "net/net.h"

#include <stdint.h>

/*
 * Combs: one room, one header with a fan at its end, and teeth between them, each with or without a
 * valve.  All sets of open teeth, solved side by side in the lanes of a vector unit.
 *
 * A comb has one unknown only, by how much the room stands above the header's far end: from it the flow
 * of each tooth and the drop along the header follow one after the other, the fan's law then gives the
 * room's pressure, and what the room lacks falls with the unknown all the way.  Newton's method, kept in
 * the bracket that every evaluation narrows; each set starts from the sets inside it (inclusion and
 * exclusion, up to the fourth order), and ends with a second evaluation without derivatives.  What stands
 * at a law without a form (below), or has not converged, is handed to the caller's general solver and
 * counted.  docs/physics-networks.md, "Combs".
 *
 *     struct net_comb *comb = net_comb_new(&none_open, &all_open, 16, links, &err);
 *     if (comb)
 *       net_comb_all(comb, &job, &report);
 *     net_comb_free(comb);
 *
 * What makes a comb: the two problems have the same nodes and links and differ in the values of the
 * named links' teeth alone; one fan; every other link in one of these rows of links without a branch:
 *   room -> header        teeth: RESIST and SET_FLOW with square laws, or one other power law alone; any
 *                         behind a valve, but without a form unless it holds its set flow
 *   header -> header      RESIST; laws that are not square one lane after another, which takes longer
 *   last header -> fixed  the fan and RESIST; the fan's curve without a hump; it may hold a pressure at
 *                         the last header node
 *   room -> fixed         one power law (a leak), a decreed flow, or a supply that holds the room's
 *                         pressure, alone or behind a unit that holds its plenum's and has a most
 * Everything else is refused with ERR_INPUT and words why: no fault of the problem, the general solver
 * is for it.
 *
 * On the paths of net.h 8, 4 or 2 lanes at a time are solved.  What becomes of a set hangs on its own
 * lane alone, without fused or approximate operations, so the answers are the same to the last bit.  One
 * comb belongs to one thread at a time.
 */
struct net_comb;

enum { NET_COMB_SWITCHES_MAX = 24 };

/* `links[i]`: a link of the tooth that bit i of a set opens.  The problems may go afterwards, but for
 * the points of the fan's curve. */
struct net_comb *net_comb_new(const struct net_problem *none_open,
                              const struct net_problem *all_open, int count, const int *links,
                              struct err *err);
void net_comb_free(struct net_comb *comb); /* NULL is fine */
int net_comb_room(const struct net_comb *c);
int net_comb_far(const struct net_comb *c); /* the header node farthest from the fan */

/*
 * What a set may not miss.  By link, [0] while its tooth is shut or has no switch and [1] while it is
 * open; a link without a bound: -INFINITY, INFINITY.
 */
struct net_comb_bound {
  double least_kg_s[2], most_kg_s[2];
};
struct net_comb_bounds {
  double room_least_Pa, room_most_Pa;
  double end_most_Pa;                /* of the last header node */
  const struct net_comb_bound *link; /* per link of the problem; NULL: none has any */
};

enum net_comb_verdict { NET_COMB_STOP, NET_COMB_MET, NET_COMB_MISSED };

/* A set that the lanes leave open: not converged, at a law without a form, or so near a bound that the last digits
 * decide.  Fills what it knows (NAN: nothing) and gives the verdict; NET_COMB_STOP ends the run, where
 * so many are asked for that another way is better. */
typedef enum net_comb_verdict net_comb_ask(void *arg, uint32_t set, double *room_Pa,
                                           double *far_Pa);

struct net_comb_job {
  enum net_path path;
  const struct net_comb_bounds *bounds; /* NULL: nothing can be missed */
  net_comb_ask *ask;
  void *arg;
  /* Out, 2^count each, or NULL: */
  double *room_Pa, *far_Pa;
  unsigned char *verdict;
};

struct net_comb_report {
  enum net_path path;
  long sets, steps, looks; /* evaluations with derivatives, and without, of one set */
  long failed, lost, near; /* asked for: not converged; at a law without a form; near a bound */
  bool stopped;            /* by NET_COMB_STOP: nothing of the outputs counts */
  double worst_kg_s; /* the largest imbalance of a set that the lanes solved, by the second pass */
};

/* Solves all 2^count sets. */
void net_comb_all(struct net_comb *c, const struct net_comb_job *job,
                  struct net_comb_report *report);

#endif
