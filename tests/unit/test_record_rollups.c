/* Roll-ups and plots against a computation that shares nothing with them: second by second. */
#include "recorded.h"

#include "check.h"

#include <math.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

enum { MINUTE = 60 * 1000, HOUR = 60 * MINUTE, HOLD_S = 20 * 60, SPAN_S = 10 * 3600 };
static const int64_t t0 = INT64_C(1793000400000); /* 40 minutes past an hour */

/* ---- random numbers of our own, so that a failure comes again ---- */

static uint64_t seed = 1;

static int below(int n)
{
  seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
  return (int)((seed >> 33) % (uint64_t)n);
}

/* ---- what was so, second by second ---- */

struct truth {
  bool said[SPAN_S];     /* something was observed at this second */
  bool measured[SPAN_S]; /* and it was a value */
  int value[SPAN_S];     /* in tenths of a pascal */
};

static struct truth truth;

/* Was a value known during second s, and which? */
static bool known(int s, int newest, int *value)
{
  if (s >= newest) /* nothing follows: not known yet */
    return false;
  for (int back = s; back >= 0; back--)
    if (truth.said[back]) {
      *value = truth.value[back];
      return truth.measured[back] && s - back < HOLD_S;
    }
  return false;
}

struct stretch {
  long long min, max, first, last, sum, good_s, count;
  bool any;
};

static void see(struct stretch *stretch, int value)
{
  if (!stretch->any) {
    stretch->min = stretch->max = stretch->first = value;
    stretch->any = true;
  }
  stretch->min = value < stretch->min ? value : stretch->min;
  stretch->max = value > stretch->max ? value : stretch->max;
  stretch->last = value;
}

static struct stretch stretch_of(int from_s, int to_s, int newest)
{
  struct stretch stretch = {0};

  for (int s = from_s < 0 ? 0 : from_s; s < to_s && s < SPAN_S; s++) {
    int value;

    if (truth.said[s] && truth.measured[s]) {
      see(&stretch, truth.value[s]);
      stretch.count++;
    }
    if (known(s, newest, &value)) {
      see(&stretch, value);
      stretch.sum += value;
      stretch.good_s++;
    }
  }
  return stretch;
}

static int newest_second(void)
{
  int newest = SPAN_S - 1;

  while (newest > 0 && !truth.said[newest])
    newest--;
  return newest;
}

/* ---- the table in the file ---- */

static int rows_that_differ(const char *path, const char *table, int width_s)
{
  sqlite3 *db = NULL;
  sqlite3_stmt *rows = NULL;
  char sql[200];
  int differ = 0, found = 0, wanted = 0, newest = newest_second();

  snprintf(sql, sizeof sql,
           "SELECT t, min, max, first, last, integral, good, count FROM %s WHERE series = 1",
           table);
  if (!CHECK(sqlite3_open(path, &db) == SQLITE_OK) ||
      !CHECK(sqlite3_prepare_v2(db, sql, -1, &rows, NULL) == SQLITE_OK))
    return 1;
  while (sqlite3_step(rows) == SQLITE_ROW) {
    int from_s = (int)((sqlite3_column_int64(rows, 0) - t0) / 1000);
    struct stretch stretch = stretch_of(from_s, from_s + width_s, newest);

    found++;
    differ += sqlite3_column_int64(rows, 0) % (1000 * (int64_t)width_s) != 0 || !stretch.any ||
              sqlite3_column_int64(rows, 1) != stretch.min ||
              sqlite3_column_int64(rows, 2) != stretch.max ||
              sqlite3_column_int64(rows, 3) != stretch.first ||
              sqlite3_column_int64(rows, 4) != stretch.last ||
              sqlite3_column_int64(rows, 5) != stretch.sum * 1000 ||
              sqlite3_column_int64(rows, 6) != stretch.good_s * 1000 ||
              sqlite3_column_int64(rows, 7) != stretch.count;
  }
  sqlite3_finalize(rows);
  sqlite3_close(db);
  for (int s = -(int)((t0 / 1000) % width_s); s < SPAN_S; s += width_s)
    wanted += stretch_of(s, s + width_s, newest).any;
  return differ + abs(found - wanted);
}

static void compare(struct recorded *r)
{
  struct buf out;
  int faults = -1;

  CHECK_INT(rows_that_differ(r->path, "r10m", 600), 0);
  CHECK_INT(rows_that_differ(r->path, "r1h", 3600), 0);
  buf_init(&out, 10000);
  CHECK_INT(record_check(r->record, &faults, &out, &r->err), ERR_OK);
  CHECK_STR(out.text, "");
  CHECK_INT(faults, 0);
  buf_release(&out);
}

/* ---- random days ---- */

static struct feed_observation observed(int s)
{
  if (truth.measured[s])
    return recorded_good(P_PRESSURE, t0 + (int64_t)s * 1000, truth.value[s] / 10.0);
  return recorded_none(P_PRESSURE, t0 + (int64_t)s * 1000,
                       s % 2 ? FEED_MISSING : FEED_OUT_OF_SERVICE);
}

static void say(int s)
{
  truth.said[s] = true;
  truth.measured[s] = below(6) > 0;
  truth.value[s] = below(400) - 100;
}

/* Adds what `list` names, some at a time, in its order. */
static void add_in_batches(struct recorded *r, const int *list, int count, int most)
{
  struct feed_observation batch[64];

  for (int done = 0; done < count;) {
    struct record_added added = {0};
    int size = 1 + below(most);

    if (size > count - done)
      size = count - done;
    for (int i = 0; i < size; i++)
      batch[i] = observed(list[done + i]);
    CHECK_INT(record_add(r->record, batch, size, &added, &r->err), ERR_OK);
    CHECK_INT(added.kept, size);
    done += size;
  }
}

/* Seconds with an observation: dense stretches, and gaps shorter and longer than a value holds. */
static int make_day(int *list)
{
  int count = 0, s = below(1800);

  memset(&truth, 0, sizeof truth);
  while (s < SPAN_S) {
    say(s);
    list[count++] = s;
    if (below(15) == 0) /* a gap; or as long as a value holds, to a second */
      s += below(2) ? 1 + below(3 * HOLD_S) : HOLD_S - 1 + below(3);
    else
      s += 1 + below(240);
  }
  return count;
}

static void roll_ups_say_exactly_what_was_known(void)
{
  static int list[SPAN_S];

  for (uint64_t day = 1; day <= 12; day++) {
    struct recorded r;

    CHECK_CASE("day %d", (int)day);
    seed = day;
    if (recorded_new(&r, RECORDED_POINTS)) {
      add_in_batches(&r, list, make_day(list), 40);
      compare(&r);
    }
    recorded_release(&r);
  }
}

static void late_values_make_their_buckets_anew(void)
{
  static int list[SPAN_S], late[SPAN_S], usual[SPAN_S];

  for (uint64_t day = 1; day <= 12; day++) {
    struct recorded r;
    int count, late_count = 0, usual_count = 0;

    CHECK_CASE("day %d", (int)day);
    seed = 100 + day;
    count = make_day(list);
    for (int i = 0; i < count; i++)
      if (below(4) == 0)
        late[late_count++] = list[i];
      else
        usual[usual_count++] = list[i];
    for (int i = late_count - 1; i > 0; i--) { /* in no order */
      int j = below(i + 1), other = late[i];

      late[i] = late[j];
      late[j] = other;
    }
    if (recorded_new(&r, RECORDED_POINTS)) {
      add_in_batches(&r, usual, usual_count, 40);
      add_in_batches(&r, late, late_count, 64);
      compare(&r);
      recorded_reopen(&r, RECORD_WRITE); /* goes on from the file alone */
      if (late_count > 0) {
        struct record_added added;
        struct feed_observation again = observed(late[0]);

        CHECK_INT(record_add(r.record, &again, 1, &added, &r.err), ERR_OK);
        CHECK_INT(added.doubled, 1);
      }
      compare(&r);
    }
    recorded_release(&r);
  }
}

static void a_writer_that_starts_again_goes_on(void)
{
  static int list[SPAN_S];
  struct recorded r;
  int count;

  seed = 77;
  count = make_day(list);
  if (recorded_new(&r, RECORDED_POINTS)) {
    for (int done = 0; done < count; done += 7) {
      add_in_batches(&r, list + done, count - done < 7 ? count - done : 7, 3);
      recorded_reopen(&r, RECORD_WRITE);
    }
    compare(&r);
  }
  recorded_release(&r);
}

/* The clock is stepped back an hour in the middle: what comes then has times that were before. */
static void a_clock_that_steps_back_loses_and_doubles_nothing(void)
{
  static int list[SPAN_S];
  struct recorded r;
  int count = 0;

  memset(&truth, 0, sizeof truth);
  for (int s = 0; s < 5 * 3600; s += 30)
    list[count++] = s;
  for (int s = 4 * 3600 + 7; s < 8 * 3600; s += 30)
    list[count++] = s;
  seed = 5;
  for (int i = 0; i < count; i++)
    say(list[i]);
  if (recorded_new(&r, RECORDED_POINTS)) {
    add_in_batches(&r, list, count, 10);
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM sample"), count);
    compare(&r);
  }
  recorded_release(&r);
}

static void a_refused_batch_leaves_no_trace(void)
{
  static int list[SPAN_S];
  struct recorded r;
  int count;

  seed = 9;
  count = make_day(list);
  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation more[2] = {observed(list[count - 2]), observed(list[count - 1])};
    struct record_added added = {0};

    add_in_batches(&r, list, count - 2, 20);
    CHECK(recorded_sql(r.path, "CREATE TRIGGER no AFTER INSERT ON latest BEGIN"
                               " SELECT RAISE(ABORT, 'no'); END;"
                               "CREATE TRIGGER nor AFTER UPDATE ON latest BEGIN"
                               " SELECT RAISE(ABORT, 'no'); END;"));
    CHECK_INT(record_add(r.record, more, 2, &added, &r.err), ERR_IO);
    CHECK(strstr(r.err.text, r.path) != NULL);
    CHECK(recorded_sql(r.path, "DROP TRIGGER no; DROP TRIGGER nor;"));
    CHECK_INT(record_add(r.record, more, 2, &added, &r.err), ERR_OK);
    CHECK_INT(added.kept, 2);
    compare(&r);
  }
  recorded_release(&r);
}

/* ---- plots ---- */

static void compare_bucket(const struct record_bucket *bucket, int width_s, int newest, int end_s)
{
  int from_s = (int)((bucket->t_ms - t0) / 1000);
  struct stretch stretch = stretch_of(from_s, from_s + width_s, newest);

  /* the newest value holds to the end of what was asked for */
  for (int s = newest > from_s ? newest : from_s;
       truth.measured[newest] && s < from_s + width_s && s < end_s && s < newest + HOLD_S; s++) {
    see(&stretch, truth.value[newest]);
    stretch.sum += truth.value[newest];
    stretch.good_s++;
  }
  CHECK_NEAR(bucket->good_s, (double)stretch.good_s, 0, 1e-9);
  CHECK_INT(bucket->count, stretch.count);
  if (stretch.any) {
    CHECK_NEAR(bucket->min_si, (double)stretch.min / 10, 0, 1e-9);
    CHECK_NEAR(bucket->max_si, (double)stretch.max / 10, 0, 1e-9);
    CHECK_NEAR(bucket->first_si, (double)stretch.first / 10, 0, 1e-9);
    CHECK_NEAR(bucket->last_si, (double)stretch.last / 10, 0, 1e-9);
    CHECK_NEAR(bucket->integral_si_s, (double)stretch.sum / 10, 1e-12, 1e-6);
  } else {
    CHECK(isnan(bucket->min_si) && isnan(bucket->last_si) && isnan(bucket->integral_si_s));
  }
}

static void a_plot_is_what_was_known_from_any_table(void)
{
  static int list[SPAN_S];
  static struct record_bucket buckets[2000];
  static const int most[] = {2, 3, 7, 20, 61, 150, 700, 2000};
  struct recorded r;
  int count, widths_seen = 0;

  seed = 31;
  count = make_day(list);
  if (recorded_new(&r, RECORDED_POINTS)) {
    add_in_batches(&r, list, count, 40);
    for (int i = 0; i < 40; i++) {
      int from_s = below(SPAN_S - 7200), to_s = from_s + 60 + below(SPAN_S - from_s + 3600);
      int limit = most[below(8)], n = 0;
      double width_s = 0;
      struct record_plot plot;

      CHECK_CASE("plot %d", i);
      plot = (struct record_plot){.point = P_PRESSURE,
                                  .from_ms = t0 + (int64_t)from_s * 1000,
                                  .to_ms = t0 + (int64_t)to_s * 1000,
                                  .most = limit,
                                  .list = buckets};
      CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_OK);
      n = plot.count;
      width_s = plot.width_s;
      CHECK(n >= 1 && n <= limit);
      CHECK(buckets[0].t_ms <= t0 + (int64_t)from_s * 1000);
      CHECK((double)buckets[n - 1].t_ms + width_s * 1000 >= (double)(t0 + (int64_t)to_s * 1000));
      if (width_s < 1)
        continue; /* the truth is by the second */
      widths_seen +=
          (width_s >= 3600) + 10 * (width_s >= 600 && width_s < 3600) + 100 * (width_s < 600);
      for (int b = 0; b < n; b++)
        compare_bucket(&buckets[b], (int)width_s, list[count - 1], to_s);
    }
    CHECK(widths_seen % 10 > 0 || widths_seen >= 110);
  }
  recorded_release(&r);
}

static void a_plot_of_years_and_of_nothing(void)
{
  static struct record_bucket buckets[1000];
  struct recorded r;
  struct record_plot plot;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct feed_observation list[] = {recorded_good(P_FLOW, t0, 0.25),
                                      recorded_good(P_FLOW, t0 + HOUR, 0.25)};
    struct record_added added;
    int64_t year_ms = INT64_C(365) * 24 * HOUR;
    int filled = 0;

    CHECK_INT(record_add(r.record, list, 2, &added, &r.err), ERR_OK);
    plot = (struct record_plot){.point = P_FLOW,
                                .from_ms = t0 - 5 * year_ms,
                                .to_ms = t0 + 5 * year_ms,
                                .most = 1000,
                                .list = buckets};
    CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_OK);
    CHECK(plot.count > 900 && plot.count <= 1000);
    for (int i = 0; i < plot.count; i++)
      filled += buckets[i].good_s > 0;
    CHECK(filled >= 1 && filled <= 2);
    plot = (struct record_plot){
        .point = P_BLOCKED, .from_ms = t0, .to_ms = t0 + HOUR, .most = 1000, .list = buckets};
    CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_OK);
    CHECK(plot.count > 0 && isnan(buckets[0].min_si) && !(buckets[0].good_s > 0));
    plot = (struct record_plot){
        .point = P_FLOW, .from_ms = t0, .to_ms = t0, .most = 10, .list = buckets};
    CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_INPUT);
    plot = (struct record_plot){
        .point = P_FLOW, .from_ms = INT64_MIN, .to_ms = INT64_MAX, .most = 10, .list = buckets};
    CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_INPUT);
  }
  recorded_release(&r);
}

/* A point whose resolution changed in the middle is one curve. */
static void a_plot_goes_on_over_a_change_of_resolution(void)
{
  static const char finer[] =
      "  p: {of: Etch, what: pressure, over: Gown, from: bus, at: a/p, unit: Pa, old after: 20 min,"
      " resolution: 0.01 Pa}\n";
  struct record_bucket buckets[10];
  struct recorded r;
  struct record_plot plot;

  if (recorded_new(&r, RECORDED_POINTS)) {
    int64_t hour_ms = t0 - t0 % HOUR + HOUR;
    struct feed_observation before[] = {recorded_good(0, hour_ms, 10),
                                        recorded_good(0, hour_ms + 10 * MINUTE, 20)},
                            after[] = {recorded_good(0, hour_ms + 30 * MINUTE, 30.04),
                                       recorded_good(0, hour_ms + 40 * MINUTE, 30.04)};
    struct record_added added;

    CHECK_INT(record_add(r.record, before, 2, &added, &r.err), ERR_OK);
    if (recorded_rebind(&r, finer, hour_ms + 25 * MINUTE)) {
      CHECK_INT(record_add(r.record, after, 2, &added, &r.err), ERR_OK);
      plot = (struct record_plot){
          .point = 0, .from_ms = hour_ms, .to_ms = hour_ms + 2 * HOUR, .most = 2, .list = buckets};
      CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_OK);
      CHECK_INT(plot.count, 2);
      CHECK_NEAR(buckets[0].first_si, 10, 0, 1e-9);
      CHECK_NEAR(buckets[0].last_si, 30.04, 0, 1e-9);
      /* 10 min, then 20 Pa until the old series ended, then to the end of the hour */
      CHECK_NEAR(buckets[0].good_s, 600 + 900 + 1800, 0, 1e-9);
      CHECK_NEAR(buckets[0].integral_si_s, 10 * 600 + 20 * 900 + 30.04 * 1800, 1e-12, 0);
      CHECK_INT(buckets[0].count, 4);
    }
  }
  recorded_release(&r);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(roll_ups_say_exactly_what_was_known);
  RUN(late_values_make_their_buckets_anew);
  RUN(a_writer_that_starts_again_goes_on);
  RUN(a_clock_that_steps_back_loses_and_doubles_nothing);
  RUN(a_refused_batch_leaves_no_trace);
  RUN(a_plot_is_what_was_known_from_any_table);
  RUN(a_plot_of_years_and_of_nothing);
  RUN(a_plot_goes_on_over_a_change_of_resolution);
  return check_end();
}
