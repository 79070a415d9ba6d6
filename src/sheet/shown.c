#include "sheet/shown_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* 27 to 36 and 50 to 58 are dates where a workbook was made in East Asia, and nothing elsewhere. */
static const struct {
  int first, last;
  enum shown_as as;
} builtins[] = {
    {9, 10, SHOWN_PERCENT},  {14, 17, SHOWN_DATE}, {18, 21, SHOWN_TIME}, {22, 22, SHOWN_DATE_TIME},
    {27, 31, SHOWN_DATE},    {32, 35, SHOWN_TIME}, {36, 36, SHOWN_DATE}, {45, 45, SHOWN_TIME},
    {46, 46, SHOWN_ELAPSED}, {47, 47, SHOWN_TIME}, {50, 58, SHOWN_DATE},
};

struct shown shown_builtin(int id)
{
  for (size_t i = 0; i < sizeof builtins / sizeof builtins[0]; i++)
    if (id >= builtins[i].first && id <= builtins[i].last)
      return (struct shown){.as = builtins[i].as};
  return (struct shown){.as = SHOWN_NUMBER};
}

/* What the first section of a code is made of. */
struct code {
  bool year_or_day, month, hour_or_second, elapsed, percent, plain;
  bool digits_begun, digits_over, point;
  int zeros, commas;
  struct buf before, after;
};

static void add_word(struct code *c, const char *bytes, size_t count)
{
  if (c->digits_begun)
    c->digits_over = true;
  buf_add(c->digits_begun ? &c->after : &c->before, bytes, count);
}

/* "[h]" is a time that goes on past midnight, "[$...-409]" a currency and a language, "[Red]" a
 * colour, and "[<1]" a condition.  Where it ends. */
static const char *take_bracket(struct code *c, const char *at)
{
  const char *end = strchr(at, ']');

  if (!end)
    return at + strlen(at);
  if (strchr("hHmMsS", at[1]) && at[1] != '\0' &&
      strspn(at + 1, "hHmMsS") == (size_t)(end - at - 1))
    c->elapsed = true;
  else if (strchr("<>=", at[1]) && at[1] != '\0')
    c->plain = true;
  else if (at[1] == '$') {
    size_t length = strcspn(at + 2, "-]");

    add_word(c, at + 2, length);
  }
  return end + 1;
}

static void take_digit(struct code *c, char byte)
{
  c->plain |= c->digits_over; /* digits go on after a word */
  c->digits_begun = true;
  c->zeros += byte == '0' && !c->point;
  c->commas = 0;
}

static bool takes_letter(struct code *c, char byte)
{
  switch (byte) {
  case 'y':
  case 'Y':
  case 'd':
  case 'D':
  case 'e':
  case 'g':
  case 'G':
  case 'b':
  case 'B':
    c->year_or_day = true;
    return true;
  case 'm':
  case 'M':
    c->month = true;
    return true;
  case 'h':
  case 'H':
  case 's':
  case 'S':
    c->hour_or_second = true;
    return true;
  case '%':
    c->percent = true;
    c->digits_over = true;
    return true;
  default:
    return false;
  }
}

/* One thing of the code; where it ends. */
static const char *take(struct code *c, const char *at)
{
  size_t size;

  switch (*at) {
  case '"':
    size = strcspn(at + 1, "\"");
    add_word(c, at + 1, size);
    return at + 1 + size + (at[1 + size] == '"');
  case '\\':
    size = at[1] != '\0' ? 1 : 0;
    while (size > 0 && ((unsigned char)at[1 + size] & 0xc0) == 0x80)
      size++;
    add_word(c, at + 1, size);
    return at + 1 + size;
  case '_':
  case '*': /* a blank as wide as the next character; the next one repeated */
    return at + 1 + (at[1] != '\0');
  case '[':
    return take_bracket(c, at);
  case '0':
  case '#':
  case '?':
    take_digit(c, *at);
    return at + 1;
  case '.':
    c->point = true;
    return at + 1;
  case ',':
    c->commas++;
    return at + 1;
  case 'E':
    if (at[1] == '+' || at[1] == '-') { /* an exponent */
      c->plain = true;
      return at + 2;
    }
    c->year_or_day = true;
    return at + 1;
  case '/':
    c->plain |= c->digits_begun; /* a fraction */
    return at + 1;
  default:
    if (!takes_letter(c, *at))
      add_word(c, at, 1);
    return at + 1;
  }
}

/* Words without the blanks they may be made of; NULL for none.  A sign or a bracket around a
 * number is not a word. */
static const char *words(const struct buf *text, struct arena *arena)
{
  if (text->full || strspn(text->text, " -+()") == text->used)
    return NULL;
  return arena_strdup(arena, text->text);
}

static enum shown_as kind_of(const struct code *c)
{
  if (c->elapsed)
    return SHOWN_ELAPSED;
  if (c->year_or_day || (c->month && !c->hour_or_second))
    return c->hour_or_second ? SHOWN_DATE_TIME : SHOWN_DATE;
  if (c->hour_or_second)
    return SHOWN_TIME;
  return c->percent ? SHOWN_PERCENT : SHOWN_NUMBER;
}

struct shown shown_code(const char *code, struct arena *arena)
{
  struct code c = {0};
  struct shown shown = {0};

  if (strncmp(code, "General", 7) == 0) {
    c.digits_begun = true;
    code += 7;
  }
  buf_init(&c.before, 200);
  buf_init(&c.after, 200);
  while (*code != '\0' && *code != ';')
    code = take(&c, code);
  shown.as = kind_of(&c);
  if (shown.as <= SHOWN_PERCENT && !c.plain && c.digits_begun) {
    shown.before = words(&c.before, arena);
    shown.after = words(&c.after, arena);
    shown.digits = c.zeros;
    shown.thousands = c.commas;
  }
  buf_release(&c.before);
  buf_release(&c.after);
  return shown;
}

static bool put_number(double value, const struct shown *shown, struct arena *arena,
                       struct sheet_cell *cell)
{
  char digits[40], padded[80];
  double scaled = shown->as == SHOWN_PERCENT ? value * 100 : value;
  int zeros = 0;

  for (int i = 0; i < shown->thousands && i < 10; i++)
    scaled /= 1000;
  snprintf(digits, sizeof digits, "%.15g", fabs(scaled));
  if (digits[strspn(digits, "0123456789")] == '\0' && shown->digits < 20)
    zeros = shown->digits - (int)strlen(digits);
  snprintf(padded, sizeof padded, "%s%.*s%s", value < 0 ? "-" : "", zeros > 0 ? zeros : 0,
           "00000000000000000000", digits);
  cell->kind = SHEET_NUMBER;
  cell->number = value;
  cell->text =
      arena_printf(arena, "%s%s%s%s", shown->before ? shown->before : "", padded,
                   shown->as == SHOWN_PERCENT ? "%" : "", shown->after ? shown->after : "");
  return cell->text != NULL;
}

static bool is_leap(int year)
{
  return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

static int month_length(int year, int month)
{
  static const int length[12] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

  return length[month - 1] + (month == 2 && is_leap(year));
}

/* Days before a year, from the first of year 1. */
static long before_year(int year)
{
  long y = year - 1L;

  return 365 * y + y / 4 - y / 100 + y / 400;
}

enum { DAYS_BEFORE_EPOCH = 693593 }; /* 1899-12-30, counted like that */

long shown_day(int year, int month, int day)
{
  long days = before_year(year) + day - 1;

  for (int m = 1; m < month; m++)
    days += month_length(year, m);
  return days - DAYS_BEFORE_EPOCH;
}

static void date_of(long day, int *year, int *month, int *date)
{
  long days = day + DAYS_BEFORE_EPOCH;

  *year = (int)(days / 366) + 1;
  while (before_year(*year + 1) <= days)
    ++*year;
  days -= before_year(*year);
  for (*month = 1; days >= month_length(*year, *month); ++*month)
    days -= month_length(*year, *month);
  *date = (int)days + 1;
}

static bool put_time(double days, enum shown_as as, struct arena *arena, struct sheet_cell *cell)
{
  long long seconds = llround(days * 86400);
  long day = (long)(seconds / 86400);
  int of_day = (int)(seconds % 86400), year, month, date;
  int hour = of_day / 3600, minute = of_day / 60 % 60, second = of_day % 60;

  cell->kind = SHEET_DATE;
  cell->number = days;
  date_of(day, &year, &month, &date);
  if (as == SHOWN_DATE)
    cell->text = arena_printf(arena, "%04d-%02d-%02d", year, month, date);
  else if (as == SHOWN_TIME)
    cell->text = arena_printf(arena, "%02d:%02d:%02d", hour, minute, second);
  else if (as == SHOWN_ELAPSED)
    cell->text = arena_printf(arena, "%02lld:%02d:%02d", seconds / 3600, minute, second);
  else
    cell->text = arena_printf(arena, "%04d-%02d-%02dT%02d:%02d:%02d", year, month, date, hour,
                              minute, second);
  return cell->text != NULL;
}

static bool put_fault(const char *text, struct sheet_cell *cell)
{
  cell->kind = SHEET_FAULT;
  cell->text = text;
  cell->number = (double)NAN;
  return true;
}

/*
 * Serial numbers count from 1900-01-01 as 1, and the first program to use them took 1900 for a leap
 * year: 60 is a 29 February that never was, and before it every number is a day early (ECMA-376-1
 * 18.17.4.1).  In the 1904 system 0 is 1904-01-01.
 */
bool shown_number(double value, const struct shown *shown, bool from_1904, struct arena *arena,
                  struct sheet_cell *cell)
{
  enum { LAST_DAY = 2958465, EPOCH_1904 = 1462 }; /* 9999-12-31 */
  bool has_date = shown->as == SHOWN_DATE || shown->as == SHOWN_DATE_TIME;
  double days = value;

  if (!isfinite(value))
    return put_fault("#NUM!", cell);
  if (shown->as <= SHOWN_PERCENT)
    return put_number(value, shown, arena, cell);
  if (has_date && from_1904)
    days += EPOCH_1904;
  if (days < 0 || days >= LAST_DAY + 1)
    return put_fault("a day outside the calendar", cell);
  if (has_date && !from_1904 && days < 61) {
    if (days >= 60)
      return put_fault("1900-02-29", cell);
    if (days < 1)
      return put_fault("1900-01-00", cell);
    days += 1;
  }
  return put_time(days, shown->as, arena, cell);
}

static bool two_digits(const char **at, int most, int *out)
{
  const char *text = *at;

  if (text[0] < '0' || text[0] > '9' || text[1] < '0' || text[1] > '9')
    return false;
  *out = (text[0] - '0') * 10 + (text[1] - '0');
  *at = text + 2;
  return *out <= most;
}

static bool take_time(const char **at, double *seconds)
{
  int hour, minute, second = 0;
  double part = 0, weight = 1;

  if (!two_digits(at, 24, &hour) || **at != ':')
    return false;
  ++*at;
  if (!two_digits(at, 59, &minute))
    return false;
  if (**at == ':') {
    ++*at;
    if (!two_digits(at, 60, &second))
      return false;
  }
  if (**at == '.' || **at == ',')
    for (++*at; **at >= '0' && **at <= '9'; ++*at) {
      weight /= 10;
      part += (**at - '0') * weight;
    }
  *seconds = hour * 3600 + minute * 60 + second + part;
  if (**at == 'Z')
    ++*at;
  return true;
}

static bool take_date(const char **at, long *day)
{
  int century, year, month, date;

  if (!two_digits(at, 99, &century) || !two_digits(at, 99, &year) || **at != '-')
    return false;
  ++*at;
  if (!two_digits(at, 12, &month) || **at != '-' || month == 0)
    return false;
  ++*at;
  if (!two_digits(at, 31, &date) || date == 0)
    return false;
  year += century * 100;
  if (year == 0 || date > month_length(year, month))
    return false;
  *day = shown_day(year, month, date);
  return true;
}

bool shown_iso(const char *text, struct arena *arena, struct sheet_cell *cell)
{
  long day = 0;
  double seconds = 0;
  bool has_date = strchr(text, '-') != NULL, has_time = strchr(text, ':') != NULL;

  if (has_date && !take_date(&text, &day))
    return false;
  if (has_time && (*text == 'T' || *text == ' '))
    text++;
  if (has_time && !take_time(&text, &seconds))
    return false;
  if (*text != '\0' || (!has_date && !has_time) || day < 0)
    return false;

  enum shown_as as = !has_time ? SHOWN_DATE : !has_date ? SHOWN_TIME : SHOWN_DATE_TIME;

  return put_time((double)day + seconds / 86400, as, arena, cell);
}
