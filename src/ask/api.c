#include "ask/api_impl.h"

#include "ask/ask_impl.h"

#include "answer/answer.h"
#include "base/json.h"

#include <string.h>

#define LEVELS                             "ample|near_limit|short|not_known"
#define TYPE(name_, doc_)                  {API_TYPE, API_ALWAYS, #name_, NULL, doc_},
#define KEY(kind_, key_, of_, need_, doc_) {API_##kind_, API_##need_, key_, of_, doc_},

static const struct api_row rows[] = {
#include "ask/api.def"
};

enum { ROW_COUNT = sizeof rows / sizeof *rows };

bool api_has_key(const char *key)
{
  for (int i = 0; i < ROW_COUNT; i++)
    if (rows[i].kind != API_TYPE && strcmp(rows[i].key, key) == 0)
      return true;
  return false;
}

/* ---- schemas ---- */

static void put_type_of(struct json *json, const char *type, bool or_null)
{
  if (!or_null) {
    json_text(json, "type", type);
    return;
  }
  json_array(json, "type");
  json_text(json, NULL, type);
  json_text(json, NULL, "null");
  json_close(json);
}

static void put_ref(struct json *json, const char *folder, const char *name)
{
  char ref[96];

  snprintf(ref, sizeof ref, "#/components/%s/%s", folder, name);
  json_text(json, "$ref", ref);
}

static void put_ref_or_null(struct json *json, const char *name, bool or_null)
{
  if (!or_null) {
    put_ref(json, "schemas", name);
    return;
  }
  json_array(json, "anyOf");
  json_object(json, NULL);
  put_ref(json, "schemas", name);
  json_close(json);
  json_object(json, NULL);
  json_text(json, "type", "null");
  json_close(json);
  json_close(json);
}

static void put_words(struct json *json, const char *words, bool or_null)
{
  put_type_of(json, "string", or_null);
  json_array(json, "enum");
  while (words && *words) {
    char word[40];
    size_t size = strcspn(words, "|");

    snprintf(word, sizeof word, "%.*s", (int)size, words);
    json_text(json, NULL, word);
    words += size + (words[size] == '|');
  }
  if (or_null)
    json_null(json, NULL);
  json_close(json);
}

static void put_list(struct json *json, const char *of_type, const char *ref)
{
  json_text(json, "type", "array");
  json_object(json, "items");
  if (ref)
    put_ref(json, "schemas", ref);
  else
    json_text(json, "type", of_type);
  json_close(json);
}

static void put_value(struct json *json, const struct api_row *row)
{
  bool or_null = row->need == API_OR_NULL;

  switch (row->kind) {
  case API_TEXT:
    put_type_of(json, "string", or_null);
    break;
  case API_NUMBER:
    put_type_of(json, "number", true);
    break;
  case API_COUNT:
    put_type_of(json, "integer", or_null);
    break;
  case API_YES_NO:
    put_type_of(json, "boolean", or_null);
    break;
  case API_WORD:
    put_words(json, row->of, or_null);
    break;
  case API_TEXTS:
    put_list(json, "string", NULL);
    break;
  case API_COUNTS:
    put_list(json, "integer", NULL);
    break;
  case API_LIST:
    put_list(json, NULL, row->of);
    break;
  case API_ONE:
    put_ref_or_null(json, row->of, or_null);
    break;
  case API_MAP:
    json_text(json, "type", "object");
    json_object(json, "additionalProperties");
    put_ref(json, "schemas", row->of);
    json_close(json);
    break;
  case API_TYPE:
    break;
  }
}

static void put_schema(struct json *json, int type)
{
  int end = type + 1;

  while (end < ROW_COUNT && rows[end].kind != API_TYPE)
    end++;
  json_object(json, rows[type].key);
  json_text(json, "description", rows[type].doc);
  json_text(json, "type", "object");
  json_bool(json, "additionalProperties", false);
  json_object(json, "properties");
  for (int i = type + 1; i < end; i++) {
    json_object(json, rows[i].key);
    put_value(json, &rows[i]);
    if (rows[i].doc[0])
      json_text(json, "description", rows[i].doc);
    json_close(json);
  }
  json_close(json);
  json_array(json, "required");
  for (int i = type + 1; i < end; i++)
    if (rows[i].need != API_IF_ANY)
      json_text(json, NULL, rows[i].key);
  json_close(json);
  json_close(json);
}

/* ---- parameters ---- */

static void put_scene_parameter(struct json *json)
{
  json_object(json, "scene");
  json_text(json, "name", "scene");
  json_text(json, "in", "query");
  json_text(json, "description",
            "A named scene of the suite, once. Empty: all parked. Without it: the scene the board "
            "was started with.");
  json_text(json, "example", "busy");
  json_bool(json, "allowEmptyValue", true);
  json_object(json, "schema");
  json_text(json, "type", "string");
  json_close(json);
  json_close(json);
}

static void put_station_parameter(struct json *json)
{
  json_object(json, "station");
  json_text(json, "name", "station");
  json_text(json, "in", "query");
  json_bool(json, "required", true);
  json_text(json, "description", "The station asked about.");
  json_text(json, "example", "S3");
  json_object(json, "schema");
  json_text(json, "type", "string");
  json_text(json, "pattern", "^[A-Za-z][A-Za-z0-9_-]{0,31}$");
  json_close(json);
  json_close(json);
}

static void put_sure_parameter(struct json *json)
{
  json_object(json, "sure");
  json_text(json, "name", "sure");
  json_text(json, "in", "query");
  json_text(json, "description",
            "no: the best estimate only, without ±, in less time, while something is dragged.");
  json_object(json, "schema");
  put_words(json, "yes|no", false);
  json_close(json);
  json_close(json);
}

static void put_change_parameter(struct json *json, const struct scene_change_word *change)
{
  json_object(json, change->verb);
  json_text(json, "name", change->verb);
  json_text(json, "in", "query");
  json_text(json, "description", change->doc);
  json_text(json, "style", "form");
  json_bool(json, "explode", true);
  json_object(json, "schema");
  json_text(json, "type", "array");
  json_object(json, "items");
  json_text(json, "type", "string");
  json_close(json);
  json_close(json);
  json_array(json, "example");
  json_text(json, NULL, change->example);
  json_close(json);
  json_close(json);
}

static void put_parameters(struct json *json)
{
  const struct scene_change_word *change;

  json_object(json, "parameters");
  put_scene_parameter(json);
  for (int i = 0; (change = scene_change_word(i)) != NULL; i++)
    put_change_parameter(json, change);
  put_station_parameter(json);
  put_sure_parameter(json);
  json_close(json);
}

static void put_parameter_ref(struct json *json, const char *name)
{
  json_object(json, NULL);
  put_ref(json, "parameters", name);
  json_close(json);
}

static void put_taken(struct json *json, unsigned takes)
{
  const struct scene_change_word *change;

  json_array(json, "parameters");
  if (takes & ASK_STATION)
    put_parameter_ref(json, "station");
  if (takes & ASK_SURE)
    put_parameter_ref(json, "sure");
  if (takes & ASK_SCENE) {
    put_parameter_ref(json, "scene");
    for (int i = 0; (change = scene_change_word(i)) != NULL; i++)
      put_parameter_ref(json, change->verb);
  }
  json_close(json);
}

/* ---- addresses ---- */

static void put_content(struct json *json, const char *type)
{
  json_object(json, "content");
  json_object(json, "application/json");
  json_object(json, "schema");
  if (type)
    put_ref(json, "schemas", type);
  else
    json_text(json, "type", "object");
  json_close(json);
  json_close(json);
  json_close(json);
}

static void put_path(struct json *json, const struct ask_route *route)
{
  json_object(json, route->path);
  json_object(json, "get");
  json_text(json, "operationId", route->name);
  json_text(json, "summary", route->doc);
  put_taken(json, route->takes);
  json_object(json, "responses");
  json_object(json, "200");
  json_text(json, "description", "The answer.");
  put_content(json, route->answers);
  json_close(json);
  json_object(json, "default");
  put_ref(json, "responses", "refused");
  json_close(json);
  json_close(json);
  json_close(json);
  json_close(json);
}

static void put_info(struct json *json)
{
  json_object(json, "info");
  json_text(json, "title", "Inward: the board's JSON");
  json_text(json, "version", answer_engine_version());
  json_text(json, "description",
            "Shared air only: a station's own alarm decides. Read with GET (or HEAD); no body, no "
            "memory: a trial is its address. Changes are applied in the order written, whatever "
            "their names. SI; the unit is the end of the key (_per_h, _ratio and speed have none). "
            "null is unknown.");
  json_object(json, "license");
  json_text(json, "name", "Apache-2.0");
  json_text(json, "identifier", "Apache-2.0");
  json_close(json);
  json_close(json);
  json_array(json, "servers");
  json_object(json, NULL);
  json_text(json, "url", "/");
  json_close(json);
  json_close(json);
}

static void put_components(struct json *json)
{
  json_object(json, "components");
  put_parameters(json);
  json_object(json, "responses");
  json_object(json, "refused");
  json_text(json, "description",
            "400 a question that cannot be meant, or not plain HTTP/1.1; 404 nothing here; 405 not "
            "GET; 413 a body; 500 no answer, with the reason.");
  put_content(json, "refusal");
  json_close(json);
  json_close(json);
  json_object(json, "schemas");
  for (int i = 0; i < ROW_COUNT; i++)
    if (rows[i].kind == API_TYPE)
      put_schema(json, i);
  json_close(json);
  json_close(json);
}

void ask_print_openapi(struct buf *out)
{
  const struct ask_route *route;
  struct json json;

  json_begin(&json, out);
  json_object(&json, NULL);
  json_text(&json, "openapi", "3.1.0");
  put_info(&json);
  json_object(&json, "paths");
  for (int i = 0; (route = ask_route_at(i)) != NULL; i++)
    put_path(&json, route);
  json_close(&json);
  put_components(&json);
  json_close(&json);
  json_end(&json);
}
