/*
 * Which figure of the suite file, or which instrument, would explain the misses.
 *
 * Every figure alone is moved and the walk solved again; the one whose predictions
 * come nearest the readings, each in its own standard uncertainty, leads.  First
 * roughly (a few moves each), then the best of them on a finer scale.  A move of
 * many ± costs a little.
 */
#include "walk/walk_impl.h"

#include <math.h>
#include <stdlib.h>

enum { FINALISTS = 10, ROUGH = 4, OTHERS_MAX = 16, HALVINGS = 4 };

/* In ± of the figure. */
static const double rough_ratio[ROUGH] = {1.0, -1.0, -3.0, -10.0};
static const double fine_ratio[] = {-16, -12, -8,  -6, -5,  -4, -3, -2.5, -2, -1.5, -1, -0.5,
                                    0.5, 1,   1.5, 2,  2.5, 3,  4,  5,    6,  8,    12, 16};

struct candidate {
  int input; /* -1: an instrument or a hand */
  const char *other, *look;
  double by_ratio;                 /* in ± of the figure */
  double misfit_ratio, cost_ratio; /* the second with the price of moving so far */
  int explains;
};

struct searching {
  const struct walk_result *result;
  struct arena *arena;
  double start_ratio; /* the misfit as it is */
  int count, room;
  struct facility_moved *moved;
  struct candidate *list;
};

/* The squared misfit of what was read, when the predictions move by `shift_si`. */
static double misfit(const struct walk_result *result, const double *shift_si, int *explains_out)
{
  const struct walk_plan *plan = result->plan;
  double sum = 0.0;
  int explains = 0;

  for (int i = 0; i < plan->reading_count; i++) {
    const struct walk_reading *r = &plan->readings[i];
    double left_si, own_si = walk_standard_si(&r->band);

    if (result->rows[i].verdict == WALK_NOT_READ)
      continue;
    left_si = result->rows[i].difference_si - (shift_si ? shift_si[i] : 0.0);
    if (!isfinite(left_si))
      return INFINITY;
    sum += left_si * left_si / (own_si * own_si);
    if (result->rows[i].verdict == WALK_OUTSIDE && fabs(left_si) <= r->band.half_si)
      explains++;
  }
  if (explains_out)
    *explains_out = explains;
  return sum;
}

/* What is written is more likely slightly than wildly wrong, but a figure that causes a miss is a
 * blunder rather than a draw from its own ±: heavy tails, as of Student's t with three degrees of
 * freedom (minus twice the logarithm of its density). */
static double price(double by_ratio)
{
  return 4.0 * log1p(by_ratio * by_ratio / 3.0);
}

static void offer(struct candidate *c, double by_ratio, double misfit_ratio, int explains)
{
  double cost_ratio = misfit_ratio + price(by_ratio);

  if (cost_ratio >= c->cost_ratio)
    return;
  c->by_ratio = by_ratio;
  c->misfit_ratio = misfit_ratio;
  c->cost_ratio = cost_ratio;
  c->explains = explains;
}

/* A flow, an area or a drop of less than nothing explains nothing. */
static bool can_be(const struct facility_input *in, double by_ratio)
{
  bool signed_figure =
      in->figure == FACILITY_FIGURE_PRESSURE || in->figure == FACILITY_FIGURE_OFFSET;

  return signed_figure || in->value_si + by_ratio * in->plus_minus_si > 0.0;
}

static void try_move(struct searching *s, struct candidate *c, double by_ratio, double *shift_si)
{
  const struct walk_plan *plan = s->result->plan;
  int explains = 0;

  if (!can_be(&plan->facility->inputs[c->input], by_ratio)) {
    for (int i = 0; i < plan->reading_count; i++)
      shift_si[i] = 0.0;
    return;
  }

  facility_move(s->moved, c->input, by_ratio);
  walk_values(facility_moved_as(s->moved), plan->steps, plan->step_count, plan->readings, shift_si);
  facility_move(s->moved, c->input, 0.0);
  for (int i = 0; i < plan->reading_count; i++)
    shift_si[i] -= plan->readings[i].predicted_si;
  double left_ratio = misfit(s->result, shift_si, &explains);

  offer(c, by_ratio, left_ratio, explains);
}

/* How far along a known shift the readings lie, and how long it is, in uncertainties. */
static void project(const struct walk_result *result, const double *shift_si, double *along_out,
                    double *size_out)
{
  *along_out = *size_out = 0.0;
  for (int i = 0; i < result->plan->reading_count; i++) {
    double own_si = walk_standard_si(&result->plan->readings[i].band);

    if (result->rows[i].verdict == WALK_NOT_READ || !isfinite(shift_si[i]))
      continue;
    *along_out += shift_si[i] * result->rows[i].difference_si / (own_si * own_si);
    *size_out += shift_si[i] * shift_si[i] / (own_si * own_si);
  }
}

/* The best share of that shift: close by, effects are nearly straight lines. */
static void try_line(struct searching *s, struct candidate *c, const double *shift_si,
                     double by_ratio)
{
  double along = 0.0, size = 0.0, share;

  project(s->result, shift_si, &along, &size);
  if (along <= 0.0 || size <= 0.0)
    return;
  share = along / size;
  offer(c, by_ratio * share, s->start_ratio - along * share, 0);
}

static void roughly(struct searching *s, double *shift_si)
{
  for (int k = 0; k < s->result->plan->input_count; k++) {
    struct candidate *c = &s->list[s->count++];

    *c = (struct candidate){.input = k, .cost_ratio = s->start_ratio};
    for (int n = 0; n < ROUGH; n++) {
      try_move(s, c, rough_ratio[n], shift_si);
      try_line(s, c, shift_si, rough_ratio[n]);
    }
  }
}

static int by_cost(const void *a, const void *b)
{
  const struct candidate *x = a, *y = b;

  if (x->cost_ratio != y->cost_ratio)
    return x->cost_ratio < y->cost_ratio ? -1 : 1;
  return x->input - y->input;
}

static void finely(struct searching *s, double *shift_si)
{
  qsort(s->list, (size_t)s->count, sizeof *s->list, by_cost);
  if (s->count > FINALISTS)
    s->count = FINALISTS;
  for (int k = 0; k < s->count; k++) {
    struct candidate *c = &s->list[k];

    c->cost_ratio = INFINITY;
    for (size_t n = 0; n < sizeof fine_ratio / sizeof fine_ratio[0]; n++)
      try_move(s, c, fine_ratio[n], shift_si);
    double step_ratio = 0.25;

    for (int n = 0; n < HALVINGS; n++) {
      double from_ratio = c->by_ratio;

      try_move(s, c, from_ratio - step_ratio, shift_si);
      try_move(s, c, from_ratio + step_ratio, shift_si);
      step_ratio /= 2;
    }
  }
}

/* ---- the instruments, and the hand ---- */

static const struct instrument {
  enum facility_gauge_of of;
  bool zero; /* else: it reads all in proportion too much or too little */
  const char *name, *look;
} instruments[] = {
    {FACILITY_GAUGE_ROOM, true, "the manometer's zero",
     "set the manometer to zero with both ports open, and read again"},
    {FACILITY_GAUGE_ROOM, false, "the manometer's calibration",
     "its calibration date; compare it with another"},
    {FACILITY_GAUGE_FACE, false, "the anemometer's calibration",
     "its calibration date, and how it was moved over the opening"},
};

/* `shift_si` says how the readings go together; it is stretched to fit. */
static void try_other(struct searching *s, const char *name, const char *look, double *shift_si)
{
  struct candidate c = {.input = -1, .cost_ratio = INFINITY, .other = name, .look = look};
  double along = 0.0, size = 0.0;
  int explains = 0;

  project(s->result, shift_si, &along, &size);
  if (size <= 0.0 || s->count == s->room)
    return;
  for (int i = 0; i < s->result->plan->reading_count; i++)
    shift_si[i] *= along / size;
  double left_ratio = misfit(s->result, shift_si, &explains);

  offer(&c, 2.0, left_ratio, explains); /* as far off as a figure by two of its ± */
  s->list[s->count++] = c;
}

/* All readings of one instrument are off alike; one reading alone cannot show that. */
static void try_instrument(struct searching *s, const struct instrument *row, double *shift_si)
{
  const struct walk_plan *plan = s->result->plan;
  int read = 0;

  for (int i = 0; i < plan->reading_count; i++) {
    const struct walk_reading *r = &plan->readings[i];

    shift_si[i] = r->quantity.of != row->of ? 0.0 : row->zero ? 1.0 : r->predicted_si;
    read += shift_si[i] != 0.0 && s->result->rows[i].verdict != WALK_NOT_READ;
  }
  if (read >= 2)
    try_other(s, row->name, row->look, shift_si);
}

static bool is_face_of(const struct walk_reading *r, int station)
{
  return r->quantity.of == FACILITY_GAUGE_FACE && r->quantity.index == station;
}

/* One station's face alone: its sash did not stand where it should, or the width is wrong. */
static void try_sash(struct searching *s, int station, double *shift_si)
{
  const struct walk_result *result = s->result;
  const struct facility_station *of = &result->plan->facility->stations[station];
  bool missed = false;

  for (int i = 0; i < result->plan->reading_count; i++) {
    const struct walk_reading *r = &result->plan->readings[i];

    shift_si[i] = is_face_of(r, station) ? r->predicted_si : 0.0;
    missed |= is_face_of(r, station) && result->rows[i].verdict == WALK_OUTSIDE;
  }
  if (missed && of->flow != FACILITY_FOLLOWS_OPENING) /* there the velocity does not hang on it */
    try_other(
        s,
        walk_say(s->arena, "the height of the sash of %s, or its width in the file", of->part.id),
        "measure the free height and width of the opening as it stood", shift_si);
}

/* ---- the answer ---- */

const char *walk_input_name(const struct facility *facility, int input, struct arena *arena)
{
  const struct facility_input *in = &facility->inputs[input];

  return walk_say(arena, "%s %s, %s", in->kind, in->part, in->key);
}

static struct walk_cause cause_of(const struct searching *s, const struct candidate *c)
{
  const struct facility *f = s->result->plan->facility;
  const struct facility_input *in = c->input < 0 ? NULL : &f->inputs[c->input];

  return (struct walk_cause){.figure = in ? walk_input_name(f, c->input, s->arena) : c->other,
                             .input = c->input,
                             .value_si =
                                 in ? in->value_si + c->by_ratio * in->plus_minus_si : (double)NAN,
                             .explains = c->explains,
                             .left_ratio = c->misfit_ratio / s->start_ratio,
                             .look = in ? in->find : c->look};
}

/* Those that explain nearly as well as the best are named beside it: the readings cannot tell
 * them apart. */
static void answer(const struct searching *s, struct walk_result *result)
{
  const double nearly_ratio = 8.0; /* e^(8/2): fifty times less likely is left out ... */
  const double rough_share = 0.25; /* ... and more where even the best leaves much */
  const double worth_ratio = 0.5;  /* takes half of the misfit away, or brings something inside */
  double most_ratio =
      s->count > 0 ? s->list[0].cost_ratio + nearly_ratio + rough_share * s->list[0].misfit_ratio
                   : 0.0;

  for (int k = 0; k < s->count && result->cause_count < WALK_CAUSES_MAX; k++) {
    const struct candidate *c = &s->list[k];

    if ((c->explains == 0 && c->misfit_ratio > worth_ratio * s->start_ratio) ||
        c->cost_ratio > most_ratio)
      continue;
    result->causes[result->cause_count++] = cause_of(s, c);
  }
  result->unexplained = true;
  for (int k = 0; k < result->cause_count; k++)
    if (result->causes[k].explains == result->outside)
      result->unexplained = false;
}

void walk_find_causes(struct walk_result *result, struct arena *arena)
{
  const struct walk_plan *plan = result->plan;
  int room = plan->input_count + FINALISTS + OTHERS_MAX;
  struct searching s = {.result = result,
                        .arena = arena,
                        .start_ratio = misfit(result, NULL, NULL),
                        .room = room,
                        .list = ARENA_ARRAY(arena, struct candidate, (size_t)room),
                        .moved = facility_moved_new(plan->facility, arena)};
  double *shift_si = ARENA_ARRAY(arena, double, (size_t)plan->reading_count + 1);

  if (!s.list || !shift_si)
    return;
  roughly(&s, shift_si);
  finely(&s, shift_si);
  for (size_t i = 0; i < sizeof instruments / sizeof instruments[0]; i++)
    try_instrument(&s, &instruments[i], shift_si);
  for (int i = 0; i < plan->facility->station_count; i++)
    try_sash(&s, i, shift_si);
  qsort(s.list, (size_t)s.count, sizeof *s.list, by_cost);
  answer(&s, result);
}
