#ifndef TESTS_SUPPORT_LISTED_H
#define TESTS_SUPPORT_LISTED_H

#include "intake/intake.h"

/* One list as CSV, read with some answers. */
struct listed {
  struct arena arena;
  struct complaints complaints;
  struct intake *intake;
  const struct intake_result *result;
  struct buf suite;
  struct facility *facility; /* of the suite; NULL after complaints */
};

void listed_begin(struct listed *g);
void listed_take_book(struct listed *g, const struct sheet_book *book, const char *answers);
void listed_read_list(struct listed *g, const char *csv, const char *answers);
void listed_release(struct listed *g);
bool listed_has_notice_at(const struct listed *g, const char *place);
bool listed_has_fault_at(const struct listed *g, const char *place);

#endif
