/* Stations that were worked at with nobody booked, by the record. */
#include "day/day_impl.h"

#include <stdlib.h>

static int by_station(const void *a, const void *b)
{
  const struct day_use *x = a, *y = b;

  if (x->station != y->station)
    return x->station - y->station;
  return (x->from_ms > y->from_ms) - (x->from_ms < y->from_ms);
}

static bool is_booked(const struct day_bookings *list, const struct day_use *use, int64_t around_ms)
{
  for (int i = 0; i < list->count; i++) {
    const struct day_booking *b = &list->list[i];

    if (b->station == use->station && b->start_ms - around_ms < use->to_ms &&
        use->from_ms < b->end_ms + around_ms)
      return true;
  }
  return false;
}

static void take(const struct facility_day *day, const struct day_bookings *list,
                 const struct day_use *use, struct day_unbooked *out)
{
  if ((double)(use->to_ms - use->from_ms) < 1000 * day->least_use_s)
    return;
  out->uses++;
  if (is_booked(list, use, (int64_t)(1000 * day->around_s)))
    return;
  out->unbooked++;
  out->unbooked_s += (double)(use->to_ms - use->from_ms) / 1000;
  out->last_ms = use->from_ms;
}

bool day_count_unbooked(const struct facility *facility, const struct day_bookings *list,
                        const struct day_uses *uses, int64_t until_ms, struct arena *arena,
                        struct day_habits *out)
{
  struct day_use *known = ARENA_ARRAY(arena, struct day_use, (size_t)uses->count + 1);
  int count = 0;

  out->unbooked = ARENA_ARRAY(arena, struct day_unbooked, (size_t)facility->station_count + 1);
  if (!known || !out->unbooked)
    return false;
  for (int i = 0; i < facility->station_count; i++)
    out->unbooked[i] = (struct day_unbooked){.last_ms = INT64_MIN};
  /* before the first that was read nothing tells what was booked */
  out->unbooked_from_ms = list->count > 0 ? list->list[0].start_ms : INT64_MAX;
  if (out->unbooked_from_ms < uses->from_ms)
    out->unbooked_from_ms = uses->from_ms;
  for (int i = 0; i < uses->count; i++)
    if (uses->list[i].known && uses->list[i].from_ms >= out->unbooked_from_ms &&
        uses->list[i].to_ms <= until_ms)
      known[count++] = uses->list[i];
  qsort(known, (size_t)count, sizeof *known, by_station);
  for (int i = 0; i < count; i++) {
    struct day_use use = known[i];

    /* up again so soon is the same work */
    while (i + 1 < count && known[i + 1].station == use.station &&
           (double)(known[i + 1].from_ms - use.to_ms) < 1000 * facility->day.least_use_s)
      use.to_ms = known[++i].to_ms > use.to_ms ? known[i].to_ms : use.to_ms;
    take(&facility->day, list, &use, &out->unbooked[use.station]);
  }
  return true;
}
