#ifndef BASE_SPELLING_H
#define BASE_SPELLING_H

#include "base/buf.h"

#include <stddef.h>

/*
 * How far apart two words are as people mistype them, for "did you mean ...?":
 * letters to change, add, drop or swap with their neighbour, capital or not
 * (Damerau's distance, each place mended once).  Above `most`, or where a word is
 * longer than SPELLING_LONGEST, most + 1.
 */
enum { SPELLING_LONGEST = 48 };

int spelling_distance(const char *a, size_t a_length, const char *b, int most);

/* The one sentence for a field that is none of the '|' list: no field "smel" here; did you mean "smell"?
 * There are: incident, smell. */
void spelling_refuse(struct buf *out, const char *key, const char *known);

#endif
