#ifndef SERVE_NOW_IMPL_H
#define SERVE_NOW_IMPL_H

#include "serve/serve.h"
#include "vapour/vapour.h"

/* What is measured now, for chemistry: the keeper's belief, copied, with what the computed air
 * contradicts in it.  Lives in `arena`.  ERR_IO: the board is stopping. */
NODISCARD enum err_code now_live(const struct facility *facility, const struct serve_live *live,
                                 struct arena *arena, const struct vapour_live **out,
                                 struct err *err);

#endif
