#include "serve/body_impl.h"

#include "ask/ask.h"
#include "base/query.h"
#include "round/round.h"

#include <string.h>

/* What people told of rounds, asked and told. */

enum { PAIRS_MOST = 16, TOLD_BYTES = 1 << 16, WORK_BYTES = 256 << 20 };

/* ---- asked ---- */

enum err_code live_asked_at(const struct live *live, const char *search, size_t size,
                            int64_t *t_out_ms, struct err *err)
{
  int64_t now_ms = keeper_now_ms(live->given->keeper);
  struct query query;
  enum err_code code = query_parse(search, size, &query, err);

  *t_out_ms = now_ms;
  for (int i = 0; code == ERR_OK && i < query.count; i++) {
    if (strcmp(query.pairs[i].key, "at") != 0)
      return err_set(err, ERR_INPUT, "no parameter \"%.32s\"; there are: at", query.pairs[i].key);
    code = when_read(query.pairs[i].value, live->given->zone, NULL, t_out_ms, err);
    if (code != ERR_OK)
      err_prefix(err, "at: ");
  }
  if (code == ERR_OK && *t_out_ms > now_ms)
    return err_set(err, ERR_INPUT, "at: that has not come yet");
  return code;
}

int live_record_status(const struct live *live, enum err_code code)
{
  if (!live->given->record_path)
    return 409;
  return err_exit_status(code) == 2 ? 400 : 503;
}

int live_get_rounds(const struct live *live, struct live_reader *reader, const char *search,
                    size_t size, struct buf *out)
{
  struct round_list *list;
  struct arena arena;
  struct err err = {0};
  int64_t t_ms;

  if (live_asked_at(live, search, size, &t_ms, &err) != ERR_OK)
    return ask_refuse(out, 400, err.text);
  enum err_code code = live_need_record(live, reader, &err);

  arena_init(&arena, WORK_BYTES);
  if (code == ERR_OK)
    code = round_recorded(reader->record, live->facility, live->given->zone, t_ms, &arena, &list,
                          &err);
  if (code == ERR_OK)
    round_json(list, out);
  arena_release(&arena);
  return code == ERR_OK ? 200 : ask_refuse(out, live_record_status(live, code), err.text);
}

/* ---- told ---- */

int live_post_round(const struct live *live, struct json_t *root, struct buf *out)
{
  struct typed_pair pairs[PAIRS_MOST];
  struct round_told told;
  struct arena arena;
  struct buf faults;
  const struct round_asked asked = {.facility = live->facility,
                                    .zone = live->given->zone,
                                    .now_ms = keeper_now_ms(live->given->keeper),
                                    .back_most_s = live->given->feeds->told_back_s,
                                    .pairs = pairs,
                                    .count = live_pairs(root, pairs, PAIRS_MOST)};
  int status;

  if (json_object_size(root) > PAIRS_MOST)
    return ask_refuse(out, 400, "more fields than any telling has");
  if (!live->given->record_path)
    return ask_refuse(out, 409, "nothing is kept here: start the board with --record FILE");
  arena_init(&arena, WORK_BYTES);
  buf_init(&faults, TOLD_BYTES);
  if (round_take(&asked, &arena, &told, &faults) != ERR_OK) {
    buf_trim_end(&faults);
    status = ask_refuse(out, 400, faults.text);
  } else {
    struct record_entry entry = {.t_ms = told.t_ms,
                                 .written_ms = asked.now_ms,
                                 .kind = RECORD_ROUND,
                                 .about = told.about,
                                 .who = told.who,
                                 .text = told.text,
                                 .detail = told.detail};

    status = live_enter_as_is(live, &entry, out);
  }
  buf_release(&faults);
  arena_release(&arena);
  return status;
}
