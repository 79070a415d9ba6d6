#ifndef SHEET_SHEET_IMPL_H
#define SHEET_SHEET_IMPL_H

#include "sheet/sheet.h"

/* One reading: what every part of it hands on. */
struct reading {
  const char *file;
  struct arena *arena;     /* what is returned */
  struct arena scratch;    /* what is needed while reading */
  struct complaints *list; /* of the caller */
  int cells;               /* in all tables so far, against SHEET_MOST_CELLS */
  struct sheet_book book;  /* filled on the way */
  const char *remarks[8];  /* a table of fixed sentences and a few with names in them */
};

/* Complaints on the whole file, or a line of it (line 0: none).  Always false. */
bool sheet_refuse(struct reading *r, int line, int column, const char *fmt, ...) PRINTF_LIKE(4, 5);
void sheet_remark(struct reading *r, const char *fmt, ...) PRINTF_LIKE(2, 3);
/* A sheet's name on one line, as no spreadsheet program lets one write it otherwise; NULL when memory
 * ends. */
const char *sheet_name(struct arena *arena, const char *written);
/* As sheet_place, for a table that is not there yet. */
void sheet_place_in(const char *table, int row, int column, char *out, size_t room);

/*
 * Cells in any order, each once, until the table is whole.  Memory of its own, so that a refused
 * file leaves nothing in the caller's arena but text.
 */
struct grid_cell {
  int row, column;
  struct sheet_cell cell;
};
struct grid_merge {
  int row, column, row_end, column_end; /* the ends inclusive */
};
struct grid {
  struct grid_cell *cells;
  int count, room;
  struct grid_merge *merges;
  int merge_count, merge_room;
  int rows, columns; /* used: one past the last that holds something */
  bool row_hidden[SHEET_MOST_ROWS], column_hidden[SHEET_MOST_COLUMNS];
};

struct grid *grid_new(void);
void grid_free(struct grid *grid);
/* False after a complaint: too many rows, columns or cells. */
bool grid_add(struct grid *grid, struct reading *r, const char *table, int row, int column,
              struct sheet_cell cell);
/* A block of cells shown as one.  False after a complaint. */
bool grid_merge(struct grid *grid, struct reading *r, const char *table, struct grid_merge block);
/* Again what row `from` holds, in the row after it, `times` times (OpenDocument).  `first` is the
 * row's first cell in `cells`. */
bool grid_repeat(struct grid *grid, struct reading *r, const char *table, int first, int times);
/* A note for a cell, whether there is such a cell or not; it must outlive the table. */
bool grid_note(struct grid *grid, struct reading *r, const char *table, int row, int column,
               const char *note);
/* False after a complaint.  `table` gets its counts and cells; its name is there already. */
bool grid_finish(struct grid *grid, struct reading *r, struct sheet_table *table);

extern const struct sheet_cell sheet_empty_cell;

/* Text of any encoding to UTF-8 in the arena, NUL-terminated; NULL after a complaint. */
char *sheet_decode(struct reading *r, const unsigned char *bytes, size_t size, size_t *used);

/* False after a complaint. */
bool sheet_read_csv(struct reading *r, const unsigned char *bytes, size_t size);

struct pack;
/* Workbooks, from their parts.  False after a complaint. */
bool sheet_read_zip(struct reading *r, const unsigned char *bytes, size_t size);
bool sheet_read_pack(struct reading *r, struct pack *pack);
bool xlsx_read(struct reading *r, struct pack *pack);
bool ods_read(struct reading *r, struct pack *pack);

/* Begins and ends what sheet_read hands on; the book, or NULL. */
void sheet_reading_init(struct reading *r, const char *file, struct arena *arena,
                        struct complaints *complaints);
struct sheet_book *sheet_reading_end(struct reading *r, bool good);

/* The bytes are none of what is read: complains and says what they are. */
void sheet_refuse_kind(struct reading *r, const unsigned char *bytes, size_t size);
/* Known by its first bytes to be no text at all. */
bool sheet_is_no_text(const unsigned char *bytes, size_t size);

#endif
