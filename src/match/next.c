/*
 * The next most useful reading: what, where and in which state would narrow most what is left in the pool that has
 * least.
 *
 * What is left changes by so much per figure (src/air/sure); what is known of the figures is the fit's spread C.
 * With g the one and h what a reading changes by, reading it with its own scatter s takes (g'Ch)^2 / (s^2 + h'Ch)
 * off the variance g'Cg: a reading need not be taken to know what it would tell.
 */
#include "match/match_impl.h"
#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

static const double half_ratio = 0.5;   /* a ± is two standard uncertainties */
static const double worth_ratio = 0.97; /* of the ±: a reading that leaves more tells nothing */

struct seeking {
  struct match_result *result;
  struct match_model *model;
  const double *x; /* as fitted */
  const struct scene *scene;
  const struct walk_plan *plan;
  int shared; /* unknowns that readings to come have too: figures and exponents */
  double *g, *cg;
  struct arena *arena;
};

/* ---- what is left, and how it hangs on the figures ---- */

static int shared_count(const struct match_model *m)
{
  int count = 0;

  while (count < m->count &&
         (m->unknowns[count].of == MATCH_OF_FIGURE || m->unknowns[count].of == MATCH_OF_EXPONENT))
    count++;
  return count;
}

static double variance(const struct seeking *s)
{
  double sum = 0.0;

  for (int k = 0; k < s->shared; k++)
    sum += s->g[k] * s->cg[k];
  return sum;
}

/* The pool with least left at its doubtful end, or -1. */
static int weakest(const struct air_answer *answer)
{
  int best = -1;
  double least_m3_s = INFINITY;

  for (int p = 0; answer && answer->left_slopes_m3_s && p < answer->pool_count; p++) {
    const struct air_spare *spare = &answer->pools[p].spare;

    if (!spare->known || !numeric_exceeds(least_m3_s, spare->flow_m3_s - spare->pm_m3_s, 1e-9))
      continue;
    least_m3_s = spare->flow_m3_s - spare->pm_m3_s;
    best = p;
  }
  return best;
}

static bool find_target(struct seeking *s)
{
  struct air_settings settings = air_settings_sure;
  struct err err = {0};
  struct air *air = air_new(s->result->facility, &err);
  const struct air_answer *answer;
  int n = s->model->count, pool;
  double before = 0.0;

  settings.spare_only = true;
  answer = air ? air_ask(air, s->scene, &settings, s->arena, &err) : NULL;
  pool = weakest(answer);
  for (int k = 0; answer && pool >= 0 && k < s->shared; k++)
    if (s->model->unknowns[k].of == MATCH_OF_FIGURE)
      s->g[k] = half_ratio * answer->left_slopes_m3_s[pool * s->result->facility->input_count +
                                                      s->model->unknowns[k].index];
  air_free(air);
  for (int k = 0; k < s->shared; k++) {
    before += s->g[k] * s->g[k];
    for (int i = 0; i < s->shared; i++)
      s->cg[k] += s->result->spread_ratio[k * n + i] * s->g[i];
  }
  if (!(before > 0.0))
    return false;
  s->result->next.pool = air_pool_id(s->result->facility, pool);
  s->result->next.written_m3_s = 2.0 * sqrt(before);
  s->result->next.now_m3_s = 2.0 * sqrt(variance(s));
  return true;
}

/* ---- what could be read ---- */

static void add(struct match_readings *out, const struct facility *f, struct match_quantity q,
                int step, const char *how, struct arena *arena)
{
  if (out->count < MATCH_READINGS_MAX)
    out->list[out->count++] = (struct match_reading){.id = how,
                                                     .name = match_name(f, &q, arena),
                                                     .quantity = q,
                                                     .gauge = match_gauge(f, &q),
                                                     .scene = step,
                                                     .instrument = -1};
}

static void add_flows(struct match_readings *out, const struct facility *f, int step,
                      const struct scene *scene, struct arena *arena)
{
  static const char by_hood[] = "flow hood, or a traverse of its duct";

  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].in_service && (step == 0 || scene->stations[i].raised))
      add(out, f, (struct match_quantity){MATCH_STATION, i, 0}, step, by_hood, arena);
  for (int i = 0; i < f->supply_count; i++)
    for (int j = 0; j < f->supplies[i].feed_count; j++)
      add(out, f, (struct match_quantity){MATCH_FEED, i, j}, step, by_hood, arena);
  for (int i = 0; i < f->exhaust_count && step == 0; i++)
    add(out, f, (struct match_quantity){MATCH_EXHAUST, i, 0}, step, by_hood, arena);
}

/* Whatever a walk could read in its states, and flows by hood. */
static struct match_readings *list_candidates(struct seeking *s)
{
  struct walk_readings *blank = walk_blank(s->plan, s->arena);
  struct match_readings *out;
  const struct facility *f = s->result->facility;

  for (int i = 0; blank && i < s->plan->reading_count; i++) {
    blank->entries[i].read = true;
    blank->entries[i].value_si = s->plan->readings[i].predicted_si;
  }
  out = blank ? match_walk(s->plan, blank, NULL, s->arena) : NULL;
  if (!out)
    return NULL;

  struct match_reading *list =
      ARENA_ARRAY(s->arena, struct match_reading, MATCH_READINGS_MAX + (size_t)out->count + 1);

  if (!list)
    return NULL;
  memcpy(list, out->list, (size_t)out->count * sizeof *list);
  out->list = list;
  for (int i = 0; i < out->count; i++) {
    out->list[i].id = s->plan->readings[i].how;
    out->list[i].instrument = -1; /* whoever comes may bring another */
  }
  out->instrument_count = 0;
  for (int step = 0; step < s->plan->step_count; step++)
    add_flows(out, f, step, &s->plan->steps[step].scene, s->arena);
  return out;
}

/* Its scatter and what its instrument is off by, together. */
static double scatter_si(const struct facility *f, const struct match_reading *r, double value_si)
{
  const struct facility_gauge *g = &f->walk.gauges[r->gauge];
  struct walk_part parts[] = {{WALK_LIMIT, fmax(g->reading_ratio * fabs(value_si), g->least_si)},
                              {WALK_LIMIT, g->swing_si},
                              {WALK_EXPANDED, g->model_si}};

  return walk_combined_si(parts, sizeof parts / sizeof parts[0]);
}

/* ---- what each would tell ---- */

static void offer(struct seeking *s, struct match_next_reading it)
{
  struct match_next *next = &s->result->next;
  int at = next->count < MATCH_NEXT_MAX ? next->count : MATCH_NEXT_MAX;

  if (it.after_m3_s > worth_ratio * next->now_m3_s)
    return;
  while (at > 0 && numeric_exceeds(next->list[at - 1].after_m3_s, it.after_m3_s, 1e-9))
    at--;
  if (at == MATCH_NEXT_MAX)
    return;
  memmove(&next->list[at + 1], &next->list[at],
          (size_t)(MATCH_NEXT_MAX - 1 - at) * sizeof next->list[0]);
  next->list[at] = it;
  next->count += next->count < MATCH_NEXT_MAX;
}

/* A figure that is read itself, as well as one careful reading can. */
static void weigh_figures(struct seeking *s)
{
  int n = s->model->count;

  for (int k = 0; k < s->shared; k++) {
    const struct match_figure *f = &s->result->figures[k];
    const struct facility_input *in = &s->result->facility->inputs[f->index];
    double own, left;

    if (f->of != MATCH_OF_FIGURE || !in->find || !(s->g[k] != 0.0))
      continue;
    own = in->at_best_si / in->plus_minus_si;
    left = variance(s) - s->cg[k] * s->cg[k] / (s->result->spread_ratio[k * n + k] + own * own);
    offer(s, (struct match_next_reading){f->name, in->find, NULL, 2.0 * sqrt(fmax(left, 0.0))});
  }
}

static void weigh(struct seeking *s, const struct match_reading *r, const double *h,
                  double value_si)
{
  int n = s->model->count;
  double along = 0.0, own = scatter_si(s->result->facility, r, value_si), all = own * own, left;

  for (int k = 0; k < s->shared; k++) {
    along += h[k] * s->cg[k];
    for (int i = 0; i < s->shared && h[k] != 0.0; i++)
      all += h[k] * s->result->spread_ratio[k * n + i] * h[i];
  }
  left = variance(s) - along * along / all;
  offer(s, (struct match_next_reading){r->name, r->id, s->plan->steps[r->scene].title,
                                       2.0 * sqrt(fmax(left, 0.0))});
}

static void drop_silent(struct match_readings *r, const double *value_si)
{
  int kept = 0;

  for (int i = 0; i < r->count; i++)
    if (isfinite(value_si[i]))
      r->list[kept++] = r->list[i];
  r->count = kept;
}

static void weigh_all(struct seeking *s, struct match_readings *candidates)
{
  struct match_model model = {0};
  struct err err = {0};
  double *x = ARENA_ARRAY(s->arena, double, (size_t)s->model->count + 1), *value_si, *slope_si;

  if (x && match_model_make(&model, s->result->facility, candidates, s->arena, &err)) {
    BUG_IF(model.count != s->shared);
    model.asked = s->model->asked;
    memcpy(x, s->x, (size_t)s->shared * sizeof *x);
    value_si = ARENA_ARRAY(s->arena, double, (size_t)candidates->count + 1);
    if (value_si)
      match_model_predict(&model, x, value_si);
    if (value_si)
      drop_silent(candidates, value_si);
    slope_si = ARENA_ARRAY(s->arena, double, (size_t)candidates->count *(size_t)model.count + 1);
    if (value_si && slope_si && match_model_slopes(&model, x, value_si, slope_si))
      for (int i = 0; i < candidates->count; i++)
        weigh(s, &candidates->list[i], &slope_si[i * model.count], value_si[i]);
  }
  s->model->stopped = s->model->stopped || model.stopped;
  match_model_release(&model);
}

void match_find_next(struct match_result *result, struct match_model *model, const double *x,
                     const struct scene *scene, struct arena *arena)
{
  struct walk_options options = {.everything = true};
  struct err err = {0};
  struct scene parked = scene_parked(result->facility, arena);
  struct seeking s = {.result = result,
                      .model = model,
                      .x = x,
                      .scene = scene ? scene : &parked,
                      .shared = shared_count(model),
                      .g = ARENA_ARRAY(arena, double, (size_t)model->count + 1),
                      .cg = ARENA_ARRAY(arena, double, (size_t)model->count + 1),
                      .arena = arena};
  struct match_readings *candidates;

  if (!s.g || !s.cg || !find_target(&s))
    return;
  weigh_figures(&s);
  s.plan = walk_plan(result->facility, s.scene, &options, arena, &err);
  candidates = s.plan ? list_candidates(&s) : NULL;
  if (candidates)
    weigh_all(&s, candidates);
}
