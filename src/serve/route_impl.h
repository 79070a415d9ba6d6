#ifndef SERVE_ROUTE_IMPL_H
#define SERVE_ROUTE_IMPL_H

#include "air/air.h"
#include "base/buf.h"
#include "serve/assets_impl.h"
#include "serve/query_impl.h"

/*
 * From a path and a query to what is sent back; knows no socket, so a test can
 * ask it directly.
 */
struct route_site { /* shared by all threads, never written after the start */
  const struct facility *facility;
  const struct scene *start; /* of a request that names none */
  struct buf plan;           /* /api/plan never changes: printed once */
};

/* One thread's own: its solver, made when it is first needed. */
struct route_worker {
  const struct route_site *site;
  struct air *air;
};

struct route_reply {
  int status;
  const char *type;
  const struct serve_asset *asset; /* either these bytes ... */
  struct buf body;                 /* ... or these; released by the caller */
};

void route_site_init(struct route_site *site, const struct facility *facility,
                     const struct scene *start);
void route_site_release(struct route_site *site);

/* What may be asked for at all: 0, or 404 or 405. */
int route_check(const char *method, const char *path);

/* `search` is the raw text after the question mark, `size` its bytes.  reply->body must be
 * initialised; it is left empty where the answer is an asset. */
void route_answer(struct route_worker *worker, const char *path, const char *search, size_t size,
                  struct route_reply *reply);
void route_refuse(struct route_reply *reply, int status, const char *why);

/* The scene a query describes: `scene` first, then every change in the order written. */
NODISCARD enum err_code route_scene(const struct route_site *site, const struct query *query,
                                    struct arena *arena, struct scene *scene_out, struct err *err);

/* What the page needs to draw the place, and its named scenes. */
void plan_json(const struct facility *facility, const struct scene *start, struct buf *out);

#endif
