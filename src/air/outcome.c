/*
 * One solve, and what it misses: keeps, set points of the shared plant, and the
 * criteria of working stations.  Facts only; the levels are made in state.c.
 */
#include "air/air_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A flow counts as reached within this share of what was asked, or a controller
 * would be called short for the last digit of a double.  Common practice, no source. */
static const double reached_ratio = 1e-6;

static void miss(struct air_outcome *o, enum air_miss_kind kind, int index, int sub, double actual,
                 double wanted)
{
  if (o->miss_count < AIR_MISSES_MAX)
    o->misses[o->miss_count++] = (struct air_miss){kind, index, sub, actual, wanted};
}

static double over_Pa(const struct air *air, int node, int over)
{
  return net_pressure_Pa(air->net, node) - net_pressure_Pa(air->net, over);
}

bool air_node_known(const struct air *air, int node)
{
  return !air->failed && !air->unmodelled[node] && net_has_pressure(air->net, node);
}

int air_keep_side(const struct facility *facility, const struct facility_keep *keep,
                  double actual_Pa)
{
  if (keep->has_least && actual_Pa < keep->least_Pa - facility->met_tolerance_Pa)
    return -1;
  return keep->has_most && actual_Pa > keep->most_Pa + facility->met_tolerance_Pa;
}

static void check_keeps(const struct air *air, struct air_outcome *o)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->room_count; i++)
    for (int j = 0; j < f->rooms[i].keep_count; j++) {
      const struct facility_keep *k = &f->rooms[i].keeps[j];

      if (!air_node_known(air, i) || !air_node_known(air, k->over)) {
        if (!air->unmodelled[i] &&
            !air->unmodelled[k->over]) /* the file could tell; the scene does not */
          miss(o, AIR_MISS_UNKNOWN, i, j, 0.0, 0.0);
        continue;
      }
      double actual = over_Pa(air, i, k->over);

      int side = air_keep_side(f, k, actual);

      if (side != 0)
        miss(o, AIR_MISS_KEEP, i, j, actual, side < 0 ? k->least_Pa : k->most_Pa);
    }
}

/* Decreed flows that do not add up in a room nothing else leads out of contradict each other. */
static void check_balances(const struct air *air, struct air_outcome *o)
{
  const double settled_kg_s = 1e-6; /* far above what a solve leaves, far below any real flow */

  for (int i = 0; i < air->facility->room_count; i++) {
    double left_kg_s = 0.0;

    if (air->unmodelled[i] || air_node_known(air, i))
      continue;
    for (int l = 0; l < air->problem.link_count; l++) {
      double g = net_flow_kg_s(air->net, l);

      left_kg_s += air->links[l].to == i ? g : air->links[l].from == i ? -g : 0.0;
    }
    if (fabs(left_kg_s) > settled_kg_s)
      miss(o, AIR_MISS_UNKNOWN, i, -1, left_kg_s, 0.0);
  }
}

/* A feed that should hold a pressure and has run into a limit. */
static void check_feeds(const struct air *air, const struct scene *scene, struct air_outcome *o)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->supply_count; i++)
    for (int j = 0; j < f->supplies[i].feed_count; j++) {
      const struct facility_feed *feed = &f->supplies[i].feeds[j];
      int link = air->feed_link[i][j];
      double flow = air_link_flow_m3_s(air, link);

      if (feed->form == FACILITY_FEED_HOLDS && air_node_known(air, feed->room)) {
        double actual = over_Pa(air, feed->room, feed->over);

        if (actual < feed->hold_Pa - f->met_tolerance_Pa) /* above it there is air to spare */
          miss(o, AIR_MISS_FEED, i, j, actual, feed->hold_Pa);
      } else if (feed->form == FACILITY_FEED_FLOW &&
                 flow < feed->flow_m3_s * (1.0 - reached_ratio)) {
        miss(o, AIR_MISS_FEED, i, j, flow, feed->flow_m3_s);
      } else if (feed->form == FACILITY_FEED_FOLLOWS &&
                 (net_link_segment(air->net, link) == NET_AT_MOST ||
                  net_link_segment(air->net, link) == NET_WIDE_OPEN || scene->supply_off[i])) {
        miss(o, AIR_MISS_FEED, i, j, flow, NAN);
      }
    }
}

/* Terminals that follow the exhaust, or never close below their least, can ask a unit for more
 * than its most: what they then give is what it cannot. */
static void check_units(const struct air *air, struct air_outcome *o)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->supply_count; i++) {
    double given = 0.0;

    for (int j = 0; j < f->supplies[i].feed_count; j++)
      given += air_link_flow_m3_s(air, air->feed_link[i][j]);
    if (f->supplies[i].has_most && given > f->supplies[i].most_m3_s * (1.0 + reached_ratio))
      miss(o, AIR_MISS_UNIT, i, 0, given, f->supplies[i].most_m3_s);
  }
}

static void check_plant(const struct air *air, const struct scene *scene, struct air_outcome *o)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->fan_count; i++) {
    const struct facility_fan *fan = &f->fans[i];

    if (!fan->holds || !air_node_known(air, fan->hold_node))
      continue;
    double actual = over_Pa(air, fan->hold_node, fan->hold_over);

    if (scene->fan_running[i] == 0 ||
        (fabs(actual - fan->hold_Pa) > f->met_tolerance_Pa &&
         net_link_segment(air->net, air->fan_link[i]) != NET_AT_LEAST)) /* it could do with less */
      miss(o, AIR_MISS_FAN, i, 0, actual, fan->hold_Pa);
  }
}

/* ---- stations ---- */

bool air_station_works(const struct air *air, const struct scene *scene, int station)
{
  return air->facility->stations[station].in_service && scene->stations[station].raised;
}

bool air_station_waits(const struct air *air, const struct scene *scene, int station)
{
  const struct scene_station *now = &scene->stations[station];

  const struct facility_station *s = &air->facility->stations[station];
  bool nothing_to_raise = s->flow == FACILITY_CONSTANT && !s->has_openings; /* no sash: always on */

  return s->in_service && !now->withdrawn && !now->raised && !nothing_to_raise;
}

void air_raise_to_work(const struct air *air, struct scene *scene, int station)
{
  scene->stations[station].raised = true;
  scene->stations[station].opening_m = air->facility->stations[station].work_m;
  scene->stations[station].has_ask = false;
  scene->stations[station].has_measured = false;
}

double air_work_ask_m3_s(const struct air *air, int station)
{
  const struct facility_station *s = &air->facility->stations[station];

  return facility_station_rule_m3_s(s, true, s->work_m);
}

/* The air that passes the opening: deck and bypass air does not.  A cover takes
 * its share of the deck's conductance away (orifices side by side). */
double air_face_velocity_m_s(const struct air *air, const struct scene *scene, int station)
{
  const struct facility_station *s = &air->facility->stations[station];
  double flow = air_link_flow_m3_s(air, air->station_link[station]);
  double opening_m = 0.0,
         share = s->deck_share_ratio * (1.0 - scene->stations[station].cover_ratio);

  if (!s->has_width || !scene_station_opening_m(air->facility, scene, station, &opening_m) ||
      opening_m <= 0.0)
    return NAN;
  if (s->flow == FACILITY_PASSIVE) { /* every part of the open area shares one velocity */
    double deck_m2 = s->deck_share_ratio < 1.0
                         ? share / (1.0 - s->deck_share_ratio) * s->width_m * s->work_m
                         : 0.0;

    return flow / (s->width_m * opening_m + s->bypass_area_m2 + deck_m2);
  }
  share = share / (share + 1.0 - s->deck_share_ratio);
  return fmax(0.0, flow * (1.0 - share) - s->bypass_m3_s) / (s->width_m * opening_m);
}

/* The same turned round. */
bool air_face_line(const struct air *air, const struct scene *scene, int station,
                   double *through_m2, double *beside_m3_s)
{
  const struct facility_station *s = &air->facility->stations[station];
  double opening_m = 0.0,
         share = s->deck_share_ratio * (1.0 - scene->stations[station].cover_ratio);

  if (!s->has_width || !scene_station_opening_m(air->facility, scene, station, &opening_m) ||
      opening_m <= 0.0)
    return false;
  *beside_m3_s = 0.0;
  if (s->flow == FACILITY_PASSIVE) {
    double deck_m2 = s->deck_share_ratio < 1.0
                         ? share / (1.0 - s->deck_share_ratio) * s->width_m * s->work_m
                         : 0.0;

    *through_m2 = s->width_m * opening_m + s->bypass_area_m2 + deck_m2;
    return true;
  }
  share = share / (share + 1.0 - s->deck_share_ratio);
  *through_m2 = s->width_m * opening_m / (1.0 - share);
  *beside_m3_s = s->bypass_m3_s / (1.0 - share);
  return true;
}

static void judge_criterion(const struct air *air, const struct scene *scene, int station,
                            struct air_station_verdict *v)
{
  const struct facility_station *s = &air->facility->stations[station];
  const struct facility_criterion *c = &air->facility->criteria[s->criterion];

  v->value = c->of == FACILITY_OF_FLOW ? air_link_flow_m3_s(air, air->station_link[station])
                                       : air_face_velocity_m_s(air, scene, station);
  if (!isfinite(v->value))
    return;
  v->judged = true;
  v->by_flow = c->of == FACILITY_OF_FLOW;
  v->low = c->has_low ? c->low : (double)NAN;
  v->high = c->has_high ? c->high : (double)NAN;
  v->met = (!c->has_low || v->value >= c->low * (1.0 - reached_ratio)) &&
           (!c->has_high || v->value <= c->high * (1.0 + reached_ratio));
}

/* Under its criterion while it works; without one, what it asks is the criterion. */
struct air_station_verdict air_judge_station(const struct air *air, const struct scene *scene,
                                             int station)
{
  const struct facility_station *s = &air->facility->stations[station];
  struct air_station_verdict v = {.low = NAN, .high = NAN, .value = NAN};
  double ask = scene_station_ask_m3_s(air->facility, scene, station);
  double flow = air_link_flow_m3_s(air, air->station_link[station]);
  bool reached = flow >= ask * (1.0 - reached_ratio);

  if (air->failed)
    return v;
  v.at_limit = ask > 0.0 && !reached;
  if (!s->in_service)
    return v;
  if (air_station_works(air, scene, station) && s->criterion >= 0)
    judge_criterion(air, scene, station, &v);
  if (!v.judged && v.at_limit)
    v = (struct air_station_verdict){
        .judged = true, .by_flow = true, .value = flow, .low = ask, .high = NAN, .at_limit = true};
  return v;
}

static void check_stations(const struct air *air, const struct scene *scene,
                           const enum air_fault *own_fault, struct air_outcome *o)
{
  for (int i = 0; i < air->facility->station_count; i++) {
    struct air_station_verdict v;

    v = air_judge_station(air, scene, i);
    if (own_fault && own_fault[i] && !(own_fault[i] == AIR_FAULT_OF_ASK && v.at_limit))
      continue;
    if (v.judged && !v.met)
      miss(o, AIR_MISS_STATION, i, v.by_flow, v.value, v.value < v.low ? v.low : v.high);
  }
}

/* Where a main has no network its declared capacity is the only limit there is. */
static void check_declared(const struct air *air, const struct scene *scene, struct air_outcome *o)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->main_count; i++) {
    if (!f->mains[i].declared.given || f->mains[i].at >= 0)
      continue;
    struct air_declared d = air_pool_declared(air, scene, i, NULL);

    if (d.state == FACILITY_SHORT)
      miss(o, AIR_MISS_DECLARED, i, 0, d.demand_m3_s, d.capacity_m3_s);
  }
}

/* ---- the solver's words, with the suite's ids ---- */

/* The id a number stands for, or NULL where the number is none of ours. */
static const char *id_behind(const struct air *air, const char *kind, const char *digits)
{
  long number = strtol(digits, NULL, 10);

  if (strcmp(kind, "link ") == 0)
    return number < air->problem.link_count ? air->meanings[number].id : NULL;
  return number < air->problem.node_count ? facility_node_id(air->facility, (int)number) : NULL;
}

/* The solver knows numbers only; a person knows the ids of the file. */
static void name_reason(const struct air *air, struct net_report *report)
{
  static const char *const kinds[] = {"node ", "link "};
  char named[sizeof report->reason];
  const char *at = report->reason;
  size_t used = 0;

  while (*at && used + 1 < sizeof named) {
    const char *id = NULL;

    for (size_t k = 0; !id && k < sizeof kinds / sizeof kinds[0]; k++) {
      size_t length = strlen(kinds[k]);

      if (strncmp(at, kinds[k], length) == 0 && strspn(at + length, "0123456789") > 0) {
        id = id_behind(air, kinds[k], at + length);
        at += id ? length + strspn(at + length, "0123456789") : 0;
      }
    }
    if (id)
      used += (size_t)snprintf(named + used, sizeof named - used, "%s", id);
    else
      named[used++] = *at++;
    if (used >= sizeof named)
      used = sizeof named - 1;
  }
  named[used] = '\0';
  memcpy(report->reason, named, used + 1);
}

void air_outcome_of(struct air *air, const struct scene *scene, const enum air_fault *own_fault,
                    struct air_outcome *outcome, struct net_report *report)
{
  struct net_report unwanted;

  air_network_set_scene(air, scene);
  outcome->verdict = net_solve(air->net, report ? report : &unwanted);
  if (report)
    name_reason(air, report);
  air->failed = outcome->verdict == NET_FAILED;
  outcome->answered = !air->failed;
  outcome->miss_count = 0;
  if (!outcome->answered)
    return;
  check_keeps(air, outcome);
  check_balances(air, outcome);
  check_feeds(air, scene, outcome);
  check_units(air, outcome);
  check_plant(air, scene, outcome);
  check_stations(air, scene, own_fault, outcome);
  check_declared(air, scene, outcome);
}
