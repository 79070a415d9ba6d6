/* What was told, as the JSON of an entry, and back. */
#include "run/run_impl.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

static const char schema[] = "inward.run.1";
static const char *const acts[RUN_ACT_COUNT] = {"started", "read", "later", "over", "cleared"};

const char *run_act_name(enum run_act act)
{
  return acts[act];
}

int run_act_find(const char *name)
{
  for (int i = 0; i < RUN_ACT_COUNT; i++)
    if (strcmp(acts[i], name) == 0)
      return i;
  return -1;
}

void run_write(const struct run_said *said, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", schema);
  emit_text(&json, "act", acts[said->act]);
  if (said->act == RUN_STARTED) {
    emit_text(&json, "what", said->words.what);
    emit_text(&json, "holds", said->words.holds);
    emit_text(&json, "hazards", said->words.hazards);
    emit_text(&json, "call", said->words.call);
    emit_text(&json, "second", said->words.second);
  }
  if (said->until_ms != INT64_MIN)
    emit_int(&json, "until_ms", said->until_ms);
  if (!isnan(said->temperature_K))
    emit_number(&json, "temperature_K", said->temperature_K);
  emit_close(&json);
  emit_end(&json);
}

static const char *text_of(const json_t *root, const char *key, struct arena *arena, bool *fits)
{
  const char *text = json_string_value(json_object_get(root, key));
  const char *own = text ? arena_strdup(arena, text) : NULL;

  *fits = *fits && (!text || own);
  return own;
}

/* Far from every plausible moment is no moment: 1970 to 2970. */
static bool read_until(const json_t *root, struct run_said *said)
{
  const json_t *until = json_object_get(root, "until_ms");

  if (!until)
    return said->act != RUN_STARTED && said->act != RUN_LATER;
  said->until_ms = json_integer_value(until);
  return json_is_integer(until) && said->until_ms > 0 && said->until_ms < 31556952000000LL;
}

static bool read_temperature(const json_t *root, struct run_said *said)
{
  const json_t *temperature = json_object_get(root, "temperature_K");

  if (!temperature)
    return said->act != RUN_READ;
  said->temperature_K = json_number_value(temperature);
  return json_is_number(temperature) && said->temperature_K > 0 && said->temperature_K < 3000;
}

bool run_read(const char *detail, struct arena *arena, struct run_said *out)
{
  json_t *root = json_loads(detail, JSON_REJECT_DUPLICATES, NULL);
  const char *is = json_string_value(json_object_get(root, "schema")),
             *name = json_string_value(json_object_get(root, "act"));
  int act = name ? run_act_find(name) : -1;
  struct run_said said = {
      .act = act < 0 ? RUN_READ : (enum run_act)act, .until_ms = INT64_MIN, .temperature_K = NAN};
  bool read = is && strcmp(is, schema) == 0 && act >= 0 && read_until(root, &said) &&
              read_temperature(root, &said);

  said.words = (struct run_words){.what = text_of(root, "what", arena, &read),
                                  .holds = text_of(root, "holds", arena, &read),
                                  .hazards = text_of(root, "hazards", arena, &read),
                                  .call = text_of(root, "call", arena, &read),
                                  .second = text_of(root, "second", arena, &read)};
  json_decref(root);
  if (act == RUN_STARTED)
    read = read && said.words.what && said.words.holds && said.words.hazards && said.words.call;
  if (read)
    *out = said;
  return read;
}
