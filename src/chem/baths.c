#include "chem/chem.h"

#include <string.h>

/*
 * A bath's name means the same mixture to whoever asks: one table, one way to look it up.
 */

static char folded(char c)
{
  if (c >= 'A' && c <= 'Z')
    return (char)(c - 'A' + 'a');
  return c == '-' || c == '_' ? ' ' : c;
}

static bool same(const char *word, size_t length, const char *text)
{
  if (strlen(text) != length)
    return false;
  for (size_t i = 0; i < length; i++)
    if (folded(word[i]) != folded(text[i]))
      return false;
  return true;
}

static bool same_word(const char *word, const char *text)
{
  return same(word, strlen(word), text);
}

/* One of "a;b;c". */
static bool among(const char *list, const char *text)
{
  for (const char *at = list; *at;) {
    size_t length = strcspn(at, ";");

    if (length > 0 && same(at, length, text))
      return true;
    at += length + (at[length] == ';');
  }
  return false;
}

static bool is_called(const struct chem_table *t, int row, enum chem_bath_by by, const char *text)
{
  switch (by) {
  case CHEM_BATH_BY_NAME:
    return same_word(chem_cell(t, row, "id"), text) || same_word(chem_cell(t, row, "name"), text);
  case CHEM_BATH_BY_ALIAS:
    return among(chem_cell(t, row, "aliases"), text);
  case CHEM_BATH_BY_FAMILY:
    return same_word(chem_cell(t, row, "family"), text);
  default:
    return false;
  }
}

static struct chem_baths called_by(const struct chem_table *t, enum chem_bath_by by,
                                   const char *text)
{
  struct chem_baths found = {.by = by};

  for (int row = 0; *text && row < t->row_count; row++)
    if (is_called(t, row, by, text)) {
      BUG_IF(found.count == CHEM_BATHS_MAX);
      found.rows[found.count++] = row;
    }
  return found;
}

struct chem_baths chem_baths_called(const struct chem_table *baths, const char *text)
{
  struct chem_baths found = called_by(baths, CHEM_BATH_BY_NAME, text);

  if (found.count == 0)
    found = called_by(baths, CHEM_BATH_BY_ALIAS, text);
  return found.count > 0 ? found : chem_baths_of(baths, text);
}

struct chem_baths chem_baths_of(const struct chem_table *baths, const char *family)
{
  return called_by(baths, CHEM_BATH_BY_FAMILY, family);
}

int chem_bath_row(const struct chem_table *baths, const char *text)
{
  struct chem_baths found = chem_baths_called(baths, text);

  return found.count == 1 && found.by != CHEM_BATH_BY_FAMILY ? found.rows[0] : -1;
}

const char *chem_baths_words(const struct chem_table *baths, const struct chem_baths *found,
                             struct arena *arena)
{
  const char *list = "";

  for (int i = 0; i < found->count; i++)
    list =
        arena_printf(arena, "%s%s%s", list, i ? ", " : "", chem_cell(baths, found->rows[i], "id"));
  BUG_IF(!list);
  return list;
}

static bool is_there(const struct chem_substance *const *list, int count,
                     const struct chem_substance *s)
{
  for (int i = 0; i < count; i++)
    if (list[i] == s)
      return true;
  return false;
}

int chem_bath_substances(const struct chem *chem, const char *bath,
                         const struct chem_substance **out, int most, struct arena *arena)
{
  const struct chem_table *t = chem_table("bath_parts", arena);
  int count = 0;

  for (int row = 0; row < t->row_count; row++) {
    const char *part = chem_cell(t, row, "part");
    const struct chem_stock *stock = chem_find_stock(chem, part);
    const struct chem_substance *s = stock ? stock->substance : chem_find(chem, part);

    if (strcmp(chem_cell(t, row, "bath"), bath) != 0 || !s || is_there(out, count, s))
      continue;
    BUG_IF(count == most);
    out[count++] = s;
  }
  return count;
}
