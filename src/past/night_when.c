/* Which night, and from when to when: local time, so that one has 11 or 13 hours where clocks change. */
#include "past/night_impl.h"

#include <string.h>

enum { MINUTE_MS = 60000, HOUR_MS = 60 * MINUTE_MS, DAY_MS = 24 * HOUR_MS };

/* The same day's midnight and so many minutes, as the clock on the wall shows them.  Of a time that comes
 * twice the one that makes the night longer; one that is left out is the moment it would have come. */
static int64_t moment_of(const struct past_place *place, struct when_civil day, int minute,
                         bool later)
{
  int64_t first_ms = 0, second_ms = 0;

  day.hour = minute / 60;
  day.minute = minute % 60;
  day.second = day.millisecond = 0;
  switch (when_of(place->zone, &day, &first_ms, &second_ms)) {
  case WHEN_TWICE:
    return later ? second_ms : first_ms;
  case WHEN_ONCE:
    return first_ms;
  case WHEN_NEVER:
    break;
  }
  return minute >= 60 ? moment_of(place, day, minute - 60, later) + HOUR_MS
                      : moment_of(place, day, minute + 60, later) - HOUR_MS;
}

struct when_civil night_before(const struct past_place *place, const struct when_civil *evening,
                               int days)
{
  /* noon is an hour off at most */
  int64_t noon_ms = moment_of(place, *evening, 12 * 60, false) - (int64_t)days * DAY_MS;
  struct when_civil day = when_civil(place->zone, noon_ms, NULL);

  return (struct when_civil){.year = day.year, .month = day.month, .day = day.day};
}

struct past_span night_span(const struct past_place *place, const struct when_civil *evening)
{
  const struct feeds_night *n = &place->feeds->night;
  bool next_day = n->to_min <= n->from_min;
  struct when_civil last = next_day ? night_before(place, evening, -1) : *evening;

  return (struct past_span){moment_of(place, *evening, n->from_min, false),
                            moment_of(place, last, n->to_min, true), INT64_MAX};
}

/* ---- which one ---- */

static bool read_date(const char *text, struct when_civil *out)
{
  static const char form[] = "dddd-dd-dd";
  int n[3] = {0}, at = 0;

  if (strlen(text) != sizeof form - 1)
    return false;
  for (size_t i = 0; form[i]; i++) {
    if (form[i] == '-' ? text[i] != '-' : text[i] < '0' || text[i] > '9')
      return false;
    if (form[i] == '-')
      at++;
    else
      n[at] = 10 * n[at] + (text[i] - '0');
  }
  *out = (struct when_civil){.year = n[0], .month = n[1], .day = n[2]};
  return true;
}

static enum err_code read_night(const char *text, struct when_civil *out, struct err *err)
{
  if (!read_date(text, out))
    return err_set(err, ERR_INPUT, "'%.40s' is no day; write the day of its evening as 2026-10-26",
                   text);
  if (!when_is_date(out))
    return err_set(err, ERR_INPUT, "there is no day %s", text);
  return ERR_OK;
}

static void put_date(const struct when_civil *day, struct buf *out)
{
  buf_printf(out, "%04d-%02d-%02d", day->year, day->month, day->day);
}

static enum err_code refuse(const struct past_place *place, const struct when_civil *day,
                            bool to_come, int64_t night_ms, int64_t record_ms, struct err *err)
{
  struct buf said;

  buf_init(&said, 1000);
  buf_puts(&said, "the night of ");
  put_date(day, &said);
  buf_puts(&said, to_come ? " begins at " : " was over at ");
  when_print(&said, place->zone, night_ms);
  buf_puts(&said, to_come ? ", and nothing is known after " : ", before the record began at ");
  when_print(&said, place->zone, record_ms);
  enum err_code code = err_set(err, ERR_INPUT, "%s", said.text);

  buf_release(&said);
  return code;
}

/* The last that is over, or one that is half over; where that is of before the record, the next. */
static struct when_civil last_night(const struct past_place *place, int64_t now_ms,
                                    int64_t first_ms)
{
  struct when_civil today = when_civil(place->zone, now_ms, NULL);
  struct when_civil day = today, next = today;
  struct past_span span = night_span(place, &day);
  int back = 0;

  while (now_ms < span.from_ms + (span.to_ms - span.from_ms) / 2 && back < 2) {
    next = day;
    day = night_before(place, &today, ++back);
    span = night_span(place, &day);
  }
  return back > 0 && span.to_ms <= first_ms && night_span(place, &next).from_ms < now_ms ? next
                                                                                         : day;
}

enum err_code past_night_find(const struct past_place *place, const char *text, int64_t now_ms,
                              struct when_civil *date_out, struct err *err)
{
  int64_t first_ms;
  enum err_code code = record_first(place->record, &first_ms, err);

  if (code == ERR_OK && text)
    code = read_night(text, date_out, err);
  if (code != ERR_OK)
    return code;
  if (!text)
    *date_out = last_night(place, now_ms, first_ms);
  struct past_span span = night_span(place, date_out);

  if (span.from_ms >= now_ms)
    return refuse(place, date_out, true, span.from_ms, now_ms, err);
  if (first_ms == INT64_MAX)
    return err_set(err, ERR_INPUT, "the record holds nothing yet");
  if (span.to_ms <= first_ms)
    return refuse(place, date_out, false, span.to_ms, first_ms, err);
  return ERR_OK;
}
