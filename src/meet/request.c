#include "meet/meet_impl.h"

#include "base/utf8.h"

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

/* A name goes back to a terminal in the answer: nothing that cannot be seen may be in it. */
static enum err_code check_text(const char *value, const char *what, struct err *err)
{
  char said[UTF8_SAID_BYTES];

  if (utf8_fault(value))
    return err_set(err, ERR_INPUT, "%s: the text is not UTF-8", what);
  if (strchr(value, '\n') || utf8_unseen(value, said))
    return err_set(err, ERR_INPUT, "%s: there is a character in it that cannot be seen (%s)", what,
                   strchr(value, '\n') ? "a line feed" : said);
  if (!*value || strlen(value) > MEET_TEXT_MAX)
    return err_set(err, ERR_INPUT, "%s: '%.40s' is no name: 1 to %d letters", what, value,
                   MEET_TEXT_MAX);
  return ERR_OK;
}

static enum err_code take_text(const char **list, int *count, const char *value, struct err *err)
{
  enum err_code code = check_text(value, "a name", err);

  if (code != ERR_OK)
    return code;
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

static enum err_code take_at(struct meet_request *request, const char *value, struct err *err)
{
  struct units_quantity at;
  enum err_code code = units_parse(value, UNITS_TEMPERATURE, UNITS_NOTHING, &at, err);

  if (code != ERR_OK) {
    err_prefix(err, "temperature: ");
    return code;
  }
  request->at_K = at.si;
  return ERR_OK;
}

static enum err_code take_one(const char **out, const char *key, const char *value, struct err *err)
{
  enum err_code code = check_text(value, key, err);

  if (code == ERR_OK)
    *out = value;
  return code;
}

enum err_code meet_take(struct meet_request *request, const char *key, const char *value,
                        struct err *err)
{
  bool place = strcmp(key, "place") == 0, at = strcmp(key, "at") == 0;
  bool station = strcmp(key, "station") == 0, vessel = strcmp(key, "vessel") == 0;

  if (strcmp(key, "thing") == 0)
    return take_text(request->things, &request->thing_count, value, err);
  if (strcmp(key, "held") == 0)
    return take_text(request->held, &request->held_count, value, err);
  if ((place && request->place != MEET_ANYWHERE) || (at && !isnan(request->at_K)) ||
      (station && request->station) || (vessel && request->vessel))
    return err_set(err, ERR_INPUT, "%s: said twice", key);
  if (place)
    return take_place(request, value, err);
  if (at)
    return take_at(request, value, err);
  if (station)
    return take_one(&request->station, key, value, err);
  if (vessel)
    return take_one(&request->vessel, key, value, err);
  return err_set(err, ERR_USAGE, "unknown key '%.40s': thing, held, place, vessel, at, station",
                 key);
}
