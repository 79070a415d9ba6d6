/* What was measured around an incident, kept small: a few numbers and the turns of each point. */
#include "incident/incident_impl.h"

#include "units/units.h"

#include <math.h>
#include <string.h>

/* What counts as the same: common practice for what a person calls one state, no source. */
static const double same_resolutions = 2.0, same_ratio = 0.1;

struct slot { /* of one point of the feeds */
  const struct feeds_point *point;
  struct incident_point out;
  int nearness;
  int64_t at_ms; /* told so far */
  bool any;
  struct feed_observation last;
  double stood_si; /* where it stood since the last turn; NaN: nothing known yet */
};
struct incident_freezer {
  const struct feeds *feeds;
  struct arena *arena;
  struct incident_frozen span;
  int count;
  struct slot *slots;
  int *slot_of; /* per point of the feeds; -1: not kept */
};

/* ---- which points, and how near ---- */

/* How many were inside, who stood where, the weather and rinse water say nothing of what went wrong; the
 * rest may. */
static bool is_kept(const struct feeds_point *p)
{
  switch (p->what) {
  case FEEDS_OPENING:
  case FEEDS_FLOW:
  case FEEDS_FACE_VELOCITY:
  case FEEDS_BLOCKED:
  case FEEDS_ALARM:
  case FEEDS_COVERED:
  case FEEDS_PRESSURE:
  case FEEDS_OPEN:
  case FEEDS_RUNNING:
  case FEEDS_SPEED:
  case FEEDS_LEAK:
  case FEEDS_LEVEL:
  case FEEDS_LOW_LEVEL:
  case FEEDS_BATH_TEMPERATURE:
  case FEEDS_HEATING:
  case FEEDS_LID_OPEN:
  case FEEDS_DECK_FLOW:
    return true;
  case FEEDS_PRESENCE:
  case FEEDS_TEMPERATURE:
  case FEEDS_HUMIDITY:
  case FEEDS_PEOPLE:
  case FEEDS_RESISTIVITY:
  case FEEDS_DUMPS:
  case FEEDS_OTHER:
  case FEEDS_WHAT_COUNT:
    break;
  }
  return false;
}

static int nearness(const struct facility *f, const struct feeds_point *p, const char *about)
{
  int station = facility_station_find(f, about);
  int room = station >= 0 ? f->stations[station].room : facility_node_find(f, about);
  int main = station >= 0 ? f->stations[station].main : -1;

  if (p->of == FEEDS_OF_STATION && p->index == station)
    return 0;
  if (p->of == FEEDS_OF_SUITE)
    return 1;
  if (p->of == FEEDS_OF_STATION && f->stations[p->index].room == room)
    return 2;
  if (p->of == FEEDS_OF_ROOM && (p->index == room || p->over == room))
    return 2;
  if (p->of == FEEDS_OF_DOOR && (f->doors[p->index].from == room || f->doors[p->index].to == room))
    return 2;
  if ((p->of == FEEDS_OF_STATION && f->stations[p->index].main == main) ||
      (p->of == FEEDS_OF_MAIN && p->index == main))
    return 3;
  return 4;
}

static const char *about_of(const struct facility *f, const struct feeds_point *p,
                            struct arena *arena)
{
  struct buf words;

  buf_init(&words, 128);
  feeds_about(f, p, &words);

  const char *own = arena_strdup(arena, words.text);

  buf_release(&words);
  return own;
}

static void begin_slot(struct incident_freezer *z, const struct facility *f, int point,
                       const char *about)
{
  const struct feeds_point *p = &z->feeds->points[point];
  const double none = (double)NAN;

  z->slot_of[point] = z->count;
  z->slots[z->count++] =
      (struct slot){.point = p,
                    .nearness = nearness(f, p, about),
                    .at_ms = z->span.from_ms,
                    .stood_si = none,
                    .out = {.id = p->part.id,
                            .of = about_of(f, p, z->arena),
                            .what = feeds_what_name(p->what),
                            .over = p->what == FEEDS_PRESSURE && p->of == FEEDS_OF_ROOM
                                        ? facility_node_id(f, p->over)
                                        : NULL,
                            .unit = p->yes_no  ? "yes_no"
                                    : p->count ? "count"
                                               : units_si_text(p->dimension),
                            .first_si = none,
                            .then_si = none,
                            .last_si = none,
                            .least_si = none,
                            .greatest_si = none}};
}

struct incident_freezer *incident_freezer_new(const struct facility *facility,
                                              const struct feeds *feeds, const char *about,
                                              const struct incident_frozen *span,
                                              struct arena *arena)
{
  struct incident_freezer *z = ARENA_NEW(arena, struct incident_freezer);
  size_t room = (size_t)feeds->point_count + 1;

  if (!z)
    return NULL;
  *z = (struct incident_freezer){.feeds = feeds,
                                 .arena = arena,
                                 .span = *span,
                                 .slots = ARENA_ARRAY(arena, struct slot, room),
                                 .slot_of = ARENA_ARRAY(arena, int, room)};
  if (!z->slots || !z->slot_of)
    return NULL;
  for (int i = 0; i < feeds->point_count; i++) {
    z->slot_of[i] = -1;
    if (is_kept(&feeds->points[i]))
      begin_slot(z, facility, i, about);
  }
  return z;
}

/* ---- what it says ---- */

static double after_s(const struct incident_freezer *z, int64_t t_ms)
{
  return (double)(t_ms - z->span.t_ms) * 1e-3;
}

static void add_gap(const struct incident_freezer *z, struct slot *s, int64_t to_ms)
{
  struct incident_point *p = &s->out;
  double from_s = after_s(z, s->at_ms), to_s = after_s(z, to_ms);

  if (p->gap_count > 0 && p->gaps_more == 0 && p->gaps[p->gap_count - 1].to_s >= from_s)
    p->gaps[p->gap_count - 1].to_s = to_s;
  else if (p->gap_count < INCIDENT_GAPS_MOST)
    p->gaps[p->gap_count++] = (struct incident_stretch){from_s, to_s};
  else
    p->gaps_more++;
}

static bool is_turn(const struct slot *s, double si)
{
  double moved_si = fabs(si - s->stood_si);

  if (isnan(s->stood_si))
    return false;
  if (s->point->yes_no || s->point->count)
    return moved_si > 0;
  return moved_si >
         fmax(same_resolutions * s->point->resolution_si, same_ratio * fabs(s->stood_si)) *
             (1 + 1e-9);
}

static void look_for_turn(const struct incident_freezer *z, struct slot *s, double si)
{
  struct incident_point *p = &s->out;
  bool turns = is_turn(s, si);

  if (turns && p->turn_count < INCIDENT_TURNS_MOST)
    p->turns[p->turn_count++] = (struct incident_turn){after_s(z, s->at_ms), si};
  else if (turns)
    p->turns_more++;
  if (turns || isnan(s->stood_si))
    s->stood_si = si;
}

static void add_value(const struct incident_freezer *z, struct slot *s, int64_t to_ms)
{
  struct incident_point *p = &s->out;
  double si = s->last.si;

  look_for_turn(z, s, si);
  if (s->at_ms == z->span.from_ms)
    p->first_si = si;
  if (s->at_ms <= z->span.t_ms && z->span.t_ms < to_ms)
    p->then_si = si;
  p->least_si = fmin(p->least_si, si); /* fmin of NaN and a number is the number */
  p->greatest_si = fmax(p->greatest_si, si);
  p->known_s += (double)(to_ms - s->at_ms) * 1e-3;
  if (to_ms == z->span.to_ms)
    p->last_si = si;
}

static bool is_measured(const struct feed_observation *o)
{
  return (o->quality == FEED_GOOD || o->quality == FEED_OLD) && isfinite(o->si);
}

/* From where it is told to to_ms: what was said last holds as long as its point lets it. */
static void tell_until(const struct incident_freezer *z, struct slot *s, int64_t to_ms)
{
  int64_t held_ms = INT64_MIN;

  to_ms = to_ms < z->span.to_ms ? to_ms : z->span.to_ms;
  if (to_ms <= s->at_ms)
    return;
  if (s->any && is_measured(&s->last)) {
    double held_s = fmin(s->point->old_after_s, 1e9);

    held_ms = s->last.t_ms + (int64_t)(held_s * 1000);
  }
  if (held_ms > s->at_ms) {
    int64_t until_ms = held_ms < to_ms ? held_ms : to_ms;

    add_value(z, s, until_ms);
    s->at_ms = until_ms;
  }
  if (to_ms > s->at_ms)
    add_gap(z, s, to_ms);
  s->at_ms = to_ms;
}

void incident_freezer_take(void *freezer, const struct feed_observation *o)
{
  struct incident_freezer *z = freezer;
  int at = z->slot_of[o->point];

  if (at < 0 || o->quality == FEED_FUTURE || o->quality == FEED_UNTIMED)
    return;

  struct slot *s = &z->slots[at];

  tell_until(z, s, o->t_ms);
  s->last = *o;
  s->any = true;
}

struct incident_frozen *incident_freezer_end(struct incident_freezer *freezer)
{
  struct incident_frozen *out = ARENA_NEW(freezer->arena, struct incident_frozen);
  struct incident_point *points =
      ARENA_ARRAY(freezer->arena, struct incident_point, (size_t)freezer->count + 1);

  if (!out || !points)
    return NULL;
  *out = freezer->span;
  out->points = points;
  out->point_count = out->points_left_out = 0;
  for (int i = 0; i < freezer->count; i++)
    tell_until(freezer, &freezer->slots[i], freezer->span.to_ms);
  for (int near = 0; near <= 4; near++)
    for (int i = 0; i < freezer->count; i++)
      if (freezer->slots[i].nearness == near)
        points[out->point_count++] = freezer->slots[i].out;
  return out;
}

double incident_known_s(const struct incident_frozen *frozen)
{
  double sum_s = 0;

  for (int i = 0; i < frozen->point_count; i++)
    sum_s += frozen->points[i].known_s;
  return sum_s;
}
