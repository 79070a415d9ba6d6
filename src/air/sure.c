/*
 * How far an answer may be off.
 *
 * Each figure of the file has a ±.  A copy of the facility is moved by a little of
 * each in turn and solved again from where it stood: that gives what the answer
 * changes by per ±.  What is left in a pool is where a miss begins, so its change
 * comes from the miss at that point: dh = -(dv/dx) / (dv/dh) dx, v the distance
 * from the limit (docs/air-state.md, "How sure").
 */
#include "air/air_impl.h"

#include <math.h>

/* A figure is moved by this share of its ±: far above what a solve leaves, far
 * below where a law bends. */
static const double step_ratio = 1e-4;
/* The slope is taken this share of the demand beyond the limit, where it is missed. */
static const double aside_ratio = 5e-4;

struct sure {
  struct air_search *search; /* the question, on the facility as written */
  struct air_search shadow;  /* the same on the copy that moves */
  const struct air_levels *levels;
  const struct facility *f;
  struct air_answer *answer;
  int n;                /* inputs */
  double *demand_slope; /* per pool and input: change per ± */
  double *slope;        /* the same for what is left in the pool */
  double *scratch;      /* per input */
};

/* ---- one solve of the copy ---- */

static bool solve(struct sure *s, const struct scene *scene)
{
  struct air *air = s->shadow.air;
  struct net_report report;

  if (s->shadow.solves_left <= 0) {
    s->shadow.cut = true;
    return false;
  }
  s->shadow.solves_left--;
  air_network_set_scene(air, scene);
  air->failed = net_solve(air->net, &report) == NET_FAILED;
  return !air->failed;
}

/* Moves one figure and says whether a solve could tell. */
static bool move(struct sure *s, int input, double by_ratio)
{
  facility_move(s->search->air->moved, input, by_ratio);
  return air_values_moved(s->shadow.air, &s->f->inputs[input]);
}

/* Moves all of them against a slope, to the doubtful end; 0 puts them back. */
static void move_all(struct sure *s, const double *slope, double root)
{
  for (int i = 0; i < s->n; i++) {
    double by_ratio = 0.0;

    if (slope && slope[i] != 0.0 && root > 0.0)
      by_ratio = s->f->doubts_at_worst ? -copysign(1.0, slope[i]) : -slope[i] / root;
    facility_move(s->search->air->moved, i, by_ratio);
  }
  air_values_forget(s->shadow.air);
}

/* ---- putting ± together ---- */

struct sums {
  double squares, sizes;
};

static void add(struct sums *sums, double slope)
{
  sums->squares += slope * slope;
  sums->sizes += fabs(slope);
}

static double combined(const struct sure *s, const struct sums *sums)
{
  return s->f->doubts_at_worst ? sums->sizes : sqrt(sums->squares);
}

static struct sums sums_of(const struct sure *s, const double *slope)
{
  struct sums sums = {0.0, 0.0};

  for (int i = 0; i < s->n; i++)
    add(&sums, slope[i]);
  return sums;
}

/* ---- the scene as it is: demands and keeps ---- */

static int count_keeps(const struct facility *f)
{
  int count = 0;

  for (int i = 0; i < f->room_count; i++)
    count += f->rooms[i].keep_count;
  return count;
}

static void look_at_keeps(const struct sure *s, double *over_Pa)
{
  const struct net *net = s->shadow.air->net;
  int at = 0;

  for (int i = 0; i < s->f->room_count; i++)
    for (int k = 0; k < s->f->rooms[i].keep_count; k++)
      over_Pa[at++] = net_pressure_Pa(net, i) - net_pressure_Pa(net, s->f->rooms[i].keeps[k].over);
}

static void give_keeps(const struct sure *s, const struct sums *sums)
{
  int at = 0;

  for (int i = 0; i < s->f->room_count; i++)
    for (int k = 0; k < s->f->rooms[i].keep_count; k++, at++)
      if (s->answer->rooms[i].keeps[k].known)
        s->answer->rooms[i].keeps[k].actual_pm_Pa = combined(s, &sums[at]);
}

/* False where the purse ended or a solve failed: then nothing is given. */
static bool around_the_scene(struct sure *s)
{
  const struct scene *scene = s->search->scene;
  int keeps = count_keeps(s->f), pools = s->answer->pool_count;
  double *before = ARENA_ARRAY(s->search->arena, double, (size_t)keeps + 1);
  double *after = ARENA_ARRAY(s->search->arena, double, (size_t)keeps + 1);
  struct sums *sums = ARENA_ARRAY(s->search->arena, struct sums, (size_t)keeps + 1);
  double demand_m3_s[AIR_POOLS_MAX];

  if (!solve(s, scene))
    return false;
  look_at_keeps(s, before);
  for (int p = 0; p < pools; p++)
    demand_m3_s[p] = air_pool_demand_m3_s(s->shadow.air, scene, p);
  for (int i = 0; i < s->n; i++) {
    if (move(s, i, step_ratio)) {
      if (!solve(s, scene))
        return false;
      look_at_keeps(s, after);
      for (int k = 0; k < keeps; k++)
        add(&sums[k], (after[k] - before[k]) / step_ratio);
      for (int p = 0; p < pools; p++)
        s->demand_slope[p * s->n + i] =
            (air_pool_demand_m3_s(s->shadow.air, scene, p) - demand_m3_s[p]) / step_ratio;
    }
    move(s, i, 0.0);
  }
  give_keeps(s, sums);
  for (int p = 0; p < pools; p++) {
    struct sums demand = sums_of(s, &s->demand_slope[p * s->n]);

    s->answer->pools[p].demand_pm_m3_s = combined(s, &demand);
  }
  return true;
}

/* ---- the distance from a limit ---- */

static double followed_m3_s(const struct air *air, const struct air_miss *m)
{
  int link = air->feed_link[m->index][m->sub];
  const struct net_link *l = &air->links[link];
  double asked_kg_s = l->set_kg_s;

  for (int i = 0; i < l->follow_count; i++)
    asked_kg_s += net_flow_kg_s(air->net, l->follows[i]);
  return asked_kg_s / air->density_kg_m3[facility_node_plenum(air->facility, m->index)];
}

static double feed_margin(const struct air *air, const struct air_miss *m)
{
  const struct facility_feed *feed = &air->facility->supplies[m->index].feeds[m->sub];
  double flow_m3_s = air_link_flow_m3_s(air, air->feed_link[m->index][m->sub]);

  if (feed->form == FACILITY_FEED_HOLDS)
    return net_pressure_Pa(air->net, feed->room) - net_pressure_Pa(air->net, feed->over) -
           feed->hold_Pa;
  return flow_m3_s - (feed->form == FACILITY_FEED_FLOW ? feed->flow_m3_s : followed_m3_s(air, m));
}

static double unit_margin(const struct air *air, int supply)
{
  double given = 0.0;

  for (int j = 0; j < air->facility->supplies[supply].feed_count; j++)
    given += air_link_flow_m3_s(air, air->feed_link[supply][j]);
  return air->facility->supplies[supply].most_m3_s - given;
}

static double station_margin(const struct air *air, const struct scene *scene,
                             const struct air_miss *m)
{
  const struct facility_station *s = &air->facility->stations[m->index];
  bool by_criterion = s->criterion >= 0 && air_station_works(air, scene, m->index);
  bool below = m->actual < m->wanted;
  double value = m->sub ? air_link_flow_m3_s(air, air->station_link[m->index])
                        : air_face_velocity_m_s(air, scene, m->index);
  double limit = scene_station_ask_m3_s(air->facility, scene, m->index);

  if (by_criterion && below)
    limit = air->facility->criteria[s->criterion].low;
  else if (by_criterion)
    limit = air->facility->criteria[s->criterion].high;
  return below ? value - limit : limit - value;
}

static double declared_margin(const struct air *air, const struct scene *scene, int pool)
{
  struct air_declared d = air_pool_declared(air, scene, pool, NULL);

  return d.capacity_m3_s * air_pool_short_ratio(air->facility, pool) - d.demand_m3_s;
}

/* How far the copy, as last solved, is from missing this: negative when missed.  In the
 * unit of the miss. */
static double margin(const struct air *air, const struct scene *scene, const struct air_miss *m)
{
  const struct facility *f = air->facility;
  double over;

  switch (m->kind) {
  case AIR_MISS_KEEP:
    over = net_pressure_Pa(air->net, m->index) -
           net_pressure_Pa(air->net, f->rooms[m->index].keeps[m->sub].over);
    return m->actual < m->wanted ? over - m->wanted : m->wanted - over;
  case AIR_MISS_FEED:
    return feed_margin(air, m);
  case AIR_MISS_UNIT:
    return unit_margin(air, m->index);
  case AIR_MISS_FAN:
    over = net_pressure_Pa(air->net, f->fans[m->index].hold_node) -
           net_pressure_Pa(air->net, f->fans[m->index].hold_over);
    return m->actual > m->wanted ? f->fans[m->index].hold_Pa - over
                                 : over - f->fans[m->index].hold_Pa;
  case AIR_MISS_STATION:
    return station_margin(air, scene, m);
  case AIR_MISS_DECLARED:
    return declared_margin(air, scene, m->index);
  case AIR_MISS_UNKNOWN:
    break;
  }
  return NAN;
}

/* ---- what is left in a pool, per ± of each figure ---- */

struct
    at_edge { /* a little beyond the limit: the extra flow there and the distance from the limit */
  const struct scene *scene;
  int pool;
  const struct air_edge *edge;
  double share, extra_m3_s, margin;
  double extra_per_share_m3_s, margin_per_share;
};

static bool look(struct sure *s, const struct at_edge *at, double share, double *extra_m3_s,
                 double *margin_out)
{
  *extra_m3_s = air_edge_scene(&s->shadow, at->scene, at->pool, at->edge->way, share);
  if (!solve(s, &s->shadow.trial))
    return false;
  *margin_out = margin(s->shadow.air, &s->shadow.trial, &at->edge->miss);
  return isfinite(*margin_out);
}

static bool stand_at_edge(struct sure *s, struct at_edge *at)
{
  bool down = at->edge->way == AIR_WAY_DOWN;
  double all = fabs(air_edge_scene(&s->shadow, at->scene, at->pool, at->edge->way, 1.0));
  double demand = air_pool_demand_m3_s(s->shadow.air, at->scene, at->pool);
  double aside = all > 0.0 ? aside_ratio * fmax(demand, all) / all : aside_ratio;
  double extra[2], margins[2], half;

  if (down)
    aside = fmin(aside, 0.5 * at->edge->share);
  at->share = at->edge->share + (down ? -aside : aside);
  half = 0.1 * aside;
  if (half <= 0.0 || !look(s, at, at->share - half, &extra[0], &margins[0]) ||
      !look(s, at, at->share + half, &extra[1], &margins[1]) ||
      !look(s, at, at->share, &at->extra_m3_s, &at->margin))
    return false;
  at->extra_per_share_m3_s = (extra[1] - extra[0]) / (2.0 * half);
  at->margin_per_share = (margins[1] - margins[0]) / (2.0 * half);
  return down ? at->margin_per_share > 0.0 : at->margin_per_share < 0.0;
}

/* The change of what is left, per ± of one figure; false where a solve failed. */
static bool slope_of(struct sure *s, const struct at_edge *at, int input, double *slope_out)
{
  bool is_declared = at->edge->miss.kind == AIR_MISS_DECLARED;
  enum facility_move what = s->f->inputs[input].move;
  bool is_limit =
      at->edge->miss.kind == AIR_MISS_UNIT && what == FACILITY_MOVE_SUPPLY_MOST; /* no law moves */
  bool by_ask = what >= FACILITY_MOVE_STATION_CONSTANT;
  bool moved = move(s, input, step_ratio), solved = true;
  double extra = at->extra_m3_s, now = at->margin;

  if (moved || by_ask || is_limit)
    solved = look(s, at, at->share, &extra, &now);
  else if (is_declared)
    now = margin(s->shadow.air, &s->shadow.trial, &at->edge->miss);
  *slope_out = ((extra - at->extra_m3_s) -
                at->extra_per_share_m3_s * (now - at->margin) / at->margin_per_share) /
               step_ratio;
  move(s, input, 0.0);
  return solved;
}

static bool slopes_at(struct sure *s, const struct scene *scene, int pool,
                      const struct air_edge *edge, double *slope)
{
  struct at_edge at = {.scene = scene, .pool = pool, .edge = edge};

  if (!stand_at_edge(s, &at))
    return false;
  for (int i = 0; i < s->n; i++)
    if (!slope_of(s, &at, i, &slope[i]))
      return false;
  return true;
}

/* ---- the figures that would narrow it most ---- */

static double narrowed(const struct sure *s, const struct sums *sums, double slope, int input)
{
  const struct facility_input *in = &s->f->inputs[input];
  double best = slope * fmin(1.0, in->at_best_si / in->plus_minus_si);
  struct sums after = {sums->squares - slope * slope + best * best,
                       sums->sizes - fabs(slope) + fabs(best)};

  return combined(s, &after);
}

static void find_narrowing(const struct sure *s, const double *slope, struct air_spare *spare)
{
  const double worth_ratio = 1e-4; /* of the square of the ±: less is nothing */
  struct sums sums = sums_of(s, slope), left = sums;

  for (int k = 0; k < AIR_NARROW_MAX; k++) {
    int best = -1;

    for (int i = 0; i < s->n; i++) {
      bool taken = s->f->inputs[i].at_best_si >= s->f->inputs[i].plus_minus_si;

      for (int j = 0; j < k; j++)
        taken = taken || spare->narrow[j].input == i;
      if (!taken && (best < 0 || fabs(slope[i]) > fabs(slope[best])))
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
  spare->narrowed_m3_s = combined(s, &left);
}

static void fill_spare(const struct sure *s, const double *slope, double flow_m3_s,
                       const struct air_miss *miss, struct air_spare *out)
{
  struct sums sums = sums_of(s, slope);

  *out = (struct air_spare){.known = true,
                            .flow_m3_s = flow_m3_s,
                            .pm_m3_s = combined(s, &sums),
                            .root_m3_s = sqrt(sums.squares),
                            .worst_m3_s = sums.sizes,
                            .binding = air_miss_words(s->search->air, miss, s->search->arena)};
  find_narrowing(s, slope, out);
}

/* ---- a pool ---- */

static double surely_left(const struct air_spare *spare)
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

  if (!out->declared.given || !solve(s, scene))
    return;
  before = declared_margin(s->shadow.air, scene, pool);
  for (int i = 0; i < s->n; i++) {
    double after = before;

    facility_move(s->search->air->moved, i, step_ratio);
    after = declared_margin(s->shadow.air, scene, pool);
    s->scratch[i] = (after - before) / step_ratio;
    facility_move(s->search->air->moved, i, 0.0);
  }
  fill_spare(s, s->scratch, before,
             &(struct air_miss){.kind = AIR_MISS_DECLARED,
                                .index = pool,
                                .actual = out->declared.demand_m3_s,
                                .wanted = out->declared.capacity_m3_s},
             &declared);
  if (!isfinite(before) || (out->spare.known && surely_left(&out->spare) <= surely_left(&declared)))
    return;
  out->spare = declared;
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
      facility_move(s->search->air->moved, i, step_ratio);
      slope =
          (air_edge_scene(&s->shadow, s->search->scene, pool, AIR_WAY_UP, 1.0) - all) / step_ratio;
      facility_move(s->search->air->moved, i, 0.0);
    }
    add(&headroom, slope);
    add(&capacity, slope + demand[i]);
  }
  out->headroom_pm_m3_s = combined(s, &headroom);
  out->capacity_pm_m3_s = combined(s, &capacity);
  if (at_limit || !out->spare.known)
    return;

  double lowest = surely_left(&out->spare), reach = out->headroom_m3_s - lowest;

  out->headroom_pm_m3_s = fmax(out->headroom_pm_m3_s, reach);
  out->capacity_pm_m3_s = fmax(out->capacity_pm_m3_s, reach);
}

/* The flow at the limit: a passive station asks for nothing, so it is read from the solve. */
static double left_at(struct sure *s, int pool, const struct air_edge *edge)
{
  const struct air_pool *out = &s->answer->pools[pool];
  double extra = air_edge_scene(&s->shadow, s->search->scene, pool, edge->way, edge->share);

  if (!solve(s, &s->shadow.trial))
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
  if (edge.found && slopes_at(s, s->search->scene, pool, &edge, slope))
    fill_spare(s, slope, at_limit ? out->headroom_m3_s : left_at(s, pool, &edge), &edge.miss,
               &out->spare);
  if (!s->shadow.cut && (out->spare.known || !edge.found))
    doubt_headroom(s, pool, at_limit);
  declared_spare(s, pool);
}

/* ---- how many more, at the doubtful end ---- */

/* Are all choices of m fine at the doubtful end of the most demanding of them? */
static bool surely_fine(struct sure *s, const struct scene *scene, int pool,
                        const struct air_waiting *list, int n, int m)
{
  struct scene most = scene_copy(s->f, scene, s->search->arena);
  struct air_edge edge;
  bool fine;

  for (int i = 0; i < m; i++)
    air_raise_to_work(s->search->air, &most, list[i].station);
  if (!air_edge_beyond(&s->shadow, s->levels, &most, pool, AIR_WAY_STRETCH, &edge))
    return !s->shadow.cut; /* no limit within reach */
  if (!slopes_at(s, &most, pool, &edge, s->scratch))
    return false;

  struct sums sums = sums_of(s, s->scratch);

  if (air_edge_scene(&s->shadow, &most, pool, edge.way, edge.share) < combined(s, &sums))
    return false;
  move_all(s, s->scratch, sqrt(sums.squares));
  s->shadow.memory = air_memory_new(s->search->arena);
  fine = air_more_any(&s->shadow, scene, s->levels, list, n, m);
  move_all(s, NULL, 0.0);
  return fine;
}

/* The largest number up to `most` whose every choice is surely fine.  What is surely left
 * now says where to begin. */
static int surely_more(struct sure *s, const struct scene *scene, int pool, int most,
                       double left_m3_s)
{
  struct air_waiting list[AIR_MORE_MAX];
  int n = air_more_waiting(&s->shadow, scene, pool, list), m = 0;

  for (double taken = 0.0; m < most && taken + list[m].extra_m3_s <= left_m3_s; m++)
    taken += list[m].extra_m3_s;
  if (m > 0 && !surely_fine(s, scene, pool, list, n, m)) {
    do
      m--;
    while (m > 0 && !surely_fine(s, scene, pool, list, n, m));
    return m;
  }
  while (m < most && surely_fine(s, scene, pool, list, n, m + 1))
    m++;
  return m;
}

static void count_more(struct sure *s, int pool)
{
  struct air_pool *out = &s->answer->pools[pool];
  double left = out->spare.known ? surely_left(&out->spare) : (double)INFINITY;

  if (!out->more_known || out->more_guaranteed == 0)
    return;
  out->more_sure =
      left < 0.0 ? 0 : surely_more(s, s->search->scene, pool, out->more_guaranteed, left);
  if (s->answer->counts_doubts)
    out->more_guaranteed = out->more_sure;
}

/* ---- all parked: how many at the mark ---- */

static bool is_parked(const struct sure *s)
{
  for (int i = 0; i < s->f->station_count; i++)
    if (s->search->scene->stations[i].raised)
      return false;
  return true;
}

/* Without a network this costs next to nothing, so it is said of every scene. */
static void count_at_mark(struct sure *s)
{
  struct air_waiting list[AIR_MORE_MAX];
  struct scene parked = scene_copy(s->f, s->search->scene, s->search->arena);
  struct air_levels levels;
  bool as_it_is = is_parked(s);

  if (as_it_is ? s->levels->worst >= FACILITY_SHORT : !air_is_bare(s->f))
    return;
  for (int i = 0; i < s->f->station_count; i++) {
    parked.stations[i].raised = parked.stations[i].blocked = false;
    parked.stations[i].has_ask = parked.stations[i].has_measured = false;
  }
  if (!as_it_is)
    air_levels_of(s->search, &parked, &levels);
  for (int p = 0; p < s->answer->pool_count; p++) {
    struct air_pool *out = &s->answer->pools[p];
    int n = air_more_waiting(s->search, &parked, p, list), m = n;

    if (n == 0 || n == AIR_MORE_MAX || (as_it_is && !out->more_known))
      continue;
    out->has_mark = true;
    out->mark_of = n;
    out->mark_perhaps = out->more_perhaps;
    out->mark_guaranteed = out->more_sure;
    if (as_it_is)
      continue;

    const struct air_levels *asked = s->levels;

    s->levels = &levels;
    while (m > 0 && (levels.missed[p] || !air_more_any(s->search, &parked, &levels, list, n, m)))
      m--;
    out->mark_perhaps = m;
    out->mark_guaranteed = m > 0 ? surely_more(s, &parked, p, m, (double)INFINITY) : 0;
    s->levels = asked;
  }
}

/* ---- what follows for the levels ---- */

static int waiting_in(const struct sure *s, int pool)
{
  int count = 0;

  for (int i = 0; i < s->f->station_count; i++)
    count += air_pool_has_station(s->f, pool, i) && s->answer->stations[i].may_open.asked;
  return count;
}

/* What it lacks is missed in another pool, with which it shares stations. */
static bool is_borrowed(const struct air_pool *pool)
{
  return pool->best != FACILITY_SHORT && pool->spare.flow_m3_s < 0.0;
}

/* A file that says nothing of its figures' ± is taken at its word: the ± of our own defaults is
 * shown, and decides nothing. */
static bool says_how_sure(const struct facility *f)
{
  for (int i = 0; i < f->input_count; i++)
    if (f->inputs[i].from != FACILITY_DOUBT_ASSUMED)
      return true;
  return false;
}

/* Ample means that one more may open for certain: what is so at the best estimate only
 * counts as near its limit. */
static void conclude(struct sure *s, int pool)
{
  struct air_pool *out = &s->answer->pools[pool];
  bool is_short = out->best == FACILITY_SHORT;
  double left = surely_left(&out->spare);

  if (out->best == FACILITY_NOT_KNOWN || !out->spare.known || is_borrowed(out))
    return;
  out->within_short = !is_short && left < 0.0;
  out->within_fine = is_short && out->spare.flow_m3_s + out->spare.pm_m3_s > 0.0;
  if (s->answer->counts_doubts && out->best == FACILITY_AMPLE &&
      (left < (s->f->has_headroom_margin ? s->f->headroom_margin_m3_s : 0.0) ||
       (waiting_in(s, pool) > 0 && out->more_known && out->more_guaranteed == 0)))
    out->state = FACILITY_NEAR_LIMIT;
  if (out->state > s->answer->state)
    s->answer->state = out->state;
}

static void conclude_station(struct sure *s, int station)
{
  struct air_may_open *may = &s->answer->stations[station].may_open;

  if (!may->asked)
    return;
  may->has_sure = may->sure = true;
  for (int p = 0; p < s->answer->pool_count; p++) {
    const struct air_pool *pool = &s->answer->pools[p];
    double extra = air_work_ask_m3_s(s->search->air, station) -
                   scene_station_ask_m3_s(s->f, s->search->scene, station);

    if (!air_pool_has_station(s->f, p, station) || pool->more_guaranteed > 0)
      continue;
    may->has_sure = may->has_sure && pool->spare.known;
    may->sure = may->sure && pool->spare.known && surely_left(&pool->spare) >= extra;
  }
  may->sure =
      may->sure && may->state_after != FACILITY_SHORT && may->state_after != FACILITY_NOT_KNOWN;
}

/* The least left for those who wait; where it may be nothing at all, the least of all. */
static double ease(struct sure *s, int pool)
{
  double left = surely_left(&s->answer->pools[pool].spare);
  double wanted = air_edge_scene(&s->shadow, s->search->scene, pool, AIR_WAY_UP, 1.0);

  if (left < 0.0)
    return left * 1e6;
  return wanted > 0.0 ? left / wanted : 1e6 + left;
}

static void find_weakest(struct sure *s)
{
  double least = INFINITY;

  for (int p = 0; p < s->answer->pool_count; p++) {
    if (!s->answer->pools[p].spare.known || is_borrowed(&s->answer->pools[p]))
      continue;

    double now = ease(s, p);

    if (now < least) {
      least = now;
      s->answer->weakest = p;
    }
  }
}

/* ---- lower first, at the doubtful end ---- */

static double most_wanted(struct sure *s, int pool)
{
  struct air_waiting list[AIR_MORE_MAX];

  return air_more_waiting(s->search, s->search->scene, pool, list) > 0 ? list[0].extra_m3_s : 0.0;
}

/* What lowering frees is told as the file has it, not as moved. */
static void as_written(const struct sure *s, struct air_lower_list *list)
{
  for (int i = 0; i < list->count; i++) {
    struct air_lower *sash = &list->sashes[i];
    const struct facility_station *station = &s->f->stations[sash->station];
    bool raised = sash->has_to_m && sash->to_m > station->parked_m;

    sash->frees_m3_s = scene_station_ask_m3_s(s->f, s->search->scene, sash->station) -
                       facility_station_rule_m3_s(station, raised, sash->to_m);
    if (s->answer->best != FACILITY_SHORT && sash->state_after == FACILITY_SHORT)
      sash->state_after = FACILITY_NEAR_LIMIT; /* within the ± only */
  }
}

/* A list that is enough there too takes the place of the one at the best estimate. */
static void lower_surely(struct sure *s, bool ends_short, struct air_lower_list *out)
{
  const double slack_ratio = 0.8; /* lists that free less than this of the need are not tried */
  const struct air_pool *weakest = &s->answer->pools[s->answer->weakest];
  struct air_lower_list surely = {0};

  s->shadow.least_to_free_m3_s =
      slack_ratio *
      ((ends_short ? 0.0 : most_wanted(s, s->answer->weakest)) - surely_left(&weakest->spare));
  air_lower_first(&s->shadow, ends_short, &surely);
  as_written(s, &surely);
  if (out->found && (!surely.found || surely.why) && !surely.shut_doors)
    out->why = "at the best estimate; within the ± it may not be enough";
  else
    *out = surely;
}

static void lower_at_doubtful_end(struct sure *s)
{
  enum facility_level state = s->answer->state;

  if (!s->answer->counts_doubts || s->answer->weakest < 0 ||
      (state != FACILITY_SHORT && state != FACILITY_NEAR_LIMIT))
    return;

  const double *slope = &s->slope[s->answer->weakest * s->n];
  struct sums sums = sums_of(s, slope);

  move_all(s, slope, sqrt(sums.squares));
  s->shadow.memory = air_memory_new(s->search->arena);
  if (state == FACILITY_SHORT)
    lower_surely(s, true, &s->answer->ends_short);
  lower_surely(s, false, &s->answer->reaches_ample);
  move_all(s, NULL, 0.0);
}

/* ---- all of it ---- */

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
                   .scratch = ARENA_ARRAY(search->arena, double, n)};

  if (!s.demand_slope || !s.slope || !s.scratch || !make_shadow(search->air))
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
  for (int p = 0; answer->sure && p < answer->pool_count; p++) {
    look_at_pool(&s, p, &edges[p]);
    count_more(&s, p);
  }
  if (answer->sure)
    count_at_mark(&s);
  for (int p = 0; p < answer->pool_count; p++)
    conclude(&s, p);
  for (int i = 0; answer->sure && i < f->station_count; i++)
    conclude_station(&s, i);
  find_weakest(&s);
  if (answer->sure)
    lower_at_doubtful_end(&s);
  search->cut = search->cut || s.shadow.cut;
}
