#ifndef SERVE_SHEETS_IMPL_H
#define SERVE_SHEETS_IMPL_H

#include "lists/lists.h"
#include "serve/live_impl.h"

/*
 * The responder sheet's revisions: a thread looks at its content every second, counts its changes, and
 * writes the file at the gate anew.  What was printed last is remembered, from the record on.
 */
struct sheet_desk;

/* Borrows all; live is not NULL; wet: its chemistry, or NULL.  NULL: no thread can be made. */
struct sheet_desk *sheet_desk_new(const struct facility *facility, const struct serve_live *live,
                                  const struct wet_place *wet);
void sheet_desk_free(struct sheet_desk *desk); /* NULL is fine */

/* Sets page->revision: one more where its content is another than last. */
void sheet_desk_number(struct sheet_desk *desk, struct lists_page *page);
/* Writes into `out` what there is to say of the last print; true: it is out of date. */
bool sheet_desk_say(struct sheet_desk *desk, const struct lists_page *page, struct buf *out);
void sheet_desk_was_printed(struct sheet_desk *desk, const struct lists_page *page,
                            const char *who);

/* ---- lists.c ---- */
/* Which method an address of a list takes; NULL: none of these. */
const char *lists_method(const char *path);
bool lists_is_page(const char *path); /* HTML, not JSON */
int lists_get(const struct live *live, struct live_reader *reader, const char *path,
              const char *search, size_t size, struct buf *out);
int lists_post(const struct live *live, const struct live_post *post, struct buf *out);
/* The leave list or responder sheet of now.  Its content is the same for all who ask with a record. */
struct lists_ask {
  const struct facility *facility;
  const struct serve_live *live;
  const struct wet_place *wet; /* or NULL */
  struct record *record;       /* or NULL */
  enum lists_kind kind;
};
NODISCARD enum err_code lists_now(const struct lists_ask *ask, struct arena *arena,
                                  struct lists_page **out, struct err *err);
/* ---- lists_forms.c: what can be done on a page, in HTML ---- */
const char *lists_forms(enum lists_kind kind, bool live, bool kept);

#endif
