/*
 * Robust least squares with priors.
 *
 * Each step solves the problem that is linear here: what lies inside counts with its square, what lies
 * beyond pulls with one force whatever happens.  Where a step does not lead down it is damped until it does.
 * (Weighing what lies beyond by how far, again and again, comes to the same end in ten times the steps.)
 */
#include "match/match_impl.h"

#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

static const double still_ratio = 1e-4; /* of a standard uncertainty: a step so short ends it */
static const double still_cost = 1e-9;  /* of the sum: what is won is not worth another step */
static const double most_damping = 1e8;

double match_weight(double ratio, double full_ratio)
{
  return fabs(ratio) <= full_ratio ? 1.0 : full_ratio / fabs(ratio);
}

static double cost_of(double ratio, double full_ratio)
{
  double size = fabs(ratio);

  return size <= full_ratio ? 0.5 * size * size : full_ratio * (size - 0.5 * full_ratio);
}

struct work {
  const struct match_least *p;
  struct match_solution *s;
  double *rows, *right, *pull, *step, *trial, *trial_predicted;
};

static double cost(const struct work *w, const double *x, const double *predicted)
{
  const struct match_least *p = w->p;
  double sum = 0.0;

  for (int i = 0; i < p->readings; i++)
    sum += cost_of((p->measured[i] - predicted[i]) / p->own[i], p->full_ratio);
  for (int k = 0; k < p->unknowns; k++)
    sum += p->prior[k] * cost_of(x[k], p->full_ratio);
  return sum;
}

static const double least_curvature = 1e-6; /* of what lies beyond, so that no column is empty */

/* Rows of the readings, and what those beyond pull with. */
static void put_readings(struct work *w, bool weighed)
{
  const struct match_least *p = w->p;
  int n = p->unknowns;

  for (int i = 0; i < p->readings; i++) {
    double left = (p->measured[i] - w->s->predicted[i]) / p->own[i];
    double weight = match_weight(left, p->full_ratio);
    bool beyond = weight < 1.0 && !weighed;
    double root = beyond ? 0.0 : sqrt(weight);

    for (int k = 0; k < n; k++) {
      double slope = w->s->at_bound[k] ? 0.0 : w->s->slope[i * n + k] / p->own[i];

      w->rows[i * n + k] = root * slope;
      w->pull[k] += beyond ? weight * left * slope : 0.0;
    }
    w->right[i] = root * left;
  }
}

/* Those of the unknowns themselves; one at its bound does not move. */
static void put_unknowns(struct work *w, double damping, bool weighed)
{
  const struct match_least *p = w->p;
  int n = p->unknowns;

  for (int k = 0; k < n; k++) {
    double x = w->s->x[k], weight = match_weight(x, p->full_ratio);
    bool held = w->s->at_bound[k], beyond = weight < 1.0 && !weighed;
    double curvature = p->prior[k] * (beyond ? least_curvature : weight);
    double root = sqrt(curvature + damping);

    w->rows[(p->readings + k) * n + k] = held ? 1.0 : root;
    w->right[p->readings + k] =
        held || beyond || !(root > 0.0) ? 0.0 : -p->prior[k] * weight * x / root;
    w->pull[k] -= beyond && !held ? p->prior[k] * weight * x : 0.0;
  }
}

/* `weighed`: what lies beyond counts by how far, as the spread of the end has it. */
static bool solve(struct work *w, double damping, bool weighed)
{
  const struct match_least *p = w->p;
  int n = p->unknowns;

  memset(w->rows, 0, (size_t)(p->readings + n) * (size_t)n * sizeof *w->rows);
  memset(w->pull, 0, (size_t)n * sizeof *w->pull);
  put_readings(w, weighed);
  put_unknowns(w, damping, weighed);
  if (!numeric_least_squares(p->readings + n, n, w->rows, w->right, w->step, w->s->covariance))
    return false;
  for (int k = 0; k < n; k++)
    for (int i = 0; i < n; i++)
      w->step[k] += w->s->covariance[k * n + i] * w->pull[i];
  return true;
}

/* Unknowns at a bound which the sum still pulls beyond it. */
static void find_bounds(struct work *w)
{
  const struct match_least *p = w->p;

  for (int k = 0; k < p->unknowns; k++) {
    double pull = -p->prior[k] * w->s->x[k] * match_weight(w->s->x[k], p->full_ratio);

    for (int i = 0; i < p->readings; i++) {
      double left = (p->measured[i] - w->s->predicted[i]) / p->own[i];

      pull +=
          match_weight(left, p->full_ratio) * left * w->s->slope[i * p->unknowns + k] / p->own[i];
    }
    w->s->at_bound[k] =
        (w->s->x[k] <= p->low[k] && pull < 0.0) || (w->s->x[k] >= p->high[k] && pull > 0.0);
  }
}

/* The longest move of any unknown. */
static double try_step(struct work *w)
{
  const struct match_least *p = w->p;
  double longest = 0.0;

  for (int k = 0; k < p->unknowns; k++) {
    double x = fmin(fmax(w->s->x[k] + w->step[k], p->low[k]), p->high[k]);

    longest = fmax(longest, fabs(x - w->s->x[k]));
    w->trial[k] = x;
  }
  return longest;
}

/* One try with that damping: true where it ends the search for a step, whatever came of it. */
static bool try_damped(struct work *w, double damping, bool *went_on_out)
{
  const struct match_least *p = w->p;
  double trial_cost;

  *went_on_out = false;
  if (!solve(w, damping, false))
    return false;
  if (try_step(w) < still_ratio) {
    w->s->converged = true;
    return true;
  }
  if (!p->predict(p->of, w->trial, w->trial_predicted))
    return false;
  trial_cost = cost(w, w->trial, w->trial_predicted);
  if (trial_cost > w->s->cost)
    return false;
  w->s->converged = w->s->cost - trial_cost <= still_cost * w->s->cost;
  w->s->cost = trial_cost;
  memcpy(w->s->x, w->trial, (size_t)p->unknowns * sizeof *w->trial);
  *went_on_out = !w->s->converged;
  return true;
}

/* One step that leads down, or none; false: the end. */
static bool descend(struct work *w, double *damping)
{
  bool went_on = false;

  while (*damping <= most_damping) {
    if (try_damped(w, *damping, &went_on)) {
      *damping = *damping < 1e-6 ? 0.0 : *damping / 10.0;
      return went_on;
    }
    *damping = fmax(10.0 * *damping, 1e-3);
  }
  w->s->converged = true; /* no step leads down any more */
  return false;
}

static bool make_room(struct work *w, struct arena *arena)
{
  size_t m = (size_t)w->p->readings, n = (size_t)w->p->unknowns;
  struct match_solution *s = w->s;

  s->x = ARENA_ARRAY(arena, double, n + 1);
  s->predicted = ARENA_ARRAY(arena, double, m + 1);
  s->slope = ARENA_ARRAY(arena, double, m *n + 1);
  s->covariance = ARENA_ARRAY(arena, double, n *n + 1);
  s->at_bound = ARENA_ARRAY(arena, bool, n + 1);
  w->rows = ARENA_ARRAY(arena, double, (m + n) * n + 1);
  w->right = ARENA_ARRAY(arena, double, m + n + 1);
  w->pull = ARENA_ARRAY(arena, double, n + 1);
  w->step = ARENA_ARRAY(arena, double, n + 1);
  w->trial = ARENA_ARRAY(arena, double, n + 1);
  w->trial_predicted = ARENA_ARRAY(arena, double, m + 1);
  return s->x && s->predicted && s->slope && s->covariance && s->at_bound && w->rows && w->right &&
         w->pull && w->step && w->trial && w->trial_predicted;
}

struct match_solution *match_least_solve(const struct match_least *least, struct arena *arena)
{
  struct match_solution *s = ARENA_NEW(arena, struct match_solution);
  struct work w = {.p = least, .s = s};
  double damping = 0.0;

  if (!s || !make_room(&w, arena))
    return NULL;
  s->answered = least->slopes(least->of, s->x, s->predicted, s->slope);
  s->cost = s->answered ? cost(&w, s->x, s->predicted) : (double)NAN;
  while (s->answered && s->iterations < least->iterations_most) {
    find_bounds(&w);
    if (!descend(&w, &damping))
      break;
    s->iterations++;
    s->answered = least->slopes(least->of, s->x, s->predicted, s->slope);
  }
  if (s->answered && s->converged && s->iterations > 0)
    s->answered = least->slopes(least->of, s->x, s->predicted, s->slope);
  if (s->answered)
    find_bounds(&w);
  if (s->answered && !solve(&w, 0.0, true))
    s->converged = false;
  return s;
}
