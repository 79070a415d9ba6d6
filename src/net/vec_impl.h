#ifndef NET_VEC_IMPL_H
#define NET_VEC_IMPL_H

/*
 * Vectors of doubles, COMB_LANES wide, for a file that is compiled once for each width.  Each operation is
 * rounded as IEEE 754 says, lane by lane, so a lane gives the same bits whatever the width.
 */
#include <math.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#ifndef COMB_LANES
#define COMB_LANES 2
#endif
#if defined(__x86_64__)
#include <immintrin.h>
#endif

typedef double vec __attribute__((vector_size(8 * COMB_LANES)));
typedef int64_t bits __attribute__((vector_size(8 * COMB_LANES)));
#if COMB_LANES == 8
typedef unsigned mask; /* a bit for each lane */
#else
typedef bits mask;
#endif

static inline vec all(double value)
{
  return value - (vec){0};
}

static inline vec load(const double *from, int u)
{
  return *(const vec *)(const void *)(from + (ptrdiff_t)u * COMB_LANES);
}

static inline void store(double *to, int u, vec v)
{
  *(vec *)(void *)(to + (ptrdiff_t)u * COMB_LANES) = v;
}

/* To anywhere. */
static inline void put(double *to, int u, vec v)
{
  memcpy(to + (ptrdiff_t)u * COMB_LANES, &v, sizeof v);
}

/* ---- masks ---- */

static inline mask below(vec a, vec b)
{
#if COMB_LANES == 8
  return _mm512_cmp_pd_mask((__m512d)a, (__m512d)b, _CMP_LT_OQ);
#else
  return (mask)(a < b);
#endif
}

static inline mask none(void)
{
  return (mask){0};
}

static inline mask not(mask m)
{
#if COMB_LANES == 8
  return ~m & 0xffu;
#else
  return ~m;
#endif
}

/* Bit by lane. */
static inline uint32_t bits_of(mask m)
{
#if COMB_LANES == 8
  return m;
#elif COMB_LANES == 4
  return (uint32_t)_mm256_movemask_pd((__m256d)m);
#elif defined(__x86_64__)
  return (uint32_t)_mm_movemask_pd((__m128d)m);
#else
  uint32_t found = 0;

  for (int i = 0; i < COMB_LANES; i++)
    found |= m[i] ? 1u << i : 0;
  return found;
#endif
}

static inline bool any(mask m)
{
#if COMB_LANES == 4
  return !_mm256_testz_si256((__m256i)m, (__m256i)m);
#else
  return bits_of(m) != 0;
#endif
}

static inline int count_of(mask m)
{
  return __builtin_popcount(bits_of(m));
}

/* m ? x : y */
static inline vec pick(mask m, vec x, vec y)
{
#if COMB_LANES == 8
  return (vec)_mm512_mask_blend_pd((__mmask8)m, (__m512d)y, (__m512d)x);
#elif COMB_LANES == 4
  return (vec)_mm256_blendv_pd((__m256d)y, (__m256d)x, (__m256d)m);
#else
  return (vec)((m & (bits)x) | (~m & (bits)y));
#endif
}

/* a < b ? x : y */
static inline vec less(vec a, vec b, vec x, vec y)
{
  return pick(below(a, b), x, y);
}

/* ---- numbers ---- */

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

/* ---- powers: a > 0, normal ---- */

/* c[0] + c[1] x + ... + c[count - 1] x^(count - 1), by pairs of pairs, so that none waits for long. */
static inline vec sum_of(const double *c, int count, vec x)
{
  vec xx = x * x, x4 = xx * xx, sum = all(0), at = all(1);

  for (int i = 0; i < count; i += 4) {
    vec low = c[i] + c[i + 1] * x, high = c[i + 2] + c[i + 3] * x;

    sum += at * (low + high * xx);
    at *= x4;
  }
  return sum;
}

static inline vec log_of(vec a)
{
  /* of (atanh(s) / s - 1) / s^2 in s^2 */
  static const double odd[] = {1.0 / 3,  1.0 / 5,  1.0 / 7,  1.0 / 9,  1.0 / 11, 1.0 / 13,
                               1.0 / 15, 1.0 / 17, 1.0 / 19, 1.0 / 21, 1.0 / 23, 0};
  const bits half_root = (bits)all(0.70710678118654752440); /* mantissas from there to its double */
  bits up = ((bits)a - half_root) >> 52;
  vec m = (vec)((bits)a - (up << 52)), s = (m - 1) / (m + 1), t = s * s;
  vec e = (vec)(up + (bits)all(0x1.8p52)) - 0x1.8p52;

  return e * 0x1.62e42fefa39efp-1 + (2 * s + 2 * s * t * sum_of(odd, 12, t));
}

static inline vec exp_of(vec y)
{
  static const double inverse_factorial[] = {1.0 / 2,        1.0 / 6,         1.0 / 24,
                                             1.0 / 120,      1.0 / 720,       1.0 / 5040,
                                             1.0 / 40320,    1.0 / 362880,    1.0 / 3628800,
                                             1.0 / 39916800, 1.0 / 479001600, 1.0 / 6227020800.0};
  vec shifted = y * 1.44269504088896340736 + 0x1.8p52, k = shifted - 0x1.8p52;
  vec r = y - k * 0x1.62e42feep-1 - k * 0x1.a39ef35793c76p-33; /* ln 2 in two parts */
  vec e = 1 + (r + r * r * sum_of(inverse_factorial, 12, r));

  return (vec)((bits)e + ((bits)shifted << 52));
}

static inline vec power_of(double n, vec size)
{
  return n == 0.5 ? root_of(size) : exp_of(n * log_of(size));
}

#endif
