#ifndef MARK_MARK_H
#define MARK_MARK_H

#include <stdbool.h>

/*
 * The marks painted on glassware: which colours and shapes there are, and how far apart people see
 * them, those who see no red, no green or no blue and those with a grey copy among them.
 *
 * Two colours are as far apart as the sight that tells them worst: a difference of CIEDE2000 (CIE
 * 142-2001, ISO/CIE 11664-6), of which 1 is about the least an eye notices side by side.  Two shapes
 * are as far apart as the share of their outlines that is not common to both.  Pure functions;
 * nothing is allocated.
 *
 *     mark_colours_apart(MARK_RED, MARK_GREEN, &worst);   // 8.6, MARK_DEUTAN
 */

/* In the order of the suite file's words. */
enum mark_colour {
  MARK_NO_COLOUR = -1,
  MARK_WHITE,
  MARK_GREY,
  MARK_BLACK,
  MARK_BROWN,
  MARK_RED,
  MARK_ORANGE,
  MARK_YELLOW,
  MARK_GREEN,
  MARK_BLUE,
  MARK_VIOLET,
  MARK_PINK,
  MARK_COLOUR_COUNT
};

enum mark_shape {
  MARK_NO_SHAPE = -1,
  MARK_RING,
  MARK_DOT,
  MARK_BAR,
  MARK_SQUARE,
  MARK_CROSS,
  MARK_TRIANGLE,
  MARK_STAR,
  MARK_DIAMOND,
  MARK_SHAPE_COUNT
};

/* As in the suite file; none: NULL. */
const char *mark_colour_name(enum mark_colour colour);
const char *mark_shape_name(enum mark_shape shape);

/* As it is printed: sRGB (IEC 61966-2-1), 0xrrggbb.  What a paint on glass looks like is another matter. */
unsigned mark_paint(enum mark_colour colour);

/* Corners in a square of side 2 around its middle, y down; NULL for what is round: a dot, and a ring
 * with its hole. */
const double (*mark_outline(enum mark_shape shape, int *count))[2];
extern const double mark_dot_ratio, mark_hole_ratio; /* radii, of half the side */
bool mark_shape_covers(enum mark_shape shape, double x_ratio, double y_ratio);

/* ---- how far apart ---- */
enum mark_sight {
  MARK_NORMAL,
  MARK_PROTAN, /* no red */
  MARK_DEUTAN, /* no green */
  MARK_TRITAN, /* no blue */
  MARK_GREY_COPY,
  MARK_SIGHT_COUNT
};
const char *mark_sight_words(enum mark_sight sight); /* "seen without red" */

struct mark_lab {
  double lightness, a, b; /* CIE 1976 L*a*b*, D65 */
};

/* An sRGB colour as that sight has it. */
struct mark_lab mark_seen(unsigned rgb, enum mark_sight sight);

/* CIEDE2000 with kL = kC = kH = 1; 0 and more. */
double mark_difference(struct mark_lab one, struct mark_lab other);

/* Of the sight that tells them worst, which is named; one that is not known: NaN. */
double mark_colours_apart(enum mark_colour one, enum mark_colour other, enum mark_sight *worst);

/* 1 - common area / area of both together; 0: the same, 1: nothing in common.  Not known: NaN. */
double mark_shapes_apart_ratio(enum mark_shape one, enum mark_shape other);

/* Capital letters and figures that a hurried eye, a scratch or an upside-down beaker takes for one
 * another, themselves among them.  Common practice, no source. */
bool mark_letters_alike(char one, char other);

#endif
