#include "feed/feed.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char suite_text[] =
    "inward: 1 suite\n"
    "site: {zone: Europe/Paris}\n"
    "rooms: {Etch: {}, Gown: {}}\n"
    "junctions: {J: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "fans: {EF: {from: J, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [EF]}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "future: 30 s\n"
    "sources:\n"
    "  t: {old after: 60 s, clock ahead: 90 s, csv: {separator: semicolon, decimal: comma,\n"
    "      time: T, pattern: ISO, zone: UTC}}\n"
    "  m: {old after: 60 s, mqtt: {host: localhost}}\n"
    "points:\n"
    "  flow: {of: A1, what: flow, from: t, at: F, unit: m3/h, missing: [\"No Data\", \"###\"]}\n"
    "  sash: {of: A1, what: opening, from: t, at: S, unit: \"%\", full: 0.75 m}\n"
    "  beam: {of: A1, what: blocked, from: t, at: B, yes: [ALARM], no: [OK, 2]}\n"
    "  here: {of: A1, what: presence, from: t, at: P}\n"
    "  runs: {of: EF, what: running, from: t, at: R}\n"
    "  dp: {of: Etch, what: pressure, over: Gown, from: m, at: d, unit: Pa, factor: 0.1}\n"
    "  temp: {of: Etch, what: temperature, from: m, at: e, unit: degC, factor: 0.1}\n"
    "  odd: {what: other, from: m, at: o}\n";

static struct arena arena;
static struct facility *facility;
static struct feeds *feeds;

static bool world_read(void)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text file = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};
  struct complaints complaints;

  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  facility = facility_read(&suite, NULL, 0, &complaints);
  feeds = facility ? feeds_read(facility, &file, &complaints) : NULL;
  return feeds != NULL;
}

static const struct feeds_point *point(const char *id)
{
  return &feeds->points[feeds_point_find(feeds, id)];
}

/* A row of a table of what was written and what it means: NaN for no value. */
struct row {
  const char *point, *text, *unit;
  double si;
  enum feed_quality quality;
};

static void look(const struct row *rows, size_t count, bool decimal_comma)
{
  for (size_t i = 0; i < count; i++) {
    struct feed_observation o = {.si = 7};

    CHECK_CASE("%s '%s' %s", rows[i].point, rows[i].text, rows[i].unit ? rows[i].unit : "");
    feed_value(point(rows[i].point), decimal_comma, rows[i].text, rows[i].unit, &o);
    CHECK_INT(o.quality, rows[i].quality);
    if (isnan(rows[i].si))
      CHECK(isnan(o.si));
    else
      CHECK_NEAR(o.si, rows[i].si, 1e-12, 0);
  }
}
#define LOOK(rows, comma) look(rows, sizeof(rows) / sizeof((rows)[0]), comma)

static void a_declared_comma_is_the_decimal_mark(void)
{
  static const struct row rows[] = {
      {"flow", "1458,0", NULL, 0.405, FEED_GOOD},
      {"flow", " 1458 ", NULL, 0.405, FEED_GOOD},
      {"flow", "-36,", NULL, -0.01, FEED_GOOD},
      {"flow", "+,36", NULL, 1e-4, FEED_GOOD},
      {"flow",
       "\xe2\x88\x92"
       "36",
       NULL, -0.01, FEED_GOOD},
      {"flow", "3,6E+2", NULL, 0.1, FEED_GOOD},
      {"flow", "1458\xc2\xa0", NULL, 0.405, FEED_GOOD},
      {"sash", "60", NULL, 0.45, FEED_GOOD},
      {"sash", "60 %", "%", 0.45, FEED_GOOD},
  };

  LOOK(rows, true);
}

/* The same digits are a thousand here and one there: nobody may choose. */
static void a_number_with_marks_between_its_digits_is_unreadable(void)
{
  static const char *const texts[] = {"1.458,0",      "1.458",   "1 458,0",
                                      "1\302\240458", /* a no-break blank */
                                      "1'458",        "1,458,0", "1,4,5"};
  static const char *const pointed[] = {"1,458.0", "1,458", "1 458.0", "1.458.0"};
  struct feed_observation o;

  for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
    CHECK_CASE("'%s'", texts[i]);
    feed_value(point("flow"), true, texts[i], NULL, &o);
    CHECK(o.quality == FEED_UNREADABLE && isnan(o.si));
  }
  for (size_t i = 0; i < sizeof pointed / sizeof *pointed; i++) {
    CHECK_CASE("'%s'", pointed[i]);
    feed_value(point("flow"), false, pointed[i], NULL, &o);
    CHECK(o.quality == FEED_UNREADABLE && isnan(o.si));
  }
}

/* The nearest double, as strtod of the C library gives it, which is checked against exact arithmetic
 * by its makers. */
static void every_number_is_the_nearest_to_what_was_written(void)
{
  uint64_t state = 88172645463325252U;
  int wrong = 0;

  for (int i = 0; i < 200000; i++) {
    struct feed_observation o;
    char text[40];

    state ^= state << 13;
    state ^= state >> 7;
    state ^= state << 17;

    long long digits = (long long)(state % 10000000000000000U);
    int places = (int)(state >> 56) % 16, length = (int)(state >> 50) % 16 + 1;

    for (int k = length; k < 16; k++)
      digits /= 10;
    snprintf(text, sizeof text, "%s%.*f", i % 2 ? "-" : "", places,
             (double)digits / pow(10, places));
    feed_value(point("odd"), false, text, NULL, &o);
    wrong += !(o.quality == FEED_GOOD && o.si == strtod(text, NULL));
  }
  CHECK_INT(wrong, 0);
}

static void what_is_missing_is_not_zero(void)
{
  static const struct row rows[] = {
      {"flow", "", NULL, NAN, FEED_MISSING},
      {"flow", " \t\xc2\xa0", NULL, NAN, FEED_MISSING},
      {"flow", "No Data", NULL, NAN, FEED_MISSING},
      {"flow", "NO DATA", NULL, NAN, FEED_MISSING},
      {"flow", "### ", NULL, NAN, FEED_MISSING},
      {"sash", "###", NULL, NAN, FEED_UNREADABLE}, /* declared for the flow alone */
      {"here", "", NULL, NAN, FEED_MISSING},
      {"flow", "Shutdown", NULL, NAN, FEED_UNREADABLE},
      {"flow", "NaN", NULL, NAN, FEED_UNREADABLE},
      {"flow", "inf", NULL, NAN, FEED_UNREADABLE},
      {"flow", "1e999", NULL, NAN, FEED_UNREADABLE},
      {"flow", "0x10", NULL, NAN, FEED_UNREADABLE},
      {"flow", "-", NULL, NAN, FEED_UNREADABLE},
      {"flow", ".", NULL, NAN, FEED_UNREADABLE},
  };

  LOOK(rows, false);
}

static void words_of_yes_and_no_are_the_sources_own(void)
{
  static const struct row rows[] = {
      {"beam", "ALARM", NULL, 1, FEED_GOOD},       {"beam", "alarm", NULL, 1, FEED_GOOD},
      {"beam", "OK", NULL, 0, FEED_GOOD},          {"beam", "1", NULL, NAN, FEED_UNREADABLE},
      {"beam", "yes", NULL, NAN, FEED_UNREADABLE}, {"here", "On", NULL, 1, FEED_GOOD},
      {"here", "inactive", NULL, 0, FEED_GOOD},    {"here", "1.0", NULL, 1, FEED_GOOD},
      {"here", "0.00", NULL, 0, FEED_GOOD},        {"here", "2", NULL, NAN, FEED_UNREADABLE},
      {"here", "0.5", NULL, NAN, FEED_UNREADABLE}, {"here", "1 Pa", NULL, NAN, FEED_UNREADABLE},
      {"runs", "2", NULL, 2, FEED_GOOD},           {"runs", "1.5", NULL, NAN, FEED_UNREADABLE},
      {"runs", "-1", NULL, NAN, FEED_UNREADABLE},
  };

  LOOK(rows, false);
}

/* 1 L/s is 3.6 m3/h and 0 degC is 273.15 K by definition; 1 inH2O: units.def, with its source. */
static void a_unit_that_comes_with_a_value_is_converted_or_refused(void)
{
  static const struct row rows[] = {
      {"flow", "100", "L/s", 0.1, FEED_GOOD},
      {"flow", "100 L/s", NULL, 0.1, FEED_GOOD},
      {"flow", "100 L/s", "L/s", 0.1, FEED_GOOD},
      {"flow", "100 L/s", "m3/h", NAN, FEED_UNREADABLE}, /* they contradict each other */
      {"flow", "360", " m3/h ", 0.1, FEED_GOOD},
      {"flow", "360", "m\xc2\xb3/h", 0.1, FEED_GOOD},
      {"flow", "360", "", 0.1, FEED_GOOD},
      {"flow", "14", "Pa", NAN, FEED_UNREADABLE},
      {"flow", "14", "furlongs", NAN, FEED_UNREADABLE},
      {"sash", "30", "cm", 0.3, FEED_GOOD},
      {"dp", "150", NULL, 15, FEED_GOOD},
      {"dp", "1.5", "hPa", 15, FEED_GOOD}, /* the declared factor stays */
      {"temp", "215", NULL, 294.65, FEED_GOOD},
      {"temp", "2946.5", "K", 294.65, FEED_GOOD},
      {"temp", "-9990", NULL, NAN, FEED_UNREADABLE}, /* under 0 K: no temperature */
      {"odd", "-5.5", NULL, -5.5, FEED_GOOD},
      {"odd", "-5.5", "Pa", NAN, FEED_UNREADABLE},
  };

  LOOK(rows, false);
}

static void a_number_that_came_as_one_reads_like_its_text(void)
{
  struct feed_observation o;

  feed_number(point("dp"), 150, &o);
  CHECK_NEAR(o.si, 15, 1e-12, 0);
  feed_number(point("beam"), 2, &o);
  CHECK(o.quality == FEED_GOOD && o.si == 0);
  feed_number(point("here"), 1, &o);
  CHECK(o.quality == FEED_GOOD && o.si == 1);
  feed_number(point("here"), 7, &o);
  CHECK_INT(o.quality, FEED_UNREADABLE);
  feed_number(point("runs"), 0.5, &o);
  CHECK_INT(o.quality, FEED_UNREADABLE);
  feed_number(point("dp"), NAN, &o);
  CHECK(o.quality == FEED_UNREADABLE && isnan(o.si));
  feed_number(point("dp"), INFINITY, &o);
  CHECK(o.quality == FEED_UNREADABLE && isnan(o.si));
  feed_number(point("flow"), 1e308, &o);
  CHECK(o.quality == FEED_GOOD);
}

static struct feed_observation timed(const char *id, bool has_time, int64_t t_ms, int64_t seen_ms)
{
  struct feed_observation o = {.point = feeds_point_find(feeds, id), .si = 1, .quality = FEED_GOOD};

  feed_time(feeds, point(id)->source, has_time, t_ms, seen_ms, &o);
  return o;
}

static void a_clock_that_is_ahead_is_put_right(void)
{
  struct feed_observation o = timed("flow", true, 1000090000, 1000000000);

  CHECK_INT(o.t_ms, 1000000000);
  CHECK_INT(o.seen_ms, 1000000000);
  CHECK_INT(o.quality, FEED_GOOD);
  CHECK_INT(timed("flow", true, 1000120000, 1000000000).quality, FEED_GOOD); /* 30 s are allowed */
  o = timed("flow", true, 1000120001, 1000000000);
  CHECK(o.quality == FEED_FUTURE && isnan(o.si));
}

static void a_message_may_be_old_when_it_comes_and_a_row_of_a_table_never(void)
{
  struct feed_observation o = timed("dp", true, 0, 60001);

  CHECK(o.quality == FEED_OLD && o.si == 1);
  CHECK_INT(timed("dp", true, 0, 60000).quality, FEED_GOOD);
  CHECK_INT(timed("flow", true, 0, 86400000).quality, FEED_GOOD);
}

static void without_a_time_it_was_so_when_it_came(void)
{
  struct feed_observation o = timed("flow", false, 5, 1000);

  CHECK_INT(o.t_ms, 1000);
  CHECK_INT(o.quality, FEED_GOOD);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  if (!world_read())
    return 1;
  RUN(a_declared_comma_is_the_decimal_mark);
  RUN(a_number_with_marks_between_its_digits_is_unreadable);
  RUN(every_number_is_the_nearest_to_what_was_written);
  RUN(what_is_missing_is_not_zero);
  RUN(words_of_yes_and_no_are_the_sources_own);
  RUN(a_unit_that_comes_with_a_value_is_converted_or_refused);
  RUN(a_number_that_came_as_one_reads_like_its_text);
  RUN(a_clock_that_is_ahead_is_put_right);
  RUN(a_message_may_be_old_when_it_comes_and_a_row_of_a_table_never);
  RUN(without_a_time_it_was_so_when_it_came);
  feeds_free(feeds);
  facility_free(facility);
  arena_release(&arena);
  return check_end();
}
