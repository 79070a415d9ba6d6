/* Retention: what is due to be deleted, by the clock and by what the record lived through. */
#include "recorded.h"

#include "check.h"

#include <signal.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { HOUR = 3600 * 1000, DAY = 24 * HOUR };
static const int64_t t0 = INT64_C(1793000000000);

static int faults(struct recorded *r)
{
  struct buf out;
  int unsound = 1000;

  buf_init(&out, 10000);
  CHECK_INT(record_check(r->record, &unsound, &out, &r->err), ERR_OK);
  CHECK_STR(out.text, "");
  buf_release(&out);
  return unsound;
}

static void fill_by_the_hour(struct recorded *r, int days)
{
  for (int day = 0; day < days; day++) {
    struct feed_observation list[24];
    struct record_added added;

    for (int h = 0; h < 24; h++)
      list[h] = recorded_good(P_PRESSURE, t0 + (int64_t)day * DAY + (int64_t)h * HOUR, h);
    CHECK_INT(record_add(r->record, list, 24, &added, &r->err), ERR_OK);
  }
}

/* One value a day, of so many days from that one. */
static void a_value_a_day(struct recorded *r, int from, int count)
{
  for (int day = from; day < from + count; day++) {
    struct feed_observation o = recorded_good(P_FLOW, t0 + (int64_t)day * DAY, 0.2);
    struct record_added added;

    CHECK_INT(record_add(r->record, &o, 1, &added, &r->err), ERR_OK);
    CHECK_INT(added.kept, 1);
  }
}

/* What is due so many days after t0. */
static struct record_due due_on(struct recorded *r, int day)
{
  struct record_due due = {0};

  CHECK_INT(record_due(r->record, r->feeds, t0 + (int64_t)day * DAY, &due, &r->err), ERR_OK);
  return due;
}

static int64_t day_of(int day)
{
  int64_t t_ms = t0 + (int64_t)day * DAY;

  return t_ms - t_ms % DAY;
}

static void a_record_that_lived_through_it_loses_what_is_older_than_is_kept(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record_due due;
    int64_t now_ms = t0 + (int64_t)75 * DAY, kept_ms = 0;
    long deleted = 1;

    fill_by_the_hour(&r, 75);
    CHECK_INT(record_kept(r.record, &kept_ms, &r.err), ERR_OK);
    CHECK_INT(kept_ms, INT64_MIN);
    CHECK_INT(record_due(r.record, r.feeds, now_ms, &due, &r.err), ERR_OK);
    CHECK_INT(due.samples_ms, day_of(45)); /* 30 d and what is left of that day; and 60 d */
    CHECK_INT(due.ten_ms, day_of(15));
    CHECK_INT(due.lived_days, 31);
    CHECK(!due.waits);
    while (deleted > 0 && CHECK_INT(record_tidy(r.record, &due, 100, &deleted, &r.err), ERR_OK))
      CHECK_INT(faults(&r), 0);
    CHECK_INT(record_kept(r.record, &kept_ms, &r.err), ERR_OK);
    CHECK_INT(kept_ms, day_of(45));
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM r1h") > 75 * 24 - 2, 1);
    CHECK(recorded_reopen(&r, RECORD_READ)); /* and nothing where it may only be read */
    CHECK_INT(record_due(r.record, r.feeds, now_ms + 90 * (int64_t)DAY, &due, &r.err), ERR_OK);
    due.samples_ms = now_ms;
    CHECK_INT(record_tidy(r.record, &due, 100, &deleted, &r.err), ERR_IO);
  }
  recorded_release(&r);
}

static void a_record_that_has_not_lived_so_long_loses_nothing_by_any_clock(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record_due due;
    long deleted = 1;

    CHECK_INT(due_on(&r, 0).samples_ms, INT64_MIN); /* nothing in it */
    a_value_a_day(&r, 0, 12);
    due = due_on(&r, 11);
    CHECK_INT(due.samples_ms, INT64_MIN);
    CHECK(!due.waits); /* it is young, and that is no trouble */
    CHECK_INT(due.lived_days, 12);
    due = due_on(&r, 3 * 365);
    CHECK_INT(due.samples_ms, INT64_MIN);
    CHECK_INT(due.ten_ms, INT64_MIN);
    CHECK_INT(due.days, 31);
    CHECK_INT(due.lived_days, 0);
    CHECK(due.waits);
    CHECK_INT(record_tidy(r.record, &due, 1000, &deleted, &r.err), ERR_OK);
    CHECK_INT(deleted, 0);
  }
  recorded_release(&r);
}

/* Thirty days are kept: 31 of the calendar. */
static void days_without_values_are_not_counted(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    a_value_a_day(&r, 0, 40);
    CHECK_INT(due_on(&r, 39).samples_ms, day_of(9));
    a_value_a_day(&r, 60, 10); /* 20 days without the board */
    CHECK_INT(due_on(&r, 69).samples_ms, day_of(19));
    CHECK_INT(due_on(&r, 69).lived_days, 11); /* 39 and 60 to 69 */
    CHECK(due_on(&r, 69).waits);
    a_value_a_day(&r, 70, 30);
    CHECK_INT(due_on(&r, 99).samples_ms, day_of(69));
    CHECK(!due_on(&r, 99).waits);
  }
  recorded_release(&r);
}

static void a_clock_that_comes_back_from_years_ahead_counts_nothing_of_then(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    a_value_a_day(&r, 0, 40);
    a_value_a_day(&r, 1100, 3);                         /* three days of a wrong clock */
    CHECK_INT(due_on(&r, 1102).samples_ms, day_of(12)); /* the 28 newest of before and these */
    CHECK_INT(due_on(&r, 1102).lived_days, 3);
    CHECK(due_on(&r, 1102).waits);
    CHECK_INT(due_on(&r, 40).samples_ms, day_of(9)); /* today nothing came yet */
    a_value_a_day(&r, 40, 1);
    CHECK_INT(due_on(&r, 40).samples_ms, day_of(10));
    CHECK(!due_on(&r, 40).waits);
  }
  recorded_release(&r);
}

/* A value that holds for long is one value, of one day. */
static void a_value_that_only_holds_is_no_day_lived_through(void)
{
  struct recorded r;

  if (recorded_new(
          &r, "  f: {of: A1, what: flow, from: bus, at: a/f, unit: m3/h, old after: 30 d}\n")) {
    struct feed_observation list[2] = {recorded_good(0, t0, 0.1),
                                       recorded_good(0, t0 + 29 * (int64_t)DAY, 0.1)};
    struct record_added added;

    CHECK_INT(record_add(r.record, list, 2, &added, &r.err), ERR_OK);
    CHECK(recorded_number(r.path, "SELECT count(*) FROM r1h") > 29 * 24);
    CHECK_INT(due_on(&r, 29).lived_days, 2);
  }
  recorded_release(&r);
}

/* In a process of its own. */
static void delete_until_killed(const struct recorded *r)
{
  struct record *record = NULL;
  struct record_due due;
  long deleted = 1;

  if (record_open(r->path, RECORD_WRITE, &record, NULL) != ERR_OK ||
      record_due(record, r->feeds, t0 + (int64_t)75 * DAY, &due, NULL) != ERR_OK)
    _exit(1);
  while (deleted > 0)
    if (record_tidy(record, &due, 7, &deleted, NULL) != ERR_OK)
      _exit(1);
  for (;;)
    pause();
}

/* The process ends in the middle of a slice: what was begun is taken back, what was ended stays. */
static void a_crash_in_the_middle_of_deleting_leaves_a_sound_record(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    fill_by_the_hour(&r, 75);
    record_close(r.record);
    r.record = NULL;
    for (int i = 0; i < 20; i++) {
      int status = 0;
      pid_t child = fork();

      if (child == 0)
        delete_until_killed(&r);
      nanosleep(&(struct timespec){.tv_nsec = 1 + i * 700000L}, NULL);
      kill(child, SIGKILL);
      CHECK(waitpid(child, &status, 0) == child && WIFSIGNALED(status));
      if (!CHECK(recorded_reopen(&r, RECORD_WRITE)) || !CHECK_INT(faults(&r), 0))
        break;
      record_close(r.record);
      r.record = NULL;
    }
    CHECK(recorded_number(r.path, "SELECT count(*) FROM sample") < 75 * 24);
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM r1h") > 75 * 24 - 2, 1);
  }
  recorded_release(&r);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_record_that_lived_through_it_loses_what_is_older_than_is_kept);
  RUN(a_record_that_has_not_lived_so_long_loses_nothing_by_any_clock);
  RUN(days_without_values_are_not_counted);
  RUN(a_clock_that_comes_back_from_years_ahead_counts_nothing_of_then);
  RUN(a_value_that_only_holds_is_no_day_lived_through);
  RUN(a_crash_in_the_middle_of_deleting_leaves_a_sound_record);
  return check_end();
}
