#ifndef SHEET_SHEET_H
#define SHEET_SHEET_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/complaints.h"

#include <stdbool.h>
#include <stddef.h>

/*
 * Bytes of a spreadsheet to tables of cells, and back.  XLSX, ODS and CSV; what the bytes are is
 * seen from the bytes, never from the file's name.
 *
 * The reader hands over what a person saw in the sheet and interprets nothing: which row holds the
 * titles, what "12,5" means, and which table is the list of stations is for the caller to say.
 * It either reads the whole file or refuses it with complaints that name the place and what would
 * help; nothing is half read.  Reading touches no file, clock or locale; nothing is kept between calls.
 *
 *     struct sheet_book *book = sheet_read("list.xlsx", bytes, size, &arena, &complaints);
 *
 *     if (!book)
 *       return ERR_INPUT;                              // complaints say why
 *     for (int t = 0; t < book->table_count; t++)
 *       for (int row = 0; row < book->tables[t].row_count; row++) {
 *         const struct sheet_cell *cell = sheet_at(&book->tables[t], row, 0);
 *
 *         if (cell->kind == SHEET_FAULT)
 *           sheet_complain(&complaints, book, t, row, 0, "%s: the formula here has failed; type "
 *                          "the value", cell->text);
 *       }
 *
 * Everything returned lives in the arena given and dies with it.  `file` must live as long.
 */

/* What a stranger's file may cost us.  Above these it is refused, in bounded time and memory. */
enum {
  SHEET_MOST_BYTES = 32 << 20,    /* of the file */
  SHEET_MOST_UNPACKED = 96 << 20, /* of all parts of a workbook that are read */
  SHEET_MOST_PARTS = 2000,        /* files inside a workbook */
  SHEET_MOST_TABLES = 64,
  SHEET_MOST_ROWS = 20000, /* of one table: its last row that holds something */
  SHEET_MOST_COLUMNS = 400,
  SHEET_MOST_CELLS = 400000,  /* rows times columns, all tables together */
  SHEET_MOST_NOTES = 5000,    /* of one table */
  SHEET_MOST_TEXT = 32767 * 4 /* bytes of one cell: what spreadsheet programs hold */
};

enum sheet_format { SHEET_CSV, SHEET_XLSX, SHEET_ODS };

enum sheet_kind { SHEET_EMPTY, SHEET_TEXT, SHEET_NUMBER, SHEET_DATE, SHEET_YES_NO, SHEET_FAULT };

/*
 * One cell.  `text` is UTF-8 as a person reads it, and never NULL:
 *   EMPTY   ""
 *   TEXT    as it stands; blanks at its ends are kept.  Every filled cell of a CSV is TEXT.
 *   NUMBER  15 digits, with a point ("0.45"), not rounded as the sheet may show it.  What its
 *           number format puts beside it is kept: "12 %" reads "12%" with number 0.12, and
 *           620 shown as "620 m3/h" reads "620 m3/h" with number 620.
 *   DATE    ISO 8601: "2026-11-25", "2026-11-25T21:30:00", or "21:30:00" for a time of day
 *   YES_NO  "TRUE" or "FALSE"
 *   FAULT   the error a formula left ("#REF!", "#N/A", "formula without a stored result"), or a
 *           day that never was ("1900-02-29")
 */
struct sheet_cell {
  enum sheet_kind kind;
  const char *text;
  double number;    /* NUMBER; YES_NO: 1 or 0; DATE: days since 1899-12-30; else NaN */
  const char *note; /* comment attached to the cell, or NULL */
  int line, column; /* CSV: where the cell begins in the file, 1-based, in characters; else 0 */
  bool formula;     /* the value is a formula's stored result */
  bool covered;     /* inside a merged block, not its first cell: it reads as the first cell */
  bool struck;      /* struck through, all of it: void to a reader */
  bool part_struck; /* a part was struck through; `text` is the rest of it */
};

/* Rows and columns end with the last that hold something.  cells[row * column_count + column]. */
struct sheet_table {
  const char *name; /* "" for a CSV */
  bool hidden;
  int row_count, column_count;
  const struct sheet_cell *cells;
  const bool *row_hidden, *column_hidden; /* row_count, column_count */
};

struct sheet_book {
  const char *file;
  enum sheet_format format;
  int table_count; /* at least 1; a table may be empty */
  const struct sheet_table *tables;
  /* CSV: the encoding in words, and the separator found; else NULL and '\0'. */
  const char *encoding;
  char separator;
  /* What a person should know of how the file was read, each a sentence. */
  int remark_count;
  const char *const *remarks;
};

/* NULL after at least one complaint. */
NODISCARD struct sheet_book *sheet_read(const char *file, const void *bytes, size_t size,
                                        struct arena *arena, struct complaints *complaints);

/* 0-based.  An empty cell outside the table; never NULL. */
const struct sheet_cell *sheet_at(const struct sheet_table *table, int row, int column);

/* As spreadsheet programs write it: "Stations!B7", "'Wet bay'!B7", and "B7" for a CSV, whose rows
 * are counted as such a program would show them (a quoted line break starts no row).
 * Cut to `room` bytes at a character. */
void sheet_place(const struct sheet_table *table, int row, int column, char *out, size_t room);

/* A fault of one cell: "list.xlsx: Stations!B7: ..." for a workbook, and "list.csv:7:4: B7: ..."
 * with a line for the caret for a CSV. */
void sheet_complain(struct complaints *complaints, const struct sheet_book *book, int table,
                    int row, int column, const char *fmt, ...) PRINTF_LIKE(6, 7);

/*
 * A table as CSV: RFC 4180 (commas, CRLF, quotes where needed), UTF-8; with a byte order mark where
 * there is anything but ASCII, because spreadsheet programs take a file without one for the
 * machine's own encoding.  A text that such a program would run as a formula (it begins with
 * = + - @ tab or return, and is no number) gets an apostrophe in front, which sheet_read takes off
 * again: what is written reads back equal, covered cells aside, which are written empty.
 */
void sheet_write_csv(const struct sheet_table *table, struct buf *out);

/*
 * All tables as a workbook for people: columns as wide as their text, the first `header_rows` rows
 * of each table bold and kept in sight, notes as comments, hidden rows, columns and tables hidden,
 * numbers in the format that shows their text ("620 m3/h" stays a number).  No formula is ever
 * written: a text that begins with = is a text.  Faults are written as their text, and merged blocks
 * as their first cell.  The same book gives the same bytes.
 *
 *     code = sheet_write_xlsx(&book, 1, temporary_path, &err);    // then rename it into its place
 *
 * The one function here that touches a file, because the library behind it writes nowhere else: for
 * src/cli only.  On failure what stands at `path` is of no use: ERR_INPUT for a table's name or no
 * table to be seen, ERR_LIMIT for what a workbook cannot hold, ERR_IO.
 */
NODISCARD enum err_code sheet_write_xlsx(const struct sheet_book *book, int header_rows,
                                         const char *path, struct err *err);

#endif
