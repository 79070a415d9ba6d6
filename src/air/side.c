/*
 * All states of a set of stations side by side, whatever the network (net/sets.h).
 */
#include "air/bounds_impl.h"

#include <math.h>
#include <string.h>

/* Above that many asked for, of all, one by one from its neighbour is as fast as from nothing. */
enum { ASKED_FREE = 64, STATES_PER_ASKED = 8 };

struct asking {
  struct air_sets *sets;
  const struct air_states *states;
  uint64_t *marks;
  struct air_sets_work *work;
  long most_asked;
};

static uint32_t set_of(const struct air_states *states, unsigned long state)
{
  uint32_t set = 0;

  for (int k = 0; k < states->kind_count; k++) {
    const struct net_sets_kind *kind = &states->kinds[k];
    unsigned long digit = state / kind->stride % ((unsigned long)kind->size + 1);

    for (unsigned long i = 0; i < digit; i++)
      set |= 1u << kind->switches[i];
  }
  return set;
}

static bool look(void *arg, unsigned long state)
{
  struct asking *q = arg;
  struct air_set found;

  if (++q->work->asked > q->most_asked)
    return false;
  q->marks[state] = (uint64_t)1 << AIR_MARK_MISSED;
  if (*q->work->budget <= 0) {
    q->work->cut = true;
    return true;
  }
  --*q->work->budget;
  air_sets_cold(q->sets);
  air_sets_look(q->sets, set_of(q->states, state), &found);
  q->work->fallbacks += found.fallbacks;
  q->work->unanswered += !found.answered;
  q->work->several += found.several;
  q->marks[state] = (uint64_t)(!found.answered || found.missed) << AIR_MARK_MISSED |
                    (uint64_t)found.parked << AIR_MARK_PARKED |
                    (uint64_t)found.raised << AIR_MARK_RAISED;
  return true;
}

static struct net_sets *switches_of(struct air_sets *s, struct arena *arena)
{
  struct air *air = s->search.air;
  struct air_kept *parked = ARENA_NEW(arena, struct air_kept),
                  *raised = ARENA_NEW(arena, struct air_kept);
  struct err why = {0};
  int links[AIR_SETS_MAX];

  if (!parked || !raised)
    return NULL;
  air_network_set_scene(air, &s->parked);
  if (!air_keep(parked, air, arena))
    return NULL;
  air_network_set_scene(air, &s->raised);
  if (!air_keep(raised, air, arena))
    return NULL;
  for (int i = 0; i < s->count; i++)
    links[i] = air->station_link[s->station[i]];
  return net_sets_new(&parked->problem, &raised->problem, s->count, links, &why);
}

static bool are_within_reach(const struct net_sets *sets, const struct air_bounds *bounds)
{
  for (int i = 0; i < bounds->count; i++) {
    const struct net_sets_bound *b = &bounds->list[i];

    if (b->link_count == 0 &&
        (!net_sets_has_node(sets, b->node) || (b->over >= 0 && !net_sets_has_node(sets, b->over))))
      return false;
  }
  return true;
}

static bool solve(struct air_sets *s, struct net_sets *sets, const struct air_states *states,
                  struct air_sets_work *work, struct arena *arena)
{
  struct air_bounds bounds;
  struct asking asking = {.sets = s,
                          .states = states,
                          .work = work,
                          .most_asked = ASKED_FREE + (long)states->count / STATES_PER_ASKED};
  struct net_sets_report report;

  asking.marks = ARENA_ARRAY(arena, uint64_t, states->count);
  if (!asking.marks || !air_bounds_of(s, arena, &bounds) || !are_within_reach(sets, &bounds))
    return false;
  struct net_sets_job job = {.path = work->path,
                             .kind_count = states->kind_count,
                             .kinds = states->kinds,
                             .bound_count = bounds.count,
                             .bounds = bounds.list,
                             .ask = look,
                             .arg = &asking,
                             .marks = asking.marks};

  if (!net_sets_all(sets, &job, &report) || report.stopped)
    return false;
  for (unsigned long i = 0; i < states->count; i++) {
    uint64_t marks = asking.marks[i], all = ((uint64_t)1 << AIR_SETS_MAX) - 1;

    states->missed[i] = bounds.always_missed || marks >> AIR_MARK_MISSED;
    if (states->parked) {
      states->parked[i] = (uint32_t)(marks >> AIR_MARK_PARKED & all);
      states->raised[i] = (uint32_t)(marks >> AIR_MARK_RAISED & all);
    }
  }
  work->path = report.path;
  work->worst_kg_s = report.worst_kg_s;
  return true;
}

bool air_sets_states(struct air_sets *s, const struct air_states *states,
                     struct air_sets_work *work)
{
  struct arena arena;
  struct net_sets *sets;
  bool done;

  arena_init(&arena, (size_t)1 << 30);
  sets = switches_of(s, &arena);
  done = sets && solve(s, sets, states, work, &arena);
  net_sets_free(sets);
  arena_release(&arena);
  air_sets_cold(s);
  return done;
}
