#include "base/utf8.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static bool follows(unsigned char byte, unsigned char least, unsigned char most)
{
  return byte >= least && byte <= most;
}

/* RFC 3629 section 4: what the first byte allows as the second. */
static const struct {
  unsigned char first_least, first_most, second_least, second_most;
  int size;
} forms[] = {
    {0xc2, 0xdf, 0x80, 0xbf, 2}, {0xe0, 0xe0, 0xa0, 0xbf, 3}, {0xe1, 0xec, 0x80, 0xbf, 3},
    {0xed, 0xed, 0x80, 0x9f, 3}, {0xee, 0xef, 0x80, 0xbf, 3}, {0xf0, 0xf0, 0x90, 0xbf, 4},
    {0xf1, 0xf3, 0x80, 0xbf, 4}, {0xf4, 0xf4, 0x80, 0x8f, 4},
};

int utf8_size(const char *text)
{
  const unsigned char *p = (const unsigned char *)text;

  if (p[0] < 0x80)
    return 1;
  for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
    if (!follows(p[0], forms[i].first_least, forms[i].first_most))
      continue;
    if (!follows(p[1], forms[i].second_least, forms[i].second_most))
      return 0;
    for (int k = 2; k < forms[i].size; k++)
      if (!follows(p[k], 0x80, 0xbf))
        return 0;
    return forms[i].size;
  }
  return 0;
}

void utf8_mend_end(char *text)
{
  size_t used = strlen(text), start = used;

  while (start > 0 && used - start < 4 && ((unsigned char)text[start - 1] & 0xc0) == 0x80)
    start--;
  if (start == 0)
    return;
  start--;
  if ((unsigned char)text[start] >= 0xc0 && utf8_size(text + start) == 0)
    text[start] = '\0';
}

const char *utf8_fault(const char *text)
{
  while (*text) {
    int size = utf8_size(text);

    if (size == 0)
      return text;
    text += size;
  }
  return NULL;
}

static unsigned code_of(const char *text, int size)
{
  unsigned code = (unsigned char)text[0];

  if (size > 1)
    code &= 0x7fU >> size;
  for (int i = 1; i < size; i++)
    code = code << 6 | ((unsigned char)text[i] & 0x3f);
  return code;
}

static const struct {
  unsigned least, most;
  const char *does;
} unseen[] = {
    {0x0001, 0x0009, "is a control character"},
    {0x000b, 0x001f, "is a control character"},
    {0x007f, 0x009f, "is a control character"},
    {0x061c, 0x061c, "turns the order of letters round"},
    {0x200b, 0x200b, "is not seen"},
    {0x200e, 0x200f, "turns the order of letters round"},
    {0x2028, 0x2029, "begins a line unseen"},
    {0x202a, 0x202e, "turns the order of letters round"},
    {0x2060, 0x2064, "is not seen"},
    {0x2066, 0x2069, "turns the order of letters round"},
    {0xfeff, 0xfeff, "is not seen"},
    {0xfff9, 0xfffb, "is not seen"},
    {0xe0000, 0xe007f, "is not seen"},
};

const char *utf8_unseen(const char *text, char said[UTF8_SAID_BYTES])
{
  int number = 1;

  for (int size; *text && (size = utf8_size(text)) > 0; text += size, number++) {
    unsigned code = code_of(text, size);

    for (size_t i = 0; i < sizeof unseen / sizeof *unseen; i++)
      if (code >= unseen[i].least && code <= unseen[i].most) {
        snprintf(said, UTF8_SAID_BYTES, "character %d, U+%04X, %s; leave it out", number, code,
                 unseen[i].does);
        return text;
      }
  }
  return NULL;
}

int utf8_count(const char *text, size_t bytes)
{
  int count = 0;

  for (size_t i = 0; i < bytes; i++)
    count += ((unsigned char)text[i] & 0xc0) != 0x80;
  return count;
}
