/* What marks there are. */
#include "mark/mark.h"

#include <stddef.h>

const char *mark_colour_name(enum mark_colour colour)
{
  static const char *const names[MARK_COLOUR_COUNT] = {
      "white",  "grey",  "black", "brown",  "red",  "orange",
      "yellow", "green", "blue",  "violet", "pink",
  };

  return colour == MARK_NO_COLOUR ? NULL : names[colour];
}

const char *mark_shape_name(enum mark_shape shape)
{
  static const char *const names[MARK_SHAPE_COUNT] = {
      "ring", "dot", "bar", "square", "cross", "triangle", "star", "diamond",
  };

  return shape == MARK_NO_SHAPE ? NULL : names[shape];
}

/*
 * Light enough apart to differ in a grey copy, whichever way it weighs the colours: in the luma of
 * ITU-R BT.601 the steps from black over brown, violet, blue, red, green, grey, orange, pink and yellow
 * to white are 11 of 255 or more.
 */
unsigned mark_paint(enum mark_colour colour)
{
  static const unsigned paints[MARK_COLOUR_COUNT] = {
      [MARK_WHITE] = 0xffffff,  [MARK_GREY] = 0xa8a8a8,  [MARK_BLACK] = 0x121212,
      [MARK_BROWN] = 0x5a3213,  [MARK_RED] = 0xea332b,   [MARK_ORANGE] = 0xffa851,
      [MARK_YELLOW] = 0xfff05a, [MARK_GREEN] = 0x1ab055, [MARK_BLUE] = 0x0d66d3,
      [MARK_VIOLET] = 0x6a22a0, [MARK_PINK] = 0xfdbdd8,
  };

  return paints[colour];
}

/* ---- outlines ---- */

const double mark_dot_ratio = 0.92, mark_hole_ratio = 0.50;

static const double square[][2] = {{-0.82, -0.82}, {0.82, -0.82}, {0.82, 0.82}, {-0.82, 0.82}};
static const double bar[][2] = {{-1, -0.38}, {1, -0.38}, {1, 0.38}, {-1, 0.38}};
static const double diamond[][2] = {{0, -1}, {0.78, 0}, {0, 1}, {-0.78, 0}};
static const double triangle[][2] = {{0, -0.92}, {1, 0.82}, {-1, 0.82}};
static const double cross[][2] = {{-0.34, -0.95}, {0.34, -0.95}, {0.34, -0.34},  {0.95, -0.34},
                                  {0.95, 0.34},   {0.34, 0.34},  {0.34, 0.95},   {-0.34, 0.95},
                                  {-0.34, 0.34},  {-0.95, 0.34}, {-0.95, -0.34}, {-0.34, -0.34}};
static const double star[][2] = {
    {0, -1},    {0.247, -0.340}, {0.951, -0.309}, {0.400, 0.130},   {0.588, 0.809},
    {0, 0.420}, {-0.588, 0.809}, {-0.400, 0.130}, {-0.951, -0.309}, {-0.247, -0.340}};

#define CORNERS(list) list, (int)(sizeof(list) / sizeof(list)[0])

const double (*mark_outline(enum mark_shape shape, int *count))[2]
{
  static const struct {
    const double (*corners)[2];
    int count;
  } outlines[MARK_SHAPE_COUNT] = {
      [MARK_BAR] = {CORNERS(bar)},     [MARK_SQUARE] = {CORNERS(square)},
      [MARK_CROSS] = {CORNERS(cross)}, [MARK_TRIANGLE] = {CORNERS(triangle)},
      [MARK_STAR] = {CORNERS(star)},   [MARK_DIAMOND] = {CORNERS(diamond)},
  };

  *count = shape == MARK_NO_SHAPE ? 0 : outlines[shape].count;
  return *count ? outlines[shape].corners : NULL;
}

/* Of a polygon: an odd number of its sides lies to the right of the point. */
static bool inside(const double (*corners)[2], int count, double x, double y)
{
  bool odd = false;

  for (int i = 0, before = count - 1; i < count; before = i++) {
    const double *p = corners[i], *q = corners[before];

    if ((p[1] > y) != (q[1] > y) && x < (q[0] - p[0]) * (y - p[1]) / (q[1] - p[1]) + p[0])
      odd = !odd;
  }
  return odd;
}

bool mark_shape_covers(enum mark_shape shape, double x_ratio, double y_ratio)
{
  int count;
  const double(*corners)[2] = mark_outline(shape, &count);
  double squared = x_ratio * x_ratio + y_ratio * y_ratio;

  if (corners)
    return inside(corners, count, x_ratio, y_ratio);
  return squared < mark_dot_ratio * mark_dot_ratio &&
         !(shape == MARK_RING && squared < mark_hole_ratio * mark_hole_ratio);
}
