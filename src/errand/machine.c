#include "errand/errand_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"

/* One errand: asked, moving, and how it ends. */

int64_t errand_ms(double s)
{
  return llround(s * 1000);
}

void errand_tell(struct errands *e, struct errand *errand, int64_t t_ms)
{
  if (e->given.turned)
    e->given.turned(e->given.arg, e, errand, t_ms);
}

static void count(struct errands *e, const struct errand *errand, int64_t t_ms)
{
  struct errands_tally *t = &e->tally;
  int *const of[ERRAND_STATE_COUNT] = {&t->asked,  &t->moved,      &t->done,
                                       &t->cannot, &t->not_needed, &t->not_answered};

  ++*of[errand->state];
  if (errand->state != ERRAND_MOVING)
    return;
  t->moved_within += t_ms - errand->asked_ms <= errand_ms(e->given.feeds->lower.within_s);
  e->times_s[e->time_count++ % ERRAND_TIMES_MOST] = (double)(t_ms - errand->asked_ms) * 1e-3;
}

void errand_turn(struct errands *e, struct errand *errand, enum errand_state state,
                 const char *because, int64_t t_ms)
{
  errand->state = state;
  errand->since_ms = t_ms;
  if (because) {
    snprintf(errand->because, sizeof errand->because, "%s", because);
    utf8_mend_end(errand->because);
  }
  count(e, errand, t_ms);
  errand_tell(e, errand, t_ms);
}

/* ---- what the sash reads ---- */

static bool reads_opening(const struct errands *e, const struct judge_seen *seen, int station)
{
  int point = seen->belief->stations[station].sash_point;

  return point >= 0 && e->given.feeds->points[point].what == FEEDS_OPENING;
}

/* As measured, whatever the scene counts it as. */
static double reads_m(const struct errands *e, const struct judge_seen *seen, int station)
{
  int point = seen->belief->stations[station].sash_point;

  return reads_opening(e, seen, station) ? seen->belief->inputs[point].newest.si : (double)NAN;
}

static void look(const struct errands *e, const struct judge_seen *seen, struct errand *errand)
{
  int point = seen->belief->stations[errand->station].sash_point;

  errand->measures = point >= 0;
  errand->reads_m = reads_m(e, seen, errand->station);
  errand->reads_age_s = point >= 0 ? seen->belief->inputs[point].age_s : (double)NAN;
}

bool errand_is_there(const struct errands *e, const struct judge_seen *seen, int station,
                     const struct air_lower *what)
{
  const struct facility_station *s = &seen->facility->stations[station];
  double to_m = what->has_to_m ? what->to_m : s->parked_m;

  if (seen->belief->stations[station].sash_point < 0)
    return false;
  if (reads_opening(e, seen, station) && s->has_openings)
    return reads_m(e, seen, station) <= to_m + e->given.feeds->lower.reached_m;
  return !seen->belief->scene.stations[station].raised;
}

/* ---- one judgement ---- */

static void end(struct errands *e, struct errand *errand, enum errand_state state,
                const char *because, int64_t t_ms, double again_s)
{
  errand->until_ms = again_s > 0 ? t_ms + errand_ms(again_s) : INT64_MIN;
  errand_turn(e, errand, state, because, t_ms);
}

static void look_for_movement(struct errands *e, const struct judge_seen *seen,
                              struct errand *errand)
{
  if (errand->state != ERRAND_ASKED || !isfinite(errand->reads_m))
    return;
  errand->from_m = fmax(errand->from_m, errand->reads_m);
  if (errand->reads_m < errand->from_m - e->given.feeds->lower.moves_m) {
    errand->moved_ms = seen->t_ms;
    errand_turn(e, errand, ERRAND_MOVING, NULL, seen->t_ms);
  }
}

static const char *not_needed_why(const struct errands *e, const struct judge_seen *seen,
                                  const struct errand *errand)
{
  if (seen->belief->stop)
    return "all work is stopped";
  if (!e->advises)
    return seen->verdict->state == FACILITY_NOT_KNOWN ? "it is not known whether the air is short"
                                                      : "an alarm outranks it";
  if (!e->is_short)
    return "the air is no longer short";
  if (errand_barred(seen, errand->station, &errand->what))
    return errand_barred(seen, errand->station, &errand->what);
  return errand->state == ERRAND_ASKED && !errand_is_named(e, errand->station) ? "others help now"
                                                                               : NULL;
}

static void follow_one(struct errands *e, const struct judge_seen *seen, struct errand *errand)
{
  const struct feeds_lower *s = &e->given.feeds->lower;
  const char *why;

  look(e, seen, errand);
  look_for_movement(e, seen, errand);
  if (errand_is_there(e, seen, errand->station, &errand->what)) {
    if (errand->moved_ms == INT64_MIN) { /* between two readings */
      errand->moved_ms = seen->t_ms;
      errand_turn(e, errand, ERRAND_MOVING, NULL, seen->t_ms);
    }
    end(e, errand, ERRAND_DONE, "measured", seen->t_ms, s->again_s);
    return;
  }
  why = not_needed_why(e, seen, errand);
  if (why)
    end(e, errand, ERRAND_NOT_NEEDED, why, seen->t_ms, e->advises ? s->hold_s : 0);
  else if (seen->t_ms - errand->asked_ms >= errand_ms(s->within_s))
    end(e, errand, ERRAND_NOT_ANSWERED,
        errand->state == ERRAND_MOVING ? "it came down, not to its mark"
                                       : "nobody answered in time",
        seen->t_ms, s->again_s);
}

void errand_follow(struct errands *e, const struct judge_seen *seen)
{
  for (int i = 0; i < e->given.facility->station_count; i++)
    if (e->has[i] && errand_is_open(&e->items[i]))
      follow_one(e, seen, &e->items[i]);
}

/* ---- asking ---- */

static void because_words(const struct judge_seen *seen, int station, char *out, size_t size)
{
  const struct facility *f = seen->facility;
  const char *name = NULL;

  for (int p = 0; p < f->main_count + f->supply_count && !name; p++)
    if (seen->verdict->pools[p] == FACILITY_SHORT && air_pool_has_station(f, p, station))
      name = p < f->main_count ? f->mains[p].part.name : f->supplies[p - f->main_count].part.name;
  snprintf(out, size, "%s is short", name ? name : "The shared air");
  utf8_mend_end(out);
}

static void ask(struct errands *e, const struct judge_seen *seen, const struct air_lower *what)
{
  struct errand *errand = &e->items[what->station];

  *errand = (struct errand){.station = what->station,
                            .state = ERRAND_ASKED,
                            .asked_ms = seen->t_ms,
                            .since_ms = seen->t_ms,
                            .moved_ms = INT64_MIN,
                            .until_ms = INT64_MIN,
                            .said_ms = INT64_MIN,
                            .what = *what};
  look(e, seen, errand);
  errand->from_m = errand->reads_m;
  because_words(seen, what->station, errand->because, sizeof errand->because);
  e->has[what->station] = true;
  errand_turn(e, errand, ERRAND_ASKED, NULL, seen->t_ms);
}

static bool may_be_asked(const struct errands *e, int station, int64_t t_ms)
{
  const struct errand *errand = &e->items[station];

  return !e->has[station] || (!errand_is_open(errand) && t_ms >= errand->until_ms);
}

void errand_ask(struct errands *e, const struct judge_seen *seen)
{
  const struct feeds_lower *s = &e->given.feeds->lower;
  int open = 0;

  if (!e->is_short || !e->advises || seen->t_ms - e->short_since_ms < errand_ms(s->ask_after_s))
    return;
  for (int i = 0; i < e->given.facility->station_count; i++)
    open += e->has[i] && errand_is_open(&e->items[i]);
  for (int i = 0; i < e->named_count && open < s->most; i++)
    if (may_be_asked(e, e->named[i].station, seen->t_ms)) {
      ask(e, seen, &e->named[i]);
      open++;
    }
}

/* ---- what a person pressed ---- */

static void take_done(struct errands *e, struct errand *errand, int64_t t_ms)
{
  errand->said_ms = t_ms;
  if (errand->measures) /* the sash itself says when it is there */
    errand_tell(e, errand, t_ms);
  else
    end(e, errand, ERRAND_DONE, "as said: nothing measures its sash", t_ms,
        e->given.feeds->lower.again_s);
}

static void take_cannot(struct errands *e, struct errand *errand, int64_t t_ms)
{
  struct buf clock;

  buf_init(&clock, 64);
  when_print(&clock, e->given.zone ? e->given.zone : when_utc(), t_ms);
  snprintf(e->needs[errand->station], sizeof e->needs[errand->station], "%s%s%s, said at %.5s",
           errand->text, errand->who[0] ? ", " : "", errand->who, clock.text + 11);
  buf_release(&clock);
  end(e, errand, ERRAND_CANNOT, NULL, t_ms, e->given.feeds->lower.cannot_s);
}

enum err_code errands_answer(struct errands *e, const struct errand_answer *answer, struct err *err)
{
  struct errand *errand = &e->items[answer->station];
  const char *id = e->given.facility->stations[answer->station].part.id;

  if (!e->has[answer->station] || !errand_is_open(errand))
    return err_set(err, ERR_INPUT, "nothing is asked at %s now", id);
  if (!answer->done && !answer->text[0])
    return err_set(err, ERR_INPUT, "why can %s not be lowered? Give a reason", id);
  snprintf(errand->who, sizeof errand->who, "%s", answer->who);
  snprintf(errand->text, sizeof errand->text, "%s", answer->text);
  utf8_mend_end(errand->who);
  utf8_mend_end(errand->text);
  if (answer->done)
    take_done(e, errand, answer->t_ms);
  else
    take_cannot(e, errand, answer->t_ms);
  return ERR_OK;
}

void errands_restore(struct errands *e, const struct errand *errand)
{
  struct errand *item = &e->items[errand->station];
  int64_t until_ms = errand->until_ms;

  *item = *errand;
  e->has[errand->station] = true;
  if (errand_is_open(errand)) /* and the act goes on naming it */
    e->named[e->named_count++] = errand->what;
  if (errand->state == ERRAND_CANNOT && until_ms != INT64_MIN) {
    struct errands_tally before = e->tally;
    void (*turned)(void *, const struct errands *, const struct errand *, int64_t) =
        e->given.turned;

    e->given.turned = NULL; /* it was told when it was so */
    take_cannot(e, item, errand->since_ms);
    e->given.turned = turned;
    e->tally = before;
    item->until_ms = until_ms;
  }
}
