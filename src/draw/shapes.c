#include "draw/draw_impl.h"

#include "base/constants.h"

#include <math.h>
#include <string.h>

/* Path of what was begun: filled, then outlined. */
static void paint(struct draw *draw, const struct draw_look *look)
{
  static const double dash_ratio[] = {4, 3};
  double line_pt = look->line_mm * draw_pt_per_mm;
  double dashes[] = {dash_ratio[0] * line_pt, dash_ratio[1] * line_pt};

  if (look->filled) {
    draw_set_ink(draw, look->fill);
    cairo_fill_preserve(draw->cr);
  }
  if (look->line_mm > 0) {
    draw_set_ink(draw, look->line);
    cairo_set_line_width(draw->cr, line_pt);
    cairo_set_line_join(draw->cr, CAIRO_LINE_JOIN_MITER);
    cairo_set_dash(draw->cr, dashes, look->dashed ? 2 : 0, 0);
    cairo_stroke_preserve(draw->cr);
  }
  cairo_new_path(draw->cr);
}

static void go(struct draw *draw, struct draw_point to, bool first)
{
  double x_pt = to.x_mm * draw_pt_per_mm, y_pt = to.y_mm * draw_pt_per_mm;

  if (first)
    cairo_move_to(draw->cr, x_pt, y_pt);
  else
    cairo_line_to(draw->cr, x_pt, y_pt);
}

static struct draw_place around(const struct draw_point *points, int count)
{
  struct draw_place place = {points[0].x_mm, points[0].y_mm, 0, 0};

  for (int i = 1; i < count; i++) {
    double right_mm = fmax(place.x_mm + place.width_mm, points[i].x_mm),
           low_mm = fmax(place.y_mm + place.height_mm, points[i].y_mm);

    place.x_mm = fmin(place.x_mm, points[i].x_mm);
    place.y_mm = fmin(place.y_mm, points[i].y_mm);
    place.width_mm = right_mm - place.x_mm;
    place.height_mm = low_mm - place.y_mm;
  }
  return place;
}

void draw_line(struct draw *draw, struct draw_point from, struct draw_point to,
               const struct draw_look *look)
{
  struct draw_point ends[] = {from, to};
  struct draw_look line = *look;

  line.filled = false;
  if (!draw_on_paper(draw, around(ends, 2), "a line"))
    return;
  cairo_new_path(draw->cr);
  go(draw, from, true);
  go(draw, to, false);
  paint(draw, &line);
}

void draw_polygon(struct draw *draw, const struct draw_point *points, int count,
                  const struct draw_look *look)
{
  BUG_IF(count < 3);
  if (!draw_on_paper(draw, around(points, count), "a shape"))
    return;
  cairo_new_path(draw->cr);
  for (int i = 0; i < count; i++)
    go(draw, points[i], i == 0);
  cairo_close_path(draw->cr);
  paint(draw, look);
}

void draw_box(struct draw *draw, struct draw_place place, const struct draw_look *look)
{
  double x_pt = place.x_mm * draw_pt_per_mm, y_pt = place.y_mm * draw_pt_per_mm,
         width_pt = place.width_mm * draw_pt_per_mm, height_pt = place.height_mm * draw_pt_per_mm,
         r_pt = fmin(look->corner_mm * draw_pt_per_mm, fmin(width_pt, height_pt) / 2);

  if (!draw_on_paper(draw, place, "a box"))
    return;
  cairo_new_path(draw->cr); /* text leaves its pen where it ended */
  if (r_pt > 0) {
    cairo_arc(draw->cr, x_pt + width_pt - r_pt, y_pt + r_pt, r_pt, -PI / 2, 0);
    cairo_arc(draw->cr, x_pt + width_pt - r_pt, y_pt + height_pt - r_pt, r_pt, 0, PI / 2);
    cairo_arc(draw->cr, x_pt + r_pt, y_pt + height_pt - r_pt, r_pt, PI / 2, PI);
    cairo_arc(draw->cr, x_pt + r_pt, y_pt + r_pt, r_pt, PI, 3 * PI / 2);
    cairo_close_path(draw->cr);
  } else {
    cairo_rectangle(draw->cr, x_pt, y_pt, width_pt, height_pt);
  }
  paint(draw, look);
}

void draw_arrow(struct draw *draw, struct draw_point from, struct draw_point to, double line_mm)
{
  double length_mm = hypot(to.x_mm - from.x_mm, to.y_mm - from.y_mm);
  double head_mm = fmin(5 * line_mm, length_mm);

  if (!(length_mm > 0))
    return;

  double along_x = (to.x_mm - from.x_mm) / length_mm, along_y = (to.y_mm - from.y_mm) / length_mm;
  struct draw_point neck = {to.x_mm - head_mm * along_x, to.y_mm - head_mm * along_y};
  struct draw_point head[] = {
      to,
      {neck.x_mm - 0.4 * head_mm * along_y, neck.y_mm + 0.4 * head_mm * along_x},
      {neck.x_mm + 0.4 * head_mm * along_y, neck.y_mm - 0.4 * head_mm * along_x},
  };

  draw_line(draw, from, neck, &(struct draw_look){.line_mm = line_mm});
  draw_polygon(draw, head, 3, &(struct draw_look){.filled = true});
}

/* ---- a vertical scale ---- */

void draw_scale(struct draw *draw, const struct draw_scale *scale)
{
  static const double long_mm = 3, short_mm = 1.5, gap_mm = 0.8;
  struct draw_point foot = {scale->x_mm, scale->foot_mm},
                    top = {scale->x_mm, scale->foot_mm - scale->height_mm};

  draw_line(draw, foot, top, &(struct draw_look){.line_mm = 0.25});
  for (int i = 0; i < scale->tick_count; i++) {
    const struct draw_tick *tick = &scale->ticks[i];
    double y_mm = scale->foot_mm - tick->at_mm, reach_mm = tick->text ? long_mm : short_mm;
    struct draw_text words = {.text = tick->text,
                              .from = "a scale",
                              .size_pt = scale->size_pt,
                              .bold = tick->strong,
                              .align = DRAW_RIGHT};

    draw_line(draw, (struct draw_point){scale->x_mm - reach_mm, y_mm},
              (struct draw_point){scale->x_mm, y_mm},
              &(struct draw_look){.line_mm = tick->strong ? 0.5 : 0.25});
    if (!tick->text)
      continue;

    double width_mm = draw_text_width_mm(draw, &words) + 0.2,
           height_mm = draw_text_height_mm(draw, &words, width_mm);

    draw_text(draw, &words,
              (struct draw_place){scale->x_mm - reach_mm - gap_mm - width_mm, y_mm - height_mm / 2,
                                  width_mm, 0});
  }
}
