#include "past/past.h"

#include "check.h"
#include "numeric/numeric.h"
#include "past_day.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/*
 * Nights of Ashlode (past_day.h): four hoods of 300 m3/h parked and 1100 m3/h at work, so that one that
 * is up costs 800 m3 an hour.  Its values say something for an hour.  A night is from 19:00 to 07:00.
 */
enum { HOUR = 60, NIGHT_H = 12, T0_DAY = 24 * HOUR };

static bool zone_of(struct past_day *day, const char *name)
{
  static char bytes[1 << 16];
  char path[100];
  FILE *file;

  snprintf(path, sizeof path, "/usr/share/zoneinfo/%s", name);
  file = fopen(path, "rb");
  if (!CHECK(file != NULL))
    return false;
  size_t size = fread(bytes, 1, sizeof bytes, file);

  fclose(file);
  return CHECK_INT(when_zone_read(name, bytes, size, &day->arena, &day->place.zone, &day->err),
                   ERR_OK);
}

static void say_hourly(struct past_day *day, const char *point, double from_min, int hours,
                       double si)
{
  for (int i = 0; i < hours; i++)
    past_day_say(day, point, from_min + i * (double)HOUR, si);
}

/* All parked, nobody there, nothing blocked. */
static void say_quiet(struct past_day *day, double from_min, int hours)
{
  static const char *const sashes[] = {"a1", "a2", "a3"}, *const noes[] = {"p1", "p2", "p3", "b2"};

  for (size_t i = 0; i < sizeof sashes / sizeof sashes[0]; i++)
    say_hourly(day, sashes[i], from_min, hours, 0.02);
  for (size_t i = 0; i < sizeof noes / sizeof noes[0]; i++)
    say_hourly(day, noes[i], from_min, hours, 0);
  say_hourly(day, "f4", from_min, hours, 300 / 3600.0);
}

static bool ask(struct past_day *day, const char *date, double now_min, struct past_night *out)
{
  struct when_civil evening;

  return CHECK_INT(past_night_find(&day->place, date, past_day_ms(now_min), &evening, &day->err),
                   ERR_OK) &&
         CHECK_INT(past_night_ask(&day->place, &evening, past_day_ms(now_min), INT64_MAX,
                                  &day->arena, out, &day->err),
                   ERR_OK) &&
         CHECK_INT(past_night_levels(&day->place, out, &day->arena, &day->err), ERR_OK);
}

static void check_sure(struct energy_range got, double want)
{
  CHECK_NEAR(got.least_m3, want, 0, 1e-6);
  CHECK_NEAR(got.most_m3, want, 0, 1e-6);
  CHECK_NEAR(got.best_m3, want, 0, 1e-6);
}

/* ---- clock changes ---- */

/*
 * Paris, 24 to 25 October 2026: from 19:00 +02:00 (17:00 UTC) to 07:00 +01:00 (06:00 UTC), 13 hours.
 * A1 up all the time with nobody there: 13 x 800 = 10 400 m3.
 */
static void a_night_in_autumn_has_an_hour_more(void)
{
  double from_min = -31.0 * HOUR; /* of 2026-10-26 00:00 UTC */
  struct past_night night;
  struct past_day day;

  if (past_day_new(&day) && zone_of(&day, "Europe/Paris")) {
    say_quiet(&day, from_min - HOUR, 15);
    for (int i = 0; i < 13; i++) /* a minute later than what is quiet, and for as long */
      past_day_say(&day, "a1", from_min + i * (double)HOUR + 0.001, 0.45);
    if (ask(&day, "2026-10-24", from_min + 14 * HOUR, &night)) {
      CHECK_INT(night.span.to_ms - night.span.from_ms, INT64_C(13) * 3600 * 1000);
      CHECK_INT(night.span.from_ms, past_day_ms(from_min));
      CHECK(night.ended);
      CHECK_NEAR(night.air.stations[0].parts[ENERGY_UNATTENDED].best_m3, 10400, 1e-4, 0);
      CHECK_NEAR(night.air.all.excess.best_m3, 10400, 1e-4, 0);
      CHECK_INT(night.order[0], 0);
    }
  }
  past_day_release(&day);
}

/* 28 to 29 March 2026: from 18:00 UTC to 05:00 UTC, 11 hours: 11 x 800 = 8800 m3. */
static void a_night_in_spring_has_an_hour_less(void)
{
  double from_min = -212.0 * T0_DAY + 18 * HOUR;
  struct past_night night;
  struct past_day day;

  if (past_day_new(&day) && zone_of(&day, "Europe/Paris")) {
    say_hourly(&day, "a1", from_min, 12, 0.45);
    say_hourly(&day, "p1", from_min, 12, 0);
    if (ask(&day, "2026-03-28", from_min + NIGHT_H * HOUR, &night)) {
      CHECK_INT(night.span.to_ms - night.span.from_ms, INT64_C(11) * 3600 * 1000);
      check_sure(night.air.stations[0].excess, 8800);
    }
  }
  past_day_release(&day);
}

/* ---- gaps ---- */

/*
 * UTC, the night of the 26th.  A1 is up and attended from 19:00; its value of 22:00 is the last until
 * 01:00: from 23:00 on (an hour after it) to 01:00 nothing is known.
 *   attended, for sure   4 h before the gap, 6 h after it: 10 x 800 = 8000 m3
 *   in the gap           no point measures its flow: 0 to 2 x 800 m3
 */
static void a_gap_is_what_it_could_have_drawn(void)
{
  double from_min = 19.0 * HOUR;
  struct past_night night;
  struct past_day day;

  if (past_day_new(&day)) {
    say_hourly(&day, "a1", from_min, 4, 0.45);
    say_hourly(&day, "a1", from_min + 6 * HOUR, 6, 0.45);
    say_hourly(&day, "p1", from_min, 12, 1);
    if (ask(&day, "2026-10-26", from_min + NIGHT_H * HOUR, &night)) {
      const struct energy_station *s = &night.air.stations[0];

      CHECK_NEAR(s->parts[ENERGY_ATTENDED].least_m3, 8000, 0, 1e-6);
      CHECK_NEAR(s->parts[ENERGY_ATTENDED].most_m3, 9600, 0, 1e-6);
      CHECK_NEAR(s->not_known_s, 7200, 0, 1e-6);
      CHECK(isnan(s->excess.best_m3)); /* two hours are more than the one a gap may have */
      CHECK(isnan(night.air.all.excess.best_m3));
      CHECK_STR(night.gaps[0].about, "A1");
      CHECK_STR(night.gaps[0].why, "nothing came");
      CHECK_INT(night.gaps[0].from_ms, past_day_ms(23 * HOUR));
      CHECK_INT(night.gaps[0].to_ms, past_day_ms(25 * HOUR));
    }
  }
  past_day_release(&day);
}

static bool holds(const struct energy_range *wide, const struct energy_range *narrow)
{
  return wide->least_m3 <= narrow->least_m3 + 1e-6 && wide->most_m3 >= narrow->most_m3 - 1e-6;
}

/* A random night heard every hour, and the same with samples lost: in a record of its own each time. */
static struct energy_range of_random_night(uint64_t seed, int lost_of_ten, struct past_day *day)
{
  static const char *const points[] = {"a2", "p2", "b2"};
  struct energy_range none = {(double)NAN, (double)NAN, (double)NAN};
  struct numeric_random night, losses;
  struct past_night out;

  numeric_random_seed(&night, seed);
  numeric_random_seed(&losses, seed + 1000);
  if (!past_day_new(day))
    return none;
  for (int hour = 0; hour < NIGHT_H; hour++)
    for (int k = 0; k < 3; k++) {
      bool yes = numeric_random_below(&night, 2) == 1;
      bool lost = numeric_random_below(&losses, 10) < lost_of_ten;

      if (!lost)
        past_day_say(day, points[k], (19 + hour) * (double)HOUR, k > 0 ? yes : yes ? 0.45 : 0.02);
    }
  if (!ask(day, "2026-10-26", (19 + NIGHT_H) * (double)HOUR, &out))
    return none;
  return out.air.stations[1].excess;
}

static void lost_samples_widen_the_range_around_the_truth(void)
{
  for (uint64_t seed = 1; seed <= 12; seed++) {
    struct energy_range ranges[3];

    CHECK_CASE("night %d", (int)seed);
    for (int i = 0; i < 3; i++) {
      struct past_day day;

      ranges[i] = of_random_night(seed, 3 * i, &day); /* the more are lost, those too */
      past_day_release(&day);
    }
    CHECK_NEAR(ranges[0].most_m3, ranges[0].least_m3, 0, 1e-6);
    CHECK(holds(&ranges[1], &ranges[0]));
    CHECK(holds(&ranges[2], &ranges[1]));
  }
}

/* ---- the nights before ---- */

/*
 * Four nights.  A2's beam is blocked in each from 19:00 to 07:00: 12 x 800 = 9600 m3.  A1 is up with
 * somebody there for 1, 2, 3 and 4 hours: the three before come to 10 400, 11 200 and 12 000 m3, the
 * last to 12 800.  Their median is 11 200.
 */
static void the_nights_before_are_compared_by_their_median(void)
{
  struct past_night night;
  struct past_day day;
  struct buf said;

  buf_init(&said, 1 << 16);
  if (past_day_new(&day)) {
    for (int i = 0; i < 4; i++) {
      double from_min = 19.0 * HOUR + i * (double)T0_DAY;

      say_hourly(&day, "a2", from_min, NIGHT_H, 0.02);
      say_hourly(&day, "p2", from_min, NIGHT_H, 0);
      say_hourly(&day, "b2", from_min, NIGHT_H, 1);
      say_hourly(&day, "a3", from_min, NIGHT_H, 0.02);
      say_hourly(&day, "p3", from_min, NIGHT_H, 0);
      say_hourly(&day, "f4", from_min, NIGHT_H, 300 / 3600.0);
      say_hourly(&day, "p1", from_min, NIGHT_H, 1);
      say_hourly(&day, "a1", from_min, 1 + i, 0.45);
      say_hourly(&day, "a1", from_min + (1 + i) * HOUR, NIGHT_H - 1 - i, 0.02);
    }
    if (ask(&day, "2026-10-29", 31.0 * HOUR + 3 * T0_DAY, &night)) {
      check_sure(night.air.all.excess, 12800);
      CHECK_INT(night.earlier_count, 3);
      CHECK_INT(night.earlier_left, 0);
      CHECK_NEAR(night.earlier_m3, 11200, 0, 1e-6);
      CHECK_INT(night.same_nights[1], 3);
      CHECK_INT(night.same_nights[0], 0); /* work is nothing to repeat */
      CHECK_INT(night.order[0], 1);
      past_night_text(&day.place, &night, &said);
      CHECK(strstr(said.text,
                   "The night moved 12 800 m\302\263 more than parked: three quarters of it "
                   "at A2, blocked sash from 19:00 to 07:00."));
      CHECK(
          strstr(said.text, "11 200 m\302\263 in the median of 3; this one 1 600 m\302\263 more."));
      CHECK(strstr(said.text, "the same in the 3 nights before"));
      /* A1 and A2 at work 2 x 1100, the others 2 x 300: 2800 of 3000 m3/h, near its limit, for 4 h */
      CHECK_NEAR(past_level_s(&night.levels.air, FACILITY_NEAR_LIMIT), 4 * 3600.0, 0, 1e-6);
    }
  }
  buf_release(&said);
  past_day_release(&day);
}

/* ---- which night ---- */

static void check_date(struct past_day *day, double now_min, int want_day)
{
  struct when_civil date;

  CHECK_INT(past_night_find(&day->place, NULL, past_day_ms(now_min), &date, &day->err), ERR_OK);
  CHECK_INT(date.day, want_day);
}

/* A record from the 26th, 12:00 on. */
static void the_last_night_is_the_one_that_is_over_or_half_over(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    past_day_say(&day, "a1", 12 * HOUR, 0.02);
    check_date(&day, 32 * HOUR, 26); /* the 27th, 08:00 */
    check_date(&day, 44 * HOUR, 26); /* the 27th, 20:00: tonight has begun */
    check_date(&day, 49 * HOUR, 27); /* the 28th, 01:00: half over */
    check_date(&day, 20 * HOUR, 26); /* the 26th, 20:00: none before it is in the record */
  }
  past_day_release(&day);
}

static void check_refused(struct past_day *day, const char *text, double now_min, const char *why)
{
  struct when_civil date;
  struct err err = {0};

  CHECK_CASE("%s", text);
  CHECK_INT(past_night_find(&day->place, text, past_day_ms(now_min), &date, &err), ERR_INPUT);
  CHECK(strstr(err.text, why) != NULL);
}

static void a_night_that_cannot_be_is_refused(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    check_refused(&day, "2026-10-26", 40 * HOUR, "the record holds nothing yet");
    past_day_say(&day, "a1", 12 * HOUR, 0.02);
    check_refused(&day, "2026-10-25", 40 * HOUR, "before the record began");
    check_refused(&day, "2026-10-27", 40 * HOUR, "nothing is known after");
    check_refused(&day, "2026-02-29", 40 * HOUR, "there is no day 2026-02-29");
    check_refused(&day, "26.10.2026", 40 * HOUR, "is no day");
    check_refused(&day, "2026-1a-26", 40 * HOUR, "is no day");
    check_refused(&day, "", 40 * HOUR, "is no day");
  }
  past_day_release(&day);
}

/* At 23:00 of it: four of twelve hours, A1 up for all of them: 4 x 800 = 3200 m3. */
static void a_night_that_goes_on_is_told_so_far(void)
{
  struct past_night night;
  struct past_day day;
  struct buf said;

  buf_init(&said, 1 << 16);
  if (past_day_new(&day)) {
    say_quiet(&day, 18 * HOUR, 6);
    say_hourly(&day, "a1", 19.0 * HOUR + 0.001, 4, 0.45);
    if (ask(&day, "2026-10-26", 23.0 * HOUR, &night)) {
      CHECK(!night.ended);
      CHECK_INT(night.span.to_ms, past_day_ms(23 * HOUR));
      CHECK_NEAR(night.air.all.excess.best_m3, 3200, 1e-4, 0);
      past_night_text(&day.place, &night, &said);
      CHECK(strstr(said.text, "it goes on."));
    }
  }
  buf_release(&said);
  past_day_release(&day);
}

/* Whatever it holds, a quiet night too. */
static void the_json_of_a_night_closes(void)
{
  struct past_night night;
  struct past_day day;
  struct buf said;

  buf_init(&said, 1 << 20);
  if (past_day_new(&day)) {
    say_quiet(&day, 19 * HOUR, 12);
    if (ask(&day, "2026-10-26", 31.0 * HOUR, &night)) {
      check_sure(night.air.all.excess, 0);
      past_night_json(&day.place, &night,
                      &said); /* emit_end stops the program where a shape is open */
      CHECK(strstr(said.text, "\"schema\": \"inward.night.1\""));
    }
  }
  buf_release(&said);
  past_day_release(&day);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_night_in_autumn_has_an_hour_more);
  RUN(a_night_in_spring_has_an_hour_less);
  RUN(a_gap_is_what_it_could_have_drawn);
  RUN(lost_samples_widen_the_range_around_the_truth);
  RUN(the_nights_before_are_compared_by_their_median);
  RUN(the_last_night_is_the_one_that_is_over_or_half_over);
  RUN(a_night_that_cannot_be_is_refused);
  RUN(a_night_that_goes_on_is_told_so_far);
  RUN(the_json_of_a_night_closes);
  return check_end();
}
