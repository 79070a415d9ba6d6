#include "feed/feed.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char suite_text[] =
    "inward: 1 suite\n"
    "site: {zone: Europe/Paris}\n"
    "rooms: {Wet: {}, Gown: {}}\n"
    "junctions: {J: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "supplies: {MU: {feeds: {Wet: {flow: 900 m3/h}}}}\n"
    "stations:\n"
    "  A3: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}\n";

/* Made up for these tests, with the dirt that exports have. */
static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources:\n"
    "  wide: {old after: 15 min, csv: {separator: semicolon, decimal: comma, time: Zeit,\n"
    "      pattern: DD.MM.YYYY hh:mm, zone: Europe/Paris, missing: [No Data, \"###\", \"-999\"]}}\n"
    "  long: {clock ahead: 90 s, csv: {shape: long, separator: comma, decimal: point, time: at, date: on,\n"
    "      pattern: YYYY-MM-DD hh:mm:ss, zone: Europe/Paris, point: tag, value: value, unit: unit,\n"
    "      status: status, good: [ok, good]}}\n"
    "  exact: {csv: {separator: tab, decimal: point, time: t, pattern: ISO, zone: UTC,\n"
    "      columns: [t, x, y]}}\n"
    "points:\n"
    "  flow: {of: A3, what: flow, from: wide, at: \"A3.Q [m3/h]\", unit: m3/h}\n"
    "  sash: {of: A3, what: opening, from: wide, at: \"A3.SASH [%]\", unit: \"%\", full: 0.75 m}\n"
    "  beam: {of: A3, what: blocked, from: wide, at: A3.BEAM, yes: [ALARM], no: [OK]}\n"
    "  make-up: {of: MU, what: flow, from: wide, at: \"MU.Q [L/s]\", unit: L/s}\n"
    "  lflow: {of: A3, what: flow, from: long, at: A3.Q, unit: m3/h}\n"
    "  ldp: {of: Wet, what: pressure, over: Gown, from: long, at: DP, unit: Pa}\n"
    "  x: {what: other, from: exact, at: x}\n";

enum { WIDE, LONG, EXACT };
#define HEADER "Zeit;A3.Q [m3/h];A3.SASH [%];A3.BEAM;MU.Q [L/s];EF1.CMD\n"

static struct facility *facility;
static struct feeds *feeds;
static const struct when_zone *paris;
static struct arena zone_arena;

/* The rule of 2000/84/EC alone, as a zone file: enough for the years looked at here. */
static void make_paris(void)
{
  static const char footer[] = "\nCET-1CEST,M3.5.0,M10.5.0/3\n";
  unsigned char bytes[200] = {0};
  size_t used = 0;

  for (int block = 0; block < 2; block++) {
    memcpy(bytes + used, "TZif2", 5);
    bytes[used + 39] = 1;
    bytes[used + 43] = 4;
    memcpy(bytes + used + 44, "\0\0\0\0\0\0LMT", 10);
    used += 54;
  }
  memcpy(bytes + used, footer, sizeof footer - 1);
  arena_init(&zone_arena, 1 << 16);
  BUG_IF(when_zone_read("Europe/Paris", bytes, used + sizeof footer - 1, &zone_arena, &paris,
                        NULL) != ERR_OK);
}

static bool world_read(void)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text file = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  facility = facility_read(&suite, NULL, 0, &complaints);
  feeds = facility ? feeds_read(facility, &file, &complaints) : NULL;
  for (int i = 0; i < complaints.count; i++)
    printf("%s:%d: %s\n", complaints.list[i].place.file, complaints.list[i].place.line,
           complaints.list[i].text);
  arena_release(&arena);
  make_paris();
  return feeds != NULL;
}

/* ---- one reading ---- */

struct taken {
  struct feed_observation list[400];
  int count;
  bool good;
  struct feed_table_report report;
  struct complaints complaints;
  struct arena arena;
};

static struct taken taken; /* of the reading that a test looks at */

static void keep(void *arg, const struct feed_observation *o)
{
  struct taken *t = arg;

  if (t->count < 400)
    t->list[t->count++] = *o;
}

static int64_t utc(const char *text)
{
  int64_t t_ms = 0;

  if (when_read(text, when_utc(), NULL, &t_ms, NULL) != ERR_OK)
    printf("test: '%s' is no time\n", text);
  return t_ms;
}

static void take_bytes(int source, const char *bytes, size_t size, const char *seen)
{
  struct facility_text text = {"trend.csv", bytes, size};
  struct feed_sink sink = {keep, &taken};

  arena_release(&taken.arena);
  taken = (struct taken){0};
  arena_init(&taken.arena, 8 << 20);
  complaints_init(&taken.complaints, &taken.arena);
  struct feed_table_job job = {feeds, source, source == EXACT ? when_utc() : paris, &text,
                               utc(seen)};

  taken.good = feed_table(&job, &sink, &taken.arena, &taken.complaints, &taken.report);
}

static void take(int source, const char *text)
{
  take_bytes(source, text, strlen(text), "2026-11-02T08:00Z");
}

static bool complained(const char *words)
{
  for (int i = 0; i < taken.complaints.count; i++)
    if (strstr(taken.complaints.list[i].text, words))
      return true;
  printf("      nobody said '%s'; said was:\n", words);
  for (int i = 0; i < taken.complaints.count; i++)
    printf("      %d:%d: %s\n", taken.complaints.list[i].place.line,
           taken.complaints.list[i].place.column, taken.complaints.list[i].text);
  return false;
}

static int line_of(const char *words)
{
  for (int i = 0; i < taken.complaints.count; i++)
    if (strstr(taken.complaints.list[i].text, words))
      return taken.complaints.list[i].place.line;
  return -1;
}

/* The n-th observation of a point, or one that nothing equals. */
static struct feed_observation said(const char *point, int n)
{
  int index = feeds_point_find(feeds, point);

  for (int i = 0; i < taken.count; i++)
    if (taken.list[i].point == index && n-- == 0)
      return taken.list[i];
  return (struct feed_observation){.t_ms = INT64_MIN, .si = NAN, .quality = FEED_QUALITY_COUNT};
}

static int count_of(const char *point)
{
  int index = feeds_point_find(feeds, point), count = 0;

  for (int i = 0; i < taken.count; i++)
    count += taken.list[i].point == index;
  return count;
}

static void refused(const char *words)
{
  CHECK(!taken.good);
  CHECK_INT(taken.count, 0);
  CHECK(complained(words));
}

/* ---- values ---- */

static void each_column_is_read_in_its_own_unit_and_what_is_missing_stays_missing(void)
{
  take(WIDE, HEADER "24.10.2026 22:00;1458,0;60;ALARM;2145;1\n"
                    "24.10.2026 22:05;No Data;;;2146;1\n"
                    "24.10.2026 22:10;### ;-999;OK;no data;0\n");
  CHECK(taken.good);
  CHECK_INT(taken.complaints.count, 0);
  CHECK_INT(taken.report.rows, 3);
  CHECK_INT(taken.report.values, 6);
  CHECK_INT(taken.report.missing, 6);
  CHECK_INT(taken.count, 12);
  CHECK_NEAR(said("flow", 0).si, 0.405, 1e-12, 0);
  CHECK_NEAR(said("sash", 0).si, 0.45, 1e-12, 0);
  CHECK_NEAR(said("make-up", 0).si, 2.145, 1e-12, 0);
  CHECK_NEAR(said("beam", 0).si, 1, 0, 0);
  CHECK_INT(said("flow", 0).t_ms, utc("2026-10-24T20:00Z"));
  CHECK_INT(said("flow", 0).seen_ms, utc("2026-11-02T08:00Z"));
  for (int n = 1; n < 3; n++)
    CHECK(said("flow", n).quality == FEED_MISSING && isnan(said("flow", n).si));
  CHECK_INT(said("sash", 2).quality, FEED_MISSING);
  CHECK_INT(said("make-up", 2).quality, FEED_MISSING);
  CHECK_NEAR(said("beam", 2).si, 0, 0, 0);
  CHECK_INT(taken.report.unmapped_count, 1);
  CHECK_STR(taken.report.unmapped[0], "EF1.CMD");
  CHECK_INT(taken.report.first_ms, utc("2026-10-24T20:00Z"));
  CHECK_INT(taken.report.last_ms, utc("2026-10-24T20:10Z"));
}

static void a_value_that_cannot_be_read_is_said_so_once_a_column(void)
{
  take(WIDE, HEADER "24.10.2026 22:00;1.458,0;60;WARN;2145;1\n"
                    "24.10.2026 22:05;1.459,0;60;OK;2145;1\n");
  CHECK(taken.good);
  CHECK_INT(taken.report.unreadable, 3);
  CHECK_INT(taken.complaints.count, 2);
  CHECK(complained("point flow: '1.458,0' is no number with a decimal comma"));
  CHECK(complained("point beam: 'WARN' is neither yes nor no"));
  CHECK_INT(taken.complaints.list[0].place.line, 2);
  CHECK_INT(taken.complaints.list[0].place.column, 18);
  CHECK_INT(said("flow", 0).quality, FEED_UNREADABLE);
}

/* ---- the clock ---- */

static void the_second_two_oclock_is_an_hour_later(void)
{
  take(WIDE, HEADER "25.10.2026 01:55;1;60;OK;1;1\n"
                    "25.10.2026 02:00;2;60;OK;1;1\n"
                    "25.10.2026 02:55;3;60;OK;1;1\n"
                    "25.10.2026 02:00;4;60;OK;1;1\n"
                    "25.10.2026 02:05;5;60;OK;1;1\n"
                    "25.10.2026 03:00;6;60;OK;1;1\n");
  CHECK(taken.good);
  CHECK_INT(taken.complaints.count, 0);
  CHECK_INT(taken.report.ambiguous_rows, 0);
  CHECK_INT(said("flow", 0).t_ms, utc("2026-10-24T23:55Z"));
  CHECK_INT(said("flow", 1).t_ms, utc("2026-10-25T00:00Z"));
  CHECK_INT(said("flow", 2).t_ms, utc("2026-10-25T00:55Z"));
  CHECK_INT(said("flow", 3).t_ms, utc("2026-10-25T01:00Z"));
  CHECK_NEAR(said("flow", 3).si, 4 / 3600.0, 1e-12, 0);
  CHECK_INT(said("flow", 4).t_ms, utc("2026-10-25T01:05Z"));
  CHECK_INT(said("flow", 5).t_ms, utc("2026-10-25T02:00Z"));
}

static void a_table_with_the_newest_first_is_read_backwards(void)
{
  take(WIDE, HEADER "25.10.2026 03:00;6;60;OK;1;1\n"
                    "25.10.2026 02:30;5;60;OK;1;1\n"
                    "25.10.2026 02:00;4;60;OK;1;1\n"
                    "25.10.2026 02:30;3;60;OK;1;1\n"
                    "25.10.2026 02:00;2;60;OK;1;1\n"
                    "25.10.2026 01:55;1;60;OK;1;1\n");
  CHECK(taken.good);
  CHECK_INT(taken.complaints.count, 0);
  CHECK_INT(said("flow", 1).t_ms, utc("2026-10-25T01:30Z"));
  CHECK_INT(said("flow", 2).t_ms, utc("2026-10-25T01:00Z"));
  CHECK_INT(said("flow", 3).t_ms, utc("2026-10-25T00:30Z"));
  CHECK_INT(said("flow", 4).t_ms, utc("2026-10-25T00:00Z"));
}

static void hourly_rows_of_the_same_local_time_are_told_apart_by_their_neighbours(void)
{
  take(WIDE, HEADER "25.10.2026 01:00;1;60;OK;1;1\n"
                    "25.10.2026 02:00;2;60;OK;1;1\n"
                    "25.10.2026 02:00;3;60;OK;1;1\n"
                    "25.10.2026 03:00;4;60;OK;1;1\n");
  CHECK_INT(taken.report.ambiguous_rows, 0);
  CHECK_INT(said("flow", 1).t_ms, utc("2026-10-25T00:00Z"));
  CHECK_INT(said("flow", 2).t_ms, utc("2026-10-25T01:00Z"));
}

/* One pass through the hour: the other was lost, and nobody knows which. */
static void what_the_order_does_not_tell_is_counted_and_left_out(void)
{
  static const char *const middles[] = {
      "25.10.2026 02:00;2;60;OK;1;1\n25.10.2026 02:30;3;60;OK;1;1\n",
      /* twice back: three passes through an hour that came twice */
      "25.10.2026 02:30;2;60;OK;1;1\n25.10.2026 02:10;3;60;OK;1;1\n25.10.2026 02:05;3;60;OK;1;1\n"};

  for (int i = 0; i < 2; i++) {
    char text[1000];

    CHECK_CASE("%d", i);
    snprintf(text, sizeof text, "%s25.10.2026 01:55;1;60;OK;1;1\n%s25.10.2026 03:00;4;60;OK;1;1\n",
             HEADER, middles[i]);
    take(WIDE, text);
    CHECK(taken.good);
    CHECK_INT(taken.report.ambiguous_rows, 2 + i);
    CHECK_INT(count_of("flow"), 2);
    CHECK(complained("came twice in Europe/Paris"));
    CHECK_INT(line_of("came twice"), 3);
  }
}

/* Only these rows, no neighbours: up or down fits as well. */
static void two_rows_alone_do_not_tell_which_way_a_table_runs(void)
{
  take(WIDE, HEADER "25.10.2026 02:30;2;60;OK;1;1\n25.10.2026 02:00;3;60;OK;1;1\n");
  CHECK_INT(taken.report.ambiguous_rows, 2);
  CHECK_INT(taken.count, 0);
}

static void a_row_later_than_its_file_is_of_the_first_hour(void)
{
  static const char text[] = HEADER "25.10.2026 02:00;2;60;OK;1;1\n25.10.2026 02:05;3;60;OK;1;1\n";

  take_bytes(WIDE, text, sizeof text - 1, "2026-10-25T00:06Z");
  CHECK_INT(taken.report.ambiguous_rows, 0);
  CHECK_INT(said("flow", 0).t_ms, utc("2026-10-25T00:00Z"));
  CHECK_INT(said("flow", 1).t_ms, utc("2026-10-25T00:05Z"));
}

static void an_hour_that_never_was_is_named_and_left_out(void)
{
  take(WIDE, HEADER "29.03.2026 01:55;1;60;OK;1;1\n"
                    "29.03.2026 02:00;2;60;OK;1;1\n"
                    "29.03.2026 02:05;3;60;OK;1;1\n"
                    "29.03.2026 03:00;4;60;OK;1;1\n");
  CHECK(taken.good);
  CHECK_INT(taken.report.never_rows, 2);
  CHECK_INT(taken.complaints.count, 1);
  CHECK(complained("'29.03.2026 02:00' never was in Europe/Paris"));
  CHECK_INT(count_of("flow"), 2);
  CHECK_INT(said("flow", 1).t_ms - said("flow", 0).t_ms, 300000);
}

static void times_with_an_offset_keep_theirs(void)
{
  take(WIDE, HEADER "25.10.2026 02:00 +01:00;1;60;OK;1;1\n"
                    "29.03.2026 02:30 Z;1;60;OK;1;1\n");
  CHECK_INT(taken.complaints.count, 0);
  CHECK_INT(said("flow", 0).t_ms, utc("2026-10-25T01:00Z"));
  CHECK_INT(said("flow", 1).t_ms, utc("2026-03-29T02:30Z"));
}

static void what_has_not_come_yet_does_not_count(void)
{
  static const char text[] = HEADER "24.10.2026 22:00;1;60;OK;1;1\n24.10.2026 22:01;1;60;OK;1;1\n";

  take_bytes(WIDE, text, sizeof text - 1, "2026-10-24T20:00:15Z");
  CHECK(taken.good);
  CHECK_INT(taken.report.future, 4);
  CHECK_INT(taken.complaints.count, 1);
  CHECK(complained("had not come yet"));
  CHECK(said("flow", 1).quality == FEED_FUTURE && isnan(said("flow", 1).si));
  CHECK_INT(said("flow", 0).quality, FEED_GOOD);
}

static void a_row_of_a_table_is_good_however_late_it_comes(void)
{
  take(WIDE, HEADER "24.10.2016 22:00;1;60;OK;1;1\n");
  CHECK_INT(said("flow", 0).quality, FEED_GOOD);
}

/* ---- shape ---- */

static void a_long_table_is_read_by_its_names(void)
{
  take(LONG, "on,at,tag,value,unit,status\n"
             "2026-10-24,22:01:30,A3.Q,1458,m3/h,ok\n"
             "2026-10-24,22:01:30,A3.Q,100,L/s,GOOD\n"
             "2026-10-24,22:01:30,A3.Q,100,Pa,ok\n"
             "2026-10-24,22:01:30,DP,-14.8,,ok\n"
             "2026-10-24,22:01:30,DP,14.8,Pa,faulted\n"
             "2026-10-24,22:01:30,EF9,1,,ok\n"
             "2026-10-24,22:01:30,EF9,1,,ok\n");
  CHECK(taken.good);
  CHECK_INT(taken.report.rows, 7);
  CHECK_INT(said("lflow", 0).t_ms, utc("2026-10-24T20:00Z")); /* its clock is 90 s ahead */
  CHECK_NEAR(said("lflow", 0).si, 0.405, 1e-12, 0);
  CHECK_NEAR(said("lflow", 1).si, 0.1, 1e-12, 0);
  CHECK_INT(said("lflow", 2).quality, FEED_UNREADABLE);
  CHECK(complained("'100' in 'Pa' is no value in m3/h"));
  CHECK_NEAR(said("ldp", 0).si, -14.8, 1e-12, 0);
  CHECK(said("ldp", 1).quality == FEED_FAULTY && isnan(said("ldp", 1).si));
  CHECK_INT(taken.report.unmapped_count, 1);
  CHECK_STR(taken.report.unmapped[0], "EF9");
}

/* Each name runs through the night by itself. */
static void the_hour_that_comes_twice_is_settled_name_by_name(void)
{
  take(LONG, "on,at,tag,value,unit,status\n"
             "2026-10-25,01:30:00,A3.Q,1,,ok\n"
             "2026-10-25,02:30:00,A3.Q,2,,ok\n"
             "2026-10-25,02:30:00,A3.Q,3,,ok\n"
             "2026-10-25,01:00:00,DP,1,,ok\n"
             "2026-10-25,02:00:00,DP,2,,ok\n"
             "2026-10-25,03:30:00,A3.Q,4,,ok\n"
             "2026-10-25,03:00:00,DP,4,,ok\n");
  CHECK(taken.good);
  CHECK_INT(taken.report.ambiguous_rows, 1);
  CHECK_INT(said("lflow", 2).t_ms - said("lflow", 1).t_ms, 3600000);
  CHECK_INT(count_of("ldp"), 2);
  CHECK_INT(line_of("1 rows from here"), 6);
}

/* ---- what is refused ---- */

static void other_columns_are_refused_and_the_first_ten_lines_shown(void)
{
  take(WIDE,
       "Building 7;;\nZeit;A3.Q;A3.SASH [%];A3.BEAM;MU.Q [L/s]\n1\n2\n3\n4\n5\n6\n7\n8\nnine\n");
  refused("there is no column 'A3.Q [m3/h]'; there is 'A3.Q'");
  CHECK(complained("nothing was read. The table begins:\n     1 | Building 7;;\n     2 | Zeit;"));
  CHECK(complained("\n    10 | 8"));
  CHECK(strstr(taken.complaints.list[1].text, "nine") == NULL);
  CHECK_INT(taken.complaints.list[0].place.line, 2);
}

static void a_header_may_stand_below_a_few_lines_of_prose(void)
{
  take(WIDE, "sep=;\nExport of 25.10.2026;;;\n\n" HEADER "24.10.2026 22:00;36;60;OK;1;1\n");
  CHECK(taken.good);
  CHECK_NEAR(said("flow", 0).si, 0.01, 1e-12, 0);
}

static void columns_may_be_moved_and_new_ones_may_come(void)
{
  take(WIDE,
       "MU.Q [L/s];new;A3.BEAM;A3.SASH [%];A3.Q [m3/h];Zeit\n1;x;OK;60;36;24.10.2026 22:00\n");
  CHECK(taken.good);
  CHECK_NEAR(said("flow", 0).si, 0.01, 1e-12, 0);
  CHECK_STR(taken.report.unmapped[0], "new");
}

static void a_declared_header_must_be_the_whole_one(void)
{
  take(EXACT, "t\tx\ty\n2026-10-24T22:00Z\t-5.5\t1\n");
  CHECK(taken.good);
  CHECK_NEAR(said("x", 0).si, -5.5, 0, 0);
  take(EXACT, "t\tx\tz\n2026-10-24T22:00Z\t5\t1\n");
  refused("column 3 is 'z' and not 'y'");
  take(EXACT, "t\ty\tx\n2026-10-24T22:00Z\t5\t1\n");
  refused("column 2 is 'y' and not 'x'");
  take(EXACT, "t\tx\ty\tnew\n2026-10-24T22:00Z\t5\t1\t1\n");
  refused("column 4 is 'new' and not ''");
}

static void a_column_that_stands_twice_is_refused(void)
{
  take(
      WIDE,
      "Zeit;A3.Q [m3/h];A3.SASH [%];A3.BEAM;MU.Q [L/s];A3.Q [m3/h]\n24.10.2026 22:00;1;60;OK;1;2\n");
  refused("column 'A3.Q [m3/h]' stands twice, in columns 2 and 6");
}

static void a_header_with_another_unit_is_refused(void)
{
  static const char other[] =
      "inward: 1 feeds\n"
      "sources: {s: {csv: {separator: comma, decimal: point, time: t, pattern: ISO, zone: UTC}}}\n"
      "points: {f: {of: A3, what: flow, from: s, at: \"Q (l/s)\", unit: m3/h}}\n";
  static const char table[] = "t,Q (l/s)\n2026-10-24T22:00Z,5\n";
  struct facility_text file = {"feeds.yaml", other, sizeof other - 1},
                       text = {"t.csv", table, sizeof table - 1};
  struct feed_sink sink = {keep, &taken};

  take(EXACT, ""); /* to begin anew */
  taken.complaints.count = 0;

  struct feeds *theirs = feeds_read(facility, &file, &taken.complaints);

  REQUIRE(theirs != NULL);
  struct feed_table_job job = {theirs, 0, when_utc(), &text, utc("2026-11-02T08:00Z")};

  CHECK(!feed_table(&job, &sink, &taken.arena, &taken.complaints, &taken.report));
  CHECK(complained("the header says l/s and point f of the mapping says m3/h"));
  CHECK_INT(taken.count, 0);
  feeds_free(theirs);
}

static void what_is_no_text_is_refused_by_name(void)
{
  static const char nul[] = "Zeit;\0;";

  take(WIDE, "");
  refused("there is nothing in it");
  take(WIDE, "PK\3\4 whatever");
  refused("workbook (.xlsx)");
  take(WIDE, "%PDF-1.7");
  refused("a PDF");
  take_bytes(WIDE, nul, sizeof nul - 1, "2026-11-02T08:00Z");
  refused("this is no text");
  take(WIDE, "\xef\xbb\xbfZeit;\xff\n");
  refused("not UTF-8, though the file says it is");
  take(WIDE, "Zeit;\x81\n");
  refused("of no known encoding");
}

static void a_table_of_which_nothing_can_be_read_is_refused(void)
{
  take(WIDE, HEADER "10/24/2026 22:00;1;60;OK;1;1\n10/24/2026 22:05;1;60;OK;1;1\n");
  refused("not one of its 2 rows could be read");
  CHECK(complained("'10/24/2026 22:00' is no time as DD.MM.YYYY hh:mm"));
}

/* ---- rows ---- */

static void a_row_that_cannot_be_read_is_named_and_the_rest_goes_on(void)
{
  take(WIDE, HEADER "24.10.2026 22:00;1;60;OK;1;1\n"
                    "24.10.2026 22:05;1;60;OK;1\n"
                    "24.10.2026 22:10;1;60;OK;1;1;9\n"
                    "24.10.2026 22:15;1;60;OK;1;1;;\n"
                    "\n"
                    "end of report\n"
                    "24.10.2026 22:20;\"1;60;OK;1;1\n"
                    "24.10.2026 22:25;\"1\" x;60;OK;1;1\n"
                    "24.10.2026 25:00;1;60;OK;1;1\n"
                    "24.10.2026 22:30;1;60;OK;1;1");
  CHECK(taken.good);
  CHECK_INT(taken.report.rows, 9);
  CHECK_INT(taken.report.unread_rows, 6);
  CHECK_INT(count_of("flow"), 3);
  CHECK_INT(taken.complaints.count, 6);
  CHECK_INT(line_of("has 5 cells and the header has 6"), 3);
  CHECK_INT(line_of("has 7 cells"), 4);
  CHECK_INT(line_of("has 1 cell and"), 7);
  CHECK_INT(line_of("a quote in this row"), 8);
  CHECK_INT(line_of("'24.10.2026 25:00' is no time"), 10);
  CHECK_INT(said("flow", 2).t_ms, utc("2026-10-24T20:30Z"));
}

static void quotes_are_taken_apart(void)
{
  take(WIDE,
       "\"Zeit\"; \"A3.Q [m3/h]\" ;\"A3.SASH [%]\";A3.BEAM;\"MU.Q [L/s]\";\"a \"\"b\"\"\nc\"\n"
       "\"24.10.2026 22:00\";\"36,0\";60;\"OK\";1;\"x;y\"\n");
  CHECK(taken.good);
  CHECK_INT(taken.complaints.count, 0);
  CHECK_NEAR(said("flow", 0).si, 0.01, 1e-12, 0);
  CHECK_STR(taken.report.unmapped[0], "a \"b\" c");
}

/* The text with other ends of lines, in UTF-16 where a byte stands before or behind each. */
static void spell(struct buf *out, const char *text, const char *end, const char *before,
                  const char *behind)
{
  for (const char *c = text; *c; c++) {
    const char *from = *c == '\n' ? end : c;
    size_t count = *c == '\n' ? strlen(end) : 1;

    for (size_t i = 0; i < count; i++) {
      buf_add(out, "\0", before ? 1 : 0);
      buf_putc(out, from[i]);
      buf_add(out, "\0", behind ? 1 : 0);
    }
  }
}

static void encodings_and_ends_of_lines_are_seen(void)
{
  static const char plain[] =
      HEADER "24.10.2026 22:00;36,0;60;OK;1;1\n24.10.2026 22:05;72,0;60;OK;1;1\n";
  static const char *const ends[] = {"\n", "\r\n", "\r"};
  static const struct {
    const char *mark, *before, *behind, *name;
  } encodings[] = {{"", NULL, NULL, "UTF-8"},
                   {"\xef\xbb\xbf", NULL, NULL, "UTF-8"},
                   {"\xff\xfe", NULL, "", "UTF-16"},
                   {"\xfe\xff", "", NULL, "UTF-16"}};
  struct buf out;

  buf_init(&out, 1 << 16);
  for (int i = 0; i < 12; i++) {
    CHECK_CASE("end %d, encoding %d", i % 3, i / 3);
    buf_clear(&out);
    buf_puts(&out, encodings[i / 3].mark);
    spell(&out, plain, ends[i % 3], encodings[i / 3].before, encodings[i / 3].behind);
    take_bytes(WIDE, out.text, out.used, "2026-11-02T08:00Z");
    CHECK(taken.good);
    CHECK_INT(taken.complaints.count, 0);
    CHECK_STR(taken.report.encoding, encodings[i / 3].name);
    CHECK_NEAR(said("flow", 1).si, 0.02, 1e-12, 0);
    CHECK_INT(count_of("flow"), 2);
  }
  buf_release(&out);
  take(EXACT, "t\tx\ty\n2026-10-24T22:00Z\t5\t21 \260C\n");
  CHECK_STR(taken.report.encoding, "Windows-1252");
  CHECK(taken.good);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  if (!world_read())
    return 1;
  RUN(each_column_is_read_in_its_own_unit_and_what_is_missing_stays_missing);
  RUN(a_value_that_cannot_be_read_is_said_so_once_a_column);
  RUN(the_second_two_oclock_is_an_hour_later);
  RUN(a_table_with_the_newest_first_is_read_backwards);
  RUN(hourly_rows_of_the_same_local_time_are_told_apart_by_their_neighbours);
  RUN(what_the_order_does_not_tell_is_counted_and_left_out);
  RUN(two_rows_alone_do_not_tell_which_way_a_table_runs);
  RUN(a_row_later_than_its_file_is_of_the_first_hour);
  RUN(an_hour_that_never_was_is_named_and_left_out);
  RUN(times_with_an_offset_keep_theirs);
  RUN(what_has_not_come_yet_does_not_count);
  RUN(a_row_of_a_table_is_good_however_late_it_comes);
  RUN(a_long_table_is_read_by_its_names);
  RUN(the_hour_that_comes_twice_is_settled_name_by_name);
  RUN(other_columns_are_refused_and_the_first_ten_lines_shown);
  RUN(a_header_may_stand_below_a_few_lines_of_prose);
  RUN(columns_may_be_moved_and_new_ones_may_come);
  RUN(a_declared_header_must_be_the_whole_one);
  RUN(a_column_that_stands_twice_is_refused);
  RUN(a_header_with_another_unit_is_refused);
  RUN(what_is_no_text_is_refused_by_name);
  RUN(a_table_of_which_nothing_can_be_read_is_refused);
  RUN(a_row_that_cannot_be_read_is_named_and_the_rest_goes_on);
  RUN(quotes_are_taken_apart);
  RUN(encodings_and_ends_of_lines_are_seen);
  arena_release(&taken.arena);
  arena_release(&zone_arena);
  feeds_free(feeds);
  facility_free(facility);
  return check_end();
}
