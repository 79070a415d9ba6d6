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
         is_same_number(a->ask_m3_s, b->ask_m3_s) && a->has_measured == b->has_measured &&
         is_same_number(a->measured_m3_s, b->measured_m3_s);
}

static bool is_same_scene(const struct facility *f, const struct scene *a, const struct scene *b)
{
  bool same = a->has_outdoor_temperature == b->has_outdoor_temperature &&
              is_same_number(a->outdoor_temperature_K, b->outdoor_temperature_K) &&
              a->has_was == b->has_was && a->was == b->was;

  for (int i = 0; i < f->station_count && same; i++)
    same = is_same_station(&a->stations[i], &b->stations[i]);
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

static struct keeper_solved *solve(struct keeper *k, const struct watch_belief *belief)
{
  struct keeper_solved *s = calloc(1, sizeof *s);
  struct err err = {0};

  if (!s)
    err_no_memory();
  arena_init(&s->arena, SOLVED_MOST_BYTES);
  s->t_ms = belief->now_ms;
  s->scene = scene_copy(k->given.facility, &belief->scene, &s->arena);
  s->air = air_ask(k->air, &s->scene, &air_settings_sure, &s->arena, &err);
  return s;
}

/* The last in which all was known stays, for pages that show it with its age. */
static void replace(struct keeper *k, struct keeper_solved *next, bool was_known)
{
  if (k->now && was_known) {
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

static void add_not_known(struct buf *out, const struct watch_belief *belief)
{
  const char *texts[16];
  int count = 0;

  for (int i = 0; i < belief->gap_count && count < 16; i++)
    if (belief->gaps[i].needed)
      texts[count++] = belief->gaps[i].text;
  add_list(out, ". Not known: ", texts, count);
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
  emit_array(&json, "raised");
  for (int i = 0; i < f->station_count; i++)
    if (belief->scene.stations[i].raised && !belief->stations[i].not_known)
      emit_text(&json, NULL, f->stations[i].part.id);
  emit_close(&json);
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
  add_not_known(&text, belief);
  detail_of(k, belief, verdict, &detail);
  keeper_note_event(k, belief->now_ms, "", text.text, detail.full ? "" : detail.text);
  buf_release(&text);
  buf_release(&detail);
}

void keeper_judge(struct keeper *k, int64_t now_ms)
{
  const struct facility *f = k->given.facility;
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  struct watch_belief belief = watch_believe(k->watch, now_ms, &arena);

  belief.scene.has_was = k->has_state && k->state != FACILITY_NOT_KNOWN;
  belief.scene.was = belief.scene.has_was ? k->state : FACILITY_AMPLE;
  if (!k->now || !is_same_scene(f, &k->now->scene, &belief.scene))
    replace(k, solve(k, &belief), k->has_state && k->state != FACILITY_NOT_KNOWN);

  struct answer_live live = {.facility = f,
                             .feeds = k->given.feeds,
                             .belief = &belief,
                             .air = k->now->air,
                             .zone = k->given.zone,
                             .since_ms = INT64_MIN};
  struct answer_live_verdict verdict = answer_live_judge(&live, &arena);

  if (!k->has_state || verdict.state != k->state) {
    tell_turn(k, &belief, &verdict);
    k->since_ms = now_ms;
    k->solved_changed = true;
  }
  k->state = verdict.state;
  k->has_state = true;
  arena_release(&arena);
}
