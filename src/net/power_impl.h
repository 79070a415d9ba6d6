#ifndef NET_POWER_IMPL_H
#define NET_POWER_IMPL_H

#include <stdint.h>
#include <string.h>

/*
 * x to the n without a branch or a table, so that a compiler makes several of them at a time, and by
 * operations that round alike on every path, so that each gets the same bits; libm promises neither.
 * Within 1e-14 of the true value for 1e-12 < x < 1e6 and |n| <= 1, within 2e-15 for 1e-3 < x < 1e3
 * (tests/unit/test_net_paths.c); anything for an x that is not a normal number above zero.
 */
#define INLINE static inline __attribute__((always_inline))

INLINE double as_double(uint64_t bits)
{
  double x;
  memcpy(&x, &bits, sizeof x);
  return x;
}

INLINE uint64_t as_bits(double x)
{
  uint64_t bits;
  memcpy(&bits, &x, sizeof bits);
  return bits;
}

#define HALF_ROOT_BITS 0x3fe6a09e667f3bcdu /* of sqrt(1/2) */
#define TWO_52_BITS    0x4330000000000000u /* of 2^52: or a small integer into it, take it off again */
#define TWO_52         4503599627370496.0
#define ROUNDER        6755399441055744.0 /* 1.5 * 2^52: what is added to it becomes whole */

/* log2 of a normal x > 0: x = 2^n u, sqrt(1/2) <= u < sqrt(2); ln u = 2 artanh((u - 1) / (u + 1)). */
INLINE double log2_of(double x)
{
  const uint64_t bias = 1024;
  uint64_t bits = as_bits(x), n = (bits - HALF_ROOT_BITS + (bias << 52)) >> 52;
  double u = as_double(bits - ((n - bias) << 52)), s = (u - 1) / (u + 1), z = s * s;
  double series = 1.0 / 11 + z * (1.0 / 13 + z * (1.0 / 15 + z * (1.0 / 17 + z * (1.0 / 19))));
  series = 1.0 / 3 + z * (1.0 / 5 + z * (1.0 / 7 + z * (1.0 / 9 + z * series)));
  double whole = as_double(TWO_52_BITS | n) - (TWO_52 + (double)bias);
  return whole + 2.8853900817779268 * (s + s * z * series); /* 2 / ln 2 */
}

/* 2^t for |t| < 1000: the whole part in the exponent, e^y by its series, |y| <= ln 2 / 2. */
INLINE double exp2_of(double t)
{
  double rounded = t + ROUNDER, y = 0.6931471805599453 * (t - (rounded - ROUNDER));
  double series = 1.0 / 5040 + y * (1.0 / 40320 + y * (1.0 / 362880 + y * (1.0 / 3628800)));
  series += y * y * y * y * (1.0 / 39916800 + y * (1.0 / 479001600 + y * (1.0 / 6227020800)));
  series = 1.0 / 6 + y * (1.0 / 24 + y * (1.0 / 120 + y * (1.0 / 720 + y * series)));
  series = 1 + y * (1 + y * (0.5 + y * series));
  return series * as_double((as_bits(rounded) + 1023) << 52);
}

INLINE double power_of(double x, double n)
{
  return exp2_of(n * log2_of(x));
}

#endif
