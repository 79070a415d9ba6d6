#include "net/net_impl.h"
#include "net/power_impl.h"

#include <math.h>
#include <stdint.h>

/*
 * What is done to every edge alike, several edges at a time.
 *
 * Each kernel is written once, plainly and without a branch; the compiler makes
 * it for the instructions that every such machine has, for AVX2 and for AVX-512.
 * An edge is computed by the same operations in the same order on each path, and
 * nothing is summed over edges here (counted, or the largest taken), so that the
 * answers are equal bit by bit: tests/unit/test_net_paths.c.
 */

/* Before a loop: no edge reads what another writes. */
#if defined(__clang__)
#pragma clang diagnostic ignored "-Wpass-failed" /* where there is nothing to make it of */
#define APART _Pragma("clang loop vectorize(assume_safety)")
#else
#define APART _Pragma("GCC ivdep")
#endif

/* (11) for all edges of k g|g|; true when some are below their knees, which this does not see. */
INLINE bool quads(struct net *net)
{
  const double *restrict g = net->g, *restrict k0 = net->k0, *restrict k1 = net->k1;
  const double *restrict knee = net->knee;
  double *restrict c = net->c, *restrict base = net->base;
  int64_t below = 0;
  int count = net->quad_count;
  APART
  for (int e = 0; e < count; e++) {
    double size = fabs(g[e]), k = g[e] < 0 ? k1[e] : k0[e], slope = 2 * k * size;
    slope = slope > LEAST_SLOPE ? slope : LEAST_SLOPE;
    c[e] = 1 / slope;
    base[e] = g[e] - k * size * g[e] * c[e];
    below += size < knee[e] ? 1 : 0;
  }
  return below > 0;
}

/* The same for single powers k |g|^(m-1) g. */
INLINE bool powers(struct net *net)
{
  const double *restrict g = net->g, *restrict k0 = net->k0, *restrict k1 = net->k1;
  const double *restrict knee0 = net->knee, *restrict knee1 = net->knee1, *restrict m = net->m;
  double *restrict c = net->c, *restrict base = net->base;
  int64_t below = 0;
  int from = net->quad_count, until = from + net->power_count;
  APART
  for (int e = from; e < until; e++) {
    double size = fabs(g[e]), k = g[e] < 0 ? k1[e] : k0[e], knee = g[e] < 0 ? knee1[e] : knee0[e];
    double t = k * power_of(size, m[e] - 1), slope = m[e] * t;
    slope = slope > LEAST_SLOPE ? slope : LEAST_SLOPE;
    c[e] = 1 / slope;
    base[e] = g[e] - t * g[e] * c[e];
    below += size < knee ? 1 : 0;
  }
  return below > 0;
}

#define INFINITE_BITS 0x7ff0000000000000

/* The largest size among them; what is no number counts as nothing. */
INLINE double largest(const double *restrict x, int count)
{
  int64_t most = 0; /* of positive numbers the order of the bits is theirs */
  APART
  for (int i = 0; i < count; i++) {
    int64_t bits = (int64_t)as_bits(fabs(x[i]));
    bits = bits > INFINITE_BITS ? 0 : bits;
    most = bits > most ? bits : most;
  }
  return as_double((uint64_t)most);
}

/*
 * Flows of the tangents at the present pressures; gives the largest shift.  A drop
 * that agrees with its law to the rounding of the pressures is taken as agreeing:
 * divided by the slope of a near-zero resistance that rounding would be a flow of
 * its own.
 */
INLINE double flows(struct net *net)
{
  const double *restrict x = net->x, *restrict c = net->c, *restrict base = net->base;
  const double *restrict g = net->g, *restrict lift = net->lift;
  const int *restrict a = net->a, *restrict b = net->b;
  double *restrict flow = net->flow;
  int64_t worst = 0;
  int count = net->edge_count;
  APART
  for (int e = 0; e < count; e++) {
    double from = x[a[e]], to = x[b[e]];
    double off = base[e] + c[e] * (from - to + lift[e]) - g[e];
    double rounding = 4 * 2.2e-16 * (fabs(from) + fabs(to));
    off = fabs(off) <= c[e] * rounding ? 0 : off;
    flow[e] = g[e] + off;
    int64_t relative = (int64_t)as_bits(fabs(off) - RELATIVE_SHIFT * fabs(g[e]));
    worst = relative > worst ? relative : worst;
  }
  return as_double((uint64_t)worst);
}

/* Flows after the step; gives how many it left far from their tangents. */
INLINE int advance(struct net *net)
{
  const double *restrict step = net->f, *restrict c = net->c;
  const int *restrict a = net->a, *restrict b = net->b;
  double *restrict g = net->g, *restrict flow = net->flow;
  int64_t far = 0;
  int count = net->edge_count;
  APART
  for (int e = 0; e < count; e++) {
    double next = flow[e] + c[e] * (step[a[e]] - step[b[e]]), moved_by = next - g[e];
    far += moved_by * moved_by > FORECAST_KG_S * (fabs(next) + 1e-9) ? 1 : 0;
    g[e] = flow[e] = next;
  }
  return (int)far;
}

#define PATH(name, instructions)                                                                   \
  instructions static bool quads_##name(struct net *net)                                           \
  {                                                                                                \
    return quads(net);                                                                             \
  }                                                                                                \
  instructions static bool powers_##name(struct net *net)                                          \
  {                                                                                                \
    return powers(net);                                                                            \
  }                                                                                                \
  instructions static double flows_##name(struct net *net)                                         \
  {                                                                                                \
    return flows(net);                                                                             \
  }                                                                                                \
  instructions static int advance_##name(struct net *net)                                          \
  {                                                                                                \
    return advance(net);                                                                           \
  }                                                                                                \
  instructions static double largest_##name(const double *x, int count)                            \
  {                                                                                                \
    return largest(x, count);                                                                      \
  }                                                                                                \
  static const struct abreast name = {quads_##name, powers_##name, flows_##name, advance_##name,   \
                                      largest_##name};

PATH(plain, )
#if defined(__x86_64__)
PATH(avx2, __attribute__((target("avx2"))))
PATH(avx512, __attribute__((target("avx512f,avx512dq,avx512vl"))))

#endif

const struct abreast *abreast_of(enum net_path path)
{
#if defined(__x86_64__)
  if (path == NET_PATH_AVX512)
    return &avx512;
  if (path == NET_PATH_AVX2)
    return &avx2;
#endif
  BUG_IF(path != NET_PATH_PLAIN);
  return &plain;
}
