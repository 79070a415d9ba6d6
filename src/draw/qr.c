#include "draw/draw_impl.h"

#include <math.h>
#include <qrencode.h>

enum { QUIET = 4 }; /* modules of white around the code, ISO/IEC 18004 */

static void modules(struct draw *draw, const QRcode *code, struct draw_place place)
{
  double side_pt =
             fmin(place.width_mm, place.height_mm) * draw_pt_per_mm / (code->width + 2 * QUIET),
         left_pt = place.x_mm * draw_pt_per_mm + QUIET * side_pt,
         top_pt = place.y_mm * draw_pt_per_mm + QUIET * side_pt;

  draw_set_ink(draw, DRAW_BLACK);
  for (int y = 0; y < code->width; y++)
    for (int x = 0, run = 0; x < code->width; x += run + 1) {
      const unsigned char *row = &code->data[y * code->width];

      for (run = 0; x + run < code->width && (row[x + run] & 1); run++)
        ;
      if (run > 0)
        cairo_rectangle(draw->cr, left_pt + x * side_pt, top_pt + y * side_pt, run * side_pt,
                        side_pt);
    }
  cairo_fill(draw->cr);
}

void draw_qr(struct draw *draw, const char *text, const char *from, struct draw_place place)
{
  QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);

  if (!code)
    draw_complain(draw, from, "it is empty or too long for a QR code; shorten it");
  else if (draw_on_paper(draw, place, from))
    modules(draw, code, place);
  QRcode_free(code);
}
