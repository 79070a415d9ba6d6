#include "base/when_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- the calendar ---- */

enum { DAY_S = 86400 };

int64_t when_floor_div(int64_t a, int64_t b)
{
  return a / b - (a % b < 0);
}

static bool is_leap(int64_t year)
{
  return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

static int month_days(int64_t year, int month)
{
  static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

  return month == 2 && is_leap(year) ? 29 : days[month - 1];
}

/*
 * Days since 1970-01-01 of the proleptic Gregorian calendar.  Years are taken to begin in March, so
 * that the odd day is the last; 153 days are five months from there, 146097 four hundred years.
 */
int64_t when_days(int64_t year, int month, int day)
{
  int64_t shifted = year - (month <= 2), era = when_floor_div(shifted, 400);
  int64_t of_era = shifted - era * 400;
  int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;

  return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

int64_t when_year_of_days(int64_t days, int *month_out, int *day_out)
{
  int64_t shifted = days + 719468, era = when_floor_div(shifted, 146097);
  int64_t of_era = shifted - era * 146097;
  int64_t year = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
  int64_t of_year = of_era - (365 * year + year / 4 - year / 100);
  int64_t from_march = (5 * of_year + 2) / 153;

  *day_out = (int)(of_year - (153 * from_march + 2) / 5 + 1);
  *month_out = (int)(from_march < 10 ? from_march + 3 : from_march - 9);
  return year + era * 400 + (*month_out <= 2);
}

bool when_is_date(const struct when_civil *c)
{
  return c->month >= 1 && c->month <= 12 && c->day >= 1 &&
         c->day <= month_days(c->year, c->month) && c->hour >= 0 && c->hour <= 23 &&
         c->minute >= 0 && c->minute <= 59 && c->second >= 0 && c->second <= 59 &&
         c->millisecond >= 0 && c->millisecond <= 999;
}

static int64_t seconds_of(const struct when_civil *c)
{
  return when_days(c->year, c->month, c->day) * DAY_S + c->hour * 3600 + c->minute * 60 + c->second;
}

int when_weekday(const struct when_civil *civil)
{
  int64_t days = when_days(civil->year, civil->month, civil->day) + 3; /* 1970-01-01: Thursday */

  return (int)(days - 7 * when_floor_div(days, 7));
}

/* ---- moments and local time ---- */

struct when_civil when_civil(const struct when_zone *zone, int64_t t_ms, int *offset_out_s)
{
  int64_t t_s = when_floor_div(t_ms, 1000);
  int offset_s = when_offset_s(zone, t_s);
  int64_t local_s = t_s + offset_s, days = when_floor_div(local_s, DAY_S);
  int of_day = (int)(local_s - days * DAY_S);
  struct when_civil c = {.hour = of_day / 3600,
                         .minute = of_day / 60 % 60,
                         .second = of_day % 60,
                         .millisecond = (int)(t_ms - t_s * 1000)};

  c.year = (int)when_year_of_days(days, &c.month, &c.day);
  if (offset_out_s)
    *offset_out_s = offset_s;
  return c;
}

enum when_fold when_of(const struct when_zone *zone, const struct when_civil *civil,
                       int64_t *first_out_ms, int64_t *second_out_ms)
{
  int64_t found[2], local_s = seconds_of(civil);
  int count = when_moments(zone, local_s, found);

  if (count > 0)
    *first_out_ms = found[0] * 1000 + civil->millisecond;
  if (count > 1)
    *second_out_ms = found[1] * 1000 + civil->millisecond;
  return (enum when_fold)(WHEN_NEVER + count);
}

/* ---- reading ---- */

/* Exactly `count` digits, or -1. */
static int digits(const char *at, int count)
{
  int value = 0;

  for (int i = 0; i < count; i++) {
    if (at[i] < '0' || at[i] > '9')
      return -1;
    value = value * 10 + (at[i] - '0');
  }
  return value;
}

/* What is finer than a millisecond is cut off. */
static const char *read_fraction(const char *at, int *ms_out)
{
  int scale = 100;

  if ((*at != '.' && *at != ',') || at[1] < '0' || at[1] > '9')
    return at;
  for (at++; *at >= '0' && *at <= '9'; at++) {
    *ms_out += (*at - '0') * scale;
    scale /= 10;
  }
  return at;
}

const char *when_read_civil(const char *at, struct when_civil *c)
{
  c->year = digits(at, 4);
  if (c->year < 0 || at[4] != '-')
    return NULL;
  c->month = digits(at + 5, 2);
  if (c->month < 0 || at[7] != '-')
    return NULL;
  c->day = digits(at + 8, 2);
  if (c->day < 0 || (at[10] != 'T' && at[10] != 't' && at[10] != ' '))
    return NULL;
  c->hour = digits(at + 11, 2);
  if (c->hour < 0 || at[13] != ':')
    return NULL;
  c->minute = digits(at + 14, 2);
  if (c->minute < 0)
    return NULL;
  at += 16;
  if (*at != ':')
    return at;
  c->second = digits(at + 1, 2);
  return c->second < 0 ? NULL : read_fraction(at + 3, &c->millisecond);
}

const char *when_read_offset(const char *at, int *offset_out_s)
{
  int hours, minutes = 0;
  int sign = *at == '-' ? -1 : 1;

  *offset_out_s = 0;
  if (*at == 'Z' || *at == 'z')
    return at + 1;
  if (*at != '+' && *at != '-')
    return NULL;
  hours = digits(at + 1, 2);
  if (hours < 0 || hours > 23)
    return NULL;
  at += 3;
  if (*at == ':' || (*at >= '0' && *at <= '9')) {
    at += *at == ':';
    minutes = digits(at, 2);
    if (minutes < 0 || minutes > 59)
      return NULL;
    at += 2;
  }
  *offset_out_s = sign * (hours * 3600 + minutes * 60);
  return at;
}

enum when_fold when_of_taken(const struct when_zone *zone, const struct when_taken *taken,
                             int64_t *first_out_ms, int64_t *second_out_ms)
{
  if (!taken->has_offset)
    return when_of(zone, &taken->civil, first_out_ms, second_out_ms);
  *first_out_ms = (seconds_of(&taken->civil) - taken->offset_s) * 1000 + taken->civil.millisecond;
  return WHEN_ONCE;
}

static enum err_code local_moment(const struct when_civil *civil, const struct when_zone *zone,
                                  const bool *later, int64_t *t_out_ms, struct err *err)
{
  int64_t first, second;

  switch (when_of(zone, civil, &first, &second)) {
  case WHEN_NEVER:
    return err_set(err, ERR_INPUT, "this time never was in %s: the clocks went past it",
                   zone->name);
  case WHEN_TWICE:
    if (!later)
      return err_set(err, ERR_INPUT,
                     "this time came twice in %s; write its offset: +02:00 or the like",
                     zone->name);
    *t_out_ms = *later ? second : first;
    return ERR_OK;
  case WHEN_ONCE:
  default:
    *t_out_ms = first;
    return ERR_OK;
  }
}

static enum err_code refuse_at(struct err *err, int col, const char *what)
{
  enum err_code code = err_set(err, ERR_INPUT, "%s", what);

  if (err)
    err->col = col;
  return code;
}

enum err_code when_read(const char *text, const struct when_zone *zone, const bool *later,
                        int64_t *t_out_ms, struct err *err)
{
  struct when_civil civil = {0};
  const char *at = when_read_civil(text, &civil), *end;
  int offset_s;

  if (!at)
    return refuse_at(err, 1,
                     "no day and time; write it as 2026-10-25 14:10 or 2026-10-25T14:10:00+01:00");
  if (!when_is_date(&civil))
    return refuse_at(err, 1, "there is no such day or time of day");
  if (*at == '\0')
    return local_moment(&civil, zone, later, t_out_ms, err);
  at += *at == ' ' && at[1] != '\0';
  end = when_read_offset(at, &offset_s);
  if (!end || *end != '\0')
    return refuse_at(err, (int)(at - text) + 1,
                     "after a time only its offset may stand: Z, +01:00 or -05:00");
  *t_out_ms = (seconds_of(&civil) - offset_s) * 1000 + civil.millisecond;
  return ERR_OK;
}

/* Where clocks go forward at midnight a day begins with its first whole hour that is; where they go back
 * then, it begins with the first of two midnights. */
static enum err_code day_begins(struct when_civil civil, const struct when_zone *zone,
                                int64_t *t_out_ms, struct err *err)
{
  int64_t second;

  for (civil.hour = 0; civil.hour < 24; civil.hour++)
    if (when_of(zone, &civil, t_out_ms, &second) != WHEN_NEVER)
      return ERR_OK;
  return err_set(err, ERR_INPUT, "this day never was in %s", zone->name);
}

enum err_code when_read_bound(const char *text, const struct when_zone *zone, int64_t *t_out_ms,
                              struct err *err)
{
  struct when_civil civil = {0};
  char whole[sizeof "2026-10-25T00:00"];
  const char *end;

  if (strlen(text) != strlen("2026-10-25"))
    return when_read(text, zone, NULL, t_out_ms, err);
  snprintf(whole, sizeof whole, "%sT00:00", text);
  end = when_read_civil(whole, &civil);
  if (!end || *end || !when_is_date(&civil))
    return when_read(end ? whole : text, zone, NULL, t_out_ms, err);
  return day_begins(civil, zone, t_out_ms, err);
}

/* ---- printing ---- */

void when_print(struct buf *out, const struct when_zone *zone, int64_t t_ms)
{
  int offset_s;
  struct when_civil c = when_civil(zone, t_ms, &offset_s);
  int size_s = offset_s < 0 ? -offset_s : offset_s;

  buf_printf(out, "%04d-%02d-%02d %02d:%02d:%02d %c%02d:%02d", c.year, c.month, c.day, c.hour,
             c.minute, c.second, offset_s < 0 ? '-' : '+', size_s / 3600, size_s / 60 % 60);
  if (size_s % 60 != 0) /* local mean time, before zones */
    buf_printf(out, ":%02d", size_s % 60);
}

void when_print_utc(struct buf *out, int64_t t_ms)
{
  struct when_civil c = when_civil(when_utc(), t_ms, NULL);

  buf_printf(out, "%04d-%02d-%02dT%02d:%02d:%02d", c.year, c.month, c.day, c.hour, c.minute,
             c.second);
  if (c.millisecond != 0)
    buf_printf(out, ".%03d", c.millisecond);
  buf_putc(out, 'Z');
}

void when_emit(struct emit *json, const char *key, int64_t t_ms)
{
  struct buf text;

  if (t_ms == INT64_MIN || t_ms == INT64_MAX) {
    emit_null(json, key);
    return;
  }
  buf_init(&text, 64);
  when_print_utc(&text, t_ms);
  emit_text(json, key, text.text);
  buf_release(&text);
}

void when_print_span(struct buf *out, double span_s)
{
  double s = fabs(span_s);

  if (!isfinite(s) || s > 1e15) {
    buf_puts(out, "not known");
    return;
  }
  if (span_s <= -1)
    buf_putc(out, '-');

  long long whole = (long long)s;

  if (whole < 60)
    buf_printf(out, "%lld s", whole);
  else if (whole < 3600)
    buf_printf(out, "%lld min", whole / 60);
  else if (whole >= 2 * DAY_S)
    buf_printf(out, "%lld d", whole / DAY_S);
  else if (whole / 60 % 60 == 0)
    buf_printf(out, "%lld h", whole / 3600);
  else
    buf_printf(out, "%lld h %lld min", whole / 3600, whole / 60 % 60);
}
