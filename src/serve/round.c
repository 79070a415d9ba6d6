#include "serve/body_impl.h"

#include "ask/ask.h"
#include "base/query.h"
#include "round/round.h"

#include <string.h>

/* What people told of rounds, asked and told. */

enum { WORK_BYTES = 256 << 20 };

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

static enum err_code take(const struct live_telling *telling, struct record_entry *entry,
                          struct buf *faults, struct err *err)
{
  const struct live *live = telling->live;
  struct round_told told;
  const struct round_asked asked = {.facility = live->facility,
                                    .zone = live->given->zone,
                                    .now_ms = telling->now_ms,
                                    .back_most_s = live->given->feeds->told_back_s,
                                    .pairs = telling->pairs,
                                    .count = telling->count};
  enum err_code code = round_take(&asked, telling->arena, &told, faults);

  (void)err; /* nothing told before is asked for */
  if (code == ERR_OK) {
    entry->t_ms = told.t_ms;
    entry->about = told.about;
    entry->who = told.who;
    entry->text = told.text;
    entry->detail = told.detail;
  }
  return code;
}

int live_post_round(const struct live *live, struct json_t *root, struct buf *out)
{
  return live_post_telling(live, root, RECORD_ROUND, take, out);
}
