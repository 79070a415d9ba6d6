/* Why the state turned, which one sash would have kept it, and what nobody needed to lose. */
#include "past/past_impl.h"

#include <math.h>
#include <string.h>

static const int64_t hour_ms = 3600 * 1000, day_ms = 24 * 3600 * 1000;
/* Moves of so long before a turn are told; common practice for looking back, no source. */
static const int64_t moves_ms = 15 * 60 * 1000;
static const double moved_m = 0.025; /* a sash that moves less has not moved */

/* ---- which turn ---- */

static const struct past_level *level_at(const struct past_replay *replay, int64_t t_ms, int *at)
{
  for (*at = 0; *at < replay->air.count; (*at)++)
    if (replay->air.list[*at].to_ms > t_ms)
      return &replay->air.list[*at];
  *at = replay->air.count - 1;
  return replay->air.count > 0 ? &replay->air.list[*at] : NULL;
}

static bool is_bad(enum facility_level level)
{
  return level == FACILITY_NEAR_LIMIT || level == FACILITY_SHORT;
}

static void find_last_bad(const struct past_replay *replay, int at, struct past_why *out)
{
  while (--at >= 0 && !is_bad(replay->air.list[at].level))
    continue;
  out->has_last = at >= 0;
  if (at < 0)
    return;
  out->last_to_ms = replay->air.list[at].to_ms;
  while (at > 0 && is_bad(replay->air.list[at - 1].level))
    at--;
  out->last_from_ms = replay->air.list[at].from_ms;
}

/* Back for three hours, a day, a week, a month, until there is a turn; forward for a day. */
static enum err_code find_turn(const struct past_place *place, struct arena *arena,
                               struct past_why *out, struct err *err)
{
  static const int back_h[] = {3, 24, 7 * 24, 31 * 24};

  for (size_t i = 0; i < sizeof back_h / sizeof back_h[0] && !out->found; i++) {
    const struct past_span span = {out->asked_ms - back_h[i] * hour_ms, out->asked_ms + day_ms,
                                   out->known_ms};
    struct past_replay replay;
    int at;
    enum err_code code = past_replay_until(place, &span, out->asked_ms, arena, &replay, err);

    if (code != ERR_OK)
      return code;
    const struct past_level *level = level_at(&replay, out->asked_ms, &at);

    if (!level)
      continue;
    out->looked_from_ms = span.from_ms;
    out->state = level->level;
    out->from_ms = level->from_ms;
    out->to_ms = level->to_ms;
    out->ended = at + 1 < replay.air.count;
    out->after = out->ended ? replay.air.list[at + 1].level : FACILITY_NOT_KNOWN;
    out->found = at > 0;
    out->before = at > 0 ? replay.air.list[at - 1].level : FACILITY_NOT_KNOWN;
    if (level->level == FACILITY_AMPLE)
      find_last_bad(&replay, at, out);
  }
  return ERR_OK;
}

/* ---- looking at the moments ---- */

struct looking {
  const struct past_place *place;
  struct arena *arena;
  struct past_why *out;
  struct air *air; /* for what would have been */
  struct scene before;
  bool has_before, full;
  bool *was_known; /* per station */
  enum facility_level *pools_before;
  bool has_pools_before;
  long changes; /* of the last that was judged */
  int64_t t_ms;
  enum { NEEDED, SPARED, NOT_TOLD } now; /* from t_ms on */
  bool spell_begun;
};

static const char *kept(struct looking *l, const char *text)
{
  char *copy = text ? arena_strdup(l->arena, text) : NULL;

  l->full = l->full || (text && !copy);
  return copy;
}

/* ---- what moved ---- */

static void note_move(struct looking *l, int64_t t_ms, const char *text)
{
  struct past_why *out = l->out;

  if (!text) {
    l->full = true;
    return;
  }
  if (out->move_count == PAST_MOVES_MOST)
    memmove(out->moves, out->moves + 1, (size_t)--out->move_count * sizeof out->moves[0]);
  out->moves[out->move_count++] = (struct past_move){t_ms, text};
}

static void compare_station(struct looking *l, const struct judge_seen *seen, int i)
{
  const struct facility_station *s = &l->place->facility->stations[i];
  const struct scene_station *was = &l->before.stations[i], *is = &seen->belief->scene.stations[i];
  bool measured_height = s->has_openings && fabs(is->opening_m - was->opening_m) > moved_m;

  bool known = !seen->belief->stations[i].not_known, was_known = l->was_known[i];

  l->was_known[i] = known;
  if (!known || !was_known)
    return;
  if (was->raised && !is->raised)
    note_move(l, seen->t_ms, arena_printf(l->arena, "%s was lowered", s->part.id));
  else if (is->raised && (!was->raised || measured_height) && s->has_openings)
    note_move(l, seen->t_ms,
              arena_printf(l->arena, "%s %s %.2f m", s->part.id,
                           was->raised ? "was moved to" : "was opened to", is->opening_m));
  else if (is->raised && !was->raised)
    note_move(l, seen->t_ms, arena_printf(l->arena, "%s was opened", s->part.id));
  if (is->withdrawn != was->withdrawn)
    note_move(l, seen->t_ms,
              arena_printf(l->arena, "%s was %s", s->part.id,
                           is->withdrawn ? "taken out of use" : "given back"));
}

static void compare_plant(struct looking *l, const struct judge_seen *seen)
{
  const struct facility *f = l->place->facility;
  const struct scene *was = &l->before, *is = &seen->belief->scene;

  for (int i = 0; i < f->door_count; i++)
    if (was->door_open[i] != is->door_open[i])
      note_move(l, seen->t_ms,
                arena_printf(l->arena, "door %s was %s", f->doors[i].part.id,
                             is->door_open[i] ? "opened" : "shut"));
  for (int i = 0; i < f->fan_count; i++)
    if (was->fan_running[i] != is->fan_running[i])
      note_move(l, seen->t_ms,
                arena_printf(l->arena, "fan %s: %d of %d running", f->fans[i].part.id,
                             is->fan_running[i], f->fans[i].count));
  for (int i = 0; i < f->supply_count; i++)
    if (was->supply_off[i] != is->supply_off[i])
      note_move(l, seen->t_ms,
                arena_printf(l->arena, "%s was %s", f->supplies[i].part.id,
                             is->supply_off[i] ? "stopped" : "started"));
}

static void follow_moves(struct looking *l, const struct judge_seen *seen)
{
  const struct facility *f = l->place->facility;

  if (l->has_before) {
    for (int i = 0; i < f->station_count; i++)
      compare_station(l, seen, i);
    compare_plant(l, seen);
  } else {
    l->before = scene_copy(f, &seen->belief->scene, l->arena);
    l->was_known = ARENA_ARRAY(l->arena, bool, (size_t)f->station_count + 1);
    l->has_before = l->before.stations != NULL && l->was_known;
    l->full = l->full || !l->has_before;
  }
  if (l->has_before)
    scene_assign(f, &l->before, &seen->belief->scene);
}

/* Those of long before the turn explain nothing. */
static void forget_old_moves(struct past_why *out)
{
  int old = 0;

  while (old < out->move_count && out->moves[old].t_ms < out->from_ms - moves_ms)
    old++;
  memmove(out->moves, out->moves + old, (size_t)(out->move_count - old) * sizeof out->moves[0]);
  out->move_count -= old;
}

/* ---- the turn itself ---- */

static void take_pools(struct looking *l, const struct judge_seen *seen)
{
  struct past_why *out = l->out;

  out->pools = ARENA_ARRAY(l->arena, struct past_why_pool, (size_t)out->pool_count + 1);
  if (!out->pools) {
    l->full = true;
    return;
  }
  for (int i = 0; i < out->pool_count; i++) {
    struct past_why_pool *p = &out->pools[i];

    p->before = l->has_pools_before ? l->pools_before[i] : FACILITY_NOT_KNOWN;
    p->state = seen->verdict->pools[i];
    if (p->state == FACILITY_NOT_KNOWN || !seen->air)
      continue;
    const struct air_pool *a = &seen->air->pools[i];

    p->declared = a->declared.given && (!a->has_headroom || a->computed != FACILITY_SHORT);
    p->at_most = !p->declared && a->at_most;
    p->has_figures = p->declared || (a->has_headroom && !a->at_most);
    p->demand_m3_s = p->declared ? a->declared.demand_m3_s : a->demand_m3_s;
    p->limit_m3_s = p->declared ? a->declared.capacity_m3_s : a->capacity_m3_s;
    p->binding = kept(l, p->declared ? a->declared.why : a->binding);
  }
}

static void take_stations(struct looking *l, const struct judge_seen *seen)
{
  const struct facility *f = l->place->facility;

  l->out->stations = ARENA_ARRAY(l->arena, struct past_why_station, (size_t)f->station_count + 1);
  if (!l->out->stations) {
    l->full = true;
    return;
  }
  for (int i = 0; i < f->station_count; i++) {
    const struct scene_station *now = &seen->belief->scene.stations[i];
    const struct watch_station *heard = &seen->belief->stations[i];
    struct past_why_station *s = &l->out->stations[i];

    *s = (struct past_why_station){.raised = now->raised,
                                   .known = !heard->not_known,
                                   .withdrawn = now->withdrawn,
                                   .own_alarm = heard->own_alarm,
                                   .has_opening = f->stations[i].has_openings,
                                   .opening_m = now->opening_m,
                                   .presence_known = heard->has_presence,
                                   .present = heard->present,
                                   .blocked = now->blocked,
                                   .flow_m3_s = scene_station_ask_m3_s(f, seen->scene, i),
                                   .why = kept(l, heard->why)};
    s->above_mark = s->has_opening && now->raised && now->opening_m > f->stations[i].work_m + 1e-9;
  }
}

static void take_texts(struct looking *l, const struct judge_seen *seen)
{
  struct past_why *out = l->out;
  const struct watch_belief *b = seen->belief;
  const struct answer_live_verdict *v = seen->verdict;
  int gaps = b->gap_count + v->contradiction_count;

  out->reasons = ARENA_ARRAY(l->arena, const char *, (size_t)v->reason_count + 1);
  out->gaps = ARENA_ARRAY(l->arena, struct past_gap, (size_t)gaps + 1);
  if (!out->reasons || !out->gaps) {
    l->full = true;
    return;
  }
  for (int i = 0; i < v->reason_count; i++)
    out->reasons[out->reason_count++] = kept(l, v->reasons[i]);
  for (int i = 0; i < gaps; i++) {
    const struct watch_gap *g =
        i < b->gap_count ? &b->gaps[i] : &v->contradictions[i - b->gap_count];

    out->gaps[out->gap_count++] = (struct past_gap){kept(l, g->about), kept(l, g->text), g->needed};
  }
}

/* ---- what would have been ---- */

/* The worst of all, as air_ask has it; not known where it cannot be told. */
static enum facility_level state_of(struct looking *l, const struct scene *scene,
                                    struct arena *arena)
{
  struct err err = {0};
  const struct air_answer *a = air_ask(l->air, scene, &air_settings_sure, arena, &err);

  return a && a->solved ? a->state : FACILITY_NOT_KNOWN;
}

static bool may_be_named(const struct judge_seen *seen, int station)
{
  const struct watch_station *s = &seen->belief->stations[station];

  return !s->not_known && !s->own_alarm && !seen->belief->scene.stations[station].withdrawn;
}

static void try_each_sash(struct looking *l, const struct judge_seen *seen)
{
  struct past_why *out = l->out;
  const struct facility *f = l->place->facility;
  int count = 0;
  struct air_lower *list = air_may_lower(l->air, seen->scene, l->arena, &count);

  out->sashes = list;
  l->full = l->full || !list;
  for (int i = 0; list && i < count; i++) {
    struct arena arena;

    if (!may_be_named(seen, list[i].station))
      continue;
    arena_init(&arena, (size_t)64 << 20);
    struct scene lowered = scene_copy(f, seen->scene, &arena);
    struct air_lower sash = list[i];

    air_lower_one(f, &lowered, &sash);
    sash.state_after = state_of(l, &lowered, &arena);
    arena_release(&arena);
    if (sash.state_after < out->state)
      out->sashes[out->sash_count++] = sash; /* never ahead of i */
  }
}

static void take_together(struct looking *l, const struct judge_seen *seen)
{
  const struct air_lower_list *from =
      l->out->state == FACILITY_SHORT ? &seen->air->ends_short : &seen->air->reaches_ample;
  struct air_lower_list *to = &l->out->together;

  *to = *from;
  to->why = kept(l, from->why);
  to->sashes = ARENA_ARRAY(l->arena, struct air_lower, (size_t)from->count + 1);
  if (!to->sashes) {
    l->full = true;
    return;
  }
  for (int i = 0; i < from->count; i++) {
    to->sashes[i] = from->sashes[i];
    if (!may_be_named(seen, from->sashes[i].station))
      to->found = false; /* one of them may not be named: then none is */
  }
}

/* Would what stood open with nobody there, lowered, have kept it ample? */
static bool is_spared(struct looking *l, const struct judge_seen *seen)
{
  const struct facility *f = l->place->facility;
  struct arena arena;
  int count = 0, lowered_count = 0;
  bool spared = false;

  arena_init(&arena, (size_t)64 << 20);
  const struct air_lower *list = air_may_lower(l->air, seen->scene, &arena, &count);
  struct scene lowered = scene_copy(f, seen->scene, &arena);

  /* had it been kept, a declared rule would stand at ample */
  lowered.was_of_pool = ARENA_ARRAY(&arena, enum facility_level, (size_t)l->out->pool_count + 1);
  for (int i = 0; list && i < count; i++)
    if (seen->scene->stations[list[i].station].unattended && may_be_named(seen, list[i].station)) {
      air_lower_one(f, &lowered, &list[i]);
      lowered_count++;
    }
  if (lowered_count > 0)
    spared = state_of(l, &lowered, &arena) == FACILITY_AMPLE;
  arena_release(&arena);
  return spared;
}

static void close_stretch(struct looking *l, int64_t t_ms)
{
  double span_s = (double)(t_ms - l->t_ms) * 1e-3;

  if (l->spell_begun && l->now == SPARED)
    l->out->spared_s += span_s;
  if (l->spell_begun && l->now == NOT_TOLD)
    l->out->not_told_s += span_s;
  l->t_ms = t_ms;
}

static void follow_spell(struct looking *l, const struct judge_seen *seen, long changes)
{
  close_stretch(l, seen->t_ms);
  if (!seen->verdict->advises)
    l->now = NOT_TOLD;
  else if (!l->spell_begun || changes != l->changes || l->now == NOT_TOLD)
    l->now = is_spared(l, seen) ? SPARED : NEEDED;
  l->changes = changes;
  l->spell_begun = true;
}

/* ---- moment by moment ---- */

static void take_turn(struct looking *l, const struct judge_seen *seen)
{
  struct past_why *out = l->out;

  forget_old_moves(out);
  out->advises = seen->verdict->advises;
  take_pools(l, seen);
  take_stations(l, seen);
  take_texts(l, seen);
  if (is_bad(out->state) && out->advises && seen->air) {
    try_each_sash(l, seen);
    take_together(l, seen);
  }
}

static bool look(void *arg, const struct judge_seen *seen, long changes)
{
  struct looking *l = arg;
  struct past_why *out = l->out;

  if (seen->t_ms <= out->from_ms)
    follow_moves(l, seen);
  if (!out->stations && seen->t_ms >= out->from_ms)
    take_turn(l, seen);
  if (!out->stations) {
    memcpy(l->pools_before, seen->verdict->pools,
           (size_t)out->pool_count * sizeof *l->pools_before);
    l->has_pools_before = true;
  } else if (is_bad(out->state))
    follow_spell(l, seen, changes);
  return true;
}

enum err_code past_why_ask(const struct past_place *place, int64_t t_ms, int64_t known_ms,
                           struct arena *arena, struct past_why *out, struct err *err)
{
  struct looking l = {.place = place, .arena = arena, .out = out};
  const struct facility *f = place->facility;
  enum err_code code;

  *out = (struct past_why){.asked_ms = t_ms,
                           .known_ms = known_ms,
                           .state = FACILITY_NOT_KNOWN,
                           .pool_count = f->main_count + f->supply_count};
  l.pools_before = ARENA_ARRAY(arena, enum facility_level, (size_t)out->pool_count + 1);
  if (!l.pools_before)
    return err_set(err, ERR_LIMIT, "too many pools");
  code = find_turn(place, arena, out, err);
  if (code != ERR_OK)
    return code;
  l.air = air_new(f, err);
  if (!l.air)
    return err->code;
  const struct past_span span = {out->looked_from_ms, out->to_ms, known_ms};

  code = past_judge_span(place, &span, look, &l, err);
  close_stretch(&l, out->to_ms);
  air_free(l.air);
  const struct past_span since = {out->from_ms, INT64_MAX, known_ms};

  if (code == ERR_OK)
    code = past_count_settings(place, &since, arena, &out->settings_changed, err);
  if (code == ERR_OK && l.full)
    code = err_set(err, ERR_LIMIT, "too much for one page: ask for another moment");
  return code;
}
