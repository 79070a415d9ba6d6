#include "day/day_impl.h"

#include <string.h>

void day_put_clock(const struct when_zone *zone, int64_t t_ms, struct buf *out)
{
  const struct when_civil c = when_civil(zone, t_ms, NULL);

  buf_printf(out, "%02d:%02d", c.hour, c.minute);
}

const char *day_weekday(const struct when_zone *zone, int64_t t_ms)
{
  static const char *const names[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                      "Friday", "Saturday", "Sunday"};
  const struct when_civil c = when_civil(zone, t_ms, NULL);

  return names[when_weekday(&c)];
}

void day_put_booking(const struct day_answer *answer, int booking, bool names, struct buf *out)
{
  const struct day_request *r = answer->request;
  const struct day_booking *b = &answer->day.list[booking];

  buf_printf(out, "%s ", r->facility->stations[b->station].part.id);
  day_put_clock(r->zone, b->start_ms, out);
  buf_putc(out, '-');
  day_put_clock(r->zone, b->end_ms, out);
  if (names && *b->who)
    buf_printf(out, " (%s)", b->who);
}

const char *day_conflict_name(enum day_conflict_kind kind)
{
  static const char *const names[DAY_CONFLICT_KINDS] = {"same_station", "same_person", "not_here",
                                                        "clean_down", "may_not"};

  return names[kind];
}
