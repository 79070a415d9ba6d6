#include "keeper/keeper_impl.h"

#include <stdio.h>

/* The keeper and what is overdue: looked at when something was told and every few minutes, sent as one message. */

enum { DUE_BYTES = 256 << 20, LOOK_MS = 10 * 60 * 1000, TURN_MS = 20 * 1000 };

static enum err_code find(struct keeper *k, int64_t now_ms, struct arena *arena,
                          struct remind_list *list, struct err *err)
{
  struct round_list *rounds = NULL;
  struct wet_past *told = NULL;
  struct wet_place place;
  enum err_code code =
      round_recorded(k->record, k->given.facility, k->given.zone, now_ms, arena, &rounds, err);

  if (code == ERR_OK && k->given.wet)
    code = wet_recorded(k->record, now_ms, arena, &told, err);
  if (code != ERR_OK)
    return code;
  if (told) {
    place = *k->given.wet;
    place.now_ms = now_ms;
  }
  if (!remind_due(rounds, told ? wet_baths(&place, told, arena) : NULL,
                  told ? wet_waste(&place, told, arena) : NULL, arena, list))
    return err_set(err, ERR_LIMIT, "too much is overdue");
  code = keeper_add_night(k, now_ms, arena, list, err);
  return code == ERR_OK ? keeper_add_tidy(k, arena, list, err) : code;
}

void keeper_look_for_reminders(struct keeper *k)
{
  struct remind_list list;
  struct arena arena;
  struct err err = {0};
  int64_t now_ms = keeper_now_ms(k);

  if (!k->record)
    return;
  arena_init(&arena, DUE_BYTES);
  if (find(k, now_ms, &arena, &list, &err) == ERR_OK) {
    reminders_see(k->reminders, &list); /* else what was known of them stays */
    k->values_changed = true;
  }
  k->reminders_look_ms = now_ms + LOOK_MS;
  arena_release(&arena);
}

static void send(struct keeper *k, const char *text, int64_t now_ms)
{
  char cause[60];

  snprintf(cause, sizeof cause, "reminder %lld", (long long)now_ms);
  for (int i = 0; k->post && i < k->given.feeds->message_count; i++)
    if (k->given.feeds->messages[i].reminders)
      post_put(k->post, i,
               &(struct post_item){.cause = cause,
                                   .what = "reminder",
                                   .priority = "",
                                   .about = "",
                                   .text = text,
                                   .t_ms = now_ms});
}

/* A replay reminds nobody: what was overdue then is not to be done now. */
void keeper_reminders_turn(struct keeper *k, int64_t now_ms)
{
  struct buf text, detail;

  if (now_ms >= k->reminders_look_ms || now_ms < k->reminders_look_ms - LOOK_MS)
    keeper_look_for_reminders(k);
  if (k->given.replay ||
      (now_ms < k->reminders_turn_ms && now_ms >= k->reminders_turn_ms - TURN_MS))
    return;
  k->reminders_turn_ms = now_ms + TURN_MS;
  buf_init(&text, 1000);
  buf_init(&detail, 64 << 10);
  if (reminders_tell(k->reminders, now_ms, &text, &detail)) {
    keeper_note_event(k, &(struct keeper_told){.t_ms = now_ms,
                                               .about = "",
                                               .text = text.text,
                                               .detail = detail.full ? "" : detail.text});
    send(k, text.text, now_ms);
    k->values_changed = true;
  }
  buf_release(&text);
  buf_release(&detail);
}

/* Who was reminded before the program stopped is not reminded again by its start. */
enum err_code keeper_take_reminders(struct keeper *k, struct err *err)
{
  enum { LOOKED_AT = 2000 };
  const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                       .to_ms = INT64_MAX,
                                       .about = "",
                                       .kind = RECORD_EVENT,
                                       .known_ms = INT64_MAX,
                                       .most = LOOKED_AT};
  struct record_entry *list;
  struct arena arena;
  int count = 0;

  arena_init(&arena, DUE_BYTES);
  enum err_code code = record_entries(k->record, &wanted, &arena, &list, &count, err);

  for (int i = 0; code == ERR_OK && i < count; i++)
    reminders_restore(k->reminders, list[i].detail, list[i].t_ms);
  arena_release(&arena);
  return code;
}
