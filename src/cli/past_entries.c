/* inward past --entries */
#include "cli/past_impl.h"

enum { MOST_USUALLY = 100, MOST_EVER = 1000000 };

static enum err_code read_kind(const char *text, int *out, struct err *err)
{
  *out = text ? record_kind_find(text) : -1;
  if (text && *out < 0)
    return err_set(err, ERR_INPUT,
                   "--kind %.40s: there is no such kind; 'inward past --entries --help' lists them",
                   text);
  return ERR_OK;
}

static enum err_code read_wanted(const struct past *past, struct record_wanted *wanted,
                                 struct err *err)
{
  const struct past_request *asked = past->asked;
  enum err_code code = past_read_most(past, MOST_USUALLY, MOST_EVER, &wanted->most, err);

  wanted->about = asked->about;
  if (code == ERR_OK)
    code = read_kind(asked->kind, &wanted->kind, err);
  if (code == ERR_OK)
    code = past_bound(past, "--from", asked->from, INT64_MIN, &wanted->from_ms, err);
  if (code == ERR_OK)
    code = past_bound(past, "--to", asked->to, INT64_MAX, &wanted->to_ms, err);
  if (code == ERR_OK)
    code = past_bound(past, "--as-of", asked->as_of, INT64_MAX, &wanted->known_ms, err);
  return code;
}

/* Nothing is about an id that is none: a slip of the finger looks like a quiet station. */
static enum err_code refuse_about(const struct past *past, struct err *err)
{
  const char *about = past->asked->about;
  const char *near;

  if (!about || !*about || facility_has(past->facility, about))
    return ERR_OK;
  near = facility_nearest_id(past->facility, about);
  return err_set(err, ERR_INPUT,
                 "--about %.40s: the suite has no such id, and no entry is about one%s%s%s", about,
                 near ? "; did you mean " : "", near ? near : "", near ? "?" : "");
}

int past_entries(struct past *past, struct err *err)
{
  struct record_wanted wanted;
  struct record_entry *list = NULL;
  struct past_entries entries = {.suite = past->facility->name};
  char hex[65];

  if (read_wanted(past, &wanted, err) != ERR_OK ||
      record_entries(past->record, &wanted, &past->arena, &list, &entries.count, err) != ERR_OK ||
      record_head(past->record, &entries.head_number, hex, err) != ERR_OK)
    return 3;
  if (entries.count == 0 && refuse_about(past, err) != ERR_OK)
    return 2;
  entries.list = list;
  entries.head_hex = hex;
  if (past->asked->json)
    past_entries_json(&entries, past->zone, &past->out);
  else
    past_entries_text(&entries, past->zone, &past->out);
  return 0;
}
