#ifndef CLI_DAY_RULES_H
#define CLI_DAY_RULES_H

#include "cli/may_load.h"
#include "day/day.h"

/*
 * `may` asked of every booking of a day that says who, and names a process of the suite as a word of its
 * title.  Only what is a plain no is told, and nobody by name; what cannot be told without knowing more
 * stays for `inward may`.
 */
struct cli_day_rules {
  bool loaded, asked; /* asked: the suite names people and processes */
  struct cli_may may;
  struct arena *arena; /* of the answer */
  const struct when_zone *zone;
};
/* A suite whose people or rules cannot be read is not asked; its faults are on stderr.  Release. */
void cli_day_rules_load(const struct facility *facility, const char *suite,
                        const struct when_zone *zone, int64_t day_ms, struct arena *arena,
                        struct cli_day_rules *out);
void cli_day_rules_release(struct cli_day_rules *rules);
/* For struct day_request. */
const char *cli_day_may_not(void *arg, const struct day_booking *booking);
enum day_need cli_day_second_needs(void *arg, const struct day_booking *booking, int64_t t_ms);
enum day_can cli_day_second_can(void *arg, const struct day_booking *booking,
                                const struct day_booking *other);

#endif
