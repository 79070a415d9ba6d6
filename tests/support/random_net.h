#ifndef TESTS_SUPPORT_RANDOM_NET_H
#define TESTS_SUPPORT_RANDOM_NET_H

#include "net/net.h"

#include "base/arena.h"
#include "numeric/numeric.h"

/*
 * Made-up facilities as networks, one per seed.  Ordinary: rooms with leaks,
 * stations with set flows or dampers, a header, fans, supplies.  Degenerate:
 * the same with closed dampers, sealed rooms, no leakage, fans that stand, near
 * or full short circuits, and what else a suite file may say by mistake.
 */
enum random_net_kind {
  RANDOM_NET_PLAIN,      /* resistances, fans, set flows: symmetric */
  RANDOM_NET_CONTROLLED, /* and holds, followers, fans that hold */
  RANDOM_NET_DEGENERATE
};

enum { RANDOM_NET_LINKS = 400, RANDOM_NET_NODES = 300, RANDOM_NET_MEMBERS = 1000 };

struct random_net {
  struct net_problem problem;
  struct net_node nodes[RANDOM_NET_NODES];
  struct net_link links[RANDOM_NET_LINKS];
  struct net_member members[RANDOM_NET_MEMBERS];
  struct net_fan fans[8];
  double points[8][2][12];
  int follows[RANDOM_NET_LINKS];
  int node_count, link_count, member_count, fan_count, follow_count;
  struct numeric_random random;
  enum random_net_kind kind;
};

void random_net_make(struct random_net *r, uint64_t seed, enum random_net_kind kind);

#endif
