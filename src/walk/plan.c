/* A plan put together: states, what is read in them, the prediction and its band. */
#include "walk/plan_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Each figure is solved twice in every state that is tried. */
enum { FIGURES_MAX = 400 };

/* effect_si[input][candidate]: what adding a figure's ± does to each reading.  The model's own ± of
 * a reading is made of the larger of adding and taking off. */
static double *effects_of(const struct walk_planning *p, int inputs)
{
  size_t count = (size_t)p->candidate_count;
  double *out = ARENA_ARRAY(p->arena, double, (size_t)inputs *count + 1);
  double *larger = ARENA_ARRAY(p->arena, double, (size_t)inputs *count + 1);
  double *down = ARENA_ARRAY(p->arena, double, count + 1);
  struct facility_moved *moved = facility_moved_new(p->f, p->arena);

  for (int k = 0; out && larger && down && k < inputs; k++) {
    double *up = out + (size_t)k * count;

    facility_move(moved, k, walk_reach_ratio);
    walk_values(facility_moved_as(moved), p->steps, p->step_count, p->candidates, up);
    facility_move(moved, k, -walk_reach_ratio);
    walk_values(facility_moved_as(moved), p->steps, p->step_count, p->candidates, down);
    facility_move(moved, k, 0.0);
    for (size_t i = 0; i < count; i++) {
      up[i] = isfinite(up[i]) ? (up[i] - p->candidates[i].predicted_si) / walk_reach_ratio : 0.0;
      down[i] =
          isfinite(down[i]) ? (down[i] - p->candidates[i].predicted_si) / walk_reach_ratio : 0.0;
      larger[i * (size_t)inputs + (size_t)k] = fmax(fabs(up[i]), fabs(down[i]));
      if (fabs(down[i]) > fabs(up[i]))
        up[i] = -down[i]; /* a limit that bites one way only still tells */
    }
  }
  for (size_t i = 0; larger && i < count; i++)
    p->candidates[i].band.model_si =
        walk_model_si(p->f, p->candidates[i].quantity.of, larger + i * (size_t)inputs, inputs);
  return larger && down ? out : NULL;
}

/* ---- what was chosen ---- */

static void name_bears(const struct walk_planning *p, const struct walk_plan *plan,
                       const double *effect_si, int at, struct walk_reading *r)
{
  int count = p->candidate_count;
  const double worth_ratio = 0.3; /* of the strongest, and of the reading's own ± */
  double last = INFINITY, strongest = 0.0;

  while (r->bears_count < WALK_BEARS_MAX) {
    double most = 0.0;
    int best = -1;

    for (int k = 0; k < plan->input_count; k++) {
      double effect = fabs(effect_si[(size_t)k * (size_t)count + (size_t)at]);

      if (effect > most && effect < last) {
        most = effect;
        best = k;
      }
    }
    strongest = fmax(strongest, most);
    if (best < 0 || most < worth_ratio * strongest ||
        most < worth_ratio * walk_standard_si(&r->band))
      break;
    r->bears[r->bears_count++] = walk_input_name(p->f, best, p->arena);
    last = most;
  }
}

static void keep_effects(struct walk_plan *plan, const double *effect_si, int candidates,
                         const int *from)
{
  for (int k = 0; k < plan->input_count; k++)
    for (int i = 0; i < plan->reading_count; i++)
      plan->effect_si[(size_t)k * (size_t)plan->reading_count + (size_t)i] =
          effect_si[(size_t)k * (size_t)candidates + (size_t)from[i]];
}

static void copy_chosen(struct walk_planning *p, struct walk_plan *plan, const double *effect_si,
                        const bool *taken, int *from)
{
  for (int s = 0; s < p->step_count; s++) {
    struct walk_step step = p->steps[s];
    int first = plan->reading_count;

    for (int i = step.first; i < step.first + step.count; i++)
      if (taken[i]) {
        struct walk_reading *r = &plan->readings[plan->reading_count];

        *r = p->candidates[i];
        r->step = s;
        r->id = walk_say(p->arena, "%d%c", s + 1, 'a' + plan->reading_count - first);
        name_bears(p, plan, effect_si, i, r);
        from[plan->reading_count++] = i;
      }
    step.first = first;
    step.count = plan->reading_count - first;
    step.time_s = p->f->walk.per_step_s + step.count * p->f->walk.per_reading_s;
    plan->time_s += step.time_s;
    plan->steps[plan->step_count++] = step;
  }
}

/* A step in which nothing is read disturbs for nothing; the end stays. */
static bool drop_idle(struct walk_planning *p, const bool *taken)
{
  for (int s = 1; s < p->step_count - (p->last_is_end ? 1 : 0); s++) {
    int count = 0;

    for (int i = p->steps[s].first; i < p->steps[s].first + p->steps[s].count; i++)
      count += taken[i];
    if (count > 0)
      continue;
    memmove(&p->steps[s], &p->steps[s + 1], (size_t)(p->step_count - s - 1) * sizeof p->steps[0]);
    p->step_count--;
    return true;
  }
  return false;
}

static bool finish(struct walk_planning *p, struct walk_plan *plan, bool everything)
{
  double *effect_si =
      everything
          ? ARENA_ARRAY(p->arena, double, (size_t)plan->input_count *(size_t)p->candidate_count + 1)
          : effects_of(p, plan->input_count);
  bool *taken = ARENA_ARRAY(p->arena, bool, (size_t)p->candidate_count + 1);
  int *from = ARENA_ARRAY(p->arena, int, (size_t)p->candidate_count + 1);

  plan->readings = ARENA_ARRAY(p->arena, struct walk_reading, (size_t)p->candidate_count + 1);
  plan->steps = ARENA_ARRAY(p->arena, struct walk_step, WALK_STEPS_MAX);
  if (!effect_si || !taken || !from || !plan->readings || !plan->steps)
    return false;
  for (int i = 0; everything && i < p->candidate_count; i++)
    taken[i] = true;
  if (!everything)
    walk_choose_readings(p, plan->input_count, effect_si, taken);
  while (drop_idle(p, taken))
    ;
  walk_describe_steps(p);
  copy_chosen(p, plan, effect_si, taken, from);
  plan->effect_si =
      ARENA_ARRAY(p->arena, double, (size_t)plan->input_count *(size_t)plan->reading_count + 1);
  if (!plan->effect_si)
    return false;
  keep_effects(plan, effect_si, p->candidate_count, from);
  plan->coverage_factor_ratio =
      walk_coverage_factor_ratio(p->f->walk.covers_ratio, plan->reading_count);
  for (int i = 0; i < plan->reading_count; i++)
    plan->readings[i].band.half_si =
        plan->coverage_factor_ratio * walk_standard_si(&plan->readings[i].band);
  return true;
}

static void say_what_is_not_known(struct walk_planning *p, const struct walk_plan *plan)
{
  if (plan->tier == AIR_COARSE)
    walk_note(p->left_out, &p->left_out_count,
              "coarse: the file has no network, so no room or duct pressure can be predicted");
  if (p->f->walk.display_count == 0)
    walk_note(p->left_out, &p->left_out_count,
              "supply flow and fan speed: the file names no display (walk: displays)");
}

static struct walk_plan *make(struct walk_planning *p, const struct scene *scene,
                              const struct walk_options *options)
{
  struct walk_plan *plan = ARENA_NEW(p->arena, struct walk_plan);
  const struct air_answer *parked;

  p->before = ARENA_ARRAY(p->arena, const char *, WALK_NOTES_MAX);
  p->left_out = ARENA_ARRAY(p->arena, const char *, WALK_NOTES_MAX);
  p->input_count = p->f->input_count;
  if (!plan || !p->before || !p->left_out)
    return NULL;
  if (p->input_count > FIGURES_MAX) {
    p->input_count = FIGURES_MAX;
    walk_note(p->left_out, &p->left_out_count,
              "a large suite: only its first figures were weighed, so bands may be too narrow");
  }
  if (!walk_choose_steps(p, scene, options))
    return NULL;
  parked = air_flows(p->air, &p->base, p->arena, p->err);
  if (!parked || !walk_list_candidates(p))
    return NULL;
  *plan = (struct walk_plan){
      .facility = p->f, .scene = scene->name, .tier = parked->tier, .input_count = p->input_count};
  say_what_is_not_known(p, plan);
  if (!finish(p, plan, options->everything))
    return NULL;
  plan->before = p->before;
  plan->before_count = p->before_count;
  plan->left_out = p->left_out;
  plan->left_out_count = p->left_out_count;
  if (plan->reading_count > 0)
    return plan;
  err_set(p->err, ERR_INPUT,
          "the model predicts nothing that an instrument could read here: give "
          "widths and openings of stations, or doors and leaks of rooms");
  return NULL;
}

struct walk_plan *walk_plan(const struct facility *facility, const struct scene *scene,
                            const struct walk_options *options, struct arena *arena,
                            struct err *err)
{
  struct walk_planning planning = {.f = facility, .arena = arena, .err = err};
  const struct walk_options none = {.technician = false};
  struct walk_plan *plan = NULL;

  planning.air = air_new(facility, err);
  if (planning.air)
    plan = make(&planning, scene, options ? options : &none);
  if (!plan && err && err->code == ERR_OK)
    err_set(err, ERR_LIMIT, "the walk is larger than the memory set aside for it");
  air_free(planning.air);
  return plan;
}
