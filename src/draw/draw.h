#ifndef DRAW_DRAW_H
#define DRAW_DRAW_H

#include "base/buf.h"
#include "base/complaints.h"
#include "base/err.h"
#include "mark/mark.h"

#include <stdbool.h>

/*
 * Pages on paper: text, lines, boxes, tables, marks, scale bars and QR codes, as the bytes of a PDF
 * or an SVG file.  It knows paper and type, and nothing of what is printed.
 *
 *     struct draw *draw = draw_new(&(struct draw_setup){.size = DRAW_A4, .head = "Quillmere",
 *                                                       .label = "DEMO", .revision = "suite 3fa9c1"},
 *                                  &complaints, &err);
 *     if (!draw)
 *       return err.code;
 *     draw_page(draw);
 *     draw_flow(draw, &(struct draw_text){.text = step, .from = "step 3", .size_pt = 12});
 *     draw_skip(draw, 4);
 *     ...
 *     enum err_code code = draw_finish(draw, DRAW_PDF, &bytes, &err);
 *     draw_free(draw);
 *
 * Places are millimetres from the top left corner of the paper, x to the right, y down; type is in
 * points.  There are two ways to place things, and they mix: at a place (draw_text, draw_box ...), or
 * one below the other from the top of draw_area (draw_flow, draw_table_row: those begin the next page
 * by themselves).
 *
 * What goes wrong with the words of a person is a complaint, and drawing goes on, so that one run
 * names all of it: a character that the fonts do not have (never printed as an empty box), a text that
 * is not UTF-8, a text larger than the room it was given (never cut), a QR code that would hold too
 * much.  `from` says whose words they are: "station A1, not here".  draw_finish refuses as long as
 * there is one complaint.  Drawing outside the paper is a complaint too.
 *
 * The same calls give the same bytes: no clock, no random number, no name of this machine.  Fonts are
 * DejaVu Sans (regular, bold) and DejaVu Sans Mono, found through fontconfig and embedded; any other
 * font of the machine is ignored, so that a page looks the same everywhere or is refused.  cairo's
 * version is the one thing that may change bytes.
 *
 * A document belongs to one thread.  It copies no text: what it is given must live until draw_finish,
 * except texts of draw_setup, which are copied.
 */
struct draw;

enum draw_size { DRAW_A4, DRAW_A5, DRAW_LETTER };
enum draw_format { DRAW_PDF, DRAW_SVG };

struct draw_setup {
  enum draw_size size;
  bool landscape;
  const char *title;    /* in the file's properties; or NULL */
  const char *head;     /* at the left of every page's head: the suite's name; or NULL */
  const char *label;    /* boxed at the right of every head: DEMO; or NULL */
  const char *foot;     /* above the last line of every page, several lines allowed; or NULL */
  const char *revision; /* at the left of the last line; "page 2 of 3" stands at its right */
  const char *date;     /* 2026-11-25: in the last line and the file's properties; or NULL: none */
};

struct draw_place {
  double x_mm, y_mm, width_mm, height_mm;
};

/* NULL with ERR_IO when the fonts are not there.  `complaints` outlives the document. */
struct draw *draw_new(const struct draw_setup *setup, struct complaints *complaints,
                      struct err *err);
void draw_free(struct draw *draw); /* NULL is fine */

/* Begins a page, the first one too. */
void draw_page(struct draw *draw);
int draw_page_count(const struct draw *draw);
/* Between head and foot, the same on every page. */
struct draw_place draw_area(const struct draw *draw);
/* 1 on A4 and Letter, 1/√2 on A5: multiply sizes by it and a page keeps its looks. */
double draw_scale_ratio(const struct draw *draw);
/* A fault of what was asked for, in the words of the caller. */
void draw_complain(struct draw *draw, const char *from, const char *fmt, ...) PRINTF_LIKE(3, 4);

/*
 * Draws head and foot and adds the file's bytes to `out`.  ERR_INPUT when there are complaints, and
 * for an SVG of more than one page; then `out` is as it was.  A document is finished once.
 */
NODISCARD enum err_code draw_finish(struct draw *draw, enum draw_format format, struct buf *out,
                                    struct err *err);

/* ---- text ---- */

/* Grey can be read, pale cannot; red is for the border of a hazard pictogram and nothing else. */
enum draw_ink { DRAW_BLACK, DRAW_GREY, DRAW_PALE, DRAW_WHITE, DRAW_RED };
enum draw_align { DRAW_LEFT, DRAW_CENTRE, DRAW_RIGHT };

/* Several lines are allowed; an empty or NULL text has no height. */
struct draw_text {
  const char *text, *from;
  double size_pt;
  bool bold, mono;
  enum draw_ink ink;
  enum draw_align align; /* sides of the paper, whichever way a text is read */
};

double draw_text_height_mm(struct draw *draw, const struct draw_text *text, double width_mm);
double draw_text_width_mm(struct draw *draw, const struct draw_text *text); /* unbroken */
/* The largest size at which the text fits there, from most to least by tenths of the range; least
 * when none does. */
double draw_text_fit_pt(struct draw *draw, const struct draw_text *text, struct draw_place place,
                        double least_pt, double most_pt);
/* Breaks lines at the width and returns the height used.  Higher than the place: a complaint; a place
 * of no height takes any. */
double draw_text(struct draw *draw, const struct draw_text *text, struct draw_place place);

/* ---- one below the other ---- */

/* Where the next thing of the flow goes; the top of draw_area on a new page. */
double draw_y_mm(const struct draw *draw);
void draw_skip(struct draw *draw, double height_mm);
/* Begins the next page when less than this is left; true when it did. */
bool draw_need(struct draw *draw, double height_mm);
/* Over the whole width, going on to the next page between two lines where it must. */
void draw_flow(struct draw *draw, const struct draw_text *text);

/* A table of the flow.  Its head stands again on every page; a row is never split, and a row higher
 * than a page is a complaint. */
struct draw_column {
  const char *head;
  double width_mm; /* of all columns together: at most the width of draw_area */
  enum draw_align align;
};

struct draw_table {
  const struct draw_column *columns;
  int column_count;
  double size_pt, head_size_pt; /* of type */
  double least_height_mm;       /* of a row */
  double pad_mm;                /* around the text of a cell */
};

void draw_table_head(struct draw *draw, const struct draw_table *table);
/* One text a column; NULL leaves the cell to the caller, who draws over the place returned.  A row
 * may be marked with a thick line at its left. */
struct draw_place draw_table_row(struct draw *draw, const struct draw_table *table,
                                 const char *const *cells, const char *from, bool marked);

/* ---- lines and shapes ---- */

struct draw_look {
  double line_mm; /* 0: no line */
  enum draw_ink line;
  bool dashed;
  bool filled;
  enum draw_ink fill;
  double corner_mm; /* of a box */
};

struct draw_point {
  double x_mm, y_mm;
};

void draw_line(struct draw *draw, struct draw_point from, struct draw_point to,
               const struct draw_look *look);
void draw_box(struct draw *draw, struct draw_place place, const struct draw_look *look);
void draw_polygon(struct draw *draw, const struct draw_point *points, int count,
                  const struct draw_look *look);
/* A head at `to`; its size follows the line's width. */
void draw_arrow(struct draw *draw, struct draw_point from, struct draw_point to, double line_mm);

/*
 * A mark painted on glassware: a shape in its colour, outlined in black, and its letter beside it.
 * The colours are light enough apart to differ in a grey copy; the word belongs beside the mark all
 * the same.  A shape or a colour that is not known is drawn broken: outlined with dashes.
 */
struct draw_mark {
  enum mark_colour colour;
  enum mark_shape shape;
  const char *letter, *from; /* letter: or NULL */
};

/* The shape in a square of the place's height at its left, the letter as high at its right. */
void draw_mark(struct draw *draw, const struct draw_mark *mark, struct draw_place place);
/* Width a mark of that height takes. */
double draw_mark_width_mm(struct draw *draw, const struct draw_mark *mark, double height_mm);

/* A vertical scale: ticks at their heights above its foot, each with its words at the left. */
struct draw_tick {
  double at_mm; /* on paper, above the foot */
  const char *text;
  bool strong;
};

struct draw_scale {
  double x_mm, foot_mm; /* of its line and lower end */
  double height_mm, size_pt;
  const struct draw_tick *ticks;
  int tick_count;
};

void draw_scale(struct draw *draw, const struct draw_scale *scale);

/* A square code with its quiet border, error correction M (a seventh of it may be unreadable). */
void draw_qr(struct draw *draw, const char *text, const char *from, struct draw_place place);

#endif
