#include "watch/watch_impl.h"

#include "base/buf.h"
#include "units/units.h"

#include <math.h>

/* What one point says of now, and what all points for one thing say together. */

static int64_t ms_of(double s)
{
  return s < 1e15 ? llround(s * 1000) : INT64_MAX / 4;
}

static bool is_frozen(const struct watch *watch, int point, int64_t now_ms)
{
  const struct feeds_point *p = &watch->feeds->points[point];
  const struct memory *m = &watch->memories[point];
  double after_s = watch->feeds->sources[p->source].frozen_after_s;

  return after_s > 0 && !p->yes_no && !p->count && m->has_value &&
         now_ms - memory_unmoved_since_ms(m) > ms_of(after_s);
}

struct watch_input input_of(const struct watch *watch, int point, int64_t now_ms)
{
  const struct feeds_point *p = &watch->feeds->points[point];
  const struct memory *m = &watch->memories[point];
  const struct feed_observation *newest = memory_newest(m, now_ms + ms_of(watch->feeds->future_s));
  struct watch_input in = {.age = WATCH_NEVER, .age_s = NAN};

  if (!newest && m->kept_count > 0) { /* the clock went back */
    in.newest = m->kept[0];
    in.newest.quality = FEED_FUTURE;
    in.newest.si = NAN;
    in.age = WATCH_BAD;
    in.age_s = 0;
    return in;
  }
  if (!newest) {
    in.newest = m->aside;
    if (m->has_aside) {
      in.age = WATCH_BAD;
      in.age_s = fmax(0, (double)(now_ms - m->aside.seen_ms) * 1e-3);
    }
    return in;
  }

  int64_t age_ms = newest->t_ms < now_ms ? now_ms - newest->t_ms : 0;

  in.newest = *newest;
  in.age_s = (double)age_ms * 1e-3;
  if (!observation_is_measured(newest))
    in.age = WATCH_BAD;
  else if (age_ms > ms_of(p->old_after_s))
    in.age = WATCH_OLD;
  else
    in.age = is_frozen(watch, point, now_ms) ? WATCH_FROZEN : WATCH_FRESH;
  return in;
}

/* ---- two points for one thing ---- */

/*
 * Did `newer` say something else than `o` before and after that moment?  Where it moved meanwhile, or
 * its values of then are no longer remembered, nothing can be said against `o`: it is only older.
 */
static bool contradicts(const struct watch *watch, int newer, const struct feed_observation *o,
                        double allowed_si)
{
  const struct memory *m = &watch->memories[newer];
  int before = 0;

  while (before < m->kept_count && m->kept[before].t_ms > o->t_ms)
    before++;
  if (before == m->kept_count)
    return false;

  const struct feed_observation *b = &m->kept[before];
  const struct feed_observation *a = before > 0 ? &m->kept[before - 1] : b;

  return observation_is_measured(a) && observation_is_measured(b) &&
         (o->si < fmin(a->si, b->si) - allowed_si || o->si > fmax(a->si, b->si) + allowed_si);
}

static const char *said_by(struct believer *b, int point)
{
  const struct feeds_point *p = &b->feeds->points[point];
  struct buf text;

  buf_init(&text, 400);
  buf_printf(&text, "%s (%s)", p->part.id, b->feeds->sources[p->source].part.id);

  const char *said = believer_say(b, "%s", text.text);

  buf_release(&text);
  return said;
}

static const char *value_words(struct believer *b, int point, double si)
{
  const struct feeds_point *p = &b->feeds->points[point];
  struct buf text;

  buf_init(&text, 100);
  if (p->yes_no)
    buf_puts(&text, si != 0 ? "yes" : "no");
  else if (p->count || p->dimension == UNITS_RATIO)
    buf_printf(&text, "%.6g", si);
  else
    units_print(&text, si, p->dimension, UNITS_SYSTEM_SI);

  const char *said = believer_say(b, "%s", text.text);

  buf_release(&text);
  return said;
}

static const char *span_words(struct believer *b, double span_s)
{
  struct buf text;

  buf_init(&text, 100);
  when_print_span(&text, span_s);

  const char *said = believer_say(b, "%s", text.text);

  buf_release(&text);
  return said;
}

/* Why a point says nothing of now. */
static const char *why_not(struct believer *b, int point)
{
  const struct watch_input *in = &b->inputs[point];
  const struct feeds_point *p = &b->feeds->points[point];
  const char *who = said_by(b, point);
  int64_t since_ms;

  switch (in->age) {
  case WATCH_NEVER:
    return believer_say(b, "%s: nothing came yet", who);
  case WATCH_OLD:
    return believer_say(b, "%s: %s old, more than the %s it may be", who, span_words(b, in->age_s),
                        span_words(b, p->old_after_s));
  case WATCH_FROZEN:
    since_ms = memory_unmoved_since_ms(&b->watch->memories[point]);
    return believer_say(b, "%s: has not moved for %s, so it is taken as frozen", who,
                        span_words(b, (double)(b->now_ms - since_ms) * 1e-3));
  case WATCH_BAD:
    if (in->newest.quality == FEED_FUTURE)
      return believer_say(b, "%s: its time is ahead of the clock", who);
    if (in->newest.quality == FEED_UNTIMED)
      return believer_say(b, "%s: it came without a time and may be old", who);
    return believer_say(b, "%s: %s, for %s", who, feed_quality_name(in->newest.quality),
                        span_words(b, in->age_s));
  case WATCH_FRESH:
    break;
  }
  return believer_say(b, "%s: said it", who);
}

/* Of those that are good, the newest; of equals the first of the file. */
static int freshest(const struct believer *b, const struct group *g)
{
  int best = -1;

  for (int i = 0; i < g->count; i++)
    if (b->inputs[g->points[i]].age == WATCH_FRESH &&
        (best < 0 || b->inputs[g->points[i]].newest.t_ms > b->inputs[best].newest.t_ms))
      best = g->points[i];
  return best;
}

/* Of those that are not, the one that was heard last. */
static int least_stale(const struct believer *b, const struct group *g)
{
  int best = g->points[0];

  for (int i = 1; i < g->count; i++) {
    const struct watch_input *in = &b->inputs[g->points[i]], *than = &b->inputs[best];

    if (in->age != WATCH_NEVER && (than->age == WATCH_NEVER || in->newest.t_ms > than->newest.t_ms))
      best = g->points[i];
  }
  return best;
}

/* Counted as it is, air that comes out of a station would lessen what its pool has to draw.  Two
 * standard deviations of a reading (the feeds file's own), of its flow at work, are no such thing. */
static void refuse_backwards(struct believer *b, const struct group *g, struct reading *r)
{
  const struct facility_station *s;
  double allowed_m3_s;

  if (g->of != FEEDS_OF_STATION || g->what != FEEDS_FLOW || !r->known || !(r->si < 0))
    return;
  s = &b->f->stations[g->index];
  allowed_m3_s = r->resolution_si + 2 * b->feeds->faults.flow_ratio *
                                        fabs(facility_station_rule_m3_s(s, true, s->work_m));
  if (!(r->si < -allowed_m3_s))
    return;
  r->known = false;
  r->why = believer_say(b,
                        "%s says %s, air coming out of it: a wrong sign in the feeds file, or a "
                        "back-draught",
                        said_by(b, r->point), value_words(b, r->point, r->si));
}

struct reading reading_of(struct believer *b, int group)
{
  if (group < 0)
    return (struct reading){.point = -1, .si = NAN};

  const struct group *g = &b->watch->groups[group];
  int point = freshest(b, g);
  struct reading r = {.has_points = true, .point = point, .si = NAN};

  if (point < 0) {
    r.why = why_not(b, least_stale(b, g));
    return r;
  }
  r.si = b->inputs[point].newest.si;
  r.resolution_si = b->feeds->points[point].resolution_si;
  r.known = b->inputs[point].used = true;
  for (int i = 0; i < g->count; i++) {
    int other = g->points[i];
    bool number = !b->feeds->points[point].yes_no;
    double allowed = number ? r.resolution_si + b->feeds->points[other].resolution_si : 0;

    if (other == point || b->inputs[other].age != WATCH_FRESH ||
        !contradicts(b->watch, point, &b->inputs[other].newest, allowed))
      continue;
    r.known = false;
    r.why = believer_say(b, "%s says %s and %s says %s: they contradict each other",
                         said_by(b, point), value_words(b, point, r.si), said_by(b, other),
                         value_words(b, other, b->inputs[other].newest.si));
  }
  refuse_backwards(b, g, &r);
  return r;
}
