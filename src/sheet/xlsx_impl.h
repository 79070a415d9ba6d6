#ifndef SHEET_XLSX_IMPL_H
#define SHEET_XLSX_IMPL_H

#include "sheet/shown_impl.h"
#include "sheet/xml_impl.h"

/* How cells of one style look, as far as it changes what they say. */
struct xlsx_style {
  struct shown shown;
  bool struck;
};

struct xlsx_text {
  const char *text;
  bool struck, part_struck;
  bool as_cell; /* what remains is struck where the cell is */
};

struct xlsx_relation {
  const char *id, *kind, *target; /* kind: the last word of its type */
};
struct xlsx_relations {
  struct xlsx_relation *list;
  int count;
};

/* A workbook on its way in. */
struct xlsx {
  struct reading *r;
  struct pack *pack;
  struct xlsx_relations relations; /* of the workbook part */
  struct xlsx_style *styles;
  int style_count;
  struct xlsx_text *strings;
  int string_count;
  bool from_1904;
  bool computed_later;  /* the workbook asks to be computed when it is opened */
  bool formulas_stored; /* and has formulas with results nevertheless */
};

/* All: false after a complaint. */
bool xlsx_relations(struct xlsx *book, const char *part, struct xlsx_relations *out);
bool xlsx_read_styles(struct xlsx *book, const char *part);
bool xlsx_read_strings(struct xlsx *book, const char *part);
bool xlsx_read_cells(struct xlsx *book, const char *part, const char *name, struct grid *grid);
bool xlsx_read_notes(struct xlsx *book, const char *part, bool threaded, const char *name,
                     struct grid *grid);

/* "B7" or "$B$7"; false where it is none that a sheet can have. */
bool xlsx_reference(const char **at, int *row, int *column);
/* Takes what "_x000D_" means in its place (ECMA-376-1 22.9.2.19), and makes line breaks one sort. */
void xlsx_unescape(char *text);
/*
 * A text made of runs, each with its own look.  What is struck through is void to a reader: where
 * something else remains, it is left out.
 */
struct xlsx_runs {
  struct buf all, kept;
  bool run_struck, struck;
  bool run_looks, kept_as_cell; /* a run without a look of its own looks as its cell does */
};
void xlsx_runs_init(struct xlsx_runs *runs);
void xlsx_runs_release(struct xlsx_runs *runs);
void xlsx_runs_clear(struct xlsx_runs *runs);
bool xlsx_runs_remain(const struct xlsx_runs *runs); /* something is not struck */
void xlsx_runs_next(struct xlsx_runs *runs);         /* another run begins */
void xlsx_runs_strike(struct xlsx_runs *runs, const char **attributes); /* this run is struck */
void xlsx_runs_add(struct xlsx_runs *runs, const char *bytes, int count);
struct buf *xlsx_runs_text(struct xlsx_runs *runs);

/* A buffer's text in the arena, unescaped; NULL after a complaint (too long, or no room). */
const char *xlsx_keep(struct xlsx *book, struct buf *text, const char *where);

#endif
