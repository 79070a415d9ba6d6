#include "papers/papers.h"
#include "papers/papers_impl.h"

#include "check.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define ROOM                                                                                       \
  "inward: 1 suite\nname: Quillmere\nlabel: DEMO\nrooms: {Wet: {}}\nmains: {Acid: {}}\n"           \
  "stations:\n"
#define AIR "kind: fume hood, room: Wet, main: Acid, flow: {constant: 500 m3/h}"

/* A suite, and what was printed of it. */
struct printed {
  struct arena arena;
  struct complaints complaints;
  struct papers_report *report;
  struct facility *facility;
  struct papers_request request;
  struct buf bytes;
  struct err err;
};

static void begin(struct printed *p, const char *suite)
{
  struct facility_text text = {"suite.yaml", suite, strlen(suite)};

  *p = (struct printed){.err = {0}};
  arena_init(&p->arena, SIZE_MAX);
  complaints_init(&p->complaints, &p->arena);
  buf_init(&p->bytes, 64 << 20);
  p->report = ARENA_NEW(&p->arena, struct papers_report);
  p->report->arena = &p->arena;
  p->facility = facility_read(&text, NULL, 0, &p->complaints);
  for (int i = 0; i < p->complaints.count; i++)
    check_case("%d: %s", p->complaints.list[i].place.line, p->complaints.list[i].text);
  CHECK(p->facility != NULL);
  p->request = (struct papers_request){.facility = p->facility, .report = p->report};
}

static enum err_code all_cards(struct printed *p)
{
  int *stations = ARENA_ARRAY(&p->arena, int, (size_t)p->facility->station_count);

  for (int i = 0; i < p->facility->station_count; i++)
    stations[i] = i;
  buf_clear(&p->bytes);
  return papers_cards(&p->request, stations, p->facility->station_count, &p->bytes, &p->err);
}

static void end(struct printed *p)
{
  facility_free(p->facility);
  buf_release(&p->bytes);
  arena_release(&p->arena);
}

static bool noted(const struct printed *p, const char *station, const char *text)
{
  for (int i = 0; i < p->report->note_count; i++)
    if (strcmp(p->report->notes[i].station, station) == 0 &&
        strcmp(p->report->notes[i].text, text) == 0)
      return true;
  return false;
}

/* ---- cards ---- */

static void a_card_printed_twice_is_the_same_bytes_whatever_the_paper(void)
{
  static const enum draw_size sizes[] = {DRAW_A4, DRAW_A5, DRAW_LETTER};
  struct printed p;
  struct buf first;

  begin(&p, ROOM "  A1: {" AIR ", not here: [solvents], opening: {work: 0.45 m}}\n");
  buf_init(&first, 64 << 20);
  for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
    p.request.size = sizes[i];
    CHECK_INT(all_cards(&p), ERR_OK);
    buf_clear(&first);
    buf_add(&first, p.bytes.text, p.bytes.used);
    CHECK_INT(all_cards(&p), ERR_OK);
    CHECK(first.used == p.bytes.used && first.used > 5000 &&
          memcmp(first.text, p.bytes.text, first.used) == 0);
  }
  buf_release(&first);
  end(&p);
}

static void a_station_of_which_nothing_is_known_has_a_card_that_says_so(void)
{
  struct printed p;

  begin(&p, ROOM "  A1: {" AIR "}\n");
  CHECK_INT(all_cards(&p), ERR_OK);
  CHECK_INT(p.report->page_count, 1);
  CHECK_INT(p.report->fault_count, 0);
  CHECK(noted(&p, "A1",
              "not stated: what it is for, what may not be used here, glass mark, sash mark, what "
              "to wear, documents, whom to call"));
  end(&p);
}

static void a_mark_given_twice_is_a_fault_of_both(void)
{
  struct printed p;

  begin(&p, ROOM "  A1: {" AIR ", glass mark: {colour: red, shape: ring, letter: R}}\n"
                 "  A2: {" AIR ", glass mark: {colour: red, shape: ring, letter: R}}\n"
                 "  A3: {" AIR ", glass mark: {colour: red, shape: dot, letter: R}}\n");
  CHECK_INT(all_cards(&p), ERR_OK);
  CHECK_INT(p.report->fault_count, 2);
  CHECK(noted(&p, "A1", "its glass mark is that of A2 too"));
  CHECK(noted(&p, "A2", "its glass mark is that of A1 too"));
  end(&p);
}

static void a_name_in_letters_that_cannot_be_printed_stops_the_card_and_is_named(void)
{
  struct printed p;

  begin(&p,
        ROOM "  A1: {" AIR ", name: \"\xE6\xB4\x97\xE6\xB5\x84\"}\n"
             "  A2: {" AIR
             ", name: \"\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D\", chemistry: \"\xF0\x9F\xA7\xAA\"}\n");
  CHECK_INT(all_cards(&p), ERR_INPUT);
  CHECK_INT((long long)p.bytes.used, 0);
  REQUIRE(CHECK_INT(p.report->unprintable.count, 3));
  CHECK(strncmp(p.report->unprintable.list[0].text, "station A1, name: ", 18) == 0);
  CHECK(strstr(p.report->unprintable.list[0].text, "U+6D17") != NULL);
  CHECK(strncmp(p.report->unprintable.list[2].text, "station A2, chemistry: ", 23) == 0);
  end(&p);
}

static void a_text_longer_than_a_page_stops_the_card_and_is_named(void)
{
  struct printed p;
  struct buf suite;

  buf_init(&suite, 1 << 20);
  buf_puts(&suite, ROOM "  A1: {" AIR ", chemistry: ");
  for (int i = 0; i < 390; i++)
    buf_puts(&suite, "acids and ");
  buf_puts(&suite, "bases}\n");
  begin(&p, suite.text);
  CHECK_INT(all_cards(&p), ERR_INPUT);
  CHECK_INT((long long)p.bytes.used, 0);
  REQUIRE(CHECK(p.report->unprintable.count >= 1));
  CHECK(strncmp(p.report->unprintable.list[0].text, "station A1, chemistry: ", 23) == 0);
  end(&p);
  buf_release(&suite);
}

static void a_card_with_much_on_it_goes_on_to_a_second_page(void)
{
  struct printed p;
  struct buf suite;

  buf_init(&suite, 1 << 20);
  buf_puts(&suite, ROOM "  A1: {" AIR ", not here: [");
  for (int i = 0; i < 40; i++)
    buf_printf(&suite, "%sthing number %d", i > 0 ? ", " : "", i);
  buf_puts(&suite, "]}\n");
  begin(&p, suite.text);
  CHECK_INT(all_cards(&p), ERR_OK);
  CHECK_INT(p.report->page_count, 2);
  end(&p);
  buf_release(&suite);
}

static void sixty_stations_are_sixty_cards(void)
{
  struct printed p;
  struct buf suite;

  buf_init(&suite, 1 << 20);
  buf_puts(&suite, ROOM);
  for (int i = 0; i < 60; i++)
    buf_printf(&suite, "  W%d: {" AIR "}\n", i);
  begin(&p, suite.text);
  CHECK_INT(all_cards(&p), ERR_OK);
  CHECK_INT(p.report->page_count, 60);
  CHECK_INT(papers_marks(&p.request, &p.bytes, &p.err), ERR_OK);
  CHECK_INT(p.report->fault_count, 60); /* not one has a mark */
  end(&p);
  buf_release(&suite);
}

static void the_longest_id_and_every_kind_of_flow_find_room(void)
{
  struct printed p;

  begin(&p,
        ROOM "  WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW: {" AIR ", in service: no, chemistry: acid}\n"
             "  B: {kind: wet bench, room: Wet, main: Acid, flow: {two-state: {parked: 1 m3/h, "
             "work: 2 m3/h}}, opening: {work: 4.9 m}}\n"
             "  C: {kind: ventilated cabinet, room: Wet, main: Acid, width: 1 m, opening: {parked: "
             "0.001 m, work: 0.002 m}, flow: {follows opening: {velocity: 0.5 m/s, most: 900 "
             "m3/h}}}\n");
  for (int size = DRAW_A4; size <= DRAW_LETTER; size++)
    for (int units = UNITS_SYSTEM_SI; units <= UNITS_SYSTEM_US; units++) {
      p.request.size = (enum draw_size)size;
      p.request.units = (enum units_system)units;
      CHECK_CASE("size %d, units %d: %s", size, units,
                 p.report->unprintable.count ? p.report->unprintable.list[0].text : "");
      CHECK_INT(all_cards(&p), ERR_OK);
      CHECK_INT(p.report->page_count, 3);
    }
  end(&p);
}

/* ---- heights ---- */

static void a_mark_is_never_printed_higher_than_it_is(void)
{
  struct printed p;

  begin(&p, ROOM "  A1: {" AIR "}\n");
  for (int i = 1; i <= 2000; i++) {
    double height_m = i * 0.00037;

    p.request.units = UNITS_SYSTEM_SI;
    CHECK_CASE("%.5f m", height_m);

    double shown_m = strtod(papers_height(&p.request, height_m), NULL);

    CHECK(shown_m <= height_m + 1e-8 && shown_m > height_m - 0.001);
    p.request.units = UNITS_SYSTEM_US;
    shown_m = strtod(papers_height(&p.request, height_m), NULL) * 0.0254;
    CHECK(shown_m <= height_m + 1e-8 && shown_m > height_m - 0.00254);
  }
  p.request.units = UNITS_SYSTEM_SI;
  CHECK_STR(papers_height(&p.request, 0.4), "0.40\u00A0m");
  CHECK_STR(papers_height(&p.request, 0.455), "0.455\u00A0m");
  p.request.units = UNITS_SYSTEM_US; /* 0.45 / 0.0254 = 17.7165 */
  CHECK_STR(papers_height(&p.request, 0.45), "17.7\u00A0in (0.45\u00A0m)");
  CHECK_STR(papers_height(&p.request, 18 * 0.0254), "18.0\u00A0in (0.457\u00A0m)");
  end(&p);
}

/* ---- marks ---- */

static void marks_are_compared_by_what_an_eye_can_tell(void)
{
  static const struct facility_mark red_ring = {MARK_RED, MARK_RING, "R"};
  static const struct {
    struct facility_mark other;
    enum papers_likeness likeness;
  } rows[] = {
      {{MARK_RED, MARK_RING, "R"}, PAPERS_SAME},
      {{MARK_BLUE, MARK_RING, "R"}, PAPERS_COLOUR_ONLY},
      {{MARK_RED, MARK_DOT, "R"}, PAPERS_APART},
      {{MARK_RED, MARK_RING, "S"}, PAPERS_APART},
      {{MARK_RED, MARK_NO_SHAPE, NULL}, PAPERS_UNCERTAIN},
      {{MARK_BLUE, MARK_NO_SHAPE, NULL}, PAPERS_COLOUR_ONLY},
      {{MARK_NO_COLOUR, MARK_RING, "R"}, PAPERS_UNCERTAIN},
      {{MARK_NO_COLOUR, MARK_NO_SHAPE, NULL}, PAPERS_APART}, /* no mark is no twin */
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    CHECK_CASE("row %zu", i);
    CHECK_INT(papers_marks_compare(&red_ring, &rows[i].other), rows[i].likeness);
    CHECK_INT(papers_marks_compare(&rows[i].other, &red_ring), rows[i].likeness);
  }
}

static void a_mark_sheet_says_what_is_missing_double_or_told_by_colour_alone(void)
{
  struct printed p;

  begin(&p, ROOM "  A1: {" AIR ", glass mark: {colour: red, shape: ring, letter: R}}\n"
                 "  A2: {" AIR ", glass mark: {colour: red, shape: ring, letter: R}}\n"
                 "  A3: {" AIR ", glass mark: {colour: blue, shape: ring, letter: R}}\n"
                 "  A4: {" AIR ", glass mark: {colour: green, shape: dot}}\n"
                 "  A5: {" AIR ", glass mark: {}}\n");
  CHECK_INT(papers_marks(&p.request, &p.bytes, &p.err), ERR_OK);
  CHECK_INT(p.report->fault_count, 2);
  CHECK(noted(&p, "A2", "its mark is that of A1"));
  CHECK(noted(&p, "A3", "only the colour tells its mark from that of A1"));
  CHECK(noted(&p, "A4", "of its glass mark, letter not stated"));
  CHECK(noted(&p, "A5", "it has no glass mark"));
  CHECK(!noted(&p, "A1", "its mark is that of A2")); /* a pair is told once */
  end(&p);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_card_printed_twice_is_the_same_bytes_whatever_the_paper);
  RUN(a_station_of_which_nothing_is_known_has_a_card_that_says_so);
  RUN(a_mark_given_twice_is_a_fault_of_both);
  RUN(a_name_in_letters_that_cannot_be_printed_stops_the_card_and_is_named);
  RUN(a_text_longer_than_a_page_stops_the_card_and_is_named);
  RUN(a_card_with_much_on_it_goes_on_to_a_second_page);
  RUN(sixty_stations_are_sixty_cards);
  RUN(the_longest_id_and_every_kind_of_flow_find_room);
  RUN(a_mark_is_never_printed_higher_than_it_is);
  RUN(marks_are_compared_by_what_an_eye_can_tell);
  RUN(a_mark_sheet_says_what_is_missing_double_or_told_by_colour_alone);
  return check_end();
}
