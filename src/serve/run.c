#include "serve/body_impl.h"

#include "run/run.h"

/* What people tell of a run with nobody there. */

static enum err_code take(const struct live_telling *telling, struct record_entry *entry,
                          struct buf *faults, struct err *err)
{
  const struct live *live = telling->live;
  struct run_list *now;
  struct run_told told;
  enum err_code code = run_recorded(telling->record, live->facility, live->given->zone,
                                    telling->now_ms, telling->arena, &now, err);

  if (code != ERR_OK)
    return code;
  const struct run_asked asked = {.facility = live->facility,
                                  .zone = live->given->zone,
                                  .now_ms = telling->now_ms,
                                  .back_most_s = live->given->feeds->told_back_s,
                                  .pairs = telling->pairs,
                                  .count = telling->count,
                                  .now = now};

  code = run_take(&asked, telling->arena, &told, faults);
  if (code == ERR_OK) {
    entry->t_ms = told.t_ms;
    entry->about = told.about;
    entry->who = told.who;
    entry->text = told.text;
    entry->detail = told.detail;
  }
  return code;
}

int live_post_run(const struct live *live, struct json_t *root, struct buf *out)
{
  return live_post_telling(live, root, RECORD_RUN, take, out);
}
