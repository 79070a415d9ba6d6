/* Bookings written back, as a calendar and as a table.  What is written is read again as it was. */
#include "day/day_impl.h"
#include "sheet/sheet.h"

#include <string.h>

/* ---- iCalendar (RFC 5545) ---- */

/* A content line, folded behind 75 octets at a character's edge (3.1). */
static void put_line(const char *line, struct buf *out)
{
  size_t size = strlen(line), at = 0, room = 75;

  while (size - at > room) {
    size_t end = at + room;

    while (end > at && ((unsigned char)line[end] & 0xC0) == 0x80)
      end--;
    if (end == at)
      end = at + room; /* no UTF-8: anywhere */
    buf_add(out, line + at, end - at);
    buf_puts(out, "\r\n ");
    at = end;
    room = 74; /* the blank counts */
  }
  buf_add(out, line + at, size - at);
  buf_puts(out, "\r\n");
}

static void put_text(const char *name, const char *text, struct buf *line, struct buf *out)
{
  if (!*text)
    return;
  buf_clear(line);
  buf_puts(line, name);
  for (const char *c = text; *c; c++) {
    if (*c == '\n')
      buf_puts(line, "\\n");
    else if (strchr("\\;,", *c))
      buf_printf(line, "\\%c", *c);
    else if ((unsigned char)*c >= 0x20)
      buf_putc(line, *c);
  }
  put_line(line->text, out);
}

static void put_moment(const char *name, int64_t t_ms, struct buf *out)
{
  const struct when_civil c = when_civil(when_utc(), t_ms, NULL);

  buf_printf(out, "%s%04d%02d%02dT%02d%02d%02dZ\r\n", name, c.year, c.month, c.day, c.hour,
             c.minute, c.second);
}

/* A parameter's value cannot hold a quote or a control character. */
static void put_person(const char *who, struct buf *line, struct buf *out)
{
  if (!*who)
    return;
  buf_clear(line);
  buf_puts(line, "ATTENDEE;CN=\"");
  for (const char *c = who; *c; c++)
    if (*c != '"' && (unsigned char)*c >= 0x20)
      buf_putc(line, *c);
  buf_puts(line, "\":urn:inward:person");
  put_line(line->text, out);
}

/* One id for several: each is then an occurrence of its own. */
static bool recurs(const struct day_bookings *list, int booking)
{
  for (int i = 0; i < list->count; i++)
    if (i != booking && strcmp(list->list[i].id, list->list[booking].id) == 0)
      return true;
  return false;
}

void day_write_calendar(const struct facility *facility, const struct day_bookings *list,
                        bool names, int64_t now_ms, struct buf *out)
{
  struct buf line;

  buf_init(&line, 64 << 10);
  buf_puts(out, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Inward//day//EN\r\n");
  for (int i = 0; i < list->count; i++) {
    const struct day_booking *b = &list->list[i];
    const struct facility_station *s = &facility->stations[b->station];

    buf_puts(out, "BEGIN:VEVENT\r\n");
    put_text("UID:", b->id, &line, out);
    if (recurs(list, i))
      put_moment("RECURRENCE-ID:", b->start_ms, out);
    put_moment("DTSTAMP:", now_ms, out);
    put_moment("DTSTART:", b->start_ms, out);
    put_moment("DTEND:", b->end_ms, out);
    put_text("SUMMARY:", *b->what ? b->what : s->part.name, &line, out);
    put_text("LOCATION:", s->part.id, &line, out);
    put_text("CATEGORIES:", b->family, &line, out);
    if (names)
      put_person(b->who, &line, out);
    buf_puts(out, "END:VEVENT\r\n");
  }
  buf_puts(out, "END:VCALENDAR\r\n");
  buf_release(&line);
}

/* ---- a table ---- */

enum { COLUMNS = 7 };

static const char *local(const struct when_zone *zone, int64_t t_ms, struct arena *arena)
{
  struct buf text;

  buf_init(&text, 64);
  when_print(&text, zone, t_ms);
  char *copy = arena_strdup(arena, text.text);

  buf_release(&text);
  return copy;
}

void day_write_table(const struct facility *facility, const struct when_zone *zone,
                     const struct day_bookings *list, bool names, struct buf *out)
{
  static const char *const heads[COLUMNS] = {"id",   "station", "start", "end",
                                             "what", "family",  "who"};
  struct sheet_table table = {
      .name = "", .row_count = list->count + 1, .column_count = names ? COLUMNS : COLUMNS - 1};
  struct arena arena;

  arena_init(&arena, (size_t)256 << 20);
  struct sheet_cell *cells =
      ARENA_ARRAY(&arena, struct sheet_cell, (size_t)(list->count + 1) * COLUMNS);

  BUG_IF(!cells);
  for (int c = 0; c < table.column_count; c++)
    cells[c] = (struct sheet_cell){.kind = SHEET_TEXT, .text = heads[c]};
  for (int i = 0; i < list->count; i++) {
    const struct day_booking *b = &list->list[i];
    const char *texts[COLUMNS] = {b->id,
                                  facility->stations[b->station].part.id,
                                  local(zone, b->start_ms, &arena),
                                  local(zone, b->end_ms, &arena),
                                  b->what,
                                  b->family,
                                  b->who};

    for (int c = 0; c < table.column_count; c++)
      cells[(i + 1) * table.column_count + c] =
          (struct sheet_cell){.kind = *texts[c] ? SHEET_TEXT : SHEET_EMPTY, .text = texts[c]};
  }
  table.cells = cells;
  sheet_write_csv(&table, out);
  arena_release(&arena);
}
