/* Of two computed figures, is one the greater?  Orders that do not hang on the last digit. */
#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

/* Far above what is left of a solve or of a slope taken between two; far below what anybody knows. */
static const double alike_ratio = 1e-4;

bool numeric_exceeds(double x, double y, double nothing)
{
  if (!isfinite(x) || !isfinite(y))
    return x > y;
  return x - y > fmax(nothing, alike_ratio * fmax(fabs(x), fabs(y)));
}

void numeric_sort(void *list, size_t count, size_t size,
                  bool (*before)(const void *one, const void *other))
{
  enum { SIZE_MAX_ITEM = 256 };
  unsigned char *items = list, kept[SIZE_MAX_ITEM];

  BUG_IF(size > sizeof kept);
  for (size_t i = 1; i < count; i++) {
    size_t at = i;

    while (at > 0 && before(items + i * size, items + (at - 1) * size))
      at--;
    memcpy(kept, items + i * size, size);
    memmove(items + (at + 1) * size, items + at * size, (i - at) * size);
    memcpy(items + at * size, kept, size);
  }
}
