/* Any detail of an entry about glass is read or counted as one that cannot be; what lost its status stays so until it is told. */
#include "sighting/sighting.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const char suite_text[] =
    "inward: 1 suite\nrooms:\n  R: {}\nmains:\n  M: {capacity: {value: 2 m3/s}}\n"
    "stations:\n  B1: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s},\n"
    "    glass mark: {colour: white, shape: square, letter: K},\n"
    "    glass: [{what: beaker, material: PP, count: 4, drawer: 2}]}\n"
    "  B2: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n";

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
                                           .kind = count % 3 == 2 ? RECORD_ROUND : RECORD_GLASS,
                                           .about = count % 2 ? "B1" : "B2",
                                           .who = "x",
                                           .text = "x",
                                           .detail = at};
    count++;
    if (last)
      break;
  }
  struct sighting_list *list =
      facility ? sighting_look(facility, NULL, entries, count, 1000000000000LL + 9000000LL, &arena)
               : NULL;
  int lost = 0;

  if (!list || list->unread > count || list->case_count > count)
    abort();
  for (int i = 0; i < list->case_count; i++) {
    const struct sighting_case *c = &list->cases[i];

    lost += c->is_lost && c->left > 0;
    if (c->left < 0 || (c->left == 0 && c->settled.t_ms == INT64_MIN) ||
        c->last.t_ms < c->first.t_ms)
      abort();
  }
  if (lost != list->lost_count || (lost && !sighting_asks_a_person(list)))
    abort();
  sighting_text(list, &out);
  sighting_json(list, &out);
  facility_free(facility);
  buf_release(&out);
  arena_release(&arena);
  free(own);
  return 0;
}
