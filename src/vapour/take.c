/* What is asked: keys and values of the command line and of an address alike. */
#include "vapour/vapour_impl.h"

#include <math.h>
#include <string.h>

static const struct {
  const char *word;
  enum vapour_from from;
} sources[] = {{"beaker", VAPOUR_BEAKER},
               {"bath", VAPOUR_BATH},
               {"deck-spill", VAPOUR_DECK_SPILL},
               {"floor-spill", VAPOUR_FLOOR_SPILL}};

/* Of two values nobody knows which was meant. */
static enum err_code said_twice(const char *key, struct err *err)
{
  return err_set(err, ERR_INPUT, "%s: said twice; leave one of them away", key);
}

static enum err_code take_text(const char *key, const char *value, const char **out,
                               struct err *err)
{
  if (*out)
    return said_twice(key, err);
  *out = value;
  return ERR_OK;
}

static enum err_code take_from(struct vapour_request *r, const char *value, struct err *err)
{
  if (r->from != VAPOUR_FROM_NOTHING)
    return said_twice("from", err);
  for (size_t i = 0; i < sizeof sources / sizeof *sources; i++)
    if (strcmp(sources[i].word, value) == 0) {
      r->from = sources[i].from;
      return ERR_OK;
    }
  return err_set(err, ERR_INPUT, "from '%.40s': beaker, bath, deck-spill or floor-spill", value);
}

static enum err_code take_by(struct vapour_request *r, const char *value, struct err *err)
{
  if (r->by != VAPOUR_BY_NOTHING)
    return said_twice("by", err);
  if (strcmp(value, "mass") == 0)
    r->by = VAPOUR_BY_MASS;
  else if (strcmp(value, "volume") == 0)
    r->by = VAPOUR_BY_VOLUME;
  else
    return err_set(err, ERR_INPUT, "by '%.40s': mass or volume", value);
  return ERR_OK;
}

static enum err_code take_of(struct vapour_request *r, const char *value, struct err *err)
{
  if (!*value)
    return err_set(err, ERR_INPUT, "of: which substance? acetone, or hf@49wt%%");
  if (r->of_count == VAPOUR_PARTS_MAX)
    return err_set(err, ERR_INPUT, "of: at most %d parts", VAPOUR_PARTS_MAX);
  r->of[r->of_count++] = value;
  return ERR_OK;
}

static enum err_code take_si(const char *key, const char *value, enum units_dimension dimension,
                             const struct vapour_band *allowed, double *out_si, struct err *err)
{
  return units_parse_within(key, value, dimension, allowed->low_si, allowed->high_si, out_si, err);
}

/* "0.3..1" or one figure for both ends; a unit after the last counts for both. */
static enum err_code take_band(const char *key, const char *value, enum units_dimension dimension,
                               const struct vapour_band *allowed, struct vapour_band *out,
                               struct err *err)
{
  const char *dots = strstr(value, ".."), *unit;
  char first[64];
  struct vapour_band band;
  enum err_code code;

  if (out->high_si > 0)
    return said_twice(key, err);
  if (!dots) {
    code = take_si(key, value, dimension, allowed, &band.low_si, err);
    if (code == ERR_OK)
      *out = (struct vapour_band){band.low_si, band.low_si};
    return code;
  }
  if ((size_t)(dots - value) >= sizeof first / 2 || strlen(dots) >= sizeof first / 2)
    return err_set(err, ERR_INPUT, "%s: '%.40s' is too long for a range such as 0.3..1", key,
                   value);
  unit = dots + 2 + strspn(dots + 2, "0123456789.eE-+ ");
  memcpy(first, value, (size_t)(dots - value));
  first[dots - value] = '\0';
  if (first[strspn(first, "0123456789.eE-+ ")] == '\0')
    snprintf(first + (dots - value), sizeof first - (size_t)(dots - value), "%s", unit);
  code = take_si(key, first, dimension, allowed, &band.low_si, err);
  if (code == ERR_OK)
    code = take_si(key, dots + 2, dimension, allowed, &band.high_si, err);
  if (code != ERR_OK)
    return code;
  if (band.low_si > band.high_si)
    return err_set(err, ERR_INPUT, "%s: '%.40s' runs downwards; the lower end comes first", key,
                   value);
  *out = band;
  return ERR_OK;
}

/* Wide bounds that catch a slip in the unit; no source. */
static enum err_code take_quantity(struct vapour_request *r, const char *key, const char *value,
                                   struct err *err)
{
  const struct {
    const char *key;
    enum units_dimension dimension;
    struct vapour_band allowed;
    double *out;
  } rows[] = {
      {"at", UNITS_TEMPERATURE, {243.15, 473.15}, &r->at_K},
      {"diameter", UNITS_LENGTH, {5e-3, 5}, &r->diameter_m},
      {"area", UNITS_AREA, {2e-5, 50}, &r->area_m2},
      {"freeboard", UNITS_LENGTH, {1e-3, 1}, &r->freeboard_m},
      {"volume", UNITS_VOLUME, {1e-7, 1}, &r->volume_m3},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
    if (strcmp(rows[i].key, key) == 0)
      return *rows[i].out > 0
                 ? said_twice(key, err)
                 : take_si(key, value, rows[i].dimension, &rows[i].allowed, rows[i].out, err);
  return err_set(err, ERR_USAGE,
                 "no '%.40s' here: of, by, from, at, diameter, area, freeboard, volume, station, "
                 "room, scene, mixing, speed",
                 key);
}

static enum err_code take_change(struct vapour_request *r, const char *key, const char *value,
                                 struct err *err)
{
  if (r->change_count == VAPOUR_CHANGES_MAX)
    return err_set(err, ERR_INPUT, "at most %d changes of the scene", VAPOUR_CHANGES_MAX);
  r->changes[r->change_count].verb = key;
  r->changes[r->change_count++].argument = value;
  return ERR_OK;
}

enum err_code vapour_take(struct vapour_request *r, const char *key, const char *value,
                          struct err *err)
{
  static const struct vapour_band mixing = {0.01, 1}, speed = {0.005, 5};

  if (strcmp(key, "of") == 0)
    return take_of(r, value, err);
  if (strcmp(key, "from") == 0)
    return take_from(r, value, err);
  if (strcmp(key, "by") == 0)
    return take_by(r, value, err);
  if (strcmp(key, "mixing") == 0)
    return take_band(key, value, UNITS_RATIO, &mixing, &r->mixing, err);
  if (strcmp(key, "speed") == 0)
    return take_band(key, value, UNITS_VELOCITY, &speed, &r->speed, err);
  if (strcmp(key, "station") == 0)
    return take_text(key, value, &r->station, err);
  if (strcmp(key, "room") == 0)
    return take_text(key, value, &r->room, err);
  if (strcmp(key, "scene") == 0)
    return take_text(key, value, &r->scene, err);
  if (scene_is_change(key))
    return take_change(r, key, value, err);
  return take_quantity(r, key, value, err);
}
