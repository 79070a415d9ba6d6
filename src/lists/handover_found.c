/* What belongs to a part, what the model gives there, and what the readings speak against. */
#include "lists/lists_impl.h"

#include <math.h>
#include <string.h>

/* ---- the branch ---- */

static void mark_room(struct branch *b, int node)
{
  const struct facility *f = b->facility;

  if (node < 0 || node >= f->room_count)
    return;
  b->rooms[node] = true;
  for (int i = 0; i < f->door_count; i++)
    b->doors[i] = b->doors[i] || f->doors[i].from == node || f->doors[i].to == node;
  for (int i = 0; i < f->supply_count; i++)
    for (int k = 0; k < f->supplies[i].feed_count; k++)
      b->supplies[i] = b->supplies[i] || f->supplies[i].feeds[k].room == node;
}

static void mark_main(struct branch *b, int main)
{
  const struct facility *f = b->facility;

  if (main < 0)
    return;
  b->mains[main] = true;
  for (int k = 0; k < f->mains[main].fan_count; k++)
    b->fans[f->mains[main].fans[k]] = true;
  for (int i = 0; i < f->station_count; i++)
    b->stations[i] = b->stations[i] || f->stations[i].main == main;
}

static bool mark_fan(struct branch *b, int fan)
{
  const struct facility *f = b->facility;

  if (fan < 0)
    return false;
  b->fans[fan] = true;
  for (int i = 0; i < f->main_count; i++)
    for (int k = 0; k < f->mains[i].fan_count; k++)
      if (f->mains[i].fans[k] == fan)
        mark_main(b, i);
  return true;
}

static bool mark_supply(struct branch *b, int supply)
{
  const struct facility *f = b->facility;

  if (supply < 0)
    return false;
  b->supplies[supply] = true;
  for (int k = 0; k < f->supplies[supply].feed_count; k++)
    mark_room(b, f->supplies[supply].feeds[k].room);
  return true;
}

static bool mark_station(struct branch *b, int station)
{
  if (station < 0)
    return false;
  b->station = station;
  mark_room(b, b->facility->stations[station].room);
  mark_main(b, b->facility->stations[station].main);
  return true;
}

static bool mark_door(struct branch *b, int door)
{
  if (door < 0)
    return false;
  mark_room(b, b->facility->doors[door].from);
  mark_room(b, b->facility->doors[door].to);
  return true;
}

static bool mark_named(struct branch *b, const char *part)
{
  const struct facility *f = b->facility;
  int unit;

  for (int i = 0; i < f->main_count; i++)
    if (strcmp(f->mains[i].part.id, part) == 0) {
      mark_main(b, i);
      b->kind = "main";
      return true;
    }
  for (int i = 0; i < f->room_count; i++)
    if (strcmp(f->rooms[i].part.id, part) == 0) {
      mark_room(b, i);
      for (int k = 0; k < f->station_count; k++)
        b->stations[k] = b->stations[k] || f->stations[k].room == i;
      b->kind = "room";
      return true;
    }
  if (mark_fan(b, facility_fan_find(f, part, &unit)))
    b->kind = "fan";
  else if (mark_supply(b, facility_supply_find(f, part)))
    b->kind = "supply";
  else if (mark_door(b, facility_door_find(f, part)))
    b->kind = "door";
  else
    return false;
  return true;
}

bool branch_find(const struct facility *f, const char *part, struct arena *arena,
                 struct branch *out)
{
  bool **const lists[] = {&out->stations, &out->fans,  &out->supplies,
                          &out->rooms,    &out->doors, &out->mains};
  const int counts[] = {f->station_count, f->fan_count,  f->supply_count,
                        f->room_count,    f->door_count, f->main_count};

  *out = (struct branch){.facility = f, .station = -1, .kind = "station"};
  for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
    *lists[i] = ARENA_ARRAY(arena, bool, (size_t)counts[i] + 1);
    BUG_IF(!*lists[i]);
  }
  return mark_station(out, facility_station_find(f, part)) || mark_named(out, part);
}

bool branch_has(const struct branch *b, const struct feeds_point *p)
{
  switch (p->of) {
  case FEEDS_OF_STATION:
    return b->stations[p->index];
  case FEEDS_OF_ROOM:
    return p->index < b->facility->room_count && b->rooms[p->index];
  case FEEDS_OF_DOOR:
    return b->doors[p->index];
  case FEEDS_OF_FAN:
    return b->fans[p->index];
  case FEEDS_OF_SUPPLY:
    return b->supplies[p->index];
  case FEEDS_OF_MAIN:
    return b->mains[p->index];
  case FEEDS_OF_JUNCTION:
    for (int i = 0; i < b->facility->main_count; i++)
      if (b->mains[i] && b->facility->mains[i].at == p->index)
        return true;
    return false;
  case FEEDS_OF_SUITE:
  case FEEDS_OF_OUTDOORS:
  case FEEDS_OF_EXHAUST:
    break;
  }
  return false;
}

/* ---- measured and computed ---- */

bool handed_measured(const struct handed *h, int point, double *si_out)
{
  return point_says(&h->moment, point, si_out);
}

static bool pressure_of(const struct handed *h, int node, double *out_Pa)
{
  const char *id = facility_node_id(h->moment.facility, node);

  if (node == facility_node_outdoors(h->moment.facility)) {
    *out_Pa = 0;
    return true;
  }
  for (int i = 0; i < h->air->node_count; i++)
    if (h->air->nodes[i].known && strcmp(h->air->nodes[i].id, id) == 0) {
      *out_Pa = h->air->nodes[i].pressure_Pa;
      return true;
    }
  return false;
}

static double main_flow(const struct handed *h, int main)
{
  const struct facility_main *m = &h->moment.facility->mains[main];
  double sum_m3_s = m->fan_count > 0 ? 0 : NAN;

  for (int k = 0; k < m->fan_count; k++)
    sum_m3_s += h->air->fans[m->fans[k]].flow_m3_s;
  return sum_m3_s;
}

bool handed_computed(const struct handed *h, const struct feeds_point *p, double *si_out)
{
  double over_Pa = 0;

  *si_out = NAN;
  if (!h->air)
    return false;
  if (p->of == FEEDS_OF_STATION && p->what == FEEDS_FLOW)
    *si_out = h->air->stations[p->index].flow_m3_s;
  else if (p->of == FEEDS_OF_STATION && p->what == FEEDS_FACE_VELOCITY &&
           h->air->stations[p->index].has_face_velocity)
    *si_out = h->air->stations[p->index].face_velocity_m_s;
  else if (p->of == FEEDS_OF_FAN && p->what == FEEDS_SPEED && p->unit < 0)
    *si_out = h->air->fans[p->index].speed_ratio;
  else if (p->of == FEEDS_OF_SUPPLY && p->what == FEEDS_FLOW)
    *si_out = h->air->supplies[p->index].flow_m3_s;
  else if (p->of == FEEDS_OF_MAIN && p->what == FEEDS_FLOW)
    *si_out = main_flow(h, p->index);
  else if (p->what == FEEDS_PRESSURE && pressure_of(h, p->index, si_out)) {
    int over = p->of == FEEDS_OF_ROOM ? p->over : facility_node_outdoors(h->moment.facility);

    *si_out = pressure_of(h, over, &over_Pa) ? *si_out - over_Pa : (double)NAN;
  }
  return isfinite(*si_out);
}

bool handed_agrees(const struct handed *h, int point, double measured_si, double computed_si)
{
  const struct feeds_faults *s = &h->moment.feeds->faults;
  const struct feeds_point *p = &h->moment.feeds->points[point];
  double ratio = p->what == FEEDS_FLOW            ? s->flow_ratio
                 : p->what == FEEDS_FACE_VELOCITY ? s->velocity_ratio
                 : p->what == FEEDS_SPEED         ? s->speed_ratio
                                                  : s->pressure_ratio;
  double one_si = ratio * fabs(computed_si) + (p->what == FEEDS_PRESSURE ? s->pressure_Pa : 0);

  return fabs(measured_si - computed_si) <= 2 * one_si + p->resolution_si;
}

/* ---- what speaks against what ---- */

static void evidence(struct lists_page *page, struct lists_section *section, const char *state,
                     const char *seen, const char *speaks)
{
  struct lists_row *row = section_row(page, section, NULL, state);

  row->cells[0] = seen;
  row->cells[1] = speaks;
}

static void weigh_fans(struct lists_page *page, struct lists_section *section,
                       const struct handed *then, const struct branch *b)
{
  const struct lists_moment *m = &then->moment;

  for (int i = 0; i < m->facility->fan_count; i++) {
    const struct facility_fan *fan = &m->facility->fans[i];
    int point = point_of(m, FEEDS_OF_FAN, i, FEEDS_RUNNING);
    int running = m->belief->scene.fan_running[i];
    double si;

    if (!b->fans[i])
      continue;
    if (!point_says(m, point, &si))
      evidence(page, section, "silent",
               page_words(page, "%s: %s", fan->part.id, point_age(page, m, point)),
               "says nothing about a stopped fan");
    else if (running >= fan->running)
      evidence(
          page, section, "against",
          page_words(page, "%s: %d of the usual %d running", fan->part.id, running, fan->running),
          "speaks against a stopped fan");
    else
      evidence(
          page, section, "for",
          page_words(page, "%s: %d of the usual %d running", fan->part.id, running, fan->running),
          "speaks for a stopped fan");
  }
}

/* The other stations of the same main: is it the branch or the main? */
static void weigh_neighbours(struct lists_page *page, struct lists_section *section,
                             const struct handed *then, const struct branch *b)
{
  const struct facility *f = then->moment.facility;
  int compared = 0, agree = 0;

  for (int i = 0; i < f->station_count; i++) {
    int point = point_of(&then->moment, FEEDS_OF_STATION, i, FEEDS_FLOW);
    double measured_si, computed_si;

    if (!b->stations[i] || i == b->station || !handed_measured(then, point, &measured_si) ||
        !handed_computed(then, &then->moment.feeds->points[point], &computed_si))
      continue;
    compared++;
    agree += handed_agrees(then, point, measured_si, computed_si);
  }
  if (compared == 0)
    return;
  const char *seen = page_words(page, "%d of %d %sstations draw what is computed", agree, compared,
                                b->station >= 0 ? "other " : "");

  if (agree == compared)
    evidence(page, section, "against", seen,
             "speaks against a cause that all share: fan, filter, scrubber, main duct");
  else if (2 * agree < compared)
    evidence(page, section, "for", seen,
             b->station >= 0
                 ? "speaks against a cause in this branch alone"
                 : "speaks for a cause that all share: fan, filter, scrubber, main duct");
  else
    evidence(page, section, "silent", seen, "tells neither way");
}

static void weigh_own(struct lists_page *page, struct lists_section *section,
                      const struct handed *then, const struct branch *b)
{
  int point =
      b->station >= 0 ? point_of(&then->moment, FEEDS_OF_STATION, b->station, FEEDS_FLOW) : -1;
  double measured_si, computed_si;

  if (point < 0 || !handed_measured(then, point, &measured_si) ||
      !handed_computed(then, &then->moment.feeds->points[point], &computed_si))
    return;
  bool agrees = handed_agrees(then, point, measured_si, computed_si);

  evidence(page, section, agrees ? "against" : "for",
           page_words(page, "its own flow: measured %s, computed %s",
                      words_si(page, measured_si, UNITS_FLOW),
                      words_si(page, computed_si, UNITS_FLOW)),
           agrees ? "speaks against a fault of its valve or flow reading"
                  : "speaks for its valve, its branch, its sash reading or its flow reading");
}

static void weigh_rooms(struct lists_page *page, struct lists_section *section,
                        const struct handed *then, const struct branch *b)
{
  const struct feeds *feeds = then->moment.feeds;

  for (int i = 0; i < feeds->point_count; i++) {
    const struct feeds_point *p = &feeds->points[i];
    double measured_si, computed_si;

    if (p->of != FEEDS_OF_ROOM || p->what != FEEDS_PRESSURE || !branch_has(b, p) ||
        !handed_measured(then, i, &measured_si) || !handed_computed(then, p, &computed_si))
      continue;
    bool agrees = handed_agrees(then, i, measured_si, computed_si);

    evidence(page, section, agrees ? "against" : "for",
             page_words(page, "%s over %s: measured %s, computed %s",
                        facility_node_id(then->moment.facility, p->index),
                        facility_node_id(then->moment.facility, p->over),
                        words_si(page, measured_si, UNITS_PRESSURE_DIFFERENCE),
                        words_si(page, computed_si, UNITS_PRESSURE_DIFFERENCE)),
             agrees ? "speaks against supply, door or leak"
                    : "speaks for supply, door, leak or that gauge");
  }
}

static void weigh_doors(struct lists_page *page, struct lists_section *section,
                        const struct handed *then, const struct branch *b)
{
  for (int i = 0; i < then->moment.facility->door_count; i++) {
    enum door_stands stands = door_stands(&then->moment, i);

    if (!b->doors[i])
      continue;
    evidence(page, section,
             stands == DOOR_SHUT   ? "against"
             : stands == DOOR_OPEN ? "for"
                                   : "silent",
             page_words(page, "door %s: %s", then->moment.facility->doors[i].part.id,
                        door_words(page, &then->moment, i)),
             stands == DOOR_SHUT   ? "speaks against a door left open"
             : stands == DOOR_OPEN ? "speaks for the door"
                                   : "says nothing about the door");
  }
}

static void weigh_supplies(struct lists_page *page, struct lists_section *section,
                           const struct handed *then, const struct branch *b)
{
  const struct lists_moment *m = &then->moment;
  double si;

  for (int i = 0; i < m->facility->supply_count; i++) {
    int point = point_of(m, FEEDS_OF_SUPPLY, i, FEEDS_RUNNING);
    const char *id = m->facility->supplies[i].part.id;

    if (!b->supplies[i])
      continue;
    if (!point_says(m, point, &si))
      evidence(page, section, "silent", page_words(page, "%s: %s", id, point_age(page, m, point)),
               "says nothing about the supply");
    else
      evidence(page, section, si != 0 ? "against" : "for",
               page_words(page, "%s: %s", id, si != 0 ? "running" : "off"),
               si != 0 ? "speaks against a supply that stands" : "speaks for the supply");
  }
}

/* ---- what is missing ---- */

static void missing(struct lists_page *page, struct lists_section *section, const char *text)
{
  section_row(page, section, NULL, "missing")->cells[0] = text;
}

static void add_missing(struct lists_page *page, const struct handed *then, const struct branch *b)
{
  const struct lists_moment *m = &then->moment;
  struct lists_section *section =
      page_section(page, "missing", "Evidence that is missing", "No point of it was silent then.");
  const struct facility *f = m->facility;

  section_column(section, &(struct lists_column){"missing", "missing", 1, false});
  for (int i = 0; i < m->feeds->point_count; i++)
    if (branch_has(b, &m->feeds->points[i]) && m->belief->inputs[i].age != WATCH_FRESH &&
        m->feeds->points[i].what != FEEDS_OTHER &&
        !feeds_what_is_of_bench(m->feeds->points[i].what))
      missing(page, section,
              page_words(page, "%s: %s", m->feeds->points[i].part.id, point_age(page, m, i)));
  for (int i = 0; i < f->fan_count; i++)
    if (b->fans[i] && point_of(m, FEEDS_OF_FAN, i, FEEDS_SPEED) < 0)
      missing(page, section,
              page_words(page, "the speed of %s: read the drive", f->fans[i].part.id));
  for (int i = 0; i < f->main_count; i++)
    if (b->mains[i] && point_of(m, FEEDS_OF_MAIN, i, FEEDS_FLOW) < 0)
      missing(page, section,
              page_words(page, "the flow of %s: traverse the duct", f->mains[i].part.id));
  if (b->station >= 0 && point_of(m, FEEDS_OF_STATION, b->station, FEEDS_FLOW) < 0)
    missing(page, section,
            page_words(page, "the flow of %s: measure at its face or duct",
                       f->stations[b->station].part.id));
}

void handover_evidence(struct lists_page *page, const struct handed *then, const struct branch *b)
{
  struct lists_section *section =
      page_section(page, "evidence", "What the readings of then speak for and against",
                   "Nothing can be weighed.");

  section_column(section, &(struct lists_column){"seen", "seen", 0.5, false});
  section_column(section, &(struct lists_column){"speaks", "speaks", 0.5, false});
  weigh_own(page, section, then, b);
  weigh_fans(page, section, then, b);
  weigh_neighbours(page, section, then, b);
  weigh_supplies(page, section, then, b);
  weigh_rooms(page, section, then, b);
  weigh_doors(page, section, then, b);
  add_missing(page, then, b);
}
