/* Where it stands, and the air there: as it is, parked, and with the fans of its main standing. */
#include "vapour/vapour_impl.h"

#include "base/constants.h"

#include <math.h>
#include <string.h>

static int room_find(const struct facility *f, const char *id)
{
  for (int i = 0; i < f->room_count; i++)
    if (strcmp(f->rooms[i].part.id, id) == 0)
      return i;
  return -1;
}

static enum err_code no_such(struct vapour_work *w, const char *key, const char *id)
{
  const char *near = facility_nearest_id(w->facility, id);

  return err_set(w->err, ERR_INPUT, "%s: no %s '%.40s' in this suite%s%s%s", key, key, id,
                 near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
}

static enum err_code place(struct vapour_work *w)
{
  const struct vapour_request *r = w->request;
  struct vapour_answer *a = w->out;

  if (r->station) {
    a->station = facility_station_find(w->facility, r->station);
    if (a->station < 0)
      return no_such(w, "station", r->station);
    a->room = w->facility->stations[a->station].room;
  }
  if (r->room) {
    int room = room_find(w->facility, r->room);

    if (room < 0)
      return no_such(w, "room", r->room);
    if (a->station >= 0 && room != a->room)
      return err_set(w->err, ERR_INPUT, "room: %s stands in %s, not in %s; leave one of them away",
                     r->station, w->facility->rooms[a->room].part.id, r->room);
    a->room = room;
  }
  if (a->room < 0)
    return err_set(w->err, ERR_INPUT, "station: at which station, or in which room? station=%s",
                   w->facility->station_count > 0 ? w->facility->stations[0].part.id : "A1");
  if (r->from == VAPOUR_DECK_SPILL && a->station < 0)
    return err_set(w->err, ERR_INPUT, "from: a spill on a deck needs its station");
  if (r->from == VAPOUR_FLOOR_SPILL)
    a->station = -1; /* no station's air takes what is on the floor */
  return ERR_OK;
}

/* The fans of one main, or of every main that draws from the room. */
static bool stops(const struct vapour_work *w, int main)
{
  const struct facility *f = w->facility;

  if (w->out->station >= 0)
    return f->stations[w->out->station].main == main;
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].room == w->out->room && f->stations[i].main == main)
      return true;
  return false;
}

static void park(const struct vapour_work *w, struct scene *scene)
{
  const struct facility *f = w->facility;

  for (int i = 0; i < f->station_count; i++) {
    bool it = w->out->station >= 0 ? i == w->out->station : f->stations[i].room == w->out->room;

    if (!it)
      continue;
    scene->stations[i].raised = false;
    scene->stations[i].opening_m = f->stations[i].parked_m;
    scene->stations[i].has_ask = scene->stations[i].has_measured = false;
  }
}

static enum err_code make_scenes(struct vapour_work *w)
{
  const struct vapour_request *r = w->request;
  const struct facility *f = w->facility;
  struct scene parked = scene_parked(f, w->arena);
  const struct scene *start = r->start ? r->start : &parked;
  bool live = r->live && (!r->scene || strcmp(r->scene, "live") == 0);

  if (live)
    start = &r->live->scene;
  else if (r->scene && scene_named(f, r->scene, &start, w->err) != ERR_OK)
    return ERR_INPUT;
  w->out->live = live ? r->live : NULL;
  for (int i = 0; i < VAPOUR_WHEN_COUNT; i++) {
    struct scene *scene = &w->scenes[i];

    *scene = scene_copy(f, start, w->arena);
    for (int k = 0; k < r->change_count; k++) {
      enum err_code code =
          scene_change(f, scene, r->changes[k].verb, r->changes[k].argument, w->err);

      if (code != ERR_OK)
        return code;
    }
  }
  w->out->trial = r->change_count > 0;
  w->out->scene = start->name;
  park(w, &w->scenes[VAPOUR_PARKED]);
  for (int m = 0; m < f->main_count; m++)
    for (int k = 0; stops(w, m) && k < f->mains[m].fan_count; k++)
      scene_run_unit(f, &w->scenes[VAPOUR_STOPPED], f->mains[m].fans[k], -1, false);
  return ERR_OK;
}

enum err_code vapour_find_place(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  enum err_code code;

  a->station = a->room = -1;
  a->pressure_Pa = ATMOSPHERE_PA;
  w->air_K = 293.15;
  w->volume_m3 = (double)NAN;
  if (w->request->from == VAPOUR_FROM_NOTHING)
    return err_set(w->err, ERR_INPUT,
                   "from: from what? from=beaker, bath, deck-spill or floor-spill");
  if (!w->facility)
    return w->request->station || w->request->room || w->request->scene ||
                   w->request->change_count > 0
               ? err_set(w->err, ERR_INPUT, "station: which suite? name its file first")
               : ERR_OK;
  code = place(w);
  if (code != ERR_OK)
    return code;
  a->pressure_Pa = w->facility->site_pressure_Pa;
  w->air_K = w->facility->rooms[a->room].temperature_K;
  if (w->facility->rooms[a->room].has_volume)
    w->volume_m3 = w->facility->rooms[a->room].volume_m3;
  return make_scenes(w);
}

/* ---- how much surface ---- */

enum err_code vapour_find_surface(struct vapour_work *w)
{
  const struct vapour_request *r = w->request;
  bool spill = r->from == VAPOUR_DECK_SPILL || r->from == VAPOUR_FLOOR_SPILL;
  double area_m2 = r->area_m2 > 0 ? r->area_m2 : PI / 4 * r->diameter_m * r->diameter_m;

  if (r->area_m2 > 0 && r->diameter_m > 0)
    return err_set(w->err, ERR_INPUT, "area: give the area or the diameter, not both");
  if (spill && r->freeboard_m > 0)
    return err_set(w->err, ERR_INPUT, "freeboard: a spill has no rim; leave it away");
  w->out->area = (struct vapour_band){area_m2, area_m2};
  w->out->length_m = r->diameter_m > 0 ? r->diameter_m : (double)NAN;
  if (area_m2 > 0)
    return ERR_OK;
  if (!spill)
    return err_set(w->err, ERR_INPUT,
                   "diameter: how wide is the liquid? diameter=100mm, or area=0.01m2");
  if (r->volume_m3 <= 0)
    return err_set(w->err, ERR_INPUT, "volume: how much is spilt? volume=1L, or measure its area");
  struct vapour_band depth_m = vapour_setting(w, "depth of a spill", UNITS_LENGTH);

  w->out->area =
      (struct vapour_band){r->volume_m3 / depth_m.high_si, r->volume_m3 / depth_m.low_si};
  return ERR_OK;
}

/* ---- the air ---- */

/* The ± of what its file says of this station's flow, as a share of it. */
static double flow_pm_ratio(const struct facility *f, int station)
{
  double largest = 0;

  for (int i = 0; i < f->input_count; i++) {
    const struct facility_input *in = &f->inputs[i];

    if (in->move >= FACILITY_MOVE_STATION_CONSTANT && in->move <= FACILITY_MOVE_STATION_FACE &&
        in->index == station && in->value_si > 0)
      largest = fmax(largest, in->plus_minus_si / in->value_si);
  }
  return largest;
}

static double link_m3_s(const struct air_answer *air, const char *id)
{
  for (int i = 0; i < air->link_count; i++)
    if (air->links[i].known && strcmp(air->links[i].id, id) == 0)
      return air->links[i].flow_m3_s;
  return (double)NAN;
}

/* All that is drawn into a main: its stations and its fixed exhausts. */
static double main_m3_s(const struct facility *f, const struct air_answer *air, int main)
{
  double sum = 0;

  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].main == main)
      sum += air->stations[i].flow_m3_s;
  for (int i = 0; i < f->exhaust_count; i++)
    if (f->exhausts[i].main == main)
      sum += link_m3_s(air, f->exhausts[i].part.id);
  return sum;
}

static double fresh_m3_s(const struct vapour_work *w, const struct air_answer *air)
{
  const struct air_room *room = &air->rooms[w->out->room];
  double flow =
      room->has_changes ? room->fresh_changes_per_h * w->volume_m3 / 3600 : room->supply_m3_s;

  return isfinite(flow) ? fmax(flow, 0) : (double)NAN;
}

/* Over a liquid in a station nobody knows the air's speed: the flow spread over its working
 * opening, times a wide range; in a room a range by itself. */
static struct vapour_band speed_of(const struct vapour_work *w, const struct vapour_case *c)
{
  struct vapour_band room = vapour_setting(w, "air over the liquid in a room", UNITS_VELOCITY);
  struct vapour_band share = vapour_setting(w, "air over the liquid in a station", UNITS_SHARE);
  const struct facility_station *s =
      w->facility && w->out->station >= 0 ? &w->facility->stations[w->out->station] : NULL;
  double face_m_s;

  if (w->request->speed.high_si > 0)
    return w->request->speed;
  if (c->to_room || !s || !s->has_width || !s->has_openings || s->work_m <= 0 ||
      !isfinite(c->station_m3_s))
    return room;
  face_m_s = c->station_m3_s / (s->width_m * s->work_m);
  return (struct vapour_band){fmax(face_m_s * share.low_si, room.low_si),
                              fmax(face_m_s * share.high_si, room.low_si)};
}

/* Of what a solver leaves in a pipe whose fans stand, or a trickle, nothing is reckoned. */
static bool is_still(const struct vapour_work *w, const struct vapour_case *c)
{
  const struct facility_station *s = &w->facility->stations[w->out->station];
  double share = vapour_setting(w, "least flow through a station", UNITS_SHARE).high_si;
  double least_m_s = vapour_setting(w, "least air into a station", UNITS_VELOCITY).high_si;
  double least_m3_s = share * w->airs[c->when]->stations[w->out->station].asked_m3_s;

  if (s->has_width && s->has_openings)
    least_m3_s = fmax(least_m3_s, least_m_s * s->width_m * s->work_m);
  return !(c->station_m3_s > 0) || c->station_m3_s < least_m3_s;
}

/* A person at a station is only reckoned with where its air is what it should be. */
static const char *air_trouble(const struct vapour_work *w, const struct vapour_case *c)
{
  const struct air_answer *air = w->airs[c->when];
  const struct air_station *s = &air->stations[w->out->station];
  const char *id = w->facility->stations[w->out->station].part.id;

  if (w->out->live && w->out->live->alarm[w->out->station])
    return arena_printf(w->arena, "the own alarm of %s sounds", id);
  if (c->still)
    return arena_printf(w->arena, "no air to speak of goes through %s", id);
  for (int i = 0; i < air->pool_count; i++)
    if (air_pool_has_station(w->facility, i, w->out->station) &&
        air->pools[i].state == FACILITY_SHORT)
      return arena_printf(w->arena, "the shared air of %s is SHORT", air_pool_id(w->facility, i));
  if (s->has_verdict && !s->met)
    return arena_printf(w->arena, "%s misses its criterion", id);
  return NULL;
}

/* A flow that is measured and another that is computed: then neither is the air there. */
static void compare_measured(struct vapour_work *w, struct vapour_case *c)
{
  const struct scene_station *s =
      w->facility && w->out->station >= 0 ? &w->scenes[c->when].stations[w->out->station] : NULL;
  double share = vapour_setting(w, "measured against computed flow", UNITS_SHARE).high_si;
  const char *id, *said;

  if (c->when != VAPOUR_NOW || !s || !s->has_measured)
    return;
  id = w->facility->stations[w->out->station].part.id;
  said = arena_printf(w->arena, "%.0f m3/h are measured through %s, %.0f are computed",
                      s->measured_m3_s * 3600, id, c->station_m3_s * 3600);
  if (fabs(s->measured_m3_s - c->station_m3_s) <= share * c->station_m3_s + c->station_pm_m3_s) {
    w->measured_words = arena_printf(w->arena, "%s: the computed flow is used", said);
    return;
  }
  c->known = false;
  c->why_not = arena_printf(w->arena, "%s: they contradict each other", said);
  c->station_m3_s = c->station_pm_m3_s = c->main_m3_s = c->fresh_m3_s = (double)NAN;
  w->out->air_words[c->when] = c->why_not;
}

static void fill_case(struct vapour_work *w, struct vapour_case *c)
{
  const struct air_answer *air = w->airs[c->when];
  int station = w->out->station;
  const char *gap = vapour_live_gap(w, c->when);

  c->station_m3_s = c->station_pm_m3_s = c->main_m3_s = c->fresh_m3_s = (double)NAN;
  c->to_room = station < 0 || c->when == VAPOUR_STOPPED;
  c->known = air && air->solved && !gap;
  if (!air)
    c->why_not = "no suite was named, so there is no air to reckon with";
  else if (gap)
    c->why_not = gap;
  else if (!air->solved)
    c->why_not = "the air of this scene has no solution";
  if (!c->known) {
    c->speed = speed_of(w, c);
    return;
  }
  if (w->facility && station >= 0) {
    int main = w->facility->stations[station].main;

    c->station_m3_s = air->stations[station].flow_m3_s;
    /* a main without fans of its own in the file: nothing tells what is left, so nothing is */
    if (c->when == VAPOUR_STOPPED && w->facility->mains[main].fan_count == 0)
      c->station_m3_s = 0;
    c->station_pm_m3_s = c->station_m3_s * flow_pm_ratio(w->facility, station);
    c->main_m3_s = c->when == VAPOUR_STOPPED ? (double)NAN : main_m3_s(w->facility, air, main);
    if (c->when != VAPOUR_STOPPED) {
      c->still = c->to_room = is_still(w, c);
      w->out->air_words[c->when] = air_trouble(w, c);
    }
  }
  c->fresh_m3_s = fresh_m3_s(w, air);
  c->speed = speed_of(w, c);
  compare_measured(w, c);
}

/* Its state and its criteria are only looked at where a person stands by them. */
static const struct air_answer *air_of(struct vapour_work *w, struct air *air, int when)
{
  static const struct air_settings plain = {.solve_budget = 6000};

  return when == VAPOUR_STOPPED ? air_flows(air, &w->scenes[when], w->arena, w->err)
                                : air_ask(air, &w->scenes[when], &plain, w->arena, w->err);
}

enum err_code vapour_solve_air(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  struct air *air = NULL;
  enum err_code code = ERR_OK;

  a->case_count = w->facility ? VAPOUR_WHEN_COUNT : 1;
  a->cases = ARENA_ARRAY(w->arena, struct vapour_case, VAPOUR_WHEN_COUNT);
  BUG_IF(!a->cases);
  if (w->facility && !(air = air_new(w->facility, w->err)))
    return w->err && w->err->code ? w->err->code : ERR_INPUT;
  for (int i = 0; i < a->case_count && code == ERR_OK; i++) {
    a->cases[i].when = (enum vapour_when)i;
    if (air && !(w->airs[i] = air_of(w, air, i)))
      code = ERR_LIMIT;
    else
      fill_case(w, &a->cases[i]);
  }
  air_free(air);
  return code;
}
