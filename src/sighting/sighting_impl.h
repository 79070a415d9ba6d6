#ifndef SIGHTING_SIGHTING_IMPL_H
#define SIGHTING_SIGHTING_IMPL_H

#include "sighting/sighting.h"

/* What one entry says: its detail. */
struct sighting_said {
  enum sighting_act act;
  struct glass_told seen;     /* of seen */
  const char *piece, *drawer; /* of counted; drawer NULL: not said */
  int count;                  /* counted; or settled, 0: all of the case */
  int64_t entry;              /* settled or taken back */
  const char *how;            /* the procedure */
  const char *words;          /* NULL */
};
bool sighting_read(const char *detail, struct arena *arena, struct sighting_said *out);
void sighting_write(const struct sighting_said *said, struct buf *out);

/* An entry that told of glass, and what became of it. */
struct sighting_entry {
  const struct record_entry *entry;
  struct sighting_said said;
  bool is_void; /* taken back */
  int of_case;  /* while they are folded; -1: none */
};
/* NULL: no such number among them. */
const struct sighting_entry *sighting_entry_find(const struct sighting_list *list, int64_t number);
/* The case that the entry of that number told of; NULL. */
struct sighting_case *sighting_case_of(const struct sighting_list *list, int64_t number);

/* The row of a drawer's piece; NULL: none of that name, or several and no drawer was said. */
const struct facility_glass *sighting_piece_of(const struct facility *f, int station,
                                               const char *piece, const char *drawer);

/* counts.c */
bool sighting_counts(struct sighting_list *list, struct arena *arena);

#endif
