#include "cli/take_impl.h"

#include "cli/read.h"
#include "feed/feed.h"

#include <stdio.h>
#include <stdlib.h>

/* inward take SUITE CALENDAR.ics --source ID --dry: what the board would read. */

struct bookings {
  struct arena *arena;
  struct feed_booking *list;
  int count;
};

static void keep(void *arg, const struct feed_booking *booking)
{
  struct bookings *b = arg;

  if (b->count < FEED_CALENDAR_MOST_BOOKINGS)
    b->list[b->count++] = *booking;
}

static int by_start(const void *x, const void *y)
{
  const struct feed_booking *a = x, *b = y;

  return (a->start_ms > b->start_ms) - (a->start_ms < b->start_ms);
}

/* ---- for people ---- */

static void put_text(const struct take_calendar *asked, const struct bookings *b,
                     const struct feed_calendar_report *report, struct buf *out)
{
  buf_printf(out, "%s: %d events, %d of them cancelled, %d left out; %d bookings from ",
             asked->path, report->events, report->cancelled, report->left_out, b->count);
  when_print(out, asked->zone, asked->from_ms);
  buf_puts(out, " to ");
  when_print(out, asked->zone, asked->to_ms);
  buf_putc(out, '\n');
  for (int i = 0; i < b->count; i++) {
    const struct feed_booking *booking = &b->list[i];

    buf_puts(out, "  ");
    when_print(out, asked->zone, booking->start_ms);
    buf_puts(out, " - ");
    when_print(out, asked->zone, booking->end_ms);
    buf_printf(out, "%s  %s%s%s\n", booking->all_day ? " (whole days)" : "", booking->summary,
               booking->location[0] ? ", at " : "", booking->location);
  }
}

/* ---- for programs ---- */

static void put_json(const struct take_calendar *asked, const struct bookings *b, bool taken,
                     const struct feed_calendar_report *report, struct emit *json)
{
  emit_object(json, NULL);
  emit_text(json, "calendar", asked->path);
  emit_bool(json, "taken", taken);
  when_emit(json, "from", asked->from_ms);
  when_emit(json, "to", asked->to_ms);
  emit_int(json, "events", report->events);
  emit_int(json, "cancelled", report->cancelled);
  emit_int(json, "left_out", report->left_out);
  emit_array(json, "bookings");
  for (int i = 0; i < b->count; i++) {
    emit_object(json, NULL);
    when_emit(json, "start", b->list[i].start_ms);
    when_emit(json, "end", b->list[i].end_ms);
    emit_bool(json, "all_day", b->list[i].all_day);
    emit_text(json, "uid", b->list[i].uid);
    emit_text(json, "summary", b->list[i].summary);
    emit_text(json, "location", b->list[i].location);
    emit_close(json);
  }
  emit_close(json);
  emit_close(json);
}

int take_calendar(const struct take_calendar *asked, struct buf *out, struct emit *json,
                  struct err *err)
{
  struct feed_window window = {asked->source->table.zone, asked->from_ms, asked->to_ms};
  struct feed_calendar_report report = {0};
  struct facility_text text = {0};
  struct complaints complaints;
  struct bookings b = {0};
  struct arena arena;
  struct buf faults;

  if (cli_read_file(asked->path, FEED_CALENDAR_MOST_BYTES, &text, err) != ERR_OK)
    return err_exit_status(err->code);
  arena_init(&arena, (size_t)256 << 20);
  complaints_init(&complaints, &arena);
  b.list = ARENA_ARRAY(&arena, struct feed_booking, FEED_CALENDAR_MOST_BOOKINGS);
  BUG_IF(!b.list);

  struct feed_booking_sink sink = {keep, &b};
  bool taken = feed_calendar(&text, &window, &sink, &arena, &complaints, &report);

  qsort(b.list, (size_t)b.count, sizeof *b.list, by_start);
  buf_init(&faults, 1 << 20);
  complaints_print(&complaints, text.file, text.bytes, &faults);
  fputs(faults.text, stderr);
  buf_release(&faults);
  if (json)
    put_json(asked, &b, taken, &report, json);
  else if (taken)
    put_text(asked, &b, &report, out);
  else
    buf_printf(out, "%s: refused\n", asked->path);
  arena_release(&arena);
  cli_free_file(&text);
  return taken ? 0 : 2;
}
