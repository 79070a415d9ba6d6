/*
 * Invented walks in thousands.  A true place is drawn within the ± of its suite file, or one thing of
 * it is changed; instruments and hands err within their limits; the readings go through the walk test.
 * `test_walk_trials table` prints what docs/handbook.md quotes.
 */
#include "numeric/numeric.h"
#include "walked.h"

#include <math.h>
#include <stdlib.h>

static const char quillmere[] = "examples/quillmere/suite.yaml";
static const char shown[] = "examples/quillmere/walk.yaml";
static const char aldermoss[] = "examples/paper-only/suite.yaml";

static double normal(struct numeric_random *random)
{
  double u = 1.0 - numeric_random_unit(random), v = numeric_random_unit(random);

  return sqrt(-2.0 * log(u)) * cos(2.0 * acos(-1.0) * v);
}

/* ---- one true place, and what its instruments show ---- */

struct trial {
  struct walked *w;
  struct facility_moved *moved;
  struct numeric_random random;
  double zero_Pa; /* of the manometer: off by this beside its own ± */
};

static void draw_place(struct trial *t)
{
  for (int i = 0; i < t->w->facility->input_count; i++)
    facility_move(t->moved, i, normal(&t->random) / 2); /* ± is k = 2 */
}

/* A reading as an instrument in a hand shows it: instrument and swing anywhere within their limits,
 * the sash a little off, the model's own ± drawn anew for each. */
static double shown_si(struct trial *t, const struct walk_reading *r, double true_si)
{
  const struct facility_gauge *g = &t->w->facility->walk.gauges[r->quantity.of];
  double instrument_si = fmax(g->reading_ratio * fabs(true_si), g->least_si);
  double setting_si = sqrt(3.0) * r->band.setting_si; /* back to a limit; the swing is in it */

  return true_si + numeric_random_between(&t->random, -1, 1) * instrument_si +
         numeric_random_between(&t->random, -1, 1) * setting_si +
         normal(&t->random) * g->model_si / 2 +
         (r->quantity.of == FACILITY_GAUGE_ROOM ? t->zero_Pa : 0.0);
}

static struct walk_readings *read_place(struct trial *t, struct arena *arena)
{
  struct walk_plan *plan = t->w->plan;
  struct walk_readings *out = walk_blank(plan, arena);
  double *true_si = ARENA_ARRAY(arena, double, (size_t)plan->reading_count + 1);

  walk_values(facility_moved_as(t->moved), plan->steps, plan->step_count, plan->readings, true_si);
  for (int i = 0; i < plan->reading_count; i++) {
    out->entries[i].read = isfinite(true_si[i]);
    out->entries[i].value_si = shown_si(t, &plan->readings[i], true_si[i]);
  }
  return out;
}

/* ---- nothing changed ---- */

static int walks_without_a_miss(struct walked *w, int trials)
{
  struct trial t = {.w = w, .moved = facility_moved_new(w->facility, &w->arena)};
  int clean = 0;

  numeric_random_seed(&t.random, 14);
  for (int i = 0; i < trials; i++) {
    struct arena arena;
    int outside = 0;

    arena_init(&arena, (size_t)16 << 20);
    draw_place(&t);

    struct walk_readings *r = read_place(&t, &arena);

    for (int k = 0; k < w->plan->reading_count; k++)
      outside += fabs(r->entries[k].value_si - w->plan->readings[k].predicted_si) >
                 w->plan->readings[k].band.half_si;
    clean += outside == 0;
    arena_release(&arena);
  }
  return clean;
}

enum { TRIALS = 1000 };

static void a_place_as_its_file_says_is_walked_without_a_miss_as_often_as_promised(void)
{
  static const struct {
    const char *suite, *overlay;
  } places[] = {{quillmere, shown}, {quillmere, NULL}, {aldermoss, NULL}};

  for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
    struct walked w;

    CHECK_CASE("%s", places[i].suite);
    if (walked_open(&w, places[i].suite, places[i].overlay, NULL, true)) {
      int clean = walks_without_a_miss(&w, TRIALS);

      CHECK_CASE("%s: %d of %d without a miss", places[i].suite, clean, TRIALS);
      CHECK(clean >= w.facility->walk.covers_ratio * TRIALS);
    }
    walked_close(&w);
  }
}

/* ---- one thing changed ---- */

static const struct change {
  const char *suite, *overlay, *part, *key; /* part NULL: the manometer's zero */
  double by_ratio;                          /* times as written; or Pa */
  const char *words;
  int least_seen, least_named; /* of 100: some miss; the right thing among the causes */
} changes[] = {
    {quillmere, shown, "A1", "work", 0.6, "A1 draws 0.6 of its work flow", 95, 60},
    {quillmere, shown, "S4", "work", 0.6, "S4 draws 0.6 of its work flow", 95, 60},
    {quillmere, shown, "MU/Wet", "pressure", 0.5, "Wet is held at 5 Pa, not 10", 95, 90},
    {quillmere, shown, "MU/Litho", "pressure", 0.7, "Litho is held at 12.6 Pa, not 18", 95, 90},
    {quillmere, shown, "MU", "most", 0.6, "the make-up unit gives 0.6 of its most", 95, 75},
    {quillmere, shown, "AF", "curve", 0.75, "acid fans: 0.75 of their pressure", 90, 80},
    {quillmere, shown, "SF", "curve", 0.75, "solvent fan: 0.75 of its pressure", 90, 80},
    {quillmere, shown, "L-films", "area", 2.5, "leak of Films 2.5 times as large", 0, 0},
    {quillmere, shown, NULL, NULL, 3.0, "the manometer's zero is 3 Pa off", 95, 50},
    {aldermoss, NULL, "Gowning-walls", "flow", 0.4, "leak of Gowning 0.4 of what it was", 90, 80},
    {aldermoss, NULL, "Gowning-walls", "flow", 2.0, "leak of Gowning twice as large", 0, 0},
    {aldermoss, NULL, "H4", "velocity", 0.7, "H4 has 0.7 of its face velocity", 95, 90},
    {aldermoss, NULL, "MAU-1/Bay", "pressure", 0.6, "Bay is held at 0.6 of its pressure", 95, 75},
};

static int input_of(const struct facility *f, const struct change *c)
{
  for (int i = 0; c->part && i < f->input_count; i++)
    if (strcmp(f->inputs[i].part, c->part) == 0 && strstr(f->inputs[i].key, c->key))
      return i;
  return -1;
}

static bool is_named(const struct walk_result *result, int input)
{
  for (int k = 0; k < result->cause_count; k++)
    if (input >= 0 ? result->causes[k].input == input
                   : strstr(result->causes[k].figure, "manometer's zero") != NULL)
      return true;
  return false;
}

struct tally {
  int seen, named, first;
};

static struct tally try_change(struct walked *w, const struct change *c, int trials)
{
  struct trial t = {.w = w, .moved = facility_moved_new(w->facility, &w->arena)};
  int input = input_of(w->facility, c);
  struct tally out = {0};

  CHECK(input >= 0 || !c->part);
  t.zero_Pa = c->part ? 0.0 : c->by_ratio;
  numeric_random_seed(&t.random, 41);
  for (int i = 0; i < trials; i++) {
    struct arena arena;
    struct err err = {0};

    arena_init(&arena, (size_t)64 << 20);
    draw_place(&t);
    if (input >= 0) {
      const struct facility_input *in = &w->facility->inputs[input];

      facility_move(t.moved, input, (c->by_ratio - 1) * in->value_si / in->plus_minus_si);
    }
    struct walk_result *result = walk_compare(w->plan, read_place(&t, &arena), &arena, &err);

    out.seen += result->outside > 0;
    out.named += is_named(result, input);
    out.first += result->cause_count > 0 && input >= 0 && result->causes[0].input == input;
    arena_release(&arena);
  }
  return out;
}

static void a_changed_place_is_seen_and_the_right_figure_named(void)
{
  const int trials = 4;

  for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
    const struct change *c = &changes[i];
    struct walked w;

    CHECK_CASE("%s", c->words);
    if (walked_open(&w, c->suite, c->overlay, NULL, false)) {
      struct tally tally = try_change(&w, c, trials);

      CHECK_CASE("%s: seen %d, named %d of %d", c->words, tally.seen, tally.named, trials);
      CHECK(tally.seen * 100 >= c->least_seen * trials);
      CHECK(tally.named * 100 >= c->least_named * trials);
    }
    walked_close(&w);
  }
}

static int print_table(void)
{
  const int trials = 100;

  printf(
      "| what differs from the file | some reading outside | named among what it may mean | named "
      "first |\n|---|---|---|---|\n");
  for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
    const struct change *c = &changes[i];
    struct walked w;

    if (walked_open(&w, c->suite, c->overlay, NULL, false)) {
      struct tally tally = try_change(&w, c, trials);

      printf("| %s: %s | %.0f %% | %.0f %% | %.0f %% |\n", w.facility->name, c->words,
             100.0 * tally.seen / trials, 100.0 * tally.named / trials,
             100.0 * tally.first / trials);
    }
    walked_close(&w);
  }
  return 0;
}

int main(int argc, char **argv)
{
  if (argc == 2 && strcmp(argv[1], "table") == 0)
    return print_table();
  check_begin(argc, argv);
  RUN(a_place_as_its_file_says_is_walked_without_a_miss_as_often_as_promised);
  RUN(a_changed_place_is_seen_and_the_right_figure_named);
  return check_end();
}
