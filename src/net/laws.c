#include "net/net_impl.h"

#include <math.h>

/*
 * Drops and their slopes over the flow.  Flow form, because a drop is an
 * explicit and convex function of the flow while the flow is neither of the
 * drop; see docs/physics-networks.md (3)-(6).
 */

#define LN10 2.302585092994046

/*
 * Colebrook's friction factor and its slope over Re: Newton on s = 1/sqrt(f).
 * The equation is all but straight in s, so the error squares at each step: a
 * step below 1e-8 leaves one below rounding and needs no look at it.
 */
static double colebrook(double re, double relative, double *slope)
{
  const double per_ln = 2 / LN10, rough = relative / 3.7, smooth = 2.51 / re;
  double s = 8, w = 0;

  for (int i = 0; i < 60; i++) {
    double inner = rough + smooth * s;

    w = per_ln / inner;
    double step = (s + per_ln * log(inner)) / (1 + w * smooth);

    s -= step;
    if (fabs(step) < 1e-8 * s)
      break;
  }
  double ds = w * smooth * s / re / (1 + w * smooth);

  *slope = -2 / (s * s * s) * ds;
  return 1 / (s * s);
}

enum { RE_LAMINAR = 2300, RE_TURBULENT = 4000 };

/* (5): laminar below 2300, Colebrook from 4000, blended between so that the drop keeps rising. */
static double friction(double re, double relative, double *slope)
{
  double laminar = 64 / re, laminar_slope = -64 / (re * re);
  if (re <= RE_LAMINAR) {
    *slope = laminar_slope;
    return laminar;
  }
  double f_slope, f = colebrook(re, relative, &f_slope);
  if (re >= RE_TURBULENT) {
    *slope = f_slope;
    return f;
  }
  double span = RE_TURBULENT - RE_LAMINAR, t = (re - RE_LAMINAR) / span;
  double w = t * t * (3 - 2 * t), dw = 6 * t * (1 - t) / span;
  *slope = (1 - w) * laminar_slope + w * f_slope + dw * (f - laminar);
  return (1 - w) * laminar + w * f;
}

static void law_darcy(const struct net_member *d, double g, double *drop, double *slope)
{
  double size = fabs(g), density = d->density_kg_m3[g < 0];
  double per = 1 / (2 * density * d->area_m2 * d->area_m2), shape = d->length_m / d->diameter_m;
  double re_per_g = d->diameter_m / (d->area_m2 * d->viscosity_Pa_s), re = re_per_g * size;
  double h, dh;
  if (re <= RE_LAMINAR) {
    h = per * (64 * shape / re_per_g * size + d->loss_ratio * size * size);
    dh = per * (64 * shape / re_per_g + 2 * d->loss_ratio * size);
  } else {
    double f_slope, f = friction(re, d->roughness_m / d->diameter_m, &f_slope);
    h = per * (f * shape + d->loss_ratio) * size * size;
    dh = per * (2 * (f * shape + d->loss_ratio) * size + f_slope * re_per_g * shape * size * size);
  }
  *drop = g < 0 ? -h : h;
  *slope = dh;
}

void law_resist(const struct resist *resist, double g, double *drop, double *slope)
{
  if (resist->darcy) {
    law_darcy(resist->darcy, g, drop, slope);
    return;
  }
  int way = g < 0;
  double size = fabs(g), k = resist->k[way], m = resist->m, knee = resist->knee[way];
  if (k == 0) {
    *drop = *slope = 0;
  } else if (size >= knee) {
    double t = m == 2 ? k * size : k * pow(size, m - 1);
    *drop = t * g;
    *slope = m * t;
  } else { /* (4), the knee */
    double x = g / knee, b = (m - 1) / 2, a = (3 - m) / 2;
    *drop = KNEE_PA * x * (a + b * x * x);
    *slope = KNEE_PA / knee * (a + 3 * b * x * x);
  }
}

void law_link(const struct net *net, int link, double g, double *drop, double *slope)
{
  double h = 0, dh = 0, one, one_slope;
  for (int i = net->resist_first[link]; i < net->resist_first[link + 1]; i++) {
    law_resist(&net->resists[i], g, &one, &one_slope);
    h += one;
    dh += one_slope;
  }
  if (net->problem.links[link].law == NET_FAN && net->curves[link].inverse > 0) {
    int edge = net->link_edge[link];
    bool envelope = edge < 0 || net->mode[edge] == FAN_ENVELOPE;
    curve_rise(&net->curves[link], g, envelope, &one, &one_slope);
    h -= one;
    dh -= one_slope;
  }
  *drop = h;
  *slope = dh;
}

void law_edge(const struct net *net, int edge, double g, double *drop, double *slope)
{
  double h = 0, dh = 0, one, one_slope;
  for (int i = net->item_first[edge]; i < net->item_first[edge + 1]; i++) {
    const struct item *item = &net->items[i];
    law_link(net, item->link, item->reversed ? -g : g, &one, &one_slope);
    h += item->reversed ? -one : one;
    dh += one_slope;
  }
  *drop = h;
  *slope = dh;
}

static bool edge_has_fan(const struct net *net, int edge)
{
  for (int i = net->item_first[edge]; i < net->item_first[edge + 1]; i++)
    if (net->problem.links[net->items[i].link].law == NET_FAN)
      return true;
  return false;
}

/* A flow of the right size for this drop: the tightest resistance alone. */
double law_guess(const struct net *net, int edge, double drop_Pa)
{
  double best = INFINITY, size = fabs(drop_Pa);
  for (int i = net->item_first[edge]; i < net->item_first[edge + 1]; i++) {
    int link = net->items[i].link;
    for (int r = net->resist_first[link]; r < net->resist_first[link + 1]; r++) {
      const struct resist *resist = &net->resists[r];
      double k = fmax(resist->k[0], resist->k[1]), flow = INFINITY;
      if (resist->darcy)
        flow = resist->darcy->area_m2 * sqrt(2 * size * resist->darcy->density_kg_m3[0] / 3);
      else if (k > 0)
        flow = resist->m == 2 ? sqrt(size / k) : pow(size / k, 1 / resist->m);
      best = fmin(best, flow);
    }
  }
  return isfinite(best) ? copysign(best, drop_Pa) : 0;
}

/* Towards an open end by factors, else halves. */
static double between(double low, double high, double g, double off)
{
  double next = 4 * g;
  bool outward = (off > 0) == (g > 0) && fabs(g) > 1e-12 && fabs(g) < 1e8;
  if (outward && next > low && next < high && (g > 0 ? high >= 1e9 : low <= -1e9))
    return next;
  return (low + high) / 2;
}

/*
 * Flow at a drop, by Newton kept inside a bracket; the drop rises with the flow.
 * The least slope is part of the law here, so that a short circuit has a flow.
 */
double law_inverse(void (*law)(const void *what, double g, double *drop, double *slope),
                   const void *what, double drop_Pa, double guess)
{
  double low = -1e9, high = 1e9, g = isfinite(guess) ? guess : 0;
  for (int i = 0; i < 200; i++) {
    double h, dh;
    law(what, g, &h, &dh);
    h += LEAST_SLOPE * g;
    dh += LEAST_SLOPE;
    double off = drop_Pa - h;
    if (off == 0)
      return g;
    if (off > 0)
      low = g;
    else
      high = g;
    double next = dh > 0 ? g + off / dh : high;
    bool lag = i > 20 && i % 3 == 0; /* convex from the wrong side: halve now and then */
    if (lag || !(next > low && next < high))
      next = between(low, high, g, off);
    if (fabs(next - g) <= 4e-16 * fabs(g) + 1e-300)
      return next;
    g = next;
  }
  return g;
}

static void linearise_one(struct net *net, int e)
{
  double h, dh;
  law_edge(net, e, net->g[e], &h, &dh);
  double least = LEAST_SLOPE;
  if (e >= net->quad_count + net->power_count)
    for (int i = net->item_first[e]; i < net->item_first[e + 1]; i++)
      if (net->problem.links[net->items[i].link].law == NET_FAN)
        least = fmax(least, net->curves[net->items[i].link].least_slope);
  bool rising = net->mode[e] == FAN_CURVE && dh < -least; /* a true curve left of its peak */
  net->c[e] = rising ? 1 / dh : 1 / fmax(dh, least);
  net->base[e] = net->g[e] - net->c[e] * h;
}

/* The edges from..to that are below their knees, which abreast.c has not seen. */
static void linearise_knees(struct net *net, int from, int to)
{
  for (int e = from; e < to; e++)
    if (fabs(net->g[e]) < (net->g[e] < 0 && e >= net->quad_count ? net->knee1[e] : net->knee[e]))
      linearise_one(net, e);
}

/* On a flat part the law itself is not looked at; true when it is one. */
static bool flatten(struct net *net, int e)
{
  if (net->mode[e] == FAN_FORCED) {
    net->c[e] = 0;
    net->base[e] = net->forced[e];
    return true;
  }
  if (net->seg[e] == SEG_LAW || !isfinite(net->cap[e]))
    return false;
  net->c[e] = 0;
  net->base[e] = net->seg[e] == SEG_CAP ? net->cap[e] : 0;
  return true;
}

void laws_linearise(struct net *net)
{
  int quads = net->quad_count, plain = quads + net->power_count;
  if (net->abreast->quads(net))
    linearise_knees(net, 0, quads);
  if (net->abreast->powers(net))
    linearise_knees(net, quads, plain);
  for (int e = plain; e < net->edge_count; e++)
    if (!flatten(net, e))
      linearise_one(net, e);
  for (int i = 0; i < net->capped_count; i++)
    flatten(net, net->capped[i]);
  for (int i = 0; i < net->humped_count; i++)
    flatten(net, net->humped[i]);
}

/* A first linearisation from nothing: chords, (12). */
void laws_secant(struct net *net)
{
  enum { REFERENCE_PA = 50 };
  for (int e = 0; e < net->quad_count; e++) {
    double k = net->k0[e] > net->k1[e] ? net->k0[e] : net->k1[e];
    double chord = 1 / sqrt(REFERENCE_PA * k);
    net->c[e] = chord < 1 / LEAST_SLOPE ? chord : 1 / LEAST_SLOPE;
    net->base[e] = 0;
  }
  for (int e = net->quad_count; e < net->edge_count; e++) {
    if (e >= net->quad_count + net->power_count && edge_has_fan(net, e)) {
      linearise_one(net, e);
      continue;
    }
    double h, dh, g = law_guess(net, e, REFERENCE_PA);
    law_edge(net, e, g, &h, &dh);
    net->c[e] = h > 0 ? g / h : 1 / LEAST_SLOPE;
    net->c[e] = fmin(net->c[e], 1 / LEAST_SLOPE);
    net->base[e] = 0;
  }
  for (int i = 0; i < net->capped_count; i++)
    flatten(net, net->capped[i]);
  for (int i = 0; i < net->humped_count; i++)
    flatten(net, net->humped[i]);
}
