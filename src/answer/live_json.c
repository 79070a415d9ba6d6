/* The live answer as JSON: the contract of docs/api.md. */
#include "answer/live_impl.h"
#include "answer/page_impl.h"

#include <math.h>
#include <string.h>

static double seconds_between(int64_t from_ms, int64_t to_ms)
{
  return from_ms == INT64_MIN ? (double)NAN : (double)(to_ms - from_ms) * 1e-3;
}

static void about(struct emit *j, const struct answer_live *live, int point)
{
  struct buf text;

  buf_init(&text, 256);
  feeds_about(live->facility, &live->feeds->points[point], &text);
  emit_text(j, "of", text.text);
  buf_release(&text);
}

/* ---- what is not known ---- */

static void gap_json(struct emit *j, const struct facility *f, const struct watch_gap *gap)
{
  emit_object(j, NULL);
  emit_text(j, "about", gap->about);
  emit_text(j, "text", gap->text);
  emit_bool(j, "needed", gap->needed);
  emit_array(j, "pools");
  for (int i = 0; i < f->main_count; i++)
    if (gap->of_main[i])
      emit_text(j, NULL, f->mains[i].part.id);
  for (int i = 0; i < f->supply_count; i++)
    if (gap->of_supply[i])
      emit_text(j, NULL, f->supplies[i].part.id);
  emit_close(j);
  emit_close(j);
}

static void not_known_json(struct emit *j, const struct answer_live *live,
                           const struct answer_live_verdict *verdict)
{
  emit_array(j, "not_known");
  for (int i = 0; i < live->belief->gap_count; i++)
    gap_json(j, live->facility, &live->belief->gaps[i]);
  for (int i = 0; i < verdict->contradiction_count; i++)
    gap_json(j, live->facility, &verdict->contradictions[i]);
  emit_close(j);
}

/* ---- inputs and sources ---- */

static const char *value_key(const struct feeds_point *p)
{
  if (p->yes_no || p->count)
    return "value";
  switch ((int)p->dimension) {
  case UNITS_LENGTH:
    return "value_m";
  case UNITS_FLOW:
    return "value_m3_s";
  case UNITS_VELOCITY:
    return "value_m_s";
  case UNITS_PRESSURE_DIFFERENCE:
    return "value_Pa";
  case UNITS_TEMPERATURE:
    return "value_K";
  case UNITS_SHARE:
  case UNITS_RELATIVE_HUMIDITY:
    return "value_ratio";
  default:
    return "value_si"; /* `other`: what the model does not use */
  }
}

static void value_json(struct emit *j, const struct feeds_point *p, const struct watch_input *in)
{
  const char *key = value_key(p);
  bool known = in->age != WATCH_NEVER && isfinite(in->newest.si);

  if (known && p->yes_no)
    emit_bool(j, key, in->newest.si != 0);
  else
    emit_number_if(j, key, known, in->newest.si);
}

static void input_json(struct emit *j, const struct answer_live *live, int i)
{
  const struct feeds_point *p = &live->feeds->points[i];
  const struct watch_input *in = &live->belief->inputs[i];
  bool came = in->age != WATCH_NEVER;

  emit_object(j, NULL);
  emit_text(j, "point", p->part.id);
  about(j, live, i);
  emit_text(j, "what", feeds_what_name(p->what));
  if (p->what == FEEDS_PRESSURE)
    emit_text(j, "over", facility_node_id(live->facility, p->over));
  value_json(j, p, in);
  when_emit(j, "t", came ? in->newest.t_ms : INT64_MIN);
  emit_number_if(j, "age_s", came, in->age_s);
  emit_text(j, "quality", came ? feed_quality_name(in->newest.quality) : NULL);
  emit_text(j, "age", watch_age_name(in->age));
  emit_number(j, "old_after_s", p->old_after_s);
  emit_bool(j, "used", in->used);
  emit_text(j, "source", live->feeds->sources[p->source].part.id);
  emit_close(j);
}

static void sources_json(struct emit *j, const struct answer_live *live)
{
  emit_array(j, "sources");
  for (int i = 0; live->sources && i < live->feeds->source_count; i++) {
    const struct answer_live_source *s = &live->sources[i];

    emit_object(j, NULL);
    emit_text(j, "id", live->feeds->sources[i].part.id);
    emit_text(j, "name", live->feeds->sources[i].part.name);
    emit_text(j, "kind", feeds_kind_name(live->feeds->sources[i].kind));
    emit_bool(j, "connected", s->connected);
    when_emit(j, "heard", s->heard_ms);
    emit_number_if(j, "heard_age_s", s->heard_ms != INT64_MIN,
                   seconds_between(s->heard_ms, live->belief->now_ms));
    emit_text(j, "why", s->why);
    emit_close(j);
  }
  emit_close(j);
}

/* ---- pools, advice, stations ---- */

static void pool_json(struct emit *j, const struct answer_live *live,
                      const struct answer_live_verdict *verdict, int i)
{
  static const struct air_pool nothing;
  bool shows = live_pool_shows(live, verdict, i);
  const struct air_pool *p = shows ? &live->air->pools[i] : &nothing;
  bool counts = shows && p->more_known && verdict->advises;

  emit_object(j, NULL);
  emit_text(j, "id", air_pool_id(live->facility, i));
  emit_text(j, "kind", i < live->facility->main_count ? "main" : "supply");
  emit_text(j, "state", air_level_key(verdict->pools[i]));
  emit_number_if(j, "demand_m3_s", shows, p->demand_m3_s);
  emit_number_if(j, "capacity_m3_s", shows && p->has_headroom, p->capacity_m3_s);
  emit_number_if(j, "headroom_m3_s", shows && p->has_headroom, p->headroom_m3_s);
  emit_number_if(j, "headroom_pm_m3_s", shows && p->has_headroom, p->headroom_pm_m3_s);
  emit_text(j, "binding", p->binding);
  if (counts) {
    emit_int(j, "more_guaranteed", p->more_guaranteed);
    emit_int(j, "more_best", p->more_best);
  } else {
    emit_null(j, "more_guaranteed");
    emit_null(j, "more_best");
  }
  emit_close(j);
}

static void lower_list_json(struct emit *j, const char *key, const struct facility *f,
                            const struct air_lower_list *list)
{
  emit_array(j, key);
  for (int i = 0; i < list->count; i++) {
    const struct air_lower *s = &list->sashes[i];

    emit_object(j, NULL);
    emit_text(j, "station", f->stations[s->station].part.id);
    emit_number_if(j, "to_m", s->has_to_m, s->to_m);
    emit_number(j, "frees_m3_s", s->frees_m3_s);
    emit_text(j, "state_after", air_level_key(s->state_after));
    emit_close(j);
  }
  emit_close(j);
}

static void lower_first_json(struct emit *j, const struct answer_live *live,
                             const struct answer_live_verdict *verdict)
{
  if (!verdict->advises) {
    emit_null(j, "lower_first");
    return;
  }
  emit_object(j, "lower_first");
  lower_list_json(j, "ends_short", live->facility, &live->air->ends_short);
  lower_list_json(j, "reaches_ample", live->facility, &live->air->reaches_ample);
  emit_text(j, "ends_short_why", live->air->ends_short.why);
  emit_text(j, "reaches_ample_why", live->air->reaches_ample.why);
  emit_close(j);
}

static void may_open_json(struct emit *j, const struct answer_live *live,
                          const struct answer_live_verdict *verdict, int i)
{
  const struct air_may_open *m;

  if (!live_station_shows(live, verdict, i) || !live->air->stations[i].may_open.asked) {
    emit_null(j, "may_open");
    return;
  }
  m = &live->air->stations[i].may_open;
  emit_object(j, "may_open");
  emit_number_if(j, "to_m", m->has_to_m, m->to_m);
  emit_text(j, "state_after", air_level_key(m->state_after));
  emit_text(j, "binding", m->binding);
  if (m->has_sure)
    emit_bool(j, "sure", m->sure);
  else
    emit_null(j, "sure");
  emit_close(j);
}

static void condition_json(struct emit *j, const struct answer_live *live, int i)
{
  struct buf text;

  buf_init(&text, 4096);

  struct live_condition c = live_condition(live, i, &text);

  emit_object(j, "condition");
  emit_text(j, "is", c.is);
  emit_text(j, "text", text.text);
  emit_number_if(j, "age_s", !isnan(c.age_s), c.age_s);
  emit_text(j, "who", c.who);
  emit_text(j, "why", c.why);
  when_emit(j, "since", c.since_ms);
  emit_close(j);
  buf_release(&text);
}

static void station_json(struct emit *j, const struct answer_live *live,
                         const struct answer_live_verdict *verdict, int i)
{
  const struct facility *f = live->facility;
  const struct watch_station *s = &live->belief->stations[i];
  const struct scene_station *now = &live->belief->scene.stations[i];
  double opening_m = 0;
  bool has_opening = scene_station_opening_m(f, &live->belief->scene, i, &opening_m);

  emit_object(j, NULL);
  emit_text(j, "id", f->stations[i].part.id);
  emit_text(j, "name", f->stations[i].part.name);
  emit_bool(j, "in_service", f->stations[i].in_service);
  emit_bool(j, "known", !s->not_known);
  emit_text(j, "why", s->why);
  emit_bool(j, "assumed", s->assumed);
  emit_text(j, "sash", s->not_known ? NULL : now->raised ? "raised" : "parked");
  emit_number_if(j, "opening_m", has_opening && !s->not_known, opening_m);
  emit_number_if(j, "measured_m3_s", s->has_flow, s->flow_m3_s);
  if (s->has_presence)
    emit_bool(j, "present", s->present);
  else
    emit_null(j, "present");
  emit_bool(j, "rising", s->rising);
  emit_bool(j, "unattended", now->unattended && !s->not_known);
  emit_bool(j, "blocked", now->blocked);
  emit_bool(j, "withdrawn", now->withdrawn);
  emit_bool(j, "own_alarm", s->own_alarm);
  condition_json(j, live, i);
  may_open_json(j, live, verdict, i);
  emit_close(j);
}

static void alarms_json(struct emit *j, const struct answer_live *live)
{
  emit_bool(j, "building_alarm", live->belief->building_alarm);
  emit_array(j, "own_alarms");
  for (int i = 0; i < live->facility->station_count; i++)
    if (live->belief->stations[i].own_alarm)
      emit_text(j, NULL, live->facility->stations[i].part.id);
  emit_close(j);
}

/* Why nobody works, and what comes first: null where no stop of all work is known. */
static void stopped_json(struct emit *j, const struct answer_live *live)
{
  const struct facility *f = live->facility;
  const struct watch_stop *stop = live->belief->stop;

  if (!stop) {
    emit_null(j, "stopped");
    return;
  }
  emit_object(j, "stopped");
  emit_text(j, "act", stop->act);
  when_emit(j, "since", stop->since_ms);
  emit_text(j, "why", stop->why);
  emit_text(j, "next", stop->next);
  emit_array(j, "released");
  for (int i = 0; i < f->station_count; i++)
    if (stop->released[i] && !stop->withdrawn[i])
      emit_text(j, NULL, f->stations[i].part.id);
  emit_close(j);
  emit_array(j, "not_released");
  for (int i = 0; i < f->station_count; i++)
    if (!stop->released[i] && !stop->withdrawn[i])
      emit_text(j, NULL, f->stations[i].part.id);
  emit_close(j);
  emit_close(j);
}

/* ---- head and tail ---- */

static void head_json(struct emit *j, const struct answer_live *live)
{
  const struct when_zone *zone = live->zone ? live->zone : when_utc();
  struct buf local;

  emit_text(j, "schema", "inward.live.1");
  emit_int(j, "number", live->number);
  when_emit(j, "now", live->belief->now_ms);
  buf_init(&local, 64);
  when_print(&local, zone, live->belief->now_ms);
  emit_text(j, "now_local", local.text);
  buf_release(&local);
  emit_text(j, "zone", when_zone_name(zone));
  emit_number_if(j, "replay_speed", live->replay_ratio > 0, live->replay_ratio);
  emit_text(j, "suite", live->facility->name);
  emit_text(j, "label", live->facility->label);
  emit_text(j, "suite_sha256", live->facility->sha256);
  emit_text(j, "feeds_sha256", live->feeds->sha256);
  emit_text(j, "engine", answer_engine_version());
}

static void state_json(struct emit *j, const struct answer_live *live,
                       const struct answer_live_verdict *verdict)
{
  struct buf act;

  buf_init(&act, 1024);
  answer_live_act(live, verdict, &act);
  emit_text(j, "act", act.text);
  buf_release(&act);
  emit_text(j, "line", "Shared air only. Your station's own alarm decides.");
  emit_text(j, "state", air_level_key(verdict->state));
  when_emit(j, "since", live->since_ms);
  emit_number_if(j, "since_s", live->since_ms != INT64_MIN,
                 seconds_between(live->since_ms, live->belief->now_ms));
  emit_texts(j, "reasons", verdict->reasons, verdict->reason_count);
}

static void record_json(struct emit *j, const struct answer_live *live)
{
  const struct answer_live_record *r = &live->record;

  emit_object(j, "record");
  emit_bool(j, "kept", r->kept);
  emit_text(j, "why", r->why);
  emit_int(j, "head", r->head);
  emit_text(j, "head_hash", r->head_hash);
  emit_close(j);
}

/* What a stopped suite's air still tells: what runs and what it draws, and no word of opening anything. */
static struct air_answer without_advice(const struct answer_live *live, struct arena *arena)
{
  const struct facility *f = live->facility;
  struct air_answer air = *live->air;
  size_t pools = (size_t)f->main_count + (size_t)f->supply_count,
         stations = (size_t)f->station_count;

  air.pools = ARENA_ARRAY(arena, struct air_pool, pools + 1);
  air.stations = ARENA_ARRAY(arena, struct air_station, stations + 1);
  BUG_IF(!air.pools || !air.stations);
  memcpy(air.pools, live->air->pools, pools * sizeof *air.pools);
  memcpy(air.stations, live->air->stations, stations * sizeof *air.stations);
  for (size_t i = 0; i < pools; i++)
    air.pools[i].more_known = false;
  for (size_t i = 0; i < stations; i++)
    air.stations[i].may_open.asked = false;
  air.ends_short = air.reaches_ample = (struct air_lower_list){.why = "all work is stopped"};
  return air;
}

/* The air as ordinary.  It carries advice, so it is not there while an alarm outranks that; and where
 * not all of it is known there is only the last that was, with its age.  While all work is stopped it is
 * there without advice. */
static void air_json(struct emit *j, const struct answer_live *live,
                     const struct answer_live_verdict *verdict, struct arena *arena)
{
  const struct watch_stop *stop = live->belief->stop;
  const struct answer_live_earlier *e = live->earlier;
  bool known = verdict->state != FACILITY_NOT_KNOWN && !live_is_alarm(live);

  if (known && stop) {
    struct air_answer air = without_advice(live, arena);

    air_object_json(j, "air", &(struct answer_side){live->facility, &live->belief->scene, &air},
                    stop->act);
  } else if (known)
    air_object_json(j, "air",
                    &(struct answer_side){live->facility, &live->belief->scene, live->air}, NULL);
  else
    emit_null(j, "air");
  if (known || !e || live_is_alarm(live) || stop) {
    emit_null(j, "earlier");
    return;
  }
  emit_object(j, "earlier");
  when_emit(j, "t", e->t_ms);
  emit_number(j, "age_s", seconds_between(e->t_ms, live->belief->now_ms));
  air_object_json(j, "air", &(struct answer_side){live->facility, e->scene, e->air}, NULL);
  emit_close(j);
}

void answer_live_json(const struct answer_live *live, struct buf *out)
{
  struct emit j;
  struct arena arena;
  struct answer_live_verdict verdict;

  arena_init(&arena, SIZE_MAX);
  verdict = answer_live_judge(live, &arena);
  emit_begin(&j, out);
  emit_object(&j, NULL);
  head_json(&j, live);
  state_json(&j, live, &verdict);
  alarms_json(&j, live);
  stopped_json(&j, live);
  not_known_json(&j, live, &verdict);
  emit_texts(&j, "assumed", live->belief->assumed, live->belief->assumed_count);
  emit_array(&j, "pools");
  for (int i = 0; i < live->facility->main_count + live->facility->supply_count; i++)
    pool_json(&j, live, &verdict, i);
  emit_close(&j);
  lower_first_json(&j, live, &verdict);
  emit_array(&j, "stations");
  for (int i = 0; i < live->facility->station_count; i++)
    station_json(&j, live, &verdict, i);
  emit_close(&j);
  emit_array(&j, "inputs");
  for (int i = 0; i < live->feeds->point_count; i++)
    input_json(&j, live, i);
  emit_close(&j);
  sources_json(&j, live);
  record_json(&j, live);
  if (live->add)
    live->add(live->add_arg, &j);
  air_json(&j, live, &verdict, &arena);
  emit_close(&j);
  emit_end(&j);
  arena_release(&arena);
}
