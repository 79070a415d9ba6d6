#include "serve/body_impl.h"

#include "ask/ask.h"
#include "base/emit.h"

#include <jansson.h>
#include <string.h>

/* What a person at a station says to what is asked there: done, or why it cannot be.  Name not needed: gloves
 * do not type. */

enum { WHO_MOST = 80, WHY_MOST = 160 };

static const char *text_of(const json_t *root, const char *key)
{
  const char *text = json_string_value(json_object_get(root, key));

  return text ? text : "";
}

static const char keys[] = "station|answer|text|who";

/* Why it is refused, or NULL. */
static const char *fault_of(json_t *root)
{
  const char *answer = text_of(root, "answer");

  if (strcmp(answer, "done") != 0 && strcmp(answer, "cannot") != 0)
    return "\"answer\" must be done or cannot";
  if (strlen(text_of(root, "who")) > WHO_MOST || strlen(text_of(root, "text")) > WHY_MOST)
    return "\"text\" may have 160 bytes and \"who\" 80";
  if (strcmp(text_of(root, "who"), "inward") == 0)
    return "\"who\" may not be inward: that would put words into its mouth";
  if (strcmp(answer, "cannot") == 0 && !text_of(root, "text")[strspn(text_of(root, "text"), " \t")])
    return "\"text\" must say why it cannot be lowered: cannot without a reason helps nobody";
  return NULL;
}

int live_post_errand(const struct live *live, struct json_t *root, struct buf *out)
{
  const char *strange = live_strange_key(root, keys), *fault = fault_of(root);
  bool done = strcmp(text_of(root, "answer"), "done") == 0;
  struct record_entry entry = {.t_ms = keeper_now_ms(live->given->keeper),
                               .kind = RECORD_ANSWERED,
                               .about = text_of(root, "station"),
                               .who = text_of(root, "who"),
                               .text = text_of(root, "text"),
                               .detail = ""};
  struct err err = {0};
  struct emit json;

  if (strange)
    return live_refuse_key(out, strange, keys);
  if (fault)
    return ask_refuse(out, 400, fault);
  if (facility_station_find(live->facility, entry.about) < 0)
    return ask_refuse(out, 400, "\"station\" must be the id of a station");
  if (keeper_answer(live->given->keeper, &entry, done, &err) != ERR_OK)
    return ask_refuse(out, err.code == ERR_INPUT ? 409 : 503, err.text);
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.entered.1");
  emit_int(&json, "number", entry.number);
  emit_text(&json, "hash", entry.number > 0 ? entry.hash_hex : NULL);
  emit_null(&json, "note");
  emit_close(&json);
  emit_end(&json);
  return 200;
}
