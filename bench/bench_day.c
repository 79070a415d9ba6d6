/*
 * The day's two heavy questions.  A week of 400 bookings over the 14 stations of the demo suite, made without
 * clashes at a station but with too many at once for the air, to within 5 % of the best: by inward-plan, and the
 * very same file by GLPK's glpsol in a process of its own.  And weeks drawn by chance, per second.
 *
 *     bench_day SUITE INWARD-PLAN [BOOKINGS [SECONDS]]
 */
#include "day/day.h"
#include "numeric/numeric.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

enum { DAYS = 5, BOOKINGS_MOST = 2000, WEEKS = 1000, ROUNDS_MOST = 40 };
static const int64_t monday_ms = 1796169600000; /* 2026-12-02 is a Wednesday; any week will do */

static double clock_s(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static struct facility *load(const char *path)
{
  static char bytes[1 << 20];
  FILE *file = fopen(path, "rb");
  struct complaints complaints;
  struct arena arena;

  if (!file)
    return NULL;
  const struct facility_text text = {path, bytes, fread(bytes, 1, sizeof bytes, file)};

  fclose(file);
  arena_init(&arena, 16 << 20);
  complaints_init(&complaints, &arena);
  struct facility *facility = facility_read(&text, NULL, 0, &complaints);

  arena_release(&arena);
  return facility;
}

/* Random wishes; a station is booked by one at a time, people like the early afternoon. */
static int invent(const struct facility *f, int wanted, struct day_booking *list)
{
  struct numeric_random random;
  int count = 0;

  numeric_random_seed(&random, 14);
  for (int tries = 0; count < wanted && tries < 200 * wanted; tries++) {
    int station = numeric_random_below(&random, f->station_count);
    int first = 32 + numeric_random_below(&random, 36),
        length = 2 + numeric_random_below(&random, 4);
    int64_t start_ms = monday_ms + (int64_t)numeric_random_below(&random, DAYS) * 86400000 +
                       (int64_t)first * DAY_QUARTER_MS;
    int64_t end_ms = start_ms + (int64_t)length * DAY_QUARTER_MS;
    bool free = true;

    for (int i = 0; i < count && free; i++)
      free = list[i].station != station || list[i].end_ms <= start_ms || list[i].start_ms >= end_ms;
    if (free)
      list[count++] = (struct day_booking){.id = "b",
                                           .station = station,
                                           .start_ms = start_ms,
                                           .end_ms = end_ms,
                                           .who = "",
                                           .what = "",
                                           .family = ""};
  }
  return count;
}

static bool write_model(const struct day_model *m, const char *path)
{
  FILE *file = fopen(path, "w");
  struct buf text;

  if (!file)
    return false;
  buf_init(&text, (size_t)512 << 20);
  day_model_mps(m, &text);
  bool fine = !text.full && fwrite(text.text, 1, text.used, file) == text.used;

  buf_release(&text);
  return fclose(file) == 0 && fine;
}

/* "@ found COST BOUND SECONDS"; anything else leaves all as it was. */
static void read_end(const char *line, bool *found, double *cost, double *bound)
{
  char *end;

  if (strncmp(line, "@ ", 2) != 0)
    return;
  *found = strncmp(line, "@ found ", 8) == 0;
  *cost = strtod(line + 2 + strcspn(line + 2, " "), &end);
  *bound = strtod(end, NULL);
}

static double ours_s(const char *program, const char *path, int seconds, const struct day_model *m,
                     bool *chosen, double *gap_ratio, bool *found)
{
  char command[600], line[200];
  double cost = 0, bound = 0, began_s = clock_s();

  snprintf(command, sizeof command, "'%s' '%s' %d 0.05", program, path, seconds);
  FILE *said = popen(command, "r");

  *found = false;
  memset(chosen, 0, (size_t)m->column_count * sizeof *chosen);
  while (said && fgets(line, sizeof line, said)) {
    if (strncmp(line, "@x ", 3) == 0)
      chosen[strtol(line + 3, NULL, 10)] = true;
    else
      read_end(line, found, &cost, &bound);
  }
  if (said)
    pclose(said);
  *gap_ratio = cost > 0 ? (cost - bound) / cost : 0;
  return clock_s() - began_s;
}

/* True where glpsol says that the gap is reached. */
static bool theirs(const char *path, int seconds, double *took_s)
{
  char command[600], line[400];
  double began_s = clock_s();
  bool reached = false;

  snprintf(command, sizeof command,
           "glpsol --freemps '%s' --mipgap 0.05 --cuts --fpump --tmlim %d 2>&1", path, seconds);
  FILE *said = popen(command, "r");

  while (said && fgets(line, sizeof line, said))
    reached = reached || strstr(line, "GAP TOLERANCE REACHED") || strstr(line, "INTEGER OPTIMAL");
  if (said)
    pclose(said);
  *took_s = clock_s() - began_s;
  return reached;
}

static void plan(const struct facility *f, struct day_air *air, const char *program, int wanted,
                 int seconds)
{
  static struct day_booking list[BOOKINGS_MOST];
  char folder[] = "/tmp/inward-bench-day-XXXXXX", path[64];
  const struct day_bookings wishes = {invent(f, wanted, list), list};
  double total_s = 0, last_s = 0, gap = 0, theirs_s = 0;
  struct arena arena;
  int rounds = 0, cuts = 1;
  bool found = true;

  arena_init(&arena, (size_t)2 << 30);
  if (!mkdtemp(folder))
    return;
  snprintf(path, sizeof path, "%s/day.mps", folder);
  struct day_model *m =
      day_model_new(f, air, &wishes, monday_ms, monday_ms + DAYS * (int64_t)86400000, &arena);
  bool *chosen = m ? ARENA_ARRAY(&arena, bool, (size_t)m->column_count) : NULL;

  if (!m || !chosen)
    return;
  for (; cuts > 0 && found && rounds < ROUNDS_MOST && total_s < seconds; rounds++) {
    if (!write_model(m, path))
      return;
    last_s = ours_s(program, path, seconds, m, chosen, &gap, &found);
    total_s += last_s;
    cuts = found ? day_model_cut(m, air, chosen, &arena) : 0;
  }
  printf(
      "%d bookings, %d stations: %d columns, %d rows; %s after %d rounds, %.2f s in all, %.0f %% from "
      "the best at most; the last round %.2f s\n",
      wishes.count, f->station_count, m->column_count, m->row_count,
      found && cuts == 0 ? "the real air agrees" : "no agreement", rounds, total_s, 100 * gap,
      last_s);
  bool reached = theirs(path, seconds, &theirs_s);

  printf("the same file by glpsol: %s in %.2f s; ratio %s%.1f\n",
         reached ? "within 5 %" : "not within 5 %", theirs_s, reached ? "" : "over ",
         theirs_s / fmax(last_s, 1e-3));
  remove(path);
  rmdir(folder);
  arena_release(&arena);
}

static void weeks(const struct facility *f, struct day_air *air)
{
  static struct day_booking list[BOOKINGS_MOST];
  struct day_habit each = {.comes_ratio = 0.9,
                           .up_ratio = 0.8,
                           .late_s = 300,
                           .late_spread_s = 600,
                           .over_s = 600,
                           .over_spread_s = 900,
                           .opening_m = (double)NAN};
  struct day_habit stations[DAY_STATIONS_MOST];
  const struct day_habits habits = {.stations = stations};
  const struct day_bookings bookings = {invent(f, 60, list), list};
  const struct day_weeks_job job = {.facility = f,
                                    .zone = when_utc(),
                                    .air = air,
                                    .bookings = &bookings,
                                    .habits = &habits,
                                    .monday_ms = monday_ms,
                                    .week_count = WEEKS,
                                    .group_count = 2,
                                    .seed = 1};
  static struct day_weeks out;
  struct arena arena;
  struct err err = {0};
  double began_s = clock_s();

  for (int i = 0; i < f->station_count; i++)
    stations[i] = each;
  arena_init(&arena, (size_t)256 << 20);
  if (day_weeks_ask(&job, &arena, &out, &err) == ERR_OK)
    printf("%d weeks of %d bookings, each twice: %.2f s, %.0f weeks a second, %ld solves\n", WEEKS,
           bookings.count, clock_s() - began_s, 2 * WEEKS / (clock_s() - began_s),
           day_air_solves(air));
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  struct facility *f = argc > 2 ? load(argv[1]) : NULL;
  struct err err = {0};
  struct day_air *air = f ? day_air_new(f, &err) : NULL;

  if (!air) {
    fputs("usage: bench_day SUITE INWARD-PLAN [BOOKINGS [SECONDS]]\n", stderr);
    return 2;
  }
  weeks(f, air);
  plan(f, air, argv[2], argc > 3 ? (int)strtol(argv[3], NULL, 10) : 400,
       argc > 4 ? (int)strtol(argv[4], NULL, 10) : 120);
  day_air_free(air);
  facility_free(f);
  return 0;
}
