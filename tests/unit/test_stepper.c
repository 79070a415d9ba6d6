/* Things that move in time: closed forms, the order of the method, and turns within a step. */
#include "numeric/numeric.h"

#include "check.h"

#include <math.h>

static void decays(void *of, double t, const double *y, double *slope)
{
  const double *rate = of;

  (void)t;
  slope[0] = -*rate * y[0];
}

/* y'' = -y, and its time as a third state. */
static void swings(void *of, double t, const double *y, double *slope)
{
  (void)of;
  (void)t;
  slope[0] = y[1];
  slope[1] = -y[0];
}

static double run(struct numeric_motion *motion, const double *y, double until,
                  struct numeric_steps *steps)
{
  struct numeric_stepper *s = numeric_stepper_new(motion);
  double out;

  numeric_stepper_start(s, 0.0, y);
  while (numeric_stepper_step(s, until) < until)
    continue;
  out = numeric_stepper_state(s)[0];
  if (steps)
    *steps = numeric_stepper_steps(s);
  numeric_stepper_free(s);
  return out;
}

static void a_decay_ends_where_the_exponential_does(void)
{
  double rate = 0.7, y[1] = {3.0}, least[1] = {1e-12};
  struct numeric_motion m = {1, decays, &rate, least, 1e-9, 1e-9, 10.0};

  CHECK_NEAR(run(&m, y, 5.0, NULL), 3.0 * exp(-3.5), 0, 1e-7);
}

static double swing_error(double step)
{
  double y[2] = {1.0, 0.0}, least[2] = {1e9, 1e9}; /* any error will do: steps of one length */
  struct numeric_motion m = {2, swings, NULL, least, 0.0, step, step};

  return fabs(run(&m, y, 6.4, NULL) - cos(6.4));
}

static void half_the_step_has_an_eighth_of_the_error(void)
{
  double order = log2(swing_error(0.02) / swing_error(0.01));

  CHECK_CASE("order %.3f", order);
  CHECK(order > 2.9 && order < 3.2);
}

static void a_tighter_tolerance_takes_more_steps_and_has_less_error(void)
{
  double y[2] = {1.0, 0.0}, least[2] = {1e-12, 1e-12};
  struct numeric_motion m = {2, swings, NULL, least, 1e-4, 1e-9, 10.0};
  struct numeric_steps coarse, fine;
  double coarse_error = fabs(run(&m, y, 20.0, &coarse) - cos(20.0)), fine_error;

  m.error_ratio = 1e-7;
  fine_error = fabs(run(&m, y, 20.0, &fine) - cos(20.0));
  CHECK(fine.taken > 5 * coarse.taken);
  CHECK(fine_error < 0.01 * coarse_error);
}

static void a_step_is_cut_where_something_turned(void)
{
  double y[2] = {1.0, 0.0}, least[2] = {1e-9, 1e-9}, at[2];
  struct numeric_motion m = {2, swings, NULL, least, 1e-8, 1e-9, 10.0};
  struct numeric_stepper *s = numeric_stepper_new(&m);
  double low, high;

  numeric_stepper_start(s, 0.0, y);
  while (numeric_stepper_step(s, 10.0) < 10.0 && numeric_stepper_state(s)[0] > 0.0)
    continue;
  low = numeric_stepper_before(s);
  high = numeric_stepper_now(s);
  while (high - low > 1e-10) {
    numeric_stepper_at(s, (low + high) / 2, at);
    *(at[0] > 0.0 ? &low : &high) = (low + high) / 2;
  }
  numeric_stepper_cut(s, high);
  CHECK_NEAR(numeric_stepper_now(s), acos(0.0), 0, 1e-6); /* cos turns negative at pi/2 */
  CHECK_NEAR(numeric_stepper_slope(s)[0], -1.0, 0, 1e-6);
  numeric_stepper_free(s);
}

/* Up for a second, then down. */
static void hits_a_wall(void *of, double t, const double *y, double *slope)
{
  (void)of;
  (void)y;
  slope[0] = t < 1.0 ? 1.0 : -1.0;
}

static void a_jump_of_the_slope_costs_a_few_rejected_steps_and_ends(void)
{
  double y[1] = {0.0}, least[1] = {1e-9};
  struct numeric_motion m = {1, hits_a_wall, NULL, least, 1e-9, 1e-6, 10.0};
  struct numeric_steps steps;

  CHECK_NEAR(run(&m, y, 3.0, &steps), -1.0, 0, 1e-5);
  CHECK(steps.rejected > 0 && steps.rejected < 60);
  CHECK(steps.taken < 100);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_decay_ends_where_the_exponential_does);
  RUN(half_the_step_has_an_eighth_of_the_error);
  RUN(a_tighter_tolerance_takes_more_steps_and_has_less_error);
  RUN(a_step_is_cut_where_something_turned);
  RUN(a_jump_of_the_slope_costs_a_few_rejected_steps_and_ends);
  return check_end();
}
