#include "day/day.h"

#include "asked.h"
#include "check.h"

#include <math.h>
#include <string.h>

/* What people do of what they book, worked out by hand from a week of stretches in which a sash was up. */
static const char suite_text[] =
    "inward: 1 suite\nname: T\nrooms: {R: {}}\n"
    "mains: {M: {capacity: {value: 2000 m3/h, short: {enter: 100 %, leave: 99 %, dwell: 1 s}}}}\n"
    "day: {cases: 3, comes: 70 %, late: 7 min}\n"
    "stations:\n"
    "  H1: {kind: other, room: R, main: M, flow: {two-state: {parked: 300 m3/h, work: 1200 m3/h}}}\n"
    "  H2: {kind: other, room: R, main: M, flow: {two-state: {parked: 300 m3/h, work: 1200 m3/h}}}\n";

static struct asked suite;
static struct arena arena;
static const int64_t monday_ms = (int64_t)20000 * 86400000, minute_ms = 60000;

static int64_t at_ms(int day, int minute)
{
  return monday_ms + (int64_t)day * 86400000 + minute * minute_ms;
}

/* 10:00 to 11:00 on four days. */
static struct day_booking booked[5];
static struct day_bookings list = {4, booked};

static void book(void)
{
  for (int i = 0; i < 5; i++)
    booked[i] = (struct day_booking){.id = "b",
                                     .station = 0,
                                     .start_ms = at_ms(i, 600),
                                     .end_ms = at_ms(i, 660),
                                     .who = "",
                                     .what = "",
                                     .family = ""};
}

static struct day_use use(int day, int from_minute, int to_minute, double opening_m)
{
  return (struct day_use){0, true, at_ms(day, from_minute), at_ms(day, to_minute), opening_m};
}

static struct day_habits learn(const struct day_use *uses, int count)
{
  const struct day_uses all = {count, uses, at_ms(0, 0), at_ms(6, 0), 0};

  arena_release(&arena);
  arena_init(&arena, 16 << 20);
  return day_learn(suite.facility, &list, &all, at_ms(6, 0), &arena);
}

static void arrivals_overruns_and_no_shows_are_those_of_the_record(void)
{
  /* 10 min late and 20 over, on time and on time, 20 late and 10 over with a break, nobody */
  const struct day_use uses[] = {use(0, 610, 680, 0.40), use(1, 600, 660, 0.45),
                                 use(2, 620, 630, 0.50), use(2, 640, 670, 0.50)};

  book();
  struct day_habits h = learn(uses, 4);
  const struct day_habit *one = &h.stations[0];

  CHECK_INT(one->cases, 4);
  CHECK_INT(one->came, 3);
  CHECK(one->from_record && !one->of_all);
  CHECK_NEAR(one->late_s, 600, 1e-12, 0);
  CHECK_NEAR(one->late_spread_s, 600, 1e-12, 0);
  CHECK_NEAR(one->over_s, 600, 1e-12, 0);
  CHECK_NEAR(one->comes_ratio, 3.5 / 5, 1e-12, 0);
  CHECK_NEAR(one->up_ratio, (1 + 1 + 40.0 / 50) / 3, 1e-12, 0);
  CHECK_NEAR(one->opening_m, 0.45, 1e-12, 0);
  CHECK(h.stations[1].of_all); /* it has none of its own */
  CHECK(isnan(h.stations[1].opening_m));
  CHECK_NEAR(h.stations[1].late_s, 600, 1e-12, 0);
}

static void too_few_cases_leave_the_suites_settings(void)
{
  const struct day_use uses[] = {use(0, 610, 680, 0.40)};

  book();
  list.count = 2;
  struct day_habits h = learn(uses, 1);

  list.count = 4;
  CHECK_INT(h.stations[0].cases, 2);
  CHECK(!h.stations[0].from_record);
  CHECK_NEAR(h.stations[0].comes_ratio, 0.7, 1e-12, 0);
  CHECK_NEAR(h.stations[0].late_s, 420, 1e-12, 0);
}

static void what_the_record_does_not_know_is_no_case(void)
{
  struct day_use uses[] = {use(0, 610, 680, 0.40), use(1, 500, 900, NAN)};

  book();
  uses[1].known = false;
  struct day_habits h = learn(uses, 2);

  CHECK_INT(h.stations[0].cases, 3);
  CHECK_INT(h.stations[0].came, 1);
}

static void a_sash_that_nothing_measures_gives_no_case(void)
{
  const struct day_uses all = {.from_ms = at_ms(0, 0), .to_ms = at_ms(6, 0), .untold = 1};

  book();
  arena_release(&arena);
  arena_init(&arena, 16 << 20);
  struct day_habits h = day_learn(suite.facility, &list, &all, at_ms(6, 0), &arena);

  CHECK_INT(h.stations[0].cases, 0);
}

static void somebody_else_before_and_after_is_not_the_one_who_booked(void)
{
  const struct day_use uses[] = {use(0, 400, 480, 0.4), use(0, 900, 960, 0.4)};

  book();
  struct day_habits h = learn(uses, 2);

  CHECK_INT(h.stations[0].came, 0);
}

/* The record's Mondays at the same hour, one of them short, one of them not known. */
static void like_days_are_the_same_weekday_replayed(void)
{
  const struct day_use uses[] = {use(-7, 600, 720, NAN),
                                 {1, true, at_ms(-7, 600), at_ms(-7, 720), NAN},
                                 use(-14, 600, 720, NAN),
                                 {1, false, at_ms(-21, 600), at_ms(-21, 720), NAN}};
  const struct day_uses all = {4, uses, at_ms(-28, 0), at_ms(0, 0), 0};
  struct err err = {0};
  struct day_air *air = day_air_new(suite.facility, &err);

  REQUIRE(air != NULL);
  arena_release(&arena);
  arena_init(&arena, (size_t)64 << 20);
  struct day_habits habits = day_learn(suite.facility, &list, &all, at_ms(0, 0), &arena);
  const struct day_request request = {.facility = suite.facility,
                                      .zone = when_utc(),
                                      .air = air,
                                      .bookings = &list,
                                      .habits = &habits,
                                      .date = when_civil(when_utc(), at_ms(0, 600), NULL)};
  struct day_answer *answer = day_ask(&request, &arena, &err);

  REQUIRE(answer != NULL);
  CHECK_INT(answer->quarter_count, 96);
  CHECK_INT(answer->quarters[41].like_days, 3); /* 10:15 */
  CHECK_INT(answer->quarters[41].like_short, 1);
  CHECK_INT(answer->quarters[60].like_days, 4);
  CHECK_INT(answer->quarters[60].like_short, 0);
  day_air_free(air);
}

static void what_nobody_booked_within_an_hour_is_used_without_a_booking(void)
{
  const struct day_use uses[] = {
      use(0, 605, 700, 0.4),   /* booked, and 40 min over */
      use(0, 780, 800, 0.4),   /* two hours after: nobody booked it ... */
      use(0, 810, 840, 0.4),   /* ... up again within a quarter of an hour: the same use */
      use(1, 900, 910, 0.4),   /* ten minutes are no use of it */
      use(2, 1000, 1030, 0.4), /* nobody booked it */
      {0, false, at_ms(3, 900), at_ms(3, 1000), NAN}, /* not known is no use */
      {1, true, at_ms(2, 600), at_ms(2, 660), NAN},   /* another station than the booked one */
      use(-1, 600, 660, 0.4)}; /* before the first booking that was read nothing tells */

  book();
  struct day_habits h = learn(uses, 8);

  CHECK_INT(h.unbooked[0].uses, 3);
  CHECK_INT(h.unbooked[0].unbooked, 2);
  CHECK_NEAR(h.unbooked[0].unbooked_s, (60 + 30) * 60, 1e-12, 0);
  CHECK_INT(h.unbooked[0].last_ms, at_ms(2, 1000));
  CHECK_INT(h.unbooked[1].uses, 1);
  CHECK_INT(h.unbooked[1].unbooked, 1);
  CHECK_INT(h.unbooked_from_ms, at_ms(0, 600));

  /* the suite's own figures: five minutes are a use, three hours after is still the booked one */
  struct facility other = *suite.facility;
  const struct day_uses all = {8, uses, at_ms(0, 0), at_ms(6, 0), 0};

  other.day.least_use_s = 300;
  h = day_learn(&other, &list, &all, at_ms(6, 0), &arena);
  CHECK_INT(h.unbooked[0].uses, 5);
  CHECK_INT(h.unbooked[0].unbooked, 4);
  other.day.around_s = 3 * 3600;
  h = day_learn(&other, &list, &all, at_ms(6, 0), &arena);
  CHECK_INT(h.unbooked[0].unbooked, 2);
}

/* ---- a second person ---- */

/* By what the booking is for: "always", "late": from 17:00 on, "staff": always, and staff are there until 17:00. */
static enum day_need needs(void *arg, const struct day_booking *b, int64_t t_ms)
{
  bool late = (t_ms - monday_ms) % 86400000 >= 17 * 3600000;

  (void)arg;
  if (strcmp(b->what, "always") == 0)
    return DAY_NEED;
  if (strcmp(b->what, "staff") == 0)
    return late ? DAY_NEED : DAY_NEED_STAFF_THERE;
  return strcmp(b->what, "late") == 0 && late ? DAY_NEED : DAY_NO_NEED;
}

static enum day_can can(void *arg, const struct day_booking *b, const struct day_booking *other)
{
  (void)arg;
  return strcmp(b->who, other->who) == 0     ? DAY_CANNOT
         : strcmp(other->who, "expert") == 0 ? DAY_CAN_ENDORSED
         : strcmp(other->who, "guest") == 0  ? DAY_CANNOT
                                             : DAY_CAN;
}

static struct day_booking at_work(const char *id, int station, int from_minute, int to_minute,
                                  const char *who, const char *what)
{
  return (struct day_booking){.id = id,
                              .station = station,
                              .start_ms = at_ms(0, from_minute),
                              .end_ms = at_ms(0, to_minute),
                              .who = who,
                              .what = what,
                              .family = ""};
}

static const struct day_answer *second(struct day_booking *bookings, int count,
                                       struct day_air **air)
{
  static struct day_bookings all;
  static struct day_habits habits;
  static struct day_request request;
  const struct day_uses none = {0};
  struct err err = {0};

  all = (struct day_bookings){count, bookings};
  *air = day_air_new(suite.facility, &err);
  arena_release(&arena);
  arena_init(&arena, (size_t)64 << 20);
  habits = day_learn(suite.facility, &all, &none, at_ms(0, 0), &arena);
  request = (struct day_request){.facility = suite.facility,
                                 .zone = when_utc(),
                                 .air = *air,
                                 .bookings = &all,
                                 .habits = &habits,
                                 .date = when_civil(when_utc(), at_ms(0, 600), NULL),
                                 .second_needs = needs,
                                 .second_can = can};
  return day_ask(&request, &arena, &err);
}

static void a_booking_that_wants_another_says_who_could_be_and_when_nobody_is(void)
{
  struct day_booking bookings[] = {at_work("a", 0, 600, 720, "one", "always"),
                                   at_work("b", 1, 600, 660, "two", ""),
                                   at_work("c", 1, 660, 690, "guest", "")};
  struct day_air *air;
  const struct day_answer *answer = second(bookings, 3, &air);

  REQUIRE(answer != NULL);
  if (CHECK_INT(answer->second_count, 1)) {
    const struct day_second *s = &answer->seconds[0];

    CHECK_NEAR(s->needed_s, 7200, 1e-12, 0);
    CHECK(s->known && !s->staff);
    CHECK_INT(s->who_count, 1);
    CHECK_STR(answer->day.list[s->who[0]].id, "b");
    CHECK_INT(s->lacking_count, 1); /* the guest is in no file */
    CHECK_INT(s->lacking[0].from_ms, at_ms(0, 660));
    CHECK_INT(s->lacking[0].to_ms, at_ms(0, 720));
    CHECK_INT(s->move_ms, INT64_MIN); /* two hours, and the other stays one */
    CHECK(day_needs_person(answer));
  }
  day_air_free(air);
}

static void the_nearest_start_has_somebody_throughout_and_stands_against_no_booking(void)
{
  struct day_booking bookings[] = {at_work("a", 0, 600, 660, "one", "always"),
                                   at_work("b", 1, 645, 780, "two", ""),
                                   at_work("d", 0, 705, 720, "three", "")};
  struct day_air *air;
  const struct day_answer *answer = second(bookings, 3, &air);

  REQUIRE(answer != NULL);
  if (CHECK_INT(answer->second_count, 1)) {
    CHECK_INT(answer->seconds[0].lacking[0].from_ms, at_ms(0, 600));
    CHECK_INT(answer->seconds[0].lacking[0].to_ms, at_ms(0, 645));
    CHECK_INT(answer->seconds[0].move_ms, at_ms(0, 645)); /* 10:45 to 11:45 is free at H1 */
  }
  day_air_free(air);
}

static void who_is_endorsed_comes_first_and_staff_are_asked_in_their_hours(void)
{
  struct day_booking bookings[] = {at_work("a", 0, 990, 1050, "one", "staff"),
                                   at_work("b", 1, 990, 1050, "expert", "")};
  struct day_booking alone[] = {at_work("a", 0, 990, 1050, "one", "staff"),
                                at_work("l", 1, 990, 1020, "three", "late")};
  struct day_air *air;
  const struct day_answer *answer = second(bookings, 2, &air);

  REQUIRE(answer != NULL);
  CHECK_INT(answer->second_count, 1);
  CHECK(answer->seconds[0].staff);
  CHECK_INT(answer->seconds[0].who_count, 1);
  CHECK_INT(answer->seconds[0].lacking_count, 0);
  day_air_free(air);
  answer = second(alone, 2, &air); /* the other ends at 17:00 and needs nobody */
  REQUIRE(answer != NULL);
  if (CHECK_INT(answer->second_count, 1)) {
    CHECK_INT(answer->seconds[0].lacking[0].from_ms, at_ms(0, 1020));
    CHECK_INT(answer->seconds[0].move_ms, at_ms(0, 960));
  }
  day_air_free(air);
}

static void hours_that_end_within_a_quarter_hour_are_asked_at_both_its_ends(void)
{
  struct day_booking bookings[] = {at_work("a", 0, 1010, 1025, "one", "late")}; /* 16:50 to 17:05 */
  struct day_air *air;
  const struct day_answer *answer = second(bookings, 1, &air);

  REQUIRE(answer != NULL);
  if (CHECK_INT(answer->second_count, 1))
    CHECK_INT(answer->seconds[0].lacking_count, 1); /* nobody from 17:00 on */
  day_air_free(air);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  if (!suite_from_text(&suite, suite_text))
    return 1;
  RUN(arrivals_overruns_and_no_shows_are_those_of_the_record);
  RUN(too_few_cases_leave_the_suites_settings);
  RUN(what_the_record_does_not_know_is_no_case);
  RUN(a_sash_that_nothing_measures_gives_no_case);
  RUN(somebody_else_before_and_after_is_not_the_one_who_booked);
  RUN(what_nobody_booked_within_an_hour_is_used_without_a_booking);
  RUN(a_booking_that_wants_another_says_who_could_be_and_when_nobody_is);
  RUN(the_nearest_start_has_somebody_throughout_and_stands_against_no_booking);
  RUN(who_is_endorsed_comes_first_and_staff_are_asked_in_their_hours);
  RUN(hours_that_end_within_a_quarter_hour_are_asked_at_both_its_ends);
  RUN(like_days_are_the_same_weekday_replayed);
  suite_release(&suite);
  arena_release(&arena);
  return check_end();
}
