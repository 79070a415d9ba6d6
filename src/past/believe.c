/* What the board believed at a moment: the record's values heard again, and nothing solved. */
#include "past/past_impl.h"

#include <stdlib.h>

struct hearing {
  struct watch *watch;
  int64_t until_ms;
};

static void hear(void *arg, const struct feed_observation *o)
{
  struct hearing *h = arg;

  if (o->t_ms <= h->until_ms)
    watch_take(h->watch, o);
}

/* What came last of each point before the span that is heard: so that it is old, and not unheard of. */
static enum err_code hear_the_last(const struct past_place *place, struct hearing *h,
                                   int64_t before_ms, struct err *err)
{
  int count = place->feeds->point_count;
  struct feed_observation *list = calloc((size_t)count + 1, sizeof *list);

  if (!list)
    err_no_memory();
  enum err_code code = record_latest(place->record, list, count, err);

  for (int i = 0; code == ERR_OK && i < count; i++)
    if (list[i].t_ms != INT64_MIN && list[i].t_ms < before_ms)
      watch_take(h->watch, &list[i]);
  free(list);
  return code;
}

static enum err_code withdraw(const struct past_place *place, struct watch *watch, int64_t t_ms,
                              int64_t known_ms, struct err *err)
{
  const struct record_entry *const *withdrawn;
  struct arena arena;

  arena_init(&arena, (size_t)256 << 20);
  enum err_code code =
      past_withdrawals(place->record, place->facility, t_ms, known_ms, &arena, &withdrawn, err);

  for (int i = 0; code == ERR_OK && i < place->facility->station_count; i++)
    watch_withdraw(watch, i, withdrawn[i] != NULL);
  arena_release(&arena);
  return code;
}

enum err_code past_believe(const struct past_place *place, int64_t t_ms, int64_t known_ms,
                           struct arena *arena, struct watch_belief *out, struct err *err)
{
  struct hearing h = {watch_new(place->facility, place->feeds), t_ms};
  const struct feed_sink sink = {hear, &h};
  int64_t from_ms = t_ms - past_warm_up_ms(place);
  enum err_code code = known_ms == INT64_MAX ? hear_the_last(place, &h, from_ms, err) : ERR_OK;

  if (code == ERR_OK)
    code = record_replay(place->record, from_ms, t_ms + 1, known_ms, &sink, err);
  if (code == ERR_OK)
    code = withdraw(place, h.watch, t_ms, known_ms, err);
  if (code == ERR_OK)
    *out = watch_believe(h.watch, t_ms, arena);
  watch_free(h.watch);
  return code;
}
