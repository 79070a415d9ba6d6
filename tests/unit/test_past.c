#include "past/past.h"

#include "check.h"
#include "past_day.h"

#include <math.h>
#include <string.h>

/* Minutes of the clock, for reading: AT(9, 40) is 09:40. */
#define AT(hour, minute) (60.0 * (hour) + (minute))

static void check_piece(const struct past_signal *s, int i, double from_min, double to_min,
                        const char *what)
{
  char got[100];

  CHECK_CASE("piece %d", i);
  if (!CHECK(i < s->count))
    return;
  const struct past_piece *p = &s->list[i];

  if (p->known)
    snprintf(got, sizeof got, "%.2f %.2f %s", p->low_si, p->high_si, p->raised ? "raised" : "down");
  else
    snprintf(got, sizeof got, "%s", p->why);
  CHECK_STR(got, what);
  CHECK_INT(p->from_ms, past_day_ms(from_min));
  CHECK_INT(p->to_ms, past_day_ms(to_min));
}

/*
 * A1: parked from 08:00, work from 09:00, 0.60 m from 09:40, parked from 10:00; nothing more until
 * 11:30.  A value says something for an hour, so from 11:00 to 11:30 nothing is known.
 * Somebody is there from 09:00 to 09:30; own alarm from 09:50 to 10:00.
 */
static void say_morning(struct past_day *day)
{
  static const struct {
    const char *point;
    double minute, si;
  } said[] = {
      {"a1", AT(8, 0), 0.02},  {"a1", AT(8, 30), 0.02}, {"a1", AT(9, 0), 0.45},
      {"a1", AT(9, 20), 0.46}, {"a1", AT(10, 0), 0.02}, {"a1", AT(11, 30), 0.02},
      {"p1", AT(8, 0), 0},     {"p1", AT(9, 0), 1},     {"p1", AT(9, 30), 0},
      {"p1", AT(10, 0), 0},    {"n1", AT(8, 0), 0},     {"n1", AT(8, 50), 0},
      {"n1", AT(9, 50), 1},    {"n1", AT(10, 0), 0},
  };

  for (size_t i = 0; i < sizeof said / sizeof said[0]; i++)
    past_day_say(day, said[i].point, said[i].minute, said[i].si);
  past_day_late(day, "a1", AT(9, 40), AT(13, 0), 0.60);
  past_day_missing(day, "p1", AT(11, 30));
  past_day_enter(day, RECORD_NOTE, "A1", AT(9, 55), "squeaks\noil asked for");
  past_day_enter(day, RECORD_NOTE, "A2", AT(9, 56), "not about A1");
}

static void a_station_is_told_in_stretches_and_gaps_are_stretches(void)
{
  const struct past_span span = past_day_span(AT(8, 0), AT(12, 0));
  struct past_timeline t;
  struct past_day day;

  if (past_day_new(&day)) {
    say_morning(&day);
    CHECK_INT(past_timeline_ask(&day.place, 0, &span, &day.arena, &t, &day.err), ERR_OK);
    CHECK_INT(t.signal_count, 3);
    CHECK_INT(t.signals[0].count, 6);
    check_piece(&t.signals[0], 0, AT(8, 0), AT(9, 0), "0.02 0.02 down");
    check_piece(&t.signals[0], 1, AT(9, 0), AT(9, 40), "0.45 0.46 raised");
    check_piece(&t.signals[0], 2, AT(9, 40), AT(10, 0), "0.60 0.60 raised");
    check_piece(&t.signals[0], 3, AT(10, 0), AT(11, 0), "0.02 0.02 down");
    check_piece(&t.signals[0], 4, AT(11, 0), AT(11, 30), "nothing came for longer than 1 h");
    check_piece(&t.signals[0], 5, AT(11, 30), AT(12, 0), "0.02 0.02 down");
    check_piece(&t.signals[1], 3, AT(11, 0), AT(11, 30), "nothing came for longer than 1 h");
    check_piece(&t.signals[1], 4, AT(11, 30), AT(12, 0), "missing");
    CHECK_INT(t.signals[1].count, 5);
    CHECK_INT(t.entry_count, 1);
    /* open 09:00 to 10:00 in one go; from 09:30 on with nobody there; 11:00 to 11:30 not known */
    CHECK_NEAR(t.sum.raised_s, 3600, 0, 1e-9);
    CHECK_INT(t.sum.raised_count, 1);
    CHECK_NEAR(t.sum.raised_nobody_s, 1800, 0, 1e-9);
    CHECK_NEAR(t.sum.raised_presence_not_known_s, 0, 0, 0);
    CHECK_NEAR(t.sum.sash_not_known_s, 1800, 0, 1e-9);
    CHECK_NEAR(t.sum.own_alarm_s, 600, 0, 1e-9);
    CHECK_INT(t.sum.own_alarm_count, 1);
  }
  past_day_release(&day);
}

/* The 0.60 m of 09:40 came at 13:00: at noon 0.46 m held until 10:00. */
static void as_of_noon_what_came_later_is_not_told(void)
{
  struct past_span span = past_day_span(AT(8, 0), AT(12, 0));
  struct past_timeline t;
  struct past_day day;

  if (past_day_new(&day)) {
    say_morning(&day);
    span.known_ms = past_day_ms(AT(12, 0));
    CHECK_INT(past_timeline_ask(&day.place, 0, &span, &day.arena, &t, &day.err), ERR_OK);
    CHECK_INT(t.signals[0].count, 5);
    check_piece(&t.signals[0], 1, AT(9, 0), AT(10, 0), "0.45 0.46 raised");
    span.known_ms = past_day_ms(AT(9, 30)); /* the note of 09:55 neither */
    CHECK_INT(past_timeline_ask(&day.place, 0, &span, &day.arena, &t, &day.err), ERR_OK);
    CHECK_INT(t.entry_count, 0);
  }
  past_day_release(&day);
}

/* Without a point for its opening a two-state hood is at work when its flow is nearer to that. */
static void a_flow_tells_the_sash_where_no_point_does(void)
{
  const struct past_span span = past_day_span(AT(8, 0), AT(9, 30));
  struct past_timeline t;
  struct past_day day;

  if (past_day_new(&day)) {
    past_day_say(&day, "f4", AT(7, 30), 310 / 3600.0); /* still says something at 08:00 */
    past_day_say(&day, "f4", AT(8, 10), 1090 / 3600.0);
    past_day_say(&day, "f4", AT(8, 40), 300 / 3600.0);
    CHECK_INT(past_timeline_ask(&day.place, 3, &span, &day.arena, &t, &day.err), ERR_OK);
    CHECK_INT(t.signals[0].count, 3);
    check_piece(&t.signals[0], 0, AT(8, 0), AT(8, 10), "0.09 0.09 down");
    check_piece(&t.signals[0], 1, AT(8, 10), AT(8, 40), "0.30 0.30 raised");
    check_piece(&t.signals[0], 2, AT(8, 40), AT(9, 30), "0.08 0.08 down");
    CHECK(isnan(t.sum.raised_nobody_s) && isnan(t.sum.own_alarm_s)); /* no point says it */
  }
  past_day_release(&day);
}

/*
 * 0.50 m/s at 08:00, 0.51 m/s from 08:30 on: by the sensor's `frozen after: 90 min` a number that has not
 * moved since 08:00 says nothing after 09:30.  At 10:20 it moves again.
 */
static void a_number_that_does_not_move_is_not_known(void)
{
  const struct past_span span = past_day_span(AT(8, 0), AT(11, 0));
  struct past_timeline t;
  struct past_day day;

  if (past_day_new(&day)) {
    past_day_say(&day, "v3", AT(8, 0), 0.50);
    for (double minute = AT(8, 30); minute < AT(10, 15); minute += 30)
      past_day_say(&day, "v3", minute, 0.51);
    past_day_say(&day, "v3", AT(10, 20), 0.53);
    CHECK_INT(past_timeline_ask(&day.place, 2, &span, &day.arena, &t, &day.err), ERR_OK);
    const struct past_signal *v3 = &t.signals[t.signal_count - 1];

    CHECK_INT(v3->count, 3);
    check_piece(v3, 0, AT(8, 0), AT(9, 30), "0.50 0.51 down");
    check_piece(v3, 1, AT(9, 30), AT(10, 20),
                "frozen: it has not moved at all for longer than 1 h 30 min");
    check_piece(v3, 2, AT(10, 20), AT(11, 0), "0.53 0.53 down");
  }
  past_day_release(&day);
}

static void a_timeline_reads_in_order_of_time(void)
{
  static const char *const wanted[] = {
      "Ashlode   A1",
      "Open for 1 h, 1 time; of that with nobody there: 30 min.",
      "Not known how far up it was: 30 min.",
      "Its own alarm was on 1 time, 10 min in all.",
      "2026-10-26, Monday, +00:00",
      "parked, 0.020 m",
      "09:00     opening       open 0.45 to 0.46 m",
      "09:30     presence      nobody there",
      "open 0.60 m, above its mark 0.45 m",
      "09:50     alarm         OWN ALARM",
      "09:55     note          squeaks ... (M. Rao, entry 1)",
      "11:00     opening       NOT KNOWN: nothing came for longer than 1 h",
  };
  const struct past_span span = past_day_span(AT(8, 0), AT(12, 0));
  struct past_timeline t;
  struct past_day day;
  struct buf out;

  buf_init(&out, 1 << 20);
  if (past_day_new(&day)) {
    const char *at;

    say_morning(&day);
    CHECK_INT(past_timeline_ask(&day.place, 0, &span, &day.arena, &t, &day.err), ERR_OK);
    past_timeline_text(&day.place, &t, 100, &out);
    at = out.text;
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
      const char *next = strstr(at, wanted[i]);

      CHECK_CASE("%s", wanted[i]);
      if (CHECK(next != NULL))
        at = next;
    }
    CHECK(strstr(out.text, "not about A1") == NULL);
    buf_clear(&out);
    past_timeline_text(&day.place, &t, 2, &out);
    CHECK(strstr(out.text, "lines of before are left out") != NULL);
  }
  past_day_release(&day);
  buf_release(&out);
}

static void a_span_without_samples_is_not_known_from_end_to_end(void)
{
  const struct past_span span = past_day_span(AT(20, 0), AT(21, 0));
  struct past_timeline t;
  struct past_day day;

  if (past_day_new(&day)) {
    say_morning(&day);
    CHECK_INT(past_timeline_ask(&day.place, 0, &span, &day.arena, &t, &day.err), ERR_OK);
    CHECK_INT(t.any_known, false);
    CHECK_INT(t.signals[0].count, 1);
    check_piece(&t.signals[0], 0, AT(20, 0), AT(21, 0), "nothing was heard");
  }
  past_day_release(&day);
}

/*
 * Rows of an hour.  09:00 to 10:00: 0.45 m for 20 min, 0.46 m for 20 min, 0.60 m for 20 min: mean
 * (0.45 + 0.46 + 0.60) / 3 = 0.5033 m, known for 3600 s.  11:00 to 12:00: known from 11:30 on.
 */
static void a_plot_tells_least_mean_greatest_and_what_is_known(void)
{
  struct past_span span = past_day_span(AT(8, 0), AT(12, 0));
  struct record_plot plot;
  struct past_day day;

  if (past_day_new(&day)) {
    int a1 = feeds_point_find(day.feeds, "a1");

    say_morning(&day);
    CHECK_INT(past_plot_ask(&day.place, a1, &span, 4, &day.arena, &plot, &day.err), ERR_OK);
    REQUIRE(plot.count == 4);
    CHECK_NEAR(plot.width_s, 3600, 0, 0);
    CHECK_NEAR(plot.list[1].min_si, 0.45, 0, 1e-12);
    CHECK_NEAR(plot.list[1].max_si, 0.60, 0, 1e-12);
    CHECK_NEAR(plot.list[1].integral_si_s / plot.list[1].good_s, 1.51 / 3, 1e-12, 0);
    CHECK_NEAR(plot.list[1].good_s, 3600, 0, 0);
    CHECK_NEAR(plot.list[3].good_s, 1800, 0, 0);
    /* as of noon: 0.45 m for 20 min, then 0.46 m for 40 min */
    span.known_ms = past_day_ms(AT(12, 0));
    CHECK_INT(past_plot_ask(&day.place, a1, &span, 4, &day.arena, &plot, &day.err), ERR_OK);
    REQUIRE(plot.count == 4);
    CHECK_NEAR(plot.list[1].max_si, 0.46, 0, 1e-12);
    CHECK_NEAR(plot.list[1].integral_si_s / plot.list[1].good_s, (0.45 + 2 * 0.46) / 3, 1e-12, 0);
    CHECK_NEAR(plot.list[3].good_s, 1800, 0, 0);
    /* as of 08:00 nothing had come but the first */
    span.known_ms = past_day_ms(AT(8, 0));
    CHECK_INT(past_plot_ask(&day.place, a1, &span, 4, &day.arena, &plot, &day.err), ERR_OK);
    CHECK_NEAR(plot.list[0].good_s, 3600, 0, 0);
    CHECK(isnan(plot.list[1].min_si));
  }
  past_day_release(&day);
}

static void a_plot_of_a_minute_and_of_ten_years_fits_its_rows(void)
{
  static const double spans_min[] = {1, 59, 600, 1440, 10080, 525600, 5256000};
  struct record_plot plot;
  struct past_day day;

  if (past_day_new(&day)) {
    say_morning(&day);
    for (size_t i = 0; i < sizeof spans_min / sizeof spans_min[0]; i++)
      for (int as_of = 0; as_of < 2; as_of++) {
        struct past_span span = past_day_span(AT(9, 10), AT(9, 10) + spans_min[i]);

        CHECK_CASE("%g min, as of %d", spans_min[i], as_of);
        span.known_ms = as_of ? past_day_ms(1e7) : INT64_MAX;
        CHECK_INT(past_plot_ask(&day.place, 0, &span, 26, &day.arena, &plot, &day.err), ERR_OK);
        CHECK(plot.count >= 8 && plot.count <= 26);
        CHECK(plot.list[0].t_ms <= span.from_ms);
        CHECK((double)plot.list[plot.count - 1].t_ms + plot.width_s * 1e3 >= (double)span.to_ms);
        CHECK(plot.list[0].min_si > 0.0199 && plot.list[0].min_si < 0.4501); /* 09:10 was known */
      }
  }
  past_day_release(&day);
}

/* ---- who took what out of use ---- */

static const struct record_entry *withdrawn_at(struct past_day *day, const struct facility *f,
                                               double minute, int station)
{
  const struct record_entry *const *list = NULL;

  CHECK_INT(past_withdrawals(day->place.record, f, past_day_ms(minute), INT64_MAX, &day->arena,
                             &list, &day->err),
            ERR_OK);
  return list ? list[station] : NULL;
}

/* The same suite, its first station renamed from A0. */
static struct facility renamed(struct past_day *day)
{
  struct facility f = *day->facility;
  struct facility_station *stations =
      ARENA_ARRAY(&day->arena, struct facility_station, (size_t)f.station_count);

  memcpy(stations, f.stations, (size_t)f.station_count * sizeof *stations);
  stations[0].part.was = "A0";
  f.stations = stations;
  return f;
}

static void a_station_that_was_renamed_stays_out_of_use_until_it_is_released(void)
{
  struct past_day day;

  if (past_day_new(&day)) {
    const struct facility f = renamed(&day);

    past_day_enter(&day, RECORD_WITHDRAWN, "A0", AT(9, 0), "baffle loose");
    past_day_enter(&day, RECORD_RELEASED, "A1", AT(10, 0), "mended");
    CHECK(withdrawn_at(&day, &f, AT(8, 59), 0) == NULL);
    CHECK(withdrawn_at(&day, &f, AT(9, 30), 0) &&
          strcmp(withdrawn_at(&day, &f, AT(9, 30), 0)->text, "baffle loose") == 0);
    CHECK(withdrawn_at(&day, &f, AT(9, 30), 1) == NULL);
    CHECK(withdrawn_at(&day, &f, AT(10, 0), 0) == NULL);
  }
  past_day_release(&day);
}

static void a_release_from_a_stop_gives_back_nothing_that_was_taken_out_of_use(void)
{
  struct record_entry entry = {.kind = RECORD_RELEASED,
                               .about = "A1",
                               .who = "E. Test",
                               .text = "power is back",
                               .detail = "{\"schema\": \"inward.restarted.1\"}"};
  struct past_day day;

  if (past_day_new(&day)) {
    past_day_enter(&day, RECORD_WITHDRAWN, "A1", AT(9, 0), "baffle loose");
    entry.t_ms = entry.written_ms = past_day_ms(AT(9, 30));
    CHECK_INT(record_append(day.place.record, &entry, &day.err), ERR_OK);
    CHECK(withdrawn_at(&day, day.facility, AT(10, 0), 0) != NULL);
    entry.detail = "";
    CHECK_INT(record_append(day.place.record, &entry, &day.err), ERR_OK);
    CHECK(withdrawn_at(&day, day.facility, AT(10, 0), 0) == NULL);
  }
  past_day_release(&day);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_station_is_told_in_stretches_and_gaps_are_stretches);
  RUN(as_of_noon_what_came_later_is_not_told);
  RUN(a_flow_tells_the_sash_where_no_point_does);
  RUN(a_number_that_does_not_move_is_not_known);
  RUN(a_timeline_reads_in_order_of_time);
  RUN(a_span_without_samples_is_not_known_from_end_to_end);
  RUN(a_plot_tells_least_mean_greatest_and_what_is_known);
  RUN(a_plot_of_a_minute_and_of_ten_years_fits_its_rows);
  RUN(a_station_that_was_renamed_stays_out_of_use_until_it_is_released);
  RUN(a_release_from_a_stop_gives_back_nothing_that_was_taken_out_of_use);
  return check_end();
}
