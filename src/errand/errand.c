#include "errand/errand_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* All errands of a suite: one thing at one station, seen with each judgement. */

static const struct {
  const char *name, *key;
} states[ERRAND_STATE_COUNT] = {
    {"asked", "asked"},
    {"moving", "moving"},
    {"done", "done"},
    {"cannot", "cannot"},
    {"no longer needed", "not_needed"},
    {"not answered", "not_answered"},
};

const char *errand_state_name(enum errand_state state)
{
  return states[state].name;
}

const char *errand_state_key(enum errand_state state)
{
  return states[state].key;
}

int errand_state_find(const char *key)
{
  for (int i = 0; i < ERRAND_STATE_COUNT; i++)
    if (strcmp(states[i].key, key) == 0)
      return i;
  return -1;
}

bool errand_is_open(const struct errand *errand)
{
  return errand->state == ERRAND_ASKED || errand->state == ERRAND_MOVING;
}

/* ---- life ---- */

struct errands *errands_new(const struct errands_settings *settings)
{
  struct errands *e = calloc(1, sizeof *e);
  size_t stations = (size_t)settings->facility->station_count + 1;

  if (!e)
    err_no_memory();
  e->given = *settings;
  arena_init(&e->arena, SIZE_MAX); /* bounded by the stations of a suite */
  e->items = ARENA_ARRAY(&e->arena, struct errand, stations);
  e->has = ARENA_ARRAY(&e->arena, bool, stations);
  e->named = ARENA_ARRAY(&e->arena, struct air_lower, stations);
  e->needs = arena_push(&e->arena, stations, sizeof *e->needs);
  BUG_IF(!e->items || !e->has || !e->named || !e->needs);
  errands_begin_again(e);
  return e;
}

void errands_free(struct errands *e)
{
  if (!e)
    return;
  arena_release(&e->arena);
  free(e);
}

void errands_begin_again(struct errands *e)
{
  memset(e->has, 0, (size_t)e->given.facility->station_count * sizeof *e->has);
  e->last_ms = INT64_MIN;
  e->is_short = e->advises = e->differs = e->calls = false;
  e->named_count = e->time_count = 0;
  e->tally = (struct errands_tally){0};
}

/* ---- a judgement ---- */

/* What a declared rule only holds for its dwell is no shortage any more: nothing would help it. */
static bool is_short(const struct judge_seen *seen)
{
  return seen->verdict->state == FACILITY_SHORT && seen->air && seen->air->state == FACILITY_SHORT;
}

void errands_see(struct errands *e, const struct judge_seen *seen)
{
  bool was_short = e->is_short && e->advises;

  e->last_ms = seen->t_ms;
  e->advises = seen->verdict->advises;
  e->is_short = is_short(seen);
  if (e->is_short && e->advises && !was_short)
    e->short_since_ms = seen->t_ms;
  errand_name(e, seen);
  errand_follow(e, seen);
  errand_ask(e, seen);
}

static void sooner(const struct errands *e, int64_t t_ms, int64_t *next_ms)
{
  if (t_ms > e->last_ms && t_ms < *next_ms)
    *next_ms = t_ms;
}

int64_t errands_next_ms(const struct errands *e)
{
  const struct feeds_lower *s = &e->given.feeds->lower;
  int64_t next_ms = INT64_MAX;

  if (e->is_short && e->advises)
    sooner(e, e->short_since_ms + errand_ms(s->ask_after_s), &next_ms);
  if (e->differs)
    sooner(e, e->differs_since_ms + errand_ms(s->hold_s), &next_ms);
  if (e->calls)
    sooner(e, e->called_ms + errand_ms(s->hold_s), &next_ms);
  for (int i = 0; i < e->given.facility->station_count; i++)
    if (e->has[i] && errand_is_open(&e->items[i]))
      sooner(e, e->items[i].asked_ms + errand_ms(s->within_s), &next_ms);
    else if (e->has[i] && e->items[i].until_ms != INT64_MIN)
      sooner(e, e->items[i].until_ms, &next_ms);
  return next_ms;
}

/* ---- what others ask ---- */

const struct errand *errands_at(const struct errands *e, int station)
{
  return e->has[station] ? &e->items[station] : NULL;
}

const char *errands_needs_flow(const struct errands *e, int station)
{
  const struct errand *errand = errands_at(e, station);

  return errand && errand->state == ERRAND_CANNOT && e->last_ms < errand->until_ms
             ? e->needs[station]
             : NULL;
}

static int compare(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

struct errands_tally errands_tally(const struct errands *e)
{
  struct errands_tally t = e->tally;
  int count = e->time_count < ERRAND_TIMES_MOST ? e->time_count : ERRAND_TIMES_MOST;
  double sorted[ERRAND_TIMES_MOST];

  t.median_s = NAN;
  if (count == 0)
    return t;
  memcpy(sorted, e->times_s, (size_t)count * sizeof *sorted);
  qsort(sorted, (size_t)count, sizeof *sorted, compare);
  t.median_s = (sorted[(count - 1) / 2] + sorted[count / 2]) / 2;
  return t;
}
