#include "day/day_impl.h"

#include <math.h>
#include <string.h>

/* ---- who is up when ---- */

static double normal_below(double x, double mean, double spread)
{
  return 0.5 * erfc(-(x - mean) / (fmax(spread, 1.0) * sqrt(2.0)));
}

double day_up_ratio(const struct day_habit *habit, int64_t start_ms, int64_t end_ms,
                    int64_t middle_ms)
{
  double came =
      normal_below((double)(middle_ms - start_ms) / 1000, habit->late_s, habit->late_spread_s);
  double left =
      normal_below((double)(middle_ms - end_ms) / 1000, habit->over_s, habit->over_spread_s);

  return habit->comes_ratio * habit->up_ratio * came * (1 - left);
}

/* Less than this is nobody: a thousandth. */
static const double nobody_ratio = 1e-3;

uint64_t day_up(const struct facility *facility, const struct day_habits *habits,
                const struct day_bookings *day, int64_t middle_ms, double *up_ratio)
{
  uint64_t up = 0;

  for (int i = 0; i < facility->station_count; i++)
    up_ratio[i] = 0;
  for (int i = 0; i < day->count; i++) {
    const struct day_booking *b = &day->list[i];
    double ratio = day_up_ratio(&habits->stations[b->station], b->start_ms, b->end_ms, middle_ms);

    if (ratio < nobody_ratio)
      continue;
    up_ratio[b->station] = 1 - (1 - up_ratio[b->station]) * (1 - ratio);
    up |= (uint64_t)1 << b->station;
  }
  return up;
}

uint64_t day_booked(const struct day_bookings *day, int64_t from_ms, int64_t to_ms)
{
  uint64_t set = 0;

  for (int i = 0; i < day->count; i++)
    if (day->list[i].start_ms < to_ms && day->list[i].end_ms > from_ms)
      set |= (uint64_t)1 << day->list[i].station;
  return set;
}

/* ---- the day ---- */

static int64_t begin_of(const struct when_zone *zone, struct when_civil date)
{
  int64_t first_ms = 0, second_ms = 0;

  date.hour = date.minute = date.second = date.millisecond = 0;
  while (when_of(zone, &date, &first_ms, &second_ms) == WHEN_NEVER)
    date.hour++; /* a zone that changes at midnight */
  return first_ms;
}

static void set_span(struct day_answer *answer)
{
  const struct day_request *r = answer->request;

  answer->from_ms = begin_of(r->zone, r->date);
  /* 36 h later it is the next day, whatever the clocks did. */
  answer->to_ms =
      begin_of(r->zone, when_civil(r->zone, answer->from_ms + (int64_t)36 * 3600000, NULL));
  answer->quarter_count =
      (int)((answer->to_ms - answer->from_ms + DAY_QUARTER_MS - 1) / DAY_QUARTER_MS);
  if (answer->quarter_count > DAY_QUARTERS_MOST)
    answer->quarter_count = DAY_QUARTERS_MOST;
}

static bool take_bookings(struct day_answer *answer, struct arena *arena)
{
  const struct day_request *r = answer->request;
  struct day_bookings *day = &answer->day;

  day->list = ARENA_ARRAY(arena, struct day_booking, (size_t)r->bookings->count + 1);
  if (!day->list)
    return false;
  for (int i = 0; i < r->bookings->count; i++) {
    struct day_booking b = r->bookings->list[i];

    if (b.start_ms >= answer->to_ms || b.end_ms <= answer->from_ms)
      continue;
    if (r->move_id && !answer->move_found && strcmp(b.id, r->move_id) == 0) {
      b.end_ms += r->move_to_ms - b.start_ms;
      b.start_ms = r->move_to_ms;
      answer->move_found = true;
    }
    day->list[day->count++] = b;
  }
  return true;
}

static void assume(struct day_answer *answer, const char *text)
{
  if (answer->assumed_count < (int)(sizeof answer->assumed / sizeof *answer->assumed) && text)
    answer->assumed[answer->assumed_count++] = text;
}

static void say_assumed(struct day_answer *answer, struct arena *arena)
{
  const struct day_request *r = answer->request;
  const struct facility_day *day = &r->facility->day;
  const struct day_habit *all = &r->habits->all;
  int own = 0;

  for (int i = 0; i < r->facility->station_count; i++)
    own += r->habits->stations[i].from_record && !r->habits->stations[i].of_all;
  if (all->from_record)
    assume(answer,
           arena_printf(arena,
                        "what people do rests on %d bookings in the record, %d of them kept; "
                        "%d stations have %d or more of their own",
                        all->cases, all->came, own, day->cases_least));
  else
    assume(
        answer,
        arena_printf(arena,
                     "bookings in the record: %d, and %d are needed, so what people do is the "
                     "suite's setting: %.0f %% come, %.0f min after the start, %.0f min after the "
                     "end, sash up %.0f %% of the time (%s)",
                     all->cases, day->cases_least, 100 * day->comes_ratio, day->late_s / 60,
                     day->over_s / 60, 100 * day->up_ratio, day->source));
  if (r->habits->uses.to_ms > r->habits->uses.from_ms && r->habits->uses.untold)
    assume(answer, "a sash that nothing measures counts as down on like days");
  assume(answer,
         r->may_not
             ? "who may do what is asked only of bookings that say who and name a process; a "
               "booking that is not named here is no permission"
             : "who may do what is not asked: the suite names no people and processes");
  assume(
      answer,
      "who books nothing does nothing: use without a booking is counted apart, and in no chance");
  assume(answer, arena_printf(arena,
                              "chance alone is too hopeful, because course weeks and process days "
                              "come together; the second figure has correlation %.2g (%s)",
                              day->together_ratio, day->source));
  assume(answer,
         "as booked counts the suite's ±, as `inward air` does; chances are at the best estimate");
  assume(answer,
         "everything but the sashes is as the suite file has it: doors closed, fans as they run");
}

/* ---- quarters ---- */

struct seen { /* of the quarter before: nights are long and all alike */
  bool any;
  uint64_t up;
  double up_ratio[DAY_STATIONS_MOST];
};

static void set_chances(const struct day_request *r, uint64_t up, const double *up_ratio,
                        struct day_quarter *q)
{
  int n = r->facility->station_count;
  double together = r->facility->day.together_ratio;

  q->short_ratio = day_chance_ratio(r->air, up, up_ratio, n, FACILITY_SHORT);
  q->near_ratio = day_chance_ratio(r->air, up, up_ratio, n, FACILITY_NEAR_LIMIT);
  q->short_together_ratio =
      day_chance_together_ratio(r->air, up, up_ratio, n, together, FACILITY_SHORT);
  q->near_together_ratio =
      day_chance_together_ratio(r->air, up, up_ratio, n, together, FACILITY_NEAR_LIMIT);
}

static void set_bands(const struct day_answer *answer, uint64_t up, const double *up_ratio,
                      struct day_quarter *q)
{
  const struct day_request *r = answer->request;
  double adds_m3_s[DAY_STATIONS_MOST], ratio[DAY_STATIONS_MOST];
  struct arena arena;

  for (int p = 0; p < answer->pool_count; p++) {
    int count = 0;

    for (int i = 0; i < r->facility->station_count; i++)
      if (up >> i & 1) {
        adds_m3_s[count] = day_air_adds_m3_s(r->air, i, p);
        ratio[count++] = up_ratio[i];
      }
    arena_init(&arena, 16 << 20);
    q->bands[p] = day_convolve(day_air_parked_m3_s(r->air, p), adds_m3_s, ratio, count, &arena);
    arena_release(&arena);
  }
}

static void set_quarter(struct day_answer *answer, int at, struct seen *seen, struct arena *arena)
{
  const struct day_request *r = answer->request;
  struct day_quarter *q = &answer->quarters[at], *before = at > 0 ? q - 1 : NULL;
  double up_ratio[DAY_STATIONS_MOST];
  uint64_t up;
  size_t size = (size_t)r->facility->station_count * sizeof *up_ratio;

  q->t_ms = answer->from_ms + (int64_t)at * DAY_QUARTER_MS;
  q->booked = day_booked(&answer->day, q->t_ms, q->t_ms + DAY_QUARTER_MS);
  if (before && before->booked == q->booked) {
    q->as_booked = before->as_booked;
    q->binding = before->binding;
    memcpy(q->pools, before->pools, sizeof q->pools);
  } else {
    q->as_booked = day_air_solve(r->air, q->booked, q->pools, arena, &q->binding);
  }
  up = day_up(r->facility, r->habits, &answer->day, q->t_ms + DAY_QUARTER_MS / 2, up_ratio);
  if (before && seen->any && seen->up == up && memcmp(seen->up_ratio, up_ratio, size) == 0) {
    q->short_ratio = before->short_ratio;
    q->near_ratio = before->near_ratio;
    q->short_together_ratio = before->short_together_ratio;
    q->near_together_ratio = before->near_together_ratio;
    memcpy(q->bands, before->bands, sizeof q->bands);
  } else {
    set_chances(r, up, up_ratio, q);
    set_bands(answer, up, up_ratio, q);
  }
  seen->any = true;
  seen->up = up;
  memcpy(seen->up_ratio, up_ratio, size);
}

static void sum_up(struct day_answer *answer)
{
  double quarter_s = DAY_QUARTER_MS / 1000.0, worst = 0;

  answer->worst = -1;
  answer->known = true;
  for (int i = 0; i < answer->quarter_count; i++) {
    const struct day_quarter *q = &answer->quarters[i];
    bool known = !isnan(q->short_ratio) && !isnan(q->near_ratio);

    answer->known = answer->known && known && q->as_booked != FACILITY_NOT_KNOWN;
    if (q->as_booked > answer->worst_booked)
      answer->worst_booked = q->as_booked;
    if (!known)
      continue;
    answer->short_s += q->short_ratio * quarter_s;
    answer->near_s += q->near_ratio * quarter_s;
    if (q->short_ratio + q->near_ratio / 1000 > worst + 1e-9) {
      worst = q->short_ratio + q->near_ratio / 1000;
      answer->worst = i;
    }
  }
}

static int pools_of(const struct facility *facility)
{
  int count = facility->main_count + facility->supply_count;

  return count < DAY_POOLS_MOST ? count : DAY_POOLS_MOST;
}

struct day_answer *day_ask(const struct day_request *request, struct arena *arena, struct err *err)
{
  struct day_answer *answer = ARENA_NEW(arena, struct day_answer);
  struct seen seen = {0};

  if (!answer) {
    err_write(err, ERR_LIMIT, "the answer does not fit");
    return NULL;
  }
  answer->request = request;
  answer->pool_count = pools_of(request->facility);
  answer->trial = request->move_id != NULL;
  set_span(answer);
  if (!take_bookings(answer, arena)) {
    err_write(err, ERR_LIMIT, "more bookings than fit");
    return NULL;
  }
  if (request->move_id && !answer->move_found) {
    err_write(err, ERR_INPUT, "no booking '%.60s' on that day", request->move_id);
    return NULL;
  }
  day_sort(&answer->day);
  for (int i = 0; i < answer->quarter_count; i++)
    set_quarter(answer, i, &seen, arena);
  sum_up(answer);
  day_find_like(answer);
  day_find_conflicts(answer, arena);
  day_find_seconds(answer, arena);
  if (request->better && answer->known)
    day_find_better(answer, arena);
  say_assumed(answer, arena);
  return answer;
}

/* One in twenty: the risk a practitioner reads as "it may well happen"; common practice, no source. */
static const double risk_ratio = 0.05;

bool day_needs_person(const struct day_answer *answer)
{
  for (int i = 0; i < answer->quarter_count; i++)
    if (answer->quarters[i].short_ratio > risk_ratio)
      return true;
  for (int i = 0; i < answer->second_count; i++)
    if (answer->seconds[i].lacking_count > 0)
      return true;
  return !answer->known || answer->conflict_count > 0;
}
