#ifndef TESTS_ETCH_QUESTION_H
#define TESTS_ETCH_QUESTION_H

#include "etch/etch.h"

#include "check.h"

#include <stdio.h>
#include <string.h>

/* A question of etch in one line, for the tests. */
static struct arena arena;
static const struct chem *chem;

static const double nm_min = 1e-9 / 60, um_h = 1e-6 / 3600;

/* "film=oxide-thermal|in=10 water + 1 hf-49|depth=500nm".  NULL: refused, see `said`. */
static struct err said;

static const struct chemicals *own; /* of the suite that is asked; NULL: none */

static inline const struct etch_answer *ask(const char *question)
{
  struct etch_request request = {.own = own};
  char text[600];

  said = (struct err){0};
  snprintf(text, sizeof text, "%s", question);
  for (char *pair = text; pair && *pair;) {
    char *end = strchr(pair, '|'), *equals = strchr(pair, '=');

    if (end)
      *end = '\0';
    if (!equals)
      return NULL;
    *equals = '\0';
    if (etch_take(&request, pair, equals + 1, &said) != ERR_OK)
      return NULL;
    pair = end ? end + 1 : NULL;
  }
  return etch_answer(chem, &request, &arena, &said);
}

static inline bool says(const char *const *list, int count, const char *words)
{
  for (int i = 0; i < count; i++)
    if (strstr(list[i], words))
      return true;
  return false;
}

#endif
