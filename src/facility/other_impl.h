#ifndef FACILITY_OTHER_IMPL_H
#define FACILITY_OTHER_IMPL_H

#include "facility/reader_impl.h"

/*
 * One reading of another file of a suite (feeds, chemicals): a tree, the suite's ids, a record.
 *
 *     top = other_begin(&other, facility, text, "1 feeds", STRUCT_feeds_file, complaints);
 *     if (top) ... build from it, complaining through other.reader ...
 *     if (!other_end(&other)) ... throw away what was built ...
 */
struct other {
  struct arena work;
  struct reader reader;
  int before; /* faults told before this file */
};

/* NULL when it cannot be built from; other_end in every case. */
const struct record *other_begin(struct other *other, const struct facility *facility,
                                 const struct facility_text *text, const char *kind,
                                 enum schema_struct_id of, struct complaints *complaints);
bool other_end(struct other *other); /* no fault was told since other_begin */

struct arena *other_arena(void); /* of what is built: a block of its own, bounded by the tree */
void other_sha256(const struct facility_text *text, char out[65]);

#endif
