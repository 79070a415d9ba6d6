#include "day/day.h"
#include "numeric/numeric.h"

#include "asked.h"
#include "check.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/*
 * Whole schedules small enough to try every one: four stations of different appetite, four bookings, moves of
 * up to an hour.  What the solver of the program finds, cut by cut, is the best of all that people, stations
 * and the real air allow, asked quarter hour by quarter hour.
 */
static const char suite_text[] =
    "inward: 1 suite\nname: T\nrooms: {R: {}}\n"
    "mains: {M: {capacity: {value: 3500 m3/h, short: {enter: 100 %, leave: 99 %, dwell: 1 s}}}}\n"
    "day: {within: 1 h, from: 8 h, to: 13 h}\n"
    "stations:\n"
    "  H1: {kind: other, room: R, main: M, flow: {two-state: {parked: 300 m3/h, work: 900 m3/h}}}\n"
    "  H2: {kind: other, room: R, main: M, flow: {two-state: {parked: 300 m3/h, work: 1100 m3/h}}}\n"
    "  H3: {kind: other, room: R, main: M, flow: {two-state: {parked: 300 m3/h, work: 1300 m3/h}}}\n"
    "  H4: {kind: other, room: R, main: M, flow: {two-state: {parked: 300 m3/h, work: 1600 m3/h}}}\n";

enum { BOOKINGS = 4, SECONDS = 60 };

static const char *program; /* inward-plan */
static struct asked suite;
static struct day_air *air;
static struct arena arena;
static struct day_booking wishes[BOOKINGS];

/* ---- instances ---- */

static const int64_t day_ms = (int64_t)20000 * 86400000;

static void invent(uint64_t seed)
{
  static const char *const people[] = {"U1", "U2", "U3", "U1"};
  struct numeric_random random;

  numeric_random_seed(&random, seed);
  for (int i = 0; i < BOOKINGS; i++) {
    int64_t start_ms = day_ms + (int64_t)(36 + numeric_random_below(&random, 4)) * DAY_QUARTER_MS;

    wishes[i] = (struct day_booking){
        .id = "b",
        .station = numeric_random_below(&random, 4),
        .start_ms = start_ms,
        .end_ms = start_ms + (int64_t)(2 + numeric_random_below(&random, 3)) * DAY_QUARTER_MS,
        .who = people[i],
        .what = "",
        .family = ""};
  }
}

/* ---- every schedule ---- */

struct picked {
  const struct day_column *columns[BOOKINGS];
};

static bool covers(const struct day_column *c, int quarter)
{
  return quarter >= c->first && quarter < c->first + c->length;
}

static bool is_allowed(const struct picked *p, int quarters)
{
  for (int q = 0; q < quarters; q++) {
    uint64_t set = 0;

    for (int i = 0; i < BOOKINGS; i++) {
      if (!covers(p->columns[i], q))
        continue;
      for (int j = 0; j < i; j++)
        if (covers(p->columns[j], q) &&
            (wishes[i].station == wishes[j].station || strcmp(wishes[i].who, wishes[j].who) == 0))
          return false;
      set |= (uint64_t)1 << wishes[i].station;
    }
    if (set && day_air_level(air, set) == FACILITY_SHORT)
      return false;
  }
  return true;
}

static double best_of_all(const struct day_model *m, int booking, struct picked *p, double cost,
                          double best)
{
  if (cost >= best)
    return best;
  if (booking == BOOKINGS)
    return is_allowed(p, m->quarter_count) ? cost : best;
  for (int c = 0; c < m->column_count; c++)
    if (m->columns[c].booking == booking) {
      p->columns[booking] = &m->columns[c];
      best = best_of_all(m, booking + 1, p, cost + m->columns[c].cost_count, best);
    }
  return best;
}

/* ---- the solver of the program ---- */

static enum err_code solve(void *arg, const struct day_model *model, double seconds_s,
                           struct day_solution *out, struct err *err)
{
  const char *path = arg;
  char command[600], line[200];
  struct buf text;

  buf_init(&text, 64 << 20);
  day_model_mps(model, &text);
  FILE *file = fopen(path, "w");

  if (!file)
    return err_set(err, ERR_IO, "no file");
  fwrite(text.text, 1, text.used, file);
  fclose(file);
  buf_release(&text);
  snprintf(command, sizeof command, "'%s' '%s' %.0f 0", program, path, seconds_s);
  FILE *said = popen(command, "r");

  memset(out->chosen, 0, (size_t)model->column_count * sizeof *out->chosen);
  out->found = false;
  while (said && fgets(line, sizeof line, said)) {
    char *end;

    if (strncmp(line, "@x ", 3) == 0)
      out->chosen[strtol(line + 3, NULL, 10)] = true;
    if (strncmp(line, "@ ", 2) != 0)
      continue;
    out->found = strncmp(line, "@ found ", 8) == 0;
    out->cost_count = strtod(line + 2 + strcspn(line + 2, " "), &end);
    out->bound_count = strtod(end, &end);
    out->took_s = strtod(end, NULL);
  }
  return said && pclose(said) == 0 ? ERR_OK : err_set(err, ERR_IO, "no answer");
}

static struct day_plan planned(void)
{
  char folder[] = "/tmp/inward-test-plan-XXXXXX", path[64];
  const struct day_bookings list = {BOOKINGS, wishes};
  struct day_request request = {.facility = suite.facility, .air = air};
  struct day_answer *answer = ARENA_NEW(&arena, struct day_answer);
  const struct day_plan_job job = {.solve = solve, .arg = path, .seconds_s = SECONDS};
  struct day_plan plan = {0};
  struct err err = {0};

  if (!answer || !mkdtemp(folder))
    return plan;
  snprintf(path, sizeof path, "%s/day.mps", folder);
  answer->request = &request;
  answer->day = list;
  answer->from_ms = day_ms;
  answer->to_ms = day_ms + 86400000;
  CHECK_INT(day_plan(answer, &job, &arena, &plan, &err), ERR_OK);
  CHECK_STR(err.text, "");
  remove(path);
  remove(folder);
  return plan;
}

static void the_schedule_found_is_the_best_of_all_that_the_real_air_allows(void)
{
  const struct day_bookings list = {BOOKINGS, wishes};
  int moved = 0;

  for (uint64_t seed = 1; seed <= 8; seed++) {
    struct picked picked = {0};

    CHECK_CASE("instance %d", (int)seed);
    arena_release(&arena);
    arena_init(&arena, (size_t)256 << 20);
    invent(seed);
    struct day_model *m =
        day_model_new(suite.facility, air, &list, day_ms, day_ms + 86400000, &arena);

    REQUIRE(m != NULL);
    double best = best_of_all(m, 0, &picked, 0, INFINITY);
    struct day_plan plan = planned();

    CHECK(plan.found);
    CHECK(plan.agrees);
    CHECK_NEAR(plan.cost_count, best, 0, 1e-6);
    CHECK_NEAR(plan.bound_count, best, 0, 1e-6);
    moved += plan.moved_count;
  }
  CHECK(moved >= 4);
}

static void a_row_about_air_takes_away_nothing_that_the_real_air_allows(void)
{
  const struct day_bookings list = {BOOKINGS, wishes};

  arena_release(&arena);
  arena_init(&arena, (size_t)256 << 20);
  invent(3);
  struct day_model *m =
      day_model_new(suite.facility, air, &list, day_ms, day_ms + 86400000, &arena);

  REQUIRE(m != NULL);
  for (int r = 0; r < m->row_count; r++)
    for (uint64_t set = 0; set < 16; set++) {
      double sum = 0, seen = 0;

      if (m->rows[r].equal || m->rows[r].most_count <= 1 ||
          day_air_level(air, set) == FACILITY_SHORT)
        continue;
      for (int s = 0; s < 4; s++)
        for (int i = 0; i < m->rows[r].count && (set >> s & 1); i++)
          if (wishes[m->columns[m->rows[r].columns[i]].booking].station == s) {
            sum += m->rows[r].values[i];
            seen++;
            break;
          }
      CHECK(seen == 0 || sum <= m->rows[r].most_count + 1e-6);
    }
}

static void a_choice_that_is_short_is_cut_off_and_a_fine_one_is_not(void)
{
  static bool chosen[2000];
  const struct day_bookings list = {BOOKINGS, wishes};

  arena_release(&arena);
  arena_init(&arena, (size_t)256 << 20);
  for (int i = 0; i < BOOKINGS; i++)
    wishes[i] = (struct day_booking){.id = "b",
                                     .station = i,
                                     .start_ms = day_ms + 40 * (int64_t)DAY_QUARTER_MS,
                                     .end_ms = day_ms + 44 * (int64_t)DAY_QUARTER_MS,
                                     .who = "",
                                     .what = "",
                                     .family = ""};
  struct day_model *m =
      day_model_new(suite.facility, air, &list, day_ms, day_ms + 86400000, &arena);

  REQUIRE(m != NULL && m->column_count < 2000);
  for (int c = 0; c < m->column_count; c++)
    chosen[c] = m->columns[c].cost_count <= 0;
  int rows = m->row_count;

  CHECK_INT(day_model_cut(m, air, chosen, &arena), 1);
  CHECK(m->row_count > rows);
  for (int c = 0; c < m->column_count; c++)
    chosen[c] = m->columns[c].length == 0;
  CHECK_INT(day_model_cut(m, air, chosen, &arena), 0);
}

/* ---- weeks drawn by chance ---- */

static struct day_weeks drawn(double comes_ratio, int weeks, int groups, uint64_t seed)
{
  const struct day_bookings list = {BOOKINGS, wishes};
  struct day_habit each = {.comes_ratio = comes_ratio,
                           .up_ratio = 1,
                           .late_spread_s = 1,
                           .over_spread_s = 1,
                           .opening_m = NAN};
  struct day_habit habits_of[4] = {each, each, each, each};
  const struct day_habits habits = {.stations = habits_of};
  struct day_weeks_job job = {.facility = suite.facility,
                              .zone = when_utc(),
                              .air = air,
                              .bookings = &list,
                              .habits = &habits,
                              .monday_ms = day_ms,
                              .week_count = weeks,
                              .group_count = groups,
                              .seed = seed};
  struct day_weeks out;
  struct err err = {0};

  arena_release(&arena);
  arena_init(&arena, (size_t)256 << 20);
  for (int i = 0; i < BOOKINGS; i++)
    wishes[i] = (struct day_booking){.id = "b",
                                     .station = i,
                                     .start_ms = day_ms + 40 * (int64_t)DAY_QUARTER_MS,
                                     .end_ms = day_ms + 44 * (int64_t)DAY_QUARTER_MS,
                                     .who = "",
                                     .what = "",
                                     .family = ""};
  CHECK_INT(day_weeks_ask(&job, &arena, &out, &err), ERR_OK);
  return out;
}

/* All four at once are short, as are some three of them: by chance alone the same as day_chance says, and
 * on the fifth of days on which one draw decides for all, as often as they come. */
static void drawn_weeks_are_short_as_often_as_chance_says(void)
{
  static const double up[] = {0.6, 0.6, 0.6, 0.6};
  struct day_weeks w = drawn(0.6, 20000, 0, 7);
  double apart = day_chance_ratio(air, 15, up, 4, FACILITY_SHORT);
  double together = suite.facility->day.together_ratio;

  CHECK_NEAR(w.hours[10].short_now / 20000.0, (1 - together) * apart + together * 0.6, 0, 0.012);
  CHECK_INT(w.hours[9].short_now, 0);
  CHECK_INT(w.worst, 10);
  CHECK(w.binding != NULL);
}

static void the_same_seed_draws_the_same_weeks_and_another_does_not(void)
{
  struct day_weeks a = drawn(0.5, 500, 2, 1), b = drawn(0.5, 500, 2, 1), c = drawn(0.5, 500, 2, 2);

  CHECK_INT(a.hours[10].short_then, b.hours[10].short_then);
  CHECK_INT(a.without_place, b.without_place);
  CHECK(a.hours[10].short_then != c.hours[10].short_then ||
        a.hours[10].short_now != c.hours[10].short_now);
}

static void more_groups_make_no_hour_of_the_week_better_off_in_all(void)
{
  struct day_weeks w = drawn(0.5, 2000, 5, 3);
  long now = 0, then = 0;

  for (int h = 0; h < w.hour_count; h++) {
    now += w.hours[h].short_now;
    then += w.hours[h].short_then;
  }
  CHECK(then > now);
}

int main(int argc, char **argv)
{
  struct err err = {0};

  program = argc > 1 ? argv[1] : "build/inward-plan";
  check_begin(1, argv);
  if (!suite_from_text(&suite, suite_text) || !(air = day_air_new(suite.facility, &err)))
    return 1;
  RUN(the_schedule_found_is_the_best_of_all_that_the_real_air_allows);
  RUN(a_row_about_air_takes_away_nothing_that_the_real_air_allows);
  RUN(a_choice_that_is_short_is_cut_off_and_a_fine_one_is_not);
  RUN(drawn_weeks_are_short_as_often_as_chance_says);
  RUN(the_same_seed_draws_the_same_weeks_and_another_does_not);
  RUN(more_groups_make_no_hour_of_the_week_better_off_in_all);
  day_air_free(air);
  suite_release(&suite);
  arena_release(&arena);
  return check_end();
}
