/*
 * A block of 16 sets of a network, solved in the lanes of a vector unit.
 *
 * This file is compiled once for each instruction set (src/net/meson.build): the same operations on the
 * same numbers in the same order, whatever the width, so the same bits come out.
 */
#include "net/sets_impl.h"
#include "net/vec_impl.h"

#include <float.h>
#include <math.h>

#ifndef SETS_NAME
#define SETS_NAME sets_solve_portable
#endif

enum { PER = SETS_BLOCK / COMB_LANES, PASSES_MOST = 14 };

static const double balance_goal = 2e-10, shift_goal = 1e-11; /* as in newton.c */
static const double most_Pa = 1e6;                            /* of a start that means anything */

static inline bool any_less(vec a, vec b)
{
  return any(below(a, b));
}

struct law { /* drops and slopes of one edge */
  vec h[PER], dh[PER];
  double rare[SETS_BLOCK] __attribute__((aligned(64))); /* 1: to be looked up lane by lane */
};

/* The 16 numbers of that kind. */
static inline double *at(double *list, int i)
{
  return list + (ptrdiff_t)i * SETS_BLOCK;
}

static inline const double *of(const double *list, int i)
{
  return list + (ptrdiff_t)i * SETS_BLOCK;
}

/* ---- laws ---- */

/* Colebrook by Newton on 1/sqrt(f), as in laws.c; all vectors go on until none moves. */
static void find_roots(const struct sets_term *t, const vec *re, double *root)
{
  const double per_ln = 2 / 2.302585092994046;
  bool moves = true;

  for (int i = 0; i < 60 && moves; i++) {
    moves = false;
    for (int u = 0; u < PER; u++) {
      vec s = load(root, u), smooth = 2.51 / re[u], inner = t->rough + smooth * s;
      vec step = (s + per_ln * log_of(inner)) * inner / (inner + per_ln * smooth);

      store(root, u, s - step);
      moves = moves || any_less(all(2e-7), size_of(step)); /* squared, it is below rounding */
    }
  }
}

static void add_darcy(const struct sets_term *t, const double *g, const double *flat, double *root,
                      struct law *law)
{
  const double per_ln = 2 / 2.302585092994046;
  vec re[PER];

  for (int u = 0; u < PER; u++) {
    vec size = size_of(load(g, u)), r = t->re_per_kg_s * size;
    vec rare = less(r, all(4000), all(1) - load(flat, u), all(0));

    store(law->rare, u, most_of(load(law->rare, u), rare));
    re[u] = most_of(all(4000), r);
  }
  find_roots(t, re, root);
  for (int u = 0; u < PER; u++) {
    vec q = load(g, u), size = size_of(q), s = load(root, u), smooth = 2.51 / re[u];
    vec inner = t->rough + smooth * s, lost = t->shape / (s * s);
    vec per = less(q, all(0), all(t->per[1]), all(t->per[0])) * size;

    law->h[u] += per * (lost + t->loss_ratio) * q;
    law->dh[u] +=
        2 * per * (t->loss_ratio + lost * inner / (inner + per_ln * smooth)); /* f falls with Re */
  }
}

static void add_power(const struct sets_term *t, const double *g, struct law *law)
{
  for (int u = 0; u < PER; u++) {
    vec q = load(g, u), size = most_of(all(DBL_MIN), size_of(q));
    vec k = less(q, all(0), all(t->k[1]), all(t->k[0]));
    vec one = k * exp_of((t->m - 1) * log_of(size));

    law->h[u] += one * q;
    law->dh[u] += t->m * one;
  }
}

/* fan.c, without a hump. */
static inline vec rise_of(const struct curve *curve, vec q, vec *slope)
{
  vec x = q * curve->inverse, none = all(0), rise, s;
  double start = curve->piece_count > 0 ? curve->at[0] : 0;

  if (curve->piece_count == 0) {
    rise = curve->a - curve->b * x * x;
    s = -2 * curve->b * x;
  } else {
    const double *c = curve->c;
    vec from = all(start), c0 = all(c[0]), c1 = all(c[1]), c2 = all(c[2]), c3 = all(c[3]);

    for (int i = 1; i < curve->piece_count; i++) {
      vec begins = all(curve->at[i]);

      c += 4;
      from = less(x, begins, from, begins);
      c0 = less(x, begins, c0, all(c[0]));
      c1 = less(x, begins, c1, all(c[1]));
      c2 = less(x, begins, c2, all(c[2]));
      c3 = less(x, begins, c3, all(c[3]));
    }
    vec t = x - from;

    rise = c0 + t * (c1 + t * (c2 + t * c3));
    s = c1 + t * (2 * c2 + t * 3 * c3);
  }
  vec last = all(curve->last), first = all(start);

  rise = less(last, x, curve->end_rise + curve->end_slope * (x - last), rise);
  s = less(last, x, all(curve->end_slope), s);
  rise = less(x, first, curve->start_rise + curve->start_slope * (x - first), rise);
  s = less(x, first, all(curve->start_slope), s);
  rise =
      less(x, none, curve->start_rise - curve->start_slope * first + curve->back_slope * x, rise);
  s = less(x, none, all(curve->back_slope), s);
  *slope = s * curve->amplitude * curve->inverse;
  return rise * curve->amplitude;
}

static void add_fan(const struct sets_term *t, const double *g, struct law *law)
{
  for (int u = 0; u < PER; u++) {
    vec q = load(g, u), slope, rise = rise_of(t->curve, t->reversed ? -q : q, &slope);

    law->h[u] = t->reversed ? law->h[u] + rise : law->h[u] - rise;
    law->dh[u] -= slope;
  }
}

static void look_up_rare(struct sets_block *b, int e, struct law *law)
{
  for (int i = 0; i < SETS_BLOCK; i++)
    if (law->rare[i] != 0) {
      double drop, slope;

      sets_law_of_lane(b, e, i, &drop, &slope);
      law->h[i / COMB_LANES][i % COMB_LANES] = drop;
      law->dh[i / COMB_LANES][i % COMB_LANES] = slope;
    }
}

static inline void find_law(struct sets_block *b, int e, struct law *law)
{
  const struct sets_edge *edge = &b->of->edges[e];
  const struct sets_lanes *l = b->lanes[e];
  const double *g = of(b->g, e), *flat = of(b->at_limit, e);
  bool rare = false;

  for (int u = 0; u < PER; u++) {
    vec q = load(g, u), size = size_of(q);
    vec one = less(q, all(0), load(l->k[1], u), load(l->k[0], u)) * size;
    vec low = less(size, load(l->knee_kg_s, u), all(1) - load(flat, u), all(0));

    law->h[u] = one * q;
    law->dh[u] = 2 * one;
    store(law->rare, u, low);
  }
  for (int i = 0; i < edge->term_count; i++) {
    const struct sets_term *t = &edge->terms[i];

    if (t->kind == SETS_DARCY)
      add_darcy(t, g, flat, at(b->root, t->root), law);
    else if (t->kind == SETS_POWER)
      add_power(t, g, law);
    else
      add_fan(t, g, law);
  }
  for (int u = 0; u < PER; u++)
    rare = rare || any_less(all(0), load(law->rare, u));
  if (__builtin_expect(rare, 0))
    look_up_rare(b, e, law);
}

/* ---- what the nodes lack ---- */

/* (11): the flow of the tangent at the present pressures. */
static inline void flow_of(struct sets_block *b, int e)
{
  const struct sets_edge *edge = &b->of->edges[e];
  const double *a = of(b->x, edge->a), *z = of(b->x, edge->b), *g = of(b->g, e);
  const double *flat = of(b->at_limit, e), *limit = of(b->flat, e);
  struct law law;

  find_law(b, e, &law);
  for (int u = 0; u < PER; u++) {
    vec from = load(a, u), to = load(z, u), q = load(g, u), on_law = all(1) - load(flat, u);
    vec c = 1 / most_of(law.dh[u], all(edge->least));
    vec left = from - to + edge->lift - law.h[u], size = size_of(left);
    vec rounding = 4 * 2.2e-16 * (size_of(from) + size_of(to));
    vec off = c * less(rounding, size, left, all(0));

    c = less(all(0), on_law, c, all(0));
    off = less(all(0), on_law, off, all(0));
    store(at(b->c, e), u, c);
    store(at(b->flow, e), u, less(all(0), on_law, q + off, load(limit, u)));
    store(b->shift, u, most_of(size_of(off) - RELATIVE_SHIFT * size_of(q), load(b->shift, u)));
  }
}

static inline void flows(struct sets_block *b)
{
  const struct net_sets *s = b->of;

  for (int e = 0; e < s->edge_count; e++) {
    double *from = at(b->f, s->edges[e].a), *to = at(b->f, s->edges[e].b);

    if (b->law_count[e] > 0)
      flow_of(b, e);
    else
      for (int u = 0; u < PER; u++) {
        store(at(b->c, e), u, all(0));
        store(at(b->flow, e), u, load(of(b->flat, e), u));
      }
    for (int u = 0; u < PER; u++) {
      vec flow = load(of(b->flow, e), u);

      store(from, u, load(from, u) - flow);
      store(to, u, load(to, u) + flow);
    }
  }
}

static inline vec excess(const struct sets_block *b, const struct sets_control *c, int u)
{
  vec held = c->held >= 0 ? load(of(b->x, c->held), u) : all(0);
  vec over = c->over >= 0 ? load(of(b->x, c->over), u) : all(0);

  return held - over - c->hold_Pa;
}

static inline vec drop_of(const struct sets_block *b, const struct sets_control *c, int u)
{
  return load(of(b->x, c->from), u) - load(of(b->x, c->to), u) + c->lift;
}

static inline void own_balances(struct sets_block *b)
{
  const struct net_sets *s = b->of;

  for (int k = 0; k < s->control_count; k++) {
    const struct sets_control *c = &s->controls[k];
    const double *g = of(b->x, c->slot);
    double *from = at(b->f, c->from), *to = at(b->f, c->to);

    for (int u = 0; u < PER; u++) {
      store(from, u, load(from, u) - load(g, u));
      store(to, u, load(to, u) + load(g, u));
    }
  }
  for (int k = 0; k < s->control_count; k++) {
    const struct sets_control *c = &s->controls[k];
    double *own = at(b->f, c->slot);

    if (b->free_count[k] > 0)
      sets_tangent_control(b, k);
    for (int u = 0; u < PER; u++) {
      vec holds = load(of(b->hold, k), u), off = -excess(b, c, u);
      vec law = load(of(b->own_base, k), u) + load(of(b->own_c, k), u) * drop_of(b, c, u) -
                load(of(b->x, c->slot), u);

      if (c->swap >= 0) {
        double *balance = at(b->f, c->swap);
        vec lacks = load(balance, u);

        store(own, u, less(all(0), holds, lacks, law));
        store(balance, u, less(all(0), holds, off, lacks));
      } else {
        store(own, u, less(all(0), holds, off, law));
      }
    }
  }
}

/* The second pass of a set that has converged, the first half of a step of one that has not. */
static inline void balance(struct sets_block *b)
{
  const struct net_sets *s = b->of;

  memset(b->f, 0, (size_t)s->slots * SETS_BLOCK * sizeof *b->f);
  memset(b->shift, 0, sizeof b->shift);
  memset(b->residual, 0, sizeof b->residual);
  for (int i = 0; i < s->net[0]->inflow_count; i++)
    for (int j = 0; j < SETS_BLOCK; j++)
      at(b->f, s->net[0]->inflow_slot[i])[j] = s->net[0]->inflow[i];
  flows(b);
  own_balances(b);
  for (int i = 0; i < s->unknowns; i++)
    for (int u = 0; u < PER; u++) {
      vec size = size_of(load(of(b->f, i), u));

      size = less(size, all(DBL_MAX), size, all(DBL_MAX)); /* a NaN is never good */
      store(b->residual, u, most_of(size, load(b->residual, u)));
    }
}

static bool all_rest(const struct sets_block *b)
{
  bool moves = false;

  for (int u = 0; u < PER; u++)
    moves = moves || any_less(all(balance_goal), load(b->residual, u)) ||
            any_less(all(shift_goal), load(b->shift, u)) || any_less(all(0), load(b->moved, u));
  return !moves;
}

/* ---- a step ---- */

static inline void add_to(struct sets_block *b, int entry, int u, vec by)
{
  double *value;

  if (entry < 0)
    return;
  value = at(b->values, entry);
  store(value, u, load(value, u) + by);
}

static inline void put_edges(struct sets_block *b)
{
  const struct net_sets *s = b->of;

  for (int e = 0; e < s->edge_count; e++) {
    const int *entry = s->edges[e].entry;

    for (int u = 0; u < PER; u++) {
      vec tie = load(of(b->c, e), u) + TIE_KG_SPA;

      add_to(b, entry[0], u, tie);
      add_to(b, entry[1], u, -tie);
      add_to(b, entry[2], u, tie);
      add_to(b, entry[3], u, -tie);
    }
  }
}

static inline void put_control(struct sets_block *b, int k)
{
  const struct sets_control *c = &b->of->controls[k];

  for (int u = 0; u < PER; u++) {
    vec holds = load(of(b->hold, k), u), free = all(1) - holds, tangent = load(of(b->own_c, k), u);

    tangent = less(all(0), holds, all(0), tangent);
    for (int i = 0; i < c->move_count; i++) { /* the balance goes to the row of the flow */
      double *from = at(b->values, c->moves[i].from), *to = at(b->values, c->moves[i].to);
      vec value = load(from, u);

      store(to, u, less(all(0), holds, value, all(0)));
      store(from, u, less(all(0), holds, all(0), value));
    }
    add_to(b, c->swap_held, u, holds);
    add_to(b, c->swap_over, u, -holds);
    add_to(b, c->own_held, u, holds);
    add_to(b, c->own_over, u, -holds);
    add_to(b, c->own, u, free);
    add_to(b, c->own_from, u, -tangent);
    add_to(b, c->own_to, u, tangent);
  }
}

static inline void assemble(struct sets_block *b)
{
  const struct net_sets *s = b->of;

  memset(b->values, 0, (size_t)s->plan.value_count * SETS_BLOCK * sizeof *b->values);
  put_edges(b);
  for (int k = 0; k < s->control_count; k++)
    for (int u = 0; u < PER; u++) {
      add_to(b, s->controls[k].from_entry, u, all(1));
      add_to(b, s->controls[k].to_entry, u, all(-1));
    }
  for (int k = 0; k < s->control_count; k++)
    put_control(b, k);
}

static inline void take(double *from, int u, vec by)
{
  store(from, u, load(from, u) - by);
}

/* numeric/sparse.c, 16 systems side by side. */
static inline __attribute__((always_inline)) void factor_as(struct sets_block *b, bool symmetric)
{
  const struct numeric_plan *p = &b->of->plan;
  const int *t = p->targets;
  double floor = symmetric ? 1e-11 : 1e-13; /* as in newton.c */
  double *lower = b->values, *upper = at(b->values, p->upper),
         *diagonal = at(b->values, p->diagonal);

  for (int k = 0; k < p->n; k++) {
    vec inverse[PER], bk[PER];

    for (int u = 0; u < PER; u++) {
      vec d = load(of(diagonal, k), u), mended = less(d, all(0), all(-floor), all(floor));

      d = less(size_of(d), all(floor), mended, d);
      inverse[u] = 1 / d;
      store(at(diagonal, k), u, inverse[u]);
      bk[u] = load(of(b->f, k), u);
    }
    for (int i = p->start[k]; i < p->start[k + 1]; i++) {
      int row = p->rows[i];
      vec l[PER], r[PER];

      for (int u = 0; u < PER; u++) {
        r[u] = load(of(upper, i), u);
        l[u] = load(of(lower, i), u) * inverse[u];
      }
      for (int j = p->start[k]; j < i; j++, t++)
        for (int u = 0; u < PER; u++) {
          vec column = load(of(lower, j), u);

          if (symmetric) {
            take(at(lower, *t), u, r[u] * column);
          } else {
            take(at(lower, *t), u, l[u] * load(of(upper, j), u));
            take(at(upper, *t), u, column * r[u]);
          }
        }
      for (int u = 0; u < PER; u++) {
        take(at(diagonal, row), u, l[u] * r[u]);
        take(at(b->f, row), u, l[u] * bk[u]);
        store(at(lower, i), u, l[u]);
      }
    }
  }
}

static void factor(struct sets_block *b)
{
  if (b->of->plan.symmetric)
    factor_as(b, true);
  else
    factor_as(b, false);
}

static inline void back(struct sets_block *b)
{
  const struct numeric_plan *p = &b->of->plan;
  const double *upper = of(b->values, p->upper), *inverse = of(b->values, p->diagonal);

  for (int k = p->n - 1; k >= 0; k--)
    for (int u = 0; u < PER; u++) {
      vec x = load(of(b->f, k), u), d = load(of(inverse, k), u);

      x = p->symmetric ? x * d : x;
      for (int i = p->start[k]; i < p->start[k + 1]; i++)
        x -= load(of(upper, i), u) * load(of(b->f, p->rows[i]), u);
      store(at(b->f, k), u, p->symmetric ? x : x * d);
    }
}

static inline void advance(struct sets_block *b)
{
  const struct net_sets *s = b->of;

  memset(at(b->f, s->unknowns), 0,
         (size_t)(s->slots - s->unknowns) * SETS_BLOCK * sizeof *b->f); /* given pressures stay */
  for (int i = 0; i < s->unknowns; i++)
    for (int u = 0; u < PER; u++)
      store(at(b->x, i), u, load(of(b->x, i), u) + load(of(b->f, i), u));
  for (int e = 0; e < s->edge_count; e++) {
    const double *a = of(b->f, s->edges[e].a), *z = of(b->f, s->edges[e].b);

    for (int u = 0; u < PER; u++)
      store(at(b->g, e), u,
            load(of(b->flow, e), u) + load(of(b->c, e), u) * (load(a, u) - load(z, u)));
  }
}

/* ---- segments ---- */

static inline void settle_edge(struct sets_block *b, int e)
{
  const struct sets_edge *edge = &b->of->edges[e];
  const struct sets_lanes *l = b->lanes[e];
  bool wants = b->none_count[e] > 0;

  for (int u = 0; u < PER && !wants; u++) {
    vec drop = load(of(b->x, edge->a), u) - load(of(b->x, edge->b), u) + edge->lift;
    vec q = load(of(b->g, e), u), cap = load(l->cap, u);
    vec on_law = least_of(edge->way * (cap - q), edge->way * q);
    vec flat = edge->way * (drop - load(l->cap_drop, u));

    wants = any_less(less(all(0), load(of(b->at_limit, e), u), flat, on_law), all(0));
  }
  if (wants)
    sets_settle_edge(b, e);
}

/* Lanes in which a control that holds may want something else: its own functions say what. */
static inline bool look_at_control(struct sets_block *b, int k)
{
  const struct sets_control *c = &b->of->controls[k];
  double left[SETS_BLOCK] __attribute__((aligned(64)));
  bool *look = b->look + (ptrdiff_t)k * SETS_BLOCK;
  bool found = false;

  for (int u = 0; u < PER; u++) {
    vec g = load(of(b->x, c->slot), u), drop = drop_of(b, c, u), slope, within;

    if (c->is_fan) {
      vec needed = -drop;

      within = rise_of(&c->fastest, g, &slope) - needed;
      within = least_of(c->least > 0 ? needed - rise_of(&c->slowest, g, &slope) : g, within);
    } else {
      within = least_of(g - c->least, c->most - g);
      if (c->has_path)
        within = least_of(less(all(c->knee_kg_s), g, drop - c->k * g * g, all(-1)), within);
      if (c->odd_path)
        within = all(-1);
    }
    store(left, u, less(all(0), load(of(b->hold, k), u), within, all(-1)));
    store(at(b->own_g, k), u, g);
  }
  for (int i = 0; i < SETS_BLOCK; i++) {
    look[i] = !(left[i] > 0);
    found = found || look[i];
  }
  return found;
}

static inline void settle(struct sets_block *b)
{
  const struct net_sets *s = b->of;
  bool found = false;

  memset(b->moved, 0, sizeof b->moved);
  for (int i = 0; i < s->capped_count; i++)
    settle_edge(b, s->capped[i]);
  for (int k = 0; k < s->control_count; k++)
    found = look_at_control(b, k) || found;
  if (found)
    sets_settle_controls(b);
}

/* ---- a block ---- */

/* Inclusion and exclusion: what the sets without some of these switches lack of the full sum. */
static inline vec start_of(const struct sets_block *b, int i, double otherwise, int u)
{
  vec sum = all(0);

  for (int j = 0; j < b->from_count; j++) {
    vec one = load(of(b->from[j], i), u);

    sum = b->minus[j] ? sum - one : sum + one;
  }
  return less(size_of(sum), all(most_Pa), sum, all(otherwise));
}

static inline void begin(struct sets_block *b)
{
  const struct net_sets *s = b->of;

  for (int i = 0; i < s->slots; i++)
    for (int u = 0; u < PER; u++)
      store(at(b->x, i), u,
            i < s->unknowns && b->from_count > 0 ? start_of(b, i, s->start[i], u)
                                                 : all(s->start[i]));
  for (int e = 0; e < s->edge_count; e++)
    for (int u = 0; u < PER; u++) {
      vec flow = all(s->start[s->slots + e]);

      if (b->law_count[e] > 0 && b->from_count > 0)
        flow = start_of(b, s->slots + e, s->start[s->slots + e], u);

      store(at(b->g, e), u,
            less(all(0), load(of(b->at_limit, e), u), load(of(b->flat, e), u), flow));
    }
  for (int k = 0; k < s->control_count; k++)
    for (int u = 0; u < PER; u++)
      store(at(b->own_g, k), u, load(of(b->x, s->controls[k].slot), u));
}

static inline vec value_of(const struct sets_block *b, const struct sets_bound *bound, int u)
{
  vec sum = all(0);

  if (bound->term_count == 0) {
    sum = bound->slot[0] >= 0 ? load(of(b->x, bound->slot[0]), u) : sum;
    return bound->slot[1] >= 0 ? sum - load(of(b->x, bound->slot[1]), u) : sum;
  }
  for (int i = 0; i < bound->term_count; i++) {
    int place = bound->place[i];

    sum += bound->sign[i] * load(place >= 0 ? of(b->flow, place) : of(b->x, -1 - place), u);
  }
  return sum;
}

static void judge(struct sets_block *b)
{
  memset(b->near, 0, sizeof b->near);
  memset(b->marks, 0, sizeof b->marks);
  for (int i = 0; i < b->bound_count; i++) {
    const struct sets_bound *bound = &b->bounds[i];
    const struct sets_bound_lanes *l = &bound->lanes[bound->on >= 0 ? b->pattern[bound->on] : 0];
    double left[SETS_BLOCK] __attribute__((aligned(64)));
    bool found = false;

    for (int u = 0; u < PER; u++) {
      vec value = value_of(b, bound, u);
      vec room = least_of(value - load(l->least, u), load(l->most, u) - value);

      store(left, u, room);
      found = found || any_less(room, all(bound->slack));
    }
    for (int j = 0; found && j < SETS_BLOCK; j++) {
      if (!(left[j] < bound->slack) ||
          (bound->control >= 0 && b->control_seg[bound->control * SETS_BLOCK + j] == CONTROL_LEAST))
        continue;
      if (left[j] < -bound->slack)
        b->marks[j] |= (uint64_t)1 << bound->mark;
      else
        b->near[j] = 1;
    }
  }
}

void SETS_NAME(struct sets_block *b)
{
  begin(b);
  memset(b->moved, 0, sizeof b->moved);
  for (b->step = 0;; b->step++) {
    balance(b);
    if ((b->step > 0 && all_rest(b)) || b->step == PASSES_MOST)
      break;
    assemble(b);
    factor(b);
    back(b);
    advance(b);
    settle(b);
    b->passes++;
  }
  judge(b);
  memcpy(b->g, b->flow, (size_t)b->of->edge_count * SETS_BLOCK * sizeof *b->g);
}
