/* How a station stands, in one word, with its reason and the age of what says so. */
#include "answer/live_impl.h"

#include <math.h>

/* Of what the points of that station say of one thing: the youngest; NaN: none, or it never came. */
static double youngest_s(const struct answer_live *live, int station, enum feeds_what what)
{
  double age_s = NAN;

  for (int i = 0; i < live->feeds->point_count; i++) {
    const struct feeds_point *p = &live->feeds->points[i];

    if (p->of == FEEDS_OF_STATION && p->index == station && p->what == what)
      age_s = fmin(age_s, live->belief->inputs[i].age_s); /* fmin leaves NaN aside */
  }
  return age_s;
}

/* Of what says how far up its sash is, or would. */
static double sash_age_s(const struct answer_live *live, int station)
{
  static const enum feeds_what whats[] = {FEEDS_OPENING, FEEDS_FLOW, FEEDS_PRESENCE};
  int point = live->belief->stations[station].sash_point;
  double age_s = point >= 0 ? live->belief->inputs[point].age_s : (double)NAN;

  for (size_t i = 0; i < sizeof whats / sizeof *whats && isnan(age_s); i++)
    age_s = youngest_s(live, station, whats[i]);
  return age_s;
}

static const char *sash_words(const struct answer_live *live, int station)
{
  if (live->belief->stations[station].rising)
    return "sash is on its way up, counted as at its mark";
  return live->belief->scene.stations[station].raised ? "sash is up" : "sash is down";
}

static struct live_condition withdrawn(const struct answer_live *live, int i, struct buf *text)
{
  const struct answer_live_withdrawn *w = live->withdrawn ? &live->withdrawn[i] : NULL;
  struct live_condition c = {.is = "withdrawn", .age_s = NAN, .since_ms = INT64_MIN};

  if (!w || !w->who) {
    buf_puts(text, "Withdrawn from use; by whom and why is not known.");
    return c;
  }
  c.who = w->who;
  c.why = w->why;
  c.since_ms = w->since_ms;
  c.age_s = fmax(0, (double)(live->belief->now_ms - w->since_ms) * 1e-3);
  buf_printf(text, "Withdrawn from use by %s since ", w->who);
  when_print(text, live->zone ? live->zone : when_utc(), w->since_ms);
  buf_printf(text, ": %s", w->why);
  return c;
}

static bool is_always_on(const struct facility_station *s)
{
  return s->flow == FACILITY_CONSTANT && !s->has_openings;
}

/* Which of the words that stand on its sash and the people at it. */
static struct live_condition in_use(const struct answer_live *live, int i, struct buf *text)
{
  const struct watch_station *s = &live->belief->stations[i];
  const struct scene_station *now = &live->belief->scene.stations[i];
  struct live_condition c = {.age_s = sash_age_s(live, i), .since_ms = INT64_MIN};

  if (now->blocked) {
    c.is = "blocked sash";
    c.age_s = youngest_s(live, i, FEEDS_BLOCKED);
    buf_printf(text, "Something stands under its sash; the %s.", sash_words(live, i));
    return c;
  }
  c.is = !now->raised ? "parked" : now->unattended ? "open and unattended" : "working";
  buf_printf(text, "Its %s%s.", sash_words(live, i),
             !now->raised       ? ""
             : !s->has_presence ? "; whether anybody is there is not known"
             : s->present       ? "; somebody is there"
                                : "; nobody is there");
  if (now->raised && s->has_presence)
    c.age_s = fmax(c.age_s, youngest_s(live, i, FEEDS_PRESENCE)); /* it stands on both */
  return c;
}

struct live_condition live_condition(const struct answer_live *live, int station, struct buf *text)
{
  const struct facility_station *f = &live->facility->stations[station];
  const struct watch_station *s = &live->belief->stations[station];
  struct live_condition c = {.age_s = NAN, .since_ms = INT64_MIN};

  if (!f->in_service) {
    c.is = "out of service";
    buf_puts(text, "Out of service by the suite file.");
  } else if (live->belief->scene.stations[station].withdrawn) {
    c = withdrawn(live, station, text);
  } else if (s->own_alarm) {
    c.is = "own alarm";
    c.age_s = youngest_s(live, station, FEEDS_ALARM);
    buf_puts(text, "Its own alarm is on: follow it.");
  } else if (s->not_known || s->assumed || s->blocked_why) {
    c.is = "not known";
    c.age_s = s->not_known || s->assumed ? sash_age_s(live, station)
                                         : youngest_s(live, station, FEEDS_BLOCKED);
    if (s->assumed)
      buf_printf(text, "No point says how far up its sash is; counted as %s.",
                 live->feeds->unmeasured_work ? "at work" : "parked");
    else if (s->not_known)
      buf_puts(text, s->why);
    else
      buf_printf(text, "Something may stand under its sash: %s", s->blocked_why);
  } else if (is_always_on(f)) {
    c.is = "always on";
    buf_puts(text, "It has no sash and draws the same at all times.");
  } else {
    c = in_use(live, station, text);
  }
  return c;
}
