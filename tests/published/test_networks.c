/*
 * Every row of networks.csv, asked of the built program.
 *
 *     test_networks PROGRAM FOLDER [id ...]
 *
 * Prints each row with theirs, ours and the difference.  A row that gives no
 * figure fails; so does a table without rows.
 */
#include "check.h"
#include "program.h"
#include "rows.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static struct rows table;
static char **wanted;
static int wanted_count;

static bool is_wanted(const char *id)
{
  for (int i = 0; i < wanted_count; i++)
    if (strncmp(id, wanted[i], strlen(wanted[i])) == 0)
      return true;
  return wanted_count == 0;
}

static void compare_text(const struct row *row, const json_t *answer)
{
  char room[64];
  const char *ours = figure_text(answer, row->field[ROW_PATH], room, sizeof room);

  printf("%-18s theirs %-14s ours %s\n", row->field[ROW_ID], row->field[ROW_THEIRS],
         ours ? ours : "(nothing)");
  CHECK_STR(ours, row->field[ROW_THEIRS]);
}

static void compare_number(const struct row *row, const json_t *answer)
{
  double theirs = NAN, allowed = NAN, ours = figure_number(answer, row->field[ROW_PATH]);

  CHECK(row_theirs(row, &theirs, &allowed));
  printf("%-18s theirs %-14.9g ours %-14.9g difference %9.2e allowed %8.1e %s\n",
         row->field[ROW_ID], theirs, ours, ours - theirs, allowed, row->field[ROW_PROVENANCE]);
  CHECK_NEAR(ours, theirs, 0.0, allowed);
}

static void compare(const struct row *row)
{
  const json_t *answer;

  check_case("%s", row->field[ROW_ID]);
  answer = program_air(row->field[ROW_SUITE], row->field[ROW_ARGUMENTS]);
  if (!CHECK(answer != NULL))
    return;
  if (strcmp(row->field[ROW_UNIT], "text") == 0)
    compare_text(row, answer);
  else
    compare_number(row, answer);
}

static void every_published_network_is_met_within_its_stated_tolerance(void)
{
  for (int i = 0; i < table.count; i++)
    if (is_wanted(table.rows[i].field[ROW_ID]))
      compare(&table.rows[i]);
}

static void every_row_names_its_source_and_its_provenance(void)
{
  static const char *const letters[] = {"published", "re-implemented", "derived", "second-hand",
                                        "memory"};

  for (int i = 0; i < table.count; i++) {
    const struct row *row = &table.rows[i];
    bool known = false;

    for (size_t j = 0; j < sizeof letters / sizeof letters[0]; j++)
      known = known || strcmp(row->field[ROW_PROVENANCE], letters[j]) == 0;
    check_case("%s", row->field[ROW_ID]);
    CHECK(known);
    CHECK(row->field[ROW_SOURCE][0] != '\0');
    for (int j = 0; j < i; j++)
      CHECK(strcmp(table.rows[j].field[ROW_ID], row->field[ROW_ID]) != 0);
  }
}

int main(int argc, char **argv)
{
  char path[512];

  if (argc < 3) {
    puts("usage: test_networks PROGRAM FOLDER [beginning of an id ...]");
    return 2;
  }
  snprintf(path, sizeof path, "%s/networks.csv", argv[2]);
  program_use(argv[1], argv[2]);
  wanted = argv + 3;
  wanted_count = argc - 3;
  check_begin(1, argv);
  if (rows_read(path, &table)) {
    RUN(every_published_network_is_met_within_its_stated_tolerance);
    RUN(every_row_names_its_source_and_its_provenance);
    printf("%d rows\n", table.count);
  }
  program_end();
  rows_free(&table);
  return check_end();
}
