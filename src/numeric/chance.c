/* Chance: the beta distribution, how probable sets are, and a chance in words. */
#include "base/buf.h"
#include "numeric/numeric.h"

#include <math.h>

/* ---- in words ---- */

/* The fraction with a small denominator that is nearest: no digits that nobody can know. */
void numeric_odds(double ratio, struct buf *out)
{
  static const struct {
    int of, in;
  } fractions[] = {{1, 2}, {1, 3}, {2, 3}, {1, 4}, {3, 4}, {1, 5}, {4, 5}, {9, 10}};
  size_t best = 0;

  if (isnan(ratio)) {
    buf_puts(out, "not known");
  } else if (ratio <= 1e-9) {
    buf_puts(out, "never in what was looked at");
  } else if (ratio < 0.01) {
    buf_puts(out, "under 1 in 100");
  } else if (ratio < 0.175) {
    double in = 1 / ratio;

    buf_printf(out, "1 in %.0f",
               in < 10   ? round(in)
               : in < 30 ? 5 * round(in / 5)
                         : 10 * round(in / 10));
  } else if (ratio > 0.95) {
    buf_puts(out, "almost surely");
  } else {
    for (size_t i = 1; i < sizeof fractions / sizeof *fractions; i++)
      if (fabs((double)fractions[i].of / fractions[i].in - ratio) <
          fabs((double)fractions[best].of / fractions[best].in - ratio))
        best = i;
    buf_printf(out, "%d in %d", fractions[best].of, fractions[best].in);
  }
}

/* ---- the normal distribution ---- */

double numeric_normal_below_ratio(double z)
{
  return 0.5 * erfc(-z / sqrt(2.0)); /* DLMF 7.18; in the far tail 1 - erf would have no digits */
}

/* ---- the beta distribution ---- */

/* Continued fraction of the incomplete beta function (DLMF 8.17.22), by Lentz's way. */
static double fraction(double a, double b, double x)
{
  const double tiny = 1e-300;
  double c = 1, d = 1 - (a + b) * x / (a + 1), f;

  d = 1 / (fabs(d) < tiny ? tiny : d);
  f = d;
  for (int m = 1; m < 300; m++) {
    double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
    double before = f;

    d = 1 + even * d;
    c = 1 + even / c;
    d = 1 / (fabs(d) < tiny ? tiny : d);
    f *= d * c;
    d = 1 + odd * d;
    c = 1 + odd / c;
    d = 1 / (fabs(d) < tiny ? tiny : d);
    f *= d * c;
    if (fabs(f - before) < 1e-14 * fabs(f))
      break;
  }
  return f;
}

double numeric_beta_below_ratio(double a, double b, double x)
{
  if (x <= 0 || x >= 1)
    return x <= 0 ? 0 : 1;
  double front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x));

  return x < (a + 1) / (a + b + 2) ? front * fraction(a, b, x) / a
                                   : 1 - front * fraction(b, a, 1 - x) / b;
}

double numeric_beta_quantile_ratio(double a, double b, double p_ratio)
{
  double low = 0, high = 1;

  for (int i = 0; i < 60; i++) {
    double middle = (low + high) / 2;

    if (numeric_beta_below_ratio(a, b, middle) < p_ratio)
      low = middle;
    else
      high = middle;
  }
  return (low + high) / 2;
}

/* ---- sets ---- */

void numeric_set_weights(int n, const double *p_ratio, double *weight_out)
{
  weight_out[0] = 1;
  for (int i = 0; i < n; i++)
    for (size_t set = 0, sets = (size_t)1 << i; set < sets; set++) {
      weight_out[set + sets] = weight_out[set] * p_ratio[i];
      weight_out[set] *= 1 - p_ratio[i];
    }
}

void numeric_share_common(int n, const double *p_ratio, double correlation_ratio, double at_ratio,
                          double *p_out_ratio)
{
  double sum = 1 / correlation_ratio - 1; /* a + b */

  for (int i = 0; i < n; i++)
    p_out_ratio[i] =
        p_ratio[i] <= 0 || p_ratio[i] >= 1
            ? p_ratio[i]
            : numeric_beta_quantile_ratio(sum * p_ratio[i], sum * (1 - p_ratio[i]), at_ratio);
}
