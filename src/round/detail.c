/* What was told, as the JSON of an entry, and back. */
#include "round/round_impl.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

static const char schema[] = "inward.round.1";
static const char *const names[ROUND_SAID_COUNT] = {"yes", "no", "unseen"};

const char *round_said_name(enum round_said said)
{
  return names[said];
}

int round_said_find(const char *name, size_t size)
{
  for (int i = 0; i < ROUND_SAID_COUNT; i++)
    if (strlen(names[i]) == size && strncmp(names[i], name, size) == 0)
      return i;
  return -1;
}

bool round_is_date(const char *text)
{
  struct when_civil day = {0};

  /* both digits of each, for it is compared as text */
  for (int i = 0; i < 10; i++)
    if (i == 4 || i == 7 ? text[i] != '-' : text[i] < '0' || text[i] > '9')
      return false;
  day.year = (int)strtol(text, NULL, 10);
  day.month = (int)strtol(text + 5, NULL, 10);
  day.day = (int)strtol(text + 8, NULL, 10);
  return text[10] == '\0' && when_is_date(&day);
}

void round_write(const struct round_answers *answers, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", schema);
  emit_array(&json, "found");
  for (int i = 0; i < answers->count; i++) {
    const struct round_answer *a = &answers->list[i];

    emit_object(&json, NULL);
    emit_text(&json, "item", a->item);
    emit_text(&json, "said", names[a->said]);
    if (a->expires)
      emit_text(&json, "expires", a->expires);
    emit_close(&json);
  }
  emit_close(&json);
  if (answers->words)
    emit_text(&json, "words", answers->words);
  if (answers->has_seen) {
    emit_object(&json, "seen");
    glass_told_emit(&json, &answers->seen);
    emit_close(&json);
  }
  emit_close(&json);
  emit_end(&json);
}

static bool is_told_already(const struct round_answers *answers, const char *item)
{
  for (int i = 0; i < answers->count; i++)
    if (strcmp(answers->list[i].item, item) == 0)
      return true;
  return false;
}

/* Nothing but item, said and, if told, expires: what is not understood is not half read. */
static bool read_answer(const json_t *from, struct arena *arena, struct round_answers *out)
{
  const json_t *expires = json_object_get(from, "expires");
  const char *item = json_string_value(json_object_get(from, "item")),
             *name = json_string_value(json_object_get(from, "said")),
             *date = json_string_value(expires);
  int said = name ? round_said_find(name, strlen(name)) : -1;
  struct round_answer *a = &out->list[out->count];

  if (!item || !*item || said < 0 || (expires && (!date || !round_is_date(date))) ||
      json_object_size(from) != (expires ? 3u : 2u) || is_told_already(out, item))
    return false;
  *a = (struct round_answer){.item = arena_strdup(arena, item),
                             .said = (enum round_said)said,
                             .expires = date ? arena_strdup(arena, date) : NULL};
  out->count++;
  return a->item && (!date || a->expires);
}

static bool read_root(const json_t *root, struct arena *arena, struct round_answers *out)
{
  const char *is = json_string_value(json_object_get(root, "schema"));
  const json_t *found = json_object_get(root, "found"), *words = json_object_get(root, "words"),
               *seen = json_object_get(root, "seen");
  size_t count = json_array_size(found), keys = 2u + (words ? 1u : 0u) + (seen ? 1u : 0u);

  if (!is || strcmp(is, schema) != 0 || json_object_size(root) != keys || count == 0 ||
      count > FACILITY_ROUND_ITEMS_MOST || (words && !json_is_string(words)))
    return false;
  for (size_t i = 0; i < count; i++)
    if (!read_answer(json_array_get(found, i), arena, out))
      return false;
  out->words = words ? arena_strdup(arena, json_string_value(words)) : NULL;
  out->has_seen = seen != NULL;
  return (!words || out->words) && (!seen || glass_told_read(seen, arena, &out->seen));
}

bool round_read(const char *detail, struct arena *arena, struct round_answers *out)
{
  json_t *root = json_loads(detail, JSON_REJECT_DUPLICATES, NULL);
  bool read;

  *out = (struct round_answers){0};
  read = read_root(root, arena, out);
  json_decref(root);
  return read;
}

bool round_seen(const char *detail, struct arena *arena, struct glass_told *out)
{
  struct round_answers answers;

  if (!*detail || !round_read(detail, arena, &answers) || !answers.has_seen)
    return false;
  *out = answers.seen;
  return true;
}

bool round_looked_at_glass(const struct facility *f, const char *detail, struct arena *arena)
{
  struct round_answers answers;

  if (!*detail || !round_read(detail, arena, &answers))
    return false;
  for (int i = 0; i < answers.count; i++)
    for (int k = 0; k < f->rounds.item_count; k++)
      if (f->rounds.items[k].marks && answers.list[i].said != ROUND_UNSEEN &&
          strcmp(f->rounds.items[k].id, answers.list[i].item) == 0)
        return true;
  return false;
}
