#include "answer/answer.h"

#include "check.h"
#include "fault/fault.h"

#include <stdlib.h>
#include <string.h>

/*
 * The invented day of the demo suite, from the table that a building would mail to what a person
 * reads.  What the table is made of stands in scripts/invent_day.
 */
struct day {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
  const struct when_zone *zone;
  struct air *air;
  struct watch *watch;
  struct feed_table_report report;
  long count, taken;
  struct feed_observation *list;
};

static char *read_whole(struct arena *arena, const char *path, size_t *size_out)
{
  FILE *file = fopen(path, "rb");
  char *bytes = arena_push(arena, 1 << 20, 1);

  if (!CHECK(file != NULL) || !CHECK(bytes != NULL))
    return NULL;
  *size_out = fread(bytes, 1, (1 << 20) - 1, file);
  fclose(file);
  return bytes;
}

static void keep(void *arg, const struct feed_observation *o)
{
  struct day *d = arg;

  if (CHECK(d->count < 100000))
    d->list[d->count++] = *o;
}

static bool read_table(struct day *d)
{
  struct facility_text table = {.file = "day.csv"};
  const struct feed_sink sink = {keep, d};
  int64_t seen_ms = INT64_C(1793000000000); /* mailed days later */

  table.bytes = read_whole(&d->arena, "examples/quillmere/day.csv", &table.size);
  d->list = ARENA_ARRAY(&d->arena, struct feed_observation, 100000);
  const struct feed_table_job job = {
      .feeds = d->feeds, .source = 0, .zone = d->zone, .text = &table, .seen_ms = seen_ms};

  return table.bytes && d->list && feed_table(&job, &sink, &d->arena, &d->complaints, &d->report);
}

static bool day_make(struct day *d)
{
  struct facility_text suite = {.file = "suite.yaml"}, feeds = {.file = "feeds.yaml"};
  char *zone;
  size_t zone_size = 0;

  *d = (struct day){0};
  arena_init(&d->arena, SIZE_MAX);
  complaints_init(&d->complaints, &d->arena);
  suite.bytes = read_whole(&d->arena, "examples/quillmere/suite.yaml", &suite.size);
  feeds.bytes = read_whole(&d->arena, "examples/quillmere/feeds.yaml", &feeds.size);
  zone = read_whole(&d->arena, "/usr/share/zoneinfo/Europe/Paris", &zone_size);
  if (!suite.bytes || !feeds.bytes || !zone ||
      !CHECK_INT(when_zone_read("Europe/Paris", zone, zone_size, &d->arena, &d->zone, NULL),
                 ERR_OK))
    return false;
  d->facility = facility_read(&suite, NULL, 0, &d->complaints);
  d->feeds = d->facility ? feeds_read(d->facility, &feeds, &d->complaints) : NULL;
  if (!CHECK(d->feeds != NULL) || !CHECK(read_table(d)))
    return false;
  d->air = air_new(d->facility, NULL);
  d->watch = watch_new(d->facility, d->feeds);
  return CHECK(d->air != NULL);
}

static void day_release(struct day *d)
{
  watch_free(d->watch);
  air_free(d->air);
  feeds_free(d->feeds);
  facility_free(d->facility);
  arena_release(&d->arena);
}

static int64_t moment(const char *utc)
{
  int64_t t_ms = 0;

  CHECK_INT(when_read(utc, when_utc(), NULL, &t_ms, NULL), ERR_OK);
  return t_ms;
}

/* As it would have come: each row in its moment. */
static struct answer_live_verdict ask(struct day *d, const char *utc, struct watch_belief *belief,
                                      char *act, size_t size)
{
  int64_t now_ms = moment(utc);
  struct answer_live live;
  struct answer_live_verdict verdict;
  struct buf words;

  while (d->taken < d->count && d->list[d->taken].t_ms <= now_ms)
    watch_take(d->watch, &d->list[d->taken++]);
  *belief = watch_believe(d->watch, now_ms, &d->arena);
  live = (struct answer_live){
      .facility = d->facility,
      .feeds = d->feeds,
      .belief = belief,
      .air = air_ask(d->air, &belief->scene, &air_settings_sure, &d->arena, NULL)};
  verdict = answer_live_judge(&live, &d->arena);
  buf_init(&words, 1024);
  answer_live_act(&live, &verdict, &words);
  snprintf(act, size, "%s", words.text);
  buf_release(&words);
  return verdict;
}

/* 27 hours of wall clock have 28 of time: an hour came twice. */
static void the_table_is_read_with_its_doubled_hour_its_words_and_its_gap(void)
{
  struct day d;

  REQUIRE(day_make(&d));
  CHECK_INT(d.report.first_ms, moment("2026-10-24T10:00:00Z"));
  CHECK_INT(d.report.last_ms, moment("2026-10-25T13:00:00Z"));
  CHECK_INT(d.report.ambiguous_rows, 0);
  CHECK_INT(d.report.never_rows, 0);
  CHECK_INT(d.report.unreadable, 0);
  CHECK(d.report.missing > 0);
  CHECK_INT(d.report.unmapped_count, 0);
  for (long i = 1; i < d.count; i++)
    CHECK(d.list[i].t_ms >= d.list[i - 1].t_ms);
  for (long i = 0; i < d.count; i++)
    CHECK(d.list[i].t_ms < moment("2026-10-25T07:10:00Z") ||
          d.list[i].t_ms >= moment("2026-10-25T07:45:00Z"));
  day_release(&d);
}

static void the_day_goes_as_its_story_says(void)
{
  static const struct {
    const char *utc, *act;
    enum facility_level state;
  } cases[] = {
      {"2026-10-24T11:45:00Z", "AIR FOR 1 MORE", FACILITY_AMPLE},
      {"2026-10-24T12:05:00Z", "NO MORE", FACILITY_NEAR_LIMIT},
      {"2026-10-24T12:12:00Z", "LOWER S3 AND A6", FACILITY_SHORT}, /* the busy hour */
      {"2026-10-24T12:40:00Z", "AIR FOR 1 MORE", FACILITY_AMPLE},
      {"2026-10-24T19:12:00Z", "CALL THE VENTILATION TECHNICIAN",
       FACILITY_SHORT}, /* a fan is lost */
      {"2026-10-24T20:00:00Z", "AIR FOR 3 MORE", FACILITY_AMPLE},
      {"2026-10-25T05:06:00Z", "NOT KNOWN: TREAT AS NO", FACILITY_NOT_KNOWN}, /* two feeds lost */
      {"2026-10-25T05:41:00Z", "AIR FOR 5 MORE", FACILITY_AMPLE},
      {"2026-10-25T07:16:00Z", "AIR FOR 6 MORE",
       FACILITY_AMPLE}, /* no row came, but not for long */
      {"2026-10-25T07:18:00Z", "NOT KNOWN: TREAT AS NO", FACILITY_NOT_KNOWN},
      {"2026-10-25T07:46:00Z", "AIR FOR 6 MORE", FACILITY_AMPLE},
      {"2026-10-25T11:42:00Z", "SHUT DOOR D2", FACILITY_SHORT},
  };
  struct day d;

  REQUIRE(day_make(&d));
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct watch_belief belief;
    char act[200];
    struct answer_live_verdict v = ask(&d, cases[i].utc, &belief, act, sizeof act);

    CHECK_CASE("%s: %s", cases[i].utc, v.reason_count ? v.reasons[0] : "");
    CHECK_STR(act, cases[i].act);
    CHECK_INT(v.state, cases[i].state);
  }
  day_release(&d);
}

/* S1 stood open from the first 02:40 to the second 02:20, which is forty minutes. */
static void a_sash_left_open_over_the_doubled_hour_is_seen_for_forty_minutes(void)
{
  static const struct {
    const char *utc;
    bool raised;
  } cases[] = {{"2026-10-25T00:39:00Z", false},
               {"2026-10-25T00:41:00Z", true},
               {"2026-10-25T01:19:00Z", true},
               {"2026-10-25T01:21:00Z", false}};
  struct day d;

  REQUIRE(day_make(&d));
  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct watch_belief belief;
    char act[200];
    int s1 = facility_station_find(d.facility, "S1");

    CHECK_CASE("%s", cases[i].utc);
    ask(&d, cases[i].utc, &belief, act, sizeof act);
    CHECK_INT(belief.scene.stations[s1].raised, cases[i].raised);
    CHECK_INT(belief.scene.stations[s1].unattended, cases[i].raised);
  }
  day_release(&d);
}

static void a_blocked_sash_stays_up_all_night_with_nobody_there(void)
{
  struct day d;
  struct watch_belief belief;
  char act[200];
  int a7;

  REQUIRE(day_make(&d));
  ask(&d, "2026-10-25T03:00:00Z", &belief, act, sizeof act);
  a7 = facility_station_find(d.facility, "A7");
  CHECK(belief.scene.stations[a7].blocked && belief.scene.stations[a7].unattended);
  CHECK_NEAR(belief.stations[a7].flow_m3_s, 1130 / 3600.0, 0.02, 0);
  day_release(&d);
}

/* Nothing is wrong with the plant on that day, whatever is missing of the table. */
static void the_day_looks_like_no_fault(void)
{
  struct day d;
  struct err err = {0};

  REQUIRE(day_make(&d));
  struct fault_model *model = fault_model_new(d.facility, d.feeds, &err);

  REQUIRE(model != NULL);
  struct fault_watch *faults = fault_watch_new(model);

  while (d.taken < d.count) {
    int64_t t_ms = d.list[d.taken].t_ms;
    struct arena arena;

    while (d.taken < d.count && d.list[d.taken].t_ms == t_ms)
      watch_take(d.watch, &d.list[d.taken++]);
    arena_init(&arena, SIZE_MAX);
    struct watch_belief belief = watch_believe(d.watch, t_ms, &arena);

    fault_take(faults, &belief);
    arena_release(&arena);
  }
  CHECK(fault_peak_ratio(faults) > 0.05); /* it was looked at */
  CHECK(fault_peak_ratio(faults) < 1);
  fault_watch_free(faults);
  fault_model_free(model);
  day_release(&d);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(the_table_is_read_with_its_doubled_hour_its_words_and_its_gap);
  RUN(the_day_goes_as_its_story_says);
  RUN(a_sash_left_open_over_the_doubled_hour_is_seen_for_forty_minutes);
  RUN(a_blocked_sash_stays_up_all_night_with_nobody_there);
  RUN(the_day_looks_like_no_fault);
  return check_end();
}
