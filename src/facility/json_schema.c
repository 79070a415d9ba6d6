#include "facility/facility.h"
#include "facility/schema_impl.h"

#include "base/json.h"

#include <stdio.h>

/* The table once more, as JSON Schema 2020-12, for editors that complete and
 * underline while a person types.  It knows keys, words and shapes; quantities,
 * ranges and references stay with `inward check`. */

static void put_ref(struct json *json, enum schema_struct_id id)
{
  char ref[80];

  snprintf(ref, sizeof ref, "#/$defs/%s", schema_struct_at(id)->name);
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

static void put_value(struct json *json, const struct schema_key *key)
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
    put_ref(json, key->nested);
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
    put_ref(json, key->nested);
    json_close(json);
    break;
  case SCHEMA_STRUCT:
    put_ref(json, key->nested);
    break;
  case SCHEMA_WORD_OR_STRUCT:
    json_array(json, "anyOf");
    json_object(json, NULL);
    put_words(json, key->words);
    json_close(json);
    json_object(json, NULL);
    put_ref(json, key->nested);
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
  case SCHEMA_INCLUDE:
  case SCHEMA_ANY:
    break;
  }
}

static void put_properties(struct json *json, enum schema_struct_id id)
{
  for (int row = schema_struct_at(id)->first; schema_more(id, row); row++) {
    const struct schema_key *key = schema_key_at(row);

    if (key->kind == SCHEMA_INCLUDE) {
      put_properties(json, key->nested);
      continue;
    }
    json_object(json, key->key);
    json_text(json, "description", key->doc);
    put_value(json, key);
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

static void put_struct(struct json *json, enum schema_struct_id id)
{
  json_array(json, "type");
  json_text(json, NULL, "object");
  json_text(json, NULL, "null"); /* "J1:" with nothing behind it */
  json_close(json);
  json_bool(json, "additionalProperties", false);
  json_object(json, "properties");
  put_properties(json, id);
  json_close(json);
  json_array(json, "required");
  put_required(json, id);
  json_close(json);
}

void facility_print_json_schema(struct buf *out)
{
  struct json json;

  json_begin(&json, out);
  json_object(&json, NULL);
  json_text(&json, "$schema", "https://json-schema.org/draft/2020-12/schema");
  json_text(&json, "title", "inward suite 1");
  put_struct(&json, STRUCT_suite);
  json_object(&json, "$defs");
  for (int id = 0; id < STRUCT_COUNT; id++) {
    if (id == STRUCT_suite || id == STRUCT_overlay || id == STRUCT_part || id == STRUCT_sections)
      continue;
    json_object(&json, schema_struct_at((enum schema_struct_id)id)->name);
    put_struct(&json, (enum schema_struct_id)id);
    json_close(&json);
  }
  json_close(&json);
  json_close(&json);
  json_end(&json);
}
