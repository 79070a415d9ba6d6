/* The entries of the nights, as a list. */
#include "nightly/nightly_impl.h"

#include <string.h>

enum err_code nightly_recorded(struct record *record, int64_t now_ms, int most, struct arena *arena,
                               struct nightly_list *out, struct err *err)
{
  const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                       .to_ms = now_ms < INT64_MAX ? now_ms + 1 : now_ms,
                                       .kind = RECORD_MATCH,
                                       .known_ms = INT64_MAX,
                                       .most = most};
  struct record_entry *entries;
  int count = 0;
  enum err_code code = record_entries(record, &wanted, arena, &entries, &count, err);

  if (code != ERR_OK)
    return code;
  *out = (struct nightly_list){.list = ARENA_ARRAY(arena, struct nightly_match, (size_t)count + 1)};
  if (!out->list)
    return err_set(err, ERR_LIMIT, "the entries of own matches need more memory");
  for (int i = count - 1; i >= 0; i--) {
    struct nightly_match *match = &out->list[out->count];

    if (!nightly_read(entries[i].detail, arena, match))
      continue; /* of a later program, or no such thing */
    match->number = entries[i].number;
    match->t_ms = entries[i].t_ms;
    match->written_ms = entries[i].written_ms;
    out->count++;
  }
  return ERR_OK;
}

const struct nightly_match *nightly_before(const struct nightly_list *list, int from)
{
  for (int i = from; i < list->count; i++)
    if (list->list[i].verdict)
      return &list->list[i];
  return NULL;
}

const struct nightly_match *nightly_changed(const struct nightly_list *list)
{
  const struct nightly_match *newest = nightly_before(list, 0);

  return newest && newest->was ? newest : NULL;
}

/* ---- a figure over the nights ---- */

const struct nightly_figure *nightly_figure_of(const struct nightly_match *match, const char *name)
{
  for (int i = 0; i < match->figure_count; i++)
    if (strcmp(match->figures[i].name, name) == 0)
      return &match->figures[i];
  return NULL;
}

bool nightly_is_like(const struct nightly_match *latest, const struct nightly_match *other)
{
  return other->verdict && strcmp(latest->suite_sha256, other->suite_sha256) == 0;
}
