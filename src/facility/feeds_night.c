#include "facility/feeds_impl.h"

#include <string.h>

/* What a night is, and when nobody is reminded. */

enum { HOUR_MIN = 60, USUAL_FROM_MIN = 19 * HOUR_MIN, USUAL_TO_MIN = 7 * HOUR_MIN };

static int minute_or(struct feeds_build *b, const struct record *r, enum schema_key_id key,
                     int usual_min)
{
  const struct value *value = r ? record_given(r, key) : NULL;
  int minute = value ? reader_minute_of(value->text) : usual_min;

  if (minute < 0)
    reader_complain(b->reader, r->who, value->tree->place, value->tree->width,
                    "'%.20s' is no time of day; write it as 19:00", value->text);
  return minute;
}

static double given_or_usual_s(const struct record *r, enum schema_key_id key)
{
  return r ? record_si(r, key) : build_fallback_si(key);
}

void feeds_build_night(struct feeds_build *b, const struct record *r)
{
  b->feeds->night =
      (struct feeds_night){.from_min = minute_or(b, r, KEY_feeds_night_from, USUAL_FROM_MIN),
                           .to_min = minute_or(b, r, KEY_feeds_night_to, USUAL_TO_MIN),
                           .bridge_s = given_or_usual_s(r, KEY_feeds_night_bridge),
                           .counts_s = given_or_usual_s(r, KEY_feeds_night_counts)};
}

void feeds_build_reminders(struct feeds_build *b, const struct record *r)
{
  b->feeds->reminders = (struct feeds_reminders){
      .after_s = given_or_usual_s(r, KEY_feeds_reminders_after),
      .apart_s = given_or_usual_s(r, KEY_feeds_reminders_apart),
      .again_s = given_or_usual_s(r, KEY_feeds_reminders_again),
      .quiet_from_min = minute_or(b, r, KEY_feeds_reminders_quiet_from, USUAL_FROM_MIN),
      .quiet_to_min = minute_or(b, r, KEY_feeds_reminders_quiet_to, USUAL_TO_MIN)};
}
