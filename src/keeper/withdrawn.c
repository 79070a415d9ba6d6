#include "keeper/keeper_impl.h"

#include "past/past.h"

#include <stdlib.h>
#include <string.h>

/* Which stations people took out of use, by whom and why. */

static void forget(struct keeper *k, int station)
{
  free(k->withdrawn_words[station]);
  k->withdrawn_words[station] = NULL;
  k->withdrawn[station] = (struct answer_live_withdrawn){0};
}

static void make_room(struct keeper *k)
{
  size_t count = (size_t)k->given.facility->station_count;

  if (k->withdrawn)
    return;
  k->withdrawn = calloc(count, sizeof *k->withdrawn);
  k->withdrawn_words = calloc(count, sizeof *k->withdrawn_words);
  if (!k->withdrawn || !k->withdrawn_words)
    err_no_memory();
}

void keeper_withdraw(struct keeper *k, int station, const struct record_entry *entry)
{
  size_t who_size = strlen(entry->who) + 1, why_size = strlen(entry->text) + 1;
  char *words = malloc(who_size + why_size);

  if (!words)
    err_no_memory();
  make_room(k);
  forget(k, station);
  memcpy(words, entry->who, who_size);
  memcpy(words + who_size, entry->text, why_size);
  k->withdrawn_words[station] = words;
  k->withdrawn[station] = (struct answer_live_withdrawn){words, words + who_size, entry->t_ms};
  watch_withdraw(k->watch, station, true);
}

void keeper_release_station(struct keeper *k, int station)
{
  if (k->withdrawn)
    forget(k, station);
  watch_withdraw(k->watch, station, false);
}

void keeper_drop_withdrawals(struct keeper *k)
{
  for (int i = 0; k->withdrawn && i < k->given.facility->station_count; i++)
    forget(k, i);
  free(k->withdrawn);
  free(k->withdrawn_words);
  k->withdrawn = NULL;
  k->withdrawn_words = NULL;
}

enum err_code keeper_take_withdrawals(struct keeper *k, struct err *err)
{
  const struct record_entry *const *withdrawn;
  struct arena arena;

  arena_init(&arena, (size_t)256 << 20);
  enum err_code code =
      past_withdrawals(k->record, k->given.facility, INT64_MAX, INT64_MAX, &arena, &withdrawn, err);

  for (int i = 0; code == ERR_OK && i < k->given.facility->station_count; i++)
    if (withdrawn[i])
      keeper_withdraw(k, i, withdrawn[i]);
  arena_release(&arena);
  return code;
}
