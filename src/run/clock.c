/* When is it cold: the clock of two readings, the wait of the house, and the later of both. */
#include "run/run_impl.h"

#include "matter/matter.h"

#include <math.h>

/* Free convection of a turbulent kind: heat goes with the difference to the power 4/3 (McAdams, Heat
 * Transmission, 3rd ed. 1954, ch. 7).  Of the laws named there the slowest at the end. */
static const double slow_bend = 1.0 / 3;

static double around_K(const struct facility *f, int station)
{
  return f->rooms[f->stations[station].room].temperature_K;
}

/* The latest reading that the last one is surely below, and surely later than; -1: none. */
static int reading_before(const struct facility *f, const struct run *run)
{
  const struct run_reading *last = &run->readings[run->reading_count - 1];
  double pm_K = f->unattended.reading_pm_K;

  for (int i = run->reading_count - 2; i >= 0 && run->readings[i].t_ms >= run->over_ms; i--)
    if (run->readings[i].temperature_K - last->temperature_K > 2 * pm_K &&
        (double)(last->t_ms - run->readings[i].t_ms) * 1e-3 >= f->unattended.apart_s)
      return i;
  return -1;
}

static double after_s(const struct run_list *list, const struct run *run, int first, bool slow)
{
  const struct facility_unattended *u = &list->facility->unattended;
  const struct run_reading *a = &run->readings[first], *b = &run->readings[run->reading_count - 1];
  double kind = slow ? -1 : 1;

  return matter_cooling_time_s(
      a->temperature_K + kind * u->reading_pm_K, b->temperature_K - kind * u->reading_pm_K,
      (double)(b->t_ms - a->t_ms) * 1e-3, u->cold_K,
      around_K(list->facility, run->station) - kind * u->around_pm_K, slow ? slow_bend : 0);
}

/* Whole steps, away from the middle: no clock of two readings is good to the minute. */
static int64_t in_steps(double span_s, double step_s, double (*rounded)(double))
{
  return llround(rounded(span_s / step_s) * step_s * 1e3);
}

/* NULL, or why there is no clock. */
static const char *make_clock(const struct run_list *list, struct run *run)
{
  enum { LONGEST_S = 60 * 86400 }; /* what is longer than two months is no answer */
  const struct facility *f = list->facility;
  const struct run_reading *last =
      run->reading_count ? &run->readings[run->reading_count - 1] : NULL;
  int first;
  double fast_s, slow_s;

  if (!last || last->t_ms < run->over_ms)
    return "no temperature was read since it was over";
  if (last->temperature_K + f->unattended.reading_pm_K <= f->unattended.cold_K) {
    run->has_clock = true;
    run->clock_from_ms = run->clock_to_ms = last->t_ms;
    return NULL;
  }
  first = reading_before(f, run);
  if (first < 0)
    return "a clock needs two temperatures since it was over that differ by more than a reading is uncertain, and lie as far apart as the suite asks";
  fast_s = after_s(list, run, first, false);
  slow_s = after_s(list, run, first, true);
  if (isnan(fast_s) || isnan(slow_s) || slow_s > LONGEST_S)
    return "the two readings are too near to one another, or `cold below` too near to the room, for an end";
  run->has_clock = true;
  run->clock_from_ms = last->t_ms + in_steps(fmax(0, fast_s), f->unattended.apart_s, floor);
  run->clock_to_ms = last->t_ms + in_steps(fmax(0, slow_s), f->unattended.apart_s, ceil);
  return NULL;
}

static const struct facility_wait *wait_of(const struct facility *f, int station)
{
  const struct facility_wait *longest = NULL;

  for (int i = 0; i < f->unattended.wait_count; i++) {
    const struct facility_wait *w = &f->unattended.waits[i];

    for (int k = 0; k < w->station_count; k++)
      if (w->stations[k] == station && (!longest || w->wait_s > longest->wait_s))
        longest = w;
  }
  return longest;
}

static void say_cooling(struct run *run, const char *no_clock, struct arena *arena)
{
  const struct facility_wait *w = run->wait;

  if (w && w->own_heat)
    run->why = arena_printf(
        arena, "it heats itself, so no clock is made of readings; the wait counts: %s (%s)", w->why,
        w->source);
  else if (w && run->has_clock)
    run->why = arena_printf(
        arena, "the later of both counts: %s, %s (%s)",
        run->wait_ms >= run->clock_to_ms ? "the wait" : "the clock, for the wait ends before",
        w->why, w->source);
  else if (w)
    run->why = arena_printf(arena, "by the wait alone: %s (%s); %s", w->why, w->source, no_clock);
  else if (run->has_clock)
    run->why = "by the clock alone: the house has no wait for this station";
  else
    run->why = arena_printf(arena, "%s, and the house has no wait for this station", no_clock);
}

/* What was read and cannot be so of a thing that cools; NULL: nothing.  The next reading decides. */
static const char *contradicted(const struct run_list *list, const struct run *run)
{
  const struct facility_unattended *u = &list->facility->unattended;
  const struct run_reading *last = run->readings + run->reading_count - 1;

  if (run->reading_count == 0 || last->t_ms < run->over_ms)
    return NULL;
  if (last->temperature_K + u->reading_pm_K <
      around_K(list->facility, run->station) - u->around_pm_K)
    return "it was read colder than its room, which cooling does not do: read again";
  if (run->reading_count > 1 && last[-1].t_ms >= run->over_ms &&
      last->temperature_K - last[-1].temperature_K > 2 * u->reading_pm_K)
    return "it was read warmer than before, and so does not cool, or one of the two is a slip: read again";
  if (run->reading_count > 1 && last[-1].t_ms == last->t_ms &&
      fabs(last->temperature_K - last[-1].temperature_K) > 2 * u->reading_pm_K)
    return "two temperatures were read at the same moment that contradict each other: read again";
  return NULL;
}

/* Only a clock of readings says more than a reading that is hot after the wait of the house. */
static bool outlasts_wait(const struct run_list *list, const struct run *run)
{
  const struct run_reading *last = run->readings + run->reading_count - 1;

  return run->wait && !run->has_clock && run->reading_count > 0 && last->t_ms >= run->wait_ms &&
         last->temperature_K > list->facility->unattended.cold_K;
}

static void judge_over(const struct run_list *list, struct run *run, struct arena *arena)
{
  const char *no_clock = NULL, *against = contradicted(list, run);

  run->wait = wait_of(list->facility, run->station);
  if (run->wait)
    run->wait_ms = run->over_ms + llround(run->wait->wait_s * 1e3);
  if (against) {
    run->phase = RUN_NOT_KNOWN; /* the house's wait was made for what cools */
    run->why = against;
    return;
  }
  if (!run->wait || !run->wait->own_heat)
    no_clock = make_clock(list, run);
  if (outlasts_wait(list, run)) {
    run->phase = RUN_NOT_KNOWN;
    run->why =
        "it was read hot after the wait of the house had ended: when it is cold is not known";
    return;
  }
  if (run->wait)
    run->cold_ms = run->wait_ms;
  if (run->has_clock && (!run->wait || run->clock_to_ms > run->wait_ms))
    run->cold_ms = run->clock_to_ms;
  run->phase = run->cold_ms == INT64_MAX     ? RUN_NOT_KNOWN
               : list->now_ms < run->cold_ms ? RUN_COOLS
                                             : RUN_MAY_BE_COLD;
  say_cooling(run, no_clock, arena);
}

void run_judge(const struct run_list *list, struct run *run, struct arena *arena)
{
  run->cold_ms = INT64_MAX;
  if (run->over_ms != INT64_MIN) {
    judge_over(list, run, arena);
  } else if (list->now_ms > run->until_ms) {
    run->phase = RUN_OVERDUE;
    run->why = "its time has passed, and nobody said that it is over";
  } else {
    run->phase = RUN_RUNS;
    run->why = "as told; nothing here measures it";
  }
}
