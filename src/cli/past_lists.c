/* inward past --leave, --responder, --restart, --handover, and what begins and ends a restart. */
#include "cli/past_impl.h"
#include "lists/lists.h"

#include <string.h>

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
    code = past_moment(past, "--to", past->asked->to, past->now_ms, &asked->now_ms, err);
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

  return code == ERR_OK ? lists_of_record(&place, &asked, &past->arena, page_out, err) : code;
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

  while (lists_cause(cause) && strcmp(lists_cause(cause), past->asked->value) != 0)
    cause++;
  if (!lists_cause(cause))
    return err_set(err, ERR_INPUT, "--stopped %.40s: write power, evacuation or gas",
                   past->asked->value);
  lists_stopped_json(past->asked->value, detail);
  *out = (struct record_entry){.written_ms = past->now_ms,
                               .kind = RECORD_STOPPED,
                               .about = "",
                               .who = past->asked->who,
                               .text = lists_cause_text(cause),
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

static enum err_code reentry_entry(const struct past *past, struct buf *detail,
                                   struct record_entry *out, struct err *err)
{
  const char *removed = past->asked->value, *measured = past->asked->measured;

  if (!measured || !measured[strspn(measured, " ")] || !removed[strspn(removed, " ")])
    return err_set(err, ERR_USAGE,
                   "--reentry HOW THE SOURCE WAS REMOVED needs --measured WHAT, WHERE, WITH WHAT");
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
  buf_release(&detail);
  return code;
}

int past_reentry(struct past *past, struct err *err)
{
  struct record_entry entry;
  struct buf detail;

  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  int status =
      reentry_entry(past, &detail, &entry, err) != ERR_OK ? 3 : past_append(past, &entry, err);

  buf_release(&detail);
  return status;
}
