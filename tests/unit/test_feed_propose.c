#include "feed/feed.h"

#include "check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char suite_text[] =
    "inward: 1 suite\n"
    "site: {zone: Europe/Paris}\n"
    "rooms: {Wet: {}, Gown: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}, L2: {from: Gown, to: Wet, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "stations:\n"
    "  A3: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}\n";

static struct facility *facility;
static struct buf proposal;
static struct complaints complaints;
static struct arena arena;

static bool propose(const char *table)
{
  struct facility_text text = {"mail/trend.csv", table, strlen(table)};

  arena_release(&arena);
  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  buf_clear(&proposal);
  return feed_propose(facility, &text, &complaints, &proposal);
}

static bool says(const char *words)
{
  if (strstr(proposal.text, words))
    return true;
  printf("      nobody said \"%s\" in:\n%s\n", words, proposal.text);
  return false;
}

static bool silent(const char *words)
{
  if (!strstr(proposal.text, words))
    return true;
  printf("      \"%s\" was said in:\n%s\n", words, proposal.text);
  return false;
}

static const char wide[] = "Export;;;;;\n"
                           "Zeit;A3.Q [m3/h];A3 sash [%];A3.BEAM;Wet dp (Pa);note\n"
                           "24.10.2026 22:00;1458,0;100;ALARM;14,8;\n"
                           "24.10.2026 22:05;1458,5;100;OK;14,9;x\n"
                           "24.10.2026 22:10;No Data;;;;\n"
                           "24.10.2026 22:15;1459,0;100;ALARM;### ;\n"
                           "24.10.2026 22:15;1.459,0;100;ALARM;15,0;\n"
                           "24.10.2026 22:20;1459,0;100;ALARM;15,0;\n";

static void what_is_certain_is_filled_in(void)
{
  REQUIRE(propose(wide));
  CHECK(says("# Proposed for trend.csv: 6 rows of 6 columns below line 2, UTF-8."));
  CHECK(says("\n    every: 5 min\n"));
  CHECK(says("\n      separator: semicolon\n"));
  CHECK(says("\n      decimal: comma\n"));
  CHECK(says("\n      time: \"Zeit\"\n"));
  CHECK(says("\n      pattern: DD.MM.YYYY hh:mm\n"));
}

static void the_rest_is_asked(void)
{
  REQUIRE(propose(wide));
  CHECK(says("\n      # zone: Europe/Paris\n"));
  CHECK(says("\n      # missing: [\"No Data\", \"###\"]\n"));
  CHECK(says("# P2: {of: A3, what: flow, from: table, at: \"A3.Q [m3/h]\", unit: \"m3/h\"}\n"));
  CHECK(says(
      "# P3: {of: A3, what: opening | covered | speed, from: table, at: \"A3 sash [%]\", unit: \"%\", "
      "full: ?}\n"));
  CHECK(says(
      "# P4: {of: A3, what: blocked | presence | alarm | open | running, from: table, at: \"A3.BEAM\", "
      "yes: [\"?\"], no: [\"?\"]}\n"));
  CHECK(says("# P5: {of: Wet, what: pressure, from: table, at: \"Wet dp (Pa)\", unit: \"Pa\"}\n"));
}

static void what_could_be_two_things_is_asked_with_both(void)
{
  REQUIRE(propose("t,a\n01/02/2026 10:00,\"1,458\"\n01/02/2026 10:05,\"1,459\"\n"));
  CHECK(says("# ask: is '1,459' a thousand and more, or a number with three decimals?"));
  CHECK(says("# pattern: DD/MM/YYYY hh:mm\n      # pattern: MM/DD/YYYY hh:mm\n"));
  CHECK(silent("\n      decimal:"));
  CHECK(silent("\n      pattern:"));
  CHECK(silent("every:"));

  REQUIRE(propose("t,a\n01/02/2026 10:00,7\n01/13/2026 10:05,8\n"));
  CHECK(says("\n      pattern: MM/DD/YYYY hh:mm\n"));
  CHECK(says("# ask: which decimal mark does it write? No number in it has one."));

  REQUIRE(propose("t;a;b\nISO;0.5;1\n2026-10-24T22:00Z;0,5;1\n2026-10-24T22:05Z;0.5;1\n"));
  CHECK(says("# ask: which decimal mark is right? Both are used"));
}

static void times_with_an_offset_need_no_zone(void)
{
  REQUIRE(propose("t\ta\n2026-10-24T22:00:00+02:00\t1.5\n2026-10-24T22:01:00+02:00\t1.5\n"));
  CHECK(says("\n      separator: tab\n"));
  CHECK(says("\n      pattern: ISO\n"));
  CHECK(says("\n      zone: UTC # each time has its own offset\n"));
  CHECK(says("\n      decimal: point\n"));
}

static void day_and_time_may_stand_apart(void)
{
  REQUIRE(propose("day|clock|a\n2026-10-24|10:00:00 PM|1.5\n2026-10-24|10:00:30 PM|1.5\n"));
  CHECK(says("\n      time: \"clock\"\n      date: \"day\"\n"));
  CHECK(says("\n      pattern: YYYY-MM-DD hh:mm:ss am\n"));
}

static void a_row_may_be_one_value(void)
{
  REQUIRE(propose(
      "t,tag,value\n2026-10-24T22:00Z,A3.Q,1.5\n2026-10-24T22:00Z,DP,1.25\n2026-10-24T22:00Z,EF,2\n"));
  CHECK(says("# shape: long\n      # point: \"tag\"\n      # value: \"value\"\n"));
}

static void what_is_no_table_is_said_so(void)
{
  CHECK(!propose("Dear all,\nhere are the values you asked for.\nBest\n"));
  CHECK(strstr(complaints.list[0].text, "no table was found") != NULL);
  CHECK_INT((int)proposal.used, 0);
  CHECK(!propose(""));
}

/* Takes the mark off every line that is asked about, as a person would, with answers put in. */
static void answer(const char *question, const char *reply)
{
  char *at = strstr(proposal.text, question);
  size_t size = strlen(question), tail;
  struct buf out;

  if (!CHECK(at != NULL) || !at)
    return;
  tail = proposal.used - (size_t)(at - proposal.text) - size;
  buf_init(&out, 1 << 16);
  buf_add(&out, proposal.text, (size_t)(at - proposal.text));
  buf_puts(&out, reply);
  buf_add(&out, at + size, tail);
  buf_release(&proposal);
  proposal = out;
}

static void count(void *arg, const struct feed_observation *o)
{
  int *good = arg;

  *good += o->quality == FEED_GOOD;
}

static void an_answered_proposal_reads_its_table(void)
{
  struct feed_table_report report;
  int good = 0;

  REQUIRE(propose(wide));
  answer("# zone: Europe/Paris", "zone: UTC");
  answer("# missing:", "missing:");
  answer("# P2:", "P2:");
  answer("# P5: {of: Wet,", "P5: {of: Wet, over: Gown,");

  struct facility_text file = {"feeds.yaml", proposal.text, proposal.used};
  struct facility_text table = {"trend.csv", wide, sizeof wide - 1};
  struct feeds *feeds = feeds_read(facility, &file, &complaints);
  struct feed_table_job job = {feeds, 0, when_utc(), &table, 1800000000000};
  struct feed_sink sink = {count, &good};

  for (int i = 0; i < complaints.count; i++)
    printf("      %d: %s\n", complaints.list[i].place.line, complaints.list[i].text);
  REQUIRE(feeds != NULL);
  CHECK(feed_table(&job, &sink, &arena, &complaints, &report));
  CHECK_INT(complaints.count, 1); /* 1.459,0 */
  CHECK_INT(good, 8);
  CHECK_INT(report.missing, 3);
  feeds_free(feeds);
}

int main(int argc, char **argv)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};

  check_begin(argc, argv);
  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  buf_init(&proposal, 1 << 16);
  facility = facility_read(&suite, NULL, 0, &complaints);
  if (!facility)
    return 1;
  RUN(what_is_certain_is_filled_in);
  RUN(the_rest_is_asked);
  RUN(what_could_be_two_things_is_asked_with_both);
  RUN(times_with_an_offset_need_no_zone);
  RUN(day_and_time_may_stand_apart);
  RUN(a_row_may_be_one_value);
  RUN(what_is_no_table_is_said_so);
  RUN(an_answered_proposal_reads_its_table);
  facility_free(facility);
  arena_release(&arena);
  buf_release(&proposal);
  return check_end();
}
