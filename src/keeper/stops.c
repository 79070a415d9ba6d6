#include "keeper/keeper_impl.h"

#include "past/past.h"

/* The keeper and a stop of all work, told or seen: the belief has it until people released the stations.
 * What is a stop, and when it is over, is past.h's to say. */

enum { STOP_BYTES = 1 << 30 };

void keeper_look_for_stop(struct keeper *k)
{
  const struct past_place place = {.record = k->record,
                                   .facility = k->given.facility,
                                   .feeds = k->given.feeds,
                                   .zone = k->given.zone};
  struct past_stop stop;
  struct arena arena;
  struct err err = {0};

  if (!k->record)
    return;
  arena_init(&arena, STOP_BYTES);
  if (past_stop_find(&place, keeper_now_ms(k), &arena, &stop, &err) == ERR_OK) {
    struct watch_stop said = {0};

    if (stop.is_open)
      said = past_stop_belief(&place, &stop, &arena);
    watch_stop(k->watch, stop.is_open ? &said : NULL);
    k->values_changed = true;
  }
  arena_release(&arena);
}
