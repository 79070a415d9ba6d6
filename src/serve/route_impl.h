#ifndef SERVE_ROUTE_IMPL_H
#define SERVE_ROUTE_IMPL_H

#include "ask/ask.h"
#include "serve/assets_impl.h"

/*
 * From a path to a page, a file or a question for `ask`; knows no socket, so a
 * test can ask it directly.
 */
struct route_reply {
  int status;
  bool takes_post, takes_both; /* for a refusal: what would be taken */
  const char *type;
  const char *file;                /* the name it is kept by where it is downloaded, or NULL */
  const struct serve_asset *asset; /* either these bytes ... */
  struct buf body;                 /* ... or these; released by the caller */
};

/* What may be asked for at all: 0, or 404 or 405. */
int route_check(const char *method, const char *path);

/* `search` is the raw text after the question mark, `size` its bytes.  reply->body must be
 * initialised; it is left empty where the answer is an asset. */
void route_answer(struct ask_worker *worker, const char *path, const char *search, size_t size,
                  struct route_reply *reply);
/* An answer of JSON that somebody else writes into reply->body. */
void route_json(struct route_reply *reply);
void route_refuse(struct route_reply *reply, int status, const char *why);

/* The address of the one asset that begins and ends so: what a page that is made here names.  "": none. */
const char *route_asset_path(const char *begins, const char *ends);
/* The links to every page of the board, that of `path` marked as the present one: for a page that is
 * made here.  The others carry them already. */
void route_links(const char *path, struct buf *out);

#endif
