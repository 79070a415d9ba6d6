/* Any detail of an entry is read or counted as one that cannot be; what is read prints. */
#include "round/round.h"

#include "told.h"

static const char suite_text[] =
    "inward: 1 suite\nrooms:\n  R: {}\nmains:\n  M: {capacity: {value: 2 m3/s}}\n"
    "stations:\n  B1: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n"
    "rounds: {items: [{id: deck, question: q}, {id: gel, question: g, expires: yes}]}\n";

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* One line of the input is the detail of one entry. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct told t;

  told_read(&t, suite_text, data, size);

  const struct round_list *list =
      round_look(t.facility, NULL, t.entries, t.count, TOLD_NOW_MS, &t.arena);

  if (!list || list->count != 1 || list->unread > t.count)
    abort();
  for (int i = 0; i < list->stations[0].count; i++) {
    const struct round_found *found = &list->stations[0].found[i];

    if ((found->said == ROUND_UNSEEN) != (found->state == ROUND_NOT_KNOWN) ||
        (found->said == ROUND_NO && found->state != ROUND_OPEN))
      abort();
  }
  round_text(list, &t.out);
  round_json(list, &t.out);
  told_release(&t);
  return 0;
}
