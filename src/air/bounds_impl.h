#ifndef AIR_BOUNDS_IMPL_H
#define AIR_BOUNDS_IMPL_H

#include "air/air_impl.h"

/*
 * What may not be missed, turned round into bounds of flows and pressures: for who solves sets of
 * stations side by side and need not know what a criterion is.  Each is what outcome.c checks.
 */

/* The network as it stands, kept: the same problem later, whatever has become of the air's own. */
struct air_kept {
  struct net_problem problem;
  struct net_node *nodes;
  struct net_link *links;
  struct net_member *members;
};
bool air_keep(struct air_kept *k, const struct air *air, struct arena *arena);

struct air_range {
  double least_m3_s, most_m3_s;
};
/* False where no one range tells: then the sets are looked at one by one. */
bool air_station_range(const struct air *air, const struct scene *scene, int station,
                       enum air_fault fault, struct air_range *out);

/* Marks of a set: what an idle station misses parked, and at work, each by its place; all else. */
enum { AIR_MARK_PARKED = 0, AIR_MARK_RAISED = AIR_SETS_MAX, AIR_MARK_MISSED = 63 };

struct air_bounds {
  int count, most;
  struct net_sets_bound *list;
  bool always_missed; /* something that no bound can help */
};
/* Of any network; false where something is judged that no bound tells. */
bool air_bounds_of(struct air_sets *s, struct arena *arena, struct air_bounds *out);

#endif
