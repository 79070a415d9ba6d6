#include "watch/watch_impl.h"

#include <string.h>

/* A stop of all work, as it was told to the watch and as a belief has it. */

static const bool *copy_flags(const bool *flags, int count, struct arena *arena)
{
  bool *copied = ARENA_ARRAY(arena, bool, (size_t)count + 1);

  BUG_IF(!copied);
  memcpy(copied, flags, (size_t)count * sizeof *copied);
  return copied;
}

static const char *copy_text(const char *text, struct arena *arena)
{
  const char *copied = arena_strdup(arena, text);

  BUG_IF(!copied);
  return copied;
}

static struct watch_stop copy_stop(const struct watch_stop *stop, int stations, struct arena *arena)
{
  return (struct watch_stop){.since_ms = stop->since_ms,
                             .act = copy_text(stop->act, arena),
                             .why = copy_text(stop->why, arena),
                             .next = copy_text(stop->next, arena),
                             .released = copy_flags(stop->released, stations, arena),
                             .withdrawn = copy_flags(stop->withdrawn, stations, arena)};
}

void watch_stop(struct watch *watch, const struct watch_stop *stop)
{
  struct arena before = watch->stop_arena;

  arena_init(&watch->stop_arena, SIZE_MAX); /* bounded by the facility and the texts of one stop */
  watch->is_stopped = stop != NULL;
  watch->stop = stop ? copy_stop(stop, watch->facility->station_count, &watch->stop_arena)
                     : (struct watch_stop){0};
  arena_release(&before);
}

void believe_stop(struct believer *b)
{
  struct watch_stop *stop = b->watch->is_stopped ? ARENA_NEW(b->arena, struct watch_stop) : NULL;

  if (!b->watch->is_stopped)
    return;
  BUG_IF(!stop);
  *stop = copy_stop(&b->watch->stop, b->f->station_count, b->arena);
  b->out->stop = stop;
}
