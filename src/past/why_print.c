/* One page on one turn: what it was first, then why, then what would have helped. */
#include "past/past_impl.h"

#include "units/units.h"

#include <string.h>

static bool is_bad(enum facility_level level)
{
  return level == FACILITY_NEAR_LIMIT || level == FACILITY_SHORT;
}

static void put_flow(double flow_m3_s, struct buf *out)
{
  units_print(out, flow_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
}

static const char *station_id(const struct past_place *place, int station)
{
  return place->facility->stations[station].part.id;
}

/* ---- the answer ---- */

static void spell_text(const struct past_place *place, const struct past_why *why, struct buf *out)
{
  if (!why->found && why->state == FACILITY_NOT_KNOWN) {
    buf_puts(out, "\n  not known, and nothing else since ");
    when_print(out, place->zone, why->looked_from_ms);
    buf_puts(out, ": there is no turn to explain.\n");
    return;
  }
  buf_printf(out, "\n  %s from ", air_level_name(why->state));
  past_put_stretch(place, why->from_ms, why->to_ms, out);
  if (why->found)
    buf_printf(out, ", before that %s", air_level_name(why->before));
  if (why->ended)
    buf_printf(out, ", then %s", air_level_name(why->after));
  else
    buf_puts(out, "; still so at the end of what was looked at");
  buf_puts(out, "\n");
}

/* The pools that are as bad as the worst of all, or turned. */
static void pools_text(const struct past_place *place, const struct past_why *why, struct buf *out)
{
  for (int i = 0; i < why->pool_count; i++) {
    const struct past_why_pool *p = &why->pools[i];

    if (p->state != why->state)
      continue;
    buf_printf(out, "  %s %s", air_pool_id(place->facility, i), air_level_name(p->state));
    if (p->before != p->state)
      buf_printf(out, ", before that %s", air_level_name(p->before));
    if (p->has_figures) {
      double over_m3_s = p->demand_m3_s - p->limit_m3_s;

      buf_puts(out, ": asked for ");
      put_flow(p->demand_m3_s, out);
      buf_printf(out, ", %s ", p->declared ? "its declared limit is" : "its limit is");
      put_flow(p->limit_m3_s, out);
      buf_puts(out, over_m3_s > 0 ? ": too much by " : ": left ");
      put_flow(over_m3_s > 0 ? over_m3_s : -over_m3_s, out);
    }
    if (p->at_most)
      buf_puts(out, ": no lowering of its sashes alone would have ended it");
    if (p->binding && is_bad(p->state))
      buf_printf(out, "\n    %s", p->binding);
    buf_putc(out, '\n');
  }
}

/* ---- what would have helped ---- */

static void sash_line(const struct past_place *place, const struct past_why *why,
                      const struct air_lower *sash, struct buf *out)
{
  const struct past_why_station *s = &why->stations[sash->station];
  bool to_mark =
      sash->has_to_m && sash->to_m > place->facility->stations[sash->station].parked_m + 1e-9;

  buf_puts(out, station_id(place, sash->station));
  if (to_mark)
    buf_printf(out, " down to its mark %.2f m", sash->to_m);
  else
    buf_puts(out, " parked");
  buf_puts(out, !s->presence_known ? ": not known who was there"
                : s->present       ? ": somebody was there"
                                   : ": nobody was there");
  buf_puts(out, "; frees ");
  put_flow(sash->frees_m3_s, out);
  buf_printf(out, ", then %s\n", air_level_name(sash->state_after));
}

static void sashes_text(const struct past_place *place, const struct past_why *why, struct buf *out)
{
  if (why->sash_count > 0) {
    buf_puts(out,
             "\nOne of these sashes lowered would have been enough (ask the person there; never "
             "move another's sash over work)\n");
    for (int i = 0; i < why->sash_count; i++) {
      buf_printf(out, "  %d. ", i + 1);
      sash_line(place, why, &why->sashes[i], out);
    }
    return;
  }
  if (why->together.shut_doors) {
    buf_printf(out, "\nDoors come before sashes: %s\n", why->together.why);
    return;
  }
  buf_puts(out, "\nNo single sash would have been enough.");
  if (why->together.found && why->together.count > 0) {
    buf_puts(out, " Together (ask the people there; never move another's sash over work)\n");
    for (int i = 0; i < why->together.count; i++) {
      buf_printf(out, "  %d. ", i + 1);
      sash_line(place, why, &why->together.sashes[i], out);
    }
  } else {
    buf_putc(out, '\n');
  }
  if (why->together.why)
    buf_printf(out, "  %s\n", why->together.why);
}

static void spared_text(const struct past_why *why, struct buf *out)
{
  double spell_s = (double)(why->to_ms - why->from_ms) * 1e-3;

  buf_puts(out, "\nWhat nobody needed to lose: ");
  if (why->spared_s > 0) {
    when_print_span(out, why->spared_s);
    buf_puts(out, " of these ");
    when_print_span(out, spell_s);
    buf_puts(out, ". Lowering only what stood open with nobody there would have kept it ample.\n");
  } else {
    buf_puts(out,
             "nothing that can be told. What stood open and was known to be unattended was not "
             "enough.\n");
  }
  if (why->not_told_s > 0) {
    buf_puts(out, "  For ");
    when_print_span(out, why->not_told_s);
    buf_puts(out, " of them it cannot be told: an alarm was on, or something was not known.\n");
  }
}

static void help_text(const struct past_place *place, const struct past_why *why, struct buf *out)
{
  if (!is_bad(why->state))
    return;
  if (why->advises)
    sashes_text(place, why, out);
  else
    buf_puts(out,
             "\nNo sash is named: an alarm was on, or something was not known. An alarm decides "
             "first.\n");
  if (!why->together.shut_doors)
    spared_text(why, out);
}

/* ---- the evidence ---- */

static void moves_text(const struct past_place *place, const struct past_why *why, struct buf *out)
{
  if (why->move_count == 0) {
    buf_puts(out, "\nNo move was seen in the 15 min before.\n");
    return;
  }
  buf_puts(out, "\nWhat moved in the 15 min before\n");
  for (int i = 0; i < why->move_count; i++) {
    size_t before = out->used;

    buf_puts(out, "  ");
    past_put_clock(place->zone, why->moves[i].t_ms, out);
    buf_printf(out, "%*s%s\n", (int)(12 - (out->used - before)), "", why->moves[i].text);
  }
}

static void open_line(const struct past_place *place, const struct past_why *why, int i,
                      struct buf *out)
{
  const struct past_why_station *s = &why->stations[i];

  buf_puts(out, "  ");
  past_put_cell(station_id(place, i), 8, out);
  struct buf flow;

  buf_init(&flow, 100);
  put_flow(s->flow_m3_s, &flow);
  if (s->has_opening)
    buf_printf(out, "%.2f m   ", s->opening_m);
  else
    buf_printf(out, "%9s", "");
  past_put_cell(flow.text, 14, out);
  buf_release(&flow);
  buf_puts(out, !s->presence_known ? "not known who was there"
                : s->present       ? "somebody there"
                                   : "nobody there");
  buf_printf(out, "%s%s%s%s\n", s->above_mark ? ", above its mark" : "",
             s->blocked ? ", something may stand under it" : "", s->withdrawn ? ", out of use" : "",
             s->own_alarm ? ", OWN ALARM" : "");
}

static void open_text(const struct past_place *place, const struct past_why *why, struct buf *out)
{
  const char *title = "\nWhat was open, and what it asked for\n";
  bool any = false, unknown = false;

  for (int i = 0; i < place->facility->station_count; i++)
    if (place->facility->stations[i].in_service && why->stations[i].known &&
        why->stations[i].raised) {
      buf_puts(out, any ? "" : title);
      any = true;
      open_line(place, why, i, out);
    }
  for (int i = 0; i < place->facility->station_count; i++)
    if (place->facility->stations[i].in_service && !why->stations[i].known) {
      buf_printf(out, "%s%s",
                 unknown ? ", "
                 : any   ? "  not known how far up: "
                         : "\nNot known how far up: ",
                 station_id(place, i));
      unknown = true;
    }
  if (unknown)
    buf_putc(out, '\n');
  else if (!any)
    buf_puts(out, "\nNo sash was open.\n");
}

static bool is_told_as_gap(const struct past_why *why, const char *reason)
{
  for (int i = 0; i < why->gap_count; i++)
    if (strcmp(why->gaps[i].text, reason) == 0)
      return true;
  return false;
}

static void reasons_text(const struct past_why *why, struct buf *out)
{
  bool any = false;

  for (int i = 0; i < why->reason_count; i++) {
    if (is_told_as_gap(why, why->reasons[i]))
      continue;
    buf_printf(out, "%s  - %s\n", any ? "" : "\nIn the words of the board\n", why->reasons[i]);
    any = true;
  }
}

/* Where a source is lost, all that it said is: a few tell it. */
static void gaps_text(const struct past_why *why, struct buf *out)
{
  enum { TOLD = 12 };

  if (why->gap_count > 0)
    buf_puts(out, "\nWhat was not known\n");
  for (int i = 0; i < why->gap_count && i < TOLD; i++)
    buf_printf(out, "  - %s%s\n", why->gaps[i].text,
               why->gaps[i].needed ? "" : " (no pool needs it)");
  if (why->gap_count > TOLD)
    buf_printf(out, "  - and %d more (--json lists them)\n", why->gap_count - TOLD);
}

static void next_text(const struct past_place *place, const struct past_why *why, struct buf *out)
{
  if (why->has_last) {
    buf_puts(out, "\nLast near limit or short before that: ");
    past_put_stretch(place, why->last_from_ms, why->last_to_ms, out);
    buf_puts(out, ": ask --why for a moment of it.\n");
  }
  if (why->settings_changed > 0)
    buf_printf(
        out,
        "\nThe suite or its feeds file changed %d time%s since then: this is judged by today's.\n",
        why->settings_changed, why->settings_changed == 1 ? "" : "s");
  if (is_bad(why->state) && why->sash_count > 0)
    buf_printf(out, "\nNext: --timeline %s tells the whole day of that sash.\n",
               station_id(place, why->sashes[0].station));
}

void past_why_text(const struct past_place *place, const struct past_why *why, struct buf *out)
{
  const struct facility *f = place->facility;

  buf_printf(out, "%s%s%s%s   why, at ", f->name ? f->name : "(no name)", f->label ? "   [" : "",
             f->label ? f->label : "", f->label ? "]" : "");
  when_print(out, place->zone, why->asked_ms);
  if (why->known_ms != INT64_MAX) {
    buf_puts(out, ", as known at ");
    when_print(out, place->zone, why->known_ms);
  }
  buf_putc(out, '\n');
  past_put_kept(place, why->looked_from_ms, out);
  spell_text(place, why, out);
  if (!why->found && why->state == FACILITY_NOT_KNOWN)
    return;
  if (!why->found)
    buf_puts(out, "  No turn was found before it.\n");
  pools_text(place, why, out);
  if (why->found)
    moves_text(place, why, out);
  help_text(place, why, out);
  open_text(place, why, out);
  gaps_text(why, out);
  reasons_text(why, out);
  next_text(place, why, out);
}

/* ---- for programs ---- */

static void pools_json(struct emit *json, const struct past_place *place,
                       const struct past_why *why)
{
  emit_array(json, "pools");
  for (int i = 0; i < why->pool_count && why->pools; i++) {
    const struct past_why_pool *p = &why->pools[i];

    emit_object(json, NULL);
    emit_text(json, "id", air_pool_id(place->facility, i));
    emit_text(json, "before", air_level_key(p->before));
    emit_text(json, "state", air_level_key(p->state));
    emit_number_if(json, "demand_m3_s", p->has_figures, p->demand_m3_s);
    emit_number_if(json, "limit_m3_s", p->has_figures, p->limit_m3_s);
    emit_bool(json, "declared", p->declared);
    emit_text(json, "binding", p->binding);
    emit_close(json);
  }
  emit_close(json);
}

static void sash_list_json(struct emit *json, const struct past_place *place, const char *key,
                           const struct air_lower *list, int count)
{
  emit_array(json, key);
  for (int i = 0; i < count; i++) {
    emit_object(json, NULL);
    emit_text(json, "station", station_id(place, list[i].station));
    emit_number_if(json, "to_m", list[i].has_to_m, list[i].to_m);
    emit_number(json, "frees_m3_s", list[i].frees_m3_s);
    emit_text(json, "state_after", air_level_key(list[i].state_after));
    emit_close(json);
  }
  emit_close(json);
}

static void stations_json(struct emit *json, const struct past_place *place,
                          const struct past_why *why)
{
  emit_array(json, "stations");
  for (int i = 0; i < place->facility->station_count && why->stations; i++) {
    const struct past_why_station *s = &why->stations[i];

    emit_object(json, NULL);
    emit_text(json, "id", station_id(place, i));
    emit_bool(json, "known", s->known);
    emit_text(json, "why", s->why);
    emit_text(json, "sash", !s->known ? NULL : s->raised ? "raised" : "parked");
    emit_number_if(json, "opening_m", s->known && s->has_opening, s->opening_m);
    emit_number_if(json, "asked_m3_s", s->known, s->flow_m3_s);
    if (s->presence_known)
      emit_bool(json, "present", s->present);
    else
      emit_null(json, "present");
    emit_bool(json, "blocked", s->blocked);
    emit_bool(json, "withdrawn", s->withdrawn);
    emit_bool(json, "own_alarm", s->own_alarm);
    emit_close(json);
  }
  emit_close(json);
}

static void texts_json(struct emit *json, const struct past_why *why)
{
  emit_array(json, "moved");
  for (int i = 0; i < why->move_count; i++) {
    emit_object(json, NULL);
    when_emit(json, "time", why->moves[i].t_ms);
    emit_text(json, "text", why->moves[i].text);
    emit_close(json);
  }
  emit_close(json);
  emit_array(json, "not_known");
  for (int i = 0; i < why->gap_count; i++) {
    emit_object(json, NULL);
    emit_text(json, "about", why->gaps[i].about);
    emit_text(json, "text", why->gaps[i].text);
    emit_bool(json, "needed", why->gaps[i].needed);
    emit_close(json);
  }
  emit_close(json);
  emit_array(json, "reasons");
  for (int i = 0; i < why->reason_count; i++)
    emit_text(json, NULL, why->reasons[i]);
  emit_close(json);
}

void past_why_json(const struct past_place *place, const struct past_why *why, struct buf *out)
{
  bool bad = is_bad(why->state);
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.why.1");
  emit_text(&json, "suite", place->facility->name);
  emit_text(&json, "label", place->facility->label);
  emit_text(&json, "suite_sha256", place->facility->sha256);
  emit_text(&json, "zone", when_zone_name(place->zone));
  when_emit(&json, "asked", why->asked_ms);
  when_emit(&json, "as_of", why->known_ms);
  past_emit_kept(place, why->looked_from_ms, &json);
  emit_bool(&json, "turned", why->found);
  emit_text(&json, "before", why->found ? air_level_key(why->before) : NULL);
  emit_text(&json, "state", air_level_key(why->state));
  when_emit(&json, "from", why->from_ms);
  when_emit(&json, "to", why->to_ms);
  emit_text(&json, "after", why->ended ? air_level_key(why->after) : NULL);
  pools_json(&json, place, why);
  emit_bool(&json, "advises", why->advises);
  sash_list_json(&json, place, "each_enough", why->sashes, why->sash_count);
  sash_list_json(&json, place, "together", why->together.sashes,
                 why->together.found ? why->together.count : 0);
  emit_number_if(&json, "spared_s", bad, why->spared_s);
  emit_number_if(&json, "not_told_s", bad, why->not_told_s);
  when_emit(&json, "last_bad_from", why->has_last ? why->last_from_ms : INT64_MIN);
  when_emit(&json, "last_bad_to", why->has_last ? why->last_to_ms : INT64_MIN);
  emit_int(&json, "settings_changed", why->settings_changed);
  stations_json(&json, place, why);
  texts_json(&json, why);
  emit_close(&json);
  emit_end(&json);
}
