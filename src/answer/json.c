/* The air as JSON: the contract of docs/api.md.  SI, the unit in each key, file order. */
#include "answer/answer.h"

#include "answer/page_impl.h"

#include <math.h>

static void names(struct json *j, const char *key, const char *const *list, int count)
{
  json_array(j, key);
  for (int i = 0; i < count; i++)
    json_text(j, NULL, list[i]);
  json_close(j);
}

/* ---- the scene, so that an answer says what it answers ---- */

static void scene_station_json(struct json *j, const struct facility *f, const struct scene *scene,
                               int i)
{
  const struct scene_station *s = &scene->stations[i];
  double opening_m = 0.0;
  bool has_opening = scene_station_opening_m(f, scene, i, &opening_m);

  json_object(j, f->stations[i].part.id);
  json_text(j, "sash", s->raised ? "raised" : "parked");
  json_number_if(j, "opening_m", has_opening, opening_m);
  if (s->unattended)
    json_bool(j, "unattended", true);
  if (s->blocked)
    json_bool(j, "blocked", true);
  if (s->withdrawn)
    json_bool(j, "withdrawn", true);
  if (s->needs_flow)
    json_text(j, "needs_flow", s->needs_flow);
  if (s->cover_ratio > 0.0)
    json_number(j, "cover_ratio", s->cover_ratio);
  if (s->has_ask)
    json_number(j, "asks_m3_s", s->ask_m3_s);
  if (s->has_measured)
    json_number(j, "measured_m3_s", s->measured_m3_s);
  json_close(j);
}

static void scene_json(struct json *j, const struct facility *f, const struct scene *scene)
{
  json_object(j, "scene");
  json_text(j, "name", scene->name);
  json_bool(j, "trial", scene->is_trial);
  json_text(j, "note", scene->note);
  json_object(j, "stations");
  for (int i = 0; i < f->station_count; i++)
    scene_station_json(j, f, scene, i);
  json_close(j);
  json_array(j, "doors_open");
  for (int i = 0; i < f->door_count; i++)
    if (scene->door_open[i])
      json_text(j, NULL, f->doors[i].part.id);
  json_close(j);
  json_array(j, "off");
  for (int i = 0; i < f->fan_count; i++)
    if (scene->fan_running[i] == 0)
      json_text(j, NULL, f->fans[i].part.id);
  for (int i = 0; i < f->supply_count; i++)
    if (scene->supply_off[i])
      json_text(j, NULL, f->supplies[i].part.id);
  json_close(j);
  json_array(j, "shut");
  for (int i = 0; i < f->duct_count; i++)
    if (scene->duct_shut[i])
      json_text(j, NULL, f->ducts[i].part.id);
  json_close(j);
  json_text(j, "was", scene->has_was ? air_level_key(scene->was) : NULL);
  json_close(j);
}

/* ---- pools and advice ---- */

static void declared_json(struct json *j, const struct air_declared *d)
{
  if (!d->given) {
    json_null(j, "declared");
    return;
  }
  json_object(j, "declared");
  json_text(j, "state", air_level_key(d->state));
  json_number(j, "demand_m3_s", d->demand_m3_s);
  json_number(j, "capacity_m3_s", d->capacity_m3_s);
  json_number(j, "demand_ratio", d->ratio);
  json_text(j, "why", d->why);
  json_close(j);
}

static void pools_json(struct json *j, const struct facility *f, const struct air_answer *a)
{
  json_array(j, "pools");
  for (int i = 0; i < a->pool_count; i++) {
    const struct air_pool *p = &a->pools[i];

    json_object(j, NULL);
    json_text(j, "id", air_pool_id(f, i));
    json_text(j, "kind", p->kind == AIR_POOL_MAIN ? "main" : "supply");
    json_text(j, "state", air_level_key(p->state));
    json_text(j, "computed_state", air_level_key(p->computed));
    json_number(j, "demand_m3_s", p->demand_m3_s);
    json_number_if(j, "capacity_m3_s", p->has_headroom, p->capacity_m3_s);
    json_number_if(j, "headroom_m3_s", p->has_headroom, p->headroom_m3_s);
    json_bool(j, "at_most", p->at_most);
    json_text(j, "binding", p->binding);
    if (p->more_known) {
      json_int(j, "more_guaranteed", p->more_guaranteed);
      json_int(j, "more_perhaps", p->more_perhaps);
      json_int(j, "more_sure", p->more_sure);
      json_int(j, "more_best", p->more_best);
    } else {
      json_null(j, "more_guaranteed");
      json_null(j, "more_perhaps");
      json_null(j, "more_sure");
      json_null(j, "more_best");
    }
    declared_json(j, &p->declared);
    sure_pool_json(j, f, a, i);
    json_close(j);
  }
  json_close(j);
}

static void lower_list_json(struct json *j, const char *key, const struct facility *f,
                            const struct air_lower_list *list)
{
  json_array(j, key);
  for (int i = 0; i < list->count; i++) {
    const struct air_lower *s = &list->sashes[i];

    json_object(j, NULL);
    json_text(j, "station", f->stations[s->station].part.id);
    json_number_if(j, "to_m", s->has_to_m, s->to_m);
    json_number(j, "frees_m3_s", s->frees_m3_s);
    json_text(j, "state_after", air_level_key(s->state_after));
    json_close(j);
  }
  json_close(j);
}

static void lower_first_json(struct json *j, const struct facility *f, const struct air_answer *a)
{
  json_object(j, "lower_first");
  lower_list_json(j, "ends_short", f, &a->ends_short);
  lower_list_json(j, "reaches_ample", f, &a->reaches_ample);
  json_text(j, "ends_short_why", a->ends_short.why);
  json_text(j, "reaches_ample_why", a->reaches_ample.why);
  json_close(j);
}

/* ---- rooms and plant ---- */

static void rooms_json(struct json *j, const struct facility *f, const struct air_answer *a)
{
  json_array(j, "rooms");
  for (int i = 0; i < f->room_count; i++) {
    const struct air_room *r = &a->rooms[i];

    json_object(j, NULL);
    json_text(j, "id", f->rooms[i].part.id);
    json_text(j, "name", f->rooms[i].part.name);
    json_number_if(j, "pressure_Pa", r->known, r->pressure_Pa);
    json_text(j, "why", r->why);
    json_array(j, "keeps");
    for (int k = 0; k < r->keep_count; k++) {
      const struct air_keep *keep = &r->keeps[k];

      json_object(j, NULL);
      json_text(j, "over", facility_node_id(f, keep->keep->over));
      json_number_if(j, "at_least_Pa", keep->keep->has_least, keep->keep->least_Pa);
      json_number_if(j, "at_most_Pa", keep->keep->has_most, keep->keep->most_Pa);
      json_number_if(j, "actual_Pa", keep->known, keep->actual_Pa);
      json_number_if(j, "actual_pm_Pa", keep->known, keep->actual_pm_Pa);
      if (keep->known)
        json_bool(j, "met", keep->met);
      else
        json_null(j, "met");
      json_close(j);
    }
    json_close(j);
    json_number(j, "supply_m3_s", r->supply_m3_s);
    json_number(j, "exhaust_m3_s", r->exhaust_m3_s);
    json_number(j, "leakage_m3_s", r->leakage_m3_s);
    json_number_if(j, "fresh_changes_per_h", r->has_changes, r->fresh_changes_per_h);
    json_number_if(j, "total_changes_per_h", r->has_changes, r->total_changes_per_h);
    json_close(j);
  }
  json_close(j);
}

static void doors_json(struct json *j, const struct facility *f, const struct air_answer *a)
{
  json_array(j, "doors");
  for (int i = 0; i < f->door_count; i++) {
    json_object(j, NULL);
    json_text(j, "id", f->doors[i].part.id);
    json_text(j, "from", facility_node_id(f, f->doors[i].from));
    json_text(j, "to", facility_node_id(f, f->doors[i].to));
    json_bool(j, "open", a->doors[i].open);
    json_number_if(j, "flow_m3_s", a->doors[i].known, a->doors[i].flow_m3_s);
    json_number_if(j, "drop_Pa", a->doors[i].known, a->doors[i].drop_Pa);
    json_close(j);
  }
  json_close(j);
}

static void crossings_json(struct json *j, const struct facility *f, const struct air_answer *a)
{
  json_array(j, "crossings");
  for (int i = 0; i < a->crossing_count; i++) {
    json_object(j, NULL);
    json_text(j, "fan", f->fans[a->crossings[i].fan].part.id);
    json_number(j, "flow_m3_s", a->crossings[i].flow_m3_s);
    json_bool(j, "left_of_peak", a->crossings[i].left_of_peak);
    json_close(j);
  }
  json_close(j);
}

static void supplies_json(struct json *j, const struct facility *f, const struct air_answer *a)
{
  json_array(j, "supplies");
  for (int i = 0; i < f->supply_count; i++) {
    const struct facility_supply *s = &f->supplies[i];

    json_object(j, NULL);
    json_text(j, "id", s->part.id);
    json_bool(j, "running", a->supplies[i].running);
    json_number(j, "flow_m3_s", a->supplies[i].flow_m3_s);
    json_number_if(j, "most_m3_s", s->has_most, s->most_m3_s);
    json_bool(j, "at_limit", a->supplies[i].at_limit);
    json_array(j, "feeds");
    for (int k = 0; k < s->feed_count; k++) {
      json_object(j, NULL);
      json_text(j, "id", s->feeds[k].part.id);
      json_text(j, "room", facility_node_id(f, s->feeds[k].room));
      json_number(j, "flow_m3_s", a->supplies[i].feeds[k].flow_m3_s);
      json_number_if(j, "most_m3_s", s->feeds[k].has_most, s->feeds[k].most_m3_s);
      json_bool(j, "set_met", a->supplies[i].feeds[k].set_met);
      json_text(j, "state", air_segment_name(a->supplies[i].feeds[k].segment));
      json_close(j);
    }
    json_close(j);
    json_close(j);
  }
  json_close(j);
}

static void fans_json(struct json *j, const struct facility *f, const struct air_answer *a)
{
  json_array(j, "fans");
  for (int i = 0; i < f->fan_count; i++) {
    const struct air_fan *fan = &a->fans[i];

    json_object(j, NULL);
    json_text(j, "id", f->fans[i].part.id);
    json_int(j, "running", fan->running);
    json_int(j, "count", f->fans[i].count);
    json_number(j, "flow_m3_s", fan->flow_m3_s);
    json_number_if(j, "pressure_Pa", fan->running > 0, fan->rise_Pa);
    json_number(j, "speed", fan->speed_ratio);
    json_bool(j, "at_limit", fan->at_limit);
    json_bool(j, "left_of_peak", fan->left_of_peak);
    json_bool(j, "beyond_curve", fan->beyond_curve);
    json_bool(j, "set_met", fan->set_met);
    json_close(j);
  }
  json_close(j);
}

/* ---- stations ---- */

static void criterion_json(struct json *j, const struct facility *f, int i,
                           const struct air_station *s)
{
  const struct facility_criterion *c;

  if (f->stations[i].criterion < 0) {
    json_null(j, "criterion");
    return;
  }
  c = &f->criteria[f->stations[i].criterion];
  json_object(j, "criterion");
  json_text(j, "name", c->part.id);
  json_text(j, "of", c->of == FACILITY_OF_FLOW ? "flow_m3_s" : "face_velocity_m_s");
  json_number_if(j, "low", c->has_low, c->low);
  json_number_if(j, "high", c->has_high, c->high);
  if (s->has_verdict)
    json_bool(j, "met", s->met);
  else
    json_null(j, "met");
  json_text(j, "source", c->source);
  json_close(j);
}

static void may_open_json(struct json *j, const struct air_may_open *m)
{
  if (!m->asked) {
    json_null(j, "may_open");
    return;
  }
  json_object(j, "may_open");
  json_number_if(j, "to_m", m->has_to_m, m->to_m);
  json_text(j, "state_after", air_level_key(m->state_after));
  json_text(j, "binding", m->binding);
  if (m->has_sure)
    json_bool(j, "sure", m->sure);
  else
    json_null(j, "sure");
  json_close(j);
}

static void station_json(struct json *j, const struct facility *f, const struct scene *scene,
                         const struct air_station *s, int i)
{
  json_object(j, NULL);
  json_text(j, "id", f->stations[i].part.id);
  json_text(j, "name", f->stations[i].part.name);
  json_text(j, "kind", facility_kind_name(f->stations[i].kind));
  json_text(j, "room", facility_node_id(f, f->stations[i].room));
  json_text(j, "main", f->mains[f->stations[i].main].part.id);
  json_bool(j, "in_service", f->stations[i].in_service);
  json_text(j, "sash", scene->stations[i].raised ? "raised" : "parked");
  json_number_if(j, "opening_m", s->has_opening, s->opening_m);
  json_number(j, "flow_m3_s", s->flow_m3_s);
  json_number_if(j, "asked_m3_s", f->stations[i].flow != FACILITY_PASSIVE, s->asked_m3_s);
  json_number_if(j, "face_velocity_m_s", s->has_face_velocity, s->face_velocity_m_s);
  criterion_json(j, f, i, s);
  json_bool(j, "own_fault", s->own_fault);
  if (isfinite(s->valve_ratio)) {
    json_object(j, "valve");
    json_number(j, "share_of_drop_ratio", s->valve_ratio);
    json_close(j);
  } else {
    json_null(j, "valve");
  }
  json_bool(j, "at_limit", s->at_limit);
  may_open_json(j, &s->may_open);
  json_close(j);
}

/* ---- the network ---- */

static void network_json(struct json *j, const struct air_answer *a)
{
  json_array(j, "nodes");
  for (int i = 0; i < a->node_count; i++) {
    json_object(j, NULL);
    json_text(j, "id", a->nodes[i].id);
    json_number_if(j, "pressure_Pa", a->nodes[i].known, a->nodes[i].pressure_Pa);
    if (!a->nodes[i].known)
      json_text(j, "why", a->nodes[i].why);
    json_close(j);
  }
  json_close(j);
  json_array(j, "links");
  for (int i = 0; i < a->link_count; i++) {
    const struct air_link *l = &a->links[i];

    json_object(j, NULL);
    json_text(j, "id", l->id);
    json_text(j, "from", l->from);
    json_text(j, "to", l->to);
    json_text(j, "law", l->law);
    json_number(j, "mass_kg_s", l->mass_kg_s);
    json_number(j, "flow_m3_s", l->flow_m3_s);
    json_number_if(j, "drop_Pa", l->known, l->drop_Pa);
    json_text(j, "segment", l->segment);
    json_close(j);
  }
  json_close(j);
}

/* The words themselves, so that no other program has to find them again. */
static void act_json(struct json *j, const struct facility *f, const struct air_answer *a)
{
  struct buf act;

  buf_init(&act, 1024);
  answer_act(f, a, &act);
  json_text(j, "act", act.text);
  buf_release(&act);
}

void answer_air_json(const struct facility *facility, const struct scene *scene,
                     const struct air_answer *answer, struct buf *out)
{
  struct json j;

  json_begin(&j, out);
  json_object(&j, NULL);
  json_text(&j, "schema", "inward.air.1");
  json_text(&j, "suite", facility->name);
  json_text(&j, "label", facility->label);
  json_text(&j, "suite_sha256", facility->sha256);
  json_text(&j, "engine", answer_engine_version());
  scene_json(&j, facility, scene);
  json_text(&j, "tier", air_tier_name(answer->tier));
  json_object(&j, "air");
  json_number(&j, "density_kg_m3", answer->density_kg_m3);
  json_bool(&j, "fixed", answer->density_fixed);
  json_number(&j, "site_pressure_Pa", facility->site_pressure_Pa);
  json_close(&j);
  json_bool(&j, "solved", answer->solved);
  json_text(&j, "verdict", answer_verdict_name(answer->report.verdict));
  names(&j, "unsolved", answer->unsolved, answer->unsolved_count);
  names(&j, "not_counted", facility->not_counted, facility->not_counted_count);
  names(&j, "assumed", answer->assumed, answer->assumed_count);
  json_text(&j, "state", air_level_key(answer->state));
  act_json(&j, facility, answer);
  names(&j, "reasons", answer->reasons, answer->reason_count);
  sure_json(&j, facility, answer);
  pools_json(&j, facility, answer);
  lower_first_json(&j, facility, answer);
  rooms_json(&j, facility, answer);
  doors_json(&j, facility, answer);
  supplies_json(&j, facility, answer);
  fans_json(&j, facility, answer);
  crossings_json(&j, facility, answer);
  json_array(&j, "stations");
  for (int i = 0; i < facility->station_count; i++)
    station_json(&j, facility, scene, &answer->stations[i], i);
  json_close(&j);
  network_json(&j, answer);
  json_number(&j, "residual_kg_s", answer->report.residual_kg_s);
  json_number(&j, "floor_kg_s", answer->report.floor_kg_s);
  json_int(&j, "iterations", answer->report.iterations);
  json_close(&j);
  json_end(&j);
}

void answer_ledger_json(const struct facility *facility, int station,
                        const struct air_ledger *ledger, struct buf *out)
{
  struct json j;

  json_begin(&j, out);
  json_object(&j, NULL);
  json_text(&j, "schema", "inward.why.1");
  json_text(&j, "station", facility->stations[station].part.id);
  json_number(&j, "start_Pa", ledger->start_Pa);
  json_array(&j, "rows");
  for (int i = 0; i < ledger->count; i++) {
    json_object(&j, NULL);
    json_text(&j, "what", ledger->rows[i].what);
    json_text(&j, "origin", ledger->rows[i].origin);
    json_number(&j, "drop_Pa", ledger->rows[i].drop_Pa);
    json_number(&j, "pressure_after_Pa", ledger->rows[i].pressure_after_Pa);
    json_close(&j);
  }
  json_close(&j);
  json_number(&j, "end_Pa", ledger->end_Pa);
  json_bool(&j, "reaches_outdoors", ledger->reaches_outdoors);
  json_close(&j);
  json_end(&j);
}
