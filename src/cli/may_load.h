#ifndef CLI_MAY_LOAD_H
#define CLI_MAY_LOAD_H

#include "cli/people_load.h"
#include "may/may.h"

/*
 * Everything that src/may asks of a suite that was loaded: its people with their tables, processes,
 * rules and chemistry.  A file that the suite does not name is missing in the place; one with faults
 * is ERR_INPUT, after they were printed on stderr.
 */
struct cli_may {
  struct cli_people people;
  struct chemicals *own;
  struct processes *processes;
  struct rules *rules;
  struct arena arena;
  struct may_place place;
  struct may *may;
};

/* `facility` and `zone` are borrowed.  Release in every case. */
NODISCARD enum err_code cli_may_load(const struct facility *facility, const char *suite,
                                     const struct when_zone *zone, int today_day,
                                     struct cli_may *out, struct err *err);
void cli_may_release(struct cli_may *may);

#endif
