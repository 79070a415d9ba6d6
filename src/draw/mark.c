#include "draw/draw_impl.h"

#include <math.h>

/* ---- a mark on glassware ---- */

static void set_paint(cairo_t *cr, enum mark_colour colour)
{
  unsigned paint = mark_paint(colour);

  cairo_set_source_rgb(cr, (paint >> 16) / 255.0, (paint >> 8 & 0xff) / 255.0,
                       (paint & 0xff) / 255.0);
}

struct middle {
  double x_pt, y_pt, half_pt;
};

static void circle(cairo_t *cr, const struct middle *m, double radius_ratio)
{
  cairo_new_sub_path(cr);
  cairo_arc(cr, m->x_pt, m->y_pt, radius_ratio * m->half_pt, 0, 2 * acos(-1.0));
  cairo_close_path(cr);
}

/* A shape that is not known is a circle: drawn broken, it is taken for none. */
static void shape_path(cairo_t *cr, enum mark_shape shape, const struct middle *m)
{
  int count;
  const double(*corners)[2] = mark_outline(shape, &count);

  cairo_new_path(cr); /* text leaves its pen where it ended */
  if (!corners) {
    circle(cr, m, mark_dot_ratio);
    if (shape == MARK_RING)
      circle(cr, m, mark_hole_ratio);
    return;
  }
  for (int i = 0; i < count; i++)
    cairo_line_to(cr, m->x_pt + corners[i][0] * m->half_pt, m->y_pt + corners[i][1] * m->half_pt);
  cairo_close_path(cr);
}

static void draw_shape_of(struct draw *draw, const struct draw_mark *mark, const struct middle *m)
{
  bool whole = mark->colour != MARK_NO_COLOUR && mark->shape != MARK_NO_SHAPE;
  double line_pt = fmax(0.6, 0.05 * m->half_pt * 2);
  double dashes[] = {2.5 * line_pt, 2 * line_pt};

  cairo_set_fill_rule(draw->cr, CAIRO_FILL_RULE_EVEN_ODD);
  shape_path(draw->cr, mark->shape, m);
  if (mark->colour != MARK_NO_COLOUR) {
    set_paint(draw->cr, mark->colour);
    cairo_fill_preserve(draw->cr);
  }
  draw_set_ink(draw, DRAW_BLACK);
  cairo_set_line_join(draw->cr, CAIRO_LINE_JOIN_MITER);
  cairo_set_line_width(draw->cr, line_pt);
  cairo_set_dash(draw->cr, dashes, whole ? 0 : 2, 0);
  cairo_stroke(draw->cr);
  cairo_set_fill_rule(draw->cr, CAIRO_FILL_RULE_WINDING);
}

static struct draw_text letter_text(const struct draw_mark *mark, double height_mm)
{
  return (struct draw_text){.text = mark->letter,
                            .from = mark->from,
                            .size_pt = 1.15 * height_mm * draw_pt_per_mm,
                            .bold = true};
}

/* The letter, its black part as high as the shape and beside its middle. */
static void draw_letter(struct draw *draw, const struct draw_mark *mark, double left_mm,
                        struct draw_place place)
{
  struct draw_text text = letter_text(mark, place.height_mm);
  PangoLayout *layout = draw_layout(draw, &text, 0);
  PangoRectangle ink;

  pango_layout_get_extents(layout, &ink, NULL);

  double x_pt = left_mm * draw_pt_per_mm - (double)ink.x / PANGO_SCALE,
         middle_pt = (place.y_mm + place.height_mm / 2) * draw_pt_per_mm,
         y_pt = middle_pt - ((double)ink.y + (double)ink.height / 2) / PANGO_SCALE;

  draw_set_ink(draw, DRAW_BLACK);
  cairo_move_to(draw->cr, x_pt, y_pt);
  pango_cairo_show_layout(draw->cr, layout);
  g_object_unref(layout);
}

static const double letter_gap_ratio = 0.22;

double draw_mark_width_mm(struct draw *draw, const struct draw_mark *mark, double height_mm)
{
  struct draw_text text = letter_text(mark, height_mm);

  return mark->letter ? (1 + letter_gap_ratio) * height_mm + draw_text_width_mm(draw, &text)
                      : height_mm;
}

void draw_mark(struct draw *draw, const struct draw_mark *mark, struct draw_place place)
{
  double side_mm = place.height_mm;
  struct middle m = {(place.x_mm + side_mm / 2) * draw_pt_per_mm,
                     (place.y_mm + side_mm / 2) * draw_pt_per_mm,
                     side_mm / 2 * draw_pt_per_mm * 0.94};
  struct draw_place used = place;

  used.width_mm = draw_mark_width_mm(draw, mark, side_mm);
  if (!draw_on_paper(draw, used, mark->from))
    return;
  if (place.width_mm > 0 && used.width_mm > place.width_mm) {
    draw_complain(draw, mark->from, "the mark is wider than its place; shorten its letter");
    return;
  }
  draw_shape_of(draw, mark, &m);
  if (mark->letter)
    draw_letter(draw, mark, place.x_mm + (1 + letter_gap_ratio) * side_mm, place);
}
