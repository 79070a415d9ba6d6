#include "keeper/keeper_impl.h"

#include <string.h>

/* The keeper and a stop of all work that a person told: until every station in use was released it lasts. */

enum { LOOKED_AT = 20 }; /* the newest of a station: older releases are of no newer stop */

/* The number of the newest such entry whose detail has `of`; 0: there is none. */
static enum err_code newest(struct keeper *k, enum record_kind kind, const char *about,
                            const char *of, int64_t *number, struct err *err)
{
  const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                       .to_ms = INT64_MAX,
                                       .about = about,
                                       .kind = (int)kind,
                                       .known_ms = INT64_MAX,
                                       .most = LOOKED_AT};
  struct record_entry *list;
  struct arena arena;
  int count = 0;

  arena_init(&arena, (size_t)LOOKED_AT * 3 * RECORD_TEXT_MOST_BYTES);
  enum err_code code = record_entries(k->record, &wanted, &arena, &list, &count, err);

  *number = 0;
  for (int i = 0; code == ERR_OK && i < count; i++)
    if (list[i].number > *number && strstr(list[i].detail, of))
      *number = list[i].number;
  arena_release(&arena);
  return code;
}

/* A station that was withdrawn and given back is released from no stop by that. */
void keeper_look_for_stop(struct keeper *k)
{
  struct err err = {0};
  int64_t stop, released;
  bool waits = false;

  if (!k->record)
    return;
  enum err_code code = newest(k, RECORD_STOPPED, NULL, "", &stop, &err);

  for (int i = 0; code == ERR_OK && stop > 0 && !waits && i < k->given.facility->station_count;
       i++) {
    code = newest(k, RECORD_RELEASED, k->given.facility->stations[i].part.id, "inward.restarted.1",
                  &released, &err);
    waits = !watch_is_withdrawn(k->watch, i) && released < stop;
  }
  if (code == ERR_OK)
    k->stopped = waits;
}

bool keeper_is_stopped(const struct keeper *k)
{
  return k->stopped;
}
