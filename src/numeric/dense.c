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
