#ifndef BASE_JSON_H
#define BASE_JSON_H

#include "base/buf.h"

/*
 * JSON out, in the order it is written.
 *
 * The writer keeps commas and indentation; the caller keeps the shape, and a
 * shape that does not close is a bug (json_end checks).  Doubles have 15 to 17
 * digits, as few as read back to the same bits; NaN and infinities become null,
 * because "unknown" has no digits.  Bytes that are not UTF-8 become U+FFFD.  A
 * key of NULL means an array element.
 *
 *     struct json json;
 *     json_begin(&json, &out);
 *     json_object(&json, NULL);
 *     json_number(&json, "drop_Pa", 12.5);
 *     json_close(&json);
 *     json_end(&json);
 */
struct json {
  struct buf *out;
  int depth;
  char kind[32]; /* '{' or '[' per level */
  bool empty[32];
};

void json_begin(struct json *json, struct buf *out);
void json_end(struct json *json); /* writes the last newline */

void json_object(struct json *json, const char *key);
void json_array(struct json *json, const char *key);
void json_close(struct json *json);

void json_text(struct json *json, const char *key, const char *text); /* NULL writes null */
void json_number(struct json *json, const char *key, double value);
void json_number_if(struct json *json, const char *key, bool known, double value); /* else null */
void json_int(struct json *json, const char *key, long long value);
void json_bool(struct json *json, const char *key, bool value);
void json_null(struct json *json, const char *key);

#endif
