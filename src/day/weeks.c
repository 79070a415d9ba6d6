/* Weeks drawn by chance: which hour would need another fan. */
#include "day/day_impl.h"
#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

enum {
  QUARTERS_MOST = 4 * DAY_WEEK_HOURS_MOST,
  TRIES = 32, /* up to four hours either way */
  WORKING_DAYS = 5,
  HOUR_MS = 3600000,
  WEEK_DAYS = 7,
  DAY_MS = 86400000
};
static const double turn = 6.283185307179586;

struct drawing {
  const struct day_weeks_job *job;
  struct numeric_random random;
  int64_t end_ms;
  int quarter_count, own_count, count, room;
  struct day_booking *list; /* the week's own, then those of groups */
  uint64_t up[QUARTERS_MOST];
  uint64_t set_of[DAY_WEEK_HOURS_MOST]; /* the last set that was short there */
};

/* ---- one week ---- */

/* Box and Muller. */
static double normal(struct numeric_random *random)
{
  double radius = sqrt(-2 * log(1 - numeric_random_unit(random)));

  return radius * cos(turn * numeric_random_unit(random));
}

static bool is_free(const struct drawing *d, int station, int64_t start_ms, int64_t end_ms)
{
  for (int i = 0; i < d->count; i++)
    if (d->list[i].station == station && d->list[i].start_ms < end_ms &&
        d->list[i].end_ms > start_ms)
      return false;
  return true;
}

static bool is_within_hours(const struct drawing *d, int64_t start_ms, int64_t end_ms)
{
  const struct facility_day *day = &d->job->facility->day;
  int64_t midnight_ms = d->job->monday_ms + (start_ms - d->job->monday_ms) / DAY_MS * DAY_MS;

  return (double)(start_ms - midnight_ms) >= day->from_s * 1000 &&
         (double)(end_ms - midnight_ms) <= day->to_s * 1000;
}

/* Like one that is there: on its day, or else another working day, at the nearest hour at which its station is
 * free. */
static bool add_like(struct drawing *d)
{
  struct day_booking b = d->list[numeric_random_below(&d->random, d->own_count)];
  int64_t length_ms = b.end_ms - b.start_ms;
  int64_t on_monday_ms = b.start_ms - (b.start_ms - d->job->monday_ms) / DAY_MS * DAY_MS;
  int64_t wanted_ms[2] = {
      b.start_ms, on_monday_ms + (int64_t)numeric_random_below(&d->random, WORKING_DAYS) * DAY_MS};

  for (int i = 0; i < 2 * TRIES; i++) {
    int step = (i % TRIES + 1) / 2 * (i % 2 ? 1 : -1);

    b.start_ms = wanted_ms[i / TRIES] + (int64_t)step * DAY_QUARTER_MS;
    b.end_ms = b.start_ms + length_ms;
    if (is_within_hours(d, b.start_ms, b.end_ms) && is_free(d, b.station, b.start_ms, b.end_ms)) {
      b.who = "";
      d->list[d->count++] = b;
      return true;
    }
  }
  return false;
}

/* On a day on which people come together one draw decides for all. */
static double draw(struct drawing *d, const double *shared)
{
  return *shared >= 0 ? *shared : numeric_random_unit(&d->random);
}

static void be_there(struct drawing *d, const struct day_booking *b, const double *shared)
{
  const struct day_habit *h = &d->job->habits->stations[b->station];
  int64_t from_ms, to_ms;

  if (draw(d, shared) >= h->comes_ratio)
    return;
  from_ms = b->start_ms + (int64_t)(1000 * (h->late_s + h->late_spread_s * normal(&d->random)));
  to_ms = b->end_ms + (int64_t)(1000 * (h->over_s + h->over_spread_s * normal(&d->random)));
  for (int q = 0; q < d->quarter_count; q++) {
    int64_t middle_ms = d->job->monday_ms + (int64_t)q * DAY_QUARTER_MS + DAY_QUARTER_MS / 2;

    if (middle_ms >= from_ms && middle_ms < to_ms && draw(d, shared) < h->up_ratio)
      d->up[q] |= (uint64_t)1 << b->station;
  }
}

static void draw_week(struct drawing *d)
{
  double shared[WEEK_DAYS + 1];

  for (int i = 0; i <= WEEK_DAYS; i++)
    shared[i] = numeric_random_unit(&d->random) < d->job->facility->day.together_ratio
                    ? numeric_random_unit(&d->random)
                    : -1;
  memset(d->up, 0, sizeof d->up);
  for (int i = 0; i < d->count; i++) {
    int64_t day = (d->list[i].start_ms - d->job->monday_ms) / DAY_MS;

    be_there(d, &d->list[i], &shared[day < 0 ? 0 : day > WEEK_DAYS ? WEEK_DAYS : day]);
  }
}

/* True where some hour was short. */
static bool count_short(struct drawing *d, struct day_weeks *out, bool then)
{
  bool any = false;

  for (int h = 0; h < out->hour_count; h++) {
    bool is_short = false;

    for (int q = 4 * h; q < 4 * h + 4 && q < d->quarter_count && !is_short; q++)
      if (d->up[q] && day_air_level(d->job->air, d->up[q]) == FACILITY_SHORT) {
        is_short = true;
        d->set_of[h] = d->up[q];
      }
    *(then ? &out->hours[h].short_then : &out->hours[h].short_now) += is_short;
    any = any || is_short;
  }
  return any;
}

/* ---- all of them ---- */

static bool take_week(struct drawing *d, struct arena *arena)
{
  const struct day_weeks_job *job = d->job;

  d->room = job->bookings->count + job->group_count * job->facility->day.group_count + 1;
  d->list = ARENA_ARRAY(arena, struct day_booking, (size_t)d->room);
  if (!d->list)
    return false;
  for (int i = 0; i < job->bookings->count; i++)
    if (job->bookings->list[i].start_ms >= job->monday_ms &&
        job->bookings->list[i].start_ms < d->end_ms)
      d->list[d->own_count++] = job->bookings->list[i];
  d->count = d->own_count;
  return true;
}

static void find_worst(struct drawing *d, struct arena *arena, struct day_weeks *out)
{
  out->worst = -1;
  for (int h = 0; h < out->hour_count; h++)
    if (out->hours[h].short_then > 0 &&
        (out->worst < 0 || out->hours[h].short_then > out->hours[out->worst].short_then))
      out->worst = h;
  if (out->worst >= 0)
    (void)day_air_solve(d->job->air, day_air_core(d->job->air, d->set_of[out->worst]), NULL, arena,
                        &out->binding);
}

enum err_code day_weeks_ask(const struct day_weeks_job *job, struct arena *arena,
                            struct day_weeks *out, struct err *err)
{
  struct drawing *d = ARENA_NEW(arena, struct drawing);

  *out = (struct day_weeks){.worst = -1};
  if (!d)
    return err_set(err, ERR_LIMIT, "the weeks do not fit");
  d->job = job;
  d->end_ms = job->monday_ms + (int64_t)WEEK_DAYS * DAY_MS;
  d->quarter_count = (int)((d->end_ms - job->monday_ms) / DAY_QUARTER_MS);
  if (!take_week(d, arena))
    return err_set(err, ERR_LIMIT, "more bookings than fit into a week");
  if (d->own_count == 0)
    return err_set(err, ERR_INPUT, "no booking in that week: there is nothing to draw weeks from");
  numeric_random_seed(&d->random, job->seed);
  out->booked_count = d->own_count;
  out->hour_count = d->quarter_count / 4;
  for (int h = 0; h < out->hour_count; h++)
    out->hours[h].t_ms = job->monday_ms + (int64_t)h * HOUR_MS;
  for (int week = 0; week < job->week_count; week++) {
    d->count = d->own_count;
    draw_week(d);
    out->weeks_short_now += count_short(d, out, false);
    for (int i = 0; i < job->group_count * job->facility->day.group_count; i++)
      out->without_place += !add_like(d);
    draw_week(d);
    out->weeks_short_then += count_short(d, out, true);
  }
  find_worst(d, arena, out);
  return ERR_OK;
}
