#include "numeric/numeric.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * ROS34PW2 of J. Rang and L. Angermann, "New Rosenbrock W-methods of order 3 for partial differential
 * algebraic equations of index 1", BIT 45 (2005): four stages, order 3 with any matrix in the Jacobian's
 * place, error of order 2, stiffly accurate.  Written as in E. Hairer and G. Wanner, "Solving ordinary
 * differential equations II" (2nd ed. 1996), IV.7: u = gamma k spares the products with the matrix.
 */
enum { STAGES = 4 };

static const double diagonal = 0.43586652150845900;
static const double alpha[STAGES][STAGES] = {
    {0}, {0.87173304301691801}, {0.84457060015369423, -0.11299064236484185}, {0.0, 0.0, 1.0}};
static const double gamma_of[STAGES][STAGES] = {
    {0.43586652150845900},
    {-0.87173304301691801, 0.43586652150845900},
    {-0.90338057013044082, 0.054180672388095326, 0.43586652150845900},
    {0.24212380706095346, -1.2232505839045147, 0.54526025533510214, 0.43586652150845900}};
static const double weight[STAGES] = {0.24212380706095346, -1.2232505839045147, 1.5452602553351020,
                                      0.43586652150845900};
static const double weight_of_2[STAGES] = {0.37810903145819369, -0.096042292212423178, 0.5,
                                           0.21793326075422950};

/* The same in terms of u: what is added to the state, to the right-hand side (over h), and at the end. */
struct tableau {
  double time[STAGES], state[STAGES][STAGES], side[STAGES][STAGES], end[STAGES], error[STAGES];
};

struct numeric_stepper {
  struct numeric_motion motion;
  struct tableau tableau;
  double t, before_t, step; /* step: what is tried next */
  double *y, *before_y, *slope, *before_slope, *trial, *end, *u[STAGES];
  double *jacobian, *factors; /* block after block, each by rows */
  int *swaps;
  size_t entries;
  int age;            /* steps since the Jacobian was found; -1: it must be found */
  double factored_at; /* step length of the factors; 0: none */
  struct numeric_steps steps;
};

static void times_inverse(const double *row, double inverse[STAGES][STAGES], double *out)
{
  for (int j = 0; j < STAGES; j++)
    for (int k = j; k < STAGES; k++)
      out[j] += row[k] * inverse[k][j];
}

static void make_tableau(struct tableau *t)
{
  double inverse[STAGES][STAGES] = {{0}}, difference[STAGES];

  memset(t, 0, sizeof *t);
  for (int j = 0; j < STAGES; j++) /* of a lower triangle */
    for (int i = j; i < STAGES; i++) {
      double sum = i == j;

      for (int k = j; k < i; k++)
        sum -= gamma_of[i][k] * inverse[k][j];
      inverse[i][j] = sum / gamma_of[i][i];
    }
  for (int i = 0; i < STAGES; i++) {
    for (int j = 0; j < i; j++) {
      t->time[i] += alpha[i][j];
      t->side[i][j] = -inverse[i][j];
    }
    times_inverse(alpha[i], inverse, t->state[i]);
    difference[i] = weight[i] - weight_of_2[i];
  }
  times_inverse(weight, inverse, t->end);
  times_inverse(difference, inverse, t->error);
}

/* ---- made and ended ---- */

static double *take(size_t count)
{
  double *p = calloc(count + 1, sizeof(double));

  if (!p)
    err_no_memory();
  return p;
}

static size_t entries_of(const struct numeric_motion *m)
{
  size_t entries = 0;
  int states = 0;

  for (int b = 0; b < m->block_count; b++) {
    entries += (size_t)m->blocks[b] * (size_t)m->blocks[b];
    states += m->blocks[b];
  }
  BUG_IF(m->jacobian && states != m->count);
  return entries;
}

struct numeric_stepper *numeric_stepper_new(const struct numeric_motion *motion)
{
  struct numeric_stepper *s = calloc(1, sizeof *s);
  size_t n = (size_t)motion->count;

  if (!s)
    err_no_memory();
  s->motion = *motion;
  make_tableau(&s->tableau);
  s->entries = entries_of(motion);
  s->y = take(n);
  s->before_y = take(n);
  s->slope = take(n);
  s->before_slope = take(n);
  s->trial = take(n);
  s->end = take(n);
  for (int i = 0; i < STAGES; i++)
    s->u[i] = take(n);
  s->jacobian = take(s->entries);
  s->factors = take(s->entries);
  s->swaps = calloc(n + 1, sizeof *s->swaps);
  if (!s->swaps)
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
  free(s->trial);
  free(s->end);
  for (int i = 0; i < STAGES; i++)
    free(s->u[i]);
  free(s->jacobian);
  free(s->factors);
  free(s->swaps);
  free(s);
}

/* ---- the matrix 1/(gamma h) - J, block by block ---- */

static void find_jacobian(struct numeric_stepper *s)
{
  if (!s->motion.jacobian || (s->age >= 0 && s->age < s->motion.jacobian_lasts))
    return;
  s->motion.jacobian(s->motion.of, s->t, s->y, s->slope, s->jacobian);
  s->steps.jacobians++;
  s->age = 0;
  s->factored_at = 0.0;
}

static void factor(struct numeric_stepper *s, double h)
{
  const struct numeric_motion *m = &s->motion;
  double shift = 1.0 / (diagonal * h), *a = s->factors;
  int *swaps = s->swaps;

  if (!m->jacobian || s->factored_at == h)
    return;
  for (size_t i = 0; i < s->entries; i++)
    a[i] = -s->jacobian[i];
  for (int b = 0; b < m->block_count; b++) {
    int n = m->blocks[b];

    for (int i = 0; i < n; i++)
      a[i * n + i] += shift;
    numeric_dense_factor(n, a, swaps);
    a += n * n;
    swaps += n;
  }
  s->factored_at = h;
}

static void solve(const struct numeric_stepper *s, double h, double *b)
{
  const struct numeric_motion *m = &s->motion;
  const double *a = s->factors;
  const int *swaps = s->swaps;

  for (int i = 0; i < m->count && !m->jacobian; i++)
    b[i] *= diagonal * h;
  for (int k = 0; k < m->block_count && m->jacobian; k++) {
    int n = m->blocks[k];

    if (n == 1)
      *b /= *a;
    else
      numeric_dense_back(n, a, swaps, b);
    a += n * n;
    swaps += n;
    b += n;
  }
}

/* ---- a step ---- */

static void slope_at(struct numeric_stepper *s, double t, const double *y, double *out)
{
  s->steps.slopes++;
  s->motion.slope(s->motion.of, t, y, out);
}

static double furthest(const struct numeric_motion *m, const double *value, const double *y)
{
  double most = 0.0;

  for (int i = 0; i < m->count; i++)
    most = fmax(most, fabs(value[i]) / (m->least_error[i] + m->error_ratio * fabs(y[i])));
  return most;
}

/*
 * The next shorter length of a coarse scale, eight to the octave.  A step as long as its error says would
 * carry the last bits of the slopes from step to step and enlarge them, until the third digit of an answer
 * hangs on them; and the factors serve for all steps of one length.
 */
static double on_scale(double step)
{
  int octave;
  double share = frexp(step, &octave);

  return step > 0.0 ? ldexp(floor(16.0 * share) / 16.0, octave) : step;
}

/*
 * E. Hairer, S. P. Norsett and G. Wanner, "Solving ordinary differential equations I" (2nd ed. 1993),
 * II.4: from the slope and how it changes over a first small step.
 */
static double first_step(struct numeric_stepper *s)
{
  const struct numeric_motion *m = &s->motion;
  double size = furthest(m, s->y, s->y), speed = furthest(m, s->slope, s->y), bend, h;

  h = fmax(m->least_step, speed > 0.0 ? 0.01 * size / speed : 0.0);
  h = fmin(h, m->most_step);
  for (int i = 0; i < m->count; i++)
    s->trial[i] = s->y[i] + h * s->slope[i];
  slope_at(s, s->t + h, s->trial, s->end);
  for (int i = 0; i < m->count; i++)
    s->end[i] = (s->end[i] - s->slope[i]) / h;
  bend = fmax(speed, furthest(m, s->end, s->y));
  h = bend > 0.0 ? fmin(100 * h, cbrt(0.01 / bend)) : m->most_step;
  return fmin(m->most_step, fmax(m->least_step, on_scale(h)));
}

void numeric_stepper_start(struct numeric_stepper *s, double t, const double *y)
{
  size_t size = (size_t)s->motion.count * sizeof *y;

  s->t = s->before_t = t;
  memmove(s->y, y, size);
  memcpy(s->before_y, s->y, size);
  slope_at(s, t, s->y, s->slope);
  s->age = -1;
  s->step = first_step(s);
  slope_at(s, t, s->y, s->slope); /* what the slope leaves behind is of the start again */
  memcpy(s->before_slope, s->slope, size);
}

/* Adds to out the sum of factors times u, of the stages before this one. */
static void add_stages(const struct numeric_stepper *s, const double *factors, int stages,
                       double *out)
{
  for (int j = 0; j < stages; j++)
    if (factors[j] != 0.0)
      for (int i = 0; i < s->motion.count; i++)
        out[i] += factors[j] * s->u[j][i];
}

/* One step of length h into trial; returns its error in units of what is allowed. */
static double attempt(struct numeric_stepper *s, double h)
{
  const struct tableau *t = &s->tableau;
  size_t n = (size_t)s->motion.count, size = n * sizeof(double);
  double side[STAGES], worst = 0.0;

  find_jacobian(s);
  factor(s, h);
  for (int i = 0; i < STAGES; i++) {
    memcpy(s->u[i], s->slope, size);
    if (i > 0) {
      memcpy(s->trial, s->y, size);
      add_stages(s, t->state[i], i, s->trial);
      slope_at(s, s->t + t->time[i] * h, s->trial, s->u[i]);
    }
    for (int j = 0; j < i; j++)
      side[j] = t->side[i][j] / h;
    add_stages(s, side, i, s->u[i]);
    solve(s, h, s->u[i]);
  }
  memcpy(s->trial, s->y, size);
  add_stages(s, t->end, STAGES, s->trial);
  memset(s->end, 0, size);
  add_stages(s, t->error, STAGES, s->end);
  for (size_t i = 0; i < n; i++) {
    double y = fmax(fabs(s->y[i]), fabs(s->trial[i]));

    worst = fmax(worst, fabs(s->end[i]) / (s->motion.least_error[i] + s->motion.error_ratio * y));
  }
  return isfinite(worst) ? worst : 1e12;
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
    if (s->age > 0) /* it may be to blame */
      s->age = -1;
    s->step = fmax(s->motion.least_step, on_scale(h * fmax(shrink_most, safety / cbrt(error))));
  }
  s->steps.taken++;
  s->steps.at_least += error > 1.0;
  if (h >= s->step ||
      error > 1.0) /* a step cut short by `until` says nothing against the last one */
    s->step = on_scale(h * fmin(grow_most, fmax(shrink_most, safety / cbrt(fmax(error, 1e-12)))));
  s->step = fmin(s->motion.most_step, fmax(s->motion.least_step, s->step));
  s->before_t = s->t;
  s->t = until - (s->t + h) < 1e-12 * fmax(1.0, fabs(until)) ? until : s->t + h;
  s->age += s->age >= 0;
  swap(&s->before_y, &s->y);
  swap(&s->y, &s->trial);
  swap(&s->before_slope, &s->slope);
  slope_at(s, s->t, s->y, s->slope);
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
  s->step = fmax(s->motion.least_step, fmin(s->step, s->t - s->before_t));
  s->t = t;
  s->age = -1;
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
  s->age = -1;
  slope_at(s, s->t, s->y, s->slope);
}

struct numeric_steps numeric_stepper_steps(const struct numeric_stepper *s)
{
  return s->steps;
}
