#include "feed/calendar_impl.h"

#include "base/utf8.h"

#include <string.h>

/* What of a calendar would take for ever, or take everything, is found before it is begun. */
enum {
  MOST_NESTED = 8,        /* components inside one another */
  MOST_OBSERVANCES = 200, /* of a zone */
  DAY_S = 86400
};

/* ---- before the library sees it ---- */

static bool starts_line(const char *at, const char *word)
{
  for (; *word; word++, at++)
    if ((*at | 0x20) != (*word | 0x20))
      return false;
  return true;
}

const char *calendar_begin(const char *bytes)
{
  if (strncmp(bytes, "\xef\xbb\xbf", 3) == 0)
    bytes += 3;
  while (*bytes == '\r' || *bytes == '\n')
    bytes++;
  return bytes;
}

/* The library follows nesting by recursion, and takes any text for a calendar. */
const char *calendar_shape(const struct facility_text *text, int *line_out)
{
  const char *bytes = text->bytes;
  int depth = 0, line = 0;

  *line_out = 0;
  if (text->size > FEED_CALENDAR_MOST_BYTES)
    return "a calendar of more than 4 MiB is not read";
  if (strlen(bytes) != text->size || utf8_fault(bytes))
    return "it is not text in UTF-8";
  bytes = calendar_begin(bytes);
  if (!starts_line(bytes, "BEGIN:VCALENDAR"))
    return "no calendar: it does not begin with BEGIN:VCALENDAR (RFC 5545)";
  for (const char *at = bytes; at; at = strchr(at, '\n')) {
    at += *at == '\n';
    *line_out = ++line;
    if (starts_line(at, "BEGIN:") && ++depth > MOST_NESTED)
      return "components are nested deeper than any calendar needs";
    if (starts_line(at, "END:"))
      depth--;
    if (!*at)
      break;
  }
  return depth == 0 ? NULL : "it ends in the middle: an END is missing";
}

/* ---- how long a rule takes to count out ---- */

static int listed(const short *list, int most)
{
  int count = 0;

  while (count < most && list[count] != ICAL_RECURRENCE_ARRAY_MAX)
    count++;
  return count;
}

static double at_least_one(int count)
{
  return count > 1 ? count : 1;
}

/* An upper bound of the occurrences from `start_s` on; HUGE for what recurs within a day. */
double calendar_steps(const struct icalrecurrencetype *rule, time_t start_s, time_t to_s)
{
  static const double huge = 1e30;
  double span_s = to_s > start_s ? (double)(to_s - start_s) : 0;
  int interval = rule->interval > 1 ? rule->interval : 1;
  bool days = listed(rule->by_day, ICAL_BY_DAY_SIZE) > 0 ||
              listed(rule->by_month_day, ICAL_BY_MONTHDAY_SIZE) > 0 ||
              listed(rule->by_year_day, ICAL_BY_YEARDAY_SIZE) > 0 ||
              listed(rule->by_week_no, ICAL_BY_WEEKNO_SIZE) > 0;
  bool months = listed(rule->by_month, ICAL_BY_MONTH_SIZE) > 0;
  double in_a_day = at_least_one(listed(rule->by_hour, ICAL_BY_HOUR_SIZE)) *
                    at_least_one(listed(rule->by_minute, ICAL_BY_MINUTE_SIZE)) *
                    at_least_one(listed(rule->by_second, ICAL_BY_SECOND_SIZE));
  double each_s, of_each;

  switch ((int)rule->freq) {
  case ICAL_YEARLY_RECURRENCE:
    each_s = 365.0 * DAY_S;
    of_each = days ? 366 : months ? 12 : 1;
    break;
  case ICAL_MONTHLY_RECURRENCE:
    each_s = 28.0 * DAY_S;
    of_each = days ? 31 : 1;
    break;
  case ICAL_WEEKLY_RECURRENCE:
    each_s = 7.0 * DAY_S;
    of_each = days ? 7 : 1;
    break;
  case ICAL_DAILY_RECURRENCE:
    each_s = DAY_S;
    of_each = 1;
    break;
  default:
    return huge;
  }
  /* A day that never comes (30 February) is looked for until the library's last year, 2582; a month alone
   * comes within two years, unless most days are passed over. */
  if (months && !days && interval <= 28)
    span_s += 2 * 365.0 * DAY_S;
  else if (days || months)
    span_s += 600 * 365.0 * DAY_S / (each_s > DAY_S ? 12 : 1);
  return (span_s / each_s / interval + 2) * of_each * in_a_day;
}

/* ---- zones of the calendar itself ---- */

static bool observance_fits(icalcomponent *observance)
{
  for (icalproperty *p = icalcomponent_get_first_property(observance, ICAL_ANY_PROPERTY); p;
       p = icalcomponent_get_next_property(observance, ICAL_ANY_PROPERTY)) {
    struct icalrecurrencetype rule;

    if (icalproperty_isa(p) != ICAL_RRULE_PROPERTY)
      continue;
    rule = icalproperty_get_rrule(p);
    if (rule.freq != ICAL_YEARLY_RECURRENCE || listed(rule.by_hour, ICAL_BY_HOUR_SIZE) +
                                                       listed(rule.by_minute, ICAL_BY_MINUTE_SIZE) +
                                                       listed(rule.by_second, ICAL_BY_SECOND_SIZE) >
                                                   0)
      return false;
  }
  return true;
}

bool calendar_zone_fits(icalcomponent *zone)
{
  int count = 0;

  for (icalcomponent *c = icalcomponent_get_first_component(zone, ICAL_ANY_COMPONENT); c;
       c = icalcomponent_get_next_component(zone, ICAL_ANY_COMPONENT))
    if (++count > MOST_OBSERVANCES || !observance_fits(c))
      return false;
  return true;
}
