#ifndef CLI_WRITE_H
#define CLI_WRITE_H

#include "base/err.h"

#include <stdbool.h>
#include <stddef.h>

/*
 * Writes a whole file or none: under a name beside it first, then renamed, so that nobody ever
 * reads half of it.  A file that is there already is refused (ERR_INPUT) unless `replace`.
 */
NODISCARD enum err_code cli_write_file(const char *path, const void *bytes, size_t size,
                                       bool replace, struct err *err);

#endif
