/* House rules judged by SQLite too, whose NULL is our unknown: an independent second opinion. */
#include "rule/rule.h"
#include "rule_sql.h"

#include "check.h"

#include <sqlite3.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct arena arena;

static struct facility_text read_file(const char *path)
{
  FILE *file = fopen(path, "rb");
  struct facility_text text = {.file = path};
  enum { MOST = 1 << 20 };
  char *bytes = arena_push(&arena, MOST, 1);

  if (CHECK(file != NULL) && file) {
    text.size = fread(bytes, 1, MOST - 1, file);
    fclose(file);
  }
  text.bytes = bytes;
  return text;
}

static uint32_t next(uint32_t *state)
{
  *state = *state * 1664525u + 1013904223u;
  return *state >> 8;
}

/* Something that slot can be, known or not. */
static struct rule_value invented(const struct rule_slot *slot, uint32_t *state)
{
  static const char *const words[] = {"acid",  "base", "organic", "piranha",    "none",
                                      "Litho", "Wet",  "glass",   "near limit", "short"};
  static const double numbers[] = {0, 1, 2, 3, 298.15, 333.15, 353.15, 360, 1320, 20, 43200};
  enum rule_type type = rule_name_row(slot->name)->type;

  if (next(state) % 3 == 0)
    return (struct rule_value){0};
  if (type == RULE_TEXT)
    return (struct rule_value){.known = true, .text = words[next(state) % 10]};
  return (struct rule_value){
      .known = true, .number_si = type == RULE_TRUTH ? next(state) % 2 : numbers[next(state) % 11]};
}

static void sqlite_judges_every_rule_of_quillmere_as_we_do(void)
{
  enum { TRIALS = 20000 };
  struct facility_text suite_text = read_file("examples/quillmere/suite.yaml"),
                       rules_text = read_file("examples/quillmere/rules.yaml");
  struct complaints complaints;
  struct buf sql;
  sqlite3 *db = NULL;
  sqlite3_stmt *statement = NULL;
  uint32_t state = 7;
  int differ = 0, of_truth[3] = {0};

  complaints_init(&complaints, &arena);
  struct facility *facility = facility_read(&suite_text, NULL, 0, &complaints);

  REQUIRE(facility != NULL);
  struct rules *rules = rules_read(facility, &rules_text, &complaints);

  REQUIRE(rules != NULL);
  struct rule_set *set = rule_read(rules, NULL, &arena, &complaints);

  CHECK_INT(complaints.count, 0);
  buf_init(&sql, 1 << 16);
  rule_sql_all(set, &sql);
  REQUIRE(sqlite3_open(":memory:", &db) == SQLITE_OK);
  REQUIRE(sqlite3_prepare_v2(db, sql.text, -1, &statement, NULL) == SQLITE_OK);
  for (int t = 0; t < TRIALS; t++) {
    struct rule_value values[256] = {{0}};

    for (int i = 0; i < set->slot_count; i++)
      values[i] = invented(&set->slots[i], &state);
    sqlite3_reset(statement);
    rule_sql_bind(statement, set, values);
    if (sqlite3_step(statement) != SQLITE_ROW)
      break;
    for (int r = 0; r < set->count; r++) {
      enum rule_truth ours = rule_says(set, r, values);

      differ += ours != rule_sql_column(statement, r);
      of_truth[ours]++;
    }
  }
  CHECK_INT(differ, 0);
  for (int i = 0; i < 3; i++)
    CHECK(of_truth[i] > TRIALS); /* every answer was tried, often */
  sqlite3_finalize(statement);
  sqlite3_close(db);
  buf_release(&sql);
  rules_free(rules);
  facility_free(facility);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, 64 << 20);
  RUN(sqlite_judges_every_rule_of_quillmere_as_we_do);
  arena_release(&arena);
  return check_end();
}
