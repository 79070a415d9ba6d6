/* Any detail of an entry is read or counted as one that cannot be; what is read prints. */
#include "run/run.h"

#include "told.h"

static const char suite_text[] =
    "inward: 1 suite\nrooms:\n  R: {}\nmains:\n  M: {capacity: {value: 2 m3/s}}\n"
    "stations:\n  B1: {kind: wet bench, room: R, main: M, flow: {constant: 0.1 m3/s}}\n"
    "unattended: {waits: [{stations: [B1], wait: 2 h, why: w, source: s}]}\n";

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* One line of the input is the detail of one entry. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct told t;

  told_read(&t, suite_text, data, size);

  const struct run_list *list =
      run_look(t.facility, NULL, t.entries, t.count, TOLD_NOW_MS, &t.arena);

  if (!list || list->count > 1 || list->unread > t.count)
    abort();
  for (int i = 0; i < list->count; i++)
    if (!list->runs[i].why ||
        (list->runs[i].has_clock && list->runs[i].clock_from_ms > list->runs[i].clock_to_ms))
      abort();
  run_text(list, UNITS_SYSTEM_SI, &t.out);
  run_json(list, &t.out);
  told_release(&t);
  return 0;
}
