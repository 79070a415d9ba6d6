#include "serve/live_impl.h"

#include "ask/ask.h"
#include "base/emit.h"
#include "fault/fault.h"

#include <jansson.h>
#include <string.h>

/* What a person found where something looked like a fault: it was so, or it was not. */

enum { WHO_MOST = 80, TEXT_MOST = 2000, SINCE_MOST = 39 };

static const char *text_of(const json_t *root, const char *key)
{
  const char *text = json_string_value(json_object_get(root, key));

  return text ? text : "";
}

static bool is_filled(const char *text, size_t most)
{
  return text[strspn(text, " \t\r\n")] && strlen(text) <= most;
}

static bool is_known(const char *key)
{
  static const char *const known[] = {"answer", "kind", "part", "since", "who", "text"};

  for (size_t i = 0; i < sizeof known / sizeof *known; i++)
    if (strcmp(known[i], key) == 0)
      return true;
  return false;
}

/* Why it is refused, or NULL. */
static const char *fault_of(const struct live *live, json_t *root)
{
  const char *answer = text_of(root, "answer"), *who = text_of(root, "who"), *key;
  int kind = fault_kind_find(text_of(root, "kind"));
  json_t *value;

  json_object_foreach(root, key, value)
  {
    if (!is_known(key))
      return "a field that is none; there are: answer, kind, part, since, who, text";
  }
  if (strcmp(answer, "confirmed") != 0 && strcmp(answer, "refuted") != 0)
    return "\"answer\" must be confirmed or refuted";
  if (kind < 0)
    return "\"kind\" must be a kind of fault, as looks_like names it: blocked sash";
  if (!fault_can_be_at(live->facility, live->given->feeds, (enum fault_kind)kind,
                       text_of(root, "part")))
    return "\"part\" must be an id that this kind can be at, as looks_like names it";
  if (strlen(text_of(root, "since")) > SINCE_MOST)
    return "\"since\" must be that of the finding";
  if (!is_filled(text_of(root, "text"), TEXT_MOST) || !is_filled(who, WHO_MOST) ||
      strcmp(who, "inward") == 0)
    return "\"text\" (what was seen there) and \"who\" must be filled texts of at most 2000 and 80 "
           "bytes, and \"who\" not inward";
  return NULL;
}

static int tell_entered(const struct record_entry *entry, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.entered.1");
  emit_int(&json, "number", entry->number);
  emit_text(&json, "hash", entry->hash_hex);
  emit_close(&json);
  emit_end(&json);
  return 200;
}

int live_post_finding(const struct live *live, struct json_t *root, struct buf *out)
{
  const char *fault = fault_of(live, root), *part = text_of(root, "part");
  const char *since = text_of(root, "since");
  struct buf about, detail;
  struct err err = {0};

  if (fault)
    return ask_refuse(out, 400, fault);
  buf_init(&about, RECORD_SHORT_MOST_BYTES + 1);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  fault_about(live->facility, live->given->feeds, part, &about);
  fault_answer_json((enum fault_kind)fault_kind_find(text_of(root, "kind")), part,
                    *since ? since : NULL, &detail);
  bool confirmed = strcmp(text_of(root, "answer"), "confirmed") == 0;
  int64_t now_ms = keeper_now_ms(live->given->keeper);
  struct record_entry entry = {.t_ms = now_ms,
                               .written_ms = now_ms,
                               .kind = confirmed ? RECORD_CONFIRMED : RECORD_REFUTED,
                               .about = about.text,
                               .who = text_of(root, "who"),
                               .text = text_of(root, "text"),
                               .detail = detail.text};
  enum err_code code = keeper_enter(live->given->keeper, &entry, &err);
  int status = code == ERR_OK ? tell_entered(&entry, out)
                              : ask_refuse(out, code == ERR_INPUT ? 400 : 503, err.text);

  buf_release(&about);
  buf_release(&detail);
  return status;
}
