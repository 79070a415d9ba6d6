/*
 * How many questions a second: may this person start this process at this station then?
 *
 *     bench_may SUITE_FOLDER [SECONDS]
 *
 * Whole answers of people and rules (without chemistry and air, which are asked once per process and
 * station), and the house rules alone against the same rules as one prepared statement of SQLite in
 * this process, on the same facts.  Fails where the two judge a rule differently.
 */
#include "cli/may_load.h"
#include "rule_sql.h"

#include "may/may_impl.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { ROUNDS = 5, ASKED_MOST = 4096 };

static double now_s(void)
{
  struct timespec t;

  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int by_size(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

static double median(double *list)
{
  qsort(list, ROUNDS, sizeof *list, by_size);
  return list[ROUNDS / 2];
}

/* Every person with every process at each of its stations, through a week. */
static int questions(const struct may_place *p, struct may_quick *out, const int *company)
{
  static const int64_t monday_ms = 1796022000000; /* 2026-11-30 07:00 UTC */
  int count = 0;

  for (int who = 0; who < p->people->count; who++)
    for (int what = 0; what < p->processes->count; what++)
      for (int k = 0; k < p->processes->list[what].station_count && count < ASKED_MOST; k++) {
        out[count] = (struct may_quick){.person = who,
                                        .process = what,
                                        .station = p->processes->list[what].stations[k],
                                        .t_ms = monday_ms + (int64_t)(count * 7919 % 10080) * 60000,
                                        .inside_count = count % 3,
                                        .inside = company};
        count++;
      }
  return count;
}

static void whole_answers(const struct may *may, const struct may_quick *list, int count,
                          double round_s)
{
  double per_s[ROUNDS];
  int of_verdict[3] = {0};

  for (int round = 0; round < ROUNDS; round++) {
    double start = now_s();
    long done = 0;

    while (now_s() - start < round_s)
      for (int i = 0; i < count; i++, done++) {
        struct arena arena;

        arena_init(&arena, 8 << 20);
        of_verdict[may_quickly(may, &list[i], &arena)]++;
        arena_release(&arena);
      }
    per_s[round] = (double)done / (now_s() - start);
  }
  double half = median(per_s); /* sorts them */

  printf("people and rules together: %.0f questions a second (median of %d; %.0f to %.0f)\n", half,
         ROUNDS, per_s[0], per_s[ROUNDS - 1]);
  if (of_verdict[MAY_NO] == 0) {
    printf("no question was answered no: the week is too kind to measure\n");
    exit(1);
  }
}

/* The facts of each question, so that both sides judge and neither gathers. */
static struct rule_value *facts_of(const struct may *may, const struct may_quick *list, int count,
                                   struct arena *arena)
{
  static const struct may_request nothing = {.beside_said = true, .withdrawn_known = true};
  int slots = may->set->slot_count;
  struct rule_value *all = ARENA_ARRAY(arena, struct rule_value, (size_t)count * (size_t)slots);

  for (int i = 0; i < count; i++) {
    struct may_state s = {.may = may,
                          .request = &nothing,
                          .person = list[i].person,
                          .process = &may->place.processes->list[list[i].process],
                          .uses = &may->uses[list[i].process],
                          .station = list[i].station,
                          .inside_known = i % 2 == 0,
                          .beside_known = i % 3 == 0,
                          .lasts_s = 3600};

    may_set_time(&s, list[i].t_ms);
    may_fill(&s, &all[i * slots], arena);
  }
  return all;
}

static double ours_per_s(const struct rule_set *set, const struct rule_value *all, int count,
                         double round_s, long *sum_out)
{
  double start = now_s();
  long done = 0;

  while (now_s() - start < round_s)
    for (int i = 0; i < count; i++, done++)
      for (int r = 0; r < set->count; r++)
        *sum_out += (long)rule_says(set, r, &all[i * set->slot_count]);
  return (double)done / (now_s() - start);
}

static double sqlite_per_s(const struct rule_set *set, sqlite3_stmt *statement,
                           const struct rule_value *all, int count, double round_s, long *sum_out)
{
  double start = now_s();
  long done = 0;

  while (now_s() - start < round_s)
    for (int i = 0; i < count; i++, done++) {
      sqlite3_reset(statement);
      rule_sql_bind(statement, set, &all[i * set->slot_count]);
      if (sqlite3_step(statement) != SQLITE_ROW)
        exit(1);
      for (int r = 0; r < set->count; r++)
        *sum_out += (long)rule_sql_column(statement, r);
    }
  return (double)done / (now_s() - start);
}

/* Both judge every rule of every question alike, or nothing is worth measuring. */
static void must_agree(const struct rule_set *set, sqlite3_stmt *statement,
                       const struct rule_value *all, int count)
{
  for (int i = 0; i < count; i++) {
    sqlite3_reset(statement);
    rule_sql_bind(statement, set, &all[i * set->slot_count]);
    if (sqlite3_step(statement) != SQLITE_ROW)
      exit(1);
    for (int r = 0; r < set->count; r++)
      if (rule_sql_column(statement, r) != rule_says(set, r, &all[i * set->slot_count])) {
        printf("question %d, rule %s: the two differ\n", i, set->list[r].said->part.id);
        exit(1);
      }
  }
}

static void rules_alone(const struct may *may, const struct may_quick *list, int count,
                        double round_s)
{
  const struct rule_set *set = may->set;
  double ours[ROUNDS], theirs[ROUNDS];
  long sums[2] = {0};
  sqlite3 *db = NULL;
  sqlite3_stmt *statement = NULL;
  struct arena arena;
  struct buf sql;

  arena_init(&arena, (size_t)1 << 30);
  buf_init(&sql, 1 << 16);
  rule_sql_all(set, &sql);
  if (sqlite3_open(":memory:", &db) != SQLITE_OK ||
      sqlite3_prepare_v2(db, sql.text, -1, &statement, NULL) != SQLITE_OK)
    exit(1);
  const struct rule_value *all = facts_of(may, list, count, &arena);

  must_agree(set, statement, all, count);
  for (int round = 0; round < ROUNDS; round++) { /* in turns, for the machine is not ours alone */
    ours[round] = ours_per_s(set, all, count, round_s, &sums[0]);
    theirs[round] = sqlite_per_s(set, statement, all, count, round_s, &sums[1]);
  }
  double a = median(ours), b = median(theirs);

  printf("%d rules alone, facts given: %.0f a second (%.0f to %.0f); as one prepared statement of "
         "SQLite %s: %.0f (%.0f to %.0f); ratio %.1f\n",
         set->count, a, ours[0], ours[ROUNDS - 1], sqlite3_libversion(), b, theirs[0],
         theirs[ROUNDS - 1], a / b);
  sqlite3_finalize(statement);
  sqlite3_close(db);
  buf_release(&sql);
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  double round_s = argc > 2 ? strtod(argv[2], NULL) : 1;
  struct cli_may m = {0};
  struct err err = {0};
  char path[4096];
  int company[MAY_INSIDE_MAX] = {1, 5};
  static struct may_quick list[ASKED_MOST];

  if (argc < 2)
    return 2;
  snprintf(path, sizeof path, "%s/suite.yaml", argv[1]);
  struct facility *facility = cli_load(path, NULL, 0, &err);

  if (!facility || cli_may_load(facility, path, when_utc(), roster_day("2026-11-30"), &m, &err)) {
    printf("%s\n", err.text);
    return 3;
  }
  int count = questions(&m.place, list, company);

  printf("%d questions: %d people, %d processes, %d rules of the demo suite\n", count,
         m.place.people->count, m.place.processes->count, m.may->set->count);
  whole_answers(m.may, list, count, round_s);
  rules_alone(m.may, list, count, round_s);
  cli_may_release(&m);
  facility_free(facility);
  return 0;
}
