#include "keeper/keeper_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Belief to air.  Solved anew only when the scene differs: most of what comes changes nothing. */

enum { SOLVED_MOST_BYTES = 64 << 20, EVENT_MOST_BYTES = RECORD_TEXT_MOST_BYTES };

void keeper_solved_free(struct keeper_solved *solved)
{
  if (!solved)
    return;
  arena_release(&solved->arena);
  free(solved);
}

/* ---- is it the same scene? ---- */

static bool is_same_number(double a, double b)
{
  return !(a < b) && !(a > b);
}

static bool is_same_text(const char *a, const char *b)
{
  return a == b || (a && b && strcmp(a, b) == 0);
}

static bool is_same_station(const struct scene_station *a, const struct scene_station *b)
{
  return a->raised == b->raised && is_same_number(a->opening_m, b->opening_m) &&
         a->unattended == b->unattended && a->blocked == b->blocked &&
         a->withdrawn == b->withdrawn && is_same_text(a->needs_flow, b->needs_flow) &&
         is_same_number(a->cover_ratio, b->cover_ratio) && a->has_ask == b->has_ask &&
         is_same_number(a->ask_m3_s, b->ask_m3_s);
}

/* A measured flow moves all the time; only a rule by measured demand looks at it. */
static bool is_same_flow(const struct scene_station *a, const struct scene_station *b)
{
  return a->has_measured == b->has_measured && is_same_number(a->measured_m3_s, b->measured_m3_s);
}

static bool measures_demand(const struct facility *f)
{
  bool any = false;

  for (int i = 0; i < f->main_count; i++)
    any = any || (f->mains[i].declared.given && f->mains[i].declared.demand_measured);
  for (int i = 0; i < f->supply_count; i++)
    any = any || (f->supplies[i].declared.given && f->supplies[i].declared.demand_measured);
  return any;
}

static bool is_same_scene(const struct facility *f, const struct scene *a, const struct scene *b)
{
  bool same = a->has_outdoor_temperature == b->has_outdoor_temperature &&
              is_same_number(a->outdoor_temperature_K, b->outdoor_temperature_K) &&
              (a->was_of_pool != NULL) == (b->was_of_pool != NULL);
  bool by_flow = measures_demand(f);

  for (int i = 0; a->was_of_pool && i < f->main_count + f->supply_count && same; i++)
    same = a->was_of_pool[i] == b->was_of_pool[i];
  for (int i = 0; i < f->station_count && same; i++)
    same = is_same_station(&a->stations[i], &b->stations[i]) &&
           (!by_flow || is_same_flow(&a->stations[i], &b->stations[i]));
  for (int i = 0; i < f->door_count && same; i++)
    same = a->door_open[i] == b->door_open[i];
  for (int i = 0; i < f->fan_count && same; i++)
    same = a->fan_running[i] == b->fan_running[i] && a->fan_units[i] == b->fan_units[i];
  for (int i = 0; i < f->supply_count && same; i++)
    same = a->supply_off[i] == b->supply_off[i];
  for (int i = 0; i < f->duct_count && same; i++)
    same = a->duct_shut[i] == b->duct_shut[i];
  return same;
}

/* ---- solving ---- */

static const enum facility_level *copy_levels(const struct keeper *k, struct arena *arena)
{
  size_t count = (size_t)k->given.facility->main_count + (size_t)k->given.facility->supply_count;
  enum facility_level *levels = ARENA_ARRAY(arena, enum facility_level, count + 1);

  BUG_IF(!levels);
  memcpy(levels, k->held, count * sizeof *levels);
  return levels;
}

static struct keeper_solved *solve(struct keeper *k, const struct watch_belief *belief)
{
  struct keeper_solved *s = calloc(1, sizeof *s);
  struct err err = {0};

  if (!s)
    err_no_memory();
  arena_init(&s->arena, SOLVED_MOST_BYTES);
  s->t_ms = belief->now_ms;
  s->known_ms = INT64_MIN;
  s->scene = scene_copy(k->given.facility, &belief->scene, &s->arena);
  s->scene.was_of_pool = belief->scene.was_of_pool ? copy_levels(k, &s->arena) : NULL;
  s->air = air_ask(k->air, &s->scene, &air_settings_sure, &s->arena, &err);
  return s;
}

/* The last in which all was known stays, for pages that show it with its age. */
static void replace(struct keeper *k, struct keeper_solved *next)
{
  if (k->now && k->now->known_ms != INT64_MIN) {
    keeper_solved_free(k->earlier);
    k->earlier = k->now;
  } else
    keeper_solved_free(k->now);
  k->now = next;
  k->solved_changed = true;
}

/* ---- a state that turned ---- */

static void add_list(struct buf *out, const char *head, const char *const *texts, int count)
{
  enum { TOLD = 6 };

  for (int i = 0; i < count && i < TOLD; i++)
    buf_printf(out, "%s%s", i == 0 ? head : "; ", texts[i]);
  if (count > TOLD)
    buf_printf(out, "; and %d more", count - TOLD);
}

/* The scene and which revision of which file it was judged by: what `past` needs to judge it again. */
static void detail_of(const struct keeper *k, const struct watch_belief *belief,
                      const struct answer_live_verdict *verdict, struct buf *out)
{
  const struct facility *f = k->given.facility;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.turned.1");
  emit_text(&json, "state", air_level_key(verdict->state));
  emit_text(&json, "suite_sha256", f->sha256);
  emit_text(&json, "feeds_sha256", k->given.feeds->sha256);
  emit_text(&json, "engine", answer_engine_version());
  emit_object(&json, "pools");
  for (int i = 0; i < f->main_count + f->supply_count; i++)
    emit_text(&json, air_pool_id(f, i), air_level_key(verdict->pools[i]));
  emit_close(&json);
  answer_scene(&json, f, &belief->scene);
  emit_close(&json);
  emit_end(&json);
}

static void tell_turn(struct keeper *k, const struct watch_belief *belief,
                      const struct answer_live_verdict *verdict)
{
  struct buf text, detail;

  buf_init(&text, EVENT_MOST_BYTES);
  buf_init(&detail, EVENT_MOST_BYTES);
  if (k->has_state)
    buf_printf(&text, "%s, before that %s", air_level_name(verdict->state),
               air_level_name(k->state));
  else
    buf_printf(&text, "%s", air_level_name(verdict->state));
  add_list(&text, ": ", (const char *const *)verdict->reasons, verdict->reason_count);
  detail_of(k, belief, verdict, &detail);
  keeper_note_event(k, belief->now_ms, "", text.text, detail.full ? "" : detail.text);
  buf_release(&text);
  buf_release(&detail);
}

/* ---- levels of declared rules ---- */

static const struct facility_declared *declared_of(const struct facility *f, int pool)
{
  return pool < f->main_count ? &f->mains[pool].declared
                              : &f->supplies[pool - f->main_count].declared;
}

static void hold_levels(struct keeper *k, const struct watch_belief *belief)
{
  const struct facility *f = k->given.facility;

  for (int i = 0; i < f->main_count + f->supply_count; i++) {
    const struct facility_declared *rule = declared_of(f, i);
    bool not_known =
        i < f->main_count ? belief->main_not_known[i] : belief->supply_not_known[i - f->main_count];
    enum facility_level level =
        not_known || !k->now->air ? FACILITY_NOT_KNOWN : k->now->air->pools[i].declared.state;

    if (rule->given)
      k->held[i] = keeper_dwell(&k->dwells[i], rule, level, belief->now_ms);
  }
}

/* ---- one judgement ---- */

static void solve_if_it_differs(struct keeper *k, const struct watch_belief *belief, bool at_once)
{
  int64_t clock_ms = keeper_clock_ms(k), since_ms = clock_ms - k->solved_ms;

  k->behind = k->now && !is_same_scene(k->given.facility, &k->now->scene, &belief->scene);
  if (k->now && (!k->behind || (!at_once && since_ms >= 0 && since_ms < KEEPER_SOONEST_MS)))
    return;
  replace(k, solve(k, belief));
  k->behind = false;
  k->solved_ms = clock_ms;
}

static void take_verdict(struct keeper *k, const struct watch_belief *belief,
                         const struct answer_live_verdict *verdict)
{
  if (!k->has_state || verdict->state != k->state) {
    tell_turn(k, belief, verdict);
    k->since_ms = belief->now_ms;
    k->solved_changed = true;
  }
  if (verdict->state != FACILITY_NOT_KNOWN)
    k->now->known_ms = belief->now_ms;
  k->state = verdict->state;
  k->has_state = true;
}

void keeper_judge(struct keeper *k, int64_t now_ms, bool at_once)
{
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  struct watch_belief belief = watch_believe(k->watch, now_ms, &arena);

  belief.scene.was_of_pool = k->has_state ? k->held : NULL;
  solve_if_it_differs(k, &belief, at_once);
  if (!k->behind)
    hold_levels(k, &belief);

  struct answer_live live = {.facility = k->given.facility,
                             .feeds = k->given.feeds,
                             .belief = &belief,
                             .air = k->now->air,
                             .held = k->held,
                             .zone = k->given.zone,
                             .since_ms = INT64_MIN};
  struct answer_live_verdict verdict = answer_live_judge(&live, &arena);

  /* The air of another scene says nothing of this one; that something is not known needs no air. */
  if (!k->behind || verdict.state == FACILITY_NOT_KNOWN)
    take_verdict(k, &belief, &verdict);
  arena_release(&arena);
}
