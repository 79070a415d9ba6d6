#ifndef BASE_QUERY_H
#define BASE_QUERY_H

#include "base/err.h"

#include <stddef.h>

/*
 * The part of a URL after the question mark, as ordered pairs.  Decoding is
 * strict: a bad percent sign, a control character or text that is not UTF-8 is
 * refused, because what stands here ends up in an answer.
 */
enum { QUERY_MAX_BYTES = 8192, QUERY_MAX_PAIRS = 200 };

struct query_pair {
  const char *key, *value; /* into `text`; value "" when there is no "=" */
};

struct query {
  int count;
  struct query_pair pairs[QUERY_MAX_PAIRS];
  char text[QUERY_MAX_BYTES + 1];
};

/* On failure `out` holds no pairs and err->col says which byte, 1-based. */
NODISCARD enum err_code query_parse(const char *bytes, size_t size, struct query *out,
                                    struct err *err);

/* The value of the first pair with this key; NULL when there is none. */
const char *query_find(const struct query *query, const char *key);
int query_count(const struct query *query, const char *key);

#endif
