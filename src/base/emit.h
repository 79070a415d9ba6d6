#ifndef BASE_EMIT_H
#define BASE_EMIT_H

#include "base/buf.h"

/*
 * JSON out, in the order it is written.
 *
 * The writer keeps commas and indentation; the caller keeps the shape, and a
 * shape that does not close is a bug (emit_end checks).  Doubles have 15 to 17
 * digits, as few as read back to the same bits; NaN and infinities become null,
 * because "unknown" has no digits.  Bytes that are not UTF-8 become U+FFFD.  A
 * key of NULL means an array element.
 *
 *     struct emit json;
 *     emit_begin(&json, &out);
 *     emit_object(&json, NULL);
 *     emit_number(&json, "drop_Pa", 12.5);
 *     emit_close(&json);
 *     emit_end(&json);
 */
struct emit {
  struct buf *out;
  int depth;
  char kind[32]; /* '{' or '[' per level */
  bool empty[32];
  bool one_line;
};

void emit_begin(struct emit *json, struct buf *out);
void emit_begin_line(struct emit *json, struct buf *out); /* all on one line */
void emit_end(struct emit *json);                         /* writes the last newline */

void emit_object(struct emit *json, const char *key);
void emit_array(struct emit *json, const char *key);
void emit_close(struct emit *json);

void emit_text(struct emit *json, const char *key, const char *text); /* NULL writes null */
void emit_texts(struct emit *json, const char *key, const char *const *list, int count);
void emit_number(struct emit *json, const char *key, double value);
void emit_number_if(struct emit *json, const char *key, bool known, double value); /* else null */
void emit_int(struct emit *json, const char *key, long long value);
void emit_bool(struct emit *json, const char *key, bool value);
void emit_null(struct emit *json, const char *key);

#endif
