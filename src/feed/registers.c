#include "feed/feed.h"

#include <math.h>
#include <string.h>

/* Registers of Modbus to values.  A register is 16 bits without a sign; everything else (sign, a
 * second register, which of the two comes first, what means none) is said by the feeds file. */

int feed_register_words(enum feeds_register as)
{
  return as == FEEDS_U32 || as == FEEDS_S32 || as == FEEDS_F32 ? 2 : 1;
}

static uint16_t in_byte_order(const struct feeds_source *source, uint16_t word)
{
  return source->low_byte_first ? (uint16_t)(word << 8 | word >> 8) : word;
}

/* The bits of the value, high ones first. */
static uint32_t bits_of(const struct feeds_source *source, const uint16_t *words, int count)
{
  uint32_t first = in_byte_order(source, words[0]), second;

  if (count == 1)
    return first;
  second = in_byte_order(source, words[1]);
  return source->low_word_first ? second << 16 | first : first << 16 | second;
}

static double number_of(enum feeds_register as, uint32_t bits)
{
  float real;

  switch (as) {
  case FEEDS_S16:
    return (double)bits - (bits > INT16_MAX ? 65536.0 : 0);
  case FEEDS_S32:
    return (double)bits - (bits > INT32_MAX ? 4294967296.0 : 0);
  case FEEDS_F32:
    memcpy(&real, &bits, sizeof real);
    return (double)real;
  case FEEDS_BIT:
    return bits != 0;
  case FEEDS_U16:
  case FEEDS_U32:
  default:
    return (double)bits;
  }
}

/* The same bits read with and without a sign: a manual may write -32768 or 32768 for them. */
static bool is_none_bits(double none, uint32_t bits, int words)
{
  double whole = words == 1 ? 65536.0 : 4294967296.0;

  return none == (double)bits || none == (double)bits - whole;
}

static bool is_none(const struct feeds_point *point, uint32_t bits, double value)
{
  for (int i = 0; i < point->none_count; i++)
    if (point->as == FEEDS_F32 ? (float)point->none[i] == (float)value
                               : is_none_bits(point->none[i], bits, feed_register_words(point->as)))
      return true;
  return point->as == FEEDS_F32 && isnan(value); /* IEEE 754's own none */
}

void feed_registers(const struct feeds *feeds, int point, const uint16_t *words, int count,
                    int64_t seen_ms, struct feed_observation *out)
{
  const struct feeds_point *p = &feeds->points[point];

  *out = (struct feed_observation){.point = point, .si = NAN, .quality = FEED_UNREADABLE};
  if (count == feed_register_words(p->as)) {
    uint32_t bits = bits_of(&feeds->sources[p->source], words, count);
    double value = number_of(p->as, bits);

    if (is_none(p, bits, value))
      out->quality = FEED_MISSING;
    else
      feed_number(p, value, out);
  }
  feed_time(feeds, p->source, false, 0, seen_ms, out);
}
