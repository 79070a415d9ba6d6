#include "base/spelling.h"
#include "etch/etch_impl.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

/* ---- one row a key ---- */

enum take { TAKE_NAME, TAKE_OTHER, TAKE_NUMBER, TAKE_COUNT };

static const struct key {
  const char *key;
  enum take take;
  size_t at; /* in the request */
  enum units_dimension dimension;
  double least_si, most_si; /* wide bounds that catch a slip in the unit; no source */
  unsigned given;
} keys[] = {
#define NAME(key, field)                                                                           \
  {                                                                                                \
    key, TAKE_NAME, offsetof(struct etch_request, field), UNITS_NOTHING, 0, 0, 0                   \
  }
#define NUMBER(key, field, dimension, least, most, given)                                          \
  {                                                                                                \
    key, TAKE_NUMBER, offsetof(struct etch_request, field), UNITS_##dimension, least, most, given  \
  }
#define COUNT(key, field, least, most, given)                                                      \
  {                                                                                                \
    key, TAKE_COUNT, offsetof(struct etch_request, field), UNITS_NOTHING, least, most, given       \
  }
    NAME("film", film),
    NAME("in", bath),
    NUMBER("depth", depth_m, LENGTH, 1e-10, 1e-2, GIVEN_DEPTH),
    NUMBER("over", over_ratio, SHARE, 0, 10, GIVEN_OVER),
    NUMBER("at", at_K, TEMPERATURE, 263.15, 523.15, GIVEN_AT),
    NUMBER("strength", strength_ratio, MASS_FRACTION, 1e-6, 1, GIVEN_STRENGTH),
    NUMBER("spread-film", film_spread_ratio, SHARE, 0, 0.5, GIVEN_SPREAD_FILM),
    NUMBER("spread-rate", rate_spread_ratio, SHARE, 0, 0.5, GIVEN_SPREAD_RATE),
    NUMBER("rate", rate_m_s, ETCH_RATE, 1e-15, 1e-3, GIVEN_RATE),
    NUMBER("rate-at", rate_at_K, TEMPERATURE, 263.15, 523.15, GIVEN_RATE_AT),
    NAME("under", below),
    {"others", TAKE_OTHER, 0, UNITS_NOTHING, 0, 0, 0},
    NAME("mask", mask),
    NUMBER("mask-thickness", mask_m, LENGTH, 1e-10, 1e-2, GIVEN_MASK_THICKNESS),
    NUMBER("opening", opening_m, LENGTH, 1e-9, 1, GIVEN_OPENING),
    NUMBER("thickness", thickness_m, LENGTH, 1e-6, 1e-2, GIVEN_THICKNESS),
    COUNT("wafers", wafers, 1, 1000, GIVEN_WAFERS),
    NUMBER("wafer", wafer_m, LENGTH, 1e-3, 1, GIVEN_WAFER),
    COUNT("sides", sides, 1, 2, GIVEN_SIDES),
    NUMBER("open", open_ratio, SHARE, 0, 1, GIVEN_OPEN),
    NUMBER("volume", volume_m3, VOLUME, 1e-6, 10, GIVEN_VOLUME),
    NUMBER("fall", fall_ratio, SHARE, 0, 1, GIVEN_FALL),
    NUMBER("life", life_s, TIME, 1, 1e8, GIVEN_LIFE),
    COUNT("batches", batches, 1, 100000, GIVEN_BATCHES),
};
enum { KEY_COUNT = sizeof keys / sizeof keys[0] };

static const struct key *find_key(const char *name)
{
  for (int i = 0; i < KEY_COUNT; i++)
    if (strcmp(keys[i].key, name) == 0)
      return &keys[i];
  return NULL;
}

bool etch_has_key(const char *key)
{
  return find_key(key) != NULL;
}

static enum err_code no_such_key(const char *name, struct err *err)
{
  const char *best = NULL;
  int least = 3, before = (int)strcspn(name, "=");

  for (int i = 0; i < KEY_COUNT; i++) {
    int far = spelling_distance(name, strlen(name), keys[i].key, 2);

    if (far < least) {
      least = far;
      best = keys[i].key;
    }
  }
  if (name[before])
    return err_set(err, ERR_INPUT,
                   "no key '%.40s'; a value stands after a blank: --depth 500nm, not --depth=500nm",
                   name);
  if (best)
    return err_set(err, ERR_INPUT, "no key '%.40s'; did you mean '%s'?", name, best);
  return err_set(err, ERR_INPUT, "no key '%.40s'; 'inward etch --help' lists them", name);
}

/* ---- a name ---- */

static enum err_code take_name(char *field, const char *key, const char *value, struct err *err)
{
  size_t length = strlen(value);

  while (length > 0 && value[length - 1] == ' ')
    length--;
  while (length > 0 && *value == ' ') {
    value++;
    length--;
  }
  if (length == 0)
    return err_set(err, ERR_INPUT,
                   "%s: nothing is named; 'inward etch --list' shows what is listed", key);
  if (length >= ETCH_TEXT_MOST)
    return err_set(err, ERR_INPUT, "%s: more than %d characters", key, ETCH_TEXT_MOST - 1);
  for (size_t i = 0; i < length; i++)
    if ((unsigned char)value[i] < ' ')
      return err_set(err, ERR_INPUT, "%s: a character that does not print", key);
  memcpy(field, value, length);
  field[length] = '\0';
  return ERR_OK;
}

/* Several with commas, or the key several times. */
static enum err_code take_others(struct etch_request *r, const char *value, struct err *err)
{
  struct etch_request after = *r;
  enum err_code code = ERR_OK;

  while (code == ERR_OK) {
    size_t length = strcspn(value, ",");
    char name[ETCH_TEXT_MOST];

    if (after.other_count == ETCH_OTHERS_MAX)
      return err_set(err, ERR_INPUT, "others: more than %d films", ETCH_OTHERS_MAX);
    if (length >= sizeof name)
      return err_set(err, ERR_INPUT, "others: more than %d characters", ETCH_TEXT_MOST - 1);
    memcpy(name, value, length);
    name[length] = '\0';
    code = take_name(after.others[after.other_count], "others", name, err);
    after.other_count++;
    value += length;
    if (!*value)
      break;
    value++;
  }
  if (code == ERR_OK)
    *r = after;
  return code;
}

static enum err_code take_number(struct etch_request *r, const struct key *key, const char *value,
                                 struct err *err)
{
  double si;
  enum err_code code =
      units_parse_within(key->key, value, key->dimension, key->least_si, key->most_si, &si, err);

  if (code != ERR_OK)
    return strstr(value, "±")
               ? err_set(err, ERR_INPUT,
                         "%s: without ±; the spreads are spread-film and spread-rate", key->key)
               : code;
  *(double *)(void *)((char *)r + key->at) = si;
  r->given |= key->given;
  return ERR_OK;
}

static enum err_code take_count(struct etch_request *r, const struct key *key, const char *value,
                                struct err *err)
{
  char *end;
  long count = strtol(value, &end, 10);

  if (end == value || *end || count < (long)key->least_si || count > (long)key->most_si)
    return err_set(err, ERR_INPUT, "%s: '%.30s' is no whole number from %d to %d", key->key, value,
                   (int)key->least_si, (int)key->most_si);
  *(int *)(void *)((char *)r + key->at) = (int)count;
  r->given |= key->given;
  return ERR_OK;
}

static bool named_before(const struct etch_request *r, const struct key *key)
{
  if (key->take == TAKE_NAME)
    return ((const char *)r + key->at)[0] != '\0';
  return (r->given & key->given) != 0;
}

enum err_code etch_take(struct etch_request *request, const char *key_name, const char *value,
                        struct err *err)
{
  const struct key *key = find_key(key_name);

  if (!key)
    return no_such_key(key_name, err);
  if (named_before(request, key))
    return err_set(err, ERR_INPUT, "%s: said twice", key_name);
  switch (key->take) {
  case TAKE_NAME:
    return take_name((char *)request + key->at, key_name, value, err);
  case TAKE_OTHER:
    return take_others(request, value, err);
  case TAKE_NUMBER:
    return take_number(request, key, value, err);
  case TAKE_COUNT:
    break;
  }
  return take_count(request, key, value, err);
}
