#ifndef SHEET_SHOWN_IMPL_H
#define SHEET_SHOWN_IMPL_H

#include "sheet/sheet_impl.h"

/* How a workbook shows a number: what its number format makes of it. */
enum shown_as {
  SHOWN_NUMBER,
  SHOWN_PERCENT,
  SHOWN_DATE,
  SHOWN_TIME,
  SHOWN_DATE_TIME,
  SHOWN_ELAPSED
};

struct shown {
  enum shown_as as;
  const char *before, *after; /* words of the format around the number, or NULL */
  int digits;                 /* zeros are put in front of a whole number up to so many */
  int thousands;              /* shown divided by 1000 so many times */
};

/* One of the formats every workbook has without saying so (ECMA-376-1 18.8.30). */
struct shown shown_builtin(int id);
/* From a format's code; words are kept in the arena.  Codes with conditions, fractions or words
 * between the digits show the plain number. */
struct shown shown_code(const char *code, struct arena *arena);

/* A number as `shown`: kind NUMBER, DATE or FAULT, with its text in the arena.  False when the
 * arena is full. */
bool shown_number(double value, const struct shown *shown, bool from_1904, struct arena *arena,
                  struct sheet_cell *cell);
/* A date or a time of day as ISO 8601 has them, "2026-11-25", "2026-11-25T21:30", "21:30:00".
 * False where it is none. */
bool shown_iso(const char *text, struct arena *arena, struct sheet_cell *cell);
/* Days since 1899-12-30 of a day of the Gregorian calendar. */
long shown_day(int year, int month, int day);

#endif
