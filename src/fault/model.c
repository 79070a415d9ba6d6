#include "fault/fault_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What the healthy model says in a scene, how far that may be off, and what it would say with a fault. */

bool fault_has_proved(const struct feeds_faults *settings, const struct fault_count *count)
{
  int answered = count->confirmed + count->refuted;

  return count->confirmed >= settings->proved_after && count->confirmed > 0 &&
         count->confirmed >= settings->proved_ratio * answered;
}

struct fault_model *fault_model_new(const struct facility *facility, const struct feeds *feeds,
                                    struct err *err)
{
  struct fault_model *m = calloc(1, sizeof *m);

  if (!m)
    err_no_memory();
  m->facility = facility;
  m->feeds = feeds;
  m->settings = &feeds->faults;
  arena_init(&m->arena, SIZE_MAX); /* bounded by the two files */
  m->channels = ARENA_ARRAY(&m->arena, struct fault_channel, (size_t)feeds->point_count + 1);
  BUG_IF(!m->channels);
  m->channel_count = fault_channels(facility, feeds, m->channels);
  m->moved = facility_moved_new(facility, &m->arena);
  fault_list_variants(m);
  m->air = air_new(facility, err);
  if (!m->air) {
    fault_model_free(m);
    return NULL;
  }
  return m;
}

static void expected_free(struct fault_expected *e, int variants)
{
  for (int i = 0; i < variants; i++)
    free(e->shift[i]);
  arena_release(&e->arena);
  free(e);
}

void fault_model_free(struct fault_model *m)
{
  if (!m)
    return;
  for (int i = 0; i < m->scene_count; i++)
    expected_free(m->scenes[i], m->variant_count);
  for (int i = 0; i < m->variant_count; i++)
    air_free(m->variants[i].air);
  air_free(m->air);
  arena_release(&m->arena);
  free(m);
}

/* ---- the scene as it is judged ---- */

static const double opening_step_m = 0.01,
                    outdoors_step_K = 2.0; /* finer steps change no verdict */

static void round_scene(const struct facility *f, struct scene *s)
{
  for (int i = 0; i < f->station_count; i++)
    s->stations[i].opening_m = opening_step_m * round(s->stations[i].opening_m / opening_step_m);
  s->outdoor_temperature_K = outdoors_step_K * round(s->outdoor_temperature_K / outdoors_step_K);
}

static bool is_same(double a, double b)
{
  return !(a < b) && !(a > b);
}

static bool is_same_scene(const struct facility *f, const struct scene *a, const struct scene *b)
{
  if (a->has_outdoor_temperature != b->has_outdoor_temperature ||
      (a->has_outdoor_temperature && !is_same(a->outdoor_temperature_K, b->outdoor_temperature_K)))
    return false;
  for (int i = 0; i < f->station_count; i++)
    if (a->stations[i].raised != b->stations[i].raised ||
        !is_same(a->stations[i].opening_m, b->stations[i].opening_m) ||
        !is_same(a->stations[i].cover_ratio, b->stations[i].cover_ratio))
      return false;
  return memcmp(a->door_open, b->door_open, (size_t)f->door_count * sizeof *a->door_open) == 0 &&
         memcmp(a->fan_units, b->fan_units, (size_t)f->fan_count * sizeof *a->fan_units) == 0 &&
         memcmp(a->supply_off, b->supply_off, (size_t)f->supply_count * sizeof *a->supply_off) ==
             0 &&
         memcmp(a->duct_shut, b->duct_shut, (size_t)f->duct_count * sizeof *a->duct_shut) == 0;
}

/* ---- solving ---- */

/* What each channel reads in that scene of that air; NaN all where it has no solution. */
static bool compute(const struct fault_model *m, const struct facility *f, struct air *air,
                    const struct scene *scene, double *out_si)
{
  struct arena arena;
  struct err err = {0};
  const struct air_answer *answer;
  bool solved;

  arena_init(&arena, SIZE_MAX);
  answer = air ? air_flows(air, scene, &arena, &err) : NULL;
  solved = answer && answer->solved;
  for (int c = 0; c < m->channel_count; c++)
    out_si[c] = solved ? fault_computed_si(f, answer, m->channels[c].as) : (double)NAN;
  arena_release(&arena);
  return solved;
}

/* A sash is known to a step: so is the flow that follows it. */
static double opening_pm_m3_s(const struct fault_model *m, const struct fault_channel *c,
                              const struct scene *scene)
{
  const struct facility_station *s = &m->facility->stations[c->as->index];

  if (c->as->of != FEEDS_OF_STATION || s->flow != FACILITY_FOLLOWS_OPENING ||
      !scene->stations[c->as->index].raised)
    return 0;
  if (c->as->what == FEEDS_FACE_VELOCITY)
    return 0;
  return s->velocity_m_s * s->width_m * opening_step_m;
}

static void take_slope(const struct fault_model *m, struct fault_expected *e, int channel,
                       int figure, double by_si)
{
  double scale = fault_scale_si(&m->channels[channel], e->computed_si[channel]);

  if (!isfinite(by_si))
    return;
  e->pm_si[channel] = hypot(e->pm_si[channel], by_si);
  e->slope[(size_t)channel * (size_t)m->facility->input_count + (size_t)figure] =
      (float)(by_si / scale);
}

static void find_pm(struct fault_model *m, struct fault_expected *e)
{
  double *at_si = ARENA_ARRAY(&e->arena, double, (size_t)m->channel_count + 1);

  BUG_IF(!at_si);
  for (int c = 0; c < m->channel_count; c++)
    e->pm_si[c] = e->sash_pm_si[c] = opening_pm_m3_s(m, &m->channels[c], &e->scene);
  for (int i = 0; i < m->facility->input_count; i++) {
    struct err err = {0};

    facility_move(m->moved, i, 1.0);
    struct air *air = air_new(facility_moved_as(m->moved), &err);

    compute(m, facility_moved_as(m->moved), air, &e->scene, at_si);
    air_free(air);
    facility_move(m->moved, i, 0.0);
    for (int c = 0; c < m->channel_count; c++)
      take_slope(m, e, c, i, at_si[c] - e->computed_si[c]);
  }
}

static struct fault_expected *expected_new(struct fault_model *m, const struct scene *scene)
{
  struct fault_expected *e = calloc(1, sizeof *e);
  size_t room = (size_t)m->channel_count + 1;

  if (!e)
    err_no_memory();
  arena_init(&e->arena, SIZE_MAX);
  e->scene = scene_copy(m->facility, scene, &e->arena);
  e->computed_si = ARENA_ARRAY(&e->arena, double, room);
  e->pm_si = ARENA_ARRAY(&e->arena, double, room);
  e->sash_pm_si = ARENA_ARRAY(&e->arena, double, room);
  e->slope = ARENA_ARRAY(&e->arena, float, room *((size_t)m->facility->input_count + 1));
  e->shift = ARENA_ARRAY(&e->arena, float *, (size_t)m->variant_count + 1);
  BUG_IF(!e->computed_si || !e->pm_si || !e->sash_pm_si || !e->slope || !e->shift);
  e->solved = compute(m, m->facility, m->air, &e->scene, e->computed_si);
  if (e->solved)
    find_pm(m, e);
  return e;
}

/* A place for one more: of those that nothing rests on, the one not used for longest. */
static int place_for(struct fault_model *m)
{
  int oldest = -1;

  if (m->scene_count < FAULT_SCENES_MOST)
    return m->scene_count++;
  for (int i = 0; i < m->scene_count; i++)
    if (m->scenes[i]->refs == 0 && (oldest < 0 || m->scenes[i]->used < m->scenes[oldest]->used))
      oldest = i;
  BUG_IF(oldest < 0); /* a watch keeps far fewer moments */
  expected_free(m->scenes[oldest], m->variant_count);
  return oldest;
}

struct scene fault_as_judged(const struct fault_model *m, const struct scene *scene,
                             struct arena *arena)
{
  struct scene rounded = scene_copy(m->facility, scene, arena);

  round_scene(m->facility, &rounded);
  return rounded;
}

bool fault_is_same_scene(const struct fault_model *m, const struct scene *a, const struct scene *b)
{
  return is_same_scene(m->facility, a, b);
}

struct fault_expected *fault_expect(struct fault_model *m, const struct scene *scene)
{
  struct arena arena;
  struct scene rounded;
  struct fault_expected *found = NULL;

  arena_init(&arena, SIZE_MAX);
  rounded = fault_as_judged(m, scene, &arena);
  for (int i = 0; i < m->scene_count && !found; i++)
    if (is_same_scene(m->facility, &m->scenes[i]->scene, &rounded))
      found = m->scenes[i];
  if (!found) {
    int place = place_for(m);

    found = m->scenes[place] = expected_new(m, &rounded);
  }
  found->used = ++m->tick;
  arena_release(&arena);
  return found;
}

static void solve_shift(struct fault_model *m, struct fault_expected *e, struct fault_variant *v,
                        float *out)
{
  struct arena arena;
  double *at_si;

  arena_init(&arena, SIZE_MAX);
  struct scene scene = scene_copy(m->facility, &e->scene, &arena);

  at_si = ARENA_ARRAY(&arena, double, (size_t)m->channel_count + 1);
  BUG_IF(!at_si);
  if (fault_put(m, v, e, &scene)) {
    compute(m, m->facility, fault_variant_air(m, v), &scene, at_si);
    for (int c = 0; c < m->channel_count; c++) {
      double by =
          (at_si[c] - e->computed_si[c]) / fault_scale_si(&m->channels[c], e->computed_si[c]);

      out[c] = isfinite(by) ? (float)by : 0.0F;
    }
  }
  arena_release(&arena);
}

const float *fault_shift(struct fault_model *m, struct fault_expected *e, int variant)
{
  if (!e->shift[variant]) {
    float *shift = calloc((size_t)m->channel_count + 1, sizeof *shift);

    if (!shift)
      err_no_memory();
    if (e->solved)
      solve_shift(m, e, &m->variants[variant], shift);
    e->shift[variant] = shift;
  }
  return e->shift[variant];
}

/* ---- what the points cannot show ---- */

static struct scene at_work(const struct facility *f, struct arena *arena)
{
  struct scene scene = scene_parked(f, arena);

  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].in_service) {
      scene.stations[i].raised = true;
      scene.stations[i].opening_m = f->stations[i].work_m;
    }
  return scene;
}

/* More than the model may be off and one reading scatters, anywhere. */
static bool shows(struct fault_model *m, struct fault_expected *e, int variant)
{
  const float *shift = fault_shift(m, e, variant);

  for (int c = 0; c < m->channel_count; c++) {
    double scale = fault_scale_si(&m->channels[c], e->computed_si[c]);
    double left = m->settings->floor_ratio * e->pm_si[c];
    double noise = fault_noise_si(m->settings, &m->channels[c], e->computed_si[c]);

    if (fabs((double)shift[c]) > (left + noise) / scale)
      return true;
  }
  return false;
}

int fault_blind(struct fault_model *m, struct arena *arena, const char *const **texts_out)
{
  const char **texts = ARENA_ARRAY(arena, const char *, (size_t)m->variant_count + 1);
  struct scene parked = scene_parked(m->facility, arena), work = at_work(m->facility, arena);
  struct fault_expected *low = fault_expect(m, &parked), *high;
  int count = 0;

  BUG_IF(!texts);
  low->refs++; /* the next must not push it out */
  high = fault_expect(m, &work);
  low->refs--;
  for (int v = 0; v < m->variant_count; v++) {
    bool last = v + 1 == m->variant_count || m->variants[v + 1].kind != m->variants[v].kind ||
                m->variants[v + 1].index != m->variants[v].index;

    /* the largest size of each speaks for it */
    if (last && !shows(m, low, v) && !shows(m, high, v))
      texts[count++] = fault_would_tell(m, &m->variants[v], arena);
  }
  *texts_out = texts;
  return count;
}
