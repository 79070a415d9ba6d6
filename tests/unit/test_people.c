#include "people/people.h"

#include "check.h"

#include <string.h>

static const char suite_text[] = "inward: 1 suite\n"
                                 "files: {people: people.yaml}\n"
                                 "rooms: {Gown: {}}\n"
                                 "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n";

static const char endorsements[] =
    "inward: 1 people\n"
    "endorsements:\n"
    "  wet: {valid: 2 years, lapses unused: 6 months, source: rule 1}\n"
    "  hf: {valid: 12 months, needs: [wet], source: rule 2}\n";

static const char table[] =
    "tables:\n"
    "  office: {file: list.csv, id: id, full name: Name, group: Group, last use: Used,\n"
    "      endorsements: {wet: Wet, hf: HF}, dates: [ISO, DD.MM.YYYY, MM.DD.YYYY],\n"
    "      status: Status, active: [active], gone: [left]}\n";

static const char titles[] = "id,Name,Group,Wet,HF,Used,Status\n";

struct world {
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct roster *roster;
  struct people *people;
};

static void world_read(struct world *w, const char *more, const char *rows)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct people_table list = {.file = "list.csv"};
  struct buf file, csv;

  *w = (struct world){0};
  arena_init(&w->arena, 64 << 20);
  complaints_init(&w->complaints, &w->arena);
  buf_init(&file, 1 << 16);
  buf_init(&csv, 1 << 16);
  buf_puts(&file, endorsements);
  if (rows)
    buf_puts(&file, table);
  buf_puts(&file, more);
  buf_puts(&csv, titles);
  buf_puts(&csv, rows ? rows : "");
  struct facility_text text = {"people.yaml", file.text, file.used};

  list.bytes = csv.text;
  list.size = csv.used;
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  if (CHECK(w->facility != NULL))
    w->roster = roster_read(w->facility, &text, &w->complaints);
  if (w->roster)
    w->people = people_read(w->roster, &list, roster_day("2026-11-30"), &w->arena, &w->complaints);
  buf_release(&file);
  buf_release(&csv);
}

static void world_release(struct world *w)
{
  roster_free(w->roster);
  facility_free(w->facility);
  arena_release(&w->arena);
}

static bool said(const struct world *w, const char *words)
{
  for (int i = 0; i < w->complaints.count; i++)
    if (strstr(w->complaints.list[i].text, words))
      return true;
  return false;
}

static struct people_verdict of(struct world *w, const char *who, const char *what, const char *day)
{
  int person = people_find(w->people, who);
  int endorsement = roster_endorsement_find(w->roster, what);
  struct people_verdict none = {.standing = PEOPLE_NOT_KNOWN, .why = "nobody"};

  if (!CHECK(person >= 0) || !CHECK(endorsement >= 0))
    return none;
  return people_endorsed(w->people, person, endorsement, roster_day(day), &w->arena);
}

/* dateutil's documentation of relativedelta ("Examples": "It will never cross the month boundary"),
 * which ends a month early where the day is not there; RFC 5545 3.3.10 would skip such a month. */
static void a_month_later_never_crosses_into_the_next(void)
{
  static const struct {
    const char *from;
    struct roster_span span;
    const char *to;
  } cases[] = {
      {"2003-01-27", {1, 0}, "2003-02-27"},  {"2003-01-31", {1, 0}, "2003-02-28"},
      {"2003-01-31", {2, 0}, "2003-03-31"},  {"2000-02-28", {12, 0}, "2001-02-28"},
      {"2000-02-29", {12, 0}, "2001-02-28"}, {"1999-02-28", {12, 0}, "2000-02-28"},
      {"1999-03-01", {12, 0}, "2000-03-01"}, {"2024-02-29", {48, 0}, "2028-02-29"},
      {"2026-12-31", {2, 0}, "2027-02-28"},  {"2026-10-24", {0, 7}, "2026-10-31"},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct buf to;

    CHECK_CASE("%s", cases[i].from);
    buf_init(&to, 100);
    roster_print_day(roster_after(roster_day(cases[i].from), cases[i].span), &to);
    CHECK_STR(to.text, cases[i].to);
    buf_release(&to);
  }
}

static void what_is_needed_must_count_too(void)
{
  struct world w;

  world_read(&w, "", "U1,A,G,2024-12-10,2026-03-10,2026-11-01,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(w.complaints.count, 0);
  struct people_verdict hf = of(&w, "U1", "hf", "2026-12-10");

  CHECK_INT(hf.standing, PEOPLE_VALID);
  CHECK_INT(hf.until_day, roster_day("2026-12-10")); /* wet ends first */
  CHECK_STR(of(&w, "U1", "hf", "2026-12-11").why, "it needs wet: expired on 2026-12-10");
  world_release(&w);
}

static void the_last_day_counts_and_the_next_does_not(void)
{
  struct world w;

  world_read(&w, "", "U1,A,G,2026-02-03,2026-03-10,2026-11-01,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(of(&w, "u1", "hf", "2027-03-10").standing, PEOPLE_VALID);
  struct people_verdict after = of(&w, "U1", "hf", "2027-03-11");

  CHECK_INT(after.standing, PEOPLE_NOT_VALID);
  CHECK_STR(after.why, "expired on 2027-03-10");
  CHECK_INT(of(&w, "U1", "wet", "2027-05-01").standing, PEOPLE_VALID);
  CHECK_STR(of(&w, "U1", "wet", "2027-05-02").why, "lapsed on 2027-05-01: unused since 2026-11-01");
  CHECK(strstr(of(&w, "U1", "hf", "2026-03-01").why, "in the future") != NULL);
  world_release(&w);
}

static void a_blank_is_not_known_and_never_has_it(void)
{
  struct world w;

  world_read(&w, "", "U1,A,G,2026-02-03,,,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(of(&w, "U1", "hf", "2026-11-30").standing, PEOPLE_NOT_KNOWN);
  CHECK(strstr(of(&w, "U1", "hf", "2026-11-30").why, "E2 is blank") != NULL);
  CHECK_INT(of(&w, "U1", "wet", "2026-08-03").standing,
            PEOPLE_VALID); /* six months from the grant */
  CHECK_INT(of(&w, "U1", "wet", "2026-08-04").standing, PEOPLE_NOT_KNOWN);
  world_release(&w);
}

static void a_day_that_two_styles_read_differently_is_not_known(void)
{
  struct world w;

  world_read(&w, "",
             "U1,A,G,03.09.2025,31.01.2026,2026-11-01,active\n"
             "U2,B,G,09.09.2026,2026-02-31,2026-11-01,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(of(&w, "U1", "wet", "2026-11-30").standing, PEOPLE_NOT_KNOWN);
  CHECK(said(&w, "'03.09.2025' may be 2025-09-03 or 2025-03-09"));
  CHECK_INT(w.people->list[0].granted[1].kind, PEOPLE_ON_DAY);         /* only one style fits */
  CHECK_INT(of(&w, "U2", "wet", "2026-11-30").standing, PEOPLE_VALID); /* both read the same day */
  CHECK(said(&w, "'2026-02-31' is no day"));
  CHECK_INT(w.complaints.count, 2);
  CHECK_INT(w.complaints.list[0].place.line, 2);
  CHECK_INT(w.complaints.list[0].place.column, 8);
  world_release(&w);
}

static void a_person_twice_is_one_where_nothing_contradicts(void)
{
  struct world w;

  world_read(&w, "",
             "U22,\"Lindqvarn, Maja\",G,2026-01-20,,2026-11-01,active\n"
             "u22,Maja Lindqvarn,,,2026-02-17,,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(w.people->count, 1);
  CHECK_INT(w.people->list[0].row_count, 2);
  CHECK_INT(of(&w, "U22", "hf", "2026-11-30").standing, PEOPLE_VALID);
  CHECK(said(&w, "nothing contradicts"));
  world_release(&w);
}

static void where_rows_contradict_the_stricter_counts(void)
{
  struct world w;

  world_read(&w, "",
             "U1,Ana Ruiz,G,2026-06-20,2026-06-21,2026-11-01,active\n"
             "U1,Ana Ruiz,G,2023-06-20,,2026-11-01,active\n"
             "U2,Bo Ek,G,2026-06-20,,2026-11-01,active\n"
             "U2,Pia Holm,G,2026-06-20,,2026-11-01,active\n");
  REQUIRE(w.people != NULL);
  CHECK_STR(of(&w, "U1", "wet", "2026-11-30").why, "expired on 2025-06-20");
  CHECK_INT(of(&w, "U1", "hf", "2026-11-30").standing, PEOPLE_NOT_KNOWN);
  CHECK_INT(w.people->list[1].status, PEOPLE_STATUS_UNKNOWN);
  CHECK_STR(w.people->list[1].status_why, "two persons stand under one id");
  CHECK(said(&w, "the stricter counts"));
  world_release(&w);
}

/* U1 begins with the row that speaks alone; U2 are two who share a name; U3 is one, shortened. */
static void no_order_of_rows_and_no_shared_name_gives_what_neither_has(void)
{
  struct world w;

  world_read(&w, "",
             "U1,Ana Ruiz,G,2026-06-20,2026-06-21,,active\n"
             "U1,Ana Ruiz,G,2026-06-20,,2026-11-01,active\n"
             "U1,Ana Ruiz,G,2026-06-20,,2026-10-01,active\n"
             "U2,\"Berg, Ana\",G,2026-06-20,,2026-11-01,active\n"
             "U2,\"Berg, Pia\",,,2026-06-21,,active\n"
             "U3,\"Berg, Ana\",G,2026-06-20,,2026-11-01,active\n"
             "U3,A. Berg,,,2026-06-21,,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(of(&w, "U1", "hf", "2026-11-30").standing, PEOPLE_NOT_KNOWN);
  CHECK_INT(of(&w, "U2", "hf", "2026-11-30").standing, PEOPLE_NOT_KNOWN);
  CHECK_INT(of(&w, "U3", "hf", "2026-11-30").standing, PEOPLE_VALID);
  CHECK(said(&w, "the names share a word and may be of two persons"));
  world_release(&w);
}

static void unseen_blanks_and_letters_that_look_alike_are_no_other_person(void)
{
  struct world w;

  world_read(&w, "",
             "U1,Ana Ruiz,G,2026-06-20,,2026-11-01,active\n"
             "U1\xc2\xa0,Ana Ruiz,G,2026-06-20,,2026-11-01,left\n"
             "\xe2\x80\x8bu1\xef\xbb\xbf,Ana Ruiz,G,2026-06-20,,2026-11-01,active\n"
             "\xd0\xa3"
             "1,Ana Ruiz,G,2026-06-20,,2026-11-01,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(w.people->count, 2);
  CHECK_INT(w.people->list[0].row_count, 3);
  CHECK_INT(w.people->list[0].status, PEOPLE_GONE);
  CHECK(said(&w, "has a letter that looks like another"));
  world_release(&w);
}

static void a_third_row_cannot_give_back_what_two_took(void)
{
  struct world w;

  world_read(&w, "",
             "U1,Ana Ruiz,G,2026-06-20,,2026-11-01,active\n"
             "U1,Ana Ruiz,G,2026-06-20,,2026-11-01,left\n"
             "U1,Ana Ruiz,G,,2026-06-21,,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(w.people->list[0].status, PEOPLE_GONE);
  CHECK_INT(of(&w, "U1", "hf", "2026-11-30").standing, PEOPLE_NOT_KNOWN);
  world_release(&w);
}

static void what_a_row_lacks_is_said_and_the_rest_works(void)
{
  struct world w;

  world_read(&w, "",
             ",Nobody,G,2026-01-20,,,active\n"
             "U1,A,G,2026-02-03,2027-01-01,2026-11-01,on leave\n"
             "U2,A,G,2026-02-03,,2026-11-01,left\n"
             "U3,C,G,soon,,2026-11-01,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(w.people->count, 3);
  CHECK(said(&w, "no id"));
  CHECK(said(&w, "'on leave' is no word"));
  CHECK(said(&w, "2027-01-01 is in the future"));
  CHECK(said(&w, "'soon' is no day"));
  CHECK(said(&w, "U2 has the name of U1"));
  CHECK_INT(w.people->list[1].status, PEOPLE_GONE);
  world_release(&w);
}

static void a_table_without_its_column_is_named(void)
{
  struct world w;

  world_read(&w, "people: {U9: {granted: {wet: 2026-06-01}}}\n", NULL);
  REQUIRE(w.people != NULL);
  CHECK_INT(w.people->count, 1);
  CHECK_INT(of(&w, "U9", "wet", "2026-11-30").standing, PEOPLE_VALID);
  world_release(&w);
  world_read(&w, "demotions: {D1: {who: U7, from: 2026-01-01, by: officer, why: x}}\n", "U1,A\n");
  CHECK(said(&w, "nobody has the id 'U7'"));
  world_release(&w);
}

static void a_demotion_holds_until_its_day_or_a_new_grant(void)
{
  struct world w;

  world_read(&w,
             "demotions:\n"
             "  D1: {who: U1, from: 2026-05-01, endorsements: [wet], by: officer, why: slip}\n"
             "  D2: {who: u2, from: 2026-05-01, until: 2026-05-31, by: officer, why: slip}\n"
             "  D3: {who: U3, from: 2026-05-01, by: officer, why: slip}\n",
             "U1,A,G,2026-06-20,,2026-11-01,active\n"
             "U2,B,G,2026-01-20,,2026-11-01,active\n"
             "U3,C,G,2026-01-20,,2026-11-01,active\n");
  REQUIRE(w.people != NULL);
  CHECK_INT(of(&w, "U1", "wet", "2026-11-30").standing, PEOPLE_VALID); /* granted again in June */
  CHECK_STR(of(&w, "U2", "wet", "2026-05-31").why, "taken back on 2026-05-01 by officer");
  CHECK_INT(of(&w, "U2", "wet", "2026-06-01").standing, PEOPLE_VALID);
  CHECK_INT(of(&w, "U3", "wet", "2026-11-30").standing, PEOPLE_NOT_VALID);
  CHECK(strstr(of(&w, "U3", "hf", "2026-11-30").why, "taken back") != NULL);
  world_release(&w);
}

static void hours_end_when_they_say_and_skip_holidays(void)
{
  struct world w;

  world_read(&w,
             "hours: {monday: 07:30-18:00, friday: 07:30-16:00, source: rule 3}\n"
             "holidays: [{from: 2026-12-25, called: a feast}]\n",
             NULL);
  REQUIRE(w.people != NULL);
  struct when_civil at = {.year = 2026, .month = 11, .day = 30, .hour = 17, .minute = 59};

  CHECK_INT(people_hours(w.roster, &at, &w.arena).now, PEOPLE_STAFFED);
  at.hour = 18;
  at.minute = 0;
  struct people_hours after = people_hours(w.roster, &at, &w.arena);

  CHECK_INT(after.now, PEOPLE_NOT_STAFFED);
  CHECK_INT(after.next_day, roster_day("2026-12-04"));
  CHECK_INT(after.next_open_min, 7 * 60 + 30);
  at = (struct when_civil){.year = 2026, .month = 12, .day = 25, .hour = 9};
  struct people_hours feast = people_hours(w.roster, &at, &w.arena);

  CHECK_STR(feast.why, "a holiday: a feast");
  CHECK_INT(feast.next_day, roster_day("2026-12-28"));
  world_release(&w);
}

static void faults_of_the_file_are_found(void)
{
  static const struct {
    const char *more, *words;
  } cases[] = {
      {"hours: {monday: 18:00-07:30, source: x}\n", "is no span of a day"},
      {"holidays: [{from: 2026-12-25, until: 2026-12-01, called: x}]\n", "ends before it begins"},
      {"people: {U1: {granted: {hg: 2026-01-01}}}\n", "did you mean 'hf'"},
      {"tables: {t: {file: ../x.csv, id: id, dates: [ISO]}}\n", "leads out of"},
      {"tables: {t: {file: x.csv, id: id, dates: [DD.MM]}}\n", "needs one year"},
      {"tables: {t: {file: x.csv, id: id, dates: [ISO], status: S}}\n", "means active"},
  };

  for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
    struct world w;

    CHECK_CASE("%s", cases[i].more);
    world_read(&w, cases[i].more, NULL);
    CHECK(w.roster == NULL);
    CHECK(said(&w, cases[i].words));
    world_release(&w);
  }
}

static void an_endorsement_that_needs_itself_is_refused(void)
{
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  static const char text[] = "inward: 1 people\n"
                             "endorsements:\n"
                             "  a: {needs: [c, b], source: x}\n"
                             "  b: {needs: [a], source: x}\n"
                             "  c: {source: x}\n";
  struct facility_text file = {"people.yaml", text, sizeof text - 1};
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, 8 << 20);
  complaints_init(&complaints, &arena);
  struct facility *facility = facility_read(&suite, NULL, 0, &complaints);

  REQUIRE(facility != NULL);
  CHECK(roster_read(facility, &file, &complaints) == NULL);
  CHECK_INT(complaints.count, 2);
  facility_free(facility);
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_month_later_never_crosses_into_the_next);
  RUN(what_is_needed_must_count_too);
  RUN(the_last_day_counts_and_the_next_does_not);
  RUN(a_blank_is_not_known_and_never_has_it);
  RUN(a_day_that_two_styles_read_differently_is_not_known);
  RUN(a_person_twice_is_one_where_nothing_contradicts);
  RUN(where_rows_contradict_the_stricter_counts);
  RUN(no_order_of_rows_and_no_shared_name_gives_what_neither_has);
  RUN(unseen_blanks_and_letters_that_look_alike_are_no_other_person);
  RUN(a_third_row_cannot_give_back_what_two_took);
  RUN(what_a_row_lacks_is_said_and_the_rest_works);
  RUN(a_table_without_its_column_is_named);
  RUN(a_demotion_holds_until_its_day_or_a_new_grant);
  RUN(hours_end_when_they_say_and_skip_holidays);
  RUN(faults_of_the_file_are_found);
  RUN(an_endorsement_that_needs_itself_is_refused);
  return check_end();
}
