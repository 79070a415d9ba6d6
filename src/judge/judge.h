#ifndef JUDGE_JUDGE_H
#define JUDGE_JUDGE_H

#include "answer/answer.h"
#include "base/buf.h"
#include "base/err.h"
#include "watch/watch.h"

/*
 * From observations to a state, moment by moment: belief, air, the verdict, and the dwell times of
 * declared rules.  No clock, no file and no thread: moments are handed in, so that the live board, a
 * replay of a table and a question to the record judge by the same code.
 *
 *     judge_new(&settings, &judge, &err);
 *     judge_until(judge, t_ms);                  // what turned on the way: something grew too old
 *     watch_take(settings.watch, &observation);  // of t_ms, any number
 *     judge_at(judge, t_ms, true);               // settings.seen is called with what it came to
 *
 * The air is solved only where the scene differs from the one solved before.  Moments go forward; after
 * a step back judge_begin_again.  One thread at a time.
 */
struct judge;

/* What one judgement came to; borrowed, for the time of the call. */
struct judge_seen {
  const struct facility *facility;
  const struct feeds *feeds;
  int64_t t_ms;
  const struct watch_belief *belief;
  const struct scene *scene;    /* that `air` is of: the belief's with the levels held */
  const struct air_answer *air; /* NULL: it could not be computed */
  const struct answer_live_verdict *verdict;
  bool turned;    /* the state is another than at the judgement before, or the first */
  bool had_state; /* there was one before */
  enum facility_level before;
};
/* "short, before that near limit: Acid main: ..." */
void judge_turn_text(const struct judge_seen *seen, struct buf *out);
/* inward.turned.1 (docs/api.md): the scene, and by which revision of which file it was judged. */
void judge_turn_json(const struct judge_seen *seen, struct buf *out);

struct judge_settings {
  const struct facility *facility;
  const struct feeds *feeds;
  const struct when_zone *zone; /* of the suite: reasons tell local times */
  struct watch *watch;          /* what is observed; the caller takes and withdraws */
  void (*seen)(void *arg, const struct judge_seen *seen); /* or NULL */
  int64_t (*next_ms)(void *arg); /* a moment that the caller wants judged, too; or NULL */
  void *arg;
};

/* Borrows all that the settings name.  ERR_INPUT: a suite whose air cannot be computed. */
NODISCARD enum err_code judge_new(const struct judge_settings *settings, struct judge **judge_out,
                                  struct err *err);
void judge_free(struct judge *j); /* NULL is fine */

/*
 * Judges one moment.  may_solve: the air is computed where the scene differs; false puts it off, and
 * until then only that something is not known is taken.  Says whether it is up to date.
 */
bool judge_at(struct judge *j, int64_t t_ms, bool may_solve);
/* Judges every moment after the last judged and before t_ms at which something turns though nothing
 * comes: a value grows too old, a dwell is over. */
void judge_until(struct judge *j, int64_t t_ms);
void judge_begin_again(struct judge *j); /* there was no state yet */

/* Where it stands; borrowed until the next call. */
struct judge_now {
  const struct air_answer *air;    /* newest solved, or NULL */
  const enum facility_level *held; /* per pool, for struct answer_live */
  enum facility_level state;       /* meaningless unless has_state */
  bool has_state;
  int64_t since_ms;                 /* since when; INT64_MIN: not told */
  struct answer_live_earlier known; /* the newest in which everything was known; air NULL: none */
  long changes;                     /* grows with every solve and turn */
};
struct judge_now judge_now(const struct judge *j);

#endif
