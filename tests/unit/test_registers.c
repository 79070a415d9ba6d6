#include "feed/feed.h"

#include "check.h"
#include "small_feeds.h"

#include <math.h>

/* Orders are those of the Modbus application protocol (V1.1b3, 4.2: high byte of a register first)
 * and what controllers make of 32 bits in two registers, which it does not say. */
static const char feeds_text[] =
    "inward: 1 feeds\n"
    "sources:\n"
    "  high: {modbus: {host: h, words: high first}}\n"
    "  more: {modbus: {host: h}}\n"
    "  low: {modbus: {host: h, words: low first}}\n"
    "  swap: {modbus: {host: h, words: high first, bytes: low first}}\n"
    "  both: {modbus: {host: h, words: low first, bytes: low first}}\n"
    "points:\n"
    "  u16: {of: A1, what: flow, from: high, at: 40001, as: u16, unit: m3/h, none: [65535]}\n"
    "  s16: {of: Etch, what: pressure, over: Gown, from: high, at: 40003, as: s16, unit: Pa, factor: 0.1,\n"
    "      none: [-32768]}\n"
    "  s16u: {of: Etch, what: pressure, over: Gown, from: more, at: 40003, as: s16, unit: Pa, none: [32768]}\n"
    "  u32: {of: Acid, what: flow, from: high, at: 40005, as: u32, unit: L/h}\n"
    "  s32: {of: Etch, what: pressure, over: Gown, from: low, at: 40005, as: s32, unit: Pa, none: [-1]}\n"
    "  abcd: {of: A1, what: face velocity, from: high, at: 40005, as: f32, unit: m/s, none: [-9999.9]}\n"
    "  cdab: {of: A1, what: face velocity, from: low, at: 40005, as: f32, unit: m/s}\n"
    "  badc: {of: A1, what: face velocity, from: swap, at: 40005, as: f32, unit: m/s}\n"
    "  dcba: {of: A1, what: face velocity, from: both, at: 40005, as: f32, unit: m/s}\n"
    "  bit: {of: A1, what: blocked, from: high, at: 10001}\n"
    "  word: {of: A1, what: presence, from: high, at: 40009, as: u16}\n";

static void a_register_is_a_number_in_its_own_way(void)
{
  static const struct {
    const char *point;
    uint16_t words[2];
    int count;
    double si;
    enum feed_quality quality;
  } rows[] = {
      {"u16", {1458}, 1, 1458 / 3600.0, FEED_GOOD},
      {"u16", {0}, 1, 0, FEED_GOOD},
      {"u16", {65534}, 1, 65534 / 3600.0, FEED_GOOD},
      {"u16", {65535}, 1, NAN, FEED_MISSING}, /* the sensor's fault */
      {"s16", {142}, 1, 14.2, FEED_GOOD},
      {"s16", {65394}, 1, -14.2, FEED_GOOD},
      {"s16", {32767}, 1, 3276.7, FEED_GOOD},
      {"s16", {32769}, 1, -3276.7, FEED_GOOD},
      {"s16", {32768}, 1, NAN, FEED_MISSING},
      {"s16u",
       {32768},
       1,
       NAN,
       FEED_MISSING}, /* the same bits as -32768, as some manuals write it */
      {"u32", {0x0001, 0x0000}, 2, 65.536 / 3600, FEED_GOOD},
      {"u32", {0xffff, 0xffff}, 2, 4294967.295 / 3600, FEED_GOOD},
      {"s32", {0xfffe, 0xffff}, 2, -2, FEED_GOOD},
      {"s32", {0xffff, 0xffff}, 2, NAN, FEED_MISSING},
      /* 0.5 is 0x3f000000 (IEEE 754); each order of the four gives it back, the others do not. */
      {"abcd", {0x3f00, 0x0000}, 2, 0.5, FEED_GOOD},
      {"cdab", {0x0000, 0x3f00}, 2, 0.5, FEED_GOOD},
      {"badc", {0x003f, 0x0000}, 2, 0.5, FEED_GOOD},
      {"dcba", {0x0000, 0x003f}, 2, 0.5, FEED_GOOD},
      {"abcd", {0x7fc0, 0x0000}, 2, NAN, FEED_MISSING},    /* not a number */
      {"abcd", {0x7f80, 0x0000}, 2, NAN, FEED_UNREADABLE}, /* infinite */
      {"abcd", {0xc61c, 0x3f9a}, 2, NAN, FEED_MISSING},    /* -9999.9 to 32 bits */
      {"bit", {1}, 1, 1, FEED_GOOD},
      {"bit", {0}, 1, 0, FEED_GOOD},
      {"word", {1}, 1, 1, FEED_GOOD},
      {"word", {3}, 1, NAN, FEED_UNREADABLE}, /* neither yes nor no */
      {"u16", {1, 2}, 2, NAN, FEED_UNREADABLE},
      {"abcd", {0x3f00}, 1, NAN, FEED_UNREADABLE},
  };
  struct small_feeds w;

  REQUIRE(small_feeds_read(&w, feeds_text));
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    struct feed_observation o = {0};

    CHECK_CASE("%s %04x %04x", rows[i].point, (unsigned)rows[i].words[0],
               (unsigned)rows[i].words[1]);
    feed_registers(w.feeds, small_feeds_point(&w, rows[i].point), rows[i].words, rows[i].count,
                   5000, &o);
    CHECK_INT(o.quality, rows[i].quality);
    CHECK_INT(o.t_ms, 5000);
    CHECK_INT(o.seen_ms, 5000);
    CHECK_INT(o.point, small_feeds_point(&w, rows[i].point));
    if (isnan(rows[i].si))
      CHECK(isnan(o.si));
    else
      CHECK_NEAR(o.si, rows[i].si, 1e-7, 0);
  }
  small_feeds_release(&w);
}

/* A wrong order gives a number too: that is why it must be declared. */
static void the_wrong_order_of_words_is_another_number(void)
{
  static const uint16_t half[2] = {0x3f00, 0x0000};
  struct small_feeds w;

  REQUIRE(small_feeds_read(&w, feeds_text));
  for (const char *const *id = (const char *const[]){"cdab", "badc", "dcba", NULL}; *id; id++) {
    struct feed_observation o;

    CHECK_CASE("%s", *id);
    feed_registers(w.feeds, small_feeds_point(&w, *id), half, 2, 0, &o);
    CHECK_INT(o.quality, FEED_GOOD);
    CHECK(o.si < 1e-30); /* 9e-44, 6e-39, 2e-41 */
  }
  small_feeds_release(&w);
}

static void a_value_of_32_bits_is_two_registers(void)
{
  CHECK_INT(feed_register_words(FEEDS_U16), 1);
  CHECK_INT(feed_register_words(FEEDS_S16), 1);
  CHECK_INT(feed_register_words(FEEDS_BIT), 1);
  CHECK_INT(feed_register_words(FEEDS_U32), 2);
  CHECK_INT(feed_register_words(FEEDS_S32), 2);
  CHECK_INT(feed_register_words(FEEDS_F32), 2);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(a_register_is_a_number_in_its_own_way);
  RUN(the_wrong_order_of_words_is_another_number);
  RUN(a_value_of_32_bits_is_two_registers);
  return check_end();
}
