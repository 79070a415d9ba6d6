#include "units/units_impl.h"

#include <stdint.h>
#include <string.h>

static const struct units_unit table[] = {

#define UNIT(text, dimension, zero, factor, per, source)                                           \
  {text, UNITS_##dimension, zero, factor, per, source},
#define PRESSURE(text, factor, per, source)                                                        \
  UNIT(text, PRESSURE_DIFFERENCE, 0, factor, per, source)                                          \
  UNIT(text, GAUGE_PRESSURE, 0, factor, per, source)                                               \
  UNIT(text "(g)", GAUGE_PRESSURE, 0, factor, per, source)                                         \
  UNIT(text "(a)", ABSOLUTE_PRESSURE, 0, factor, per, source)
#define ALSO(text, means)
#include "units/units.def"
#undef UNIT
#undef PRESSURE
#undef ALSO
};

static const struct units_spelling spellings[] = {

#define UNIT(text, dimension, zero, factor, per, source)
#define PRESSURE(text, factor, per, source)
#define ALSO(text, means) {text, means},
#include "units/units.def"
#undef UNIT
#undef PRESSURE
#undef ALSO
};

static const struct {
  const char *si_text, *words;
} dimensions[UNITS_DIMENSION_COUNT] = {

#define DIMENSION(name, si_text, words) [UNITS_##name] = {si_text, words},
#include "units/dimensions.def"
#undef DIMENSION
};

enum {
  TABLE_COUNT = sizeof table / sizeof table[0],
  SPELLING_COUNT = sizeof spellings / sizeof spellings[0]
};

int units_count(void)
{
  return TABLE_COUNT;
}

const struct units_unit *units_at(int index)
{
  BUG_IF(index < 0 || index >= TABLE_COUNT);
  return &table[index];
}

int units_spelling_count(void)
{
  return SPELLING_COUNT;
}

const struct units_spelling *units_spelling_at(int index)
{
  BUG_IF(index < 0 || index >= SPELLING_COUNT);
  return &spellings[index];
}

const char *units_si_text(enum units_dimension dimension)
{
  BUG_IF((int)dimension < 0 || dimension >= UNITS_DIMENSION_COUNT);
  return dimensions[dimension].si_text;
}

const char *units_words(enum units_dimension dimension)
{
  BUG_IF((int)dimension < 0 || dimension >= UNITS_DIMENSION_COUNT);
  return dimensions[dimension].words;
}

static void list(enum units_dimension dimension, size_t size, struct buf *out)
{
  size_t start = out->used;

  for (int i = 0; i < TABLE_COUNT; i++) {
    if (table[i].dimension != dimension || table[i].text[0] == '\0')
      continue;
    if (out->used + strlen(table[i].text) + 2 > start + size) {
      buf_puts(out, " ...");
      return;
    }
    buf_printf(out, "%s%s", out->used == start ? "" : ", ", table[i].text);
  }
}

void units_list(enum units_dimension dimension, struct buf *out)
{
  list(dimension, SIZE_MAX / 2, out);
}

void units_list_some(enum units_dimension dimension, struct buf *out)
{
  list(dimension, 60, out);
}

/* Longest first where one is the start of another. */
static const struct {
  const char *written, *read;
} characters[] = {
    {"\xc2\xb2", "2"},
    {"\xc2\xb3", "3"},
    {"\xc2\xb9", "1"}, /* superscripts */
    {"\xe2\x81\xb0", "0"},
    {"\xe2\x81\xb4", "4"},
    {"\xe2\x81\xb5", "5"},
    {"\xe2\x81\xb6", "6"},
    {"\xe2\x81\xb7", "7"},
    {"\xe2\x81\xbb", "-"},
    {"\xe2\x81\xbf", "n"},
    {"^", ""},
    {"\xc2\xb5", "u"},
    {"\xce\xbc", "u"},
    {"\xc2\xb0", "deg"},
    {"\xe2\x84\x83", "degC"},
    {"\xe2\x84\x89", "degF"}, /* signs */
    {"\xc2\xb7", " "},
    {"\xe2\x8b\x85", " "},
    {"*", " "}, /* products */
    {"\t", " "},
    {"\xc2\xa0", " "},
    {"\xe2\x80\xaf", " "},
    {"\xe2\x80\x89", " "}, /* blanks */
};

static const char *read_character(const char **p, const char *end, char plain[2])
{
  for (size_t i = 0; i < sizeof characters / sizeof characters[0]; i++) {
    size_t length = strlen(characters[i].written);

    if ((size_t)(end - *p) >= length && memcmp(*p, characters[i].written, length) == 0) {
      *p += length;
      return characters[i].read;
    }
  }
  plain[0] = *(*p)++;
  plain[1] = '\0';
  return plain;
}

/* No blank at either end, none after another, none beside '/', none before '(' or ')'. */
static bool blank_goes(char before, char after)
{
  return before == '\0' || before == ' ' || before == '/' || before == '(' || after == '\0' ||
         after == '/' || after == '(' || after == ')';
}

static void close_blanks(char *text)
{
  size_t used = 0;

  for (size_t i = 0; text[i] != '\0'; i++) {
    size_t next = i;

    while (text[next] == ' ')
      next++;
    if (text[i] != ' ' || !blank_goes(used ? text[used - 1] : '\0', text[next]))
      text[used++] = text[i];
  }
  text[used] = '\0';
}

bool units_normalise(const char *begin, const char *end, char out[UNITS_TEXT_SIZE])
{
  char plain[2];
  size_t used = 0;

  for (const char *p = begin; p < end;) {
    const char *piece = read_character(&p, end, plain);
    size_t length = strlen(piece);

    if (used + length >= UNITS_TEXT_SIZE)
      return false;
    memcpy(out + used, piece, length);
    used += length;
  }
  out[used] = '\0';
  close_blanks(out);
  return true;
}

static const char *meant(const char *text)
{
  for (int i = 0; i < SPELLING_COUNT; i++)
    if (spellings[i].text[0] == text[0] && strcmp(spellings[i].text, text) == 0)
      return spellings[i].means;
  return text;
}

const struct units_unit *units_find(const char *text, enum units_dimension want)
{
  text = meant(text);
  for (int i = 0; i < TABLE_COUNT; i++)
    if ((want == UNITS_NOTHING || table[i].dimension == want) && table[i].text[0] == text[0] &&
        strcmp(table[i].text, text) == 0)
      return &table[i];
  return NULL;
}

double units_to_si(const struct units_unit *unit, double value)
{
  return (value - unit->zero) * unit->factor / unit->per;
}

double units_from_si(const struct units_unit *unit, double si)
{
  return si * unit->per / unit->factor + unit->zero;
}

bool units_knows(const char *text, enum units_dimension dimension)
{
  char normal[UNITS_TEXT_SIZE];

  return units_normalise(text, text + strlen(text), normal) &&
         units_find(normal, dimension) != NULL;
}
