#include "feed/feed_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* One value, as its source wrote it, to SI and quality. */

static void say(struct feed_observation *out, enum feed_quality quality, double si)
{
  out->quality = quality;
  out->si = si;
}

/* ---- words ---- */

static bool is_blank(char c)
{
  return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

/* Past a blank, the no-break ones of UTF-8 (U+00A0, U+202F) too; NULL where none stands. */
static const char *past_blank(const char *at, const char *end)
{
  if (at < end && is_blank(*at))
    return at + 1;
  if (end - at >= 2 && memcmp(at, "\xc2\xa0", 2) == 0)
    return at + 2;
  if (end - at >= 3 && memcmp(at, "\xe2\x80\xaf", 3) == 0)
    return at + 3;
  return NULL;
}

struct feed_span feed_trim(const char *text, size_t size)
{
  const char *end = text + size, *next;

  if (size > 0 && (unsigned char)text[0] - 0x21U < 0x5e && (unsigned char)end[-1] - 0x21U < 0x5e)
    return (struct feed_span){text, size}; /* as nearly every cell */
  while ((next = past_blank(text, end)))
    text = next;
  while (end > text) {
    if (is_blank(end[-1]))
      end--;
    else if (end - text >= 2 && memcmp(end - 2, "\xc2\xa0", 2) == 0)
      end -= 2;
    else if (end - text >= 3 && memcmp(end - 3, "\xe2\x80\xaf", 3) == 0)
      end -= 3;
    else
      break;
  }
  return (struct feed_span){text, (size_t)(end - text)};
}

static char small(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool same_word(struct feed_span a, const char *b)
{
  size_t i = 0;

  for (; i < a.size && b[i]; i++)
    if (small(a.at[i]) != small(b[i]))
      return false;
  return i == a.size && b[i] == '\0';
}

bool feed_is_word(struct feed_span span, const char *const *words, int count)
{
  for (int i = 0; i < count; i++) {
    struct feed_span word = feed_trim(words[i], strlen(words[i]));

    if (word.size == span.size && same_word(span, word.at))
      return true;
  }
  return false;
}

/* ---- numbers ---- */

static const char *past_digits(const char *at, const char *end)
{
  while (at < end && *at >= '0' && *at <= '9')
    at++;
  return at;
}

/* Copies sign and digits with a point for the mark; where the number ends, NULL for none. */
static const char *spell_number(struct feed_span text, char mark, char *out, size_t room)
{
  const char *at = text.at, *end = text.at + text.size, *from;
  size_t used = 0;
  bool minus = false;

  if (end - at >= 3 && memcmp(at, "\xe2\x88\x92", 3) == 0) { /* U+2212 */
    minus = true;
    at += 3;
  } else if (at < end && (*at == '-' || *at == '+')) {
    minus = *at++ == '-';
  }
  if (minus)
    out[used++] = '-';
  from = at;
  at = past_digits(at, end);

  const char *fraction = at < end && *at == mark ? at + 1 : NULL;

  if (fraction)
    at = past_digits(fraction, end);
  if (at - from - (fraction ? 1 : 0) < 1)
    return NULL;

  /* An exponent, but not the E of a word: "12 E" stays a number and a word. */
  const char *power = at;

  if (power < end && (*power == 'e' || *power == 'E')) {
    power++;
    power += power < end && (*power == '-' || *power == '+');
    if (past_digits(power, end) > power)
      at = past_digits(power, end);
  }
  if (used + (size_t)(at - from) + 1 > room)
    return NULL;
  memcpy(out + used, from, (size_t)(at - from));
  if (fraction)
    out[used + (size_t)(fraction - 1 - from)] = '.';
  out[used + (size_t)(at - from)] = '\0';
  return at;
}

/*
 * What nearly every cell is: at most 15 digits and no exponent.  The digits and the power of ten are
 * both exact as doubles, so their quotient is the nearest to what was written (W. D. Clinger, "How to
 * read floating point numbers accurately", 1990), as strtod gives it.
 */
static bool read_plain(struct feed_span text, char mark, double *value_out)
{
  static const double tens[] = {1,   1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
  const char *at = text.at, *end = text.at + text.size;
  bool minus = at < end && *at == '-';
  int64_t digits = 0;
  int count = 0, behind = -1;

  for (at += minus; at < end; at++) {
    if (*at >= '0' && *at <= '9') {
      digits = digits * 10 + (*at - '0');
      behind += behind >= 0;
      if (++count > 15)
        return false;
    } else if (*at == mark && behind < 0) {
      behind = 0;
    } else {
      return false;
    }
  }
  if (count == 0)
    return false;

  double size = (double)digits / tens[behind > 0 ? behind : 0];

  *value_out = minus ? -size : size;
  return true;
}

bool feed_read_number(struct feed_span text, bool decimal_comma, double *value_out,
                      struct feed_span *rest_out)
{
  char plain[64], mark = decimal_comma ? ',' : '.';

  if (read_plain(text, mark, value_out)) {
    *rest_out = (struct feed_span){text.at + text.size, 0};
    return true;
  }

  const char *end = spell_number(text, mark, plain, sizeof plain);

  if (!end)
    return false;

  double value = strtod(plain, NULL);

  if (!isfinite(value))
    return false;
  *value_out = value;
  *rest_out = feed_trim(end, (size_t)(text.at + text.size - end));
  return true;
}

/* ---- units that come with a value ---- */

/* What the point's own factor leaves of it, in the unit that came; NaN where that is none of it. */
static double in_unit(const struct feeds_point *point, double value, const char *unit)
{
  struct units_quantity read;
  char text[128];

  if (!units_knows(unit, point->dimension))
    return NAN;

  int length = snprintf(text, sizeof text, "%.17g %s", value * point->said_factor, unit);

  if (length < 0 || (size_t)length >= sizeof text ||
      units_parse(text, point->dimension, UNITS_NOTHING, &read, NULL) != ERR_OK)
    return NAN;
  return read.si;
}

static double to_si(const struct feeds_point *point, double value, const char *unit)
{
  bool as_declared = !unit || !*unit || (point->unit_text && strcmp(unit, point->unit_text) == 0);

  return as_declared ? (value - point->zero) * point->factor : in_unit(point, value, unit);
}

static void say_quantity(const struct feeds_point *point, double value, const char *unit,
                         struct feed_observation *out)
{
  double si = to_si(point, value, unit);
  bool impossible = point->dimension == UNITS_TEMPERATURE && si < 0;

  if (!isfinite(si) || impossible)
    say(out, FEED_UNREADABLE, NAN);
  else
    say(out, FEED_GOOD, si == 0 ? 0 : si); /* a zero has no sign */
}

static void say_count(const struct feeds_point *point, double value, struct feed_observation *out)
{
  double count = value * point->factor;

  if (count >= 0 && count <= 1e6 && count == floor(count))
    say(out, FEED_GOOD, count);
  else
    say(out, FEED_UNREADABLE, NAN);
}

/* ---- yes or no ---- */

static const char *const usual_yes[] = {"1", "true", "on", "yes", "active"};
static const char *const usual_no[] = {"0", "false", "off", "no", "inactive"};
enum { USUAL = 5 };

/* 1, 0, or -1 for neither. */
static int yes_or_no(const struct feeds_point *point, struct feed_span word, bool comma)
{
  bool declared = point->yes_count > 0 || point->no_count > 0;
  struct feed_span rest;
  double number;

  if (declared) {
    if (feed_is_word(word, point->yes, point->yes_count))
      return 1;
    return feed_is_word(word, point->no, point->no_count) ? 0 : -1;
  }
  if (feed_is_word(word, usual_yes, USUAL))
    return 1;
  if (feed_is_word(word, usual_no, USUAL))
    return 0;
  /* "1,0" is what some exports make of a 1. */
  if (feed_read_number(word, comma, &number, &rest) && rest.size == 0 &&
      (number == 0 || number == 1))
    return (int)number;
  return -1;
}

static void say_yes_or_no(int answer, struct feed_observation *out)
{
  if (answer < 0)
    say(out, FEED_UNREADABLE, NAN);
  else
    say(out, FEED_GOOD, answer);
}

/* ---- */

static void say_number(const struct feeds_point *point, double value, const char *unit,
                       struct feed_observation *out)
{
  if (point->count)
    say_count(point, value, out);
  else
    say_quantity(point, value, unit, out);
}

void feed_value_span(const struct feeds_point *point, bool decimal_comma, struct feed_span text,
                     const char *unit_text, struct feed_observation *out)
{
  struct feed_span word = feed_trim(text.at, text.size), rest;
  char unit[48];
  double value;

  say(out, FEED_UNREADABLE, NAN);
  if (word.size == 0 || feed_is_word(word, point->missing, point->missing_count)) {
    say(out, FEED_MISSING, NAN);
    return;
  }
  if (point->yes_no) {
    say_yes_or_no(yes_or_no(point, word, decimal_comma), out);
    return;
  }
  if (!feed_read_number(word, decimal_comma, &value, &rest))
    return;
  if (rest.size == 0) {
    say_number(point, value, unit_text, out);
    return;
  }
  /* "14.2 Pa": the unit stands in the cell. */
  if (point->count || rest.size >= sizeof unit)
    return;
  memcpy(unit, rest.at, rest.size);
  unit[rest.size] = '\0';
  if (!unit_text || !*unit_text || strcmp(unit, unit_text) == 0)
    say_number(point, value, unit, out);
}

void feed_value(const struct feeds_point *point, bool decimal_comma, const char *text,
                const char *unit_text, struct feed_observation *out)
{
  char unit[48];
  struct feed_span trimmed =
      feed_trim(unit_text ? unit_text : "", strlen(unit_text ? unit_text : ""));

  if (trimmed.size >= sizeof unit) {
    say(out, FEED_UNREADABLE, NAN);
    return;
  }
  memcpy(unit, trimmed.at, trimmed.size);
  unit[trimmed.size] = '\0';
  feed_value_span(point, decimal_comma, (struct feed_span){text, strlen(text)}, unit, out);
}

void feed_number(const struct feeds_point *point, double value, struct feed_observation *out)
{
  char text[32];

  say(out, FEED_UNREADABLE, NAN);
  if (!isfinite(value))
    return;
  snprintf(text, sizeof text, "%.15g", value);

  struct feed_span word = {text, strlen(text)};

  if (feed_is_word(word, point->missing, point->missing_count))
    say(out, FEED_MISSING, NAN);
  else if (point->yes_no)
    say_yes_or_no(yes_or_no(point, word, false), out);
  else
    say_number(point, value, NULL, out);
}

void feed_time(const struct feeds *feeds, int source, bool timed, int64_t t_ms, int64_t seen_ms,
               struct feed_observation *out)
{
  const struct feeds_source *from = &feeds->sources[source];

  out->seen_ms = seen_ms;
  out->t_ms = seen_ms;
  if (!timed)
    return;
  out->t_ms = t_ms - llround(from->clock_ahead_s * 1000);

  double age_s = (double)(seen_ms - out->t_ms) * 1e-3;
  bool future = -age_s > feeds->future_s;
  bool old = from->kind != FEEDS_CSV && age_s > feeds->points[out->point].old_after_s;

  if (future)
    say(out, FEED_FUTURE, NAN);
  else if (old && out->quality == FEED_GOOD)
    out->quality = FEED_OLD; /* what it was then is still known */
}
