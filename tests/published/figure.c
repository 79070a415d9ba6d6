/* Figures picked out of an answer.  Grammar: program.h. */
#include "program.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct reader {
  const json_t *answer;
  const char *at;
  int depth;
};

static const json_t *entry(const json_t *list, const char *id)
{
  char *end;
  unsigned long number = strtoul(id, &end, 10);

  if (end != id && *end == '\0')
    return json_array_get(list, number);
  for (size_t i = 0; i < json_array_size(list); i++) {
    const json_t *item = json_array_get(list, i);
    const char *own = json_string_value(json_object_get(item, "id"));

    if (own && strcmp(own, id) == 0)
      return item;
  }
  return NULL;
}

static const char *take_word(const char *at, const char *stops, char *word, size_t size)
{
  size_t length = strcspn(at, stops);

  snprintf(word, size, "%.*s", (int)length, at);
  return at + length;
}

/* Follows a path as far as it goes; *end_out is the first byte that is none of it. */
static const json_t *follow(const json_t *from, const char *path, const char **end_out)
{
  char word[80];

  for (;;) {
    path = take_word(path, ".[ )", word, sizeof word);
    from = json_object_get(from, word);
    while (*path == '[') {
      path = take_word(path + 1, "]", word, sizeof word);
      path += *path == ']';
      from = entry(from, word);
    }
    if (*path != '.')
      break;
    path++;
  }
  *end_out = path;
  return from;
}

static void blanks(struct reader *r)
{
  while (*r->at == ' ')
    r->at++;
}

static double sum(struct reader *r);

static double factor(struct reader *r)
{
  const json_t *found;

  blanks(r);
  if (*r->at == '(' && r->depth < 8) {
    double value;

    r->at++;
    r->depth++;
    value = sum(r);
    r->depth--;
    blanks(r);
    if (*r->at != ')')
      return NAN;
    r->at++;
    return value;
  }
  if (isdigit((unsigned char)*r->at)) {
    char *end;
    double value = strtod(r->at, &end);

    r->at = end;
    return value;
  }
  found = follow(r->answer, r->at, &r->at);
  return json_is_number(found) ? json_number_value(found) : (double)NAN;
}

static double product(struct reader *r)
{
  double value = factor(r);

  for (blanks(r); *r->at == '*' || *r->at == '/'; blanks(r)) {
    char sign = *r->at++;
    double other = factor(r);

    value = sign == '*' ? value * other : value / other;
  }
  return value;
}

static double sum(struct reader *r)
{
  double value = product(r);

  for (blanks(r); *r->at == '+' || *r->at == '-'; blanks(r)) {
    char sign = *r->at++;
    double other = product(r);

    value = sign == '+' ? value + other : value - other;
  }
  return value;
}

double figure_number(const json_t *answer, const char *expression)
{
  struct reader r = {answer, expression, 0};
  double value = sum(&r);

  return *r.at ? (double)NAN : value;
}

const char *figure_text(const json_t *answer, const char *path, char *room, size_t size)
{
  const char *end;
  const json_t *found = follow(answer, path, &end);

  if (!found || *end)
    return NULL;
  if (json_is_string(found))
    return json_string_value(found);
  if (json_is_boolean(found))
    return json_is_true(found) ? "true" : "false";
  if (json_is_null(found))
    return "null";
  snprintf(room, size, "%.17g", json_number_value(found));
  return room;
}
