#ifndef TESTS_PUBLISHED_ROWS_H
#define TESTS_PUBLISHED_ROWS_H

#include <stdbool.h>

/*
 * The tables of published cases: CSV with a heading, read whole.
 *
 * networks.csv: id, suite, arguments, path, theirs, unit, tolerance kind,
 * tolerance, provenance, source, note.  `theirs` stands in the unit the source
 * prints; the unit "text" compares words instead of numbers.
 */
enum {
  ROW_ID,
  ROW_SUITE,
  ROW_ARGUMENTS,
  ROW_PATH,
  ROW_THEIRS,
  ROW_UNIT,
  ROW_TOLERANCE_KIND,
  ROW_TOLERANCE,
  ROW_PROVENANCE,
  ROW_SOURCE,
  ROW_NOTE,
  ROW_FIELDS
};

struct row {
  const char *field[ROW_FIELDS];
};

struct rows {
  int count;
  struct row *rows;
  char *text; /* what the fields point into */
};

/* Prints what is wrong and gives false when the file is missing or a line has not its 11 fields. */
bool rows_read(const char *path, struct rows *out);
void rows_free(struct rows *rows);

/* Theirs and the tolerance, in SI; false when the row is not a number with a known unit. */
bool row_theirs(const struct row *row, double *theirs_out_si, double *allowed_out_si);

#endif
