#include "base/spelling.h"

#include <stdbool.h>
#include <string.h>

static char small(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool same(char a, char b)
{
  return small(a) == small(b);
}

static int least(int a, int b)
{
  return a < b ? a : b;
}

/* The table method of Wagner and Fischer (1974), three rows at a time because a swap
 * looks two rows back. */
int spelling_distance(const char *a, size_t a_length, const char *b, int most)
{
  int rows[3][SPELLING_LONGEST + 1];
  size_t b_length = strlen(b);

  if (a_length > SPELLING_LONGEST || b_length > SPELLING_LONGEST)
    return most + 1;
  for (size_t j = 0; j <= b_length; j++)
    rows[0][j] = (int)j;
  for (size_t i = 1; i <= a_length; i++) {
    int *now = rows[i % 3], *before = rows[(i + 2) % 3], *older = rows[(i + 1) % 3];

    now[0] = (int)i;
    for (size_t j = 1; j <= b_length; j++) {
      now[j] = least(before[j - 1] + !same(a[i - 1], b[j - 1]), least(before[j], now[j - 1]) + 1);
      if (i > 1 && j > 1 && same(a[i - 1], b[j - 2]) && same(a[i - 2], b[j - 1]))
        now[j] = least(now[j], older[j - 2] + 1);
    }
  }
  return least(rows[a_length % 3][b_length], most + 1);
}

/* The word of the '|' list that was probably meant, of *length_out bytes; NULL: none. */
static const char *nearest(const char *key, const char *known, size_t *length_out)
{
  enum { APART_MOST = 2 };
  size_t length = strlen(key);
  int best = APART_MOST + 1;
  const char *found = NULL;

  for (const char *at = known; *at; at += strcspn(at, "|"), at += *at == '|') {
    char word[SPELLING_LONGEST + 1];
    size_t bytes = strcspn(at, "|");

    if (bytes > SPELLING_LONGEST)
      continue;
    memcpy(word, at, bytes);
    word[bytes] = '\0';

    int apart = spelling_distance(key, length, word, best - 1);

    if (apart < best && apart < (int)length) {
      best = apart;
      found = at;
      *length_out = bytes;
    }
  }
  return found;
}

void spelling_refuse(struct buf *out, const char *key, const char *known)
{
  size_t length = 0;
  const char *meant = nearest(key, known, &length);

  buf_printf(out, "no field \"%.40s\" here; ", key);
  if (meant)
    buf_printf(out, "did you mean \"%.*s\"? There are: ", (int)length, meant);
  else
    buf_puts(out, "there are: ");
  for (const char *at = known; *at; at += strcspn(at, "|"), at += *at == '|')
    buf_printf(out, "%s%.*s", at == known ? "" : ", ", (int)strcspn(at, "|"), at);
}
