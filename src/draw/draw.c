#include "draw/draw_impl.h"

#include <cairo-pdf.h>
#include <cairo-svg.h>
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Paper in mm, ISO 216 and ANSI/ASME Y14.1; how much of it stays white at the edges. */
static const struct {
  double width_mm, height_mm, margin_mm, scale_ratio;
} papers[] = {
    [DRAW_A4] = {210, 297, 13, 1},
    [DRAW_A5] = {148, 210, 9, 0.70710678118654752},
    [DRAW_LETTER] = {215.9, 279.4, 13, 1},
};

static const double small_pt = 8.5; /* head and foot, on A4 */

/* ---- faults ---- */

void draw_complain_once(struct draw *draw, const char *text)
{
  for (int i = 0; i < draw->complaints->count; i++)
    if (strcmp(draw->complaints->list[i].text, text) == 0)
      return;
  complaints_add(draw->complaints, (struct place){NULL, 0, 0}, 0, "%s", text);
}

void draw_complain(struct draw *draw, const char *from, const char *fmt, ...)
{
  char words[400], text[600];
  va_list args;

  va_start(args, fmt);
  vsnprintf(words, sizeof words, fmt, args);
  va_end(args);
  snprintf(text, sizeof text, "%.180s: %s", from ? from : "the page", words);
  draw_complain_once(draw, text);
}

bool draw_on_paper(struct draw *draw, struct draw_place place, const char *from)
{
  static const double edge_mm = 3; /* what no printer reaches */
  double right_mm = draw->width_pt / draw_pt_per_mm - edge_mm,
         low_mm = draw->height_pt / draw_pt_per_mm - edge_mm;

  BUG_IF(!draw->cr);
  if (place.x_mm >= edge_mm && place.y_mm >= edge_mm && place.x_mm + place.width_mm <= right_mm &&
      place.y_mm + place.height_mm <= low_mm)
    return true;
  draw_complain(draw, from, "it would stand outside the paper; shorten what the page holds");
  return false;
}

void draw_set_ink(struct draw *draw, enum draw_ink ink)
{
  static const double shades_ratio[] = {
      [DRAW_BLACK] = 0, [DRAW_GREY] = 0.33, [DRAW_PALE] = 0.86, [DRAW_WHITE] = 1, [DRAW_RED] = 0};
  double shade_ratio = shades_ratio[ink];

  cairo_set_source_rgb(draw->cr, ink == DRAW_RED ? 0.84 : shade_ratio, shade_ratio, shade_ratio);
}

/* ---- head and foot ---- */

static double small_size_pt(const struct draw *draw)
{
  return small_pt * fmax(draw_scale_ratio(draw), 0.8);
}

static struct draw_text small_text(const struct draw *draw, const char *text, const char *from)
{
  return (struct draw_text){
      .text = text, .from = from, .size_pt = small_size_pt(draw), .ink = DRAW_GREY};
}

/* The place of the page between the margins. */
static struct draw_place sheet(const struct draw *draw)
{
  double m_mm = draw->margin_mm;

  return (struct draw_place){m_mm, m_mm, draw->width_pt / draw_pt_per_mm - 2 * m_mm,
                             draw->height_pt / draw_pt_per_mm - 2 * m_mm};
}

struct furniture {
  double line_mm, head_mm, foot_mm, foot_text_mm; /* heights: a small line, and what each takes */
};

static struct furniture furniture_of(struct draw *draw)
{
  struct draw_text line = small_text(draw, "X", NULL),
                   foot = small_text(draw, draw->setup.foot, "the foot of the page");
  struct furniture f = {.line_mm = draw_text_height_mm(draw, &line, 0)};

  foot.bold = true;
  foot.ink = DRAW_BLACK;
  f.foot_text_mm = draw_text_height_mm(draw, &foot, sheet(draw).width_mm);
  f.head_mm = draw->setup.head || draw->setup.label ? 1.9 * f.line_mm : 0;
  f.foot_mm = f.foot_text_mm + 2.0 * f.line_mm;
  return f;
}

static void set_area(struct draw *draw)
{
  struct furniture f = furniture_of(draw);
  struct draw_place whole = sheet(draw);

  draw->area = (struct draw_place){whole.x_mm, whole.y_mm + f.head_mm, whole.width_mm,
                                   whole.height_mm - f.head_mm - f.foot_mm};
}

static void draw_label(struct draw *draw, const struct furniture *f)
{
  struct draw_place whole = sheet(draw);
  struct draw_text label = small_text(draw, draw->setup.label, "the suite's label");

  label.bold = true;
  label.ink = DRAW_BLACK;
  label.align = DRAW_CENTRE;

  double width_mm = draw_text_width_mm(draw, &label) + 4;
  struct draw_place box = {whole.x_mm + whole.width_mm - width_mm, whole.y_mm - 0.6, width_mm,
                           f->line_mm + 1.2};

  if (width_mm > whole.width_mm / 2) {
    draw_complain(draw, label.from, "it is too long for the head of a page; shorten it");
    return;
  }
  draw_box(draw, box, &(struct draw_look){.line_mm = 0.35, .corner_mm = 0.8});
  box.y_mm = whole.y_mm;
  box.height_mm = 0;
  draw_text(draw, &label, box);
}

static void draw_head(struct draw *draw, const struct furniture *f)
{
  struct draw_place whole = sheet(draw);
  struct draw_text head = small_text(draw, draw->setup.head, "the suite's name");

  if (draw->setup.label)
    draw_label(draw, f);
  draw_text(draw, &head,
            (struct draw_place){whole.x_mm, whole.y_mm, whole.width_mm * 0.75, f->line_mm * 1.2});
}

static void draw_last_line(struct draw *draw, double y_mm, int page)
{
  struct draw_place whole = sheet(draw), place = {whole.x_mm, y_mm, whole.width_mm * 0.72, 0};
  char left[300], right[60];
  struct draw_text text = small_text(draw, left, "the last line of the page");

  snprintf(left, sizeof left, "%.200s%s%.60s", draw->setup.revision ? draw->setup.revision : "",
           draw->setup.date ? " · printed " : "", draw->setup.date ? draw->setup.date : "");
  snprintf(right, sizeof right, "page %d of %d", page + 1, draw->page_count);
  draw_text(draw, &text, place);
  text.text = right;
  text.align = DRAW_RIGHT;
  draw_text(
      draw, &text,
      (struct draw_place){whole.x_mm + whole.width_mm * 0.72, y_mm, whole.width_mm * 0.28, 0});
}

static void draw_foot(struct draw *draw, const struct furniture *f, int page)
{
  struct draw_place whole = sheet(draw);
  double y_mm = whole.y_mm + whole.height_mm - f->foot_mm + 0.5 * f->line_mm;
  struct draw_text foot = small_text(draw, draw->setup.foot, "the foot of the page");

  foot.bold = true;
  foot.ink = DRAW_BLACK;
  draw_line(draw, (struct draw_point){whole.x_mm, y_mm - 0.3 * f->line_mm},
            (struct draw_point){whole.x_mm + whole.width_mm, y_mm - 0.3 * f->line_mm},
            &(struct draw_look){.line_mm = 0.25, .line = DRAW_GREY});
  draw_text(draw, &foot, (struct draw_place){whole.x_mm, y_mm, whole.width_mm, 0});
  draw_last_line(draw, y_mm + f->foot_text_mm + 0.3 * f->line_mm, page);
}

/* ---- the document ---- */

static const char *copy(struct draw *draw, const char *text)
{
  return text ? arena_strdup(&draw->arena, text) : NULL;
}

struct draw *draw_new(const struct draw_setup *setup, struct complaints *complaints,
                      struct err *err)
{
  struct draw *draw = calloc(1, sizeof *draw);
  double width_mm = papers[setup->size].width_mm, height_mm = papers[setup->size].height_mm;

  if (!draw)
    err_no_memory();
  arena_init(&draw->arena, SIZE_MAX); /* holds the texts of the setup */
  draw->complaints = complaints;
  draw->setup = (struct draw_setup){
      .size = setup->size,
      .landscape = setup->landscape,
      .title = copy(draw, setup->title),
      .head = copy(draw, setup->head),
      .label = copy(draw, setup->label),
      .foot = copy(draw, setup->foot),
      .revision = copy(draw, setup->revision),
      .date = copy(draw, setup->date),
  };
  draw->width_pt = (setup->landscape ? height_mm : width_mm) * draw_pt_per_mm;
  draw->height_pt = (setup->landscape ? width_mm : height_mm) * draw_pt_per_mm;
  draw->margin_mm = papers[setup->size].margin_mm;
  if (draw_fonts_open(draw, err) != ERR_OK) {
    draw_free(draw);
    return NULL;
  }
  set_area(draw);
  return draw;
}

void draw_free(struct draw *draw)
{
  if (!draw)
    return;
  if (draw->cr)
    cairo_destroy(draw->cr);
  for (int i = 0; i < draw->page_count; i++)
    cairo_surface_destroy(draw->pages[i]);
  draw_fonts_close(draw);
  arena_release(&draw->arena);
  free(draw);
}

static void open_page(struct draw *draw, int page)
{
  if (draw->cr)
    cairo_destroy(draw->cr);
  draw->cr = cairo_create(draw->pages[page]);
}

void draw_page(struct draw *draw)
{
  cairo_rectangle_t whole = {0, 0, draw->width_pt, draw->height_pt};

  draw->y_mm = draw->area.y_mm;
  if (draw->page_count == DRAW_PAGES_MAX) { /* drawn over the last one, which is never written */
    draw_complain(draw, NULL, "more than %d pages; print fewer at a time", DRAW_PAGES_MAX);
    return;
  }
  draw->pages[draw->page_count] = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, &whole);
  open_page(draw, draw->page_count++);
}

int draw_page_count(const struct draw *draw)
{
  return draw->page_count;
}

struct draw_place draw_area(const struct draw *draw)
{
  return draw->area;
}

double draw_scale_ratio(const struct draw *draw)
{
  return papers[draw->setup.size].scale_ratio;
}

/* ---- the file ---- */

static cairo_status_t take_bytes(void *closure, const unsigned char *bytes, unsigned count)
{
  struct buf *out = closure;

  buf_add(out, (const char *)bytes, count);
  return CAIRO_STATUS_SUCCESS;
}

/* A fixed moment stands where no date is given: bytes must not depend on a clock. */
static void set_properties(const struct draw *draw, cairo_surface_t *pdf)
{
  static const char no_date[] = "1970-01-01T00:00:00Z";

  cairo_pdf_surface_set_metadata(pdf, CAIRO_PDF_METADATA_CREATE_DATE,
                                 draw->setup.date ? draw->setup.date : no_date);
  cairo_pdf_surface_set_metadata(pdf, CAIRO_PDF_METADATA_CREATOR, "Inward");
  if (draw->setup.title)
    cairo_pdf_surface_set_metadata(pdf, CAIRO_PDF_METADATA_TITLE, draw->setup.title);
}

static cairo_surface_t *open_file(const struct draw *draw, enum draw_format format,
                                  struct buf *bytes)
{
  cairo_surface_t *file;

  if (format == DRAW_SVG) {
    file = cairo_svg_surface_create_for_stream(take_bytes, bytes, draw->width_pt, draw->height_pt);
    cairo_svg_surface_set_document_unit(file, CAIRO_SVG_UNIT_PT);
    return file;
  }
  file = cairo_pdf_surface_create_for_stream(take_bytes, bytes, draw->width_pt, draw->height_pt);
  set_properties(draw, file);
  return file;
}

static void replay(const struct draw *draw, cairo_surface_t *file)
{
  cairo_t *cr = cairo_create(file);

  for (int i = 0; i < draw->page_count; i++) {
    cairo_set_source_surface(cr, draw->pages[i], 0, 0);
    cairo_paint(cr);
    cairo_show_page(cr);
  }
  cairo_destroy(cr);
}

/* All of it or nothing. */
static void hand_on(enum draw_format format, const struct buf *bytes, struct buf *out)
{
  if (format == DRAW_SVG)
    draw_svg_tidy(bytes, out);
  else
    buf_add(out, bytes->text, bytes->used);
}

static enum err_code write_file(const struct draw *draw, enum draw_format format, struct buf *out,
                                struct err *err)
{
  struct buf bytes;
  cairo_surface_t *file;
  cairo_status_t status;
  bool full;

  buf_init(&bytes, out->limit);
  file = open_file(draw, format, &bytes);
  replay(draw, file);
  cairo_surface_finish(file);
  status = cairo_surface_status(file);
  cairo_surface_destroy(file);
  full = bytes.full;
  if (status == CAIRO_STATUS_SUCCESS && !full)
    hand_on(format, &bytes, out);
  buf_release(&bytes);
  if (status != CAIRO_STATUS_SUCCESS)
    return err_set(err, ERR_NO_SOLUTION, "the page cannot be written: %s",
                   cairo_status_to_string(status));
  if (full)
    return err_set(err, ERR_LIMIT, "the file would be larger than %zu MB; print fewer at a time",
                   out->limit >> 20);
  return ERR_OK;
}

enum err_code draw_finish(struct draw *draw, enum draw_format format, struct buf *out,
                          struct err *err)
{
  struct furniture f = furniture_of(draw);

  BUG_IF(draw->page_count == 0);
  for (int i = 0; i < draw->page_count; i++) {
    open_page(draw, i);
    draw_head(draw, &f);
    draw_foot(draw, &f, i);
  }
  if (draw->complaints->count > 0)
    return err_set(err, ERR_INPUT, "the page holds what cannot be printed");
  if (format == DRAW_SVG && draw->page_count > 1)
    return err_set(err, ERR_INPUT, "an SVG file holds one page, and this would be %d",
                   draw->page_count);
  return write_file(draw, format, out, err);
}
