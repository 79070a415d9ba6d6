#ifndef FEED_CALENDAR_IMPL_H
#define FEED_CALENDAR_IMPL_H

#include "feed/feed.h"

#include <libical/ical.h>

/* calendar_limits.c, for calendar.c: bounds on what a stranger's calendar may cost. */

/* Past a byte order mark and empty lines. */
const char *calendar_begin(const char *bytes);
/* NULL, or why the text is no calendar, at which line (0: all of it). */
const char *calendar_shape(const struct facility_text *text, int *line_out);
/* An upper bound of the occurrences of a rule from `start_s` to `to_s`; huge for what recurs within a
 * day. */
double calendar_steps(const struct icalrecurrencetype *rule, time_t start_s, time_t to_s);
/* Are the rules of a VTIMEZONE those of a zone: yearly, and few? */
bool calendar_zone_fits(icalcomponent *zone);

#endif
