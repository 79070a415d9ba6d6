#include "feed/feed.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The first byte says which topic and whether it was retained; the rest is the message.  Properties:
 * every point of the topic gets one observation and no other does; there is a finite value exactly
 * where the quality says so; a refusal points into the message and shows nothing that steers a
 * screen; nothing good comes of a retained message without a time. */
static const char suite_text[] =
    "inward: 1 suite\nrooms: {Etch: {}}\njunctions: {J: {}}\n"
    "leaks: {L1: {from: Etch, to: outdoors, area: 1 cm2}}\n"
    "fans: {EF: {from: J, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [EF]}}\nstations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";
static const char feeds_text[] =
    "inward: 1 feeds\nsources: {bus: {mqtt: {host: h}, clock ahead: 20 s}}\npoints:\n"
    "  raw: {of: Acid, what: flow, from: bus, at: a, unit: m3/h, missing: [n/a]}\n"
    "  beam: {of: A1, what: blocked, from: bus, at: a, field: b}\n"
    "  v: {of: A1, what: flow, from: bus, at: b, field: v, time field: t, unit: m3/h,\n"
    "      unit field: u, quality field: q}\n"
    "  temp: {of: Etch, what: temperature, from: bus, at: b, field: air.temp, unit: degC}\n"
    "  runs: {of: EF, what: running, from: bus, at: b, field: n, time field: air.t}\n";
static const char *const topics[] = {"a", "b"};
static const int counts[] = {2, 3};

struct seen {
  const struct feeds *feeds;
  int count, bad;
  bool retained;
};

static void look(void *arg, const struct feed_observation *o)
{
  struct seen *seen = arg;
  const struct feeds_point *p = &seen->feeds->points[o->point];
  bool has = o->quality == FEED_GOOD || o->quality == FEED_OVERRIDDEN || o->quality == FEED_OLD;

  seen->count++;
  seen->bad += o->quality == FEED_UNREADABLE;
  BUG_IF(o->quality >= FEED_QUALITY_COUNT);
  BUG_IF(has != (bool)isfinite(o->si));
  BUG_IF(has && p->yes_no && o->si != 0 && o->si != 1);
  BUG_IF(o->seen_ms != 1793000000000);
  BUG_IF(o->quality != FEED_FUTURE && o->t_ms > o->seen_ms + 30000);
  BUG_IF(seen->retained && !p->time_field && o->quality == FEED_GOOD);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static struct facility *facility;
  static struct feeds *feeds;
  static struct arena arena;
  int topic = size > 0 ? data[0] & 1 : 0;
  struct seen seen = {.retained = size > 0 && (data[0] & 2)};
  struct feed_sink sink = {look, &seen};
  struct err err = {0};

  if (!feeds) { /* once: the arena is kept on purpose */
    static struct complaints complaints;
    struct facility_text suite = {"s", suite_text, sizeof suite_text - 1};
    struct facility_text file = {"f", feeds_text, sizeof feeds_text - 1};

    arena_init(&arena, 1 << 20);
    complaints_init(&complaints, &arena);
    facility = facility_read(&suite, NULL, 0, &complaints);
    feeds = feeds_read(facility, &file, &complaints);
    BUG_IF(!feeds);
  }
  seen.feeds = feeds;
  size -= size > 0;

  char *exact = malloc(size > 0 ? size : 1); /* a byte too far is seen in a replay, too */

  if (!exact)
    return 0;
  if (size > 0)
    memcpy(exact, data + 1, size);

  struct feed_message message = {topics[topic], exact, size, seen.retained, 1793000000000};
  enum err_code code = feed_payload(feeds, 0, &message, &sink, &err);

  BUG_IF(seen.count != counts[topic]);
  BUG_IF((code == ERR_OK) != (seen.bad == 0));
  BUG_IF(code != ERR_OK && (err.col < 0 || (size_t)err.col > size + 1 || !err.text[0]));
  for (const char *c = err.text; *c; c++)
    BUG_IF(*c < 0x20 || *c > 0x7e);
  free(exact);
  return 0;
}
