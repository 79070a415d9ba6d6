/* Marks on glassware, as people see them apart. */
#include "mark/mark.h"

#include "check.h"

#include <math.h>

/* Sharma, Wu and Dalal 2005, Color Research and Application 30(1), 21-30, Table 1: all 34 pairs. */
static const struct {
  struct mark_lab one, other;
  double difference;
} pairs[] = {
    {{50, 2.6772, -79.7751}, {50, 0, -82.7485}, 2.0425},
    {{50, 3.1571, -77.2803}, {50, 0, -82.7485}, 2.8615},
    {{50, 2.8361, -74.0200}, {50, 0, -82.7485}, 3.4412},
    {{50, -1.3802, -84.2814}, {50, 0, -82.7485}, 1.0000},
    {{50, -1.1848, -84.8006}, {50, 0, -82.7485}, 1.0000},
    {{50, -0.9009, -85.5211}, {50, 0, -82.7485}, 1.0000},
    {{50, 0, 0}, {50, -1, 2}, 2.3669},
    {{50, -1, 2}, {50, 0, 0}, 2.3669},
    {{50, 2.4900, -0.0010}, {50, -2.4900, 0.0009}, 7.1792},
    {{50, 2.4900, -0.0010}, {50, -2.4900, 0.0010}, 7.1792},
    {{50, 2.4900, -0.0010}, {50, -2.4900, 0.0011}, 7.2195},
    {{50, 2.4900, -0.0010}, {50, -2.4900, 0.0012}, 7.2195},
    {{50, -0.0010, 2.4900}, {50, 0.0009, -2.4900}, 4.8045},
    {{50, -0.0010, 2.4900}, {50, 0.0010, -2.4900}, 4.8045},
    {{50, -0.0010, 2.4900}, {50, 0.0011, -2.4900}, 4.7461},
    {{50, 2.5, 0}, {50, 0, -2.5}, 4.3065},
    {{50, 2.5, 0}, {73, 25, -18}, 27.1492},
    {{50, 2.5, 0}, {61, -5, 29}, 22.8977},
    {{50, 2.5, 0}, {56, -27, -3}, 31.9030},
    {{50, 2.5, 0}, {58, 24, 15}, 19.4535},
    {{50, 2.5, 0}, {50, 3.1736, 0.5854}, 1.0000},
    {{50, 2.5, 0}, {50, 3.2972, 0}, 1.0000},
    {{50, 2.5, 0}, {50, 1.8634, 0.5757}, 1.0000},
    {{50, 2.5, 0}, {50, 3.2592, 0.3350}, 1.0000},
    {{60.2574, -34.0099, 36.2677}, {60.4626, -34.1751, 39.4387}, 1.2644},
    {{63.0109, -31.0961, -5.8663}, {62.8187, -29.7946, -4.0864}, 1.2630},
    {{61.2901, 3.7196, -5.3901}, {61.4292, 2.2480, -4.9620}, 1.8731},
    {{35.0831, -44.1164, 3.7933}, {35.0232, -40.0716, 1.5901}, 1.8645},
    {{22.7233, 20.0904, -46.6940}, {23.0331, 14.9730, -42.5619}, 2.0373},
    {{36.4612, 47.8580, 18.3852}, {36.2715, 50.5065, 21.2231}, 1.4146},
    {{90.8027, -2.0831, 1.4410}, {91.1528, -1.6435, 0.0447}, 1.4441},
    {{90.9257, -0.5406, -0.9208}, {88.6381, -0.8985, -0.7239}, 1.5381},
    {{6.7747, -0.2908, -2.4247}, {5.8714, -0.0985, -2.2286}, 0.6377},
    {{2.0776, 0.0795, -1.1350}, {0.9033, -0.0636, -0.5514}, 0.9082},
};

static void the_difference_of_two_colours_is_the_published_one(void)
{
  for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
    CHECK_CASE("pair %zu", i + 1);
    CHECK_NEAR(mark_difference(pairs[i].one, pairs[i].other), pairs[i].difference, 0, 5.1e-5);
    CHECK_NEAR(mark_difference(pairs[i].other, pairs[i].one), pairs[i].difference, 0, 5.1e-5);
  }
}

/* CIE Lab of the sRGB primaries at D65, as IEC 61966-2-1 and CIE 15 give them together. */
static void a_printed_colour_is_where_the_standard_puts_it(void)
{
  static const struct {
    unsigned rgb;
    struct mark_lab lab;
  } rows[] = {{0xffffff, {100, 0, 0}},
              {0x000000, {0, 0, 0}},
              {0xff0000, {53.24, 80.09, 67.20}},
              {0x00ff00, {87.73, -86.18, 83.18}},
              {0x0000ff, {32.30, 79.19, -107.86}}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct mark_lab seen = mark_seen(rows[i].rgb, MARK_NORMAL);

    CHECK_CASE("row %zu", i);
    CHECK_NEAR(seen.lightness, rows[i].lab.lightness, 0, 0.02);
    CHECK_NEAR(seen.a, rows[i].lab.a, 0, 0.02);
    CHECK_NEAR(seen.b, rows[i].lab.b, 0, 0.02);
  }
}

static void grey_looks_the_same_to_everybody(void)
{
  for (enum mark_sight i = MARK_NORMAL; i < MARK_SIGHT_COUNT; i++) {
    CHECK_CASE("%s", mark_sight_words(i));
    CHECK_NEAR(mark_difference(mark_seen(0x808080, i), mark_seen(0x808080, MARK_NORMAL)), 0, 0,
               0.01);
  }
}

static void who_sees_no_green_takes_this_green_for_that_brown(void)
{
  /* a pair of equal brightness on the line that a deuteranope does not see */
  struct mark_lab green = mark_seen(0x7a8b2a, MARK_NORMAL),
                  brown = mark_seen(0xa9772a, MARK_NORMAL);

  CHECK(mark_difference(green, brown) > 15);
  CHECK(mark_difference(mark_seen(0x7a8b2a, MARK_DEUTAN), mark_seen(0xa9772a, MARK_DEUTAN)) <
        mark_difference(green, brown) / 2);
}

static void any_two_colours_differ_in_every_sight(void)
{
  enum mark_sight worst;

  for (int i = 0; i < MARK_COLOUR_COUNT; i++)
    for (int j = 0; j < MARK_COLOUR_COUNT; j++) {
      double apart = mark_colours_apart(i, j, &worst);
      enum mark_sight back;

      CHECK_CASE("%s and %s", mark_colour_name(i), mark_colour_name(j));
      CHECK(i == j ? apart < 1e-9 : apart > 2);
      CHECK_NEAR(mark_colours_apart(j, i, &back), apart, 0, 1e-9);
    }
  CHECK(isnan(mark_colours_apart(MARK_NO_COLOUR, MARK_RED, &worst)));
}

/* Areas: a disc of radius 0.92, its hole of 0.50, a square of side 1.64. */
static void shapes_are_apart_by_the_area_that_is_not_common(void)
{
  CHECK_NEAR(mark_shapes_apart_ratio(MARK_RING, MARK_DOT), 0.50 * 0.50 / (0.92 * 0.92), 0, 0.01);
  CHECK_NEAR(mark_shapes_apart_ratio(MARK_SQUARE, MARK_SQUARE), 0, 0, 1e-12);
  for (int i = 0; i < MARK_SHAPE_COUNT; i++)
    for (int j = 0; j < i; j++) {
      double apart = mark_shapes_apart_ratio(i, j);

      CHECK_CASE("%s and %s", mark_shape_name(i), mark_shape_name(j));
      CHECK(apart > 0.1 && apart <= 1);
      CHECK_NEAR(mark_shapes_apart_ratio(j, i), apart, 0, 1e-12);
    }
}

static void letters_that_a_hurried_eye_mistakes_are_alike(void)
{
  CHECK(mark_letters_alike('M', 'W'));
  CHECK(mark_letters_alike('O', 'Q'));
  CHECK(mark_letters_alike('K', 'K'));
  CHECK(!mark_letters_alike('K', 'P'));
  CHECK(!mark_letters_alike('\0', 'O'));
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(the_difference_of_two_colours_is_the_published_one);
  RUN(a_printed_colour_is_where_the_standard_puts_it);
  RUN(grey_looks_the_same_to_everybody);
  RUN(who_sees_no_green_takes_this_green_for_that_brown);
  RUN(any_two_colours_differ_in_every_sight);
  RUN(shapes_are_apart_by_the_area_that_is_not_common);
  RUN(letters_that_a_hurried_eye_mistakes_are_alike);
  return check_end();
}
