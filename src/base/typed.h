#ifndef BASE_TYPED_H
#define BASE_TYPED_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/when.h"

/*
 * What a person typed, key by key, with every fault at once: each a line in `faults`, that names its key
 * and what would mend it.  For whatever makes an entry of the record out of it.
 *
 *     struct typed t = {.pairs = pairs, .count = count, .arena = &arena, .faults = &faults};
 *     const char *who = typed_who(&t, "who says so?");
 *     if (t.fault_count > 0) ...
 */
struct typed_pair {
  const char *key, *value;
};
struct typed {
  const struct typed_pair *pairs;
  int count;
  struct arena *arena; /* what is taken is copied there */
  struct buf *faults;
  int fault_count;
};
enum { TYPED_SHORT_MOST_BYTES = 80 }; /* a name, an id, a moment */

void typed_fault(struct typed *t, const char *fmt, ...) PRINTF_LIKE(2, 3);
/* Keys that are none of the '|' list are faults. */
void typed_keys(struct typed *t, const char *known);
/* One line, without blanks around it; NULL where it is not given, or wrong and told. */
const char *typed_text(struct typed *t, const char *key, size_t most);
/* The same of what must be said: `ask` is in the fault. */
const char *typed_needed(struct typed *t, const char *key, size_t most, const char *ask);
/* Who says it: a person, never the program itself. */
const char *typed_who(struct typed *t, const char *ask);
/* When it was: not ahead of now_ms, at most back_most_s behind it; now where it is not said.  zone NULL: UTC. */
int64_t typed_at(struct typed *t, const struct when_zone *zone, int64_t now_ms, double back_most_s);

#endif
