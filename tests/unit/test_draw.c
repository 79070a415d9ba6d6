#include "draw/draw.h"

#include "check.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* One document and what was said about it. */
struct paper {
  struct arena arena;
  struct complaints complaints;
  struct draw *draw;
  struct buf bytes;
  struct err err;
};

static const struct draw_setup plain = {.size = DRAW_A4,
                                        .head = "Quillmere",
                                        .label = "DEMO",
                                        .foot = "Local rules decide.",
                                        .revision = "suite 3fa9"};

static void begin(struct paper *p, const struct draw_setup *setup)
{
  arena_init(&p->arena, SIZE_MAX);
  complaints_init(&p->complaints, &p->arena);
  buf_init(&p->bytes, 16 << 20);
  p->err = (struct err){0};
  p->draw = draw_new(setup, &p->complaints, &p->err);
  CHECK_CASE("%s", p->err.text);
  CHECK(p->draw != NULL);
  draw_page(p->draw);
}

static enum err_code end(struct paper *p, enum draw_format format)
{
  enum err_code code = draw_finish(p->draw, format, &p->bytes, &p->err);

  draw_free(p->draw);
  return code;
}

static void drop(struct paper *p)
{
  buf_release(&p->bytes);
  arena_release(&p->arena);
}

/* Everything the toolkit can draw, once. */
static void draw_all(struct draw *d)
{
  static const struct draw_tick ticks[] = {
      {0, "0 m", false}, {5, NULL, false}, {20, "0.4 m", true}};
  static const struct draw_column columns[] = {{"id", 20, DRAW_LEFT}, {"flow", 40, DRAW_RIGHT}};
  static const struct draw_table table = {columns, 2, 10, 9, 8, 1};
  static const char *const cells[] = {"A1", "620 m³/h"};
  struct draw_point triangle[] = {{20, 200}, {30, 200}, {25, 210}};

  draw_flow(d, &(struct draw_text){.text = "Lower the sash", .size_pt = 20, .bold = true});
  for (int i = 0; i < MARK_SHAPE_COUNT; i++)
    draw_mark(d, &(struct draw_mark){(enum mark_colour)i, (enum mark_shape)i, "R", "a mark"},
              (struct draw_place){20 + 20 * i, 60, 0, 8});
  draw_mark(d, &(struct draw_mark){MARK_NO_COLOUR, MARK_NO_SHAPE, NULL, "no mark"},
            (struct draw_place){20, 75, 0, 8});
  draw_qr(d, "https://wet.example/acid", "a link", (struct draw_place){20, 90, 25, 25});
  draw_scale(d, &(struct draw_scale){80, 120, 25, 9, ticks, 3});
  draw_arrow(d, (struct draw_point){90, 100}, (struct draw_point){110, 100}, 0.8);
  draw_box(d, (struct draw_place){20, 130, 40, 10},
           &(struct draw_look){.line_mm = 0.5, .dashed = true, .corner_mm = 2});
  draw_polygon(d, triangle, 3, &(struct draw_look){.filled = true, .fill = DRAW_PALE});
  draw_skip(d, 150);
  draw_table_head(d, &table);
  draw_table_row(d, &table, cells, "a row", true);
}

static bool starts_with(const struct buf *bytes, const char *words)
{
  return bytes->used >= strlen(words) && memcmp(bytes->text, words, strlen(words)) == 0;
}

static void the_same_calls_give_the_same_bytes(void)
{
  static const struct {
    enum draw_format format;
    const char *first;
  } rows[] = {{DRAW_PDF, "%PDF-1."}, {DRAW_SVG, "<?xml"}};

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct paper one, two;

    begin(&one, &plain);
    draw_all(one.draw);
    CHECK_INT(end(&one, rows[i].format), ERR_OK);
    begin(&two, &plain);
    draw_all(two.draw);
    CHECK_INT(end(&two, rows[i].format), ERR_OK);
    CHECK_CASE("%s", rows[i].first);
    CHECK(starts_with(&one.bytes, rows[i].first));
    CHECK(one.bytes.used == two.bytes.used &&
          memcmp(one.bytes.text, two.bytes.text, one.bytes.used) == 0);
    drop(&one);
    drop(&two);
  }
}

static void a_character_the_fonts_do_not_have_is_named_once_with_whose_it_is(void)
{
  struct paper p;
  struct draw_text text = {
      .text = "漢 A1 漢 \xF0\x9F\xA7\xAA", .from = "station A1, name", .size_pt = 12};

  begin(&p, &plain);
  draw_flow(p.draw, &text);
  draw_flow(p.draw, &text);
  CHECK_INT(end(&p, DRAW_PDF), ERR_INPUT);
  CHECK_INT((long long)p.bytes.used, 0);
  REQUIRE(CHECK_INT(p.complaints.count, 2));
  CHECK_STR(p.complaints.list[0].text,
            "station A1, name: the fonts of the page have no '漢' (U+6F22); write it in other "
            "letters");
  CHECK(strstr(p.complaints.list[1].text, "(U+1F9EA)") != NULL);
  drop(&p);
}

static void letters_that_read_from_the_right_are_printed(void)
{
  struct paper p;

  begin(&p, &plain);
  draw_flow(p.draw, &(struct draw_text){.text = "שלום A1 مرحبا Ψ Ж ñ ✕", .size_pt = 12});
  CHECK_INT(end(&p, DRAW_PDF), ERR_OK);
  drop(&p);
}

static void bytes_that_are_no_text_are_a_complaint(void)
{
  struct paper p;

  begin(&p, &plain);
  draw_flow(p.draw,
            &(struct draw_text){.text = "caf\xE9", .from = "station A1, name", .size_pt = 9});
  CHECK_INT(end(&p, DRAW_PDF), ERR_INPUT);
  CHECK_STR(p.complaints.list[0].text, "station A1, name: it is not UTF-8; save it so");
  drop(&p);
}

static void a_text_larger_than_its_place_is_a_complaint_and_nothing_is_written(void)
{
  static const struct draw_place places[] = {
      {20, 20, 40, 5},   /* too high */
      {20, 20, 1, 0},    /* a letter wider than the place */
      {20, 285, 150, 0}, /* over the lower edge of the paper */
  };

  for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
    struct paper p;

    begin(&p, &plain);
    draw_text(p.draw,
              &(struct draw_text){.text = "Words that take several lines of this size",
                                  .from = "station A1, note",
                                  .size_pt = 24},
              places[i]);
    CHECK_CASE("place %zu", i);
    CHECK_INT(end(&p, DRAW_PDF), ERR_INPUT);
    CHECK_INT((long long)p.bytes.used, 0);
    REQUIRE(CHECK_INT(p.complaints.count, 1));
    CHECK(strncmp(p.complaints.list[0].text, "station A1, note: ", 18) == 0);
    drop(&p);
  }
}

static void a_long_text_goes_on_to_the_next_page(void)
{
  struct paper p;

  begin(&p, &plain);
  for (int i = 0; i < 200; i++)
    draw_flow(p.draw, &(struct draw_text){.text = "One step of many, on a line.", .size_pt = 12});
  /* A line is 12 pt * 1.164 = 4.93 mm; between head and foot are 254 mm: 51 lines a page. */
  CHECK_INT(draw_page_count(p.draw), 4);
  CHECK(draw_y_mm(p.draw) <= draw_area(p.draw).y_mm + draw_area(p.draw).height_mm + 0.1);
  CHECK_INT(end(&p, DRAW_PDF), ERR_OK);
  drop(&p);
}

static void a_text_of_two_lines_is_twice_as_high(void)
{
  struct paper p;
  struct draw_text one = {.text = "A", .size_pt = 12}, two = {.text = "A\nA", .size_pt = 12},
                   none = {.text = "", .size_pt = 12};

  begin(&p, &plain);
  CHECK_NEAR(draw_text_height_mm(p.draw, &two, 50), 2 * draw_text_height_mm(p.draw, &one, 50), 0,
             0.01);
  CHECK_NEAR(draw_text_height_mm(p.draw, &none, 50), 0, 0, 0);
  /* DejaVu Sans: ascent 0.928, descent 0.236 of the size, from the font's own hhea table. */
  CHECK_NEAR(draw_text_height_mm(p.draw, &one, 50), (0.928 + 0.236) * 12 * 25.4 / 72, 0.005, 0);
  CHECK_INT(end(&p, DRAW_PDF), ERR_OK);
  drop(&p);
}

static void a_fitted_text_fits_and_the_next_size_up_does_not(void)
{
  struct paper p;
  struct draw_place place = {20, 20, 60, 20};
  struct draw_text text = {.text = "nitric acid with anything organic"};

  begin(&p, &plain);
  text.size_pt = draw_text_fit_pt(p.draw, &text, place, 8, 48);
  CHECK(draw_text_height_mm(p.draw, &text, place.width_mm) <= place.height_mm);
  text.size_pt += 4;
  CHECK(draw_text_height_mm(p.draw, &text, place.width_mm) > place.height_mm);
  CHECK_INT(end(&p, DRAW_PDF), ERR_OK);
  drop(&p);
}

static void a_table_repeats_its_head_and_never_splits_a_row(void)
{
  static const struct draw_column columns[] = {{"station", 60, DRAW_LEFT}};
  static const struct draw_table table = {columns, 1, 10, 9, 30, 1};
  static const char *const cells[] = {"A1"};
  struct paper p;

  begin(&p, &plain);
  draw_table_head(p.draw, &table);
  for (int i = 0; i < 20; i++) {
    struct draw_place row = draw_table_row(p.draw, &table, cells, "A1", false),
                      area = draw_area(p.draw);

    CHECK(row.y_mm > area.y_mm + 3); /* a head stands above */
    CHECK(row.y_mm + row.height_mm <= area.y_mm + area.height_mm + 0.1);
  }
  CHECK_INT(draw_page_count(p.draw), 3);
  CHECK_INT(end(&p, DRAW_PDF), ERR_OK);
  drop(&p);
}

static void a_row_higher_than_a_page_is_a_complaint(void)
{
  static const struct draw_column columns[] = {{"station", 8, DRAW_LEFT}};
  static const struct draw_table table = {columns, 1, 12, 9, 5, 1};
  struct paper p;
  struct buf words;

  buf_init(&words, 1 << 16);
  for (int i = 0; i < 200; i++)
    buf_puts(&words, "word ");

  const char *cells[] = {words.text};

  begin(&p, &plain);
  draw_table_row(p.draw, &table, cells, "station A1", false);
  CHECK_INT(end(&p, DRAW_PDF), ERR_INPUT);
  CHECK_STR(p.complaints.list[0].text,
            "station A1: its row would be higher than a page; shorten it");
  drop(&p);
  buf_release(&words);
}

static void a_code_that_would_hold_too_much_is_a_complaint(void)
{
  struct paper p;
  struct buf link;

  buf_init(&link, 1 << 16);
  for (int i = 0; i < 3000; i++)
    buf_puts(&link, "x");
  begin(&p, &plain);
  draw_qr(p.draw, link.text, "station A1, link", (struct draw_place){20, 20, 30, 30});
  draw_qr(p.draw, "", "station A2, link", (struct draw_place){20, 20, 30, 30});
  CHECK_INT(end(&p, DRAW_PDF), ERR_INPUT);
  CHECK_INT(p.complaints.count, 2);
  drop(&p);
  buf_release(&link);
}

static void a_picture_file_holds_one_page(void)
{
  struct paper p;

  begin(&p, &plain);
  draw_page(p.draw);
  CHECK_INT(end(&p, DRAW_SVG), ERR_INPUT);
  CHECK_STR(p.err.text, "an SVG file holds one page, and this would be 2");
  CHECK_INT((long long)p.bytes.used, 0);
  drop(&p);
}

static void six_hundred_pages_are_refused(void)
{
  struct paper p;

  begin(&p, &plain);
  for (int i = 1; i < 600; i++)
    draw_page(p.draw);
  CHECK_INT(end(&p, DRAW_PDF), ERR_INPUT);
  CHECK(strstr(p.complaints.list[0].text, "more than 500 pages") != NULL);
  drop(&p);
}

/* ISO 216: A5 is half of A4, its sides 1/√2 as long; Letter is 8.5 by 11 inches. */
static void papers_have_the_sizes_of_their_standards(void)
{
  static const struct {
    enum draw_size size;
    bool landscape;
    const char *box;
  } rows[] = {
      {DRAW_A4, false, "/MediaBox [ 0 0 595.275"},
      {DRAW_A4, true, "/MediaBox [ 0 0 841.889"},
      {DRAW_A5, false, "/MediaBox [ 0 0 419.527"},
      {DRAW_LETTER, false, "/MediaBox [ 0 0 612 792 ]"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    struct draw_setup setup = plain;
    struct paper p;
    bool found = false;

    setup.size = rows[i].size;
    setup.landscape = rows[i].landscape;
    begin(&p, &setup);
    CHECK_INT(end(&p, DRAW_PDF), ERR_OK);
    for (size_t k = 0; k + strlen(rows[i].box) < p.bytes.used; k++)
      found |= memcmp(p.bytes.text + k, rows[i].box, strlen(rows[i].box)) == 0;
    CHECK_CASE("%s", rows[i].box);
    CHECK(found);
    drop(&p);
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(the_same_calls_give_the_same_bytes);
  RUN(a_character_the_fonts_do_not_have_is_named_once_with_whose_it_is);
  RUN(letters_that_read_from_the_right_are_printed);
  RUN(bytes_that_are_no_text_are_a_complaint);
  RUN(a_text_larger_than_its_place_is_a_complaint_and_nothing_is_written);
  RUN(a_long_text_goes_on_to_the_next_page);
  RUN(a_text_of_two_lines_is_twice_as_high);
  RUN(a_fitted_text_fits_and_the_next_size_up_does_not);
  RUN(a_table_repeats_its_head_and_never_splits_a_row);
  RUN(a_row_higher_than_a_page_is_a_complaint);
  RUN(a_code_that_would_hold_too_much_is_a_complaint);
  RUN(a_picture_file_holds_one_page);
  RUN(six_hundred_pages_are_refused);
  RUN(papers_have_the_sizes_of_their_standards);
  return check_end();
}
