#include "recorded.h"

#include "check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MINUTE = 60 * 1000, HOUR = 60 * MINUTE, DAY = 24 * HOUR };
static const int64_t t0 = INT64_C(1793000000000); /* 2026-10-26, at no round moment */

static struct recorded_list got;

static struct record_added add(struct recorded *r, const struct feed_observation *list, int count)
{
  struct record_added added = {0};

  CHECK_INT(record_add(r->record, list, count, &added, &r->err), ERR_OK);
  CHECK_STR(r->err.text, "");
  return added;
}

static void span(struct recorded *r, int point, int64_t from_ms, int64_t to_ms, int64_t known_ms)
{
  struct feed_sink sink = recorded_sink(&got);

  CHECK_INT(record_samples(r->record, point, from_ms, to_ms, known_ms, &sink, &r->err), ERR_OK);
}

static void what_was_added_comes_back(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation list[] = {
        recorded_good(P_PRESSURE, t0, 12.34), recorded_good(P_FLOW, t0 + 1, 1450 / 3600.0),
        recorded_none(P_PRESSURE, t0 + 5000, FEED_FAULTY),
        recorded_good(P_TEMPERATURE, t0 + 7, 294.65), recorded_good(P_BLOCKED, t0 + 9, 1)};

    CHECK_INT(add(&r, list, 5).kept, 5);
    span(&r, P_PRESSURE, t0, t0 + DAY, INT64_MAX);
    CHECK_INT(got.count, 2);
    CHECK_NEAR(got.list[0].si, 12.3, 0, 1e-12); /* whole tenths */
    CHECK_INT(got.list[0].t_ms, t0);
    CHECK_INT(got.list[0].seen_ms, t0 + 40);
    CHECK_INT(got.list[0].quality, FEED_GOOD);
    CHECK(isnan(got.list[1].si));
    CHECK_INT(got.list[1].quality, FEED_FAULTY);
    span(&r, P_FLOW, t0, t0 + DAY, INT64_MAX);
    CHECK_NEAR(got.list[0].si, 1450 / 3600.0, 1e-12, 0);
    span(&r, P_TEMPERATURE, t0, t0 + DAY, INT64_MAX);
    CHECK_NEAR(got.list[0].si, 294.65, 0,
               1e-9); /* 21.50 degC: counted from the source's own zero */
    span(&r, P_BLOCKED, t0, t0 + DAY, INT64_MAX);
    CHECK_NEAR(got.list[0].si, 1, 0, 0);
  }
  recorded_release(&r);
}

static void the_newest_are_there_at_once_after_a_restart(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation list[] = {
        recorded_good(P_PRESSURE, t0 + 9000, 15), recorded_good(P_PRESSURE, t0, 12),
        recorded_none(P_FLOW, t0, FEED_MISSING), recorded_none(P_PRESSURE, t0 + DAY, FEED_FUTURE)};
    struct feed_observation now[P_COUNT];

    add(&r, list, 4);
    for (int i = 0; i < 2; i++) {
      CHECK_INT(record_latest(r.record, now, P_COUNT, &r.err), ERR_OK);
      CHECK_INT(now[P_PRESSURE].t_ms, t0 + 9000); /* not the one from the future */
      CHECK_NEAR(now[P_PRESSURE].si, 15, 0, 1e-12);
      CHECK_INT(now[P_FLOW].quality, FEED_MISSING);
      CHECK_INT(now[P_FLOW].t_ms, t0);
      CHECK_INT(now[P_BLOCKED].quality, FEED_MISSING);
      CHECK_INT(now[P_BLOCKED].t_ms, INT64_MIN);
      recorded_reopen(&r, RECORD_READ);
    }
  }
  recorded_release(&r);
}

static void the_first_of_two_at_one_moment_stays(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation first = recorded_good(P_PRESSURE, t0, 12),
                            second = recorded_good(P_PRESSURE, t0, 14),
                            ahead = recorded_none(P_FLOW, t0 + HOUR, FEED_FUTURE),
                            then = recorded_good(P_FLOW, t0 + HOUR, 0.25);
    struct record_added added;

    add(&r, &first, 1);
    added = add(&r, &second, 1);
    CHECK_INT(added.doubled, 1);
    CHECK_INT(added.kept, 0);
    span(&r, P_PRESSURE, t0, t0 + 1, INT64_MAX);
    CHECK_INT(got.count, 1);
    CHECK_NEAR(got.list[0].si, 12, 0, 1e-12);
    /* what claimed to be from the future said nothing of that moment */
    add(&r, &ahead, 1);
    CHECK_INT(add(&r, &then, 1).kept, 1);
    CHECK_INT(add(&r, &ahead, 1).doubled, 1);
    span(&r, P_FLOW, t0, t0 + DAY, INT64_MAX);
    CHECK_INT(got.count, 1);
    CHECK_NEAR(got.list[0].si, 0.25, 0, 1e-4);
  }
  recorded_release(&r);
}

static void a_span_begins_with_what_still_held(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation list[] = {recorded_good(P_PRESSURE, t0, 12),
                                      recorded_good(P_PRESSURE, t0 + HOUR, 13)};

    add(&r, list, 2);
    span(&r, P_PRESSURE, t0 + 20 * MINUTE - 1, t0 + 2 * HOUR, INT64_MAX);
    CHECK_INT(got.count, 2);
    CHECK_INT(got.list[0].t_ms, t0);
    span(&r, P_PRESSURE, t0 + 20 * MINUTE, t0 + 2 * HOUR, INT64_MAX); /* old after: 20 min */
    CHECK_INT(got.count, 1);
    CHECK_INT(got.list[0].t_ms, t0 + HOUR);
    span(&r, P_PRESSURE, t0 + HOUR, t0 + 2 * HOUR, INT64_MAX); /* its own moment: given once */
    CHECK_INT(got.count, 1);
  }
  recorded_release(&r);
}

static void what_came_later_was_not_known_then(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation live = recorded_good(P_PRESSURE, t0, 12),
                            late = recorded_good(P_PRESSURE, t0 + MINUTE, 3);

    late.seen_ms = t0 + DAY;
    add(&r, &live, 1);
    add(&r, &late, 1);
    span(&r, P_PRESSURE, t0, t0 + HOUR, t0 + HOUR);
    CHECK_INT(got.count, 1);
    span(&r, P_PRESSURE, t0, t0 + HOUR, t0 + DAY);
    CHECK_INT(got.count, 2);
    span(&r, P_PRESSURE, t0 + 2 * MINUTE, t0 + HOUR, t0 + HOUR); /* and what held was the first */
    CHECK_INT(got.count, 1);
    CHECK_NEAR(got.list[0].si, 12, 0, 1e-12);
  }
  recorded_release(&r);
}

static void a_replay_gives_all_points_in_order(void)
{
  struct recorded r;
  struct feed_sink sink = recorded_sink(&got);

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation list[3 * 1000];
    int given = 0;

    for (int i = 0; i < 1000; i++) { /* three points, four days, and a gap of two months */
      int64_t t = t0 + (int64_t)i * 5 * MINUTE + (i > 500 ? (int64_t)60 * DAY : 0);

      list[3 * i] = recorded_good(P_PRESSURE, t, i % 30);
      list[3 * i + 1] = recorded_good(P_FLOW, t + 1000, 0.001 * i);
      list[3 * i + 2] = recorded_good(P_BLOCKED, t, i & 1);
    }
    add(&r, list, 3000);
    CHECK_INT(record_replay(r.record, INT64_MIN, INT64_MAX, INT64_MAX, &sink, &r.err), ERR_OK);
    CHECK_INT(got.count, 3000);
    for (int i = 1; i < got.count; i++)
      given += got.list[i].t_ms >= got.list[i - 1].t_ms;
    CHECK_INT(given, 2999);
    sink = recorded_sink(&got);
    CHECK_INT(record_replay(r.record, t0 + HOUR + 1, t0 + 2 * HOUR, INT64_MAX, &sink, &r.err),
              ERR_OK);
    CHECK_INT(got.count, 3 + 11 + 12 + 11); /* what held, then what came */
    CHECK(got.list[0].t_ms <= t0 + HOUR && got.list[2].t_ms <= t0 + HOUR);
  }
  recorded_release(&r);
}

static void a_number_that_does_not_fit_is_unreadable(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation list[] = {recorded_good(P_PRESSURE, t0, 1e200),
                                      recorded_good(P_FLOW, t0, (double)INFINITY)};

    add(&r, list, 2);
    span(&r, P_PRESSURE, t0, t0 + 1, INT64_MAX);
    CHECK_INT(got.list[0].quality, FEED_UNREADABLE);
    CHECK(isnan(got.list[0].si));
    span(&r, P_FLOW, t0, t0 + 1, INT64_MAX);
    CHECK_INT(got.list[0].quality, FEED_UNREADABLE);
  }
  recorded_release(&r);
}

/* ---- points that change ---- */

static const char finer[] =
    "  p: {of: Etch, what: pressure, over: Gown, from: bus, at: a/p, unit: Pa, old after: 20 min,"
    " resolution: 0.01 Pa}\n";
static const char other[] =
    "  p: {of: A1, what: flow, from: bus, at: a/p, unit: m3/h, old after: 20 min}\n";

static int settings_told(struct recorded *r, const char *part)
{
  const struct record_wanted all = {INT64_MIN, INT64_MAX, NULL, RECORD_SETTINGS, INT64_MAX, 100};
  struct record_entry *list;
  int count = 0, told = 0;

  CHECK_INT(record_entries(r->record, &all, &r->arena, &list, &count, &r->err), ERR_OK);
  for (int i = 0; i < count; i++)
    told += strstr(list[i].text, part) != NULL;
  return told;
}

static void a_finer_resolution_goes_on_and_is_told(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation before[] = {recorded_good(P_PRESSURE, t0, 12.34),
                                        recorded_good(P_PRESSURE, t0 + MINUTE, 12.46)},
                            after = recorded_good(0, t0 + 3 * MINUTE, 12.34),
                            late = recorded_good(0, t0 + 30 * 1000, 12.38), now[1];

    add(&r, before, 2);
    if (recorded_rebind(&r, finer, t0 + 2 * MINUTE)) {
      add(&r, &after, 1);
      add(&r, &late, 1);
      span(&r, 0, t0, t0 + HOUR, INT64_MAX);
      CHECK_INT(got.count, 4);
      CHECK_NEAR(got.list[0].si, 12.3, 0, 1e-9);
      CHECK_NEAR(got.list[1].si, 12.4, 0, 1e-9); /* late: counted as its time was */
      CHECK_NEAR(got.list[3].si, 12.34, 0, 1e-9);
      CHECK_INT(record_latest(r.record, now, 1, &r.err), ERR_OK);
      CHECK_NEAR(now[0].si, 12.34, 0, 1e-9);
      CHECK_INT(settings_told(&r, "kept otherwise"), 1);
      CHECK(recorded_rebind(&r, finer, t0 + HOUR)); /* the same again is no change */
      CHECK_INT(settings_told(&r, "kept otherwise"), 1);
    }
  }
  recorded_release(&r);
}

static void a_point_that_says_something_else_begins_anew(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation before = recorded_good(P_PRESSURE, t0, 12), now[1];

    add(&r, &before, 1);
    if (recorded_rebind(&r, other, t0 + MINUTE)) {
      CHECK_INT(record_latest(r.record, now, 1, &r.err), ERR_OK);
      CHECK_INT(now[0].t_ms, INT64_MIN);
      CHECK_INT(settings_told(&r, "says something else"), 1);
    }
    if (recorded_rebind(&r, RECORDED_POINTS, t0 + 2 * MINUTE)) { /* and back: its past is there */
      span(&r, P_PRESSURE, t0, t0 + 1, INT64_MAX);
      CHECK_INT(got.count, 1);
    }
  }
  recorded_release(&r);
}

static void a_reader_sees_what_a_writer_begins(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record *reader = NULL;
    struct feed_observation one = recorded_good(P_FLOW, t0, 0.25), now[P_COUNT];

    CHECK_INT(record_open(r.path, RECORD_READ, &reader, &r.err), ERR_OK);
    if (reader && CHECK(record_bind(reader, r.facility, r.feeds, 0, &r.err) == ERR_OK)) {
      add(&r, &one, 1);
      CHECK_INT(record_latest(reader, now, P_COUNT, &r.err), ERR_OK);
      CHECK_INT(now[P_FLOW].t_ms, t0);
      CHECK_INT(record_add(reader, &one, 1, &(struct record_added){0}, &r.err), ERR_IO);
    }
    record_close(reader);
  }
  recorded_release(&r);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(what_was_added_comes_back);
  RUN(the_newest_are_there_at_once_after_a_restart);
  RUN(the_first_of_two_at_one_moment_stays);
  RUN(a_span_begins_with_what_still_held);
  RUN(what_came_later_was_not_known_then);
  RUN(a_replay_gives_all_points_in_order);
  RUN(a_number_that_does_not_fit_is_unreadable);
  RUN(a_finer_resolution_goes_on_and_is_told);
  RUN(a_point_that_says_something_else_begins_anew);
  RUN(a_reader_sees_what_a_writer_begins);
  return check_end();
}
