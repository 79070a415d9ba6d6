#include "base/when_impl.h"

#include <string.h>

/* Times as a pattern declares them: "DD.MM.YYYY hh:mm". */

static const struct {
  const char *word;
  enum when_part part;
} words[] = {{"YYYY", WHEN_YEAR},  {"YY", WHEN_SHORT_YEAR}, {"MMM", WHEN_MONTH_NAME},
             {"MM", WHEN_MONTH},   {"DD", WHEN_DAY},        {"hh", WHEN_HOUR},
             {"mm", WHEN_MINUTE},  {"ss", WHEN_SECOND},     {"fff", WHEN_FRACTION},
             {"am", WHEN_HALF_DAY}};
enum { WORDS = sizeof words / sizeof words[0] };

static int word_at(const char *at)
{
  for (int i = 0; i < WORDS; i++)
    if (strncmp(at, words[i].word, strlen(words[i].word)) == 0)
      return i;
  return -1;
}

static bool is_letter(char c)
{
  return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

/* What makes a pattern name a moment, and each of it once. */
static const char *misses(const struct when_pattern *pattern)
{
  int has[WHEN_PARTS] = {0};

  for (int i = 0; i < pattern->count; i++)
    has[pattern->parts[i]]++;
  has[WHEN_LITERAL] = 0;
  for (int i = 0; i < WHEN_PARTS; i++)
    if (has[i] > 1)
      return "says a part of the time twice";
  if (has[WHEN_YEAR] + has[WHEN_SHORT_YEAR] != 1)
    return "needs one year: YYYY or YY";
  if (has[WHEN_MONTH] + has[WHEN_MONTH_NAME] != 1)
    return "needs one month: MM, or MMM for Jan, Feb and so on";
  if (!has[WHEN_DAY] || !has[WHEN_HOUR])
    return "needs a day and an hour: DD and hh";
  if ((has[WHEN_SECOND] && !has[WHEN_MINUTE]) || (has[WHEN_FRACTION] && !has[WHEN_SECOND]))
    return "leaves out what stands between: hh:mm:ss.fff";
  return NULL;
}

enum err_code when_pattern_read(const char *text, struct when_pattern *out, struct err *err)
{
  struct when_pattern pattern = {.iso = strcmp(text, "ISO") == 0};
  const char *at = text, *what;

  while (!pattern.iso && *at) {
    int word = word_at(at);

    if (pattern.count == WHEN_PATTERN_MOST)
      return err_set(err, ERR_INPUT, "a pattern is at most %d parts long", (int)WHEN_PATTERN_MOST);
    if (word < 0 && is_letter(*at) && *at != 'T')
      return err_set(
          err, ERR_INPUT,
          "'%.20s' is no part of a time; there are YYYY, YY, MM, MMM, DD, hh, mm, ss, fff, "
          "am, and ISO alone",
          at);
    pattern.literal[pattern.count] = *at;
    pattern.parts[pattern.count++] = word < 0 ? WHEN_LITERAL : words[word].part;
    at += word < 0 ? 1 : strlen(words[word].word);
  }
  what = pattern.iso ? NULL : misses(&pattern);
  if (what)
    return err_set(err, ERR_INPUT, "the pattern %s; 'DD.MM.YYYY hh:mm' is one", what);
  *out = pattern;
  return ERR_OK;
}

/* ---- taking a time apart ---- */

struct taken {
  const char *at, *end;
  struct when_civil civil;
  bool half_day, afternoon;
};

static bool take_number(struct taken *t, int least, int most, int *out)
{
  int value = 0, count = 0;

  for (; t->at < t->end && *t->at >= '0' && *t->at <= '9' && count < most; t->at++, count++)
    value = value * 10 + (*t->at - '0');
  *out = value;
  return count >= least;
}

/* Blanks may be several, and the no-break one. */
static bool take_literal(struct taken *t, char want)
{
  const char *from = t->at;

  if (want != ' ') {
    if (t->at == t->end || *t->at != want)
      return false;
    t->at++;
    return true;
  }
  for (;;) {
    if (t->at < t->end && (*t->at == ' ' || *t->at == '\t'))
      t->at++;
    else if (t->end - t->at >= 2 && memcmp(t->at, "\xc2\xa0", 2) == 0)
      t->at += 2;
    else
      return t->at > from;
  }
}

static bool same_letters(const char *at, const char *word, size_t count)
{
  for (size_t i = 0; i < count; i++)
    if ((at[i] | 0x20) != (word[i] | 0x20))
      return false;
  return true;
}

static bool take_month_name(struct taken *t)
{
  static const char names[] = "JanFebMarAprMayJunJulAugSepOctNovDec";

  if (t->end - t->at < 3)
    return false;
  for (int i = 0; i < 12; i++)
    if (same_letters(t->at, names + 3 * i, 3)) {
      t->civil.month = i + 1;
      t->at += 3;
      return true;
    }
  return false;
}

/* "AM", "pm", "a.m." */
static bool take_half_day(struct taken *t)
{
  if (t->end - t->at < 2)
    return false;
  t->half_day = true;
  t->afternoon = (*t->at | 0x20) == 'p';
  if (!t->afternoon && (*t->at | 0x20) != 'a')
    return false;

  bool dotted = t->at[1] == '.';

  t->at += dotted ? 2 : 1;
  if (t->at == t->end || (*t->at | 0x20) != 'm')
    return false;
  t->at++;
  if (dotted && t->at < t->end && *t->at == '.')
    t->at++;
  return true;
}

static bool take_fraction(struct taken *t)
{
  int scale = 100;
  const char *from = t->at;

  for (; t->at < t->end && *t->at >= '0' && *t->at <= '9'; t->at++) {
    t->civil.millisecond += (*t->at - '0') * scale;
    scale /= 10;
  }
  return t->at > from;
}

/* One digit is enough where something else than a digit must follow. */
static bool take_part(struct taken *t, const struct when_pattern *pattern, int i)
{
  bool alone = i + 1 == pattern->count ||
               (pattern->parts[i + 1] == WHEN_LITERAL &&
                !(pattern->literal[i + 1] >= '0' && pattern->literal[i + 1] <= '9'));
  int least = alone ? 1 : 2;

  switch (pattern->parts[i]) {
  case WHEN_YEAR:
    return take_number(t, 4, 4, &t->civil.year);
  case WHEN_SHORT_YEAR:
    if (!take_number(t, 2, 2, &t->civil.year))
      return false;
    t->civil.year += 2000; /* no building wrote trends before */
    return true;
  case WHEN_MONTH:
    return take_number(t, least, 2, &t->civil.month);
  case WHEN_MONTH_NAME:
    return take_month_name(t);
  case WHEN_DAY:
    return take_number(t, least, 2, &t->civil.day);
  case WHEN_HOUR:
    return take_number(t, least, 2, &t->civil.hour);
  case WHEN_MINUTE:
    return take_number(t, least, 2, &t->civil.minute);
  case WHEN_SECOND:
    return take_number(t, least, 2, &t->civil.second);
  case WHEN_FRACTION:
    return take_fraction(t);
  case WHEN_HALF_DAY:
    return take_half_day(t);
  case WHEN_LITERAL:
  case WHEN_PARTS:
  default:
    return take_literal(t, pattern->literal[i]);
  }
}

static bool settle_half_day(struct taken *t)
{
  if (!t->half_day)
    return true;
  if (t->civil.hour < 1 || t->civil.hour > 12)
    return false;
  t->civil.hour = t->civil.hour % 12 + (t->afternoon ? 12 : 0);
  return true;
}

/* "24:00" ends a day: the first moment of the next. */
static void settle_midnight(struct when_civil *c)
{
  if (c->hour != 24 || c->minute != 0 || c->second != 0 || c->millisecond != 0)
    return;
  c->hour = 0;
  if (when_is_date(c))
    c->year = (int)when_year_of_days(when_days(c->year, c->month, c->day) + 1, &c->month, &c->day);
}

/* The text copied, for the readers that want a NUL. */
static const char *terminated(const char *at, const char *end, char *room, size_t size)
{
  size_t length = (size_t)(end - at);

  if (length >= size)
    return NULL;
  memcpy(room, at, length);
  room[length] = '\0';
  return room;
}

static bool take_offset(const char *at, const char *end, struct when_taken *out)
{
  char room[16];
  const char *text = terminated(at, end, room, sizeof room), *past;

  while (text && *text == ' ')
    text++;
  if (!text || *text == '\0')
    return text != NULL;
  past = when_read_offset(text, &out->offset_s);
  out->has_offset = true;
  return past && *past == '\0';
}

bool when_pattern_take(const struct when_pattern *pattern, const char *at, size_t size,
                       struct when_taken *out)
{
  struct taken t = {.at = at, .end = at + size};
  char room[64];

  *out = (struct when_taken){0};
  if (pattern->iso) {
    const char *text = terminated(at, at + size, room, sizeof room);
    const char *past = text ? when_read_civil(text, &t.civil) : NULL;

    if (!past)
      return false;
    t.at = at + (past - text);
  }
  for (int i = 0; i < pattern->count; i++)
    if (!take_part(&t, pattern, i))
      return false;
  if (!settle_half_day(&t) || !take_offset(t.at, t.end, out))
    return false;
  settle_midnight(&t.civil);
  out->civil = t.civil;
  return when_is_date(&t.civil);
}
