/* Events, one a line: an answer whose every time is in its span, or a refusal that points into a line. */
#include "after/after.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static const char suite[] =
    "inward: 1 suite\nname: F\n"
    "rooms:\n"
    "  Wet: {volume: 150 m3, class: 7, keeps: [{over: Gown, at least: 5 Pa}]}\n"
    "  Gown: {keeps: [{over: outdoors, at least: 5 Pa}]}\n"
    "leaks: {L: {from: Gown, to: outdoors, area: 0.03 m2}, L2: {from: Wet, to: outdoors, area: 0.02 m2}}\n"
    "doors: {D: {from: Wet, to: Gown, closed: {area: 0.01 m2}, open: {area: 1.9 m2}}}\n"
    "junctions: {J: {}, K: {}}\n"
    "ducts: {F1: {from: J, to: K, drop: 100 Pa at 2000 m3/h}}\n"
    "fans: {EF: {from: K, to: outdoors, count: 2, shut-off: 900 Pa, falls: 400 Pa/(m3/s)2,\n"
    "  holds: {pressure: -200 Pa, in: J, least speed: 20 %}}}\n"
    "mains: {M: {at: J, fans: [EF]}}\n"
    "supplies: {MU: {most: 4000 m3/h, feeds: {Wet: {follows exhaust: {offset: 300 m3/h}},\n"
    "  Gown: {holds: {pressure: 8 Pa, over: outdoors}, most: 900 m3/h}}}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Wet, main: M, width: 1.2 m, opening: {parked: 0.03 m, work: 0.45 m},\n"
    "    flow: {follows opening: {velocity: 0.5 m/s, least: 300 m3/h, most: 1000 m3/h}}, deck: 20 %}\n"
    "  A2: {kind: other, room: Wet, main: M, flow: {two-state: {parked: 200 m3/h, work: 500 m3/h}}}\n";

static void must(bool so)
{
  if (!so)
    abort();
}

static struct facility *facility(struct arena *arena)
{
  struct facility_text text = {"suite.yaml", suite, sizeof suite - 1};
  struct complaints complaints;
  struct facility *f;

  complaints_init(&complaints, arena);
  f = facility_read(&text, NULL, 0, &complaints);
  must(f != NULL);
  return f;
}

static void check_answer(const struct after_answer *a)
{
  struct buf out;

  for (int i = 0; i < a->turn_count; i++) {
    const struct after_turn *t = &a->turns[i];

    must(t->at_s <= t->until_s && t->until_s <= a->for_s);
    for (int k = 0; k < t->keep_count; k++)
      must(t->keeps[k].below_s >= 0 && t->keeps[k].below_s <= t->until_s - t->at_s + 1e-6);
    for (int k = 0; k < t->reversal_count; k++)
      must(t->reversals[k].for_s <= t->until_s - t->at_s + 1e-6);
  }
  for (int r = 1; r < a->trace.count; r++)
    must(a->trace.rows[r][0] >= a->trace.rows[r - 1][0]);
  buf_init(&out, 64 << 20);
  after_text(a, UNITS_SYSTEM_US, &out);
  must(!strstr(out.text, "safe") && !strstr(out.text, "nan") && !strstr(out.text, " inf"));
  buf_clear(&out);
  after_json(a, &out);
  must(!out.full);
  buf_release(&out);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
  static struct arena for_suite;
  static struct facility *f;
  char text[4096];
  const char *events[AFTER_EVENTS_MAX];
  struct after_request request = {.events = events, .for_s = 0};
  struct arena arena;
  struct err err = {0};
  const struct after_answer *a;

  if (!f) {
    arena_init(&for_suite, (size_t)64 << 20);
    f = facility(&for_suite);
  }
  if (size >= sizeof text || memchr(data, 0, size))
    return 0;
  memcpy(text, data, size);
  text[size] = '\0';
  for (char *line = text; *line && request.event_count < 8;) {
    size_t length = strcspn(line, "\n");
    bool more = line[length] == '\n';

    line[length] = '\0';
    events[request.event_count++] = line;
    line += length + more;
  }
  arena_init(&arena, (size_t)512 << 20);
  a = after_ask(f, &request, &arena, &err);
  must(a || err.code != ERR_OK);
  if (a)
    check_answer(a);
  else if (err.code == ERR_INPUT && request.event_count > 0)
    must(strncmp(err.text, "event ", 6) == 0);
  arena_release(&arena);
  return 0;
}
