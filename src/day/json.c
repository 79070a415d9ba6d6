#include "day/day_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void put_moment(struct emit *json, const char *key, const struct when_zone *zone,
                       int64_t t_ms)
{
  char clock[8], name[32];
  const struct when_civil c = when_civil(zone, t_ms, NULL);

  when_emit(json, key, t_ms);
  snprintf(clock, sizeof clock, "%02d:%02d", c.hour % 24, c.minute % 60);
  snprintf(name, sizeof name, "%s_local", key);
  emit_text(json, name, clock);
}

static void put_said(struct emit *json, const char *key,
                     void (*say)(const struct day_answer *, struct buf *),
                     const struct day_answer *answer)
{
  struct buf text;

  buf_init(&text, 4000);
  say(answer, &text);
  emit_text(json, key, text.used ? text.text : NULL);
  buf_release(&text);
}

static void put_odds(struct emit *json, const char *key, double ratio)
{
  struct buf text;

  buf_init(&text, 100);
  day_odds(ratio, &text);
  emit_text(json, key, text.text);
  buf_release(&text);
}

static void put_stations(struct emit *json, const char *key, const struct facility *f, uint64_t set)
{
  emit_array(json, key);
  for (int i = 0; i < f->station_count; i++)
    if (set >> i & 1)
      emit_text(json, NULL, f->stations[i].part.id);
  emit_close(json);
}

static void put_quarter(struct emit *json, const struct day_answer *answer,
                        const struct day_quarter *q)
{
  const struct facility *f = answer->request->facility;

  emit_object(json, NULL);
  put_moment(json, "from", answer->request->zone, q->t_ms);
  put_stations(json, "booked", f, q->booked);
  emit_text(json, "state_as_booked", air_level_key(q->as_booked));
  emit_text(json, "binding", q->binding);
  emit_number(json, "short_ratio", q->short_ratio);
  put_odds(json, "short_odds", q->short_ratio);
  emit_number(json, "short_together_ratio", q->short_together_ratio);
  put_odds(json, "short_together_odds", q->short_together_ratio);
  emit_number(json, "near_ratio", q->near_ratio);
  emit_number(json, "near_together_ratio", q->near_together_ratio);
  emit_int(json, "like_days", q->like_days);
  emit_int(json, "like_short", q->like_short);
  emit_int(json, "like_near", q->like_near);
  emit_array(json, "pools");
  for (int p = 0; p < answer->pool_count; p++) {
    emit_object(json, NULL);
    emit_text(json, "id", air_pool_id(f, p));
    emit_text(json, "state_as_booked", air_level_key(q->pools[p].state));
    emit_number(json, "demand_as_booked_m3_s", q->pools[p].demand_m3_s);
    emit_number(json, "capacity_m3_s", q->pools[p].capacity_m3_s);
    emit_number(json, "demand_low_m3_s", q->bands[p].p5_m3_s);
    emit_number(json, "demand_middle_m3_s", q->bands[p].p50_m3_s);
    emit_number(json, "demand_high_m3_s", q->bands[p].p95_m3_s);
    emit_close(json);
  }
  emit_close(json);
  emit_close(json);
}

static void put_booking(struct emit *json, const struct day_answer *answer, int i, bool names)
{
  const struct day_booking *b = &answer->day.list[i];
  const struct when_zone *zone = answer->request->zone;

  emit_object(json, NULL);
  emit_text(json, "id", b->id);
  emit_text(json, "station", answer->request->facility->stations[b->station].part.id);
  put_moment(json, "start", zone, b->start_ms);
  put_moment(json, "end", zone, b->end_ms);
  emit_text(json, "family", *b->family ? b->family : NULL);
  emit_text(json, "who", names && *b->who ? b->who : NULL);
  emit_text(json, "what", names && *b->what ? b->what : NULL);
  emit_text(json, "file", b->place.file);
  emit_int(json, "line", b->place.line);
  emit_close(json);
}

static void put_better(struct emit *json, const char *key, const struct day_answer *answer,
                       const struct day_better *better)
{
  if (better->count == 0) {
    emit_null(json, key);
    return;
  }
  emit_object(json, key);
  emit_array(json, "moves");
  for (int i = 0; i < better->count; i++) {
    const struct day_move *m = &better->moves[i];
    const struct day_booking *b = &answer->day.list[m->booking];

    emit_object(json, NULL);
    emit_text(json, "id", b->id);
    emit_text(json, "station", answer->request->facility->stations[b->station].part.id);
    put_moment(json, "start", answer->request->zone, b->start_ms);
    put_moment(json, "to", answer->request->zone, m->start_ms);
    emit_number(json, "by_s", (double)(m->start_ms - b->start_ms) / 1000);
    emit_close(json);
  }
  emit_close(json);
  emit_number(json, "short_before_s", better->short_before_s);
  emit_number(json, "short_after_s", better->short_after_s);
  emit_number(json, "near_before_s", better->near_before_s);
  emit_number(json, "near_after_s", better->near_after_s);
  emit_text(json, "state_before", air_level_key(better->worst_before));
  emit_text(json, "state_after", air_level_key(better->worst_after));
  emit_close(json);
}

static void put_habit(struct emit *json, const char *id, const struct day_habit *h)
{
  emit_object(json, NULL);
  emit_text(json, "station", id);
  emit_int(json, "cases", h->cases);
  emit_int(json, "came", h->came);
  emit_text(json, "from", !h->from_record ? "settings" : h->of_all ? "all_stations" : "record");
  emit_number(json, "comes_ratio", h->comes_ratio);
  emit_number(json, "late_s", h->late_s);
  emit_number(json, "late_spread_s", h->late_spread_s);
  emit_number(json, "over_s", h->over_s);
  emit_number(json, "over_spread_s", h->over_spread_s);
  emit_number(json, "up_ratio", h->up_ratio);
  emit_number(json, "opening_m", h->opening_m);
  emit_close(json);
}

static void put_conflicts(struct emit *json, const struct day_answer *answer)
{
  emit_array(json, "conflicts");
  for (int i = 0; i < answer->conflict_count; i++) {
    const struct day_conflict *c = &answer->conflicts[i];

    emit_object(json, NULL);
    emit_text(json, "kind", day_conflict_name(c->kind));
    emit_text(json, "a", answer->day.list[c->a].id);
    emit_text(json, "b", c->b < 0 ? NULL : answer->day.list[c->b].id);
    emit_text(json, "text", c->text);
    emit_close(json);
  }
  emit_close(json);
}

static void put_spans(struct emit *json, const struct day_second *s)
{
  emit_array(json, "nobody");
  for (int i = 0; i < s->lacking_count; i++) {
    emit_object(json, NULL);
    when_emit(json, "from", s->lacking[i].from_ms);
    when_emit(json, "to", s->lacking[i].to_ms);
    emit_close(json);
  }
  emit_close(json);
}

static void put_second_text(struct emit *json, const struct day_answer *answer,
                            const struct day_second *s)
{
  struct buf text;

  buf_init(&text, 4000);
  day_put_second(answer, s, false, &text);
  emit_text(json, "text", text.text);
  buf_release(&text);
}

static void put_unbooked_text(struct emit *json, const struct day_answer *answer, int station)
{
  struct buf text;

  buf_init(&text, 1000);
  day_put_unbooked(answer, station, &text);
  emit_text(json, "text", text.text);
  buf_release(&text);
}

static void put_seconds(struct emit *json, const struct day_answer *answer)
{
  emit_array(json, "second_person");
  for (int i = 0; i < answer->second_count; i++) {
    const struct day_second *s = &answer->seconds[i];
    const struct day_booking *b = &answer->day.list[s->booking];

    emit_object(json, NULL);
    emit_text(json, "id", b->id);
    emit_text(json, "station", answer->request->facility->stations[b->station].part.id);
    when_emit(json, "start", b->start_ms);
    when_emit(json, "end", b->end_ms);
    emit_number(json, "needed_s", s->needed_s);
    emit_bool(json, "hours_known", s->known);
    emit_bool(json, "staff_can_be_asked", s->staff);
    emit_array(json, "could_be");
    for (int k = 0; k < s->who_count; k++)
      emit_text(json, NULL, answer->day.list[s->who[k]].id);
    emit_close(json);
    put_spans(json, s);
    when_emit(json, "nearest_start", s->move_ms);
    put_second_text(json, answer, s);
    emit_close(json);
  }
  emit_close(json);
}

static void put_unbooked(struct emit *json, const struct day_answer *answer)
{
  const struct day_habits *h = answer->request->habits;

  when_emit(json, "unbooked_since", h->unbooked ? h->unbooked_from_ms : INT64_MIN);
  emit_array(json, "unbooked");
  for (int i = 0; h->unbooked && i < answer->request->facility->station_count; i++) {
    const struct day_unbooked *u = &h->unbooked[i];

    if (u->uses == 0)
      continue;
    emit_object(json, NULL);
    emit_text(json, "station", answer->request->facility->stations[i].part.id);
    emit_int(json, "uses", u->uses);
    emit_int(json, "unbooked", u->unbooked);
    emit_number(json, "unbooked_s", u->unbooked_s);
    when_emit(json, "last", u->last_ms);
    put_unbooked_text(json, answer, i);
    emit_close(json);
  }
  emit_close(json);
}

static void put_texts(struct emit *json, const char *key, const char *const *list, int count)
{
  emit_array(json, key);
  for (int i = 0; i < count; i++)
    emit_text(json, NULL, list[i]);
  emit_close(json);
}

static void put_head(struct emit *json, const struct day_answer *answer)
{
  const struct day_request *r = answer->request;
  char date[16];

  snprintf(date, sizeof date, "%04d-%02d-%02d", r->date.year % 10000, r->date.month % 100,
           r->date.day % 100);
  emit_text(json, "schema", "inward.day.1");
  emit_text(json, "suite", r->facility->name);
  emit_text(json, "label", r->facility->label);
  emit_text(json, "suite_sha256", r->facility->sha256);
  emit_text(json, "date", date);
  emit_text(json, "weekday", day_weekday(r->zone, answer->from_ms));
  emit_text(json, "zone", when_zone_name(r->zone));
  when_emit(json, "from", answer->from_ms);
  when_emit(json, "to", answer->to_ms);
  emit_bool(json, "trial", answer->trial);
  emit_bool(json, "known", answer->known);
}

static void put_plan(struct emit *json, const struct day_answer *answer,
                     const struct day_plan *plan)
{
  if (!plan) {
    emit_null(json, "plan");
    return;
  }
  emit_object(json, "plan");
  emit_bool(json, "found", plan->found);
  emit_int(json, "rounds", plan->round_count);
  emit_int(json, "cuts", plan->cut_count);
  emit_int(json, "moved", plan->moved_count);
  emit_int(json, "without_place", plan->left_out_count);
  emit_number_if(json, "cost", plan->found, plan->cost_count);
  emit_number_if(json, "bound", plan->found, plan->bound_count);
  emit_number_if(json, "fullest", plan->found, plan->full_count);
  when_emit(json, "fullest_from", plan->found ? plan->full_ms : INT64_MIN);
  emit_text(json, "binding", plan->binding);
  emit_array(json, "moves");
  for (int i = 0; plan->found && i < answer->day.count; i++) {
    const struct day_booking *b = &answer->day.list[i];

    if (plan->start_ms[i] == b->start_ms)
      continue;
    emit_object(json, NULL);
    emit_text(json, "id", b->id);
    emit_text(json, "station", answer->request->facility->stations[b->station].part.id);
    when_emit(json, "start", b->start_ms);
    when_emit(json, "to", plan->start_ms[i]);
    emit_close(json);
  }
  emit_close(json);
  emit_close(json);
}

void day_json(const struct day_answer *answer, const struct day_said *said,
              const struct day_plan *plan, bool names, struct buf *out)
{
  const struct facility *f = answer->request->facility;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  put_head(&json, answer);
  put_said(&json, "sentence", day_sentence, answer);
  put_said(&json, "advice", day_advice, answer);
  emit_text(&json, "state_as_booked", air_level_key(answer->worst_booked));
  emit_bool(&json, "needs_person", day_needs_person(answer));
  emit_number(&json, "short_s", answer->known ? answer->short_s : (double)NAN);
  emit_number(&json, "near_s", answer->known ? answer->near_s : (double)NAN);
  put_better(&json, "one", answer, &answer->one);
  put_better(&json, "two", answer, &answer->two);
  put_plan(&json, answer, plan);
  put_conflicts(&json, answer);
  put_seconds(&json, answer);
  put_unbooked(&json, answer);
  emit_array(&json, "quarters");
  for (int i = 0; i < answer->quarter_count; i++)
    put_quarter(&json, answer, &answer->quarters[i]);
  emit_close(&json);
  emit_array(&json, "bookings");
  for (int i = 0; i < answer->day.count; i++)
    put_booking(&json, answer, i, names);
  emit_close(&json);
  emit_array(&json, "habits");
  for (int i = 0; i < f->station_count; i++)
    put_habit(&json, f->stations[i].part.id, &answer->request->habits->stations[i]);
  emit_close(&json);
  put_texts(&json, "files", said->files, said->file_count);
  emit_int(&json, "left_out", said->left_out);
  put_texts(&json, "faults", said->faults, said->fault_count);
  put_texts(&json, "assumed", answer->assumed, answer->assumed_count);
  emit_close(&json);
  emit_end(&json);
}
