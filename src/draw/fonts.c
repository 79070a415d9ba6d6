#include "draw/draw_impl.h"

#include <pango/pangofc-fontmap.h>
#include <string.h>

/*
 * A configuration of our own that holds three files and no rule: what another font of the machine, a
 * person's settings or a fallback would do to a page cannot happen.
 */
static const struct {
  const char *family;
  int weight;
} wanted[] = {
    {"DejaVu Sans", FC_WEIGHT_REGULAR},
    {"DejaVu Sans", FC_WEIGHT_BOLD},
    {"DejaVu Sans Mono", FC_WEIGHT_REGULAR},
};

static bool is_wanted(FcPattern *font, const char *family, int weight, FcChar8 **file_out)
{
  FcChar8 *name;
  int slant = -1, width = -1, heavy = -1;

  return FcPatternGetString(font, FC_FAMILY, 0, &name) == FcResultMatch &&
         strcmp((const char *)name, family) == 0 &&
         FcPatternGetInteger(font, FC_SLANT, 0, &slant) == FcResultMatch &&
         slant == FC_SLANT_ROMAN &&
         FcPatternGetInteger(font, FC_WIDTH, 0, &width) == FcResultMatch &&
         width == FC_WIDTH_NORMAL &&
         FcPatternGetInteger(font, FC_WEIGHT, 0, &heavy) == FcResultMatch && heavy == weight &&
         FcPatternGetString(font, FC_FILE, 0, file_out) == FcResultMatch;
}

/* The first by name, should the same font lie in two folders. */
static const FcChar8 *find(const FcFontSet *fonts, const char *family, int weight)
{
  const FcChar8 *best = NULL;
  FcChar8 *file;

  for (int i = 0; i < fonts->nfont; i++)
    if (is_wanted(fonts->fonts[i], family, weight, &file) &&
        (!best || strcmp((const char *)file, (const char *)best) < 0))
      best = file;
  return best;
}

static bool take_fonts(FcConfig *ours, const FcFontSet *fonts)
{
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    const FcChar8 *file = find(fonts, wanted[i].family, wanted[i].weight);

    if (!file || !FcConfigAppFontAddFile(ours, file))
      return false;
  }
  return true;
}

static bool find_fonts(FcConfig *ours)
{
  FcConfig *machine = FcInitLoadConfigAndFonts();
  FcPattern *any = FcPatternCreate();
  FcObjectSet *objects =
      FcObjectSetBuild(FC_FAMILY, FC_SLANT, FC_WIDTH, FC_WEIGHT, FC_FILE, (char *)NULL);
  FcFontSet *fonts = machine ? FcFontList(machine, any, objects) : NULL;
  bool found = fonts && take_fonts(ours, fonts);

  if (fonts)
    FcFontSetDestroy(fonts);
  FcObjectSetDestroy(objects);
  FcPatternDestroy(any);
  if (machine)
    FcConfigDestroy(machine);
  return found;
}

/* Type of the same width at every size, wherever it stands: no hints, no rounding to pixels. */
static void set_options(PangoContext *context)
{
  cairo_font_options_t *options = cairo_font_options_create();

  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(context, options);
  cairo_font_options_destroy(options);
  pango_cairo_context_set_resolution(context, 72);
  pango_context_set_round_glyph_positions(context, FALSE);
  pango_context_set_language(context, pango_language_from_string("en"));
}

enum err_code draw_fonts_open(struct draw *draw, struct err *err)
{
  draw->fonts = FcConfigCreate();
  if (!draw->fonts || !find_fonts(draw->fonts))
    return err_set(err, ERR_IO,
                   "the fonts DejaVu Sans and DejaVu Sans Mono are not on this machine; install "
                   "fonts-dejavu-core");
  draw->map = pango_cairo_font_map_new_for_font_type(CAIRO_FONT_TYPE_FT);
  BUG_IF(!draw->map);
  pango_fc_font_map_set_config(PANGO_FC_FONT_MAP(draw->map), draw->fonts);
  draw->context = pango_font_map_create_context(draw->map);
  set_options(draw->context);
  return ERR_OK;
}

void draw_fonts_close(struct draw *draw)
{
  if (draw->context)
    g_object_unref(draw->context);
  if (draw->map) {
    pango_fc_font_map_set_config(PANGO_FC_FONT_MAP(draw->map), NULL); /* it would keep ours */
    g_object_unref(draw->map);
  }
  if (draw->fonts)
    FcConfigDestroy(draw->fonts);
}
