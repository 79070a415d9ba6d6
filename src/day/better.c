/* The one booking to move, then two: what it frees, and what it costs the person. */
#include "day/day_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/*
 * A trial costs the chances of the quarters that it touches; all others stay.  Time near limit counts a
 * quarter of time short (common practice, no source).  A move is offered when it takes off at least a tenth
 * of that; of equally good ones the one that shifts a person least.
 */
static const double near_weight_ratio = 0.25, worth_ratio = 0.1, same_s = 30;
enum { FIRSTS = 5, REACH_MS = 2 * 3600000 };

struct chances {
  double short_ratio[DAY_QUARTERS_MOST], near_ratio[DAY_QUARTERS_MOST];
};
struct trying {
  const struct day_answer *answer;
  struct day_bookings day; /* a copy, as tried */
  struct chances now;      /* of it */
};
struct option {
  struct day_move move;
  double cost_s; /* of the whole day then */
  int64_t shift_ms;
};

static double cost_s(const struct trying *t, const struct chances *c, double *short_out_s,
                     double *near_out_s)
{
  double short_s = 0, near_s = 0;

  for (int i = 0; i < t->answer->quarter_count; i++) {
    short_s += c->short_ratio[i] * (DAY_QUARTER_MS / 1000.0);
    near_s += c->near_ratio[i] * (DAY_QUARTER_MS / 1000.0);
  }
  if (short_out_s)
    *short_out_s = short_s;
  if (near_out_s)
    *near_out_s = near_s;
  return short_s + near_weight_ratio * near_s;
}

static bool touches(const struct day_quarter *q, int64_t start_ms, int64_t end_ms)
{
  return q->t_ms + DAY_QUARTER_MS > start_ms - REACH_MS && q->t_ms < end_ms + REACH_MS;
}

/* The chances with one booking at another time; the day is left with it there. */
static struct chances tried(struct trying *t, const struct day_move *move)
{
  const struct day_request *r = t->answer->request;
  struct day_booking *b = &t->day.list[move->booking], was = *b;
  struct chances out = t->now;
  double up_ratio[DAY_STATIONS_MOST];

  b->end_ms += move->start_ms - b->start_ms;
  b->start_ms = move->start_ms;
  for (int i = 0; i < t->answer->quarter_count; i++) {
    const struct day_quarter *q = &t->answer->quarters[i];

    if (!touches(q, was.start_ms, was.end_ms) && !touches(q, b->start_ms, b->end_ms))
      continue;
    uint64_t up = day_up(r->facility, r->habits, &t->day, q->t_ms + DAY_QUARTER_MS / 2, up_ratio);
    int n = r->facility->station_count;

    out.short_ratio[i] = day_chance_ratio(r->air, up, up_ratio, n, FACILITY_SHORT);
    out.near_ratio[i] = day_chance_ratio(r->air, up, up_ratio, n, FACILITY_NEAR_LIMIT);
  }
  return out;
}

/* ---- which bookings, and when ---- */

/* Does it stand where the air is likely to be wanted? */
static bool is_in_the_way(const struct trying *t, const struct day_booking *b)
{
  for (int i = 0; i < t->answer->quarter_count; i++) {
    const struct day_quarter *q = &t->answer->quarters[i];

    if (t->now.short_ratio[i] + near_weight_ratio * t->now.near_ratio[i] > 0.01 &&
        q->t_ms + DAY_QUARTER_MS > b->start_ms && q->t_ms < b->end_ms + DAY_QUARTER_MS)
      return true;
  }
  return false;
}

static bool is_allowed(const struct trying *t, int booking, int64_t start_ms, int64_t end_ms)
{
  const struct facility *f = t->answer->request->facility;

  return (double)(start_ms - t->answer->from_ms) >= f->day.from_s * 1000 &&
         (double)(end_ms - t->answer->from_ms) <= f->day.to_s * 1000 &&
         day_is_free(f, &t->day, booking, start_ms, end_ms);
}

static bool is_better(const struct option *a, const struct option *b)
{
  if (fabs(a->cost_s - b->cost_s) > same_s)
    return a->cost_s < b->cost_s;
  return a->shift_ms != b->shift_ms ? a->shift_ms < b->shift_ms : a->cost_s < b->cost_s;
}

/* The best time of one booking; false: none allowed. */
static bool best_time(struct trying *t, int booking, struct option *out)
{
  const struct day_booking was = t->day.list[booking];
  int64_t most_ms = (int64_t)(t->answer->request->facility->day.within_s * 1000);
  bool found = false;

  for (int64_t by_ms = -most_ms / DAY_QUARTER_MS * DAY_QUARTER_MS; by_ms <= most_ms;
       by_ms += DAY_QUARTER_MS) {
    struct option option = {.move = {booking, was.start_ms + by_ms, false},
                            .shift_ms = llabs(by_ms)};

    if (by_ms == 0 || !is_allowed(t, booking, was.start_ms + by_ms, was.end_ms + by_ms))
      continue;
    struct chances then = tried(t, &option.move);

    t->day.list[booking] = was;
    option.cost_s = cost_s(t, &then, NULL, NULL);
    if (!found || is_better(&option, out))
      *out = option;
    found = true;
  }
  return found;
}

/* Sorted, the best first; returns how many. */
static int find_moves(struct trying *t, int but, struct option *list, int most)
{
  int count = 0;

  for (int b = 0; b < t->day.count; b++) {
    struct option option;

    if (b == but || !is_in_the_way(t, &t->day.list[b]) || !best_time(t, b, &option))
      continue;
    int at = count < most ? count++ : most;

    for (; at > 0 && is_better(&option, &list[at - 1]); at--)
      if (at < most)
        list[at] = list[at - 1];
    if (at < most)
      list[at] = option;
  }
  return count;
}

/* ---- what comes of it ---- */

static enum facility_level worst_as_booked(struct trying *t)
{
  enum facility_level worst = FACILITY_AMPLE;

  for (int i = 0; i < t->answer->quarter_count; i++) {
    int64_t at_ms = t->answer->quarters[i].t_ms;
    enum facility_level level =
        day_air_level(t->answer->request->air, day_booked(&t->day, at_ms, at_ms + DAY_QUARTER_MS));

    worst = level > worst ? level : worst;
  }
  return worst;
}

static void set_better(struct trying *t, const struct chances *then, int count,
                       const struct day_move *moves, struct day_better *out)
{
  out->count = count;
  memcpy(out->moves, moves, (size_t)count * sizeof *moves);
  cost_s(t, then, &out->short_after_s, &out->near_after_s);
  out->worst_after = worst_as_booked(t);
}

static void set_before(const struct day_answer *answer, struct day_better *out)
{
  *out = (struct day_better){.short_before_s = answer->short_s,
                             .short_after_s = answer->short_s,
                             .near_before_s = answer->near_s,
                             .near_after_s = answer->near_s,
                             .worst_before = answer->worst_booked,
                             .worst_after = answer->worst_booked};
}

/* Each of the best first moves with the best second one. */
static void find_two(struct trying *t, const struct option *firsts, int first_count, double one_s,
                     struct day_better *out)
{
  const struct chances before = t->now;
  double best_s = one_s * (1 - worth_ratio);

  for (int i = 0; i < first_count; i++) {
    int booking = firsts[i].move.booking;
    struct day_booking was = t->day.list[booking];
    struct option second;

    t->now = tried(t, &firsts[i].move);
    if (find_moves(t, booking, &second, 1) > 0 && second.cost_s < best_s) {
      struct day_booking second_was = t->day.list[second.move.booking];
      struct chances then = tried(t, &second.move);

      best_s = second.cost_s;
      set_better(t, &then, 2, (struct day_move[]){firsts[i].move, second.move}, out);
      t->day.list[second.move.booking] = second_was;
    }
    t->day.list[booking] = was;
    t->now = before;
  }
}

void day_find_better(struct day_answer *answer, struct arena *arena)
{
  struct trying t = {.answer = answer, .day = answer->day};
  struct option firsts[FIRSTS];
  size_t size = (size_t)answer->day.count * sizeof *t.day.list;

  set_before(answer, &answer->one);
  set_before(answer, &answer->two);
  t.day.list = ARENA_ARRAY(arena, struct day_booking, (size_t)answer->day.count + 1);
  BUG_IF(!t.day.list);
  memcpy(t.day.list, answer->day.list, size);
  for (int i = 0; i < answer->quarter_count; i++) {
    t.now.short_ratio[i] = answer->quarters[i].short_ratio;
    t.now.near_ratio[i] = answer->quarters[i].near_ratio;
  }
  double now_s = cost_s(&t, &t.now, NULL, NULL);
  int count = find_moves(&t, -1, firsts, FIRSTS);

  if (count == 0 || now_s <= same_s)
    return;
  double one_s = fmin(firsts[0].cost_s, now_s);

  if (firsts[0].cost_s < now_s * (1 - worth_ratio)) {
    struct day_booking was = t.day.list[firsts[0].move.booking];
    struct chances then = tried(&t, &firsts[0].move);

    set_better(&t, &then, 1, &firsts[0].move, &answer->one);
    t.day.list[firsts[0].move.booking] = was;
  }
  find_two(&t, firsts, count, one_s, &answer->two);
}
