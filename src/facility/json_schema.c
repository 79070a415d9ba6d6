#include "facility/facility.h"
#include "facility/schema_impl.h"

#include "base/json.h"

#include <stdio.h>

/* The table once more, as JSON Schema 2020-12, for editors that complete and
 * underline while a person types.  It knows keys, words and shapes; quantities,
 * ranges and references stay with `inward check`. */

/* An overlay's `change` gives some keys of a part: the same keys, none of them required. */
enum shape { WHOLE, CHANGE };

static const char *const shape_prefix[] = {[WHOLE] = "", [CHANGE] = "change_"};

static void put_ref(struct json *json, enum schema_struct_id id, enum shape shape)
{
  char ref[80];

  snprintf(ref, sizeof ref, "#/$defs/%s%s", shape_prefix[shape], schema_struct_at(id)->name);
  json_text(json, "$ref", ref);
}

/* A quantity begins with a number; "" would be a value left out. */
static const char quantity_pattern[] = "^[+-]?[0-9.]";
static const char id_pattern[] = "^[A-Za-z][A-Za-z0-9_-]{0,31}$";

static void put_words(struct json *json, const char *words)
{
  char entry[64];

  json_array(json, "enum");
  for (int i = 0; schema_entry(words, i, "|", entry, sizeof entry); i++)
    json_text(json, NULL, entry);
  json_close(json);
}

static void put_text(struct json *json, const char *pattern)
{
  json_array(json, "type");
  json_text(json, NULL, "string");
  json_text(json, NULL, "number"); /* editors read "2" as one */
  json_close(json);
  if (pattern)
    json_text(json, "pattern", pattern);
}

static void put_map_of(struct json *json, const char *key_pattern)
{
  json_text(json, "type", "object");
  if (key_pattern) {
    json_object(json, "propertyNames");
    json_text(json, "pattern", key_pattern);
    json_close(json);
  }
}

/* What stands under `add`, `change` and `remove`: the reader checks it as part of the whole. */
static void put_overlay_value(struct json *json, const struct schema_key *key)
{
  if (key == schema_key_at(KEY_overlay_add))
    put_ref(json, STRUCT_sections, WHOLE);
  else if (key == schema_key_at(KEY_overlay_change))
    put_ref(json, STRUCT_sections, CHANGE);
  else if (key == schema_key_at(KEY_overlay_remove)) {
    json_text(json, "type", "array");
    json_object(json, "items");
    json_text(json, "type", "string");
    json_close(json);
  }
}

/* In a change, parts below parts are changed too; what has no id is given whole. */
static void put_value(struct json *json, const struct schema_key *key, enum shape shape)
{
  switch (key->kind) {
  case SCHEMA_YES_NO:
    json_array(json, "enum");
    json_text(json, NULL, "yes");
    json_text(json, NULL, "no");
    json_bool(json, NULL, true); /* how YAML 1.1 editors see them */
    json_bool(json, NULL, false);
    json_close(json);
    break;
  case SCHEMA_WORD:
    put_words(json, key->words);
    break;
  case SCHEMA_QUANTITY:
  case SCHEMA_LIMIT:
  case SCHEMA_PAIR:
  case SCHEMA_COUNT:
    put_text(json, quantity_pattern);
    break;
  case SCHEMA_PAIRS:
  case SCHEMA_REFS:
  case SCHEMA_TEXTS:
    json_text(json, "type", "array");
    json_object(json, "items");
    put_text(json, key->kind == SCHEMA_PAIRS ? quantity_pattern : NULL);
    json_close(json);
    break;
  case SCHEMA_STRUCTS:
    json_text(json, "type", "array");
    json_object(json, "items");
    put_ref(json, key->nested, WHOLE);
    json_close(json);
    break;
  case SCHEMA_MAP:
    put_map_of(json, NULL);
    json_object(json, "additionalProperties");
    put_text(json, NULL);
    json_close(json);
    break;
  case SCHEMA_PARTS:
  case SCHEMA_PARTS_BY_REF:
    put_map_of(json, id_pattern);
    json_object(json, "additionalProperties");
    put_ref(json, key->nested, shape);
    json_close(json);
    break;
  case SCHEMA_STRUCT:
    put_ref(json, key->nested, key->owner == STRUCT_sections ? shape : WHOLE);
    break;
  case SCHEMA_WORD_OR_STRUCT:
    json_array(json, "anyOf");
    json_object(json, NULL);
    put_words(json, key->words);
    json_close(json);
    json_object(json, NULL);
    put_ref(json, key->nested, WHOLE);
    json_close(json);
    json_close(json);
    break;
  case SCHEMA_DATE:
    put_text(json, "^[0-9]{4}-[0-9]{2}-[0-9]{2}$");
    break;
  case SCHEMA_TEXT:
    put_text(json, NULL);
    if (key->longest)
      json_int(json, "maxLength", key->longest);
    break;
  case SCHEMA_REF:
  case SCHEMA_OPENING:
    put_text(json, NULL);
    break;
  case SCHEMA_ANY:
    put_overlay_value(json, key);
    break;
  case SCHEMA_INCLUDE:
    break;
  }
}

static void put_properties(struct json *json, enum schema_struct_id id, enum shape shape)
{
  for (int row = schema_struct_at(id)->first; schema_more(id, row); row++) {
    const struct schema_key *key = schema_key_at(row);

    if (key->kind == SCHEMA_INCLUDE) {
      put_properties(json, key->nested, shape);
      continue;
    }
    json_object(json, key->key);
    json_text(json, "description", key->doc);
    put_value(json, key, shape);
    if (key->fallback)
      json_text(json, "default", key->fallback);
    json_close(json);
  }
}

static void put_required(struct json *json, enum schema_struct_id id)
{
  for (int row = schema_struct_at(id)->first; schema_more(id, row); row++) {
    const struct schema_key *key = schema_key_at(row);

    if (key->kind == SCHEMA_INCLUDE)
      put_required(json, key->nested);
    else if (key->required)
      json_text(json, NULL, key->key);
  }
}

static void put_struct(struct json *json, enum schema_struct_id id, enum shape shape)
{
  json_array(json, "type");
  json_text(json, NULL, "object");
  json_text(json, NULL, "null"); /* "J1:" with nothing behind it */
  json_close(json);
  json_bool(json, "additionalProperties", false);
  json_object(json, "properties");
  put_properties(json, id, shape);
  json_close(json);
  json_array(json, "required");
  if (shape == WHOLE)
    put_required(json, id);
  json_close(json);
}

static void put_definition(struct json *json, enum schema_struct_id id, enum shape shape)
{
  char name[80];

  snprintf(name, sizeof name, "%s%s", shape_prefix[shape], schema_struct_at(id)->name);
  json_object(json, name);
  put_struct(json, id, shape);
  json_close(json);
}

/* Whether a change may name this struct: a section, or a part inside one. */
static bool is_changed(enum schema_struct_id id)
{
  for (int row = 0; row < KEY_COUNT; row++) {
    const struct schema_key *key = schema_key_at(row);
    bool part = key->kind == SCHEMA_PARTS || key->kind == SCHEMA_PARTS_BY_REF;
    bool section = key->kind == SCHEMA_STRUCT && key->owner == STRUCT_sections;

    if ((part || section) && key->nested == id)
      return true;
  }
  return id == STRUCT_sections;
}

/* One schema for both kinds of file: the first key says which it is. */
static void put_choice(struct json *json)
{
  json_text(json, "type", "object");
  json_object(json, "if");
  json_object(json, "properties");
  json_object(json, "inward");
  json_text(json, "pattern", "overlay");
  json_close(json);
  json_close(json);
  json_array(json, "required");
  json_text(json, NULL, "inward");
  json_close(json);
  json_close(json);
  json_object(json, "then");
  put_ref(json, STRUCT_overlay, WHOLE);
  json_close(json);
  json_object(json, "else");
  put_ref(json, STRUCT_suite, WHOLE);
  json_close(json);
}

void facility_print_json_schema(struct buf *out)
{
  struct json json;

  json_begin(&json, out);
  json_object(&json, NULL);
  json_text(&json, "$schema", "https://json-schema.org/draft/2020-12/schema");
  json_text(&json, "title", "inward suite 1, or an overlay of one");
  put_choice(&json);
  json_object(&json, "$defs");
  for (int i = 0; i < STRUCT_COUNT; i++) {
    enum schema_struct_id id = (enum schema_struct_id)i;

    if (id == STRUCT_part)
      continue;
    put_definition(&json, id, WHOLE);
    if (is_changed(id))
      put_definition(&json, id, CHANGE);
  }
  json_close(&json);
  json_close(&json);
  json_end(&json);
}
