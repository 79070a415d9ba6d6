#include "serve/body_impl.h"

#include "ask/ask.h"
#include "base/typed.h"

/* What people tell that its own module reads and judges: rounds, runs, glass.  One way for all of them:
 * the fields, what was told until now, the module's word, and the entry. */

enum { PAIRS_MOST = 16, TOLD_BYTES = 1 << 16, WORK_BYTES = 256 << 20 };

static int enter(const struct live_telling *telling, enum record_kind kind, live_take *take,
                 struct buf *out)
{
  struct record_entry entry = {.written_ms = telling->now_ms, .kind = kind};
  struct buf faults;
  struct err err = {0};
  int status;

  buf_init(&faults, TOLD_BYTES);
  if (take(telling, &entry, &faults, &err) == ERR_OK) {
    status = live_enter_as_is(telling->live, &entry, out);
  } else if (faults.used > 0) {
    buf_trim_end(&faults);
    status = ask_refuse(out, 400, faults.text);
  } else {
    status = ask_refuse(out, 503, err.text);
  }
  buf_release(&faults);
  return status;
}

int live_post_telling(const struct live *live, struct json_t *root, enum record_kind kind,
                      live_take *take, struct buf *out)
{
  struct typed_pair pairs[PAIRS_MOST];
  struct arena arena;
  struct err err = {0};
  struct live_telling telling = {.live = live,
                                 .now_ms = keeper_now_ms(live->given->keeper),
                                 .pairs = pairs,
                                 .count = live_pairs(root, pairs, PAIRS_MOST),
                                 .arena = &arena};
  int status;

  if (json_object_size(root) > PAIRS_MOST)
    return ask_refuse(out, 400, "more fields than any telling has");
  if (!live->given->record_path)
    return ask_refuse(out, 409, "nothing is kept here: start the board with --record FILE");
  if (record_open(live->given->record_path, RECORD_READ, &telling.record, &err) != ERR_OK)
    return ask_refuse(out, 503, err.text);
  arena_init(&arena, WORK_BYTES);
  status = enter(&telling, kind, take, out);
  arena_release(&arena);
  record_close(telling.record);
  return status;
}
