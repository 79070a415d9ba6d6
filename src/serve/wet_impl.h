#ifndef SERVE_WET_IMPL_H
#define SERVE_WET_IMPL_H

#include "serve/chemistry_impl.h"
#include "serve/live_impl.h"

/*
 * A day at the wet benches.  Knows no socket.
 *
 *   GET  /api/baths       what stands in which tank, what is due     (`inward baths --json`)
 *   GET  /api/waste       what is in which container                 (`inward waste --json`)
 *   GET  /api/waste-may   may that go into it                        (`inward waste --may --json`)
 *   GET  /api/stock       what stands in cabinets and out of them    (`inward stock --json`); needs nothing connected
 *   POST /api/told        what a person did
 */
const char *wet_method(const char *path); /* "GET", "POST"; NULL: not one of these */
bool wet_needs_record(const char *path);

int wet_get(const struct live *live, const struct chemistry *chemistry, struct live_reader *reader,
            const char *path, const char *search, struct buf *out);
int wet_post(const struct live *live, const struct chemistry *chemistry, struct live_reader *reader,
             const struct live_post *post, struct buf *out);

#endif
