#include "check.h"
#include "listed.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define HEAD "Station;Name;Type;Width (m);Sash mark (m);Idle (m3/h);High (m3/h);Remark\n"

static void one_bad_row_costs_that_row_only(void)
{
  struct listed g;

  listed_read_list(&g,
                   HEAD "A1;One;two speed hood;1,5;0,45;520;1200;\n"
                        "A2;Two;two speed hood;1,5;0,45;about five;1200;\n"
                        "A3;Three;two speed hood;1.8;0.45;620;1450;\n",
                   NULL);
  REQUIRE(g.facility);
  CHECK_INT(g.facility->station_count, 2);
  CHECK_INT(g.result->left_out_count, 1);
  CHECK(listed_has_fault_at(&g, "F3"));
  CHECK_NEAR(g.facility->stations[0].width_m, 1.5, 1e-15, 0.0);
  CHECK_NEAR(g.facility->stations[1].parked_m3_s, 620.0 / 3600.0, 1e-15, 0.0);
  listed_release(&g);
}

static void a_second_station_of_one_name_is_named_and_left_out(void)
{
  struct listed g;

  listed_read_list(&g,
                   HEAD "A1;One;two speed hood;1,5;0,45;520;1200;\n"
                        "A1;Two;two speed hood;1,5;0,45;540;1200;\n",
                   NULL);
  REQUIRE(g.facility);
  CHECK_INT(g.facility->station_count, 1);
  CHECK(listed_has_fault_at(&g, "A3"));
  listed_release(&g);
}

static void a_list_in_an_old_encoding_is_said_to_be(void)
{
  struct listed g;
  bool said = false;

  listed_read_list(&g, HEAD "H1;B\xfcro;fume hood;1.5;0.45;300;900;\n", NULL);
  for (int i = 0; g.result && i < g.result->remark_count; i++)
    said |= strstr(g.result->remarks[i].text, "Windows-1252") != NULL;
  CHECK(said);
  listed_release(&g);
}

static void ditto_marks_read_as_the_cell_above(void)
{
  struct listed g;

  listed_read_list(&g,
                   HEAD "A1;One;two speed hood;1,5;0,45;520;1200;\n"
                        "A2;Two;\"\"\"\";''; dto ;\"\"\"\";\"\"\"\";\n",
                   NULL);
  REQUIRE(g.facility);
  REQUIRE(g.facility->station_count == 2);
  CHECK_INT(g.facility->stations[1].flow, FACILITY_TWO_STATE);
  CHECK_INT(g.facility->stations[1].kind, FACILITY_FUME_HOOD);
  CHECK_NEAR(g.facility->stations[1].work_m, 0.45, 1e-15, 0.0);
  CHECK_NEAR(g.facility->stations[1].work_m3_s, 1200.0 / 3600.0, 1e-15, 0.0);
  listed_release(&g);
}

static void a_station_that_was_removed_is_not_written_and_one_with_a_removed_part_is(void)
{
  struct listed g;

  listed_read_list(&g,
                   HEAD "A1;One;two speed hood;1,5;0,45;520;1200;removed 2024, duct capped\n"
                        "A2;Two;two speed hood;1,5;0,45;520;1200;removed sash stop in May\n"
                        "A3;Three;two speed hood;1,5;0,45;520;1200;no sash control\n"
                        "A4;Four;two speed hood;1,5;0,45;520;1200;out of service\n",
                   NULL);
  REQUIRE(g.facility);
  REQUIRE(g.facility->station_count == 3);
  CHECK_STR(g.facility->stations[0].part.id, "A2");
  CHECK(listed_has_fault_at(&g, "H3"));
  CHECK(g.facility->stations[1].in_service);
  CHECK(!g.facility->stations[2].in_service);
  listed_release(&g);
}

static void figures_without_a_unit_are_asked_for_and_never_assumed(void)
{
  static const char csv[] = "Station;Type;Idle;High\nA1;two speed;520;1200\n";
  const struct intake_question *q = NULL;
  struct listed g;

  listed_read_list(&g, csv, NULL);
  CHECK_INT(g.result->station_count, 0);
  CHECK(listed_has_fault_at(&g, "C2"));
  CHECK(listed_has_fault_at(&g, "D2"));
  listed_release(&g);

  listed_read_list(&g, csv, "unit of column C: cfm\nunit of column D: cfm\n");
  REQUIRE(g.facility && g.facility->station_count == 1);
  CHECK_NEAR(g.facility->stations[0].parked_m3_s, 520.0 * 0.3048 * 0.3048 * 0.3048 / 60.0, 1e-12,
             0.0);
  listed_release(&g);

  *(&g) = (struct listed){0};
  arena_init(&g.arena, 1 << 22);
  complaints_init(&g.complaints, &g.arena);
  g.intake = intake_read(sheet_read("l", csv, strlen(csv), &g.arena, &g.complaints), NULL, &g.arena,
                         &g.complaints);
  REQUIRE(g.intake != NULL);
  q = intake_next(g.intake);
  REQUIRE(q != NULL);
  CHECK_STR(q ? q->key : "none", "unit of column C"); /* the flows' units come before all else */
  arena_release(&g.arena);
}

static void no_more_than_five_questions_are_asked(void)
{
  static const char csv[] = "Station;Type;Chemistry;Width;Sash mark;Idle;High;Max flow\n"
                            "A1;VAV;acid;1,5;0,45;1.450;-;-\nS1;;solvent;1,5;0,45;520;-;-\n";
  const struct intake_question *q;
  struct err err = {0};
  struct arena arena;
  struct complaints complaints;
  int count = 0;

  arena_init(&arena, 1 << 24);
  complaints_init(&complaints, &arena);

  struct sheet_book *book = sheet_read("l", csv, strlen(csv), &arena, &complaints);
  struct intake *in = intake_read(book, NULL, &arena, &complaints);

  REQUIRE(in);
  while ((q = intake_next(in)) != NULL && count < 50) {
    count++;
    CHECK(q->ask[0] != '\0' && q->find[0] != '\0' && q->hint[0] != '\0');
    REQUIRE(intake_answer(in, q->key, "don't know", &err) == ERR_OK);
  }
  CHECK_INT(count, INTAKE_QUESTIONS);
  arena_release(&arena);
}

/* Every question of a list, answered by "don't know"; how many of them are new ones. */
static int ask_all(struct listed *g, const char *csv, bool beside_suite, int *asked_out,
                   int *plant_out)
{
  const struct intake_question *q;
  struct err err = {0};
  int fresh = 0;

  listed_begin(g);
  *asked_out = *plant_out = 0;
  g->intake = intake_read(sheet_read("l", csv, strlen(csv), &g->arena, &g->complaints), NULL,
                          &g->arena, &g->complaints);
  if (!CHECK(g->intake != NULL))
    return 0;
  if (beside_suite)
    intake_beside_suite(g->intake);
  while ((q = intake_next(g->intake)) != NULL && *asked_out < 50) {
    ++*asked_out;
    fresh += !q->same;
    *plant_out += strstr(q->key, "suppl") || strstr(q->key, "total");
    CHECK(!strstr(q->key, "not-said"));
    if (!CHECK(intake_answer(g->intake, q->key, "I don't know", &err) == ERR_OK))
      break;
  }
  return fresh;
}

static void a_figure_for_each_main_is_one_question(void)
{
  static const char csv[] = "Station;Type;Main;Idle m3/h;High m3/h\n"
                            "A1;two speed;North;500;1000\nA2;two speed;East;500;1000\n"
                            "A3;two speed;South;500;1000\nA4;two speed;West;500;1000\n"
                            "A5;two speed;;500;1000\n";
  struct listed g;
  int asked, plant;

  CHECK_INT(ask_all(&g, csv, false, &asked, &plant), 3);
  CHECK_INT(asked, 2 + 4); /* and none for where the list does not say a main */
  listed_release(&g);
}

static void a_list_read_again_asks_nothing_that_its_suite_says(void)
{
  static const char csv[] = "Station;Type;Main;Idle;High m3/h\nA1;two speed;North;500;1000\n";
  struct listed g;
  int asked, plant;

  ask_all(&g, csv, true, &asked, &plant);
  CHECK_INT(asked, 1); /* the unit of a column */
  CHECK_INT(plant, 0);
  listed_release(&g);
}

static void an_answer_is_taken_in_large_letters_too(void)
{
  static const char csv[] = "Station;Type;Chemistry;Idle m3/h;High m3/h\n"
                            "A1;two speed;acid;500;1000\nS1;two speed;solvent;500;1000\n";
  struct listed g;

  listed_read_list(&g, csv, "exhaust mains: By Chemistry\nsupply maximum: I do not know\n");
  REQUIRE(g.facility);
  CHECK_INT(g.facility->main_count, 2);
  listed_release(&g);
  listed_read_list(&g, csv, "exhaust mains: by colour\n");
  CHECK(!g.facility);
  listed_release(&g);
}

#define THREE_ROOMS                                                                                \
  "Station;Type;Room;Idle (m3/h);High (m3/h)\n"                                                    \
  "A1;two speed hood;W;300;650\nA2;two speed hood;L;300;650\nA3;two speed hood;G;300;650\n"

/* However it is written, what leaks out of all rooms is told of all of them together. */
static void what_leaks_out_is_shared_by_the_rooms_and_so_is_its_spread(void)
{
  static const char *const answers[] = {
      "600 m3/h \302\261 100 m3/h", "600 m\302\263/h\302\261100 m3/h", "600 m3/h +/- 16.6667 %",
      "0.1666667 m3/s \302\261 100 m3/h", "353.1467 cfm \302\261 100 m3/h"};

  for (size_t i = 0; i < sizeof answers / sizeof answers[0]; i++) {
    double sum = 0.0, squares = 0.0;
    char text[200];
    struct listed g;

    snprintf(text, sizeof text, "supply maximum: 5000 m3/h\nsupplied minus exhausted: %s\n",
             answers[i]);
    listed_read_list(&g, THREE_ROOMS, text);
    REQUIRE(g.facility && g.facility->supply_count == 1);
    for (const char *p = g.suite.text; (p = strstr(p, "{offset: ")) != NULL; p++) {
      struct units_quantity one;
      char figure[60];

      snprintf(figure, sizeof figure, "%.*s", (int)strcspn(p + 9, "}"), p + 9);
      REQUIRE(units_parse(figure, UNITS_FLOW, UNITS_NOTHING, &one, NULL) == ERR_OK);
      sum += one.si;
      squares += one.plus_minus_si * one.plus_minus_si;
    }
    CHECK_NEAR(sum, 600.0 / 3600.0, 1e-3, 0.0);
    CHECK_NEAR(sqrt(squares), 100.0 / 3600.0, 1e-3, 0.0);
    listed_release(&g);
  }
}

static void a_main_is_by_chemistry_only_when_somebody_says_so(void)
{
  static const char csv[] = "Station;Type;Chemistry;Idle m3/h;High m3/h\n"
                            "A1;two speed;acid;500;1000\nS1;two speed;solvent;500;1000\n"
                            "P1;two speed;by booking;500;1000\n";
  struct listed g;

  listed_read_list(&g, csv, NULL);
  REQUIRE(g.facility);
  CHECK_INT(g.facility->main_count, 1);
  listed_release(&g);
  listed_read_list(&g, csv,
                   "exhaust mains: by chemistry\nexhaust total, Acid: 4000 m3/h \302\261 10 %\n");
  REQUIRE(g.facility && g.facility->main_count == 3);
  CHECK(g.facility->mains[0].declared.given);
  CHECK(!g.facility->mains[1].declared.given);
  CHECK(listed_has_fault_at(&g, "C4")); /* nobody knows where "by booking" draws */
  CHECK_INT(g.facility->stations[2].main, 2);
  listed_release(&g);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(one_bad_row_costs_that_row_only);
  RUN(a_second_station_of_one_name_is_named_and_left_out);
  RUN(a_list_in_an_old_encoding_is_said_to_be);
  RUN(ditto_marks_read_as_the_cell_above);
  RUN(a_station_that_was_removed_is_not_written_and_one_with_a_removed_part_is);
  RUN(figures_without_a_unit_are_asked_for_and_never_assumed);
  RUN(no_more_than_five_questions_are_asked);
  RUN(a_figure_for_each_main_is_one_question);
  RUN(a_list_read_again_asks_nothing_that_its_suite_says);
  RUN(an_answer_is_taken_in_large_letters_too);
  RUN(what_leaks_out_is_shared_by_the_rooms_and_so_is_its_spread);
  RUN(a_main_is_by_chemistry_only_when_somebody_says_so);
  return check_end();
}
