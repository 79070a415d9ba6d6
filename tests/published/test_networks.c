/*
 * Every row of a table of networks or of verbs, asked of the built program.
 *
 *     test_networks PROGRAM FOLDER TABLE.csv [id ...]
 *
 * Prints each row with theirs, ours and the difference.  A row that gives no
 * figure fails; so does a table without rows.
 */
#include "cases.h"
#include "check.h"
#include "program.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static struct published_cases table;
static char **wanted;
static int wanted_count;

static bool is_wanted(const char *id)
{
  for (int i = 0; i < wanted_count; i++)
    if (strncmp(id, wanted[i], strlen(wanted[i])) == 0)
      return true;
  return wanted_count == 0;
}

static void compare_text(const struct published_case *row, const json_t *answer)
{
  char room[64];
  const char *ours = figure_text(answer, row->output, room, sizeof room);

  printf("%-18s theirs %-14s ours %s\n", row->id, row->theirs, ours ? ours : "(nothing)");
  CHECK_STR(ours, row->theirs);
}

static void compare_number(const struct published_case *row, const json_t *answer)
{
  struct published_result result;

  published_run_measured(row, figure_number(answer, row->output), &result);
  CHECK_STR(result.trouble, "");
  printf("%-18s theirs %-14.9g ours %-14.9g difference %9.2e allowed %8.1e %8.1e %s %s\n", row->id,
         result.theirs, result.ours, result.ours - result.theirs, result.low, result.high,
         row->unit, row->provenance);
  CHECK(result.agrees);
}

static void compare(const struct published_case *row)
{
  const json_t *answer;

  check_case("%s", row->id);
  answer = table.asks == PUBLISHED_VERBS ? program_verb(row->what, row->inputs)
                                         : program_air(row->what, row->inputs);
  if (!CHECK(answer != NULL))
    return;
  if (published_is_text(row))
    compare_text(row, answer);
  else
    compare_number(row, answer);
}

static void every_published_figure_is_met_within_its_stated_tolerance(void)
{
  for (int i = 0; i < table.count; i++)
    if (is_wanted(table.rows[i].id))
      compare(&table.rows[i]);
}

static void every_row_names_its_source_and_its_provenance(void)
{
  static const char *const letters[] = {"published", "re-implemented", "derived", "second-hand",
                                        "memory"};

  for (int i = 0; i < table.count; i++) {
    const struct published_case *row = &table.rows[i];
    bool known = false;

    for (size_t j = 0; j < sizeof letters / sizeof letters[0]; j++)
      known = known || strcmp(row->provenance, letters[j]) == 0;
    check_case("%s", row->id);
    CHECK(known);
    CHECK(row->source[0] != '\0');
    for (int j = 0; j < i; j++)
      CHECK(strcmp(table.rows[j].id, row->id) != 0);
  }
}

int main(int argc, char **argv)
{
  char path[512];

  if (argc < 4) {
    puts("usage: test_networks PROGRAM FOLDER TABLE.csv [beginning of an id ...]");
    return 2;
  }
  snprintf(path, sizeof path, "%s/%s", argv[2], argv[3]);
  program_use(argv[1], argv[2]);
  wanted = argv + 4;
  wanted_count = argc - 4;
  check_begin(1, argv);
  if (published_read(path, &table) && table.asks == PUBLISHED_FORMULAS) {
    printf("%s holds formulas: test_formulas runs those\n", path);
  } else if (table.count > 0) {
    RUN(every_published_figure_is_met_within_its_stated_tolerance);
    RUN(every_row_names_its_source_and_its_provenance);
    printf("%d rows\n", table.count);
  }
  program_end();
  published_release(&table);
  return check_end();
}
