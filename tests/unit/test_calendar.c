#include "feed/feed.h"

#include "check.h"

#include <stdlib.h>
#include <string.h>

/* Calendars as RFC 5545 writes them; the moments in UTC are worked out by hand from the rules of the
 * European Union: summer time from 2026-03-29 to 2026-10-25, 01:00 UTC. */

enum { MOST = 64 };

static struct arena arena;
static struct complaints complaints;
static struct feed_calendar_report report;
static struct feed_booking got[MOST];
static int got_count;

static void take(void *arg, const struct feed_booking *booking)
{
  (void)arg;
  if (got_count < MOST)
    got[got_count] = *booking;
  got_count++;
}

static int64_t utc_ms(int year, int month, int day, int hour, int minute)
{
  /* Days since 1970 by counting: an oracle that shares nothing with the program. */
  static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  int64_t days = 0;

  for (int y = 1970; y < year; y++)
    days += (y % 4 == 0 && y % 100 != 0) || y % 400 == 0 ? 366 : 365;
  for (int m = 1; m < month; m++)
    days += lengths[m - 1] + (m == 2 && year % 4 == 0);
  return (((days + day - 1) * 24 + hour) * 60 + minute) * 60000;
}

static bool read_bytes(const char *bytes, size_t size, int64_t from_ms, int64_t to_ms)
{
  static const struct feed_booking_sink sink = {take, NULL};
  const struct facility_text text = {"b.ics", bytes, size};
  const struct feed_window window = {"Europe/Paris", from_ms, to_ms};

  arena_release(&arena);
  arena_init(&arena, 64 << 20);
  complaints_init(&complaints, &arena);
  got_count = 0;
  return feed_calendar(&text, &window, &sink, &arena, &complaints, &report);
}

/* The body of one calendar, over the window of 2026. */
static bool read_body(const char *body)
{
  char text[8192];

  snprintf(text, sizeof text, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n%sEND:VCALENDAR\r\n",
           body);
  return read_bytes(text, strlen(text), utc_ms(2026, 1, 1, 0, 0), utc_ms(2027, 1, 1, 0, 0));
}

#define EVENT(body) "BEGIN:VEVENT\r\n" body "END:VEVENT\r\n"

static void check_at(int i, int64_t start_ms, int64_t end_ms)
{
  if (!CHECK(i < got_count && i < MOST))
    return;
  CHECK_INT(got[i].start_ms, start_ms);
  CHECK_INT(got[i].end_ms, end_ms);
}

static void check_said(const char *what)
{
  if (CHECK(complaints.count >= 1))
    CHECK(strstr(complaints.list[0].text, what) != NULL);
}

static void a_booking_says_when_what_and_where(void)
{
  CHECK(read_body(
      EVENT("UID:w-1@x\r\nDTSTART;TZID=Europe/Paris:20260915T130000\r\nDURATION:PT2H\r\n"
            "SUMMARY:A2 clean - U14 (intro\\, 3 pers\r\n ons)\r\nLOCATION:Etch / A2\r\n")));
  CHECK_INT(complaints.count, 0);
  CHECK_INT(got_count, 1);
  check_at(0, utc_ms(2026, 9, 15, 11, 0), utc_ms(2026, 9, 15, 13, 0));
  CHECK_STR(got[0].uid, "w-1@x");
  CHECK_STR(got[0].summary, "A2 clean - U14 (intro, 3 persons)");
  CHECK_STR(got[0].location, "Etch / A2");
  CHECK(!got[0].all_day);
}

static void the_three_forms_of_a_time(void)
{
  CHECK(read_body(EVENT("UID:1\r\nDTSTART:20260701T080000Z\r\nDTEND:20260701T090000Z\r\n")
                      EVENT("UID:2\r\nDTSTART:20260701T080000\r\nDTEND:20260701T090000\r\n")
                          EVENT("UID:3\r\nDTSTART;TZID=America/New_York:20260701T080000\r\n"
                                "DTEND;TZID=America/New_York:20260701T090000\r\n")
                              EVENT("UID:4\r\nDTSTART;VALUE=DATE:20260702\r\n")));
  CHECK_INT(got_count, 4);
  check_at(0, utc_ms(2026, 7, 1, 6, 0), utc_ms(2026, 7, 1, 7, 0)); /* local: of the zone declared */
  check_at(1, utc_ms(2026, 7, 1, 8, 0), utc_ms(2026, 7, 1, 9, 0));
  check_at(2, utc_ms(2026, 7, 1, 12, 0), utc_ms(2026, 7, 1, 13, 0));
  check_at(3, utc_ms(2026, 7, 1, 22, 0), utc_ms(2026, 7, 2, 22, 0)); /* a day is local too */
  CHECK(got[3].all_day && !got[0].all_day);
}

static void a_weekly_booking_keeps_its_hour_when_the_clock_changes(void)
{
  CHECK(read_body(
      EVENT("UID:1\r\nDTSTART;TZID=Europe/Berlin:20260323T090000\r\n"
            "DTEND;TZID=Europe/Berlin:20260323T100000\r\nRRULE:FREQ=WEEKLY;COUNT=3\r\n")));
  CHECK_INT(got_count, 3);
  check_at(0, utc_ms(2026, 3, 23, 8, 0), utc_ms(2026, 3, 23, 9, 0));
  check_at(1, utc_ms(2026, 3, 30, 7, 0), utc_ms(2026, 3, 30, 8, 0));
  check_at(2, utc_ms(2026, 4, 6, 7, 0), utc_ms(2026, 4, 6, 8, 0));
  /* The same without a zone: local time of the calendar. */
  CHECK(read_body(EVENT("UID:1\r\nDTSTART:20260323T090000\r\nDTEND:20260323T100000\r\n"
                        "RRULE:FREQ=WEEKLY;COUNT=3\r\n")));
  CHECK_INT(got_count, 3);
  check_at(1, utc_ms(2026, 3, 30, 7, 0), utc_ms(2026, 3, 30, 8, 0));
  /* A day at the change has 23 hours. */
  CHECK(read_body(EVENT("UID:1\r\nDTSTART;VALUE=DATE:20260328\r\nRRULE:FREQ=DAILY;COUNT=2\r\n")));
  check_at(1, utc_ms(2026, 3, 28, 23, 0), utc_ms(2026, 3, 29, 22, 0));
}

static void an_exception_is_left_out(void)
{
  CHECK(read_body(EVENT("UID:1\r\nDTSTART;TZID=Europe/Paris:20260901T130000\r\nDURATION:PT1H\r\n"
                        "RRULE:FREQ=WEEKLY;BYDAY=TU;UNTIL=20260922T110000Z\r\n"
                        "EXDATE;TZID=Europe/Paris:20260908T130000\r\n")));
  CHECK_INT(got_count, 3);
  check_at(0, utc_ms(2026, 9, 1, 11, 0), utc_ms(2026, 9, 1, 12, 0));
  check_at(1, utc_ms(2026, 9, 15, 11, 0), utc_ms(2026, 9, 15, 12, 0));
  check_at(2, utc_ms(2026, 9, 22, 11, 0), utc_ms(2026, 9, 22, 12, 0));
  /* In another zone, the same moment; and several in a line. */
  CHECK(read_body(
      EVENT("UID:1\r\nDTSTART;TZID=Europe/Paris:20260901T130000\r\nDURATION:PT1H\r\n"
            "RRULE:FREQ=WEEKLY;COUNT=4\r\nEXDATE:20260908T110000Z,20260915T110000Z\r\n")));
  CHECK_INT(got_count, 2);
}

static void a_moved_occurrence_stands_at_its_new_time_only(void)
{
  CHECK(read_body(EVENT("UID:1\r\nDTSTART;TZID=Europe/Paris:20260901T130000\r\nDURATION:PT1H\r\n"
                        "RRULE:FREQ=DAILY;COUNT=3\r\nSUMMARY:whole\r\n")
                      EVENT("UID:1\r\nRECURRENCE-ID;TZID=Europe/Paris:20260902T130000\r\n"
                            "DTSTART;TZID=Europe/Paris:20260902T160000\r\nDURATION:PT30M\r\n"
                            "SUMMARY:moved\r\n")
                          EVENT("UID:1\r\nRECURRENCE-ID:20260903T110000Z\r\nSTATUS:CANCELLED\r\n"
                                "DTSTART;TZID=Europe/Paris:20260903T130000\r\n")));
  CHECK_INT(complaints.count, 0);
  CHECK_INT(got_count, 2);
  CHECK_INT(report.cancelled, 1);
  check_at(0, utc_ms(2026, 9, 1, 11, 0), utc_ms(2026, 9, 1, 12, 0));
  check_at(1, utc_ms(2026, 9, 2, 14, 0), utc_ms(2026, 9, 2, 14, 30));
  CHECK_STR(got[1].summary, "moved");
}

static void an_extra_date_is_in_its_zone_and_counts_once(void)
{
  CHECK(read_body(EVENT("UID:1\r\nDTSTART;TZID=Europe/Paris:20260901T130000\r\nDURATION:PT1H\r\n"
                        "RRULE:FREQ=DAILY;COUNT=1\r\n"
                        "RDATE;TZID=Europe/Paris:20260905T090000,20260901T130000\r\n")));
  CHECK_INT(got_count, 2);
  check_at(1, utc_ms(2026, 9, 5, 7, 0), utc_ms(2026, 9, 5, 8, 0));
}

static void the_newest_version_of_an_event_counts(void)
{
  CHECK(
      read_body(EVENT("UID:1\r\nSEQUENCE:2\r\nDTSTART:20260901T100000Z\r\nDURATION:PT1H\r\n")
                    EVENT("UID:1\r\nSEQUENCE:1\r\nDTSTART:20260901T150000Z\r\nDURATION:PT1H\r\n")));
  CHECK_INT(got_count, 1);
  check_at(0, utc_ms(2026, 9, 1, 10, 0), utc_ms(2026, 9, 1, 11, 0));
}

/* What some exporters write: a name of their own, with the rules in the file. */
static void a_zone_may_be_the_calendars_own(void)
{
  CHECK(read_body(
      "BEGIN:VTIMEZONE\r\nTZID:Our house time\r\n"
      "BEGIN:STANDARD\r\nDTSTART:16010101T030000\r\nTZOFFSETFROM:+0200\r\nTZOFFSETTO:+0100\r\n"
      "RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=10\r\nEND:STANDARD\r\n"
      "BEGIN:DAYLIGHT\r\nDTSTART:16010101T020000\r\nTZOFFSETFROM:+0100\r\nTZOFFSETTO:+0200\r\n"
      "RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=3\r\nEND:DAYLIGHT\r\nEND:VTIMEZONE\r\n" EVENT(
          "UID:1\r\nDTSTART;TZID=Our house time:20260701T080000\r\nDURATION:PT1H\r\n")
          EVENT("UID:2\r\nDTSTART;TZID=Our house time:20261201T080000\r\nDURATION:PT1H\r\n")));
  CHECK_INT(complaints.count, 0);
  CHECK_INT(got_count, 2);
  check_at(0, utc_ms(2026, 7, 1, 6, 0), utc_ms(2026, 7, 1, 7, 0));
  check_at(1, utc_ms(2026, 12, 1, 7, 0), utc_ms(2026, 12, 1, 8, 0));
}

static void what_cannot_be_read_is_named_and_the_rest_goes_on(void)
{
  static const struct {
    const char *event, *said;
  } cases[] = {
      {"DTSTART;TZID=Nowhere/Town:20260701T080000\r\nDURATION:PT1H\r\n", "its zone is neither"},
      {"SUMMARY:no start\r\n", "says no start"},
      {"DTSTART:20260701T080000Z\r\nDTEND:20260701T070000Z\r\n", "ends before it starts"},
      {"DTSTART:20260701T080000Z\r\nDTEND;VALUE=DATE:20260702\r\n", "the same kind of time"},
      {"DTSTART:20260701T080000Z\r\nDURATION:PT1M\r\nRRULE:FREQ=SECONDLY\r\n", "within a day"},
      {"DTSTART:20260701T080000Z\r\nDURATION:PT1M\r\nRRULE:FREQ=HOURLY\r\n", "within a day"},
      {"DTSTART:20260101T000000Z\r\nDURATION:PT1M\r\n"
       "RRULE:FREQ=DAILY;BYHOUR=0,1,2,3,4,5,6,7,8,9,10,11,12,13,14,15,16,17,18,19,20,21,22,23;"
       "BYMINUTE=0,1,2,3,4,5,6,7,8,9,10,11,12,13,14,15,16,17,18,19,20,21,22,23,24,25,26,27,28,29\r\n",
       "too often"},
      {"DTSTART:20260701T080000Z\r\nDURATION:PT1M\r\nEXRULE:FREQ=DAILY\r\n", "EXRULE"},
      {"DTSTART:20260701T080000Z\r\nDURATION:PT1M\r\n"
       "RECURRENCE-ID;RANGE=THISANDFUTURE:20260701T070000Z\r\n",
       "RANGE"},
  };
  char body[4096];

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    CHECK_CASE("%s", cases[i].said);
    snprintf(body, sizeof body,
             EVENT("UID:bad\r\n%s") EVENT("UID:good\r\nDTSTART:20260701T080000Z\r\n"
                                          "DURATION:PT1H\r\n"),
             cases[i].event);
    CHECK(read_body(body));
    check_said(cases[i].said);
    CHECK_INT(report.left_out, 1);
    CHECK_INT(complaints.list[0].place.line, 5);
    CHECK_INT(got_count, 1);
    CHECK_STR(got[0].uid, "good");
  }
}

static void a_rule_without_end_is_counted_out_inside_the_window(void)
{
  CHECK(read_body(EVENT("UID:1\r\nDTSTART:19700105T080000Z\r\nDURATION:PT1H\r\n"
                        "RRULE:FREQ=WEEKLY\r\n")));
  CHECK_INT(got_count, 52); /* Mondays of 2026 */
  check_at(0, utc_ms(2026, 1, 5, 8, 0), utc_ms(2026, 1, 5, 9, 0));
  /* 30 February never comes: nothing, and soon. */
  CHECK(read_body(EVENT("UID:1\r\nDTSTART:20260101T080000Z\r\nDURATION:PT1H\r\n"
                        "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30\r\n")));
  CHECK(got_count <= 1); /* the library may give the start itself */
}

static void what_is_no_calendar_is_refused_whole(void)
{
  static const struct {
    const char *text, *said;
  } cases[] = {
      {"", "BEGIN:VCALENDAR"},
      {"Time;A3\n1;2\n", "BEGIN:VCALENDAR"},
      {"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:1\r\n", "ends in the middle"},
      {"BEGIN:VCALENDAR\nX:\xff\nEND:VCALENDAR\n", "UTF-8"},
      {"BEGIN:VCALENDAR\nBEGIN:A\nBEGIN:A\nBEGIN:A\nBEGIN:A\nBEGIN:A\nBEGIN:A\nBEGIN:A\nBEGIN:A\n",
       "nested deeper"},
      {"BEGIN:VCALENDAR\nEND:VCALENDAR\nBEGIN:VCALENDAR\nEND:VCALENDAR\n", "no single calendar"},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    CHECK_CASE("%s", cases[i].said);
    CHECK(!read_bytes(cases[i].text, strlen(cases[i].text), 0, utc_ms(2027, 1, 1, 0, 0)));
    check_said(cases[i].said);
    CHECK_INT(got_count, 0);
  }
  CHECK(read_bytes("\xef\xbb\xbf\r\nBEGIN:VCALENDAR\nEND:VCALENDAR\n", 34, 0,
                   1)); /* a mark in front */
  CHECK(!read_bytes("BEGIN:VCALENDAR\nX:\0\nEND:VCALENDAR\n", 33, 0, 1));
}

static void a_window_cuts_off_what_only_touches_it(void)
{
  static const char text[] = "BEGIN:VCALENDAR\nBEGIN:VEVENT\nUID:1\nDTSTART:20260701T080000Z\n"
                             "DTEND:20260701T090000Z\nEND:VEVENT\nEND:VCALENDAR\n";
  int64_t start_ms = utc_ms(2026, 7, 1, 8, 0), end_ms = utc_ms(2026, 7, 1, 9, 0);

  CHECK(read_bytes(text, sizeof text - 1, end_ms, end_ms + 1000));
  CHECK_INT(got_count, 0);
  CHECK(read_bytes(text, sizeof text - 1, end_ms - 1000, end_ms));
  CHECK_INT(got_count, 1);
  CHECK(read_bytes(text, sizeof text - 1, start_ms - 1000, start_ms));
  CHECK_INT(got_count, 0);
  CHECK(read_bytes(text, sizeof text - 1, start_ms - 1000, start_ms + 1000));
  CHECK_INT(got_count, 1);
}

/* A zone whose rules run by the second would be counted out by the library, whatever it takes. */
static void a_zone_that_is_none_is_taken_out(void)
{
  CHECK(read_body("BEGIN:VTIMEZONE\r\nTZID:Trap\r\nBEGIN:STANDARD\r\nDTSTART:19700101T000000\r\n"
                  "TZOFFSETFROM:+0200\r\nTZOFFSETTO:+0100\r\nRRULE:FREQ=SECONDLY\r\n"
                  "END:STANDARD\r\nEND:VTIMEZONE\r\n" EVENT(
                      "UID:1\r\nDTSTART;TZID=Trap:20260701T080000\r\nDURATION:PT1H\r\n")));
  CHECK_INT(got_count, 0);
  CHECK_INT(complaints.count, 2);
}

int main(int argc, char **argv)
{
  arena_init(&arena, 1 << 20);
  check_begin(argc, argv);
  RUN(a_booking_says_when_what_and_where);
  RUN(the_three_forms_of_a_time);
  RUN(a_weekly_booking_keeps_its_hour_when_the_clock_changes);
  RUN(an_exception_is_left_out);
  RUN(a_moved_occurrence_stands_at_its_new_time_only);
  RUN(an_extra_date_is_in_its_zone_and_counts_once);
  RUN(the_newest_version_of_an_event_counts);
  RUN(a_zone_may_be_the_calendars_own);
  RUN(what_cannot_be_read_is_named_and_the_rest_goes_on);
  RUN(a_rule_without_end_is_counted_out_inside_the_window);
  RUN(what_is_no_calendar_is_refused_whole);
  RUN(a_window_cuts_off_what_only_touches_it);
  RUN(a_zone_that_is_none_is_taken_out);
  arena_release(&arena);
  return check_end();
}
