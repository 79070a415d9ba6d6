#ifndef CLI_TAKE_IMPL_H
#define CLI_TAKE_IMPL_H

#include "base/buf.h"
#include "base/emit.h"
#include "base/err.h"
#include "base/when.h"
#include "facility/feeds.h"

/* What a calendar says, from a day ago to two weeks ahead as the board reads it, unless from and to say
 * otherwise. */
struct take_calendar {
  const struct feeds_source *source;
  const struct when_zone *zone; /* of the source */
  const char *path;
  int64_t from_ms, to_ms;
};

/* Text to `out`, or with `json` an element of an array; faults to stderr.  0 read, 2 refused; else err. */
int take_calendar(const struct take_calendar *asked, struct buf *out, struct emit *json,
                  struct err *err);

#endif
