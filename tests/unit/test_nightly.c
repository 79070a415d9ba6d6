/* The board's own match: what of a record becomes readings, when it is due, what its entry says. */
#include "nightly/nightly_impl.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* One station with a constant flow: one figure, one reading of it. */
#define SUITE(match)                                                                               \
  "inward: 1 suite\n"                                                                              \
  "name: One figure\n"                                                                             \
  "doubts: {flow: 20 %}\n"                                                                         \
  "rooms: {Etch: {}}\n"                                                                            \
  "mains: {Acid: {capacity: {value: 3000 m3/h, near limit: {enter: 80 %, leave: 75 %}, short: "    \
  "{enter: 100 %, leave: 95 %}}}}\n"                                                               \
  "stations:\n"                                                                                    \
  "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 720 m3/h}}\n"                  \
  "  A2: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 720 m3/h}}\n"                  \
  "match: {least: 1, settles: 0 s, " match "}\n"

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources: {us: {name: people, old after: 1000 s, hand: {}}}\n"
    "points:\n"
    "  f1: {of: A1, what: flow, from: us, unit: m3/h, resolution: 1 m3/h}\n"
    "  f2: {of: A2, what: flow, from: us, unit: m3/h, resolution: 1 m3/h}\n";

static const int64_t t0_ms = INT64_C(1793000000000), min_ms = 60000;

struct world {
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  struct record *record;
  struct err err;
  char folder[64], path[96];
};

static bool begin(struct world *w, const char *suite_text)
{
  struct facility_text suite = {"suite.yaml", suite_text, strlen(suite_text)};
  struct facility_text feeds = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};
  struct complaints complaints;

  *w = (struct world){.folder = "/tmp/inward-nightly-XXXXXX"};
  arena_init(&w->arena, (size_t)256 << 20);
  complaints_init(&complaints, &w->arena);
  w->facility = facility_read(&suite, NULL, 0, &complaints);
  w->feeds = w->facility ? feeds_read(w->facility, &feeds, &complaints) : NULL;
  if (complaints.count > 0)
    CHECK_STR(complaints.list[0].text, "");
  if (!CHECK(w->feeds != NULL) || !CHECK(mkdtemp(w->folder) != NULL))
    return false;
  snprintf(w->path, sizeof w->path, "%s/record", w->folder);
  return CHECK_INT(record_open(w->path, RECORD_WRITE, &w->record, &w->err), ERR_OK) &&
         CHECK_INT(record_bind(w->record, w->facility, w->feeds, 0, &w->err), ERR_OK);
}

static void end(struct world *w)
{
  static const char *const ends[] = {"", "-wal", "-shm", "-lock"};
  char path[128];

  record_close(w->record);
  for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
    snprintf(path, sizeof path, "%s%s", w->path, ends[i]);
    unlink(path);
  }
  rmdir(w->folder);
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static void say(struct world *w, const char *id, int64_t t_ms, double m3_h,
                enum feed_quality quality)
{
  struct feed_observation o = {feeds_point_find(w->feeds, id), t_ms, t_ms,
                               quality == FEED_GOOD ? m3_h / 3600.0 : (double)NAN, quality};
  struct record_added added;

  CHECK_INT(record_add(w->record, &o, 1, &added, &w->err), ERR_OK);
}

static struct match_result *matched(struct world *w, int64_t from_ms, int64_t to_ms)
{
  const struct nightly_asked asked = {.record = w->record,
                                      .facility = w->facility,
                                      .feeds = w->feeds,
                                      .from_ms = from_ms,
                                      .to_ms = to_ms,
                                      .known_ms = INT64_MAX,
                                      .file = "record"};
  struct match_result *result = NULL;

  CHECK_INT(nightly_match(&asked, NULL, &w->arena, &result, &w->err), ERR_OK);
  return result;
}

static const struct match_reading *reading_of(const struct match_result *r, const char *id)
{
  for (int i = 0; i < r->readings->count; i++)
    if (strcmp(r->readings->list[i].id, id) == 0)
      return &r->readings->list[i];
  return NULL;
}

static const struct match_figure *figure_of(const struct match_result *r, const char *name)
{
  for (int k = 0; k < r->figure_count; k++)
    if (strcmp(r->figures[k].name, name) == 0)
      return &r->figures[k];
  return NULL;
}

static bool leaves_out(const struct match_result *r, const char *words)
{
  for (int i = 0; i < r->readings->note_count; i++)
    if (strstr(r->readings->notes[i], words))
      return true;
  return false;
}

/* ---- readings ---- */

/*
 * One figure, one reading, normal both: their precisions add, and the mean is weighed by them (Gelman and others,
 * Bayesian Data Analysis, 3rd ed. 2013, eq. 2.11 and 2.12).
 */
static void a_figure_and_the_mean_of_its_night_add_up_by_their_precisions(void)
{
  struct world w;
  const struct match_result *r;
  const struct match_reading *read;
  const struct match_figure *f;
  double sum_m3_s = 0.0, was_m3_s, precision, mean_m3_s;

  REQUIRE(begin(&w, SUITE("lasting: 0 %")));
  for (int i = 0; i < 60; i++) {
    double m3_h = 740 + i % 5;

    say(&w, "f1", t0_ms + i * min_ms, m3_h, FEED_GOOD);
    say(&w, "f2", t0_ms + i * min_ms, 720 + i % 2, FEED_GOOD);
    sum_m3_s += m3_h / 3600.0;
  }
  r = matched(&w, t0_ms, t0_ms + 60 * min_ms);
  REQUIRE(r && (read = reading_of(r, "1-f1")) && (f = figure_of(r, "station A1, flow, constant")));
  CHECK_NEAR(read->measured_si, sum_m3_s / 60, 1e-12, 0);
  was_m3_s = 0.20 * 720 / 3600.0 / 2; /* ± 20 % are two standard uncertainties */
  precision = 1 / (was_m3_s * was_m3_s) + 1 / (read->own_si * read->own_si);
  mean_m3_s =
      (0.2 / (was_m3_s * was_m3_s) + read->measured_si / (read->own_si * read->own_si)) / precision;
  CHECK_NEAR(f->fitted_si, mean_m3_s, 1e-6, 0);
  CHECK_NEAR(f->pm_si, 2 / sqrt(precision), 1e-4, 0);
  CHECK_INT(r->verdict, MATCH_MATCHES);
  end(&w);
}

static void a_sensor_that_is_stuck_narrows_nothing_and_is_named(void)
{
  for (int stuck = 0; stuck < 2; stuck++) {
    struct world w;
    const struct match_result *r;
    const struct match_figure *f1, *f2;

    REQUIRE(begin(&w, SUITE("stuck after: 24 h")));
    for (int i = 0; i < 25 * 6; i++) {
      say(&w, "f1", t0_ms + i * 10 * min_ms, 730 + (stuck ? 0 : i % 3), FEED_GOOD);
      say(&w, "f2", t0_ms + i * 10 * min_ms, 720 + i % 2, FEED_GOOD);
    }
    r = matched(&w, t0_ms, t0_ms + 25 * 60 * min_ms);
    CHECK_CASE("%s", stuck ? "stuck" : "moving");
    REQUIRE(r && (f1 = figure_of(r, "station A1, flow, constant")) &&
            (f2 = figure_of(r, "station A2, flow, constant")));
    CHECK_INT(leaves_out(r, "taken as stuck"), stuck);
    CHECK_INT(reading_of(r, "1-f1") == NULL, stuck);
    CHECK_INT(f1->known == MATCH_NOT, stuck);
    if (stuck)
      CHECK_NEAR(f1->left_ratio, 1.0, 1e-12, 0);
    CHECK(f1->left_ratio <= 1.0 && f2->left_ratio < 0.6 && f2->known != MATCH_NOT);
    end(&w);
  }
}

static void what_was_no_measurement_is_in_no_mean_and_is_told(void)
{
  struct world w;
  const struct match_result *r;
  const struct match_reading *read;

  REQUIRE(begin(&w, SUITE("lasting: 0 %")));
  for (int i = 0; i < 60; i++) {
    bool bad = i % 10 == 3;

    say(&w, "f1", t0_ms + i * min_ms, bad ? 9000 : 720, bad ? FEED_FAULTY : FEED_GOOD);
    say(&w, "f2", t0_ms + i * min_ms, 0, FEED_OVERRIDDEN);
  }
  r = matched(&w, t0_ms, t0_ms + 60 * min_ms);
  REQUIRE(r && (read = reading_of(r, "1-f1")));
  CHECK_NEAR(read->measured_si, 0.2, 1e-12, 0);
  CHECK(reading_of(r, "1-f2") == NULL);
  CHECK(leaves_out(r, "f1 (6 of 60)"));
  CHECK(leaves_out(r, "f2 (60 of 60)"));
  end(&w);
}

static void two_points_that_exclude_each_other_are_no_match(void)
{
  static const char other[] =
      "inward: 1 feeds\n"
      "sources: {us: {old after: 1000 s, hand: {}}, them: {old after: 1000 s, hand: {}}}\n"
      "points:\n"
      "  f1: {of: A1, what: flow, from: us, unit: m3/h, resolution: 1 m3/h}\n"
      "  f2: {of: A1, what: flow, from: them, unit: m3/h, resolution: 1 m3/h}\n";
  struct facility_text text = {"feeds.yaml", other, sizeof other - 1};
  struct complaints complaints;
  struct world w;
  const struct match_result *r;

  REQUIRE(begin(&w, SUITE("lasting: 50 %")));
  complaints_init(&complaints, &w.arena);
  feeds_free(w.feeds);
  w.feeds = feeds_read(w.facility, &text, &complaints);
  if (complaints.count > 0)
    CHECK_STR(complaints.list[0].text, "");
  REQUIRE(w.feeds != NULL);
  CHECK_INT(record_bind(w.record, w.facility, w.feeds, 0, &w.err), ERR_OK);
  for (int i = 0; i < 60; i++) {
    say(&w, "f1", t0_ms + i * min_ms, 720 + i % 2, FEED_GOOD);
    say(&w, "f2", t0_ms + i * min_ms, 1300 + i % 2, FEED_GOOD);
  }
  r = matched(&w, t0_ms, t0_ms + 60 * min_ms);
  REQUIRE(r != NULL);
  CHECK(r->verdict != MATCH_MATCHES);
  CHECK(r->contradictions > 0 || r->readings->count == 0);
  end(&w);
}

static void what_comes_after_the_stretch_is_not_read(void)
{
  struct world w;
  const struct match_result *r;

  REQUIRE(begin(&w, SUITE("lasting: 0 %")));
  for (int i = 0; i < 120; i++)
    say(&w, "f1", t0_ms + i * min_ms, i < 60 ? 720 : 900, FEED_GOOD);
  r = matched(&w, t0_ms, t0_ms + 60 * min_ms);
  REQUIRE(r && r->readings->count == 1);
  CHECK_NEAR(r->readings->list[0].measured_si, 0.2, 1e-12, 0);
  r = matched(&w, t0_ms - 120 * min_ms, t0_ms);
  REQUIRE(r != NULL);
  CHECK_INT(r->verdict, MATCH_TOO_FEW);
  CHECK(leaves_out(r, "nothing stood still"));
  CHECK(leaves_out(r, "points of which nothing came: f1, f2"));
  end(&w);
}

/* ---- when ---- */

static const struct when_zone *paris(struct arena *arena)
{
  static char bytes[8 << 10];
  FILE *file = fopen("/usr/share/zoneinfo/Europe/Paris", "rb");
  const struct when_zone *zone = NULL;
  struct err err = {0};
  size_t size;

  if (!CHECK(file != NULL))
    return NULL;
  size = fread(bytes, 1, sizeof bytes, file);
  fclose(file);
  CHECK_INT(when_zone_read("Europe/Paris", bytes, size, arena, &zone, &err), ERR_OK);
  return zone;
}

static void due(const struct facility *f, const struct when_zone *zone, const char *now,
                const char *wanted)
{
  struct err err = {0};
  struct buf said;
  int64_t now_ms;

  buf_init(&said, 100);
  CHECK_INT(when_read(now, zone, NULL, &now_ms, &err), ERR_OK);
  when_print(&said, zone, nightly_due_ms(f, zone, now_ms));
  CHECK_CASE("%s", now);
  CHECK_STR(said.text, wanted);
  buf_release(&said);
}

/* The European Union's clocks change at 01:00 UTC of the last Sundays of March and October (2000/84/EC). */
static void a_night_is_due_once_a_local_day_whatever_the_clocks_do(void)
{
  struct world w;
  const struct when_zone *zone;

  REQUIRE(begin(&w, SUITE("each night at: \"02:30\"")));
  REQUIRE((zone = paris(&w.arena)) != NULL);
  due(w.facility, zone, "2026-06-10 02:29", "2026-06-09 02:30:00 +02:00");
  due(w.facility, zone, "2026-06-10 02:30", "2026-06-10 02:30:00 +02:00");
  due(w.facility, zone, "2026-06-10 23:59", "2026-06-10 02:30:00 +02:00");
  due(w.facility, zone, "2026-10-25T12:00",
      "2026-10-25 02:30:00 +02:00"); /* of the two the first */
  due(w.facility, zone, "2026-10-26T02:00", "2026-10-25 02:30:00 +02:00");
  due(w.facility, zone, "2026-03-29T12:00", "2026-03-29 03:30:00 +02:00"); /* there is no 02:30 */
  due(w.facility, zone, "2026-03-30T02:00", "2026-03-29 03:30:00 +02:00");
  end(&w);
  REQUIRE(begin(&w, SUITE("known: 50 %")));
  CHECK_INT(nightly_due_ms(w.facility, NULL, t0_ms), INT64_MIN);
  end(&w);
}

/* ---- entries ---- */

static void enter(struct world *w, const struct match_result *r, int64_t to_ms, const char *why)
{
  const struct nightly_asked asked = {
      .facility = w->facility, .feeds = w->feeds, .from_ms = t0_ms, .to_ms = to_ms};
  struct nightly_list list;
  struct buf text, detail;

  buf_init(&text, RECORD_TEXT_MOST_BYTES);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  CHECK_INT(nightly_recorded(w->record, to_ms - 1, 10, &w->arena, &list, &w->err), ERR_OK);
  nightly_tell(&asked, r, why, nightly_before(&list, 0), &text, &detail);
  struct record_entry entry = {.t_ms = to_ms,
                               .written_ms = to_ms,
                               .kind = RECORD_MATCH,
                               .about = "",
                               .who = "inward",
                               .text = text.text,
                               .detail = detail.text};

  CHECK_INT(record_append(w->record, &entry, &w->err), ERR_OK);
  buf_release(&text);
  buf_release(&detail);
}

/* A flow that falls from 720 to 600 m3/h over six nights: a filter that loads. */
static void a_figure_that_falls_from_night_to_night_drifts_and_its_neighbour_does_not(void)
{
  struct world w;
  struct nightly_list list;
  struct nightly_place place;
  struct buf out;

  REQUIRE(begin(&w, SUITE("lasting: 0 %, looks back: 1 h")));
  place = (struct nightly_place){.facility = w.facility, .now_ms = t0_ms + 10000 * min_ms};
  buf_init(&out, 1 << 20);
  for (int night = 0; night < 6; night++) {
    int64_t from_ms = t0_ms + night * 1440 * min_ms;
    const struct match_result *r;

    for (int i = 0; i < 60; i++) {
      say(&w, "f1", from_ms + i * min_ms, 720 - 24 * night + i % 3, FEED_GOOD);
      say(&w, "f2", from_ms + i * min_ms, 720 + i % 3, FEED_GOOD);
    }
    r = matched(&w, from_ms, from_ms + 60 * min_ms);
    REQUIRE(r != NULL);
    enter(&w, r, from_ms + 60 * min_ms, NULL);
  }
  CHECK_INT(nightly_recorded(w.record, INT64_MAX, 10, &w.arena, &list, &w.err), ERR_OK);
  CHECK_INT(list.count, 6);
  CHECK(list.list[0].t_ms > list.list[5].t_ms);
  nightly_text(&place, &list, &out);
  CHECK(strstr(out.text, "station A1, flow, constant: ") != NULL);
  REQUIRE(strstr(out.text, "DRIFTS: moved by -1") != NULL);
  CHECK(strstr(strstr(out.text, "DRIFTS") + 1, "DRIFTS") == NULL);
  buf_release(&out);
  end(&w);
}

static void days_that_match_do_not_hide_that_nothing_comes_any_more(void)
{
  struct world w;
  const struct match_result *good, *silent;

  REQUIRE(begin(&w, SUITE("lasting: 0 %")));
  for (int i = 0; i < 60; i++)
    say(&w, "f1", t0_ms + i * min_ms, 720 + i % 2, FEED_GOOD);
  good = matched(&w, t0_ms, t0_ms + 60 * min_ms);
  silent = matched(&w, t0_ms, t0_ms + 360 * min_ms);
  REQUIRE(good && silent);
  CHECK(!strstr(good->readings->notes[0], "nothing came"));
  CHECK(strstr(silent->readings->notes[0],
               "the last 5 h 1 min of the stretch, in which nothing came"));
  end(&w);
}

static void another_verdict_is_named_once_and_a_night_without_one_says_why(void)
{
  struct world w;
  struct nightly_list list;
  const struct match_result *good, *bad;

  REQUIRE(begin(&w, SUITE("lasting: 0 %")));
  for (int i = 0; i < 180; i++)
    say(&w, "f1", t0_ms + i * min_ms, i < 60 ? 720 + i % 2 : 1000 + i % 2, FEED_GOOD);
  good = matched(&w, t0_ms, t0_ms + 60 * min_ms);
  bad = matched(&w, t0_ms + 90 * min_ms, t0_ms + 150 * min_ms);
  REQUIRE(good && bad && good->verdict == MATCH_MATCHES && bad->verdict == MATCH_DIFFERS);
  enter(&w, good, t0_ms + 1000 * min_ms, NULL);
  enter(&w, NULL, t0_ms + 2000 * min_ms, "the disk was full");
  enter(&w, bad, t0_ms + 3000 * min_ms, NULL);
  CHECK_INT(nightly_recorded(w.record, INT64_MAX, 10, &w.arena, &list, &w.err), ERR_OK);
  REQUIRE(list.count == 3);
  CHECK(nightly_changed(&list) == &list.list[0]);
  CHECK_STR(list.list[0].was, "matches"); /* the night between said nothing */
  CHECK_STR(list.list[1].why, "the disk was full");
  CHECK(list.list[1].verdict == NULL && list.list[1].was == NULL);
  enter(&w, NULL, t0_ms + 3500 * min_ms, "the disk was full"); /* hides nothing */
  CHECK_INT(nightly_recorded(w.record, INT64_MAX, 10, &w.arena, &list, &w.err), ERR_OK);
  CHECK(nightly_changed(&list) == &list.list[1]);
  enter(&w, bad, t0_ms + 4000 * min_ms, NULL);
  CHECK_INT(nightly_recorded(w.record, INT64_MAX, 10, &w.arena, &list, &w.err), ERR_OK);
  CHECK(nightly_changed(&list) == NULL);
  CHECK_INT(list.list[0].figure_count, 1);
  CHECK_NEAR(list.list[0].figures[0].fitted_si,
             figure_of(bad, list.list[0].figures[0].name)->fitted_si, 1e-12, 0);
  end(&w);
}

static void what_is_no_entry_of_a_match_is_read_as_none(void)
{
  static const char *const others[] = {
      "",
      "{}",
      "[]",
      "{\"schema\": \"inward.own_match.1\"}",
      "{\"schema\": \"inward.own_match.2\", \"suite_sha256\": \"a\", \"engine\": \"b\", \"why\": \"c\"}",
      "{\"schema\": \"inward.own_match.1\", \"suite_sha256\": \"a\", \"engine\": \"b\", \"why\": \"c\", "
      "\"figures\": [{}]}",
      "{\"schema\": \"inward.own_match.1\", \"suite_sha256\": \"a\", \"engine\": \"b\", \"why\": \"c\", "
      "\"readings\": -1}"};
  struct nightly_match match = {.number = 7};
  struct arena arena;

  arena_init(&arena, 1 << 20);
  for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
    CHECK_CASE("%s", others[i]);
    CHECK(!nightly_read(others[i], &arena, &match));
  }
  CHECK_INT(match.number, 7);
  CHECK(nightly_read(
      "{\"schema\": \"inward.own_match.1\", \"suite_sha256\": \"a\", \"engine\": \"b\", "
      "\"why\": \"c\"}",
      &arena, &match));
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_figure_and_the_mean_of_its_night_add_up_by_their_precisions);
  RUN(a_sensor_that_is_stuck_narrows_nothing_and_is_named);
  RUN(what_was_no_measurement_is_in_no_mean_and_is_told);
  RUN(two_points_that_exclude_each_other_are_no_match);
  RUN(what_comes_after_the_stretch_is_not_read);
  RUN(a_night_is_due_once_a_local_day_whatever_the_clocks_do);
  RUN(a_figure_that_falls_from_night_to_night_drifts_and_its_neighbour_does_not);
  RUN(days_that_match_do_not_hide_that_nothing_comes_any_more);
  RUN(another_verdict_is_named_once_and_a_night_without_one_says_why);
  RUN(what_is_no_entry_of_a_match_is_read_as_none);
  return check_end();
}
