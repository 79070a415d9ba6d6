#include "meet/meet_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

static const char *const place_words[] = {NULL, "deck", "drawer", "waste", "storage", "shipment"};
enum { PLACE_COUNT = sizeof place_words / sizeof *place_words };

const char *meet_place_word(enum meet_place place)
{
  return place_words[place];
}

static enum err_code take_text(const char **list, int *count, const char *value, struct err *err)
{
  if (!*value || strlen(value) > MEET_TEXT_MAX)
    return err_set(err, ERR_INPUT, "'%.40s' is no name: 1 to %d letters", value, MEET_TEXT_MAX);
  if (*count == MEET_THINGS_MAX)
    return err_set(err, ERR_INPUT, "more than %d things at once: ask in parts", MEET_THINGS_MAX);
  list[(*count)++] = value;
  return ERR_OK;
}

static enum err_code take_place(struct meet_request *request, const char *value, struct err *err)
{
  for (int i = 1; i < PLACE_COUNT; i++)
    if (strcasecmp(place_words[i], value) == 0) {
      request->place = (enum meet_place)i;
      return ERR_OK;
    }
  return err_set(err, ERR_INPUT,
                 "no place '%.40s': deck, drawer, waste, storage or shipment (of packed waste)",
                 value);
}

enum err_code meet_take(struct meet_request *request, const char *key, const char *value,
                        struct err *err)
{
  struct units_quantity at;

  if (strcmp(key, "thing") == 0)
    return take_text(request->things, &request->thing_count, value, err);
  if (strcmp(key, "held") == 0)
    return take_text(request->held, &request->held_count, value, err);
  if (strcmp(key, "place") == 0)
    return take_place(request, value, err);
  if (strcmp(key, "station") == 0) {
    request->station = value;
    return ERR_OK;
  }
  if (strcmp(key, "vessel") == 0) {
    if (!*value || strlen(value) > MEET_TEXT_MAX)
      return err_set(err, ERR_INPUT, "'%.40s' is no material", value);
    request->vessel = value;
    return ERR_OK;
  }
  if (strcmp(key, "at") == 0) {
    enum err_code code = units_parse(value, UNITS_TEMPERATURE, UNITS_NOTHING, &at, err);

    if (code != ERR_OK) {
      err_prefix(err, "temperature: ");
      return code;
    }
    request->at_K = at.si;
    return ERR_OK;
  }
  return err_set(err, ERR_USAGE, "unknown key '%.40s': thing, held, place, vessel, at, station",
                 key);
}
