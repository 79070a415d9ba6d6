/* What people do of what they book: bookings that are over, against the stretches in which sashes were up. */
#include "day/day_impl.h"

#include <math.h>
#include <stdlib.h>

struct cases {
  int booked, came, room;
  double *late_s, *over_s, *up_ratio, *opening_m; /* came of each */
};

static bool cases_init(struct cases *c, int room, struct arena *arena)
{
  size_t count = (size_t)room + 1;

  *c = (struct cases){.room = room,
                      .late_s = ARENA_ARRAY(arena, double, count),
                      .over_s = ARENA_ARRAY(arena, double, count),
                      .up_ratio = ARENA_ARRAY(arena, double, count),
                      .opening_m = ARENA_ARRAY(arena, double, count)};
  return c->late_s && c->over_s && c->up_ratio && c->opening_m;
}

/* ---- one booking ---- */

/* Half the way to the neighbours on that station, and no more than the suite's `around`. */
static void window_of(const struct day_bookings *list, const struct day_booking *b,
                      int64_t around_ms, int64_t *from_out_ms, int64_t *to_out_ms)
{
  int64_t from_ms = b->start_ms - around_ms, to_ms = b->end_ms + around_ms;

  for (int i = 0; i < list->count; i++) {
    const struct day_booking *o = &list->list[i];

    if (o == b || o->station != b->station)
      continue;
    if (o->end_ms <= b->start_ms && (o->end_ms + b->start_ms) / 2 > from_ms)
      from_ms = (o->end_ms + b->start_ms) / 2;
    if (o->start_ms >= b->end_ms && (o->start_ms + b->end_ms) / 2 < to_ms)
      to_ms = (o->start_ms + b->end_ms) / 2;
  }
  *from_out_ms = from_ms;
  *to_out_ms = to_ms;
}

static int64_t later(int64_t a_ms, int64_t b_ms)
{
  return a_ms > b_ms ? a_ms : b_ms;
}

static int64_t earlier(int64_t a_ms, int64_t b_ms)
{
  return a_ms < b_ms ? a_ms : b_ms;
}

/* False: the record does not know all of it, so it is no case. */
static bool take_case(const struct day_bookings *list, const struct day_booking *b,
                      const struct day_uses *uses, int64_t around_ms, struct cases *c)
{
  int64_t from_ms, to_ms, first_ms = INT64_MAX, last_ms = INT64_MIN, up_ms = 0;
  double open_ms_m = 0, open_ms = 0;

  window_of(list, b, around_ms, &from_ms, &to_ms);
  if (from_ms < uses->from_ms || to_ms > uses->to_ms || (uses->untold >> b->station & 1))
    return false;
  for (int i = 0; i < uses->count; i++) {
    const struct day_use *u = &uses->list[i];
    int64_t begin_ms = later(u->from_ms, from_ms), end_ms = earlier(u->to_ms, to_ms);

    if (u->station != b->station || begin_ms >= end_ms)
      continue;
    if (!u->known)
      return false;
    first_ms = earlier(first_ms, begin_ms);
    last_ms = later(last_ms, end_ms);
    up_ms += end_ms - begin_ms;
    if (!isnan(u->opening_m)) {
      open_ms_m += u->opening_m * (double)(end_ms - begin_ms);
      open_ms += (double)(end_ms - begin_ms);
    }
  }
  c->booked++;
  if (up_ms == 0)
    return true;
  c->late_s[c->came] = (double)(first_ms - b->start_ms) / 1000;
  c->over_s[c->came] = (double)(last_ms - b->end_ms) / 1000;
  c->up_ratio[c->came] = (double)up_ms / (double)(last_ms - first_ms);
  c->opening_m[c->came] = open_ms > 0 ? open_ms_m / open_ms : (double)NAN;
  c->came++;
  return true;
}

/* ---- many ---- */

static double mean_of(const double *list, int count)
{
  double sum = 0;

  for (int i = 0; i < count; i++)
    sum += list[i];
  return sum / count;
}

/* Two passes: the difference first. */
static double spread_of(const double *list, int count, double mean)
{
  double sum = 0;

  for (int i = 0; i < count; i++)
    sum += (list[i] - mean) * (list[i] - mean);
  return sqrt(sum / (count - 1));
}

static int by_value(const void *a, const void *b)
{
  const double *x = a, *y = b;

  return (*x > *y) - (*x < *y);
}

static double median_known(double *list, int count)
{
  int known = 0;

  for (int i = 0; i < count; i++)
    if (!isnan(list[i]))
      list[known++] = list[i];
  if (known == 0)
    return NAN;
  qsort(list, (size_t)known, sizeof *list, by_value);
  return known % 2 ? list[known / 2] : (list[known / 2 - 1] + list[known / 2]) / 2;
}

static struct day_habit by_settings(const struct facility_day *day)
{
  return (struct day_habit){.late_s = day->late_s,
                            .late_spread_s = day->late_spread_s,
                            .over_s = day->over_s,
                            .over_spread_s = day->over_spread_s,
                            .comes_ratio = day->comes_ratio,
                            .up_ratio = day->up_ratio,
                            .opening_m = NAN};
}

static struct day_habit habit_of(struct cases *c, const struct facility_day *day)
{
  struct day_habit h = by_settings(day);

  h.cases = c->booked;
  h.came = c->came;
  h.from_record = c->booked >= day->cases_least && c->came >= 2;
  if (!h.from_record)
    return h;
  h.late_s = mean_of(c->late_s, c->came);
  h.late_spread_s = spread_of(c->late_s, c->came, h.late_s);
  h.over_s = mean_of(c->over_s, c->came);
  h.over_spread_s = spread_of(c->over_s, c->came, h.over_s);
  /* Jeffreys' estimate: five of five that came do not prove that the sixth will. */
  h.comes_ratio = (c->came + 0.5) / (c->booked + 1);
  h.up_ratio = mean_of(c->up_ratio, c->came);
  h.opening_m = median_known(c->opening_m, c->came);
  return h;
}

static void take_all(struct cases *all, const struct cases *c)
{
  for (int i = 0; i < c->came; i++) {
    all->late_s[all->came] = c->late_s[i];
    all->over_s[all->came] = c->over_s[i];
    all->opening_m[all->came] = NAN; /* another station's opening says nothing here */
    all->up_ratio[all->came++] = c->up_ratio[i];
  }
  all->booked += c->booked;
}

static int over_by(const struct day_bookings *list, int station, int64_t until_ms)
{
  int count = 0;

  for (int i = 0; i < list->count; i++)
    count += (station < 0 || list->list[i].station == station) && list->list[i].end_ms <= until_ms;
  return count;
}

struct day_habits day_learn(const struct facility *facility, const struct day_bookings *list,
                            const struct day_uses *uses, int64_t until_ms, struct arena *arena)
{
  const struct facility_day *day = &facility->day;
  int64_t around_ms = (int64_t)(1000 * day->around_s);
  struct day_habits out = {
      .stations = ARENA_ARRAY(arena, struct day_habit, (size_t)facility->station_count + 1),
      .uses = *uses};
  struct cases all, one;

  BUG_IF(!day_count_unbooked(facility, list, uses, until_ms, arena, &out));
  BUG_IF(!out.stations || !cases_init(&all, over_by(list, -1, until_ms), arena));
  for (int s = 0; s < facility->station_count; s++) {
    BUG_IF(!cases_init(&one, over_by(list, s, until_ms), arena));
    for (int i = 0; i < list->count; i++)
      if (list->list[i].station == s && list->list[i].end_ms <= until_ms)
        (void)take_case(list, &list->list[i], uses, around_ms, &one);
    out.stations[s] = habit_of(&one, day);
    take_all(&all, &one);
  }
  out.all = habit_of(&all, day);
  for (int s = 0; s < facility->station_count; s++)
    if (!out.stations[s].from_record && out.all.from_record) {
      out.stations[s] = out.all;
      out.stations[s].of_all = true;
    }
  return out;
}
