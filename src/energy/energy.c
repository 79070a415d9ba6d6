/* Traces over a span to volumes: each moment's split times how long it lasts. */
#include "energy/energy_impl.h"

#include <math.h>
#include <string.h>

enum { STRETCHES_FIRST = 32, STRETCHES_MOST = 1 << 20 };

const char *energy_cause_name(enum energy_cause cause)
{
  static const char *const names[] = {"open, somebody there",
                                      "open, nobody there",
                                      "blocked sash",
                                      "more than its opening asks",
                                      "parked",
                                      "cannot be told"};

  return names[cause];
}

/* ---- walking along traces ---- */

struct cursor {
  const struct energy_trace *trace;
  int at; /* of the step that holds; -1: none yet */
};

static void move_to(struct cursor *c, int64_t t_ms)
{
  while (c->at + 1 < c->trace->count && c->trace->steps[c->at + 1].from_ms <= t_ms)
    c->at++;
}

static int64_t next_ms(const struct cursor *c, int64_t otherwise_ms)
{
  bool sooner = c->at + 1 < c->trace->count && c->trace->steps[c->at + 1].from_ms < otherwise_ms;

  return sooner ? c->trace->steps[c->at + 1].from_ms : otherwise_ms;
}

static bool is_known(const struct cursor *c)
{
  return c->trace->measured && c->at >= 0 && c->trace->steps[c->at].known &&
         isfinite(c->trace->steps[c->at].si);
}

static double value_of(const struct cursor *c)
{
  return c->trace->steps[c->at].si;
}

static int yes_no_of(const struct cursor *c)
{
  if (!c->trace->measured)
    return ENERGY_NEVER;
  return is_known(c) ? value_of(c) != 0 : ENERGY_NOT_KNOWN;
}

/* ---- of one station ---- */

struct walk {
  const struct energy_question *question;
  const struct facility_main *main;
  struct energy_law law;
  struct cursor signals[ENERGY_SIGNALS];
  struct cursor *fans; /* per fan of its main */
  struct arena *arena;
  struct energy_station *out;
  struct energy_stretch *list;
  int count, room;
  bool full;
};

static enum energy_fans fans_of(const struct walk *w)
{
  enum energy_fans so = ENERGY_ALL_RUN;

  for (int i = 0; i < w->main->fan_count; i++) {
    int usual = w->question->facility->fans[w->main->fans[i]].running;

    if (!w->fans[i].trace->measured)
      continue;
    if (!is_known(&w->fans[i]))
      so = so == ENERGY_ALL_RUN ? ENERGY_FANS_NOT_KNOWN : so;
    else if (value_of(&w->fans[i]) < usual)
      so = ENERGY_FEWER_RUN;
  }
  return so;
}

static struct energy_moment moment_of(const struct walk *w)
{
  const struct cursor *opening = &w->signals[ENERGY_OPENING], *flow = &w->signals[ENERGY_FLOW];
  struct energy_moment m = {.opening_known = is_known(opening),
                            .flow_known = is_known(flow),
                            .presence = yes_no_of(&w->signals[ENERGY_PRESENCE]),
                            .blocked = yes_no_of(&w->signals[ENERGY_BLOCKED]),
                            .fans = fans_of(w)};

  m.opening_m = m.opening_known ? value_of(opening) : (double)NAN;
  m.flow_m3_s = m.flow_known ? value_of(flow) : (double)NAN;
  return m;
}

/* ---- stretches ---- */

static enum energy_cause largest(const double parts[ENERGY_PARTS])
{
  int best = ENERGY_PARKED;

  for (int i = 0; i < ENERGY_PARTS; i++)
    if (fabs(parts[i]) > fabs(parts[best]))
      best = i;
  return (enum energy_cause)best;
}

static double rate_m3_s(const struct energy_stretch *s, double volume_m3)
{
  return volume_m3 / ((double)(s->to_ms - s->from_ms) * 1e-3);
}

/* Alike: the same cause, and a flow within the ± of what is asked. */
static bool goes_on(const struct walk *w, const struct energy_stretch *last,
                    const struct energy_stretch *next)
{
  double near_m3_s =
      fmax(w->law.doubt_ratio * w->law.most_m3_s, 2 * w->law.given->flow_resolution_m3_s);
  double a = rate_m3_s(last, last->excess.best_m3), b = rate_m3_s(next, next->excess.best_m3);

  if (last->cause != next->cause || last->flow_known != next->flow_known || isnan(a) != isnan(b))
    return false;
  if (isnan(a)) {
    a = rate_m3_s(last, last->excess.most_m3);
    b = rate_m3_s(next, next->excess.most_m3);
  }
  return fabs(a - b) <= near_m3_s;
}

static void add_range(struct energy_range *to, const struct energy_range *from)
{
  to->least_m3 += from->least_m3;
  to->most_m3 += from->most_m3;
  to->best_m3 += from->best_m3;
}

static void put_stretch(struct walk *w, const struct energy_stretch *next)
{
  struct energy_stretch *last = w->count > 0 ? &w->list[w->count - 1] : NULL;

  if (last && goes_on(w, last, next)) {
    last->to_ms = next->to_ms;
    add_range(&last->excess, &next->excess);
    for (int i = 0; i < ENERGY_PARTS; i++)
      add_range(&last->parts[i], &next->parts[i]);
    return;
  }
  if (w->count == w->room) {
    int room = w->room ? 2 * w->room : STRETCHES_FIRST;
    struct energy_stretch *more =
        room > STRETCHES_MOST ? NULL : ARENA_ARRAY(w->arena, struct energy_stretch, (size_t)room);

    if (!more) {
      w->full = true;
      return;
    }
    if (w->list)
      memcpy(more, w->list, (size_t)w->count * sizeof *more);
    w->list = more;
    w->room = room;
  }
  BUG_IF(!w->list);
  w->list[w->count++] = *next;
}

/* ---- sums ---- */

static void add_part(struct energy_range *to, double least, double most, double s)
{
  to->least_m3 += least * s;
  to->most_m3 += most * s;
}

/* For how long it was so for sure: of the parts that may be, only one. */
static void add_seconds(struct energy_station *out, const struct energy_split *split, double s)
{
  if (!split->has_best)
    return;
  enum energy_cause cause = largest(split->best_m3_s);
  bool sure = cause == ENERGY_PARKED || cause == ENERGY_UNTOLD || split->least_m3_s[cause] > 0;

  if (sure)
    out->part_s[cause] += s;
}

static void add_difference(struct energy_station *out, const struct energy_split *split, double s)
{
  if (split->has_best && split->best_m3_s[ENERGY_BEYOND] > 0)
    out->beyond_s += s;
  if (isnan(split->over_m3_s) || !(split->over_m3_s < -split->doubt_m3_s))
    return;
  out->less_s += s;
  out->less_m3 -= split->over_m3_s * s;
}

static void add_piece(struct walk *w, int64_t from_ms, int64_t to_ms)
{
  struct energy_station *out = w->out;
  struct energy_moment m = moment_of(w);
  struct energy_split split = energy_split_of(&w->law, &m);
  double s = (double)(to_ms - from_ms) * 1e-3, best = 0;
  bool flow_known = m.flow_known || (!out->measures_flow && split.has_best);
  struct energy_stretch next = {.from_ms = from_ms, .to_ms = to_ms, .flow_known = flow_known};

  for (int i = 0; i < ENERGY_PARTS; i++) {
    add_part(&out->parts[i], split.least_m3_s[i], split.most_m3_s[i], s);
    add_part(&next.parts[i], split.least_m3_s[i], split.most_m3_s[i], s);
    next.parts[i].best_m3 = split.has_best ? split.best_m3_s[i] * s : (double)NAN;
    best += next.parts[i].best_m3;
  }
  next.excess =
      (struct energy_range){split.excess_least_m3_s * s, split.excess_most_m3_s * s, best};
  add_part(&out->excess, split.excess_least_m3_s, split.excess_most_m3_s, s);
  next.cause = split.has_best ? largest(split.best_m3_s) : ENERGY_UNTOLD;
  out->not_known_s += flow_known ? 0 : s;
  add_seconds(out, &split, s);
  add_difference(out, &split, s);
  put_stretch(w, &next);
}

static void walk_through(struct walk *w)
{
  for (int64_t at_ms = w->question->from_ms, to_ms; at_ms < w->question->to_ms; at_ms = to_ms) {
    to_ms = w->question->to_ms;
    for (int i = 0; i < ENERGY_SIGNALS; i++) {
      move_to(&w->signals[i], at_ms);
      to_ms = next_ms(&w->signals[i], to_ms);
    }
    for (int i = 0; i < w->main->fan_count; i++) {
      move_to(&w->fans[i], at_ms);
      to_ms = next_ms(&w->fans[i], to_ms);
    }
    add_piece(w, at_ms, to_ms);
  }
}

/* ---- what stood the same before and after a gap ---- */

static double inside(const struct energy_range *r, double volume_m3)
{
  return fmin(fmax(volume_m3, r->least_m3), r->most_m3);
}

/* What is surely there stays: the ends of the gap are its own, and those of each cause.  What no cause
 * may then have is untold. */
static void tell_on(const struct walk *w, struct energy_stretch *gap,
                    const struct energy_stretch *from)
{
  double s = (double)(gap->to_ms - gap->from_ms) * 1e-3, likely_m3 = 0, rest_m3;
  double best_m3[ENERGY_PARTS];

  for (int i = 0; i < ENERGY_PARTS; i++) {
    best_m3[i] = rate_m3_s(from, from->parts[i].best_m3) * s;
    likely_m3 += best_m3[i];
  }
  gap->excess.best_m3 = inside(&gap->excess, likely_m3);
  rest_m3 = gap->excess.best_m3 - likely_m3;
  for (int i = 0; i < ENERGY_CAUSES; i++) {
    double meant_m3 = best_m3[i];

    best_m3[i] = inside(&gap->parts[i], meant_m3);
    rest_m3 += meant_m3 - best_m3[i];
  }
  if (from->cause != ENERGY_UNTOLD) {
    double all_m3 = best_m3[from->cause] + rest_m3;

    best_m3[from->cause] = inside(&gap->parts[from->cause], all_m3);
    rest_m3 = all_m3 - best_m3[from->cause];
  }
  if (fabs(rest_m3) > 1e-12 * w->law.most_m3_s * s) /* else rounding made it */
    best_m3[ENERGY_UNTOLD] += rest_m3;
  for (int i = 0; i < ENERGY_PARTS; i++)
    gap->parts[i].best_m3 = best_m3[i];
  gap->cause = largest(best_m3);
  gap->told_on = true;
}

static void bridge_gaps(struct walk *w)
{
  double near_m3_s =
      fmax(w->law.doubt_ratio * w->law.most_m3_s, 2 * w->law.given->flow_resolution_m3_s);

  for (int i = 0, to; i < w->count; i = to) {
    to = i + 1;
    if (!isnan(w->list[i].excess.best_m3))
      continue;
    while (to < w->count && isnan(w->list[to].excess.best_m3))
      to++;
    if (i == 0 || to == w->count ||
        (double)(w->list[to].from_ms - w->list[i].from_ms) * 1e-3 > w->question->bridge_s)
      continue;
    const struct energy_stretch *before = &w->list[i - 1], *after = &w->list[to];
    double apart_m3_s =
        rate_m3_s(before, before->excess.best_m3) - rate_m3_s(after, after->excess.best_m3);

    for (int k = i; k < to; k++)
      if (before->cause == after->cause && fabs(apart_m3_s) <= near_m3_s)
        tell_on(w, &w->list[k], before);
  }
}

static void sum_best(struct walk *w)
{
  struct energy_station *out = w->out;

  out->excess.best_m3 = 0;
  for (int i = 0; i < ENERGY_PARTS; i++)
    out->parts[i].best_m3 = 0;
  for (int k = 0; k < w->count; k++) {
    out->excess.best_m3 += w->list[k].excess.best_m3;
    for (int i = 0; i < ENERGY_PARTS; i++)
      out->parts[i].best_m3 += w->list[k].parts[i].best_m3;
  }
  out->parked_m3 =
      w->law.parked_m3_s * ((double)(w->question->to_ms - w->question->from_ms) * 1e-3);
  out->moved = (struct energy_range){out->parked_m3 + out->excess.least_m3,
                                     out->parked_m3 + out->excess.most_m3,
                                     out->parked_m3 + out->excess.best_m3};
  out->stretches = w->list;
  out->stretch_count = w->count;
}

static bool begin(struct walk *w, int station)
{
  const struct energy_question *q = w->question;
  const struct energy_given *given = &q->given[station];

  w->main = &q->facility->mains[q->facility->stations[station].main];
  w->out->measures_flow = given->signals[ENERGY_FLOW].measured;
  w->out->counted = energy_law_of(q->facility, station, given, &w->law);
  w->fans = ARENA_ARRAY(w->arena, struct cursor, (size_t)w->main->fan_count + 1);
  if (!w->fans)
    return false;
  for (int i = 0; i < ENERGY_SIGNALS; i++)
    w->signals[i] = (struct cursor){&given->signals[i], -1};
  for (int i = 0; i < w->main->fan_count; i++)
    w->fans[i] = (struct cursor){&q->fans[w->main->fans[i]], -1};
  return true;
}

static bool ask_station(const struct energy_question *q, int station, struct arena *arena,
                        struct energy_station *out)
{
  struct walk w = {.question = q, .arena = arena, .out = out};

  *out = (struct energy_station){0};
  if (!begin(&w, station))
    return false;
  if (!out->counted)
    return true;
  walk_through(&w);
  bridge_gaps(&w);
  sum_best(&w);
  return !w.full;
}

/* ---- pools ---- */

static void add_station(struct energy_sum *sum, const struct energy_station *s)
{
  if (!s->counted)
    return;
  sum->station_count++;
  sum->parked_m3 += s->parked_m3;
  add_range(&sum->moved, &s->moved);
  add_range(&sum->excess, &s->excess);
  for (int i = 0; i < ENERGY_PARTS; i++)
    add_range(&sum->parts[i], &s->parts[i]);
}

static bool feeds_room(const struct facility_supply *supply, int room)
{
  for (int i = 0; i < supply->feed_count; i++)
    if (supply->feeds[i].room == room)
      return true;
  return false;
}

enum err_code energy_ask(const struct energy_question *q, struct arena *arena,
                         struct energy_answer *out, struct err *err)
{
  const struct facility *f = q->facility;
  struct energy_station *stations =
      ARENA_ARRAY(arena, struct energy_station, (size_t)f->station_count + 1);
  struct energy_sum *mains = ARENA_ARRAY(arena, struct energy_sum, (size_t)f->main_count + 1);
  struct energy_sum *supplies = ARENA_ARRAY(arena, struct energy_sum, (size_t)f->supply_count + 1);

  BUG_IF(q->from_ms >= q->to_ms);
  *out = (struct energy_answer){.stations = stations, .mains = mains, .supplies = supplies};
  if (!stations || !mains || !supplies)
    return err_set(err, ERR_LIMIT, "too many stations for one sum of their air");
  for (int i = 0; i < f->station_count; i++) {
    if (!ask_station(q, i, arena, &stations[i]))
      return err_set(err, ERR_LIMIT, "too many changes for one sum of air: ask for a shorter span");
    add_station(&out->all, &stations[i]);
    add_station(&mains[f->stations[i].main], &stations[i]);
    for (int k = 0; k < f->supply_count; k++)
      if (feeds_room(&f->supplies[k], f->stations[i].room))
        add_station(&supplies[k], &stations[i]);
  }
  return ERR_OK;
}
