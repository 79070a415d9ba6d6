/*
 * What the doubtful end means for counts, levels and lists of sashes.
 */
#include "air/sure_impl.h"
#include "numeric/numeric.h"

#include <math.h>

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
  if (!sure_slopes_at(s, &most, pool, &edge, s->scratch))
    return false;

  struct sums sums = sure_sums_of(s, s->scratch);

  if (air_edge_scene(&s->shadow, &most, pool, edge.way, edge.share) < sure_combined(s, &sums))
    return false;
  sure_move_all(s, s->scratch, sqrt(sums.squares));
  s->shadow.memory = air_memory_new(s->search->arena);
  fine = air_more_any(&s->shadow, scene, s->levels, list, n, m);
  sure_move_all(s, NULL, 0.0);
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

void sure_count_more(struct sure *s, int pool)
{
  struct air_pool *out = &s->answer->pools[pool];
  double left = out->spare.known ? sure_left(&out->spare) : (double)INFINITY;

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
void sure_count_at_mark(struct sure *s)
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
bool sure_is_borrowed(const struct air_pool *pool)
{
  return pool->best != FACILITY_SHORT && pool->spare.flow_m3_s < 0.0;
}

/* Ample means that one more may open for certain: what is so at the best estimate only
 * counts as near its limit. */
void sure_conclude(struct sure *s, int pool)
{
  struct air_pool *out = &s->answer->pools[pool];
  bool is_short = out->best == FACILITY_SHORT;
  double left = sure_left(&out->spare);

  if (out->best == FACILITY_NOT_KNOWN || !out->spare.known || sure_is_borrowed(out))
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

void sure_conclude_station(struct sure *s, int station)
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
    may->sure = may->sure && pool->spare.known && sure_left(&pool->spare) >= extra;
  }
  may->sure =
      may->sure && may->state_after != FACILITY_SHORT && may->state_after != FACILITY_NOT_KNOWN;
}

/* The least left for those who wait; where it may be nothing at all, the least of all. */
static double ease(struct sure *s, int pool)
{
  double left = sure_left(&s->answer->pools[pool].spare);
  double wanted = air_edge_scene(&s->shadow, s->search->scene, pool, AIR_WAY_UP, 1.0);

  if (left < 0.0)
    return left * 1e6;
  return wanted > 0.0 ? left / wanted : 1e6 + left;
}

void sure_find_weakest(struct sure *s)
{
  double least = INFINITY;

  for (int p = 0; p < s->answer->pool_count; p++) {
    if (!s->answer->pools[p].spare.known || sure_is_borrowed(&s->answer->pools[p]))
      continue;

    double now = ease(s, p);

    if (numeric_exceeds(least, now, 1e-9)) {
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
      ((ends_short ? 0.0 : most_wanted(s, s->answer->weakest)) - sure_left(&weakest->spare));
  air_lower_first(&s->shadow, ends_short, &surely);
  as_written(s, &surely);
  if (out->found && (!surely.found || surely.why) && !surely.shut_doors)
    out->why = "at the best estimate; within the ± it may not be enough";
  else
    *out = surely;
}

void sure_lower(struct sure *s)
{
  enum facility_level state = s->answer->state;

  if (!s->answer->counts_doubts || s->answer->weakest < 0 ||
      (state != FACILITY_SHORT && state != FACILITY_NEAR_LIMIT))
    return;

  const double *slope = &s->slope[s->answer->weakest * s->n];
  struct sums sums = sure_sums_of(s, slope);

  sure_move_all(s, slope, sqrt(sums.squares));
  s->shadow.memory = air_memory_new(s->search->arena);
  if (state == FACILITY_SHORT)
    lower_surely(s, true, &s->answer->ends_short);
  lower_surely(s, false, &s->answer->reaches_ample);
  sure_move_all(s, NULL, 0.0);
}
