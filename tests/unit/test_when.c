#include "base/when.h"

#include "check.h"

#include <math.h>
#include <string.h>

/* Every zone of the machine is compared with another reader by tests/when; here is what needs none. */

static struct arena arena;

/* The least file of RFC 8536: no change, one type, and the rule in the footer. */
static size_t small_zone(unsigned char *out, int version, const char *footer)
{
  unsigned char header[44] = {'T', 'Z', 'i', 'f', (unsigned char)version};
  size_t used = 0;

  header[20 + 19] = 1; /* typecnt */
  header[20 + 23] = 4; /* charcnt */
  for (int block = 0; block < 2; block++) {
    memcpy(out + used, header, sizeof header);
    used += sizeof header;
    memcpy(out + used, "\0\0\0\0\0\0LMT\0", 10);
    used += 10;
  }
  out[used++] = '\n';
  memcpy(out + used, footer, strlen(footer));
  used += strlen(footer);
  out[used++] = '\n';
  return used;
}

static const struct when_zone *by_footer(const char *footer)
{
  const struct when_zone *zone = NULL;
  unsigned char bytes[400];
  struct err err = {0};

  if (when_zone_read("Test/Zone", bytes, small_zone(bytes, '3', footer), &arena, &zone, &err) !=
      ERR_OK)
    return NULL;
  return zone;
}

static const char *printed(const struct when_zone *zone, int64_t t_ms)
{
  static struct buf out;

  if (out.text)
    buf_release(&out);
  buf_init(&out, 100);
  if (zone)
    when_print(&out, zone, t_ms);
  else
    when_print_utc(&out, t_ms);
  return out.text;
}

static int64_t read_utc(const char *text)
{
  struct err err = {0};
  int64_t t_ms = INT64_MIN;

  if (when_read(text, when_utc(), NULL, &t_ms, &err) != ERR_OK)
    return INT64_MIN;
  return t_ms;
}

/* RFC 3339, section 5.8; the seconds by `date -u -d TEXT +%s`. */
static void published_times_are_read(void)
{
  CHECK_INT(read_utc("1985-04-12T23:20:50.52Z"), 482196050520);
  CHECK_INT(read_utc("1996-12-19T16:39:57-08:00"), 851042397000);
  CHECK_INT(read_utc("1937-01-01T12:00:27.87+00:20"), -1041337172130);
  CHECK_STR(printed(NULL, 482196050520), "1985-04-12T23:20:50.520Z");
  CHECK_STR(printed(NULL, 851042397000), "1996-12-20T00:39:57Z");
}

static void a_time_is_read_in_the_ways_people_write_it(void)
{
  static const char *const same[] = {"2026-10-25T01:30:00Z",      "2026-10-25t01:30z",
                                     "2026-10-25 01:30:00",       "2026-10-25 03:30:00+02:00",
                                     "2026-10-24 20:30:00 -0500", "2026-10-25T02:30:00.000+01",
                                     "2026-10-25T01:30:00,0004Z", "2026-10-25T01:30:00-00:00"};

  for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
    CHECK_CASE("%s", same[i]);
    CHECK_INT(read_utc(same[i]), 1792891800000);
  }
}

static void what_is_no_time_is_refused(void)
{
  static const char *const texts[] = {"",
                                      "2026",
                                      "25.10.2026 02:30",
                                      "2026-13-01T00:00Z",
                                      "2026-02-29T00:00Z",
                                      "2100-02-29T00:00Z",
                                      "2026-10-25T24:00Z",
                                      "2026-10-25T23:60Z",
                                      "2026-10-25T23:59:60Z",
                                      "2026-10-25",
                                      "2026-10-25T01:30:00Zx",
                                      "2026-10-25T01:30:00+2:00",
                                      "2026-10-25T01:30:00+24:00",
                                      "2026-10-25T01:30:00+01:60",
                                      "2026-10-25T01:30:00 CET",
                                      "2026-10-25T01:30:00.",
                                      "2026-10-25T1:30:00Z",
                                      "-026-10-25T01:30:00Z"};

  for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
    int64_t t_ms = 5;
    struct err err = {0};

    CHECK_CASE("'%s'", texts[i]);
    CHECK_INT(when_read(texts[i], when_utc(), NULL, &t_ms, &err), ERR_INPUT);
    CHECK(err.text[0] != '\0' && t_ms == 5);
  }
}

/* The rule of the European Union since 1996: Directive 2000/84/EC, articles 2 and 3. */
static void the_hour_that_comes_twice_is_two_moments_and_the_one_left_out_none(void)
{
  const struct when_zone *paris = by_footer("CET-1CEST,M3.5.0,M10.5.0/3");
  struct when_civil october = {2026, 10, 25, 2, 30, 0, 250}, march = {2026, 3, 29, 2, 30, 0, 0};
  int64_t first = 0, second = 0, t_ms = 0;
  bool later = true;
  struct err err = {0};

  REQUIRE(paris != NULL);
  CHECK_INT(when_of(paris, &october, &first, &second), WHEN_TWICE);
  CHECK_INT(first, read_utc("2026-10-25T00:30:00.250Z"));
  CHECK_INT(second - first, 3600000);
  CHECK_STR(printed(paris, first), "2026-10-25 02:30:00 +02:00");
  CHECK_STR(printed(paris, second), "2026-10-25 02:30:00 +01:00");
  CHECK_INT(when_of(paris, &march, &first, &second), WHEN_NEVER);
  october.hour = 3;
  CHECK_INT(when_of(paris, &october, &first, &second), WHEN_ONCE);
  CHECK_INT(first, read_utc("2026-10-25T02:30:00.250Z"));

  CHECK_INT(when_read("2026-10-25T02:30", paris, NULL, &t_ms, &err), ERR_INPUT);
  CHECK(strstr(err.text, "twice in Test/Zone") != NULL);
  CHECK_INT(when_read("2026-10-25T02:30", paris, &later, &t_ms, &err), ERR_OK);
  CHECK_INT(t_ms, read_utc("2026-10-25T01:30Z"));
  CHECK_INT(when_read("2026-03-29T02:30", paris, &later, &t_ms, &err), ERR_INPUT);
  CHECK_INT(when_read("2026-10-25T02:30+02:00", paris, NULL, &t_ms, &err), ERR_OK);
  CHECK_INT(t_ms, read_utc("2026-10-25T00:30Z"));
}

/* RFC 8536, section 3.3.1 and appendix B; POSIX.1-2017, 8.3 "TZ". */
static void published_rules_hold(void)
{
  static const struct {
    const char *footer, *utc;
    int offset_s;
  } rows[] = {
      {"<-03>3<-02>,M3.5.0/-2,M10.5.0/-1", "2026-03-29T00:59:59Z", -10800},
      {"<-03>3<-02>,M3.5.0/-2,M10.5.0/-1", "2026-03-29T01:00:00Z", -7200},
      {"<-03>3<-02>,M3.5.0/-2,M10.5.0/-1", "2026-10-25T01:00:00Z", -10800},
      {"EST5EDT,0/0,J365/25", "2026-01-01T00:00:00Z", -14400},
      {"EST5EDT,0/0,J365/25", "2026-07-01T00:00:00Z", -14400},
      {"EST5EDT,0/0,J365/25", "2026-12-31T23:59:59Z", -14400},
      {"IST-2IDT,M3.4.4/26,M10.5.0", "2026-03-27T00:00:00Z", 10800}, /* Friday before the Sunday */
      {"IST-2IDT,M3.4.4/26,M10.5.0", "2026-03-26T23:59:59Z", 7200},
      {"IST-1GMT0,M10.5.0,M3.5.0/1", "2026-07-01T00:00:00Z", 3600},
      {"IST-1GMT0,M10.5.0,M3.5.0/1", "2026-01-01T00:00:00Z", 0},
      {"NZST-12NZDT,M9.5.0,M4.1.0/3", "2027-01-01T00:00:00Z", 46800},
      {"NZST-12NZDT,M9.5.0,M4.1.0/3", "2026-07-01T00:00:00Z", 43200},
      {"AAA0BBB,J60/0,J61/0", "2028-03-01T00:00:00Z", 3600}, /* J60 is the first of March, always */
      {"AAA0BBB,J60/0,J61/0", "2028-02-29T12:00:00Z", 0},
      {"AAA0BBB,59/0,60/0", "2028-02-29T12:00:00Z", 3600},
      {"HST10", "2026-01-01T00:00:00Z", -36000},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    const struct when_zone *zone = by_footer(rows[i].footer);
    int offset_s = 7;

    CHECK_CASE("%s %s", rows[i].footer, rows[i].utc);
    REQUIRE(zone != NULL);
    when_civil(zone, read_utc(rows[i].utc), &offset_s);
    CHECK_INT(offset_s, rows[i].offset_s);
  }
}

static void a_damaged_zone_is_refused(void)
{
  static const char *const footers[] = {"C1",
                                        "CET",
                                        "CET-1CEST",
                                        "CET-1CEST,M3.5.0",
                                        "CET-1CEST,M13.5.0,M10.5.0",
                                        "CET-1CEST,M3.6.0,M10.5.0",
                                        "CET-1CEST,M3.5.7,M10.5.0",
                                        "CET-1CEST,M3.5.0,M10.5.0/168",
                                        "CET-1CEST,M3.5.0,M10.5.0/3x",
                                        "<CET-1",
                                        "CET-25",
                                        "CET-1CEST,J0,J366",
                                        "CET-1CEST,0,366"};
  const struct when_zone *zone = NULL;
  unsigned char bytes[400];
  size_t size = small_zone(bytes, '2', "CET-1CEST,M3.5.0,M10.5.0/3");

  for (size_t i = 0; i < sizeof footers / sizeof *footers; i++) {
    CHECK_CASE("%s", footers[i]);
    CHECK(by_footer(footers[i]) == NULL);
  }
  for (size_t cut = 0; cut < size; cut++) {
    struct err err = {0};

    CHECK_CASE("cut after %zu bytes", cut);
    CHECK_INT(when_zone_read("Cut", bytes, cut, &arena, &zone, &err), ERR_INPUT);
  }
  bytes[54 + 44] = 1; /* a type that says 16 million seconds */
  CHECK_INT(when_zone_read("Far", bytes, size, &arena, &zone, NULL), ERR_INPUT);
  CHECK(zone == NULL);
}

static void the_name_of_a_zone_stays_in_its_folder(void)
{
  CHECK(when_zone_name_fits("Europe/Paris") && when_zone_name_fits("Etc/GMT+12"));
  CHECK(!when_zone_name_fits("../passwd") && !when_zone_name_fits("/etc/passwd"));
  CHECK(!when_zone_name_fits("") && !when_zone_name_fits("Europe/"));
}

static void every_day_of_four_hundred_years_comes_once(void)
{
  struct when_civil was = when_civil(when_utc(), -86400000, NULL);
  int wrong = 0;

  for (int64_t day = 0; day < 146097; day++) {
    struct when_civil is = when_civil(when_utc(), day * 86400000, NULL);
    bool next = is.year == was.year && is.month == was.month && is.day == was.day + 1;
    bool turns =
        is.day == 1 && (is.month == was.month + 1 || (is.month == 1 && is.year == was.year + 1));

    wrong +=
        !(next || turns) || !when_is_date(&is) || when_weekday(&is) != (when_weekday(&was) + 1) % 7;
    was = is;
  }
  CHECK_INT(wrong, 0);
  CHECK_INT(was.year, 2369);
  CHECK_STR(printed(NULL, -62135596800000),
            "0001-01-01T00:00:00Z"); /* `date -u -d @-62135596800` */
}

static void a_declared_pattern_reads_what_it_says_and_nothing_else(void)
{
  static const struct {
    const char *pattern, *text, *utc; /* NULL: not so */
  } rows[] = {
      {"DD.MM.YYYY hh:mm", "25.10.2026 02:05", "2026-10-25T02:05:00Z"},
      {"DD.MM.YYYY hh:mm", "1.9.2026  2:05", "2026-09-01T02:05:00Z"},
      {"DD.MM.YYYY hh:mm", "25.10.2026 24:00", "2026-10-26T00:00:00Z"},
      {"DD.MM.YYYY hh:mm", "31.12.2026 24:00", "2027-01-01T00:00:00Z"},
      {"DD.MM.YYYY hh:mm", "25.10.2026 02:05 +02:00", "2026-10-25T00:05:00Z"},
      {"DD.MM.YYYY hh:mm", "25.10.2026 02:05Z", "2026-10-25T02:05:00Z"},
      {"DD.MM.YYYY hh:mm", "25.10.2026 02:05:10", NULL},
      {"DD.MM.YYYY hh:mm", "25.10.26 02:05", NULL},
      {"DD.MM.YYYY hh:mm", "10/25/2026 02:05", NULL},
      {"DD.MM.YYYY hh:mm", "25.13.2026 02:05", NULL},
      {"DD.MM.YYYY hh:mm", "29.02.2026 02:05", NULL},
      {"DD.MM.YYYY hh:mm", "25.10.2026", NULL},
      {"DD.MM.YYYY hh:mm", "25.10.2026 24:01", NULL},
      {"DD.MM.YYYY hh:mm", "25.10.2026 02:05 h", NULL},
      {"MM/DD/YYYY hh:mm am", "9/1/2026 12:05 AM", "2026-09-01T00:05:00Z"},
      {"MM/DD/YYYY hh:mm am", "9/1/2026 12:05 p.m.", "2026-09-01T12:05:00Z"},
      {"MM/DD/YYYY hh:mm am", "9/1/2026 13:05 pm", NULL},
      {"DD-MMM-YY hh:mm:ss.fff", "24-OCT-26 22:00:05.25", "2026-10-24T22:00:05.250Z"},
      {"DD-MMM-YY hh:mm:ss.fff", "24-Okt-26 22:00:05.25", NULL},
      {"YYYYMMDDThhmmss", "20261024T220005", "2026-10-24T22:00:05Z"},
      {"YYYYMMDDThhmmss", "202610T220005", NULL},
      {"ISO", "2026-10-24T22:00:05+02:00", "2026-10-24T20:00:05Z"},
      {"ISO", "2026-10-24 22:00", "2026-10-24T22:00:00Z"},
      {"ISO", "24.10.2026 22:00", NULL},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct when_pattern pattern;
    struct when_taken taken;
    struct err err = {0};
    int64_t first = 0, second;
    bool taken_so;

    CHECK_CASE("%s '%s'", rows[i].pattern, rows[i].text);
    REQUIRE(when_pattern_read(rows[i].pattern, &pattern, &err) == ERR_OK);
    taken_so = when_pattern_take(&pattern, rows[i].text, strlen(rows[i].text), &taken);
    CHECK(taken_so == (rows[i].utc != NULL));
    if (taken_so && rows[i].utc) {
      CHECK_INT(when_of_taken(when_utc(), &taken, &first, &second), WHEN_ONCE);
      CHECK_STR(printed(NULL, first), rows[i].utc);
    }
  }
}

static void a_pattern_that_names_no_moment_is_refused(void)
{
  static const struct {
    const char *pattern, *said;
  } rows[] = {{"DD.MM. hh:mm", "needs one year"},
              {"YYYY-DD hh:mm", "needs one month"},
              {"YYYY-MM hh:mm", "needs a day"},
              {"DD.MM.YYYY", "needs a day and an hour"},
              {"DD.MM.YYYY hh.ss", "leaves out"},
              {"DD.MM.YYYY hh:mm:mm", "twice"},
              {"dd.MM.YYYY HH:mm", "'dd.MM.YYYY HH:mm' is no part of a time"},
              {"", "needs one year"}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct when_pattern pattern;
    struct err err = {0};

    CHECK_CASE("%s", rows[i].pattern);
    CHECK_INT(when_pattern_read(rows[i].pattern, &pattern, &err), ERR_INPUT);
    CHECK(strstr(err.text, rows[i].said) != NULL);
  }
}

/* The rule of the Azores (POSIX TZ of the tz database): clocks go forward at midnight and, in October, back to it. */
static void a_date_alone_is_where_its_day_begins(void)
{
  const struct when_zone *azores = by_footer("<-01>1<+00>,M3.5.0/0,M10.5.0/1");
  static const struct {
    const char *text, *utc;
  } rows[] = {{"2024-06-01", "2024-06-01T00:00:00Z"},
              {"2024-12-01", "2024-12-01T01:00:00Z"},
              {"2024-03-31", "2024-03-31T01:00:00Z"}, /* 00:00 never was: 01:00 +00:00 */
              {"2024-10-27", "2024-10-27T00:00:00Z"}, /* 00:00 came twice: the first */
              {"2024-06-01 10:30", "2024-06-01T10:30:00Z"}};
  int64_t t_ms;
  struct err err = {0};

  REQUIRE(azores != NULL);
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    CHECK_INT(when_read_bound(rows[i].text, azores, &t_ms, &err), ERR_OK);
    CHECK(t_ms == read_utc(rows[i].utc));
  }
  CHECK_INT(when_read_bound("2024-02-30", azores, &t_ms, &err), ERR_INPUT);
  CHECK_INT(when_read_bound("yesterday!", azores, &t_ms, &err), ERR_INPUT);
  CHECK_INT(when_read("2024-06-01", azores, NULL, &t_ms, &err), ERR_INPUT); /* no moment */
}

static void spans_are_said_in_two_words_at_most(void)
{
  static const struct {
    double span_s;
    const char *said;
  } rows[] = {{0, "0 s"},      {5.9, "5 s"},         {180, "3 min"},          {3599, "59 min"},
              {7200, "2 h"},   {7800, "2 h 10 min"}, {172799, "47 h 59 min"}, {345600, "4 d"},
              {-90, "-1 min"}, {NAN, "not known"},   {INFINITY, "not known"}, {3.2e7, "370 d"}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct buf out;

    buf_init(&out, 100);
    when_print_span(&out, rows[i].span_s);
    CHECK_STR(out.text, rows[i].said);
    buf_release(&out);
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, 1 << 20);
  RUN(published_times_are_read);
  RUN(a_time_is_read_in_the_ways_people_write_it);
  RUN(what_is_no_time_is_refused);
  RUN(the_hour_that_comes_twice_is_two_moments_and_the_one_left_out_none);
  RUN(published_rules_hold);
  RUN(a_damaged_zone_is_refused);
  RUN(the_name_of_a_zone_stays_in_its_folder);
  RUN(every_day_of_four_hundred_years_comes_once);
  RUN(a_declared_pattern_reads_what_it_says_and_nothing_else);
  RUN(a_pattern_that_names_no_moment_is_refused);
  RUN(a_date_alone_is_where_its_day_begins);
  RUN(spans_are_said_in_two_words_at_most);
  arena_release(&arena);
  return check_end();
}
