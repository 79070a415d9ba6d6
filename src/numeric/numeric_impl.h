#ifndef NUMERIC_NUMERIC_IMPL_H
#define NUMERIC_NUMERIC_IMPL_H

#include "numeric/numeric.h"

/* Columns of L as they fall out of the elimination, in unknowns. */
struct order {
  int *sequence; /* unknowns in elimination order */
  int *start;    /* unknowns + 1, into below */
  int *below;    /* for each eliminated unknown, those it still met */
};

/* Minimum degree on the explicit elimination graph. */
bool order_find(const struct numeric_pattern *pattern, size_t fill_limit, struct order *order);
void order_release(struct order *order);

void *numeric_alloc(size_t count, size_t size); /* zeroed; ends the process when there is none */

#endif
