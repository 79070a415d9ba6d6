/* Which responder sheet was printed last: an entry of its own kind in the record. */
#include "lists/lists_impl.h"

#include <jansson.h>
#include <stdio.h>

void lists_printed_json(const struct lists_page *page, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.printed.1");
  emit_text(&json, "list", lists_kind_name(page->kind));
  emit_int(&json, "revision", page->revision);
  emit_text(&json, "content", page->content);
  emit_close(&json);
  emit_end(&json);
}

enum err_code lists_printed_last(struct record *record, struct arena *arena, bool *found_out,
                                 struct lists_printed *out, struct err *err)
{
  const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                       .to_ms = INT64_MAX,
                                       .kind = RECORD_PRINTED,
                                       .known_ms = INT64_MAX,
                                       .most = 1};
  struct record_entry *list;
  int count;
  enum err_code code = record_entries(record, &wanted, arena, &list, &count, err);

  *found_out = false;
  if (code != ERR_OK || count == 0)
    return code;
  json_t *root = json_loads(list[0].detail, 0, NULL);
  const char *content = json_string_value(json_object_get(root, "content"));

  if (content) {
    *found_out = true;
    *out = (struct lists_printed){.t_ms = list[0].t_ms,
                                  .revision =
                                      (long)json_integer_value(json_object_get(root, "revision"))};
    snprintf(out->content, sizeof out->content, "%s", content);
    snprintf(out->who, sizeof out->who, "%s", list[0].who);
  }
  json_decref(root);
  return ERR_OK;
}
