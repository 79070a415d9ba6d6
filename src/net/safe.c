#include "net/net_impl.h"

#include <math.h>
#include <string.h>

/*
 * The slower, safer method: pressures only, every flow exactly on its law at
 * the present pressures, Newton steps shortened until the imbalance falls, and
 * limits of controls moved one at a time once all is at rest.  What it finds
 * is only a start for the edge-state iteration, which polishes and decides.
 */

enum { STEPS_MAX = 120, SHORTEN_MAX = 24, LOOKS_MAX = 150 }; /* looks: in all of a run */

#define WEIGHT_OF_PA 1e-3 /* of a held pressure beside a kg/s, in the merit */
#define REST_KG_S    1e-7

struct edge_law {
  const struct net *net;
  int edge;
};

static void edge_law(const void *what, double g, double *drop, double *slope)
{
  const struct edge_law *law = what;
  law_edge(law->net, law->edge, g, drop, slope);
}

static void edge_exact(struct net *net, int e)
{
  struct edge_law law = {net, e};
  double cap = net->cap[e], drop = net->x[net->a[e]] - net->x[net->b[e]] + net->lift[e];
  if (net->mode[e] == FAN_FORCED || cap == 0 || net->exact[e])
    return;
  double g = law_inverse(edge_law, &law, drop, net->g[e]);
  net->seg[e] = SEG_LAW;
  if (isfinite(cap) && (cap > 0 ? g >= cap : g <= cap)) {
    net->seg[e] = SEG_CAP;
    g = cap;
  } else if (isfinite(cap) && (cap > 0 ? g <= 0 : g >= 0)) {
    net->seg[e] = SEG_NONE;
    g = 0;
  }
  net->g[e] = g;
}

static bool row_in_Pa(const struct net *net, int row)
{
  for (int k = 0; k < net->control_count; k++) {
    const struct control *c = &net->controls[k];
    if (c->law != NET_FOLLOW && c->seg == CONTROL_HOLDS && row == (c->swapped ? c->swap : c->slot))
      return true;
  }
  return false;
}

/* Sum of the squares of what is left over; the matrix is assembled by the way. */
static double evaluate(struct net *net, double *largest)
{
  double sum = 0;
  net->looks++;
  for (int e = 0; e < net->edge_count; e++)
    edge_exact(net, e);
  for (int k = 0; k < net->control_count; k++)
    control_exact(net, &net->controls[k]);
  laws_linearise(net);
  controls_linearise(net);
  newton_assemble(net);
  *largest = 0;
  for (int s = 0; s < net->unknowns; s++) {
    double off = net->f[s] * (net->control_count > 0 && row_in_Pa(net, s) ? WEIGHT_OF_PA : 1);
    *largest = fmax(*largest, fabs(off));
    sum += off * off;
  }
  return sum;
}

/* One damped Newton run with the controls where they are; true at rest. */
static bool descend(struct net *net)
{
  double largest, merit = evaluate(net, &largest);
  size_t bytes = ((size_t)net->slots + 1) * sizeof(double);
  for (int i = 0; i < STEPS_MAX && net->looks < LOOKS_MAX; i++) {
    if (!isfinite(merit))
      return false;
    if (largest < REST_KG_S)
      return true;
    memcpy(net->x_old, net->x, bytes);
    newton_linear(net);
    memcpy(net->step, net->f, bytes);
    net->fallbacks++;
    double share = 1, next = evaluate(net, &largest), best = INFINITY, best_share = 0;
    for (int tries = 0; tries < SHORTEN_MAX; tries++) {
      if (next < best) {
        best = next;
        best_share = share;
      }
      if (next < merit * (1 - 1e-3 * share))
        break;
      share *= 0.5;
      for (int s = 0; s < net->unknowns; s++)
        net->x[s] = net->x_old[s] + share * net->step[s];
      next = evaluate(net, &largest);
    }
    if (!(next < merit) && best_share > 0) { /* stuck: the least bad of the points tried */
      for (int s = 0; s < net->unknowns; s++)
        net->x[s] = net->x_old[s] + best_share * net->step[s];
      next = evaluate(net, &largest);
    }
    if (next >= merit)
      return largest < 1e-3;
    merit = next;
  }
  return largest < 1e-3;
}

static void set_controls(struct net *net, int start)
{
  for (int k = 0; k < net->control_count; k++) {
    struct control *c = &net->controls[k];
    if (start == 0 || (c->clash && start > 1))
      continue;
    bool bounded = isfinite(c->most);
    control_move(net, c, start == 1 || !bounded ? CONTROL_LEAST : CONTROL_MOST);
  }
}

static bool attempt(struct net *net, int start)
{
  newton_start(net);
  set_controls(net, start);
  for (int moves = 0; moves <= 20 + 4 * net->control_count; moves++)
    if (!descend(net) || net->looks >= LOOKS_MAX || controls_settle(net, 1) == 0)
      break;
  return newton_run(net, net->give_up ? 400 : 60);
}

bool safe_run(struct net *net)
{
  int starts = net->control_count > 0 ? 3 : 1;
  net->looks = 0;
  for (int start = 0; start < starts; start++)
    if (attempt(net, start))
      return true;
  if (net->control_count == 0)
    return false;
  net->looks = 0;
  net->give_up = true;
  net->last_moved = -1;
  bool ok = attempt(net, 0);
  net->give_up = false;
  return ok;
}
