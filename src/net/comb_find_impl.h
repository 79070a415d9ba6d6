#ifndef NET_COMB_FIND_IMPL_H
#define NET_COMB_FIND_IMPL_H

#include "net/comb_impl.h"

/*
 * While a network is looked at for a comb.  comb_find.c takes its rows of links apart and says which is
 * what; comb_take.c makes each of them a tooth, a part of the header, a leak or the supply.
 */
enum { COMB_NODES_MAX = 512, COMB_LINKS_MAX = 1024 }; /* larger ones are no combs that we know */

struct comb_row { /* links between two nodes that are more than a passage */
  int a, b, first, count;
  bool taken;
};

struct comb_search {
  const struct net_problem *off, *on;
  struct net_comb *c;
  struct err *err;
  int degree[COMB_NODES_MAX];
  bool begins_header[COMB_NODES_MAX];
  bool used[COMB_LINKS_MAX];
  int links[COMB_LINKS_MAX], link_count; /* in the order of the rows */
  bool reversed[COMB_LINKS_MAX];
  struct comb_row rows[COMB_LINKS_MAX];
  int row_count;
  int bit[COMB_LINKS_MAX]; /* of a link: -1 none */
  int end, path_count, path[COMB_TEETH_MAX];
  int path_row[COMB_TEETH_MAX]; /* from path[i] to path[i - 1] */
};

/* False, with why. */
bool comb_refuse(struct comb_search *s, const char *why);
/* Turns a row so that it starts at that node. */
void comb_turn(struct comb_search *s, struct comb_row *row, int from);

/* Each false where it is refused. */
bool comb_take_tooth(struct comb_search *s, struct comb_row *row, int node);
bool comb_take_run(struct comb_search *s, const struct comb_row *row, struct comb_run *run);
bool comb_take_curves(struct comb_search *s, const struct net_fan *fan);
bool comb_take_leak(struct comb_search *s, const struct comb_row *row);
bool comb_take_decree(struct comb_search *s, const struct comb_row *row);
bool comb_take_supply(struct comb_search *s, const struct comb_row *row); /* starts outside */

#endif
