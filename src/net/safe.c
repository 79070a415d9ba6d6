#include "net/net_impl.h"

bool safe_run(struct net *net)
{
  net->fallbacks++;
  return false;
}
