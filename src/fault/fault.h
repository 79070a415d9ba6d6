#ifndef FAULT_FAULT_H
#define FAULT_FAULT_H

#include "air/air.h"
#include "base/arena.h"
#include "base/buf.h"
#include "watch/watch.h"

/*
 * Faults by their trace: where what is measured goes away from what the healthy model computes for
 * the same scene, what that looks like.  Never a fact: "looks like ... because ...; or else ...".
 *
 *     struct fault_model *model = fault_model_new(facility, feeds, &err);   // feeds->faults: the settings
 *     struct fault_watch *watch = fault_watch_new(model);
 *     fault_take(watch, &belief);                      // at each judged moment
 *     findings = fault_find(watch, counts, &arena);    // when somebody asks
 *
 * How.  Each point that measures something the model computes has a residual, measured minus computed,
 * as a share (flow, velocity, speed) or in Pa (pressure).
 *
 *   1. What the model may be off for good (the ± of the suite's figures, carried through the model) is
 *      taken off the residual; what is left counts in standard deviations of the reading.  In the first
 *      time of a point (`learn`) its lasting difference is learnt inside that ±, figure by figure, and
 *      narrows it: in another scene as far as the same figures decide there.
 *   2. A two-sided cumulative sum (Page, Biometrika 41, 1954) per point says that something changed and
 *      since when.  Its limit comes from how rarely a false alarm may be, by Siegmund's approximation of
 *      the average run length (Sequential Analysis, 1985).
 *   3. Each kind of fault at each part is put into the model and solved: its signature is by how much
 *      every point would move.  Those whose signatures, grown or shrunk a little, leave the least of
 *      the residuals since the change are named; those which the readings cannot tell apart from the
 *      best are its "or else".
 *
 * A model belongs to one thread and serves up to four watches; it borrows facility and feeds.  A scene
 * it has not seen costs one solve per figure of the suite once a reading of it counts, a finding one per kind and part and scene.  A watch
 * borrows its model.  No clock: moments come with the belief.  Memory is bounded by the numbers of
 * points, of kept moments (FAULT_KEPT) and of scenes.
 */
enum fault_kind {
  FAULT_DOOR_OPEN,       /* a door that counts as closed */
  FAULT_BLOCKED_SASH,    /* work flow while the sash reads parked, whoever is there */
  FAULT_STUCK_SASH,      /* its reading stands still while the sash moves */
  FAULT_STUCK_SENSOR,    /* a reading that stands still */
  FAULT_WRONG_UNIT,      /* a reading off by the ratio of two units, or by its sign */
  FAULT_COVERED_DECK,    /* more air through the face than the deck should leave */
  FAULT_DRIFTING_VALVE,  /* a station draws more or less than its rule */
  FAULT_DRIFTING_SENSOR, /* only its reading says so */
  FAULT_LOADED_FILTER,   /* more resistance in a scrubber, trap or filter */
  FAULT_WORN_FAN,        /* less rise than its curve */
  FAULT_LEAK_GREW,
  FAULT_BACK_DRAUGHT, /* air comes back through a stopped unit */
  FAULT_KIND_COUNT
};
const char *fault_kind_name(enum fault_kind kind); /* "blocked sash" */
int fault_kind_find(const char *name);             /* -1: no such kind */

/* What people answered in this suite so far. */
struct fault_count {
  int confirmed, refuted;
};
/* Has that kind proved itself?  Until then it belongs into notes, not on the board. */
bool fault_has_proved(const struct feeds_faults *settings, const struct fault_count *count);

/* Whether a fault of that kind can be at that part, or be of that point. */
bool fault_can_be_at(const struct facility *facility, const struct feeds *feeds,
                     enum fault_kind kind, const char *id);
/* The part of the suite that a finding at `id` is about: of a point the part it measures. */
void fault_about(const struct facility *facility, const struct feeds *feeds, const char *id,
                 struct buf *out);
void fault_kinds_list(struct buf *out); /* "door left open, blocked sash, ..." */
/* inward.answer.1: the detail of an entry in which a person confirms or refutes a finding.  `since`: of
 * the finding, or NULL; a later answer to the same one takes the place of the earlier. */
void fault_answer_json(enum fault_kind kind, const char *part, const char *since, struct buf *out);

struct fault_model;
/* NULL with err set when the facility's air cannot be made. */
struct fault_model *fault_model_new(const struct facility *facility, const struct feeds *feeds,
                                    struct err *err);
void fault_model_free(struct fault_model *m); /* after its watches; NULL is fine */

/* What these points cannot show, each with what would: "loaded filter at S-trap: no point shows it;
 * the speed of SF would tell".  Judged with all parked and all at work.  Lives in `arena`. */
int fault_blind(struct fault_model *m, struct arena *arena, const char *const **texts_out);

struct fault_watch;
struct fault_watch *fault_watch_new(struct fault_model *m);
void fault_watch_free(struct fault_watch *w); /* NULL is fine */
/* One judged moment, never earlier than the last.  The same belief again changes nothing. */
void fault_take(struct fault_watch *w, const struct watch_belief *belief);
/* The clock was stepped back, or the place was changed: learns anew. */
void fault_forget(struct fault_watch *w);
/* The largest test value of all points now, in units of its limit: 1 is a finding.  And since start. */
double fault_level_ratio(const struct fault_watch *w);
double fault_peak_ratio(const struct fault_watch *w);
int fault_standing(const struct fault_watch *w); /* points that stand out now */

enum { FAULT_GUESS_MAX = 5, FAULT_ABOUT_MAX = 6, FAULT_BECAUSE_MAX = 5, FAULT_KEPT = 288 };

struct fault_guess { /* one kind, at one part or at one of several that look alike */
  enum fault_kind kind;
  int about_count;
  const char
      *about[FAULT_ABOUT_MAX]; /* ids of the parts, or of points where a reading is doubted */
  const char *what;            /* "a leak that grew: L-wet or L-gown" */
  const char *look, *who;      /* what to look at next, and by whom */
  double amplitude_ratio;      /* of what it was tried with; of the first part */
  double score_ratio;          /* log likelihood against "nothing is wrong"; for ranking only */
};

struct fault_finding {
  const char *point;                 /* id of the point that stands out most */
  int64_t since_ms;                  /* the change, as estimated: the sum's last zero */
  int guess_count;                   /* 0: like nothing that is known here */
  const struct fault_guess *guesses; /* the likeliest first */
  int because_count;
  const char *const *because; /* what is measured, and what is computed; what does not show it */
  const char *tells;          /* what measurement would tell the guesses apart, or NULL */
  bool in_notes;              /* its kind has not proved itself here yet */
  const char *text;           /* the sentence */
};

struct fault_findings {
  int count;
  const struct fault_finding *list;
};
/* `counts` per kind, or NULL: none.  Lives in `arena`, which must not run out.  Changes nothing but what the
 * model remembers of its solves. */
struct fault_findings fault_find(struct fault_watch *w, const struct fault_count *counts,
                                 struct arena *arena);

struct emit;
/* An array `looks_like`, a row a finding: point, since, kind, about, text, because, or_else, next, who, tells,
 * in_notes.  Inside an object of the caller's. */
void fault_json(struct emit *json, const struct fault_findings *findings);

/* ---- the test itself ---- */

/* Two-sided, tabular: up = max(0, up + z - k), down = max(0, down - z - k). */
struct fault_cusum {
  double up_ratio, down_ratio;
  int64_t up_since_ms, down_since_ms; /* the step after the last zero */
};
/* Held at most at `hold_ratio`, so that what was mended is soon forgotten. */
void fault_cusum_step(struct fault_cusum *sum, double z_ratio, double allowance_ratio,
                      double hold_ratio, int64_t t_ms);
/* Average run length of the two-sided sum at a shift, in steps, by Siegmund's approximation: one side
 * (exp(-2 D b) + 2 D b - 1) / (2 D^2), D = shift - k, b = h + 1.166; both sides 1 / (1 / A + 1 / B). */
double fault_run_length_ratio(double shift_ratio, double allowance_ratio, double limit_ratio);
/* The limit with that run length where nothing is wrong; run_length_ratio > 2. */
double fault_limit_ratio(double allowance_ratio, double run_length_ratio);

#endif
