#ifndef ASK_ASK_IMPL_H
#define ASK_ASK_IMPL_H

#include "ask/ask.h"
#include "ask/query_impl.h"

/* The scene a query describes: `scene` first, then every change in the order written. */
NODISCARD enum err_code ask_scene(const struct ask_site *site, const struct query *query,
                                  struct arena *arena, struct scene *scene_out, struct err *err);

#endif
