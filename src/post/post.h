#ifndef POST_POST_H
#define POST_POST_H

#include "base/err.h"
#include "facility/feeds.h"

/*
 * Messages that go out: by mail (SMTP, RFC 5321 and 5322) and to a webhook (HTTP, `inward.message.1`).
 *
 * A thread for each of the feeds file's `messages`, with a short queue: whoever puts a message waits for
 * nothing, and a server that is slow, dead or refuses holds up its own thread only.  Each is tried three
 * times.  At most so many an hour: of what is more, and of what the queue had no room for, the next message
 * says how many.  One cause is told once an hour.  Certificates are checked; nothing is followed elsewhere; a
 * reply is read up to 64 KiB and thrown away.
 *
 * "Sent" means that a server took it, and no more.
 *
 *     post_open(&settings, &post, &err);
 *     post_put(post, channel, &item);        // any thread
 *     post_look(post, channel, &health);
 *     post_close(post);
 */
struct post;

struct post_item {      /* copied */
  const char *cause;    /* the same for what has one cause: told once an hour */
  const char *what;     /* "alarm", "errand" */
  const char *priority; /* "urgent", or "" */
  const char *about;    /* id of a part; "" for the suite */
  const char *text;     /* one line, of at most 160 characters for an alarm */
  int64_t t_ms;         /* when it was so, UTC */
};

struct post_health {
  long sent, not_sent; /* messages */
  long held;           /* over the limit an hour, or beyond the queue: counted in a later message */
  bool failing;        /* the last one was not sent */
  int64_t sent_ms;     /* the last that was; INT64_MIN: none */
  char why[160];       /* why the last one was not; "" */
};

struct post_settings {
  const struct feeds *feeds;
  const char *folder; /* of the feeds file: secrets are named relative to it */
  const char *suite, *label;
  /* The first that was not sent since one was, and the first that was since: from a thread of the post. */
  void (*told)(void *arg, int channel, bool sent, const char *why);
  void *arg;
  double pause_s; /* before a second try; twice that before a third */
  double most_s;  /* one try takes no longer */
};
extern const double post_pause_usual_s, post_most_usual_s;

/* ERR_INPUT: a secret that is not there or is open to others.  Borrows what the settings name. */
NODISCARD enum err_code post_open(const struct post_settings *settings, struct post **post_out,
                                  struct err *err);
/* Ends what is on its way and waits for the threads; what still waits is not sent.  NULL is fine. */
void post_close(struct post *post);

void post_put(struct post *post, int channel, const struct post_item *item);
void post_look(struct post *post, int channel, struct post_health *out);

#endif
