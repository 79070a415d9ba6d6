/* The air as JSON: the contract of docs/api.md.  SI, the unit in each key, file order. */
#include "answer/answer.h"

#include "answer/page_impl.h"

#include <math.h>

static void names(struct emit *j, const char *key, const char *const *list, int count)
{
  emit_array(j, key);
  for (int i = 0; i < count; i++)
    emit_text(j, NULL, list[i]);
  emit_close(j);
}

/* ---- the scene, so that an answer says what it answers ---- */

static void scene_station_json(struct emit *j, const struct facility *f, const struct scene *scene,
                               int i)
{
  const struct scene_station *s = &scene->stations[i];
  double opening_m = 0.0;
  bool has_opening = scene_station_opening_m(f, scene, i, &opening_m);

  emit_object(j, f->stations[i].part.id);
  emit_text(j, "sash", s->raised ? "raised" : "parked");
  emit_number_if(j, "opening_m", has_opening, opening_m);
  if (s->unattended)
    emit_bool(j, "unattended", true);
  if (s->blocked)
    emit_bool(j, "blocked", true);
  if (s->withdrawn)
    emit_bool(j, "withdrawn", true);
  if (s->needs_flow)
    emit_text(j, "needs_flow", s->needs_flow);
  if (s->cover_ratio > 0.0)
    emit_number(j, "cover_ratio", s->cover_ratio);
  if (s->has_ask)
    emit_number(j, "asks_m3_s", s->ask_m3_s);
  if (s->has_measured)
    emit_number(j, "measured_m3_s", s->measured_m3_s);
  emit_close(j);
}

void answer_scene(struct emit *json, const struct facility *facility, const struct scene *scene)
{
  emit_object(json, "scene");
  emit_text(json, "name", scene->name);
  emit_bool(json, "trial", scene->is_trial);
  emit_text(json, "note", scene->note);
  emit_object(json, "stations");
  for (int i = 0; i < facility->station_count; i++)
    scene_station_json(json, facility, scene, i);
  emit_close(json);
  emit_array(json, "doors_open");
  for (int i = 0; i < facility->door_count; i++)
    if (scene->door_open[i])
      emit_text(json, NULL, facility->doors[i].part.id);
  emit_close(json);
  emit_array(json, "off");
  for (int i = 0; i < facility->fan_count; i++)
    if (scene->fan_running[i] == 0)
      emit_text(json, NULL, facility->fans[i].part.id);
  for (int i = 0; i < facility->supply_count; i++)
    if (scene->supply_off[i])
      emit_text(json, NULL, facility->supplies[i].part.id);
  emit_close(json);
  emit_array(json, "shut");
  for (int i = 0; i < facility->duct_count; i++)
    if (scene->duct_shut[i])
      emit_text(json, NULL, facility->ducts[i].part.id);
  emit_close(json);
  emit_text(json, "was", scene->has_was ? air_level_key(scene->was) : NULL);
  emit_close(json);
}

/* ---- pools and advice ---- */

static void declared_json(struct emit *j, const struct air_declared *d)
{
  if (!d->given) {
    emit_null(j, "declared");
    return;
  }
  emit_object(j, "declared");
  emit_text(j, "state", air_level_key(d->state));
  emit_number(j, "demand_m3_s", d->demand_m3_s);
  emit_number(j, "capacity_m3_s", d->capacity_m3_s);
  emit_number(j, "demand_ratio", d->ratio);
  emit_text(j, "why", d->why);
  emit_close(j);
}

static void pools_json(struct emit *j, const struct facility *f, const struct air_answer *a)
{
  emit_array(j, "pools");
  for (int i = 0; i < a->pool_count; i++) {
    const struct air_pool *p = &a->pools[i];

    emit_object(j, NULL);
    emit_text(j, "id", air_pool_id(f, i));
    emit_text(j, "kind", p->kind == AIR_POOL_MAIN ? "main" : "supply");
    emit_text(j, "state", air_level_key(p->state));
    emit_text(j, "computed_state", air_level_key(p->computed));
    emit_number(j, "demand_m3_s", p->demand_m3_s);
    emit_number_if(j, "capacity_m3_s", p->has_headroom, p->capacity_m3_s);
    emit_number_if(j, "headroom_m3_s", p->has_headroom, p->headroom_m3_s);
    emit_bool(j, "at_most", p->at_most);
    emit_text(j, "binding", p->binding);
    if (p->more_known) {
      emit_int(j, "more_guaranteed", p->more_guaranteed);
      emit_int(j, "more_perhaps", p->more_perhaps);
      emit_int(j, "more_sure", p->more_sure);
      emit_int(j, "more_best", p->more_best);
    } else {
      emit_null(j, "more_guaranteed");
      emit_null(j, "more_perhaps");
      emit_null(j, "more_sure");
      emit_null(j, "more_best");
    }
    declared_json(j, &p->declared);
    sure_pool_json(j, f, a, i);
    emit_close(j);
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

static void lower_first_json(struct emit *j, const struct facility *f, const struct air_answer *a)
{
  emit_object(j, "lower_first");
  lower_list_json(j, "ends_short", f, &a->ends_short);
  lower_list_json(j, "reaches_ample", f, &a->reaches_ample);
  emit_text(j, "ends_short_why", a->ends_short.why);
  emit_text(j, "reaches_ample_why", a->reaches_ample.why);
  emit_close(j);
}

/* ---- rooms and plant ---- */

static void rooms_json(struct emit *j, const struct facility *f, const struct air_answer *a)
{
  emit_array(j, "rooms");
  for (int i = 0; i < f->room_count; i++) {
    const struct air_room *r = &a->rooms[i];

    emit_object(j, NULL);
    emit_text(j, "id", f->rooms[i].part.id);
    emit_text(j, "name", f->rooms[i].part.name);
    emit_number_if(j, "pressure_Pa", r->known, r->pressure_Pa);
    emit_number(j, "pressure_pm_Pa", r->pressure_pm_Pa);
    emit_text(j, "why", r->why);
    emit_array(j, "keeps");
    for (int k = 0; k < r->keep_count; k++) {
      const struct air_keep *keep = &r->keeps[k];

      emit_object(j, NULL);
      emit_text(j, "over", facility_node_id(f, keep->keep->over));
      emit_number_if(j, "at_least_Pa", keep->keep->has_least, keep->keep->least_Pa);
      emit_number_if(j, "at_most_Pa", keep->keep->has_most, keep->keep->most_Pa);
      emit_number_if(j, "actual_Pa", keep->known, keep->actual_Pa);
      emit_number_if(j, "actual_pm_Pa", keep->known, keep->actual_pm_Pa);
      if (keep->known)
        emit_bool(j, "met", keep->met);
      else
        emit_null(j, "met");
      odds_json(j, f, &keep->odds);
      emit_close(j);
    }
    emit_close(j);
    emit_number_if(j, "supply_m3_s", isfinite(r->supply_m3_s), r->supply_m3_s);
    emit_number(j, "supply_pm_m3_s", r->supply_pm_m3_s);
    emit_number(j, "exhaust_m3_s", r->exhaust_m3_s);
    emit_number(j, "exhaust_pm_m3_s", r->exhaust_pm_m3_s);
    emit_number_if(j, "leakage_m3_s", isfinite(r->leakage_m3_s), r->leakage_m3_s);
    emit_number(j, "leakage_pm_m3_s", r->leakage_pm_m3_s);
    emit_number_if(j, "fresh_changes_per_h", r->has_changes, r->fresh_changes_per_h);
    emit_number_if(j, "total_changes_per_h", r->has_changes, r->total_changes_per_h);
    emit_close(j);
  }
  emit_close(j);
}

static void doors_json(struct emit *j, const struct facility *f, const struct air_answer *a)
{
  emit_array(j, "doors");
  for (int i = 0; i < f->door_count; i++) {
    emit_object(j, NULL);
    emit_text(j, "id", f->doors[i].part.id);
    emit_text(j, "from", facility_node_id(f, f->doors[i].from));
    emit_text(j, "to", facility_node_id(f, f->doors[i].to));
    emit_bool(j, "open", a->doors[i].open);
    emit_number_if(j, "flow_m3_s", a->doors[i].known, a->doors[i].flow_m3_s);
    emit_number(j, "flow_pm_m3_s", a->doors[i].flow_pm_m3_s);
    emit_number_if(j, "drop_Pa", a->doors[i].known, a->doors[i].drop_Pa);
    emit_number(j, "drop_pm_Pa", a->doors[i].drop_pm_Pa);
    emit_close(j);
  }
  emit_close(j);
}

static void crossings_json(struct emit *j, const struct facility *f, const struct air_answer *a)
{
  emit_array(j, "crossings");
  for (int i = 0; i < a->crossing_count; i++) {
    emit_object(j, NULL);
    emit_text(j, "fan", f->fans[a->crossings[i].fan].part.id);
    emit_number(j, "flow_m3_s", a->crossings[i].flow_m3_s);
    emit_bool(j, "left_of_peak", a->crossings[i].left_of_peak);
    emit_close(j);
  }
  emit_close(j);
}

static void supplies_json(struct emit *j, const struct facility *f, const struct air_answer *a)
{
  emit_array(j, "supplies");
  for (int i = 0; i < f->supply_count; i++) {
    const struct facility_supply *s = &f->supplies[i];

    emit_object(j, NULL);
    emit_text(j, "id", s->part.id);
    emit_bool(j, "running", a->supplies[i].running);
    emit_number(j, "flow_m3_s", a->supplies[i].flow_m3_s);
    emit_number(j, "flow_pm_m3_s", a->supplies[i].flow_pm_m3_s);
    emit_number_if(j, "most_m3_s", s->has_most, s->most_m3_s);
    emit_bool(j, "at_limit", a->supplies[i].at_limit);
    emit_array(j, "feeds");
    for (int k = 0; k < s->feed_count; k++) {
      emit_object(j, NULL);
      emit_text(j, "id", s->feeds[k].part.id);
      emit_text(j, "room", facility_node_id(f, s->feeds[k].room));
      emit_number(j, "flow_m3_s", a->supplies[i].feeds[k].flow_m3_s);
      emit_number(j, "flow_pm_m3_s", a->supplies[i].feeds[k].flow_pm_m3_s);
      emit_number_if(j, "most_m3_s", s->feeds[k].has_most, s->feeds[k].most_m3_s);
      emit_bool(j, "set_met", a->supplies[i].feeds[k].set_met);
      emit_text(j, "state", air_segment_name(a->supplies[i].feeds[k].segment));
      emit_close(j);
    }
    emit_close(j);
    emit_close(j);
  }
  emit_close(j);
}

static void fans_json(struct emit *j, const struct facility *f, const struct air_answer *a)
{
  emit_array(j, "fans");
  for (int i = 0; i < f->fan_count; i++) {
    const struct air_fan *fan = &a->fans[i];

    emit_object(j, NULL);
    emit_text(j, "id", f->fans[i].part.id);
    emit_int(j, "running", fan->running);
    emit_int(j, "count", f->fans[i].count);
    emit_number(j, "flow_m3_s", fan->flow_m3_s);
    emit_number(j, "flow_pm_m3_s", fan->flow_pm_m3_s);
    emit_number_if(j, "pressure_Pa", fan->running > 0, fan->rise_Pa);
    emit_number(j, "pressure_pm_Pa", fan->rise_pm_Pa);
    emit_number(j, "speed", fan->speed_ratio);
    emit_number(j, "speed_pm_ratio", fan->speed_pm_ratio);
    emit_bool(j, "at_limit", fan->at_limit);
    emit_bool(j, "left_of_peak", fan->left_of_peak);
    emit_bool(j, "beyond_curve", fan->beyond_curve);
    emit_bool(j, "set_met", fan->set_met);
    emit_close(j);
  }
  emit_close(j);
}

/* ---- stations ---- */

void criterion_json(struct emit *j, const struct facility *f, int station,
                    const struct air_station *s)
{
  const struct facility_criterion *c;

  if (f->stations[station].criterion < 0) {
    emit_null(j, "criterion");
    return;
  }
  c = &f->criteria[f->stations[station].criterion];
  emit_object(j, "criterion");
  emit_text(j, "name", c->part.id);
  emit_text(j, "of", c->of == FACILITY_OF_FLOW ? "flow_m3_s" : "face_velocity_m_s");
  emit_number_if(j, "low", c->has_low, c->low);
  emit_number_if(j, "high", c->has_high, c->high);
  if (s->has_verdict)
    emit_bool(j, "met", s->met);
  else
    emit_null(j, "met");
  odds_json(j, f, &s->odds);
  emit_text(j, "source", c->source);
  emit_close(j);
}

static void may_open_json(struct emit *j, const struct air_may_open *m)
{
  if (!m->asked) {
    emit_null(j, "may_open");
    return;
  }
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

static void station_json(struct emit *j, const struct facility *f, const struct scene *scene,
                         const struct air_station *s, int i)
{
  emit_object(j, NULL);
  emit_text(j, "id", f->stations[i].part.id);
  emit_text(j, "name", f->stations[i].part.name);
  emit_text(j, "kind", facility_kind_name(f->stations[i].kind));
  emit_text(j, "room", facility_node_id(f, f->stations[i].room));
  emit_text(j, "main", f->mains[f->stations[i].main].part.id);
  emit_bool(j, "in_service", f->stations[i].in_service);
  emit_text(j, "sash", scene->stations[i].raised ? "raised" : "parked");
  emit_number_if(j, "opening_m", s->has_opening, s->opening_m);
  emit_number(j, "flow_m3_s", s->flow_m3_s);
  emit_number(j, "flow_pm_m3_s", s->flow_pm_m3_s);
  emit_number_if(j, "asked_m3_s", f->stations[i].flow != FACILITY_PASSIVE, s->asked_m3_s);
  emit_number_if(j, "face_velocity_m_s", s->has_face_velocity, s->face_velocity_m_s);
  emit_number(j, "face_velocity_pm_m_s", s->face_velocity_pm_m_s);
  criterion_json(j, f, i, s);
  emit_bool(j, "own_fault", s->own_fault);
  if (isfinite(s->valve_ratio)) {
    emit_object(j, "valve");
    emit_number(j, "share_of_drop_ratio", s->valve_ratio);
    emit_close(j);
  } else {
    emit_null(j, "valve");
  }
  emit_bool(j, "at_limit", s->at_limit);
  may_open_json(j, &s->may_open);
  emit_close(j);
}

/* ---- the network ---- */

static void network_json(struct emit *j, const struct air_answer *a)
{
  emit_array(j, "nodes");
  for (int i = 0; i < a->node_count; i++) {
    emit_object(j, NULL);
    emit_text(j, "id", a->nodes[i].id);
    emit_number_if(j, "pressure_Pa", a->nodes[i].known, a->nodes[i].pressure_Pa);
    if (!a->nodes[i].known)
      emit_text(j, "why", a->nodes[i].why);
    emit_close(j);
  }
  emit_close(j);
  emit_array(j, "links");
  for (int i = 0; i < a->link_count; i++) {
    const struct air_link *l = &a->links[i];

    emit_object(j, NULL);
    emit_text(j, "id", l->id);
    emit_text(j, "from", l->from);
    emit_text(j, "to", l->to);
    emit_text(j, "law", l->law);
    emit_number(j, "mass_kg_s", l->mass_kg_s);
    emit_number(j, "flow_m3_s", l->flow_m3_s);
    emit_number_if(j, "drop_Pa", l->known, l->drop_Pa);
    emit_text(j, "segment", l->segment);
    emit_close(j);
  }
  emit_close(j);
}

/* The words themselves, so that no other program has to find them again. */
static void act_json(struct emit *j, const struct facility *f, const struct air_answer *a,
                     const char *said)
{
  struct buf act;

  buf_init(&act, 1024);
  answer_act(f, a, &act);
  emit_text(j, "act", said ? said : act.text);
  buf_release(&act);
}

void air_object_json(struct emit *json, const char *key, const struct answer_side *side,
                     const char *act)
{
  const struct facility *facility = side->facility;
  const struct scene *scene = side->scene;
  const struct air_answer *answer = side->answer;

  emit_object(json, key);
  emit_text(json, "schema", "inward.air.1");
  emit_text(json, "suite", facility->name);
  emit_text(json, "label", facility->label);
  emit_text(json, "suite_sha256", facility->sha256);
  emit_text(json, "engine", answer_engine_version());
  answer_scene(json, facility, scene);
  emit_text(json, "tier", air_tier_name(answer->tier));
  emit_object(json, "air");
  emit_number(json, "density_kg_m3", answer->density_kg_m3);
  emit_bool(json, "fixed", answer->density_fixed);
  emit_number(json, "site_pressure_Pa", facility->site_pressure_Pa);
  emit_close(json);
  emit_bool(json, "solved", answer->solved);
  emit_text(json, "verdict", answer_verdict_name(answer->report.verdict));
  names(json, "unsolved", answer->unsolved, answer->unsolved_count);
  names(json, "not_counted", facility->not_counted, facility->not_counted_count);
  names(json, "assumed", answer->assumed, answer->assumed_count);
  emit_text(json, "state", air_level_key(answer->state));
  act_json(json, facility, answer, act);
  names(json, "reasons", answer->reasons, answer->reason_count);
  sure_json(json, facility, answer);
  pools_json(json, facility, answer);
  lower_first_json(json, facility, answer);
  rooms_json(json, facility, answer);
  doors_json(json, facility, answer);
  supplies_json(json, facility, answer);
  fans_json(json, facility, answer);
  crossings_json(json, facility, answer);
  emit_array(json, "stations");
  for (int i = 0; i < facility->station_count; i++)
    station_json(json, facility, scene, &answer->stations[i], i);
  emit_close(json);
  network_json(json, answer);
  emit_number(json, "residual_kg_s", answer->report.residual_kg_s);
  emit_number(json, "floor_kg_s", answer->report.floor_kg_s);
  emit_int(json, "iterations", answer->report.iterations);
  emit_close(json);
}

void answer_air_json(const struct facility *facility, const struct scene *scene,
                     const struct air_answer *answer, struct buf *out)
{
  struct emit j;

  emit_begin(&j, out);
  air_object_json(&j, NULL, &(struct answer_side){facility, scene, answer}, NULL);
  emit_end(&j);
}
