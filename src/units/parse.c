#include "units/units_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* One reading: where it began, how far it got, and whom to tell. */
struct reader {
  const char *text, *at;
  struct err *err;
};

/* Marks the place where reading stopped; the message follows. */
static struct err *stop(const struct reader *reader, const char *here)
{
  if (reader->err)
    reader->err->col = (int)(here - reader->text) + 1;
  return reader->err;
}

/* Length of the blank at p, 0 if there is none.  Spreadsheets and word
 * processors put no-break and thin blanks between a number and its unit. */
static size_t blank(const char *p)
{
  static const char *const wide[] = {"\xc2\xa0", "\xe2\x80\xaf", "\xe2\x80\x89"};

  if (*p == ' ' || *p == '\t')
    return 1;
  for (size_t i = 0; i < sizeof wide / sizeof wide[0]; i++)
    if (strncmp(p, wide[i], strlen(wide[i])) == 0)
      return strlen(wide[i]);
  return 0;
}

static void skip_blanks(struct reader *reader)
{
  for (size_t length; (length = blank(reader->at)) > 0;)
    reader->at += length;
}

static const char *digits(const char *p)
{
  while (*p >= '0' && *p <= '9')
    p++;
  return p;
}

/* The end of [sign] digits [. digits] [e [sign] digits], or p when there is no
 * such number.  strtod alone would also take hex, infinities and NaN. */
static const char *number_end(const char *p)
{
  const char *start = p + (*p == '+' || *p == '-');
  const char *end = digits(start);
  bool any = end > start;

  if (*end == '.') {
    const char *fraction = end + 1;

    end = digits(fraction);
    any = any || end > fraction;
  }
  if (!any)
    return p;
  if (*end == 'e' || *end == 'E') {
    const char *power = end + 1 + (end[1] == '+' || end[1] == '-');

    if (digits(power) > power)
      return digits(power);
  }
  return end;
}

static bool writes_zero(const char *begin, const char *end)
{
  for (const char *p = begin; p < end && *p != 'e' && *p != 'E'; p++)
    if (*p >= '1' && *p <= '9')
      return false;
  return true;
}

static bool is_blank_group(const char *p)
{
  size_t length = blank(p);

  return length > 0 && digits(p + length) == p + length + 3;
}

/* What people write that looks like part of a number and is not. */
static enum err_code check_after_number(const struct reader *reader, const char *end)
{
  if (*end == ',' || *end == '_' || *end == '.' || (*end == '\'' && digits(end + 1) > end + 1))
    return err_set(stop(reader, end), ERR_INPUT,
                   "'%c' inside a number: write the decimal mark as '.', once, and thousands "
                   "without a mark (1.5, 1450)",
                   *end);
  if (is_blank_group(end))
    return err_set(stop(reader, end), ERR_INPUT,
                   "a blank inside a number: write thousands without a blank (1450, not 1 450)");
  return ERR_OK;
}

static enum err_code read_number(struct reader *reader, double *out)
{
  const char *begin = reader->at, *end = number_end(begin);
  double value;
  enum err_code code;

  if (end == begin && strncmp(begin, "\xe2\x88\x92", 3) == 0)
    return err_set(stop(reader, begin), ERR_INPUT, "a minus sign must be the plain '-'");
  if (end == begin)
    return err_set(stop(reader, begin), ERR_INPUT, "expected a number, like 15 or -2.5 or 1e-3");
  code = check_after_number(reader, end);
  if (code != ERR_OK)
    return code;
  value = strtod(begin, NULL);
  if (!isfinite(value))
    return err_set(stop(reader, begin), ERR_INPUT, "this number is too large");
  if (value == 0.0 && !writes_zero(begin, end))
    return err_set(stop(reader, begin), ERR_INPUT, "this number is too small");
  reader->at = end;
  skip_blanks(reader);
  *out = value;
  return ERR_OK;
}

/* Length of the ± sign at p, 0 if there is none. */
static size_t plus_minus(const char *p)
{
  static const char *const signs[] = {"\xc2\xb1", "+/-", "+-"};

  for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++)
    if (strncmp(p, signs[i], strlen(signs[i])) == 0)
      return strlen(signs[i]);
  return 0;
}

/* "at" is a word, so "1 atm" has none.  A byte past ASCII before it may end a wide
 * blank; no unit continues with "at" there. */
static bool is_at(const struct reader *reader, const char *p)
{
  if (strncmp(p, "at", 2) != 0 || (p[2] != '\0' && !blank(p + 2)))
    return false;
  return p == reader->at || p[-1] == ' ' || p[-1] == '\t' || (unsigned char)p[-1] >= 0x80;
}

/* A unit text ends at the ± sign, at the word "at", or with the text. */
static const char *unit_end(const struct reader *reader)
{
  const char *p = reader->at;

  while (*p != '\0' && !plus_minus(p) && !is_at(reader, p))
    p++;
  return p;
}

static const char *trim(const char *begin, const char *end)
{
  while (end > begin && (end[-1] == ' ' || end[-1] == '\t'))
    end--;
  return end;
}

static bool has_no_negative(enum units_dimension dimension)
{
  return dimension == UNITS_TEMPERATURE || dimension == UNITS_ABSOLUTE_PRESSURE;
}

/* `number` is where the value stands, for what is wrong with the value itself. */
static enum err_code scale(const struct reader *reader, const char *number,
                           const struct units_unit *unit, double value, double *si_out)
{
  double si = units_to_si(unit, value);

  if (!isfinite(si))
    return err_set(stop(reader, number), ERR_INPUT, "this number is too large");
  if (si == 0.0 && value != unit->zero)
    return err_set(stop(reader, number), ERR_INPUT, "this number is too small");
  *si_out = si;
  return ERR_OK;
}

static const struct units_unit *read_unit(struct reader *reader, enum units_dimension want)
{
  char text[UNITS_TEXT_SIZE];
  const char *begin = reader->at, *after = unit_end(reader), *end = trim(begin, after);
  const struct units_unit *unit = NULL;

  if (units_normalise(begin, end, text))
    unit = units_find(text, want);
  if (!unit) {
    units_refuse(begin, end, want, stop(reader, begin));
    return NULL;
  }
  reader->at = after;
  return unit;
}

/* number unit */
static enum err_code read_value(struct reader *reader, enum units_dimension want, double *si_out)
{
  const char *number = reader->at;
  double value, si;
  enum err_code code = read_number(reader, &value);

  if (code != ERR_OK)
    return code;
  const struct units_unit *unit = read_unit(reader, want);

  if (!unit)
    return ERR_INPUT;
  code = scale(reader, number, unit, value, &si);
  if (code != ERR_OK)
    return code;
  if (si < 0.0 && has_no_negative(want))
    return err_set(stop(reader, number), ERR_INPUT, "below zero: no %s is",
                   want == UNITS_TEMPERATURE ? "temperature, counted in kelvin,"
                                             : "absolute pressure");
  *si_out = si;
  return ERR_OK;
}

/* Percent of the value itself; not for shares, where a percent is a point, nor
 * where nobody could tell which was meant. */
static enum err_code percent_is_clear(const struct reader *reader, const char *percent,
                                      enum units_dimension want)
{
  if (want == UNITS_TEMPERATURE)
    return err_set(stop(reader, percent), ERR_INPUT,
                   "a percentage of a temperature means nothing: write degC, degF or K");
  if (want == UNITS_OPEN_SHARE || want == UNITS_RELATIVE_HUMIDITY)
    return err_set(stop(reader, percent), ERR_INPUT,
                   "%% of the value or points? write the points as %s",
                   want == UNITS_OPEN_SHARE ? "%open" : "%RH");
  return ERR_OK;
}

static bool is_percent(const struct reader *reader)
{
  const char *end = trim(reader->at, unit_end(reader));

  return end == reader->at + 1 && *reader->at == '%';
}

/* What follows the ± sign.  A spread of a temperature is a difference, so the zero
 * of its scale does not count. */
static enum err_code read_spread(struct reader *reader, enum units_dimension want, double around,
                                 double *si_out)
{
  const char *number = reader->at;
  double value;
  enum err_code code = read_number(reader, &value);

  if (code != ERR_OK)
    return code;
  if (value < 0.0)
    return err_set(stop(reader, number), ERR_INPUT, "what follows \302\261 must not be negative");
  value = fabs(value); /* "-0" is a zero too */
  if (is_percent(reader) && want != UNITS_SHARE) {
    struct units_unit percent = {"%", want, 0.0, fabs(around), 100.0, ""};

    code = percent_is_clear(reader, reader->at, want);
    if (code != ERR_OK)
      return code;
    reader->at = unit_end(reader);
    *si_out = units_to_si(&percent, value);
    if (!isfinite(*si_out))
      return err_set(stop(reader, number), ERR_INPUT, "this number is too large");
    return ERR_OK;
  }
  const struct units_unit *unit = read_unit(reader, want);

  if (!unit)
    return ERR_INPUT;
  struct units_unit difference = *unit;

  difference.zero = 0.0;
  return scale(reader, number, &difference, value, si_out);
}

/* ± and what follows it, where it stands. */
static enum err_code read_plus_minus(struct reader *reader, enum units_dimension want,
                                     double around, bool *has_out, double *si_out)
{
  size_t length = plus_minus(reader->at);

  if (length == 0)
    return ERR_OK;
  reader->at += length;
  skip_blanks(reader);
  *has_out = true;
  return read_spread(reader, want, around, si_out);
}

static enum err_code read_tail(struct reader *reader, enum units_dimension want,
                               enum units_dimension at, struct units_quantity *quantity)
{
  enum err_code code = read_plus_minus(reader, want, quantity->si, &quantity->has_plus_minus,
                                       &quantity->plus_minus_si);

  if (code != ERR_OK)
    return code;
  if (is_at(reader, reader->at)) {
    if (at == UNITS_NOTHING)
      return err_set(stop(reader, reader->at), ERR_INPUT, "no 'at' is expected here");
    reader->at += 2;
    skip_blanks(reader);
    quantity->has_at = true;
    code = read_value(reader, at, &quantity->at_si);
    if (code == ERR_OK)
      code = read_plus_minus(reader, at, quantity->at_si, &quantity->has_at_plus_minus,
                             &quantity->at_plus_minus_si);
    if (code != ERR_OK)
      return code;
  }
  if (*reader->at != '\0')
    return err_set(
        stop(reader, reader->at), ERR_INPUT,
        "nothing more is expected here (the order is: value \302\261 spread at value \302\261 spread)");
  return ERR_OK;
}

enum err_code units_parse(const char *text, enum units_dimension want, enum units_dimension at,
                          struct units_quantity *out, struct err *err)
{
  struct reader reader = {.text = text, .at = text, .err = err};
  struct units_quantity quantity = {0};
  enum err_code code;

  BUG_IF(!text || !out || want == UNITS_NOTHING);
  skip_blanks(&reader);
  code = read_value(&reader, want, &quantity.si);
  if (code == ERR_OK)
    code = read_tail(&reader, want, at, &quantity);
  if (code == ERR_OK)
    *out = quantity;
  return code;
}

enum err_code units_parse_within(const char *key, const char *text, enum units_dimension dimension,
                                 double least_si, double most_si, double *si_out, struct err *err)
{
  struct units_quantity quantity;
  struct buf least, most;
  enum err_code code = units_parse(text, dimension, UNITS_NOTHING, &quantity, err);

  if (code != ERR_OK) {
    err_prefix(err, "%s: ", key);
    return code;
  }
  if (quantity.has_plus_minus)
    return err_set(err, ERR_INPUT, "%s: leave the ± away here", key);
  if (quantity.si >= least_si && quantity.si <= most_si) {
    *si_out = quantity.si;
    return ERR_OK;
  }
  buf_init(&least, 80), buf_init(&most, 80);
  units_print(&least, least_si, dimension, UNITS_SYSTEM_SI);
  units_print(&most, most_si, dimension, UNITS_SYSTEM_SI);
  code = err_set(err, ERR_INPUT, "%s: '%.40s' is not within %s to %s; a slip in the unit?", key,
                 text, least.text, most.text);
  buf_release(&least), buf_release(&most);
  return code;
}
