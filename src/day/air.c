/* Sets of sashes that are up together, to the state of the shared air. */
#include "day/day_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ARENA_BYTES = 8 << 20, EDGES_MOST = 4096, SLOTS_FIRST = 1024 };

/* Sets with a level, none of which is inside another of the list. */
struct edges {
  int count;
  uint64_t list[EDGES_MOST];
};
struct slot {
  uint64_t set;
  bool used;
  enum facility_level level;
};

struct day_air {
  const struct facility *facility;
  struct air *air;
  struct arena arena; /* of one solve */
  struct arena own;
  struct scene parked, trial;
  double *openings_m;
  double *adds_m3_s, *parked_m3_s;
  bool measured; /* the two above */
  struct slot *slots;
  size_t slot_count, used;
  struct edges at_least[2], at_most[2]; /* [0]: near limit, ample; [1]: short, near limit */
  long solves;
};

/* ---- made and forgotten ---- */

static void forget(struct day_air *a)
{
  memset(a->slots, 0, a->slot_count * sizeof *a->slots);
  memset(a->at_least, 0, sizeof a->at_least);
  memset(a->at_most, 0, sizeof a->at_most);
  a->used = 0;
  a->measured = false;
}

struct day_air *day_air_new(const struct facility *facility, struct err *err)
{
  if (facility->station_count > DAY_STATIONS_MOST) {
    err_write(err, ERR_INPUT, "a day is asked for at most %d stations; this suite has %d",
              DAY_STATIONS_MOST, facility->station_count);
    return NULL;
  }

  struct air *air = air_new(facility, err);
  struct day_air *a = air ? calloc(1, sizeof *a) : NULL;

  if (!a)
    return NULL;
  a->facility = facility;
  a->air = air;
  arena_init(&a->arena, ARENA_BYTES);
  arena_init(&a->own, ARENA_BYTES);
  a->parked = scene_parked(facility, &a->own);
  a->trial = scene_parked(facility, &a->own);
  size_t stations = (size_t)facility->station_count;

  a->openings_m = ARENA_ARRAY(&a->own, double, stations + 1);
  a->adds_m3_s = ARENA_ARRAY(&a->own, double, (stations + 1) * DAY_POOLS_MOST);
  a->parked_m3_s = ARENA_ARRAY(&a->own, double, DAY_POOLS_MOST);
  BUG_IF(!a->openings_m || !a->adds_m3_s || !a->parked_m3_s);
  for (size_t i = 0; i < stations; i++)
    a->openings_m[i] = NAN;
  a->slot_count = SLOTS_FIRST;
  a->slots = calloc(a->slot_count, sizeof *a->slots);
  if (!a->slots)
    err_no_memory();
  return a;
}

void day_air_free(struct day_air *air)
{
  if (!air)
    return;
  air_free(air->air);
  arena_release(&air->arena);
  arena_release(&air->own);
  free(air->slots);
  free(air);
}

static bool same_m(double a_m, double b_m)
{
  return (isnan(a_m) && isnan(b_m)) || fabs(a_m - b_m) < 1e-9;
}

void day_air_openings(struct day_air *air, const double *openings_m)
{
  bool changed = false;

  for (int i = 0; i < air->facility->station_count; i++) {
    double opening_m = openings_m ? openings_m[i] : (double)NAN;

    changed = changed || !same_m(opening_m, air->openings_m[i]);
    air->openings_m[i] = opening_m;
  }
  if (changed)
    forget(air);
}

long day_air_solves(const struct day_air *air)
{
  return air->solves;
}

/* ---- one solve ---- */

static void raise(struct day_air *a, uint64_t set)
{
  const struct facility *f = a->facility;

  scene_assign(f, &a->trial, &a->parked);
  for (int i = 0; i < f->station_count; i++)
    if (set >> i & 1) {
      struct scene_station *s = &a->trial.stations[i];

      s->raised = true;
      s->opening_m = isnan(a->openings_m[i]) ? f->stations[i].work_m : a->openings_m[i];
    }
}

/* At the best estimate, and no advice: what chance asks, often. */
static const struct air_settings plain = {.advise = false, .solve_budget = 6000};

static const struct air_answer *solve(struct day_air *air, uint64_t set,
                                      const struct air_settings *settings)
{
  struct err err = {0};

  raise(air, set);
  arena_release(&air->arena);
  arena_init(&air->arena, ARENA_BYTES);
  air->solves++;
  return air_ask(air->air, &air->trial, settings, &air->arena, &err);
}

enum facility_level day_air_solve(struct day_air *air, uint64_t set, struct day_pool *pools,
                                  struct arena *arena, const char **binding_out)
{
  const struct air_answer *answer = solve(air, set, &air_settings_sure);

  if (binding_out)
    *binding_out = answer && answer->reason_count > 0 && answer->state != FACILITY_AMPLE
                       ? arena_strdup(arena, answer->reasons[0])
                       : NULL;
  if (!answer)
    return FACILITY_NOT_KNOWN;
  for (int p = 0; pools && p < answer->pool_count && p < DAY_POOLS_MOST; p++) {
    const struct air_pool *pool = &answer->pools[p];

    pools[p] =
        (struct day_pool){pool->state, pool->demand_m3_s,
                          pool->has_headroom && !pool->at_most ? pool->capacity_m3_s : (double)NAN};
  }
  return answer->state;
}

/* ---- what was solved ---- */

static struct slot *slot_of(struct day_air *a, uint64_t set)
{
  size_t at = (size_t)((set * 0x9E3779B97F4A7C15u) >> 20) & (a->slot_count - 1);

  while (a->slots[at].used && a->slots[at].set != set)
    at = (at + 1) & (a->slot_count - 1);
  return &a->slots[at];
}

static void grow(struct day_air *a)
{
  struct slot *old = a->slots;
  size_t count = a->slot_count;

  a->slot_count *= 2;
  a->slots = calloc(a->slot_count, sizeof *a->slots);
  if (!a->slots)
    err_no_memory();
  for (size_t i = 0; i < count; i++)
    if (old[i].used)
      *slot_of(a, old[i].set) = old[i];
  free(old);
}

static void keep(struct day_air *a, uint64_t set, enum facility_level level)
{
  if (2 * ++a->used > a->slot_count)
    grow(a);
  *slot_of(a, set) = (struct slot){set, true, level};
}

/* Takes out what the new one makes superfluous. */
static void add_edge(struct edges *edges, uint64_t set, bool smallest)
{
  int kept = 0;

  for (int i = 0; i < edges->count; i++) {
    uint64_t e = edges->list[i];
    bool covered = smallest ? (e & set) == set : (e & set) == e;

    if (!covered)
      edges->list[kept++] = e;
  }
  edges->count = kept;
  if (edges->count < EDGES_MOST)
    edges->list[edges->count++] = set;
}

static bool has_inside(const struct edges *edges, uint64_t set)
{
  for (int i = 0; i < edges->count; i++)
    if ((edges->list[i] & set) == edges->list[i])
      return true;
  return false;
}

static bool is_inside(const struct edges *edges, uint64_t set)
{
  for (int i = 0; i < edges->count; i++)
    if ((edges->list[i] & set) == set)
      return true;
  return false;
}

/* From sets that hold it and sets that it holds; false: to be solved. */
static bool infer(const struct day_air *a, uint64_t set, enum facility_level *out)
{
  if (has_inside(&a->at_least[1], set))
    *out = FACILITY_SHORT;
  else if (is_inside(&a->at_most[0], set))
    *out = FACILITY_AMPLE;
  else if (has_inside(&a->at_least[0], set) && is_inside(&a->at_most[1], set))
    *out = FACILITY_NEAR_LIMIT;
  else
    return false;
  return true;
}

static void learn(struct day_air *a, uint64_t set, enum facility_level level)
{
  if (level == FACILITY_NOT_KNOWN)
    return;
  if (level >= FACILITY_NEAR_LIMIT)
    add_edge(&a->at_least[0], set, true);
  else
    add_edge(&a->at_most[0], set, false);
  if (level == FACILITY_SHORT)
    add_edge(&a->at_least[1], set, true);
  else
    add_edge(&a->at_most[1], set, false);
}

enum facility_level day_air_level(struct day_air *air, uint64_t set)
{
  struct slot *slot = slot_of(air, set);
  enum facility_level level;

  if (slot->used)
    return slot->level;
  if (!infer(air, set, &level)) {
    const struct air_answer *answer = solve(air, set, &plain);

    level = answer ? answer->state : FACILITY_NOT_KNOWN;
    learn(air, set, level);
  }
  keep(air, set, level);
  return level;
}

uint64_t day_air_core(struct day_air *air, uint64_t set)
{
  for (int i = 0; i < air->facility->station_count; i++)
    if ((set >> i & 1) && day_air_level(air, set & ~((uint64_t)1 << i)) == FACILITY_SHORT)
      set &= ~((uint64_t)1 << i);
  return set;
}

/* ---- demand ---- */

static void demand_of(struct day_air *a, uint64_t set, double *out_m3_s)
{
  const struct air_answer *answer = solve(a, set, &plain);

  for (int p = 0; p < DAY_POOLS_MOST; p++)
    out_m3_s[p] = answer && p < answer->pool_count ? answer->pools[p].demand_m3_s : 0.0;
}

static void measure(struct day_air *a)
{
  double with_m3_s[DAY_POOLS_MOST];

  if (a->measured)
    return;
  demand_of(a, 0, a->parked_m3_s);
  for (int i = 0; i < a->facility->station_count; i++) {
    demand_of(a, (uint64_t)1 << i, with_m3_s);
    for (int p = 0; p < DAY_POOLS_MOST; p++)
      a->adds_m3_s[i * DAY_POOLS_MOST + p] = fmax(with_m3_s[p] - a->parked_m3_s[p], 0.0);
  }
  a->measured = true;
}

double day_air_adds_m3_s(struct day_air *air, int station, int pool)
{
  measure(air);
  return air->adds_m3_s[station * DAY_POOLS_MOST + pool];
}

double day_air_parked_m3_s(struct day_air *air, int pool)
{
  measure(air);
  return air->parked_m3_s[pool];
}
