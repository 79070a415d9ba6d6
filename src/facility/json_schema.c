#include "facility/facility.h"
#include "facility/schema_impl.h"

#include "base/emit.h"

#include <stdio.h>

/* The table once more, as JSON Schema 2020-12, for editors that complete and
 * underline while a person types.  It knows keys, words and shapes; quantities,
 * ranges and references stay with `inward check`. */

/* An overlay's `change` gives some keys of a part: the same keys, none of them required. */
enum shape { WHOLE, CHANGE };

static const char *const shape_prefix[] = {[WHOLE] = "", [CHANGE] = "change_"};

static void put_ref(struct emit *json, enum schema_struct_id id, enum shape shape)
{
  char ref[80];

  snprintf(ref, sizeof ref, "#/$defs/%s%s", shape_prefix[shape], schema_struct_at(id)->name);
  emit_text(json, "$ref", ref);
}

/* A quantity begins with a number; "" would be a value left out. */
static const char quantity_pattern[] = "^[+-]?[0-9.]";
static const char id_pattern[] = "^[A-Za-z][A-Za-z0-9_-]{0,31}$";

static void put_words(struct emit *json, const char *words)
{
  char entry[64];

  emit_array(json, "enum");
  for (int i = 0; schema_entry(words, i, "|", entry, sizeof entry); i++)
    emit_text(json, NULL, entry);
  emit_close(json);
}

static void put_text(struct emit *json, const char *pattern)
{
  emit_array(json, "type");
  emit_text(json, NULL, "string");
  emit_text(json, NULL, "number"); /* editors read "2" as one */
  emit_close(json);
  if (pattern)
    emit_text(json, "pattern", pattern);
}

static void put_map_of(struct emit *json, const char *key_pattern)
{
  emit_text(json, "type", "object");
  if (key_pattern) {
    emit_object(json, "propertyNames");
    emit_text(json, "pattern", key_pattern);
    emit_close(json);
  }
}

/* What stands under `add`, `change` and `remove`: the reader checks it as part of the whole. */
static void put_overlay_value(struct emit *json, const struct schema_key *key)
{
  if (key == schema_key_at(KEY_overlay_add))
    put_ref(json, STRUCT_sections, WHOLE);
  else if (key == schema_key_at(KEY_overlay_change))
    put_ref(json, STRUCT_sections, CHANGE);
  else if (key == schema_key_at(KEY_overlay_remove)) {
    emit_text(json, "type", "array");
    emit_object(json, "items");
    emit_text(json, "type", "string");
    emit_close(json);
  }
}

/* In a change, parts below parts are changed too; what has no id is given whole. */
static void put_value(struct emit *json, const struct schema_key *key, enum shape shape)
{
  switch (key->kind) {
  case SCHEMA_YES_NO:
    emit_array(json, "enum");
    emit_text(json, NULL, "yes");
    emit_text(json, NULL, "no");
    emit_bool(json, NULL, true); /* how YAML 1.1 editors see them */
    emit_bool(json, NULL, false);
    emit_close(json);
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
    emit_text(json, "type", "array");
    emit_object(json, "items");
    put_text(json, key->kind == SCHEMA_PAIRS ? quantity_pattern : NULL);
    emit_close(json);
    break;
  case SCHEMA_STRUCTS:
    emit_text(json, "type", "array");
    emit_object(json, "items");
    put_ref(json, key->nested, WHOLE);
    emit_close(json);
    break;
  case SCHEMA_MAP:
    put_map_of(json, NULL);
    emit_object(json, "additionalProperties");
    put_text(json, NULL);
    emit_close(json);
    break;
  case SCHEMA_PARTS:
  case SCHEMA_PARTS_BY_REF:
    put_map_of(json, id_pattern);
    emit_object(json, "additionalProperties");
    put_ref(json, key->nested, shape);
    emit_close(json);
    break;
  case SCHEMA_STRUCT:
    put_ref(json, key->nested, key->owner == STRUCT_sections ? shape : WHOLE);
    break;
  case SCHEMA_WORD_OR_STRUCT:
    emit_array(json, "anyOf");
    emit_object(json, NULL);
    put_words(json, key->words);
    emit_close(json);
    emit_object(json, NULL);
    put_ref(json, key->nested, WHOLE);
    emit_close(json);
    emit_close(json);
    break;
  case SCHEMA_DATE:
    put_text(json, "^[0-9]{4}-[0-9]{2}-[0-9]{2}$");
    break;
  case SCHEMA_TEXT:
    put_text(json, NULL);
    if (key->longest)
      emit_int(json, "maxLength", key->longest);
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

static void put_properties(struct emit *json, enum schema_struct_id id, enum shape shape)
{
  for (int row = schema_struct_at(id)->first; schema_more(id, row); row++) {
    const struct schema_key *key = schema_key_at(row);

    if (key->kind == SCHEMA_INCLUDE) {
      put_properties(json, key->nested, shape);
      continue;
    }
    emit_object(json, key->key);
    emit_text(json, "description", key->doc);
    put_value(json, key, shape);
    if (key->fallback)
      emit_text(json, "default", key->fallback);
    emit_close(json);
  }
}

static void put_required(struct emit *json, enum schema_struct_id id)
{
  for (int row = schema_struct_at(id)->first; schema_more(id, row); row++) {
    const struct schema_key *key = schema_key_at(row);

    if (key->kind == SCHEMA_INCLUDE)
      put_required(json, key->nested);
    else if (key->required)
      emit_text(json, NULL, key->key);
  }
}

static void put_struct(struct emit *json, enum schema_struct_id id, enum shape shape)
{
  emit_array(json, "type");
  emit_text(json, NULL, "object");
  emit_text(json, NULL, "null"); /* "J1:" with nothing behind it */
  emit_close(json);
  emit_bool(json, "additionalProperties", false);
  emit_object(json, "properties");
  put_properties(json, id, shape);
  emit_close(json);
  emit_array(json, "required");
  if (shape == WHOLE)
    put_required(json, id);
  emit_close(json);
}

static void put_definition(struct emit *json, enum schema_struct_id id, enum shape shape)
{
  char name[80];

  snprintf(name, sizeof name, "%s%s", shape_prefix[shape], schema_struct_at(id)->name);
  emit_object(json, name);
  put_struct(json, id, shape);
  emit_close(json);
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

static void put_if(struct emit *json, const char *word, enum schema_struct_id then)
{
  emit_object(json, "if");
  emit_object(json, "properties");
  emit_object(json, "inward");
  emit_text(json, "pattern", word);
  emit_close(json);
  emit_close(json);
  emit_array(json, "required");
  emit_text(json, NULL, "inward");
  emit_close(json);
  emit_close(json);
  emit_object(json, "then");
  put_ref(json, then, WHOLE);
  emit_close(json);
}

/* One schema for all kinds of file: the first key says which it is. */
static void put_choice(struct emit *json)
{
  emit_text(json, "type", "object");
  put_if(json, "overlay", STRUCT_overlay);
  emit_object(json, "else");
  put_if(json, "feeds", STRUCT_feeds_file);
  emit_object(json, "else");
  put_if(json, "chemicals", STRUCT_chemicals_file);
  emit_object(json, "else");
  put_if(json, "people", STRUCT_roster_file);
  emit_object(json, "else");
  put_if(json, "processes", STRUCT_processes_file);
  emit_object(json, "else");
  put_if(json, "rules", STRUCT_rules_file);
  emit_object(json, "else");
  put_ref(json, STRUCT_suite, WHOLE);
  for (int i = 0; i < 6; i++)
    emit_close(json);
}

void facility_print_json_schema(struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "$schema", "https://json-schema.org/draft/2020-12/schema");
  emit_text(
      &json, "title",
      "inward suite 1, an overlay of one, or its feeds, chemicals, people, processes or rules "
      "file 1");
  put_choice(&json);
  emit_object(&json, "$defs");
  for (int i = 0; i < STRUCT_COUNT; i++) {
    enum schema_struct_id id = (enum schema_struct_id)i;

    if (id == STRUCT_part)
      continue;
    put_definition(&json, id, WHOLE);
    if (is_changed(id))
      put_definition(&json, id, CHANGE);
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}
