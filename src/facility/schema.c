#include "facility/schema_impl.h"

#include "base/constants.h"

#include <string.h>

static const struct schema_struct structs[STRUCT_COUNT] = {
#define STRUCT(name_, title_, doc_, example_)                                                      \
  [STRUCT_##name_] = {.name = #name_,                                                              \
                      .title = title_,                                                             \
                      .doc = doc_,                                                                 \
                      .example = example_,                                                         \
                      .first = KEY_begin_##name_ + 1},
#define KEY(...)
#define GROUP(...)
#define FORM(...)
#include "facility/schema.def"
};

static const struct schema_key keys[KEY_COUNT] = {
#define STRUCT(name_, ...) [KEY_begin_##name_] = {.owner = STRUCT_##name_},
#define KEY(owner_, name_, key_, doc_, ...)                                                        \
  [KEY_##owner_##_##name_] = {.owner = STRUCT_##owner_, .key = key_, .doc = doc_, __VA_ARGS__},
#define GROUP(...)
#define FORM(...)
#include "facility/schema.def"
};

static const struct schema_group groups[] = {
#define STRUCT(...)
#define KEY(...)
#define GROUP(owner_, ...) {STRUCT_##owner_, __VA_ARGS__},
#define FORM(...)
#include "facility/schema.def"
};

static const struct schema_form forms[FORM_COUNT] = {
#define STRUCT(...)
#define KEY(...)
#define GROUP(...)
#define FORM(owner_, name_, ...) [FORM_##owner_##_##name_] = {STRUCT_##owner_, #name_, __VA_ARGS__},
#include "facility/schema.def"
};

static const struct {
  uint64_t kind;
  const char *words;
} kind_words[] = {
    {ID_CRITERION, "criterion"}, {ID_ROOM, "room"},
    {ID_JUNCTION, "junction"},   {ID_OUTDOORS, "outdoors"},
    {ID_LEAK, "leak"},           {ID_DOOR, "door"},
    {ID_DUCT, "duct"},           {ID_FAN, "fan"},
    {ID_MAIN, "main"},           {ID_SUPPLY, "supply"},
    {ID_EXHAUST, "exhaust"},     {ID_STATION, "station"},
    {ID_SCENE, "scene"},         {ID_FEED, "feed"},
    {ID_FAN_UNIT, "fan unit"},   {ID_SOURCE, "source"},
    {ID_POINT, "point"},         {ID_ALARM, "alarm"},
    {ID_MESSAGE, "message"},     {ID_PROCEDURE, "procedure"},
    {ID_BOTTLE, "bottle"},       {ID_BATH, "bath"},
    {ID_RATE, "rate"},           {ID_LIMIT, "limit"},
    {ID_TANK, "tank"},           {ID_STREAM, "waste stream"},
    {ID_STORE, "store"},         {ID_ENDORSEMENT, "endorsement"},
    {ID_PERSON, "person"},       {ID_DEMOTION, "demotion"},
    {ID_PROCESS, "process"},     {ID_RULE, "rule"},
    {ID_DRAIN, "drain"},         {ID_RINSE, "rinse tank"},
    {ID_TRAY, "leak tray"},      {ID_HEATER, "heater"},
};

const struct schema_struct *schema_struct_at(enum schema_struct_id id)
{
  return &structs[id];
}

const struct schema_key *schema_key_at(int row)
{
  BUG_IF(row < 0 || row >= KEY_COUNT);
  return &keys[row];
}

bool schema_more(enum schema_struct_id owner, int row)
{
  return row < KEY_COUNT && keys[row].owner == owner;
}

const struct schema_form *schema_form_at(enum schema_form_id id)
{
  return &forms[id];
}

const struct schema_group *schema_group_of(enum schema_struct_id owner, int group)
{
  for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
    if (groups[i].owner == owner && groups[i].group == group)
      return &groups[i];
  return NULL;
}

int schema_find(enum schema_struct_id owner, const char *key)
{
  for (int row = structs[owner].first; schema_more(owner, row); row++) {
    if (keys[row].kind == SCHEMA_INCLUDE) {
      int inner = schema_find(keys[row].nested, key);

      if (inner >= 0)
        return inner;
    } else if (strcmp(keys[row].key, key) == 0) {
      return row;
    }
  }
  return -1;
}

bool schema_entry(const char *list, int index, const char *separators, char *out, int room)
{
  if (!list)
    return false;
  for (; index > 0; index--) {
    list += strcspn(list, separators);
    if (!*list)
      return false;
    list++;
  }
  size_t length = strcspn(list, separators);

  BUG_IF(length >= (size_t)room);
  memcpy(out, list, length);
  out[length] = '\0';
  return true;
}

int schema_word(const char *words, const char *word)
{
  char entry[64];

  for (int i = 0; schema_entry(words, i, "|", entry, sizeof entry); i++)
    if (strcmp(entry, word) == 0)
      return i;
  return -1;
}

bool schema_listed(const char *list, const char *word)
{
  char entry[64];

  for (int i = 0; schema_entry(list, i, "|/", entry, sizeof entry); i++)
    if (strcmp(entry, word) == 0)
      return true;
  return false;
}

bool schema_form_hidden(const struct schema_form *form)
{
  return strncmp(form->name, "lost_", 5) == 0;
}

bool schema_in_form(const struct schema_form *form, const char *key)
{
  return schema_listed(form->needs, key) || schema_listed(form->allows, key);
}

bool schema_in_group(enum schema_struct_id owner, int group, const char *key)
{
  for (int i = 0; i < FORM_COUNT; i++)
    if (forms[i].owner == owner && forms[i].group == group && schema_in_form(&forms[i], key))
      return true;
  return false;
}

const char *schema_kind_words(uint64_t id_kind)
{
  for (size_t i = 0; i < sizeof kind_words / sizeof *kind_words; i++)
    if (kind_words[i].kind == id_kind)
      return kind_words[i].words;
  return "part";
}

void schema_kinds_words(uint64_t kinds, struct buf *out)
{
  const char *glue = "";

  for (size_t i = 0; i < sizeof kind_words / sizeof *kind_words; i++) {
    if (!(kinds & kind_words[i].kind))
      continue;
    kinds &= ~kind_words[i].kind;
    buf_puts(out, glue);
    buf_puts(out, kind_words[i].words);
    glue = (kinds & (kinds - 1)) ? ", " : " or ";
  }
}

void schema_bound(double si, enum units_dimension dimension, struct buf *out)
{
  if (dimension == UNITS_SHARE)
    buf_printf(out, "%.6g %%", 100 * si);
  else if (dimension == UNITS_RELATIVE_HUMIDITY)
    buf_printf(out, "%.6g %%RH", 100 * si);
  else if (dimension == UNITS_TEMPERATURE)
    buf_printf(out, "%.6g degC", si - ZERO_CELSIUS_K);
  else
    buf_printf(out, "%.6g%s%s", si, dimension == UNITS_RATIO ? "" : " ", units_si_text(dimension));
}
