/* Least squares by Householder reflections. */
#include "numeric/numeric.h"

#include <math.h>

/* What is left of a column beside those before it: below this share of it, nothing but rounding. */
static const double hangs_ratio = 1e-14;

struct system {
  int rows, columns;
  double *a, *b, *sums;
};

static double norm_of(const struct system *s, int from, int column)
{
  double squares = 0.0, largest = 0.0;

  for (int i = from; i < s->rows; i++)
    largest = fmax(largest, fabs(s->a[i * s->columns + column]));
  for (int i = from; i < s->rows && largest > 0.0; i++) {
    double share = s->a[i * s->columns + column] / largest;

    squares += share * share;
  }
  return largest * sqrt(squares);
}

/* Takes off every row right of column k, and b, what the reflector in column k says. */
static void apply(const struct system *s, int k, double beta)
{
  int n = s->columns;
  double of_b = 0.0;

  for (int c = k + 1; c < n; c++)
    s->sums[c] = 0.0;
  for (int i = k; i < s->rows; i++) {
    double v = s->a[i * n + k];

    for (int c = k + 1; c < n && v != 0.0; c++)
      s->sums[c] += v * s->a[i * n + c];
    of_b += v * s->b[i];
  }
  for (int i = k; i < s->rows; i++) {
    double v = beta * s->a[i * n + k];

    for (int c = k + 1; c < n && v != 0.0; c++)
      s->a[i * n + c] -= v * s->sums[c];
    s->b[i] -= v * of_b;
  }
}

static bool reflect(const struct system *s, int k)
{
  double norm = norm_of(s, k, k), head = s->a[k * s->columns + k];

  if (!(norm > hangs_ratio * norm_of(s, 0, k)))
    return false;
  if (head > 0.0)
    norm = -norm;
  s->a[k * s->columns + k] = head - norm;
  apply(s, k, -1.0 / (norm * (head - norm)));
  s->a[k * s->columns + k] = norm;
  return true;
}

static void invert(int n, double *r)
{
  for (int j = 0; j < n; j++) {
    double own = 1.0 / r[j * n + j];

    r[j * n + j] = own;
    for (int i = 0; i < j; i++) {
      double sum = 0.0;

      for (int k = i; k < j; k++)
        sum += r[i * n + k] * r[k * n + j];
      r[i * n + j] = -sum * own;
    }
  }
}

static void multiply(int n, const double *inverse, double *covariance_out)
{
  for (int i = 0; i < n; i++)
    for (int j = i; j < n; j++) {
      double sum = 0.0;

      for (int c = j; c < n; c++)
        sum += inverse[i * n + c] * inverse[j * n + c];
      covariance_out[i * n + j] = covariance_out[j * n + i] = sum;
    }
}

bool numeric_least_squares(int rows, int columns, double *a, double *b, double *x_out,
                           double *covariance_out)
{
  struct system s = {rows, columns, a, b, x_out};

  for (int k = 0; k < columns; k++)
    if (!reflect(&s, k))
      return false;
  for (int k = columns - 1; k >= 0; k--) {
    double sum = b[k];

    for (int c = k + 1; c < columns; c++)
      sum -= a[k * columns + c] * x_out[c];
    b[k] = x_out[k] = sum / a[k * columns + k];
  }
  if (covariance_out) {
    invert(columns, a);
    multiply(columns, a, covariance_out);
  }
  return true;
}
