#include "feed/feed.h"

#include <stdlib.h>
#include <string.h>

/* Properties: bookings come in order, touch the window, end no earlier than they start, and have
 * texts; a refusal gives none of them and says why; places are inside the text; the counts agree. */
static const int64_t from_ms = 1767225600000, to_ms = 1798761600000; /* 2026 */

struct seen {
  int count;
  int64_t last_ms;
};

static void look(void *arg, const struct feed_booking *b)
{
  struct seen *seen = arg;

  BUG_IF(!b->uid || !b->summary || !b->location);
  BUG_IF(b->start_ms < seen->last_ms || b->end_ms < b->start_ms);
  BUG_IF(b->start_ms >= to_ms || b->end_ms < from_ms);
  seen->last_ms = b->start_ms;
  seen->count++;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct seen seen = {.last_ms = INT64_MIN};
  struct feed_booking_sink sink = {look, &seen};
  const struct facility_text text = {"b.ics", (const char *)data, size};
  const struct feed_window window = {"Europe/Paris", from_ms, to_ms};
  struct feed_calendar_report report;
  struct complaints complaints;
  struct arena arena;
  int lines = 1;

  arena_init(&arena, 64 << 20);
  complaints_init(&complaints, &arena);
  for (size_t i = 0; i < size; i++)
    lines += data[i] == '\n';

  bool fine = feed_calendar(&text, &window, &sink, &arena, &complaints, &report);

  BUG_IF(!fine && (seen.count != 0 || complaints.count == 0));
  BUG_IF(fine && report.bookings != seen.count);
  BUG_IF(fine && report.left_out > 0 && complaints.count == 0);
  for (int i = 0; i < complaints.count; i++)
    BUG_IF(complaints.list[i].place.line < 0 || complaints.list[i].place.line > lines);
  arena_release(&arena);
  return 0;
}
