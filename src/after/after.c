/* The question taken apart, asked of the air in time, and put together again. */
#include "after/after_impl.h"

#include <math.h>
#include <string.h>

static enum err_code read_events(struct after_work *w)
{
  const struct after_request *r = w->request;
  double before_s = 0.0;

  if (r->event_count < 1 || r->event_count > AFTER_EVENTS_MAX)
    return err_set(w->err, ERR_INPUT, "%s",
                   r->event_count < 1 ? "what happens? --event \"10s sash S3 work\""
                                      : "more than 64 events");
  for (int i = 0; i < r->event_count; i++) {
    enum err_code code = after_read_event(w->f, r->events[i], w->arena, &w->orders[i],
                                          &w->out->events[i].text, w->err);

    if (code == ERR_OK && w->orders[i].at_s < before_s) {
      code = err_set(w->err, ERR_INPUT,
                     "it comes before the event ahead of it (%.6g s); put them in the order of "
                     "their times",
                     before_s);
      if (w->err)
        w->err->col = 1;
    }
    if (code != ERR_OK) {
      err_prefix(w->err, "event %d:%d: ", i + 1, w->err && w->err->col > 0 ? w->err->col : 1);
      return code;
    }
    before_s = w->out->events[i].at_s = w->orders[i].at_s;
    w->has_gas |= w->orders[i].kind == AFTER_GAS;
    w->moments[w->moment_count++] = (struct after_moment){w->orders[i].at_s, AFTER_EVENT, i};
  }
  if (r->for_s > 0.0 && r->for_s < before_s)
    return err_set(w->err, ERR_INPUT, "for: it ends before the last event (%.6g s)", before_s);
  return ERR_OK;
}

static void group_events(struct after_answer *a)
{
  BUG_IF(!a->turns);
  for (int i = 0; i < a->event_count; i++) {
    struct after_turn *last = a->turn_count ? &a->turns[a->turn_count - 1] : NULL;

    if (last && last->at_s == a->events[i].at_s)
      last->event_count++;
    else
      a->turns[a->turn_count++] =
          (struct after_turn){.at_s = a->events[i].at_s, .first_event = i, .event_count = 1};
  }
}

static bool make_answer(struct after_work *w)
{
  const struct facility *f = w->f;
  struct after_answer *a = w->out = ARENA_NEW(w->arena, struct after_answer);
  size_t events = AFTER_EVENTS_MAX + 1;

  if (!a)
    return false;
  a->facility = f;
  a->scene = w->request->scene ? w->request->scene->name : "as parked";
  a->events = ARENA_ARRAY(w->arena, struct after_event, events);
  a->turns = ARENA_ARRAY(w->arena, struct after_turn, events);
  a->worst_first = ARENA_ARRAY(w->arena, int, events);
  a->clocks = ARENA_ARRAY(w->arena, struct after_clock, (size_t)f->room_count + 1);
  a->particles = ARENA_ARRAY(w->arena, struct after_particles, (size_t)f->room_count + 1);
  a->unknown = ARENA_ARRAY(w->arena, const char *, (size_t)f->room_count + 16);
  w->orders = ARENA_ARRAY(w->arena, struct after_order, events);
  w->moments = ARENA_ARRAY(w->arena, struct after_moment, 3 * events);
  return a->events && a->turns && a->worst_first && a->clocks && a->particles && a->unknown &&
         w->orders && w->moments;
}

static bool make_work(struct after_work *w)
{
  const struct facility *f = w->f;
  struct arena *m = w->arena;
  size_t stations = (size_t)f->station_count + 1, fans = (size_t)f->fan_count + 1,
         feeds = (size_t)air_feed_count(f) + 1, supplies = (size_t)f->supply_count + 1,
         nodes = (size_t)facility_node_count(f) + 1;
  int k = 0;

  w->scene = w->request->scene ? scene_copy(f, w->request->scene, m) : scene_parked(f, m);
  w->goal = scene_copy(f, &w->scene, m);
  w->drive = air_drive_new(f, m);
  w->sash = ARENA_ARRAY(m, struct after_way, stations);
  w->door = ARENA_ARRAY(m, struct after_way, (size_t)f->door_count + 1);
  w->station_ratio = ARENA_ARRAY(m, double, stations);
  w->hold_ratio = ARENA_ARRAY(m, double, fans);
  w->feed_ratio = ARENA_ARRAY(m, double, feeds);
  w->feed_gain = ARENA_ARRAY(m, double, feeds);
  w->fan_gain = ARENA_ARRAY(m, double, fans);
  w->feed_supply = ARENA_ARRAY(m, int, feeds);
  w->feed_of = ARENA_ARRAY(m, int, feeds);
  w->fan_drive = ARENA_ARRAY(m, enum after_drive, fans);
  w->unit_drive = ARENA_ARRAY(m, enum after_drive, supplies);
  w->carried = ARENA_ARRAY(m, double, nodes);
  w->in_kg_s = ARENA_ARRAY(m, double, nodes);
  w->in_amount = ARENA_ARRAY(m, double, nodes);
  if (!w->scene.stations || !w->goal.stations || !w->drive || !w->sash || !w->door ||
      !w->station_ratio || !w->hold_ratio || !w->feed_ratio || !w->feed_gain || !w->fan_gain ||
      !w->feed_supply || !w->feed_of || !w->fan_drive || !w->unit_drive || !w->carried ||
      !w->in_kg_s || !w->in_amount)
    return false;
  for (int i = 0; i < f->supply_count; i++)
    for (int j = 0; j < f->supplies[i].feed_count; j++, k++) {
      w->feed_supply[k] = i;
      w->feed_of[k] = j;
    }
  for (int i = 0; i < f->station_count; i++)
    w->station_ratio[i] = 1.0;
  for (int i = 0; i < f->fan_count; i++)
    w->hold_ratio[i] = 1.0;
  for (k = 0; k < air_feed_count(f); k++)
    w->feed_ratio[k] = 1.0;
  for (int i = 0; i < f->room_count; i++)
    w->has_particles |= f->rooms[i].has_class && f->rooms[i].has_volume;
  return true;
}

/* ---- what is assumed, and what is not known ---- */

static void assume(struct after_work *w)
{
  const struct facility_after *how = &w->f->after;
  struct after_answer *a = w->out;
  static const char *const always[] = {
      "rooms and ducts find their pressures at once; in truth a room takes about a second "
      "(docs/physics.md, In time)",
      "controllers are tuned to the file's times with all doors shut; what a real one overshoots or "
      "hunts is not in it",
      "a unit of several that is lost or started changes at once; a whole group coasts and runs up",
      "a terminal whose make-up unit is off stays where it is until the unit is back",
      "every room mixes perfectly within itself; particles that people shed are not counted",
  };
  int count = (int)(sizeof always / sizeof *always);

  a->assumed = ARENA_ARRAY(w->arena, const char *, (size_t)(count + how->assumed_count));
  BUG_IF(!a->assumed);
  for (int i = 0; i < count; i++)
    a->assumed[a->assumed_count++] = always[i];
  for (int i = 0; i < how->assumed_count; i++)
    a->assumed[a->assumed_count++] = how->assumed[i];
}

static void say_unknown(struct after_work *w)
{
  const struct facility *f = w->f;
  struct after_answer *a = w->out;

  if (a->lost)
    a->unknown[a->unknown_count++] =
        "at some moment the air had no solution: nothing after it is to be relied on";
  for (int i = 0; i < f->room_count; i++)
    if (!f->rooms[i].has_volume)
      a->unknown[a->unknown_count++] = arena_printf(
          w->arena, "%s has no volume in the file: no clock of gas or particles for it",
          f->rooms[i].part.id);
  if (!w->has_particles)
    a->unknown[a->unknown_count++] =
        "no room has a class in the file: particles are not judged against one";
  for (int k = 0; k < air_feed_count(f) && a->unknown_count < f->room_count + 8; k++)
    if (f->supplies[w->feed_supply[k]].feeds[w->feed_of[k]].form == FACILITY_FEED_HOLDS &&
        w->feed_gain[k] == 0.0)
      a->unknown[a->unknown_count++] = arena_printf(
          w->arena,
          "%s does not answer its controller at the start (at its limit, or off): it is left where "
          "it is",
          f->supplies[w->feed_supply[k]].feeds[w->feed_of[k]].part.id);
  for (int i = 0; i < f->not_counted_count && a->unknown_count < f->room_count + 14; i++)
    a->unknown[a->unknown_count++] = arena_printf(w->arena, "not counted: %s", f->not_counted[i]);
}

static enum err_code refuse_coarse(struct after_work *w)
{
  const struct facility *f = w->f;

  if (f->leak_count + f->door_count + f->duct_count + f->fan_count > 0)
    return ERR_OK;
  return err_set(w->err, ERR_NO_SOLUTION,
                 "this suite has flows only, so nothing is known of its pressures in time; add "
                 "leaks, doors and the supplies' rules (docs/suite-file.md)");
}

static enum err_code answer(struct after_work *w)
{
  enum err_code code = refuse_coarse(w);

  if (code == ERR_OK && (!make_answer(w) || !make_work(w)))
    code = err_set(w->err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
  if (code == ERR_OK)
    code = read_events(w);
  if (code != ERR_OK)
    return code;
  w->out->event_count = w->request->event_count;
  group_events(w->out);
  code = after_run(w);
  if (code != ERR_OK)
    return code;
  if (!after_judge(w))
    return err_set(w->err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
  after_clocks(w);
  assume(w);
  say_unknown(w);
  return ERR_OK;
}

struct after_answer *after_ask(const struct facility *facility, const struct after_request *request,
                               struct arena *arena, struct err *err)
{
  struct after_work w = {.f = facility, .request = request, .arena = arena, .err = err};
  enum err_code code = ERR_NO_SOLUTION;

  w.air = air_new(facility, err);
  w.steady = w.air ? air_new(facility, err) : NULL;
  if (w.steady)
    code = answer(&w);
  numeric_stepper_free(w.stepper);
  air_free(w.air);
  air_free(w.steady);
  return code == ERR_OK ? w.out : NULL;
}
