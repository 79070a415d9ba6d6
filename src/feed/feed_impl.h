#ifndef FEED_FEED_IMPL_H
#define FEED_FEED_IMPL_H

#include "base/encoding.h"
#include "feed/feed.h"

/* A part of a text, not terminated: tables are read where they stand. */
struct feed_span {
  const char *at;
  size_t size;
};

/* ---- value.c ---- */
struct feed_span feed_trim(const char *text, size_t size); /* without blanks at its ends */
/* Is it one of the words, capitals or not? */
bool feed_is_word(struct feed_span span, const char *const *words, int count);
/* A finite number in front, and what follows it, trimmed.  No group separators: "1.234" with a
 * decimal comma is no number. */
bool feed_read_number(struct feed_span text, bool decimal_comma, double *value_out,
                      struct feed_span *rest_out);
/* feed_value without a terminated text; `unit_text` is trimmed, or NULL. */
void feed_value_span(const struct feeds_point *point, bool decimal_comma, struct feed_span text,
                     const char *unit_text, struct feed_observation *out);

/* ---- csv.c ---- */
enum { FEED_SCRATCH_BYTES = 1 << 16, FEED_SHOWN = 64 };

/* Rows of a text, one at a time; spans hold until the next row is read. */
struct feed_rows {
  const char *at, *end; /* what is still to be read */
  int line;             /* of `at` */
  char separator, line_break;
  const char *row, *row_end; /* the row read last */
  int row_line, cell_count;
  struct feed_span *cells; /* trimmed */
  const char *fault;       /* why its cells cannot be told, or NULL */
  char *scratch;           /* quoted cells */
  size_t scratch_used;
};

/* False when the arena has no room. */
bool feed_rows_init(struct feed_rows *rows, const char *text, size_t size, char separator,
                    struct arena *arena);
/* False at the end.  Line breaks inside quotes belong to a cell only where the caller says so: one
 * quote too many in a row must not swallow the rest of the table. */
bool feed_rows_next(struct feed_rows *rows, bool breaks_in_quotes);
/* A row read before, without moving on. */
void feed_rows_again(struct feed_rows *rows, const char *row, int line);
bool feed_row_is_blank(const struct feed_rows *rows);
int feed_cell_column(const struct feed_rows *rows, int cell); /* in characters, from 1 */
/* Short and on one line, for a message. */
const char *feed_shown(struct feed_span text, char room[FEED_SHOWN]);
/* The file as UTF-8, or false after a complaint. */
bool feed_decode(const struct facility_text *text, struct arena *arena,
                 struct complaints *complaints, struct encoding_text *out);

/* ---- fold.c ---- */
struct feed_held {
  const char *row;
  int line;
  int64_t first_ms, second_ms; /* the two moments it may be of */
  bool surely_first;           /* the second had not come when the table did */
  int64_t t_ms;                /* once settled */
};
struct feed_fold {
  struct feed_held *list;
  int count, room;
  bool has_before;
  int64_t before_ms; /* of the last row that was certain */
};

bool feed_fold_hold(struct feed_fold *fold, const struct feed_held *row, struct arena *arena);
/* Sets t_ms of all held rows, or says that their order does not tell.  after_ms: of the certain row
 * behind them, or NULL. */
bool feed_fold_settle(struct feed_fold *fold, const int64_t *after_ms);

/* ---- header.c ---- */
/* Where the columns are that a mapping names. */
struct feed_header {
  int column_count, time, date, point, value, unit, status; /* -1: not there */
  int read_count;
  struct feed_read {
    int column, point;
    bool told; /* its first unreadable cell has been complained about */
  } * reads;   /* WIDE: each point of the source, in the order of columns */
};
/* Reads up to and with the header, or false after complaints. */
bool feed_header_find(const struct feed_table_job *job, struct feed_rows *rows, struct arena *arena,
                      struct complaints *complaints, struct feed_header *out,
                      struct feed_table_report *report);
/* "m3/h" of "A3 flow [m3/h]" or "(m3/h)"; empty for none. */
struct feed_span feed_header_unit(struct feed_span name);

#endif
