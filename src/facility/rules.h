#ifndef FACILITY_RULES_H
#define FACILITY_RULES_H

#include "facility/facility.h"

/*
 * The house rules of a suite (`files: {rules: ...}`) as they are written, immutable once read.  What
 * the expressions mean is for src/rule, which complains at their places.  The grammar of the file is
 * in facility/rules.def.
 */
enum rules_expect { RULES_YES, RULES_NO, RULES_UNKNOWN };
const char *rules_expect_word(enum rules_expect expect);

/* A text with the place of its first character, and whether later ones can be told from it. */
struct rules_text {
  const char *text;
  struct place place;
  int width;
  bool plain;
};

struct rules_test {
  int given_count;
  const struct rules_text *given;
  enum rules_expect expect;
  struct place place;
};

struct rules_rule {
  struct facility_part part;
  const char *text, *source;
  int station_count, process_count, test_count;
  const int *stations; /* indices; none: everywhere */
  const struct rules_text *processes;
  struct rules_text when, must; /* when.text NULL: always */
  const char *from, *until;     /* days; until NULL: open */
  const struct rules_test *tests;
  struct place place;
};

struct rules {
  const char *file;
  char sha256[65];
  int count;
  const struct rules_rule *list;
  struct arena *arena;
};

/* NULL after at least one complaint.  The facility is only read.  Free before the facility. */
struct rules *rules_read(const struct facility *facility, const struct facility_text *text,
                         struct complaints *complaints);
void rules_free(struct rules *rules); /* NULL: nothing */

/* The chapters of docs/rules-file.md that the table holds. */
void rules_print_manual(struct buf *out);

#endif
