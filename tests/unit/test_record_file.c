/* The file: one writer, other versions, no permission, damage, backup, retention. */
#include "recorded.h"

#include "check.h"

#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { MINUTE = 60 * 1000, HOUR = 60 * MINUTE, DAY = 24 * HOUR, NOBODY = 65534 };
static const int64_t t0 = INT64_C(1793000000000);

static struct recorded_list got;

/* Samples a minute apart, and a note every hundred. */
static void fill(struct recorded *r, int from, int count)
{
  for (int i = from; i < from + count; i += 50) {
    struct feed_observation list[50];
    struct record_added added;
    struct record_entry entry = {.t_ms = t0,
                                 .written_ms = t0,
                                 .kind = RECORD_NOTE,
                                 .about = "A1",
                                 .who = "M. Rao",
                                 .text = "filter changed",
                                 .detail = ""};

    for (int k = 0; k < 50; k++)
      list[k] = recorded_good(P_PRESSURE, t0 + (int64_t)(i + k) * MINUTE, (i + k) % 40);
    CHECK_INT(record_add(r->record, list, 50, &added, &r->err), ERR_OK);
    if (i % 100 == 0)
      CHECK_INT(record_append(r->record, &entry, &r->err), ERR_OK);
  }
}

static int faults(struct recorded *r)
{
  struct buf out;
  int broken = 1000, unsound = 1000;

  buf_init(&out, 10000);
  CHECK_INT(record_verify(r->record, 0, NULL, &broken, &out, &r->err), ERR_OK);
  CHECK_INT(record_check(r->record, &unsound, &out, &r->err), ERR_OK);
  CHECK_STR(out.text, "");
  buf_release(&out);
  return broken + unsound;
}

/* ---- one writer ---- */

static void a_second_writer_is_refused_and_told_who_writes(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record *second = NULL;
    char link_path[160], pid[40];

    CHECK_INT(record_open(r.path, RECORD_WRITE, &second, &r.err), ERR_IO);
    snprintf(pid, sizeof pid, "process %ld", (long)getpid());
    CHECK(strstr(r.err.text, pid) != NULL);
    snprintf(link_path, sizeof link_path, "%s/other-name", r.folder);
    CHECK_INT(symlink(r.path, link_path), 0);
    CHECK_INT(record_open(link_path, RECORD_WRITE, &second, &r.err), ERR_IO);

    pid_t child = fork(); /* and from another process */

    if (child == 0)
      _exit(record_open(r.path, RECORD_WRITE, &second, NULL) == ERR_IO ? 7 : 0);

    int status = 0;

    waitpid(child, &status, 0);
    CHECK(WIFEXITED(status) && WEXITSTATUS(status) == 7);
    CHECK(recorded_reopen(&r, RECORD_WRITE)); /* when the first is gone */
    fill(&r, 0, 100);
    CHECK_INT(faults(&r), 0);
  }
  recorded_release(&r);
}

static void a_path_that_is_no_record_is_refused(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record *other = NULL;
    char path[200];

    CHECK_INT(record_open("", RECORD_READ, &other, &r.err), ERR_INPUT);
    CHECK_INT(record_open(r.folder, RECORD_WRITE, &other, &r.err), ERR_INPUT);
    snprintf(path, sizeof path, "%s/nothing", r.folder);
    CHECK_INT(record_open(path, RECORD_READ, &other, &r.err), ERR_INPUT);
    CHECK(access(path, F_OK) != 0); /* reading makes nothing */
    snprintf(path, sizeof path, "%s/no/such/folder", r.folder);
    CHECK_INT(record_open(path, RECORD_WRITE, &other, &r.err), ERR_IO);
    snprintf(path, sizeof path, "%s/words", r.folder);
    FILE *file = fopen(path, "w");

    for (int i = 0; i < 2000; i++)
      fputs("these are words\n", file);
    fclose(file);
    CHECK_INT(record_open(path, RECORD_READ, &other, &r.err), ERR_INPUT);
    CHECK(strstr(r.err.text, "no record") != NULL);
    CHECK_INT(record_open(path, RECORD_WRITE, &other, &r.err), ERR_INPUT);
    snprintf(path, sizeof path, "%s/music.db", r.folder);
    CHECK(recorded_sql(path, "CREATE TABLE song(name TEXT)"));
    CHECK_INT(record_open(path, RECORD_WRITE, &other, &r.err), ERR_INPUT);
    CHECK(strstr(r.err.text, "another program") != NULL);
    CHECK_INT(recorded_number(path, "SELECT count(*) FROM sqlite_schema"), 1);
    CHECK(other == NULL);
  }
  recorded_release(&r);
}

/* ---- other versions ---- */

static void a_newer_schema_is_refused_untouched(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record *other = NULL;

    fill(&r, 0, 100);
    record_close(r.record);
    r.record = NULL;
    CHECK(recorded_sql(r.path, "PRAGMA user_version = 3"));
    CHECK_INT(record_open(r.path, RECORD_WRITE, &other, &r.err), ERR_INPUT);
    CHECK(strstr(r.err.text, "newer") != NULL);
    CHECK_INT(record_open(r.path, RECORD_READ, &other, &r.err), ERR_INPUT);
    CHECK_INT(recorded_number(r.path, "PRAGMA user_version"), 3);
    CHECK(recorded_sql(r.path, "PRAGMA user_version = 2"));
    CHECK(recorded_reopen(&r, RECORD_WRITE));
    CHECK_INT(faults(&r), 0);
  }
  recorded_release(&r);
}

/* A file as the schema 0 of before the first release had it, made of one of today. */
static bool make_old(const char *path)
{
  return recorded_sql(
      path,
      "PRAGMA journal_mode = DELETE; BEGIN;"
      "CREATE TABLE s0(series INTEGER PRIMARY KEY, suite TEXT NOT NULL, point TEXT NOT NULL,"
      " about TEXT NOT NULL, what TEXT NOT NULL, dimension TEXT NOT NULL, step REAL NOT NULL,"
      " base REAL NOT NULL, hold INTEGER NOT NULL) STRICT;"
      "INSERT INTO s0 SELECT series, suite, point, about, what, dimension, step, base, hold"
      " FROM series;"
      "CREATE TABLE p0(series INTEGER NOT NULL, t INTEGER NOT NULL, v INTEGER, q INTEGER NOT NULL,"
      " PRIMARY KEY(series, t)) STRICT, WITHOUT ROWID;"
      "INSERT INTO p0 SELECT series, t, v, q FROM sample;"
      "DROP TABLE series; DROP TABLE sample; DROP TABLE r10m; DROP TABLE r1h; DROP TABLE latest;"
      "DROP TABLE raw; ALTER TABLE entry DROP COLUMN suite; ALTER TABLE s0 RENAME TO series; ALTER TABLE p0 RENAME TO sample;"
      "COMMIT; PRAGMA user_version = 0");
}

static void an_older_schema_is_brought_up_to_date(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record *reader = NULL;
    struct feed_observation now[P_COUNT];
    struct feed_sink sink = recorded_sink(&got);

    fill(&r, 0, 500);
    record_close(r.record);
    r.record = NULL;
    CHECK(make_old(r.path));
    CHECK_INT(record_open(r.path, RECORD_READ, &reader, &r.err), ERR_INPUT);
    CHECK(strstr(r.err.text, "older") != NULL);
    if (recorded_reopen(&r, RECORD_WRITE)) {
      CHECK_INT(recorded_number(r.path, "PRAGMA user_version"), 2);
      CHECK_INT(record_samples(r.record, P_PRESSURE, 0, INT64_MAX, INT64_MAX, &sink, &r.err),
                ERR_OK);
      CHECK_INT(got.count, 500);
      CHECK_NEAR(got.list[77].si, 37, 0, 1e-9);
      CHECK_INT(record_latest(r.record, now, P_COUNT, &r.err), ERR_OK);
      CHECK_INT(now[P_PRESSURE].t_ms, t0 + 499 * MINUTE);
      CHECK_INT(faults(&r), 0); /* the roll-ups were made, the chain is whole */
      CHECK(recorded_number(r.path, "SELECT count(*) FROM r10m") >= 50);
      fill(&r, 500, 100);
      CHECK_INT(faults(&r), 0);
    }
  }
  recorded_release(&r);
}

/* A migration that cannot end leaves the old file as it was. */
static void a_migration_that_fails_changes_nothing(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record *other = NULL;

    fill(&r, 0, 100);
    record_close(r.record);
    r.record = NULL;
    CHECK(make_old(r.path));
    CHECK(recorded_sql(r.path, "CREATE TABLE r1h(x)")); /* in the way of the third step */
    CHECK_INT(record_open(r.path, RECORD_WRITE, &other, &r.err), ERR_IO);
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM sample"), 100);
    CHECK_INT(recorded_number(r.path, "PRAGMA user_version"), 0);
    CHECK(recorded_sql(r.path, "DROP TABLE r1h"));
    CHECK(recorded_reopen(&r, RECORD_WRITE));
    CHECK_INT(faults(&r), 0);
  }
  recorded_release(&r);
}

/* ---- no permission ---- */

static void what_may_not_be_written_can_be_read(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record *other = NULL;
    struct feed_sink sink = recorded_sink(&got);
    bool root = geteuid() == 0;

    fill(&r, 0, 100);
    record_close(r.record);
    r.record = NULL;
    CHECK_INT(chmod(r.path, 0444), 0);
    CHECK_INT(chmod(r.folder, 0555), 0);
    CHECK(!root || seteuid(NOBODY) == 0); /* root may write anything */
    CHECK_INT(record_open(r.path, RECORD_WRITE, &other, &r.err), ERR_IO);
    CHECK(strstr(r.err.text, "may not be written") != NULL);
    if (recorded_reopen(&r, RECORD_READ)) {
      CHECK_INT(record_samples(r.record, P_PRESSURE, 0, INT64_MAX, INT64_MAX, &sink, &r.err),
                ERR_OK);
      CHECK_INT(got.count, 100);
      CHECK_INT(faults(&r), 0);
    }
    CHECK(!root || seteuid(0) == 0);
    CHECK_INT(chmod(r.folder, 0777), 0); /* the file still not */
    CHECK(!root || seteuid(NOBODY) == 0);
    CHECK_INT(record_open(r.path, RECORD_WRITE, &other, &r.err), ERR_IO);
    CHECK(recorded_reopen(&r, RECORD_READ));
    CHECK(!root || seteuid(0) == 0);
    CHECK(other == NULL);
    CHECK_INT(chmod(r.folder, 0700), 0);
  }
  recorded_release(&r);
}

/* ---- damage ---- */

static bool overwrite(const char *path, long offset, size_t size)
{
  static const unsigned char nonsense[8192] = {0x5a, 0xa5, 0x5a};
  int file = open(path, O_WRONLY);
  bool good = file >= 0 && pwrite(file, nonsense, size, offset) == (ssize_t)size;

  close(file);
  return good;
}

static void damage_is_found_and_said(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct buf out;
    int found = 0;
    enum err_code code;
    struct stat about;

    fill(&r, 0, 2000);
    record_close(r.record);
    r.record = NULL;
    CHECK_INT(stat(r.path, &about), 0);
    for (long page = 4; page < about.st_size / 8192; page += 3) /* not the first, nor the schema */
      CHECK(overwrite(r.path, page * 8192, 8192));
    buf_init(&out, 1 << 16);
    if (recorded_reopen(&r, RECORD_READ)) {
      code = record_check(r.record, &found, &out, &r.err);
      CHECK(code == ERR_IO || (code == ERR_OK && found > 0));
      CHECK(strstr(code == ERR_OK ? out.text : r.err.text, "damaged") != NULL);
    }
    buf_release(&out);
    record_close(r.record);
    r.record = NULL;
    CHECK(overwrite(r.path, 0, 100));
    CHECK_INT(record_open(r.path, RECORD_WRITE, &r.record, &r.err), ERR_INPUT);
    CHECK_INT(truncate(r.path, 8192 * 2 + 11), 0);
    CHECK(record_open(r.path, RECORD_READ, &r.record, &r.err) != ERR_OK);
  }
  recorded_release(&r);
}

static void a_roll_up_that_was_changed_is_found(void)
{
  static const char *const changes[] = {
      "UPDATE r10m SET max = max + 1 WHERE t = (SELECT t FROM r10m LIMIT 1 OFFSET 3)",
      "UPDATE r1h SET integral = integral - 1 WHERE t = (SELECT max(t) FROM r1h)",
      "DELETE FROM r10m WHERE t = (SELECT max(t) FROM r10m)",
      "INSERT INTO r1h VALUES(1, 9000000000000 / 3600000 * 3600000, 0, 0, 0, 0, 0, 0, 1)"};

  for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
    struct recorded r;
    struct buf out;
    int found = 0;

    CHECK_CASE("%s", changes[i]);
    buf_init(&out, 1 << 16);
    if (recorded_new(&r, RECORDED_POINTS)) {
      fill(&r, 0, 300);
      CHECK(recorded_sql(r.path, changes[i]));
      CHECK_INT(record_check(r.record, &found, &out, &r.err), ERR_OK);
      CHECK(found > 0);
      CHECK(strstr(out.text, "roll-up") != NULL);
    }
    buf_release(&out);
    recorded_release(&r);
  }
}

/* ---- backup ---- */

static void a_backup_made_while_writing_is_restored(void)
{
  struct recorded r;
  char copy[160];

  if (recorded_new(&r, RECORDED_POINTS)) {
    long long whole;
    pid_t child;
    int status = 0;

    snprintf(copy, sizeof copy, "%s/copy", r.folder);
    fill(&r, 0, 2000);
    child = fork();
    if (child == 0) { /* another process copies while this one writes */
      struct record *reader = NULL;
      bool good = record_open(r.path, RECORD_READ, &reader, NULL) == ERR_OK &&
                  record_backup(reader, copy, NULL) == ERR_OK;

      _exit(good ? 0 : 1);
    }
    for (int i = 0; waitpid(child, &status, WNOHANG) == 0 && i < 400; i++)
      fill(&r, 2000 + i * 50, 50);
    CHECK(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    CHECK_INT(record_backup(r.record, copy, &r.err), ERR_INPUT); /* something is there */

    /* the record is lost; the copy takes its place */
    record_close(r.record);
    r.record = NULL;
    CHECK_INT(unlink(r.path), 0);
    CHECK_INT(rename(copy, r.path), 0);
    if (recorded_reopen(&r, RECORD_WRITE)) {
      whole = recorded_number(r.path, "SELECT count(*) FROM sample");
      CHECK(whole >= 2000 && whole % 50 == 0); /* batches are whole */
      CHECK_INT(faults(&r), 0);
      fill(&r, 40000, 100);
      CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM sample"), whole + 100);
      CHECK_INT(faults(&r), 0);
    }
  }
  recorded_release(&r);
}

static void a_backup_that_cannot_be_written_leaves_nothing(void)
{
  struct recorded r;
  char copy[160];

  if (recorded_new(&r, RECORDED_POINTS)) {
    fill(&r, 0, 100);
    snprintf(copy, sizeof copy, "%s/no/such/folder", r.folder);
    CHECK_INT(record_backup(r.record, copy, &r.err), ERR_IO);
    CHECK_INT(record_backup(r.record, "", &r.err), ERR_INPUT);
    CHECK_INT(record_backup(r.record, r.folder, &r.err), ERR_INPUT);
    CHECK_INT(record_backup(r.record, r.path, &r.err), ERR_INPUT);
    CHECK_INT(faults(&r), 0);
  }
  recorded_release(&r);
}

/* ---- retention ---- */

/* What would be due by the clock alone. */
static struct record_due by_clock(const struct recorded *r, int64_t now_ms)
{
  int64_t samples_ms = now_ms - llround(r->feeds->keep_raw_s * 1000),
          ten_ms = now_ms - llround(r->feeds->keep_10min_s * 1000);

  return (struct record_due){.samples_ms = samples_ms - samples_ms % HOUR,
                             .ten_ms = ten_ms - ten_ms % HOUR};
}

static void retention_deletes_samples_and_keeps_what_they_said(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    static struct record_bucket before[500], after[500];
    int64_t now_ms = t0 + (int64_t)75 * DAY;
    long deleted = 1, all = 0, rounds = 0;
    const struct record_due due = by_clock(&r, now_ms);
    struct record_plot plot;
    struct feed_observation now[P_COUNT], late = recorded_good(P_PRESSURE, t0 + 30 * 1000, 7);
    struct record_added added;

    for (int day = 0; day < 75; day += 1) { /* 75 days; kept: 30 d of samples, 60 d of 10 min */
      struct feed_observation list[24];

      for (int h = 0; h < 24; h++)
        list[h] = recorded_good(P_PRESSURE, t0 + (int64_t)day * DAY + (int64_t)h * HOUR, h);
      CHECK_INT(record_add(r.record, list, 24, &added, &r.err), ERR_OK);
    }
    plot = (struct record_plot){
        .point = P_PRESSURE, .from_ms = t0, .to_ms = now_ms, .most = 450, .list = before};
    CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_OK);
    for (; deleted > 0; rounds++) {
      CHECK_INT(record_tidy(r.record, &due, 100, &deleted, &r.err), ERR_OK);
      CHECK(deleted <= 100);
      all += deleted;
      CHECK_INT(faults(&r), 0);
      if (rounds > 100)
        break;
    }
    CHECK(rounds > 10);
    CHECK(all > 45 * 24 + 15 * 24);
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM sample"), 30 * 24 + 1);
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM r1h") > 75 * 24 - 2, 1);
    plot = (struct record_plot){
        .point = P_PRESSURE, .from_ms = t0, .to_ms = now_ms, .most = 450, .list = after};
    CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_OK);
    CHECK(memcmp(before, after, (size_t)plot.count * sizeof before[0]) == 0);
    /* a fine plot of where only hours are left is one of hours */
    plot = (struct record_plot){.point = P_PRESSURE,
                                .from_ms = t0 + DAY,
                                .to_ms = t0 + DAY + 4 * HOUR,
                                .most = 400,
                                .list = after};
    CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_OK);
    CHECK_NEAR(plot.width_s, 3600, 0, 0);
    CHECK(after[0].good_s > 0);
    plot = (struct record_plot){.point = P_PRESSURE,
                                .from_ms = t0 + 30 * (int64_t)DAY,
                                .to_ms = t0 + 30 * (int64_t)DAY + 4 * HOUR,
                                .most = 400,
                                .list = after};
    CHECK_INT(record_plot(r.record, &plot, &r.err), ERR_OK);
    CHECK_NEAR(plot.width_s, 600, 0, 0);
    /* what comes for a time that is deleted is not kept, and nothing is made anew of half its samples */
    CHECK_INT(record_add(r.record, &late, 1, &added, &r.err), ERR_OK);
    CHECK_INT(added.too_old, 1);
    CHECK_INT(added.kept, 0);
    CHECK_INT(record_latest(r.record, now, P_COUNT, &r.err), ERR_OK);
    CHECK_INT(now[P_PRESSURE].t_ms, t0 + 74 * (int64_t)DAY + 23 * HOUR);
  }
  recorded_release(&r);
}

/* A late value in the first hour that is kept: the rest of that hour must still be there. */
static void retention_ends_at_a_whole_hour(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    int64_t now_ms = t0 + (int64_t)31 * DAY, edge_ms = now_ms - (int64_t)30 * DAY,
            hour_ms = edge_ms - edge_ms % HOUR;
    struct feed_observation late = recorded_good(P_PRESSURE, edge_ms + 1, 7);
    const struct record_due due = by_clock(&r, now_ms);
    struct record_added added;
    long deleted = 0;
    char sql[100];

    fill(&r, 0, 2000); /* a minute apart, over the edge */
    snprintf(sql, sizeof sql, "SELECT count FROM r1h WHERE t = %lld", (long long)hour_ms);
    CHECK_INT(recorded_number(r.path, sql), 60);
    CHECK_INT(record_tidy(r.record, &due, 100000, &deleted, &r.err), ERR_OK);
    CHECK(deleted > 1000);
    CHECK_INT(record_add(r.record, &late, 1, &added, &r.err), ERR_OK);
    CHECK_INT(added.kept, 1);
    CHECK_INT(recorded_number(r.path, sql), 61);
    CHECK_INT(faults(&r), 0);
  }
  recorded_release(&r);
}

static void entries_outlive_retention_and_raw_files_do_not(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    static const char bytes[] = "Time;Etch dP\n26.10.2026 00:00;12,5\n";
    const struct record_due due = by_clock(&r, t0 + 400 * (int64_t)DAY);
    const void *back = NULL;
    size_t size = 0;
    long deleted = 0;
    bool known = true;
    char name[65] = "";

    fill(&r, 0, 200);
    CHECK_INT(record_keep_raw(r.record,
                              &(struct record_raw){"csv", "dp.csv", bytes, sizeof bytes - 1, t0},
                              &known, &r.err),
              ERR_OK);
    CHECK(!known);
    CHECK_INT(record_keep_raw(
                  r.record, &(struct record_raw){"csv", "dp (1).csv", bytes, sizeof bytes - 1, t0},
                  &known, &r.err),
              ERR_OK);
    CHECK(known);
    CHECK_INT(record_keep_raw(r.record, &(struct record_raw){"csv", "empty.csv", "", 0, t0}, &known,
                              &r.err),
              ERR_OK);
    /* sha256sum of the text above, computed with coreutils */
    memcpy(name, "7730cd2ef6ab6c6788cb560b3642097211f90b914c525b61bb29719f03836106", sizeof name);
    CHECK_INT(record_raw(r.record, name, &r.arena, &back, &size, &r.err), ERR_OK);
    CHECK_INT((int)size, (int)sizeof bytes - 1);
    CHECK(back && memcmp(back, bytes, size) == 0);
    CHECK_INT(faults(&r), 0);
    CHECK(recorded_sql(r.path, "UPDATE raw SET bytes = x'00' WHERE name = 'dp.csv'"));
    {
      struct buf out;
      int found = 0;

      buf_init(&out, 1000);
      CHECK_INT(record_check(r.record, &found, &out, &r.err), ERR_OK);
      CHECK_INT(found, 1);
      CHECK(strstr(out.text, "raw file dp.csv") != NULL);
      buf_release(&out);
    }
    CHECK_INT(record_tidy(r.record, &due, 100000, &deleted, &r.err), ERR_OK);
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM raw"), 0);
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM entry"), 2);
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM sample"), 1); /* the last said */
    CHECK_INT(record_raw(r.record, name, &r.arena, &back, &size, &r.err), ERR_OK);
    CHECK(back == NULL);
    CHECK_INT(record_raw(r.record, "abc", &r.arena, &back, &size, &r.err), ERR_INPUT);
  }
  recorded_release(&r);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_second_writer_is_refused_and_told_who_writes);
  RUN(a_path_that_is_no_record_is_refused);
  RUN(a_newer_schema_is_refused_untouched);
  RUN(an_older_schema_is_brought_up_to_date);
  RUN(a_migration_that_fails_changes_nothing);
  RUN(what_may_not_be_written_can_be_read);
  RUN(damage_is_found_and_said);
  RUN(a_roll_up_that_was_changed_is_found);
  RUN(a_backup_made_while_writing_is_restored);
  RUN(a_backup_that_cannot_be_written_leaves_nothing);
  RUN(retention_deletes_samples_and_keeps_what_they_said);
  RUN(retention_ends_at_a_whole_hour);
  RUN(entries_outlive_retention_and_raw_files_do_not);
  return check_end();
}
