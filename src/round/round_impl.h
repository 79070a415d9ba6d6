#ifndef ROUND_ROUND_IMPL_H
#define ROUND_ROUND_IMPL_H

#include "round/round.h"

/* What one entry says: its detail. */
struct round_answer {
  const char *item;
  enum round_said said;
  const char *expires; /* NULL: not said */
};
struct round_answers {
  int count;
  struct round_answer list[FACILITY_ROUND_ITEMS_MOST];
  const char *words; /* NULL: none */
  bool has_seen;
  struct glass_told seen;
};
bool round_read(const char *detail, struct arena *arena, struct round_answers *out);
void round_write(const struct round_answers *answers, struct buf *out);
bool round_is_date(const char *text); /* "2027-03-01", a day of the calendar */

bool round_is_for(const struct facility_round_item *item, int station);
/* The day of a moment, as a date is written. */
void round_day(const struct when_zone *zone, int64_t t_ms, char out[16]);

#endif
