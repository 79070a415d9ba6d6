#ifndef SERVE_SERVE_H
#define SERVE_SERVE_H

#include "base/query.h"
#include "base/when.h"
#include "day/day.h"
#include "facility/feeds.h"
#include "keeper/keeper.h"
#include "may/may.h"

/*
 * The board: pages and a JSON interface over HTTP/1.1, for one facility.
 *
 * Trials are read only and without memory: every request names its scene and the changes
 * to it, in the words of the command line, so a trial is a URL and two people
 * trying things never meet.  /api/air is what `inward air --json` prints for
 * the same scene and changes, byte for byte.
 *
 * Loopback unless told otherwise.  A request whose Host is not in the list of
 * names is refused, so that a page from elsewhere cannot reach in by pointing
 * its own name here.  No TLS and no sign-in: on a network that is not trusted,
 * put a proxy in front.
 *
 * With a keeper the board is live as well: /api/stream sends each of its views, and what people enter
 * (POST, JSON, from the board's own pages only) goes to the keeper and its record.
 */
struct serve_live {
  struct keeper *keeper;
  const struct feeds *feeds;
  const char *record_path;      /* NULL: nothing is kept */
  const struct when_zone *zone; /* of times without an offset */
  const char *const *tokens;    /* per source: the word a webhook shows; NULL where there is none */
  const char *responder_file;   /* the responder sheet is written to it at each change; or NULL */
};

/* Who knows the bookings: the answer of `inward day --json` for a question of /api/day.  Called by one thread
 * at a time. */
struct serve_day {
  enum err_code (*answer)(void *arg, const struct query *query, struct buf *out, struct err *err);
  /* The bookings that overlap a span; by any thread.  NULL: nothing says where they stand. */
  enum err_code (*bookings)(void *arg, int64_t from_ms, int64_t to_ms, struct arena *arena,
                            struct day_bookings *out, struct err *err);
  void *arg;
};

struct serve_settings {
  const char *bind;         /* numeric address */
  int port;                 /* 0 takes a free one */
  const char *const *hosts; /* names accepted in Host besides loopback and `bind` */
  int host_count;
  int thread_count;                  /* each with its own solver */
  const struct serve_live *live;     /* NULL: nothing is connected, pages show scenes */
  const struct chemicals *chemicals; /* the suite's own chemistry, or NULL */
  const struct serve_day *day;       /* NULL: nobody knows the bookings */
  const struct may *may;             /* its people, processes and rules, or NULL */
  const struct facility_text *texts; /* what the facility was read from, the suite's first */
  int text_count;
  const struct when_zone *zone; /* the suite's; NULL: UTC */
};
extern const struct serve_settings serve_settings_default;

/*
 * Serves until SIGINT or SIGTERM, then finishes what is being answered and
 * returns ERR_OK.  Prints one line with the address once it listens.
 * `start` is the scene of a request that names none; facility and start must
 * outlive the call.
 */
NODISCARD enum err_code serve_run(const struct facility *facility, const struct scene *start,
                                  const struct serve_settings *settings, struct err *err);

#endif
