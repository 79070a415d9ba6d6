#include "draw/draw_impl.h"

#include <stdlib.h>
#include <string.h>

/*
 * cairo names the groups of an SVG after a counter of the whole process ("surface12"), so a second
 * document of the same program would differ in nothing else.  Here they are counted anew.
 */
enum { GROUPS_MAX = 64 };

struct seen {
  long numbers[GROUPS_MAX];
  int count;
};

static int place_of(struct seen *seen, long number)
{
  for (int i = 0; i < seen->count; i++)
    if (seen->numbers[i] == number)
      return i;
  BUG_IF(seen->count == GROUPS_MAX);
  seen->numbers[seen->count] = number;
  return seen->count++;
}

void draw_svg_tidy(const struct buf *from, struct buf *out)
{
  static const char word[] = "surface";
  struct seen seen = {.count = 0};
  const char *at = from->text, *next;

  while ((next = strstr(at, word))) {
    char *end;
    long number = strtol(next + strlen(word), &end, 10);

    buf_add(out, at, (size_t)(next - at));
    buf_printf(out, "sheet%d", place_of(&seen, number) + 1);
    at = end;
  }
  buf_puts(out, at);
}
