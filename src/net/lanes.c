/*
 * A block of 16 sets of a comb, solved in the lanes of a vector unit.
 *
 * This file is compiled once for each instruction set (src/net/meson.build).  The width of a vector is
 * all that differs: the same operations on the same numbers in the same order, each rounded as IEEE 754
 * says, so the same bits come out.
 */
#include "net/comb_impl.h"

#include <float.h>
#include <math.h>
#include <string.h>

#ifndef COMB_LANES
#define COMB_LANES 2
#define COMB_NAME  comb_solve_plain
#endif
#if defined(__x86_64__)
#include <immintrin.h>
#endif

enum { PER = COMB_BLOCK / COMB_LANES, PASSES_MOST = 16, HALVED_FROM = 6, HALVED_TO = 12 };

typedef double vec __attribute__((vector_size(8 * COMB_LANES)));
typedef int64_t bits __attribute__((vector_size(8 * COMB_LANES)));

static const double settled_Pa = 1e-3;    /* a step that small leaves its square: then look */
static const double stiff_kg_s_Pa = 0.05; /* what a held pressure that is missed counts for */
static const double most_step_Pa = 200;   /* far from the answer the tangents mislead */
static const double least_root = 1e-9;    /* sqrt(Pa): no slope is divided by zero */

/* ---- vectors ---- */

static inline vec all(double value)
{
  return value - (vec){0};
}

static inline vec load(const double *from, int u)
{
  return *(const vec *)(const void *)(from + (ptrdiff_t)u * COMB_LANES);
}

/* From anywhere. */
static inline vec fetch(const double *from, int u)
{
  vec v;

  memcpy(&v, from + (ptrdiff_t)u * COMB_LANES, sizeof v);
  return v;
}

static inline void store(double *to, int u, vec v)
{
  *(vec *)(void *)(to + (ptrdiff_t)u * COMB_LANES) = v;
}

/* a < b ? x : y */
static inline vec less(vec a, vec b, vec x, vec y)
{
#if COMB_LANES == 8
  return (vec)_mm512_mask_blend_pd(_mm512_cmp_pd_mask((__m512d)a, (__m512d)b, _CMP_LT_OQ),
                                   (__m512d)y, (__m512d)x);
#elif COMB_LANES == 4
  return (vec)_mm256_blendv_pd((__m256d)y, (__m256d)x,
                               _mm256_cmp_pd((__m256d)a, (__m256d)b, _CMP_LT_OQ));
#else
  bits m = (bits)(a < b);

  return (vec)((m & (bits)x) | (~m & (bits)y));
#endif
}

static inline vec least_of(vec a, vec b)
{
#if COMB_LANES == 8
  return (vec)_mm512_min_pd((__m512d)a, (__m512d)b);
#elif COMB_LANES == 4
  return (vec)_mm256_min_pd((__m256d)a, (__m256d)b);
#else
  return less(a, b, a, b);
#endif
}

static inline vec most_of(vec a, vec b)
{
#if COMB_LANES == 8
  return (vec)_mm512_max_pd((__m512d)a, (__m512d)b);
#elif COMB_LANES == 4
  return (vec)_mm256_max_pd((__m256d)a, (__m256d)b);
#else
  return less(b, a, a, b);
#endif
}

static inline vec root_of(vec a)
{
#if COMB_LANES == 8
  return (vec)_mm512_sqrt_pd((__m512d)a);
#elif COMB_LANES == 4
  return (vec)_mm256_sqrt_pd((__m256d)a);
#elif defined(__x86_64__)
  return (vec)_mm_sqrt_pd((__m128d)a);
#else
  vec r = a;

  for (int i = 0; i < COMB_LANES; i++)
    r[i] = sqrt(a[i]);
  return r;
#endif
}

static inline vec size_of(vec a)
{
  return (vec)((bits)a & INT64_MAX);
}

static inline vec signed_as(vec size, vec sign)
{
  return (vec)((bits)size | ((bits)sign & INT64_MIN));
}

static inline bool any_less(vec a, vec b)
{
#if COMB_LANES == 8
  return _mm512_cmp_pd_mask((__m512d)a, (__m512d)b, _CMP_LT_OQ) != 0;
#else
  bits m = (bits)(a < b);
  int64_t any = 0;

  for (int i = 0; i < COMB_LANES; i++)
    any |= m[i];
  return any != 0;
#endif
}

/* ---- powers, for leaks: a > 0, normal ---- */

static inline vec log_of(vec a)
{
  const bits half_root = (bits)all(0.70710678118654752440); /* mantissas from there to its double */
  bits up = ((bits)a - half_root) >> 52;
  vec m = (vec)((bits)a - (up << 52)), s = (m - 1) / (m + 1), t = s * s;
  vec e = (vec)(up + (bits)all(0x1.8p52)) - 0x1.8p52;
  vec sum = all(1.0 / 23);

  for (int k = 21; k >= 3; k -= 2)
    sum = sum * t + 1.0 / k;
  return e * 0x1.62e42fefa39efp-1 + (2 * s + 2 * s * t * sum);
}

static inline vec exp_of(vec y)
{
  static const double inverse_factorial[] = {1,
                                             1,
                                             1.0 / 2,
                                             1.0 / 6,
                                             1.0 / 24,
                                             1.0 / 120,
                                             1.0 / 720,
                                             1.0 / 5040,
                                             1.0 / 40320,
                                             1.0 / 362880,
                                             1.0 / 3628800,
                                             1.0 / 39916800,
                                             1.0 / 479001600};
  vec shifted = y * 1.44269504088896340736 + 0x1.8p52, k = shifted - 0x1.8p52;
  vec r = y - k * 0x1.62e42feep-1 - k * 0x1.a39ef35793c76p-33; /* ln 2 in two parts */
  vec sum = all(1.0 / 6227020800.0);

  for (int i = 12; i >= 0; i--)
    sum = sum * r + inverse_factorial[i];
  return (vec)((bits)sum + ((bits)shifted << 52));
}

static inline vec power_of(double n, vec size)
{
  return n == 0.5 ? root_of(size) : exp_of(n * log_of(size));
}

/* ---- laws that all sets of a block share ---- */

struct two { /* values and slopes */
  vec v, s;
};

static inline struct two leak_flow(const struct comb_leak *leak, vec p)
{
  vec d = p - leak->out_Pa, size = most_of(size_of(d), all(least_root * least_root));
  vec c = less(d, all(0), all(leak->backward), all(leak->forward));
  vec q = c * power_of(leak->n, size);

  return (struct two){signed_as(q, d), leak->n * q / size};
}

static inline struct two square_drop(double k, double knee_kg_s, vec q)
{
  vec size = size_of(q);
  struct two out = {k * q * size, 2 * k * size};

  if (__builtin_expect(any_less(size, all(knee_kg_s)), 0)) {
    vec t = q / knee_kg_s;

    out.v = less(size, all(knee_kg_s), KNEE_PA * t * (0.5 + 0.5 * t * t), out.v);
    out.s = less(size, all(knee_kg_s), KNEE_PA / knee_kg_s * (0.5 + 1.5 * t * t), out.s);
  }
  return out;
}

/* One lane after another. */
static struct two other_drop(const struct net_comb *c, const struct comb_run *run, vec q)
{
  struct two out = {all(0), all(0)};

  for (int l = run->first_law; l < run->first_law + run->law_count; l++)
    for (int i = 0; i < COMB_LANES; i++) {
      double drop, slope;

      law_resist(&c->laws[l], q[i], &drop, &slope);
      out.v[i] += drop;
      out.s[i] += slope;
    }
  return out;
}

static inline struct two run_drop(const struct net_comb *c, const struct comb_run *run, vec q)
{
  return run->law_count > 0 ? other_drop(c, run, q) : square_drop(run->k, run->knee_kg_s, q);
}

static struct two rise_of(const struct curve *curve, vec q)
{
  vec x = q * curve->inverse;
  struct two out;

  if (curve->piece_count == 0 && !any_less(x, all(0)))
    return (struct two){curve->amplitude * (curve->a - curve->b * x * x),
                        curve->amplitude * curve->inverse * (-2 * curve->b * x)};
  for (int i = 0; i < COMB_LANES; i++) {
    double rise, slope;

    curve_rise(curve, q[i], false, &rise, &slope);
    out.v[i] = rise;
    out.s[i] = slope;
  }
  return out;
}

/* ---- a march: from the far end to the fan ---- */

struct marched {
  vec h, q, h_p, h_x, q_p, q_x; /* at the last header node; slopes over room and far pressure */
};

static inline void pass_run(const struct net_comb *c, const struct comb_run *run, struct marched *m)
{
  vec q = m->q + run->inflow_kg_s;
  struct two drop = run_drop(c, run, q);

  m->q = q;
  m->h = m->h + run->lift_Pa - drop.v;
  m->h_p = m->h_p - drop.s * m->q_p;
  m->h_x = m->h_x - drop.s * m->q_x;
}

static inline void pass_tooth(const struct comb_tooth *tooth, const struct comb_lanes *lanes, int u,
                              vec p, struct marched *m)
{
  vec d = p + tooth->lift_Pa - m->h, size = most_of(size_of(d), all(least_root * least_root));
  vec r = power_of(tooth->n, size), cap = load(lanes->cap, u);
  vec root = less(d, all(0), load(lanes->back, u), load(lanes->root, u)), q = root * r;
  vec s = less(q, cap, tooth->n == 0.5 ? 0.5 * root / r : tooth->n * q / size, all(0));

  m->q = m->q + signed_as(least_of(q, cap), d);
  m->q_p = m->q_p + s * (1 - m->h_p);
  m->q_x = m->q_x - s * m->h_x;
}

static inline void march(const struct net_comb *c, const struct comb_block *b, const vec *p,
                         const vec *x, struct marched *m)
{
  for (int u = 0; u < PER; u++)
    m[u] = (struct marched){.h = x[u], .h_x = all(1)};
  for (int t = 0; t < c->tooth_count; t++) {
    const struct comb_tooth *tooth = &c->teeth[t];

    for (int u = 0; u < PER; u++)
      pass_tooth(tooth, b->teeth[t], u, p[u], &m[u]);
    if (tooth->after.passes)
      for (int u = 0; u < PER; u++)
        pass_run(c, &tooth->after, &m[u]);
  }
}

/* ---- the two balances ---- */

struct balance {
  vec f, f_p, f_x;
};

/* What the room lacks, kg/s.  A supply that holds gives what is needed, between its limits. */
static inline struct balance room_balance(const struct net_comb *c, vec p, vec q, vec q_p, vec q_x)
{
  struct balance need = {q - c->inflow_kg_s, q_p, q_x};

  for (int i = 0; i < c->leak_count; i++) {
    struct two leak = leak_flow(&c->leaks[i], p);

    need.f += leak.v;
    need.f_p += leak.s;
  }
  if (c->supply == COMB_DECREED)
    return (struct balance){-need.f, -need.f_p, -need.f_x};

  vec above = most_of(c->path_from_Pa - p, all(least_root * least_root)), r = root_of(above);

  struct two path = {c->path_root * r, -0.5 * c->path_root / r};

  vec most = all(c->most_kg_s), cap = least_of(path.v, most);
  vec cap_p = less(path.v, most, path.s, all(0));
  vec wanted = need.f + stiff_kg_s_Pa * (c->hold_Pa - p), least = all(c->least_kg_s);
  vec given = most_of(least, wanted);
  struct balance out = {/* held */
                        less(wanted, least, least - need.f, stiff_kg_s_Pa * (c->hold_Pa - p)),
                        less(wanted, least, -need.f_p, all(-stiff_kg_s_Pa)),
                        less(wanted, least, -need.f_x, all(0))};

  out.f = less(cap, given, cap - need.f, out.f);
  out.f_p = less(cap, given, cap_p - need.f_p, out.f_p);
  out.f_x = less(cap, given, -need.f_x, out.f_x);
  return out;
}

/* Pressure left over after a fan at one speed, and its slope over the flow. */
static inline struct two end_rest(const struct net_comb *c, const struct curve *curve, vec h, vec q)
{
  struct two rise = rise_of(curve, q), drop = run_drop(c, &c->tail, q);

  return (struct two){h + rise.v - drop.v + c->tail.lift_Pa - c->out_Pa, rise.s - drop.s};
}

/* The balance at the fan in Pa, and what a Pa of it is in kg/s. */
static inline struct balance end_balance(const struct net_comb *c, const struct marched *m,
                                         vec *per)
{
  vec q = m->q + c->end_inflow_kg_s;
  struct two most = end_rest(c, &c->most, m->h, q);
  struct balance out = {most.v, m->h_p + most.s * m->q_p, m->h_x + most.s * m->q_x};

  *per = -1 / least_of(most.s, all(-1e-6));
  if (!c->fan_holds)
    return out;

  vec off = m->h - c->fan_hold_Pa;

  *per = less(off, out.f, all(stiff_kg_s_Pa), *per);
  out.f_p = less(off, out.f, m->h_p, out.f_p);
  out.f_x = less(off, out.f, m->h_x, out.f_x);
  out.f = least_of(off, out.f);
  if (!c->has_least)
    return out;

  struct two least = end_rest(c, &c->least, m->h, q);

  *per = less(out.f, least.v, -1 / least_of(least.s, all(-1e-6)), *per);
  out.f_p = less(out.f, least.v, m->h_p + least.s * m->q_p, out.f_p);
  out.f_x = less(out.f, least.v, m->h_x + least.s * m->q_x, out.f_x);
  out.f = most_of(out.f, least.v);
  return out;
}

/* One step of Newton's method for all sets; the largest of them, or more than any where one is lost. */
static double step(const struct net_comb *c, const struct comb_block *b, double share, vec *p,
                   vec *x)
{
  struct marched m[PER];
  vec largest = all(0);
  double out = 0;

  march(c, b, p, x, m);
  for (int u = 0; u < PER; u++) {
    vec per;
    struct balance e = end_balance(c, &m[u], &per);
    vec q = m[u].q;
    struct balance r = room_balance(c, p[u], q, m[u].q_p, m[u].q_x);
    vec by = 1 / (r.f_p * e.f_x - r.f_x * e.f_p);
    vec dp = (e.f * r.f_x - r.f * e.f_x) * by, dx = (r.f * e.f_p - e.f * r.f_p) * by;
    vec size = most_of(size_of(dp), size_of(dx));
    vec scale = share * most_step_Pa / most_of(size, all(most_step_Pa));

    p[u] += scale * dp;
    x[u] += scale * dx;
    largest = most_of(size, largest); /* a NaN on the left gives the right, so: */
    largest = less(size, all(DBL_MAX), largest, all(DBL_MAX));
  }
  for (int i = 0; i < COMB_LANES; i++)
    out = fmax(out, largest[i]);
  return out;
}

/* ---- the second pass: the laws as they stand, from the two pressures, and what may not be missed ---- */

struct seen {
  vec h, q, knee, left;
};

static inline void look_at_tooth(const struct comb_tooth *tooth, const struct comb_lanes *lanes,
                                 int u, vec p, struct seen *s)
{
  vec d = p + tooth->lift_Pa - s->h, size = size_of(d), none = all(0);
  vec law = less(d, none, load(lanes->back, u), load(lanes->root, u)) *
            power_of(tooth->n, most_of(size, all(DBL_MIN)));
  vec q = signed_as(least_of(law, load(lanes->cap, u)), d);
  vec knee = less(d, none, load(lanes->back_knee_Pa, u), load(lanes->knee_Pa, u));

  s->knee = least_of(size - knee, s->knee);
  s->left =
      least_of(least_of(q - load(lanes->least_kg_s, u), load(lanes->most_kg_s, u) - q), s->left);
  s->q = s->q + q;
}

static bool look(const struct net_comb *c, struct comb_block *b, const vec *p, const vec *x)
{
  struct seen s[PER];
  bool good = true;

  for (int u = 0; u < PER; u++)
    s[u] = (struct seen){x[u], all(0), all(INFINITY), all(INFINITY)};
  for (int t = 0; t < c->tooth_count; t++) {
    const struct comb_tooth *tooth = &c->teeth[t];

    for (int u = 0; u < PER; u++)
      look_at_tooth(tooth, b->teeth[t], u, p[u], &s[u]);
    if (!tooth->after.passes)
      continue;
    for (int u = 0; u < PER; u++) {
      s[u].q = s[u].q + tooth->after.inflow_kg_s;
      s[u].knee = least_of(s[u].q - tooth->after.least_kg_s, s[u].knee);
      s[u].h += tooth->after.lift_Pa - run_drop(c, &tooth->after, s[u].q).v;
    }
  }
  for (int u = 0; u < PER; u++) {
    const struct marched end = {.h = s[u].h, .q = s[u].q};
    vec per;
    struct balance e = end_balance(c, &end, &per);
    struct balance r = room_balance(c, p[u], s[u].q, all(0), all(0));
    vec worst = most_of(size_of(r.f), size_of(e.f) * per);

    s[u].knee = least_of(s[u].q + c->end_inflow_kg_s - c->tail.least_kg_s, s[u].knee);
    for (int i = 0; i < c->leak_count; i++)
      s[u].knee = least_of(size_of(p[u] - c->leaks[i].out_Pa) - c->leaks[i].knee_Pa, s[u].knee);
    if (c->supply == COMB_HOLDS)
      s[u].knee = least_of(c->path_from_Pa - p[u] - c->path_knee_Pa, s[u].knee);
    worst = less(worst, all(DBL_MAX), worst, all(DBL_MAX)); /* NaN is never good */
    good = good && !any_less(all(GOAL_KG_S), worst);
    store(b->residual_kg_s, u, worst);
    store(b->knee, u, s[u].knee);
    store(b->left_kg_s, u, s[u].left);
    store(b->end_Pa, u, s[u].h);
  }
  return good;
}

/* ---- a block ---- */

/* Inclusion and exclusion: what the sets without some of these sashes lack of the full sum. */
static vec begin(const struct comb_block *b, const double *of, double otherwise, int u)
{
  vec sum = all(0);

  for (int i = 0; i < b->from_count; i++) {
    vec one = fetch(of + b->from[i], u);

    sum = b->minus[i] ? sum - one : sum + one;
  }
  return less(size_of(sum), all(1e6), sum, all(otherwise)); /* a set without an answer is a NaN */
}

void COMB_NAME(const struct net_comb *c, struct comb_block *b)
{
  vec p[PER], x[PER];
  bool good = false;

  for (int u = 0; u < PER; u++) {
    p[u] = begin(b, b->room_Pa, 0, u);
    x[u] = begin(b, b->far_Pa, -100, u);
  }
  for (int i = 0; i < PASSES_MOST && !good; i++) {
    bool halved = i >= HALVED_FROM && i < HALVED_TO; /* to and fro across a bend */
    double largest = step(c, b, halved ? 0.5 : 1, p, x);

    b->passes++;
    good = (largest < settled_Pa || i + 1 == PASSES_MOST) && look(c, b, p, x);
  }
  for (int u = 0; u < PER; u++) {
    memcpy(b->room_Pa + b->base + u * COMB_LANES, &p[u], sizeof p[u]);
    memcpy(b->far_Pa + b->base + u * COMB_LANES, &x[u], sizeof x[u]);
  }
}
