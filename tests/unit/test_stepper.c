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
  struct numeric_motion m = {1, decays, &rate, least, 1e-9, 1e-9, 10.0, NULL, 0, 0, NULL};

  CHECK_NEAR(run(&m, y, 5.0, NULL), 3.0 * exp(-3.5), 0, 1e-7);
}

static double swing_error(double step)
{
  double y[2] = {1.0, 0.0}, least[2] = {1e9, 1e9}; /* any error will do: steps of one length */
  struct numeric_motion m = {2, swings, NULL, least, 0.0, step, step, NULL, 0, 0, NULL};

  return fabs(run(&m, y, 6.4, NULL) - cos(6.4));
}

/* Half of the Jacobian, and that of the wrong sign: what a W-method must bear. */
static void swings_roughly(void *of, double t, const double *y, const double *slope, double *out)
{
  (void)of;
  (void)t;
  (void)y;
  (void)slope;
  out[0] = 0.3;
  out[1] = -0.4;
  out[2] = 0.0;
  out[3] = -0.5;
}

static double rough_swing_error(double step)
{
  double y[2] = {1.0, 0.0}, least[2] = {1e9, 1e9};
  int blocks[1] = {2};
  struct numeric_motion m = {2, swings, NULL, least, 0.0, step, step, swings_roughly, 1, 1, blocks};

  return fabs(run(&m, y, 6.4, NULL) - cos(6.4));
}

static void a_wrong_jacobian_costs_no_order(void)
{
  double order = log2(rough_swing_error(0.02) / rough_swing_error(0.01));

  CHECK_CASE("order %.3f", order);
  CHECK(order > 2.9 && order < 3.2);
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
  struct numeric_motion m = {2, swings, NULL, least, 1e-4, 1e-9, 10.0, NULL, 0, 0, NULL};
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
  struct numeric_motion m = {2, swings, NULL, least, 1e-8, 1e-9, 10.0, NULL, 0, 0, NULL};
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
  struct numeric_motion m = {1, hits_a_wall, NULL, least, 1e-9, 1e-6, 10.0, NULL, 0, 0, NULL};
  struct numeric_steps steps;

  CHECK_NEAR(run(&m, y, 3.0, &steps), -1.0, 0, 1e-5);
  CHECK(steps.rejected > 0 && steps.rejected < 60);
  CHECK(steps.taken < 100);
}

/*
 * H. H. Robertson's three reactions, E. Hairer and G. Wanner, "Solving ordinary differential equations II"
 * (2nd ed. 1996), IV.1 (1.4).  The values at 40 and 4e5 are those of the LSODE demonstration: A. C.
 * Hindmarsh, "ODEPACK", in Scientific Computing (1983); from t 0.4 on its step is 1e5 times what an
 * explicit method could take.
 */
static void react(void *of, double t, const double *y, double *slope)
{
  (void)of;
  (void)t;
  slope[0] = -0.04 * y[0] + 1e4 * y[1] * y[2];
  slope[2] = 3e7 * y[1] * y[1];
  slope[1] = -slope[0] - slope[2];
}

static void react_jacobian(void *of, double t, const double *y, const double *slope, double *out)
{
  double j[9] = {-0.04, 1e4 * y[2], 1e4 * y[1], 0, 0, 0, 0, 6e7 * y[1], 0};

  (void)of;
  (void)t;
  (void)slope;
  for (int i = 0; i < 3; i++)
    j[3 + i] = -j[i] - j[6 + i];
  for (int i = 0; i < 9; i++)
    out[i] = j[i];
}

static void robertsons_reactions_end_where_they_are_published(void)
{
  double y[3] = {1.0, 0.0, 0.0}, least[3] = {1e-9, 1e-13, 1e-9};
  int blocks[1] = {3};
  struct numeric_motion m = {3, react, NULL, least, 1e-6, 1e-12, 1e9, react_jacobian, 1, 1, blocks};
  struct numeric_stepper *s = numeric_stepper_new(&m);
  const double *now;

  numeric_stepper_start(s, 0.0, y);
  while (numeric_stepper_step(s, 40.0) < 40.0)
    continue;
  now = numeric_stepper_state(s);
  CHECK_NEAR(now[0], 7.158e-01, 0, 5e-5);
  CHECK_NEAR(now[1], 9.185e-06, 0, 1e-9);
  CHECK_NEAR(now[2], 2.842e-01, 0, 5e-5);
  while (numeric_stepper_step(s, 4e5) < 4e5)
    continue;
  now = numeric_stepper_state(s);
  CHECK_NEAR(now[0], 4.940e-03, 0, 2e-5);
  CHECK_NEAR(now[1], 1.985e-08, 0, 1e-10);
  CHECK_NEAR(now[0] + now[1] + now[2], 1.0, 0, 1e-12); /* nothing is lost */
  CHECK_CASE("%ld steps, %ld tried again", numeric_stepper_steps(s).taken,
             numeric_stepper_steps(s).rejected);
  CHECK(numeric_stepper_steps(s).taken < 1000);
  numeric_stepper_free(s);
}

/* Van der Pol with eps = 1e-6, Hairer and Wanner II, IV.10 (10.1-10.2), and the value at t = 2 there and in
 * the Test Set for IVP Solvers (F. Mazzia and C. Magherini, Bari, release 2.4, 2008), vdpol. */
static void flip(void *of, double t, const double *y, double *slope)
{
  const double *eps = of;

  (void)t;
  slope[0] = y[1];
  slope[1] = ((1 - y[0] * y[0]) * y[1] - y[0]) / *eps;
}

static void flip_jacobian(void *of, double t, const double *y, const double *slope, double *out)
{
  const double *eps = of;

  (void)t;
  (void)slope;
  out[0] = 0.0;
  out[1] = 1.0;
  out[2] = (-2 * y[0] * y[1] - 1) / *eps;
  out[3] = (1 - y[0] * y[0]) / *eps;
}

static double flip_error(double tolerance, struct numeric_steps *steps)
{
  double eps = 1e-6, y[2] = {2.0, -0.66}, least[2] = {tolerance, tolerance};
  int blocks[1] = {2};
  struct numeric_motion m = {2,   flip,          &eps, least, tolerance, 1e-14,
                             1.0, flip_jacobian, 1,    1,     blocks};

  return fabs(run(&m, y, 2.0, steps) - 0.1706167732170483e1);
}

static void van_der_pols_oscillator_is_where_the_test_set_has_it(void)
{
  struct numeric_steps coarse, fine;
  double coarse_error = flip_error(1e-5, &coarse), fine_error = flip_error(1e-8, &fine);

  CHECK_CASE("error %.2e in %ld steps, %.2e in %ld", coarse_error, coarse.taken, fine_error,
             fine.taken);
  CHECK_NEAR(coarse_error, 0.0, 0, 1e-3);
  CHECK_NEAR(fine_error, 0.0, 0, 1e-6);
  CHECK(coarse.taken < 3000 && fine.taken < 30000); /* an explicit method takes millions */
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_decay_ends_where_the_exponential_does);
  RUN(half_the_step_has_an_eighth_of_the_error);
  RUN(a_wrong_jacobian_costs_no_order);
  RUN(a_tighter_tolerance_takes_more_steps_and_has_less_error);
  RUN(a_step_is_cut_where_something_turned);
  RUN(a_jump_of_the_slope_costs_a_few_rejected_steps_and_ends);
  RUN(robertsons_reactions_end_where_they_are_published);
  RUN(van_der_pols_oscillator_is_where_the_test_set_has_it);
  return check_end();
}
