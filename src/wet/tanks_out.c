#include "wet/wet_impl.h"

#include "bath/bath.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Baths of the day, for people and for programs. */

static const char no_tanks[] =
    "The chemicals file of this suite names no tanks: nothing is known of any bath. "
    "docs/chemicals-file.md shows how to write them.";
static const char foot[] =
    "By what people told and the limits of the house; nothing of it is measured, and nothing here says "
    "that a bath may be used. What was not told is not known.";

static const char *station_id(const struct wet_place *place, int station)
{
  return place->facility->stations[station].part.id;
}

/* "DUE: T-1, T-3." */
static void put_ids(const struct wet_baths *baths, enum wet_state state, const char *word,
                    struct buf *out)
{
  int found = 0;

  for (int i = 0; i < baths->count; i++)
    if (baths->tanks[i].state == state)
      buf_printf(out, "%s%s", found++ > 0 ? ", " : word, baths->tanks[i].tank->part.id);
  if (found > 0)
    buf_puts(out, ".\n");
}

static const char *head_of(const struct wet_tank *t)
{
  static const char *const heads[] = {"EMPTY", "STANDS", "DUE", "NOT KNOWN"};

  return heads[t->state];
}

static void put_made(const struct wet_place *place, const struct wet_tank *t, struct buf *out,
                     struct arena *arena)
{
  const struct wet_told *made = t->made;
  const char *ago;

  if (!made)
    return;
  ago = wet_span((double)(place->now_ms - made->t_ms) * 1e-3, arena);
  if (made->act == WET_FOUND)
    wet_wrap(out, "    ",
             arena_printf(arena, "found %s, %s ago, by %s (entry %lld)",
                          wet_clock(place, made->t_ms, arena), ago, made->who,
                          (long long)made->number));
  else
    wet_wrap(out, "    ",
             arena_printf(arena, "poured %s, %s ago, by %s (entry %lld)",
                          wet_clock(place, made->t_ms, arena), ago, made->who,
                          (long long)made->number));
}

static const char *read_words(const struct wet_place *place, const struct wet_told *told,
                              enum units_system system, struct arena *arena)
{
  struct buf text;

  if (!told)
    return "temperature not read";
  buf_init(&text, 300);
  units_print(&text, told->temperature_K, UNITS_TEMPERATURE, system);
  const char *out =
      arena_printf(arena, "%s read %s, %s ago", text.text, wet_clock(place, told->t_ms, arena),
                   wet_span((double)(place->now_ms - told->t_ms) * 1e-3, arena));

  buf_release(&text);
  return out;
}

static const char *wafer_words(const struct wet_tank *t, struct arena *arena)
{
  if (t->made->act == WET_FOUND)
    return arena_printf(arena, "%lld wafers told since, not known how many before",
                        (long long)t->wafers);
  if (t->tank->wafers_most > 0)
    return arena_printf(arena, "%lld of at most %d wafers", (long long)t->wafers,
                        t->tank->wafers_most);
  return arena_printf(arena, "%lld wafers, no most is set", (long long)t->wafers);
}

static const char *level_words(const struct wet_tank *t, struct arena *arena)
{
  const char *level = isnan(t->level_m3)
                          ? "level not known"
                          : arena_printf(arena, "level %s by what was told",
                                         wet_quantity(t->level_m3, UNITS_VOLUME, arena));

  if (t->topped_count == 0)
    return level;
  const char *with = t->topped[0];

  for (int i = 1; i < t->topped_count; i++)
    with = arena_printf(arena, "%s, %s", with, t->topped[i]);
  return arena_printf(
      arena, "%s; topped up with %s: %s in all, which gives it no new life", level, with,
      isnan(t->topped_m3) ? "not known how much" : wet_quantity(t->topped_m3, UNITS_VOLUME, arena));
}

static void put_tank(const struct wet_baths *baths, const struct wet_tank *t,
                     enum units_system system, struct buf *out, struct arena *arena)
{
  const struct wet_place *place = baths->place;

  buf_printf(out, "\n%s  %s, %s: %s\n", t->tank->part.id, t->tank->part.name,
             station_id(place, t->tank->station), t->bath);
  if (t->reasons.count == 0)
    buf_printf(out, "  %s%s\n", head_of(t),
               t->state == WET_STANDS ? ": nothing that is set is due, by what was told"
               : t->last              ? arena_printf(arena, " since %s (entry %lld)",
                                                     wet_clock(place, t->last->t_ms, arena),
                                                     (long long)t->last->number)
                                      : "");
  for (int i = 0; i < t->reasons.count; i++)
    wet_wrap(out, arena_printf(arena, "  %s: ", i == 0 ? head_of(t) : "and"), t->reasons.line[i]);
  put_made(place, t, out, arena);
  if (t->made)
    wet_wrap(out, "    ",
             arena_printf(arena, "%s; %s; %s", wafer_words(t, arena),
                          read_words(place, t->temperature, system, arena), level_words(t, arena)));
  if (t->due_ms != INT64_MIN && t->due_ms > place->now_ms)
    wet_wrap(out, "    ",
             arena_printf(arena, "next %s, in %s: %s", wet_clock(place, t->due_ms, arena),
                          wet_span((double)(t->due_ms - place->now_ms) * 1e-3, arena), t->due_why));
  for (int i = 0; i < t->notes.count; i++)
    wet_wrap(out, "    ", t->notes.line[i]);
  wet_wrap(out, "    drain: ", t->tank->drain);
}

void wet_baths_text(const struct wet_baths *baths, enum units_system system, struct buf *out)
{
  const struct wet_place *place = baths->place;
  struct arena arena;

  arena_init(&arena, SIZE_MAX); /* bounded by the chemicals file */
  buf_printf(out, "Baths of the day%s%s, ", place->facility->name ? ": " : "",
             place->facility->name ? place->facility->name : "");
  when_print(out, place->zone, place->now_ms);
  buf_putc(out, '\n');
  if (baths->count == 0)
    wet_wrap(out, "", no_tanks);
  put_ids(baths, WET_DUE, "DUE: ", out);
  put_ids(baths, WET_NOT_KNOWN, "NOT KNOWN: ", out);
  for (int i = 0; i < baths->strangers.count; i++)
    wet_wrap(out, "NOT KNOWN: ", baths->strangers.line[i]);
  if (baths->past->unread_count > 0)
    buf_printf(
        out,
        "%d entries of baths or waste cannot be read, or are of a moment to come: what they told is not known.\n",
        baths->past->unread_count);
  if (baths->past->is_cut)
    buf_puts(out, "More was told than is looked at here: what is older was left out.\n");
  for (int i = 0; i < baths->count; i++)
    put_tank(baths, &baths->tanks[i], system, out, &arena);
  buf_putc(out, '\n');
  wet_wrap(out, "", foot);
  wet_benches_text(wet_benches(baths, &arena), out);
  arena_release(&arena);
}

/* ---- JSON ---- */

static void set_json(const struct wet_tank *t, struct emit *json)
{
  const struct chemicals_tank *tank = t->tank;

  emit_object(json, "set");
  emit_number(json, "volume_m3", tank->volume_m3);
  emit_number(json, "least_m3", tank->least_m3);
  emit_number(json, "temperature_K", tank->temperature_K);
  emit_number(json, "temperature_pm_K", tank->temperature_pm_K);
  emit_number(json, "read_every_s", tank->every_s);
  emit_number(json, "life_s", t->life_s);
  emit_text(json, "life_of", isnan(t->life_s) ? NULL : t->life_of);
  if (tank->wafers_most > 0)
    emit_int(json, "wafers_most", tank->wafers_most);
  else
    emit_null(json, "wafers_most");
  emit_text(json, "source", tank->source);
  emit_close(json);
}

static void told_json(const struct wet_place *place, const struct wet_tank *t, struct emit *json)
{
  bool known = t->made && t->made->act == WET_MADE;

  wet_told_json(json, "began", t->made);
  emit_text(json, "poured", t->made ? t->made->bath : NULL);
  emit_bool(json, "age_known", known);
  emit_number_if(json, "age_s", known, known ? (double)(place->now_ms - t->made->t_ms) * 1e-3 : 0);
  if (t->made)
    emit_int(json, "wafers", t->wafers);
  else
    emit_null(json, "wafers");
  emit_number_if(json, "temperature_K", t->temperature != NULL,
                 t->temperature ? t->temperature->temperature_K : 0);
  emit_number_if(json, "temperature_age_s", t->temperature != NULL,
                 t->temperature ? (double)(place->now_ms - t->temperature->t_ms) * 1e-3 : 0);
  emit_number(json, "level_m3", t->level_m3);
  emit_array(json, "topped_with");
  for (int i = 0; i < t->topped_count; i++)
    emit_text(json, NULL, t->topped[i]);
  emit_close(json);
  emit_number_if(json, "topped_m3", t->made != NULL, t->topped_m3);
  wet_told_json(json, "last", t->last);
}

static void tank_json(const struct wet_place *place, const struct wet_tank *t, struct emit *json)
{
  emit_object(json, NULL);
  emit_text(json, "id", t->tank->part.id);
  emit_text(json, "name", t->tank->part.name);
  emit_text(json, "station", station_id(place, t->tank->station));
  emit_text(json, "bath", t->tank->bath);
  emit_text(json, "bath_name", t->bath);
  emit_text(json, "state", wet_state_key(t->state));
  wet_lines_json(json, "reasons", &t->reasons);
  when_emit(json, "next", t->due_ms);
  emit_number(json, "next_in_s", wet_until_s(place, t->due_ms));
  emit_text(json, "next_why", t->due_why);
  told_json(place, t, json);
  wet_lines_json(json, "notes", &t->notes);
  emit_text(json, "drain", t->tank->drain);
  set_json(t, json);
  emit_close(json);
}

void wet_baths_json(const struct wet_baths *baths, struct buf *out)
{
  struct arena arena;
  struct emit json;

  arena_init(&arena, SIZE_MAX); /* bounded by the chemicals file */
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.baths.1");
  wet_head_json(&json, baths->place, baths->past);
  emit_text(&json, "state", baths->count > 0 ? wet_state_key(baths->state) : "not_known");
  wet_lines_json(&json, "not_in_file", &baths->strangers);
  emit_text(&json, "caution", baths->count > 0 ? foot : no_tanks);
  emit_array(&json, "tanks");
  for (int i = 0; i < baths->count; i++)
    tank_json(baths->place, &baths->tanks[i], &json);
  emit_close(&json);
  wet_benches_json(wet_benches(baths, &arena), &json);
  emit_close(&json);
  emit_end(&json);
  arena_release(&arena);
}
