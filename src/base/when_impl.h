#ifndef BASE_WHEN_IMPL_H
#define BASE_WHEN_IMPL_H

#include "base/when.h"

/* A day of the year on which the clocks change, and its local second, which may lie outside the day. */
struct when_turn {
  enum { WHEN_JULIAN, WHEN_YEAR_DAY, WHEN_MONTH_WEEK } kind;
  int day;         /* JULIAN: 1 to 365, never the 29th of February; YEAR_DAY: 0 to 365 */
  int month, week; /* MONTH_WEEK: week 5 is the last */
  int weekday;     /* 0: Sunday */
  int second_s;
};

struct when_zone {
  const char *name;
  int count; /* of changes: from at_s[i] on the offset is offset_s[i] */
  const int64_t *at_s;
  const int *offset_s;
  int before_s; /* the offset before all of them */
  /* What holds after the last change: nothing new, one offset, or two a year. */
  bool has_rule, has_two;
  int standard_s, other_s;
  struct when_turn to_other, to_standard;
};

/* ---- when.c ---- */
int64_t when_floor_div(int64_t a, int64_t b); /* b > 0 */
int64_t when_days(int64_t year, int month, int day);
int64_t when_year_of_days(int64_t days, int *month_out, int *day_out);
/* "2026-10-25T02:30", with seconds and their fraction if they stand there; what follows, or NULL. */
const char *when_read_civil(const char *at, struct when_civil *c);
/* "Z", "+01:00", "+0100", "+01"; what follows, or NULL. */
const char *when_read_offset(const char *at, int *offset_out_s);

/* ---- zone.c ---- */
int when_offset_s(const struct when_zone *zone, int64_t t_s);
/* The first moments that show this local time, in order: at most two. */
int when_moments(const struct when_zone *zone, int64_t local_s, int64_t found_s[2]);

#endif
