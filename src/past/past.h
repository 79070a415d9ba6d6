#ifndef PAST_PAST_H
#define PAST_PAST_H

#include "base/buf.h"
#include "base/when.h"
#include "record/record.h"

/*
 * Questions to the record, answered as text for people and JSON for programs, once for the command
 * line and the board.  Reads no clock and opens no file: the record is handed in.
 */

/* A list of entries with the head of the chain they stand in. */
struct past_entries {
  const char *suite; /* its name, or NULL */
  const struct record_entry *list;
  int count;
  int64_t head_number;
  const char *head_hex;
};
/* Local time of `zone`; the head is the last line. */
void past_entries_text(const struct past_entries *entries, const struct when_zone *zone,
                       struct buf *out);
void past_entries_json(const struct past_entries *entries, struct buf *out); /* inward.entries.1 */

#endif
