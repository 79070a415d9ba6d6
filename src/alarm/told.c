#include "alarm/alarm_impl.h"

#include "base/when.h"

#include <jansson.h>
#include <string.h>

/* What was told, as the record keeps it, written and read back. */

void alarms_turn_json(const struct alarms *a, const struct alarm_turn *turn, struct buf *out)
{
  const struct alarm *alarm = alarms_at(a, turn->index);
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.alarm.1");
  emit_text(&json, "when", feeds_when_name(alarm->rule->when));
  emit_text(&json, "priority", feeds_priority_name(alarm->priority));
  emit_text(&json, "turn", alarm_turn_name(turn->kind));
  emit_text(&json, "state", alarm_state_key(alarm->state));
  emit_text(&json, "measured", alarm->measured);
  emit_close(&json);
  emit_end(&json);
}

void alarms_shelf_json(int64_t from_ms, int64_t until_ms, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.shelved.1");
  when_emit(&json, "from", from_ms);
  when_emit(&json, "until", until_ms);
  emit_close(&json);
  emit_end(&json);
}

/* ---- reading ---- */

/* Index of the field's text among `count` names; -1: none of them. */
static int word_of(const json_t *root, const char *key, const char *(*name)(int), int count)
{
  const char *text = json_string_value(json_object_get(root, key));

  for (int i = 0; text && i < count; i++)
    if (strcmp(text, name(i)) == 0)
      return i;
  return -1;
}

static const char *when_word(int i)
{
  return feeds_when_name((enum feeds_when)i);
}

static const char *priority_word(int i)
{
  return feeds_priority_name((enum feeds_priority)i);
}

static const char *turn_word(int i)
{
  return alarm_turn_name((enum alarm_turn_kind)i);
}

static const char *state_word(int i)
{
  return alarm_state_key((enum alarm_state)i);
}

static bool read_turn(const json_t *root, struct arena *arena, struct alarm_told *out)
{
  const char *measured = json_string_value(json_object_get(root, "measured"));
  int priority = word_of(root, "priority", priority_word, FEEDS_NOBODY + 1);
  int turn = word_of(root, "turn", turn_word, ALARM_TURN_UNSHELVED + 1);
  int state = word_of(root, "state", state_word, ALARM_STATE_COUNT);

  out->when = word_of(root, "when", when_word, FEEDS_WHEN_COUNT);
  if (out->when < 0 || priority < 0 || turn < 0 || state < 0)
    return false;
  out->priority = (enum feeds_priority)priority;
  out->kind = (enum alarm_turn_kind)turn;
  out->state = (enum alarm_state)state;
  out->measured = measured ? arena_strdup(arena, measured) : "";
  return out->measured != NULL;
}

static bool read_shelf(const json_t *root, struct alarm_told *out)
{
  const char *from = json_string_value(json_object_get(root, "from"));
  const char *until = json_string_value(json_object_get(root, "until"));
  struct err err = {0};

  out->kind = ALARM_TURN_SHELVED;
  return from && until && when_read(from, NULL, NULL, &out->from_ms, &err) == ERR_OK &&
         when_read(until, NULL, NULL, &out->until_ms, &err) == ERR_OK;
}

static bool read_detail(const char *detail, bool shelf, struct arena *arena, struct alarm_told *out)
{
  json_t *root = json_loads(detail, JSON_REJECT_DUPLICATES, NULL);
  const char *schema = json_string_value(json_object_get(root, "schema"));
  bool read = schema && strcmp(schema, shelf ? "inward.shelved.1" : "inward.alarm.1") == 0 &&
              (shelf ? read_shelf(root, out) : read_turn(root, arena, out));

  json_decref(root);
  return read;
}

bool alarm_told_read(const char *kind, const char *detail, struct arena *arena,
                     struct alarm_told *out)
{
  out->when = -1;
  out->measured = "";
  if (strcmp(kind, "acknowledged") == 0 || strcmp(kind, "unshelved") == 0) {
    out->kind = kind[0] == 'a' ? ALARM_TURN_ACKNOWLEDGED : ALARM_TURN_UNSHELVED;
    return true;
  }
  if (strcmp(kind, "event") != 0 && strcmp(kind, "shelved") != 0)
    return false;
  return read_detail(detail, kind[0] == 's', arena, out);
}
