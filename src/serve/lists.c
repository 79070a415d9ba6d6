#include "serve/sheets_impl.h"

#include "ask/ask.h"
#include "base/query.h"
#include "serve/route_impl.h"

#include <stdio.h>
#include <string.h>

/* Leave list, responder sheet, restart list and handover: pages and JSON, with or without a keeper. */

enum { WORK_BYTES = 256 << 20 };

static const char api[] = "/api/";

/* ---- which address ---- */

static int kind_of(const char *path)
{
  bool json = strncmp(path, api, sizeof api - 1) == 0;

  return lists_kind_find(path + (json ? sizeof api - 1 : 1));
}

const char *lists_method(const char *path)
{
  if (path[0] != '/')
    return NULL;
  if (strcmp(path, "/api/printed") == 0 || strcmp(path, "/api/stopped") == 0)
    return "POST";
  return kind_of(path) >= 0 ? "GET" : NULL;
}

bool lists_is_page(const char *path)
{
  return strncmp(path, api, sizeof api - 1) != 0 && kind_of(path) >= 0;
}

/* ---- of now ---- */

struct making {
  struct lists_moment *moment;
  enum lists_kind kind;
  struct arena *arena;
  struct lists_page *page;
};

static void make(void *arg, const struct watch_belief *belief)
{
  struct making *m = arg;

  m->moment->belief = belief;
  m->moment->t_ms = belief->now_ms;
  m->page = m->kind == LISTS_LEAVE ? lists_leave(m->moment, m->arena)
                                   : lists_responder(m->moment, m->arena);
}

enum err_code lists_now(const struct lists_ask *ask, struct arena *arena, struct lists_page **out,
                        struct err *err)
{
  const struct serve_live *live = ask->live;
  struct lists_moment moment = {
      .facility = ask->facility, .feeds = live->feeds, .zone = live->zone};
  const struct standing_place place = {ask->facility, live->zone, ask->wet, 0};
  struct standing_told *told;
  struct making making = {&moment, ask->kind, arena, NULL};
  int64_t now_ms = keeper_now_ms(live->keeper);
  enum err_code code = ERR_OK;

  if (ask->record)
    code = standing_recorded(ask->record, &place, now_ms, arena, &told, err);
  if (code == ERR_OK && ask->record)
    lists_take(&moment, told);
  if (code == ERR_OK)
    code = keeper_look(live->keeper, make, &making, err);
  *out = making.page;
  return code;
}

/* ---- what is asked ---- */

struct asking {
  enum lists_kind kind;
  struct query query;
  int64_t t_ms; /* INT64_MIN: not said */
  const char *part;
};

static enum err_code take_query(const struct live *live, struct asking *asking, struct err *err)
{
  const char *at = query_find(&asking->query, "at");
  bool handover = asking->kind == LISTS_HANDOVER;

  asking->part = query_find(&asking->query, "of");
  asking->t_ms = INT64_MIN;
  for (int i = 0; i < asking->query.count; i++) {
    const char *key = asking->query.pairs[i].key;

    if (!handover || (strcmp(key, "of") != 0 && strcmp(key, "at") != 0))
      return err_set(err, ERR_INPUT, "no parameter \"%.32s\" here%s", key,
                     handover ? "; there are: of, at" : "; a list is of now");
  }
  if (!at || !*at)
    return ERR_OK;
  if (when_read(at, live->given ? live->given->zone : when_utc(), NULL, &asking->t_ms, err) !=
      ERR_OK) {
    err_prefix(err, "at: ");
    return err->code;
  }
  if (live->given && asking->t_ms > keeper_now_ms(live->given->keeper))
    return err_set(err, ERR_INPUT, "at: that has not come yet");
  return ERR_OK;
}

/* A list that asks the record; without one, a form and the reason. */
static enum err_code of_record(const struct live *live, struct live_reader *reader,
                               const struct asking *asking, struct arena *arena,
                               struct lists_page **out, struct err *err)
{
  int64_t now_ms = keeper_now_ms(live->given->keeper);
  enum err_code code = live_need_record(live, reader, err);
  const struct past_place place = {.record = reader->record,
                                   .facility = live->facility,
                                   .feeds = live->given->feeds,
                                   .zone = live->given->zone};

  if (code != ERR_OK)
    return code;
  if (asking->kind == LISTS_RESTART)
    return lists_restart(&place, now_ms, arena, out, err);
  return lists_handover(&place, asking->part, asking->t_ms, now_ms, arena, out, err);
}

static enum err_code answer(const struct live *live, struct live_reader *reader,
                            const struct asking *asking, struct arena *arena,
                            struct lists_page **out, struct buf *notice, struct err *err)
{
  bool asks_record = asking->kind == LISTS_RESTART || asking->kind == LISTS_HANDOVER;
  bool kept = live->given && live->given->record_path;
  enum err_code code;

  if (!live->given || (asks_record && !kept) ||
      (asking->kind == LISTS_HANDOVER && (!asking->part || !*asking->part))) {
    *out = lists_form(live->facility, NULL, asking->kind, asking->part, arena);
    buf_puts(notice, !live->given ? "Nothing is connected to this board: a form for the pen."
                     : !kept      ? "Nothing is kept here (start the board with --record FILE): a "
                                    "form for the pen."
                                  : "Of which part? Choose it above.");
    return ERR_OK;
  }
  if (keeper_is_replay(live->given->keeper))
    buf_puts(notice, "REPLAY: of a table that is replayed, not of now. ");
  if (asks_record)
    return of_record(live, reader, asking, arena, out, err);
  if (kept && live_need_record(live, reader, err) != ERR_OK) {
    buf_printf(notice, "The record does not answer (%s): why a station is out of use is not known.",
               err->text);
    *err = (struct err){0};
  }
  const struct lists_ask ask = {.facility = live->facility,
                                .live = live->given,
                                .wet = live->wet,
                                .record = kept ? reader->record : NULL,
                                .kind = asking->kind};

  code = lists_now(&ask, arena, out, err);
  if (code == ERR_OK && asking->kind == LISTS_RESPONDER && live->sheets) {
    sheet_desk_number(live->sheets, *out);
    sheet_desk_say(live->sheets, *out, notice);
  }
  return code;
}

static void put_page(const struct live *live, const struct lists_page *page, const char *notice,
                     struct buf *out)
{
  bool kept = live->given && live->given->record_path;
  char path[40];
  struct buf links;

  buf_init(&links, WORK_BYTES);
  snprintf(path, sizeof path, "/%s", lists_kind_name(page->kind));
  route_links(path, &links);
  lists_html(page,
             &(struct lists_html){.style = route_asset_path("/a/lists.", ".css"),
                                  .mark = route_asset_path("/a/mark.", ".svg"),
                                  .script = route_asset_path("/a/lists.", ".js"),
                                  .links = links.text,
                                  .notice = *notice ? notice : NULL,
                                  .forms = lists_forms(page->kind, live->given != NULL, kept)},
             out);
  buf_release(&links);
}

int lists_get(const struct live *live, struct live_reader *reader, const char *path,
              const char *search, size_t size, struct buf *out)
{
  struct asking asking = {.kind = (enum lists_kind)kind_of(path)};
  struct lists_page *page = NULL;
  struct err err = {0};
  struct arena arena;
  struct buf notice;
  enum err_code code = query_parse(search, size, &asking.query, &err);

  arena_init(&arena, WORK_BYTES);
  buf_init(&notice, 4000);
  if (code == ERR_OK)
    code = take_query(live, &asking, &err);
  if (code == ERR_OK)
    code = answer(live, reader, &asking, &arena, &page, &notice, &err);
  int status = code == ERR_OK ? 200 : err_exit_status(code) == 2 ? 400 : 503;

  if (code != ERR_OK && lists_is_page(path)) { /* the page stands, and says what is wrong */
    page = lists_form(live->facility, NULL, asking.kind, NULL, &arena);
    buf_clear(&notice);
    buf_puts(&notice, err.text);
  }
  if (page && lists_is_page(path))
    put_page(live, page, notice.text, out);
  else if (page)
    lists_json(page, out);
  else
    ask_refuse(out, status, err.text);
  buf_release(&notice);
  arena_release(&arena);
  return status;
}
