#include "units/units_impl.h"

#include "base/spelling.h"
#include "base/utf8.h"

#include <string.h>

/* Texts people use that we know and still refuse, with what to write. */
static const struct {
  const char *text, *why;
} known[] = {
    {"ACH", "fresh or total air? use the field that says which, and write 1/h"},
    {"ach", "fresh or total air? use the field that says which, and write 1/h"},
    {"ac/h", "fresh or total air? use the field that says which, and write 1/h"},
    {"C", "a coulomb; for degrees Celsius write degC"},
    {"F", "a farad; for degrees Fahrenheit write degF"},
    {"inH20", "spelt with a zero; write inH2O with the letter O"},
    {"ton", "several units share this name; for cooling write kW, for mass kg"},
    {"tons", "several units share this name; for cooling write kW, for mass kg"},
    {"t", "several units share this name; write kg"},
    {"gpm(UK)", "an imperial gallon is not known; convert to L/s (4.54609 L each)"},
    {"igpm", "an imperial gallon is not known; convert to L/s (4.54609 L each)"},
    {"M", "write mol/L"},
    {"month", "a month has no fixed length; write d"},
    {"year", "a year has no fixed length; write d"},
};

void units_quote(const char *begin, const char *end, size_t size, struct buf *out)
{
  const char *p = begin;

  buf_putc(out, '\'');
  while (p < end) {
    size_t length = utf8_size(p) > 0 ? (size_t)utf8_size(p) : 1;
    unsigned char c = (unsigned char)*p;

    if ((size_t)(p - begin) + length > size) {
      buf_puts(out, "...");
      break;
    }
    if (length > 1)
      buf_add(out, p, length);
    else
      buf_putc(out, c < 0x20 || c >= 0x7f ? '?' : (char)c);
    p += length;
  }
  buf_putc(out, '\'');
}

static int smaller(int a, int b)
{
  return a < b ? a : b;
}

/* The unit of this dimension whose text, or whose other spelling, is nearest; NULL
 * when the nearest is too far to be what was meant. */
static const char *nearest(const char *text, enum units_dimension want)
{
  const char *best = NULL;
  size_t length = strlen(text);
  int edits = smaller(3, ((int)length + 1) / 2);

  for (int i = 0; i < units_count(); i++) {
    const struct units_unit *unit = units_at(i);
    int count = unit->dimension == want && unit->text[0]
                    ? spelling_distance(text, length, unit->text, edits - 1)
                    : edits;

    if (count < edits) {
      edits = count;
      best = unit->text;
    }
  }
  for (int i = 0; i < units_spelling_count(); i++) {
    const struct units_spelling *spelling = units_spelling_at(i);
    int count = spelling_distance(text, length, spelling->text, edits - 1);

    if (count < edits && units_find(spelling->means, want)) {
      edits = count;
      best = spelling->means;
    }
  }
  return best;
}

static const char *known_why(const char *text)
{
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (strcmp(known[i].text, text) == 0)
      return known[i].why;
  return NULL;
}

static void say_allowed(enum units_dimension want, struct buf *out)
{
  if (want == UNITS_RATIO) {
    buf_puts(out, "a plain number takes no unit");
    return;
  }
  buf_printf(out, "%s may be in ", units_words(want));
  units_list_some(want, out);
}

/* Someone meant another pressure reference or a share of something else: same text, plus a tag. */
static const char *tagged(const char *text, enum units_dimension want)
{
  static const char *const tags[] = {"(a)", "(g)", "(diff)", "open", "RH"};
  char longer[UNITS_TEXT_SIZE + 8];

  for (size_t i = 0; i < sizeof tags / sizeof tags[0]; i++) {
    size_t length = strlen(text);

    memcpy(longer, text, length);
    memcpy(longer + length, tags[i], strlen(tags[i]) + 1);
    const struct units_unit *unit = units_find(longer, want);

    if (unit)
      return unit->text;
  }
  return NULL;
}

static void say_wrong_dimension(const struct units_unit *unit, enum units_dimension want,
                                struct buf *out)
{
  const char *meant = tagged(unit->text, want);

  if (unit->dimension == UNITS_STANDARD_FLOW && want == UNITS_FLOW) {
    buf_puts(out, " is a flow at standard conditions it does not state: convert it to the actual "
                  "temperature and pressure and write m3/h, L/s or cfm, or give kg/s");
    return;
  }
  buf_printf(out, " measures %s: ", units_words(unit->dimension));
  say_allowed(want, out);
  if (meant)
    buf_printf(out, " (did you mean '%s'?)", meant);
}

static void say_unknown(const char *text, enum units_dimension want, struct buf *out)
{
  const char *why = text ? known_why(text) : NULL;
  const char *meant = text ? nearest(text, want) : NULL;

  if (why) {
    buf_printf(out, ": %s", why);
    return;
  }
  buf_puts(out, ": ");
  say_allowed(want, out);
  if (meant)
    buf_printf(out, " (did you mean '%s'?)", meant);
}

enum err_code units_refuse(const char *begin, const char *end, enum units_dimension want,
                           struct err *err)
{
  char text[UNITS_TEXT_SIZE];
  bool short_enough = units_normalise(begin, end, text);
  const struct units_unit *unit = short_enough ? units_find(text, UNITS_NOTHING) : NULL;
  struct buf out;

  buf_init(&out, 1000);
  if (begin == end) {
    buf_puts(&out, "a unit is required: ");
    say_allowed(want, &out);
  } else if (unit) {
    units_quote(begin, end, 24, &out);
    say_wrong_dimension(unit, want, &out);
  } else {
    buf_puts(&out, "unknown unit ");
    units_quote(begin, end, 24, &out);
    say_unknown(short_enough ? text : NULL, want, &out);
  }
  err_set(err, ERR_INPUT, "%s", out.text);
  buf_release(&out);
  return ERR_INPUT;
}
