#include "feed/feed.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The first byte says how many words, four bytes follow.  Properties: a value is finite exactly when
 * it is good; the same bits in the four orders are the same value; too few or too many words are
 * unreadable. */
static const char suite_text[] =
    "inward: 1 suite\nrooms: {Etch: {}}\njunctions: {J: {}}\n"
    "leaks: {L1: {from: Etch, to: outdoors, area: 1 cm2}}\n"
    "fans: {EF: {from: J, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [EF]}}\nstations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";
#define KINDS(source)                                                                              \
  "  " source "1: {of: A1, what: face velocity, from: " source                                     \
  ", at: 40001, as: f32, unit: m/s,\n"                                                             \
  "      none: [-9999.9]}\n"                                                                       \
  "  " source "2: {of: A1, what: flow, from: " source ", at: 40003, as: u32, unit: m3/h}\n"        \
  "  " source "3: {of: Acid, what: flow, from: " source ", at: 40005, as: s32, unit: m3/h,\n"      \
  "      none: [-1]}\n"                                                                            \
  "  " source "4: {of: A1, what: opening, from: " source ", at: 40007, as: s16, unit: mm,\n"       \
  "      none: [-32768]}\n"                                                                        \
  "  " source "5: {of: A1, what: blocked, from: " source ", at: 10001}\n"
static const char feeds_text[] = "inward: 1 feeds\nsources:\n"
                                 "  a: {modbus: {host: h, words: high first}}\n"
                                 "  b: {modbus: {host: h, words: low first}}\n"
                                 "  c: {modbus: {host: h, words: high first, bytes: low first}}\n"
                                 "  d: {modbus: {host: h, words: low first, bytes: low first}}\n"
                                 "points:\n" KINDS("a") KINDS("b") KINDS("c") KINDS("d");

static const struct feeds *read_once(void)
{
  static struct facility *facility;
  static struct feeds *feeds;
  static struct arena arena;
  static struct complaints complaints;
  struct facility_text suite = {"s", suite_text, sizeof suite_text - 1};
  struct facility_text file = {"f", feeds_text, sizeof feeds_text - 1};

  if (feeds)
    return feeds;
  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  facility = facility_read(&suite, NULL, 0, &complaints);
  feeds = feeds_read(facility, &file, &complaints);
  BUG_IF(!feeds);
  return feeds;
}

static uint16_t swapped(uint16_t word)
{
  return (uint16_t)(word << 8 | word >> 8);
}

static struct feed_observation read_as(const struct feeds *feeds, int order, int kind,
                                       const uint16_t words[2], int count)
{
  uint16_t sent[2] = {words[0], words[1]};
  struct feed_observation o = {0};

  if (count == 2 && (order & 1)) {
    sent[0] = words[1];
    sent[1] = words[0];
  }
  if (order & 2)
    for (int i = 0; i < 2; i++)
      sent[i] = swapped(sent[i]);
  feed_registers(feeds, order * 5 + kind, sent, count, 0, &o);
  return o;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  const struct feeds *feeds = read_once();
  uint16_t words[2];

  if (size < 5)
    return 0;
  memcpy(words, data + 1, sizeof words);
  for (int kind = 0; kind < 5; kind++) {
    int want = feed_register_words(feeds->points[kind].as), count = 1 + (data[0] & 1);
    struct feed_observation first = read_as(feeds, 0, kind, words, count);

    BUG_IF((first.quality == FEED_GOOD) != (bool)isfinite(first.si));
    BUG_IF(count != want && first.quality != FEED_UNREADABLE);
    for (int order = 1; order < 4; order++) {
      struct feed_observation o = read_as(feeds, order, kind, words, count);

      BUG_IF(o.quality != first.quality);
      BUG_IF(o.quality == FEED_GOOD && o.si != first.si);
    }
  }
  return 0;
}
