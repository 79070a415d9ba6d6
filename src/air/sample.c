/*
 * The same scene in many buildings, every figure drawn from its ±, each solved by the exact laws:
 * propagation of distributions, JCGM 101:2008.  Knows nothing of slopes.
 */
#include "air/air_impl.h"
#include "numeric/numeric.h"

#include <math.h>

struct air_sampler {
  const struct facility *f;
  struct scene scene;
  struct facility_moved *moved;
  struct air *air; /* of the copy that moves */
  enum air_fault *own_fault;
  struct numeric_random random;
  struct arena *arena;
  struct air_sample tally;
};

static double normal(struct numeric_random *random)
{
  double u = 1.0 - numeric_random_unit(random), v = numeric_random_unit(random);

  return sqrt(-2.0 * log(u)) * cos(2.0 * acos(-1.0) * v); /* Box and Muller 1958 */
}

/* What a station misses alone is its own fault there too: the pools do not answer for it. */
static bool find_own_faults(struct air_sampler *s, struct air *air)
{
  size_t n = (size_t)s->f->station_count;
  enum air_fault *faults = ARENA_ARRAY(s->arena, enum air_fault, 2 * n + 1);
  struct air_search search = {.air = air,
                              .scene = &s->scene,
                              .own_fault = faults,
                              .at_work = faults + n,
                              .trial = scene_copy(s->f, &s->scene, s->arena),
                              .solves_left = 6000,
                              .arena = s->arena};

  s->own_fault = faults;
  if (!faults)
    return false;
  air_find_own_faults(&search);
  return true;
}

struct air_sampler *air_sampler_new(struct air *air, const struct scene *scene, uint64_t seed,
                                    struct arena *arena, struct err *err)
{
  const struct facility *f = air->facility;
  struct air_sampler *s = ARENA_NEW(arena, struct air_sampler);
  size_t keeps = 1;

  for (int i = 0; i < f->room_count; i++)
    keeps += (size_t)f->rooms[i].keep_count;
  if (!s) {
    err_set(err, ERR_LIMIT, "the draws need more memory than is set aside for them");
    return NULL;
  }
  s->f = f;
  s->arena = arena;
  s->scene = scene_copy(f, scene, arena);
  s->tally.keep_missed = ARENA_ARRAY(arena, long, keeps);
  s->tally.station_missed = ARENA_ARRAY(arena, long, (size_t)f->station_count + 1);
  s->tally.pool_missed = ARENA_ARRAY(arena, long, AIR_POOLS_MAX);
  if (!s->tally.keep_missed || !s->tally.station_missed || !s->tally.pool_missed ||
      !find_own_faults(s, air)) {
    err_set(err, ERR_LIMIT, "the draws need more memory than is set aside for them");
    return NULL;
  }
  s->moved = facility_moved_new(f, arena);
  s->air = air_new(facility_moved_as(s->moved), err);
  numeric_random_seed(&s->random, seed);
  return s->air ? s : NULL;
}

void air_sampler_free(struct air_sampler *s)
{
  if (s)
    air_free(s->air);
}

/* As what is left in a pool counts: in it, or in one that shares a station with it. */
static bool is_missed(const struct air_sampler *s, const struct air_outcome *o, int pool)
{
  for (int i = 0; i < o->miss_count; i++)
    for (int q = 0; q < air_pool_count(s->f); q++)
      if ((q == pool || air_pools_share(s->f, pool, q)) &&
          air_pool_has_miss(s->f, q, &o->misses[i]))
        return true;
  return false;
}

static void count(struct air_sampler *s, const struct air_outcome *o)
{
  struct air_sample *t = &s->tally;
  int at = 0;

  for (int i = 0; i < s->f->room_count; i++)
    for (int k = 0; k < s->f->rooms[i].keep_count; k++, at++) {
      const struct facility_keep *keep = &s->f->rooms[i].keeps[k];

      t->keep_missed[at] +=
          air_node_known(s->air, i) && air_node_known(s->air, keep->over) &&
          air_keep_side(s->f, keep,
                        net_pressure_Pa(s->air->net, i) - net_pressure_Pa(s->air->net, keep->over));
    }
  for (int i = 0; i < s->f->station_count; i++) {
    struct air_station_verdict v = air_judge_station(s->air, &s->scene, i);

    t->station_missed[i] += v.judged && !v.met;
  }
  for (int p = 0; p < air_pool_count(s->f); p++)
    t->pool_missed[p] += is_missed(s, o, p);
}

void air_sampler_draw(struct air_sampler *s, long draws)
{
  struct air_outcome o;

  for (long k = 0; k < draws; k++) {
    for (int i = 0; i < s->f->input_count; i++)
      facility_move(s->moved, i, 0.5 * normal(&s->random));
    air_values_forget(s->air);
    net_forget(s->air->net); /* no building knows the one before it */
    air_outcome_of(s->air, &s->scene, s->own_fault, &o, NULL);
    s->tally.draws++;
    if (o.answered)
      count(s, &o);
    else
      s->tally.unsolved++;
  }
}

const struct air_sample *air_sampler_tally(const struct air_sampler *s)
{
  return &s->tally;
}
