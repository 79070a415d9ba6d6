/* inward print leave, responder, restart, handover: of a record, read beside the board that writes it. */
#include "cli/print_impl.h"

#include "cli/read.h"
#include "cli/zone.h"

static enum err_code read_one(const struct past_place *place, const char *option, const char *text,
                              int64_t *out_ms, struct err *err)
{
  if (text && when_read(text, place->zone, NULL, out_ms, err) != ERR_OK) {
    err_prefix(err, "%s %.40s: ", option, text);
    return err->code;
  }
  return ERR_OK;
}

static enum err_code read_moments(const struct cli_list_wanted *wanted,
                                  const struct past_place *place, struct lists_asked *asked,
                                  struct err *err)
{
  enum err_code code = read_one(place, "--at", wanted->at, &asked->t_ms, err);

  if (code == ERR_OK && asked->kind == LISTS_HANDOVER)
    code = read_one(place, "--to", wanted->to, &asked->now_ms, err);
  if (code == ERR_OK && asked->t_ms > asked->now_ms)
    return err_set(err, ERR_INPUT, "--at %.40s: that has not come yet, or is after --to",
                   wanted->at);
  return code;
}

static enum err_code of_record(const struct cli_list_wanted *wanted, struct past_place *place,
                               struct chemicals **own, struct arena *arena,
                               struct lists_page **page, struct err *err)
{
  struct wet_place wet;
  int64_t now_ms = cli_now_ms();
  struct lists_asked asked = {.kind = (enum lists_kind)lists_kind_find(wanted->list),
                              .part = wanted->part,
                              .t_ms = now_ms,
                              .now_ms = now_ms};

  if (asked.kind == LISTS_HANDOVER) {
    asked.t_ms = INT64_MIN;
    if (!wanted->part)
      return err_set(err, ERR_USAGE, "a handover of which part? inward print handover SUITE PART");
  }
  enum err_code code = read_moments(wanted, place, &asked, err);

  if (code == ERR_OK)
    code = record_open(wanted->record, RECORD_READ, &place->record, err);
  if (code == ERR_OK)
    code = record_of(place->record, place->facility, err);
  if (code == ERR_OK)
    code = record_bind(place->record, place->facility, place->feeds, now_ms, err);
  if (code == ERR_OK)
    *own = cli_lists_chemicals(place->facility, wanted->suite);
  if (*own) {
    wet = wet_place_of(place->facility, *own, place->zone, arena);
    asked.wet = &wet;
  }
  if (code == ERR_OK)
    code = lists_of_record(place, &asked, arena, page, err);
  record_close(place->record);
  return code;
}

enum err_code cli_print_list(const struct cli_list_wanted *wanted,
                             const struct papers_request *papers, struct buf *bytes,
                             struct err *err)
{
  struct past_place place = {.facility = papers->facility};
  struct arena *arena = papers->report->arena;
  struct lists_page *page = NULL;
  struct feeds *feeds = NULL;
  struct chemicals *own = NULL; /* the page borrows its words */
  enum err_code code = cli_zone(papers->facility, arena, &place.zone, err);

  if (code == ERR_OK && wanted->record)
    code = cli_print_si_only(papers, err);
  if (code == ERR_OK && wanted->record) {
    feeds = cli_load_feeds(papers->facility, wanted->suite, err);
    place.feeds = feeds;
    code = feeds                 ? of_record(wanted, &place, &own, arena, &page, err)
           : err->code != ERR_OK ? err->code
                                 : err_set(err, ERR_INPUT, "the feeds file has faults");
  } else if (code == ERR_OK) {
    page = lists_form(papers->facility, NULL, (enum lists_kind)lists_kind_find(wanted->list),
                      wanted->part, arena);
  }
  if (code == ERR_OK)
    code = papers_list(papers, page, bytes, err);
  chemicals_free(own);
  feeds_free(feeds);
  return code;
}
