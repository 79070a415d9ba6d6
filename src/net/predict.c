#include "net/net_impl.h"

#include <math.h>
#include <string.h>

/*
 * A first guess after few links were changed, for the price of a quarter of a step.
 *
 * The factors of the last step still say what every pressure does when flow is pushed through an edge.  Seen
 * from its ends the rest of the network is a source of pressure behind a resistance (Thevenin); where a
 * changed edge's own law meets it, that is solved exactly, and everything else follows by its tangent.  A
 * step from the old flows would take the changed edge, which bends most, by its tangent too, and needs
 * another step to mend it.
 */

struct meeting {
  const struct net *net;
  int edge;
  double behind; /* Pa s/kg, of the rest */
};

static void law_and_rest(const void *what, double g, double *drop, double *slope)
{
  const struct meeting *m = what;
  law_edge(m->net, m->edge, g, drop, slope);
  *drop += m->behind * g;
  *slope += m->behind;
}

/* The flow at which the edge and what is behind it take up the drop; k g|g| has a formula. */
static double meet(const struct meeting *m, double drop_Pa)
{
  const struct net *net = m->net;
  int e = m->edge;
  if (e < net->quad_count) {
    double k = drop_Pa < 0 ? net->k1[e] : net->k0[e], r = m->behind;
    double g = 2 * drop_Pa / (r + sqrt(r * r + 4 * k * fabs(drop_Pa)));
    if (fabs(g) >= net->knee[e])
      return g;
  }
  return law_inverse(law_and_rest, m, drop_Pa, net->g[e]);
}

/* Puts the edge on its part of the law at flow g; gives the flow there. */
static double put_within(struct net *net, int e, double g)
{
  double cap = net->cap[e], way = cap < 0 ? -1 : 1;
  net->seg[e] = SEG_LAW;
  if (!isfinite(cap))
    return g;
  if (net->exact[e] || way * g >= way * cap) {
    net->seg[e] = SEG_CAP;
    return cap;
  }
  if (way * g > 0)
    return g;
  net->seg[e] = SEG_NONE;
  return 0;
}

static bool predict(struct net *net, int e)
{
  double *z = net->f, pressed = net->x[net->a[e]] - net->x[net->b[e]] + net->lift[e];
  int a = net->a[e], b = net->b[e];
  memset(z, 0, ((size_t)net->slots + 1) * sizeof *z);
  z[a] += 1;
  z[b] -= 1;
  numeric_sparse_solve(net->sparse, z);
  for (int s = net->unknowns; s < net->slots; s++)
    z[s] = 0;
  double all = z[a] - z[b], share = 1 - (net->c[e] + TIE_KG_SPA) * all; /* of a push: what stays */
  if (!(all >= 0) || !(share > 1e-6))
    return false;
  struct meeting m = {net, e, all / share};
  double g = put_within(net, e, meet(&m, pressed + m.behind * net->flow[e]));
  double push = (g - net->flow[e]) / share;
  if (!isfinite(push))
    return false;
  for (int s = 0; s < net->unknowns; s++) {
    z[s] *= -push;
    net->x[s] += z[s];
  }
  net->abreast->advance(net);
  net->g[e] = g;
  net->guessed = true;
  return true;
}

void predict_changed(struct net *net)
{
  bool held =
      net->started && net->factored && net->symmetric && net->pin_count == 0 && !net->any_humped;
  for (int i = 0; i < net->changed_count && held; i++)
    held = predict(net, net->changed[i]);
  net->changed_count = 0;
}

void predict_note(struct net *net, int e)
{
  for (int i = 0; i < net->changed_count; i++)
    if (net->changed[i] == e)
      return;
  net->factored = net->factored && net->changed_count < CHANGED_MAX;
  if (net->factored)
    net->changed[net->changed_count++] = e;
}
