#include "numeric/numeric.h"

#include <math.h>

static int largest_row(int n, const double *a, int column)
{
  int best = column;
  for (int i = column + 1; i < n; i++)
    if (fabs(a[i * n + column]) > fabs(a[best * n + column]))
      best = i;
  return best;
}

static void swap_rows(int n, double *a, double *b, int i, int j)
{
  for (int c = 0; c < n; c++) {
    double t = a[i * n + c];
    a[i * n + c] = a[j * n + c];
    a[j * n + c] = t;
  }
  double t = b[i];
  b[i] = b[j];
  b[j] = t;
}

bool numeric_dense_solve(int n, double *a, double *b, double *rcond_out)
{
  double largest = 0, least = INFINITY;
  for (int k = 0; k < n; k++) {
    int best = largest_row(n, a, k);
    if (best != k)
      swap_rows(n, a, b, k, best);
    double pivot = a[k * n + k];
    largest = fmax(largest, fabs(pivot));
    least = fmin(least, fabs(pivot));
    if (!(fabs(pivot) > 0)) {
      *rcond_out = 0;
      return false;
    }
    for (int i = k + 1; i < n; i++) {
      double factor = a[i * n + k] / pivot;
      if (factor == 0)
        continue;
      for (int c = k + 1; c < n; c++)
        a[i * n + c] -= factor * a[k * n + c];
      b[i] -= factor * b[k];
    }
  }
  for (int k = n - 1; k >= 0; k--) {
    for (int c = k + 1; c < n; c++)
      b[k] -= a[k * n + c] * b[c];
    b[k] /= a[k * n + k];
  }
  *rcond_out = n > 0 ? least / largest : 1;
  return true;
}

void numeric_dense_factor(int n, double *restrict a, int *restrict swaps)
{
  for (int k = 0; k < n; k++) {
    int best = largest_row(n, a, k);

    swaps[k] = best;
    for (int c = 0; c < n && best != k; c++) {
      double t = a[k * n + c];

      a[k * n + c] = a[best * n + c];
      a[best * n + c] = t;
    }
    double inverse = a[k * n + k] != 0 ? 1 / a[k * n + k] : 0;

    for (int i = k + 1; i < n; i++) {
      double factor = a[i * n + k] *= inverse;

      for (int c = k + 1; c < n && factor != 0; c++)
        a[i * n + c] -= factor * a[k * n + c];
    }
  }
}

void numeric_dense_back(int n, const double *restrict a, const int *restrict swaps,
                        double *restrict b)
{
  for (int k = 0; k < n; k++) {
    double t = b[swaps[k]];

    b[swaps[k]] = b[k];
    b[k] = t;
  }
  for (int i = 1; i < n; i++)
    for (int c = 0; c < i; c++)
      b[i] -= a[i * n + c] * b[c];
  for (int i = n - 1; i >= 0; i--) {
    for (int c = i + 1; c < n; c++)
      b[i] -= a[i * n + c] * b[c];
    b[i] = a[i * n + i] != 0 ? b[i] / a[i * n + i] : 0;
  }
}
