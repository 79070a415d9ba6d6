#include "ask/api_impl.h"

#include "ask/ask_impl.h"

#include "answer/answer.h"
#include "base/emit.h"

#include <string.h>

#define LEVELS     "ample|near_limit|short|not_known"
#define WET_STATES "empty|stands|due|not_known"
#define NEEDS      "quiet|unseen|not_known|call"
#define ROUTES                                                                                     \
  "pH treatment|fluoride treatment|acid collection|base collection|solvent collection|house drain"
#define ACTS                                                                                       \
  "made|found|topped|wafers|temperature|level|dumped|opened|added|fill|closed|collected|taken-back"
#define MEETING                            "never|unknown|only by written procedure|nothing listed: not a clearance"
#define BASIS                              "seen|copy|memory|computed|suite"
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

static void put_type_of(struct emit *json, const char *type, bool or_null)
{
  if (!or_null) {
    emit_text(json, "type", type);
    return;
  }
  emit_array(json, "type");
  emit_text(json, NULL, type);
  emit_text(json, NULL, "null");
  emit_close(json);
}

void api_put_ref(struct emit *json, const char *folder, const char *name)
{
  char ref[96];

  snprintf(ref, sizeof ref, "#/components/%s/%s", folder, name);
  emit_text(json, "$ref", ref);
}

static void put_ref_or_null(struct emit *json, const char *name, bool or_null)
{
  if (!or_null) {
    api_put_ref(json, "schemas", name);
    return;
  }
  emit_array(json, "anyOf");
  emit_object(json, NULL);
  api_put_ref(json, "schemas", name);
  emit_close(json);
  emit_object(json, NULL);
  emit_text(json, "type", "null");
  emit_close(json);
  emit_close(json);
}

static void put_words(struct emit *json, const char *words, bool or_null)
{
  put_type_of(json, "string", or_null);
  emit_array(json, "enum");
  while (words && *words) {
    char word[40];
    size_t size = strcspn(words, "|");

    snprintf(word, sizeof word, "%.*s", (int)size, words);
    emit_text(json, NULL, word);
    words += size + (words[size] == '|');
  }
  if (or_null)
    emit_null(json, NULL);
  emit_close(json);
}

static void put_list(struct emit *json, const char *of_type, const char *ref)
{
  emit_text(json, "type", "array");
  emit_object(json, "items");
  if (ref)
    api_put_ref(json, "schemas", ref);
  else
    emit_text(json, "type", of_type);
  emit_close(json);
}

static void put_numbers(struct emit *json)
{
  emit_text(json, "type", "array");
  emit_object(json, "items");
  put_type_of(json, "number", true);
  emit_close(json);
}

static void put_said(struct emit *json)
{
  emit_array(json, "type");
  emit_text(json, NULL, "boolean");
  emit_text(json, NULL, "number");
  emit_text(json, NULL, "null");
  emit_close(json);
}

static void put_value(struct emit *json, const struct api_row *row)
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
  case API_NUMBERS:
    put_numbers(json);
    break;
  case API_SAID:
    put_said(json);
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
    emit_text(json, "type", "object");
    emit_object(json, "additionalProperties");
    api_put_ref(json, "schemas", row->of);
    emit_close(json);
    break;
  case API_TYPE:
    break;
  }
}

static void put_schema(struct emit *json, int type)
{
  int end = type + 1;

  while (end < ROW_COUNT && rows[end].kind != API_TYPE)
    end++;
  emit_object(json, rows[type].key);
  emit_text(json, "description", rows[type].doc);
  emit_text(json, "type", "object");
  emit_bool(json, "additionalProperties", false);
  emit_object(json, "properties");
  for (int i = type + 1; i < end; i++) {
    emit_object(json, rows[i].key);
    put_value(json, &rows[i]);
    if (rows[i].doc[0])
      emit_text(json, "description", rows[i].doc);
    emit_close(json);
  }
  emit_close(json);
  emit_array(json, "required");
  for (int i = type + 1; i < end; i++)
    if (rows[i].need != API_IF_ANY)
      emit_text(json, NULL, rows[i].key);
  emit_close(json);
  emit_close(json);
}

/* ---- parameters ---- */

static void put_scene_parameter(struct emit *json)
{
  emit_object(json, "scene");
  emit_text(json, "name", "scene");
  emit_text(json, "in", "query");
  emit_text(json, "description",
            "A named scene of the suite, once. Empty: all parked. Without it: the scene the board "
            "was started with.");
  emit_text(json, "example", "busy");
  emit_bool(json, "allowEmptyValue", true);
  emit_object(json, "schema");
  emit_text(json, "type", "string");
  emit_close(json);
  emit_close(json);
}

static void put_station_parameter(struct emit *json)
{
  emit_object(json, "station");
  emit_text(json, "name", "station");
  emit_text(json, "in", "query");
  emit_bool(json, "required", true);
  emit_text(json, "description", "The station asked about.");
  emit_text(json, "example", "S3");
  emit_object(json, "schema");
  emit_text(json, "type", "string");
  emit_text(json, "pattern", "^[A-Za-z][A-Za-z0-9_-]{0,31}$");
  emit_close(json);
  emit_close(json);
}

static void put_sure_parameter(struct emit *json)
{
  emit_object(json, "sure");
  emit_text(json, "name", "sure");
  emit_text(json, "in", "query");
  emit_text(json, "description",
            "no: the best estimate only, without ±, in less time, while something is dragged.");
  emit_object(json, "schema");
  put_words(json, "yes|no", false);
  emit_close(json);
  emit_close(json);
}

static void put_together_parameters(struct emit *json)
{
  emit_object(json, "stations");
  emit_text(json, "name", "stations");
  emit_text(json, "in", "query");
  emit_text(json, "description",
            "These stations only, ids with commas; without it every one that may be raised.");
  emit_text(json, "example", "A1,S3");
  emit_object(json, "schema");
  emit_text(json, "type", "string");
  emit_close(json);
  emit_close(json);
  emit_object(json, "lost");
  emit_text(json, "name", "lost");
  emit_text(json, "in", "query");
  emit_text(json, "description", "no: without the parts lost in turn, in less time.");
  emit_object(json, "schema");
  put_words(json, "yes|no", false);
  emit_close(json);
  emit_close(json);
}

static void put_count_parameter(struct emit *json, const char *name, const char *what, int most)
{
  emit_object(json, name);
  emit_text(json, "name", name);
  emit_text(json, "in", "query");
  emit_text(json, "description", what);
  emit_object(json, "schema");
  emit_text(json, "type", "integer");
  emit_int(json, "minimum", 1);
  emit_int(json, "maximum", most);
  emit_close(json);
  emit_close(json);
}

static void put_sample_parameters(struct emit *json)
{
  put_count_parameter(json, "draws", "How many buildings are drawn; without it 1000.",
                      ASK_DRAWS_MOST);
  put_count_parameter(json, "seed", "The same seed gives the same draws; without it 1.",
                      ASK_SEED_MOST);
}

static void put_after_parameters(struct emit *json)
{
  emit_object(json, "event");
  emit_text(json, "name", "event");
  emit_text(json, "in", "query");
  emit_text(json, "description",
            "A time from the start and what happens then, in the order of their times; as often as "
            "there are events.");
  emit_text(json, "style", "form");
  emit_bool(json, "explode", true);
  emit_object(json, "schema");
  emit_text(json, "type", "array");
  emit_object(json, "items");
  emit_text(json, "type", "string");
  emit_close(json);
  emit_close(json);
  emit_array(json, "example");
  emit_text(json, NULL, "10s door D2 open");
  emit_close(json);
  emit_close(json);
  emit_object(json, "for");
  emit_text(json, "name", "for");
  emit_text(json, "in", "query");
  emit_text(json, "description", "How long; without it five minutes beyond the last event.");
  emit_text(json, "example", "10min");
  emit_object(json, "schema");
  emit_text(json, "type", "string");
  emit_close(json);
  emit_close(json);
}

static void put_change_parameter(struct emit *json, const struct scene_change_word *change)
{
  emit_object(json, change->verb);
  emit_text(json, "name", change->verb);
  emit_text(json, "in", "query");
  emit_text(json, "description", change->doc);
  emit_text(json, "style", "form");
  emit_bool(json, "explode", true);
  emit_object(json, "schema");
  emit_text(json, "type", "array");
  emit_object(json, "items");
  emit_text(json, "type", "string");
  emit_close(json);
  emit_close(json);
  emit_array(json, "example");
  emit_text(json, NULL, change->example);
  emit_close(json);
  emit_close(json);
}

static void put_parameters(struct emit *json)
{
  const struct scene_change_word *change;

  emit_object(json, "parameters");
  put_scene_parameter(json);
  for (int i = 0; (change = scene_change_word(i)) != NULL; i++)
    put_change_parameter(json, change);
  put_station_parameter(json);
  put_sure_parameter(json);
  put_together_parameters(json);
  put_sample_parameters(json);
  put_after_parameters(json);
  api_put_live_parameters(json);
  emit_close(json);
}

static void put_parameter_ref(struct emit *json, const char *name)
{
  emit_object(json, NULL);
  api_put_ref(json, "parameters", name);
  emit_close(json);
}

static void put_taken(struct emit *json, unsigned takes)
{
  const struct scene_change_word *change;

  emit_array(json, "parameters");
  if (takes & ASK_STATION)
    put_parameter_ref(json, "station");
  if (takes & ASK_SURE)
    put_parameter_ref(json, "sure");
  if (takes & ASK_TOGETHER) {
    put_parameter_ref(json, "stations");
    put_parameter_ref(json, "lost");
  }
  if (takes & ASK_SAMPLE) {
    put_parameter_ref(json, "draws");
    put_parameter_ref(json, "seed");
  }
  if (takes & ASK_AFTER) {
    put_parameter_ref(json, "event");
    put_parameter_ref(json, "for");
  }
  if (takes & ASK_SCENE) {
    put_parameter_ref(json, "scene");
    for (int i = 0; (change = scene_change_word(i)) != NULL; i++)
      put_parameter_ref(json, change->verb);
  }
  emit_close(json);
}

/* ---- addresses ---- */

void api_put_content(struct emit *json, const char *type)
{
  emit_object(json, "content");
  emit_object(json, "application/json");
  emit_object(json, "schema");
  if (type)
    api_put_ref(json, "schemas", type);
  else
    emit_text(json, "type", "object");
  emit_close(json);
  emit_close(json);
  emit_close(json);
}

static void put_path(struct emit *json, const struct ask_route *route)
{
  emit_object(json, route->path);
  emit_object(json, "get");
  emit_text(json, "operationId", route->name);
  emit_text(json, "summary", route->doc);
  put_taken(json, route->takes);
  emit_object(json, "responses");
  emit_object(json, "200");
  emit_text(json, "description", "The answer.");
  api_put_content(json, route->answers);
  emit_close(json);
  emit_object(json, "default");
  api_put_ref(json, "responses", "refused");
  emit_close(json);
  emit_close(json);
  emit_close(json);
  emit_close(json);
}

static void put_info(struct emit *json)
{
  emit_object(json, "info");
  emit_text(json, "title", "Inward: the board's JSON");
  emit_text(json, "version", answer_engine_version());
  emit_text(
      json, "description",
      "Shared air only: a station's own alarm decides. Read with GET (or HEAD), but for what "
      "people and programs enter; a trial has no body and no memory: it is its address. Changes are applied in the order written, whatever "
      "their names. SI; the unit is the end of the key (_per_h, _ratio and speed have none). "
      "null is unknown.");
  emit_object(json, "license");
  emit_text(json, "name", "Apache-2.0");
  emit_text(json, "identifier", "Apache-2.0");
  emit_close(json);
  emit_close(json);
  emit_array(json, "servers");
  emit_object(json, NULL);
  emit_text(json, "url", "/");
  emit_close(json);
  emit_close(json);
}

static void put_components(struct emit *json)
{
  emit_object(json, "components");
  put_parameters(json);
  emit_object(json, "responses");
  emit_object(json, "refused");
  emit_text(
      json, "description",
      "400 a question that cannot be meant, or not plain HTTP/1.1; 401 not the source's word; 404 "
      "nothing here; 405 another method; 413 a body too much; 500 and 503 no answer, with the "
      "reason.");
  api_put_content(json, "refusal");
  emit_close(json);
  emit_close(json);
  emit_object(json, "schemas");
  for (int i = 0; i < ROW_COUNT; i++)
    if (rows[i].kind == API_TYPE)
      put_schema(json, i);
  emit_close(json);
  emit_close(json);
}

void ask_print_openapi(struct buf *out)
{
  const struct ask_route *route;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "openapi", "3.1.0");
  put_info(&json);
  emit_object(&json, "paths");
  for (int i = 0; (route = ask_route_at(i)) != NULL; i++)
    put_path(&json, route);
  api_put_live_paths(&json);
  emit_close(&json);
  put_components(&json);
  emit_close(&json);
  emit_end(&json);
}
