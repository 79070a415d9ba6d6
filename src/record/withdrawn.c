#include "record/record_impl.h"

/* Whether a station is taken out of use, under its id or the one that it had before. */

static enum err_code newest(struct record *record, const struct facility_part *station,
                            enum record_kind kind, struct arena *arena, struct record_entry **out,
                            struct err *err)
{
  const char *const ids[] = {station->id, station->was};
  enum err_code code = ERR_OK;

  *out = NULL;
  for (size_t i = 0; i < sizeof ids / sizeof *ids && ids[i] && code == ERR_OK; i++) {
    struct record_wanted wanted = {.from_ms = INT64_MIN,
                                   .to_ms = INT64_MAX,
                                   .about = ids[i],
                                   .kind = (int)kind,
                                   .known_ms = INT64_MAX,
                                   .most = 1};
    struct record_entry *list;
    int count = 0;

    code = record_entries(record, &wanted, arena, &list, &count, err);
    if (code == ERR_OK && count > 0 && (!*out || list->number > (*out)->number))
      *out = list;
  }
  return code;
}

enum err_code record_withdrawn(struct record *record, const struct facility_part *station,
                               struct arena *arena, struct record_entry **out, struct err *err)
{
  struct record_entry *back;
  enum err_code code = newest(record, station, RECORD_WITHDRAWN, arena, out, err);

  if (code == ERR_OK)
    code = newest(record, station, RECORD_RELEASED, arena, &back, err);
  if (code != ERR_OK || (*out && back && back->number > (*out)->number))
    *out = NULL;
  return code;
}
