/* How far apart people see two marks. */
#include "mark/mark.h"

#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979323846;

const char *mark_sight_words(enum mark_sight sight)
{
  static const char *const words[MARK_SIGHT_COUNT] = {
      "in colour", "seen without red", "seen without green", "seen without blue", "in a grey copy"};

  return words[sight];
}

/* ---- what an eye gets: linear light ---- */

/*
 * Machado, Oliveira and Fernandes 2009 (IEEE Transactions on Visualization and Computer Graphics
 * 15(6), 1291-1298), table for severity 1.0, on linear RGB; the grey copy is the luminance of
 * IEC 61966-2-1.
 */
static const double sights[MARK_SIGHT_COUNT][9] = {
    [MARK_NORMAL] = {1, 0, 0, 0, 1, 0, 0, 0, 1},
    [MARK_PROTAN] = {0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882,
                     -0.048116, 1.051998},
    [MARK_DEUTAN] = {0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820,
                     0.042940, 0.968881},
    [MARK_TRITAN] = {1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733,
                     0.691367, 0.303900},
    [MARK_GREY_COPY] = {0.2126729, 0.7151522, 0.0721750, 0.2126729, 0.7151522, 0.0721750, 0.2126729,
                        0.7151522, 0.0721750},
};

/* IEC 61966-2-1 */
static double linear(unsigned byte)
{
  double v = byte / 255.0;

  return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

/* CIE 15:2004 */
static double lab_part(double t)
{
  return t > 216.0 / 24389 ? cbrt(t) : (24389.0 / 27 * t + 16) / 116;
}

struct mark_lab mark_seen(unsigned rgb, enum mark_sight sight)
{
  const double *m = sights[sight];
  double given[3] = {linear(rgb >> 16 & 0xff), linear(rgb >> 8 & 0xff), linear(rgb & 0xff)}, c[3];

  for (int i = 0; i < 3; i++)
    c[i] =
        fmin(1, fmax(0, m[3 * i] * given[0] + m[3 * i + 1] * given[1] + m[3 * i + 2] * given[2]));

  /* sRGB to XYZ, white D65 */
  double x = lab_part((0.4124564 * c[0] + 0.3575761 * c[1] + 0.1804375 * c[2]) / 0.95047),
         y = lab_part(0.2126729 * c[0] + 0.7151522 * c[1] + 0.0721750 * c[2]),
         z = lab_part((0.0193339 * c[0] + 0.1191920 * c[1] + 0.9503041 * c[2]) / 1.08883);

  return (struct mark_lab){116 * y - 16, 500 * (x - y), 200 * (y - z)};
}

/* ---- CIEDE2000, as Sharma, Wu and Dalal 2005 write it (Color Res. Appl. 30(1), 21-30) ---- */

static double radians(double degrees)
{
  return degrees * pi / 180;
}

static double power7(double c) /* their G and R_C */
{
  double c7 = pow(c, 7);

  return sqrt(c7 / (c7 + 6103515625.0 /* 25^7 */));
}

static double hue_deg(double a, double b)
{
  double h = a == 0 && b == 0 ? 0 : atan2(b, a) * 180 / pi;

  return h < 0 ? h + 360 : h;
}

/* Eq. 10 */
static double hue_step_deg(double h1, double h2, bool grey)
{
  double step = h2 - h1;

  if (grey)
    return 0;
  return step > 180 ? step - 360 : step < -180 ? step + 360 : step;
}

/* Eq. 14 */
static double mean_hue_deg(double h1, double h2, bool grey)
{
  double sum = h1 + h2;

  if (grey)
    return sum;
  if (fabs(h1 - h2) <= 180)
    return sum / 2;
  return sum < 360 ? (sum + 360) / 2 : (sum - 360) / 2;
}

double mark_difference(struct mark_lab one, struct mark_lab other)
{
  double stretch =
             1.5 - 0.5 * power7((hypot(one.a, one.b) + hypot(other.a, other.b)) / 2), /* 1 + G */
      a1 = stretch * one.a, a2 = stretch * other.a;
  double c1 = hypot(a1, one.b), c2 = hypot(a2, other.b);
  double h1 = hue_deg(a1, one.b), h2 = hue_deg(a2, other.b);
  bool grey = c1 * c2 == 0;

  double light_step = other.lightness - one.lightness, chroma_step = c2 - c1,
         hue_step = 2 * sqrt(c1 * c2) * sin(radians(hue_step_deg(h1, h2, grey) / 2));
  double light = (one.lightness + other.lightness) / 2, chroma = (c1 + c2) / 2,
         hue = mean_hue_deg(h1, h2, grey);

  double t = 1 - 0.17 * cos(radians(hue - 30)) + 0.24 * cos(radians(2 * hue)) +
             0.32 * cos(radians(3 * hue + 6)) - 0.20 * cos(radians(4 * hue - 63));
  double off = (light - 50) * (light - 50), turned = (hue - 275) / 25;
  double s_light = 1 + 0.015 * off / sqrt(20 + off), s_chroma = 1 + 0.045 * chroma,
         s_hue = 1 + 0.015 * chroma * t;
  double turn =
      -sin(radians(60 * exp(-turned * turned))) * 2 * power7(chroma); /* R_T: blue's own */
  double l = light_step / s_light, c = chroma_step / s_chroma, h = hue_step / s_hue;

  return sqrt(fmax(0, l * l + c * c + h * h + turn * c * h));
}

double mark_colours_apart(enum mark_colour one, enum mark_colour other, enum mark_sight *worst)
{
  double least = INFINITY;

  *worst = MARK_NORMAL;
  if (one == MARK_NO_COLOUR || other == MARK_NO_COLOUR)
    return NAN;
  for (int i = 0; i < MARK_SIGHT_COUNT; i++) {
    enum mark_sight sight = (enum mark_sight)i;
    double d =
        mark_difference(mark_seen(mark_paint(one), sight), mark_seen(mark_paint(other), sight));

    if (d < least) {
      least = d;
      *worst = sight;
    }
  }
  return least;
}

/* ---- shapes, letters ---- */

double mark_shapes_apart_ratio(enum mark_shape one, enum mark_shape other)
{
  enum { ACROSS = 100 }; /* the ratio is used to two digits */
  int both = 0, either = 0;

  if (one == MARK_NO_SHAPE || other == MARK_NO_SHAPE)
    return NAN;
  for (int i = 0; i < ACROSS; i++)
    for (int j = 0; j < ACROSS; j++) {
      double x = (2.0 * i + 1) / ACROSS - 1, y = (2.0 * j + 1) / ACROSS - 1;
      bool a = mark_shape_covers(one, x, y), b = mark_shape_covers(other, x, y);

      both += a && b;
      either += a || b;
    }
  return 1 - (double)both / either;
}

bool mark_letters_alike(char one, char other)
{
  static const char *const alike[] = {"OQDC0G", "IJLT17", "UVY",  "MW",  "MN", "EFB",
                                      "PRB",    "B83",    "S5Z2", "KXH", "NH", "69"};

  if (one == other)
    return true;
  for (size_t i = 0; i < sizeof alike / sizeof *alike; i++)
    if (one && other && strchr(alike[i], one) && strchr(alike[i], other))
      return true;
  return false;
}
