/* What a table of readings vouches for: its struck rows, its bands, its days. */
#include "matched.h"

static const char quillmere[] = "examples/quillmere/suite.yaml";

static void a_row_that_is_struck_through_counts_for_nothing_and_is_told(void)
{
  static const char text[] = "of,what,value,unit\nA2,flow,1380,m3/h\nA2,flow,1900,m3/h\n"
                             "A3,flow,430,m3/h\n";
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    struct sheet_book *book;

    complaints_init(&complaints, &w.arena);
    book = sheet_read("t.csv", text, strlen(text), &w.arena, &complaints);
    REQUIRE(book != NULL);

    struct sheet_table table = book->tables[0];
    int count = table.row_count * table.column_count;
    struct sheet_cell *cells = ARENA_ARRAY(&w.arena, struct sheet_cell, (size_t)count);
    struct match_readings *r;

    memcpy(cells, table.cells, (size_t)count * sizeof *cells);
    cells[2 * table.column_count + 2].struck = true; /* the value */
    cells[3 * table.column_count].struck = true;     /* of */
    table.cells = cells;
    book->tables = &table;
    r = match_table(w.facility, book, &w.arena, &complaints);
    REQUIRE(r != NULL);
    CHECK_INT(r->count, 1);
    CHECK_NEAR(r->list[0].measured_si, 1380.0 / 3600.0, 0, 1e-9);
    REQUIRE(r->note_count == 1);
    CHECK_STR(r->notes[0], "rows struck through: 2");
  }
  walked_close(&w);
}

static void a_band_that_is_not_whole_or_lies_elsewhere_is_a_fault_at_its_cell(void)
{
  static const struct {
    const char *row, *says;
    int column;
  } faults[] = {{"A2,flow,m3/h,1380,,1566,1400", "belong together", 14},
                {"A2,flow,m3/h,1380,1194,,1400", "belong together", 14},
                {"A2,flow,m3/h,,1194,1566,1400", "belong together", 15},
                {"A2,flow,m3/h,1380,1566,1194,1400", "outside its own band", 14},
                {"A2,flow,m3/h,1000,1194,1566,1400", "outside its own band", 14}};
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false))
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
      const char *text =
          arena_printf(&w.arena, "of,what,unit,predicted,from,to,value\n%s\n", faults[i].row);

      check_case("%s", faults[i].row);
      CHECK(matched_table(&w, "t.csv", text, strlen(text), &complaints) == NULL);
      REQUIRE(complaints.count == 1);
      CHECK(strstr(complaints.list[0].text, faults[i].says) != NULL);
      CHECK_INT(complaints.list[0].place.line, 2);
      CHECK_INT(complaints.list[0].place.column, faults[i].column);
    }
  walked_close(&w);
}

/* The edges as printed, also where rounding has put what was predicted beside their middle. */
static void what_is_inside_a_band_lies_between_its_edges(void)
{
  static const char text[] =
      "of,what,unit,predicted,from,to,value\nA2,flow,m3/h,1380,1300,1600,1590\n"
      "A3,flow,m3/h,430,400,600,590\n";
  static const struct match_options options = {.no_next = true};
  struct walked w;
  struct complaints complaints;
  struct err err = {0};
  struct buf out;

  buf_init(&out, 1 << 20);
  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const struct match_readings *r = matched_table(&w, "t.csv", text, strlen(text), &complaints);
    const struct match_result *result =
        r ? match_fit(w.facility, r, &options, &w.arena, &err) : NULL;

    REQUIRE(result != NULL);
    match_text(result, UNITS_SYSTEM_SI, &out);
    CHECK(strstr(out.text, "2 of 2 inside their band") != NULL);
  }
  buf_release(&out);
  walked_close(&w);
}

static void what_was_predicted_after_it_was_read_is_no_prediction(void)
{
  static const struct {
    const char *read_on;
    bool good;
  } days[] = {{"2026-11-29", false}, {"2026-11-30", true}, {"2026-12-01", true}, {"", true}};
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false))
    for (size_t i = 0; i < sizeof days / sizeof days[0]; i++) {
      const char *text =
          arena_printf(&w.arena,
                       "predicted on,2026-11-30\ndate,%s\nof,what,unit,predicted,from,to,value\n"
                       "A2,flow,m3/h,1380,1194,1566,1400\n",
                       days[i].read_on);

      check_case("%s", days[i].read_on);
      CHECK((matched_table(&w, "t.csv", text, strlen(text), &complaints) != NULL) == days[i].good);
      if (days[i].good)
        continue;
      REQUIRE(complaints.count == 1);
      CHECK(strstr(complaints.list[0].text, "no prediction") != NULL);
      CHECK_INT(complaints.list[0].place.line, 2);
      CHECK_INT(complaints.list[0].place.column, 6);
    }
  walked_close(&w);
}

static void a_number_that_a_comma_has_parted_is_a_fault(void)
{
  static const char parted[] = "of,what,unit,value\nA2,flow,m3/h,1,380\n",
                    remarked[] = "of,what,unit,value,\nA2,flow,m3/h,1380,by hand\n";
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    CHECK(matched_table(&w, "t.csv", parted, strlen(parted), &complaints) == NULL);
    REQUIRE(complaints.count == 1);
    CHECK_INT(complaints.list[0].place.line, 2);
    CHECK_INT(complaints.list[0].place.column, 16);
    CHECK(matched_table(&w, "t.csv", remarked, strlen(remarked), &complaints) != NULL);
  }
  walked_close(&w);
}

static void what_a_screen_would_obey_is_no_remark(void)
{
  static const char text[] = "of,what,unit,value,remark\nA2,flow,m3/h,1380,\x1b[2Jgone\n";
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    CHECK(matched_table(&w, "t.csv", text, strlen(text), &complaints) == NULL);
    REQUIRE(complaints.count == 1);
    CHECK_INT(complaints.list[0].place.line, 2);
    CHECK_INT(complaints.list[0].place.column, 19);
  }
  walked_close(&w);
}

/* Only what has such a reading is offered. */
static void a_mistyped_id_is_told_with_what_it_may_have_been(void)
{
  static const struct {
    const char *row, *says;
  } rows[] = {
      {"MU/Gwn,flow,m3/h,400", "'MU/Gwn' has no flow in this suite; is it 'MU/Gown'?"},
      {"A11x,face velocity,m/s,0.4", "is it 'A1'?"},
      {"quux,speed,%,80", "'quux' has no speed in this suite; it is read of: "},
  };
  struct walked w;
  struct complaints complaints;

  if (walked_open(&w, quillmere, NULL, NULL, false))
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
      const char *text = arena_printf(&w.arena, "of,what,unit,value\n%s\n", rows[i].row);

      REQUIRE(text != NULL);
      CHECK(matched_table(&w, "t.csv", text, strlen(text), &complaints) == NULL);
      REQUIRE(complaints.count == 1);
      CHECK(strstr(complaints.list[0].text, rows[i].says) != NULL);
    }
  walked_close(&w);
}

static void a_sheet_without_a_value_asks_for_values(void)
{
  static const char text[] = "of,what,unit,value\nA2,flow,m3/h,\nA3,flow,m3/h,\n";
  static const struct match_options options = {.no_next = true};
  struct walked w;
  struct complaints complaints;
  struct err err = {0};

  if (walked_open(&w, quillmere, NULL, NULL, false)) {
    const struct match_readings *r = matched_table(&w, "t.csv", text, strlen(text), &complaints);
    const struct match_result *result =
        r ? match_fit(w.facility, r, &options, &w.arena, &err) : NULL;

    REQUIRE(result != NULL);
    CHECK_INT(result->verdict, MATCH_TOO_FEW);
    CHECK(strstr(result->next_action, "fill in its column 'value'") != NULL);
  }
  walked_close(&w);
}

int main(void)
{
  RUN(a_row_that_is_struck_through_counts_for_nothing_and_is_told);
  RUN(a_band_that_is_not_whole_or_lies_elsewhere_is_a_fault_at_its_cell);
  RUN(what_is_inside_a_band_lies_between_its_edges);
  RUN(what_was_predicted_after_it_was_read_is_no_prediction);
  RUN(a_number_that_a_comma_has_parted_is_a_fault);
  RUN(what_a_screen_would_obey_is_no_remark);
  RUN(a_mistyped_id_is_told_with_what_it_may_have_been);
  RUN(a_sheet_without_a_value_asks_for_values);
  return check_end();
}
