#ifndef TESTS_SUPPORT_PAST_DAY_H
#define TESTS_SUPPORT_PAST_DAY_H

#include "past/past.h"

/*
 * A constructed day in a record of its own: four hoods on one main that declares 3000 m3/h, short above
 * it, near its limit above 90 %.  Each draws 300 m3/h parked and 1100 m3/h at work:
 *   one at work     1100 + 3 x 300 = 2000 m3/h   67 %   ample
 *   two         2 x 1100 + 2 x 300 = 2800 m3/h   93 %   near limit
 *   three       3 x 1100 +     300 = 3600 m3/h  120 %   short
 * Times are minutes after midnight, UTC; a value says something for an hour.
 */
struct past_day {
  char folder[64], path[96];
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  struct past_place place;
  struct err err;
};

enum { PAST_DAY_MIN = 60000 };
#define PAST_DAY_T0_MS INT64_C(1792972800000) /* 2026-10-26T00:00:00Z, a Monday */

bool past_day_new(struct past_day *day); /* release in every case */
/* The same suite with another capacity, and the record bound to it; release what it gives. */
bool past_day_other(struct past_day *day, const char *capacity, struct facility **facility_out,
                    struct feeds **feeds_out);
void past_day_release(struct past_day *day);
int64_t past_day_ms(double minute);
struct past_span past_day_span(double from_min, double to_min);

/* One value that came at once. */
void past_day_say(struct past_day *day, const char *point, double minute, double si);
/* One that came later. */
void past_day_late(struct past_day *day, const char *point, double minute, double came_min,
                   double si);
void past_day_missing(struct past_day *day, const char *point, double minute);
void past_day_enter(struct past_day *day, enum record_kind kind, const char *about, double minute,
                    const char *text);

#endif
