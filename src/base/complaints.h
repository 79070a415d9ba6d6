#ifndef BASE_COMPLAINTS_H
#define BASE_COMPLAINTS_H

#include "base/arena.h"
#include "base/buf.h"

/* Where in a person's file a thing stands.  1-based, columns in characters; 0 means no place. */
struct place {
  const char *file; /* NULL: the file that complaints_print is told of */
  int line, column;
};

/*
 * Every fault of one reading, so that a person mends a file once and not
 * fifteen times.  Each says what is wrong and what would fix it.  At most
 * COMPLAINTS_MAX are kept; `dropped` counts the rest.  Memory comes from the
 * arena given to complaints_init and dies with it.
 */
enum { COMPLAINTS_MAX = 50 };

struct complaint {
  struct place place;
  int width; /* characters the caret line underlines; 0 means 1 */
  const char *text;
};

struct complaints {
  struct arena *arena;
  int count, dropped;
  struct complaint list[COMPLAINTS_MAX];
};

void complaints_init(struct complaints *complaints, struct arena *arena);
void complaints_add(struct complaints *complaints, struct place place, int width, const char *fmt,
                    ...) PRINTF_LIKE(4, 5);
void complaints_sort(struct complaints *complaints); /* by file, line, column; stable */

/* "file:line:column: text", then the source line and a caret when `source`, the
 * whole text of `file`, is given. */
void complaints_print(const struct complaints *complaints, const char *file, const char *source,
                      struct buf *out);

#endif
