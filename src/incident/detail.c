/* What was told, as the JSON of an entry, and back. */
#include "incident/incident_impl.h"

#include <jansson.h>
#include <string.h>

void incident_write(const struct incident *what, struct buf *out)
{
  const struct incident_form *form = incident_form(what->kind);
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.incident.1");
  emit_text(&json, "incident", form->id);
  if (what->adds_to > 0)
    emit_int(&json, "adds_to", what->adds_to);
  if (what->at_said)
    emit_bool(&json, "at_said", true);
  emit_object(&json, "fields");
  for (int i = 0; i < form->field_count; i++)
    if (what->values[i])
      emit_text(&json, form->fields[i].key, what->values[i]);
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

json_t *incident_json(const char *detail, const char *schema)
{
  json_t *root = json_loads(detail, JSON_REJECT_DUPLICATES, NULL);
  const char *is = json_string_value(json_object_get(root, "schema"));

  if (is && strcmp(is, schema) == 0)
    return root;
  json_decref(root);
  return NULL;
}

static bool read_fields(const json_t *fields, struct arena *arena, struct incident *out)
{
  const struct incident_form *form = incident_form(out->kind);

  for (int i = 0; i < form->field_count; i++) {
    const char *value = json_string_value(json_object_get(fields, form->fields[i].key));

    out->values[i] = value ? arena_strdup(arena, value) : NULL;
    if (value && !out->values[i])
      return false;
  }
  return true;
}

bool incident_read(const char *detail, struct arena *arena, struct incident *out)
{
  json_t *root = incident_json(detail, "inward.incident.1");
  const char *id = json_string_value(json_object_get(root, "incident"));
  int kind = id ? incident_find(id) : -1;
  struct incident what = {.kind = kind < 0 ? INCIDENT_OTHER : (enum incident_kind)kind};
  bool read = kind >= 0;

  what.adds_to = json_integer_value(json_object_get(root, "adds_to"));
  what.at_said = json_is_true(json_object_get(root, "at_said"));
  read = read && what.adds_to >= 0 && read_fields(json_object_get(root, "fields"), arena, &what);
  json_decref(root);
  if (read)
    *out = what;
  return read;
}
