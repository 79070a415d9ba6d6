/*
 * Which readings tell most in the time there is.
 *
 * Before the walk every figure of the suite may be off by its ±; that spreads the
 * readings: K = S S', S the effects.  The reading taken next is the one whose
 * remaining spread is largest against its own uncertainty; taking it takes away
 * what the others share with it (one step of a Cholesky factor).  This is the
 * greedy design for a linear model with normal errors.
 */
#include "walk/plan_impl.h"

#include <math.h>
#include <stdlib.h>

static const double enough_ratio =
    1.0; /* spread below this share of its own ±: tells nothing new */

struct choosing {
  const struct walk_planning *p;
  int count;
  double *shared_si; /* count x count */
  double time_s;
};

static double own_si(const struct walk_reading *r)
{
  return hypot(r->band.instrument_si, r->band.setting_si);
}

static void spread(struct choosing *c, int inputs, const double *effect_si)
{
  for (int f = 0; f < inputs; f++) {
    const double *row = effect_si + (size_t)f * (size_t)c->count;

    for (int i = 0; i < c->count; i++) {
      double share = row[i] / own_si(&c->p->candidates[i]);

      for (int k = 0; k < c->count && share != 0.0; k++)
        c->shared_si[i * c->count + k] += share * row[k] / own_si(&c->p->candidates[k]);
    }
  }
}

static void take(struct choosing *c, int i, bool *taken)
{
  double scale = 1.0 / (c->shared_si[i * c->count + i] + 1.0);
  double *column = calloc((size_t)c->count, sizeof *column);

  if (!column)
    err_no_memory();
  for (int k = 0; k < c->count; k++)
    column[k] = c->shared_si[k * c->count + i];
  for (int a = 0; a < c->count; a++)
    for (int b = 0; b < c->count; b++)
      c->shared_si[a * c->count + b] -= column[a] * column[b] * scale;
  free(column);
  taken[i] = true;
  c->time_s += c->p->f->walk.per_reading_s;
}

static int best(const struct choosing *c, const bool *taken)
{
  int best = -1;
  double most = enough_ratio * enough_ratio;

  for (int i = 0; i < c->count; i++)
    if (!taken[i] && c->shared_si[i * c->count + i] > most) {
      most = c->shared_si[i * c->count + i];
      best = i;
    }
  return best;
}

void walk_choose_readings(const struct walk_planning *p, int inputs, const double *effect_si,
                          bool *taken)
{
  struct choosing c = {
      .p = p, .count = p->candidate_count, .time_s = p->step_count * p->f->walk.per_step_s};
  int chosen = 0;

  c.shared_si = calloc((size_t)c.count * (size_t)c.count + 1, sizeof *c.shared_si);
  if (!c.shared_si)
    err_no_memory();
  spread(&c, inputs, effect_si);
  for (int i = 0; i < c.count && chosen < WALK_READINGS_MAX; i++)
    if (p->must[i]) {
      take(&c, i, taken);
      chosen++;
    }
  while (chosen < WALK_READINGS_MAX &&
         c.time_s + p->f->walk.per_reading_s <= p->f->walk.at_most_s) {
    int i = best(&c, taken);

    if (i < 0)
      break;
    take(&c, i, taken);
    chosen++;
  }
  free(c.shared_si);
}
