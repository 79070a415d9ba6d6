/* A span of the record through a judge, as the board would have seen it had every value come at once. */
#include "past/past_impl.h"

#include <math.h>

enum { ENTRIES_MOST = 100000 };

/* What held before the span is heard for so long, so that ages, dwell times and levels that are held
 * stand as they would have. */
int64_t past_warm_up_ms(const struct past_place *place)
{
  static const double longest_s = 6 * 3600.0;
  const struct facility *f = place->facility;
  double wanted_s = 0;

  for (int i = 0; i < place->feeds->point_count; i++)
    wanted_s = fmax(wanted_s, place->feeds->points[i].old_after_s);
  for (int i = 0; i < f->main_count; i++)
    wanted_s = fmax(wanted_s, fmax(f->mains[i].declared.near_limit.dwell_s,
                                   f->mains[i].declared.shortage.dwell_s));
  for (int i = 0; i < f->supply_count; i++)
    wanted_s = fmax(wanted_s, fmax(f->supplies[i].declared.near_limit.dwell_s,
                                   f->supplies[i].declared.shortage.dwell_s));
  return llround(fmin(wanted_s, longest_s) * 1000);
}

struct run {
  struct judge *judge;
  struct watch *watch;
  const struct facility *facility;
  past_seen_fn *seen;
  void *arg;
  const struct past_place *place;
  bool enough, stopped;
  int64_t at_ms;                   /* what came for this moment is not judged yet */
  struct record_entry *out, *back; /* withdrawn, released */
  int out_count, back_count, out_at, back_at;
};

static void forward(void *arg, const struct judge_seen *seen)
{
  struct run *r = arg;

  if (r->place->goes_on && !r->place->goes_on(r->place->arg))
    r->enough = r->stopped = true;
  if (!r->enough)
    r->enough = !r->seen(r->arg, seen, judge_now(r->judge).changes);
}

static void turn_to(struct run *r, int64_t t_ms)
{
  if (t_ms <= r->at_ms || r->enough)
    return;
  judge_at(r->judge, r->at_ms, true);
  judge_until(r->judge, t_ms);
  r->at_ms = t_ms;
}

/* Withdrawals and releases in order of time; of one moment as they were written. */
static const struct record_entry *next_entry(const struct run *r)
{
  const struct record_entry *out = r->out_at < r->out_count ? &r->out[r->out_at] : NULL;
  const struct record_entry *back = r->back_at < r->back_count ? &r->back[r->back_at] : NULL;

  if (!out || !back)
    return out ? out : back;
  if (out->t_ms != back->t_ms)
    return out->t_ms < back->t_ms ? out : back;
  return out->number < back->number ? out : back;
}

static void step_to(struct run *r, int64_t t_ms)
{
  for (const struct record_entry *e = next_entry(r); e && e->t_ms <= t_ms; e = next_entry(r)) {
    int station = past_withdrawal_station(r->facility, e);
    bool withdrawn = e->kind == RECORD_WITHDRAWN;

    turn_to(r, e->t_ms);
    if (station >= 0)
      watch_withdraw(r->watch, station, withdrawn);
    r->out_at += withdrawn;
    r->back_at += !withdrawn;
  }
  turn_to(r, t_ms);
}

static void take(void *arg, const struct feed_observation *o)
{
  struct run *r = arg;

  if (r->enough)
    return;
  step_to(r, o->t_ms);
  watch_take(r->watch, o);
}

static enum err_code find_withdrawals(struct run *r, const struct past_place *place,
                                      const struct past_span *span, struct arena *arena,
                                      struct err *err)
{
  struct record_wanted wanted = {.from_ms = INT64_MIN,
                                 .to_ms = span->to_ms,
                                 .kind = RECORD_WITHDRAWN,
                                 .known_ms = span->known_ms,
                                 .most = ENTRIES_MOST};
  enum err_code code = record_entries(place->record, &wanted, arena, &r->out, &r->out_count, err);

  wanted.kind = RECORD_RELEASED;
  if (code == ERR_OK)
    code = record_entries(place->record, &wanted, arena, &r->back, &r->back_count, err);
  return code;
}

static enum err_code run_through(struct run *r, const struct past_place *place,
                                 const struct past_span *span, struct err *err)
{
  const struct feed_sink sink = {take, r};
  enum err_code code =
      record_replay(place->record, r->at_ms, span->to_ms, span->known_ms, &sink, err);

  if (code != ERR_OK)
    return code;
  step_to(r, span->to_ms);
  return r->stopped ? err_set(err, ERR_LIMIT, "it was ended before it was done") : ERR_OK;
}

enum err_code past_judge_span(const struct past_place *place, const struct past_span *span,
                              past_seen_fn *seen, void *arg, struct err *err)
{
  struct run r = {.place = place,
                  .facility = place->facility,
                  .seen = seen,
                  .arg = arg,
                  .at_ms = span->from_ms - past_warm_up_ms(place)};
  struct judge_settings settings = {.facility = place->facility,
                                    .feeds = place->feeds,
                                    .zone = place->zone,
                                    .seen = forward,
                                    .arg = &r};
  struct arena arena;
  enum err_code code;

  arena_init(&arena, (size_t)256 << 20);
  r.watch = settings.watch = watch_new(place->facility, place->feeds);
  code = judge_new(&settings, &r.judge, err);
  if (code == ERR_OK)
    code = find_withdrawals(&r, place, span, &arena, err);
  if (code == ERR_OK)
    code = run_through(&r, place, span, err);
  judge_free(r.judge);
  watch_free(r.watch);
  arena_release(&arena);
  return code;
}
