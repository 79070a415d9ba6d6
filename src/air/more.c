/*
 * How many more may open: some choice of the waiting stations, and every choice.
 */
#include "air/air_impl.h"
#include "numeric/numeric.h"

void air_first_choice(int *chosen, int k, int from)
{
  for (int i = 0; i < k; i++)
    chosen[i] = from + i;
}

/* The next choice of k out of n in dictionary order; false after the last. */
bool air_next_choice(int *chosen, int k, int n)
{
  int i = k - 1;

  while (i >= 0 && chosen[i] == n - k + i)
    i--;
  if (i < 0)
    return false;
  chosen[i]++;
  for (int j = i + 1; j < k; j++)
    chosen[j] = chosen[j - 1] + 1;
  return true;
}

const double air_no_flow_m3_s = 1e-9;

static bool asks_more(const void *one, const void *other)
{
  const struct air_waiting *a = one, *b = other;

  return numeric_exceeds(a->extra_m3_s, b->extra_m3_s, air_no_flow_m3_s);
}

/* The pool's waiting stations, the most demanding first. */
int air_more_waiting(struct air_search *search, const struct scene *scene, int pool,
                     struct air_waiting *list)
{
  const struct facility *f = search->air->facility;
  int count = 0;

  for (int i = 0; i < f->station_count && count < AIR_MORE_MAX; i++)
    if (air_pool_has_station(f, pool, i) && air_station_waits(search->air, scene, i))
      list[count++] = (struct air_waiting){i, air_work_ask_m3_s(search->air, i) -
                                                  scene_station_ask_m3_s(f, scene, i)};
  search->cut = search->cut || count == AIR_MORE_MAX;
  numeric_sort(list, (size_t)count, sizeof *list, asks_more);
  return count;
}

/* Does some declared rule call short what it does not call short now?  Measured
 * demand is read from the net, so it must hold this very trial. */
static bool declared_turns_short(struct air_search *search, const struct air_levels *levels)
{
  bool is_solved = false;
  struct air_outcome o;

  for (int p = 0; p < air_pool_count(search->air->facility); p++) {
    if (!levels->is_declared[p] || levels->declared[p] == FACILITY_SHORT)
      continue;
    if (!is_solved && !air_search_ask(search, &search->trial, &o))
      return true;
    is_solved = true;
    if (air_pool_declared(search->air, &search->trial, p, NULL).state == FACILITY_SHORT)
      return true;
  }
  return false;
}

static bool trial_is_fine(struct air_search *search, const struct air_levels *levels)
{
  struct air_outcome o;

  return air_search_recall(search, &search->trial, &o) &&
         !air_new_miss(search->air->facility, &o, levels) && !declared_turns_short(search, levels);
}

static bool may_open_together(struct air_search *search, const struct scene *scene,
                              const struct air_levels *levels, const struct air_waiting *list,
                              const int *chosen, int count)
{
  scene_assign(search->air->facility, &search->trial, scene);
  for (int i = 0; i < count; i++)
    air_raise_to_work(search->air, &search->trial, list[chosen[i]].station);
  return trial_is_fine(search, levels);
}

/* ---- by kind ---- */

/* Stations of one room that join the main at one place: among them the more demanding
 * stand for the less.  Without a network that is exact, because only totals count. */
struct kinds {
  struct air_search *search;
  const struct scene *scene;
  const struct air_levels *levels;
  const struct air_waiting *list;
  int n, kind_count;
  int kind[AIR_MORE_MAX], size[AIR_MORE_MAX], taken[AIR_MORE_MAX];
};

static bool are_alike(const struct facility_station *a, const struct facility_station *b)
{
  return a->room == b->room && a->main == b->main && a->joins == b->joins &&
         a->flow != FACILITY_PASSIVE && b->flow != FACILITY_PASSIVE;
}

static void sort_by_kind(struct kinds *k)
{
  const struct facility_station *stations = k->search->air->facility->stations;

  for (int i = 0; i < k->n; i++) {
    const struct facility_station *s = &stations[k->list[i].station];
    int kind = -1;

    for (int j = 0; j < i && kind < 0; j++)
      if (are_alike(s, &stations[k->list[j].station]))
        kind = k->kind[j];
    k->kind[i] = kind >= 0 ? kind : k->kind_count++;
    k->size[k->kind[i]]++;
  }
}

static bool mix_is_fine(struct kinds *k)
{
  int left[AIR_MORE_MAX];

  for (int i = 0; i < k->kind_count; i++)
    left[i] = k->taken[i];
  scene_assign(k->search->air->facility, &k->search->trial, k->scene);
  for (int i = 0; i < k->n; i++)
    if (left[k->kind[i]]-- > 0)
      air_raise_to_work(k->search->air, &k->search->trial, k->list[i].station);
  return trial_is_fine(k->search, k->levels);
}

/* Every way to take `left` more from the kinds at `from` and after it. */
static bool every_mix(struct kinds *k, int from, int left)
{
  if (left == 0)
    return mix_is_fine(k);
  if (from == k->kind_count)
    return true;
  for (int take = left < k->size[from] ? left : k->size[from]; take >= 0; take--) {
    int rest = 0;

    for (int i = from + 1; i < k->kind_count; i++)
      rest += k->size[i];
    if (left - take > rest)
      break;
    k->taken[from] = take;
    if (!every_mix(k, from + 1, left - take))
      return false;
  }
  k->taken[from] = 0;
  return true;
}

bool air_more_any(struct air_search *search, const struct scene *scene,
                  const struct air_levels *levels, const struct air_waiting *list, int n, int m)
{
  int chosen[AIR_MORE_MAX];
  bool fine;

  if (m == 0)
    return true;
  if (search->by_kind || air_is_bare(search->air->facility)) {
    struct kinds k = {.search = search, .scene = scene, .levels = levels, .list = list, .n = n};

    sort_by_kind(&k);
    return every_mix(&k, 0, m);
  }
  air_first_choice(chosen, m, 0);
  do {
    fine = may_open_together(search, scene, levels, list, chosen, m);
  } while (fine && air_next_choice(chosen, m, n));
  return fine;
}

/* Opening only ever takes air away from the others, so if every choice of m is
 * fine, every smaller choice is.  Start at the largest m whose most demanding
 * choice is fine, then try all choices of that size. */
void air_how_many_more(struct air_search *search, const struct air_levels *levels, int pool,
                       struct air_pool *out)
{
  struct air_waiting list[AIR_MORE_MAX];
  int chosen[AIR_MORE_MAX], n = air_more_waiting(search, search->scene, pool, list), m;

  out->more_known = n < AIR_MORE_MAX;
  if (!out->more_known || air_missed_with(search->air->facility, levels, pool) >= 0 || n == 0 ||
      levels->pool[pool] == FACILITY_SHORT)
    return;
  for (int best = n; best > 0; best--) { /* the least demanding are last */
    air_first_choice(chosen, best, n - best);
    if (may_open_together(search, search->scene, levels, list, chosen, best)) {
      out->more_best = best;
      break;
    }
  }
  m = out->more_best;
  while (m > 0 && !air_more_any(search, search->scene, levels, list, n, m))
    m--;
  out->more_guaranteed = out->more_perhaps = out->more_sure = m;
}
