/*
 * The hazard pictograms of the UN's GHS (Annex 1: a black symbol on white in a red square set on a
 * point), drawn here from their descriptions with lines, discs and polygons.  A symbol's own
 * coordinates run from -1 to 1 over the square's diagonal, x to the right, y down.
 */
#include "papers/label_impl.h"

#include "base/constants.h"

#include <math.h>
#include <string.h>

struct pen {
  struct draw *draw;
  double x_mm, y_mm, half_mm; /* the middle, and half a diagonal */
};

static struct draw_point at(const struct pen *pen, double x, double y)
{
  return (struct draw_point){pen->x_mm + x * pen->half_mm, pen->y_mm + y * pen->half_mm};
}

static void shape(const struct pen *pen, const double (*points)[2], int count, enum draw_ink ink)
{
  enum { MOST = 64 };
  struct draw_point corners[MOST];

  BUG_IF(count > MOST);
  for (int i = 0; i < count; i++)
    corners[i] = at(pen, points[i][0], points[i][1]);
  draw_polygon(pen->draw, corners, count, &(struct draw_look){.filled = true, .fill = ink});
}

/* A closed outline through the points, rounded: Catmull and Rom's spline. */
static void blob(const struct pen *pen, const double (*points)[2], int count, enum draw_ink ink)
{
  enum { STEPS = 4, MOST = 64 };
  double through[MOST][2];

  BUG_IF(count * STEPS > MOST);
  for (int i = 0; i < count; i++)
    for (int k = 0; k < STEPS; k++)
      for (int axis = 0; axis < 2; axis++) {
        double a = points[(i + count - 1) % count][axis], b = points[i][axis];
        double c = points[(i + 1) % count][axis], d = points[(i + 2) % count][axis];
        double t = (double)k / STEPS;

        through[i * STEPS + k][axis] =
            b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
      }
  shape(pen, (const double(*)[2])through, count * STEPS, ink);
}

static void disc(const struct pen *pen, double x, double y, double r, enum draw_ink ink)
{
  enum { SIDES = 40 };
  double points[SIDES][2];

  for (int i = 0; i < SIDES; i++) {
    points[i][0] = x + r * cos(2 * PI * i / SIDES);
    points[i][1] = y + r * sin(2 * PI * i / SIDES);
  }
  shape(pen, (const double(*)[2])points, SIDES, ink);
}

static void stroke(const struct pen *pen, const double ends[4], double thick, enum draw_ink ink)
{
  double dx = ends[2] - ends[0], dy = ends[3] - ends[1], length = hypot(dx, dy);
  double nx = -dy / length * thick / 2, ny = dx / length * thick / 2;
  const double points[4][2] = {{ends[0] + nx, ends[1] + ny},
                               {ends[2] + nx, ends[3] + ny},
                               {ends[2] - nx, ends[3] - ny},
                               {ends[0] - nx, ends[1] - ny}};

  shape(pen, points, 4, ink);
}

static void line(const struct pen *pen, double x, double y, double to_x, double to_y, double thick)
{
  stroke(pen, (const double[]){x, y, to_x, to_y}, thick, DRAW_BLACK);
}

/* ---- the symbols ---- */

static void flame_at(const struct pen *pen, double y, double size)
{
  static const double outer[12][2] = {
      {0.02, -0.62}, {0.10, -0.36}, {0.26, -0.20}, {0.30, -0.34},  {0.40, -0.08},  {0.36, 0.18},
      {0.18, 0.36},  {-0.18, 0.36}, {-0.36, 0.16}, {-0.38, -0.08}, {-0.22, -0.22}, {-0.08, -0.36}};
  static const double inner[7][2] = {{0.02, -0.14}, {0.14, 0.04},  {0.16, 0.18}, {0.06, 0.30},
                                     {-0.10, 0.30}, {-0.16, 0.14}, {-0.06, 0.02}};
  struct pen small = *pen;

  small.y_mm += y * pen->half_mm;
  small.half_mm *= size;
  blob(&small, outer, 12, DRAW_BLACK);
  blob(&small, inner, 7, DRAW_WHITE);
}

static void flame(const struct pen *pen)
{
  flame_at(pen, -0.02, 1);
  line(pen, -0.38, 0.46, 0.38, 0.46, 0.08);
}

static void flame_over_circle(const struct pen *pen)
{
  flame_at(pen, -0.22, 0.72);
  disc(pen, 0, 0.24, 0.26, DRAW_BLACK);
  disc(pen, 0, 0.24, 0.17, DRAW_WHITE);
  flame_at(pen, -0.05, 0.42);
  line(pen, -0.36, 0.55, 0.36, 0.55, 0.07);
}

static void tube(const struct pen *pen, double x, double y, double side)
{
  stroke(pen, (const double[]){x, y, x + side * 0.34, y - 0.16}, 0.17, DRAW_BLACK);
  disc(pen, x + side * 0.34, y - 0.16, 0.085, DRAW_BLACK);
  stroke(pen, (const double[]){x + side * 0.02, y - 0.01, x + side * 0.32, y - 0.15}, 0.08,
         DRAW_WHITE);
  disc(pen, x - side * 0.06, y + 0.12, 0.035, DRAW_BLACK);
  disc(pen, x - side * 0.06, y + 0.24, 0.045, DRAW_BLACK);
}

/* Two tubes pour: on a bar of metal that is eaten away, and on a hand. */
static void corrosion(const struct pen *pen)
{
  static const double hand[9][2] = {{0.08, 0.30}, {0.18, 0.24}, {0.24, 0.32},
                                    {0.32, 0.22}, {0.44, 0.24}, {0.56, 0.30},
                                    {0.52, 0.40}, {0.30, 0.46}, {0.10, 0.42}};

  tube(pen, -0.20, -0.22, -1);
  tube(pen, 0.18, -0.22, 1);
  line(pen, -0.60, 0.36, -0.06, 0.36, 0.14);
  disc(pen, -0.14, 0.28, 0.07, DRAW_WHITE);
  disc(pen, -0.22, 0.29, 0.05, DRAW_WHITE);
  blob(pen, hand, 9, DRAW_BLACK);
  disc(pen, 0.20, 0.25, 0.05, DRAW_WHITE);
  line(pen, -0.46, 0.52, 0.46, 0.52, 0.04);
}

static void bone(const struct pen *pen, double side)
{
  line(pen, -0.40 * side, 0.18, 0.40 * side, 0.50, 0.09);
  for (int end = -1; end <= 1; end += 2) {
    double x = 0.41 * side * end, y = 0.34 + 0.165 * end;

    disc(pen, x + 0.03 * side, y - 0.05, 0.07, DRAW_BLACK);
    disc(pen, x - 0.03 * side, y + 0.05, 0.07, DRAW_BLACK);
  }
}

static void skull(const struct pen *pen)
{
  static const double nose[3][2] = {{0, -0.18}, {0.05, -0.08}, {-0.05, -0.08}};
  static const double jaw[4][2] = {{-0.15, -0.10}, {0.15, -0.10}, {0.12, 0.10}, {-0.12, 0.10}};

  bone(pen, 1);
  bone(pen, -1);
  disc(pen, 0, 0.02, 0.20, DRAW_WHITE);
  disc(pen, 0, -0.26, 0.29, DRAW_BLACK);
  shape(pen, jaw, 4, DRAW_BLACK);
  disc(pen, -0.11, -0.24, 0.08, DRAW_WHITE);
  disc(pen, 0.11, -0.24, 0.08, DRAW_WHITE);
  shape(pen, nose, 3, DRAW_WHITE);
  for (int i = -1; i <= 1; i++)
    stroke(pen, (const double[]){0.07 * i, 0.0, 0.07 * i, 0.09}, 0.02, DRAW_WHITE);
}

static void exclamation(const struct pen *pen)
{
  static const double stem[8][2] = {{-0.12, -0.52}, {0, -0.60}, {0.12, -0.52}, {0.12, -0.36},
                                    {0.05, 0.18},   {0, 0.22},  {-0.05, 0.18}, {-0.12, -0.36}};

  blob(pen, stem, 8, DRAW_BLACK);
  disc(pen, 0, 0.42, 0.11, DRAW_BLACK);
}

/* Head and shoulders, with a burst of white over the chest. */
static void health(const struct pen *pen)
{
  enum { RAYS = 6 };
  static const double bust[10][2] = {{-0.10, -0.24}, {0.10, -0.24}, {0.14, -0.12}, {0.34, -0.04},
                                     {0.40, 0.14},   {0.38, 0.54},  {-0.38, 0.54}, {-0.40, 0.14},
                                     {-0.34, -0.04}, {-0.14, -0.12}};
  double star[2 * RAYS][2];

  shape(pen, bust, 10, DRAW_BLACK);
  disc(pen, 0, -0.40, 0.17, DRAW_BLACK);
  for (int i = 0; i < 2 * RAYS; i++) {
    double r = i % 2 == 0 ? 0.27 : 0.08, angle = PI * i / RAYS - PI / 2;

    star[i][0] = r * cos(angle);
    star[i][1] = 0.18 + r * sin(angle);
  }
  shape(pen, (const double(*)[2])star, 2 * RAYS, DRAW_WHITE);
}

/* A bare tree beside a fish on its back. */
static void environment(const struct pen *pen)
{
  static const double fish[10][2] = {{-0.08, 0.30}, {0.08, 0.20}, {0.26, 0.22}, {0.38, 0.30},
                                     {0.54, 0.22},  {0.50, 0.34}, {0.54, 0.46}, {0.38, 0.38},
                                     {0.24, 0.44},  {0.04, 0.42}};

  line(pen, -0.62, 0.50, 0.56, 0.50, 0.05);
  line(pen, -0.26, 0.50, -0.20, -0.50, 0.11);
  line(pen, -0.23, 0.02, -0.50, -0.22, 0.05);
  line(pen, -0.22, -0.10, 0.10, -0.34, 0.05);
  line(pen, -0.21, -0.26, -0.40, -0.46, 0.045);
  line(pen, -0.04, -0.24, 0.08, -0.14, 0.035);
  line(pen, -0.38, -0.12, -0.52, -0.08, 0.035);
  shape(pen, fish, 10, DRAW_BLACK);
  stroke(pen, (const double[]){0.02, 0.28, 0.07, 0.34}, 0.02, DRAW_WHITE);
  stroke(pen, (const double[]){0.07, 0.28, 0.02, 0.34}, 0.02, DRAW_WHITE);
}

static void gas_cylinder(const struct pen *pen)
{
  line(pen, -0.40, 0.22, 0.28, -0.16, 0.24);
  disc(pen, -0.40, 0.22, 0.12, DRAW_BLACK);
  disc(pen, 0.28, -0.16, 0.12, DRAW_BLACK);
  line(pen, 0.36, -0.21, 0.50, -0.28, 0.10);
}

static const struct {
  const char *name, *words;
  void (*draw)(const struct pen *);
} symbols[] = {
    {"skull", "acutely toxic", skull},
    {"corrosion", "corrosive", corrosion},
    {"flame", "flammable", flame},
    {"flame-over-circle", "oxidising", flame_over_circle},
    {"health", "serious health hazard", health},
    {"gas-cylinder", "gas under pressure", gas_cylinder},
    {"exclamation", "harmful or irritating", exclamation},
    {"environment", "toxic to water life", environment},
};

int papers_pictogram_count(void)
{
  return (int)(sizeof symbols / sizeof *symbols);
}

const char *papers_pictogram_name(int index)
{
  return symbols[index].name;
}

const char *papers_pictogram_words(int index)
{
  return symbols[index].words;
}

void papers_pictogram(struct draw *draw, int index, struct draw_place place)
{
  struct pen pen = {draw, place.x_mm + place.width_mm / 2, place.y_mm + place.height_mm / 2,
                    fmin(place.width_mm, place.height_mm) / 2};
  static const double outside = 1, inside = 0.88; /* the border's share of the diagonal */
  const double red[4][2] = {{0, -outside}, {outside, 0}, {0, outside}, {-outside, 0}};
  const double white[4][2] = {{0, -inside}, {inside, 0}, {0, inside}, {-inside, 0}};

  shape(&pen, red, 4, DRAW_RED);
  shape(&pen, white, 4, DRAW_WHITE);
  pen.half_mm *= 0.86; /* the symbol keeps off the border */
  symbols[index].draw(&pen);
}
