/* Whose record it is: what each entry carries, and records of before. */
#include "recorded.h"

#include "check.h"

#include <stdio.h>
#include <string.h>

static const int64_t t0 = INT64_C(1793000000000);

static bool tell(struct recorded *r, enum record_kind kind, const char *text, const char *detail)
{
  struct record_entry entry = {.t_ms = t0,
                               .written_ms = t0,
                               .kind = kind,
                               .about = "",
                               .who = "M. Rao",
                               .text = text,
                               .detail = detail};

  return CHECK_INT(record_append(r->record, &entry, &r->err), ERR_OK);
}

/* The entry of that number; its suite is NULL where there is none. */
static struct record_entry entry_at(struct recorded *r, int number)
{
  const struct record_wanted all = {INT64_MIN, INT64_MAX, NULL, -1, INT64_MAX, 100};
  struct record_entry *list;
  int count = 0;

  if (!CHECK_INT(record_entries(r->record, &all, &r->arena, &list, &count, &r->err), ERR_OK))
    return (struct record_entry){0};
  for (int i = 0; i < count; i++)
    if (list[i].number == number)
      return list[i];
  return (struct record_entry){0};
}

static int broken(struct recorded *r)
{
  struct buf out;
  int faults = -1;

  buf_init(&out, 10000);
  CHECK_INT(record_verify(r->record, 0, "", &faults, &out, &r->err), ERR_OK);
  buf_release(&out);
  return faults;
}

static enum err_code of(struct recorded *r, const char *name)
{
  struct facility other = *r->facility;

  other.name = name;
  r->err = (struct err){0};
  return record_of(r->record, &other, &r->err);
}

/* The schema that said of no entry whose it was, made of one of today. */
static bool make_old(struct recorded *r)
{
  record_close(r->record);
  r->record = NULL;
  return CHECK(recorded_sql(r->path, "PRAGMA journal_mode = DELETE;"
                                     "ALTER TABLE entry DROP COLUMN suite;"
                                     "PRAGMA user_version = 1"));
}

static void an_entry_says_of_which_suite_it_is(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    const char *name;

    CHECK_INT(record_suite(r.record, &r.arena, &name, &r.err), ERR_OK);
    CHECK(name == NULL);
    CHECK_INT(of(&r, "Tarn"), ERR_OK);
    tell(&r, RECORD_NOTE, "sash stuck", "");
    CHECK_STR(entry_at(&r, 1).suite, "Tarn");
    CHECK_INT(record_suite(r.record, &r.arena, &name, &r.err), ERR_OK);
    CHECK_STR(name, "Tarn");
    CHECK_INT(broken(&r), 0);
  }
  recorded_release(&r);
}

static void a_record_of_another_suite_is_refused_and_named(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct facility fell = *r.facility;

    CHECK_INT(of(&r, "Tarn"), ERR_OK);
    tell(&r, RECORD_NOTE, "sash stuck", "");
    CHECK_INT(of(&r, "Fell"), ERR_INPUT);
    CHECK(strstr(r.err.text, "of the suite 'Tarn', not of 'Fell'") != NULL);
    CHECK_INT(of(&r, NULL), ERR_INPUT);
    tell(&r, RECORD_NOTE, "and freed", ""); /* of whom it was opened for, still */
    CHECK_STR(entry_at(&r, 2).suite, "Tarn");

    fell.name = "Fell"; /* renamed, as the board does it */
    record_take_over(r.record, &fell);
    tell(&r, RECORD_NOTE, "renamed", "");
    CHECK_INT(of(&r, "Fell"), ERR_OK);
    CHECK_INT(of(&r, "Tarn"), ERR_INPUT);
    CHECK_STR(entry_at(&r, 1).suite, "Tarn");
    CHECK_STR(entry_at(&r, 3).suite, "Fell");
    CHECK_INT(broken(&r), 0);
  }
  recorded_release(&r);
}

static void a_suite_without_a_name_is_the_same_from_any_folder(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    CHECK_INT(of(&r, "lab/suite.yaml"), ERR_OK);
    tell(&r, RECORD_NOTE, "first", "");
    CHECK_INT(of(&r, "suite.yaml"), ERR_OK);
    CHECK_INT(of(&r, "/srv/lab/suite.yaml"), ERR_OK);
    CHECK_INT(of(&r, "lab/other.yaml"), ERR_INPUT);
    CHECK_INT(of(&r, "suite"), ERR_INPUT);
    record_take_over(r.record, &(struct facility){.name = "Wet/East"});
    tell(&r, RECORD_NOTE, "of a suite that has one", "");
    CHECK_INT(of(&r, "Dry/East"), ERR_INPUT);
  }
  recorded_release(&r);
}

static void an_entry_given_to_another_suite_is_found(void)
{
  static const char *const names[] = {"Fell", ""};

  for (int i = 0; i < 2; i++) {
    struct recorded r;
    char sql[200];

    if (recorded_new(&r, RECORDED_POINTS)) {
      CHECK_INT(of(&r, "Tarn"), ERR_OK);
      tell(&r, RECORD_NOTE, "sash stuck", "");
      tell(&r, RECORD_NOTE, "and freed", "");
      snprintf(sql, sizeof sql,
               "DROP TRIGGER entry_never_changed; UPDATE entry SET suite = '%s' WHERE number = 1;"
               "CREATE TRIGGER entry_never_changed BEFORE UPDATE ON entry BEGIN SELECT 1; END",
               names[i]);
      CHECK(recorded_sql(r.path, sql));
      CHECK_INT(broken(&r), 1);
    }
    recorded_release(&r);
  }
}

static void a_record_of_before_is_read_as_it_is_and_keeps_everything(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    struct record_entry was;

    tell(&r, RECORD_WITHDRAWN, "baffle loose", "{}");
    tell(&r, RECORD_NOTE, "seen", "");
    was = entry_at(&r, 1);
    if (make_old(&r) && recorded_reopen(&r, RECORD_READ)) {
      CHECK_INT(recorded_number(r.path, "PRAGMA user_version"), 1);
      CHECK_STR(entry_at(&r, 1).hash_hex, was.hash_hex);
      CHECK_STR(entry_at(&r, 1).suite, "");
      CHECK_INT(of(&r, "Tarn"), ERR_OK);
      CHECK_INT(broken(&r), 0);
      record_close(r.record);
      r.record = NULL;
    }
    if (recorded_reopen(&r, RECORD_WRITE)) {
      CHECK_INT(recorded_number(r.path, "PRAGMA user_version"), 2);
      CHECK_STR(entry_at(&r, 1).hash_hex, was.hash_hex);
      CHECK_STR(entry_at(&r, 1).text, "baffle loose");
      CHECK_INT(of(&r, "Tarn"), ERR_OK);
      tell(&r, RECORD_NOTE, "put right", "");
      CHECK_STR(entry_at(&r, 2).suite, "");
      CHECK_STR(entry_at(&r, 3).suite, "Tarn");
      CHECK_INT(broken(&r), 0);
    }
  }
  recorded_release(&r);
}

static void what_a_board_said_before_entries_did_still_counts(void)
{
  struct recorded r;

  if (recorded_new(&r, RECORDED_POINTS)) {
    tell(&r, RECORD_SETTINGS, "first settings", "not JSON");
    if (make_old(&r) && recorded_reopen(&r, RECORD_WRITE)) {
      CHECK_INT(of(&r, "Tarn"), ERR_OK);
      record_close(r.record);
      r.record = NULL;
    }
    if (recorded_reopen(&r, RECORD_WRITE)) {
      tell(&r, RECORD_SETTINGS, "other settings", "{\"suite\": \"Fell\"}");
      CHECK_INT(of(&r, "Tarn"), ERR_INPUT);
      CHECK_INT(of(&r, "Fell"), ERR_OK);
    }
  }
  recorded_release(&r);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(an_entry_says_of_which_suite_it_is);
  RUN(a_record_of_another_suite_is_refused_and_named);
  RUN(a_suite_without_a_name_is_the_same_from_any_folder);
  RUN(an_entry_given_to_another_suite_is_found);
  RUN(a_record_of_before_is_read_as_it_is_and_keeps_everything);
  RUN(what_a_board_said_before_entries_did_still_counts);
  return check_end();
}
