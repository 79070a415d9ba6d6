#ifndef POST_POST_IMPL_H
#define POST_POST_IMPL_H

#include "base/buf.h"
#include "post/post.h"

#include <stdatomic.h>

/* ---- limit.c: how often; pure ---- */
enum {
  POST_HOUR_MS = 3600 * 1000,
  POST_MOST_PER_H = 1000,
  POST_CAUSES = 64,
  POST_CAUSE_MOST = 100
};
struct post_limit {
  int count, next;
  int64_t times_ms[POST_MOST_PER_H]; /* a ring */
};
/* When another may go: now or earlier, or a moment to come. */
int64_t post_limit_free_ms(const struct post_limit *limit, int most_per_h, int64_t now_ms);
void post_limit_note(struct post_limit *limit, int64_t now_ms);

struct post_causes {
  int next;
  struct {
    char name[POST_CAUSE_MOST];
    int64_t t_ms;
  } list[POST_CAUSES];
};
/* Whether it was told within the last hour; if not, it is now. */
bool post_cause_is_told(struct post_causes *causes, const char *name, int64_t now_ms);

/* ---- words.c: what is sent; pure ---- */
enum { POST_TEXT_MOST = 400, POST_SHORT_MOST = 80 };
struct post_letter {
  char what[POST_SHORT_MOST], priority[POST_SHORT_MOST], about[POST_SHORT_MOST],
      text[POST_TEXT_MOST];
  int64_t t_ms;
  long more; /* that were held back before it */
};
void post_mail(const struct post_settings *settings, const struct feeds_message *to,
               const struct post_letter *letter, int64_t now_ms, struct buf *out);
void post_json(const struct post_settings *settings, const struct post_letter *letter,
               struct buf *out);

/* ---- send.c: one try ---- */
struct post_way {
  const struct feeds_message *to;
  const char *folder;                /* of the feeds file */
  const char *user, *secret, *token; /* the words themselves, or NULL */
  const atomic_bool *stop;
  double most_s;
};
/* True: a server took it; else why. */
bool post_send(const struct post_way *way, const char *body, size_t size, char why[160]);

#endif
