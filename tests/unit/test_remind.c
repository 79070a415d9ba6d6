/* What is overdue is told once, together, at a decent hour, and gone when it is done. */
#include "remind/remind.h"

#include "check.h"

#include <math.h>
#include <string.h>

static const int64_t min_ms = 60 * 1000, hour_ms = 3600 * 1000, day_ms = 86400 * 1000;
static const int64_t start_ms = 1795996800000; /* 2026-11-30 00:00 UTC */
static const struct feeds_reminders usual = {.after_s = 1800,
                                             .apart_s = 3600,
                                             .again_s = 86400,
                                             .quiet_from_min = 19 * 60,
                                             .quiet_to_min = 7 * 60};

struct desk {
  struct reminders *reminders;
  struct remind_due due[8];
  int count;
  struct buf text, detail;
};

static void begin(struct desk *d, const struct feeds_reminders *settings)
{
  *d = (struct desk){.reminders = reminders_new(settings, NULL)};
  buf_init(&d->text, 1000);
  buf_init(&d->detail, 10000);
}

static void end(struct desk *d)
{
  reminders_free(d->reminders);
  buf_release(&d->text);
  buf_release(&d->detail);
}

static void is_overdue(struct desk *d, const char *key, int64_t since_ms)
{
  d->due[d->count++] = (struct remind_due){key, key, key, since_ms};
}

static bool tells(struct desk *d, int64_t now_ms)
{
  const struct remind_list list = {d->count, d->due};

  buf_release(&d->text);
  buf_release(&d->detail);
  buf_init(&d->text, 1000);
  buf_init(&d->detail, 10000);
  reminders_see(d->reminders, &list);
  return reminders_tell(d->reminders, now_ms, &d->text, &d->detail);
}

static void all_that_is_overdue_goes_into_one_message_and_not_one_a_minute(void)
{
  const int64_t ten_ms = start_ms + 10 * hour_ms;
  struct desk d;

  begin(&d, &usual);
  is_overdue(&d, "round A3", ten_ms);
  is_overdue(&d, "tank T1", ten_ms + 5 * min_ms);
  CHECK(!tells(&d, ten_ms + 29 * min_ms)); /* not for long enough */
  CHECK(tells(&d, ten_ms + 40 * min_ms));
  CHECK(strstr(d.text.text, "no alarm: 2 overdue. round A3, since 2026-11-30 10:00") != NULL);
  CHECK(strstr(d.text.text, "tank T1") != NULL);
  for (int i = 41; i < 180; i++)
    CHECK(!tells(&d, ten_ms + i * min_ms));
  end(&d);
}

static void what_becomes_overdue_meanwhile_waits_for_the_next_message(void)
{
  const int64_t ten_ms = start_ms + 10 * hour_ms;
  struct desk d;

  begin(&d, &usual);
  is_overdue(&d, "round A3", ten_ms);
  CHECK(tells(&d, ten_ms + 30 * min_ms));
  is_overdue(&d, "round A4", ten_ms + 10 * min_ms);
  CHECK(!tells(&d, ten_ms + 50 * min_ms));
  CHECK(tells(&d, ten_ms + 90 * min_ms));
  CHECK(strstr(d.text.text, "1 overdue. round A4") != NULL);
  CHECK(strstr(d.text.text, "A3") == NULL);
  end(&d);
}

static void nobody_is_reminded_in_quiet_hours_and_everybody_at_their_end(void)
{
  const int64_t late_ms = start_ms + 18 * hour_ms + 50 * min_ms;
  struct feeds_reminders none = usual;
  struct desk d;

  begin(&d, &usual);
  is_overdue(&d, "round A3", late_ms);
  for (int64_t t = late_ms; t < start_ms + day_ms + 7 * hour_ms; t += 10 * min_ms)
    CHECK(!tells(&d, t));
  CHECK(tells(&d, start_ms + day_ms + 7 * hour_ms));
  end(&d);
  none.quiet_from_min = none.quiet_to_min = 0; /* no quiet hours */
  begin(&d, &none);
  is_overdue(&d, "round A3", late_ms);
  CHECK(tells(&d, late_ms + 30 * min_ms));
  end(&d);
}

static void the_same_is_told_again_after_a_day_and_never_where_the_suite_says_so(void)
{
  const int64_t ten_ms = start_ms + 10 * hour_ms;
  struct feeds_reminders once = usual;
  struct desk d;

  begin(&d, &usual);
  is_overdue(&d, "round A3", ten_ms);
  CHECK(tells(&d, ten_ms + 30 * min_ms));
  CHECK(!tells(&d, ten_ms + 24 * hour_ms));
  CHECK(tells(&d, ten_ms + 24 * hour_ms + 30 * min_ms));
  end(&d);
  once.again_s = 0;
  begin(&d, &once);
  is_overdue(&d, "round A3", ten_ms);
  CHECK(tells(&d, ten_ms + 30 * min_ms));
  CHECK(!tells(&d, ten_ms + 30 * day_ms));
  end(&d);
}

static void what_is_done_is_gone_and_what_is_overdue_anew_is_told_anew(void)
{
  const int64_t ten_ms = start_ms + 10 * hour_ms;
  struct desk d;
  struct emit json;
  struct buf out;

  begin(&d, &usual);
  is_overdue(&d, "round A3", ten_ms);
  CHECK(tells(&d, ten_ms + 30 * min_ms));
  d.count = 0;
  CHECK(!tells(&d, ten_ms + 3 * hour_ms));
  buf_init(&out, 1000);
  emit_begin(&json, &out);
  emit_object(&json, NULL);
  reminders_json(d.reminders, ten_ms + 3 * hour_ms, &json);
  emit_close(&json);
  emit_end(&json);
  CHECK(strstr(out.text, "A3") == NULL);
  buf_release(&out);
  is_overdue(&d, "round A3", ten_ms + 4 * hour_ms);
  CHECK(tells(&d, ten_ms + 4 * hour_ms + 30 * min_ms));
  end(&d);
}

static void a_restart_reminds_nobody_again(void)
{
  const int64_t ten_ms = start_ms + 10 * hour_ms;
  struct desk d, after;

  begin(&d, &usual);
  is_overdue(&d, "round A3", ten_ms);
  CHECK(tells(&d, ten_ms + 30 * min_ms));
  begin(&after, &usual);
  CHECK(reminders_restore(after.reminders, d.detail.text, ten_ms + 30 * min_ms));
  CHECK(!reminders_restore(after.reminders, "", 0));
  CHECK(!reminders_restore(after.reminders, "{\"schema\": \"inward.alarm.1\"}", 0));
  is_overdue(&after, "round A3", ten_ms);
  CHECK(!tells(&after, ten_ms + 4 * hour_ms));
  CHECK(tells(&after, ten_ms + 25 * hour_ms));
  end(&d);
  end(&after);
}

static void a_long_list_says_how_many_more(void)
{
  const int64_t ten_ms = start_ms + 10 * hour_ms;
  struct desk d;

  begin(&d, &usual);
  for (int i = 0; i < 8; i++)
    is_overdue(&d,
               "waste W-1: have it collected: it goes within 90 d after it was opened, by house "
               "rule 9 of this suite, as approved",
               ten_ms + i);
  CHECK(tells(&d, ten_ms + hour_ms));
  CHECK(strstr(d.text.text, "8 overdue") != NULL);
  CHECK(strstr(d.text.text, "more on the board") != NULL);
  CHECK(d.text.used < 380);
  end(&d);
}

/* ---- what is overdue ---- */

static void rounds_dates_tanks_and_waste_are_overdue_by_the_suites_limits(void)
{
  static const struct facility_round_item deck = {.id = "deck", .at_most_s = 86400},
                                          gel = {.id = "gel", .at_most_s = 1e7, .expires = true};
  static const struct facility_station station = {.part = {.id = "A3"}};
  static const struct facility facility = {.station_count = 1, .stations = &station};
  struct round_found found[] = {
      {.item = &deck, .said = ROUND_YES, .state = ROUND_OVERDUE, .t_ms = start_ms, .late = true},
      {.item = &gel,
       .said = ROUND_YES,
       .state = ROUND_OPEN,
       .t_ms = start_ms,
       .expires = "2026-11-30"},
      {.item = &deck, .said = ROUND_NO, .state = ROUND_OPEN, .t_ms = start_ms}, /* a finding */
      {.item = &deck, .said = ROUND_UNSEEN, .state = ROUND_NOT_KNOWN}}; /* never looked at */
  struct round_station of = {.station = 0, .count = 4, .found = found};
  const struct round_list rounds = {
      .facility = &facility, .now_ms = start_ms + 3 * day_ms, .count = 1, .stations = &of};
  static const struct chemicals_tank tank = {.part = {.id = "T1"}};
  const struct wet_place place = {.now_ms = start_ms + 3 * day_ms};
  const struct wet_told last = {.t_ms = start_ms + hour_ms};
  const struct wet_tank tanks[] = {{.tank = &tank,
                                    .state = WET_DUE,
                                    .last = &last,
                                    .due_ms = start_ms + 2 * day_ms,
                                    .reasons = {1, {"change it"}}},
                                   {.tank = &tank, .state = WET_NOT_KNOWN, .due_ms = INT64_MIN}};
  const struct wet_baths baths = {.place = &place, .count = 2, .tanks = tanks};
  const struct wet_container container = {.id = "W-1",
                                          .state = WET_NOT_KNOWN,
                                          .last = &last,
                                          .due_ms = INT64_MIN,
                                          .reasons = {1, {"not told since"}}};
  const struct wet_waste waste = {.place = &place, .count = 1, .containers = &container};
  struct remind_list list;
  struct arena arena;

  arena_init(&arena, 1 << 20);
  CHECK(remind_due(&rounds, &baths, &waste, &arena, &list));
  if (CHECK_INT(list.count, 4)) { /* the longest overdue first */
    CHECK_STR(list.list[0].text, "waste W-1: not told since");
    CHECK_INT(list.list[0].since_ms, start_ms + hour_ms);
    CHECK_STR(list.list[1].text, "A3: gel expired with 2026-11-30");
    CHECK_INT(list.list[1].since_ms, start_ms + day_ms);
    CHECK_STR(list.list[2].text, "A3: round overdue (deck)");
    CHECK_INT(list.list[2].since_ms, start_ms + day_ms);
    CHECK_STR(list.list[3].text, "tank T1: change it");
    CHECK_INT(list.list[3].since_ms, start_ms + 2 * day_ms);
  }
  CHECK(remind_due(NULL, NULL, NULL, &arena, &list));
  CHECK_INT(list.count, 0);
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(all_that_is_overdue_goes_into_one_message_and_not_one_a_minute);
  RUN(what_becomes_overdue_meanwhile_waits_for_the_next_message);
  RUN(nobody_is_reminded_in_quiet_hours_and_everybody_at_their_end);
  RUN(the_same_is_told_again_after_a_day_and_never_where_the_suite_says_so);
  RUN(what_is_done_is_gone_and_what_is_overdue_anew_is_told_anew);
  RUN(a_restart_reminds_nobody_again);
  RUN(a_long_list_says_how_many_more);
  RUN(rounds_dates_tanks_and_waste_are_overdue_by_the_suites_limits);
  return check_end();
}
