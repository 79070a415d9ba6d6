#include "chem/chem.h"

#include "base/spelling.h"

#include <string.h>
#include <strings.h>

/* Check digit of a CAS number: the other digits from the right, times 1, 2, 3 ..., modulo ten
 * (CAS Registry, "check digit verification"; value from memory, checked on every row of ours). */
bool chem_cas_valid(const char *text)
{
  size_t length = strlen(text);
  int sum = 0, weight = 1;

  if (length < 7 || length > 12 || text[length - 2] != '-' || text[length - 5] != '-')
    return false;
  for (size_t i = 0; i < length; i++)
    if (i != length - 2 && i != length - 5 && !(text[i] >= '0' && text[i] <= '9'))
      return false;
  for (size_t i = length - 2; i-- > 0;)
    if (text[i] != '-')
      sum += weight++ * (text[i] - '0');
  return sum % 10 == text[length - 1] - '0';
}

static bool is_called(const struct chem_substance *s, const char *text)
{
  if (strcasecmp(s->id, text) == 0 || strcasecmp(s->name, text) == 0 || strcmp(s->cas, text) == 0 ||
      strcasecmp(s->formula, text) == 0)
    return true;
  for (int i = 0; i < s->alias_count; i++)
    if (strcasecmp(s->aliases[i], text) == 0)
      return true;
  return false;
}

const struct chem_substance *chem_find(const struct chem *chem, const char *text)
{
  for (int i = 0; i < chem->substance_count; i++)
    if (is_called(&chem->substances[i], text))
      return &chem->substances[i];
  return NULL;
}

const struct chem_stock *chem_find_stock(const struct chem *chem, const char *text)
{
  for (int i = 0; i < chem->stock_count; i++)
    if (strcasecmp(chem->stocks[i].id, text) == 0 || strcasecmp(chem->stocks[i].name, text) == 0)
      return &chem->stocks[i];
  return NULL;
}

struct nearest {
  const char *id;
  int distance;
};

static void try_word(struct nearest *best, const char *text, const char *word, const char *id)
{
  int distance = spelling_distance(text, strlen(text), word, best->distance - 1);

  if (distance < best->distance)
    *best = (struct nearest){id, distance};
}

const char *chem_nearest(const struct chem *chem, const char *text)
{
  int most = strlen(text) < 6 ? 1 : 3;
  struct nearest best = {NULL, most + 1};

  for (int i = 0; i < chem->substance_count; i++) {
    const struct chem_substance *s = &chem->substances[i];

    try_word(&best, text, s->id, s->id);
    try_word(&best, text, s->name, s->id);
    for (int k = 0; k < s->alias_count; k++)
      try_word(&best, text, s->aliases[k], s->id);
  }
  for (int i = 0; i < chem->stock_count; i++)
    try_word(&best, text, chem->stocks[i].id, chem->stocks[i].id);
  return best.id;
}
