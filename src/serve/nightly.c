/* GET /api/match: the board's own match of each night, out of the record. */
#include "serve/live_impl.h"

#include "ask/ask.h"
#include "nightly/nightly.h"

enum { WORK_BYTES = 256 << 20 };

static int none(const struct facility *facility, int64_t now_ms, const char *why, struct buf *out)
{
  const struct nightly_place place = {.facility = facility, .now_ms = now_ms, .why = why};

  nightly_json(&place, &(struct nightly_list){0}, out);
  return 200;
}

int nightly_get(const struct live *live, struct live_reader *reader, const char *search,
                struct buf *out)
{
  struct nightly_place place = {.facility = live->facility};
  struct nightly_list list;
  struct arena arena;
  struct err err = {0};

  if (*search)
    return ask_refuse(out, 400, "GET /api/match takes no parameters");
  if (!live->given)
    return none(live->facility, INT64_MIN,
                "nothing is connected to this board, so nothing is recorded", out);
  if (keeper_is_replay(live->given->keeper))
    place.why =
        "this board plays a table again, and a replay matches nothing; by hand 'inward match "
        "SUITE --record FILE' does";
  place.zone = live->given->zone;
  place.now_ms = keeper_now_ms(live->given->keeper);
  if (!live->given->record_path)
    return none(live->facility, place.now_ms,
                "nothing is kept here: start the board with --record FILE", out);
  arena_init(&arena, WORK_BYTES);
  enum err_code code = live_need_record(live, reader, &err);

  if (code == ERR_OK)
    code = nightly_recorded(reader->record, place.now_ms, NIGHTLY_MOST, &arena, &list, &err);
  if (code == ERR_OK)
    nightly_json(&place, &list, out);
  arena_release(&arena);
  return code == ERR_OK ? 200 : ask_refuse(out, live_record_status(live, code), err.text);
}
