/*
 * The program with its unknowns eliminated in another order, of nearly the same fill: for check, which
 * demands the same text of both.  The linker puts this in the way of order_find (--wrap); TURN, a number,
 * picks the order.
 */
#include "numeric/numeric_impl.h"

#include <stdlib.h>

/* The names are the linker's. NOLINTBEGIN */
bool __real_order_find(const struct numeric_pattern *pattern, size_t fill_limit,
                       struct order *order);
bool __wrap_order_find(const struct numeric_pattern *pattern, size_t fill_limit,
                       struct order *order);

static void shuffle(int *old_of, int n)
{
  const char *turn = getenv("TURN");
  struct numeric_random random;

  numeric_random_seed(&random, turn ? strtoul(turn, NULL, 10) : 1);
  for (int v = 0; v < n; v++)
    old_of[v] = v;
  for (int left = n; left > 1; left--) {
    int v = numeric_random_below(&random, left), kept = old_of[left - 1];

    old_of[left - 1] = old_of[v];
    old_of[v] = kept;
  }
}

bool __wrap_order_find(const struct numeric_pattern *pattern, size_t fill_limit,
                       struct order *order)
{
  size_t n = (size_t)pattern->unknowns, pairs = (size_t)pattern->pair_count;
  int *old_of = numeric_alloc(n, sizeof(int)), *new_of = numeric_alloc(n, sizeof(int));
  int(*turned)[2] = numeric_alloc(pairs, sizeof *turned);
  bool *last = pattern->last ? numeric_alloc(n, sizeof(bool)) : NULL;
  struct numeric_pattern other = *pattern;

  shuffle(old_of, pattern->unknowns);
  for (size_t v = 0; v < n; v++) {
    new_of[old_of[v]] = (int)v;
    if (last)
      last[v] = pattern->last[old_of[v]];
  }
  for (size_t p = 0; p < pairs; p++)
    for (int end = 0; end < 2; end++)
      turned[p][end] = new_of[pattern->pairs[p][end]];
  other.pairs = (const int(*)[2])turned;
  other.last = last;

  bool ok = __real_order_find(&other, fill_limit, order);

  for (size_t k = 0; ok && k < n; k++)
    order->sequence[k] = old_of[order->sequence[k]];
  for (int i = 0; ok && i < order->start[n]; i++)
    order->below[i] = old_of[order->below[i]];
  free(old_of);
  free(new_of);
  free(turned);
  free(last);
  return ok;
}
/* NOLINTEND */
