#ifndef CLI_WRITE_H
#define CLI_WRITE_H

#include "base/err.h"
#include "facility/facility.h"

#include <stdbool.h>
#include <stddef.h>

/*
 * Writes a whole file or none: under a name beside it first, then renamed, so that nobody ever
 * reads half of it.  What takes the place of a file keeps its mode, and its owner where that may be
 * given; a write-protected file is refused (ERR_IO).  A file that is there already is refused (ERR_INPUT) unless `replace`; one that
 * this run has read is refused in any case, for what is made of a suite must not take its place.
 */
NODISCARD enum err_code cli_write_file(const char *path, const void *bytes, size_t size,
                                       bool replace, struct err *err);

/* Would cli_write_file refuse the name?  For who is about to ask a person many things first. */
NODISCARD enum err_code cli_may_write(const char *path, bool replace, struct err *err);
/* Of a verb that has no --replace. */
NODISCARD enum err_code cli_may_write_new(const char *path, struct err *err);

/* The same over a file that is this run's own, read or not. */
NODISCARD enum err_code cli_save_file(const char *path, const void *bytes, size_t size,
                                      struct err *err);

/*
 * Puts `bytes` in the place of `was`, which this run has read.  ERR_INPUT when the file is no longer
 * what was read: what somebody wrote meanwhile stays.
 */
NODISCARD enum err_code cli_change_file(const struct facility_text *was, const void *bytes,
                                        size_t size, struct err *err);

#endif
