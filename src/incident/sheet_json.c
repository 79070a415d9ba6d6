/* The sheet of one incident, for programs. */
#include "incident/incident_impl.h"

#include <string.h>

static void values_json(const struct incident *what, struct emit *json)
{
  const struct incident_form *form = incident_form(what->kind);

  emit_array(json, "fields");
  for (int i = 0; i < form->field_count; i++) {
    if (!what->values[i])
      continue;
    emit_object(json, NULL);
    emit_text(json, "key", form->fields[i].key);
    emit_text(json, "value", what->values[i]);
    emit_close(json);
  }
  emit_close(json);
}

static void local_json(struct emit *json, const char *key, const struct when_zone *zone,
                       int64_t t_ms)
{
  struct buf words;

  buf_init(&words, 64);
  when_print(&words, zone, t_ms);
  emit_text(json, key, words.text);
  buf_release(&words);
}

static void more_json(const struct incident_sheet *s, struct emit *json)
{
  emit_array(json, "added");
  for (int i = 0; i < s->more_count; i++) {
    emit_object(json, NULL);
    emit_int(json, "number", s->more[i].number);
    when_emit(json, "time", s->more[i].t_ms);
    when_emit(json, "told", s->more[i].told_ms);
    emit_text(json, "who", s->more[i].who);
    emit_text(json, "text", s->more[i].text);
    values_json(&s->more[i].what, json);
    emit_close(json);
  }
  emit_close(json);
}

static void point_json(const struct incident_sheet *s, const struct incident_point *p,
                       struct emit *json)
{
  emit_object(json, NULL);
  incident_figures_json(p, json);
  emit_array(json, "gaps");
  for (int i = 0; i < p->gap_count; i++) {
    emit_object(json, NULL);
    when_emit(json, "from", s->frozen->t_ms + (int64_t)(p->gaps[i].from_s * 1000));
    when_emit(json, "to", s->frozen->t_ms + (int64_t)(p->gaps[i].to_s * 1000));
    emit_close(json);
  }
  emit_close(json);
  emit_int(json, "gaps_left_out", p->gaps_more);
  emit_array(json, "turns");
  for (int i = 0; i < p->turn_count; i++) {
    emit_object(json, NULL);
    when_emit(json, "time", s->frozen->t_ms + (int64_t)(p->turns[i].at_s * 1000));
    emit_number(json, "value_si", p->turns[i].si);
    emit_close(json);
  }
  emit_close(json);
  emit_int(json, "turns_left_out", p->turns_more);
  emit_close(json);
}

static void measured_json(const struct incident_sheet *s, struct emit *json)
{
  static const char *const sources[] = {"nothing", "samples", "entry"};
  const struct incident_frozen *z = s->frozen;

  emit_object(json, "around");
  emit_text(json, "source", sources[s->source]);
  if (s->source == INCIDENT_ENTRY)
    emit_int(json, "entry", s->frozen_number);
  else
    emit_null(json, "entry");
  emit_bool(json, "waits", s->waits);
  when_emit(json, "from", z ? z->from_ms : INT64_MIN);
  when_emit(json, "to", z ? z->to_ms : INT64_MIN);
  emit_int(json, "points_left_out", z ? z->points_left_out : 0);
  emit_array(json, "points");
  for (int i = 0; z && i < z->point_count; i++)
    point_json(s, &z->points[i], json);
  emit_close(json);
  emit_close(json);
}

static void events_json(const struct incident_sheet *s, struct emit *json)
{
  emit_array(json, "events");
  for (int i = 0; i < s->event_count; i++) {
    emit_object(json, NULL);
    emit_int(json, "number", s->events[i].number);
    when_emit(json, "time", s->events[i].t_ms);
    emit_text(json, "kind", s->events[i].kind);
    emit_text(json, "about", *s->events[i].about ? s->events[i].about : NULL);
    emit_text(json, "text", s->events[i].text);
    emit_close(json);
  }
  emit_close(json);
}

/* null: not of this kind, or not for this reader. */
static void used_json(const struct incident_sheet *s, bool staff, struct emit *json)
{
  if (s->what.kind != INCIDENT_BEAKER || !staff) {
    emit_null(json, "staff_only");
    return;
  }
  emit_array(json, "staff_only");
  for (int i = 0; i < s->used_count; i++) {
    const struct incident_used *u = &s->used[i];

    emit_object(json, NULL);
    emit_text(json, "station", s->facility->stations[u->station].part.id);
    if (u->round_number > 0)
      emit_int(json, "round", u->round_number);
    else
      emit_null(json, "round");
    when_emit(json, "from", u->from_ms);
    emit_bool(json, "measured", u->measured);
    emit_array(json, "uses");
    for (int k = 0; k < u->use_count; k++) {
      emit_object(json, NULL);
      when_emit(json, "from", u->uses[k].from_ms);
      when_emit(json, "to", u->uses[k].to_ms);
      emit_text(json, "what", u->uses[k].what);
      emit_close(json);
    }
    emit_close(json);
    emit_close(json);
  }
  emit_close(json);
}

static void call_json(const struct incident_sheet *s, struct emit *json)
{
  const struct incident_form *form = incident_form(s->what.kind);
  struct buf line;

  buf_init(&line, 4096);
  incident_call(s->facility, s->station, &line);
  emit_text(json, "call", line.text);
  emit_array(json, "first");
  for (int i = 0; i < INCIDENT_FIRST_MOST && form->first[i]; i++) {
    buf_clear(&line);
    incident_put_first(form->first[i], s->facility, s->station, &line);
    emit_text(json, NULL, line.text);
  }
  emit_close(json);
  emit_text(json, "next", form->next);
  buf_release(&line);
}

void incident_sheet_json(const struct incident_sheet *sheet, bool staff, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.incident_sheet.1");
  emit_text(&json, "suite", sheet->facility->name);
  emit_text(&json, "label", sheet->facility->label);
  emit_text(&json, "zone", when_zone_name(sheet->zone));
  emit_int(&json, "number", sheet->number);
  emit_text(&json, "incident", incident_form(sheet->what.kind)->id);
  when_emit(&json, "time", sheet->t_ms);
  local_json(&json, "time_local", sheet->zone, sheet->t_ms);
  emit_bool(&json, "time_said", sheet->at_said);
  when_emit(&json, "told", sheet->told_ms);
  local_json(&json, "told_local", sheet->zone, sheet->told_ms);
  emit_text(&json, "about", *sheet->about ? sheet->about : NULL);
  emit_text(&json, "who", sheet->who);
  emit_text(&json, "text", sheet->text);
  call_json(sheet, &json);
  values_json(&sheet->what, &json);
  more_json(sheet, &json);
  if (sheet->withdrawn_number > 0)
    emit_int(&json, "withdrawn", sheet->withdrawn_number);
  else
    emit_null(&json, "withdrawn");
  emit_array(&json, "near");
  for (int i = 0; i < sheet->near_count; i++)
    emit_text(&json, NULL, sheet->facility->stations[sheet->near[i]].part.id);
  emit_close(&json);
  used_json(sheet, staff, &json);
  measured_json(sheet, &json);
  events_json(sheet, &json);
  emit_close(&json);
  emit_end(&json);
}
