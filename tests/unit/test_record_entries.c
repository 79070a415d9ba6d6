/* Entries and their chain, and what a stranger does to the file. */
#include "recorded.h"

#include "check.h"
#include "record/record_impl.h"

#include <inttypes.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const int64_t t0 = INT64_C(1793000000000);

#define NO_GUARDS                                                                                  \
  "DROP TRIGGER entry_only_added; DROP TRIGGER entry_never_changed;"                               \
  "DROP TRIGGER entry_never_deleted;"
#define GUARDS                                                                                     \
  "CREATE TRIGGER entry_only_added BEFORE INSERT ON entry BEGIN SELECT 1; END;"                    \
  "CREATE TRIGGER entry_never_changed BEFORE UPDATE ON entry BEGIN SELECT 1; END;"                 \
  "CREATE TRIGGER entry_never_deleted BEFORE DELETE ON entry BEGIN SELECT 1; END;"

static struct record_entry note(int64_t t_ms, const char *about, const char *text)
{
  return (struct record_entry){.t_ms = t_ms,
                               .written_ms = t_ms + 5,
                               .kind = RECORD_NOTE,
                               .about = about,
                               .who = "M. Rao",
                               .text = text,
                               .detail = ""};
}

/* Twelve entries of different kinds, one in other letters. */
static bool write_twelve(struct recorded *r)
{
  for (int i = 0; i < 12; i++) {
    struct record_entry entry = note(t0 + i * 1000, i % 3 ? "A1" : "", "sash stuck at 0.3 m");

    entry.kind = (enum record_kind)(i % (RECORD_SETTINGS + 1));
    if (i == 4)
      entry.text = "Klappe klemmt: \xc3\xbc\xe2\x80\xa6 \xe6\xb0\xb4\nzweite Zeile";
    if (i == 5)
      entry.detail = "{\"from\": \"ample\", \"to\": \"short\"}";
    if (!CHECK_INT(record_append(r->record, &entry, &r->err), ERR_OK) ||
        !CHECK_INT(entry.number, i + 1))
      return false;
  }
  return true;
}

static void an_entry_comes_back_as_it_was_written(void)
{
  struct recorded r;
  struct record_entry *list;
  int count = 0;

  if (recorded_new(&r, RECORDED_POINTS) && write_twelve(&r)) {
    struct record_wanted wanted = {INT64_MIN, INT64_MAX, NULL, -1, INT64_MAX, 100};

    CHECK_INT(record_entries(r.record, &wanted, &r.arena, &list, &count, &r.err), ERR_OK);
    CHECK_INT(count, 12);
    CHECK_INT(list[5].number, 6);
    CHECK_INT(list[5].t_ms, t0 + 5000);
    CHECK_INT(list[5].written_ms, t0 + 5005);
    CHECK_INT(list[5].kind, RECORD_ROUND);
    CHECK_STR(list[5].about, "A1");
    CHECK_STR(list[5].who, "M. Rao");
    CHECK_STR(list[5].detail, "{\"from\": \"ample\", \"to\": \"short\"}");
    CHECK(strstr(list[4].text, "\xe6\xb0\xb4\nzweite") != NULL);
    CHECK_INT((int)strlen(list[5].hash_hex), 64);
  }
  recorded_release(&r);
}

static void entries_are_asked_by_time_part_kind_and_knowledge(void)
{
  static const struct {
    struct record_wanted wanted;
    int count, first;
  } cases[] = {
      {{0, INT64_MAX, "A1", -1, INT64_MAX, 100}, 8, 2},
      {{0, INT64_MAX, "", -1, INT64_MAX, 100}, 4, 1},
      {{0, INT64_MAX, NULL, RECORD_NOTE, INT64_MAX, 100}, 2, 2},
      {{0, INT64_MAX, NULL, -1, INT64_MAX, 3}, 3, 10}, /* the newest three */
      {{0, INT64_MAX, NULL, -1, INT64_C(1793000003005), 100}, 4, 1},
      {{INT64_C(1793000002000), INT64_C(1793000004000), NULL, -1, INT64_MAX, 100}, 2, 3},
      {{0, INT64_MAX, "A1' OR '1'='1", -1, INT64_MAX, 100}, 0, 0},
      {{0, INT64_MAX, NULL, -1, INT64_MAX, 0}, 0, 0},
  };
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS) && write_twelve(&r))
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
      struct record_entry *list;
      int count = -1;

      CHECK_CASE("case %zu", i);
      CHECK_INT(record_entries(r.record, &cases[i].wanted, &r.arena, &list, &count, &r.err),
                ERR_OK);
      CHECK_INT(count, cases[i].count);
      if (count > 0)
        CHECK_INT(list[0].number, cases[i].first);
    }
  recorded_release(&r);
}

static void what_is_no_entry_is_refused(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    static char long_text[RECORD_TEXT_MOST_BYTES + 2];
    struct record_entry entry = note(t0, "A1", " \n ");

    CHECK_INT(record_append(r.record, &entry, &r.err), ERR_INPUT);
    CHECK(strstr(r.err.text, "text") != NULL);
    entry = note(t0, "A1", "bad \xff byte");
    CHECK_INT(record_append(r.record, &entry, &r.err), ERR_INPUT);
    CHECK(strstr(r.err.text, "byte 5") != NULL);
    memset(long_text, 'x', sizeof long_text - 1);
    entry = note(t0, "A1", long_text);
    CHECK_INT(record_append(r.record, &entry, &r.err), ERR_INPUT);
    entry = note(t0, "A1", "who?");
    entry.who = "";
    CHECK_INT(record_append(r.record, &entry, &r.err), ERR_INPUT);
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM entry"), 0);
    entry = note(t0, "A1", "the first");
    CHECK_INT(record_append(r.record, &entry, &r.err), ERR_OK);
    CHECK_INT(entry.number, 1);
  }
  recorded_release(&r);
}

static void the_file_itself_refuses_to_change_entries(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS) && write_twelve(&r)) {
    CHECK(!recorded_sql(r.path, "UPDATE entry SET text = 'nothing happened' WHERE number = 3"));
    CHECK(!recorded_sql(r.path, "DELETE FROM entry WHERE number = 12"));
    CHECK(!recorded_sql(r.path, "REPLACE INTO entry SELECT 3, t, written, kind, about, who, 'no',"
                                " detail, before, hash, suite FROM entry WHERE number = 3"));
    CHECK(!recorded_sql(r.path, "INSERT INTO entry SELECT 20, t, written, kind, about, who, text,"
                                " detail, before, hash, suite FROM entry WHERE number = 3"));
    CHECK_INT(recorded_number(r.path, "SELECT count(*) FROM entry"), 12);
  }
  recorded_release(&r);
}

/* ---- the chain ---- */

/* The head by tests/record/verify.py, which knows the header's words only; "" when it found a fault. */
static void head_by_python(const char *path, char *out, size_t size)
{
  char command[256];

  snprintf(command, sizeof command, "python3 tests/record/verify.py '%s'", path);
  FILE *pipe = popen(command, "r");

  out[0] = '\0';
  if (CHECK(pipe != NULL)) {
    if (fgets(out, (int)size, pipe))
      out[strcspn(out, "\n")] = '\0';
    if (pclose(pipe) != 0)
      out[0] = '\0';
  }
}

static void an_outsider_computes_the_same_head(void)
{
  struct recorded r;
  char ours[100], theirs[100], hex[65];
  int64_t number;

  if (recorded_new(&r, RECORDED_POINTS)) {
    for (int round = 0; round < 2; round++) {
      CHECK_INT(record_head(r.record, &number, hex, &r.err), ERR_OK);
      snprintf(ours, sizeof ours, "entry %" PRId64 ", %s", number, hex);
      head_by_python(r.path, theirs, sizeof theirs);
      CHECK_STR(theirs, ours);
      if (round == 0)
        write_twelve(&r);
    }
    CHECK(recorded_sql(r.path, NO_GUARDS "UPDATE entry SET t = t + 1 WHERE number = 7"));
    head_by_python(r.path, theirs, sizeof theirs);
    CHECK_STR(theirs, "");
  }
  recorded_release(&r);
}

static int verify(struct recorded *r, int64_t head_number, const char *head_hex, struct buf *out)
{
  int faults = -1;

  buf_clear(out);
  CHECK_INT(record_verify(r->record, head_number, head_hex, &faults, out, &r->err), ERR_OK);
  CHECK_STR(r->err.text, "");
  return faults;
}

static void every_change_behind_its_back_is_named(void)
{
  static const struct {
    const char *sql, *said;
    int faults;
  } cases[] = {
      {"SELECT 1", "", 0},
      {"UPDATE entry SET text = 'sash fine' WHERE number = 3", "entry 3: altered", 1},
      {"UPDATE entry SET t = t - 1 WHERE number = 1", "entry 1: altered", 1},
      {"UPDATE entry SET written = written + 1 WHERE number = 12", "entry 12: altered", 1},
      {"UPDATE entry SET kind = 'note' WHERE number = 9", "entry 9: altered", 1},
      {"UPDATE entry SET who = 'A. Other' WHERE number = 9", "entry 9: altered", 1},
      {"UPDATE entry SET about = 'A2' WHERE number = 9", "entry 9: altered", 1},
      {"UPDATE entry SET detail = '{}' WHERE number = 9", "entry 9: altered", 1},
      /* bytes moved from one text to the next give other lengths */
      {"UPDATE entry SET who = who || 's', text = substr(text, 2) WHERE number = 2",
       "entry 2: altered", 1},
      /* what a program in C does not see */
      {"UPDATE entry SET text = text || char(0) || 'more' WHERE number = 2", "entry 2: altered", 1},
      {"UPDATE entry SET hash = zeroblob(32) WHERE number = 5", "entry 5: altered", 1},
      /* the first, written once more over the fifth */
      {"UPDATE entry SET before = zeroblob(32), hash = (SELECT hash FROM entry WHERE number = 1),"
       " number = 77 WHERE number = 5; INSERT INTO entry SELECT 5, t, written, kind, about, who, text,"
       " detail, before, hash, suite FROM entry WHERE number = 1; DELETE FROM entry WHERE number = 77",
       "entry 5: reordered: it was written as entry 1", 1},
      {"UPDATE entry SET hash = x'00' WHERE number = 12", "entry 12: altered", 1},
      {"DELETE FROM entry WHERE number = 6", "entry 6: removed", 1},
      {"DELETE FROM entry WHERE number = 1", "entry 1: removed", 1},
      {"DELETE FROM entry WHERE number BETWEEN 4 AND 8", "entries 4 to 8: removed", 1},
      {"UPDATE entry SET number = 99 WHERE number = 4; UPDATE entry SET number = 4 WHERE number = 7;"
       "UPDATE entry SET number = 7 WHERE number = 99",
       "entry 4: reordered: it was written as entry 7", 2},
      {"UPDATE entry SET number = 99 WHERE number = 4; UPDATE entry SET number = 4 WHERE number = 5;"
       "UPDATE entry SET number = 5 WHERE number = 99",
       "entry 4: reordered: it was written as entry 5", 2},
      /* removed, and the rest numbered anew */
      {"DELETE FROM entry WHERE number = 10; UPDATE entry SET number = number - 1 WHERE number > 10",
       "entry 10: ", 2},
  };
  struct buf out;

  buf_init(&out, 1 << 16);
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    struct recorded r;

    CHECK_CASE("%s", cases[i].sql);
    if (recorded_new(&r, RECORDED_POINTS) && write_twelve(&r)) {
      CHECK(recorded_sql(r.path, NO_GUARDS));
      CHECK(recorded_sql(r.path, cases[i].sql));
      CHECK(recorded_sql(r.path, GUARDS)); /* and put back, so that nothing tells */
      CHECK_INT(verify(&r, 0, NULL, &out), cases[i].faults);
      CHECK(strstr(out.text, cases[i].said) != NULL);
    }
    recorded_release(&r);
  }
  buf_release(&out);
}

/* Someone who knows the rule makes the hash of a changed entry fit: the next one tells. */
static void a_change_with_its_hash_is_told_by_the_next(void)
{
  struct recorded r;
  struct record_entry *list;
  int count = 0;
  struct buf out;

  buf_init(&out, 1 << 16);
  if (recorded_new(&r, RECORDED_POINTS) && write_twelve(&r)) {
    struct record_wanted wanted = {INT64_MIN, INT64_MAX, NULL, -1, INT64_MAX, 100};
    unsigned char before[HASH_BYTES], hash[HASH_BYTES];
    char hex[65], sql[1000];

    CHECK_INT(record_entries(r.record, &wanted, &r.arena, &list, &count, &r.err), ERR_OK);
    CHECK_INT(sodium_hex2bin(before, sizeof before, list[3].hash_hex, 64, NULL, NULL, NULL), 0);
    list[4].text = "all was well";
    record_hash(before, &list[4], record_kind_name(list[4].kind), hash);
    sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
    snprintf(sql, sizeof sql,
             NO_GUARDS
             "UPDATE entry SET text = 'all was well', hash = x'%s' WHERE number = 5;" GUARDS,
             hex);
    CHECK(recorded_sql(r.path, sql));
    CHECK_INT(verify(&r, 0, NULL, &out), 1);
    CHECK_STR(out.text,
              "entry 6: does not follow entry 5, which was altered together with its hash\n");
  }
  recorded_release(&r);
  buf_release(&out);
}

/* What the chain alone cannot tell: a printed head does. */
static void a_printed_head_finds_a_cut_end_and_a_new_chain(void)
{
  struct recorded r;
  char hex[65] = "";
  int64_t number = 0;
  struct buf out;

  buf_init(&out, 1 << 16);
  if (recorded_new(&r, RECORDED_POINTS) && write_twelve(&r)) {
    CHECK_INT(record_head(r.record, &number, hex, &r.err), ERR_OK);
    CHECK_INT(verify(&r, number, hex, &out), 0);
    hex[8] = '\0';
    CHECK_INT(verify(&r, number, hex, &out), 0); /* its beginning is enough */
    CHECK(recorded_sql(r.path, NO_GUARDS "DELETE FROM entry WHERE number > 10;" GUARDS));
    CHECK_INT(verify(&r, 0, NULL, &out), 0);
    CHECK_INT(verify(&r, number, hex, &out), 1);
    CHECK_STR(out.text, "entries 11 to 12: removed\n");
    /* the end written anew, with a good chain */
    for (int i = 0; i < 2; i++) {
      struct record_entry other = note(t0 + 20000, "A1", "all was well");

      CHECK_INT(record_append(r.record, &other, &r.err), ERR_OK);
    }
    CHECK_INT(verify(&r, 0, NULL, &out), 0);
    CHECK_INT(verify(&r, number, hex, &out), 1);
    CHECK(strstr(out.text, "entry 12: not the one whose hash was printed") != NULL);
    CHECK(recorded_sql(r.path, NO_GUARDS));
    CHECK_INT(verify(&r, 0, NULL, &out), 1);
    CHECK(strstr(out.text, "guards") != NULL);
    int faults;

    CHECK_INT(record_verify(r.record, 3, "12ab", &faults, &out, &r.err), ERR_INPUT);
    CHECK_INT(record_verify(r.record, 3, "12abcdeg", &faults, &out, &r.err), ERR_INPUT);
  }
  recorded_release(&r);
  buf_release(&out);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(an_entry_comes_back_as_it_was_written);
  RUN(entries_are_asked_by_time_part_kind_and_knowledge);
  RUN(what_is_no_entry_is_refused);
  RUN(the_file_itself_refuses_to_change_entries);
  RUN(an_outsider_computes_the_same_head);
  RUN(every_change_behind_its_back_is_named);
  RUN(a_change_with_its_hash_is_told_by_the_next);
  RUN(a_printed_head_finds_a_cut_end_and_a_new_chain);
  return check_end();
}
