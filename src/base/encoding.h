#ifndef BASE_ENCODING_H
#define BASE_ENCODING_H

#include "base/arena.h"

/*
 * Text of a stranger's file to UTF-8.  UTF-16 is known by its mark; what is not UTF-8 and says nothing
 * is taken for Windows-1252, which older programs write in Europe and America, and the caller says so to
 * the person.  Anything else is a fault, told with its line.
 */
enum encoding { ENCODING_UTF8, ENCODING_UTF16, ENCODING_WINDOWS_1252 };

enum encoding_fault {
  ENCODING_NO_FAULT,
  ENCODING_NO_ROOM, /* in the arena */
  ENCODING_HALF,    /* UTF-16: half a character */
  ENCODING_CUT,     /* UTF-16: the file ends inside a character */
  ENCODING_FALSE,   /* it begins with the mark of UTF-8 and is not */
  ENCODING_UNKNOWN  /* a byte that Windows-1252 does not have */
};

struct encoding_text {
  const char
      *text;   /* without a mark; points into `bytes` when they are UTF-8, else into the arena */
  size_t size; /* no NUL behind it is promised */
  char *own;   /* the same when it is the arena's, writable and with a NUL behind it; else NULL */
  enum encoding encoding;
};

/* On a fault *out is untouched and *line_out says where, 1-based. */
NODISCARD enum encoding_fault encoding_read(const void *bytes, size_t size, struct arena *arena,
                                            struct encoding_text *out, int *line_out);
const char *encoding_name(enum encoding encoding); /* "Windows-1252" */

#endif
