/*
 * How the slopes of the states answer to the states, for the stepper.  Roughly is enough, as long as all
 * that is stiff is in it: lags by themselves, controllers with their sensors through the air, and what is
 * carried from room to room.  What only leads (a valve, a fan that holds nothing) is not followed into the
 * air: that costs no accuracy (numeric/numeric.h).
 */
#include "after/after_impl.h"

#include <math.h>
#include <string.h>

static const double nudge_ratio = 1e-4, least_nudge = 1e-5; /* m3/s, or speed */
static const double nudge_Pa = 0.01;
static const double nudge_of_lag = 1e-3; /* a lag is linear: any will do */

static int coupled(const struct after_work *w)
{
  return w->at.fast - w->at.feed;
}

int after_blocks(const struct after_work *w, int *block_out)
{
  int n = 0, rooms = w->f->room_count;

  for (int i = 0; i < w->f->station_count; i++)
    block_out[n++] = 1;
  block_out[n++] = coupled(w);
  if (w->has_particles)
    block_out[n++] = rooms;
  if (w->has_gas)
    block_out[n++] = rooms + 1; /* with what has left: so nothing is lost on the way */
  return n;
}

/* Only a state that answers to a pressure makes a loop through the air. */
static bool closes_a_loop(const struct after_work *w, int state)
{
  int feed = state - w->at.feed, fan = state - w->at.fan;

  if (w->dark)
    return false;
  if (state < w->at.feed_sensor)
    return after_feed_at(w, feed)->form == FACILITY_FEED_HOLDS &&
           w->unit_drive[w->feed_supply[feed]] == AFTER_RUNS;
  return state >= w->at.fan && state < w->at.fan_sensor && w->f->fans[fan].holds &&
         w->fan_drive[fan] == AFTER_RUNS;
}

static double nudge_of(const struct after_work *w, int state, double now)
{
  bool is_sensor = (state >= w->at.feed_sensor && state < w->at.unit) || state >= w->at.fan_sensor;

  return is_sensor ? nudge_Pa : fmax(least_nudge, nudge_ratio * fabs(now));
}

/* One column; the air is what was solved last. */
static void take_column(struct after_work *w, int state, double by, const double *slope,
                        double *out)
{
  int n = coupled(w), first = w->at.feed;

  after_move_plant(w, w->moved, w->answer);
  for (int row = 0; row < n; row++)
    out[row * n + state - first] = (w->answer[first + row] - slope[first + row]) / by;
}

static void couple(struct after_work *w, double t_s, const double *y, const double *slope,
                   double *out)
{
  bool solved = true;

  for (int pass = 0; pass < 2; pass++) { /* loops through the air first: they leave it elsewhere */
    for (int state = w->at.feed; state < w->at.fast; state++) {
      double by = nudge_of(w, state, y[state]);

      if (closes_a_loop(w, state) != (pass == 0))
        continue;
      w->moved[state] = y[state] + by;
      if (pass == 0)
        solved = after_solve_at(w, t_s, w->moved) && solved;
      take_column(w, state, by, slope, out);
      w->moved[state] = y[state];
    }
    if (pass == 0)
      (void)after_solve_at(w, t_s, y);
  }
  if (!solved) /* no air to answer */
    memset(out, 0, (size_t)coupled(w) * (size_t)coupled(w) * sizeof *out);
}

static void lag(struct after_work *w, const double *y, const double *slope, double *out)
{
  for (int i = w->at.station; i < w->at.feed; i++)
    w->moved[i] = y[i] + nudge_of_lag;
  after_move_plant(w, w->moved, w->answer);
  for (int i = w->at.station; i < w->at.feed; i++) {
    out[i - w->at.station] = (w->answer[i] - slope[i]) / nudge_of_lag;
    w->moved[i] = y[i];
  }
}

void after_carry_jacobian(struct after_work *w, bool filtered, bool with_out, double *out)
{
  int rooms = w->f->room_count, n = rooms + with_out;
  double *one = w->moved, *column = w->answer;

  memset(one, 0, (size_t)n * sizeof *one);
  memset(out, 0, (size_t)n * (size_t)n * sizeof *out);
  for (int c = 0; c < rooms; c++) {
    one[c] = 1.0;
    after_carry(w, one, 0.0, filtered, column, with_out ? column + rooms : NULL);
    one[c] = 0.0;
    for (int r = 0; r < n; r++)
      out[r * n + c] = column[r];
  }
}

void after_jacobian(void *of, double t_s, const double *y, const double *slope, double *out)
{
  struct after_work *w = of;
  size_t rooms = (size_t)w->f->room_count;
  size_t lags = (size_t)w->f->station_count, block = (size_t)coupled(w) * (size_t)coupled(w);

  memset(out, 0, (lags + block) * sizeof *out);
  if (!w->resting) {
    memcpy(w->moved, y, (size_t)w->at.count * sizeof *y);
    couple(w, t_s, y, slope, out + lags);
    lag(w, y, slope, out);
  }
  out += lags + block;
  if (w->has_particles) {
    after_carry_jacobian(w, true, false, out);
    out += rooms * rooms;
  }
  if (w->has_gas)
    after_carry_jacobian(w, false, true, out);
}
