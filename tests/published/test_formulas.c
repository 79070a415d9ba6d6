#include "cases.h"

#include "check.h"

#include <stdio.h>
#include <string.h>

/*
 * Every published figure that one formula can state.  The sources stand in the rows; docs/checks.md
 * prints them beside theirs and ours.
 */
static const char *file;

static void every_published_figure_is_met_within_its_tolerance(void)
{
  struct published_cases cases;
  int agreed = 0;

  REQUIRE(published_read(file, &cases));
  for (int i = 0; i < cases.count; i++) {
    struct published_result result;

    published_run_formula(&cases.rows[i], &result);
    agreed += result.agrees;
    CHECK_CASE("%s", cases.rows[i].id);
    if (!CHECK(result.agrees))
      printf("  %s %s: theirs %s %s, ours %.8g, allowed %+.3g to %+.3g; %s\n", cases.rows[i].what,
             cases.rows[i].output, cases.rows[i].theirs, cases.rows[i].unit, result.ours,
             result.low, result.high, result.trouble);
  }
  printf("%d of %d figures agree\n", agreed, cases.count);
  published_release(&cases);
}

static void a_figure_that_is_off_is_noticed(void)
{
  struct published_case row = {.what = "velocity-pressure",
                               .inputs = "velocity=10m/s",
                               .output = "pressure",
                               .theirs = "61",
                               .unit = "Pa",
                               .kind = "rel",
                               .tolerance = "0.01"};
  struct published_result result;

  published_run_formula(&row, &result); /* 60.2 Pa: 1.3 % off */
  CHECK(!result.agrees);
  CHECK_NEAR(result.ours, 60.2, 1e-12, 0);
  row.tolerance = "-0.02..0";
  published_run_formula(&row, &result);
  CHECK(result.agrees);
  row.tolerance = "0..0.02";
  published_run_formula(&row, &result);
  CHECK(!result.agrees);
  row.output = "nothing";
  published_run_formula(&row, &result);
  CHECK(!result.agrees && result.trouble[0]);
}

static void an_identifier_names_one_row_and_every_row_names_its_source(void)
{
  static const char *const letters[] = {"published", "re-implemented", "derived", "second-hand",
                                        "memory"};
  struct published_cases cases;

  REQUIRE(published_read(file, &cases));
  for (int i = 0; i < cases.count; i++) {
    int known = 0;

    CHECK_CASE("%s", cases.rows[i].id);
    for (int j = 0; j < i; j++)
      CHECK(strcmp(cases.rows[i].id, cases.rows[j].id) != 0);
    for (int j = 0; j < 5; j++)
      known += strcmp(cases.rows[i].provenance, letters[j]) == 0;
    CHECK_INT(known, 1);
    CHECK(cases.rows[i].source[0] != '\0');
  }
  published_release(&cases);
}

int main(int argc, char **argv)
{
  if (argc < 2) {
    printf("usage: test_formulas FILE.csv [PATTERN...]\n");
    return 1;
  }
  file = argv[1];
  check_begin(argc - 1, argv + 1);
  RUN(every_published_figure_is_met_within_its_tolerance);
  RUN(a_figure_that_is_off_is_noticed);
  RUN(an_identifier_names_one_row_and_every_row_names_its_source);
  return check_end();
}
