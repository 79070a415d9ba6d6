#ifndef SERVE_MATCH_IMPL_H
#define SERVE_MATCH_IMPL_H

#include "base/buf.h"
#include "base/when.h"
#include "serve/live_impl.h"

#include <stdbool.h>

/*
 * Does the model match: a table of readings is posted as its bytes (CSV or a workbook) and answered by what
 * `inward match --readings` prints.  Nothing of it is kept, nothing of the suite changes.
 *
 *   POST /api/match          inward.match.1, byte for byte
 *   POST /api/match-overlay  what --write would write: the figures known better
 *   GET  /api/match-form     the sheet of --form: all that can be read in a scene
 *   POST /api/match-form     the same of the rows of a table
 *
 * Knows no socket.  Shared by all threads; one match at a time is worked out, for so long as a connection
 * is kept.
 */
enum { MATCH_BODY_MOST = 2 << 20 };

struct match_desk;

/* Borrows the facility and the texts it was read from, the suite's first. */
struct match_desk *match_desk_new(const struct facility *facility,
                                  const struct facility_text *texts, int text_count,
                                  const struct when_zone *zone);
void match_desk_free(struct match_desk *desk); /* NULL is fine */

bool match_desk_gets(const char *path);
bool match_desk_posts(const char *path);

/* What an answer of 200 is: its type, and the name of the file it becomes.  Set before, for JSON. */
struct match_served {
  const char *type, *file;
};
int match_desk_get(struct match_desk *desk, const char *search, struct buf *out,
                   struct match_served *as);
int match_desk_post(struct match_desk *desk, const struct live_post *post, struct buf *out,
                    struct match_served *as);

#endif
