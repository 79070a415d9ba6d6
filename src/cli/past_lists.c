/* inward past --leave, --responder, --restart, --handover, and what begins and ends a restart. */
#include "cli/past_impl.h"
#include "lists/lists.h"

#include <string.h>
#include <unistd.h>

/* ---- the sheets ---- */

/* A handover is of --at, compared with --to; the others are of --at. */
static enum err_code read_moments(const struct past *past, enum lists_kind kind,
                                  struct lists_asked *asked, struct err *err)
{
  bool handover = kind == LISTS_HANDOVER;
  enum err_code code = past_moment(past, "--at", past->asked->at,
                                   handover ? INT64_MIN : past->now_ms, &asked->t_ms, err);

  asked->now_ms = past->now_ms;
  if (code == ERR_OK && handover)
    code = past_bound(past, "--to", past->asked->to, past->now_ms, &asked->now_ms, err);
  if (code == ERR_OK && asked->t_ms > asked->now_ms)
    return err_set(err, ERR_INPUT, "--at %.40s: that %s", past->asked->at,
                   asked->t_ms > past->now_ms ? "has not come yet" : "is after --to");
  return code;
}

static enum lists_kind kind_of(const struct past *past)
{
  return (enum lists_kind)lists_kind_find(past->asked->act->option + 2);
}

enum err_code past_list_check(const struct past *past, struct err *err)
{
  struct lists_asked asked;

  return read_moments(past, kind_of(past), &asked, err);
}

static enum err_code make(struct past *past, struct lists_page **page_out, struct err *err)
{
  const struct past_place place = past_place_of(past);
  struct lists_asked asked = {.kind = kind_of(past), .part = past->asked->value};
  enum err_code code = read_moments(past, asked.kind, &asked, err);
  struct chemicals *own = NULL;
  struct wet_place wet;

  if (code == ERR_OK)
    own = cli_lists_chemicals(past->facility, past->asked->suite);
  if (own) {
    wet = wet_place_of(past->facility, own, past->zone, &past->arena);
    asked.wet = &wet;
  }
  if (code == ERR_OK)
    code = lists_of_record(&place, &asked, &past->arena, page_out, err);
  past->own = own; /* the page borrows its words */
  return code;
}

/* A page is an answer; one of a moment of which the record holds nothing is none. */
int past_list(struct past *past, struct err *err)
{
  struct lists_page *page;
  enum err_code code = make(past, &page, err);

  if (code != ERR_OK)
    return err_exit_status(code);
  if (past->asked->json)
    lists_json(page, &past->out);
  else
    lists_text(page, &past->out);
  return page->needs_person ? 1 : 0;
}

/* ---- what begins a restart, and what must be answered before it ---- */

static enum err_code stopped_entry(const struct past *past, struct buf *detail,
                                   struct record_entry *out, struct err *err)
{
  int cause = 0;

  while (past_stop_cause(cause) && strcmp(past_stop_cause(cause), past->asked->value) != 0)
    cause++;
  if (!past_stop_cause(cause))
    return err_set(err, ERR_INPUT, "--stopped %.40s: write power, evacuation or gas",
                   past->asked->value);
  lists_stopped_json(past->asked->value, detail);
  *out = (struct record_entry){.written_ms = past->now_ms,
                               .kind = RECORD_STOPPED,
                               .about = "",
                               .who = past->asked->who,
                               .text = past_stop_cause_text(cause),
                               .detail = detail->text};
  return past_moment(past, "--at", past->asked->at, past->now_ms, &out->t_ms, err);
}

enum err_code past_stopped_check(const struct past *past, struct err *err)
{
  struct record_entry entry;
  struct buf detail;

  buf_init(&detail, 4000);
  enum err_code code = stopped_entry(past, &detail, &entry, err);

  if (code == ERR_OK)
    code = past_append_check(past, &entry, err);
  buf_release(&detail);
  return code;
}

int past_stopped(struct past *past, struct err *err)
{
  struct record_entry entry;
  struct buf detail;

  buf_init(&detail, 4000);
  int status =
      stopped_entry(past, &detail, &entry, err) != ERR_OK ? 3 : past_append(past, &entry, err);

  buf_release(&detail);
  return status;
}

/* Where there is no record no stop was told; none is begun for a refusal. */
static enum err_code need_record(const struct past *past, struct err *err)
{
  if (access(past->asked->record, F_OK) == 0)
    return ERR_OK;
  return err_set(err, ERR_INPUT, "%s: there is no record %.200s, so no stop is open",
                 past->asked->act->option, past->asked->record);
}

static enum err_code restart_at(struct past *past, int64_t t_ms, struct lists_page **page_out,
                                struct err *err)
{
  const struct past_place place = past_place_of(past);

  return lists_restart(&place, t_ms, &past->arena, page_out, err);
}

static enum err_code reentry_entry(const struct past *past, struct buf *detail,
                                   struct record_entry *out, struct err *err)
{
  const char *removed = past->asked->value, *measured = past->asked->measured;

  if (!measured || !measured[strspn(measured, " ")] || !removed[strspn(removed, " ")])
    return err_set(err, ERR_USAGE,
                   "--reentry HOW THE SOURCE WAS REMOVED needs --measured WHAT, WHERE, WITH WHAT");
  if (!past_says_yes(removed) || !past_says_yes(measured))
    return err_set(err, ERR_INPUT,
                   "nobody goes in before both are done: --reentry and --measured must each begin "
                   "with yes, then how: --reentry \"yes, bottle shut\"");
  lists_reentry_json(removed, measured, detail);
  *out = (struct record_entry){.written_ms = past->now_ms,
                               .kind = RECORD_RELEASED,
                               .about = "",
                               .who = past->asked->who,
                               .text = "released to go in",
                               .detail = detail->text};
  return past_moment(past, "--at", past->asked->at, past->now_ms, &out->t_ms, err);
}

enum err_code past_reentry_check(const struct past *past, struct err *err)
{
  struct record_entry entry;
  struct buf detail;

  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  enum err_code code = reentry_entry(past, &detail, &entry, err);

  if (code == ERR_OK)
    code = past_append_check(past, &entry, err);
  if (code == ERR_OK)
    code = need_record(past, err);
  buf_release(&detail);
  return code;
}

int past_reentry(struct past *past, struct err *err)
{
  struct record_entry entry;
  struct buf detail;

  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  struct lists_page *page;
  enum err_code code = reentry_entry(past, &detail, &entry, err);

  if (code == ERR_OK)
    code = restart_at(past, entry.t_ms, &page, err);
  if (code == ERR_OK && lists_reentry_refusal(page))
    code = err_set(err, ERR_INPUT, "--reentry: %s", lists_reentry_refusal(page));
  int status = code != ERR_OK ? err_exit_status(code) : past_append(past, &entry, err);

  buf_release(&detail);
  return status;
}

/* ---- a station is released from the stop ---- */

static enum err_code restarted_entry(const struct past *past, struct record_entry *out,
                                     struct err *err)
{
  const char *about = past->asked->about;

  if (!about)
    return err_set(err, ERR_USAGE, "--restarted: which station? --about ID");
  if (facility_station_find(past->facility, about) < 0)
    return err_set(err, ERR_INPUT, "--about %.40s: the suite has no such station", about);
  *out = (struct record_entry){.written_ms = past->now_ms,
                               .kind = RECORD_RELEASED,
                               .about = about,
                               .who = past->asked->who,
                               .text = past->asked->value,
                               .detail = ""};
  return past_moment(past, "--at", past->asked->at, past->now_ms, &out->t_ms, err);
}

enum err_code past_restarted_check(const struct past *past, struct err *err)
{
  struct record_entry entry;
  enum err_code code = restarted_entry(past, &entry, err);

  if (code == ERR_OK)
    code = past_append_check(past, &entry, err);
  return code == ERR_OK ? need_record(past, err) : code;
}

int past_restarted(struct past *past, struct err *err)
{
  struct record_entry entry;
  struct lists_page *page;
  struct buf detail;
  enum err_code code = restarted_entry(past, &entry, err);

  if (code == ERR_OK)
    code = restart_at(past, entry.t_ms, &page, err);
  if (code != ERR_OK)
    return err_exit_status(code);
  const char *refusal = lists_release_refusal(page, lists_station_row(page, entry.about));

  if (refusal)
    return err_exit_status(err_set(err, ERR_INPUT, "--restarted: %s", refusal));
  buf_init(&detail, 400);
  lists_restarted_json(&detail);
  entry.detail = detail.text;
  int status = past_append(past, &entry, err);

  buf_release(&detail);
  return status;
}
