#ifndef SERVE_MAY_IMPL_H
#define SERVE_MAY_IMPL_H

#include "base/query.h"
#include "may/may.h"
#include "serve/serve.h"

/*
 * /api/may and /api/processes: what `inward may --json` prints.  On a live board the air and what people
 * told of the station are those of now, unless a scene is named.  Names are never given here.
 */
NODISCARD enum err_code may_get(const struct may *may, const struct serve_live *live,
                                const struct wet_place *wet, const struct query *query,
                                struct arena *arena, struct buf *out, struct err *err);

#endif
