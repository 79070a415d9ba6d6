/* A notice's sentences: for users first, for staff, and what is not known. */
#include "stop/stop_impl.h"

#include <math.h>
#include <string.h>

static void add(const char **list, int *count, const char *text)
{
  if (*count < STOP_LINES_MAX && text)
    list[(*count)++] = text;
}

const char *stop_station_ids(const struct stop_notice *n, int pool, enum stop_station which,
                             struct arena *arena)
{
  struct buf text;
  const char *out;

  buf_init(&text, 1 << 16);
  for (int i = 0; i < n->facility->station_count; i++)
    if (air_pool_has_station(n->facility, pool, i) && n->stations[i] == which)
      buf_printf(&text, "%s%s", text.used ? ", " : "", n->facility->stations[i].part.id);
  out = arena_strdup(arena, text.text);
  buf_release(&text);
  return out ? out : "";
}

const char *stop_pool_words(const struct stop_notice *n, const struct stop_pool *pool,
                            struct arena *arena)
{
  const char *id = air_pool_id(n->facility, pool->pool);
  const char *parked = stop_station_ids(n, pool->pool, STOP_PARKED, arena);
  const char *without = stop_station_ids(n, pool->pool, STOP_WITHOUT, arena);
  const char *counted = stop_station_ids(n, pool->pool, STOP_COUNTED, arena);

  if (!pool->affected)
    return arena_printf(arena, "%s: as on any day.", id);
  if (!pool->known)
    return arena_printf(arena, "%s: not known; treat as no. Park everything on it.", id);
  if (without[0])
    return arena_printf(arena,
                        "%s: nothing may be open. Even parked, too little air reaches %s: leave "
                        "nothing in them that gives off vapour.",
                        id, without);
  if (pool->guaranteed == 0 || !counted[0])
    return arena_printf(arena, "%s: nothing may be open. Park all of it.", id);
  if (pool->guaranteed >= pool->of && !parked[0])
    return arena_printf(arena, "%s: all %d may be open together, as the model has it.", id,
                        pool->of);
  return arena_printf(arena, "%s: at most %d open at a time, any of %s.%s%s%s", id,
                      pool->guaranteed, counted, parked[0] ? " Parked all the time: " : "", parked,
                      parked[0] ? "." : "");
}

/* A make-up unit counts the stations of its rooms, whatever main they are on: a limit on top of
 * those of the mains. */
static const char *supply_words(const struct stop_notice *n, const struct stop_pool *pool,
                                struct arena *arena)
{
  const char *id = air_pool_id(n->facility, pool->pool);

  if (!pool->known || pool->guaranteed == 0)
    return stop_pool_words(n, pool, arena);
  return arena_printf(arena, "Of all the rooms that %s feeds together: at most %d open at a time.",
                      id, pool->guaranteed);
}

static bool some_may_open(const struct stop_notice *n)
{
  int all = 0;

  for (int p = 0; p < n->pool_count; p++)
    if (n->parked->pools[p].kind == AIR_POOL_MAIN)
      all += n->pools[p].guaranteed;
  return all > 0;
}

static const char *pool_line(const struct stop_notice *n, const struct stop_pool *pool,
                             struct arena *arena)
{
  if (pool->usual_of == 0)
    return NULL;
  if (n->parked->pools[pool->pool].kind == AIR_POOL_MAIN)
    return stop_pool_words(n, pool, arena);
  return pool->affected && some_may_open(n) ? supply_words(n, pool, arena) : NULL;
}

static void say_acts(struct stop_notice *n, struct arena *arena)
{
  if (!n->affected) {
    add(n->acts, &n->act_count, "By the model no station is affected.");
    return;
  }
  add(n->acts, &n->act_count, "Stop, cap, lower, step away. Staff release stations.");
  for (int p = 0; p < n->pool_count; p++)
    add(n->acts, &n->act_count, pool_line(n, &n->pools[p], arena));
}

static void say_missed(struct stop_notice *n, struct arena *arena)
{
  const struct facility *f = n->facility;

  for (int i = 0; n->solved && i < f->room_count; i++)
    for (int k = 0; k < n->parked->rooms[i].keep_count; k++) {
      const struct air_keep *keep = &n->parked->rooms[i].keeps[k];
      const char *over = facility_node_id(f, keep->keep->over);

      if (!keep->known)
        add(n->missed, &n->missed_count,
            arena_printf(arena, "%s over %s: not known", f->rooms[i].part.name, over));
      else if (!keep->met)
        add(n->missed, &n->missed_count,
            arena_printf(arena, "%s over %s: %.1f Pa, where it must be %s %.1f Pa",
                         f->rooms[i].part.name, over, keep->actual_Pa,
                         keep->keep->has_least && keep->actual_Pa < keep->keep->least_Pa
                             ? "at least"
                             : "at most",
                         keep->keep->has_least && keep->actual_Pa < keep->keep->least_Pa
                             ? keep->keep->least_Pa
                             : keep->keep->most_Pa));
    }
  if (n->missed_count > 0)
    add(n->acts, &n->act_count,
        "Some rooms lose their pressure even with everything parked: staff say who may be in them.");
}

static bool is_touched(enum stop_station now)
{
  return now == STOP_COUNTED || now == STOP_PARKED || now == STOP_WITHOUT;
}

/* A unit that is off, of a group in which as many run as on any day. */
static bool spare_is_off(const struct stop_notice *n, const struct stop_request *request, int fan)
{
  for (int i = 0; i < request->off_count; i++)
    if (facility_fan_find(n->facility, request->off[i], NULL) == fan)
      return n->parked->fans[fan].running == n->usual->fans[fan].running;
  return false;
}

static bool spare_may_run(const struct stop_notice *n, int fan)
{
  const struct facility_fan *f = &n->facility->fans[fan];

  return n->parked->fans[fan].running < f->running && f->count > f->running;
}

static void say_asks(struct stop_notice *n, const struct stop_request *request, struct arena *arena)
{
  const struct scene *scene = request->scene;

  for (int i = 0; scene && i < n->facility->station_count; i++) {
    const struct scene_station *s = &scene->stations[i];
    const char *id = n->facility->stations[i].part.id;

    if (!is_touched(n->stations[i]))
      continue;
    if (s->needs_flow)
      add(n->asks, &n->ask_count,
          arena_printf(arena,
                       "%s needs its flow (%s): its process must be over, or staff move the "
                       "stop",
                       id, s->needs_flow));
    if (s->blocked)
      add(n->asks, &n->ask_count,
          arena_printf(arena, "%s: something stands under its sash; clear it beforehand", id));
  }
  for (int i = 0; i < n->facility->fan_count; i++)
    if (spare_is_off(n, request, i))
      add(n->asks, &n->ask_count,
          arena_printf(arena,
                       "%s has no spare meanwhile: if a running unit fails, nothing takes over",
                       n->facility->fans[i].part.id));
    else if (spare_may_run(n, i))
      add(n->asks, &n->ask_count,
          arena_printf(arena,
                       "%s has a unit that stands: ask the ventilation technician whether it runs "
                       "instead; then this notice does not hold",
                       n->facility->fans[i].part.id));
  if (n->affected && !scene)
    add(n->asks, &n->ask_count,
        "Whoever has a process that runs into this time: speak to staff now, not on the day.");
  add(n->asks, &n->ask_count,
      arena_printf(arena, "Questions, and the release afterwards: %s.",
                   n->facility->call ? n->facility->call : "who looks after the stations"));
}

static void say_unknown(struct stop_notice *n, struct arena *arena)
{
  add(n->unknown, &n->unknown_count,
      arena_printf(arena,
                   "tier %s, everything parked and all doors shut; what doors, other work and "
                   "weather do then is not in it",
                   air_tier_name(n->parked->tier)));
  add(n->unknown, &n->unknown_count,
      "the minutes of stopping and starting, and a start that fails: steady air only");
  add(n->unknown, &n->unknown_count, "whether the stop ends when it is said to");
  if (n->parked->tier == AIR_COARSE)
    add(n->unknown, &n->unknown_count,
        "no room pressure: the file has flows and declared capacities only");
  for (int i = 0; i < n->parked->unsolved_count && i < 8; i++)
    add(n->unknown, &n->unknown_count, n->parked->unsolved[i]);
}

void stop_say(struct stop_notice *n, const struct stop_request *request, struct arena *arena)
{
  n->acts = ARENA_ARRAY(arena, const char *, STOP_LINES_MAX);
  n->missed = ARENA_ARRAY(arena, const char *, STOP_LINES_MAX);
  n->asks = ARENA_ARRAY(arena, const char *, STOP_LINES_MAX);
  n->unknown = ARENA_ARRAY(arena, const char *, STOP_LINES_MAX);
  BUG_IF(!n->acts || !n->missed || !n->asks || !n->unknown);
  say_acts(n, arena);
  say_missed(n, arena);
  say_asks(n, request, arena);
  say_unknown(n, arena);
}
