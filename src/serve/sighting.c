#include "serve/body_impl.h"

#include "ask/ask.h"
#include "sighting/sighting.h"

/* What people told of glass that they saw, asked and told. */

enum { WORK_BYTES = 256 << 20 };

int live_get_sightings(const struct live *live, struct live_reader *reader, const char *search,
                       size_t size, struct buf *out)
{
  struct sighting_list *list;
  struct arena arena;
  struct err err = {0};
  int64_t t_ms;

  if (live_asked_at(live, search, size, &t_ms, &err) != ERR_OK)
    return ask_refuse(out, 400, err.text);
  enum err_code code = live_need_record(live, reader, &err);

  arena_init(&arena, WORK_BYTES);
  if (code == ERR_OK)
    code = sighting_recorded(reader->record, live->facility, live->given->zone, t_ms, &arena, &list,
                             &err);
  if (code == ERR_OK)
    sighting_json(list, out);
  arena_release(&arena);
  return code == ERR_OK ? 200 : ask_refuse(out, live_record_status(live, code), err.text);
}

/* ---- told ---- */

static enum err_code take(const struct live_telling *telling, struct record_entry *entry,
                          struct buf *faults, struct err *err)
{
  const struct live *live = telling->live;
  struct sighting_list *now;
  struct sighting_told told;
  enum err_code code = sighting_recorded(telling->record, live->facility, live->given->zone,
                                         telling->now_ms, telling->arena, &now, err);

  if (code != ERR_OK)
    return code;
  const struct sighting_asked asked = {.facility = live->facility,
                                       .zone = live->given->zone,
                                       .now_ms = telling->now_ms,
                                       .back_most_s = live->given->feeds->told_back_s,
                                       .pairs = telling->pairs,
                                       .count = telling->count,
                                       .now = now};

  code = sighting_take(&asked, telling->arena, &told, faults);
  if (code == ERR_OK) {
    entry->t_ms = told.t_ms;
    entry->about = told.about;
    entry->who = told.who;
    entry->text = told.text;
    entry->detail = told.detail;
  }
  return code;
}

int live_post_sighting(const struct live *live, struct json_t *root, struct buf *out)
{
  return live_post_telling(live, root, RECORD_GLASS, take, out);
}
