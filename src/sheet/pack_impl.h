#ifndef SHEET_PACK_IMPL_H
#define SHEET_PACK_IMPL_H

#include "sheet/sheet_impl.h"

/*
 * The parts of a packed workbook (a zip), streamed one at a time out of memory: nothing is unpacked
 * to a file, and no part is ever held whole.  Names are compared without regard to capitals and
 * with either slash, as the packaging conventions (ECMA-376 part 2) ask of readers.
 *
 * `plain` parts, not packed at all, take the place of the zip where XML itself is under test.
 */
struct pack_part {
  const char *name;
  const void *bytes; /* plain only */
  size_t size;       /* plain only */
};

struct pack {
  struct reading *r;
  const void *bytes; /* the zip; NULL: plain */
  size_t size, unpacked;
  int count;
  struct pack_part *parts;
};

/* False after a complaint: damaged, cut short, locked with a password, too many parts. */
bool pack_open(struct pack *pack, struct reading *r, const void *bytes, size_t size);
void pack_plain(struct pack *pack, struct reading *r, struct pack_part *parts, int count);

/* The part's name as the pack spells it, or NULL. */
const char *pack_find(const struct pack *pack, const char *name);
/* The first part whose name begins and ends so, or NULL. */
const char *pack_find_like(const struct pack *pack, const char *begin, const char *end);

/* Hands the part's bytes over, piece by piece, until `take` returns false.  False after a complaint
 * of ours (a damaged part, more than SHEET_MOST_UNPACKED), or when `take` said stop. */
bool pack_feed(struct pack *pack, const char *name, bool (*take)(void *to, const char *, size_t),
               void *to);

#endif
