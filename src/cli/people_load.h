#ifndef CLI_PEOPLE_LOAD_H
#define CLI_PEOPLE_LOAD_H

#include "cli/read.h"
#include "people/people.h"

/*
 * The people of a suite that was loaded: its people file and the tables that names.  A table that
 * cannot be read is a remark; the rest still works.
 */
struct cli_people {
  struct roster *roster;
  const struct people *people;
  struct arena arena;
  struct complaints remarks;
  int text_count;
  struct facility_text *texts; /* of the tables, by roster->tables */
};

/* `today_day` as in people_read.  ERR_INPUT when the suite names no people file, or after its faults
 * were printed on stderr.  Release in every case. */
NODISCARD enum err_code cli_people_load(const struct facility *facility, const char *suite,
                                        int today_day, struct cli_people *out, struct err *err);
void cli_people_release(struct cli_people *people);

/* Every complaint about one file, with its lines, on stderr. */
void cli_say_faults(const struct complaints *faults, const struct facility_text *text);

/* The day in the zone. */
int cli_day(const struct when_zone *zone, int64_t t_ms);

#endif
