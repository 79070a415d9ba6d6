/* From "10s sash S3 work" to an order. */
#include "after/after_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { WORDS_MAX = 12 };
static const double longest_s = 86400; /* a day */

struct reading {
  const struct facility *f;
  const char *text;
  char copy[AFTER_TEXT_MAX + 1];
  int count, next;
  char *word[WORDS_MAX];
  int col[WORDS_MAX + 1];
  struct arena *arena;
  struct err *err;
  struct after_order *out;
};

static enum err_code refuse(struct reading *r, int word, const char *what, const char *of,
                            const char *fix)
{
  enum err_code code = err_set(r->err, ERR_INPUT, "%s%.40s%s", what, of, fix);

  if (r->err)
    r->err->col = word < r->count ? r->col[word] : (int)strlen(r->text) + 1;
  return code;
}

/* The next word, or NULL when there is none. */
static const char *take(struct reading *r)
{
  return r->next < r->count ? r->word[r->next++] : NULL;
}

static enum err_code quantity(struct reading *r, int word, const char *text,
                              enum units_dimension dimension, double *out)
{
  struct units_quantity q;
  enum err_code code = units_parse(text, dimension, UNITS_NOTHING, &q, r->err);

  if (code == ERR_OK)
    *out = q.si;
  else if (r->err)
    r->err->col = word < r->count ? r->col[word] + (r->err->col > 0 ? r->err->col - 1 : 0)
                                  : (int)strlen(r->text) + 1;
  return code;
}

/* The rest of the words as one quantity: "40 %" and "40%" alike. */
static enum err_code rest(struct reading *r, enum units_dimension dimension, const char *wants,
                          double *out)
{
  char text[AFTER_TEXT_MAX + 1] = "";
  int first = r->next;

  if (first == r->count)
    return refuse(r, first, wants, "", "");
  for (; r->next < r->count; r->next++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "%s%s", *text ? " " : "",
             r->word[r->next]);
  return quantity(r, first, text, dimension, out);
}

/* Asks the scene's own reader, so that an id means here what it means everywhere. */
static enum err_code as_change(struct reading *r, int word, const char *verb, const char *argument)
{
  struct scene scratch = scene_parked(r->f, r->arena);
  enum err_code code;

  if (!scratch.stations)
    return err_set(r->err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
  r->out->change = arena_strdup(r->arena, argument);
  if (!r->out->change)
    return err_set(r->err, ERR_LIMIT, "the answer is larger than the memory set aside for it");
  code = scene_change(r->f, &scratch, verb, argument, r->err);
  if (code != ERR_OK && r->err)
    r->err->col = word < r->count ? r->col[word] : (int)strlen(r->text) + 1;
  return code;
}

static enum err_code id_and_value(struct reading *r, const char *verb, const char *wants)
{
  char argument[2 * AFTER_TEXT_MAX];
  int at = r->next;
  const char *id = take(r), *value = take(r);

  if (!id || !value)
    return refuse(r, r->count, wants, "", "");
  /* "0.45 m" may come as two words */
  if (r->next < r->count && strcmp(r->word[r->next], "at") != 0 &&
      strspn(value, "0123456789.") == strlen(value))
    snprintf(argument, sizeof argument, "%s=%s %s", id, value, take(r));
  else
    snprintf(argument, sizeof argument, "%s=%s", id, value);
  return as_change(r, at, verb, argument);
}

/* ---- one reader per event ---- */

static enum err_code read_sash(struct reading *r)
{
  enum err_code code =
      id_and_value(r, "sash", "sash wants a station and work, parked or an opening");

  if (code != ERR_OK)
    return code;
  r->out->kind = AFTER_SASH;
  if (r->next == r->count)
    return ERR_OK;
  if (strcmp(r->word[r->next], "at") != 0)
    return refuse(r, r->next, "what is '", r->word[r->next], "'? A speed follows 'at': at 0.3 m/s");
  r->next++;
  code = rest(r, UNITS_VELOCITY, "at which speed? at 0.3 m/s", &r->out->value);
  if (code == ERR_OK && !(r->out->value > 0.0))
    return refuse(r, r->next - 1, "a sash moves with a speed above 0 m/s", "", "");
  return code;
}

static enum err_code read_all(struct reading *r)
{
  int at = r->next;
  const char *where = take(r);

  r->out->kind = AFTER_ALL;
  return where ? as_change(r, at, "all", where) : refuse(r, at, "all wants work or parked", "", "");
}

static enum err_code read_door(struct reading *r)
{
  int at = r->next;
  enum err_code code = id_and_value(r, "door", "door wants a door and open or closed");

  r->out->kind = AFTER_DOOR;
  if (code == ERR_OK)
    r->out->index = facility_door_find(r->f, r->word[at]);
  return code;
}

static enum err_code read_running(struct reading *r, const char *verb, enum after_kind kind)
{
  int at = r->next;
  const char *id = take(r);
  enum err_code code =
      id ? as_change(r, at, verb, id)
         : refuse(r, at, verb, "", " wants a fan, one unit of it (EF1/2) or a make-up unit");

  r->out->kind = kind;
  if (code != ERR_OK)
    return code;
  r->out->unit = -1;
  r->out->index = facility_fan_find(r->f, id, &r->out->unit);
  if (r->out->index < 0)
    r->out->index = r->f->fan_count + facility_supply_find(r->f, id);
  return ERR_OK;
}

static enum err_code read_off(struct reading *r)
{
  return read_running(r, "off", AFTER_OFF);
}

static enum err_code read_on(struct reading *r)
{
  return read_running(r, "on", AFTER_ON);
}

static enum err_code read_power(struct reading *r)
{
  int at = r->next;
  const char *word = take(r);
  enum err_code code;

  r->out->kind = AFTER_POWER;
  if (!word || strcmp(word, "blip") != 0)
    return refuse(r, at, "power wants 'blip' and how long: power blip 2s", "", "");
  at = r->next;
  code = rest(r, UNITS_TIME, "how long? power blip 2s", &r->out->value);
  if (code == ERR_OK && !(r->out->value > 0.0 && r->out->value <= longest_s))
    return refuse(r, at, "a blip lasts longer than 0 s and at most a day", "", "");
  return code;
}

static enum err_code read_cover(struct reading *r)
{
  int at = r->next;
  enum err_code code =
      id_and_value(r, "cover", "cover wants a station and a share of its deck: 40%");

  r->out->kind = AFTER_COVER;
  if (code == ERR_OK)
    r->out->index = facility_station_find(r->f, r->word[at]);
  return code;
}

static enum err_code read_shut(struct reading *r)
{
  int at = r->next;
  const char *id = take(r);

  r->out->kind = AFTER_SHUT;
  return id ? as_change(r, at, "shut", id) : refuse(r, at, "shut wants a duct", "", "");
}

static enum err_code share(struct reading *r, double most, const char *wants)
{
  int at = r->next;
  enum err_code code = rest(r, UNITS_SHARE, wants, &r->out->value);

  if (code == ERR_OK && !(r->out->value >= 0.01 && r->out->value <= most))
    return refuse(r, at, "a share from 1 % to ", most > 1.0 ? "10000 %" : "100 %", "");
  return code;
}

static enum err_code read_load(struct reading *r)
{
  int at = r->next;
  const char *id = take(r);

  r->out->kind = AFTER_LOAD;
  r->out->index = id ? facility_duct_find(r->f, id) : -1;
  if (r->out->index < 0)
    return refuse(r, at, "load wants the duct that stands for the filter; there is no duct '",
                  id ? id : "", "'");
  return share(r, 100.0, "what is its drop then, of that when clean? load F1 150%");
}

/* A station's flow, a fan's held pressure, or a terminal's pressure or flow. */
static enum err_code read_setback(struct reading *r)
{
  int at = r->next, unit, feeds = 0;
  const char *id = take(r);

  r->out->kind = AFTER_SETBACK;
  r->out->unit = 0;
  if (!id)
    return refuse(r, at, "set-back wants a station, a fan that holds a pressure, or a terminal", "",
                  "");
  r->out->index = facility_station_find(r->f, id);
  if (r->out->index < 0) {
    r->out->unit = 1;
    r->out->index = facility_fan_find(r->f, id, &unit);
    if (r->out->index >= 0 && (unit >= 0 || !r->f->fans[r->out->index].holds))
      return refuse(r, at, "", id, " holds no pressure: there is nothing to set back");
  }
  for (int i = 0; r->out->index < 0 && i < r->f->supply_count; i++)
    for (int j = 0; j < r->f->supplies[i].feed_count; j++, feeds++)
      if (r->out->index < 0 && strcmp(r->f->supplies[i].feeds[j].part.id, id) == 0) {
        r->out->unit = 2;
        r->out->index = feeds;
      }
  if (r->out->index < 0)
    return refuse(r, at, "no station, fan or terminal '", id, "' in this suite");
  return share(r, 1.0, "to which share of the usual? set-back S3 60%");
}

static enum err_code read_gas(struct reading *r)
{
  int at = r->next;
  const char *id = take(r);
  int room = id ? facility_node_find(r->f, id) : -1;

  r->out->kind = AFTER_GAS;
  r->out->index = room;
  if (room < 0 || room >= r->f->room_count)
    return refuse(r, at, "gas wants a room; there is no room '", id ? id : "", "'");
  if (!r->f->rooms[room].has_volume)
    return refuse(r, at, "", id,
                  ": the file gives no volume of this room, so nothing is known of a gas in it");
  return ERR_OK;
}

static const struct reader {
  struct after_event_word word;
  enum err_code (*read)(struct reading *);
} readers[] = {
    {{"sash", "10s sash S3 work at 0.3 m/s",
      "Moves a sash to work, parked or an opening; the speed may be left out."},
     read_sash},
    {{"all", "10s all parked", "Moves every sash: work or parked."}, read_all},
    {{"door", "12s door D2 open", "Opens or closes a door."}, read_door},
    {{"off", "30s off EF1",
      "Takes the drive from a fan, one unit of it (EF1/2) or a make-up unit."},
     read_off},
    {{"on", "60s on EF1", "Gives it back."}, read_on},
    {{"power", "90s power blip 2s",
      "No power for so long: drives coast, valves do what the file says; drives start again after "
      "`restart after`."},
     read_power},
    {{"cover", "0s cover S3 40%",
      "Covers a share of a deck. Imagined only: no deck is to be covered."},
     read_cover},
    {{"shut", "5s shut A5", "Shuts a duct's damper."}, read_shut},
    {{"load", "5min load F1 150%", "A filter or scrubber drops this share of its drop when clean."},
     read_load},
    {{"set-back", "5min set-back S3 60%",
      "Sets back a station's flow, a fan's held pressure or a terminal to this share. Asked, never "
      "advised: no lower set point without a test at that flow."},
     read_setback},
    {{"gas", "20s gas Wet",
      "A gas fills a room, and its source ends: how much is left where, and when."},
     read_gas},
};

enum { READER_COUNT = sizeof readers / sizeof *readers };

const struct after_event_word *after_event_word(int index)
{
  return index >= 0 && index < READER_COUNT ? &readers[index].word : NULL;
}

static const struct reader *find(const char *word)
{
  for (int i = 0; i < READER_COUNT; i++)
    if (strcmp(readers[i].word.verb, word) == 0)
      return &readers[i];
  return NULL;
}

static enum err_code split(struct reading *r)
{
  size_t length = strlen(r->text);

  if (length > AFTER_TEXT_MAX)
    return err_set(r->err, ERR_INPUT, "an event of more than %d characters", AFTER_TEXT_MAX);
  memcpy(r->copy, r->text, length + 1);
  for (char *c = r->copy; *c;) {
    while (*c == ' ' || *c == '\t')
      *c++ = '\0';
    if (!*c)
      break;
    if (r->count == WORDS_MAX)
      return refuse(r, r->count, "an event of more words than any has", "", "");
    r->col[r->count] = (int)(c - r->copy) + 1;
    r->word[r->count++] = c;
    while (*c && *c != ' ' && *c != '\t')
      c++;
  }
  return ERR_OK;
}

/* All that stands before the verb is the time. */
static enum err_code read_time(struct reading *r, int verb)
{
  char text[AFTER_TEXT_MAX + 1] = "";
  enum err_code code;

  if (verb == 0)
    return refuse(r, 0, "an event begins with its time: 10s ", r->word[0], " ...");
  for (int i = 0; i < verb; i++)
    snprintf(text + strlen(text), sizeof text - strlen(text), "%s%s", i ? " " : "", r->word[i]);
  code = quantity(r, 0, text, UNITS_TIME, &r->out->at_s);
  if (code == ERR_OK && !(r->out->at_s >= 0.0 && r->out->at_s <= longest_s))
    return refuse(r, 0, "a time from 0 s to one day, counted from the start", "", "");
  return code;
}

static enum err_code no_verb(struct reading *r)
{
  char list[160] = "";

  for (int i = 0; i < READER_COUNT; i++)
    snprintf(list + strlen(list), sizeof list - strlen(list), "%s%s",
             i == 0                  ? ""
             : i == READER_COUNT - 1 ? " or "
                                     : ", ",
             readers[i].word.verb);
  err_set(r->err, ERR_INPUT, "what happens? After the time comes %s", list);
  if (r->err)
    r->err->col = r->count > 1 ? r->col[1] : (int)strlen(r->text) + 1;
  return ERR_INPUT;
}

enum err_code after_read_span(const char *text, double *out_s, struct err *err)
{
  struct units_quantity q;
  enum err_code code = units_parse(text, UNITS_TIME, UNITS_NOTHING, &q, err);

  if (code != ERR_OK)
    err_prefix(err, "for: ");
  else if (!(q.si > 0.0 && q.si <= longest_s))
    code = err_set(err, ERR_INPUT, "for: longer than 0 s and at most a day");
  else
    *out_s = q.si;
  return code;
}

enum err_code after_read_event(const struct facility *f, const char *text, struct arena *arena,
                               struct after_order *out, const char **words_out, struct err *err)
{
  struct reading r = {.f = f, .text = text, .arena = arena, .err = err, .out = out};
  const struct reader *reader = NULL;
  int verb = 0;
  enum err_code code = split(&r);

  *out = (struct after_order){.index = -1, .unit = -1, .value = NAN};
  if (code != ERR_OK)
    return code;
  for (; verb < r.count && !reader; verb++)
    reader = find(r.word[verb]);
  if (!reader)
    return no_verb(&r);
  verb--;
  *words_out = arena_strdup(arena, text + r.col[verb] - 1);
  code = read_time(&r, verb);
  if (code != ERR_OK)
    return code;
  r.next = verb + 1;
  code = reader->read(&r);
  if (code == ERR_OK && out->kind == AFTER_SASH)
    out->index = facility_station_find(f, r.word[verb + 1]);
  if (code == ERR_OK && r.next < r.count)
    return refuse(&r, r.next, "what is '", r.word[r.next], "'? The event is complete before it");
  return code;
}
