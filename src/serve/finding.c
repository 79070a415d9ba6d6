#include "serve/body_impl.h"

#include "ask/ask.h"
#include "fault/fault.h"
#include "past/past.h"

#include <stdio.h>
#include <string.h>

/* What a person found where something looked like a fault: it was so, or it was not. */

enum { TEXT_MOST = 2000, SINCE_MOST = 39 };

static const char keys[] = "answer|kind|part|since|who|text";

static const char *text_of(const json_t *root, const char *key)
{
  const char *text = live_text(root, key);

  return text ? text : "";
}

/* Why it is refused, or NULL. */
static const char *fault_of(const struct live *live, const json_t *root)
{
  const char *answer = text_of(root, "answer");
  int kind = fault_kind_find(text_of(root, "kind"));

  if (strcmp(answer, "confirmed") != 0 && strcmp(answer, "refuted") != 0)
    return "\"answer\" must be confirmed or refuted";
  if (kind < 0)
    return "\"kind\" must be a kind of fault, as looks_like names it: blocked sash";
  if (!fault_can_be_at(live->facility, live->given->feeds, (enum fault_kind)kind,
                       text_of(root, "part")))
    return "\"part\" must be an id that this kind can be at, as looks_like names it";
  if (strlen(text_of(root, "since")) > SINCE_MOST)
    return "\"since\" must be that of the finding";
  if (!live_is_filled(live_text(root, "text"), TEXT_MOST) ||
      !live_is_person(live_text(root, "who")))
    return "\"text\" (what was seen there) and \"who\" must be filled texts of at most 2000 and 80 "
           "bytes, and \"who\" not inward";
  return NULL;
}

/* Only what was found can be answered, and each finding counts once: three answers to what never was would
 * prove a kind. */
static enum err_code find(const struct live *live, const json_t *root, struct past_finding *finding,
                          struct err *err)
{
  bool found = false;

  *finding = (struct past_finding){.kind = text_of(root, "kind"), .part = text_of(root, "part")};
  snprintf(finding->since, sizeof finding->since, "%s", text_of(root, "since"));
  enum err_code code = keeper_find_finding(live->given->keeper, finding, &found, err);

  if (code == ERR_OK && !found)
    code = err_set(
        err, ERR_INPUT,
        "no %s at %.80s is or was found here%s%s, so there is nothing to answer: looks_like of "
        "/api/live and the events of the record tell what was",
        finding->kind, finding->part, finding->since[0] ? " since " : "", finding->since);
  return code;
}

int live_post_finding(const struct live *live, struct json_t *root, struct buf *out)
{
  const char *strange = live_strange_key(root, keys), *fault = fault_of(live, root);
  struct past_finding finding;
  struct buf about, detail;
  struct err err = {0};

  if (strange)
    return live_refuse_key(out, strange, keys);
  if (fault)
    return ask_refuse(out, 400, fault);
  if (find(live, root, &finding, &err) != ERR_OK)
    return ask_refuse(out, err_exit_status(err.code) == 2 ? 400 : 503, err.text);
  buf_init(&about, RECORD_SHORT_MOST_BYTES + 1);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  fault_about(live->facility, live->given->feeds, finding.part, &about);
  fault_answer_json((enum fault_kind)fault_kind_find(finding.kind), finding.part, finding.since,
                    &detail);

  bool confirmed = strcmp(text_of(root, "answer"), "confirmed") == 0;
  struct record_entry entry = {.kind = confirmed ? RECORD_CONFIRMED : RECORD_REFUTED,
                               .about = about.text,
                               .who = text_of(root, "who"),
                               .text = text_of(root, "text"),
                               .detail = detail.text};
  int status = live_enter(live, &entry, out);

  buf_release(&about);
  buf_release(&detail);
  return status;
}
