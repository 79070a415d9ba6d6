#ifndef SERVE_WHY_IMPL_H
#define SERVE_WHY_IMPL_H

#include "base/buf.h"
#include "serve/serve.h"

/*
 * Why the state turned, or what a night cost, worked out by a thread of its own, one moment at a time: it solves a day of
 * scenes, and no screen should wait for that.  Who asks meanwhile is told to ask again.
 */
struct why_desk;

/* Borrows both; `live` is not NULL. */
struct why_desk *why_desk_new(const struct facility *facility, const struct serve_live *live);
void why_desk_free(struct why_desk *desk); /* ends what is being worked out; NULL is fine */

/*
 * The answer for that moment as text for people or JSON: 200; 202 while it is worked out; 503 while
 * another is, or with the reason why there is none.  `out` holds the text, or a sentence.
 */
int why_desk_ask(struct why_desk *desk, int64_t t_ms, bool json, struct buf *out);

/* The same of the night of that evening, its air state over the night and all, with what is drawn of it.
 * From a desk of its own; needs a record. */
int night_desk_ask(struct why_desk *desk, const struct when_civil *day, bool json, struct buf *out,
                   struct buf *drawing);

#endif
