#include "wet/wet_impl.h"

#include "bath/bath.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* Waste containers, and what may go in, for people and for programs. */

static const char foot[] =
    "By what people told; nothing of it is measured. A container counts as holding what it ever held. Keep "
    "it shut but while it is filled. Nothing here is a clearance, and what was not told is not known.";

static const char *head_of(const struct wet_container *c)
{
  static const char *const heads[] = {"EMPTY", "STANDS", "A PERSON IS NEEDED", "NOT KNOWN"};

  return heads[c->state];
}

static const char *where(const struct wet_place *place, const struct wet_container *c)
{
  return c->stream ? place->facility->stations[c->stream->station].part.id : NULL;
}

static const char *fill_words(const struct wet_container *c, struct arena *arena)
{
  if (isnan(c->fill_high_ratio))
    return arena_printf(arena, "how full: not known%s%s", c->fill_why ? ", " : "",
                        c->fill_why ? c->fill_why : "");
  if (c->fill_high_ratio - c->fill_low_ratio < 0.005)
    return arena_printf(arena, "%.0f %% full by what was told", c->fill_high_ratio * 100);
  return arena_printf(arena, "%.0f to %.0f %% full by what was told", c->fill_low_ratio * 100,
                      c->fill_high_ratio * 100);
}

static void put_item(const struct wet_place *place, const struct wet_item *item, struct buf *out,
                     struct arena *arena)
{
  wet_wrap(out, "    - ",
           arena_printf(arena, "%s %s%s%s: %s, by %s (entry %lld)",
                        wet_clock(place, item->told->t_ms, arena), item->what,
                        item->tank ? " out of " : "", item->tank ? item->tank : "",
                        isnan(item->told->volume_m3)
                            ? "how much was not told"
                            : wet_quantity(item->told->volume_m3, UNITS_VOLUME, arena),
                        item->told->who, (long long)item->told->number));
}

static void put_container(const struct wet_waste *waste, const struct wet_container *c,
                          struct buf *out, struct arena *arena)
{
  const struct wet_place *place = waste->place;

  buf_printf(out, "\n%s  %s%s%s\n", c->id, c->stream ? c->stream->part.name : "stream not known",
             c->stream ? ", " : "", c->stream ? where(place, c) : "");
  if (c->reasons.count == 0)
    buf_printf(out, "  %s: nothing that is set is due, by what was told\n", head_of(c));
  for (int i = 0; i < c->reasons.count; i++)
    wet_wrap(out, arena_printf(arena, "  %s: ", i == 0 ? head_of(c) : "and"), c->reasons.line[i]);
  if (c->opened)
    wet_wrap(out, "    ",
             arena_printf(arena, "begun %s by %s (entry %lld); %s%s",
                          wet_clock(place, c->opened->t_ms, arena), c->opened->who,
                          (long long)c->opened->number, fill_words(c, arena),
                          c->closed ? "; closed for good" : ""));
  else
    wet_wrap(out, "    ", fill_words(c, arena));
  if (c->due_ms != INT64_MIN && c->due_ms > place->now_ms)
    wet_wrap(out, "    ",
             arena_printf(arena, "%s left, until %s: %s",
                          wet_span((double)(c->due_ms - place->now_ms) * 1e-3, arena),
                          wet_clock(place, c->due_ms, arena), c->due_why));
  if (c->stream)
    wet_wrap(out, "    ",
             arena_printf(arena, "%s of %s; cap %s%s%s",
                          wet_quantity(c->stream->volume_m3, UNITS_VOLUME, arena),
                          c->stream->material, c->stream->vented ? "vented" : "not told vented",
                          c->stream->vented ? ", by " : "",
                          c->stream->vented ? c->stream->vented_by : ""));
  for (int i = 0; i < c->item_count; i++)
    put_item(place, &c->items[i], out, arena);
  for (int i = 0; i < c->notes.count; i++)
    wet_wrap(out, "    ", c->notes.line[i]);
}

void wet_waste_text(const struct wet_waste *waste, enum units_system system, struct buf *out)
{
  const struct wet_place *place = waste->place;
  struct arena arena;

  (void)system; /* litres stay litres: no temperature is shown */
  arena_init(&arena, SIZE_MAX);
  buf_printf(out, "Waste containers%s%s, ", place->facility->name ? ": " : "",
             place->facility->name ? place->facility->name : "");
  when_print(out, place->zone, place->now_ms);
  buf_putc(out, '\n');
  if (waste->count == 0)
    buf_puts(out,
             "No container stands here by what was told. That is not known to be so: a container "
             "that nobody told of is not here.\n");
  if (waste->past->unread_count > 0)
    buf_printf(
        out,
        "%d entries of baths or waste cannot be read, or are of a moment to come: what they told is not known.\n",
        waste->past->unread_count);
  if (waste->past->is_cut)
    buf_puts(out, "More was told than is looked at here: what is older was left out.\n");
  for (int i = 0; i < waste->count; i++)
    put_container(waste, &waste->containers[i], out, &arena);
  buf_printf(out, "\n%d collected.\n", waste->collected_count);
  wet_wrap(out, "", foot);
  arena_release(&arena);
}

/* ---- JSON ---- */

static void items_json(const struct wet_container *c, struct emit *json)
{
  emit_array(json, "held");
  for (int i = 0; i < c->item_count; i++) {
    const struct wet_item *item = &c->items[i];

    emit_object(json, NULL);
    emit_text(json, "what", item->what);
    emit_text(json, "tank", item->tank);
    emit_number(json, "volume_m3", item->told->volume_m3);
    emit_int(json, "entry", item->told->number);
    when_emit(json, "at", item->told->t_ms);
    emit_text(json, "who", item->told->who);
    emit_close(json);
  }
  emit_close(json);
}

static void stream_json(const struct chemicals_stream *s, struct emit *json)
{
  if (!s) {
    emit_null(json, "stream");
    return;
  }
  emit_object(json, "stream");
  emit_text(json, "id", s->part.id);
  emit_text(json, "name", s->part.name);
  emit_number(json, "volume_m3", s->volume_m3);
  emit_text(json, "material", s->material);
  emit_number(json, "fill_most_ratio", s->fill_ratio);
  emit_number(json, "from_first_s", s->first_s);
  emit_number(json, "from_full_s", s->full_s);
  emit_bool(json, "vented", s->vented);
  emit_text(json, "vented_by", s->vented_by);
  emit_text(json, "source", s->source);
  emit_array(json, "takes");
  for (int i = 0; i < s->take_count; i++)
    emit_text(json, NULL, s->takes[i]);
  emit_close(json);
  emit_array(json, "never");
  for (int i = 0; i < s->never_count; i++)
    emit_text(json, NULL, s->never[i]);
  emit_close(json);
  emit_close(json);
}

static void container_json(const struct wet_place *place, const struct wet_container *c,
                           struct emit *json)
{
  emit_object(json, NULL);
  emit_text(json, "id", c->id);
  emit_text(json, "station", where(place, c));
  emit_text(json, "state", wet_state_key(c->state));
  wet_lines_json(json, "reasons", &c->reasons);
  emit_bool(json, "history_known", c->opened && c->history_known);
  emit_number(json, "fill_low_ratio", c->fill_low_ratio);
  emit_number(json, "fill_high_ratio", c->fill_high_ratio);
  emit_text(json, "fill_why", c->fill_why);
  when_emit(json, "due", c->due_ms);
  emit_number(json, "due_in_s", wet_until_s(place, c->due_ms));
  emit_text(json, "due_why", c->due_why);
  wet_told_json(json, "began", c->opened);
  when_emit(json, "first_at", c->first_ms);
  wet_told_json(json, "closed", c->closed);
  wet_told_json(json, "last", c->last);
  emit_bool(json, "gives_gas", c->gives_gas);
  emit_text(json, "gas_why", c->gas_why);
  items_json(c, json);
  wet_lines_json(json, "notes", &c->notes);
  stream_json(c->stream, json);
  emit_close(json);
}

void wet_waste_json(const struct wet_waste *waste, struct buf *out)
{
  const struct wet_place *place = waste->place;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.waste.1");
  wet_head_json(&json, place, waste->past);
  emit_text(&json, "state", waste->count > 0 ? wet_state_key(waste->state) : "empty");
  emit_text(&json, "caution", foot);
  emit_int(&json, "collected", waste->collected_count);
  emit_array(&json, "streams");
  for (int i = 0; place->own && i < place->own->stream_count; i++) {
    emit_object(&json, NULL);
    emit_text(&json, "id", place->own->streams[i].part.id);
    emit_text(&json, "name", place->own->streams[i].part.name);
    emit_text(&json, "station", place->facility->stations[place->own->streams[i].station].part.id);
    emit_close(&json);
  }
  emit_close(&json);
  emit_array(&json, "containers");
  for (int i = 0; i < waste->count; i++)
    container_json(place, &waste->containers[i], &json);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

/* ---- may it go in ---- */

static const char *joined(const struct wet_may *may, struct arena *arena)
{
  const char *all = "";

  for (int i = 0; i < may->what_count; i++)
    all = arena_printf(arena, "%s%s%s", all, i > 0 ? ", " : "", may->what[i]);
  return all;
}

void wet_may_text(const struct wet_may *may, enum units_system system, struct buf *out)
{
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  wet_wrap(out, "",
           arena_printf(&arena, "%s into %s: %s.", joined(may, &arena), may->container,
                        meet_verdict_words(may->verdict)));
  for (int i = 0; i < may->reasons.count; i++)
    wet_wrap(out, "  - ", may->reasons.line[i]);
  if (may->meets) {
    buf_puts(out, "\nWhat the tables say\n");
    meet_text(may->meets, system, out);
  }
  arena_release(&arena);
}

void wet_may_json(const struct wet_may *may, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.waste_may.1");
  wet_head_json(&json, may->place, NULL);
  emit_text(&json, "container", may->container);
  emit_array(&json, "what");
  for (int i = 0; i < may->what_count; i++)
    emit_text(&json, NULL, may->what[i]);
  emit_close(&json);
  emit_text(&json, "verdict", meet_verdict_words(may->verdict));
  wet_lines_json(&json, "reasons", &may->reasons);
  emit_array(&json, "tables");
  for (int i = 0; may->meets && i < may->meets->finding_count; i++)
    for (int k = 0; k < may->meets->findings[i].sentence_count; k++) {
      const struct meet_sentence *s = &may->meets->findings[i].sentences[k];

      emit_object(&json, NULL);
      emit_text(&json, "verdict", meet_verdict_words(s->verdict));
      emit_text(&json, "say", s->say);
      emit_text(&json, "do", *s->instead ? s->instead : NULL);
      emit_text(&json, "source", s->of.source);
      emit_close(&json);
    }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
