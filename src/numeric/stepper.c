#include "numeric/numeric.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * The pair of orders 3 and 2 by P. Bogacki and L. F. Shampine, "A 3(2) pair of Runge-Kutta formulas",
 * Appl. Math. Lett. 2 (1989): four slopes a step, of which the last is the next step's first.
 */
struct numeric_stepper {
  struct numeric_motion motion;
  double t, before_t, step, last_tried; /* step: what is tried next */
  double *y, *before_y, *slope, *before_slope, *k2, *k3, *trial, *end;
  struct numeric_steps steps;
};

static double *take(struct numeric_stepper *s)
{
  return calloc((size_t)s->motion.count + 1, sizeof(double));
}

struct numeric_stepper *numeric_stepper_new(const struct numeric_motion *motion)
{
  struct numeric_stepper *s = calloc(1, sizeof *s);

  if (!s)
    err_no_memory();
  s->motion = *motion;
  s->y = take(s);
  s->before_y = take(s);
  s->slope = take(s);
  s->before_slope = take(s);
  s->k2 = take(s);
  s->k3 = take(s);
  s->trial = take(s);
  s->end = take(s);
  if (!s->y || !s->before_y || !s->slope || !s->before_slope || !s->k2 || !s->k3 || !s->trial ||
      !s->end)
    err_no_memory();
  return s;
}

void numeric_stepper_free(struct numeric_stepper *s)
{
  if (!s)
    return;
  free(s->y);
  free(s->before_y);
  free(s->slope);
  free(s->before_slope);
  free(s->k2);
  free(s->k3);
  free(s->trial);
  free(s->end);
  free(s);
}

static void slope_at(struct numeric_stepper *s, double t, const double *y, double *out)
{
  s->steps.slopes++;
  s->motion.slope(s->motion.of, t, y, out);
}

static double scaled(const struct numeric_motion *m, int i, double value, double y)
{
  return value / (m->least_error[i] + m->error_ratio * fabs(y));
}

void numeric_stepper_start(struct numeric_stepper *s, double t, const double *y)
{
  double fastest = 0.0;

  s->t = s->before_t = t;
  memcpy(s->y, y, (size_t)s->motion.count * sizeof *y);
  memcpy(s->before_y, y, (size_t)s->motion.count * sizeof *y);
  slope_at(s, t, s->y, s->slope);
  memcpy(s->before_slope, s->slope, (size_t)s->motion.count * sizeof *y);
  for (int i = 0; i < s->motion.count; i++)
    fastest = fmax(fastest, fabs(scaled(&s->motion, i, s->slope[i], y[i])));
  s->step = fastest > 0.0 ? fmin(s->motion.most_step, 1.0 / fastest) : s->motion.most_step;
  s->step = fmax(s->step, s->motion.least_step);
}

/* One step of length h into trial and its slope `end`; returns its error in units of what is allowed. */
static double attempt(struct numeric_stepper *s, double h)
{
  int n = s->motion.count;
  double worst = 0.0;

  for (int i = 0; i < n; i++)
    s->trial[i] = s->y[i] + h / 2 * s->slope[i];
  slope_at(s, s->t + h / 2, s->trial, s->k2);
  for (int i = 0; i < n; i++)
    s->trial[i] = s->y[i] + 3 * h / 4 * s->k2[i];
  slope_at(s, s->t + 3 * h / 4, s->trial, s->k3);
  for (int i = 0; i < n; i++)
    s->trial[i] = s->y[i] + h / 9 * (2 * s->slope[i] + 3 * s->k2[i] + 4 * s->k3[i]);
  slope_at(s, s->t + h, s->trial, s->end);
  for (int i = 0; i < n; i++) {
    double error = h * (-5 * s->slope[i] + 6 * s->k2[i] + 8 * s->k3[i] - 9 * s->end[i]) / 72;

    worst = fmax(worst, fabs(scaled(&s->motion, i, error, fmax(fabs(s->y[i]), fabs(s->trial[i])))));
  }
  return worst;
}

static void swap(double **a, double **b)
{
  double *c = *a;

  *a = *b;
  *b = c;
}

double numeric_stepper_step(struct numeric_stepper *s, double until)
{
  const double safety = 0.9, shrink_most = 0.2, grow_most = 5.0;
  double h, error;

  for (;;) {
    double left = until - s->t;

    h = fmin(s->step, left);
    if (left - h < 0.1 * h) /* no crumb at the end */
      h = left;
    error = attempt(s, h);
    if (error <= 1.0 || h <= s->motion.least_step)
      break;
    s->steps.rejected++;
    s->step = fmax(s->motion.least_step, h * fmax(shrink_most, safety / cbrt(error)));
  }
  s->steps.taken++;
  s->steps.at_least += error > 1.0;
  if (h >= s->step ||
      error > 1.0) /* a step cut short by `until` says nothing against the last one */
    s->step = h * fmin(grow_most, fmax(shrink_most, safety / cbrt(fmax(error, 1e-12))));
  s->step = fmin(s->motion.most_step, fmax(s->motion.least_step, s->step));
  swap(&s->before_y, &s->y);
  swap(&s->y, &s->trial);
  swap(&s->before_slope, &s->slope);
  swap(&s->slope, &s->end);
  s->before_t = s->t;
  s->t = until - (s->t + h) < 1e-12 * fmax(1.0, fabs(until)) ? until : s->t + h;
  return s->t;
}

void numeric_stepper_at(const struct numeric_stepper *s, double t, double *y_out)
{
  double h = s->t - s->before_t, x = h > 0.0 ? (t - s->before_t) / h : 1.0;
  double h00 = (1 + 2 * x) * (1 - x) * (1 - x), h10 = x * (1 - x) * (1 - x),
         h01 = x * x * (3 - 2 * x), h11 = x * x * (x - 1);

  for (int i = 0; i < s->motion.count; i++)
    y_out[i] =
        h00 * s->before_y[i] + h10 * h * s->before_slope[i] + h01 * s->y[i] + h11 * h * s->slope[i];
}

void numeric_stepper_cut(struct numeric_stepper *s, double t)
{
  numeric_stepper_at(s, t, s->trial);
  swap(&s->y, &s->trial);
  s->step = fmax(s->motion.least_step, fmin(s->step, t - s->before_t));
  s->t = t;
  slope_at(s, t, s->y, s->slope);
}

double numeric_stepper_now(const struct numeric_stepper *s)
{
  return s->t;
}

double numeric_stepper_before(const struct numeric_stepper *s)
{
  return s->before_t;
}

double *numeric_stepper_state(struct numeric_stepper *s)
{
  return s->y;
}

const double *numeric_stepper_slope(const struct numeric_stepper *s)
{
  return s->slope;
}

void numeric_stepper_limit(struct numeric_stepper *s, double most_step)
{
  s->motion.most_step = most_step;
  s->step = fmin(s->step, most_step);
}

void numeric_stepper_refresh(struct numeric_stepper *s)
{
  slope_at(s, s->t, s->y, s->slope);
}

struct numeric_steps numeric_stepper_steps(const struct numeric_stepper *s)
{
  return s->steps;
}
