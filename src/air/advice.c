/*
 * What may be opened, how many more, and what to lower first.
 *
 * Every statement here comes from real solves of the scene it speaks of.  The
 * searches are small because a suite has tens of stations; where the purse of
 * solves ends first, the answer says so.
 */
#include "air/air_impl.h"
#include "numeric/numeric.h"

#include <math.h>
#include <string.h>

/* Where a pool holds more stations than this the advice says that it was cut. */
enum { STATIONS_MAX = AIR_MORE_MAX, LIST_MAX = 3 };

struct pick {
  int station, rank; /* rank: 0 unattended, 1 above the mark, 2 attended at work */
  double to_m, frees_m3_s;
  bool has_to_m;
};

/* ---- may this one open? ---- */

static void may_open(struct air_search *search, const struct air_levels *before, int station,
                     struct air_may_open *out)
{
  const struct facility *f = search->air->facility;
  struct air_levels after;

  if (!air_station_waits(search->air, search->scene, station))
    return;
  out->asked = true;
  out->has_to_m = f->stations[station].has_openings;
  out->to_m = f->stations[station].work_m;
  scene_assign(f, &search->after, search->scene);
  air_raise_to_work(search->air, &search->after, station);
  air_levels_of(search, &search->after, &after);
  out->state_after = after.worst;
  for (int p = 0; p < air_pool_count(f); p++) {
    if (after.missed[p] && !before->missed[p])
      out->binding = air_miss_words(search->air, &after.first_miss[p], search->arena);
    else if (!out->binding && after.pool[p] == FACILITY_NEAR_LIMIT &&
             (after.binding_station[p] >= 0 || after.margin_short[p]))
      out->binding = air_miss_words(search->air, &after.binding_miss[p], search->arena);
  }
}

/* ---- lower first ---- */

/* Who may be asked to lower, and how far: never a station that needs its flow, a
 * blocked one, or one where lowering frees nothing (design: what may never be said). */
static bool can_lower(const struct air_search *search, int station, struct pick *pick)
{
  const struct facility_station *s = &search->air->facility->stations[station];
  const struct scene_station *now = &search->scene->stations[station];
  const struct facility *f = search->air->facility;
  bool above_mark = s->has_openings && now->opening_m > s->work_m + 1e-9;

  if (!s->in_service || !now->raised || now->blocked || now->needs_flow)
    return false;
  *pick = (struct pick){.station = station,
                        .rank = now->unattended ? 0
                                : above_mark    ? 1
                                                : 2,
                        .has_to_m = s->has_openings,
                        .to_m = above_mark && !now->unattended ? s->work_m : s->parked_m};
  struct scene_station lowered = *now;
  struct scene one = *search->scene;

  one.stations = search->after.stations;
  one.stations[station] = lowered;
  one.stations[station].has_ask = false;
  one.stations[station].opening_m = pick->to_m;
  one.stations[station].raised = pick->to_m > s->parked_m;
  pick->frees_m3_s =
      scene_station_ask_m3_s(f, search->scene, station) - scene_station_ask_m3_s(f, &one, station);
  return pick->frees_m3_s > 1e-9 || s->flow == FACILITY_PASSIVE;
}

static bool is_better(const void *one, const void *other)
{
  const struct pick *a = one, *b = other;

  return a->rank != b->rank ? a->rank < b->rank
                            : numeric_exceeds(a->frees_m3_s, b->frees_m3_s, air_no_flow_m3_s);
}

static int lowerable(struct air_search *search, struct pick *list)
{
  int count = 0;

  for (int i = 0; i < search->air->facility->station_count && count < STATIONS_MAX; i++)
    if (can_lower(search, i, &list[count]))
      count++;
  search->cut = search->cut || count == STATIONS_MAX;
  numeric_sort(list, (size_t)count, sizeof *list, is_better);
  return count;
}

void air_lower_one(const struct facility *facility, struct scene *scene,
                   const struct air_lower *sash)
{
  const struct facility_station *s = &facility->stations[sash->station];
  struct scene_station *now = &scene->stations[sash->station];

  now->opening_m = sash->to_m;
  now->raised = sash->has_to_m && sash->to_m > s->parked_m;
  now->has_ask = false;
  now->has_measured = false;
}

static struct air_lower sash_of(const struct pick *p, enum facility_level state_after)
{
  return (struct air_lower){p->station, p->to_m, p->has_to_m, p->frees_m3_s, state_after};
}

static void lower_chosen(struct air_search *search, const struct pick *list, const int *chosen,
                         int count)
{
  scene_assign(search->air->facility, &search->after, search->scene);
  for (int i = 0; i < count; i++) {
    struct air_lower sash = sash_of(&list[chosen[i]], FACILITY_NOT_KNOWN);

    air_lower_one(search->air->facility, &search->after, &sash);
  }
}

typedef bool reaches_fn(struct air_search *search, const struct scene *scene);

static bool no_longer_short(struct air_search *search, const struct scene *scene)
{
  struct air_outcome o;

  if (!air_search_ask(search, scene, &o) || o.miss_count > 0)
    return false;
  for (int p = 0; p < air_pool_count(search->air->facility); p++) {
    struct air_declared d = air_pool_declared(search->air, scene, p, NULL);

    if (d.given && d.state == FACILITY_SHORT)
      return false;
  }
  return true;
}

static bool works(struct air_search *search, reaches_fn *reaches, const struct pick *list,
                  const int *chosen, int count)
{
  lower_chosen(search, list, chosen, count);
  return reaches(search, &search->after);
}

/* Is it worth a solve?  What is known to be needed must at least be freed. */
static bool frees_enough(const struct air_search *search, const struct pick *list,
                         const int *chosen, int count)
{
  double frees = 0.0;

  for (int i = 0; i < count; i++) {
    if (search->air->facility->stations[list[chosen[i]].station].flow == FACILITY_PASSIVE)
      return true; /* what it draws is not known beforehand */
    frees += list[chosen[i]].frees_m3_s;
  }
  return frees >= search->least_to_free_m3_s;
}

static int rank_sum(const struct pick *list, const int *chosen, int count)
{
  int sum = 0;

  for (int i = 0; i < count; i++)
    sum += list[chosen[i]].rank;
  return sum;
}

/* The best choice of exactly k: the fewest attended people disturbed, then the
 * first in order.  Returns false when none works. */
static bool best_of_size(struct air_search *search, reaches_fn *reaches, const struct pick *list,
                         int n, int k, int *best)
{
  int chosen[STATIONS_MAX], least = -1;

  air_first_choice(chosen, k, 0);
  do {
    int rank = rank_sum(list, chosen, k);

    if ((least >= 0 && rank >= least) || !frees_enough(search, list, chosen, k))
      continue;
    if (works(search, reaches, list, chosen, k)) {
      least = rank;
      memcpy(best, chosen, (size_t)k * sizeof *best);
    }
  } while (!search->cut && air_next_choice(chosen, k, n));
  return least >= 0;
}

/* More than LIST_MAX: take them in order until it works, then drop what was not needed. */
static int in_order(struct air_search *search, reaches_fn *reaches, const struct pick *list, int n,
                    int *best)
{
  int count = 0;

  while (count < n) {
    best[count] = count;
    count++;
    if (works(search, reaches, list, best, count))
      break;
  }
  for (int drop = count - 1; drop >= 0; drop--) {
    int without[STATIONS_MAX], kept = 0;

    for (int i = 0; i < count; i++)
      if (i != drop)
        without[kept++] = best[i];
    if (works(search, reaches, list, without, kept)) {
      memcpy(best, without, (size_t)kept * sizeof *best);
      count = kept;
    }
  }
  return count;
}

static void fill_list(struct air_search *search, const struct pick *list, const int *best,
                      int count, struct air_lower_list *out)
{
  struct air_levels levels;

  out->found = true;
  out->count = count;
  out->sashes = ARENA_ARRAY(search->arena, struct air_lower, (size_t)count + 1);
  for (int i = 0; i < count; i++) {
    lower_chosen(search, list, best, i + 1);
    air_levels_of(search, &search->after, &levels);
    out->sashes[i] = sash_of(&list[best[i]], levels.worst);
  }
}

/* Shuts what stands open in search->after, and asks there; false when nothing stands open. */
static bool reached_with_doors_shut(struct air_search *search, reaches_fn *reaches)
{
  bool any = false;

  for (int i = 0; i < search->air->facility->door_count; i++) {
    any = any || search->after.door_open[i];
    search->after.door_open[i] = false;
  }
  return any && reaches(search, &search->after);
}

/* An open door is shut in a second and disturbs nobody: it comes before any sash. */
static bool doors_come_first(struct air_search *search, reaches_fn *reaches,
                             const struct pick *list, const int *all, int n,
                             struct air_lower_list *out)
{
  lower_chosen(search, list, all, 0);
  if (reached_with_doors_shut(search, reaches)) {
    out->why = "shut what stands open: then no sash need come down";
    return out->shut_doors = true;
  }
  if (!works(search, reaches, list, all, n) && reached_with_doors_shut(search, reaches)) {
    out->why = "shut what stands open, then ask again: lowering sashes alone does not do it";
    return out->shut_doors = true;
  }
  return false;
}

static void lower_first(struct air_search *search, reaches_fn *reaches, const char *goal,
                        struct air_lower_list *out)
{
  struct pick list[STATIONS_MAX];
  int best[STATIONS_MAX], n;

  scene_assign(search->air->facility, &search->after, search->scene);
  n = lowerable(search, list);
  air_first_choice(best, n, 0);
  if (doors_come_first(search, reaches, list, best, n, out))
    return;
  if (n == 0 || !works(search, reaches, list, best, n)) {
    out->why = air_say(search->arena,
                       n == 0 ? "no sash is open that may be lowered and would free air"
                              : "lowering all %d sashes that may be lowered does not %s: call the "
                                "ventilation technician",
                       n, goal);
    return;
  }
  for (int k = 1; k <= LIST_MAX && k <= n && !search->cut; k++)
    if (best_of_size(search, reaches, list, n, k, best)) {
      fill_list(search, list, best, k, out);
      return;
    }
  out->why = "more than three sashes: call the ventilation technician too";
  fill_list(search, list, best, in_order(search, reaches, list, n, best), out);
}

void air_lower_first(struct air_search *search, bool ends_short, struct air_lower_list *out)
{
  if (ends_short)
    lower_first(search, no_longer_short, "end the shortage", out);
  else
    lower_first(search, air_is_ample, "reach ample", out);
}

struct air_lower *air_may_lower(struct air *air, const struct scene *scene, struct arena *arena,
                                int *count_out)
{
  struct air_search search = {
      .air = air, .scene = scene, .after = scene_copy(air->facility, scene, arena), .arena = arena};
  struct air_lower *list =
      ARENA_ARRAY(arena, struct air_lower, (size_t)air->facility->station_count + 1);
  struct pick picks[STATIONS_MAX];

  *count_out = 0;
  if (!list || !search.after.stations)
    return NULL;
  *count_out = lowerable(&search, picks);
  for (int i = 0; i < *count_out; i++)
    list[i] = sash_of(&picks[i], FACILITY_NOT_KNOWN);
  return list;
}

/* ---- all of it ---- */

void air_advise(struct air_search *search, const struct air_levels *levels,
                struct air_answer *answer, struct air_edge *edges)
{
  const struct facility *f = search->air->facility;

  for (int p = 0; p < answer->pool_count; p++) {
    struct air_pool *out = &answer->pools[p];

    if (levels->computed[p] == FACILITY_NOT_KNOWN)
      continue;
    air_headroom(search, levels, p, out, &edges[p]);
    if (!search->spare_only)
      air_how_many_more(search, levels, p, out);
  }
  if (search->spare_only)
    return;
  if (levels->worst == FACILITY_SHORT)
    air_lower_first(search, true, &answer->ends_short);
  if (levels->worst == FACILITY_SHORT || levels->worst == FACILITY_NEAR_LIMIT)
    air_lower_first(search, false, &answer->reaches_ample);
  for (int i = 0; i < f->station_count; i++)
    may_open(search, levels, i, &answer->stations[i].may_open);
}
