#include "etch/etch_impl.h"

#include <math.h>

/*
 * A cross-section as SVG: both axes to one scale, so that an angle on the page is the angle in the wafer.
 * The page is 760 x 470; x0, y0 is the left edge of the opening at the surface.
 */
enum {
  PAGE_WIDTH = 760,
  PAGE_HEIGHT = 470,
  LEFT = 70,
  TOP = 110,
  ROOM_WIDTH = 560,
  ROOM_HEIGHT = 230
};

struct sketch {
  const struct etch_answer *answer;
  struct buf *out;
  struct arena *arena;
  double opening_m, undercut_m, depth_m, beside_m, below_m; /* beside: of mask shown at each edge */
  double per_m, x0, y0;                                     /* page units */
  bool assumed_opening;
};

static double at_x(const struct sketch *k, double along_m)
{
  return k->x0 + along_m * k->per_m;
}

static double at_y(const struct sketch *k, double down_m)
{
  return k->y0 + down_m * k->per_m;
}

/* ---- SVG ---- */

static void label(const struct sketch *k, double x, double y, const char *anchor, const char *text)
{
  buf_printf(k->out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\">", x, y, anchor);
  buf_put_markup(k->out, text);
  buf_puts(k->out, "</text>\n");
}

static void line(const struct sketch *k, double x1, double y1, double x2, double y2)
{
  buf_printf(k->out,
             "<path class=\"dimension\" d=\"M%.1f %.1fL%.1f %.1f\" marker-start=\"url(#end)\" "
             "marker-end=\"url(#end)\"/>\n",
             x1, y1, x2, y2);
}

static void box(const struct sketch *k, const char *kind, double left_m, double top_m,
                double right_m, double bottom_m)
{
  buf_printf(k->out, "<rect class=\"%s\" x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\"/>\n",
             kind, at_x(k, left_m), at_y(k, top_m), (right_m - left_m) * k->per_m,
             (bottom_m - top_m) * k->per_m);
}

/* ---- the shape ---- */

/* Half of what is open at the bottom, counted from the middle. */
static double half_floor_m(const struct sketch *k)
{
  double half_m = k->opening_m / 2 + k->undercut_m;

  if (k->answer->section.shape == ETCH_SLOPED)
    return fmax(0, half_m - k->depth_m / sqrt(2));
  if (k->answer->section.shape == ETCH_ROUND)
    return k->opening_m / 2 +
           sqrt(fmax(0, k->undercut_m * k->undercut_m - k->depth_m * k->depth_m));
  return half_m;
}

static void hollow(const struct sketch *k)
{
  double middle_m = k->opening_m / 2, half_m = middle_m + k->undercut_m, floor_m = half_floor_m(k);
  double left = at_x(k, middle_m - half_m), right = at_x(k, middle_m + half_m);
  double floor_left = at_x(k, middle_m - floor_m), floor_right = at_x(k, middle_m + floor_m);
  double radius = k->undercut_m * k->per_m, bottom = at_y(k, k->depth_m), surface = at_y(k, 0);

  buf_printf(k->out, "<path class=\"hollow\" d=\"M%.2f %.2f", left, surface);
  if (k->answer->section.shape == ETCH_ROUND)
    buf_printf(k->out, "A%.2f %.2f 0 0 0 %.2f %.2fL%.2f %.2fA%.2f %.2f 0 0 0 %.2f %.2fZ\"/>\n",
               radius, radius, floor_left, bottom, floor_right, bottom, radius, radius, right,
               surface);
  else
    buf_printf(k->out, "L%.2f %.2fL%.2f %.2fL%.2f %.2fZ\"/>\n", floor_left, bottom, floor_right,
               bottom, right, surface);
}

static void solids(const struct sketch *k)
{
  bool layer = k->answer->section.shape == ETCH_ROUND;
  double left_m = -k->beside_m, right_m = k->opening_m + k->beside_m;
  double mask_m = isnan(k->answer->mask_m) ? 6 / k->per_m : k->answer->mask_m;

  box(k, "film", left_m, 0, right_m, layer ? k->depth_m : k->depth_m + k->below_m);
  if (layer)
    box(k, "below", left_m, k->depth_m, right_m, k->depth_m + k->below_m);
  hollow(k);
  box(k, "mask", left_m, -mask_m, 0, 0);
  box(k, "mask", k->opening_m, -mask_m, right_m, 0);
}

/* ---- figures on it ---- */

static void dimensions(const struct sketch *k)
{
  const struct etch_section *s = &k->answer->section;
  double top = k->y0 - 26, right = at_x(k, k->opening_m + k->beside_m) + 14;
  double middle = at_x(k, k->opening_m / 2), bottom = at_y(k, k->depth_m);
  double floor_m = half_floor_m(k);

  line(k, at_x(k, 0), top, at_x(k, k->opening_m), top);
  label(k, middle, top - 6, "middle",
        arena_printf(k->arena, "opening %s%s", etch_length(k->opening_m, k->arena),
                     k->assumed_opening ? " (not said: drawn so)" : ""));
  line(k, right, k->y0, right, bottom);
  label(k, right + 8, (k->y0 + bottom) / 2 + 4, "start", etch_length(k->depth_m, k->arena));
  if (floor_m > 1e-6 * k->opening_m && s->shape != ETCH_ROUND) {
    line(k, at_x(k, k->opening_m / 2 - floor_m), bottom + 14, at_x(k, k->opening_m / 2 + floor_m),
         bottom + 14);
    label(k, middle, bottom + 30, "middle",
          arena_printf(k->arena, "floor %s", etch_length(2 * floor_m, k->arena)));
  }
  if (s->shape == ETCH_SLOPED)
    label(k, at_x(k, -k->undercut_m) - 8, k->y0 + 18, "end",
          arena_printf(k->arena, "%.2f°", etch_in_degrees(s->wall_rad)));
}

static void scale_bar(const struct sketch *k)
{
  double length_m = pow(10, floor(log10(120 / k->per_m)));
  double y = PAGE_HEIGHT - 34;

  line(k, LEFT, y, LEFT + length_m * k->per_m, y);
  label(k, LEFT + length_m * k->per_m + 10, y + 4, "start", etch_length(length_m, k->arena));
}

static void words(const struct sketch *k)
{
  const struct etch_answer *a = k->answer;
  const char *strength = isnan(a->strength_ratio)
                             ? ""
                             : arena_printf(k->arena, ", %.4g wt%%", a->strength_ratio * 100);
  const char *at = isnan(a->at_K) ? "" : etch_degrees(a->at_K, a->system, k->arena);

  label(k, LEFT, 28, "start",
        arena_printf(k->arena, "%s in %s%s%s%s", a->film->name, a->bath->id, strength,
                     at[0] ? ", " : "", at));
  label(k, LEFT, 50, "start",
        arena_printf(k->arena, "undercut at each edge up to %s%s%s%s",
                     etch_length(k->undercut_m, k->arena), a->has_mask ? "; mask " : "",
                     a->has_mask ? a->mask.film->id : "",
                     a->section.ends_most_m <= a->depth_m ? "; the groove ends by itself" : ""));
  label(k, LEFT + ROOM_WIDTH, PAGE_HEIGHT - 30, "end",
        isnan(a->mask_m) ? "to scale, but for the mask's thickness" : "to scale");
  if (a->facility && a->facility->label)
    label(k, LEFT + ROOM_WIDTH, 28, "end", a->facility->label);
  label(k, LEFT, PAGE_HEIGHT - 10, "start",
        "A sanity check from tables, not an instruction: measure on a test piece.");
}

static void fit(struct sketch *k)
{
  double width_m, height_m, above_m = isnan(k->answer->mask_m) ? 0 : k->answer->mask_m;

  k->beside_m = fmax(fmax(0.3 * k->opening_m, 0.5 * k->depth_m), 1.6 * k->undercut_m);
  k->below_m = fmax(0.3 * k->depth_m, 0.1 * k->opening_m);
  if (k->answer->thickness_m > k->depth_m && k->answer->thickness_m < 3 * k->depth_m)
    k->below_m = k->answer->thickness_m - k->depth_m;
  width_m = k->opening_m + 2 * k->beside_m;
  height_m = above_m + k->depth_m + k->below_m;
  k->per_m = fmin(ROOM_WIDTH / width_m, ROOM_HEIGHT / height_m);
  k->x0 = LEFT + (ROOM_WIDTH - width_m * k->per_m) / 2 + k->beside_m * k->per_m;
  k->y0 = TOP + above_m * k->per_m;
}

static void begin(const struct sketch *k)
{
  buf_printf(k->out,
             "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" width=\"%d\" "
             "height=\"%d\" role=\"img\">\n",
             PAGE_WIDTH, PAGE_HEIGHT, PAGE_WIDTH, PAGE_HEIGHT);
  buf_puts(k->out,
           "<title>Cross-section of an etched opening, to scale</title>\n"
           "<style>text{font:13px sans-serif;fill:#222}.film{fill:#c9ced3}.below{fill:#9aa3ab}"
           ".hollow{fill:#fff;stroke:#222;stroke-width:1}.mask{fill:#555}"
           ".dimension{stroke:#222;stroke-width:1;fill:none}</style>\n"
           "<defs><marker id=\"end\" markerWidth=\"2\" markerHeight=\"10\" refX=\"1\" refY=\"5\" "
           "orient=\"auto\"><path d=\"M1 0V10\" stroke=\"#222\"/></marker></defs>\n"
           "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n");
}

enum err_code etch_drawing(const struct etch_answer *a, struct buf *out, struct err *err)
{
  struct arena arena;
  struct sketch k = {.answer = a, .out = out, .arena = &arena};

  if (!a->answered)
    return err_set(err, ERR_INPUT, "nothing to draw: the rate is not known");
  if (!a->section.known)
    return err_set(err, ERR_INPUT, "nothing to draw: no form for the shape of %s here",
                   a->film->id);
  if (isnan(a->section.undercut_m))
    return err_set(err, ERR_INPUT, "nothing to draw: the undercut has no end that is known");
  arena_init(&arena, (size_t)1 << 20);
  k.assumed_opening = isnan(a->section.opening_m);
  k.undercut_m = a->section.undercut_m;
  k.opening_m = k.assumed_opening ? 2.5 * a->depth_m : a->section.opening_m;
  k.depth_m = a->depth_m;
  if (a->section.shape == ETCH_SLOPED)
    k.depth_m = fmin(k.depth_m, (k.opening_m + 2 * k.undercut_m) / sqrt(2));
  fit(&k);
  begin(&k);
  solids(&k);
  dimensions(&k);
  scale_bar(&k);
  words(&k);
  buf_puts(out, "</svg>\n");
  arena_release(&arena);
  return ERR_OK;
}
