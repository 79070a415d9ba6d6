#include "serve/body_impl.h"

#include "ask/ask.h"
#include "sighting/sighting.h"

/* What people told of glass that they saw, asked and told. */

enum { PAIRS_MOST = 16, TOLD_BYTES = 1 << 16, WORK_BYTES = 256 << 20 };

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

/* What was told until now; on a board without a record nothing is told. */
static enum err_code look(const struct live *live, int64_t now_ms, struct arena *arena,
                          struct sighting_list **out, struct err *err)
{
  struct record *record;
  enum err_code code;

  if (!live->given->record_path)
    return err_set(err, ERR_INPUT, "nothing is kept here: start the board with --record FILE");
  code = record_open(live->given->record_path, RECORD_READ, &record, err);
  if (code != ERR_OK)
    return code;
  code = sighting_recorded(record, live->facility, live->given->zone, now_ms, arena, out, err);
  record_close(record);
  return code;
}

static int take(const struct live *live, const struct sighting_asked *asked, struct arena *arena,
                struct buf *out)
{
  struct sighting_told told;
  struct buf faults;
  int status;

  buf_init(&faults, TOLD_BYTES);
  if (sighting_take(asked, arena, &told, &faults) != ERR_OK) {
    buf_trim_end(&faults);
    status = ask_refuse(out, 400, faults.text);
  } else {
    struct record_entry entry = {.t_ms = told.t_ms,
                                 .written_ms = asked->now_ms,
                                 .kind = RECORD_GLASS,
                                 .about = told.about,
                                 .who = told.who,
                                 .text = told.text,
                                 .detail = told.detail};

    status = live_enter_as_is(live, &entry, out);
  }
  buf_release(&faults);
  return status;
}

int live_post_sighting(const struct live *live, struct json_t *root, struct buf *out)
{
  struct typed_pair pairs[PAIRS_MOST];
  struct sighting_list *now = NULL;
  struct err err = {0};
  struct arena arena;
  struct sighting_asked asked = {.facility = live->facility,
                                 .zone = live->given->zone,
                                 .now_ms = keeper_now_ms(live->given->keeper),
                                 .back_most_s = live->given->feeds->told_back_s,
                                 .pairs = pairs,
                                 .count = live_pairs(root, pairs, PAIRS_MOST)};
  int status;

  if (json_object_size(root) > PAIRS_MOST)
    return ask_refuse(out, 400, "more fields than any telling has");
  arena_init(&arena, WORK_BYTES);
  if (look(live, asked.now_ms, &arena, &now, &err) != ERR_OK)
    status = ask_refuse(out, !live->given->record_path ? 409 : 503, err.text);
  else {
    asked.now = now;
    status = take(live, &asked, &arena, out);
  }
  arena_release(&arena);
  return status;
}
