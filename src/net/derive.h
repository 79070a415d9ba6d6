#ifndef NET_DERIVE_H
#define NET_DERIVE_H

#include "net/net.h"

/*
 * What a solved net changes by when a little of one link is changed: implicit differentiation, all
 * derivatives of one figure by one solve with the transposed matrix, which is factored once.
 *
 *     struct net_derive *d = net_derive_new(net);      // once for a net
 *     if (net_derive_begin(d)) {                       // after each net_solve
 *       d->pressure_weight_ratio[room] = 1;                  // the figure: a weighted sum of pressures ...
 *       d->flow_weight_ratio[link] = -1;                     // ... and flows
 *       net_derive_find(d);
 *       d->per_set_kg_s[link]                          // what it changes by
 *     }
 *     net_derive_free(d);
 *
 * A derivative is of the part of its law that each link stands on now: a set flow that is not reached
 * has none.  The net may be solved on afterwards; it must not be changed between begin and find.
 */
struct net_derive {
  double *pressure_weight_ratio; /* per node; what was there is kept by find */
  double *flow_weight_ratio;     /* per link */
  double *per_drop_Pa;           /* per link: its drop at any flow being 1 Pa more */
  double *per_set_kg_s;          /* SET_FLOW, FOLLOW: set_kg_s */
  double *per_hold_Pa;           /* HOLD, FAN: hold_Pa */
  double *per_limit_kg_s;        /* HOLD, FOLLOW: the least or most it stands at */
};

struct net_derive *net_derive_new(struct net *net); /* borrows it; a net whose shape is kept */
void net_derive_free(struct net_derive *shown);     /* NULL is fine */
/* False where there is no derivative: not all is determined, or a fan's curve has a hump. */
bool net_derive_begin(struct net_derive *d);
void net_derive_find(struct net_derive *shown);

#endif
