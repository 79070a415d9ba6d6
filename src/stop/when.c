/* Times as people write them on a door: local, no zone. */
#include "stop/stop_impl.h"

#include <stdio.h>
#include <string.h>

struct moment {
  int year, month, day, hour, minute;
};

static const char *const weekdays[] = {"Sunday",   "Monday", "Tuesday", "Wednesday",
                                       "Thursday", "Friday", "Saturday"};

/* Sakamoto's rule for the Gregorian calendar. */
static int weekday(const struct moment *m)
{
  static const int shift[] = {0, 3, 2, 5, 0, 3, 5, 1, 4, 6, 2, 4};
  int y = m->month < 3 ? m->year - 1 : m->year;

  return (y + y / 4 - y / 100 + y / 400 + shift[m->month - 1] + m->day) % 7;
}

static int days_in(int year, int month)
{
  static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;

  return days[month - 1] + (month == 2 && leap);
}

/* Digits where `form` has 'd', itself elsewhere. */
static bool has_form(const char *text, const char *form)
{
  if (strlen(text) != strlen(form))
    return false;
  for (size_t i = 0; form[i]; i++)
    if (form[i] == 'd' ? text[i] < '0' || text[i] > '9' : text[i] != form[i])
      return false;
  return true;
}

static int number(const char *text, int digits)
{
  int value = 0;

  for (int i = 0; i < digits; i++)
    value = 10 * value + (text[i] - '0');
  return value;
}

static bool read_clock(const char *text, struct moment *out)
{
  out->hour = number(text, 2);
  out->minute = number(text + 3, 2);
  return out->hour < 24 && out->minute < 60;
}

static bool read_moment(const char *text, struct moment *out)
{
  if (!has_form(text, "dddd-dd-dd dd:dd") && !has_form(text, "dddd-dd-ddTdd:dd"))
    return false;
  out->year = number(text, 4);
  out->month = number(text + 5, 2);
  out->day = number(text + 8, 2);
  return out->year >= 1900 && out->month >= 1 && out->month <= 12 && out->day >= 1 &&
         out->day <= days_in(out->year, out->month) && read_clock(text + 11, out);
}

static long long order(const struct moment *m)
{
  return ((((long long)m->year * 12 + m->month) * 31 + m->day) * 24 + m->hour) * 60 + m->minute;
}

const char *stop_when(const char *from, const char *to, struct arena *arena, struct err *err)
{
  struct moment begin = {0}, end = {0};

  if (!from || !read_moment(from, &begin)) {
    err_set(err, ERR_INPUT, "--from '%.40s' is no time: write 2026-12-03 07:00", from ? from : "");
    return NULL;
  }
  if (!to)
    return arena_printf(arena, "%s %04d-%02d-%02d, from %02d:%02d", weekdays[weekday(&begin)],
                        begin.year, begin.month, begin.day, begin.hour, begin.minute);
  end = begin;
  if (!(has_form(to, "dd:dd") && read_clock(to, &end)) && !read_moment(to, &end)) {
    err_set(err, ERR_INPUT, "--to '%.40s' is no time: write 09:00, or 2026-12-03 09:00", to);
    return NULL;
  }
  if (order(&end) <= order(&begin)) {
    err_set(err, ERR_INPUT, "the stop ends before it begins: for the next day write its date too");
    return NULL;
  }
  if (end.day == begin.day && end.month == begin.month && end.year == begin.year)
    return arena_printf(arena, "%s %04d-%02d-%02d, %02d:%02d to %02d:%02d",
                        weekdays[weekday(&begin)], begin.year, begin.month, begin.day, begin.hour,
                        begin.minute, end.hour, end.minute);
  return arena_printf(arena, "%s %04d-%02d-%02d %02d:%02d to %s %04d-%02d-%02d %02d:%02d",
                      weekdays[weekday(&begin)], begin.year, begin.month, begin.day, begin.hour,
                      begin.minute, weekdays[weekday(&end)], end.year, end.month, end.day, end.hour,
                      end.minute);
}
