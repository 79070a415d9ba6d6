/*
 * A night's samples as steps.  A value says something until the next one; of a source that says every
 * so often, no longer than that where the next one does not come: so a row that is missing is a gap,
 * and not a value that stood a little longer.
 */
#include "past/night_impl.h"

#include <math.h>
#include <string.h>

enum { STEPS_FIRST = 64, STEPS_MOST = 1 << 20, GAPS_MOST = 100000 };
static const double late_ratio = 1.5; /* a little late is no gap; common practice, no source */

/* ---- one point ---- */

struct track {
  struct energy_step *steps;
  const char **why; /* beside each; NULL: known */
  int count, room;
};

struct builder {
  const struct past_place *place;
  const struct feeds_point *point;
  const struct past_span *span;
  struct arena *arena;
  struct track *track;
  bool any, has_value;
  struct feed_observation last;
  double value_si;
  int64_t value_ms, other_ms; /* of the newest value; of the newest that differs, or the oldest */
  bool full;
};

static void put(struct builder *b, int64_t t_ms, double si, const char *why)
{
  struct track *t = b->track;

  if (t_ms < b->span->from_ms)
    t_ms = b->span->from_ms;
  if (t_ms >= b->span->to_ms || b->full)
    return;
  if (t->count > 0 && t->steps[t->count - 1].from_ms >= t_ms)
    t->count--; /* of one moment, or of before the span: the later one stays */
  if (t->count == t->room) {
    int room = t->room ? 2 * t->room : STEPS_FIRST;
    struct energy_step *steps =
        room > STEPS_MOST ? NULL : ARENA_ARRAY(b->arena, struct energy_step, (size_t)room);
    const char **whys = steps ? ARENA_ARRAY(b->arena, const char *, (size_t)room) : NULL;

    b->full = !whys;
    if (b->full)
      return;
    if (t->count > 0) {
      memcpy(steps, t->steps, (size_t)t->count * sizeof *steps);
      memcpy(whys, t->why, (size_t)t->count * sizeof *whys);
    }
    *t = (struct track){steps, whys, t->count, room};
  }
  t->steps[t->count] = (struct energy_step){t_ms, why == NULL, why ? (double)NAN : si};
  t->why[t->count++] = why;
}

static int64_t plus_ms(int64_t t_ms, double span_s)
{
  return span_s < 1e12 ? t_ms + llround(span_s * 1000) : INT64_MAX;
}

static bool is_measured(const struct feed_observation *o)
{
  return (o->quality == FEED_GOOD || o->quality == FEED_OLD) && isfinite(o->si);
}

/* Until the next one, at to_ms. */
static void end_of_value(struct builder *b, int64_t to_ms)
{
  const struct feeds_source *source = &b->place->feeds->sources[b->point->source];
  double every_s = source->every_s, old_s = b->point->old_after_s;
  double due_s = every_s > 0 ? fmin(every_s * late_ratio, old_s) : old_s;
  bool may_freeze = source->frozen_after_s > 0 && !b->point->yes_no && !b->point->count;
  int64_t frozen_ms = may_freeze ? plus_ms(b->other_ms, source->frozen_after_s) : INT64_MAX;

  if (!b->any || !is_measured(&b->last))
    return;
  if (to_ms > plus_ms(b->last.t_ms, due_s))
    put(b, plus_ms(b->last.t_ms, every_s > 0 ? fmin(every_s, old_s) : old_s), 0, "nothing came");
  if (frozen_ms < to_ms && frozen_ms > b->last.t_ms)
    put(b, frozen_ms, 0, "frozen: it has not moved at all");
}

/* What contradicts the suite is not known; by the words of watch.h. */
static const char *contradicts(const struct builder *b, double si)
{
  const struct facility_station *s = &b->place->facility->stations[b->point->index];

  if (b->point->what != FEEDS_OPENING)
    return NULL;
  if (si < -b->point->resolution_si ||
      (s->has_openings && si > s->most_m + b->point->resolution_si))
    return "contradicts the suite: no sash goes there";
  return NULL;
}

static void take(void *arg, const struct feed_observation *o)
{
  struct builder *b = arg;
  const char *why = is_measured(o) ? contradicts(b, o->si) : feed_quality_name(o->quality);

  if (o->quality == FEED_FUTURE || o->quality == FEED_UNTIMED)
    return;
  end_of_value(b, o->t_ms);
  if (is_measured(o)) {
    bool other = !b->has_value || b->value_si < o->si || b->value_si > o->si;

    if (other)
      b->other_ms = b->has_value ? b->value_ms : o->t_ms;
    b->value_si = o->si;
    b->value_ms = o->t_ms;
    b->has_value = true;
  }
  put(b, o->t_ms, o->si, why);
  b->last = *o;
  b->any = true;
}

static enum err_code read_point(const struct past_place *place, int point,
                                const struct past_span *span, struct arena *arena,
                                struct track *out, struct err *err)
{
  struct builder b = {.place = place,
                      .point = &place->feeds->points[point],
                      .span = span,
                      .arena = arena,
                      .track = out};
  const struct feed_sink sink = {take, &b};
  enum err_code code;

  *out = (struct track){0};
  put(&b, span->from_ms, 0, "nothing was heard");
  code =
      record_samples(place->record, point, span->from_ms, span->to_ms, span->known_ms, &sink, err);
  if (code == ERR_OK)
    end_of_value(&b, span->to_ms);
  if (code == ERR_OK && b.full)
    code = err_set(err, ERR_LIMIT, "too many samples for one night");
  return code;
}

/* ---- several points of one thing ---- */

enum { TOGETHER_MOST = 64 }; /* a fan has no more units */

struct together {
  int count;
  struct track tracks[TOGETHER_MOST];
  double resolution_si[TOGETHER_MOST];
};

typedef const char *fold_fn(const struct together *t, const int *at, double *si_out);

/* The newest of those that are known; not known where two disagree by more than both resolutions. */
static const char *agree(const struct together *t, const int *at, double *si_out)
{
  const char *why = NULL;
  int best = -1;

  for (int i = 0; i < t->count; i++) {
    const struct energy_step *s = &t->tracks[i].steps[at[i]];

    if (!s->known)
      why = why ? why : t->tracks[i].why[at[i]];
    else if (best < 0 || s->from_ms > t->tracks[best].steps[at[best]].from_ms)
      best = i;
  }
  if (best < 0)
    return why;
  *si_out = t->tracks[best].steps[at[best]].si;
  for (int i = 0; i < t->count; i++) {
    const struct energy_step *s = &t->tracks[i].steps[at[i]];

    if (s->known && fabs(s->si - *si_out) > t->resolution_si[i] + t->resolution_si[best])
      return "two points contradict each other";
  }
  return NULL;
}

/* Units that run, added up. */
static const char *add_up(const struct together *t, const int *at, double *si_out)
{
  *si_out = 0;
  for (int i = 0; i < t->count; i++) {
    if (!t->tracks[i].steps[at[i]].known)
      return t->tracks[i].why[at[i]];
    *si_out += t->tracks[i].steps[at[i]].si;
  }
  return NULL;
}

static bool fold(struct together *t, fold_fn *how, const struct past_span *span,
                 struct arena *arena, struct track *out)
{
  struct builder b = {.span = span, .arena = arena, .track = out};
  int at[TOGETHER_MOST] = {0};

  *out = (struct track){0};
  if (t->count == 1) {
    *out = t->tracks[0];
    return true;
  }
  for (int64_t t_ms = span->from_ms; t_ms < span->to_ms;) {
    double si = 0;
    const char *why = how(t, at, &si);
    int64_t next_ms = span->to_ms;

    put(&b, t_ms, si, why);
    for (int i = 0; i < t->count; i++)
      if (at[i] + 1 < t->tracks[i].count && t->tracks[i].steps[at[i] + 1].from_ms < next_ms)
        next_ms = t->tracks[i].steps[at[i] + 1].from_ms;
    for (int i = 0; i < t->count; i++)
      while (at[i] + 1 < t->tracks[i].count && t->tracks[i].steps[at[i] + 1].from_ms <= next_ms)
        at[i]++;
    t_ms = next_ms;
  }
  return !b.full;
}

/* ---- all of them ---- */

struct reading {
  const struct past_place *place;
  const struct past_span *span;
  struct arena *arena;
  struct night_traces *out;
};

static enum err_code too_many(struct err *err)
{
  return err_set(err, ERR_LIMIT, "too much was measured in one night for its air to be added up");
}

static bool put_gap(struct reading *r, const struct past_night_gap *gap)
{
  struct night_traces *out = r->out;

  if (out->gap_count == out->gap_room) {
    int room = out->gap_room ? 2 * out->gap_room : STEPS_FIRST;
    struct past_night_gap *more =
        room > GAPS_MOST ? NULL : ARENA_ARRAY(r->arena, struct past_night_gap, (size_t)room);

    if (!more)
      return false;
    if (out->gap_count > 0)
      memcpy(more, out->gaps, (size_t)out->gap_count * sizeof *more);
    out->gaps = more;
    out->gap_room = room;
  }
  out->gaps[out->gap_count++] = *gap;
  return true;
}

static bool note_gaps(struct reading *r, const struct track *t, struct past_night_gap gap)
{
  for (int i = 0, to; i < t->count; i = to) {
    to = i + 1;
    r->out->any_known = r->out->any_known || t->steps[i].known;
    if (t->steps[i].known)
      continue;
    while (to < t->count && !t->steps[to].known && strcmp(t->why[to], t->why[i]) == 0)
      to++;
    gap.from_ms = t->steps[i].from_ms;
    gap.to_ms = to < t->count ? t->steps[to].from_ms : r->span->to_ms;
    gap.why = t->why[i];
    if (!put_gap(r, &gap))
      return false;
  }
  return true;
}

static bool is_of(const struct feeds_point *p, enum feeds_of of, int index, enum feeds_what what)
{
  return p->of == of && p->index == index && p->what == what;
}

/* The points of one thing, and the track that they make. */
static enum err_code read_thing(struct reading *r, enum feeds_of of, int index,
                                enum feeds_what what, struct energy_trace *out, struct err *err)
{
  const struct feeds *feeds = r->place->feeds;
  struct together t = {0};
  struct track track;
  enum err_code code = ERR_OK;

  for (int i = 0; code == ERR_OK && i < feeds->point_count && t.count < TOGETHER_MOST; i++) {
    if (!is_of(&feeds->points[i], of, index, what))
      continue;
    t.resolution_si[t.count] = feeds->points[i].yes_no ? 0 : feeds->points[i].resolution_si;
    code = read_point(r->place, i, r->span, r->arena, &t.tracks[t.count++], err);
  }
  *out = (struct energy_trace){.measured = t.count > 0};
  if (code != ERR_OK || t.count == 0)
    return code;
  if (!fold(&t, agree, r->span, r->arena, &track) ||
      !note_gaps(r, &track,
                 (struct past_night_gap){.about = r->place->facility->stations[index].part.id,
                                         .what = what}))
    return too_many(err);
  out->steps = track.steps;
  out->count = track.count;
  return ERR_OK;
}

/* A yes of the whole fan means all its units. */
static void scale(struct track *t, double factor)
{
  for (int i = 0; i < t->count; i++)
    t->steps[i].si *= factor;
}

/* By a point of the whole fan, else by its units; a unit without one counts as the file says. */
static enum err_code read_fan(struct reading *r, int fan, struct energy_trace *out, struct err *err)
{
  const struct feeds *feeds = r->place->feeds;
  const struct facility_fan *f = &r->place->facility->fans[fan];
  struct together whole = {0}, units = {0};
  struct track track;
  enum err_code code = ERR_OK;
  bool by_whole;

  for (int i = 0; code == ERR_OK && i < feeds->point_count; i++) {
    const struct feeds_point *p = &feeds->points[i];
    struct together *to = p->unit < 0 ? &whole : &units;

    if (!is_of(p, FEEDS_OF_FAN, fan, FEEDS_RUNNING) || to->count == TOGETHER_MOST)
      continue;
    code = read_point(r->place, i, r->span, r->arena, &to->tracks[to->count], err);
    if (p->yes_no && p->unit < 0)
      scale(&to->tracks[to->count], f->count);
    to->count++;
  }
  by_whole = whole.count > 0;
  *out =
      (struct energy_trace){.measured = by_whole || (units.count > 0 && units.count == f->count)};
  if (code != ERR_OK || !out->measured)
    return code;
  if (!fold(by_whole ? &whole : &units, by_whole ? agree : add_up, r->span, r->arena, &track) ||
      !note_gaps(r, &track, (struct past_night_gap){.about = f->part.id, .what = FEEDS_RUNNING}))
    return too_many(err);
  out->steps = track.steps;
  out->count = track.count;
  return ERR_OK;
}

static enum err_code read_station(struct reading *r, int i, struct err *err)
{
  static const enum feeds_what what[ENERGY_SIGNALS] = {FEEDS_OPENING, FEEDS_FLOW, FEEDS_PRESENCE,
                                                       FEEDS_BLOCKED};
  const struct feeds *feeds = r->place->feeds;
  struct energy_given *given = &r->out->given[i];
  enum err_code code = ERR_OK;

  for (int k = 0; code == ERR_OK && k < ENERGY_SIGNALS; k++)
    code = read_thing(r, FEEDS_OF_STATION, i, what[k], &given->signals[k], err);
  for (int p = 0; p < feeds->point_count; p++) {
    if (is_of(&feeds->points[p], FEEDS_OF_STATION, i, FEEDS_OPENING))
      given->opening_resolution_m =
          fmax(given->opening_resolution_m, feeds->points[p].resolution_si);
    if (is_of(&feeds->points[p], FEEDS_OF_STATION, i, FEEDS_FLOW))
      given->flow_resolution_m3_s =
          fmax(given->flow_resolution_m3_s, feeds->points[p].resolution_si);
  }
  return code;
}

enum err_code night_traces_read(const struct past_place *place, const struct past_span *span,
                                struct arena *arena, struct night_traces *out, struct err *err)
{
  const struct facility *f = place->facility;
  struct reading r = {place, span, arena, out};
  enum err_code code = ERR_OK;

  *out = (struct night_traces){
      .given = ARENA_ARRAY(arena, struct energy_given, (size_t)f->station_count + 1),
      .fans = ARENA_ARRAY(arena, struct energy_trace, (size_t)f->fan_count + 1)};
  if (!out->given || !out->fans)
    return too_many(err);
  for (int i = 0; code == ERR_OK && i < f->station_count; i++)
    if (f->stations[i].in_service)
      code = read_station(&r, i, err);
  for (int i = 0; code == ERR_OK && i < f->fan_count; i++)
    code = read_fan(&r, i, &out->fans[i], err);
  return code;
}
