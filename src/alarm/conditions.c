#include "alarm/alarm_impl.h"

#include <math.h>
#include <string.h>

/* What each kind of alarm looks at in a judgement, and whom it concerns. */

static int pool_count(const struct facility *f)
{
  return f->main_count + f->supply_count;
}

int alarm_part_count(const struct facility *f, enum feeds_when when)
{
  switch (when) {
  case FEEDS_WHEN_BUILDING:
  case FEEDS_WHEN_NOT_KNOWN:
    return 1;
  case FEEDS_WHEN_OWN:
  case FEEDS_WHEN_LEAK:
  case FEEDS_WHEN_DECK:
  case FEEDS_WHEN_UNATTENDED:
  case FEEDS_WHEN_BLOCKED:
    return f->station_count;
  case FEEDS_WHEN_FAN:
    return f->fan_count;
  case FEEDS_WHEN_SUPPLY:
    return f->supply_count;
  case FEEDS_WHEN_DOOR:
    return f->door_count;
  case FEEDS_WHEN_SHORT:
  case FEEDS_WHEN_NEAR_LIMIT:
    return pool_count(f);
  case FEEDS_WHEN_PRESSURE:
    return f->room_count;
  case FEEDS_WHEN_COUNT:
    break;
  }
  return 0;
}

const char *alarm_part_id(const struct facility *f, enum feeds_when when, int index)
{
  switch (when) {
  case FEEDS_WHEN_OWN:
  case FEEDS_WHEN_LEAK:
  case FEEDS_WHEN_DECK:
  case FEEDS_WHEN_UNATTENDED:
  case FEEDS_WHEN_BLOCKED:
    return f->stations[index].part.id;
  case FEEDS_WHEN_FAN:
    return f->fans[index].part.id;
  case FEEDS_WHEN_SUPPLY:
    return f->supplies[index].part.id;
  case FEEDS_WHEN_DOOR:
    return f->doors[index].part.id;
  case FEEDS_WHEN_SHORT:
  case FEEDS_WHEN_NEAR_LIMIT:
    return air_pool_id(f, index);
  case FEEDS_WHEN_PRESSURE:
    return f->rooms[index].part.id;
  case FEEDS_WHEN_BUILDING:
  case FEEDS_WHEN_NOT_KNOWN:
  case FEEDS_WHEN_COUNT:
    break;
  }
  return "";
}

/* ---- whom it concerns ---- */

static bool main_has_fan(const struct facility *f, int main, int fan)
{
  for (int i = 0; i < f->mains[main].fan_count; i++)
    if (f->mains[main].fans[i] == fan)
      return true;
  return false;
}

static bool fan_serves(const struct facility *f, int fan, int station)
{
  for (int i = 0; i < f->main_count; i++)
    if (main_has_fan(f, i, fan) && air_pool_has_station(f, i, station))
      return true;
  return false;
}

static bool feeds_room(const struct facility_supply *supply, int room)
{
  for (int i = 0; i < supply->feed_count; i++)
    if (supply->feeds[i].room == room)
      return true;
  return false;
}

/* In the room, or on a supply that feeds it: what a room loses is taken from the others of its supply. */
static bool room_reaches(const struct facility *f, int room, int station)
{
  for (int i = 0; i < f->supply_count; i++)
    if (feeds_room(&f->supplies[i], room) && air_pool_has_station(f, f->main_count + i, station))
      return true;
  return f->stations[station].room == room;
}

static bool concerns(const struct facility *f, const struct alarm_item *item, int station)
{
  switch (item->shown.rule->when) {
  case FEEDS_WHEN_OWN:
  case FEEDS_WHEN_LEAK:
  case FEEDS_WHEN_DECK:
  case FEEDS_WHEN_UNATTENDED:
  case FEEDS_WHEN_BLOCKED:
    return station == item->index;
  case FEEDS_WHEN_FAN:
    return fan_serves(f, item->index, station);
  case FEEDS_WHEN_SUPPLY:
    return air_pool_has_station(f, f->main_count + item->index, station);
  case FEEDS_WHEN_DOOR:
    return room_reaches(f, f->doors[item->index].from, station) ||
           room_reaches(f, f->doors[item->index].to, station);
  case FEEDS_WHEN_SHORT:
  case FEEDS_WHEN_NEAR_LIMIT:
    return air_pool_has_station(f, item->index, station);
  case FEEDS_WHEN_PRESSURE:
    return room_reaches(f, item->index, station);
  case FEEDS_WHEN_BUILDING:
  case FEEDS_WHEN_NOT_KNOWN:
  case FEEDS_WHEN_COUNT:
    break;
  }
  return true;
}

void alarm_find_stations(const struct facility *f, struct alarm_item *item)
{
  for (int s = 0; s < f->station_count; s++)
    item->concerns[s] = concerns(f, item, s);
}

/* ---- is it so? ---- */

static bool is_fan_lost(const struct judge_seen *seen, int fan, struct buf *out)
{
  int usual = seen->facility->fans[fan].running, running = seen->belief->scene.fan_running[fan];

  if (running >= usual)
    return false;
  if (usual == 1)
    buf_puts(out, "it does not run");
  else
    buf_printf(out, "%d of the usual %d running", running, usual);
  return true;
}

/* 10 m3/h, the step in which flows are told. */
static const double least_told_m3_s = 10.0 / 3600;

static bool is_short(const struct judge_seen *seen, int pool, struct buf *out)
{
  const struct air_pool *p = seen->air ? &seen->air->pools[pool] : NULL;

  if (seen->verdict->pools[pool] != FACILITY_SHORT || !p)
    return false;
  buf_puts(out, "short of air");
  if (p->demand_m3_s - p->capacity_m3_s > least_told_m3_s) {
    buf_puts(out, ": asks for ");
    units_print(out, p->demand_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
    buf_puts(out, ", can have ");
    units_print(out, p->capacity_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
  }
  return true;
}

static bool is_near_limit(const struct judge_seen *seen, int pool, struct buf *out)
{
  const struct air_pool *p = seen->air ? &seen->air->pools[pool] : NULL;

  if (seen->verdict->pools[pool] != FACILITY_NEAR_LIMIT || !p)
    return false;
  buf_puts(out, "near its limit");
  if (isfinite(p->headroom_m3_s)) {
    buf_puts(out, ", ");
    units_print(out, p->headroom_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
    buf_puts(out, " left");
  }
  return true;
}

static const struct facility_keep *keep_over(const struct facility_room *room, int over)
{
  for (int i = 0; i < room->keep_count; i++)
    if (room->keeps[i].over == over)
      return &room->keeps[i];
  return NULL;
}

/* Measured, beyond what the instrument can tell. */
static bool is_outside_keep(const struct judge_seen *seen, int room, struct buf *out)
{
  const struct facility *f = seen->facility;

  for (int i = 0; i < seen->belief->pressure_count; i++) {
    const struct watch_pressure *p = &seen->belief->pressures[i];
    const struct facility_keep *keep = p->room == room ? keep_over(&f->rooms[room], p->over) : NULL;
    bool low = keep && keep->has_least && p->pressure_Pa < keep->least_Pa - p->resolution_Pa;
    bool high = keep && keep->has_most && p->pressure_Pa > keep->most_Pa + p->resolution_Pa;

    if (low || high) {
      buf_printf(out, "%.1f Pa over %s, %s %.1f Pa", p->pressure_Pa, facility_node_id(f, p->over),
                 low ? "min" : "max", low ? keep->least_Pa : keep->most_Pa);
      return true;
    }
  }
  return false;
}

static bool is_not_known(const struct judge_seen *seen, struct buf *out)
{
  const struct answer_live_verdict *v = seen->verdict;

  /* The building's alarm takes the state away; that is no lack of knowledge. */
  if (v->state != FACILITY_NOT_KNOWN || seen->belief->building_alarm)
    return false;
  buf_puts(out, "the air state is not known");
  if (v->reason_count > 0)
    buf_printf(out, ": %.*s", (int)strcspn(v->reasons[0], ";"),
               v->reasons[0]); /* its act is the alarm's */
  if (v->reason_count > 1)
    buf_printf(out, "; and %d more", v->reason_count - 1);
  return true;
}

static bool is_left_open(const struct judge_seen *seen, int station, struct buf *out)
{
  const struct scene_station *s = &seen->belief->scene.stations[station];

  const struct watch_station *believed = &seen->belief->stations[station];

  /* A sash that is only assumed to be up asks nobody to look for it. */
  if (believed->not_known || believed->assumed || !s->raised || !s->unattended)
    return false;
  buf_puts(out, "sash up, nobody there");
  return true;
}

/* One of its trays, as its point says now. */
static bool is_leaking(const struct judge_seen *seen, int station, struct buf *out)
{
  for (int i = 0; i < seen->feeds->point_count; i++) {
    const struct feeds_point *p = &seen->feeds->points[i];
    const struct watch_input *input = &seen->belief->inputs[i];

    if (p->what != FEEDS_LEAK || p->of != FEEDS_OF_STATION || p->index != station ||
        input->age != WATCH_FRESH || input->newest.si == 0)
      continue;
    buf_printf(out, "its leak tray is wet (%s)", p->part.id);
    return true;
  }
  return false;
}

static bool is_deck_low(const struct judge_seen *seen, int station, struct buf *out)
{
  const struct watch_station *believed = &seen->belief->stations[station];
  double least_m3_s = seen->facility->stations[station].deck_least_m3_s;

  if (!believed->has_deck_flow || !(believed->deck_flow_m3_s < least_m3_s))
    return false;
  buf_puts(out, "through its deck ");
  units_print(out, believed->deck_flow_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
  buf_puts(out, ", at all times min ");
  units_print(out, least_m3_s, UNITS_FLOW, UNITS_SYSTEM_SI);
  return true;
}

/* The rest are said outright. */
static bool told(bool so, const char *text, struct buf *out)
{
  if (so)
    buf_puts(out, text);
  return so;
}

bool alarm_is_said(const struct alarm_item *item, const struct judge_seen *seen,
                   struct buf *measured)
{
  const struct scene *scene = &seen->belief->scene;
  int i = item->index;

  switch (item->shown.rule->when) {
  case FEEDS_WHEN_BUILDING:
    return told(seen->belief->building_alarm, "the building's alarm is on", measured);
  case FEEDS_WHEN_OWN:
    return told(seen->belief->stations[i].own_alarm, "its own alarm is on", measured);
  case FEEDS_WHEN_FAN:
    return is_fan_lost(seen, i, measured);
  case FEEDS_WHEN_SUPPLY:
    return told(scene->supply_off[i], "it is off", measured);
  case FEEDS_WHEN_DOOR:
    return told(scene->door_open[i], "it stands open", measured);
  case FEEDS_WHEN_SHORT:
    return is_short(seen, i, measured);
  case FEEDS_WHEN_PRESSURE:
    return is_outside_keep(seen, i, measured);
  case FEEDS_WHEN_LEAK:
    return is_leaking(seen, i, measured);
  case FEEDS_WHEN_DECK:
    return is_deck_low(seen, i, measured);
  case FEEDS_WHEN_NOT_KNOWN:
    return is_not_known(seen, measured);
  case FEEDS_WHEN_UNATTENDED:
    return is_left_open(seen, i, measured);
  case FEEDS_WHEN_BLOCKED:
    return told(scene->stations[i].blocked, "something stands under its sash", measured);
  case FEEDS_WHEN_NEAR_LIMIT:
    return is_near_limit(seen, i, measured);
  case FEEDS_WHEN_COUNT:
    break;
  }
  return false;
}

/* ---- is it still heard? ---- */

static const struct {
  bool by_point;
  enum feeds_what what;
  enum feeds_of of;
} hears[FEEDS_WHEN_COUNT] = {
    [FEEDS_WHEN_BUILDING] = {true, FEEDS_ALARM, FEEDS_OF_SUITE},
    [FEEDS_WHEN_OWN] = {true, FEEDS_ALARM, FEEDS_OF_STATION},
    [FEEDS_WHEN_FAN] = {true, FEEDS_RUNNING, FEEDS_OF_FAN},
    [FEEDS_WHEN_SUPPLY] = {true, FEEDS_RUNNING, FEEDS_OF_SUPPLY},
    [FEEDS_WHEN_DOOR] = {true, FEEDS_OPEN, FEEDS_OF_DOOR},
    [FEEDS_WHEN_PRESSURE] = {true, FEEDS_PRESSURE, FEEDS_OF_ROOM},
    [FEEDS_WHEN_LEAK] = {true, FEEDS_LEAK, FEEDS_OF_STATION},
    [FEEDS_WHEN_DECK] = {true, FEEDS_DECK_FLOW, FEEDS_OF_STATION},
    [FEEDS_WHEN_UNATTENDED] = {true, FEEDS_PRESENCE, FEEDS_OF_STATION},
    [FEEDS_WHEN_BLOCKED] = {true, FEEDS_BLOCKED, FEEDS_OF_STATION},
};

bool alarm_is_heard(const struct alarm_item *item, const struct judge_seen *seen)
{
  enum feeds_when when = item->shown.rule->when;
  bool has_point = false;

  if (when == FEEDS_WHEN_SHORT || when == FEEDS_WHEN_NEAR_LIMIT)
    return seen->verdict->pools[item->index] != FACILITY_NOT_KNOWN;
  for (int i = 0; hears[when].by_point && i < seen->feeds->point_count; i++) {
    const struct feeds_point *p = &seen->feeds->points[i];

    if (p->what != hears[when].what || p->of != hears[when].of ||
        (p->of != FEEDS_OF_SUITE && p->index != item->index))
      continue;
    bool is_fresh = seen->belief->inputs[i].age == WATCH_FRESH;

    if (when == FEEDS_WHEN_LEAK && !is_fresh)
      return false; /* each tray speaks for itself: the others do not say that this one is dry */
    if (when != FEEDS_WHEN_LEAK && is_fresh)
      return true;
    has_point = when != FEEDS_WHEN_LEAK;
  }
  return !has_point;
}

bool alarm_is_withdrawn(const struct alarm_item *item, const struct judge_seen *seen)
{
  enum feeds_when when = item->shown.rule->when;
  bool of_station = when == FEEDS_WHEN_OWN || when == FEEDS_WHEN_DECK ||
                    when == FEEDS_WHEN_UNATTENDED || when == FEEDS_WHEN_BLOCKED;

  return of_station && seen->belief->scene.stations[item->index].withdrawn;
}
