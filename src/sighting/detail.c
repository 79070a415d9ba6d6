/* What was told, as the JSON of an entry, and back. */
#include "sighting/sighting_impl.h"

#include <jansson.h>
#include <string.h>

static const char schema[] = "inward.glass_told.1";
static const char *const acts[SIGHTING_ACT_COUNT] = {"seen", "cleaned", "discarded", "counted",
                                                     "taken-back"};

const char *sighting_act_name(enum sighting_act act)
{
  return acts[act];
}

int sighting_act_find(const char *name)
{
  for (int i = 0; i < SIGHTING_ACT_COUNT; i++)
    if (strcmp(acts[i], name) == 0)
      return i;
  return -1;
}

static void text_if(struct emit *json, const char *key, const char *text)
{
  if (text)
    emit_text(json, key, text);
}

void sighting_write(const struct sighting_said *said, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", schema);
  emit_text(&json, "act", acts[said->act]);
  switch (said->act) {
  case SIGHTING_SEEN:
    emit_object(&json, "seen");
    glass_told_emit(&json, &said->seen);
    emit_close(&json);
    break;
  case SIGHTING_COUNTED:
    emit_text(&json, "piece", said->piece);
    text_if(&json, "drawer", said->drawer);
    emit_int(&json, "count", said->count);
    break;
  case SIGHTING_CLEANED:
  case SIGHTING_DISCARDED:
    emit_int(&json, "entry", said->entry);
    if (said->count > 0)
      emit_int(&json, "count", said->count);
    text_if(&json, "how", said->how);
    break;
  case SIGHTING_TAKEN_BACK:
  case SIGHTING_ACT_COUNT:
    emit_int(&json, "entry", said->entry);
    break;
  }
  text_if(&json, "words", said->words);
  emit_close(&json);
  emit_end(&json);
}

/* ---- back ---- */

struct reading {
  const json_t *root;
  struct arena *arena;
  size_t keys; /* that were known */
  bool fits;
};

static const char *text_of(struct reading *r, const char *key, bool needed)
{
  const json_t *value = json_object_get(r->root, key);
  const char *text = json_string_value(value), *own = text ? arena_strdup(r->arena, text) : NULL;

  r->keys += value != NULL;
  if (value || needed)
    r->fits = r->fits && own && *own;
  return own;
}

static int64_t number_of(struct reading *r, const char *key, bool needed, int64_t least,
                         int64_t most)
{
  const json_t *value = json_object_get(r->root, key);
  int64_t number = json_integer_value(value);

  r->keys += value != NULL;
  if (value || needed)
    r->fits = r->fits && json_is_integer(value) && number >= least && number <= most;
  return value ? number : 0;
}

static void read_act(struct reading *r, struct sighting_said *said)
{
  const json_t *seen = json_object_get(r->root, "seen");

  switch (said->act) {
  case SIGHTING_SEEN:
    r->keys += seen != NULL;
    r->fits = seen && glass_told_read(seen, r->arena, &said->seen);
    break;
  case SIGHTING_COUNTED:
    said->piece = text_of(r, "piece", true);
    said->drawer = text_of(r, "drawer", false);
    said->count = (int)number_of(r, "count", true, 0, GLASS_COUNT_MOST);
    break;
  case SIGHTING_CLEANED:
    said->how = text_of(r, "how", true);
    said->count = (int)number_of(r, "count", false, 1, GLASS_COUNT_MOST);
    said->entry = number_of(r, "entry", true, 1, INT64_MAX);
    break;
  case SIGHTING_DISCARDED:
    said->count = (int)number_of(r, "count", false, 1, GLASS_COUNT_MOST);
    said->entry = number_of(r, "entry", true, 1, INT64_MAX);
    break;
  case SIGHTING_TAKEN_BACK:
  case SIGHTING_ACT_COUNT:
    said->entry = number_of(r, "entry", true, 1, INT64_MAX);
    break;
  }
  said->words = text_of(r, "words", false);
}

bool sighting_read(const char *detail, struct arena *arena, struct sighting_said *out)
{
  json_t *root = json_loads(detail, JSON_REJECT_DUPLICATES, NULL);
  const char *is = json_string_value(json_object_get(root, "schema")),
             *name = json_string_value(json_object_get(root, "act"));
  int act = name ? sighting_act_find(name) : -1;
  struct reading r = {.root = root, .arena = arena, .keys = 2, .fits = true};
  struct sighting_said said = {.act = act < 0 ? SIGHTING_SEEN : (enum sighting_act)act};
  bool read = is && strcmp(is, schema) == 0 && act >= 0;

  if (read) {
    read_act(&r, &said);
    read = r.fits && json_object_size(root) == r.keys;
  }
  json_decref(root);
  if (read)
    *out = said;
  return read;
}
