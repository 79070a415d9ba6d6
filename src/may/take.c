#include "may/may_impl.h"

#include <string.h>
#include <strings.h>

/* A request, key by key. */

static enum err_code take_list(const char *key, const char *value, const char **list, int most,
                               int *count, struct arena *arena, struct err *err)
{
  while (*value) {
    const char *item;
    size_t length;

    value += strspn(value, " ");
    length = strcspn(value, ",");
    while (length > 0 && value[length - 1] == ' ')
      length--;
    if (length == 0)
      return err_set(err, ERR_INPUT, "%s: an entry between the commas is missing", key);
    if (*count == most)
      return err_set(err, ERR_INPUT, "%s: more than %d entries", key, most);
    item = arena_printf(arena, "%.*s", (int)length, value);
    if (!item)
      return err_set(err, ERR_INPUT, "%s: too long", key);
    list[(*count)++] = item;
    value += strcspn(value, ",");
    value += *value == ',';
  }
  return ERR_OK;
}

/* Words that people write for nobody would be counted as somebody. */
static enum err_code take_inside(const char *value, struct may_request *r, struct arena *arena,
                                 struct err *err)
{
  static const char *const nobody[] = {"none", "nobody", "no one", "noone", "no", "alone",
                                       "-",    "0",      "n/a",    "na",    "?",  "unknown"};
  enum err_code code =
      take_list("inside", value, r->inside, MAY_INSIDE_MAX, &r->inside_count, arena, err);

  r->inside_said = true;
  for (int i = 0; code == ERR_OK && i < r->inside_count; i++)
    for (size_t k = 0; k < sizeof nobody / sizeof *nobody; k++)
      if (strcasecmp(r->inside[i], nobody[k]) == 0)
        return err_set(err, ERR_INPUT,
                       "inside: '%.40s' is nobody's id; where nobody else is inside, say so: alone",
                       r->inside[i]);
  return code;
}

static enum err_code take_yes(const char *key, const char *value, bool *out, struct err *err)
{
  *out = strcmp(value, "yes") == 0;
  return *out || strcmp(value, "no") == 0
             ? ERR_OK
             : err_set(err, ERR_INPUT, "%s: '%.40s' is not an answer; write yes or no", key, value);
}

static enum err_code take_span(const char *value, double *out_s, struct err *err)
{
  struct units_quantity q;
  enum err_code code = units_parse(value, UNITS_TIME, UNITS_NOTHING, &q, err);

  if (code == ERR_OK && !(q.si > 0 && q.si <= 7 * 86400.0))
    return err_set(err, ERR_INPUT, "for: '%.40s' must be above 0 and at most 7 d", value);
  if (code == ERR_OK)
    *out_s = q.si;
  else
    err_prefix(err, "for: ");
  return code;
}

enum err_code may_take(struct may_request *r, const char *key, const char *value,
                       struct arena *arena, struct err *err)
{
  static const struct {
    const char *key;
    size_t at;
  } texts[] = {{"who", offsetof(struct may_request, who)},
               {"do", offsetof(struct may_request, process)},
               {"at", offsetof(struct may_request, station)},
               {"from", offsetof(struct may_request, from)}};

  if (strlen(value) > 400)
    return err_set(err, ERR_INPUT, "%.20s: longer than 400 characters", key);
  if (value[strspn(value, " ")] == '\0')
    return err_set(err, ERR_INPUT, "%.20s: nothing is said; leave it away where it is not known",
                   key);
  for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
    if (strcmp(texts[i].key, key) == 0) {
      const char **text = (const char **)(void *)((char *)r + texts[i].at);

      if (*text)
        return err_set(err, ERR_USAGE, "%s is said twice", key);
      *text = value;
      return ERR_OK;
    }
  if (strcmp(key, "for") == 0)
    return take_span(value, &r->lasts_s, err);
  if (strcmp(key, "alone") == 0)
    return take_yes(key, value, &r->alone, err);
  if (strcmp(key, "unattended") == 0)
    return take_yes(key, value, &r->unattended, err);
  if (strcmp(key, "names") == 0)
    return take_yes(key, value, &r->names, err);
  if (strcmp(key, "inside") == 0)
    return take_inside(value, r, arena, err);
  if (strcmp(key, "beside") == 0) {
    r->beside_said = true;
    return strcmp(value, "none") == 0
               ? ERR_OK
               : take_list(key, value, r->beside, MAY_BESIDE_MAX, &r->beside_count, arena, err);
  }
  if (strcmp(key, "confirm") != 0)
    return err_set(err, ERR_USAGE,
                   "no key '%.40s'; there are who, do, at, from, for, inside, alone, beside, "
                   "unattended, confirm, names",
                   key);
  if (r->confirm_count == MAY_CONFIRM_MAX)
    return err_set(err, ERR_INPUT, "confirm: more than %d", MAY_CONFIRM_MAX);
  r->confirm[r->confirm_count++] = value;
  return ERR_OK;
}
