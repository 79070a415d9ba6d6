/* The record's same weekdays: what the air was like at each quarter of an hour, by the same model. */
#include "day/day_impl.h"

enum { DAY_MS = 86400000, LIKE_MOST = 60 };

/* The same local time, so many days earlier. */
static int64_t back_ms(const struct when_zone *zone, int64_t t_ms, int days)
{
  int offset_s, then_offset_s;

  (void)when_civil(zone, t_ms, &offset_s);
  int64_t then_ms = t_ms - (int64_t)days * DAY_MS;

  (void)when_civil(zone, then_ms, &then_offset_s);
  return then_ms + (int64_t)(offset_s - then_offset_s) * 1000;
}

/* False: some sash was not known. */
static bool set_at(const struct day_uses *uses, int64_t t_ms, uint64_t *set_out)
{
  *set_out = 0;
  for (int i = 0; i < uses->count; i++) {
    const struct day_use *u = &uses->list[i];

    if (t_ms < u->from_ms || t_ms >= u->to_ms)
      continue;
    if (!u->known)
      return false;
    *set_out |= (uint64_t)1 << u->station;
  }
  return true;
}

void day_find_like(struct day_answer *answer)
{
  const struct day_request *r = answer->request;
  const struct day_uses *uses = &r->habits->uses;

  for (int i = 0; i < answer->quarter_count; i++) {
    struct day_quarter *q = &answer->quarters[i];

    for (int week = 1; week <= LIKE_MOST; week++) {
      int64_t then_ms = back_ms(r->zone, q->t_ms + DAY_QUARTER_MS / 2, 7 * week);
      uint64_t set;

      if (then_ms < uses->from_ms)
        break;
      if (then_ms >= uses->to_ms || !set_at(uses, then_ms, &set))
        continue;
      enum facility_level level = day_air_level(r->air, set);

      if (level == FACILITY_NOT_KNOWN)
        continue;
      q->like_days++;
      q->like_short += level == FACILITY_SHORT;
      q->like_near += level >= FACILITY_NEAR_LIMIT;
    }
  }
}
