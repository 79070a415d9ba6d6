#ifndef NIGHTLY_NIGHTLY_H
#define NIGHTLY_NIGHTLY_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/emit.h"
#include "base/err.h"
#include "base/when.h"
#include "facility/feeds.h"
#include "match/match.h"
#include "record/record.h"

/*
 * The board's own match: does the model match what the record holds of the last nights and days?
 *
 * Every point of the record over a stretch goes through the trend of src/match: still moments only, and
 * nothing that was missing, faulty, frozen, stuck or old.  What came of it is an entry of the record (kind
 * `match`, detail inward.own_match.1), one a night, which says of each figure that a reading tells what was
 * written, what was fitted and both ±.  The entries together show whether a figure drifts: a filter that
 * loads, a leak that grows.
 *
 * A match changes nothing: no figure of the suite, no state, no alarm.  No clock; the record is handed in.
 *
 *     nightly_match(&asked, &options, &arena, &result, &err);
 *     nightly_tell(&asked, result, NULL, before, &text, &detail);       // what the entry says
 *     nightly_recorded(record, now_ms, most, &arena, &list, &err);      // the newest first
 *     nightly_json(&place, &list, &out);
 */
struct nightly_asked {
  struct record *record; /* the points of `feeds` are bound to it */
  const struct facility *facility;
  const struct feeds *feeds;
  const struct when_zone *zone; /* for words */
  int64_t from_ms, to_ms;       /* from <= t < to */
  int64_t known_ms;             /* only what had come by then; INT64_MAX: all */
  const char *file;             /* the record's name, for words */
  bool (*goes_on)(void *arg);   /* false: it ends with ERR_LIMIT; NULL: always */
  void *arg;
};
/* The stretch that the suite wants, up to a moment. */
int64_t nightly_from_ms(const struct facility *facility, int64_t to_ms);

/* All in the arena.  *out_readings may be NULL where only the result is wanted. */
NODISCARD enum err_code nightly_readings(const struct nightly_asked *asked, struct arena *arena,
                                         struct match_readings **out, struct err *err);
NODISCARD enum err_code nightly_match(const struct nightly_asked *asked, const struct scene *scene,
                                      struct arena *arena, struct match_result **out,
                                      struct err *err);

/* When the board's own match was due last: the newest such moment not after t_ms; INT64_MIN: it is off.  A
 * time of day that a local day does not have is an hour later there; one that it has twice is the first. */
int64_t nightly_due_ms(const struct facility *facility, const struct when_zone *zone, int64_t t_ms);

/* ---- what an entry says ---- */
struct nightly_figure {
  const char *name, *of, *unit, *known;           /* as in inward.match.1 */
  double written_si, was_pm_si, fitted_si, pm_si; /* pm_si NaN: at its bound */
  double shift_ratio, left_ratio;                 /* in the ± it had; of it */
};
struct nightly_match {
  int64_t number, t_ms, written_ms; /* of the entry */
  int64_t from_ms, to_ms;
  const char *verdict, *words;        /* "matches"; "MATCHES WITHIN ITS ±"; NULL: there is none, */
  const char *why;                    /* because of this; else NULL */
  const char *sentence, *next_action; /* or NULL */
  const char *was;                    /* the verdict before, where it was another one; else NULL */
  const char *suite_sha256, *engine;
  int readings, scenes, outside, outliers, contradictions, known;
  bool settled;
  int figure_count, figures_left_out; /* told by a reading; of them not written for want of room */
  struct nightly_figure *figures;
  const char *const *left_out; /* what was left out, in words */
  int left_out_count;
};
struct nightly_list { /* the newest first */
  int count;
  struct nightly_match *list;
};

/* The entry of a match that ended (`why` NULL) or of one that did not (`result` NULL).  `before`: the newest
 * earlier one that has a verdict, or NULL. */
void nightly_tell(const struct nightly_asked *asked, const struct match_result *result,
                  const char *why, const struct nightly_match *before, struct buf *text,
                  struct buf *detail);
/* False: the detail is no such one.  Texts live in the arena. */
bool nightly_read(const char *detail, struct arena *arena, struct nightly_match *out);

enum {
  NIGHTLY_MOST = 60,
  NIGHTLY_MOST_EVER = 1000
}; /* entries that are looked at; by default, at most */
/* Those of now_ms or before, the newest so many.  ERR_LIMIT when they do not fit. */
NODISCARD enum err_code nightly_recorded(struct record *record, int64_t now_ms, int most,
                                         struct arena *arena, struct nightly_list *out,
                                         struct err *err);
/* The newest with a verdict behind list->list[from]; NULL: there is none. */
const struct nightly_match *nightly_before(const struct nightly_list *list, int from);
/* The newest with a verdict, where that is another than the one before; else NULL: a thing to look at. */
const struct nightly_match *nightly_changed(const struct nightly_list *list);

/* ---- for people and programs ---- */
struct nightly_place {
  const struct facility *facility;
  const struct when_zone *zone; /* NULL: UTC */
  int64_t now_ms;               /* INT64_MIN: nobody knows */
  const char *why;              /* why there can be none at all; or NULL */
};
/* Why there is no latest one, in words; NULL: there is. */
const char *nightly_none(const struct nightly_place *place, const struct nightly_list *list);
void nightly_text(const struct nightly_place *place, const struct nightly_list *list,
                  struct buf *out);
/* inward.own_matches.1: GET /api/match. */
void nightly_json(const struct nightly_place *place, const struct nightly_list *list,
                  struct buf *out);

#endif
