#include "feed/feed.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char suite_text[] =
    "inward: 1 suite\n"
    "rooms: {Wet: {}, Gown: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}, L2: {from: Wet, to: Gown, area: 1 cm2}}\n"
    "mains: {Acid: {}}\n"
    "stations: {A1: {kind: fume hood, room: Wet, main: Acid, flow: {constant: 900 m3/h}}}\n";

static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources:\n"
    "  w: {csv: {separator: semicolon, decimal: comma, time: T, pattern: DD.MM.YYYY hh:mm,\n"
    "      zone: Test/Zone, missing: [none, \"-9\"]}}\n"
    "  l: {clock ahead: -40 s, csv: {shape: long, separator: comma, decimal: point, time: t, date: d,\n"
    "      pattern: YYYY-MM-DD hh:mm:ss, zone: Test/Zone, point: p, value: v, unit: u, status: s, good: [ok]}}\n"
    "  x: {csv: {separator: tab, decimal: point, time: T, pattern: ISO, zone: UTC, columns: [T, A]}}\n"
    "points:\n"
    "  f: {of: A1, what: flow, from: w, at: \"F [m3/h]\", unit: m3/h}\n"
    "  o: {of: A1, what: opening, from: w, at: O, unit: \"%\", full: 0.5 m}\n"
    "  b: {of: A1, what: blocked, from: w, at: B, yes: [cut], no: [clear]}\n"
    "  t: {of: Wet, what: temperature, from: l, at: TT, unit: degC}\n"
    "  h: {of: Wet, what: humidity, from: l, at: HH, unit: \"%RH\"}\n"
    "  g: {of: A1, what: flow, from: l, at: TT, unit: L/s, factor: -2}\n"
    "  a: {what: other, from: x, at: A}\n";

/* A rule like Europe's, so that hours come twice and are left out. */
static const unsigned char zone_bytes[] =
    "TZif2\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\1\0\0\0\4"
    "\0\0\0\0\0\0LMT\0"
    "TZif2\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\1\0\0\0\4"
    "\0\0\0\0\0\0LMT\0"
    "\nCET-1CEST,M3.5.0,M10.5.0/3\n";

enum { SEEN_S = 1793500000 }; /* November 2026 */

static void must(bool promise)
{
  if (!promise)
    abort();
}

struct world {
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  const struct when_zone *zone;
};

/* Made once: it never changes. */
static const struct world *world(void)
{
  static struct world w;
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text file = {"feeds.yaml", feeds_text, sizeof feeds_text - 1};
  struct complaints complaints;

  if (w.feeds)
    return &w;
  arena_init(&w.arena, 1 << 20);
  complaints_init(&complaints, &w.arena);
  w.facility = facility_read(&suite, NULL, 0, &complaints);
  must(w.facility != NULL);
  w.feeds = feeds_read(w.facility, &file, &complaints);
  must(w.feeds != NULL);
  must(when_zone_read("Test/Zone", zone_bytes, sizeof zone_bytes - 1, &w.arena, &w.zone, NULL) ==
       ERR_OK);
  return &w;
}

struct tally {
  const struct feeds *feeds;
  int source;
  long count, good;
  int64_t first_ms, last_ms;
};

/* A number is finite and there only where it was measured; nothing is of another source's point. */
static void look(void *arg, const struct feed_observation *o)
{
  struct tally *t = arg;
  const struct feeds_point *p = &t->feeds->points[o->point];

  must(o->point >= 0 && o->point < t->feeds->point_count && p->source == t->source);
  must(o->quality == FEED_GOOD ? isfinite(o->si) : isnan(o->si));
  must(o->quality != FEED_OLD && o->quality != FEED_UNTIMED);
  must(!p->yes_no || o->quality != FEED_GOOD || o->si == 0 || o->si == 1);
  must(p->what != FEEDS_TEMPERATURE || o->quality != FEED_GOOD || o->si >= 0);
  must(o->seen_ms == (int64_t)SEEN_S * 1000);
  must(o->quality == FEED_FUTURE || o->t_ms <= o->seen_ms + 30000);
  t->first_ms = t->count == 0 || o->t_ms < t->first_ms ? o->t_ms : t->first_ms;
  t->last_ms = t->count == 0 || o->t_ms > t->last_ms ? o->t_ms : t->last_ms;
  t->count++;
  t->good += o->quality == FEED_GOOD;
}

static long lines_of(const char *bytes, size_t size)
{
  long lines = 1;

  for (size_t i = 0; i < size; i++)
    lines += bytes[i] == '\n' || bytes[i] == '\r';
  return lines;
}

/* Every complaint says something and points inside the text. */
static void places_are_inside(const struct complaints *list, const struct facility_text *text)
{
  long lines = lines_of(text->bytes, text->size);

  for (int i = 0; i < list->count; i++) {
    const struct complaint *c = &list->list[i];

    must(c->text[0] != '\0' && c->place.file == text->file);
    must(c->place.line >= 0 && c->place.line <= lines);
    must(c->place.column >= 0 && (size_t)c->place.column <= text->size * 3 + 1);
  }
}

static void read_as(int source, const struct facility_text *text)
{
  const struct world *w = world();
  struct feed_table_job job = {w->feeds, source, source == 2 ? when_utc() : w->zone, text,
                               (int64_t)SEEN_S * 1000};
  struct tally tally = {.feeds = w->feeds, .source = source};
  struct feed_sink sink = {look, &tally};
  struct feed_table_report r;
  struct complaints complaints;
  struct arena arena;

  arena_init(&arena, 16 << 20);
  complaints_init(&complaints, &arena);
  if (feed_table(&job, &sink, &arena, &complaints, &r)) {
    must(r.values == tally.good);
    must(r.values + r.missing + r.unreadable + r.faulty + r.future == tally.count);
    must(tally.count == 0 || (r.first_ms == tally.first_ms && r.last_ms == tally.last_ms));
    must(r.unread_rows + r.ambiguous_rows + r.never_rows <= r.rows);
  } else {
    must(tally.count == 0 && complaints.count > 0);
  }
  places_are_inside(&complaints, text);
  arena_release(&arena);
}

/* What is proposed is a feeds file, or lacks only what it asks for. */
static void propose(const struct facility_text *text)
{
  struct complaints complaints;
  struct arena arena;
  struct buf out;

  arena_init(&arena, 16 << 20);
  complaints_init(&complaints, &arena);
  buf_init(&out, 4 << 20);
  if (feed_propose(world()->facility, text, &complaints, &out)) {
    struct facility_text proposal = {"proposal.yaml", out.text, out.used};

    must(!out.full && strncmp(out.text, "inward: 1 feeds\n", 16) == 0);
    feeds_free(feeds_read(world()->facility, &proposal, &complaints));
    for (int i = 0; i < complaints.count; i++)
      must(strstr(complaints.list[i].text, "is missing") != NULL);
  } else {
    must(complaints.count > 0 && out.used == 0);
    places_are_inside(&complaints, text);
  }
  buf_release(&out);
  arena_release(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  /* A copy of its own size: reading one byte behind it is seen. */
  char *bytes = malloc(size ? size : 1);

  must(bytes != NULL);
  if (size > 0)
    memcpy(bytes, data, size);

  struct facility_text text = {"table.csv", bytes, size};

  for (int source = 0; source < 3; source++)
    read_as(source, &text);
  propose(&text);
  free(bytes);
  return 0;
}
