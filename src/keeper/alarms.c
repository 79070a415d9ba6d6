#include "keeper/keeper_impl.h"

#include <stdlib.h>
#include <string.h>

/* The keeper and the alarms: told as they turn, shown in every view, answered by people. */

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
  else if (turn->kind == ALARM_TURN_ON && alarm->state == ALARM_SHELVED)
    buf_printf(out, "put aside (%s): ", alarm->why);
  else if (turn->kind == ALARM_TURN_ON)
    buf_puts(out, "noted: ");
  else
    buf_puts(out, turn->kind == ALARM_TURN_OFF ? "ended: " : "no longer put aside: ");
  alarms_place(alarms, turn->index, out);
}

void keeper_alarm_turned(void *arg, const struct alarms *alarms, const struct alarm_turn *turn)
{
  struct keeper *k = arg;
  struct buf text, detail;

  keeper_post_alarm(k, alarms, turn);
  /* What a person did is an entry of its own. */
  if (turn->kind == ALARM_TURN_ACKNOWLEDGED || turn->kind == ALARM_TURN_SHELVED)
    return;
  buf_init(&text, RECORD_TEXT_MOST_BYTES);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  turn_text(alarms, turn, &text);
  alarms_turn_json(alarms, turn, &detail);
  keeper_note_event(k, &(struct keeper_told){.t_ms = turn->t_ms,
                                             .about = alarms_at(alarms, turn->index)->about,
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
  int64_t from_ms, until_ms;
};

static enum err_code shelve(struct keeper *k, void *arg, struct err *err)
{
  const struct shelving *s = arg;
  const struct alarm_told told = {.t_ms = s->entry->t_ms,
                                  .about = s->entry->about,
                                  .who = s->entry->who,
                                  .why = s->entry->text,
                                  .from_ms = s->from_ms,
                                  .until_ms = s->until_ms};
  enum err_code code = alarms_shelve(k->alarms, &told, err);
  struct buf detail;

  if (code != ERR_OK)
    return code;
  k->values_changed = true;
  buf_init(&detail, 400);
  alarms_shelf_json(s->from_ms, s->until_ms, &detail);
  s->entry->detail = detail.text;
  code = keeper_append(k, s->entry, err);
  s->entry->detail = "";
  buf_release(&detail);
  return code;
}

enum err_code keeper_shelve(struct keeper *k, struct record_entry *entry, int64_t from_ms,
                            int64_t until_ms, struct err *err)
{
  struct shelving shelving = {entry, from_ms, until_ms};

  return keeper_do(k, shelve, &shelving, err);
}

void keeper_add_alarms(void *arg, struct emit *json)
{
  const struct keeper_shown_alarms *shown = arg;

  alarms_json(shown->alarms, shown->now_ms, json, "alarms");
  alarms_planned_json(shown->alarms, shown->now_ms, json, "planned");
}

/* ---- how they stood when the program stopped ---- */

enum { OF_A_PART = 400, RECALL_BYTES = 256 << 20 }; /* entries that are looked at */

struct recalled {
  int64_t number;
  struct alarm_told told;
};
struct recollection {
  struct arena arena;
  int count, room;
  struct recalled *list;
};

static void add_recalled(struct recollection *r, const struct record_entry *entry)
{
  struct recalled one = {
      .number = entry->number,
      .told = {.t_ms = entry->t_ms, .about = entry->about, .who = entry->who, .why = entry->text}};

  if (r->count < r->room &&
      alarm_told_read(record_kind_name(entry->kind), entry->detail, &r->arena, &one.told))
    r->list[r->count++] = one;
}

static enum err_code recall_part(struct keeper *k, struct recollection *r, const char *about,
                                 struct err *err)
{
  struct record_wanted wanted = {.from_ms = INT64_MIN,
                                 .to_ms = INT64_MAX,
                                 .about = about,
                                 .kind = -1,
                                 .known_ms = INT64_MAX,
                                 .most = OF_A_PART};
  struct record_entry *list;
  int count = 0;
  enum err_code code = record_entries(k->record, &wanted, &r->arena, &list, &count, err);

  for (int i = 0; code == ERR_OK && i < count; i++)
    add_recalled(r, &list[i]);
  return code;
}

static bool is_first_of_part(const struct alarms *alarms, int index)
{
  for (int i = 0; i < index; i++)
    if (strcmp(alarms_at(alarms, i)->about, alarms_at(alarms, index)->about) == 0)
      return false;
  return true;
}

static int by_number(const void *a, const void *b)
{
  const struct recalled *x = a, *y = b;

  return (x->number > y->number) - (x->number < y->number);
}

enum err_code keeper_recall_alarms(struct keeper *k, struct err *err)
{
  int parts = alarms_count(k->alarms);
  struct recollection r = {.room = parts * OF_A_PART};
  enum err_code code = ERR_OK;

  arena_init(&r.arena, RECALL_BYTES);
  r.list = calloc((size_t)r.room + 1, sizeof *r.list);
  struct alarm_told *told = calloc((size_t)r.room + 1, sizeof *told);

  if (!r.list || !told)
    err_no_memory();
  for (int i = 0; i < parts && code == ERR_OK; i++)
    if (is_first_of_part(k->alarms, i))
      code = recall_part(k, &r, alarms_at(k->alarms, i)->about, err);
  qsort(r.list, (size_t)r.count, sizeof *r.list, by_number);
  for (int i = 0; i < r.count; i++)
    told[i] = r.list[i].told;
  if (code == ERR_OK)
    alarms_recall(k->alarms, told, r.count);
  free(told);
  free(r.list);
  arena_release(&r.arena);
  return code;
}
