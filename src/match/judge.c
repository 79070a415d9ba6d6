/* What the fit makes known, and whether the model matches. */
#include "match/match_impl.h"

#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

static const double touched_ratio = 0.97; /* of its ±, all others known: no reading tells of it */
static const double better_ratio = 0.9;
static const double shared_least = 0.05; /* of a variance: what another figure explains of it */
static const double worth_ratio = 0.5;   /* of its ±: a shift that is told in the sentence */

struct judging {
  struct match_result *result;
  const struct match_model *model;
  const struct match_solution *first, *end;
  struct arena *arena;
};

static const struct match_reading *reading(const struct judging *j, int i)
{
  return &j->result->readings->list[i];
}

/* ---- readings against the file as it is ---- */

/* Their covariance where every figure and instrument may be off by its ±, and each scatters. */
static double *spread_of_readings(const struct judging *j)
{
  int m = j->result->readings->count, n = j->model->count;
  double *out = ARENA_ARRAY(j->arena, double, (size_t)m *(size_t)m + 1);

  for (int a = 0; out && a < m; a++)
    for (int b = 0; b <= a; b++) {
      double sum = a == b ? reading(j, a)->own_si * reading(j, a)->own_si : 0.0;

      for (int k = 0; k < n; k++)
        sum += j->first->slope[a * n + k] * j->first->slope[b * n + k];
      out[a * m + b] = out[b * m + a] = sum;
    }
  return out;
}

/* Wilson and Hilferty, Proceedings of the National Academy of Sciences 17, 1931. */
static double chi_squared(double below_ratio, int count)
{
  double part = 2.0 / (9.0 * count), z = walk_coverage_factor_ratio(2.0 * below_ratio - 1.0, 1);

  return count * pow(1.0 - part + z * sqrt(part), 3.0);
}

static void rows_before(struct judging *j, const double *spread, double factor)
{
  int m = j->result->readings->count;

  for (int i = 0; i < m; i++) {
    struct match_row *row = &j->result->rows[i];
    double own = sqrt(spread[i * m + i]);

    row->written_si = j->first->predicted[i];
    row->written_pm_si = 2.0 * own;
    row->before_ratio = (reading(j, i)->measured_si - row->written_si) / own;
    row->outside = !(fabs(row->before_ratio) <= factor); /* no number: not inside */
    row->against = -1;
    j->result->outside += row->outside;
  }
}

double match_coverage_factor_ratio(const struct facility *f, int count)
{
  return walk_coverage_factor_ratio(sqrt(f->walk.covers_ratio), count);
}

static bool before(struct judging *j)
{
  int m = j->result->readings->count;
  double *spread = spread_of_readings(j), rcond,
         each = sqrt(j->result->facility->walk.covers_ratio);
  double *left = ARENA_ARRAY(j->arena, double, (size_t)m + 1);

  if (!spread || !left)
    return false;
  j->result->coverage_factor_ratio = match_coverage_factor_ratio(j->result->facility, m);
  rows_before(j, spread, j->result->coverage_factor_ratio);
  for (int i = 0; i < m; i++)
    left[i] = reading(j, i)->measured_si - j->first->predicted[i];
  j->result->misfit_most_ratio = m > 0 ? chi_squared(each, m) : 0.0;
  if (!numeric_dense_solve(m, spread, left, &rcond))
    j->result->misfit_ratio = (double)INFINITY; /* who cannot be compared does not match */
  else
    for (int i = 0; i < m; i++)
      j->result->misfit_ratio += left[i] * (reading(j, i)->measured_si - j->first->predicted[i]);
  return true;
}

/* ---- readings after the fit, and against each other ---- */

static void rows_after(struct judging *j)
{
  const struct facility_match *settings = &j->result->facility->match;

  for (int i = 0; i < j->result->readings->count; i++) {
    struct match_row *row = &j->result->rows[i];

    row->fitted_si = j->end->predicted[i];
    row->after_ratio = (reading(j, i)->measured_si - row->fitted_si) / reading(j, i)->own_si;
    row->weight_ratio = match_weight(row->after_ratio, settings->full_ratio);
    row->outlier = fabs(row->after_ratio) > settings->named_ratio;
    j->result->outliers += row->outlier;
  }
}

static double lasting_si(const struct judging *j, int i)
{
  const struct match_reading *r = reading(j, i);
  const struct match_instrument *by;

  if (r->instrument < 0)
    return 0.0;
  by = &j->result->readings->instruments[r->instrument];
  return hypot(by->zero_si, by->slope_ratio * r->measured_si);
}

static void find_contradictions(struct judging *j)
{
  for (int a = 0; a < j->result->readings->count; a++)
    for (int b = 0; b < a; b++) {
      const struct match_reading *x = reading(j, a), *y = reading(j, b);
      bool same = x->quantity.what == y->quantity.what && x->quantity.index == y->quantity.index &&
                  x->quantity.over == y->quantity.over && x->scene == y->scene;
      double own = hypot(x->own_si, y->own_si);

      if (x->instrument != y->instrument)
        own = hypot(own, hypot(lasting_si(j, a), lasting_si(j, b)));
      if (!same ||
          fabs(x->measured_si - y->measured_si) <= j->result->facility->match.named_ratio * own)
        continue;
      j->result->rows[a].against = b;
      j->result->rows[b].against = a;
      j->result->contradictions++;
    }
}

/* ---- figures ---- */

static const char *name_of(const struct judging *j, const struct match_unknown *u)
{
  const struct facility *f = j->result->facility;
  const char *out;

  if (u->of == MATCH_OF_FIGURE)
    out = arena_printf(j->arena, "%s %s, %s", f->inputs[u->index].kind, f->inputs[u->index].part,
                       f->inputs[u->index].key);
  else if (u->of == MATCH_OF_EXPONENT)
    out = arena_printf(j->arena, "leak %s, exponent", f->leaks[u->index].part.id);
  else
    out = arena_printf(j->arena, "%s, %s", j->result->readings->instruments[u->index].name,
                       u->of == MATCH_OF_ZERO ? "its zero" : "its slope");
  return out ? out : "";
}

/* The value as written, and its ±. */
static void put_written(const struct judging *j, const struct match_unknown *u,
                        struct match_figure *out)
{
  const struct facility *f = j->result->facility;
  const struct match_instrument *by = &j->result->readings->instruments[u->index];

  out->dimension = UNITS_RATIO;
  switch (u->of) {
  case MATCH_OF_FIGURE:
    out->dimension = f->inputs[u->index].dimension;
    out->written_si = f->inputs[u->index].value_si;
    out->was_pm_si = f->inputs[u->index].plus_minus_si;
    break;
  case MATCH_OF_EXPONENT:
    out->written_si = f->leaks[u->index].law.n;
    out->was_pm_si = f->match.exponent_ratio;
    break;
  case MATCH_OF_ZERO:
    out->dimension = walk_dimension(by->gauge);
    out->was_pm_si = 2.0 * by->zero_si;
    break;
  case MATCH_OF_SLOPE:
    out->was_pm_si = 2.0 * by->slope_ratio;
    break;
  }
}

/* What all readings say of it, were all others known: the diagonal of the curvature. */
static double alone_ratio(const struct judging *j, int k)
{
  int n = j->model->count;
  double sum = 1.0;

  for (int i = 0; i < j->result->readings->count; i++) {
    double slope = j->end->slope[i * n + k] / reading(j, i)->own_si;

    sum += j->result->rows[i].weight_ratio * slope * slope;
  }
  return 1.0 / sqrt(sum);
}

static double shared_ratio(const struct judging *j, int k, int other)
{
  const double *c = j->end->covariance;
  int n = j->model->count;

  return c[k * n + other] * c[k * n + other] / (c[k * n + k] * c[other * n + other]);
}

static void find_with(const struct judging *j, int k, struct match_figure *out)
{
  while (out->with_count < MATCH_WITH_MAX) {
    int best = -1;

    for (int i = 0; i < j->model->count; i++) {
      bool taken = i == k;

      for (int w = 0; w < out->with_count; w++)
        taken = taken || out->with[w] == i;
      if (!taken && shared_ratio(j, k, i) > shared_least &&
          (best < 0 || numeric_exceeds(shared_ratio(j, k, i), shared_ratio(j, k, best), 0.0)))
        best = i;
    }
    if (best < 0)
      return;
    out->with[out->with_count++] = best;
  }
}

static enum match_known known_of(const struct judging *j, const struct match_figure *f)
{
  double known = j->result->facility->match.known_ratio;

  if (f->alone_ratio > touched_ratio)
    return MATCH_NOT;
  if (f->left_ratio <= known)
    return MATCH_KNOWN;
  if (f->alone_ratio <= known && f->with_count > 0)
    return MATCH_TOGETHER;
  return f->left_ratio <= better_ratio ? MATCH_BETTER : MATCH_NOT;
}

static void one_figure(const struct judging *j, int k)
{
  const struct match_unknown *u = &j->model->unknowns[k];
  struct match_figure *f = &j->result->figures[k];
  double half = 0.5;

  *f = (struct match_figure){.of = u->of, .index = u->index, .name = name_of(j, u)};
  put_written(j, u, f);
  f->shift_ratio = half * j->end->x[k];
  f->fitted_si = f->written_si + f->shift_ratio * f->was_pm_si;
  f->left_ratio = sqrt(j->end->covariance[k * j->model->count + k]);
  f->pm_si = f->left_ratio * f->was_pm_si;
  f->alone_ratio = alone_ratio(j, k);
  f->at_bound = j->end->at_bound[k];
  f->beyond = fabs(f->shift_ratio) > 1.0;
  find_with(j, k, f);
  f->known = f->at_bound ? MATCH_NOT : known_of(j, f);
  j->result->known_count += f->known == MATCH_KNOWN || f->known == MATCH_BETTER;
}

static bool figures(struct judging *j)
{
  const struct facility *f = j->result->facility;
  int n = j->model->count;
  double *shift = ARENA_ARRAY(j->arena, double, (size_t)f->input_count + 1);
  double *exponent = ARENA_ARRAY(j->arena, double, (size_t)f->leak_count + 1);

  j->result->figures = ARENA_ARRAY(j->arena, struct match_figure, (size_t)n + 1);
  if (!shift || !exponent || !j->result->figures)
    return false;
  j->result->figure_count = n;
  for (int i = 0; i < f->leak_count; i++)
    exponent[i] = f->leaks[i].law.n;
  for (int k = 0; k < n; k++) {
    one_figure(j, k);
    if (j->model->unknowns[k].of == MATCH_OF_FIGURE)
      shift[j->model->unknowns[k].index] = j->result->figures[k].shift_ratio;
    else if (j->model->unknowns[k].of == MATCH_OF_EXPONENT)
      exponent[j->model->unknowns[k].index] = j->result->figures[k].fitted_si;
  }
  j->result->shift_ratio = shift;
  j->result->exponent_ratio = exponent;
  j->result->pivot_Pa = j->model->pivot_Pa;
  j->result->spread_ratio = j->end->covariance;
  return true;
}

/* ---- the verdict ---- */

static enum match_verdict verdict(const struct match_result *r)
{
  bool together = !(r->misfit_ratio <= r->misfit_most_ratio);

  if (r->readings->count == 0)
    return MATCH_TOO_FEW;
  if (r->contradictions > 0)
    return MATCH_CONTRADICTS;
  if (r->outside > 0 || together)
    return r->outliers > 0 ? MATCH_UNEXPLAINED : MATCH_DIFFERS;
  if (r->readings->count < r->facility->match.least_count)
    return MATCH_TOO_FEW;
  return r->known_count == 0 ? MATCH_TOO_FEW : MATCH_MATCHES;
}

int match_most_moved(const struct match_result *r)
{
  int best = -1;

  for (int k = 0; k < r->figure_count; k++) {
    const struct match_figure *f = &r->figures[k];

    if (fabs(f->shift_ratio) >= worth_ratio && f->known != MATCH_NOT &&
        (best < 0 ||
         numeric_exceeds(fabs(f->shift_ratio), fabs(r->figures[best].shift_ratio), 0.0)))
      best = k;
  }
  return best;
}

static const char *sentence(const struct judging *j)
{
  const struct match_result *r = j->result;
  int count = r->readings->count, best = match_most_moved(r);
  const char *looks = "";

  if (best >= 0)
    looks = arena_printf(j->arena, " Most of it looks like %s.", r->figures[best].name);
  switch (r->verdict) {
  case MATCH_MATCHES:
    return arena_printf(j->arena, "all of %d readings lie inside the file's own ±.", count);
  case MATCH_DIFFERS:
    if (r->outside == 0)
      return arena_printf(j->arena,
                          "each of %d readings lies inside the file's ±, all of them together do "
                          "not. Other figures explain them.%s",
                          count, looks);
    return arena_printf(j->arena,
                        "outside the file's own ±: %d of %d readings. Other figures explain "
                        "them.%s",
                        r->outside, count, looks);
  case MATCH_UNEXPLAINED:
    return arena_printf(j->arena,
                        "outside the file's own ±: %d of %d readings; explained by no change of "
                        "its figures: %d.%s",
                        r->outside, count, r->outliers, looks);
  case MATCH_CONTRADICTS:
    return arena_printf(j->arena, "pairs of readings of one thing that exclude each other: %d.",
                        r->contradictions);
  case MATCH_TOO_FEW:
    if (count < r->facility->match.least_count)
      return arena_printf(j->arena,
                          "readings: %d, where a match is told from %d on (match: least); none of "
                          "them lies outside the file's own ±.",
                          count, r->facility->match.least_count);
    break;
  }
  return arena_printf(j->arena, "readings: %d; figures of the file known better for them: none.",
                      count);
}

bool match_judge(struct match_result *result, const struct match_model *model,
                 const struct match_solution *first, const struct match_solution *end,
                 struct arena *arena)
{
  struct judging j = {result, model, first, end, arena};

  result->rows = ARENA_ARRAY(arena, struct match_row, (size_t)result->readings->count + 1);
  if (!result->rows || !before(&j))
    return false;
  rows_after(&j);
  find_contradictions(&j);
  if (!figures(&j))
    return false;
  result->converged = end->converged;
  result->iterations = end->iterations;
  result->other_suite = result->readings->suite_sha256[0] &&
                        strcmp(result->readings->suite_sha256, result->facility->sha256) != 0;
  result->verdict = verdict(result);
  result->sentence = sentence(&j);
  return result->sentence != NULL;
}
