/* The air state over a span, and what another rule would have said. */
#include "past/past_impl.h"

#include <string.h>

enum { LEVELS_FIRST = 64, LEVELS_MOST = 1 << 20, ENTRIES_MOST = 100000 };

/* ---- stretches ---- */

struct collecting {
  struct past_replay *replay;
  struct arena *arena;
  int64_t enough_ms;
  bool full;
};

static bool grow(struct past_levels *l, struct arena *arena)
{
  int room = l->room ? 2 * l->room : LEVELS_FIRST;
  struct past_level *more =
      room > LEVELS_MOST ? NULL : ARENA_ARRAY(arena, struct past_level, (size_t)room);

  if (!more)
    return false;
  if (l->list)
    memcpy(more, l->list, (size_t)l->count * sizeof *more);
  l->list = more;
  l->room = room;
  return true;
}

/* From t_ms on it is `level`; what was before the span is drawn to its beginning. */
static void turn(struct collecting *c, struct past_levels *l, int64_t t_ms,
                 enum facility_level level)
{
  const struct past_span *span = &c->replay->span;
  struct past_level *last = l->count > 0 ? &l->list[l->count - 1] : NULL;

  if (t_ms >= span->to_ms)
    return;
  if (t_ms <= span->from_ms) {
    t_ms = span->from_ms;
    l->count = 0;
    last = NULL;
  }
  if (last && last->level == level)
    return;
  if ((l->count == l->room && !grow(l, c->arena)) || !l->list) {
    c->full = true;
    return;
  }
  if (l->count > 0)
    l->list[l->count - 1].to_ms = t_ms;
  l->list[l->count++] = (struct past_level){t_ms, span->to_ms, level};
}

static bool see(void *arg, const struct judge_seen *seen, long changes)
{
  struct collecting *c = arg;

  (void)changes;
  turn(c, &c->replay->air, seen->t_ms, seen->verdict->state);
  for (int i = 0; i < c->replay->pool_count; i++)
    turn(c, &c->replay->pools[i], seen->t_ms, seen->verdict->pools[i]);
  return c->full || c->replay->air.count == 0 ||
         c->replay->air.list[c->replay->air.count - 1].from_ms <= c->enough_ms;
}

enum err_code past_count_settings(const struct past_place *place, const struct past_span *span,
                                  struct arena *arena, int *count_out, struct err *err)
{
  const struct record_wanted wanted = {.from_ms = span->from_ms,
                                       .to_ms = span->to_ms,
                                       .kind = RECORD_SETTINGS,
                                       .known_ms = span->known_ms,
                                       .most = ENTRIES_MOST};
  struct record_entry *list;

  return record_entries(place->record, &wanted, arena, &list, count_out, err);
}

enum err_code past_replay_ask(const struct past_place *place, const struct past_span *span,
                              struct arena *arena, struct past_replay *out, struct err *err)
{
  return past_replay_until(place, span, INT64_MAX, arena, out, err);
}

enum err_code past_replay_until(const struct past_place *place, const struct past_span *span,
                                int64_t enough_ms, struct arena *arena, struct past_replay *out,
                                struct err *err)
{
  struct collecting c = {out, arena, enough_ms, false};
  enum err_code code;

  *out = (struct past_replay){.span = *span,
                              .facility = place->facility,
                              .pool_count =
                                  place->facility->main_count + place->facility->supply_count};
  out->pools = ARENA_ARRAY(arena, struct past_levels, (size_t)out->pool_count + 1);
  if (!out->pools)
    return err_set(err, ERR_LIMIT, "too many pools for one replay");
  code = past_judge_span(place, span, see, &c, err);
  if (code == ERR_OK && c.full)
    code = err_set(err, ERR_LIMIT, "too many changes for one replay: ask for a shorter span");
  if (code != ERR_OK)
    return code;
  return past_count_settings(place, span, arena, &out->settings_changed, err);
}

double past_level_s(const struct past_levels *levels, enum facility_level level)
{
  double sum_s = 0;

  for (int i = 0; i < levels->count; i++)
    if (levels->list[i].level == level)
      sum_s += (double)(levels->list[i].to_ms - levels->list[i].from_ms) * 1e-3;
  return sum_s;
}

int past_level_changes(const struct past_levels *levels)
{
  return levels->count > 0 ? levels->count - 1 : 0;
}

/* ---- two of them ---- */

static bool is_miss(enum facility_level a, enum facility_level b)
{
  return (a == FACILITY_AMPLE && b == FACILITY_SHORT) ||
         (a == FACILITY_SHORT && b == FACILITY_AMPLE);
}

static void add_miss(struct past_difference *d, int64_t from_ms, int64_t to_ms,
                     enum facility_level was, enum facility_level would_be)
{
  struct past_miss *last = d->miss_count > 0 ? &d->misses[d->miss_count - 1] : NULL;

  if (last && last->to_ms == from_ms && last->was == was)
    last->to_ms = to_ms;
  else
    d->misses[d->miss_count++] = (struct past_miss){from_ms, to_ms, was, would_be};
}

enum err_code past_replay_compare(const struct past_replay *first, const struct past_replay *second,
                                  struct arena *arena, struct past_difference *out, struct err *err)
{
  const struct past_levels *a = &first->air, *b = &second->air;

  *out = (struct past_difference){
      .misses = ARENA_ARRAY(arena, struct past_miss, (size_t)a->count + (size_t)b->count + 1)};
  if (!out->misses)
    return err_set(err, ERR_LIMIT, "too many changes to compare: ask for a shorter span");
  for (int i = 0, k = 0; i < a->count && k < b->count;) {
    const struct past_level *x = &a->list[i], *y = &b->list[k];
    int64_t from_ms = x->from_ms > y->from_ms ? x->from_ms : y->from_ms;
    int64_t to_ms = x->to_ms < y->to_ms ? x->to_ms : y->to_ms;

    out->both_s[x->level][y->level] += (double)(to_ms - from_ms) * 1e-3;
    if (x->level != y->level)
      out->differ_s += (double)(to_ms - from_ms) * 1e-3;
    if (is_miss(x->level, y->level))
      add_miss(out, from_ms, to_ms, x->level, y->level);
    i += x->to_ms == to_ms;
    k += y->to_ms == to_ms;
  }
  return ERR_OK;
}
