/* The record as readings, and when that is due. */
#include "nightly/nightly.h"

#include <math.h>
#include <string.h>

int64_t nightly_from_ms(const struct facility *facility, int64_t to_ms)
{
  return to_ms - llround(facility->match.back_s * 1e3);
}

/* ---- out of the record ---- */

struct reading {
  const struct nightly_asked *asked;
  struct match_trend *trend;
  void (*give)(struct match_trend *trend, const struct feed_observation *observation);
  long rows;
  int64_t newest_ms; /* of a number; INT64_MIN: none came */
  bool stopped;
};

enum { ASK_ROWS = 1024 }; /* whether it goes on is asked so often */

/* As it was seen then: what came late is in its place. */
static void take(void *arg, const struct feed_observation *observation)
{
  struct reading *r = arg;
  struct feed_observation o = *observation;

  if (r->rows++ % ASK_ROWS == 0 && r->asked->goes_on && !r->asked->goes_on(r->asked->arg))
    r->stopped = true;
  if (r->stopped)
    return;
  if (isfinite(o.si) && o.t_ms > r->newest_ms)
    r->newest_ms = o.t_ms;
  o.seen_ms = o.t_ms;
  r->give(r->trend, &o);
}

static enum err_code give_all(struct reading *r, struct err *err)
{
  const struct nightly_asked *asked = r->asked;
  const struct feed_sink sink = {take, r};
  enum err_code code =
      record_replay(asked->record, asked->from_ms, asked->to_ms, asked->known_ms, &sink, err);

  if (code == ERR_OK && r->stopped)
    code = err_set(err, ERR_LIMIT, "the match was ended before the record was read");
  return code;
}

/* A source that has fallen silent leaves the days before it, which go on matching. */
static bool tell_silence(const struct reading *r, struct match_readings *readings,
                         struct arena *arena)
{
  const struct nightly_asked *asked = r->asked;
  double silent_s = (double)(asked->to_ms - r->newest_ms) * 1e-3;
  size_t count = (size_t)readings->note_count;
  const char **notes = ARENA_ARRAY(arena, const char *, count + 1);
  struct buf span;

  if (r->newest_ms == INT64_MIN || silent_s <= asked->facility->match.steady_s)
    return true;
  buf_init(&span, 60);
  when_print_span(&span, silent_s);
  if (notes &&
      (notes[0] = arena_printf(arena,
                               "the last %s of the stretch, in which nothing came: what is "
                               "said is of before",
                               span.text))) {
    memcpy(notes + 1, readings->notes, count * sizeof *notes);
    readings->notes = notes;
    readings->note_count++;
  }
  buf_release(&span);
  return readings->notes == notes;
}

enum err_code nightly_readings(const struct nightly_asked *asked, struct arena *arena,
                               struct match_readings **out, struct err *err)
{
  const struct match_trend_job job = {.facility = asked->facility,
                                      .feeds = asked->feeds,
                                      .zone = asked->zone ? asked->zone : when_utc(),
                                      .file = asked->file};
  struct reading r = {.asked = asked,
                      .trend = match_trend_new(&job, arena),
                      .give = match_trend_look,
                      .newest_ms = INT64_MIN};
  struct match_readings *readings;
  enum err_code code = r.trend ? give_all(&r, err) : ERR_OK;

  r.give = match_trend_take;
  if (r.trend && code == ERR_OK)
    code = give_all(&r, err);
  readings = match_trend_end(r.trend);
  if (code != ERR_OK)
    return code;
  if (!readings || !tell_silence(&r, readings, arena))
    return err_set(err, ERR_LIMIT, "the stretch needs more memory than set aside for it");
  readings->source = "record";
  *out = readings;
  return ERR_OK;
}

enum err_code nightly_match(const struct nightly_asked *asked, const struct scene *scene,
                            struct arena *arena, struct match_result **out, struct err *err)
{
  const struct match_options options = {
      .scene = scene, .goes_on = asked->goes_on, .arg = asked->arg};
  struct match_readings *readings;
  enum err_code code = nightly_readings(asked, arena, &readings, err);

  if (code != ERR_OK)
    return code;
  *out = match_fit(asked->facility, readings, &options, arena, err);
  return *out ? ERR_OK : err->code;
}

/* ---- when ---- */

static const int64_t hour_ms = 3600 * 1000;

static int64_t due_on_day_of_ms(int minute, const struct when_zone *zone, int64_t t_ms)
{
  struct when_civil at = when_civil(zone, t_ms, NULL);
  int64_t first_ms = 0, second_ms;

  at.hour = minute / 60;
  at.minute = minute % 60;
  at.second = at.millisecond = 0;
  if (when_of(zone, &at, &first_ms, &second_ms) != WHEN_NEVER)
    return first_ms;
  at.hour = (at.hour + 1) % 24;
  return when_of(zone, &at, &first_ms, &second_ms) != WHEN_NEVER ? first_ms : t_ms - hour_ms;
}

int64_t nightly_due_ms(const struct facility *facility, const struct when_zone *zone, int64_t t_ms)
{
  int minute = facility->match.nightly_min;
  int64_t due_ms;

  if (minute < 0)
    return INT64_MIN;
  zone = zone ? zone : when_utc();
  due_ms = due_on_day_of_ms(minute, zone, t_ms);
  for (int back_h = 23; due_ms > t_ms && back_h <= 25; back_h += 2) /* a day has 23 to 25 hours */
    due_ms = due_on_day_of_ms(minute, zone, due_ms - back_h * hour_ms);
  return due_ms;
}
