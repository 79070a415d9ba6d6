/* Any detail of an entry is read or counted as one that cannot be; what is read prints. */
#include "round/round.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const char suite_text[] =
    "inward: 1 suite\nrooms:\n  R: {}\nmains:\n  M: {capacity: {value: 2 m3/s}}\n"
    "stations:\n  B1: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n"
    "rounds: {items: [{id: deck, question: q}, {id: gel, question: g, expires: yes}]}\n";

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* One line of the input is the detail of one entry. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  enum { MOST = 12 };
  const struct facility_text text = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct record_entry entries[MOST];
  struct complaints complaints;
  struct arena arena;
  struct buf out;
  int count = 0;
  char *own = malloc(size + 1);

  if (!own)
    return 0;
  if (size)
    memcpy(own, data, size);
  own[size] = '\0';
  arena_init(&arena, 64 << 20);
  buf_init(&out, 8 << 20);
  complaints_init(&complaints, &arena);

  struct facility *facility = facility_read(&text, NULL, 0, &complaints);

  for (char *at = own; facility && *at && count < MOST; at += strcspn(at, "\n") + 1) {
    char *line_end = at + strcspn(at, "\n");
    bool last = !*line_end;

    *line_end = '\0';
    entries[count] = (struct record_entry){.number = count + 1,
                                           .t_ms = 1000000000000LL + 600000LL * count,
                                           .about = "B1",
                                           .who = "x",
                                           .text = "x",
                                           .detail = at};
    count++;
    if (last)
      break;
  }
  struct round_list *list =
      facility ? round_look(facility, NULL, entries, count, 1000000000000LL + 9000000LL, &arena)
               : NULL;

  if (!list || list->count != 1 || list->unread > count)
    abort();
  for (int i = 0; i < list->stations[0].count; i++) {
    const struct round_found *found = &list->stations[0].found[i];

    if ((found->said == ROUND_UNSEEN) != (found->state == ROUND_NOT_KNOWN) ||
        (found->said == ROUND_NO && found->state != ROUND_OPEN))
      abort();
  }
  round_text(list, &out);
  round_json(list, &out);
  facility_free(facility);
  buf_release(&out);
  arena_release(&arena);
  free(own);
  return 0;
}
