/* What happened at a station: stretches of each of its signals, and what they add up to. */
#include "past/past_impl.h"

#include <math.h>
#include <string.h>

enum { PIECES_FIRST = 64, PIECES_MOST = 1 << 20, ENTRIES_MOST = 20000 };

/* What counts as the same: common practice for what a person calls one state, no source. */
static const double same_resolutions = 2.0, same_ratio = 0.1;

struct builder { /* of one signal */
  struct arena *arena;
  const struct past_place *place;
  const struct feeds_point *point;
  const struct facility_station *station;
  struct past_span span;
  struct past_signal *signal;
  int64_t at_ms;   /* told so far */
  int64_t kept_ms; /* single values of before are not kept any more; INT64_MIN: all are */
  bool any, has_value;
  struct feed_observation last;
  double value_si;            /* the newest measured one */
  int64_t value_ms, other_ms; /* its time; that of the newest that differs from it, or the oldest */
  bool full;
};

/* ---- pieces ---- */

/* By the words of watch.h, "How far up a sash is", 1 and 2. */
static bool is_raised(const struct builder *b, double si)
{
  const struct facility_station *s = b->station;

  if (!b->signal->tells_sash)
    return false;
  if (b->point->what == FEEDS_OPENING)
    return si > s->parked_m + b->point->resolution_si;
  return fabs(si - s->work_m3_s) < fabs(si - s->parked_m3_s);
}

static bool goes_on(const struct builder *b, const struct past_piece *last,
                    const struct past_piece *next)
{
  double low_si = fmin(last->low_si, next->low_si), high_si = fmax(last->high_si, next->high_si);
  double allowed_si = fmax(same_resolutions * b->point->resolution_si,
                           same_ratio * fmax(fabs(last->low_si), fabs(last->high_si)));

  if (last->known != next->known)
    return false;
  if (!next->known)
    return strcmp(last->why, next->why) == 0;
  if (last->raised != next->raised)
    return false;
  if (b->point->yes_no || b->point->count)
    return !(high_si > low_si);
  return high_si - low_si <= allowed_si * (1 + 1e-9);
}

static struct past_piece *room_for_one(struct builder *b)
{
  struct past_signal *s = b->signal;

  if (s->count == s->room) {
    int room = s->room ? 2 * s->room : PIECES_FIRST;
    struct past_piece *more =
        room > PIECES_MOST ? NULL : ARENA_ARRAY(b->arena, struct past_piece, (size_t)room);

    if (!more) {
      b->full = true;
      return NULL;
    }
    if (s->count > 0)
      memcpy(more, s->list, (size_t)s->count * sizeof *more);
    s->list = more;
    s->room = room;
  }
  return &s->list[s->count++];
}

/* From where the last piece ends until to_ms. */
static void add(struct builder *b, int64_t to_ms, struct past_piece piece)
{
  struct past_signal *s = b->signal;
  struct past_piece *last = s->count > 0 ? &s->list[s->count - 1] : NULL;

  if (to_ms > b->span.to_ms)
    to_ms = b->span.to_ms;
  if (to_ms <= b->at_ms || b->full)
    return;
  piece.from_ms = b->at_ms;
  piece.to_ms = b->at_ms = to_ms;
  if (last && goes_on(b, last, &piece)) {
    last->to_ms = to_ms;
    last->low_si = fmin(last->low_si, piece.low_si);
    last->high_si = fmax(last->high_si, piece.high_si);
    return;
  }

  struct past_piece *next = room_for_one(b);

  if (next)
    *next = piece;
}

static void add_unknown(struct builder *b, int64_t to_ms, const char *why)
{
  static const char gone[] = "not kept any more";
  int64_t gone_ms = to_ms < b->kept_ms ? to_ms : b->kept_ms;

  if (!why) {
    b->full = true;
    return;
  }
  add(b, gone_ms, (struct past_piece){.why = gone, .low_si = (double)NAN, .high_si = (double)NAN});
  add(b, to_ms, (struct past_piece){.why = why, .low_si = (double)NAN, .high_si = (double)NAN});
}

static const char *longer_than(struct builder *b, const char *what, double span_s)
{
  struct buf words;

  buf_init(&words, 64);
  when_print_span(&words, span_s);

  const char *text = arena_printf(b->arena, "%s for longer than %s", what, words.text);

  buf_release(&words);
  return text;
}

/* ---- from observations ---- */

static bool is_measured(const struct feed_observation *o)
{
  return (o->quality == FEED_GOOD || o->quality == FEED_OLD) && isfinite(o->si);
}

static int64_t plus_ms(int64_t t_ms, double span_s)
{
  return span_s < 1e12 ? t_ms + llround(span_s * 1000) : INT64_MAX;
}

static void tell_value(struct builder *b, int64_t to_ms)
{
  double frozen_s = b->place->feeds->sources[b->point->source].frozen_after_s;
  bool may_freeze = frozen_s > 0 && !b->point->yes_no && !b->point->count;
  int64_t held_ms = plus_ms(b->last.t_ms, b->point->old_after_s);
  int64_t frozen_ms = may_freeze ? plus_ms(b->other_ms, frozen_s) : INT64_MAX;
  int64_t until_ms = held_ms < to_ms ? held_ms : to_ms;
  bool raised = is_raised(b, b->last.si);

  add(b, until_ms < frozen_ms ? until_ms : frozen_ms,
      (struct past_piece){
          .known = true, .low_si = b->last.si, .high_si = b->last.si, .raised = raised});
  if (frozen_ms < until_ms)
    add_unknown(b, until_ms, longer_than(b, "frozen: it has not moved at all", frozen_s));
  if (held_ms < to_ms)
    add_unknown(b, to_ms, longer_than(b, "nothing came", b->point->old_after_s));
}

static void tell_until(struct builder *b, int64_t to_ms)
{
  if (!b->any)
    add_unknown(b, to_ms, "nothing was heard");
  else if (is_measured(&b->last))
    tell_value(b, to_ms);
  else
    add_unknown(b, to_ms, arena_printf(b->arena, "%s", feed_quality_name(b->last.quality)));
}

static void take(void *arg, const struct feed_observation *o)
{
  struct builder *b = arg;

  if (o->quality == FEED_FUTURE || o->quality == FEED_UNTIMED)
    return;
  tell_until(b, o->t_ms);
  if (is_measured(o)) {
    if (!b->has_value)
      b->other_ms = o->t_ms;
    else if (b->value_si < o->si || b->value_si > o->si)
      b->other_ms = b->value_ms;
    b->value_si = o->si;
    b->value_ms = o->t_ms;
    b->has_value = true;
  }
  b->last = *o;
  b->any = true;
}

static enum err_code build(struct builder *b, struct err *err)
{
  const struct feed_sink sink = {take, b};
  enum err_code code = record_samples(b->place->record, b->signal->point, b->span.from_ms,
                                      b->span.to_ms, b->span.known_ms, &sink, err);

  if (code == ERR_OK)
    tell_until(b, b->span.to_ms);
  if (code == ERR_OK && b->full)
    code = err_set(err, ERR_LIMIT, "too many changes for one timeline: ask for a shorter span");
  return code;
}

/* ---- which signals ---- */

static bool has_opening(const struct feeds *feeds, int station)
{
  for (int i = 0; i < feeds->point_count; i++)
    if (feeds->points[i].of == FEEDS_OF_STATION && feeds->points[i].index == station &&
        feeds->points[i].what == FEEDS_OPENING)
      return true;
  return false;
}

static bool tells_sash(const struct past_place *place, int station, const struct feeds_point *p)
{
  return p->what == FEEDS_OPENING ||
         (p->what == FEEDS_FLOW && !has_opening(place->feeds, station) &&
          place->facility->stations[station].flow == FACILITY_TWO_STATE);
}

static enum err_code find_signals(const struct past_place *place, struct past_timeline *out,
                                  struct arena *arena, struct err *err)
{
  const struct feeds *feeds = place->feeds;

  out->signals = ARENA_ARRAY(arena, struct past_signal, (size_t)feeds->point_count + 1);
  if (!out->signals)
    return err_set(err, ERR_LIMIT, "too many points for one timeline");
  for (int i = 0; i < feeds->point_count; i++)
    if (feeds->points[i].of == FEEDS_OF_STATION && feeds->points[i].index == out->station)
      out->signals[out->signal_count++] = (struct past_signal){
          .point = i, .tells_sash = tells_sash(place, out->station, &feeds->points[i])};
  return ERR_OK;
}

/* ---- sums ---- */

/* The first signal of that kind, or NULL. */
static const struct past_signal *signal_of(const struct past_place *place,
                                           const struct past_timeline *t, enum feeds_what what)
{
  for (int i = 0; i < t->signal_count; i++)
    if (place->feeds->points[t->signals[i].point].what == what)
      return &t->signals[i];
  return NULL;
}

static const struct past_signal *sash_of(const struct past_timeline *t)
{
  for (int i = 0; i < t->signal_count; i++)
    if (t->signals[i].tells_sash)
      return &t->signals[i];
  return NULL;
}

static double seconds(const struct past_piece *p)
{
  return (double)(p->to_ms - p->from_ms) * 1e-3;
}

static double overlap_s(const struct past_piece *a, const struct past_piece *b)
{
  int64_t from_ms = a->from_ms > b->from_ms ? a->from_ms : b->from_ms;
  int64_t to_ms = a->to_ms < b->to_ms ? a->to_ms : b->to_ms;

  return to_ms > from_ms ? (double)(to_ms - from_ms) * 1e-3 : 0.0;
}

static void sum_sash(const struct past_signal *sash, struct past_summary *sum)
{
  bool was_raised = false;

  sum->raised_s = sum->sash_not_known_s = 0;
  for (int i = 0; i < sash->count; i++) {
    const struct past_piece *p = &sash->list[i];

    if (p->known && p->raised) {
      sum->raised_s += seconds(p);
      sum->raised_count += !was_raised;
    }
    if (!p->known)
      sum->sash_not_known_s += seconds(p);
    else
      was_raised = p->raised; /* over a gap it is taken as one time */
  }
}

static void sum_presence(const struct past_signal *sash, const struct past_signal *presence,
                         struct past_summary *sum)
{
  int k = 0;

  sum->raised_nobody_s = sum->raised_presence_not_known_s = 0;
  for (int i = 0; i < sash->count; i++) {
    const struct past_piece *up = &sash->list[i];

    if (!up->known || !up->raised)
      continue;
    while (k < presence->count && presence->list[k].to_ms <= up->from_ms)
      k++;
    for (int n = k; n < presence->count && presence->list[n].from_ms < up->to_ms; n++) {
      const struct past_piece *there = &presence->list[n];

      if (!there->known)
        sum->raised_presence_not_known_s += overlap_s(up, there);
      else if (there->high_si < 0.5)
        sum->raised_nobody_s += overlap_s(up, there);
    }
  }
}

static void sum_alarm(const struct past_signal *alarm, struct past_summary *sum)
{
  sum->own_alarm_s = 0;
  for (int i = 0; i < alarm->count; i++)
    if (alarm->list[i].known && alarm->list[i].high_si > 0.5) {
      sum->own_alarm_s += seconds(&alarm->list[i]);
      sum->own_alarm_count++;
    }
}

static void sum_up(const struct past_place *place, struct past_timeline *t)
{
  const struct past_signal *sash = sash_of(t), *presence = signal_of(place, t, FEEDS_PRESENCE),
                           *alarm = signal_of(place, t, FEEDS_ALARM);
  struct past_summary *sum = &t->sum;

  *sum = (struct past_summary){.raised_s = (double)NAN,
                               .sash_not_known_s = (double)NAN,
                               .raised_nobody_s = (double)NAN,
                               .raised_presence_not_known_s = (double)NAN,
                               .own_alarm_s = (double)NAN};
  if (sash)
    sum_sash(sash, sum);
  if (sash && presence)
    sum_presence(sash, presence, sum);
  if (alarm)
    sum_alarm(alarm, sum);
  for (int i = 0; i < t->signal_count; i++)
    for (int k = 0; k < t->signals[i].count; k++)
      t->any_known = t->any_known || t->signals[i].list[k].known;
}

/* ---- asking ---- */

enum err_code past_timeline_ask(const struct past_place *place, int station,
                                const struct past_span *span, struct arena *arena,
                                struct past_timeline *out, struct err *err)
{
  const struct record_wanted wanted = {.from_ms = span->from_ms,
                                       .to_ms = span->to_ms,
                                       .about = place->facility->stations[station].part.id,
                                       .kind = -1,
                                       .known_ms = span->known_ms,
                                       .most = ENTRIES_MOST};
  enum err_code code;

  *out = (struct past_timeline){.station = station, .span = *span};
  code = find_signals(place, out, arena, err);
  for (int i = 0; code == ERR_OK && i < out->signal_count; i++) {
    struct builder b = {.arena = arena,
                        .place = place,
                        .point = &place->feeds->points[out->signals[i].point],
                        .station = &place->facility->stations[station],
                        .span = *span,
                        .signal = &out->signals[i],
                        .at_ms = span->from_ms,
                        .kept_ms = past_kept_ms(place, span->from_ms)};

    code = build(&b, err);
  }
  if (code == ERR_OK)
    code = record_entries(place->record, &wanted, arena, &out->entries, &out->entry_count, err);
  if (code == ERR_OK)
    sum_up(place, out);
  return code;
}
