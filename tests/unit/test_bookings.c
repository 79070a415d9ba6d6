#include "day/day.h"

#include "asked.h"
#include "check.h"

#include <stdio.h>
#include <string.h>

/* Bookings of calendars and tables: what is read, what is refused and where, and what is written back. */

#define SUITE                                                                                                        \
  "inward: 1 suite\nname: T\n"                                                                                       \
  "rooms: {R: {}}\n"                                                                                                 \
  "mains: {M: {capacity: {value: 3000 m3/h}}}\n"                                                                     \
  "stations:\n"                                                                                                      \
  "  H1: {kind: other, room: R, main: M, flow: {two-state: {parked: 300 m3/h, work: 1000 m3/h}}}\n"                  \
  "  H2: {name: Etch hood, kind: other, room: R, main: M, flow: {two-state: {parked: 300 m3/h, work: 1000 m3/h}}}\n" \
  "  H3: {kind: other, room: R, main: M, in service: no, flow: {two-state: {parked: 300 m3/h, work: 1000 m3/h}}}\n"

static struct asked suite;
static struct arena arena;
static struct complaints complaints;
static struct day_bookings list;
static struct day_read_report report;
static struct day_read_job job;

static int64_t utc_ms(const char *text)
{
  int64_t t_ms = 0;

  if (when_read(text, when_utc(), NULL, &t_ms, NULL) != ERR_OK)
    return -1;
  return t_ms;
}

static bool read_text(const char *file, const char *text)
{
  const struct facility_text bytes = {file, text, strlen(text)};

  arena_release(&arena);
  arena_init(&arena, (size_t)256 << 20);
  complaints_init(&complaints, &arena);
  list = (struct day_bookings){0};
  job.facility = suite.facility;
  job.zone = when_utc();
  job.from_ms = utc_ms("2026-12-01 00:00");
  job.to_ms = utc_ms("2026-12-08 00:00");
  bool fine = day_read(&job, &bytes, &arena, &complaints, &list, &report);

  day_sort(&list);
  return fine;
}

static bool said(int at, int line, int column, const char *words)
{
  return at < complaints.count && complaints.list[at].place.line == line &&
         complaints.list[at].place.column == column && strstr(complaints.list[at].text, words);
}

static void a_table_with_the_usual_headings_is_read(void)
{
  CHECK(read_text("b.csv", "Place,From,Until,Person,Chemistry\n"
                           "H2,2026-12-01 10:00,2026-12-01 11:30,U2,base\n"
                           "H1,2026-12-01 09:00,2026-12-01 10:00,U1,acid\n"
                           "H1,2026-11-01 09:00,2026-11-01 10:00,U1,acid\n"));
  CHECK_INT(complaints.count, 0);
  REQUIRE(list.count == 2);
  CHECK_INT(list.list[0].station, 0);
  CHECK_INT(list.list[0].start_ms, utc_ms("2026-12-01 09:00"));
  CHECK_STR(list.list[1].who, "U2");
  CHECK_STR(list.list[1].family, "base");
  CHECK_STR(list.list[1].id, "row 2");
}

static void headings_nobody_knows_are_shown_and_asked_for(void)
{
  CHECK(!read_text("b.csv", "Platz,Von,Bis\nH1,2026-12-01 09:00,2026-12-01 10:00\n"));
  CHECK(said(0, 1, 1, "no column says the station; the first row has 'Platz', 'Von', 'Bis'"));
  job.columns = "station=Platz,start=Von,end=Bis";
  CHECK(read_text("b.csv", "Platz,Von,Bis\nH1,2026-12-01 09:00,2026-12-01 10:00\n"));
  CHECK_INT(list.count, 1);
  job.columns = NULL;
}

static void each_fault_has_its_place_and_the_rest_is_read(void)
{
  CHECK(read_text("b.csv", "station,start,end\n"
                           "H9,2026-12-01 09:00,2026-12-01 10:00\n"
                           "H3,2026-12-01 09:00,2026-12-01 10:00\n"
                           "H1,yesterday,2026-12-01 10:00\n"
                           "H1,2026-12-01 11:00,2026-12-01 10:00\n"
                           "H2,2026-12-01 09:00,2026-12-01 10:00\n"));
  CHECK_INT(list.count, 1);
  CHECK_INT(report.left_out, 4);
  CHECK(said(0, 2, 1, "'H9' is no station of the suite"));
  CHECK(said(1, 3, 1, "H3, which is out of service"));
  CHECK(said(2, 4, 4, ""));
  CHECK(said(3, 5, 21, "it ends before it starts"));
}

static void a_pattern_reads_other_ways_to_write_a_time(void)
{
  job.pattern = "DD.MM.YYYY hh:mm";
  CHECK(read_text("b.csv", "station;start;end\nH1;1.12.2026 09:00;1.12.2026 10:15\n"));
  job.pattern = NULL;
  REQUIRE(list.count == 1);
  CHECK_INT(list.list[0].end_ms, utc_ms("2026-12-01 10:15"));
}

#define EVENT(body)    "BEGIN:VEVENT\r\n" body "END:VEVENT\r\n"
#define CALENDAR(body) "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n" body "END:VCALENDAR\r\n"

static void a_calendar_finds_its_station_by_place_or_title(void)
{
  CHECK(read_text("b.ics",
                  CALENDAR(EVENT("UID:a\r\nDTSTART:20261201T090000Z\r\nDTEND:20261201T100000Z\r\n"
                                 "SUMMARY:lift H2 notes\r\nLOCATION:Bay / H1\r\n"
                                 "ATTENDEE;CN=U7:mailto:u7@x.example\r\n"
                                 "CATEGORIES:acid\\, hot\r\n")
                               EVENT("UID:b\r\nDTSTART:20261202T090000Z\r\nDURATION:PT1H\r\n"
                                     "SUMMARY:H2 etch\r\n"))));
  CHECK_INT(complaints.count, 0);
  REQUIRE(list.count == 2);
  CHECK_INT(list.list[0].station, 0);
  CHECK_STR(list.list[0].who, "U7");
  CHECK_INT(list.list[0].place.line, 5);
  CHECK_INT(list.list[1].station, 1);
}

static void a_broken_zone_an_unknown_place_and_an_endless_minute_are_named(void)
{
  CHECK(read_text(
      "b.ics",
      CALENDAR(
          EVENT("UID:z\r\nDTSTART;TZID=Mars/Base:20261201T090000\r\nDURATION:PT1H\r\n"
                "SUMMARY:H1\r\n")
              EVENT("UID:u\r\nDTSTART:20261201T090000Z\r\nDURATION:PT1H\r\nSUMMARY:tea\r\n") EVENT(
                  "UID:m\r\nDTSTART:20261201T090000Z\r\nDURATION:PT1M\r\n"
                  "RRULE:FREQ=MINUTELY\r\nSUMMARY:H1\r\n")
                  EVENT("UID:s\r\nDTSTART:20261201T090000Z\r\nDURATION:PT1H\r\nSUMMARY:H2\r\n"))));
  complaints_sort(&complaints);
  CHECK_INT(list.count, 1);
  REQUIRE(complaints.count == 3);
  CHECK(said(0, 5, 1, "its zone is neither defined in the calendar nor known here"));
  CHECK(said(1, 11, 1, "names no station of the suite"));
  CHECK(said(2, 17, 1, "it recurs within a day"));
}

static void what_is_written_is_read_again_as_it_was(void)
{
  struct buf calendar, table;

  buf_init(&calendar, 1 << 20);
  buf_init(&table, 1 << 20);
  REQUIRE(read_text(
      "b.ics",
      CALENDAR(EVENT(
          "UID:a\r\nDTSTART:20261201T090000Z\r\nDURATION:PT1H\r\nRRULE:FREQ=DAILY;COUNT=3\r\n"
          "SUMMARY:A long title\\; with a comma\\, a back\\\\slash and more than seventy-five octets\r\n"
          "LOCATION:H1\r\nATTENDEE;CN=U7:mailto:u7@x.example\r\n"))));
  REQUIRE(list.count == 3);
  const char *what = list.list[0].what;
  int64_t last_ms = list.list[2].start_ms;
  char title[200];

  snprintf(title, sizeof title, "%s", what);
  day_write_calendar(suite.facility, &list, true, utc_ms("2026-12-01 00:00"), &calendar);
  day_write_table(suite.facility, when_utc(), &list, true, &table);
  for (const char *at = calendar.text; *at; at = strstr(at, "\r\n") + 2)
    CHECK(strcspn(at, "\r") <= 75);
  CHECK(read_text("again.ics", calendar.text));
  REQUIRE(list.count == 3);
  CHECK_STR(list.list[0].what, title);
  CHECK_STR(list.list[0].who, "U7");
  CHECK_STR(list.list[0].id, "a");
  CHECK_INT(list.list[2].start_ms, last_ms);
  CHECK(read_text("again.csv", table.text));
  REQUIRE(list.count == 3);
  CHECK_STR(list.list[1].what, title);
  CHECK_INT(list.list[2].start_ms, last_ms);
  buf_release(&calendar);
  buf_release(&table);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  if (!suite_from_text(&suite, SUITE))
    return 1;
  RUN(a_table_with_the_usual_headings_is_read);
  RUN(headings_nobody_knows_are_shown_and_asked_for);
  RUN(each_fault_has_its_place_and_the_rest_is_read);
  RUN(a_pattern_reads_other_ways_to_write_a_time);
  RUN(a_calendar_finds_its_station_by_place_or_title);
  RUN(a_broken_zone_an_unknown_place_and_an_endless_minute_are_named);
  RUN(what_is_written_is_read_again_as_it_was);
  suite_release(&suite);
  arena_release(&arena);
  return check_end();
}
