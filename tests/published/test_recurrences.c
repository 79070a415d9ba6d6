#include "feed/feed.h"
#include "sheet/sheet.h"

#include "check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/*
 * The recurrence examples that RFC 5545 prints in section 3.8.5.3, through our reader of calendars: each rule
 * against the dates printed below it.  Local dates are told by the C library, in the zone of the examples.
 * "refused": recurs within a day, which no booking of a station does; the reader says so.  "count": only their number, for they are of the same days.
 */
enum { MOST = 400 };

static struct arena arena;
static struct complaints complaints;
static int64_t got_ms[MOST];
static int got_count;

static void take(void *arg, const struct feed_booking *booking)
{
  (void)arg;
  if (got_count < MOST)
    got_ms[got_count] = booking->start_ms;
  got_count++;
}

static int64_t utc_ms(const char *day)
{
  int date = (int)strtol(day, NULL, 10);
  struct tm parts = {
      .tm_year = date / 10000 - 1900, .tm_mon = date / 100 % 100 - 1, .tm_mday = date % 100};

  return (int64_t)mktime(&parts) * 1000; /* TZ is that of the examples */
}

/* "BYDAY=TU|TH": a comma would end the cell. */
static void put_commas(char *text)
{
  for (char *c = strchr(text, '|'); c; c = strchr(c, '|'))
    *c = ',';
}

static bool read_example(const char *start, const char *rule, const char *more, const char *until)
{
  static const struct feed_booking_sink sink = {take, NULL};
  const struct feed_window window = {"America/New_York", utc_ms("19960101"), utc_ms(until)};
  struct feed_calendar_report report;
  char text[1000], own[200];

  snprintf(own, sizeof own, "%s", rule);
  put_commas(own);
  snprintf(text, sizeof text,
           "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\nUID:e\r\n"
           "DTSTART;TZID=America/New_York:%s\r\nDURATION:PT1H\r\nRRULE:%s\r\n%s%sSUMMARY:x\r\n"
           "END:VEVENT\r\nEND:VCALENDAR\r\n",
           start, own, more, *more ? "\r\n" : "");
  const struct facility_text file = {"example.ics", text, strlen(text)};

  complaints_init(&complaints, &arena);
  got_count = 0;
  return feed_calendar(&file, &window, &sink, &arena, &complaints, &report);
}

static int next_day(int date)
{
  struct tm parts = {.tm_year = date / 10000 - 1900,
                     .tm_mon = date / 100 % 100 - 1,
                     .tm_mday = date % 100 + 1,
                     .tm_hour = 12};

  mktime(&parts);
  return (parts.tm_year + 1900) * 10000 + (parts.tm_mon + 1) * 100 + parts.tm_mday;
}

static int local_date(int64_t t_ms, int *hour_out)
{
  time_t t_s = (time_t)(t_ms / 1000);
  struct tm parts;

  localtime_r(&t_s, &parts);
  *hour_out = parts.tm_hour;
  return (parts.tm_year + 1900) * 10000 + (parts.tm_mon + 1) * 100 + parts.tm_mday;
}

static void check_one(int at, int date)
{
  int hour = -1;

  CHECK_INT(at < got_count ? local_date(got_ms[at], &hour) : 0, date);
  CHECK_INT(hour, 9);
}

/* "0902 0903-0911 1998: 0106" */
static void check_printed(const char *printed, int first_year)
{
  int year = first_year, count = 0;

  for (const char *at = printed; *at; at += strspn(at, " ")) {
    char *end;
    int number = (int)strtol(at, &end, 10);

    if (*end == ':') {
      year = number;
      end++;
    } else {
      int date = year * 10000 + number, last = date;

      if (*end == '-')
        last = year * 10000 + (int)strtol(end + 1, &end, 10);
      for (; date <= last; date = next_day(date))
        check_one(count++, date);
    }
    at = end;
  }
  CHECK_INT(got_count, count);
}

static const char *path;

static void every_example_recurs_as_it_is_printed(void)
{
  static char bytes[1 << 16];
  FILE *file = fopen(path, "rb");

  REQUIRE(file != NULL);
  size_t size = fread(bytes, 1, sizeof bytes - 1, file);

  fclose(file);
  arena_init(&arena, (size_t)512 << 20);
  complaints_init(&complaints, &arena);
  struct sheet_book *book = sheet_read("recurrences.csv", bytes, size, &arena, &complaints);

  REQUIRE(book != NULL);
  const struct sheet_table *table = &book->tables[0];

  CHECK(table->row_count > 40);
  for (int row = 1; row < table->row_count; row++) {
    const char *cells[6];

    for (int c = 0; c < 6; c++)
      cells[c] = sheet_at(table, row, c)->text;
    CHECK_CASE("%s", cells[0]);
    bool fine = read_example(cells[1], cells[2], cells[3], cells[4]);

    CHECK(fine);
    if (strcmp(cells[5], "refused") == 0) {
      CHECK_INT(got_count, 0);
      CHECK(complaints.count == 1 && strstr(complaints.list[0].text, "recurs within a day"));
    } else if (strncmp(cells[5], "count ", 6) == 0) {
      CHECK_INT(got_count, strtol(cells[5] + 6, NULL, 10));
    } else {
      check_printed(cells[5], (int)(strtol(cells[1], NULL, 10) / 10000));
    }
    arena_release(&arena);
    arena_init(&arena, (size_t)512 << 20);
    complaints_init(&complaints, &arena);
    book = sheet_read("recurrences.csv", bytes, size, &arena, &complaints);
    REQUIRE(book != NULL);
    table = &book->tables[0];
  }
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  path = argc > 1 ? argv[1] : "tests/published/recurrences.csv";
  check_begin(1, argv);
  RUN(every_example_recurs_as_it_is_printed);
  return check_end();
}
