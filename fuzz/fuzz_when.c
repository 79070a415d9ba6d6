#include "base/when.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool promise)
{
  if (!promise)
    abort();
}

static bool same_local(const struct when_zone *zone, int64_t t_ms, const struct when_civil *want)
{
  struct when_civil c = when_civil(zone, t_ms, NULL);

  return c.year == want->year && c.month == want->month && c.day == want->day &&
         c.hour == want->hour && c.minute == want->minute && c.second == want->second &&
         c.millisecond == want->millisecond;
}

/* Whatever the zone: a moment has a local time that is one, and that names a moment. */
static void there_and_back(const struct when_zone *zone, int64_t t_ms)
{
  int64_t first = 0, second = 0;
  int offset_s;
  struct when_civil c = when_civil(zone, t_ms, &offset_s);
  enum when_fold fold = when_of(zone, &c, &first, &second);

  must(when_is_date(&c) && offset_s > -90000 && offset_s < 93600);
  must(fold != WHEN_NEVER && same_local(zone, first, &c));
  must(fold == WHEN_ONCE || (first < second && same_local(zone, second, &c)));
  must(fold == WHEN_TWICE || first == t_ms);
}

static void fuzz_zone(const uint8_t *data, size_t size)
{
  const struct when_zone *zone = NULL;
  struct err err = {0};
  struct arena arena;

  arena_init(&arena, 4 << 20);
  if (when_zone_read("Fuzz/Zone", data, size, &arena, &zone, &err) == ERR_OK) {
    /* Half a year's steps through centuries, and around the epoch of every size of time. */
    for (int64_t t_ms = -5000000000000; t_ms < 40000000000000; t_ms += 15778476000 * 7)
      there_and_back(zone, t_ms);
    for (int bit = 0; bit < 55; bit++) {
      there_and_back(zone, (int64_t)1 << bit);
      there_and_back(zone, -((int64_t)1 << bit));
    }
  } else {
    must(zone == NULL && err.code == ERR_INPUT && err.text[0] != '\0');
  }
  arena_release(&arena);
}

static void fuzz_text(const uint8_t *data, size_t size)
{
  int64_t t_ms = -7, again = 0;
  struct err err = {0};
  struct buf out;
  char text[128];

  if (size >= sizeof text)
    return;
  memcpy(text, data, size);
  text[size] = '\0';
  if (when_read(text, when_utc(), NULL, &t_ms, &err) != ERR_OK) {
    must(t_ms == -7 && err.text[0] != '\0' && err.col >= 1 && (size_t)err.col <= strlen(text) + 1);
    return;
  }
  buf_init(&out, 100);
  when_print_utc(&out, t_ms);
  /* An offset may lead out of the years that have four digits. */
  if (t_ms >= -62167219200000 && t_ms < 253402300800000)
    must(when_read(out.text, when_utc(), NULL, &again, NULL) == ERR_OK && again == t_ms);
  buf_release(&out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  if (size >= 4 && memcmp(data, "TZif", 4) == 0)
    fuzz_zone(data, size);
  else
    fuzz_text(data, size);
  return 0;
}
