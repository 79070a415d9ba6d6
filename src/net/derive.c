#include "net/net_impl.h"

#include <math.h>

/*
 * What a solved net changes by when a little of it is moved.
 */

/* Fan laws: rise(g, v) = v^2 rise(g/v), so that g rise_g + v rise_v = 2 rise. */
bool net_fan_slopes(const struct net *net, int link, double *rise_per_kg_s,
                    double *rise_per_speed_Pa)
{
  int at = net->link_control[link];
  const struct control *c = at >= 0 ? &net->controls[at] : NULL;
  if (!c || c->law != NET_FAN || c->seg != CONTROL_HOLDS)
    return false;
  struct curve curve = net->curves[link];
  double rise, slope, speed = net_speed_ratio(net, link), g = net->link_flow[link];
  if (!(speed > 0))
    return false;
  curve_speed(&curve, net->problem.links[link].fan, speed);
  curve_rise(&curve, g, false, &rise, &slope);
  *rise_per_kg_s = slope;
  *rise_per_speed_Pa = (2 * rise - g * slope) / speed;
  return *rise_per_speed_Pa > 0;
}
