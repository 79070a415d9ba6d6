/*
 * What moves: valves, terminals, fans, units, sensors, and the controllers that tell them to.
 * docs/physics.md, "In time", has the equations.
 */
#include "after/after_impl.h"

#include <math.h>
#include <string.h>

const double after_standing_ratio = 0.02;
static const double nudge_ratio = 0.02; /* how far a controller's answer is tried out */
static const double least_nudge_m3_s = 0.01;
static const double least_answer_Pa = 0.02; /* less than this is no answer of the pressure */

double after_way_at(const struct after_way *way, double t_s)
{
  if (t_s >= way->ends_s)
    return way->to;
  if (t_s <= way->begins_s)
    return way->from;
  return way->from + (way->to - way->from) * (t_s - way->begins_s) / (way->ends_s - way->begins_s);
}

double after_feed_most_m3_s(const struct facility *f, int supply, int feed)
{
  const struct facility_feed *d = &f->supplies[supply].feeds[feed];

  if (d->has_most)
    return d->most_m3_s;
  if (d->form == FACILITY_FEED_FLOW)
    return d->flow_m3_s;
  return f->supplies[supply].has_most ? f->supplies[supply].most_m3_s : (double)INFINITY;
}

const struct facility_feed *after_feed_at(const struct after_work *w, int feed)
{
  return &w->f->supplies[w->feed_supply[feed]].feeds[w->feed_of[feed]];
}

static double difference_Pa(const struct after_work *w, int node, int over)
{
  return air_drive_pressure_Pa(w->air, node) - (over == facility_node_outdoors(w->f) || over < 0
                                                    ? 0.0
                                                    : air_drive_pressure_Pa(w->air, over));
}

double after_feed_pressure_Pa(const struct after_work *w, int feed)
{
  const struct facility_feed *d = after_feed_at(w, feed);

  return difference_Pa(w, d->room, d->over);
}

double after_fan_pressure_Pa(const struct after_work *w, int fan)
{
  return difference_Pa(w, w->f->fans[fan].hold_node, w->f->fans[fan].hold_over);
}

/* ---- where it begins ---- */

double after_part_s(const struct facility_response *r, double usual_s)
{
  return r->has_time ? r->time_s : usual_s;
}

static double coast_s(const struct facility_response *r, double usual_s)
{
  return r->has_coast ? r->coast_s : usual_s;
}

static void lay_out(struct after_work *w)
{
  const struct facility *f = w->f;
  struct after_layout *at = &w->at;
  int next = 0, feeds = air_feed_count(f);

  at->station = next;
  next += f->station_count;
  at->feed = next;
  next += feeds;
  at->feed_sensor = next;
  next += feeds;
  at->unit = next;
  next += f->supply_count;
  at->fan = next;
  next += f->fan_count;
  at->fan_sensor = next;
  next += f->fan_count;
  at->fast = next;
  at->particle = next;
  next += w->has_particles ? f->room_count : 0;
  at->gas = next;
  next += w->has_gas ? f->room_count : 0;
  at->gas_out = next;
  next += w->has_gas ? 1 : 0;
  at->count = next;
}

static void allow_errors(struct after_work *w)
{
  const struct facility *f = w->f;
  const struct after_layout *at = &w->at;
  const double flow_m3_s = 1e-5, pressure_Pa = 0.01, share = 1e-5;

  for (int i = 0; i < at->count; i++)
    w->least_error[i] = share;
  for (int i = at->station; i < at->feed_sensor; i++)
    w->least_error[i] = flow_m3_s;
  for (int i = at->feed_sensor; i < at->unit; i++)
    w->least_error[i] = pressure_Pa;
  for (int i = at->fan_sensor; i < at->fast; i++)
    w->least_error[i] = pressure_Pa;
  for (int i = 0; i < f->room_count; i++) { /* of the amount in a room */
    double volume_m3 = f->rooms[i].has_volume ? f->rooms[i].volume_m3 : 1.0;

    if (w->has_particles)
      w->least_error[at->particle + i] = volume_m3;
    if (w->has_gas)
      w->least_error[at->gas + i] = 1e-7 * volume_m3;
  }
}

/* Positions that the steady answer of a scene stands at. */
static void as_steady(struct after_work *w, const struct air_answer *a, const struct scene *scene)
{
  const struct facility *f = w->f;

  for (int i = 0; i < f->station_count; i++)
    w->y[w->at.station + i] = scene_station_ask_m3_s(f, scene, i);
  for (int k = 0; k < air_feed_count(f); k++) {
    const struct facility_feed *d = after_feed_at(w, k);
    const struct air_feed *now = &a->supplies[w->feed_supply[k]].feeds[w->feed_of[k]];

    w->y[w->at.feed + k] = d->form == FACILITY_FEED_FLOW ? d->flow_m3_s : now->flow_m3_s;
  }
  for (int i = 0; i < f->supply_count; i++)
    w->y[w->at.unit + i] = scene->supply_off[i] ? 0.0 : 1.0;
  for (int i = 0; i < f->fan_count; i++)
    w->y[w->at.fan + i] = scene->fan_running[i] > 0 ? a->fans[i].speed_ratio : 0.0;
}

static bool solve_at(struct after_work *w, const struct scene *scene)
{
  const struct facility *f = w->f;

  for (int i = 0; i < f->station_count; i++) {
    w->scene.stations[i].has_ask = f->stations[i].flow != FACILITY_PASSIVE;
    w->scene.stations[i].ask_m3_s = w->y[w->at.station + i];
  }
  for (int k = 0; k < air_feed_count(f); k++)
    w->drive->feed_m3_s[k] = fmax(0.0, w->y[w->at.feed + k]);
  for (int i = 0; i < f->supply_count; i++)
    w->drive->unit_ratio[i] = w->y[w->at.unit + i];
  for (int i = 0; i < f->fan_count; i++)
    w->drive->fan_speed_ratio[i] = w->y[w->at.fan + i];
  return air_drive_solve(w->air, scene, w->drive);
}

/* What one more of it gives in its own pressure, tried by a step down: 0 where nothing answers. */
static double gain_of(struct after_work *w, int state, double by, int feed, int fan)
{
  double was = w->y[state], before, after;

  before = feed >= 0 ? after_feed_pressure_Pa(w, feed) : after_fan_pressure_Pa(w, fan);
  w->y[state] = was - by;
  if (!solve_at(w, &w->scene))
    before = (double)NAN;
  after = feed >= 0 ? after_feed_pressure_Pa(w, feed) : after_fan_pressure_Pa(w, fan);
  w->y[state] = was;
  if (!solve_at(w, &w->scene) || !(fabs(before - after) >= least_answer_Pa))
    return 0.0;
  return by / (before - after);
}

/* As somebody who tuned them would have found them: all doors shut, the air else as at the start. */
static bool tune(struct after_work *w)
{
  const struct facility *f = w->f;
  struct scene shut = scene_copy(f, &w->scene, w->arena);
  const struct air_answer *a;

  if (!shut.stations)
    return false;
  memset(shut.door_open, 0, (size_t)f->door_count * sizeof *shut.door_open);
  a = air_flows(w->steady, &shut, w->arena, w->err);
  if (!a)
    return false;
  as_steady(w, a, &w->goal);
  scene_assign(f, &w->scene, &shut);
  for (int i = 0; i < f->door_count; i++)
    w->drive->door_ratio[i] = 0.0;
  if (!solve_at(w, &w->scene))
    return true; /* no gains: nothing is controlled, and the answer will say that it is lost */
  for (int k = 0; k < air_feed_count(f); k++)
    if (after_feed_at(w, k)->form == FACILITY_FEED_HOLDS &&
        w->y[w->at.unit + w->feed_supply[k]] > 0.0) {
      double q = w->y[w->at.feed + k];

      w->feed_gain[k] = fmax(
          0.0, gain_of(w, w->at.feed + k, fmin(q, fmax(least_nudge_m3_s, nudge_ratio * q)), k, -1));
    }
  for (int i = 0; i < f->fan_count; i++)
    if (f->fans[i].holds && w->scene.fan_running[i] > 0)
      w->fan_gain[i] = gain_of(w, w->at.fan + i, nudge_ratio * w->y[w->at.fan + i], -1, i);
  return true;
}

static void begin_ways(struct after_work *w, const struct scene *start)
{
  const struct facility *f = w->f;

  for (int i = 0; i < f->door_count; i++) {
    w->drive->door_ratio[i] = start->door_open[i] ? 1.0 : 0.0;
    w->door[i] = (struct after_way){w->drive->door_ratio[i], w->drive->door_ratio[i], 0, 0};
  }
  for (int i = 0; i < f->station_count; i++) {
    const struct scene_station *s = &start->stations[i];
    double m = s->raised ? s->opening_m : f->stations[i].parked_m;

    if (!f->stations[i].has_openings)
      m = s->raised ? 1.0 : 0.0;
    w->sash[i] = (struct after_way){m, m, 0, 0};
  }
}

/* Of the solve that the air holds. */
static void begin_sensors(struct after_work *w)
{
  const struct facility *f = w->f;

  for (int k = 0; k < air_feed_count(f); k++)
    if (after_feed_at(w, k)->form == FACILITY_FEED_HOLDS)
      w->y[w->at.feed_sensor + k] = after_feed_pressure_Pa(w, k);
  for (int i = 0; i < f->fan_count; i++)
    if (f->fans[i].holds)
      w->y[w->at.fan_sensor + i] = after_fan_pressure_Pa(w, i);
  for (int i = 0; i < w->at.fast; i++)
    if (!isfinite(w->y[i]))
      w->y[i] = 0.0;
}

bool after_plant_begin(struct after_work *w)
{
  const struct facility *f = w->f;
  const struct air_answer *a;
  struct scene start = scene_copy(f, &w->scene, w->arena);

  lay_out(w);
  w->y = ARENA_ARRAY(w->arena, double, (size_t)w->at.count + 1);
  w->least_error = ARENA_ARRAY(w->arena, double, (size_t)w->at.count + 1);
  if (!start.stations || !w->y || !w->least_error)
    return false;
  allow_errors(w);
  if (!tune(w))
    return false;
  scene_assign(f, &w->scene, &start);
  a = air_flows(w->steady, &start, w->arena, w->err);
  if (!a)
    return false;
  w->out->lost = !a->solved;
  as_steady(w, a, &start);
  begin_ways(w, &start);
  for (int i = 0; i < f->supply_count; i++)
    w->unit_drive[i] = start.supply_off[i] ? AFTER_STANDS : AFTER_RUNS;
  for (int i = 0; i < f->fan_count; i++)
    w->fan_drive[i] = start.fan_running[i] > 0 ? AFTER_RUNS : AFTER_STANDS;
  air_drive_cold(w->air);
  w->out->lost |= !solve_at(w, &w->scene);
  begin_sensors(w);
  return true;
}

/* ---- moving ---- */

double after_ask_m3_s(const struct after_work *w, int station)
{
  const struct facility_station *s = &w->f->stations[station];
  const struct scene_station *now = &w->scene.stations[station];

  if (!s->in_service)
    return 0.0;
  return facility_station_rule_m3_s(s, now->raised, now->opening_m) * w->station_ratio[station];
}

/* Sashes and doors where they are by now, and all else as the state says. */
static void place(struct after_work *w, double t_s, const double *y)
{
  const struct facility *f = w->f;

  for (int i = 0; i < f->station_count; i++) {
    struct scene_station *s = &w->scene.stations[i];
    double at = after_way_at(&w->sash[i], t_s);

    s->has_ask = f->stations[i].flow != FACILITY_PASSIVE;
    s->ask_m3_s = fmax(0.0, y[w->at.station + i]);
    if (!f->stations[i].has_openings) {
      s->raised = at > 0.5;
      continue;
    }
    s->opening_m = at;
    s->raised = at > f->stations[i].parked_m + 1e-9;
  }
  for (int i = 0; i < f->door_count; i++)
    w->drive->door_ratio[i] = after_way_at(&w->door[i], t_s);
  for (int k = 0; k < air_feed_count(f); k++)
    w->drive->feed_m3_s[k] = fmax(0.0, y[w->at.feed + k]);
  for (int i = 0; i < f->supply_count; i++)
    w->drive->unit_ratio[i] = fmin(1.0, fmax(0.0, y[w->at.unit + i]));
  for (int i = 0; i < f->fan_count; i++)
    w->drive->fan_speed_ratio[i] = fmax(after_standing_ratio / 2, y[w->at.fan + i]);
}

static double dark_slope(enum facility_dark dark, double y, double most, double time_s)
{
  if (dark == FACILITY_STAYS || !isfinite(most))
    return 0.0;
  return ((dark == FACILITY_OPENS ? most : 0.0) - y) / time_s;
}

static double station_most_m3_s(const struct facility_station *s)
{
  return s->flow == FACILITY_FOLLOWS_OPENING ? s->most_m3_s : fmax(s->work_m3_s, s->parked_m3_s);
}

static void move_stations(const struct after_work *w, const double *y, double *slope)
{
  const struct facility_after *how = &w->f->after;

  for (int i = 0; i < w->f->station_count; i++) {
    const struct facility_station *s = &w->f->stations[i];
    double now = y[w->at.station + i], time_s = after_part_s(&s->responds, how->valve_s);
    enum facility_dark dark = s->responds.has_dark ? s->responds.dark : how->valves;

    if (s->flow == FACILITY_PASSIVE || !s->in_service)
      slope[w->at.station + i] = 0.0;
    else if (w->dark)
      slope[w->at.station + i] = dark_slope(dark, now, station_most_m3_s(s), time_s);
    else
      slope[w->at.station + i] = (after_ask_m3_s(w, i) - now) / time_s;
  }
}

static double exhaust_of_m3_s(const struct after_work *w, int room)
{
  double sum = 0.0;

  for (int i = 0; i < w->f->station_count; i++)
    if (w->f->stations[i].room == room)
      sum += air_drive_station_m3_s(w->air, i);
  for (int i = 0; i < w->f->exhaust_count; i++)
    if (w->f->exhausts[i].from == room)
      sum += air_drive_exhaust_m3_s(w->air, i);
  return sum;
}

static double feed_slope(const struct after_work *w, int k, const double *y)
{
  const struct facility_after *how = &w->f->after;
  const struct facility_feed *d = after_feed_at(w, k);
  double now = y[w->at.feed + k],
         most = after_feed_most_m3_s(w->f, w->feed_supply[k], w->feed_of[k]);
  double time_s = after_part_s(&d->responds, how->terminal_s), wanted;

  if (w->dark)
    return dark_slope(d->responds.has_dark ? d->responds.dark : how->terminals, now, most, time_s);
  if (w->unit_drive[w->feed_supply[k]] != AFTER_RUNS)
    return 0.0; /* with its unit off it is left where it is, or it would wind up */
  if (d->form == FACILITY_FEED_FLOW)
    return (d->flow_m3_s * w->feed_ratio[k] - now) / time_s;
  if (d->form == FACILITY_FEED_FOLLOWS) {
    wanted = exhaust_of_m3_s(w, d->room) + d->offset_m3_s;
    wanted = fmin(most, fmax(d->least_m3_s, isfinite(wanted) ? wanted : now));
    return (wanted - now) / time_s;
  }
  return after_in_mode(w, w->at.feed + k, y);
}

static double unit_slope(const struct after_work *w, int i, const double *y)
{
  const struct facility_after *how = &w->f->after;
  const struct facility_response *r = &w->f->supplies[i].responds;

  if (w->unit_drive[i] == AFTER_STANDS)
    return 0.0;
  if (w->unit_drive[i] == AFTER_COASTS)
    return -y[w->at.unit + i] / coast_s(r, how->unit_coast_s);
  return after_in_mode(w, w->at.unit + i, y);
}

static double fan_slope(const struct after_work *w, int i, const double *y)
{
  if (w->fan_drive[i] == AFTER_STANDS)
    return 0.0;
  if (w->fan_drive[i] == AFTER_COASTS)
    return -y[w->at.fan + i] / coast_s(&w->f->fans[i].responds, w->f->after.fan_coast_s);
  return after_in_mode(w, w->at.fan + i, y);
}

static double sensor_slope(double actual, double shown, double lag_s)
{
  return isfinite(actual) ? (actual - shown) / lag_s : 0.0;
}

void after_move_plant(struct after_work *w, const double *y, double *slope)
{
  const struct facility *f = w->f;

  move_stations(w, y, slope);
  for (int k = 0; k < air_feed_count(f); k++) {
    slope[w->at.feed + k] = feed_slope(w, k, y);
    slope[w->at.feed_sensor + k] =
        after_feed_at(w, k)->form == FACILITY_FEED_HOLDS
            ? sensor_slope(after_feed_pressure_Pa(w, k), y[w->at.feed_sensor + k],
                           f->after.room_sensor_s)
            : 0.0;
  }
  for (int i = 0; i < f->supply_count; i++)
    slope[w->at.unit + i] = unit_slope(w, i, y);
  for (int i = 0; i < f->fan_count; i++) {
    slope[w->at.fan + i] = fan_slope(w, i, y);
    slope[w->at.fan_sensor + i] =
        f->fans[i].holds ? sensor_slope(after_fan_pressure_Pa(w, i), y[w->at.fan_sensor + i],
                                        f->after.duct_sensor_s)
                         : 0.0;
  }
}

bool after_solve_at(struct after_work *w, double t_s, const double *y)
{
  w->solves++;
  place(w, t_s, y);
  return air_drive_solve(w->air, &w->scene, w->drive);
}

void after_slope(void *of, double t_s, const double *y, double *slope)
{
  struct after_work *w = of;

  if (w->resting) {
    w->solves++;
    memset(slope, 0, (size_t)w->at.fast * sizeof *slope);
  } else {
    if (!after_solve_at(w, t_s, y))
      w->out->lost = true;
    after_move_plant(w, y, slope);
  }
  if (w->has_particles)
    after_carry(w, y + w->at.particle, after_outside_per_m3(w->f), true, slope + w->at.particle,
                NULL);
  if (w->has_gas)
    after_carry(w, y + w->at.gas, 0.0, false, slope + w->at.gas, slope + w->at.gas_out);
}

/* What a step carried a hair beyond its limit stands at it; a drive that coasted out stands. */
bool after_clamp(struct after_work *w)
{
  const struct facility *f = w->f;
  double *y = numeric_stepper_state(w->stepper);
  bool stopped = false;

  for (int k = 0; k < air_feed_count(f); k++) {
    double most = after_feed_most_m3_s(f, w->feed_supply[k], w->feed_of[k]);

    y[w->at.feed + k] = fmin(fmax(0.0, y[w->at.feed + k]), most);
  }
  for (int i = 0; i < f->supply_count; i++) {
    y[w->at.unit + i] = fmin(1.0, y[w->at.unit + i]);
    if (w->unit_drive[i] == AFTER_COASTS && y[w->at.unit + i] <= after_standing_ratio) {
      w->unit_drive[i] = AFTER_STANDS;
      y[w->at.unit + i] = 0.0;
      stopped = w->scene.supply_off[i] = true;
    }
  }
  for (int i = 0; i < f->fan_count; i++) {
    const struct facility_fan *fan = &f->fans[i];

    if (fan->holds)
      y[w->at.fan + i] = fmin(fan->most_speed_ratio, y[w->at.fan + i]);
    if (w->fan_drive[i] == AFTER_COASTS && y[w->at.fan + i] <= after_standing_ratio) {
      w->fan_drive[i] = AFTER_STANDS;
      y[w->at.fan + i] = 0.0;
      scene_run_unit(f, &w->scene, i, -1, false);
      stopped = true;
    }
  }
  return stopped;
}

/* ---- orders ---- */

static enum err_code contradicts(struct after_work *w, const char *id, const char *what)
{
  enum err_code code = err_set(w->err, ERR_INPUT, "%.40s %s", id, what);

  if (w->err)
    w->err->col = 1;
  return code;
}

static void send(struct after_way *way, double to, double at_s, double takes_s)
{
  double from = after_way_at(way, at_s);

  *way = (struct after_way){from, to, at_s, at_s + takes_s};
}

static void send_sash(struct after_work *w, const struct after_order *o, int station)
{
  const struct facility_station *s = &w->f->stations[station];
  const struct scene_station *goal = &w->goal.stations[station];
  double to = !s->has_openings ? (goal->raised ? 1.0 : 0.0)
              : goal->raised   ? goal->opening_m
                               : s->parked_m;
  double speed_m_s = isfinite(o->value) ? o->value : w->f->after.sash_m_s;
  double far = fabs(to - after_way_at(&w->sash[station], o->at_s));

  send(&w->sash[station], to, o->at_s, s->has_openings ? far / speed_m_s : 0.0);
}

static enum err_code order_sash(struct after_work *w, const struct after_order *o)
{
  struct scene_station was = w->goal.stations[o->index];
  const struct scene_station *now = &w->goal.stations[o->index];
  enum err_code code = scene_change(w->f, &w->goal, "sash", o->change, w->err);

  if (code != ERR_OK)
    return code;
  if (!w->f->stations[o->index].in_service)
    return contradicts(w, w->f->stations[o->index].part.id, "is not in service");
  if (was.raised == now->raised && fabs(was.opening_m - now->opening_m) < 1e-9)
    return contradicts(w, w->f->stations[o->index].part.id, "has its sash there already");
  send_sash(w, o, o->index);
  return ERR_OK;
}

static enum err_code order_door(struct after_work *w, const struct after_order *o)
{
  bool was = w->goal.door_open[o->index], open;
  enum err_code code = scene_change(w->f, &w->goal, "door", o->change, w->err);
  const struct facility_after *how = &w->f->after;

  if (code != ERR_OK)
    return code;
  open = w->goal.door_open[o->index];
  if (was == open)
    return contradicts(w, w->f->doors[o->index].part.id,
                       open ? "is open already" : "is closed already");
  send(&w->door[o->index], open ? 1.0 : 0.0, o->at_s,
       open ? how->door_opens_s : how->door_closes_s);
  return ERR_OK;
}

static enum err_code order_fan(struct after_work *w, const struct after_order *o)
{
  const struct facility *f = w->f;
  uint64_t was = w->goal.fan_units[o->index];
  bool on = o->kind == AFTER_ON;
  enum err_code code = scene_change(f, &w->goal, on ? "on" : "off", o->change, w->err);

  if (code != ERR_OK)
    return code;
  if (w->goal.fan_units[o->index] == was)
    return contradicts(w, o->change, on ? "runs already" : "is off already");
  if (on && w->dark)
    return contradicts(w, o->change, "has no power at that time: the blip lasts longer");
  if (w->goal.fan_running[o->index] == 0) { /* nothing drives the group any more */
    if (w->fan_drive[o->index] == AFTER_RUNS)
      w->fan_drive[o->index] = AFTER_COASTS;
    return ERR_OK;
  }
  for (int u = 0; u < f->fans[o->index].count; u++)
    scene_run_unit(f, &w->scene, o->index, u, w->goal.fan_units[o->index] >> u & 1);
  if (on && w->fan_drive[o->index] != AFTER_RUNS && !w->dark) {
    w->fan_drive[o->index] = AFTER_RUNS;
    w->y[w->at.fan + o->index] = fmax(w->y[w->at.fan + o->index], after_standing_ratio);
  }
  return ERR_OK;
}

static enum err_code order_unit(struct after_work *w, const struct after_order *o)
{
  int i = o->index - w->f->fan_count;
  bool on = o->kind == AFTER_ON, was = w->goal.supply_off[i];
  enum err_code code = scene_change(w->f, &w->goal, on ? "on" : "off", o->change, w->err);

  if (code != ERR_OK)
    return code;
  if (was == !on)
    return contradicts(w, o->change, on ? "runs already" : "is off already");
  if (on && w->dark)
    return contradicts(w, o->change, "has no power at that time: the blip lasts longer");
  if (!on && w->unit_drive[i] == AFTER_RUNS)
    w->unit_drive[i] = AFTER_COASTS;
  if (on) {
    w->unit_drive[i] = AFTER_RUNS;
    w->scene.supply_off[i] = false;
    w->y[w->at.unit + i] = fmax(w->y[w->at.unit + i], after_standing_ratio);
  }
  return ERR_OK;
}

static enum err_code order_power(struct after_work *w, int event, const struct after_order *o)
{
  const struct facility *f = w->f;

  if (w->dark)
    return contradicts(w, "power", "is off at that time already");
  w->dark = true;
  w->dark_until_s = o->at_s + o->value;
  for (int i = 0; i < f->supply_count; i++)
    if (w->unit_drive[i] == AFTER_RUNS) {
      w->unit_drive[i] = AFTER_COASTS;
      w->goal.supply_off[i] = f->supplies[i].responds.stays_off;
    }
  for (int i = 0; i < f->fan_count; i++)
    if (w->fan_drive[i] == AFTER_RUNS) {
      w->fan_drive[i] = AFTER_COASTS;
      if (f->fans[i].responds.stays_off)
        scene_run_unit(f, &w->goal, i, -1, false);
    }
  w->moments[w->moment_count++] = (struct after_moment){w->dark_until_s, AFTER_LIGHT, event};
  w->moments[w->moment_count++] =
      (struct after_moment){w->dark_until_s + f->after.restart_s, AFTER_RESTART, event};
  return ERR_OK;
}

void after_light(struct after_work *w)
{
  w->dark = false;
}

/* Whoever is still to run, and has not been started by hand, starts. */
void after_restart(struct after_work *w)
{
  const struct facility *f = w->f;

  if (w->dark)
    return; /* dark again */
  for (int i = 0; i < f->supply_count; i++)
    if (w->unit_drive[i] != AFTER_RUNS && !w->goal.supply_off[i]) {
      w->unit_drive[i] = AFTER_RUNS;
      w->scene.supply_off[i] = false;
      w->y[w->at.unit + i] = fmax(w->y[w->at.unit + i], after_standing_ratio);
    }
  for (int i = 0; i < f->fan_count; i++)
    if (w->fan_drive[i] != AFTER_RUNS && w->goal.fan_running[i] > 0) {
      for (int u = 0; u < f->fans[i].count; u++)
        scene_run_unit(f, &w->scene, i, u, w->goal.fan_units[i] >> u & 1);
      w->fan_drive[i] = AFTER_RUNS;
      w->y[w->at.fan + i] = fmax(w->y[w->at.fan + i], after_standing_ratio);
    }
}

static enum err_code order_setback(struct after_work *w, const struct after_order *o)
{
  double *of[] = {w->station_ratio, w->hold_ratio, w->feed_ratio};

  of[o->unit][o->index] = o->value;
  return ERR_OK;
}

static enum err_code order_gas(struct after_work *w, const struct after_order *o)
{
  w->y[w->at.gas + o->index] = w->f->rooms[o->index].volume_m3;
  return ERR_OK;
}

enum err_code after_take_order(struct after_work *w, int event)
{
  const struct after_order *o = &w->orders[event];
  enum err_code code;

  switch (o->kind) {
  case AFTER_SASH:
    return order_sash(w, o);
  case AFTER_ALL:
    code = scene_change(w->f, &w->goal, "all", o->change, w->err);
    for (int i = 0; code == ERR_OK && i < w->f->station_count; i++)
      if (w->f->stations[i].in_service)
        send_sash(w, o, i);
    return code;
  case AFTER_DOOR:
    return order_door(w, o);
  case AFTER_OFF:
  case AFTER_ON:
    return o->index < w->f->fan_count ? order_fan(w, o) : order_unit(w, o);
  case AFTER_POWER:
    return order_power(w, event, o);
  case AFTER_COVER:
    code = scene_change(w->f, &w->goal, "cover", o->change, w->err);
    w->scene.stations[o->index].cover_ratio = w->goal.stations[o->index].cover_ratio;
    return code;
  case AFTER_SHUT:
    code = scene_change(w->f, &w->goal, "shut", o->change, w->err);
    if (code == ERR_OK)
      code = scene_change(w->f, &w->scene, "shut", o->change, w->err);
    return code;
  case AFTER_LOAD:
    w->drive->duct_ratio[o->index] = o->value;
    return ERR_OK;
  case AFTER_SETBACK:
    return order_setback(w, o);
  case AFTER_GAS:
    return order_gas(w, o);
  }
  return ERR_OK;
}
