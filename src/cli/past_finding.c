/* inward past --confirm and --refute: what was found where something looked like a fault. */
#include "cli/past_impl.h"

#include "fault/fault.h"

#include <inttypes.h>
#include <string.h>

static enum err_code kind_of(const struct past *past, enum fault_kind *out, struct err *err)
{
  const char *name = past->asked->kind;
  int kind = name ? fault_kind_find(name) : -1;
  struct buf kinds;

  if (kind >= 0) {
    *out = (enum fault_kind)kind;
    return ERR_OK;
  }
  buf_init(&kinds, 1 << 12);
  fault_kinds_list(&kinds);
  enum err_code code =
      err_set(err, name ? ERR_INPUT : ERR_USAGE, "%s%.40s: which kind of fault? There are: %s",
              name ? "--kind " : past->asked->act->option, name ? name : "", kinds.text);

  buf_release(&kinds);
  return code;
}

enum err_code past_finding_check(const struct past *past, struct err *err)
{
  const struct past_request *asked = past->asked;
  enum fault_kind kind = FAULT_DOOR_OPEN;
  enum err_code code = kind_of(past, &kind, err);
  int64_t t_ms;

  if (code == ERR_OK && !asked->about)
    code = err_set(err, ERR_USAGE, "%s: where? --about ID, as the finding names it",
                   asked->act->option);
  if (code == ERR_OK && !fault_can_be_at(past->facility, past->feeds, kind, asked->about))
    code = err_set(err, ERR_INPUT, "--about %.40s: no part, or point, that a %s can be at",
                   asked->about, asked->kind);
  if (code == ERR_OK && (!asked->who || strcmp(asked->who, "inward") == 0))
    code = err_set(err, ERR_USAGE, "who says so? --who \"M. Rao\"");
  if (code == ERR_OK)
    code = past_moment(past, "--at", asked->at, past->now_ms, &t_ms, err);
  return code;
}

/* Only what the record tells can be answered, and each finding counts once: three answers to what never
 * was would prove a kind. */
static enum err_code find(struct past *past, enum fault_kind kind, struct buf *detail,
                          struct err *err)
{
  const struct past_request *asked = past->asked;
  struct past_finding finding = {.kind = fault_kind_name(kind), .part = asked->about};
  bool found = false;
  enum err_code code = past_finding_find(past->record, &finding, &found, err);

  if (code == ERR_OK && !found)
    code =
        err_set(err, ERR_INPUT,
                "%s: the record tells of no %s at %.40s, so there is nothing to answer; --entries "
                "--kind event lists what looked like a fault",
                asked->act->option, finding.kind, asked->about);
  if (code == ERR_OK)
    fault_answer_json(kind, asked->about, finding.since, detail);
  return code;
}

int past_finding(struct past *past, struct err *err)
{
  const struct past_request *asked = past->asked;
  struct record_entry entry = {.written_ms = past->now_ms,
                               .kind = asked->act->kind,
                               .who = asked->who,
                               .text = asked->value};
  struct buf about, detail;
  enum fault_kind kind = FAULT_DOOR_OPEN;
  int status;

  if (kind_of(past, &kind, err) != ERR_OK ||
      past_moment(past, "--at", asked->at, past->now_ms, &entry.t_ms, err) != ERR_OK)
    return 2;
  buf_init(&about, RECORD_SHORT_MOST_BYTES + 1);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  fault_about(past->facility, past->feeds, asked->about, &about);
  enum err_code code = find(past, kind, &detail, err);

  entry.about = about.text;
  entry.detail = detail.text;
  if (code == ERR_OK)
    code = record_append(past->record, &entry, err);
  if (code == ERR_OK)
    buf_printf(&past->out, "entry %" PRId64 ", %s\n", entry.number, entry.hash_hex);
  status = code == ERR_OK ? 0 : err_exit_status(code);
  buf_release(&about);
  buf_release(&detail);
  return status;
}
