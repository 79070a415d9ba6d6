#ifndef ERRAND_ERRAND_H
#define ERRAND_ERRAND_H

#include "base/buf.h"
#include "base/emit.h"
#include "base/err.h"
#include "base/when.h"
#include "judge/judge.h"

/*
 * "Lower first", delivered: from a judgement to what is asked at which station, and whether it helped.
 *
 * While the air is short the answer names the sashes whose lowering ends that (docs/air-state.md, "Lower
 * first").  Each is asked of the person who stands there, one thing at one station, at most so many at
 * once:
 *
 *     asked  --the sash came down by more than `moves`-->  moving  --at or below its mark-->  done
 *
 *     cannot            a person said that it needs its flow, and why: it is not asked for a while, and
 *                       the watch keeps it out of every list (errands_needs_flow), so the next is asked
 *     no longer needed  the air is no longer short, another list takes its place, something stands under
 *                       the sash, or an alarm outranks all advice
 *     not answered      in time
 *
 * Done is what is measured.  That "done" was pressed is believed only where nothing measures the sash;
 * else it is told beside what the sash reads.
 *
 * What is named stays named for `hold` while the shortage lasts: what the figures say can change with
 * every centimetre, and nobody follows a sign that flips.  What may no longer be asked (design 8: blocked,
 * needs its flow, withdrawn, not known, frees nothing) is taken off at once.  While nobody advises (an
 * alarm, a state not known) nothing is asked and nothing named.
 *
 * No clock and no file: moments are those of the judgements.  The figures are settings (`feeds_lower`).
 * One thread at a time.
 *
 *     errands_see(errands, seen);                       // from judge_settings.seen
 *     errands_answer(errands, &answer, &err);           // what a person at the station pressed
 *     errand = errands_at(errands, station);            // NULL: nothing was asked there yet
 */
struct errands;

enum errand_state {
  ERRAND_ASKED,
  ERRAND_MOVING,
  ERRAND_DONE,
  ERRAND_CANNOT,
  ERRAND_NOT_NEEDED,
  ERRAND_NOT_ANSWERED,
  ERRAND_STATE_COUNT
};
const char *errand_state_name(enum errand_state state); /* "not answered" */
const char *errand_state_key(enum errand_state state);  /* "not_answered", in JSON */
int errand_state_find(const char *key);                 /* -1: no such state */

enum { ERRAND_WHO_MOST_BYTES = 81, ERRAND_TEXT_MOST_BYTES = 161 };

/* The newest thing asked at a station. */
struct errand {
  int station;
  enum errand_state state;
  int64_t asked_ms, since_ms; /* since_ms: of the state */
  int64_t moved_ms;           /* INT64_MIN: it did not move */
  int64_t until_ms;           /* not asked again before; INT64_MIN: may be */
  struct air_lower what;      /* to_m where has_to_m, else parked */
  double from_m;              /* the highest it read since it was asked; NaN: not measured */
  double reads_m;             /* now; NaN: not measured as an opening */
  double reads_age_s;         /* of that reading; NaN */
  bool measures;              /* something measures whether the sash is down */
  char because[ERRAND_TEXT_MOST_BYTES]; /* "Acid main is short"; when it ended: why */
  int64_t said_ms;                      /* "done" was pressed; INT64_MIN: not */
  char who[ERRAND_WHO_MOST_BYTES];      /* who answered, as said; "" */
  char text[ERRAND_TEXT_MOST_BYTES];    /* cannot: why; "" */
};

struct errands_settings {
  const struct facility *facility;
  const struct feeds *feeds;
  const struct when_zone *zone; /* of the suite: texts tell local times */
  /* Each change of a state and each "done" that was pressed; or NULL. */
  void (*turned)(void *arg, const struct errands *e, const struct errand *errand, int64_t t_ms);
  void *arg;
};

struct errands *errands_new(const struct errands_settings *settings); /* borrows what they name */
void errands_free(struct errands *e);                                 /* NULL is fine */
void errands_see(struct errands *e, const struct judge_seen *seen);
/* When something turns though nothing comes; INT64_MAX: never.  For judge_settings.next_ms. */
int64_t errands_next_ms(const struct errands *e);
/* Nothing was asked yet: a clock stepped back, a new replay. */
void errands_begin_again(struct errands *e);

struct errand_answer {
  int station;
  bool done;        /* else it cannot be lowered now */
  const char *who;  /* "" : not said */
  const char *text; /* cannot: why */
  int64_t t_ms;
};
/* ERR_INPUT: nothing is asked there now; no reason for "cannot". */
NODISCARD enum err_code errands_answer(struct errands *e, const struct errand_answer *answer,
                                       struct err *err);

/* Puts back what was asked when the program stopped; copied. */
void errands_restore(struct errands *e, const struct errand *errand);

const struct errand *errands_at(const struct errands *e, int station);
bool errand_is_open(const struct errand *errand); /* asked or moving */
/* Why no list may ask for this station, for watch_need_flow; NULL: it may. */
const char *errands_needs_flow(const struct errands *e, int station);

/* What the act names while the air is short; borrowed until the next call.  False: the figures' own act. */
bool errands_named(const struct errands *e, struct answer_live_asked *out);

struct errands_tally { /* since errands_begin_again */
  int asked, moved, moved_within, done, cannot, not_needed, not_answered;
  double median_s; /* from asked to the first movement; NaN: none moved */
};
struct errands_tally errands_tally(const struct errands *e);

/* ---- words ---- */

/* "Lower to the mark 0.20 m: Acid main is short. Ask the person there; never move another's sash over
 * work." */
void errand_words(const struct errands *e, const struct errand *errand, struct buf *out);
/* "done was said at 14:12; the sash still reads 0.45 m (3 min old)"; nothing where there is nothing to say. */
void errand_doubt(const struct errands *e, const struct errand *errand, struct buf *out);
/* `errands` and `errands_tally` of inward.live.1 (docs/api.md). */
void errands_json(const struct errands *e, int64_t now_ms, struct emit *json);

#endif
