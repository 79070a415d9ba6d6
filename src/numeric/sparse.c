#include "numeric/numeric_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * Right-looking elimination with every update's target known beforehand.
 * values = [L][U, unless symmetric][nowhere][diagonal][spare diagonal].
 * Column k holds rows[start[k] .. start[k+1]), ascending; its updates are the
 * pairs of its entries, in the order the loops below meet them.
 */
struct numeric_sparse {
  int n, spare;
  bool symmetric;
  int *place;
  int *start, *rows, *targets;
  size_t fill, value_count;
  double *values, *diagonal, *upper;
};

enum { FILL_LIMIT = 4000000, TARGET_LIMIT = 60000000 };

static int ascending(const void *a, const void *b)
{
  return (*(const int *)a > *(const int *)b) - (*(const int *)a < *(const int *)b);
}

static int find_row(const struct numeric_sparse *s, int column, int row)
{
  int low = s->start[column], high = s->start[column + 1];
  while (low < high) {
    int middle = low + (high - low) / 2;
    if (s->rows[middle] < row)
      low = middle + 1;
    else
      high = middle;
  }
  return low < s->start[column + 1] && s->rows[low] == row ? low : -1;
}

static void take_columns(struct numeric_sparse *s, const struct order *order)
{
  for (int k = 0; k < s->n; k++)
    s->place[order->sequence[k]] = k;
  for (int k = 0; k <= s->n; k++)
    s->start[k] = order->start[k];
  for (size_t i = 0; i < s->fill; i++)
    s->rows[i] = s->place[order->below[i]];
  for (int k = 0; k < s->n; k++)
    qsort(s->rows + s->start[k], (size_t)(s->start[k + 1] - s->start[k]), sizeof(int), ascending);
}

static bool list_targets(struct numeric_sparse *s)
{
  size_t count = 0;
  for (int k = 0; k < s->n; k++) {
    size_t below = (size_t)(s->start[k + 1] - s->start[k]);
    count += below > 1 ? below * (below - 1) / 2 : 0;
  }
  if (count > TARGET_LIMIT)
    return false;
  s->targets = numeric_alloc(count, sizeof(int));
  int *t = s->targets;
  for (int k = 0; k < s->n; k++)
    for (int i = s->start[k]; i < s->start[k + 1]; i++)
      for (int j = s->start[k]; j < i; j++) {
        *t = find_row(s, s->rows[j], s->rows[i]);
        BUG_IF(*t < 0);
        t++;
      }
  return true;
}

struct numeric_sparse *numeric_sparse_new(const struct numeric_pattern *pattern, struct err *err)
{
  struct order order = {0};
  if (!order_find(pattern, FILL_LIMIT, &order)) {
    err_set(err, ERR_LIMIT, "the network is too densely linked to be solved");
    return NULL;
  }
  size_t n = (size_t)pattern->unknowns;
  struct numeric_sparse *s = numeric_alloc(1, sizeof *s);
  s->n = pattern->unknowns;
  s->spare = pattern->spare;
  s->symmetric = pattern->symmetric;
  s->fill = (size_t)order.start[n];
  s->place = numeric_alloc(n, sizeof(int));
  s->start = numeric_alloc(n + 1, sizeof(int));
  s->rows = numeric_alloc(s->fill, sizeof(int));
  take_columns(s, &order);
  order_release(&order);
  size_t triangles = s->symmetric ? s->fill : 2 * s->fill;
  s->value_count = triangles + 1 + n + (size_t)s->spare;
  s->values = numeric_alloc(s->value_count, sizeof(double));
  s->upper = s->values + (triangles - s->fill);
  s->diagonal = s->values + triangles + 1;
  if (!list_targets(s)) {
    numeric_sparse_free(s);
    err_set(err, ERR_LIMIT, "the network is too densely linked to be solved");
    return NULL;
  }
  return s;
}

void numeric_sparse_free(struct numeric_sparse *s)
{
  if (!s)
    return;
  free(s->place);
  free(s->start);
  free(s->rows);
  free(s->targets);
  free(s->values);
  free(s);
}

int numeric_sparse_place(const struct numeric_sparse *s, int unknown)
{
  return s->place[unknown];
}

int numeric_sparse_nowhere(const struct numeric_sparse *s)
{
  return (int)(s->diagonal - s->values) - 1;
}

int numeric_sparse_entry(const struct numeric_sparse *s, int row, int column)
{
  if (row >= s->n || column >= s->n)
    return row == column ? (int)(s->diagonal - s->values) + row : numeric_sparse_nowhere(s);
  if (row == column)
    return (int)(s->diagonal - s->values) + row;
  int at = row > column ? find_row(s, column, row) : find_row(s, row, column);
  if (at < 0)
    return numeric_sparse_nowhere(s);
  return row > column ? at : (int)(s->upper - s->values) + at;
}

double *numeric_sparse_values(struct numeric_sparse *s)
{
  return s->values;
}

double *numeric_sparse_diagonal(struct numeric_sparse *s)
{
  return s->diagonal;
}

size_t numeric_sparse_fill(const struct numeric_sparse *s)
{
  return s->fill;
}

void numeric_sparse_clear(struct numeric_sparse *s)
{
  memset(s->values, 0, s->value_count * sizeof(double));
}

/* A pivot, mended when it is as good as zero. */
static inline double good_pivot(double d, double floor, int k, struct numeric_pivots *pivots)
{
  double size = fabs(d);
  if (!(size >= pivots->least)) {
    pivots->least = size;
    pivots->worst = k;
  }
  if (size >= floor)
    return d;
  pivots->mended++;
  return d < 0 ? -floor : floor;
}

static void factor_symmetric(struct numeric_sparse *s, double *restrict b, double floor,
                             struct numeric_pivots *pivots)
{
  double *restrict lower = s->values, *restrict diagonal = s->diagonal;
  const int *restrict rows = s->rows, *restrict t = s->targets;
  for (int k = 0; k < s->n; k++) {
    double d = good_pivot(diagonal[k], floor, k, pivots), inverse = 1 / d, bk = b[k];
    int from = s->start[k], to = s->start[k + 1];
    diagonal[k] = inverse;
    for (int i = from; i < to; i++) {
      double u = lower[i], l = u * inverse;
      for (int j = from; j < i; j++)
        lower[*t++] -= u * lower[j];
      diagonal[rows[i]] -= u * l;
      b[rows[i]] -= l * bk;
      lower[i] = l;
    }
  }
}

static void factor_general(struct numeric_sparse *s, double *restrict b, double floor,
                           struct numeric_pivots *pivots)
{
  double *restrict lower = s->values, *restrict upper = s->upper, *restrict diagonal = s->diagonal;
  const int *restrict rows = s->rows, *restrict t = s->targets;
  for (int k = 0; k < s->n; k++) {
    double d = good_pivot(diagonal[k], floor, k, pivots), inverse = 1 / d, bk = b[k];
    int from = s->start[k], to = s->start[k + 1];
    diagonal[k] = inverse;
    for (int i = from; i < to; i++) {
      double l = lower[i] * inverse, u = upper[i];
      for (int j = from; j < i; j++, t++) {
        lower[*t] -= l * upper[j];
        upper[*t] -= lower[j] * u;
      }
      diagonal[rows[i]] -= l * u;
      b[rows[i]] -= l * bk;
      lower[i] = l;
    }
  }
}

void numeric_sparse_factor(struct numeric_sparse *s, double *b, double floor,
                           struct numeric_pivots *pivots)
{
  *pivots = (struct numeric_pivots){.least = INFINITY};
  if (s->symmetric)
    factor_symmetric(s, b, floor, pivots);
  else
    factor_general(s, b, floor, pivots);
}

void numeric_sparse_back(const struct numeric_sparse *s, double *b)
{
  const double *restrict upper = s->upper, *restrict inverse = s->diagonal;
  const int *restrict rows = s->rows, *restrict start = s->start;
  if (s->symmetric) {
    for (int k = s->n - 1; k >= 0; k--) {
      double x = b[k] * inverse[k];
      for (int i = start[k]; i < start[k + 1]; i++)
        x -= upper[i] * b[rows[i]];
      b[k] = x;
    }
    return;
  }
  for (int k = s->n - 1; k >= 0; k--) {
    double x = b[k];
    for (int i = start[k]; i < start[k + 1]; i++)
      x -= upper[i] * b[rows[i]];
    b[k] = x * inverse[k];
  }
}

void numeric_sparse_solve(const struct numeric_sparse *s, double *b)
{
  for (int k = 0; k < s->n; k++)
    for (int i = s->start[k]; i < s->start[k + 1]; i++)
      b[s->rows[i]] -= s->values[i] * b[k];
  numeric_sparse_back(s, b);
}

void numeric_sparse_solve_transposed(const struct numeric_sparse *s, double *b)
{
  const double *restrict lower = s->values, *restrict upper = s->upper;
  const int *restrict rows = s->rows, *restrict start = s->start;
  if (s->symmetric) {
    numeric_sparse_solve(s, b);
    return;
  }
  for (int k = 0; k < s->n; k++) {
    double y = b[k] * s->diagonal[k];
    for (int i = start[k]; i < start[k + 1]; i++)
      b[rows[i]] -= upper[i] * y;
    b[k] = y;
  }
  for (int k = s->n - 1; k >= 0; k--)
    for (int i = start[k]; i < start[k + 1]; i++)
      b[k] -= lower[i] * b[rows[i]];
}

struct numeric_plan numeric_sparse_plan(const struct numeric_sparse *s)
{
  return (struct numeric_plan){.n = s->n,
                               .value_count = (int)s->value_count,
                               .upper = (int)(s->upper - s->values),
                               .diagonal = (int)(s->diagonal - s->values),
                               .symmetric = s->symmetric,
                               .start = s->start,
                               .rows = s->rows,
                               .targets = s->targets};
}

void numeric_sparse_to_dense(const struct numeric_sparse *s, double *a)
{
  size_t n = (size_t)s->n;
  memset(a, 0, n * n * sizeof(double));
  for (size_t k = 0; k < n; k++) {
    a[k * n + k] = s->diagonal[k];
    for (int i = s->start[k]; i < s->start[k + 1]; i++) {
      a[(size_t)s->rows[i] * n + k] = s->values[i];
      a[k * n + (size_t)s->rows[i]] = s->upper[i];
    }
  }
}
