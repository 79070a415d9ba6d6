#include "watch/watch_impl.h"

#include <math.h>

/* How far up each sash is, and what else is known of a station. */

static void set_sash(struct believer *b, int i, bool raised, double opening_m)
{
  struct scene_station *now = &b->out->scene.stations[i];

  now->raised = raised;
  now->opening_m = raised ? opening_m : b->f->stations[i].parked_m;
}

/* ---- from what it is derived ---- */

/* By a point for the opening.  Returns why it is no answer, or NULL. */
static const char *sash_of_opening(struct believer *b, int i, const struct reading *r)
{
  const struct facility_station *s = &b->f->stations[i];
  const char *id = b->feeds->points[r->point].part.id;

  if (s->has_openings && r->si > s->most_m + r->resolution_si)
    return believer_say(b,
                        "%s says %.2f m, but the sash of %s goes to %.2f m: they contradict "
                        "each other",
                        id, r->si, s->part.id, s->most_m);
  if (r->si < -r->resolution_si)
    return believer_say(b, "%s says %.2f m: no sash is below its sill", id, r->si);
  set_sash(b, i, r->si > s->parked_m + r->resolution_si,
           s->has_openings ? fmin(r->si, s->most_m) : r->si);
  b->stations[i].sash_point = r->point;
  if (s->has_openings && r->si < s->work_m && memory_is_rising(b->watch, r->point, b->now_ms)) {
    b->stations[i].rising = true;
    set_sash(b, i, true, s->work_m);
  }
  return NULL;
}

/* By the station's own rule, backwards; false where a flow tells nothing. */
static bool flow_tells_opening(const struct facility_station *s)
{
  return s->flow == FACILITY_TWO_STATE ||
         (s->flow == FACILITY_FOLLOWS_OPENING && s->velocity_m_s > 0 && s->width_m > 0);
}

static void sash_of_flow(struct believer *b, int i, const struct reading *r)
{
  const struct facility_station *s = &b->f->stations[i];
  double parked_m3_s = facility_station_rule_m3_s(s, false, s->parked_m), opening_m;

  b->stations[i].sash_point = r->point;
  if (s->flow == FACILITY_TWO_STATE) {
    bool at_work = fabs(r->si - s->work_m3_s) < fabs(r->si - s->parked_m3_s);

    set_sash(b, i, at_work, s->work_m);
    return;
  }
  opening_m = (r->si - s->bypass_m3_s) / (s->velocity_m_s * s->width_m);
  set_sash(b, i, r->si > parked_m3_s + r->resolution_si,
           s->has_openings ? fmin(fmax(opening_m, s->parked_m), s->most_m) : fmax(opening_m, 0));
}

static void sash_as_the_file_says(struct believer *b, int i, const char *because)
{
  bool work = b->feeds->unmeasured_work;

  b->stations[i].assumed = true;
  set_sash(b, i, work, b->f->stations[i].work_m);
  believer_assume(b, believer_say(b, "%s: %s; counted as %s", b->f->stations[i].part.id, because,
                                  work ? "at work" : "parked"));
}

/* ---- not known ---- */

static void sash_not_known(struct believer *b, int i, const char *why)
{
  struct watch_gap *gap = believer_gap(b, b->f->stations[i].part.id, why);

  need_station(b, gap, i);
  b->stations[i].not_known = true;
  b->stations[i].why = gap->text;
  set_sash(b, i, true, b->f->stations[i].work_m); /* the demanding end, for the other pools */
  b->out->scene.stations[i].needs_flow = "it is not known how far up its sash is";
}

static struct reading read_what(struct believer *b, int i, enum feeds_what what)
{
  return reading_of(b, b->watch->station_group[i][what]);
}

static bool is_always_on(const struct facility_station *s)
{
  return s->flow == FACILITY_CONSTANT && !s->has_openings;
}

static void believe_sash(struct believer *b, int i)
{
  const struct facility_station *s = &b->f->stations[i];
  struct reading opening = read_what(b, i, FEEDS_OPENING), flow, presence;
  const char *why;

  if (opening.has_points) {
    why = opening.known ? sash_of_opening(b, i, &opening) : opening.why;
    if (why)
      sash_not_known(b, i, why);
    return;
  }
  if (is_always_on(s))
    return;
  flow = read_what(b, i, FEEDS_FLOW);
  if (flow.has_points && flow_tells_opening(s)) {
    if (flow.known)
      sash_of_flow(b, i, &flow);
    else
      sash_not_known(b, i, flow.why);
    return;
  }
  presence = read_what(b, i, FEEDS_PRESENCE);
  if (presence.has_points && !presence.known)
    sash_not_known(b, i, presence.why);
  else if (presence.has_points && presence.si != 0)
    set_sash(b, i, true, s->work_m);
  else
    sash_as_the_file_says(b, i,
                          presence.has_points
                              ? "nobody is there, and no point says how far up its sash is"
                              : "no point says how far up its sash is");
}

static void believe_flow(struct believer *b, int i)
{
  struct reading flow = read_what(b, i, FEEDS_FLOW);
  struct watch_station *out = &b->stations[i];

  if (!flow.has_points)
    return;
  if (flow.known) {
    out->has_flow = b->out->scene.stations[i].has_measured = true;
    out->flow_m3_s = b->out->scene.stations[i].measured_m3_s = flow.si;
    return;
  }
  if (out->not_known)
    return; /* told already */

  struct watch_gap *gap = believer_gap(b, b->f->stations[i].part.id, flow.why);

  if (!station_flow_is_demand(b->f, i))
    return;
  need_measured_flow(b, gap, i);
  out->not_known = true;
  out->why = gap->text;
}

/* No pool needs it: that it is not known is told at the bench (src/wet), not here. */
static void believe_deck_flow(struct believer *b, int i)
{
  struct reading deck = read_what(b, i, FEEDS_DECK_FLOW);
  struct watch_station *out = &b->stations[i];

  out->has_deck_flow = deck.has_points && deck.known;
  out->deck_flow_m3_s = out->has_deck_flow ? deck.si : (double)NAN;
}

/* A sash that may be blocked is not asked to come down. */
static void believe_blocked(struct believer *b, int i)
{
  struct reading blocked = read_what(b, i, FEEDS_BLOCKED);
  struct scene_station *now = &b->out->scene.stations[i];

  if (!blocked.has_points)
    return;
  now->blocked = !blocked.known || blocked.si != 0;
  if (blocked.known)
    return;

  struct watch_gap *gap = believer_gap(b, b->f->stations[i].part.id, blocked.why);

  b->stations[i].blocked_why = gap->text;
  if (b->f->stations[i].flow == FACILITY_TWO_STATE) {
    need_station(b, gap, i);
    b->stations[i].not_known = true;
    b->stations[i].why = gap->text;
  }
}

static void believe_covered(struct believer *b, int i)
{
  struct reading covered = read_what(b, i, FEEDS_COVERED);

  if (covered.known)
    b->out->scene.stations[i].cover_ratio = fmin(fmax(covered.si, 0), 1);
  else if (covered.has_points)
    need_station(b, believer_gap(b, b->f->stations[i].part.id, covered.why), i);
}

static void believe_presence(struct believer *b, int i)
{
  struct reading presence = read_what(b, i, FEEDS_PRESENCE);
  struct watch_station *out = &b->stations[i];

  out->has_presence = presence.known;
  out->present = presence.known && presence.si != 0;
  b->out->scene.stations[i].unattended =
      out->has_presence && !out->present && b->out->scene.stations[i].raised;
  if (presence.has_points && !presence.known && !out->not_known)
    believer_gap(b, b->f->stations[i].part.id, presence.why);
}

static void believe_own_alarm(struct believer *b, int i)
{
  struct reading alarm = read_what(b, i, FEEDS_ALARM);

  if (alarm.known)
    b->stations[i].own_alarm = alarm.si != 0 && !b->watch->withdrawn[i];
  else if (alarm.has_points)
    believer_gap(b, b->f->stations[i].part.id,
                 believer_say(b, "own alarm not heard: %s", alarm.why));
}

void believe_stations(struct believer *b)
{
  for (int i = 0; i < b->f->station_count; i++) {
    b->out->scene.stations[i].withdrawn = b->watch->withdrawn[i];
    b->stations[i].sash_point = -1;
    b->out->scene.stations[i].needs_flow = b->watch->needs_flow[i];
    if (!b->f->stations[i].in_service)
      continue;
    believe_sash(b, i);
    believe_flow(b, i);
    believe_deck_flow(b, i);
    believe_blocked(b, i);
    believe_covered(b, i);
    believe_presence(b, i);
    believe_own_alarm(b, i);
  }
}
