#include "fault/fault_impl.h"

#include <math.h>
#include <stdlib.h>

/* Residuals: from a judged moment to the sums of every point. */

enum {
  NOISE_PAIRS = 30, /* neighbours before the measured scatter counts */
  STILL_LEAST = 20, /* readings before repeats mean something */
};

double fault_soft(double e, double u)
{
  return copysign(fmax(0, fabs(e) - u), e);
}

struct fault_watch *fault_watch_new(struct fault_model *m)
{
  struct fault_watch *w = calloc(1, sizeof *w);
  const struct feeds_faults *s = m->settings;
  double steps = s->false_alarm_s / s->step_s;

  if (!w)
    err_no_memory();
  w->model = m;
  arena_init(&w->arena, SIZE_MAX); /* bounded by the facility and FAULT_KEPT */
  arena_init(&w->scene_arena, SIZE_MAX);
  w->tracks = ARENA_ARRAY(&w->arena, struct fault_track, (size_t)m->channel_count + 1);
  BUG_IF(!w->tracks);
  for (int c = 0; c < m->channel_count; c++)
    w->tracks[c].figures = fault_figures_new(m->facility->input_count, &w->arena);
  for (int i = 0; i < FAULT_KEPT; i++) {
    w->kept[i].cells = ARENA_ARRAY(&w->arena, struct fault_cell, (size_t)m->channel_count + 1);
    w->kept[i].present = ARENA_ARRAY(&w->arena, short, (size_t)m->facility->station_count + 1);
    BUG_IF(!w->kept[i].cells || !w->kept[i].present);
  }
  w->allowance_ratio = s->shift_ratio / 2;
  /* Half of the false alarms for either test; each point has its own share. */
  steps *= 2.0 * (m->channel_count > 0 ? m->channel_count : 1);
  w->limit_ratio = fault_limit_ratio(w->allowance_ratio, steps);
  w->still_limit_ratio = log(steps);
  fault_forget(w);
  return w;
}

/* The scene that is judged now stays in the model, as those of the moments kept do. */
static void hold_scene(struct fault_watch *w, struct fault_expected *e)
{
  if (w->scene_now)
    w->scene_now->refs--;
  if (e)
    e->refs++;
  w->scene_now = e;
}

static void let_go(struct fault_moment *moment)
{
  if (moment->expected)
    moment->expected->refs--;
  moment->expected = NULL;
}

void fault_watch_free(struct fault_watch *w)
{
  if (!w)
    return;
  for (int i = 0; i < FAULT_KEPT; i++)
    let_go(&w->kept[i]);
  hold_scene(w, NULL);
  arena_release(&w->scene_arena);
  arena_release(&w->arena);
  free(w);
}

void fault_forget(struct fault_watch *w)
{
  for (int i = 0; i < FAULT_KEPT; i++)
    let_go(&w->kept[i]);
  for (int c = 0; c < w->model->channel_count; c++) {
    struct fault_figures figures = w->tracks[c].figures;

    fault_figures_forget(&figures, w->model->facility->input_count);
    w->tracks[c] =
        (struct fault_track){.figures = figures, .first_ms = INT64_MIN, .taken_ms = INT64_MIN};
  }
  w->kept_count = w->kept_first = 0;
  hold_scene(w, NULL);
  w->has_scene = false;
  w->last_ms = INT64_MIN;
  w->peak_ratio = 0;
}

const struct fault_moment *fault_kept(const struct fault_watch *w, int back)
{
  return &w->kept[(w->kept_first + w->kept_count - 1 - back) % FAULT_KEPT];
}

static struct fault_moment *next_moment(struct fault_watch *w)
{
  if (w->kept_count < FAULT_KEPT)
    w->kept_count++;
  else
    w->kept_first = (w->kept_first + 1) % FAULT_KEPT;

  struct fault_moment *moment = &w->kept[(w->kept_first + w->kept_count - 1) % FAULT_KEPT];

  let_go(moment);
  return moment;
}

/* ---- one reading ---- */

static int bin_of(const struct fault_channel *c, const struct scene *scene)
{
  return c->as->of == FEEDS_OF_STATION && scene->stations[c->as->index].raised ? 1 : 0;
}

/* The lasting difference as learnt so far, and what the model may still be off: three deviations of
 * what the figures leave open in this scene (among a hundred figures five are outside their ±). */
static double lasting(struct fault_watch *w, int channel, const struct fault_expected *e,
                      double scale, double *left_out)
{
  int figures = w->model->facility->input_count;
  double sash = e->sash_pm_si[channel] / scale / 2, variance;
  double said = fault_figures_say(&w->tracks[channel].figures, figures,
                                  e->slope + (size_t)channel * (size_t)figures, &variance);

  *left_out = fmax(3 * sqrt(variance + sash * sash),
                   w->model->settings->floor_ratio * e->pm_si[channel] / scale);
  return said;
}

static void learn_figures(struct fault_watch *w, int channel, const struct fault_expected *e,
                          double residual, double sigma)
{
  int figures = w->model->facility->input_count;

  fault_figures_learn(&w->tracks[channel].figures, e->slope + (size_t)channel * (size_t)figures,
                      residual, sigma);
}

/* The scatter of neighbours in one scene, where it is more than the settings say. */
static double scatter_ratio(const struct fault_track *t)
{
  return t->pair_count < NOISE_PAIRS ? 1 : fmax(1, sqrt(t->pair_sum / (2.0 * t->pair_count)));
}

static void learn_scatter(struct fault_track *t, const struct fault_expected *e, double residual,
                          double sigma)
{
  if (t->last_scene == e) {
    double by = (residual - t->last_e) / sigma;

    t->pair_sum += by * by;
    t->pair_count++;
  }
}

/* What one more repeat says; 0: not known yet. */
static double repeat_says(const struct fault_repeats *l)
{
  return l->count < STILL_LEAST ? 0 : -log((l->same + 1.0) / (l->count + 2.0));
}

static void count_repeats(struct fault_track *t, int bin, double si, int64_t t_ms, bool learns)
{
  bool same = t->taken_ms != INT64_MIN && !(si < t->last_si) && !(si > t->last_si);

  t->still = same ? t->still + 1 : 0;
  t->still_sum = same ? t->still_sum + repeat_says(&t->repeats[bin]) : 0;
  if (!same)
    t->still_since_ms = t_ms;
  t->repeats[bin].same += learns && same;
  t->repeats[bin].count += learns;
}

static void take_reading(struct fault_watch *w, int channel, const struct watch_input *in,
                         struct fault_expected *e, struct fault_cell *cell)
{
  const struct feeds_faults *s = w->model->settings;
  const struct fault_channel *c = &w->model->channels[channel];
  struct fault_track *t = &w->tracks[channel];
  double computed_si = e->computed_si[channel], scale = fault_scale_si(c, computed_si);
  double given = fault_noise_si(s, c, computed_si) / scale;
  double sigma = given * scatter_ratio(t), residual = (in->newest.si - computed_si) / scale, left;
  int bin = bin_of(c, &e->scene);
  double away = residual - lasting(w, channel, e, scale, &left);
  double z = fault_soft(away, left) / sigma;
  bool learns;

  if (t->first_ms == INT64_MIN)
    t->first_ms = w->last_ms;
  learns = (double)(w->last_ms - t->first_ms) * 1e-3 < s->learn_s && fabs(z) < 3 &&
           fault_level_ratio(w) < s->learn_below_ratio;
  count_repeats(t, bin, in->newest.si, in->newest.t_ms, learns);
  if (learns) {
    learn_scatter(t, e, residual, given);
    learn_figures(w, channel, e, residual, sigma);
  }
  t->last_e = residual;
  t->last_scene = e;
  t->last_si = in->newest.si;
  t->taken_ms = in->newest.t_ms;
  t->step_ms = w->last_ms;
  fault_cusum_step(&t->sum, z, w->allowance_ratio, 2 * w->limit_ratio, w->last_ms);
  *cell = (struct fault_cell){.z = (float)z,
                              .u = (float)left,
                              .sigma = (float)sigma,
                              .value_si = (float)in->newest.si,
                              .fresh = true};
}

/* ---- one moment ---- */

/* Whether this reading is news about this scene, if the model has a word for it. */
static bool is_due(const struct fault_watch *w, int channel, const struct watch_belief *belief)
{
  const struct fault_channel *c = &w->model->channels[channel];
  const struct fault_track *t = &w->tracks[channel];
  const struct watch_input *in = &belief->inputs[c->point];
  const struct feeds_faults *s = w->model->settings;

  if (in->age != WATCH_FRESH)
    return false;
  if ((double)(in->newest.t_ms - w->scene_since_ms) * 1e-3 < s->settle_s)
    return false;
  if (c->as->of == FEEDS_OF_STATION && belief->stations[c->as->index].not_known)
    return false;
  return t->taken_ms == INT64_MIN ||
         (in->newest.t_ms > t->taken_ms && (double)(w->last_ms - t->step_ms) * 1e-3 >= s->step_s);
}

/* Where some opening is guessed at the demanding end, sums and pressures say nothing. */
static bool is_spoilt(const struct fault_watch *w, int channel, const struct watch_belief *belief)
{
  return belief->any_not_known && w->model->channels[channel].as->of != FEEDS_OF_STATION;
}

static void note_presence(const struct fault_watch *w, const struct watch_belief *belief,
                          short *present)
{
  for (int i = 0; i < w->model->facility->station_count; i++)
    present[i] = (short)(belief->stations[i].has_presence ? belief->stations[i].present : -1);
}

/* A scene is solved when a reading of it counts, and not while a sash is on its way. */
static void look_at_scene(struct fault_watch *w, const struct watch_belief *belief)
{
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  struct scene scene = fault_as_judged(w->model, &belief->scene, &arena);

  if (w->has_scene && fault_is_same_scene(w->model, &scene, &w->scene)) {
    arena_release(&arena);
    return;
  }
  w->scene_since_ms = w->has_scene ? belief->now_ms : INT64_MIN / 2;
  arena_release(&w->scene_arena);
  w->scene_arena = arena;
  w->scene = scene;
  w->has_scene = true;
  hold_scene(w, NULL);
}

static struct fault_moment *begin_moment(struct fault_watch *w, const struct watch_belief *belief)
{
  struct fault_moment *moment = next_moment(w);

  moment->t_ms = belief->now_ms;
  moment->expected = w->scene_now;
  moment->expected->refs++;
  for (int k = 0; k < w->model->channel_count; k++)
    moment->cells[k].fresh = false;
  note_presence(w, belief, moment->present);
  return moment;
}

void fault_take(struct fault_watch *w, const struct watch_belief *belief)
{
  struct fault_moment *moment = NULL;

  w->last_ms = belief->now_ms;
  look_at_scene(w, belief);
  for (int c = 0; c < w->model->channel_count; c++) {
    if (is_spoilt(w, c, belief) || !is_due(w, c, belief))
      continue;
    if (!w->scene_now)
      hold_scene(w, fault_expect(w->model, &w->scene));
    if (!w->scene_now->solved)
      return;
    if (!isfinite(w->scene_now->computed_si[c]))
      continue;
    if (!moment)
      moment = begin_moment(w, belief);
    take_reading(w, c, &belief->inputs[w->model->channels[c].point], w->scene_now,
                 &moment->cells[c]);
  }
  w->peak_ratio = fmax(w->peak_ratio, fault_level_ratio(w));
}

/* ---- what stands out ---- */

static double still_ratio(const struct fault_watch *w, int channel)
{
  const struct fault_track *t = &w->tracks[channel];

  return t->still_sum / w->still_limit_ratio;
}

static double sum_ratio(const struct fault_watch *w, int channel)
{
  const struct fault_cusum *sum = &w->tracks[channel].sum;

  return fmax(sum->up_ratio, sum->down_ratio) / w->limit_ratio;
}

double fault_track_ratio(const struct fault_watch *w, int channel)
{
  return fmax(sum_ratio(w, channel), still_ratio(w, channel));
}

int64_t fault_track_since_ms(const struct fault_watch *w, int channel)
{
  const struct fault_track *t = &w->tracks[channel];

  if (sum_ratio(w, channel) < 1)
    return t->still_since_ms;
  return t->sum.up_ratio > t->sum.down_ratio ? t->sum.up_since_ms : t->sum.down_since_ms;
}

double fault_level_ratio(const struct fault_watch *w)
{
  double most = 0;

  for (int c = 0; c < w->model->channel_count; c++)
    most = fmax(most, fault_track_ratio(w, c));
  return most;
}

int fault_standing(const struct fault_watch *w)
{
  int count = 0;

  for (int c = 0; c < w->model->channel_count; c++)
    count += fault_track_ratio(w, c) >= 1;
  return count;
}

double fault_peak_ratio(const struct fault_watch *w)
{
  return w->peak_ratio;
}
