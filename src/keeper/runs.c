#include "keeper/keeper_impl.h"

/*
 * The keeper and runs with nobody there: what people told of them stands in the views, and a station whose
 * run is not cold yet needs its flow, so that nobody is asked to lower it.
 */

enum { RUNS_BYTES = 256 << 20 };

/* When a phase may turn though nothing is told. */
static int64_t next_turn(const struct run_list *list, int64_t now_ms)
{
  int64_t next_ms = INT64_MAX;

  for (int i = 0; i < list->count; i++) {
    const struct run *run = &list->runs[i];
    int64_t turns_ms = run->over_ms == INT64_MIN ? run->until_ms + 1 : run->cold_ms;

    if (turns_ms > now_ms && turns_ms < next_ms)
      next_ms = turns_ms;
  }
  return next_ms;
}

void keeper_look_for_runs(struct keeper *k)
{
  struct run_list *list;
  struct arena arena;
  struct err err = {0};
  int64_t now_ms = keeper_now_ms(k);

  if (!k->record)
    return;
  arena_init(&arena, RUNS_BYTES);
  if (run_recorded(k->record, k->given.facility, k->given.zone, now_ms, &arena, &list, &err) !=
      ERR_OK) {
    arena_release(&arena); /* what was known of them stays */
    return;
  }
  arena_release(&k->runs_arena);
  k->runs_arena = arena;
  k->runs = list;
  k->runs_next_ms = next_turn(list, now_ms);
  k->values_changed = true;
}

void keeper_runs_turn(struct keeper *k, int64_t now_ms)
{
  if (k->runs && now_ms >= k->runs_next_ms)
    keeper_look_for_runs(k);
}

const char *keeper_run_needs_flow(const struct keeper *k, int station)
{
  return k->runs ? run_needs_flow(run_at(k->runs, station)) : NULL;
}

void keeper_add_runs(const struct keeper *k, struct emit *json)
{
  emit_array(json, "runs");
  for (int i = 0; k->runs && i < k->runs->count; i++)
    run_emit(json, k->runs, &k->runs->runs[i]);
  emit_close(json);
}

void keeper_drop_runs(struct keeper *k)
{
  k->runs = NULL;
  arena_release(&k->runs_arena);
}
