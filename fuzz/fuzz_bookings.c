#include "day/day.h"

#include <stdlib.h>

/* Properties: bookings are of stations of the suite, take time and touch the window; what is left out is
 * complained about; places are inside the text; and a list that was written is read again as long. */
static const char suite[] = "inward: 1 suite\nname: T\nrooms: {R: {}}\n"
                            "mains: {M: {capacity: {value: 3000 m3/h}}}\nstations:\n"
                            "  H1: {kind: other, room: R, main: M, flow: {constant: 300 m3/h}}\n"
                            "  H2: {kind: other, room: R, main: M, flow: {constant: 300 m3/h}}\n";
static const int64_t from_ms = 1767225600000, to_ms = 1798761600000; /* 2026 */

static const struct facility *facility(void)
{
  static struct facility *one;
  struct complaints complaints;
  struct arena arena;

  if (one)
    return one;
  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  const struct facility_text text = {"s.yaml", suite, sizeof suite - 1};

  one = facility_read(&text, NULL, 0, &complaints);
  arena_release(&arena);
  BUG_IF(!one);
  return one;
}

static bool read_list(const char *bytes, size_t size, struct arena *arena,
                      struct complaints *complaints, struct day_bookings *list,
                      struct day_read_report *report)
{
  const struct facility_text text = {"b", bytes, size};
  const struct day_read_job job = {
      .facility = facility(), .zone = when_utc(), .from_ms = from_ms, .to_ms = to_ms};

  complaints_init(complaints, arena);
  *list = (struct day_bookings){0};
  return day_read(&job, &text, arena, complaints, list, report);
}

static void check_again(const struct day_bookings *list, struct arena *arena)
{
  struct day_read_report report;
  struct day_bookings again;
  struct complaints complaints;
  struct buf table;

  buf_init(&table, 32 << 20);
  day_write_table(facility(), when_utc(), list, true, &table);
  BUG_IF(!table.full && !read_list(table.text, table.used, arena, &complaints, &again, &report));
  BUG_IF(!table.full && again.count != list->count);
  buf_release(&table);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct day_read_report report;
  struct day_bookings list;
  struct complaints complaints;
  struct arena arena;
  int lines = 1;

  arena_init(&arena, (size_t)256 << 20);
  for (size_t i = 0; i < size; i++)
    lines += data[i] == '\n' || data[i] == '\r';
  bool fine = read_list((const char *)data, size, &arena, &complaints, &list, &report);

  BUG_IF(!fine && complaints.count == 0);
  BUG_IF(report.left_out > 0 && complaints.count == 0);
  for (int i = 0; i < complaints.count; i++)
    BUG_IF(complaints.list[i].place.line < 0 || complaints.list[i].place.line > lines);
  for (int i = 0; i < list.count; i++) {
    const struct day_booking *b = &list.list[i];

    BUG_IF(b->station < 0 || b->station > 1 || b->end_ms <= b->start_ms || !b->id || !b->who);
    BUG_IF(b->start_ms >= to_ms || b->end_ms <= from_ms);
  }
  if (fine && list.count > 0)
    check_again(&list, &arena);
  arena_release(&arena);
  return 0;
}
