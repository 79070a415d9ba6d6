#include "net/net_impl.h"

#include <math.h>

/*
 * Regulation that hunts between its limits is first made soft: each hold gives
 * way by a droop, and yields a little at its limits.  With enough droop one set
 * of segments is right and every step finds it; the droop is then taken away in
 * stages, each near the last answer, and the final one is exact.  (18)
 */

static double range_of(const struct control *c)
{
  double range = c->most - c->least;
  return c->law == NET_HOLD && isfinite(range) && range > 1e-6 ? range : 1;
}

static double size_of(const struct control *c)
{
  return fmax(fabs(c->hold_Pa), 10);
}

double soft_droop(const struct net *net, const struct control *c)
{
  return net->soft * size_of(c) / range_of(c);
}

double soft_yield(const struct net *net, const struct control *c)
{
  return 0.01 * net->soft * range_of(c) / size_of(c);
}

bool soft_run(struct net *net)
{
  const double shares[] = {3, 0.3, 0.03, 3e-3, 3e-4, 0};
  bool ok = false;
  net->soft = shares[0];
  for (int k = 0; k < net->control_count; k++) {
    struct control *c = &net->controls[k];
    c->near = c->law != NET_HOLD ? 1 : isfinite(c->most) ? (c->least + c->most) / 2 : c->least;
  }
  newton_start(net);
  for (size_t i = 0; i < sizeof shares / sizeof *shares; i++) {
    net->soft = shares[i];
    ok = newton_run(net, 60);
    for (int k = 0; k < net->control_count; k++) {
      struct control *c = &net->controls[k];
      double g = net->x[c->slot];
      c->near = c->law == NET_HOLD ? fmin(fmax(g, c->least), c->most) : g;
    }
  }
  return ok;
}
