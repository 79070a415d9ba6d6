#ifndef FEED_FEED_IMPL_H
#define FEED_FEED_IMPL_H

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

#endif
