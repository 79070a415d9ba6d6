#include "draw/draw_impl.h"

#include "base/utf8.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* ---- faults of a text ---- */

static const char *whose(const struct draw_text *text)
{
  return text->from ? text->from : "a text of the page";
}

static void no_letter(struct draw *draw, const char *from, gunichar character)
{
  char shown[7] = "";

  shown[g_unichar_to_utf8(character, shown)] = '\0';
  draw_complain(draw, from,
                "the fonts of the page have no '%s' (U+%04X); write it in other letters", shown,
                (unsigned)character);
}

static void check_letters(struct draw *draw, const char *from, PangoLayout *layout)
{
  PangoLayoutIter *at;

  if (pango_layout_get_unknown_glyphs_count(layout) == 0)
    return;
  at = pango_layout_get_iter(layout);
  do {
    const PangoLayoutRun *run = pango_layout_iter_get_run_readonly(at);

    for (int i = 0; run && i < run->glyphs->num_glyphs; i++) {
      PangoGlyph glyph = run->glyphs->glyphs[i].glyph;

      if (glyph != PANGO_GLYPH_EMPTY && (glyph & PANGO_GLYPH_UNKNOWN_FLAG))
        no_letter(draw, from, glyph & ~PANGO_GLYPH_UNKNOWN_FLAG);
    }
  } while (pango_layout_iter_next_run(at));
  pango_layout_iter_free(at);
}

static void too_large(struct draw *draw, const struct draw_text *text)
{
  enum { SHOWN = 40 };
  char start[SHOWN + 8];

  snprintf(start, sizeof start, "%.*s", SHOWN, text->text);
  utf8_mend_end(start);
  draw_complain(draw, whose(text), "'%s%s' does not fit in its place; shorten it", start,
                strlen(text->text) > SHOWN ? "..." : "");
}

/* ---- layout ---- */

static PangoFontDescription *font_of(const struct draw_text *text)
{
  PangoFontDescription *font = pango_font_description_new();

  pango_font_description_set_family_static(font, text->mono ? "DejaVu Sans Mono" : "DejaVu Sans");
  pango_font_description_set_weight(font, text->bold && !text->mono ? PANGO_WEIGHT_BOLD
                                                                    : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(font, text->size_pt * PANGO_SCALE);
  return font;
}

static void break_lines(PangoLayout *layout, double width_mm)
{
  PangoAttrList *attributes = pango_attr_list_new();

  pango_attr_list_insert(attributes, pango_attr_insert_hyphens_new(FALSE));
  pango_layout_set_attributes(layout, attributes);
  pango_attr_list_unref(attributes);
  pango_layout_set_width(layout, (int)(width_mm * draw_pt_per_mm * PANGO_SCALE));
  pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
}

/* pango means the side a text begins at, and the paper's side is wanted. */
static PangoAlignment align_of(PangoLayout *layout, const struct draw_text *text)
{
  bool turned = pango_layout_get_direction(layout, 0) == PANGO_DIRECTION_RTL;

  switch (text->align) {
  case DRAW_CENTRE:
    return PANGO_ALIGN_CENTER;
  case DRAW_RIGHT:
    return turned ? PANGO_ALIGN_LEFT : PANGO_ALIGN_RIGHT;
  case DRAW_LEFT:
    break;
  }
  return turned ? PANGO_ALIGN_RIGHT : PANGO_ALIGN_LEFT;
}

PangoLayout *draw_layout(struct draw *draw, const struct draw_text *text, double width_mm)
{
  PangoLayout *layout = pango_layout_new(draw->context);
  PangoFontDescription *font = font_of(text);
  const char *words = text->text ? text->text : "";

  BUG_IF(!(text->size_pt > 0));
  if (utf8_fault(words)) {
    draw_complain(draw, whose(text), "it is not UTF-8; save it so");
    words = "";
  }
  pango_layout_set_font_description(layout, font);
  pango_font_description_free(font);
  pango_layout_set_text(layout, words, -1);
  pango_layout_set_alignment(layout, align_of(layout, text));
  if (width_mm > 0)
    break_lines(layout, width_mm);
  check_letters(draw, whose(text), layout);
  return layout;
}

static bool is_empty(const struct draw_text *text)
{
  return !text->text || text->text[0] == '\0';
}

struct extent {
  double width_mm, height_mm;
};

static struct extent extent_of(PangoLayout *layout)
{
  PangoRectangle logical;

  pango_layout_get_extents(layout, NULL, &logical);
  return (struct extent){
      .width_mm = (double)logical.width / PANGO_SCALE / draw_pt_per_mm,
      .height_mm = (double)logical.height / PANGO_SCALE / draw_pt_per_mm,
  };
}

static struct extent measure(struct draw *draw, const struct draw_text *text, double width_mm)
{
  if (is_empty(text))
    return (struct extent){0};

  PangoLayout *layout = draw_layout(draw, text, width_mm);
  struct extent extent = extent_of(layout);

  g_object_unref(layout);
  return extent;
}

double draw_text_height_mm(struct draw *draw, const struct draw_text *text, double width_mm)
{
  return measure(draw, text, width_mm).height_mm;
}

double draw_text_width_mm(struct draw *draw, const struct draw_text *text)
{
  return measure(draw, text, 0).width_mm;
}

double draw_text_fit_pt(struct draw *draw, const struct draw_text *text, struct draw_place place,
                        double least_pt, double most_pt)
{
  enum { STEPS = 10 };
  struct draw_text tried = *text;

  for (int i = STEPS; i > 0; i--) {
    tried.size_pt = least_pt + (most_pt - least_pt) * i / STEPS;

    struct extent extent = measure(draw, &tried, place.width_mm);

    if (extent.width_mm <= place.width_mm && extent.height_mm <= place.height_mm)
      return tried.size_pt;
  }
  return least_pt;
}

/* ---- at a place ---- */

static const double slack_mm = 0.05; /* of rounding to pango's units */

static void show(struct draw *draw, PangoLayout *layout, struct draw_point at, enum draw_ink ink)
{
  draw_set_ink(draw, ink);
  cairo_move_to(draw->cr, at.x_mm * draw_pt_per_mm, at.y_mm * draw_pt_per_mm);
  pango_cairo_show_layout(draw->cr, layout);
}

double draw_text(struct draw *draw, const struct draw_text *text, struct draw_place place)
{
  if (is_empty(text))
    return 0;
  BUG_IF(!draw->cr || !(place.width_mm > 0));

  PangoLayout *layout = draw_layout(draw, text, place.width_mm);
  struct extent extent = extent_of(layout);
  struct draw_place used = {place.x_mm, place.y_mm, place.width_mm, extent.height_mm};

  if ((place.height_mm > 0 && extent.height_mm > place.height_mm + slack_mm) ||
      extent.width_mm > place.width_mm + slack_mm)
    too_large(draw, text);
  else if (draw_on_paper(draw, used, whose(text)))
    show(draw, layout, (struct draw_point){place.x_mm, place.y_mm}, text->ink);
  g_object_unref(layout);
  return extent.height_mm;
}

/* ---- one below the other ---- */

double draw_y_mm(const struct draw *draw)
{
  return draw->y_mm;
}

void draw_skip(struct draw *draw, double height_mm)
{
  draw->y_mm += height_mm;
}

bool draw_need(struct draw *draw, double height_mm)
{
  if (draw->y_mm + height_mm <= draw->area.y_mm + draw->area.height_mm + slack_mm)
    return false;
  draw_page(draw);
  return true;
}

/* One line of a layout, at the cursor. */
static void flow_line(struct draw *draw, PangoLayoutIter *at, const struct draw_text *text)
{
  PangoRectangle line;

  pango_layout_iter_get_line_extents(at, NULL, &line);

  double height_mm = (double)line.height / PANGO_SCALE / draw_pt_per_mm,
         above_pt = (double)(pango_layout_iter_get_baseline(at) - line.y) / PANGO_SCALE;

  draw_need(draw, height_mm);
  draw_set_ink(draw, text->ink);
  cairo_move_to(draw->cr, draw->area.x_mm * draw_pt_per_mm + (double)line.x / PANGO_SCALE,
                draw->y_mm * draw_pt_per_mm + above_pt);
  pango_cairo_show_layout_line(draw->cr, pango_layout_iter_get_line_readonly(at));
  draw->y_mm += height_mm;
}

void draw_flow(struct draw *draw, const struct draw_text *text)
{
  if (is_empty(text))
    return;
  BUG_IF(!draw->cr);

  PangoLayout *layout = draw_layout(draw, text, draw->area.width_mm);

  if (extent_of(layout).width_mm > draw->area.width_mm + slack_mm) {
    too_large(draw, text);
  } else {
    PangoLayoutIter *at = pango_layout_get_iter(layout);

    do
      flow_line(draw, at, text);
    while (pango_layout_iter_next_line(at));
    pango_layout_iter_free(at);
  }
  g_object_unref(layout);
}
