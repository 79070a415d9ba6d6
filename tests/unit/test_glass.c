/* The marks of a suite's glass, told apart or not. */
#include "glass/glass.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define PLANT                                                                                      \
  "inward: 1 suite\n"                                                                              \
  "call: desk, 1\n"                                                                                \
  "rooms:\n  R: {}\n"                                                                              \
  "junctions:\n  J: {}\n"                                                                          \
  "mains:\n  M: {capacity: {value: 2 m3/s}}\n"
#define STATION "kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}"

struct asked {
  struct facility *facility;
  struct arena arena;
  struct buf said;
  struct err err;
};

static bool ask(struct asked *a, const char *text)
{
  struct complaints complaints;
  struct facility_text suite = {"suite.yaml", text, strlen(text)};

  arena_init(&a->arena, 64 << 20);
  buf_init(&a->said, 1 << 20);
  a->err = (struct err){0};
  complaints_init(&complaints, &a->arena);
  a->facility = facility_read(&suite, NULL, 0, &complaints);
  if (!a->facility)
    complaints_print(&complaints, suite.file, text, &a->said);
  return CHECK_STR(a->said.text, "") && a->facility;
}

static void forget(struct asked *a)
{
  facility_free(a->facility);
  buf_release(&a->said);
  arena_release(&a->arena);
}

static const char three[] =
    PLANT "stations:\n"
          "  B1: {" STATION ", glass mark: {colour: white, shape: square, letter: K},\n"
          "       glass: [{what: carrier, material: PTFE, count: 2, may visit: [B2]}]}\n"
          "  B2: {" STATION ", glass mark: {colour: black, shape: ring, letter: P}}\n"
          "  B3: {" STATION ", glass mark: {colour: yellow, shape: square, letter: X}}\n";

static void two_marks_are_told_by_what_everybody_sees(void)
{
  struct asked a;

  if (ask(&a, three)) {
    struct glass_answer *answer = glass_look(a.facility, GLASS_LOOK, &a.arena);

    CHECK_INT(answer->pair_count, 3);
    CHECK_INT(answer->pairs[0].told_by,
              0); /* the worst first: X is read as K, yellow fades to white */
    CHECK_INT(answer->pairs[0].one, 0);
    CHECK_INT(answer->pairs[0].other, 2);
    CHECK_INT(answer->pairs[0].worst, MARK_GREY_COPY);
    CHECK_INT(answer->pairs[1].told_by, 3);
    CHECK_INT(answer->alike_count, 1);
    CHECK_INT(answer->weak_count, 0);
    CHECK_INT(answer->fault_count, 0);
  }
  forget(&a);
}

static void limits_of_the_suite_decide_what_is_told_apart(void)
{
  struct asked a;
  char text[4000];

  snprintf(text, sizeof text, "%sglass: {least colour: 2}\n", three);
  if (ask(&a, text)) {
    struct glass_answer *answer = glass_look(a.facility, GLASS_LOOK, &a.arena);

    CHECK_INT(answer->alike_count, 0);
    CHECK_INT(answer->weak_count, 1);
  }
  forget(&a);
}

static void a_letter_of_station_ids_and_a_colour_of_waste_are_faults(void)
{
  struct asked a;

  if (ask(&a, PLANT "stations:\n"
                    "  B1: {" STATION ", glass mark: {colour: red, shape: square, letter: b}}\n"
                    "  B2: {" STATION "}\n"
                    "glass: {keep off: [{colour: red, means: solvent waste, source: rule 9}]}\n")) {
    struct glass_answer *answer = glass_look(a.facility, GLASS_LOOK, &a.arena);

    CHECK_INT(answer->fault_count, 3);
    CHECK_INT(answer->stations[0].fault_count, 2);
    CHECK(strstr(answer->stations[0].faults[0], "B1") != NULL);
    CHECK(strstr(answer->stations[0].faults[1], "solvent waste (rule 9)") != NULL);
    CHECK_STR(answer->stations[1].faults[0], "it has no mark");
    CHECK_INT(answer->alike_count, 0); /* a mark that is not there is not like another */
  }
  forget(&a);
}

static void chosen_marks_leave_no_weak_pair_and_keep_off_what_is_taken(void)
{
  struct asked a;
  char text[8000];
  size_t used = (size_t)snprintf(
      text, sizeof text,
      PLANT "glass: {keep off: [{colour: white, means: lamp, source: s}]}\nstations:\n");

  for (int i = 0; i < 20; i++)
    used += (size_t)snprintf(text + used, sizeof text - used, "  B%d: {" STATION "}\n", i);
  if (ask(&a, text)) {
    struct glass_answer *answer = glass_look(a.facility, GLASS_KEEP, &a.arena),
                        *again = glass_look(a.facility, GLASS_KEEP, &a.arena);

    CHECK(answer->found_all);
    for (int i = 0; i < 20; i++) {
      const struct facility_mark *m = &answer->stations[i].chosen;

      CHECK_CASE("station %d", i);
      CHECK(m->colour != MARK_NO_COLOUR && m->colour != MARK_WHITE && m->shape != MARK_NO_SHAPE);
      CHECK(strcmp(m->letter, "B") != 0);
      CHECK_INT(again->stations[i].chosen.colour, m->colour);
      CHECK_STR(again->stations[i].chosen.letter, m->letter);
    }
    CHECK(answer->chosen[0].told_by >= 1); /* the worst pair */
  }
  forget(&a);
}

static void what_was_chosen_is_an_overlay_that_mends_the_suite(void)
{
  struct asked a;

  if (ask(&a, three)) {
    struct complaints complaints;
    struct glass_answer *answer = glass_look(a.facility, GLASS_WEAK, &a.arena);

    glass_overlay(answer, &a.said);

    struct facility_text suite = {"suite.yaml", three, strlen(three)},
                         overlay = {"marks.yaml", a.said.text, a.said.used};
    complaints_init(&complaints, &a.arena);
    struct facility *mended = facility_read(&suite, &overlay, 1, &complaints);

    if (CHECK(mended != NULL)) {
      answer = glass_look(mended, GLASS_LOOK, &a.arena);
      CHECK_INT(answer->alike_count + answer->weak_count + answer->fault_count, 0);
      facility_free(mended);
    }
  }
  forget(&a);
}

static void a_piece_is_at_home_visits_is_astray_or_not_known(void)
{
  static const struct {
    const char *said;
    int at;
    enum glass_verdict verdict;
  } rows[] = {{"black ring P", 1, GLASS_AT_HOME},    {"black", 0, GLASS_ASTRAY},
              {"White square k", 1, GLASS_DOUBTFUL}, /* yellow X in bad light */
              {"white square", 1, GLASS_DOUBTFUL},   {"star", 0, GLASS_STRANGER},
              {"violet ring", 0, GLASS_STRANGER}};
  struct asked a;

  if (ask(&a, three))
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
      struct facility_mark mark;

      CHECK_CASE("%s", rows[i].said);
      if (!CHECK_INT(glass_read_mark(rows[i].said, &a.arena, &mark, &a.err), ERR_OK))
        continue;
      struct glass_seen *seen = glass_seen_at(a.facility, &mark, NULL, rows[i].at, &a.arena);

      CHECK_INT(seen->verdict, rows[i].verdict);
      CHECK(seen->act_count > 0);
      glass_seen_text(seen, &a.said);
      CHECK(strstr(a.said.text, "safe") == NULL);
    }
  forget(&a);
}

static void what_is_no_mark_is_refused_with_what_one_is(void)
{
  static const char *const words[] = {"purple", "red blue", "ring dot", "K L",
                                      "",       "   ",      "\xc3\x28"};
  struct arena arena;

  arena_init(&arena, 1 << 20);
  for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
    struct err err = {0};
    struct facility_mark mark = {MARK_RED, MARK_DOT, NULL};

    CHECK_CASE("'%s'", words[i]);
    CHECK_INT(glass_read_mark(words[i], &arena, &mark, &err), ERR_INPUT);
    CHECK(strstr(err.text, "violet") != NULL && strstr(err.text, "one letter") != NULL);
    CHECK_INT(mark.colour, MARK_RED); /* untouched */
  }
  arena_release(&arena);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(two_marks_are_told_by_what_everybody_sees);
  RUN(limits_of_the_suite_decide_what_is_told_apart);
  RUN(a_letter_of_station_ids_and_a_colour_of_waste_are_faults);
  RUN(chosen_marks_leave_no_weak_pair_and_keep_off_what_is_taken);
  RUN(what_was_chosen_is_an_overlay_that_mends_the_suite);
  RUN(a_piece_is_at_home_visits_is_astray_or_not_known);
  RUN(what_is_no_mark_is_refused_with_what_one_is);
  return check_end();
}
