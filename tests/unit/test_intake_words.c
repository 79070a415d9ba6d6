#include "check.h"
#include "listed.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define HEAD "Station;Name;Type;Width (m);Sash mark (m);Idle (m3/h);High (m3/h);Remark\n"

/* "not VAV" holds the word VAV. */
static void a_word_that_is_taken_back_is_never_used(void)
{
  static const char *const types[] = {
      "not VAV hood",     "non-VAV hood",         "hood, formerly VAV", "hood (VAV from 2027)",
      "hood VAV planned", "hood VAV bypassed",    "no longer constant", "kein Abzug",
      "ehemals VVS",      "sorbonne, plus de VAV"};
  static const char *const chemistries[] = {"no acids",           "solvent-free",
                                            "non-solvent",        "never HF",
                                            "S\303\244ure nicht", "l\303\266semittelfrei"};
  struct listed g;
  char csv[400];

  for (size_t i = 0; i < sizeof types / sizeof types[0]; i++) {
    CHECK_CASE("%s", types[i]);
    snprintf(csv, sizeof csv, "Station;Type;Idle m3/h;High m3/h\nA1;%s;300;650\n", types[i]);
    listed_read_list(&g, csv, NULL);
    REQUIRE(g.result);
    CHECK_INT(g.result->station_count, 0);
    CHECK(listed_has_fault_at(&g, "B2"));
    listed_release(&g);
  }
  for (size_t i = 0; i < sizeof chemistries / sizeof chemistries[0]; i++) {
    CHECK_CASE("%s", chemistries[i]);
    snprintf(csv, sizeof csv,
             "Station;Type;Chemistry;Idle m3/h;High m3/h\nA1;two speed;%s;300;650\n"
             "A2;two speed;acid;300;650\nA3;two speed;solvent;300;650\n",
             chemistries[i]);
    listed_read_list(&g, csv, "exhaust mains: by chemistry\n");
    REQUIRE(g.facility && g.facility->main_count == 3);
    CHECK_STR(g.facility->mains[0].part.id, "main-not-said");
    CHECK(listed_has_fault_at(&g, "C2"));
    listed_release(&g);
  }
}

static void a_station_that_was_removed_and_put_back_is_there(void)
{
  struct listed g;

  listed_read_list(&g,
                   HEAD "A1;One;two speed hood;1,5;0,45;520;1200;removed, reinstalled 2024\n"
                        "A2;Two;two speed hood;1,5;0,45;520;1200;\"out of order, mended in May\"\n"
                        "A3;Three;two speed hood;1,5;0,45;520;1200;removed 2023, in use again\n",
                   NULL);
  REQUIRE(g.facility);
  REQUIRE(g.facility->station_count == 3);
  CHECK(g.facility->stations[1].in_service);
  CHECK(listed_has_fault_at(&g, "H2") && listed_has_fault_at(&g, "H3") &&
        listed_has_fault_at(&g, "H4"));
  listed_release(&g);
}

static void figures_under_a_word_for_mains_are_no_mains(void)
{
  static const char *const lists[] = {
      "Station;Type;Exhaust;Idle m3/h;High m3/h\nA1;two speed;650;300;650\n",
      "Station;Type;Abluft;Idle m3/h;High m3/h\nA1;two speed;1.650;300;650\n",
      "Station;Type;Extraction;Idle m3/h;High m3/h\nA1;two speed;650 m3/h;300;650\n"};
  struct listed g;

  for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++) {
    listed_read_list(&g, lists[i], NULL);
    REQUIRE(g.facility && g.facility->main_count == 1);
    CHECK_STR(g.facility->mains[0].part.id, "Exhaust");
    CHECK(listed_has_fault_at(&g, "C1"));
    listed_release(&g);
  }
  listed_read_list(&g, "Station;Type;Main;Idle m3/h;High m3/h\nA1;two speed;2;300;650\n", NULL);
  REQUIRE(g.facility && g.facility->main_count == 1);
  CHECK_STR(g.facility->mains[0].part.id, "main2");
  listed_release(&g);
}

/* What is in the list and not in the suite makes every answer too good: the suite says so. */
static void a_row_that_is_left_out_is_not_counted(void)
{
  struct listed g;

  listed_read_list(&g,
                   "Station;Type;Qty;Idle m3/h;High m3/h\nA1;two speed;1;300;650\n"
                   "A2;two speed;3;300;650\nA3;two speed;;300;650\na3;two speed;;400;900\n"
                   ";two speed;;300;650\nTotal etch;two speed hood;;300;650\nTotal;;;1200;2600\n"
                   ";checked by;Bo;;\n",
                   NULL);
  REQUIRE(g.facility && g.facility->station_count == 2);
  CHECK(listed_has_fault_at(&g, "C3") && listed_has_fault_at(&g, "A5") &&
        listed_has_fault_at(&g, "A6") && listed_has_fault_at(&g, "A7"));
  CHECK(listed_has_notice_at(&g, "A8"));
  for (int row = 1; row <= 8; row++) {
    char text[40];

    snprintf(text, sizeof text, "  - row %d of the list ", row);
    CHECK_CASE("row %d", row);
    CHECK((strstr(g.suite.text, text) != NULL) == (row == 3 || (row >= 5 && row <= 7)));
  }
  listed_release(&g);
}

/* What a valve can pass is not what it does pass. */
static void the_largest_flow_is_not_the_constant_one(void)
{
  struct listed g;

  listed_read_list(&g,
                   "Station;Type;Flow m3/h;Max flow m3/h\nA1;constant;650;900\nA2;constant;?;900\n"
                   "A3;constant;650;500\n",
                   NULL);
  REQUIRE(g.facility && g.facility->station_count == 1);
  CHECK_STR(g.facility->stations[0].part.id, "A1");
  CHECK_NEAR(g.facility->stations[0].work_m3_s, 650.0 / 3600.0, 1e-12, 0.0);
  CHECK(listed_has_fault_at(&g, "A3") && listed_has_fault_at(&g, "D4") &&
        listed_has_notice_at(&g, "D2"));
  listed_release(&g);
}

static void flows_that_contradict_each_other_are_no_flow(void)
{
  struct listed g;

  listed_read_list(
      &g,
      "Station;Type;Width m;Sash mark m;Face velocity m/s;Idle m3/h;High m3/h;Max flow m3/h\n"
      "A1;VAV;1.5;0.4;0.5;300;650;\n"  /* 0.5 x 1.5 x 0.4 m3/s is 1080 m3/h */
      "A2;VAV;1.5;0.4;0.5;300;1100;\n" /* and this is near enough */
      "A3;two speed;;;;300;650;500\n"
      "A4;two speed;;;0.5;300;650;650\n",
      NULL);
  REQUIRE(g.facility && g.facility->station_count == 2);
  CHECK(listed_has_fault_at(&g, "G2") && listed_has_fault_at(&g, "H4"));
  CHECK(listed_has_notice_at(&g, "G3"));  /* not used, for the velocity is */
  CHECK(listed_has_notice_at(&g, "E5"));  /* two flows have no place for a velocity */
  CHECK(!listed_has_notice_at(&g, "H5")); /* is its flow at work */
  listed_release(&g);
}

static void headers_of_two_rows_are_read_together(void)
{
  struct listed g;

  listed_read_list(&g,
                   "Station;Type;Sash [in];;Flow;\n"
                   ";;Mark;Max;low cfm;high cfm\n"
                   "A1;two speed;18;28;250;650\n",
                   NULL);
  REQUIRE(g.facility && g.facility->station_count == 1);
  CHECK_NEAR(g.facility->stations[0].work_m, 18 * 0.0254, 1e-12, 0.0);
  CHECK_INT(g.facility->stations[0].flow, FACILITY_TWO_STATE);
  listed_release(&g);
}

static void marks_of_sash_and_glass_are_told_apart_by_their_cells(void)
{
  struct listed g;

  listed_read_list(&g, "Station;Type;Mark;Flow m3/h\nA1;constant;blue ring R;650\n", NULL);
  REQUIRE(g.facility && g.facility->station_count == 1);
  CHECK_INT(g.facility->stations[0].card.mark.colour, MARK_BLUE);
  CHECK_INT(g.facility->stations[0].card.mark.shape, MARK_RING);
  CHECK_STR(g.facility->stations[0].card.mark.letter, "R");
  CHECK(!g.facility->stations[0].has_openings);
  listed_release(&g);
}

static void two_columns_of_one_meaning_are_both_left(void)
{
  struct listed g;

  listed_read_list(&g, "Station;Type;Width (m);Breite (mm);Flow m3/h\nA1;constant;1.5;1800;650\n",
                   NULL);
  REQUIRE(g.facility && g.facility->station_count == 1);
  CHECK(listed_has_fault_at(&g, "D1"));
  CHECK(!g.facility->stations[0].has_width);
  listed_release(&g);
}

static void a_list_without_a_header_or_with_two_is_refused_by_name(void)
{
  struct listed g;

  listed_read_list(&g, "H1;VAV;1,5;520\nH2;VAV;1,5;520\n", NULL);
  CHECK(!g.intake);
  CHECK_INT(g.complaints.count, 1);
  listed_release(&g);
  listed_read_list(
      &g,
      HEAD "A1;One;CAV;;;520;;\n;;;;;;;\nStation;Type;Flow cfm;Width ft;;;;\nB1;CAV;300;5;;;;\n",
      NULL);
  CHECK(!g.intake);
  REQUIRE(g.complaints.count == 1);
  CHECK(strstr(g.complaints.list[0].text, "A1") && strstr(g.complaints.list[0].text, "A4"));
  listed_release(&g);
}

/* A workbook has what a CSV has not: cells struck through, and hidden rows. */
static void what_is_struck_through_or_hidden_is_never_used_in_silence(void)
{
  enum { COLUMNS = 5, ROWS = 4 };
  static const char *const texts[ROWS * COLUMNS] = {
      "Station", "Type",           "Idle (m3/h)", "High (m3/h)", "Not here", /**/
      "A1",      "two speed hood", "520",         "1200",        "HF",       /**/
      "A2",      "two speed hood", "520",         "1300",        "HF",       /**/
      "A3",      "two speed hood", "520",         "1400",        "HF"};
  struct sheet_cell cells[ROWS * COLUMNS] = {0};
  bool rows[ROWS] = {0}, columns[COLUMNS] = {0}, said = false;
  struct listed g;

  for (int i = 0; i < ROWS * COLUMNS; i++)
    cells[i] = (struct sheet_cell){.kind = SHEET_TEXT, .text = texts[i], .number = (double)NAN};
  cells[COLUMNS + 3].struck = true;     /* the flow of A1 at work */
  cells[2 * COLUMNS + 4].struck = true; /* what must not be at A2 */
  cells[3 * COLUMNS + 0].part_struck = true;
  rows[3] = true;

  struct sheet_table table = {"Stations", false, ROWS, COLUMNS, cells, rows, columns};
  struct sheet_book book = {.file = "list.xlsx", .table_count = 1, .tables = &table};

  listed_begin(&g);
  listed_take_book(&g, &book, NULL);
  REQUIRE(g.facility);
  CHECK(listed_has_fault_at(&g, "Stations!D2") && listed_has_fault_at(&g, "Stations!E3"));
  CHECK(!strstr(g.suite.text, "1200"));
  REQUIRE(g.facility->station_count == 2);
  CHECK_STR(g.facility->stations[1].part.id, "A3");
  CHECK_INT(g.facility->stations[0].card.not_here_count, 0);
  for (int i = 0; i < g.result->remark_count; i++)
    said |= g.result->remarks[i].row == 3 && strstr(g.result->remarks[i].text, "hidden") != NULL;
  CHECK(said);
  listed_release(&g);
}

/* 650 over three rows: each, or all together? */
static void a_flow_merged_over_rows_is_said(void)
{
  enum { COLUMNS = 4, ROWS = 3 };
  static const char *const texts[ROWS * COLUMNS] = {
      "Station", "Type",           "Idle (m3/h)", "High (m3/h)", /**/
      "A1",      "two speed hood", "520",         "1200",        /**/
      "A2",      "two speed hood", "520",         "1200"};
  struct sheet_cell cells[ROWS * COLUMNS] = {0};
  struct listed g;

  for (int i = 0; i < ROWS * COLUMNS; i++)
    cells[i] = (struct sheet_cell){.kind = SHEET_TEXT, .text = texts[i], .number = (double)NAN};
  cells[2 * COLUMNS + 3].covered = true;

  struct sheet_table table = {"Stations", false, ROWS, COLUMNS, cells, NULL, NULL};
  struct sheet_book book = {.file = "list.xlsx", .table_count = 1, .tables = &table};

  listed_begin(&g);
  listed_take_book(&g, &book, NULL);
  REQUIRE(g.facility && g.facility->station_count == 2);
  CHECK(listed_has_notice_at(&g, "Stations!D3") && !listed_has_notice_at(&g, "Stations!D2"));
  listed_release(&g);
}

static void words_in_other_letters_are_kept_and_never_taken_for_nothing(void)
{
  struct listed g;

  listed_read_list(&g,
                   "Station;Name;Type;Status;Not here;Idle (m3/h);High (m3/h)\n"
                   "A1;\xd0\xa9\xd1\x91;two speed hood;\xe5\x81\x9c;\xe7\xa6\x81;520;1200\n"
                   "A2;\xe2\x80\x94;two speed hood;;n/a;\xd9\xa5;1200\n"
                   "\xe5\x87\xba;Three;two speed hood;;;520;1200\n",
                   NULL);
  REQUIRE(g.facility && g.facility->station_count == 1);
  CHECK_STR(g.facility->stations[0].part.name, "\xd0\xa9\xd1\x91");
  CHECK_INT(g.facility->stations[0].card.not_here_count, 1);
  CHECK(listed_has_fault_at(&g, "D2")); /* a status nobody here can read */
  CHECK(listed_has_fault_at(&g, "F3") && listed_has_fault_at(&g, "A4"));
  listed_release(&g);
}

static void a_main_written_in_two_ways_is_one_main(void)
{
  struct listed g;

  listed_read_list(&g,
                   "Station;Type;Room;Main;Flow m3/h\nA1;constant;Wet bay;Acid;650\n"
                   "A2;constant;wet  Bay;acid;650\nA3;constant;Wet bay;Solvent;650\n",
                   NULL);
  REQUIRE(g.facility && g.facility->station_count == 3);
  CHECK_INT(g.facility->main_count, 2);
  CHECK_INT(g.facility->stations[0].room, g.facility->stations[1].room);
  CHECK_INT(g.facility->stations[0].main, g.facility->stations[1].main);
  REQUIRE(g.result->remark_count >= 2);
  CHECK_STR(g.result->remarks[0].place, "C3");
  CHECK_STR(g.result->remarks[1].place, "D3");
  listed_release(&g);
}

static void a_text_that_is_too_long_costs_itself_only(void)
{
  struct listed g;
  struct buf csv;

  buf_init(&csv, 1 << 20);
  buf_puts(&csv, "Station;Type;Flow m3/h;Not here;Remark\nA1;constant;650;");
  for (int i = 0; i < 3000; i++)
    buf_puts(&csv, "HF, ");
  buf_puts(&csv, ";");
  for (int i = 0; i < 30000; i++)
    buf_puts(&csv, "n");
  listed_read_list(&g, csv.text, NULL);
  REQUIRE(g.facility && g.facility->station_count == 1);
  CHECK(listed_has_fault_at(&g, "D2") && listed_has_fault_at(&g, "E2"));
  CHECK_INT(g.result->remark_count, 2);
  listed_release(&g);
  buf_release(&csv);
}

static void a_spread_that_only_the_suite_knows_stays(void)
{
  static const char suite[] =
      "inward: 1 suite\nname: N\nrooms: {Wet: {}}\nmains: {Acid: {}}\nstations:\n"
      "  A1: {kind: fume hood, room: Wet, main: Acid, flow: {two-state: {parked: 520 m3/h "
      "\302\261 5 %, work: 1200 m3/h \302\261 9 %}}}\n";
  struct facility_text text = {"suite.yaml", suite, sizeof suite - 1};
  const struct intake_change *list = NULL;
  struct listed g;

  listed_read_list(&g,
                   "Station;Type;Idle (m3/h);High (m3/h)\n"
                   "A1;two speed hood;520;1200 \302\261 7 %\n",
                   NULL);
  REQUIRE(g.intake);
  REQUIRE(intake_compare(g.intake, &text, &g.complaints, &list) == 1);
  CHECK_STR(list[0].key, "flow, two-state, work");
  listed_release(&g);
}

static bool is_said(const struct listed *g, enum intake_weight weight, const char *place,
                    const char *words)
{
  for (int i = 0; g->result && i < g->result->remark_count; i++)
    if (g->result->remarks[i].weight == weight && strcmp(g->result->remarks[i].place, place) == 0 &&
        strstr(g->result->remarks[i].text, words))
      return true;
  return false;
}

static void a_heading_in_the_column_of_ids_is_no_station(void)
{
  struct listed g;

  listed_read_list(
      &g,
      HEAD "A1;One;two speed hood;1,5;0,45;520;1200;\nLITHO BAY;;;;;;;\n"
           "S2;Two;two speed hood;1,5;0,45;520;1200;\nS3;Three;two speed hood;1.8;0.45;620;1450;\n"
           "S4;;;;;;;\n",
      NULL);
  REQUIRE(g.facility);
  CHECK(is_said(&g, INTAKE_NOTICE, "A3", "heading"));
  CHECK(!strstr(g.suite.text, "LITHO"));
  CHECK(strstr(g.suite.text, "- S4"));
  listed_release(&g);

  listed_read_list(&g, /* where ids have no digits, a lone word may be one */
                   HEAD "Left;One;two speed hood;1,5;0,45;520;1200;\nRight;;;;;;;\n"
                        "Middle;Two;two speed hood;1,5;0,45;520;1200;\n",
                   NULL);
  REQUIRE(g.facility);
  CHECK(strstr(g.suite.text, "- Right"));
  listed_release(&g);
}

static void a_column_of_figures_that_is_not_understood_is_a_fault_with_the_names_that_are(void)
{
  struct listed g;

  listed_read_list(&g,
                   "Station;Type;Width (m);Sash mark (m);Idle (m3/h);Normal (m3/h);Inventory\n"
                   "A1;VAV hood;1,5;0,45;520;1200;4711\n",
                   NULL);
  REQUIRE(g.facility);
  CHECK(is_said(&g, INTAKE_FAULT, "F1", "Work flow"));
  CHECK(is_said(&g, INTAKE_NOTICE, "G1", "not used"));
  CHECK(is_said(&g, INTAKE_NOTICE, "A1", "Work flow"));
  listed_release(&g);

  listed_read_list(&g, HEAD "A1;One;two speed hood;1,5;0,45;520;1200;\n", NULL);
  CHECK_INT(g.result->remark_count, 0); /* nothing unknown, nothing said */
  listed_release(&g);
}

static void only_stations_that_need_it_are_asked_how_their_flow_moves(void)
{
  static const char csv[] = "Station;Type;Width (m);Sash mark (m);Idle (m3/h);High (m3/h)\n"
                            "A1;hood;1,5;0,45;520;1200\nC2;cabinet;;;120;\n";
  const struct intake_question *q;
  struct err err = {0};
  struct listed g;
  bool asked = false;

  listed_begin(&g);
  g.intake = intake_read(sheet_read("l", csv, strlen(csv), &g.arena, &g.complaints), NULL, &g.arena,
                         &g.complaints);
  REQUIRE(g.intake);
  while ((q = intake_next(g.intake)) != NULL) {
    if (strcmp(q->key, "flow rule") == 0) {
      asked = true;
      CHECK(strstr(q->ask, "C2") && !strstr(q->ask, "A1"));
    }
    REQUIRE(intake_answer(g.intake, q->key, "don't know", &err) == ERR_OK);
  }
  CHECK(asked);
  listed_release(&g);
}

static void a_list_read_again_asks_nothing_the_suite_says_and_leaves_no_stale_comment(void)
{
  static const char suite[] =
      "inward: 1 suite\nname: N\nrooms: {Wet: {}}\nmains: {Acid: {}}\nstations:\n"
      "  A1:\n    kind: fume hood\n    room: Wet\n    main: Acid\n    width: 1.5 m\n"
      "    opening: {work: 0.45 m}\n"
      "    flow: {follows opening: {velocity: 0.45 m/s, least: 520 m3/h, most: 1094 m3/h}}"
      "   # face velocity as answered\n"
      "  C2: {kind: ventilated cabinet, room: Wet, main: Acid, flow: {constant: 120 m3/h}} # mine\n";
  static const char csv[] = "Station;Type;Width (m);Sash mark (m);Idle (m3/h);High (m3/h)\n"
                            "A1;VAV hood;1,5;0,45;520;1200\nC2;cabinet;;;;\n";
  struct facility_text text = {"suite.yaml", suite, sizeof suite - 1};
  const struct intake_question *q;
  struct err err = {0};
  struct listed g;

  listed_begin(&g);
  g.intake = intake_read(sheet_read("l", csv, strlen(csv), &g.arena, &g.complaints), NULL, &g.arena,
                         &g.complaints);
  REQUIRE(g.intake);
  intake_beside_suite(g.intake);
  while ((q = intake_next(g.intake)) != NULL) {
    CHECK(!strstr(q->key, "supply") && !strstr(q->key, "total") && !strstr(q->key, "supplied"));
    REQUIRE(intake_answer(g.intake, q->key, "don't know", &err) == ERR_OK);
  }
  REQUIRE(intake_apply(g.intake, &text, false, &g.complaints, &g.suite));
  CHECK(!strstr(g.suite.text, "face velocity as answered"));
  CHECK(strstr(g.suite.text,
               "flow: {two-state: {parked: 520 m3/h, work: 1200 m3/h}}   # it follows"));
  CHECK(strstr(g.suite.text, "flow: {constant: 120 m3/h}} # mine\n"));
  listed_release(&g);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_word_that_is_taken_back_is_never_used);
  RUN(a_station_that_was_removed_and_put_back_is_there);
  RUN(figures_under_a_word_for_mains_are_no_mains);
  RUN(a_row_that_is_left_out_is_not_counted);
  RUN(the_largest_flow_is_not_the_constant_one);
  RUN(flows_that_contradict_each_other_are_no_flow);
  RUN(headers_of_two_rows_are_read_together);
  RUN(marks_of_sash_and_glass_are_told_apart_by_their_cells);
  RUN(two_columns_of_one_meaning_are_both_left);
  RUN(a_list_without_a_header_or_with_two_is_refused_by_name);
  RUN(what_is_struck_through_or_hidden_is_never_used_in_silence);
  RUN(a_flow_merged_over_rows_is_said);
  RUN(words_in_other_letters_are_kept_and_never_taken_for_nothing);
  RUN(a_main_written_in_two_ways_is_one_main);
  RUN(a_text_that_is_too_long_costs_itself_only);
  RUN(a_spread_that_only_the_suite_knows_stays);
  RUN(a_heading_in_the_column_of_ids_is_no_station);
  RUN(a_column_of_figures_that_is_not_understood_is_a_fault_with_the_names_that_are);
  RUN(only_stations_that_need_it_are_asked_how_their_flow_moves);
  RUN(a_list_read_again_asks_nothing_the_suite_says_and_leaves_no_stale_comment);
  return check_end();
}
