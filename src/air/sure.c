/*
 * How far an answer may be off.
 *
 * Each figure of the file has a ±.  A copy of the facility is moved by a little of
 * each in turn and solved again from where it stood: that gives what the answer
 * changes by per ±.  What is left in a pool is where a miss begins, so its change
 * comes from the miss at that point: dh = -(dv/dx) / (dv/dh) dx, v the distance
 * from the limit (docs/air-state.md, "How sure").
 */
#include "air/sure_impl.h"
#include "numeric/numeric.h"

#include <math.h>

/* ---- the scene as it is: demands, and all that it shows ---- */

/* False where the purse ended or a solve failed: then nothing is given. */
static bool around_the_scene(struct sure *s)
{
  const struct scene *scene = s->search->scene;
  int pools = s->answer->pool_count;
  double demand_m3_s[AIR_POOLS_MAX];
  struct seen *seen;

  if (!sure_solve(s, scene))
    return false;
  seen = seen_new(s);
  if (!seen)
    return false;
  for (int p = 0; p < pools; p++)
    demand_m3_s[p] = air_pool_demand_m3_s(s->shadow.air, scene, p);
  for (int i = 0; i < s->n; i++) {
    if (sure_move(s, i, sure_step_ratio)) {
      if (!sure_solve(s, scene))
        return false;
      seen_moved(seen, i);
      for (int p = 0; p < pools; p++)
        s->demand_slope[p * s->n + i] =
            (air_pool_demand_m3_s(s->shadow.air, scene, p) - demand_m3_s[p]) / sure_step_ratio;
    }
    sure_move(s, i, 0.0);
  }
  seen_give(seen);
  for (int p = 0; p < pools; p++) {
    struct sums demand = sure_sums_of(s, &s->demand_slope[p * s->n]);

    s->answer->pools[p].demand_pm_m3_s = sure_combined(s, &demand);
  }
  return true;
}

/* ---- the figures that would narrow it most ---- */

static double narrowed(const struct sure *s, const struct sums *sums, double slope, int input)
{
  const struct facility_input *in = &s->f->inputs[input];
  double best = slope * fmin(1.0, in->at_best_si / in->plus_minus_si);
  struct sums after = {sums->squares - slope * slope + best * best,
                       sums->sizes - fabs(slope) + fabs(best)};

  return sure_combined(s, &after);
}

static void find_narrowing(const struct sure *s, const double *slope, struct air_spare *spare)
{
  const double worth_ratio = 1e-4; /* of the square of the ±: less is nothing */
  struct sums sums = sure_sums_of(s, slope), left = sums;

  for (int k = 0; k < AIR_NARROW_MAX; k++) {
    int best = -1;

    for (int i = 0; i < s->n; i++) {
      bool taken = s->f->inputs[i].at_best_si >= s->f->inputs[i].plus_minus_si;

      for (int j = 0; j < k; j++)
        taken = taken || spare->narrow[j].input == i;
      if (!taken &&
          (best < 0 || numeric_exceeds(fabs(slope[i]), fabs(slope[best]), air_no_flow_m3_s)))
        best = i;
    }
    if (best < 0 || slope[best] * slope[best] < worth_ratio * sums.squares)
      break;

    double ratio = s->f->inputs[best].at_best_si / s->f->inputs[best].plus_minus_si;

    spare->narrow[k] = (struct air_narrow){best, slope[best] * slope[best] / sums.squares,
                                           narrowed(s, &sums, slope[best], best)};
    left.squares -= slope[best] * slope[best] * (1.0 - ratio * ratio);
    left.sizes -= fabs(slope[best]) * (1.0 - ratio);
    spare->narrow_count = k + 1;
  }
  spare->narrowed_m3_s = sure_combined(s, &left);
}

static void fill_spare(const struct sure *s, const double *slope, double flow_m3_s,
                       const struct air_miss *miss, struct air_spare *out)
{
  struct sums sums = sure_sums_of(s, slope);

  *out = (struct air_spare){.known = true,
                            .flow_m3_s = flow_m3_s,
                            .pm_m3_s = sure_combined(s, &sums),
                            .root_m3_s = sqrt(sums.squares),
                            .worst_m3_s = sums.sizes,
                            .binding = air_miss_words(s->search->air, miss, s->search->arena)};
  find_narrowing(s, slope, out);
}

/* ---- a pool ---- */

double sure_left(const struct air_spare *spare)
{
  return spare->flow_m3_s - spare->pm_m3_s;
}

/* A declared rule is a limit of its own, beside what is computed. */
static void declared_spare(struct sure *s, int pool)
{
  struct air_pool *out = &s->answer->pools[pool];
  const struct scene *scene = s->search->scene;
  struct air_spare declared;
  double before;

  if (!out->declared.given || !sure_solve(s, scene))
    return;
  before = sure_declared_margin(s->shadow.air, scene, pool);
  for (int i = 0; i < s->n; i++) {
    facility_move(s->search->air->moved, i, sure_step_ratio);

    double after = sure_declared_margin(s->shadow.air, scene, pool);

    s->scratch[i] = (after - before) / sure_step_ratio;
    facility_move(s->search->air->moved, i, 0.0);
  }
  fill_spare(s, s->scratch, before,
             &(struct air_miss){.kind = AIR_MISS_DECLARED,
                                .index = pool,
                                .actual = out->declared.demand_m3_s,
                                .wanted = out->declared.capacity_m3_s},
             &declared);
  if (!isfinite(before) ||
      (out->spare.known &&
       !numeric_exceeds(sure_left(&out->spare), sure_left(&declared), air_no_flow_m3_s)))
    return;
  out->spare = declared;
  s->binds[pool] = (struct air_miss){.kind = AIR_MISS_DECLARED, .index = pool};
  for (int i = 0; i < s->n; i++)
    s->slope[pool * s->n + i] = s->scratch[i];
}

/* Headroom is what is left, but never more than the parked stations can ask for. */
static void doubt_headroom(struct sure *s, int pool, bool at_limit)
{
  struct air_pool *out = &s->answer->pools[pool];
  const double *left = &s->slope[pool * s->n], *demand = &s->demand_slope[pool * s->n];
  struct sums headroom = {0.0, 0.0}, capacity = {0.0, 0.0};
  double all = air_edge_scene(&s->shadow, s->search->scene, pool, AIR_WAY_UP, 1.0);

  for (int i = 0; i < s->n; i++) {
    double slope = left[i];

    if (!at_limit) {
      facility_move(s->search->air->moved, i, sure_step_ratio);
      slope = (air_edge_scene(&s->shadow, s->search->scene, pool, AIR_WAY_UP, 1.0) - all) /
              sure_step_ratio;
      facility_move(s->search->air->moved, i, 0.0);
    }
    sure_add(&headroom, slope);
    sure_add(&capacity, slope + demand[i]);
  }
  out->headroom_pm_m3_s = sure_combined(s, &headroom);
  out->capacity_pm_m3_s = sure_combined(s, &capacity);
  if (at_limit || !out->spare.known)
    return;

  double lowest = sure_left(&out->spare), reach = out->headroom_m3_s - lowest;

  out->headroom_pm_m3_s = fmax(out->headroom_pm_m3_s, reach);
  out->capacity_pm_m3_s = fmax(out->capacity_pm_m3_s, reach);
}

/* The flow at the limit: a passive station asks for nothing, so it is read from the solve. */
static double left_at(struct sure *s, int pool, const struct air_edge *edge)
{
  const struct air_pool *out = &s->answer->pools[pool];
  double extra = air_edge_scene(&s->shadow, s->search->scene, pool, edge->way, edge->share);

  if (!sure_solve(s, &s->shadow.trial))
    return extra;
  return air_pool_demand_m3_s(s->shadow.air, &s->shadow.trial, pool) - out->demand_m3_s;
}

static void look_at_pool(struct sure *s, int pool, const struct air_edge *found)
{
  struct air_pool *out = &s->answer->pools[pool];
  double *slope = &s->slope[pool * s->n];
  struct air_edge edge = *found;
  bool at_limit = edge.found;

  if (!out->has_headroom || out->at_most)
    return;
  if (!edge.found &&
      !air_edge_beyond(&s->shadow, s->levels, s->search->scene, pool, AIR_WAY_UP, &edge))
    air_edge_beyond(&s->shadow, s->levels, s->search->scene, pool, AIR_WAY_STRETCH, &edge);
  s->binds[pool] = edge.miss;
  if (edge.found && sure_slopes_at(s, s->search->scene, pool, &edge, slope))
    fill_spare(s, slope, at_limit ? out->headroom_m3_s : left_at(s, pool, &edge), &edge.miss,
               &out->spare);
  if (!s->shadow.cut && (out->spare.known || !edge.found))
    doubt_headroom(s, pool, at_limit);
  declared_spare(s, pool);
}

/* ---- all of it ---- */

/* A file that says nothing of its figures' ± is taken at its word: the ± of our own defaults is
 * shown, and decides nothing. */
static bool says_how_sure(const struct facility *f)
{
  for (int i = 0; i < f->input_count; i++)
    if (f->inputs[i].from != FACILITY_DOUBT_ASSUMED)
      return true;
  return false;
}

static bool make_shadow(struct air *air)
{
  if (!air->moved) {
    air->moved = facility_moved_new(air->facility, &air->arena);
    air->shadow = air_new(facility_moved_as(air->moved), NULL);
  }
  return air->shadow != NULL;
}

void air_sure(struct air_search *search, const struct air_levels *levels,
              const struct air_edge *edges, const struct air_settings *settings,
              struct air_answer *answer)
{
  const struct facility *f = search->air->facility;
  size_t pools = (size_t)answer->pool_count + 1, n = (size_t)f->input_count + 1;
  struct sure s = {.search = search,
                   .shadow = *search,
                   .levels = levels,
                   .f = f,
                   .answer = answer,
                   .n = f->input_count,
                   .demand_slope = ARENA_ARRAY(search->arena, double, pools *n),
                   .slope = ARENA_ARRAY(search->arena, double, pools *n),
                   .scratch = ARENA_ARRAY(search->arena, double, n),
                   .binds = ARENA_ARRAY(search->arena, struct air_miss, pools)};

  if (!s.binds || !s.demand_slope || !s.slope || !s.scratch || !make_shadow(search->air))
    return;
  s.shadow.air = search->air->shadow;
  s.shadow.trial = scene_copy(f, search->scene, search->arena);
  s.shadow.after = scene_copy(f, search->scene, search->arena);
  s.shadow.memory = air_memory_new(search->arena);
  s.shadow.budget = s.shadow.solves_left = settings->sure_budget;
  s.shadow.cut = false;
  answer->counts_doubts = says_how_sure(f);
  s.shadow.by_kind = true;       /* every choice was tried at the best estimate */
  net_forget(s.shadow.air->net); /* the answer must not depend on what was asked before */
  answer->sure = around_the_scene(&s);
  answer->left_slopes_m3_s = s.slope;
  for (int p = 0; answer->sure && p < answer->pool_count; p++) {
    look_at_pool(&s, p, &edges[p]);
    sure_odds_of_pool(&s, p);
    if (!search->spare_only)
      sure_count_more(&s, p);
  }
  if (answer->sure)
    sure_lessen_odds(&s);
  search->cut = search->cut || s.shadow.cut;
  if (search->spare_only)
    return;
  if (answer->sure)
    sure_count_at_mark(&s);
  for (int p = 0; p < answer->pool_count; p++)
    sure_conclude(&s, p);
  for (int i = 0; answer->sure && i < f->station_count; i++)
    sure_conclude_station(&s, i);
  sure_find_weakest(&s);
  if (answer->sure)
    sure_lower(&s);
  search->cut = search->cut || s.shadow.cut;
}
