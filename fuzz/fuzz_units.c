#include "units/units.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* The first two bytes choose what is wanted and what may stand behind "at"; the rest is the text. */
static enum units_dimension wanted(uint8_t byte)
{
  return (enum units_dimension)(1 + byte % (UNITS_DIMENSION_COUNT - 1));
}

static void must(bool promise)
{
  if (!promise)
    abort();
}

static uint64_t bits_of(double value)
{
  uint64_t bits;

  memcpy(&bits, &value, sizeof bits);
  return bits;
}

static void reads_back(double si, enum units_dimension dimension)
{
  struct units_quantity again = {0};
  struct buf out;

  buf_init(&out, 200);
  units_print_exact(&out, si, dimension);
  must(!out.full);
  must(units_parse(out.text, dimension, UNITS_NOTHING, &again, NULL) == ERR_OK);
  must(bits_of(again.si) == bits_of(si));
  buf_clear(&out);
  units_print(&out, si, dimension, UNITS_SYSTEM_US);
  must(!out.full && out.used > 0);
  buf_release(&out);
}

/* Whatever the bytes: finite numbers that print and read back to the same bits, or a refusal that
 * says something, points inside the text and leaves the answer alone. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  struct units_quantity got = {.si = -7.0};
  struct err err = {0};
  char text[256];

  if (size < 2 || size - 2 >= sizeof text)
    return 0;
  memcpy(text, data + 2, size - 2);
  text[size - 2] = '\0';

  enum units_dimension want = wanted(data[0]), at = wanted(data[1]);

  if (units_parse(text, want, at, &got, &err) == ERR_OK) {
    must(isfinite(got.si) && isfinite(got.plus_minus_si) && isfinite(got.at_si));
    must(got.plus_minus_si >= 0.0);
    reads_back(got.si, want);
    if (got.has_at)
      reads_back(got.at_si, at);
  } else {
    must(err.code == ERR_INPUT && err.text[0] != '\0');
    must(err.col >= 1 && (size_t)err.col <= strlen(text) + 1);
    must(got.si == -7.0 && !got.has_at && !got.has_plus_minus);
  }
  return 0;
}
