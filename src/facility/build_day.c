#include "facility/reader_impl.h"

#include <stdlib.h>

static double si(const struct record *day, enum schema_key_id key)
{
  return day ? record_si(day, key) : build_fallback_si(key);
}

static int count(const struct record *day, enum schema_key_id key)
{
  return day ? record_value(day, key)->number
             : (int)strtol(schema_key_at((int)key)->fallback, NULL, 10);
}

void build_day(struct build *b, const struct record *day)
{
  const char *bookings = day ? record_value(day, KEY_day_bookings)->text : NULL;

  b->facility->day = (struct facility_day){
      .bookings = build_text(b, bookings),
      .comes_ratio = si(day, KEY_day_comes),
      .up_ratio = si(day, KEY_day_up),
      .together_ratio = si(day, KEY_day_together),
      .late_s = si(day, KEY_day_late),
      .late_spread_s = si(day, KEY_day_late_spread),
      .over_s = si(day, KEY_day_over),
      .over_spread_s = si(day, KEY_day_over_spread),
      .back_s = si(day, KEY_day_back),
      .from_s = si(day, KEY_day_from),
      .to_s = si(day, KEY_day_to),
      .within_s = si(day, KEY_day_within),
      .clean_down_s = si(day, KEY_day_clean_down),
      .around_s = si(day, KEY_day_around),
      .least_use_s = si(day, KEY_day_least_use),
      .source = build_text(b, day ? record_value(day, KEY_day_source)->text
                                  : schema_key_at(KEY_day_source)->fallback),
  };
  b->facility->day.cases_least = count(day, KEY_day_cases);
  b->facility->day.group_count = count(day, KEY_day_group);
}
