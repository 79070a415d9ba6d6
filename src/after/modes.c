/*
 * What is controlled, in pieces: free, as fast as it may, or stopped at a limit.  Within a step each stays
 * in its piece, whose law goes on smoothly beyond its end; where it leaves it the run ends the step
 * (run.c).  So no step has a kink of a controller in it.
 */
#include "after/after_impl.h"

#include <math.h>

static const double same_place = 1e-6;
static const double set_speed_s = 0.5; /* a fan that holds nothing reaches its set speed so */

/* What moves a state, whatever piece it is in: where to, how fast at most, from where to where. */
struct law {
  double wanted_per_s, fastest_per_s, least, most;
  bool starts; /* below its least: it runs up, whatever is asked */
};

static struct law feed_law(const struct after_work *w, int k, const double *y)
{
  const struct facility_after *how = &w->f->after;
  const struct facility_feed *d = after_feed_at(w, k);
  double most = after_feed_most_m3_s(w->f, w->feed_supply[k], w->feed_of[k]);
  double off_Pa = d->hold_Pa * w->feed_ratio[k] - y[w->at.feed_sensor + k];

  return (struct law){.wanted_per_s = w->feed_gain[k] * off_Pa / how->room_control_s,
                      .fastest_per_s = isfinite(most) ? most / how->stroke_s : (double)INFINITY,
                      .least = d->least_m3_s,
                      .most = most};
}

static struct law unit_law(const struct after_work *w, int i)
{
  double up_per_s = 1.0 / after_part_s(&w->f->supplies[i].responds, w->f->after.unit_run_up_s);

  return (struct law){
      .wanted_per_s = up_per_s, .fastest_per_s = INFINITY, .least = 0.0, .most = 1.0};
}

static struct law fan_law(const struct after_work *w, int i, const double *y)
{
  const struct facility_after *how = &w->f->after;
  const struct facility_fan *fan = &w->f->fans[i];
  double now = y[w->at.fan + i], ramp_per_s = 1.0 / after_part_s(&fan->responds, how->fan_run_up_s);
  double off_Pa = fan->hold_Pa * w->hold_ratio[i] - y[w->at.fan_sensor + i];

  if (!fan->holds)
    return (struct law){.wanted_per_s = (fan->speed_ratio - now) / set_speed_s,
                        .fastest_per_s = ramp_per_s,
                        .least = -INFINITY,
                        .most = INFINITY};
  return (struct law){.wanted_per_s = w->fan_gain[i] * off_Pa / how->duct_control_s,
                      .fastest_per_s = ramp_per_s,
                      .least = fan->least_speed_ratio,
                      .most = fan->most_speed_ratio,
                      .starts = true};
}

static struct law law_of(const struct after_work *w, int state, const double *y)
{
  if (state < w->at.feed_sensor)
    return feed_law(w, state - w->at.feed, y);
  return state < w->at.fan ? unit_law(w, state - w->at.unit) : fan_law(w, state - w->at.fan, y);
}

/* Moved by a law of its own now: not dark, not coasting, not a mere lag. */
static bool is_moved(const struct after_work *w, int state)
{
  if (state < w->at.feed_sensor) {
    int feed = state - w->at.feed;

    return !w->dark && w->unit_drive[w->feed_supply[feed]] == AFTER_RUNS &&
           after_feed_at(w, feed)->form == FACILITY_FEED_HOLDS;
  }
  if (state >= w->at.unit && state < w->at.fan)
    return w->unit_drive[state - w->at.unit] == AFTER_RUNS;
  return state >= w->at.fan && state < w->at.fan_sensor &&
         w->fan_drive[state - w->at.fan] == AFTER_RUNS;
}

double after_in_mode(const struct after_work *w, int state, const double *y)
{
  struct law l = law_of(w, state, y);

  switch ((enum after_mode)w->mode[state]) {
  case AFTER_AT_LEAST:
  case AFTER_AT_MOST:
    return 0.0;
  case AFTER_FALLS:
    return -l.fastest_per_s;
  case AFTER_RISES:
    return l.fastest_per_s;
  case AFTER_FREE:
  default:
    return l.wanted_per_s;
  }
}

/* At a limit or beyond it; what was stopped there stays, whatever the last digit says. */
static bool is_there(double y, double limit, bool was, double way)
{
  return way * (y - limit) >= (was ? -same_place * (1.0 + fabs(limit)) : 0.0);
}

enum after_mode after_mode_at(const struct after_work *w, int state, const double *y)
{
  enum after_mode was = (enum after_mode)w->mode[state];
  struct law l;

  if (!is_moved(w, state))
    return AFTER_FREE;
  l = law_of(w, state, y);
  if (l.starts && y[state] < l.least && was != AFTER_AT_LEAST)
    return AFTER_RISES;
  if (l.wanted_per_s > 0.0 && is_there(y[state], l.most, was == AFTER_AT_MOST, 1.0))
    return AFTER_AT_MOST;
  if (l.wanted_per_s < 0.0 && is_there(y[state], l.least, was == AFTER_AT_LEAST, -1.0))
    return AFTER_AT_LEAST;
  return l.wanted_per_s >= l.fastest_per_s    ? AFTER_RISES
         : l.wanted_per_s <= -l.fastest_per_s ? AFTER_FALLS
                                              : AFTER_FREE;
}

bool after_set_modes(struct after_work *w, const double *y)
{
  bool changed = false;

  for (int state = w->at.feed; state < w->at.fast; state++) {
    enum after_mode mode = after_mode_at(w, state, y);

    changed = changed || mode != (enum after_mode)w->mode[state];
    w->mode[state] = (int)mode;
  }
  return changed;
}
