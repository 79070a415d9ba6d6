#ifndef ASK_ASK_H
#define ASK_ASK_H

#include "air/air.h"
#include "base/buf.h"
#include "base/err.h"

/*
 * A question in the words of an address becomes the JSON of docs/api.md.
 *
 * Knows no socket and keeps nothing between questions: the board asks it over
 * HTTP, the page that is mailed asks it through WebAssembly, a test asks it
 * directly, and all of them get the same bytes.
 *
 *     struct ask_worker worker = {.site = &site};
 *     status = ask_answer(&worker, "/api/air", "scene=busy&sash=S3=work", 23, &out);
 *
 * A site is shared by all threads; a worker belongs to one thread at a time.
 */
struct ask_site { /* never written after the start */
  const struct facility *facility;
  const struct scene *start; /* of a question that names none */
  struct buf plan;           /* the plan never changes: printed once */
};

struct ask_worker {
  const struct ask_site *site;
  struct air *air; /* made when it is first needed */
};

enum {
  ASK_ANSWER_MAX_BYTES = 16 << 20,
  ASK_WORK_MAX_BYTES = 64 << 20 /* of working memory for one question */
};

/* Borrows both, which must outlive the site. */
void ask_site_init(struct ask_site *site, const struct facility *facility,
                   const struct scene *start);
void ask_site_release(struct ask_site *site);
void ask_worker_release(struct ask_worker *worker);

/* Is this one of the addresses that ask_answer knows? */
bool ask_knows(const char *path);

/*
 * `search` is the raw text after the question mark, `size` its bytes.  Puts the
 * answer, or the refusal, into `out` in the place of what was there, and returns
 * the status in HTTP's numbers: 200, 400 what was asked cannot be meant, 404 no
 * such address, 500.
 */
int ask_answer(struct ask_worker *worker, const char *path, const char *search, size_t size,
               struct buf *out);

/* All addresses with what they take and answer, from the rows that answer them, as OpenAPI 3.1:
 * docs/openapi.json. */
void ask_print_openapi(struct buf *out);

/* {"error": why, "status": status}; returns status. */
int ask_refuse(struct buf *out, int status, const char *why);

#endif
