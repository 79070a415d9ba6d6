#ifndef ASK_ASK_IMPL_H
#define ASK_ASK_IMPL_H

#include "ask/ask.h"
#include "base/query.h"

/* What an address takes in its query. */
enum {
  ASK_NOTHING = 0,
  ASK_SCENE = 1,
  ASK_STATION = 2,
  ASK_SURE = 4,
  ASK_TOGETHER = 8,
  ASK_AFTER = 16,
  ASK_SAMPLE = 32
};

enum { ASK_DRAWS_MOST = 20000, ASK_SEED_MOST = 1000000000 };

/* A row drives three things: what is answered, what a query may say, and docs/openapi.json. */
struct ask_route {
  const char *path;
  enum err_code (*answer)(struct ask_worker *, const struct query *, struct arena *, struct buf *,
                          struct err *);
  unsigned takes;
  const char *answers; /* a type of api.def; NULL: any object */
  const char *name, *doc;
};
const struct ask_route *ask_route_at(int index); /* NULL behind the last */

/* Whether each parameter is one the address takes, and none that must be single is there twice. */
NODISCARD enum err_code ask_keys(unsigned takes, const struct query *query, struct err *err);

/* The scene a query describes: `scene` first, then every change in the order written. */
NODISCARD enum err_code ask_scene(const struct ask_site *site, const struct query *query,
                                  struct arena *arena, struct scene *scene_out, struct err *err);

#endif
