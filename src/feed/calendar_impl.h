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

/* calendar_words.c: what an event says besides its times. */

/* Lines of a text that begin with "UID:", to find an event's place. */
struct calendar_places {
  int count;
  struct calendar_place {
    const char *uid; /* not terminated */
    size_t size;
    int line;
  } * list; /* by uid, then by line */
};
/* False when the arena has no room. */
bool calendar_find_places(const char *text, struct arena *arena, struct calendar_places *out);
int calendar_line(const struct calendar_places *places, const char *uid); /* 0: none */
/* The first attendee, else the organizer: the name said of it, else its address.  "": none. */
const char *calendar_who(icalcomponent *event, struct arena *arena);
const char *calendar_category(icalcomponent *event, struct arena *arena);

#endif
