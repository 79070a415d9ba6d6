#ifndef KEEPER_KEEPER_H
#define KEEPER_KEEPER_H

#include "base/buf.h"
#include "base/err.h"
#include "facility/feeds.h"
#include "feed/feed.h"
#include "record/record.h"

/*
 * The keeper of a live suite: one thread that takes what the sources say, writes it to the record,
 * keeps the belief, solves the air when something changed, and hands out immutable views.
 *
 *     keeper_open(&settings, &keeper, &err);
 *     struct keeper_view *view = keeper_view(keeper);       // any thread
 *     ... view->json, view->number ...
 *     keeper_view_release(view);
 *
 * Everything that comes in goes through one queue with a limit; what does not fit is dropped, the
 * oldest of each point first, and counted.
 */
struct keeper;

struct keeper_settings {
  const struct facility *facility;
  const struct feeds *feeds;
  const char *feeds_folder;
  const char *record_path; /* NULL: nothing is kept */
  bool connect;            /* open the sources; else only what is handed in */
  /* A replay: a table of one source given beforehand, its time running `speed` times as fast as
   * the clock, from replay_from_ms.  NULL: now is now. */
  const struct feed_observation *replay;
  long replay_count;
  double replay_speed;
  int64_t replay_from_ms;
};

NODISCARD enum err_code keeper_open(const struct keeper_settings *settings,
                                    struct keeper **keeper_out, struct err *err);
void keeper_close(struct keeper *keeper); /* writes what came; NULL is fine */

int64_t keeper_now_ms(const struct keeper *keeper); /* of the replay, in a replay */

/* From any thread; waits for nothing. */
void keeper_take(struct keeper *keeper, const struct feed_observation *list, int count);

/* Appends an entry; waits until it is durable. */
NODISCARD enum err_code keeper_enter(struct keeper *keeper, struct record_entry *entry,
                                     struct err *err);

struct keeper_view {
  long number; /* grows by one with each view */
  int64_t now_ms;
  struct buf json; /* `/api/live` */
};
const struct keeper_view *keeper_view(struct keeper *keeper);
void keeper_view_release(const struct keeper_view *view);
/* Called from the keeper's thread for each new view, to wake streams.  Set before views are asked. */
void keeper_on_view(struct keeper *keeper, void (*wake)(void *arg), void *arg);

#endif
