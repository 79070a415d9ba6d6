/*
 * The answer put together: what the solved network says, part by part, then the
 * levels, then the advice.
 */
#include "air/air.h"

#include "air/air_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const struct air_settings air_settings_default = {.advise = true, .solve_budget = 6000};
const struct air_settings air_settings_sure = {
    .advise = true, .solve_budget = 6000, .sure = true, .sure_budget = 6000};

const char *air_level_name(enum facility_level level)
{
  static const char *const names[] = {"ample", "near limit", "short", "not known"};

  return names[level];
}

const char *air_level_key(enum facility_level level)
{
  static const char *const keys[] = {"ample", "near_limit", "short", "not_known"};

  return keys[level];
}

const char *air_tier_name(enum air_tier tier)
{
  static const char *const names[] = {"coarse", "balanced", "full"};

  return names[tier];
}

const char *air_segment_name(enum net_segment segment)
{
  static const char *const words[] = {
      [NET_ON_LAW] = "on its law",         [NET_ON_SET] = "at set",
      [NET_AT_LEAST] = "at least",         [NET_AT_MOST] = "at most",
      [NET_WIDE_OPEN] = "wide open",       [NET_BEYOND_CURVE] = "beyond its curve",
      [NET_LEFT_OF_PEAK] = "left of peak", [NET_NO_FLOW] = "no flow"};

  return words[segment];
}

struct air *air_new(const struct facility *facility, struct err *err)
{
  struct air *air = calloc(1, sizeof *air);

  if (!air)
    err_no_memory();
  air->facility = facility;
  arena_init(&air->arena, (size_t)1 << 30);
  if (air_network_build(air, err) != ERR_OK) {
    air_free(air);
    return NULL;
  }
  return air;
}

void air_free(struct air *air)
{
  if (!air)
    return;
  air_free(air->shadow);
  net_free(air->net);
  arena_release(&air->arena);
  free(air);
}

void air_print_problem(const struct air *air, struct buf *out)
{
  net_print(&air->problem, out);
}

/* ---- parts of the answer ---- */

static const char *node_why(const struct air *air, int node)
{
  if (air->failed)
    return "the air could not be solved";
  if (air->unmodelled[node] && air_is_bare(air->facility))
    return "plant totals only: no pressure";
  if (air->unmodelled[node])
    return "no leak, door, duct or fan in the file reaches it: only decreed flows, so its pressure "
           "cannot be known";
  return net_has_pressure(air->net, node)
             ? NULL
             : "nothing open connects it to a known pressure in this scene";
}

/* Grilles and fans between rooms send air round; what they pass on balance is no exhaust. */
static bool joins_rooms(const struct facility *f, const struct net_link *link)
{
  return link->from < f->room_count && link->to < f->room_count;
}

enum air_room_part air_room_part_of(const struct air *air, int link)
{
  enum air_link_kind kind = air->meanings[link].kind;

  if (kind == AIR_LINK_FEED)
    return AIR_ROOM_SUPPLY;
  return kind == AIR_LINK_LEAK || kind == AIR_LINK_DOOR ||
                 joins_rooms(air->facility, &air->links[link])
             ? AIR_ROOM_LEAK
             : AIR_ROOM_EXHAUST;
}

/* Air into and out of a room, by what carries it. */
static void room_flows(const struct air *air, int room, struct air_room *out)
{
  double entering = 0.0, outdoor = 0.0;

  for (int i = 0; i < air->problem.link_count; i++) {
    const struct net_link *l = &air->links[i];
    double flow = air_link_flow_m3_s(air, i);
    bool leaves = l->from == room, enters = l->to == room;

    if (!leaves && !enters)
      continue;
    double out_of_room = leaves ? flow : -flow;
    enum air_room_part part = air_room_part_of(air, i);

    if (part == AIR_ROOM_SUPPLY)
      out->supply_m3_s -= out_of_room;
    else if (part == AIR_ROOM_LEAK)
      out->leakage_m3_s += out_of_room;
    else
      out->exhaust_m3_s += out_of_room;
    if (out_of_room < 0.0) {
      entering -= out_of_room;
      outdoor -= part == AIR_ROOM_SUPPLY || l->from == facility_node_outdoors(air->facility) ||
                         l->to == facility_node_outdoors(air->facility)
                     ? out_of_room
                     : 0.0;
    }
  }
  if (air->facility->rooms[room].has_volume) {
    out->has_changes = true;
    out->fresh_changes_per_h = outdoor / air->facility->rooms[room].volume_m3 * 3600.0;
    out->total_changes_per_h = entering / air->facility->rooms[room].volume_m3 * 3600.0;
  }
}

static void fill_rooms(const struct air *air, struct air_answer *answer, struct arena *arena)
{
  const struct facility *f = air->facility;

  answer->rooms = ARENA_ARRAY(arena, struct air_room, (size_t)f->room_count + 1);
  for (int i = 0; i < f->room_count; i++) {
    struct air_room *out = &answer->rooms[i];

    out->known = air_node_known(air, i);
    out->why = node_why(air, i);
    out->pressure_pm_Pa = out->supply_pm_m3_s = out->exhaust_pm_m3_s = out->leakage_pm_m3_s = NAN;
    out->pressure_Pa = out->known ? net_pressure_Pa(air->net, i) : (double)NAN;
    room_flows(air, i, out);
    if (air->unmodelled[i] && air_is_bare(f)) /* gaps are not in the file: what is left finds one */
      out->leakage_m3_s = out->supply_m3_s - out->exhaust_m3_s;
    if (air_is_bare(f) && f->supply_count == 0) /* not none: not in the file */
      out->supply_m3_s = out->leakage_m3_s = (double)NAN;
    out->keep_count = f->rooms[i].keep_count;
    out->keeps = ARENA_ARRAY(arena, struct air_keep, (size_t)out->keep_count + 1);
    for (int j = 0; j < out->keep_count; j++) {
      const struct facility_keep *k = &f->rooms[i].keeps[j];
      struct air_keep *keep = &out->keeps[j];

      *keep = (struct air_keep){.keep = k,
                                .known = out->known && air_node_known(air, k->over),
                                .actual_Pa = NAN,
                                .actual_pm_Pa = NAN};
      if (!keep->known)
        continue;
      keep->actual_Pa = out->pressure_Pa - net_pressure_Pa(air->net, k->over);
      keep->met = air_keep_side(f, k, keep->actual_Pa) == 0;
    }
  }
}

static void fill_plant(const struct air *air, const struct scene *scene, struct air_answer *answer,
                       struct arena *arena)
{
  const struct facility *f = air->facility;

  answer->doors = ARENA_ARRAY(arena, struct air_door, (size_t)f->door_count + 1);
  for (int i = 0; i < f->door_count; i++)
    answer->doors[i] = (struct air_door){.open = scene->door_open[i],
                                         .flow_m3_s = air_link_flow_m3_s(air, air->door_link[i]),
                                         .drop_Pa = net_drop_Pa(air->net, air->door_link[i]),
                                         .flow_pm_m3_s = NAN,
                                         .drop_pm_Pa = NAN,
                                         .known = air_node_known(air, f->doors[i].from) &&
                                                  air_node_known(air, f->doors[i].to)};
  answer->fans = ARENA_ARRAY(arena, struct air_fan, (size_t)f->fan_count + 1);
  for (int i = 0; i < f->fan_count; i++) {
    int link = air->fan_link[i];
    bool running = scene->fan_running[i] > 0;
    enum net_segment segment = air->failed ? NET_NO_FLOW : net_link_segment(air->net, link);

    answer->fans[i] = (struct air_fan){
        .running = scene->fan_running[i],
        .flow_m3_s = air_link_flow_m3_s(air, link),
        .rise_Pa = running && !air->failed ? net_rise_Pa(air->net, link) : (double)NAN,
        .speed_ratio = running ? net_speed_ratio(air->net, link) : 0.0,
        .at_limit =
            segment == NET_AT_MOST || segment == NET_AT_LEAST || segment == NET_BEYOND_CURVE,
        .left_of_peak = segment == NET_LEFT_OF_PEAK,
        .beyond_curve = segment == NET_BEYOND_CURVE,
        .flow_pm_m3_s = NAN,
        .rise_pm_Pa = NAN,
        .speed_pm_ratio = NAN};
    answer->fans[i].set_met = !f->fans[i].holds || (running && !answer->fans[i].at_limit);
  }
}

static void fill_supplies(const struct air *air, const struct scene *scene,
                          struct air_answer *answer, struct arena *arena)
{
  const struct facility *f = air->facility;

  answer->supplies = ARENA_ARRAY(arena, struct air_supply, (size_t)f->supply_count + 1);
  for (int i = 0; i < f->supply_count; i++) {
    struct air_supply *out = &answer->supplies[i];
    const struct facility_supply *s = &f->supplies[i];

    out->running = !scene->supply_off[i];
    out->flow_pm_m3_s = NAN;
    out->feeds = ARENA_ARRAY(arena, struct air_feed, (size_t)s->feed_count + 1);
    for (int j = 0; j < s->feed_count; j++) {
      int link = air->feed_link[i][j];
      enum net_segment segment = air->failed ? NET_NO_FLOW : net_link_segment(air->net, link);

      out->feeds[j] = (struct air_feed){.flow_m3_s = air_link_flow_m3_s(air, link),
                                        .flow_pm_m3_s = NAN,
                                        .segment = segment,
                                        .set_met = segment == NET_ON_SET};
      out->flow_m3_s += out->feeds[j].flow_m3_s;
      out->at_limit = out->at_limit || segment == NET_AT_MOST || segment == NET_WIDE_OPEN;
    }
    if (!air->failed && air->unit_link[i] >= 0 &&
        net_link_segment(air->net, air->unit_link[i]) == NET_AT_MOST)
      out->at_limit = true;
  }
}

static double valve_share(const struct air *air, int station)
{
  int link = air->station_link[station];
  double drop = net_drop_Pa(air->net, link);

  if (air->links[link].law != NET_SET_FLOW || air->links[link].member_count == 0 || drop <= 0.0)
    return NAN;
  return fmax(0.0, 1.0 - air_station_branch_drop_Pa(air, station) / drop);
}

static void fill_stations(const struct air *air, const struct scene *scene,
                          const enum air_fault *own_fault, struct air_answer *answer,
                          struct arena *arena)
{
  const struct facility *f = air->facility;

  answer->stations = ARENA_ARRAY(arena, struct air_station, (size_t)f->station_count + 1);
  for (int i = 0; i < f->station_count; i++) {
    struct air_station *out = &answer->stations[i];
    struct air_station_verdict v = air_judge_station(air, scene, i);

    out->has_opening = scene_station_opening_m(f, scene, i, &out->opening_m);
    out->flow_m3_s = air_link_flow_m3_s(air, air->station_link[i]);
    out->asked_m3_s = scene_station_ask_m3_s(f, scene, i);
    out->face_velocity_m_s = air_face_velocity_m_s(air, scene, i);
    out->has_face_velocity = isfinite(out->face_velocity_m_s);
    out->has_verdict = v.judged;
    out->met = v.met;
    out->own_fault =
        own_fault[i] == AIR_FAULT_OF_PATH || (own_fault[i] == AIR_FAULT_OF_ASK && !v.at_limit);
    out->at_limit = v.at_limit;
    out->valve_ratio = valve_share(air, i);
    out->flow_pm_m3_s = out->face_velocity_pm_m_s = NAN;
  }
}

static const char *law_word(const struct air *air, int link)
{
  static const char *const words[] = {[NET_SHUT] = "shut",
                                      [NET_RESIST] = "resistance",
                                      [NET_FAN] = "fan",
                                      [NET_SET_FLOW] = "set flow",
                                      [NET_HOLD] = "holds a pressure",
                                      [NET_FOLLOW] = "follows exhaust"};

  return words[air->links[link].law];
}

static void fill_network(const struct air *air, struct air_answer *answer, struct arena *arena)
{
  const struct facility *f = air->facility;

  answer->node_count = air->problem.node_count;
  answer->nodes = ARENA_ARRAY(arena, struct air_node, (size_t)answer->node_count + 1);
  for (int i = 0; i < answer->node_count; i++) {
    bool is_known = air_node_known(air, i);

    answer->nodes[i] =
        (struct air_node){.id = facility_node_id(f, i),
                          .known = is_known,
                          .pressure_Pa = is_known ? net_pressure_Pa(air->net, i) : (double)NAN,
                          .why = node_why(air, i)};
  }
  answer->link_count = air->problem.link_count;
  answer->links = ARENA_ARRAY(arena, struct air_link, (size_t)answer->link_count + 1);
  for (int i = 0; i < answer->link_count; i++) {
    const struct net_link *l = &air->links[i];
    bool is_known = air_node_known(air, l->from) && air_node_known(air, l->to);

    answer->links[i] = (struct air_link){
        .id = air->meanings[i].id,
        .from = facility_node_id(f, l->from),
        .to = facility_node_id(f, l->to),
        .law = law_word(air, i),
        .mass_kg_s = air->failed ? (double)NAN : net_flow_kg_s(air->net, i),
        .flow_m3_s = air_link_flow_m3_s(air, i),
        .drop_Pa = is_known ? net_drop_Pa(air->net, i) : (double)NAN,
        .segment = air->failed ? NULL : air_segment_name(net_link_segment(air->net, i)),
        .known = is_known};
  }
}

/* ---- the tier ---- */

static bool is_detailed(const struct facility *f)
{
  for (int i = 0; i < f->duct_count; i++)
    if (f->ducts[i].resistance.form != FACILITY_GEOMETRY &&
        f->ducts[i].resistance.form != FACILITY_LOSS)
      return false;
  for (int i = 0; i < f->station_count; i++)
    if (!f->stations[i].has_width || (f->stations[i].branch.form != FACILITY_GEOMETRY &&
                                      f->stations[i].branch.form != FACILITY_LOSS))
      return false;
  return f->room_count == 0 || (f->fan_count > 0 && f->leak_count + f->door_count > 0);
}

static enum air_tier tier_of(const struct facility *f)
{
  bool network = f->duct_count + f->fan_count + f->leak_count + f->door_count > 0;

  for (int i = 0; i < f->main_count; i++)
    if (f->mains[i].at < 0)
      return AIR_COARSE;
  if (!network)
    return AIR_COARSE;
  return is_detailed(f) ? AIR_FULL : AIR_BALANCED;
}

/* ---- several solutions ---- */

static void fill_crossings(const struct air *air, struct air_answer *answer, struct arena *arena)
{
  const struct net_report *r = &answer->report;

  if (r->crossing_count < 2)
    return;
  answer->crossings = ARENA_ARRAY(arena, struct air_crossing, (size_t)r->crossing_count);
  for (int i = 0; i < r->crossing_count; i++) {
    const struct air_link_meaning *m = &air->meanings[r->crossings[i].link];

    if (m->kind == AIR_LINK_FAN)
      answer->crossings[answer->crossing_count++] = (struct air_crossing){
          .fan = m->index,
          .flow_m3_s =
              r->crossings[i].flow_kg_s / air->density_kg_m3[air->links[r->crossings[i].link].from],
          .left_of_peak = r->crossings[i].left_of_peak};
  }
}

/* ---- own faults: what a station misses alone, with the plant in order ---- */

static enum air_fault misses_alone(struct air_search *search, const struct scene *in_order,
                                   int station, bool at_work)
{
  struct air_outcome alone;

  scene_assign(search->air->facility, &search->trial, in_order);
  search->trial.stations[station] = search->scene->stations[station];
  if (at_work)
    air_raise_to_work(search->air, &search->trial, station);
  if (search->solves_left-- <= 0)
    return AIR_NO_FAULT;
  air_outcome_of(search->air, &search->trial, NULL, &alone, NULL);
  for (int i = 0; alone.answered && i < alone.miss_count; i++)
    if (alone.misses[i].kind == AIR_MISS_STATION && alone.misses[i].index == station)
      return air_judge_station(search->air, &search->trial, station).at_limit ? AIR_FAULT_OF_PATH
                                                                              : AIR_FAULT_OF_ASK;
  return AIR_NO_FAULT;
}

void air_find_own_faults(struct air_search *search)
{
  const struct facility *f = search->air->facility;
  struct scene in_order = scene_parked(f, search->arena);
  struct air_outcome now;

  in_order.has_outdoor_temperature = search->scene->has_outdoor_temperature;
  in_order.outdoor_temperature_K = search->scene->outdoor_temperature_K;
  search->solves_left--;
  air_outcome_of(search->air, search->scene, NULL, &now, NULL);
  for (int i = 0; now.answered && i < now.miss_count; i++)
    if (now.misses[i].kind == AIR_MISS_STATION)
      search->own_fault[now.misses[i].index] =
          misses_alone(search, &in_order, now.misses[i].index, false);
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].in_service)
      search->at_work[i] = misses_alone(search, &in_order, i, true);
}

static void fill_pools(struct air *air, const struct scene *scene, struct air_answer *answer,
                       struct arena *arena)
{
  answer->pool_count = air_pool_count(air->facility);
  answer->pools = ARENA_ARRAY(arena, struct air_pool, (size_t)answer->pool_count + 1);
  for (int p = 0; p < answer->pool_count; p++) {
    struct air_pool *out = &answer->pools[p];

    out->kind = air_pool_kind_of(air->facility, p, &out->index);
    out->demand_m3_s = air_pool_demand_m3_s(air, scene, p);
    out->declared = air_pool_declared(air, scene, p, arena);
    out->demand_pm_m3_s = out->capacity_pm_m3_s = out->headroom_pm_m3_s = NAN;
  }
}

static void fill_facts(struct air *air, const struct scene *scene, const enum air_fault *own_fault,
                       struct air_outcome *outcome, struct air_answer *answer, struct arena *arena)
{
  air_outcome_of(air, scene, own_fault, outcome, &answer->report);
  answer->solved = outcome->answered;
  answer->tier = tier_of(air->facility);
  answer->density_fixed = air->facility->has_air_density;
  answer->density_kg_m3 =
      air->density_kg_m3[air->facility->room_count > 0 ? 0 : facility_node_outdoors(air->facility)];
  fill_rooms(air, answer, arena);
  fill_plant(air, scene, answer, arena);
  fill_supplies(air, scene, answer, arena);
  fill_stations(air, scene, own_fault, answer, arena);
  fill_network(air, answer, arena);
  fill_crossings(air, answer, arena);
  fill_pools(air, scene, answer, arena);
}

static bool misses_its_rule_alone(const struct facility *f, const struct air_outcome *outcome,
                                  int pool)
{
  bool any = false;

  for (int i = 0; i < outcome->miss_count; i++)
    if (air_pool_has_miss(f, pool, &outcome->misses[i])) {
      if (outcome->misses[i].kind != AIR_MISS_DECLARED)
        return false;
      any = true;
    }
  return any;
}

struct air_answer *air_ask(struct air *air, const struct scene *scene,
                           const struct air_settings *settings, struct arena *arena,
                           struct err *err)
{
  const struct facility *f = air->facility;
  struct air_answer *answer = ARENA_NEW(arena, struct air_answer);
  enum air_fault *faults = ARENA_ARRAY(arena, enum air_fault, 3 * (size_t)f->station_count + 1);
  struct air_edge *edges = ARENA_ARRAY(arena, struct air_edge, AIR_POOLS_MAX);
  struct air_outcome outcome;
  struct air_levels levels;

  if (!answer || !faults || !edges) {
    err_set(err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
    return NULL;
  }
  struct air_search search = {.air = air,
                              .scene = scene,
                              .own_fault = faults,
                              .at_work = faults + f->station_count,
                              .judged = faults + 2 * (size_t)f->station_count,
                              .trial = scene_copy(f, scene, arena),
                              .after = scene_copy(f, scene, arena),
                              .budget = settings->solve_budget,
                              .solves_left = settings->solve_budget,
                              .spare_only = settings->spare_only,
                              .by_kind = settings->by_kind,
                              .memory = air_memory_new(arena),
                              .arena = arena};

  air_find_own_faults(&search);
  net_forget(air->net); /* the answer must not depend on what was asked before */
  fill_facts(air, scene, faults, &outcome, answer, arena);
  air_levels_of(&search, scene, &levels);
  answer->state = answer->best = levels.worst;
  answer->weakest = -1;
  for (int p = 0; p < answer->pool_count; p++) {
    answer->pools[p].state = answer->pools[p].best = levels.pool[p];
    answer->pools[p].computed = levels.computed[p];
    answer->pools[p].rule_alone = misses_its_rule_alone(f, &outcome, p);
  }
  if (settings->advise && answer->solved)
    air_advise(&search, &levels, answer, edges);
  if (settings->advise && settings->sure && answer->solved)
    air_sure(&search, &levels, edges, settings, answer);
  air_say_cannot(&search, answer);
  air_give_reasons(&search, &outcome, &levels, answer);
  air_report_unsolved(air, answer, arena);
  air_assume(&search, answer);
  return answer;
}

struct air_answer *air_flows(struct air *air, const struct scene *scene, struct arena *arena,
                             struct err *err)
{
  struct air_answer *answer = ARENA_NEW(arena, struct air_answer);
  enum air_fault *none =
      ARENA_ARRAY(arena, enum air_fault, (size_t)air->facility->station_count + 1);
  struct air_outcome outcome;

  if (!answer || !none) {
    err_set(err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
    return NULL;
  }
  net_forget(air->net); /* as air_ask does */
  fill_facts(air, scene, none, &outcome, answer, arena);
  answer->state = FACILITY_NOT_KNOWN;
  return answer;
}
