#include "net/net_impl.h"

#include <math.h>

/*
 * Units at their most.  A hold of the pressure at its own outlet that gives its
 * most holds a lower pressure instead: the one at which it gives just that.
 * Where the moves between limits go round in a ring, the limits of such units
 * are lifted, and those that then give too much are brought down by halving
 * that pressure: what they give rises with it.
 */

enum { HALVINGS = 40, ROUNDS = 12 };

static const double reached_ratio = 1e-9;

static bool is_unit(const struct net *net, const struct control *c)
{
  return c->law == NET_HOLD && !c->clash && c->held == c->to && c->over < 0 &&
         isfinite(net->problem.links[c->link].most_kg_s);
}

/* What it gives over its most, as a share of that; below zero while it holds a lowered pressure. */
static double beyond(const struct net *net, const struct control *c)
{
  const struct net_link *link = &net->problem.links[c->link];
  double over = net->x[c->slot] - link->most_kg_s, slack = reached_ratio * link->most_kg_s;
  bool lowered = c->hold_Pa < link->hold_Pa;

  return over > slack || (lowered && over < -slack) ? over : 0;
}

static bool solve_at(struct net *net, struct control *c, double hold_Pa)
{
  c->hold_Pa = hold_Pa;
  return newton_run(net, 60) || safe_try(net);
}

/* Brings one unit to its most, the others as they are. */
static bool bring_down(struct net *net, struct control *c)
{
  double high = net->problem.links[c->link].hold_Pa, low = high, span = 64;

  do {
    low -= span *= 2;
    if (span > 1e6 || !solve_at(net, c, low))
      return false;
  } while (net->x[c->slot] > net->problem.links[c->link].most_kg_s);
  for (int i = 0; i < HALVINGS && beyond(net, c) != 0; i++) {
    double middle = 0.5 * (low + high);

    if (!solve_at(net, c, middle))
      return false;
    if (net->x[c->slot] > net->problem.links[c->link].most_kg_s)
      high = middle;
    else
      low = middle;
  }
  return true;
}

static bool bring_all_down(struct net *net)
{
  for (int round = 0; round < ROUNDS; round++) {
    bool moved = false;

    for (int k = 0; k < net->control_count; k++) {
      struct control *c = &net->controls[k];

      if (!is_unit(net, c) || beyond(net, c) == 0)
        continue;
      if (!bring_down(net, c))
        return false;
      moved = true;
    }
    if (!moved)
      return true;
  }
  return false;
}

bool plenum_run(struct net *net)
{
  int units = 0;
  bool ok;

  for (int k = 0; k < net->control_count; k++)
    if (is_unit(net, &net->controls[k])) {
      net->controls[k].most = INFINITY;
      units++;
    }
  if (units == 0)
    return false;
  newton_start(net);
  ok = (newton_run(net, 60) || safe_try(net)) && bring_all_down(net);
  for (int k = 0; k < net->control_count; k++) {
    struct control *c = &net->controls[k];

    if (!is_unit(net, c))
      continue;
    bool lowered = c->hold_Pa < net->problem.links[c->link].hold_Pa;

    c->most = net->problem.links[c->link].most_kg_s;
    c->hold_Pa = net->problem.links[c->link].hold_Pa;
    if (ok && lowered)
      control_move(net, c, CONTROL_MOST);
  }
  return ok && newton_run(net, 60);
}
