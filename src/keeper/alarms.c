#include "keeper/keeper_impl.h"

#include <string.h>

/* The keeper and the alarms: told as they turn, shown in every view, answered by people. */

/* inward.alarm.1: what `past` counts. */
static void turn_json(const struct alarm *alarm, const struct alarm_turn *turn, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.alarm.1");
  emit_text(&json, "when", feeds_when_name(alarm->rule->when));
  emit_text(&json, "priority", feeds_priority_name(alarm->priority));
  emit_text(&json, "turn", alarm_turn_name(turn->kind));
  emit_text(&json, "state", alarm_state_key(alarm->state));
  emit_close(&json);
  emit_end(&json);
}

static void turn_text(const struct alarms *alarms, const struct alarm_turn *turn, struct buf *out)
{
  const struct alarm *alarm = alarms_at(alarms, turn->index);

  if (turn->kind == ALARM_TURN_ON && alarm->state == ALARM_ACTIVE &&
      alarm->rule->priority != FEEDS_NOBODY) {
    buf_printf(out, "alarm, %s: ", feeds_priority_name(alarm->priority));
    alarms_message(alarms, turn->index, out);
    return;
  }
  if (turn->kind == ALARM_TURN_ON && alarm->state == ALARM_SUPPRESSED)
    buf_printf(out, "explained by %s: ", alarms_at(alarms, alarm->cause)->about);
  else if (turn->kind == ALARM_TURN_ON)
    buf_puts(out, "noted: ");
  else
    buf_puts(out, turn->kind == ALARM_TURN_OFF ? "ended: " : "no longer put aside: ");
  alarms_place(alarms, turn->index, out);
}

void keeper_alarm_turned(void *arg, const struct alarms *alarms, const struct alarm_turn *turn)
{
  struct keeper *k = arg;
  const struct alarm *alarm = alarms_at(alarms, turn->index);
  struct buf text, detail;

  /* What a person did is an entry of its own. */
  if (turn->kind == ALARM_TURN_ACKNOWLEDGED || turn->kind == ALARM_TURN_SHELVED)
    return;
  buf_init(&text, RECORD_TEXT_MOST_BYTES);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  turn_text(alarms, turn, &text);
  turn_json(alarm, turn, &detail);
  keeper_note_event(k, &(struct keeper_told){.t_ms = turn->t_ms,
                                             .about = alarm->about,
                                             .text = text.text,
                                             .detail = detail.text,
                                             .after_replay = keeper_is_replay_over(k)});
  k->values_changed = true;
  buf_release(&text);
  buf_release(&detail);
}

void keeper_acknowledge(struct keeper *k, const struct record_entry *entry)
{
  if (alarms_acknowledge(k->alarms, entry->about, entry->who, entry->t_ms) > 0)
    k->values_changed = true;
}

void keeper_take_back(struct keeper *k, const struct record_entry *entry)
{
  alarms_unshelve(k->alarms, entry->about, entry->t_ms);
}

struct shelving {
  struct record_entry *entry;
  int64_t until_ms;
};

static enum err_code shelve(struct keeper *k, void *arg, struct err *err)
{
  const struct shelving *s = arg;
  enum err_code code = alarms_shelve(k->alarms, s->entry->about, s->entry->who, s->entry->text,
                                     s->entry->t_ms, s->until_ms, err);

  if (code != ERR_OK)
    return code;
  k->values_changed = true;
  return keeper_append(k, s->entry, err);
}

enum err_code keeper_shelve(struct keeper *k, struct record_entry *entry, int64_t until_ms,
                            struct err *err)
{
  struct shelving shelving = {entry, until_ms};

  return keeper_do(k, shelve, &shelving, err);
}

void keeper_add_alarms(void *arg, struct emit *json)
{
  const struct keeper_shown_alarms *shown = arg;

  alarms_json(shown->alarms, shown->now_ms, json, "alarms");
}
