#ifndef UNITS_UNITS_IMPL_H
#define UNITS_UNITS_IMPL_H

#include "units/units.h"

enum { UNITS_TEXT_SIZE = 40 }; /* the longest unit text with room to spare */

/*
 * The one form in which unit texts are compared (units.def says what it is).
 * False when the text is longer than any unit.
 */
bool units_normalise(const char *begin, const char *end, char out[UNITS_TEXT_SIZE]);

/* By normalised text, through the other spellings; NULL when there is none.
 * UNITS_NOTHING as the wanted dimension finds the first of any. */
const struct units_unit *units_find(const char *text, enum units_dimension want);

double units_to_si(const struct units_unit *unit, double value);
double units_from_si(const struct units_unit *unit, double si);

/* Explains why begin..end is no unit of the wanted dimension: what it is, what is
 * allowed, and what was perhaps meant.  Returns ERR_INPUT; sets no column. */
enum err_code units_refuse(const char *begin, const char *end, enum units_dimension want,
                           struct err *err);

/* At most `size` bytes of the text in quotes, whole characters, nothing unprintable. */
void units_quote(const char *begin, const char *end, size_t size, struct buf *out);

/* Like units_list, but no more than fits into a message. */
void units_list_some(enum units_dimension dimension, struct buf *out);

#endif
