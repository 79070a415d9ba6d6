#ifndef BASE_WHEN_H
#define BASE_WHEN_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/emit.h"
#include "base/err.h"

#include <stdbool.h>
#include <stdint.h>

/*
 * Time.  Inside the program a moment is `t_ms`: milliseconds UTC since 1970-01-01, as int64_t,
 * leap seconds not counted.  People write and read local time with its offset.
 *
 * A zone is read from the bytes of a TZif file (RFC 8536), which the caller opens: /usr/share/zoneinfo
 * on Debian.  The rule in its footer (POSIX TZ) serves for years behind its table.  Nothing here reads
 * a clock, a file or the environment.
 *
 * A local time may name no moment (the hour that is left out in March) or two (the hour that comes
 * twice in October): when_of says which, and never chooses.
 */
struct when_civil {
  int year, month, day, hour, minute, second, millisecond; /* proleptic Gregorian */
};

struct when_zone; /* immutable */

const struct when_zone *when_utc(void);
/* Memory from `arena`; `name` is copied.  ERR_INPUT for bytes that are no TZif file. */
NODISCARD enum err_code when_zone_read(const char *name, const void *bytes, size_t size,
                                       struct arena *arena, const struct when_zone **zone_out,
                                       struct err *err);
const char *when_zone_name(const struct when_zone *zone);
/* A name such as "Europe/Paris" that cannot leave the folder of zones: no "..", no leading slash. */
bool when_zone_name_fits(const char *name);

/* Local time at a moment; offset_out_s may be NULL. */
struct when_civil when_civil(const struct when_zone *zone, int64_t t_ms, int *offset_out_s);

enum when_fold { WHEN_NEVER, WHEN_ONCE, WHEN_TWICE };
/* The moments that a local time names: first_out is set for ONCE and TWICE, second_out for TWICE. */
enum when_fold when_of(const struct when_zone *zone, const struct when_civil *civil,
                       int64_t *first_out_ms, int64_t *second_out_ms);
bool when_is_date(const struct when_civil *civil); /* does it exist in the calendar? */
int when_weekday(const struct when_civil *civil);  /* 0: Monday */

/*
 * "2026-10-25T02:30:00+01:00", "...Z", blank instead of T, seconds and their fraction optional, as
 * RFC 3339 and ISO 8601 write it.  Without an offset: local time of `zone`; ERR_INPUT when it names
 * no moment or, with `later` NULL, two (else *later picks the second of them).
 */
NODISCARD enum err_code when_read(const char *text, const struct when_zone *zone, const bool *later,
                                  int64_t *t_out_ms, struct err *err);

/* As when_read with `later` NULL, for the end of a span: a date alone is where that local day begins. */
NODISCARD enum err_code when_read_bound(const char *text, const struct when_zone *zone,
                                        int64_t *t_out_ms, struct err *err);

/*
 * How a source writes its times: YYYY, YY (20YY), MM, MMM (Jan, in English), DD, hh, mm, ss, fff, am,
 * and what stands between; or "ISO" alone.  MM, DD, hh, mm and ss take one digit too where another
 * mark follows.  An offset (Z, +01:00) may follow any of them.  "24:00" is the end of a day.
 *
 *     struct when_pattern pattern;
 *     when_pattern_read("DD.MM.YYYY hh:mm", &pattern, err);
 *     when_pattern_take(&pattern, "1.9.2026 2:05", 13, &taken);
 */
enum when_part {
  WHEN_LITERAL,
  WHEN_YEAR,
  WHEN_SHORT_YEAR,
  WHEN_MONTH,
  WHEN_MONTH_NAME,
  WHEN_DAY,
  WHEN_HOUR,
  WHEN_MINUTE,
  WHEN_SECOND,
  WHEN_FRACTION,
  WHEN_HALF_DAY,
  WHEN_PARTS
};
enum { WHEN_PATTERN_MOST = 32 };
struct when_pattern {
  bool iso;
  int count;
  enum when_part parts[WHEN_PATTERN_MOST];
  char literal[WHEN_PATTERN_MOST]; /* of a LITERAL */
};
struct when_taken {
  struct when_civil civil; /* a date of the calendar */
  bool has_offset;
  int offset_s;
};
NODISCARD enum err_code when_pattern_read(const char *text, struct when_pattern *out,
                                          struct err *err);
/* False, and *out of no use, when the text is not so, or names no day or time of day. */
NODISCARD bool when_pattern_take(const struct when_pattern *pattern, const char *at, size_t size,
                                 struct when_taken *out);
/* The moments that what was taken names, by its own offset or in the zone: as when_of. */
enum when_fold when_of_taken(const struct when_zone *zone, const struct when_taken *taken,
                             int64_t *first_out_ms, int64_t *second_out_ms);

void when_print(struct buf *out, const struct when_zone *zone,
                int64_t t_ms);                      /* 2026-10-25 02:30:00 +01:00 */
void when_print_utc(struct buf *out, int64_t t_ms); /* 2026-10-25T01:30:00.250Z, for programs */
/* That in JSON; a moment that is none (INT64_MIN, INT64_MAX) is null. */
void when_emit(struct emit *json, const char *key, int64_t t_ms);
/* An age or a span for people: "5 s", "3 min", "2 h 10 min", "4 d". */
void when_print_span(struct buf *out, double span_s);

#endif
