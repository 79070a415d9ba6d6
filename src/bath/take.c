/* A request from keys and values: the same for the command line and for an address. */
#include "bath/bath_impl.h"

#include "base/utf8.h"

#include <string.h>

static enum err_code add(const char **list, int *count, int most, const char *key,
                         const char *value, struct err *err)
{
  if (*count == most)
    return err_set(err, ERR_INPUT, "%s: more than %d", key, most);
  list[(*count)++] = value;
  return ERR_OK;
}

static enum err_code quantity(const char *key, const char *value, enum units_dimension dimension,
                              double *si, bool *has, struct err *err)
{
  struct units_quantity q;

  if (*has)
    return err_set(err, ERR_INPUT, "%s '%.30s': said twice; one of the two", key, value);

  enum err_code code = units_parse(value, dimension, UNITS_NOTHING, &q, err);

  if (code != ERR_OK) {
    err_prefix(err, "%s '%.30s': ", key, value);
    return code;
  }
  *si = q.si;
  *has = true;
  return ERR_OK;
}

static enum err_code amount(const char *key, const char *value, enum units_dimension dimension,
                            double *si, bool *has, struct err *err)
{
  enum err_code code = quantity(key, value, dimension, si, has, err);

  if (code == ERR_OK && !(*si > 0))
    return err_set(err, ERR_INPUT, "%s '%.30s': wants more than nothing", key, value);
  return code;
}

/* What a terminal would act on is not repeated to it. */
static bool is_seen(const char *text, const char *what, struct err *err)
{
  char said[UTF8_SAID_BYTES];

  if (utf8_fault(text)) {
    (void)err_set(err, ERR_INPUT, "%s is not UTF-8: write it anew", what);
    return false;
  }
  if (utf8_unseen(text, said)) {
    (void)err_set(err, ERR_INPUT, "%s has a character that is not seen (%s): write it anew", what,
                  said);
    return false;
  }
  return true;
}

static const char **text_of(struct bath_request *r, const char *key)
{
  return strcmp(key, "name") == 0      ? &r->name
         : strcmp(key, "of") == 0      ? &r->of
         : strcmp(key, "bath") == 0    ? &r->bath
         : strcmp(key, "station") == 0 ? &r->station
         : strcmp(key, "vessel") == 0  ? &r->vessel
         : strcmp(key, "on") == 0      ? &r->on
                                       : NULL;
}

enum err_code bath_take(struct bath_request *r, const char *key, const char *value, struct err *err)
{
  BUG_IF(!r);

  const char **text = text_of(r, key);

  if (!is_seen(key, "an option's name", err) || !is_seen(value, "what an option is given", err))
    return ERR_INPUT;
  if (!*value)
    return err_set(err, ERR_INPUT, "%.40s: nothing given", key);
  if (strcmp(key, "on") == 0 && (strlen(value) != 10 || strspn(value, "0123456789-") != 10 ||
                                 value[4] != '-' || value[7] != '-'))
    return err_set(err, ERR_INPUT, "on '%.40s': wants a day as 2026-11-29", value);
  if (text && *text)
    return err_set(err, ERR_INPUT,
                   "%s '%.40s': said twice, there is '%.40s' already; one at a time", key, value,
                   *text);
  if (text) {
    *text = value;
    return ERR_OK;
  }
  if (strcmp(key, "from") == 0)
    return add(r->from, &r->from_count, BATH_PARTS_MAX - 1, key, value, err);
  if (strcmp(key, "part") == 0)
    return add(r->parts, &r->part_count, BATH_PARTS_MAX, key, value, err);
  if (strcmp(key, "to") == 0)
    return add(r->to, &r->to_count, BATH_TARGETS_MAX, key, value, err);
  if (strcmp(key, "volume") == 0)
    return amount(key, value, UNITS_VOLUME, &r->volume_m3, &r->has_volume, err);
  if (strcmp(key, "mass") == 0)
    return amount(key, value, UNITS_MASS, &r->mass_kg, &r->has_mass, err);
  if (strcmp(key, "temperature") == 0)
    return quantity(key, value, UNITS_TEMPERATURE, &r->temperature_K, &r->has_temperature, err);
  return err_set(err, ERR_USAGE,
                 "unknown option '%.40s'; known: name, station, of, to, from, part, volume, mass, "
                 "bath, temperature, vessel, on",
                 key);
}
