#include "fault/fault_impl.h"

#include "numeric/numeric.h"
#include "units/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/*
 * Which fault leaves the least of the residuals since the change.  The score of a fault is its log
 * likelihood against "nothing is wrong", summed over points and moments: r what is left of the
 * residual, s what the fault says of it, both in standard deviations beyond what the model may be off.
 * Tails are heavy (Student's t), so that no single wild reading decides, and a fault is not expected to
 * be exactly as it was put into the model: a share of s counts as scatter.
 */

_Static_assert((int)FEEDS_FAULT_KINDS == (int)FAULT_KIND_COUNT, "the settings know every kind");

static const struct feeds_ranking *ranking(const struct fault_watch *w)
{
  return &w->model->settings->ranking;
}

/* ---- factors between units people mix up ---- */

enum { FACTORS_MOST = 24 };

static bool unit_si(const char *unit, enum units_dimension dimension, double *out)
{
  struct units_quantity read;
  char text[40];

  snprintf(text, sizeof text, "1 %s", unit);
  if (units_parse(text, dimension, UNITS_NOTHING, &read, NULL) != ERR_OK || !(read.si > 0))
    return false;
  *out = read.si;
  return true;
}

/* By what a reading is off if its source counts in another unit than its point says. */
static int factors_of(const struct feeds_point *p, double *out)
{
  static const char *const units[] = {"m3/h", "L/s", "m3/s", "cfm",   "m/s",  "fpm",
                                      "Pa",   "hPa", "kPa",  "mmH2O", "inH2O"};
  double own = fabs(p->factor / p->said_factor), one;
  int count = 0;

  if (p->what == FEEDS_PRESSURE)
    out[count++] = -1;
  for (size_t i = 0; i < sizeof units / sizeof *units && count + 4 < FACTORS_MOST; i++)
    if (unit_si(units[i], p->dimension, &one) && fabs(own / one - 1) > 1e-6) {
      out[count++] = own / one;
      out[count++] = one / own; /* converted once too often on its way */
    }
  if (p->what == FEEDS_SPEED) { /* Hz of a 50 Hz or 60 Hz drive, taken as per cent */
    out[count++] = 0.5;
    out[count++] = 0.6;
  }
  return count;
}

/* ---- what a candidate says of one cell ---- */

double fault_says(struct fault_watch *w, const struct fault_candidate *k,
                  const struct fault_moment *moment, int channel)
{
  const struct fault_cell *cell = &moment->cells[channel];
  double computed_si = moment->expected->computed_si[channel], by;

  if (k->variant >= 0)
    by = (double)fault_shift(w->model, moment->expected, k->variant)[channel];
  else if (channel != k->channel)
    return 0;
  else if (k->kind == FAULT_STUCK_SENSOR)
    return (double)cell->z;
  else if (k->kind == FAULT_WRONG_UNIT)
    by = (k->factor - 1) * computed_si / fault_scale_si(&w->model->channels[channel], computed_si);
  else
    by = k->factor;
  return fault_soft(k->amplitude * by, (double)cell->u) / (double)cell->sigma;
}

static double cost(const struct feeds_ranking *by, double r)
{
  return (by->tails_count + 1) / 2 * log1p(r * r / by->tails_count);
}

static double says_for(const struct feeds_ranking *by, enum fault_kind kind, double r, double s)
{
  double loose_ratio = kind == FAULT_WRONG_UNIT ? by->loose_unit_ratio : by->loose_ratio;
  double spread = r * s > 0 ? 1 + loose_ratio * loose_ratio * s * s : 1;

  return cost(by, r) - cost(by, (r - s) / sqrt(spread)) - log(spread) / 2;
}

/* Log likelihood of one moment at an amplitude; `says_out`: whether it says anything of it. */
static double at_moment(struct fault_watch *w, const struct fault_candidate *k,
                        const struct fault_case *c, int back, bool *says_out)
{
  const struct fault_moment *moment = fault_kept(w, back);
  const double *removed = c->removed + (size_t)back * (size_t)w->model->channel_count;
  int first = k->variant >= 0 ? 0 : k->channel;
  int last = k->variant >= 0 ? w->model->channel_count - 1 : k->channel;
  double sum = 0;

  for (int j = first; j <= last; j++) {
    double s = moment->cells[j].fresh ? fault_says(w, k, moment, j) : 0;

    if (s == 0)
      continue;
    *says_out = true;
    sum += says_for(ranking(w), k->kind, (double)moment->cells[j].z - removed[j], s);
  }
  return sum;
}

/* ---- scores ---- */

/* A door whose contact reads closed is open only if that errs too. */
static double price_of(const struct fault_watch *w, const struct fault_candidate *k)
{
  double price = ranking(w)->kinds[k->kind].price_ratio;

  for (int i = 0; k->kind == FAULT_DOOR_OPEN && i < w->model->feeds->point_count; i++)
    if (w->model->feeds->points[i].of == FEEDS_OF_DOOR &&
        w->model->feeds->points[i].index == k->index)
      return price + ranking(w)->contact_price_ratio;
  return price;
}

/* Neighbouring readings share what the model is off: more than some do not make surer. */
static double tempered(const struct fault_watch *w, double score, int moments)
{
  return score * fmin(1, ranking(w)->readings_most / fmax(1, moments));
}

/* One that says the same all the time. */
static double steadily(struct fault_watch *w, const struct fault_case *c,
                       const struct fault_candidate *k)
{
  double sum = 0;
  bool says = false;

  for (int back = 0; back < c->moments; back++)
    sum += at_moment(w, k, c, back, &says);
  return says ? sum : -(double)INFINITY;
}

/* How much likelier it is that somebody is there, if the sash is as the fault has it and not as it
 * reads.  Who is there now is there in the next reading too, so each counts but in part. */
static double presence_says(const struct feeds_ranking *by, int there, bool up)
{
  double mostly = by->attended_ratio, weight = by->attended_weight_ratio;

  if (there < 0)
    return 0;
  return ((there > 0) == up ? weight : -weight) * log(mostly / (1 - mostly));
}

static double log_of_sum(double a, double b)
{
  return fmax(a, b) + log1p(exp(-fabs(a - b)));
}

/* One that comes and goes: at each moment the sash is as it reads, or as the fault has it, and mostly as
 * in the moment before.  Summed over all ways to go. */
static double coming_and_going(struct fault_watch *w, const struct fault_case *c,
                               const struct fault_candidate *k)
{
  double stays = ranking(w)->stays_ratio;
  bool up = w->model->variants[k->variant].size_ratio > 0, any = false;
  double as_read = log(0.5), other = log(0.5);

  for (int back = 0; back < c->moments; back++) {
    bool says = false;
    double l = at_moment(w, k, c, back, &says), was = as_read;

    if (!says)
      continue;
    any = true;
    as_read = log_of_sum(as_read + log(stays), other + log(1 - stays));
    other = log_of_sum(other + log(stays), was + log(1 - stays)) + l +
            presence_says(ranking(w), fault_kept(w, back)->present[k->index], up);
  }
  return any ? log_of_sum(as_read, other) : -(double)INFINITY;
}

/* The best amplitude of those it may have. */
static void score(struct fault_watch *w, const struct fault_case *c, struct fault_candidate *k)
{
  enum { TRIED = 12 };
  struct fault_candidate at = *k;
  double least = ranking(w)->kinds[k->kind].least_ratio;
  double most = ranking(w)->kinds[k->kind].most_ratio;

  k->score = -(double)INFINITY;
  for (int i = 0; i <= TRIED; i++) {
    at.amplitude = least * pow(most / least, (double)i / TRIED);
    at.score = k->kind == FAULT_STUCK_SASH ? coming_and_going(w, c, &at) : steadily(w, c, &at);
    if (at.score > k->score)
      *k = at;
  }
  k->score = tempered(w, k->score, c->moments) - price_of(w, k);
}

/* A reading that stands still: what it was off since then, and each repeat as much as repeats are rare. */
static void score_still(struct fault_watch *w, const struct fault_case *c,
                        struct fault_candidate *k)
{
  const struct fault_track *t = &w->tracks[k->channel];
  double sum = 0;
  int count = 0;

  for (int back = 0; back < c->moments && count <= t->still; back++) {
    const struct fault_cell *cell = &fault_kept(w, back)->cells[k->channel];
    size_t at = (size_t)back * (size_t)w->model->channel_count + (size_t)k->channel;
    double left = (double)cell->z - c->removed[at];

    if (!cell->fresh)
      continue;
    count++;
    sum += cost(ranking(w), left) + t->still_sum / fmax(1, t->still);
  }
  k->amplitude = 1;
  k->score = t->still < ranking(w)->repeats_least ? -(double)INFINITY
                                                  : tempered(w, sum, c->moments) - price_of(w, k);
}

/* ---- the list ---- */

static void add(struct fault_watch *w, const struct fault_case *c, struct fault_candidate *list,
                int *count, struct fault_candidate k)
{
  if (k.kind == FAULT_STUCK_SENSOR)
    score_still(w, c, &k);
  else
    score(w, c, &k);
  if (k.score > 0)
    list[(*count)++] = k;
}

/* A fault of a station is asked about where one of its own readings is off, or none is there. */
static bool is_asked(const struct fault_watch *w, const struct fault_case *c,
                     const struct fault_variant *v)
{
  bool of_station = v->kind == FAULT_BLOCKED_SASH || v->kind == FAULT_STUCK_SASH ||
                    v->kind == FAULT_COVERED_DECK || v->kind == FAULT_DRIFTING_VALVE;
  bool has = false, off = false;

  for (int j = 0; of_station && j < w->model->channel_count; j++) {
    const struct feeds_point *p = w->model->channels[j].as;

    if (p->of == FEEDS_OF_STATION && p->index == v->index) {
      has = true;
      off = off || c->off[j];
    }
  }
  return !has || off;
}

static void add_readings(struct fault_watch *w, const struct fault_case *c,
                         struct fault_candidate *list, int *count)
{
  double factors[FACTORS_MOST];

  for (int j = 0; j < w->model->channel_count; j++) {
    const struct fault_channel *channel = &w->model->channels[j];
    struct fault_candidate k = {FAULT_STUCK_SENSOR, -1, j, -1, 1, 0, 0};
    int factor_count = factors_of(channel->as, factors);

    if (!c->off[j])
      continue;
    add(w, c, list, count, k);
    k.kind = FAULT_WRONG_UNIT;
    for (int i = 0; i < factor_count; i++) {
      k.factor = factors[i];
      add(w, c, list, count, k);
    }
    k.kind = FAULT_DRIFTING_SENSOR;
    for (int i = 0; i < 2; i++) {
      k.factor = channel->relative ? ranking(w)->drift_ratio : ranking(w)->drift_Pa;
      k.factor *= i == 0 ? 1 : -1;
      add(w, c, list, count, k);
    }
  }
}

static bool is_likelier(const void *one, const void *other)
{
  const struct fault_candidate *a = one, *b = other;

  return numeric_exceeds(a->score, b->score, 0.0) ||
         (a->kind < b->kind && !numeric_exceeds(b->score, a->score, 0.0));
}

/* Of one kind at one part only the best stays. */
static int without_repeats(struct fault_candidate *list, int count)
{
  int kept = 0;

  for (int i = 0; i < count; i++) {
    bool there = false;

    for (int k = 0; k < kept && !there; k++)
      there = list[k].kind == list[i].kind && list[k].index == list[i].index &&
              list[k].channel == list[i].channel;
    if (!there)
      list[kept++] = list[i];
  }
  return kept;
}

/* What a fault that left nothing of the point that stands out would score; one that leaves more than
 * a share of it, and more than scatter, explains nothing. */
static double whole_score(const struct fault_watch *w, const struct fault_case *c)
{
  double sum = 0;

  for (int back = 0; back < c->moments; back++) {
    size_t at = (size_t)back * (size_t)w->model->channel_count + (size_t)c->channel;
    const struct fault_cell *cell = &fault_kept(w, back)->cells[c->channel];

    sum += cell->fresh ? cost(ranking(w), (double)cell->z - c->removed[at]) : 0;
  }
  return tempered(w, sum, c->moments);
}

static bool is_explained(const struct fault_watch *w, const struct fault_case *c,
                         const struct fault_candidate *best)
{
  const struct feeds_ranking *by = ranking(w);
  double whole = whole_score(w, c), score = best->score + price_of(w, best);

  return score >= by->explains_ratio * whole ||
         whole - score <= by->scatter_cost_ratio * fmin(by->readings_most, c->moments);
}

int fault_rank(struct fault_watch *w, const struct fault_case *c, struct arena *arena,
               struct fault_candidate **out)
{
  size_t most =
      (size_t)w->model->variant_count + (size_t)w->model->channel_count * (FACTORS_MOST + 8) + 1;
  struct fault_candidate *list = ARENA_ARRAY(arena, struct fault_candidate, most);
  int count = 0;

  BUG_IF(!list);
  for (int v = 0; v < w->model->variant_count; v++)
    if (is_asked(w, c, &w->model->variants[v]))
      add(w, c, list, &count,
          (struct fault_candidate){w->model->variants[v].kind, w->model->variants[v].index, -1, v,
                                   1, 0, 0});
  add_readings(w, c, list, &count);
  numeric_sort(list, (size_t)count, sizeof *list, is_likelier);
  *out = list;
  if (count > 0 && !is_explained(w, c, &list[0]))
    return 0; /* like nothing that is known here */
  return without_repeats(list, count);
}

double fault_explains(struct fault_watch *w, const struct fault_case *c,
                      const struct fault_candidate *candidate, int channel)
{
  double sum = 0;
  int count = 0;

  for (int back = 0; back < c->moments; back++) {
    const struct fault_moment *moment = fault_kept(w, back);

    if (!moment->cells[channel].fresh)
      continue;
    sum += fault_says(w, candidate, moment, channel);
    count++;
  }
  return count > 0 ? sum / count : 0;
}
