/* Everything that could be read in each step of a walk. */
#include "walk/plan_impl.h"

#include <math.h>

/* ---- pairs of nodes with a manometer between them ---- */

static bool has_pair(const struct walk_planning *p, int a, int b)
{
  for (int i = 0; i < p->pair_count; i++)
    if ((p->pairs[i].room == a && p->pairs[i].over == b) ||
        (p->pairs[i].room == b && p->pairs[i].over == a))
      return true;
  return false;
}

static bool room_is_read(const struct walk_planning *p, int room)
{
  for (int i = 0; i < p->pair_count; i++)
    if (p->pairs[i].room == room || p->pairs[i].over == room)
      return true;
  return false;
}

static void add_pair(struct walk_planning *p, int room, int over, int door)
{
  if (p->pair_count < WALK_PAIRS_MAX && !has_pair(p, room, over))
    p->pairs[p->pair_count++] = (struct walk_pair){room, over, door};
}

static bool keeps_over(const struct facility *f, int room, int over)
{
  for (int k = 0; room < f->room_count && k < f->rooms[room].keep_count; k++)
    if (f->rooms[room].keeps[k].over == over)
      return true;
  return false;
}

void walk_find_pairs(struct walk_planning *p)
{
  const struct facility *f = p->f;

  for (int i = 0; i < f->door_count; i++) {
    bool turn = keeps_over(f, f->doors[i].to, f->doors[i].from);

    add_pair(p, turn ? f->doors[i].to : f->doors[i].from, turn ? f->doors[i].from : f->doors[i].to,
             i);
  }
  for (int i = 0; i < f->room_count; i++)
    for (int k = 0; k < f->rooms[i].keep_count; k++)
      if (!room_is_read(p, i))
        add_pair(p, i, f->rooms[i].keeps[k].over, -1);
}

/* ---- candidates ---- */

static void add(struct walk_planning *p, int step, struct walk_quantity q, double predicted_si,
                const char *what, const char *how)
{
  if (p->candidate_count == p->candidate_room || !isfinite(predicted_si))
    return;
  p->candidates[p->candidate_count++] = (struct walk_reading){
      .step = step, .quantity = q, .what = what, .how = how, .predicted_si = predicted_si};
}

static void add_rooms(struct walk_planning *p, int step, const struct air_answer *answer)
{
  const struct facility *f = p->f;

  for (int i = 0; i < p->pair_count; i++) {
    const struct walk_pair *pair = &p->pairs[i];
    struct walk_quantity q = {FACILITY_GAUGE_ROOM, pair->room, pair->over};

    if (pair->door >= 0 && p->steps[step].scene.door_open[pair->door])
      continue; /* an open door holds nothing worth reading */
    add(p, step, q, walk_predicted_si(f, answer, &q),
        walk_say(p->arena, "%s over %s", facility_node_id(f, pair->room),
                 facility_node_id(f, pair->over)),
        pair->door >= 0
            ? walk_say(p->arena, "tube under door %s, door shut", f->doors[pair->door].part.id)
            : "the gauge on the wall, or a tube through the frame");
  }
}

static void add_duct(struct walk_planning *p, int step, const struct air_answer *answer, int node,
                     int over)
{
  struct walk_quantity q = {FACILITY_GAUGE_DUCT, node, over};

  add(p, step, q, walk_predicted_si(p->f, answer, &q),
      walk_say(p->arena, "duct pressure at %s%s%s", facility_node_id(p->f, node),
               over == facility_node_outdoors(p->f) ? "" : " over ",
               over == facility_node_outdoors(p->f) ? "" : facility_node_id(p->f, over)),
      "on the controller's display, or at the tap");
}

static bool is_of_a_main(const struct facility *f, int fan)
{
  for (int m = 0; m < f->main_count; m++)
    for (int k = 0; k < f->mains[m].fan_count; k++)
      if (f->mains[m].fans[k] == fan)
        return true;
  return false;
}

static void add_ducts(struct walk_planning *p, int step, const struct air_answer *answer)
{
  const struct facility *f = p->f;

  for (int i = 0; i < f->fan_count; i++)
    if (f->fans[i].holds && is_of_a_main(f, i))
      add_duct(p, step, answer, f->fans[i].hold_node, f->fans[i].hold_over);
  for (int i = 0; i < f->walk.tap_count; i++) {
    bool held = false;

    for (int k = 0; k < f->fan_count; k++)
      held |= f->fans[k].holds && f->fans[k].hold_node == f->walk.taps[i];
    if (!held)
      add_duct(p, step, answer, f->walk.taps[i], facility_node_outdoors(f));
  }
}

static void add_displays(struct walk_planning *p, int step, const struct air_answer *answer)
{
  const struct facility *f = p->f;

  for (int i = 0; i < f->walk.display_count; i++) {
    int shown = f->walk.displays[i];
    bool supply = shown < 0;
    struct walk_quantity q = {supply ? FACILITY_GAUGE_SUPPLY : FACILITY_GAUGE_SPEED,
                              supply ? -1 - shown : shown, 0};

    add(p, step, q, walk_predicted_si(f, answer, &q),
        supply ? walk_say(p->arena, "flow of %s", f->supplies[q.index].part.id)
               : walk_say(p->arena, "speed of %s", f->fans[q.index].part.id),
        supply ? "on the unit's display" : "on the drive's display");
  }
}

static bool is_raised_here(const struct walk_planning *p, int step, int station)
{
  return p->steps[step].scene.stations[station].raised && !p->base.stations[station].raised;
}

/* The station whose face a step is there for, not those that merely stay as they are. */
static void add_faces(struct walk_planning *p, int step, const struct air_answer *answer)
{
  const struct facility *f = p->f;

  for (int i = 0; i < f->station_count; i++) {
    struct walk_quantity q = {FACILITY_GAUGE_FACE, i, 0};
    double predicted_m_s = walk_predicted_si(f, answer, &q);

    if (!is_raised_here(p, step, i))
      continue;
    if (!(predicted_m_s >= f->walk.slowest_m_s)) {
      if (p->steps[step].count == 0 && isfinite(predicted_m_s))
        walk_note(p->left_out, &p->left_out_count,
                  walk_say(p->arena, "face of %s: slower than a vane reads well",
                           f->stations[i].part.id));
      continue;
    }
    add(p, step, q, predicted_m_s, walk_say(p->arena, "face of %s", f->stations[i].part.id),
        "vane, moved slowly over the whole opening; the mean");
  }
}

/* How far the face velocity goes with the height a hand sets. */
static double setting_m_s(struct walk_planning *p, const struct walk_reading *r)
{
  double at_m_s[2] = {0};

  for (int side = 0; side < 2; side++) {
    struct scene scene = scene_copy(p->f, &p->steps[r->step].scene, p->arena);
    double *opening_m = &scene.stations[r->quantity.index].opening_m;
    const struct air_answer *answer;

    *opening_m = fmax(*opening_m + (side ? 1 : -1) * p->f->walk.opening_m, 1e-3);
    answer = air_flows(p->air, &scene, p->arena, p->err);
    at_m_s[side] = answer ? walk_predicted_si(p->f, answer, &r->quantity) : (double)NAN;
  }
  return isfinite(at_m_s[0] - at_m_s[1]) ? fabs(at_m_s[0] - at_m_s[1]) / 2 : 0.0;
}

static void give_bands(struct walk_planning *p, struct walk_step *step)
{
  for (int i = step->first; i < step->first + step->count; i++) {
    struct walk_reading *r = &p->candidates[i];
    double setting_si = r->quantity.of == FACILITY_GAUGE_FACE ? setting_m_s(p, r) : 0.0;

    r->band = walk_band_of(p->f, &r->quantity, r->predicted_si, setting_si);
  }
}

/* The first pair of a room a station was opened in: does it still hold? */
static bool is_of_an_opened_room(const struct walk_planning *p, const struct walk_reading *r)
{
  for (int i = 0; i < p->f->station_count; i++)
    if (is_raised_here(p, r->step, i) && r->quantity.of == FACILITY_GAUGE_ROOM &&
        (p->f->stations[i].room == r->quantity.index || p->f->stations[i].room == r->quantity.over))
      return true;
  return false;
}

static void must_read_step(struct walk_planning *p, int s)
{
  const struct walk_step *step = &p->steps[s];
  bool end = p->last_is_end && s == p->step_count - 1, face = false;

  if ((s == 0 || end) && step->count > 0)
    p->must[step->first] = true; /* the start; and whether anything has drifted since */
  for (int i = step->first; i < step->first + step->count; i++)
    if (is_of_an_opened_room(p, &p->candidates[i])) {
      p->must[i] = true;
      break;
    }
  for (int i = step->first; i < step->first + step->count && !face; i++)
    if (p->candidates[i].quantity.of == FACILITY_GAUGE_FACE)
      p->must[i] = face = true;
}

bool walk_list_candidates(struct walk_planning *p)
{
  const struct facility *f = p->f;
  int each =
      p->pair_count + f->fan_count + f->walk.tap_count + f->walk.display_count + f->station_count;

  p->candidate_room = each * p->step_count;
  p->candidates = ARENA_ARRAY(p->arena, struct walk_reading, (size_t)p->candidate_room + 1);
  p->must = ARENA_ARRAY(p->arena, bool, (size_t)p->candidate_room + 1);
  if (!p->candidates || !p->must)
    return false;
  for (int s = 0; s < p->step_count; s++) {
    struct walk_step *step = &p->steps[s];
    const struct air_answer *answer = air_flows(p->air, &step->scene, p->arena, p->err);

    if (!answer)
      return false;
    step->first = p->candidate_count;
    add_rooms(p, s, answer);
    add_faces(p, s, answer);
    add_ducts(p, s, answer);
    add_displays(p, s, answer);
    step->count = p->candidate_count - step->first;
    give_bands(p, step);
  }
  for (int s = 0; s < p->step_count; s++)
    must_read_step(p, s);
  return true;
}
