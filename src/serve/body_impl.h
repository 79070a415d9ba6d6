#ifndef SERVE_BODY_IMPL_H
#define SERVE_BODY_IMPL_H

#include "serve/live_impl.h"

#include <jansson.h>

/* What is posted: one JSON object of texts, read the same way at every address (post.c). */

/* NULL: refused, with its status. */
json_t *live_read_object(const struct live_post *post, struct buf *out, int *status_out);
const char *live_text(const json_t *root, const char *key); /* NULL: not there, or no text */
/* Its keys and texts, at most so many; how many there are. */
struct typed_pair;
int live_pairs(json_t *root, struct typed_pair *pairs, int most);
/* 200; or refused: a value is no text, or holds a character that is not read as it is seen. */
int live_check_texts(json_t *root, struct buf *out);
const char *live_strange_key(json_t *root, const char *known); /* that is none of the '|' list */
int live_refuse_key(struct buf *out, const char *key, const char *known);
bool live_is_filled(const char *text, size_t most);
bool live_is_person(const char *who); /* who signs as the program would put words into its mouth */
/* Appends it as it is and answers inward.entered.1, or says why not. */
int live_enter_as_is(const struct live *live, struct record_entry *entry, struct buf *out);
/* The same of now. */
int live_enter(const struct live *live, struct record_entry *entry, struct buf *out);

/* ---- told.c: what a module of its own reads and judges ---- */
struct live_telling {
  const struct live *live;
  struct record *record; /* open to read: what was told until now */
  int64_t now_ms;
  const struct typed_pair *pairs;
  int count;
  struct arena *arena;
};
/* Fills the entry: t_ms, about, who, text, detail.  Else what is wrong is a line each in `faults`, or it
 * cannot be known, and err says why. */
typedef enum err_code live_take(const struct live_telling *telling, struct record_entry *entry,
                                struct buf *faults, struct err *err);
int live_post_telling(const struct live *live, struct json_t *root, enum record_kind kind,
                      live_take *take, struct buf *out);

#endif
