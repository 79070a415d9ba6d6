#include "net/net_impl.h"

bool hump_run(struct net *net, struct net_report *report)
{
  (void)report;
  if (!net->started)
    newton_start(net);
  return newton_run(net, 60) || safe_run(net);
}
