/* Findings of the record: what looked like a fault, and when. */
#include "past/past_impl.h"

#include <jansson.h>
#include <string.h>

enum { ENTRIES_MOST = 100000 };

static const char *text_of(const json_t *object, const char *key)
{
  const char *text = json_string_value(json_object_get(object, key));

  return text ? text : "";
}

static bool has_guess(const json_t *guesses, const struct past_finding *wanted)
{
  for (size_t i = 0; i < json_array_size(guesses); i++) {
    const json_t *guess = json_array_get(guesses, i), *about = json_object_get(guess, "about");

    for (size_t k = 0;
         strcmp(text_of(guess, "kind"), wanted->kind) == 0 && k < json_array_size(about); k++) {
      const char *part = json_string_value(json_array_get(about, k));

      if (part && strcmp(part, wanted->part) == 0)
        return true;
    }
  }
  return false;
}

/* One that has gone was told when it came. */
static bool is_it(const json_t *root, const struct past_finding *wanted)
{
  bool first = strcmp(text_of(root, "kind"), wanted->kind) == 0 &&
               strcmp(text_of(root, "part"), wanted->part) == 0;

  return strcmp(text_of(root, "schema"), "inward.finding.1") == 0 &&
         strcmp(text_of(root, "turn"), "gone") != 0 &&
         (!wanted->since[0] || strcmp(text_of(root, "since"), wanted->since) == 0) &&
         (first || has_guess(json_object_get(root, "guesses"), wanted));
}

enum err_code past_finding_find(struct record *record, struct past_finding *wanted, bool *found_out,
                                struct err *err)
{
  const struct record_wanted events = {.from_ms = INT64_MIN,
                                       .to_ms = INT64_MAX,
                                       .kind = RECORD_EVENT,
                                       .known_ms = INT64_MAX,
                                       .most = ENTRIES_MOST};
  struct record_entry *list;
  struct arena arena;
  int count = 0;

  *found_out = false;
  arena_init(&arena, (size_t)1 << 30);
  enum err_code code = record_entries(record, &events, &arena, &list, &count, err);

  for (int i = count - 1; code == ERR_OK && i >= 0 && !*found_out; i--) {
    if (!strstr(list[i].detail, "inward.finding.1"))
      continue;
    json_t *root = json_loads(list[i].detail, 0, NULL);

    *found_out = is_it(root, wanted);
    if (*found_out)
      snprintf(wanted->since, sizeof wanted->since, "%s", text_of(root, "since"));
    json_decref(root);
  }
  arena_release(&arena);
  return code;
}
