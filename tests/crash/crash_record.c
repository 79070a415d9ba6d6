/*
 * usage: crash_record [ROUNDS [SEED]]      kill -9 while a child writes a record, again and again
 *
 * The child adds batches of samples (some late, some doubled) and entries, and after each ERR_OK writes
 * what it added to a pipe.  It is killed at a random moment.  Whatever came through the pipe must be in
 * the file: no sample or entry lost, none doubled, SQLite's integrity check clean, roll-ups equal to
 * ones made anew, the chain unbroken.  The next child goes on with the same file.  Then the disk is
 * filled (a tmpfs of 2 MB, where mounting is permitted).
 */
#include "recorded.h"

#include "check.h"

#include <errno.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { BATCH_MOST = 60, KNOWN_MOST = 1 << 21, POINTS = 3, SECOND_MS = 1000 };
static const int64_t t0 = INT64_C(1793000000000);

static int rounds = 20;
static uint64_t seed = 1;

static int below(int n)
{
  seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
  return (int)((seed >> 33) % (uint64_t)n);
}

/* ---- what the child says it has done: one word per sample or entry ---- */

struct word {
  int32_t point; /* -1: an entry */
  int32_t value; /* of a sample, in tenths; of an entry, its number */
  int64_t t_ms;
};

static void tell(int pipe_end, const struct word *words, int count)
{
  const char *bytes = (const char *)words;
  size_t left = (size_t)count * sizeof *words;

  while (left > 0) {
    ssize_t done = write(pipe_end, bytes, left);

    if (done <= 0)
      _exit(4);
    bytes += done;
    left -= (size_t)done;
  }
}

/* ---- the child ---- */

/* Times go forward; some are late, some were there before, and at times the clock steps back. */
static int make_batch(int64_t *now_s, struct feed_observation *list, struct word *words)
{
  int count = 1 + below(BATCH_MOST), told = 0;

  if (below(40) == 0)
    *now_s -= below(2000);
  for (int i = 0; i < count; i++) {
    int64_t s = below(12) == 0 ? *now_s - below(5000) : (*now_s += 1 + below(90));
    int point = below(POINTS);
    /* the value follows from the moment, so that doubled ones agree */
    int value = point == P_BLOCKED ? (int)(s & 1) : (int)((s * 37 + point * 11) & 255);

    list[i] = recorded_good(point, t0 + s * SECOND_MS,
                            point == P_PRESSURE ? value / 10.0
                            : point == P_FLOW   ? value / 3600.0
                                                : value);
    words[told++] = (struct word){point, value, list[i].t_ms};
  }
  return told;
}

static void write_for_ever(const char *path, const struct recorded *from, int pipe_end,
                           int64_t now_s)
{
  struct recorded r = *from;
  struct record *record = NULL;

  if (record_open(path, RECORD_WRITE, &record, &r.err) != ERR_OK ||
      record_bind(record, r.facility, r.feeds, 0, &r.err) != ERR_OK) {
    fprintf(stderr, "child: %s\n", r.err.text);
    _exit(5);
  }
  for (;;) {
    struct feed_observation list[BATCH_MOST];
    struct word words[BATCH_MOST];
    struct record_added added;
    int count = make_batch(&now_s, list, words);

    if (record_add(record, list, count, &added, &r.err) != ERR_OK) {
      fprintf(stderr, "child: %s\n", r.err.text);
      _exit(6);
    }
    tell(pipe_end, words, count);
    if (below(4) == 0) {
      struct record_entry entry = {.t_ms = t0 + now_s * SECOND_MS,
                                   .written_ms = t0 + now_s * SECOND_MS,
                                   .kind = RECORD_NOTE,
                                   .about = "A1",
                                   .who = "crash test",
                                   .text = "a note",
                                   .detail = ""};

      if (record_append(record, &entry, &r.err) != ERR_OK)
        _exit(7);
      words[0] = (struct word){-1, (int32_t)entry.number, entry.t_ms};
      tell(pipe_end, words, 1);
    }
  }
}

/* ---- the parent ---- */

static struct word *known;
static int known_count;

/* Reads what the child says until it is killed or its end of the pipe is shut. */
static void listen_until(int pipe_end, pid_t child, int64_t kill_ns)
{
  struct timespec start, now;
  size_t used = (size_t)known_count * sizeof *known;
  bool killed = false;
  ssize_t got = 1;

  clock_gettime(CLOCK_MONOTONIC, &start);
  while (got > 0 && used + 65536 < (size_t)KNOWN_MOST * sizeof *known) {
    got = read(pipe_end, (char *)known + used, 4096);
    if (got > 0)
      used += (size_t)got;
    clock_gettime(CLOCK_MONOTONIC, &now);
    if (!killed &&
        (now.tv_sec - start.tv_sec) * INT64_C(1000000000) + now.tv_nsec - start.tv_nsec > kill_ns) {
      kill(child, SIGKILL);
      killed = true;
    }
  }
  kill(child, SIGKILL);
  known_count = (int)(used / sizeof *known); /* half a word was no acknowledgement */
}

static int by_place(const void *a, const void *b)
{
  const struct word *x = a, *y = b;

  if (x->point != y->point)
    return x->point < y->point ? -1 : 1;
  return (x->t_ms > y->t_ms) - (x->t_ms < y->t_ms);
}

/* How many acknowledged words the file does not have as they were said. */
static int lost(const char *path)
{
  sqlite3 *db = NULL;
  sqlite3_stmt *sample = NULL, *entry = NULL;
  int missing = 0;

  if (!CHECK(sqlite3_open(path, &db) == SQLITE_OK) ||
      !CHECK(
          sqlite3_prepare_v2(db,
                             "SELECT s.v FROM sample s JOIN series USING(series) WHERE point = ?1"
                             " AND t = ?2",
                             -1, &sample, NULL) == SQLITE_OK) ||
      !CHECK(sqlite3_prepare_v2(db, "SELECT t FROM entry WHERE number = ?1", -1, &entry, NULL) ==
             SQLITE_OK))
    return 1;
  for (int i = 0; i < known_count; i++) {
    static const char *const ids[POINTS] = {"p", "f", "b"};
    const struct word *word = &known[i];
    sqlite3_stmt *statement = word->point < 0 ? entry : sample;
    int64_t wanted = word->point < 0 ? word->t_ms : word->value;

    if (word->point < 0) {
      sqlite3_bind_int64(statement, 1, word->value);
    } else {
      sqlite3_bind_text(statement, 1, ids[word->point], -1, SQLITE_STATIC);
      sqlite3_bind_int64(statement, 2, word->t_ms);
    }
    missing +=
        sqlite3_step(statement) != SQLITE_ROW || sqlite3_column_int64(statement, 0) != wanted;
    sqlite3_reset(statement);
  }
  sqlite3_finalize(sample);
  sqlite3_finalize(entry);
  sqlite3_close(db);
  return missing;
}

/* Acknowledged words, each once. */
static int distinct(int *entries_out)
{
  int count = 0, entries = 0;

  if (known_count > 0)
    qsort(known, (size_t)known_count, sizeof *known, by_place);
  for (int i = 0; i < known_count; i++) {
    bool again = i > 0 && by_place(&known[i - 1], &known[i]) == 0;

    if (known[i].point < 0)
      entries++; /* of one moment there may be several */
    else
      count += !again;
  }
  *entries_out = entries;
  return count;
}

static void check_record(struct recorded *r)
{
  struct buf out;
  int faults = -1, entries;
  int samples = distinct(&entries);

  buf_init(&out, 1 << 16);
  CHECK(recorded_reopen(r, RECORD_WRITE));
  if (r->record) {
    CHECK_INT(record_verify(r->record, 0, NULL, &faults, &out, &r->err), ERR_OK);
    CHECK_INT(faults, 0);
    CHECK_INT(record_check(r->record, &faults, &out, &r->err), ERR_OK);
    CHECK_INT(faults, 0);
    CHECK_STR(out.text, "");
  }
  buf_release(&out);
  CHECK_INT(lost(r->path), 0);
  /* what was durable but not yet said when it was killed: at most one batch and one entry a round */
  long long more = recorded_number(r->path, "SELECT count(*) FROM sample") - samples,
            noted = recorded_number(r->path, "SELECT count(*) FROM entry") - entries;

  CHECK(more >= 0 && more <= (long long)BATCH_MOST * rounds);
  CHECK(noted >= 0 && noted <= rounds);
  record_close(r->record);
  r->record = NULL;
}

static void a_killed_writer_loses_and_doubles_nothing(void)
{
  struct recorded r;
  int kills = 0;

  known = malloc((size_t)KNOWN_MOST * sizeof *known);
  known_count = 0;
  if (known && recorded_new(&r, RECORDED_POINTS)) {
    record_close(r.record);
    r.record = NULL;
    for (int round = 0; round < rounds; round++) {
      int ends[2], status = 0;
      int64_t kill_ns = INT64_C(1000000) * (5 + below(250));

      CHECK_CASE("round %d, seed %llu", round, (unsigned long long)seed);
      if (!CHECK(pipe(ends) == 0))
        break;
      seed += 17; /* the child's numbers are not the parent's */
      pid_t child = fork();

      if (child == 0) {
        close(ends[0]);
        write_for_ever(r.path, &r, ends[1], (int64_t)round * 20000);
      }
      close(ends[1]);
      listen_until(ends[0], child, kill_ns);
      close(ends[0]);
      waitpid(child, &status, 0);
      kills += CHECK(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
      check_record(&r);
    }
    CHECK_INT(kills, rounds);
    CHECK(known_count > 0);
    printf("     %d kills, %d acknowledged samples and entries\n", kills, known_count);
    recorded_release(&r);
  }
  free(known);
}

/* ---- the disk is full ---- */

static void fill_disk(struct recorded *r)
{
  int64_t now_s = 0;
  long batches = 0;
  enum err_code code = ERR_OK;

  while (code == ERR_OK && batches < 100000) {
    struct feed_observation list[BATCH_MOST];
    struct word words[BATCH_MOST];
    struct record_added added;
    int count = make_batch(&now_s, list, words);

    code = record_add(r->record, list, count, &added, &r->err);
    for (int i = 0; code == ERR_OK && i < count; i++)
      known[known_count++] = words[i];
    batches++;
  }
  CHECK_INT(code, ERR_IO);
  CHECK(strstr(r->err.text, "full") != NULL);
  CHECK(batches > 10);
}

static void a_full_disk_is_said_and_loses_nothing(void)
{
  struct recorded r;
  char mounted[96], filler[160];

  if (!recorded_new(&r, RECORDED_POINTS)) {
    recorded_release(&r);
    return;
  }
  record_close(r.record);
  r.record = NULL;
  snprintf(mounted, sizeof mounted, "%s", r.folder);
  if (mount("tmpfs", mounted, "tmpfs", 0, "size=2m") != 0) {
    printf("     skipped: no tmpfs can be mounted here: %s\n", strerror(errno));
    CHECK(true);
    recorded_release(&r);
    return;
  }
  known = malloc((size_t)KNOWN_MOST * sizeof *known);
  known_count = 0;
  snprintf(filler, sizeof filler, "%s/filler", mounted);
  FILE *file = fopen(filler, "w"); /* goes later, to make room */

  for (int i = 0; file && i < 300000; i++)
    fputc('x', file);
  if (file)
    fclose(file);
  if (known && recorded_reopen(&r, RECORD_WRITE)) {
    struct record_entry note = {
        .kind = RECORD_NOTE, .about = "", .who = "crash test", .text = "room again", .detail = ""};

    fill_disk(&r);
    unlink(filler);
    CHECK_INT(record_append(r.record, &note, &r.err), ERR_OK); /* the same handle goes on */
    known[known_count++] = (struct word){-1, (int32_t)note.number, note.t_ms};
    check_record(&r);
  }
  free(known);
  record_close(r.record);
  r.record = NULL;
  CHECK_INT(umount(mounted), 0);
  recorded_release(&r);
}

int main(int argc, char **argv)
{
  if (argc > 1)
    rounds = (int)strtol(argv[1], NULL, 10);
  if (argc > 2)
    seed = strtoull(argv[2], NULL, 10);
  check_begin(1, argv);
  RUN(a_killed_writer_loses_and_doubles_nothing);
  RUN(a_full_disk_is_said_and_loses_nothing);
  return check_end();
}
