/*
 * usage: bench_record [BATCHES [SIZE]]      the record against bare SQLite, in one run
 *
 * Adding: batches of SIZE samples over 100 points, each durable with its roll-ups (WAL,
 * synchronous=FULL), against a bare program that runs the same statements on an equal file with numbers
 * that were computed before: what the record adds of its own is the difference.  The two take turns,
 * 25 batches at a time.  Both files must be equal in the end, row by row.
 *
 * Plot: a year of one point from the hourly roll-up, in 1000 stretches at most (half days: a width that
 * people count in), against bare SQLite reading the same rows; processor time.
 *
 * Two files that differ end the run with exit 1; a ratio beyond its target is said.
 */
#include "recorded.h"

#include "check.h"

#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { POINTS = 100, SIZE_MOST = 1000, TURN = 25, HOUR_MS = 3600 * 1000, YEAR_HOURS = 365 * 24 };
enum { HOLD_MS = 20 * 60 * 1000, LEVELS = 2, TURNS_MOST = 4000, PLOTS_MOST = 400 };
static const int64_t t0 = INT64_C(1793000000000), level_ms[LEVELS] = {600 * 1000, HOUR_MS};
static const double add_floor = 0.9, plot_ceiling = 1.3;

static double now_us(void)
{
  struct timespec t;

  clock_gettime(CLOCK_MONOTONIC, &t);
  return 1e6 * (double)t.tv_sec + 1e-3 * (double)t.tv_nsec;
}

/* What this thread has used: all of a plot's rows are in memory, and other programs do not count. */
static double used_us(void)
{
  struct timespec t;

  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return 1e6 * (double)t.tv_sec + 1e-3 * (double)t.tv_nsec;
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

static double quantile(double *list, int count, double q)
{
  qsort(list, (size_t)count, sizeof *list, ascending);
  return list[(int)(q * (count - 1))];
}

/* ---- what the bare program writes: plain sums, made before the clock starts ---- */

struct row {
  int64_t t, min, max, first, last, integral, good, count;
};

struct point {
  int64_t t, v; /* the newest */
  bool has;
  struct row rows[LEVELS];
  int64_t touched; /* the batch that did last */
};

enum act { ADD, PUT_10MIN, PUT_1H, LATEST };
struct step {
  enum act act;
  int series;
  int64_t t, v;
  struct row row;
};

struct script {
  struct step *steps;
  int *ends; /* of each batch */
  int count, room;
};

static struct step *next_step(struct script *script)
{
  if (script->count == script->room) {
    script->room = script->room ? 2 * script->room : 4096;
    script->steps = realloc(script->steps, (size_t)script->room * sizeof *script->steps);
    if (!script->steps)
      err_no_memory();
  }
  return &script->steps[script->count++];
}

static void put(struct script *script, int series, int level, const struct row *row)
{
  *next_step(script) = (struct step){level == 0 ? PUT_10MIN : PUT_1H, series, row->t, 0, *row};
}

static void see(struct row *row, int64_t v, int64_t t)
{
  if (row->count + row->good == 0)
    *row = (struct row){.t = t, .min = v, .max = v, .first = v};
  row->min = v < row->min ? v : row->min;
  row->max = v > row->max ? v : row->max;
  row->last = v;
}

/* A value from one moment to another, into the stretches it lies in. */
static void hold(struct script *script, struct point *p, int series, int level, int64_t end)
{
  struct row *row = &p->rows[level];

  for (int64_t t = p->t; t < end;) {
    int64_t begin = t - t % level_ms[level], stop = begin + level_ms[level];

    if (row->t != begin) {
      if (row->t != 0)
        put(script, series, level, row);
      *row = (struct row){.t = begin};
    }
    stop = stop < end ? stop : end;
    see(row, p->v, begin);
    row->integral += p->v * (stop - t);
    row->good += stop - t;
    t = stop;
  }
}

static void observe(struct script *script, struct point *p, int series, int64_t t, int64_t v)
{
  *next_step(script) = (struct step){ADD, series, t, v, {0}};
  for (int level = 0; level < LEVELS; level++) {
    struct row *row = &p->rows[level];
    int64_t begin = t - t % level_ms[level];

    if (p->has)
      hold(script, p, series, level, t < p->t + HOLD_MS ? t : p->t + HOLD_MS);
    if (row->t != begin) {
      if (row->t != 0)
        put(script, series, level, row);
      *row = (struct row){.t = begin};
    }
    see(row, v, begin);
    row->count++;
  }
  p->t = t;
  p->v = v;
  p->has = true;
}

/* ---- the load ---- */

struct load {
  int batches, size;
  struct feed_observation *list;
  struct script script;
};

static uint64_t seed = 3;

static int below(int n)
{
  seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
  return (int)((seed >> 33) % (uint64_t)n);
}

static void make_load(struct load *load)
{
  static struct point points[POINTS];
  int64_t now = t0;

  load->list = calloc((size_t)load->batches * (size_t)load->size, sizeof *load->list);
  load->script.ends = calloc((size_t)load->batches, sizeof *load->script.ends);
  if (!load->list || !load->script.ends)
    err_no_memory();
  for (int b = 0; b < load->batches; b++) {
    struct feed_observation *batch = &load->list[b * load->size];

    for (int i = 0; i < load->size; i++) {
      int point = below(POINTS), v = below(400);

      now += 1 + below(2000); /* a value a second: 100 points, each every 100 s */
      batch[i] = recorded_good(point, now, v / 10.0);
      observe(&load->script, &points[point], point + 1, now, v);
    }
    for (int i = 0; i < load->size; i++) {
      int series = batch[i].point + 1;
      struct point *p = &points[batch[i].point];

      if (p->touched == b + 1)
        continue;
      p->touched = b + 1;
      for (int level = 0; level < LEVELS; level++)
        put(&load->script, series, level, &p->rows[level]);
      *next_step(&load->script) = (struct step){LATEST, series, p->t, p->v, {0}};
    }
    load->script.ends[b] = load->script.count;
  }
}

/* ---- the bare program ---- */

struct bare {
  sqlite3 *db;
  sqlite3_stmt *statements[4], *begin, *commit;
};

static sqlite3_stmt *prepare(sqlite3 *db, const char *sql)
{
  sqlite3_stmt *statement = NULL;

  if (sqlite3_prepare_v3(db, sql, -1, SQLITE_PREPARE_PERSISTENT, &statement, NULL) != SQLITE_OK)
    fprintf(stderr, "bench_record: %s: %s\n", sql, sqlite3_errmsg(db));
  return statement;
}

#define ROLL_UP(table)                                                                             \
  "INSERT INTO " table " VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9) ON CONFLICT DO UPDATE SET"     \
  " min = ?3, max = ?4, first = ?5, last = ?6, integral = ?7, good = ?8, count = ?9"

/* On a copy of the record as it was made, with its points and without a sample. */
static bool bare_open(struct bare *bare, const char *path)
{
  static const char *const sql[] = {
      "INSERT INTO sample VALUES(?1, ?2, ?3, ?4, ?5) ON CONFLICT DO UPDATE SET v = ?3, q = ?4,"
      " lag = ?5 WHERE q = 7 AND ?4 <> 7",
      ROLL_UP("r10m"), ROLL_UP("r1h"),
      "INSERT INTO latest VALUES(?1, ?2, ?3, ?4, ?5) ON CONFLICT DO UPDATE SET t = ?2, v = ?3,"
      " q = ?4, lag = ?5"};

  if (sqlite3_open_v2(path, &bare->db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL) !=
          SQLITE_OK ||
      sqlite3_exec(bare->db, "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;", NULL, NULL,
                   NULL) != SQLITE_OK)
    return false;
  for (int i = 0; i < 4; i++)
    bare->statements[i] = prepare(bare->db, sql[i]);
  bare->begin = prepare(bare->db, "BEGIN IMMEDIATE");
  bare->commit = prepare(bare->db, "COMMIT");
  return true;
}

static void bare_close(struct bare *bare)
{
  for (int i = 0; i < 4; i++)
    sqlite3_finalize(bare->statements[i]);
  sqlite3_finalize(bare->begin);
  sqlite3_finalize(bare->commit);
  sqlite3_close(bare->db);
}

static bool run_step(const struct bare *bare, const struct step *step)
{
  sqlite3_stmt *s = bare->statements[step->act];
  const struct row *row = &step->row;

  sqlite3_bind_int64(s, 1, step->series);
  sqlite3_bind_int64(s, 2, step->t);
  if (step->act == ADD || step->act == LATEST) {
    sqlite3_bind_int64(s, 3, step->v);
    sqlite3_bind_int(s, 4, 0);
    sqlite3_bind_int64(s, 5, 40);
  } else {
    sqlite3_bind_int64(s, 3, row->min);
    sqlite3_bind_int64(s, 4, row->max);
    sqlite3_bind_int64(s, 5, row->first);
    sqlite3_bind_int64(s, 6, row->last);
    sqlite3_bind_int64(s, 7, row->integral);
    sqlite3_bind_int64(s, 8, row->good);
    sqlite3_bind_int64(s, 9, row->count);
  }
  bool good = sqlite3_step(s) == SQLITE_DONE;

  sqlite3_reset(s);
  return good;
}

static bool bare_batch(const struct bare *bare, const struct script *script, int batch)
{
  bool good = sqlite3_step(bare->begin) == SQLITE_DONE;

  sqlite3_reset(bare->begin);
  for (int i = batch ? script->ends[batch - 1] : 0; i < script->ends[batch]; i++)
    good &= run_step(bare, &script->steps[i]);
  good &= sqlite3_step(bare->commit) == SQLITE_DONE;
  sqlite3_reset(bare->commit);
  return good;
}

/* ---- adding ---- */

static bool files_are_equal(const char *ours, const char *bare)
{
  static const char *const tables[] = {"sample", "latest", "r10m", "r1h"};
  bool equal = true;
  char sql[400];

  for (int i = 0; i < 4; i++) {
    sqlite3 *db = NULL;
    sqlite3_stmt *statement = NULL;
    char attach[300];

    snprintf(attach, sizeof attach, "ATTACH '%s' AS other", bare);
    snprintf(sql, sizeof sql,
             "SELECT (SELECT count(*) FROM (SELECT * FROM %s EXCEPT SELECT * FROM other.%s))"
             " + (SELECT count(*) FROM (SELECT * FROM other.%s EXCEPT SELECT * FROM %s))",
             tables[i], tables[i], tables[i], tables[i]);
    equal &= sqlite3_open(ours, &db) == SQLITE_OK &&
             sqlite3_exec(db, attach, NULL, NULL, NULL) == SQLITE_OK &&
             sqlite3_prepare_v2(db, sql, -1, &statement, NULL) == SQLITE_OK &&
             sqlite3_step(statement) == SQLITE_ROW && sqlite3_column_int64(statement, 0) == 0;
    sqlite3_finalize(statement);
    sqlite3_close(db);
  }
  return equal;
}

static bool ours_turn(struct recorded *r, const struct load *load, int from, int to)
{
  for (int b = from; b < to; b++) {
    struct record_added added;

    if (record_add(r->record, &load->list[b * load->size], load->size, &added, &r->err) != ERR_OK ||
        added.kept != load->size)
      return false;
  }
  return true;
}

static bool bare_turn(const struct bare *bare, const struct load *load, int from, int to)
{
  bool good = true;

  for (int b = from; b < to; b++)
    good &= bare_batch(bare, &load->script, b);
  return good;
}

/* Each turn is timed for both; who begins changes. */
static bool take_turns(struct recorded *r, const struct bare *bare, const struct load *load)
{
  static double ours[TURNS_MOST], theirs[TURNS_MOST], ratio[TURNS_MOST];
  double sum_ours = 0, sum_theirs = 0, used[2] = {0, 0};
  int turns = 0;
  bool good = true;

  for (int from = 0; from < load->batches && turns < TURNS_MOST; from += TURN, turns++) {
    int to = from + TURN < load->batches ? from + TURN : load->batches;

    for (int half = 0; half < 2; half++) {
      bool us = (turns + half) % 2 == 0;
      double start = now_us(), used_before = used_us();

      good &= us ? ours_turn(r, load, from, to) : bare_turn(bare, load, from, to);
      (us ? ours : theirs)[turns] = now_us() - start;
      used[us] += used_us() - used_before;
    }
    ratio[turns] = theirs[turns] / ours[turns];
    sum_ours += ours[turns];
    sum_theirs += theirs[turns];
  }
  double samples = (double)load->batches * load->size, median = quantile(ratio, turns, 0.5);

  printf("record, adding %.0f samples of %d points, %d a commit, durable with roll-ups\n", samples,
         POINTS, load->size);
  printf("  ours %8.0f samples/s   bare %8.0f samples/s\n", samples / sum_ours * 1e6,
         samples / sum_theirs * 1e6);
  printf("  ours over bare: median %.2f [%.2f, %.2f], all in all %.2f; target >= %.2f%s\n", median,
         quantile(ratio, turns, 0.25), quantile(ratio, turns, 0.75), sum_theirs / sum_ours,
         add_floor, median < add_floor ? "  BELOW ITS TARGET" : "");
  printf("  processor time a sample: ours %.1f us, bare %.1f us\n", used[1] / samples,
         used[0] / samples);
  return good;
}

static bool bench_adding(int batches, int size)
{
  struct recorded r;
  struct load load = {.batches = batches, .size = size};
  struct bare bare = {0};
  struct buf points;
  char copy[160];
  bool good = false;

  buf_init(&points, 1 << 20);
  for (int i = 0; i < POINTS; i++)
    buf_printf(&points,
               "  p%d: {of: A1, what: other, from: bus, at: a/%d, unit: Pa, resolution: 0.1 Pa,"
               " old after: 20 min}\n",
               i, i);
  make_load(&load);
  if (recorded_new(&r, points.text)) {
    snprintf(copy, sizeof copy, "%s/bare", r.folder);
    good = record_backup(r.record, copy, &r.err) == ERR_OK && bare_open(&bare, copy) &&
           take_turns(&r, &bare, &load);
    bare_close(&bare);
    if (!good)
      printf("  FAULT: %s\n", r.err.text[0] ? r.err.text : "bare SQLite refused a statement");
    else if (!files_are_equal(r.path, copy)) {
      printf("  FAULT: the two files differ\n");
      good = false;
    }
  }
  recorded_release(&r);
  buf_release(&points);
  free(load.list);
  free(load.script.steps);
  free(load.script.ends);
  return good;
}

/* ---- plot ---- */

/* Reads the hourly rows of the year; the sum of what stands in them, so that nothing is read in vain. */
static double read_bare(sqlite3_stmt *statement, int64_t from_ms, int64_t to_ms)
{
  double sum = 0;

  sqlite3_bind_int64(statement, 1, P_PRESSURE + 1);
  sqlite3_bind_int64(statement, 2, from_ms);
  sqlite3_bind_int64(statement, 3, to_ms);
  while (sqlite3_step(statement) == SQLITE_ROW)
    for (int i = 0; i < 8; i++)
      sum += (double)sqlite3_column_int64(statement, i);
  sqlite3_reset(statement);
  return sum;
}

static bool fill_year(struct recorded *r)
{
  bool good = true;

  for (int hour = 0; hour < YEAR_HOURS; hour += 100) {
    static struct feed_observation list[600];
    struct record_added added;

    for (int i = 0; i < 600; i++)
      list[i] = recorded_good(P_PRESSURE, t0 + (int64_t)hour * HOUR_MS + (int64_t)i * 600 * 1000,
                              below(400) / 10.0);
    good &= record_add(r->record, list, 600, &added, &r->err) == ERR_OK;
  }
  return good;
}

static bool bench_plot(int plots)
{
  static struct record_bucket buckets[1000];
  static double ours[PLOTS_MOST], theirs[PLOTS_MOST], ratio[PLOTS_MOST];
  struct recorded r;
  sqlite3 *db = NULL;
  sqlite3_stmt *statement = NULL;
  double sum = 0;
  bool good =
      recorded_new(&r, RECORDED_POINTS) && fill_year(&r) &&
      sqlite3_open_v2(r.path, &db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL) == SQLITE_OK;
  struct record_plot plot = {.point = P_PRESSURE,
                             .from_ms = t0,
                             .to_ms = t0 + (int64_t)YEAR_HOURS * HOUR_MS,
                             .most = 1000,
                             .list = buckets};

  if (good)
    statement = prepare(db, "SELECT t, min, max, first, last, integral, good, count FROM r1h"
                            " WHERE series = ?1 AND t >= ?2 AND t < ?3 ORDER BY t");
  for (int i = 0; good && i < plots; i++) {
    double start = used_us();

    good = record_plot(r.record, &plot, &r.err) == ERR_OK;
    ours[i] = used_us() - start;
    start = used_us();
    sum += read_bare(statement, buckets[0].t_ms,
                     buckets[0].t_ms + (int64_t)(plot.count * plot.width_s * 1000));
    theirs[i] = used_us() - start;
    ratio[i] = ours[i] / theirs[i];
  }
  good = good && sum > 0 && plot.count > 700 && buckets[500].count > 0;
  if (good) {
    double median = quantile(ratio, plots, 0.5);

    printf("record, plot of a year of one point: %d stretches from %d hourly rows\n", plot.count,
           YEAR_HOURS);
    printf("  ours %.2f ms   bare %.2f ms (processor time, medians of %d)\n",
           quantile(ours, plots, 0.5) / 1e3, quantile(theirs, plots, 0.5) / 1e3, plots);
    printf("  ours over bare: median %.2f [%.2f, %.2f]; target <= %.2f%s\n", median,
           quantile(ratio, plots, 0.25), quantile(ratio, plots, 0.75), plot_ceiling,
           median > plot_ceiling ? "  ABOVE ITS TARGET" : "");
  } else {
    printf("  FAULT: %s\n", r.err.text[0] ? r.err.text : "the plot is not that of a year");
  }
  sqlite3_finalize(statement);
  sqlite3_close(db);
  recorded_release(&r);
  return good;
}

int main(int argc, char **argv)
{
  int batches = argc > 1 ? (int)strtol(argv[1], NULL, 10) : 2000;
  int size = argc > 2 ? (int)strtol(argv[2], NULL, 10) : 50;

  if (batches < 1 || batches > TURNS_MOST * TURN || size < 1 || size > SIZE_MOST) {
    fputs("usage: bench_record [BATCHES [SIZE]]\n", stderr);
    return 2;
  }
  bool good = bench_adding(batches, size);

  good &= bench_plot(batches < 200 ? 20 : 200);
  return good ? 0 : 1;
}
