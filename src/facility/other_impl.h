#ifndef FACILITY_OTHER_IMPL_H
#define FACILITY_OTHER_IMPL_H

#include "facility/reader_impl.h"

/*
 * One reading of another file of a suite (feeds, chemicals, people, processes, rules): a tree, the suite's ids, a record.
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

/* ---- what is built from a record; memory from b->facility->arena ---- */
const char *other_text_of(struct build *b, const struct record *r, enum schema_key_id key);
double other_si_of(const struct record *r, enum schema_key_id key); /* NaN: not said */
struct place other_place_of(const struct record *r, enum schema_key_id key);
/* The indices that a list of ids names. */
const int *other_indices(struct build *b, const struct record *r, enum schema_key_id key,
                         int *count_out);
const char *const *other_texts(struct build *b, const struct record *r, enum schema_key_id key,
                               int *count_out);
/* Where each entry of a list of texts stands. */
const struct place *other_places(struct build *b, const struct record *r, enum schema_key_id key);

#endif
