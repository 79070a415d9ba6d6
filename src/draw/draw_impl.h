#ifndef DRAW_DRAW_IMPL_H
#define DRAW_DRAW_IMPL_H

#include "draw/draw.h"

#include <fontconfig/fontconfig.h>
#include <pango/pangocairo.h>

/*
 * Pages are recorded and replayed into the file at the end, when their number is known.  Inside,
 * places are points (1/72 inch), as cairo and PDF count.
 */
enum { DRAW_PAGES_MAX = 500 };

struct draw {
  struct draw_setup setup; /* texts copied */
  struct arena arena;
  struct complaints *complaints;
  FcConfig *fonts;
  PangoFontMap *map;
  PangoContext *context;
  double width_pt, height_pt, margin_mm;
  struct draw_place area;
  cairo_surface_t *pages[DRAW_PAGES_MAX];
  int page_count;
  cairo_t *cr; /* of the last page */
  double y_mm;
};

static const double draw_pt_per_mm = 72.0 / 25.4;

/* ---- fonts.c ---- */
NODISCARD enum err_code draw_fonts_open(struct draw *draw, struct err *err);
void draw_fonts_close(struct draw *draw);

/* ---- draw.c ---- */
/* The place of a thing must be on the paper; a complaint otherwise, and false. */
bool draw_on_paper(struct draw *draw, struct draw_place place, const char *from);
void draw_set_ink(struct draw *draw, enum draw_ink ink);
/* "station A1, not here: words"; once however often it is found. */
void draw_complain_once(struct draw *draw, const char *text);

/* ---- text.c ---- */
/* A layout of the text, complained about; free with g_object_unref.  Width 0: unbroken. */
PangoLayout *draw_layout(struct draw *draw, const struct draw_text *text, double width_mm);

/* ---- svg.c ---- */
/* The same bytes for the same page, however many were drawn before. */
void draw_svg_tidy(const struct buf *from, struct buf *out);

#endif
