/* Whether a record is of the suite that is asked with. */
#include "past/past_impl.h"

#include <jansson.h>
#include <string.h>

static enum err_code name_said(struct record *record, struct arena *arena, const char **out,
                               struct err *err)
{
  const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                       .to_ms = INT64_MAX,
                                       .about = "",
                                       .kind = RECORD_SETTINGS,
                                       .known_ms = INT64_MAX,
                                       .most = 1};
  struct record_entry *list;
  int count = 0;
  enum err_code code = record_entries(record, &wanted, arena, &list, &count, err);

  *out = NULL;
  if (code == ERR_OK && count > 0) {
    json_t *root = json_loads(list[0].detail, 0, NULL);
    const char *name = json_string_value(json_object_get(root, "suite"));

    *out = name ? arena_strdup(arena, name) : NULL;
    json_decref(root);
  }
  return code;
}

enum err_code past_check_suite(struct record *record, const struct facility *facility,
                               struct err *err)
{
  const char *own = facility->name ? facility->name : "(no name)", *said;
  struct arena arena;

  arena_init(&arena, 1 << 22);
  enum err_code code = name_said(record, &arena, &said, err);

  if (code == ERR_OK && said && strcmp(said, own) != 0)
    code = err_set(
        err, ERR_INPUT,
        "the record is of the suite '%.60s', not of '%.60s': name its own suite file, or another "
        "record; if it was renamed, start its board once",
        said, own);
  arena_release(&arena);
  return code;
}
