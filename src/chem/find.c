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

static bool same_digits(const char *a, const char *b)
{
  static const char digits[] = "0123456789";

  for (;;) {
    a += strcspn(a, digits);
    b += strcspn(b, digits);
    if (*a != *b)
      return false;
    if (!*a)
      return true;
    a++;
    b++;
  }
}

int chem_slip(const char *text, const char *name)
{
  size_t typed = strlen(text), length = strlen(name), least = typed < length ? typed : length;
  int most = least < 5 ? 0 : least < 9 ? 1 : 2;

  if (most == 0 || strncasecmp(text, name, 1) != 0 || !same_digits(text, name) ||
      (typed > length && strncasecmp(text, name, length) == 0))
    return 0;
  int slips = spelling_distance(text, typed, name, most);

  return slips <= most ? slips : 0;
}

struct nearest {
  const char *id;
  int slips;
  bool several;
};

static void try_name(struct nearest *best, const char *text, const char *name, const char *id)
{
  int slips = chem_slip(text, name);

  if (slips == 0 || (best->id && slips > best->slips))
    return;
  best->several = best->id && slips == best->slips && (best->several || strcmp(best->id, id) != 0);
  best->id = id;
  best->slips = slips;
}

const char *chem_nearest(const struct chem *chem, const char *text)
{
  struct nearest best = {0};

  for (int i = 0; i < chem->other_count; i++)
    if (strcasecmp(chem->others[i], text) == 0)
      return NULL;
  for (int i = 0; i < chem->substance_count; i++) {
    const struct chem_substance *s = &chem->substances[i];

    try_name(&best, text, s->id, s->id);
    try_name(&best, text, s->name, s->id);
    for (int k = 0; k < s->alias_count; k++)
      try_name(&best, text, s->aliases[k], s->id);
  }
  for (int i = 0; i < chem->stock_count; i++)
    try_name(&best, text, chem->stocks[i].id, chem->stocks[i].id);
  return best.several ? NULL : best.id;
}
