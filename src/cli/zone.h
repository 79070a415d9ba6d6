#ifndef CLI_ZONE_H
#define CLI_ZONE_H

#include "base/when.h"
#include "facility/facility.h"

/* A zone by its name, from the machine's own (Debian: tzdata).  ERR_INPUT when there is none. */
NODISCARD enum err_code cli_zone_read(const char *name, struct arena *arena,
                                      const struct when_zone **zone_out, struct err *err);

/* The suite's own zone (UTC when it names none), read from the system's zone files.  ERR_IO when
 * there is no such file.  Memory from `arena`. */
NODISCARD enum err_code cli_zone(const struct facility *facility, struct arena *arena,
                                 const struct when_zone **zone_out, struct err *err);
int64_t cli_now_ms(void); /* the clock */

#endif
