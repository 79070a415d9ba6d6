/* Any detail of an entry about glass is read or counted as one that cannot be; what lost its status stays so until it is told. */
#include "sighting/sighting.h"

#include "told.h"

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
  struct told t;

  told_read(&t, suite_text, data, size);
  for (int i = 0; i < t.count; i++) {
    t.entries[i].kind = i % 3 == 2 ? RECORD_ROUND : RECORD_GLASS;
    t.entries[i].about = i % 2 ? "B1" : "B2";
  }

  const struct sighting_list *list =
      sighting_look(t.facility, NULL, t.entries, t.count, TOLD_NOW_MS, &t.arena);
  int lost = 0;

  if (!list || list->unread > t.count || list->case_count > t.count)
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
  sighting_text(list, &t.out);
  sighting_json(list, &t.out);
  told_release(&t);
  return 0;
}
