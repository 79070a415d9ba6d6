#include "intake/intake_impl.h"

#include "base/utf8.h"

#include <stdio.h>
#include <string.h>

/* U+00C0 to U+017F without their accents, two bytes a letter; blanks where there is none. */
static const char latin[] = "A A A A A A AEC E E E E I I I I D N O O O O O   O U U U U Y TH"
                            "SSA A A A A A AEC E E E E I I I I D N O O O O O   O U U U U Y THY "
                            "A A A A A A C C C C C C C C D D D D E E E E E E E E E E G G G G "
                            "G G G G H H H H I I I I I I I I I I IJIJJ J K K K L L L L L L L L "
                            "L L N N N N N N N N N O O O O O O OEOER R R R R R S S S S S S S S "
                            "T T T T T T U U U U U U U U U U U U W W Y Y Y Z Z Z Z Z Z S ";

_Static_assert(sizeof latin == 2 * 192 + 1, "two bytes a letter");

static unsigned two_byte(const char *text)
{
  return ((unsigned char)text[0] & 0x1fU) << 6 | ((unsigned char)text[1] & 0x3fU);
}

static char lower(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool is_kept(char c)
{
  return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '+' || c == '%' || c == '?';
}

void intake_fold(const char *text, char *out, size_t size)
{
  size_t used = 0;
  bool gap = false;

  for (int length; *text != '\0' && used + 4 < size; text += length) {
    char letters[3] = {0};

    length = utf8_size(text);
    if (length <= 1) {
      length = 1;
      letters[0] = lower(*text);
    } else if (length == 2 && two_byte(text) >= 0xC0 && two_byte(text) <= 0x17F) {
      const char *pair = latin + (size_t)(two_byte(text) - 0xC0) * 2;

      letters[0] = lower(pair[0]);
      letters[1] = pair[1] == ' ' ? '\0' : lower(pair[1]);
    } else if (length == 2 && two_byte(text) >= 0xB2 && two_byte(text) <= 0xB3) {
      letters[0] = two_byte(text) == 0xB2 ? '2' : '3';
    }
    if (!is_kept(letters[0])) {
      gap = used > 0;
      continue;
    }
    if (gap)
      out[used++] = ' ';
    gap = false;
    out[used++] = letters[0];
    if (letters[1] != '\0')
      out[used++] = letters[1];
  }
  out[used] = '\0';
}

/* A letter or sign that folding loses and that is no dash, dot or blank: it says something. */
static bool says_more(const char *text)
{
  static const char *const nothing[] = {
      "\xc2\xa0",     "\xc2\xb7",     "\xe2\x80\x89", "\xe2\x80\xa6", "\xe2\x80\xaf",
      "\xe2\x80\x90", "\xe2\x80\x91", "\xe2\x80\x92", "\xe2\x80\x93", "\xe2\x80\x94",
      "\xe2\x80\x95", "\xe2\x88\x92", "\xef\xbb\xbf"};

  for (int length; *text != '\0'; text += length) {
    char one[8], folded[8];
    bool known = false;

    length = utf8_size(text);
    if (length <= 1) {
      length = 1;
      continue;
    }
    snprintf(one, sizeof one, "%.*s", length, text);
    intake_fold(one, folded, sizeof folded);
    for (size_t i = 0; i < sizeof nothing / sizeof nothing[0]; i++)
      known |= strcmp(one, nothing[i]) == 0;
    if (folded[0] == '\0' && !known)
      return true;
  }
  return false;
}

int intake_missing_as(const char *text)
{
  char folded[80];

  intake_fold(text, folded, sizeof folded);
  return says_more(text) ? -1 : intake_word_find(intake_missing, folded);
}

/* ---- looking words up ---- */

static int find(const struct intake_word *words, const char *text, size_t length)
{
  for (const struct intake_word *w = words; w->text; w++)
    if (strncmp(w->text, text, length) == 0 && w->text[length] == '\0')
      return w->means;
  return -1;
}

int intake_word_find(const struct intake_word *words, const char *folded)
{
  return find(words, folded, strlen(folded));
}

/* Length of the first `count` words, 0 when there are fewer. */
static size_t first_words(const char *text, int count)
{
  size_t length = 0;

  for (int i = 0; i < count; i++) {
    if (text[length] == '\0')
      return 0;
    length += i > 0;
    length += strcspn(text + length, " ");
  }
  return length;
}

/* What stands at the beginning of text, the longest phrase first. */
static int find_here(const struct intake_word *words, const char *text, size_t *length_out)
{
  for (int count = 3; count >= 1; count--) {
    size_t length = first_words(text, count);
    int means = length > 0 ? find(words, text, length) : -1;

    if (means >= 0) {
      *length_out = length;
      return means;
    }
  }
  *length_out = strcspn(text, " ");
  return -1;
}

int intake_word_in(const struct intake_word *words, const char *folded)
{
  for (const char *at = folded; *at != '\0';) {
    size_t length;
    int means = find_here(words, at, &length);

    if (means >= 0)
      return means;
    at += length;
    at += *at == ' ';
  }
  return -1;
}

int intake_word_meanings(const struct intake_word *words, const char *folded)
{
  unsigned long seen = 0;
  int count = 0;

  for (const char *at = folded; *at != '\0';) {
    size_t length;
    int means = find_here(words, at, &length);

    if (means >= 0 && !(seen >> means & 1)) {
      seen |= 1UL << means;
      count++;
    }
    at += length;
    at += *at == ' ';
  }
  return count;
}

/* Do the last two words of [text, end), or the last, stand in the list? */
static bool ends_with(const struct intake_word *words, const char *text, const char *end)
{
  int blanks = 0;

  while (end > text && end[-1] == ' ')
    end--;
  for (const char *p = end; p >= text && blanks < 2 && end > text; p--) {
    if (p > text && p[-1] != ' ')
      continue;
    if (find(words, p, (size_t)(end - p)) >= 0)
      return true;
    blanks++;
  }
  return false;
}

bool intake_word_doubted(const struct intake_word *words, const char *folded)
{
  for (const char *at = folded; *at != '\0';) {
    size_t length, behind;
    bool means = find_here(words, at, &length) >= 0;
    const char *next = at + length + (at[length] == ' ');

    if (means && (ends_with(intake_doubts_before, folded, at) ||
                  (*next != '\0' && find_here(intake_doubts_behind, next, &behind) >= 0)))
      return true;
    at = next;
  }
  return false;
}
