/* Which stations people took out of use and did not give back. */
#include "past/past_impl.h"

#include <string.h>

enum { ENTRIES_MOST = 100000 }; /* of one kind, the newest */

int past_station_of(const struct facility *f, const char *about)
{
  int station = facility_station_find(f, about);

  for (int i = 0; station < 0 && i < f->station_count; i++)
    if (f->stations[i].part.was && strcmp(f->stations[i].part.was, about) == 0)
      station = i;
  return station;
}

int past_withdrawal_station(const struct facility *f, const struct record_entry *entry)
{
  bool turns = entry->kind == RECORD_WITHDRAWN ||
               (entry->kind == RECORD_RELEASED && !past_is_of_stop(entry));

  return turns ? past_station_of(f, entry->about) : -1;
}

/* The newest as written down counts: what is told late of an earlier moment was meant of now. */
static void take(const struct facility *f, const struct record_entry *entry,
                 const struct record_entry **newest)
{
  int station = past_withdrawal_station(f, entry);

  if (station < 0)
    return;
  if (!newest[station] || newest[station]->number < entry->number)
    newest[station] = entry;
}

enum err_code past_withdrawals(struct record *record, const struct facility *f, int64_t t_ms,
                               int64_t known_ms, struct arena *arena,
                               const struct record_entry *const **out, struct err *err)
{
  static const enum record_kind kinds[] = {RECORD_WITHDRAWN, RECORD_RELEASED};
  size_t room = (size_t)f->station_count + 1;
  const struct record_entry **newest = ARENA_ARRAY(arena, const struct record_entry *, room);

  if (!newest)
    return err_set(err, ERR_LIMIT, "more stations than fit");
  for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
    const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                         .to_ms = t_ms == INT64_MAX ? t_ms : t_ms + 1,
                                         .kind = (int)kinds[k],
                                         .known_ms = known_ms,
                                         .most = ENTRIES_MOST};
    struct record_entry *list;
    int count = 0;
    enum err_code code = record_entries(record, &wanted, arena, &list, &count, err);

    if (code != ERR_OK)
      return code;
    for (int i = 0; i < count; i++)
      take(f, &list[i], newest);
  }
  for (int i = 0; i < f->station_count; i++)
    if (newest[i] && newest[i]->kind == RECORD_RELEASED)
      newest[i] = NULL;
  *out = newest;
  return ERR_OK;
}
