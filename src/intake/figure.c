#include "intake/intake_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* One cell's text to one figure, or to the reason why not. */
struct reading {
  const char *at;
  const struct figure_wanted *wanted;
  struct arena *arena;
  struct figure *out;
  char digits[40]; /* as a suite writes the number */
};

static size_t blank(const char *p)
{
  if (*p == ' ' || *p == '\t' || *p == '\n' || *p == '\r')
    return 1;
  if (strncmp(p, "\xc2\xa0", 2) == 0)
    return 2;
  return strncmp(p, "\xe2\x80\xaf", 3) == 0 || strncmp(p, "\xe2\x80\x89", 3) == 0 ? 3 : 0;
}

static const char *skip_blanks(const char *p)
{
  for (size_t length; (length = blank(p)) > 0;)
    p += length;
  return p;
}

static bool bad(struct reading *r, const char *why)
{
  r->out->state = FIGURE_BAD;
  r->out->why = why;
  return false;
}

static bool is_digit(char c)
{
  return c >= '0' && c <= '9';
}

static size_t digits_at(const char *p)
{
  size_t length = 0;

  while (is_digit(p[length]))
    length++;
  return length;
}

/* ---- the number ---- */

struct marks {
  const char *begin, *end;
  int commas, points, quotes, gaps;
  bool groups_of_three; /* behind every mark but the last */
  size_t first, last;   /* digits before the first mark, behind the last */
  char last_mark;
};

static size_t mark_at(const char *p, char *mark)
{
  size_t length = blank(p);

  if ((*p == ',' || *p == '.' || *p == '\'') && is_digit(p[1])) {
    *mark = *p;
    return 1;
  }
  *mark = ' ';
  return length > 0 && *p != '\n' && digits_at(p + length) == 3 ? length : 0;
}

static struct marks scan(const char *p)
{
  struct marks m = {.begin = p, .groups_of_three = true};
  size_t group = digits_at(p), length;
  char mark;

  m.first = group;
  p += group;
  while ((length = mark_at(p, &mark)) > 0) {
    if (m.last_mark != '\0' && group != 3)
      m.groups_of_three = false;
    m.commas += mark == ',';
    m.points += mark == '.';
    m.quotes += mark == '\'';
    m.gaps += mark == ' ';
    m.last_mark = mark;
    p += length;
    group = digits_at(p);
    p += group;
  }
  m.last = group;
  m.end = p;
  return m;
}

/* Copies the digits, with a point for the last mark when it is decimal. */
static void write_digits(struct reading *r, const struct marks *m, bool decimal)
{
  size_t used = 0;
  const char *point = decimal ? m->end - m->last - 1 : NULL;

  for (const char *p = m->begin; p < m->end && used + 1 < sizeof r->digits; p++)
    if (is_digit(*p))
      r->digits[used++] = *p;
    else if (p == point)
      r->digits[used++] = '.';
  r->digits[used] = '\0';
}

static enum figure_mark only_plausible(const struct reading *r);

/* What the marks inside a number mean; false: it cannot be told. */
static bool read_marks(struct reading *r, const struct marks *m)
{
  int comma_or_point = m->commas + m->points, all = comma_or_point + m->quotes + m->gaps;
  bool thousands_before = m->first >= 1 && m->first <= 3 && m->groups_of_three;

  if (m->end - m->begin > 30)
    return bad(r, "is too long for a figure");
  if (all == 0) {
    write_digits(r, m, false);
    return true;
  }
  if (m->quotes + m->gaps == all || (all > 1 && (m->commas == all || m->points == all))) {
    if (!thousands_before || m->last != 3)
      return bad(r, "has marks that do not stand before every three digits; type the number "
                    "without thousands marks");
    write_digits(r, m, false);
    return true;
  }
  if (all > 1) { /* two kinds: the last is decimal, and stands once */
    bool once = m->last_mark == ',' ? m->commas == 1 : m->last_mark == '.' && m->points == 1;

    if (!once || !thousands_before)
      return bad(r, "mixes marks so that nobody can tell; type the number with one decimal mark");
    write_digits(r, m, true);
    return true;
  }
  if (m->last != 3 || m->first > 3 || m->begin[0] == '0' || m->first == 0 ||
      r->wanted->mark == MARK_DECIMAL) {
    write_digits(r, m, true);
    return true;
  }
  if (r->wanted->mark == MARK_THOUSANDS) {
    write_digits(r, m, false);
    return true;
  }
  write_digits(r, m, true);

  enum figure_mark only = only_plausible(r);

  if (only != MARK_ASK) {
    write_digits(r, m, only == MARK_DECIMAL);
    return true;
  }
  r->out->needs_mark = true;
  return bad(r, "may be a thousand times more or less: the mark may be a decimal or a thousands "
                "mark; type it without the mark, or with another number of decimals");
}

/* "1.450" as a length in m: 1450 m wide is nothing, so it is 1.450 m.  Flows may be either. */
static enum figure_mark only_plausible(const struct reading *r)
{
  struct units_quantity one;
  char text[40];

  if (r->wanted->dimension != UNITS_LENGTH || !r->wanted->unit)
    return MARK_ASK;
  snprintf(text, sizeof text, "1 %s", r->wanted->unit);
  if (units_parse(text, UNITS_LENGTH, UNITS_NOTHING, &one, NULL) != ERR_OK)
    return MARK_ASK;

  double as_decimal = strtod(r->digits, NULL) * one.si, as_thousands = as_decimal * 1000.0;
  bool decimal = as_decimal >= r->wanted->low_si && as_decimal <= r->wanted->high_si;
  bool thousands = as_thousands >= r->wanted->low_si && as_thousands <= r->wanted->high_si;

  if (decimal == thousands)
    return MARK_ASK;
  return decimal ? MARK_DECIMAL : MARK_THOUSANDS;
}

/* ---- fractions: "17 1/2", "1/2", "17½" ---- */

static const struct {
  const char *sign;
  double value_ratio;
} vulgar[] = {{"\xc2\xbd", 0.5},       {"\xc2\xbc", 0.25},      {"\xc2\xbe", 0.75},
              {"\xe2\x85\x9b", 0.125}, {"\xe2\x85\x9c", 0.375}, {"\xe2\x85\x9d", 0.625},
              {"\xe2\x85\x9e", 0.875}};

static bool read_fraction(const char **at, double *value)
{
  const char *p = *at;

  for (size_t i = 0; i < sizeof vulgar / sizeof vulgar[0]; i++)
    if (strncmp(p, vulgar[i].sign, strlen(vulgar[i].sign)) == 0) {
      *value = vulgar[i].value_ratio;
      *at = p + strlen(vulgar[i].sign);
      return true;
    }

  size_t above = digits_at(p);

  if (above == 0 || above > 2 || p[above] != '/')
    return false;

  size_t below = digits_at(p + above + 1);
  double over = strtod(p, NULL), under = strtod(p + above + 1, NULL);

  if (below == 0 || below > 2 || over >= under || fmod(under, 2.0) != 0.0)
    return false;
  *value = over / under;
  *at = p + above + 1 + below;
  return true;
}

static bool read_number(struct reading *r)
{
  double fraction;

  if (read_fraction(&r->at, &fraction)) {
    snprintf(r->digits, sizeof r->digits, "%.10g", fraction);
    return true;
  }
  if (*r->at == '-' || strncmp(r->at, "\xe2\x88\x92", 3) == 0)
    return bad(r, "is negative; nothing in this column can be");
  r->at += *r->at == '+';

  bool bare_point = (*r->at == '.' || *r->at == ',') && is_digit(r->at[1]);

  if (!is_digit(*r->at) && !bare_point)
    return bad(r, "is no figure; type a number, or '-' where there is none");

  struct marks m = scan(r->at);
  const char *rest = skip_blanks(m.end);

  if (!read_marks(r, &m))
    return false;
  r->at = m.end;
  if (m.last_mark == '\0' && read_fraction(&rest, &fraction)) {
    snprintf(r->digits, sizeof r->digits, "%.10g", strtod(r->digits, NULL) + fraction);
    r->at = rest;
  }
  return true;
}

/* ---- what stands around it ---- */

static void skip_about(struct reading *r)
{
  static const char *const words[] = {"ca.",     "circa",  "ca ",          "approx.", "approx",
                                      "about",   "~",      "\xe2\x89\x88", "etwa",    "env.",
                                      "environ", "aprox.", "ong.",         "c."};

  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
    size_t length = strlen(words[i]);
    bool same = true;

    for (size_t k = 0; k < length && same; k++)
      same = (r->at[k] >= 'A' && r->at[k] <= 'Z' ? r->at[k] + 32 : r->at[k]) == words[i][k];
    if (same) {
      r->at = skip_blanks(r->at + length);
      r->out->about = true;
      return;
    }
  }
}

/* Feet and inches: 5' 6", 5 ft 6 in.  The text behind the feet, or NULL. */
static const char *inches_behind(const char *unit_end)
{
  const char *p = skip_blanks(unit_end);

  return is_digit(*p) ? p : NULL;
}

static bool is_letter(char c)
{
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* "±" as keyboards have it; how many bytes, or 0. */
static size_t spread_sign(const char *p)
{
  static const char *const signs[] = {"\xc2\xb1", "+/-", "+-"};

  for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++)
    if (strncmp(p, signs[i], strlen(signs[i])) == 0)
      return strlen(signs[i]);
  return 0;
}

/* Digits belong to a unit behind a letter only: m3/h, but 5' 6". */
static const char *unit_end(const char *begin)
{
  const char *p = begin;

  while (*p != '\0' && *p != '(' && *p != '[' && *p != ';' && *p != ',' &&
         !(is_digit(*p) && (p == begin || !is_letter(p[-1]))) && spread_sign(p) == 0)
    p++;
  return p;
}

static char *copy_trimmed(struct arena *arena, const char *begin, const char *end)
{
  while (end > begin && (end[-1] == ' ' || end[-1] == '\t' || end[-1] == '\n' || end[-1] == '\r'))
    end--;
  return arena_printf(arena, "%.*s", (int)(end - begin), begin);
}

/* "5.Jan", "05-May": what a spreadsheet shows for a date it made of 1-5. */
static bool is_month(const char *text)
{
  static const struct intake_word months[] = {
      {"jan", 0}, {"feb", 0}, {"mar", 0}, {"mrz", 0}, {"apr", 0}, {"may", 0}, {"mai", 0},
      {"jun", 0}, {"jul", 0}, {"aug", 0}, {"sep", 0}, {"oct", 0}, {"okt", 0}, {"nov", 0},
      {"dec", 0}, {"dez", 0}, {"ene", 0}, {"mei", 0}, {"fev", 0}, {"avr", 0}, {NULL, 0}};
  char folded[40];

  intake_fold(text, folded, sizeof folded);
  folded[strcspn(folded, " ")] = '\0';
  return intake_word_find(months, folded) >= 0;
}

/* "810-870", "810 to 870": what stands between the two. */
static bool is_between(const char *text)
{
  static const char *const words[] = {"-",   "\xe2\x80\x93", "\xe2\x80\x94", "to",
                                      "bis", "tot",          "..",           "..."};

  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcmp(text, words[i]) == 0)
      return true;
  return false;
}

/* The unit behind the number, or that of the column. */
static const char *read_unit(struct reading *r, bool *ok)
{
  const char *begin = skip_blanks(r->at), *end = unit_end(begin);
  const char *text = copy_trimmed(r->arena, begin, end);

  *ok = true;
  if (text[0] == '\0')
    return r->wanted->unit;

  const char *unit = intake_unit(text, r->wanted->dimension);

  if (!unit && is_month(text)) {
    *ok =
        bad(r, "is a date: the spreadsheet may have made it of something like 1-5; format the cell "
               "as text and type it again");
    return NULL;
  }
  if (!unit && is_between(text) && is_digit(*end)) {
    *ok = bad(r, "is a range; type one figure and how sure it is, as in 840 +/- 30");
    return NULL;
  }
  if (!unit) {
    *ok =
        bad(r, intake_unit(text, UNITS_STANDARD_FLOW)
                   ? "is a flow at standard conditions that it does not state; give the actual flow"
                   : "has something behind the number that is no unit of this column");
    return NULL;
  }
  r->at = end;
  return unit;
}

static bool add_inches(struct reading *r, const char **unit)
{
  const char *more = *unit && strcmp(*unit, "ft") == 0 ? inches_behind(r->at) : NULL;
  double feet = strtod(r->digits, NULL);
  bool ok;

  if (!more)
    return true;
  r->at = more;
  if (!read_number(r))
    return false;

  const char *inches = read_unit(r, &ok);

  if (!ok || !inches || strcmp(inches, "in") != 0)
    return ok ? bad(r, "has a second number; one figure belongs here") : false;
  snprintf(r->digits, sizeof r->digits, "%.10g", feet * 12.0 + strtod(r->digits, NULL));
  *unit = "in";
  return true;
}

/* "± 20", "± 10 %": as a suite writes it, or "" */
static const char *read_spread(struct reading *r, const char *unit)
{
  const char *p = skip_blanks(r->at);
  size_t sign = spread_sign(p);
  char value[sizeof r->digits];

  if (sign == 0)
    return "";
  snprintf(value, sizeof value, "%s", r->digits);
  r->at = skip_blanks(p + sign);
  if (!read_number(r))
    return NULL;

  const char *text;

  p = skip_blanks(r->at);
  if (*p == '%') {
    r->at = p + 1;
    text = arena_printf(r->arena, " \xc2\xb1 %s %%", r->digits);
  } else {
    bool ok;
    const char *own = read_unit(r, &ok);

    if (!ok)
      return NULL;
    own = own ? own : unit;
    text = arena_printf(r->arena, " \xc2\xb1 %s%s%s", r->digits, own ? " " : "", own ? own : "");
  }
  snprintf(r->digits, sizeof r->digits, "%s", value);
  return text;
}

static bool read_rest(struct reading *r)
{
  const char *p = skip_blanks(r->at);
  size_t length = strlen(p);

  if (*p == '\0')
    return true;
  if ((*p == '(' && p[length - 1] == ')') || (*p == '[' && p[length - 1] == ']')) {
    r->out->more = copy_trimmed(r->arena, p + 1, p + length - 1);
    return true;
  }
  return bad(r, "has more than one figure; one belongs here, and the rest in the remarks");
}

/* Checks the whole against the table of units, and the range. */
static void weigh(struct reading *r, const char *unit, const char *spread)
{
  struct figure *out = r->out;
  struct units_quantity got;
  struct err err = {0};

  out->text =
      arena_printf(r->arena, "%s%s%s%s", r->digits, unit ? " " : "", unit ? unit : "", spread);
  out->si = (double)NAN;
  if (!unit) {
    out->needs_unit = true;
    out->state = FIGURE_GIVEN;
    return;
  }
  if (units_parse(out->text, r->wanted->dimension, UNITS_NOTHING, &got, &err) != ERR_OK) {
    bad(r, "cannot be read as a quantity; type a number and, if need be, its unit");
    return;
  }
  out->si = got.si;
  out->state = FIGURE_GIVEN;
  out->needs_check = got.si < r->wanted->low_si || got.si > r->wanted->high_si;
}

struct figure intake_figure(const char *text, const struct figure_wanted *wanted,
                            struct arena *arena)
{
  struct figure out = {.state = FIGURE_NONE, .si = (double)NAN};
  struct reading r = {.at = skip_blanks(text), .wanted = wanted, .arena = arena, .out = &out};
  int missing = intake_missing_as(text);
  bool ok;

  if (missing >= 0) {
    out.state = missing == 0 ? FIGURE_NONE : FIGURE_NOT_KNOWN;
    return out;
  }
  skip_about(&r);
  if (!read_number(&r))
    return out;

  const char *unit = read_unit(&r, &ok);

  if (!ok || !add_inches(&r, &unit))
    return out;

  const char *spread = read_spread(&r, unit);

  if (!spread || !read_rest(&r))
    return out;
  weigh(&r, unit, spread);
  return out;
}
