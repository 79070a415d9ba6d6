#ifndef CLI_LIVE_IMPL_H
#define CLI_LIVE_IMPL_H

#include "keeper/keeper.h"
#include "serve/serve.h"

#include <signal.h>

/*
 * A suite with what is connected to it, opened for `serve` and `watch`: feeds file, zone, secrets of
 * webhooks, a table to replay, the keeper.
 */
struct cli_live_wanted {
  const char *suite;
  const char *record; /* NULL: nothing is kept */
  const char *replay; /* NULL: connect to the sources */
  const char *source; /* of the table to replay */
  int speed;
  bool texts;
  void (*told)(void *arg, const struct keeper_told *told); /* or NULL */
  void *told_arg;
};

struct cli_live {
  struct feeds *feeds;
  struct chemicals *own; /* of the suite's chemicals file, for reminders of a record; or NULL */
  struct wet_place wet;
  const char *folder; /* of the feeds file */
  struct arena arena;
  struct keeper *keeper;         /* NULL: the suite names no feeds file, or it has faults */
  struct serve_live serve;       /* what serve_run wants */
  struct feed_observation *rows; /* of the table that is replayed */
  bool faulty;                   /* faults are printed */
};

/* SIGINT and SIGTERM wait from here on, for sigwait; to be called before a thread is made, or that one
 * would take them. */
void cli_hold_stop(sigset_t *stop_out);

/* ERR_INPUT, ERR_USAGE or ERR_IO.  Close in every case. */
NODISCARD enum err_code cli_live_open(struct cli_live *live, const struct facility *facility,
                                      const struct cli_live_wanted *wanted, struct err *err);
void cli_live_close(struct cli_live *live);

#endif
