/* From readings to an answer: what the file says of them, the fit, what it makes known. */
#include "match/match_impl.h"

#include <math.h>
#include <string.h>

enum { STEPS_MOST = 40 };

/* Readings the model says nothing of are left out, and told. */
static bool leave_out_silent(struct match_readings *r, const double *predicted_si,
                             struct arena *arena)
{
  int kept = 0;
  const char **notes = ARENA_ARRAY(arena, const char *, (size_t)(r->note_count + r->count) + 1);

  if (!notes)
    return false;
  for (int i = 0; i < r->note_count; i++)
    notes[i] = r->notes[i];
  for (int i = 0; i < r->count; i++) {
    const struct match_reading *it = &r->list[i];

    if (isfinite(predicted_si[i])) {
      r->list[kept++] = *it;
      continue;
    }
    notes[r->note_count++] =
        it->place.line > 0
            ? arena_printf(arena, "%s:%d:%d: reading %s, %s: the model says nothing of it in '%s'",
                           it->place.file, it->place.line, it->place.column, it->id, it->name,
                           r->scenes[it->scene].words)
            : arena_printf(arena, "reading %s, %s: the model says nothing of it in '%s'", it->id,
                           it->name, r->scenes[it->scene].words);
  }
  r->notes = notes;
  r->count = kept;
  return true;
}

/* An instrument's ± is of what it should have shown: a wild reading is not forgiven for its size. */
static void settle_own(const struct facility *f, struct match_readings *r,
                       const double *predicted_si)
{
  for (int i = 0; i < r->count; i++)
    if (r->list[i].instrument >= 0)
      r->list[i].own_si = match_own_si(f, r->list[i].gauge, predicted_si[i], r->list[i].setting_si);
}

static bool start(struct match_model *m, struct match_readings *r, struct match_solution *out,
                  struct arena *arena)
{
  size_t readings = (size_t)r->count, unknowns = (size_t)m->count;

  out->x = ARENA_ARRAY(arena, double, unknowns + 1);
  out->predicted = ARENA_ARRAY(arena, double, readings + 1);
  out->slope = ARENA_ARRAY(arena, double, readings *unknowns + 1);
  if (!out->x || !out->predicted || !out->slope)
    return false;
  match_model_predict(m, out->x, out->predicted);
  if (!leave_out_silent(r, out->predicted, arena))
    return false;
  out->answered = match_model_slopes(m, out->x, out->predicted, out->slope);
  if (out->answered)
    settle_own(m->f, r, out->predicted);
  return true;
}

static struct match_solution *solve(struct match_model *m, const struct match_readings *r,
                                    struct arena *arena)
{
  size_t readings = (size_t)r->count + 1, unknowns = (size_t)m->count + 1;
  double *measured = ARENA_ARRAY(arena, double, readings);
  double *own = ARENA_ARRAY(arena, double, readings);
  double *prior = ARENA_ARRAY(arena, double, unknowns);
  struct match_least least = {.readings = r->count,
                              .unknowns = m->count,
                              .measured = measured,
                              .own = own,
                              .prior = prior,
                              .low = m->low,
                              .high = m->high,
                              .full_ratio = m->f->match.full_ratio,
                              .iterations_most = STEPS_MOST,
                              .of = m,
                              .predict = match_model_predict,
                              .slopes = match_model_slopes};

  if (!measured || !own || !prior)
    return NULL;
  for (int i = 0; i < r->count; i++) {
    measured[i] = r->list[i].measured_si;
    own[i] = r->list[i].own_si;
  }
  for (int k = 0; k < m->count; k++)
    prior[k] = 1.0;
  return match_least_solve(&least, arena);
}

static struct match_readings *copy_of(const struct match_readings *from, struct arena *arena)
{
  struct match_readings *to = ARENA_NEW(arena, struct match_readings);

  if (!to)
    return NULL;
  *to = *from;
  to->list = ARENA_ARRAY(arena, struct match_reading, (size_t)from->count + 1);
  if (!to->list)
    return NULL;
  if (from->count > 0)
    memcpy(to->list, from->list, (size_t)from->count * sizeof *to->list);
  return to;
}

static struct match_result *fit(struct match_model *model, struct match_readings *readings,
                                const struct match_options *options, struct arena *arena,
                                struct err *err)
{
  struct match_result *result = ARENA_NEW(arena, struct match_result);
  struct match_solution first = {0}, *end;

  if (!result || !start(model, readings, &first, arena))
    return NULL;
  if (!first.answered) {
    err_set(err, ERR_INPUT, "the air of these scenes has no answer with the file's own figures");
    return NULL;
  }
  end = solve(model, readings, arena);
  if (!end)
    return NULL;
  if (!end->answered) {
    err_set(err, ERR_INPUT, "the air of these scenes has no answer near the file's own figures");
    return NULL;
  }
  result->facility = model->f;
  result->readings = readings;
  if (!match_judge(result, model, &first, end, arena))
    return NULL;
  if (!options->no_next)
    match_find_next(result, model, end->x, options->scene, arena);
  result->next_action = match_next_action(result, arena);
  return result->next_action ? result : NULL;
}

struct match_result *match_fit(const struct facility *facility,
                               const struct match_readings *readings,
                               const struct match_options *options, struct arena *arena,
                               struct err *err)
{
  struct match_model model = {0};
  struct match_readings *own = copy_of(readings, arena);
  struct match_result *result = NULL;
  bool made = own && match_model_make(&model, facility, own, arena, err);

  model.asked = options;
  if (made)
    result = fit(&model, own, options, arena, err);
  if (model.stopped) {
    result = NULL;
    err_set(err, ERR_LIMIT, "the match was ended before it was through");
  }
  if (!result && err && err->code == ERR_OK)
    err_set(err, ERR_LIMIT, "the match is larger than the memory set aside for it");
  match_model_release(&model);
  return result;
}
