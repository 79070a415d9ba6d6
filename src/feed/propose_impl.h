#ifndef FEED_PROPOSE_IMPL_H
#define FEED_PROPOSE_IMPL_H

#include "feed/feed_impl.h"

/* What was found in a table that nobody has described. */
enum { GUESS_WORDS = 6, GUESS_PATTERNS = 6, GUESS_ROWS = 2000 };

struct guess_column {
  struct feed_span name;
  int filled, numbers;    /* cells */
  double lowest, highest; /* of the numbers, read with the mark that fits */
  int word_count;         /* different ones that are no numbers; GUESS_WORDS + 1: more */
  struct feed_span words[GUESS_WORDS];
};

/* How numbers look: sure is "1,5"; "1,500" may be either. */
struct guess_marks {
  int sure_comma, sure_point, any_comma, any_point;
  struct feed_span odd; /* one that may be either */
};

struct guess {
  const char *file;
  const char *encoding;
  char separator, other_separator; /* '\0': none other fits as well */
  long rows;
  int column_count, header_line;
  struct guess_column *columns;
  int time, date; /* columns, or -1 */
  int pattern_count;
  char patterns[GUESS_PATTERNS][40]; /* those that every time fits */
  bool all_have_offset;
  struct guess_marks marks;
  double every_s; /* the commonest step, or 0 */
};

/* ---- propose.c ---- */
bool guess_is_numbers(const struct guess_column *column);

/* ---- propose_time.c ---- */
/* Which columns hold the time, and in which patterns: fills time, date, patterns, every_s. */
void guess_time(struct guess *g, struct feed_rows first, struct arena *arena);

/* ---- propose_print.c ---- */
void guess_print(const struct guess *g, const struct facility *facility, struct buf *out);

#endif
