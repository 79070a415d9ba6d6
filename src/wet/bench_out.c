#include "wet/wet_impl.h"

#include <math.h>

/* Wet benches, for people and for programs; and whether a bath may go down a drain. */

static const char foot[] =
    "Read from points and from what people told. Inward switches nothing and is part of no lock-out; what no "
    "point sees is not known to be dry, cold or shut, and nothing here is a clearance.";

static const char *head_of(enum wet_need need)
{
  static const char *const heads[] = {"NOTHING MEASURED AGAINST IT", "NOT SEEN", "NOT KNOWN",
                                      "CALL"};

  return heads[need];
}

/* ---- text ---- */

static const char *named(const char *kind, const struct facility_part *part, struct arena *arena)
{
  bool is_named = part->name && !wet_same(part->name, part->id);

  return arena_printf(arena, "    %s %s%s%s: ", kind, part->id, is_named ? " " : "",
                      is_named ? part->name : "");
}

static void put_lines(const char *before, const struct wet_lines *lines, struct buf *out)
{
  for (int i = 0; i < lines->count; i++)
    wet_wrap(out, before, lines->line[i]);
}

static void put_meets(const struct meet_answer *meets, struct buf *out, struct arena *arena)
{
  enum { SHOWN = 4 };

  for (int i = 0; meets && i < meets->finding_count && i < SHOWN; i++) {
    const struct meet_finding *found = &meets->findings[i];

    if (found->verdict == MEET_NOTHING_LISTED)
      continue;
    wet_wrap(out, "      - ",
             arena_printf(arena, "%s: %s%s%s", meet_finding_of(meets, found, arena),
                          meet_verdict_words(found->verdict), found->sentence_count > 0 ? ": " : "",
                          found->sentence_count > 0 ? found->sentences[0].say : ""));
  }
}

static void put_tray(const struct wet_tray *t, struct buf *out, struct arena *arena)
{
  const char *all = "";

  wet_wrap(out, named("tray", &t->tray->part, arena),
           t->need == WET_QUIET ? t->says : head_of(t->need));
  if (t->next)
    wet_wrap(out, "      next: ", t->next);
  for (int i = 0; i < t->above_count; i++)
    all = arena_printf(arena, "%s%s%s", all, i > 0 ? "; " : "", t->above[i]);
  wet_wrap(out, "      above it: ", all);
  if (t->need >= WET_SILENT)
    put_meets(t->meets, out, arena);
  if (t->some_not_known)
    wet_wrap(out, "      ",
             "not all that is above it is known: what may meet in it is not known either");
}

static void put_heater(const struct wet_heater *h, struct buf *out, struct arena *arena)
{
  wet_wrap(out, named("heater", &h->heater->part, arena),
           h->need == WET_QUIET ? arena_printf(arena, "%s: %s", h->head, h->says) : h->head);
  if (h->next)
    wet_wrap(out, "      next: ", h->next);
  for (int i = 0; i < h->lock_count; i++)
    wet_wrap(out, arena_printf(arena, "      %s: ", chemicals_lockout_words(h->locks[i].of)),
             arena_printf(arena, "%s%s",
                          h->locks[i].holds      ? "HOLDS, "
                          : h->locks[i].is_known ? ""
                                                 : "not known: ",
                          h->locks[i].says));
}

static const char *rinse_head(const struct wet_rinse *r)
{
  return !r->is_known ? "NOT KNOWN" : r->is_reached ? "as set" : "not yet";
}

static const char *joined(const char *const *list, int count, struct arena *arena)
{
  const char *all = "";

  for (int i = 0; i < count; i++)
    all = arena_printf(arena, "%s%s%s", all, i > 0 ? ", " : "", list[i]);
  return all;
}

static void put_drain(const struct chemicals_drain *d, struct buf *out, struct arena *arena)
{
  wet_wrap(
      out, named("drain", &d->part, arena),
      arena_printf(arena, "%s; takes %s%s%s%s%s%s%s (%s)", chemicals_route_words(d->route),
                   joined(d->takes, d->take_count, arena),
                   d->procedure_count > 0 ? "; only by a written procedure " : "",
                   joined(d->procedure, d->procedure_count, arena),
                   d->never_count > 0 ? "; never " : "", joined(d->never, d->never_count, arena),
                   isnan(d->hottest_K) ? "" : "; nothing above ",
                   isnan(d->hottest_K) ? "" : wet_quantity(d->hottest_K, UNITS_TEMPERATURE, arena),
                   d->source));
}

static void put_bench(const struct wet_benches *benches, const struct wet_bench *b, struct buf *out,
                      struct arena *arena)
{
  const struct facility_part *part = &benches->baths->place->facility->stations[b->station].part;

  buf_printf(out, "\n%s  %s: %s\n", part->id, part->name ? part->name : "", head_of(b->need));
  for (int i = 0; i < b->reasons.count; i++)
    wet_wrap(out, i == 0 ? "  " : "  and ", b->reasons.line[i]);
  if (b->deck.says && b->deck.need == WET_QUIET)
    wet_wrap(out, "    deck: ", b->deck.says);
  for (int i = 0; i < b->tray_count; i++)
    put_tray(&b->trays[i], out, arena);
  for (int i = 0; i < b->heater_count; i++)
    put_heater(&b->heaters[i], out, arena);
  for (int i = 0; i < b->rinse_count; i++)
    wet_wrap(out, named("rinse", &b->rinses[i].rinse->part, arena),
             arena_printf(arena, "%s: %s (%s)", rinse_head(&b->rinses[i]), b->rinses[i].says,
                          b->rinses[i].rinse->source));
  for (int i = 0; i < b->drain_count; i++)
    put_drain(b->drains[i], out, arena);
  put_lines("    stands there: ", &b->standing, out);
}

void wet_benches_text(const struct wet_benches *benches, struct buf *out)
{
  struct arena arena;

  if (benches->count == 0)
    return;
  arena_init(&arena, SIZE_MAX); /* bounded by the chemicals file */
  buf_puts(out, "\nWet benches\n");
  for (int i = 0; i < benches->count; i++)
    put_bench(benches, &benches->list[i], out, &arena);
  buf_putc(out, '\n');
  wet_wrap(out, "", foot);
  arena_release(&arena);
}

/* ---- JSON ---- */

static void texts_json(struct emit *json, const char *key, const char *const *list, int count)
{
  emit_array(json, key);
  for (int i = 0; i < count; i++)
    emit_text(json, NULL, list[i]);
  emit_close(json);
}

static void reading_json(struct emit *json, const char *key, const char *quantity,
                         const struct wet_reading *r)
{
  emit_object(json, key);
  emit_text(json, "point", r->point);
  emit_number_if(json, quantity, r->is_known, r->is_known ? r->si : 0);
  emit_number_if(json, "age_s", r->is_known, r->is_known ? r->age_s : 0);
  emit_text(json, "why", r->is_known ? NULL : r->why);
  emit_close(json);
}

static void yes_json(struct emit *json, const char *key, const struct wet_reading *r)
{
  emit_object(json, key);
  emit_text(json, "point", r->point);
  if (r->is_known)
    emit_bool(json, "is_so", r->si != 0);
  else
    emit_null(json, "is_so");
  emit_number_if(json, "age_s", r->is_known, r->is_known ? r->age_s : 0);
  emit_text(json, "why", r->is_known ? NULL : r->why);
  emit_close(json);
}

static void part_json(struct emit *json, const struct facility_part *part, const char *state)
{
  emit_text(json, "id", part->id);
  emit_text(json, "name", part->name);
  emit_text(json, "state", state);
}

static void meets_json(struct emit *json, const struct meet_answer *meets, struct arena *arena)
{
  emit_text(json, "meets", meets ? meet_verdict_words(meets->verdict) : NULL);
  emit_array(json, "may_meet");
  for (int i = 0; meets && i < meets->finding_count; i++) {
    const struct meet_finding *found = &meets->findings[i];

    if (found->verdict == MEET_NOTHING_LISTED)
      continue;
    emit_object(json, NULL);
    emit_text(json, "what", meet_finding_of(meets, found, arena));
    emit_text(json, "verdict", meet_verdict_words(found->verdict));
    emit_text(json, "say", found->sentence_count > 0 ? found->sentences[0].say : NULL);
    emit_text(json, "source",
              found->sentence_count > 0 ? found->sentences[0].of.source
              : found->cell_count > 0   ? found->cells[0].of.source
                                        : NULL);
    emit_close(json);
  }
  emit_close(json);
}

static void tray_json(struct emit *json, const struct wet_tray *t, struct arena *arena)
{
  emit_object(json, NULL);
  part_json(json, &t->tray->part, wet_need_key(t->need));
  emit_text(json, "says", t->says);
  emit_text(json, "tell", t->tell);
  emit_text(json, "next", t->next);
  yes_json(json, "wet", &t->leak);
  emit_text(json, "looked_at_by", t->tray->looked_at);
  texts_json(json, "above", t->above, t->above_count);
  emit_bool(json, "all_above_known", !t->some_not_known);
  meets_json(json, t->meets, arena);
  emit_text(json, "source", t->tray->source);
  emit_close(json);
}

static void heater_json(struct emit *json, const struct wet_heater *h)
{
  emit_object(json, NULL);
  part_json(json, &h->heater->part, wet_need_key(h->need));
  emit_text(json, "tank", h->tank->tank->part.id);
  emit_text(json, "head", h->head);
  emit_text(json, "says", h->says);
  emit_text(json, "next", h->next);
  yes_json(json, "heats", &h->heats);
  reading_json(json, "temperature", "temperature_K", &h->temperature);
  emit_array(json, "locked_out_by");
  for (int i = 0; i < h->lock_count; i++) {
    emit_object(json, NULL);
    emit_text(json, "condition", chemicals_lockout_words(h->locks[i].of));
    if (h->locks[i].is_known)
      emit_bool(json, "holds", h->locks[i].holds);
    else
      emit_null(json, "holds");
    emit_text(json, "says", h->locks[i].says);
    emit_close(json);
  }
  emit_close(json);
  emit_text(json, "source", h->heater->source);
  emit_close(json);
}

static void rinse_json(struct emit *json, const struct wet_rinse *r)
{
  const char *state = !r->is_known ? "not_known" : r->is_reached ? "as_set" : "not_yet";

  emit_object(json, NULL);
  part_json(json, &r->rinse->part, state);
  emit_text(json, "says", r->says);
  reading_json(json, "resistivity", "resistivity_ohm_m", &r->resistivity);
  reading_json(json, "dumps", "count", &r->dumps);
  emit_number(json, "resistivity_least_ohm_m", r->rinse->resistivity_ohm_m);
  if (r->rinse->dumps_least > 0)
    emit_int(json, "dumps_least", r->rinse->dumps_least);
  else
    emit_null(json, "dumps_least");
  emit_text(json, "source", r->rinse->source);
  emit_close(json);
}

static void drain_json(struct emit *json, const struct chemicals_drain *d)
{
  emit_object(json, NULL);
  emit_text(json, "id", d->part.id);
  emit_text(json, "name", d->part.name);
  emit_text(json, "route", chemicals_route_words(d->route));
  texts_json(json, "takes", d->takes, d->take_count);
  texts_json(json, "never", d->never, d->never_count);
  texts_json(json, "by_procedure", d->procedure, d->procedure_count);
  emit_number(json, "hottest_K", d->hottest_K);
  emit_number(json, "flash_least_K", d->flash_least_K);
  emit_number(json, "stands_s", d->stands_s);
  emit_text(json, "source", d->source);
  emit_close(json);
}

static void deck_json(struct emit *json, const struct facility_station *s, const struct wet_deck *d)
{
  if (isnan(d->least_m3_s)) {
    emit_null(json, "deck");
    return;
  }
  emit_object(json, "deck");
  emit_text(json, "state", wet_need_key(d->need));
  emit_number(json, "flow_m3_s", d->flow_m3_s);
  emit_number(json, "least_m3_s", d->least_m3_s);
  emit_text(json, "says", d->says);
  emit_text(json, "source", s->deck_least_source);
  emit_close(json);
}

static void bench_json(struct emit *json, const struct facility *f, const struct wet_bench *b,
                       struct arena *arena)
{
  const struct facility_station *s = &f->stations[b->station];

  emit_object(json, NULL);
  emit_text(json, "station", s->part.id);
  emit_text(json, "name", s->part.name);
  emit_text(json, "state", wet_need_key(b->need));
  wet_lines_json(json, "reasons", &b->reasons);
  deck_json(json, s, &b->deck);
  emit_array(json, "trays");
  for (int i = 0; i < b->tray_count; i++)
    tray_json(json, &b->trays[i], arena);
  emit_close(json);
  emit_array(json, "heaters");
  for (int i = 0; i < b->heater_count; i++)
    heater_json(json, &b->heaters[i]);
  emit_close(json);
  emit_array(json, "rinses");
  for (int i = 0; i < b->rinse_count; i++)
    rinse_json(json, &b->rinses[i]);
  emit_close(json);
  emit_array(json, "drains");
  for (int i = 0; i < b->drain_count; i++)
    drain_json(json, b->drains[i]);
  emit_close(json);
  wet_lines_json(json, "standing", &b->standing);
  emit_close(json);
}

void wet_benches_json(const struct wet_benches *benches, struct emit *json)
{
  struct arena arena;

  arena_init(&arena, SIZE_MAX); /* bounded by the chemicals file */
  emit_text(json, "benches_state", benches->count > 0 ? wet_need_key(benches->need) : NULL);
  emit_text(json, "benches_caution", foot);
  emit_array(json, "benches");
  for (int i = 0; i < benches->count; i++)
    bench_json(json, benches->baths->place->facility, &benches->list[i], &arena);
  emit_close(json);
  arena_release(&arena);
}

/* ---- down a drain ---- */

static const char dump_foot[] =
    "Nothing here is a permission, and no valve is moved: the house's rules, the permit of the drain and the person "
    "in charge decide.";

void wet_dump_text(const struct wet_dump *dump, enum units_system system, struct buf *out)
{
  struct arena arena;

  arena_init(&arena, SIZE_MAX);
  wet_wrap(out, "",
           arena_printf(&arena, "%s (%s) down %s: %s.", dump->tank_id,
                        dump->what_count > 0 ? joined(dump->what, dump->what_count, &arena)
                                             : "what it holds is not known",
                        dump->drain_id ? dump->drain_id : "its drain",
                        meet_verdict_words(dump->verdict)));
  put_lines("  - ", &dump->reasons, out);
  if (dump->before_count > 0)
    wet_wrap(out, "  before it: ", joined(dump->before, dump->before_count, &arena));
  if (dump->meets && dump->before_count > 0) {
    buf_puts(out, "\nWhat the tables say of it with what went down before\n");
    meet_text(dump->meets, system, out);
  }
  buf_putc(out, '\n');
  wet_wrap(out, "", dump_foot);
  arena_release(&arena);
}

void wet_dump_json(const struct wet_dump *dump, struct buf *out)
{
  struct arena arena;
  struct emit json;

  arena_init(&arena, SIZE_MAX);
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.drain_may.1");
  wet_head_json(&json, dump->place, NULL);
  emit_text(&json, "tank", dump->tank_id);
  emit_text(&json, "drain", dump->drain_id);
  emit_text(&json, "route", dump->drain ? chemicals_route_words(dump->drain->route) : NULL);
  texts_json(&json, "what", dump->what, dump->what_count);
  texts_json(&json, "before", dump->before, dump->before_count);
  emit_text(&json, "verdict", meet_verdict_words(dump->verdict));
  wet_lines_json(&json, "reasons", &dump->reasons);
  meets_json(&json, dump->meets, &arena);
  emit_text(&json, "caution", dump_foot);
  emit_close(&json);
  emit_end(&json);
  arena_release(&arena);
}
