#include "post/post_impl.h"

#include <stdio.h>
#include <string.h>

/* How often something may be sent: so many an hour, and of one cause once. */

int64_t post_limit_free_ms(const struct post_limit *limit, int most_per_h, int64_t now_ms)
{
  int most = most_per_h < POST_MOST_PER_H ? most_per_h : POST_MOST_PER_H;

  if (limit->count < most)
    return now_ms;
  /* The oldest of the last `most` must be an hour ago. */
  int at = (limit->next - most + POST_MOST_PER_H) % POST_MOST_PER_H;

  return limit->times_ms[at] + POST_HOUR_MS;
}

void post_limit_note(struct post_limit *limit, int64_t now_ms)
{
  limit->times_ms[limit->next] = now_ms;
  limit->next = (limit->next + 1) % POST_MOST_PER_H;
  if (limit->count < POST_MOST_PER_H)
    limit->count++;
}

bool post_cause_is_told(struct post_causes *causes, const char *name, int64_t now_ms)
{
  char cut[POST_CAUSE_MOST];

  snprintf(cut, sizeof cut, "%s", name);
  for (int i = 0; i < POST_CAUSES; i++)
    if (strcmp(causes->list[i].name, cut) == 0) {
      int64_t since_ms = now_ms - causes->list[i].t_ms;

      if (since_ms >= 0 && since_ms < POST_HOUR_MS)
        return true;
      causes->list[i].t_ms = now_ms;
      return false;
    }
  memcpy(causes->list[causes->next].name, cut, sizeof cut);
  causes->list[causes->next].t_ms = now_ms;
  causes->next = (causes->next + 1) % POST_CAUSES;
  return false;
}
