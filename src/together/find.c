/* What stands in the table: how many, the largest, the tightest, the smallest that break. */
#include "numeric/numeric.h"
#include "together/together_impl.h"

#include <string.h>

struct finding {
  struct together_sets *s;
  const struct together_answer *a;
  unsigned char bit; /* of the column that counts */
  int count;
  uint32_t *minimal;
};

static bool is_fine(const struct finding *f, uint32_t set)
{
  return f->s->table[set] & f->bit;
}

/* ---- how many ---- */

static void count_column(struct finding *f, unsigned char bit, int *any, int *best)
{
  int least_broken = f->count + 1;

  *best = 0;
  for (uint32_t set = 0; set < 1u << f->count; set++) {
    int size = __builtin_popcount(set);

    if (f->s->table[set] & bit)
      *best = size > *best ? size : *best;
    else if (size < least_broken)
      least_broken = size;
  }
  *any = least_broken > 0 ? least_broken - 1 : 0;
}

static void count_sets(struct finding *f)
{
  count_column(f, TOGETHER_FINE, &f->s->any[0], &f->s->best[0]);
  count_column(f, TOGETHER_SURE, &f->s->any[1], &f->s->best[1]);
  for (uint32_t set = 0; set < 1u << f->count; set++) {
    f->s->fine_count += f->s->table[set] & TOGETHER_FINE ? 1 : 0;
    f->s->sure_count += f->s->table[set] & TOGETHER_SURE ? 1 : 0;
  }
}

/* ---- lists ---- */

/* Keeps the first few by size, then by number: `sets` is in that order already. */
static void keep(struct together_set *list, int *shown, uint32_t set, bool largest_first)
{
  struct together_set one = {.stations = set, .size = __builtin_popcount(set), .next = -1};
  int at = *shown;

  while (at > 0 && (largest_first ? list[at - 1].size < one.size : list[at - 1].size > one.size))
    at--;
  if (at == TOGETHER_SETS_SHOWN)
    return;
  if (*shown < TOGETHER_SETS_SHOWN)
    ++*shown;
  memmove(&list[at + 1], &list[at], (size_t)(*shown - at - 1) * sizeof *list);
  list[at] = one;
}

static bool is_maximal(const struct finding *f, uint32_t set)
{
  for (int i = 0; i < f->count; i++)
    if (!(set >> i & 1u) && is_fine(f, set | 1u << i))
      return false;
  return true;
}

static bool is_minimal(const struct finding *f, uint32_t set)
{
  for (int i = 0; i < f->count; i++)
    if (set >> i & 1u && !is_fine(f, set & ~(1u << i)))
      return false;
  return true;
}

/* Room for all of the breaking sets: counted first. */
static bool make_room(struct finding *f, struct arena *arena)
{
  size_t count = 0;

  for (uint32_t set = 0; set < 1u << f->count; set++)
    count += !is_fine(f, set) && is_minimal(f, set);
  f->minimal = ARENA_ARRAY(arena, uint32_t, count + 1);
  f->s->minimal = f->minimal;
  return f->minimal != NULL;
}

static void list_sets(struct finding *f)
{
  struct together_sets *s = f->s;
  int best = s->best[f->bit == TOGETHER_SURE];

  for (uint32_t set = 0; set < 1u << f->count; set++) {
    if (!is_fine(f, set)) {
      if (is_minimal(f, set)) {
        s->counts |= set;
        f->minimal[s->breaking_count] = set;
        s->breaking_count++;
        keep(s->breaking, &s->breaking_shown, set, false);
      }
      continue;
    }
    if (__builtin_popcount(set) == best) {
      s->best_count++;
      keep(s->largest, &s->best_shown, set, true);
    }
    if (is_maximal(f, set) && set != (1u << f->count) - 1) {
      s->tightest_count++;
      keep(s->tightest, &s->tightest_shown, set, false);
    }
  }
}

/* ---- what breaks ---- */

static void say_misses(struct air_sets *sets, uint32_t open, struct together_set *out,
                       struct arena *arena)
{
  const char *words[AIR_SET_MISSES_MAX];
  int count = air_sets_misses(sets, open, arena, words);

  out->miss_count = count < AIR_SET_MISSES_MAX ? count : AIR_SET_MISSES_MAX;
  out->misses = ARENA_ARRAY(arena, const char *, (size_t)out->miss_count + 1);
  for (int i = 0; out->misses && i < out->miss_count; i++)
    out->misses[i] = words[i];
}

/* The least demanding of those that no longer fit: what stops even that one binds. */
static int next_of(const struct finding *f, const struct air_sets *sets, uint32_t set)
{
  int best = -1;

  for (int i = 0; i < f->count; i++)
    if (!(set >> i & 1u) && !is_fine(f, set | 1u << i) &&
        (best < 0 ||
         numeric_exceeds(air_sets_extra_m3_s(sets, best), air_sets_extra_m3_s(sets, i), 1e-9)))
      best = i;
  return best;
}

static void say_all(struct finding *f, struct air_sets *sets, struct arena *arena)
{
  for (int i = 0; i < f->s->breaking_shown; i++)
    say_misses(sets, f->s->breaking[i].stations, &f->s->breaking[i], arena);
  for (int i = 0; i < f->s->tightest_shown; i++) {
    struct together_set *set = &f->s->tightest[i];

    set->next = next_of(f, sets, set->stations);
    if (set->next >= 0)
      say_misses(sets, set->stations | 1u << set->next, set, arena);
  }
}

bool together_find(struct together_sets *s, const struct together_answer *a, struct air_sets *sets,
                   struct arena *arena)
{
  struct finding f = {
      .s = s, .a = a, .bit = s->sure ? TOGETHER_SURE : TOGETHER_FINE, .count = a->count};

  for (int i = 0; i < a->count; i++)
    s->own_fault |= air_sets_has_own_fault(sets, i) ? 1u << i : 0u;
  s->nothing = !is_fine(&f, 0);
  s->at_doubt = s->nothing && s->table[0] & TOGETHER_FINE;
  count_sets(&f);
  if (s->nothing) {
    struct together_set none = {0};

    say_misses(sets, 0, &none, arena);
    s->parked_count = none.miss_count;
    s->parked_misses = none.misses;
    return true;
  }
  if (!make_room(&f, arena))
    return false;
  list_sets(&f);
  say_all(&f, sets, arena);
  return true;
}
