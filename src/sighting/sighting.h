#ifndef SIGHTING_SIGHTING_H
#define SIGHTING_SIGHTING_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/err.h"
#include "base/typed.h"
#include "base/when.h"
#include "facility/facility.h"
#include "glass/glass.h"
#include "record/record.h"

/*
 * Sightings: glass that people saw, where it stood, and what was done with it.
 *
 * A piece that stood where it may not, that bears no mark or nobody's, has lost its status: by the suite of
 * the day on which it was seen, and until somebody writes what was done with it.  That it was carried home
 * since, or that the suite changed, gives nothing back.  Marks are of stations and not of pieces: the same
 * mark and kind seen again at the same place counts as the same piece, so a case is at least one piece.
 *
 * What was told is an entry of the record each (kind `glass`, detail inward.glass_told.1), or stands with the
 * no of a round (src/round).  An entry is never changed: what was told wrongly is taken back by a later one
 * that names its number.  No clock: entries, the facility and the moment go in.
 *
 *     sighting_take(&asked, &arena, &told, &faults)          // what a person typed -> an entry
 *     sighting_recorded(record, facility, zone, now_ms, &arena, &list, &err);
 *     sighting_text(list, &out);
 */
enum sighting_act {
  SIGHTING_SEEN,
  SIGHTING_CLEANED,   /* by a procedure: it has its status again */
  SIGHTING_DISCARDED, /* it is no more */
  SIGHTING_COUNTED,   /* so many of a kind are in a drawer */
  SIGHTING_TAKEN_BACK,
  SIGHTING_ACT_COUNT
};
const char *sighting_act_name(enum sighting_act act); /* "taken-back" */
int sighting_act_find(const char *name);              /* -1: no such act */

enum { SIGHTING_WORDS_MOST_BYTES = 500 };

/* ---- telling ---- */
struct sighting_list;
struct sighting_asked {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t now_ms;
  double back_most_s; /* `at` may lie so far back */
  /* act, who, at, words; of seen: about (a station), mark, piece, count; of counted: about, piece, count,
   * drawer; of cleaned: entry, how, count; of discarded: entry, count; of taken-back: entry */
  const struct typed_pair *pairs;
  int count;
  const struct sighting_list *now; /* what was told until now */
};
struct sighting_told {
  enum sighting_act act;
  int64_t t_ms;
  const char *about, *who, *text, *detail; /* of the entry */
};
/* ERR_INPUT: every fault is a line in `faults`, and *out is untouched. */
NODISCARD enum err_code sighting_take(const struct sighting_asked *asked, struct arena *arena,
                                      struct sighting_told *out, struct buf *faults);

/* ---- what is so ---- */
struct sighting_moment {
  int64_t t_ms, number; /* of the entry; t_ms INT64_MIN: there is none */
  const char *who, *words;
};

/* Of one mark and kind, at one place, from when it was first seen there until something was done. */
struct sighting_case {
  const char *about;
  int station;            /* -1: the suite has it no more */
  struct glass_told told; /* as last seen; count: the most that were seen at once */
  bool is_lost;           /* else it may stand there for a while */
  int times;              /* it was told */
  struct sighting_moment first, last;
  int owner; /* the station whose it is, by the suite as it is; -1: nobody's, or several may be meant */
  struct sighting_moment home; /* since then one like it was seen at its own station */
  int left;                    /* pieces of which nobody wrote what was done */
  enum sighting_act done;      /* the last; where `settled` is a moment */
  struct sighting_moment settled;
  const char *how; /* the procedure */
};

/* How often one mark was seen at one place where it may not stand, within the suite's span. */
struct sighting_count {
  const char *about, *mark;
  int sightings, cases;
  struct sighting_moment first, last;
  double mean_per_s, low_per_s,
      high_per_s; /* and within what it lies, 95 % (Poisson); NaN: too short a span */
};

enum sighting_state {
  SIGHTING_MISSING,
  SIGHTING_TOO_MANY,
  SIGHTING_OVERDUE, /* counted, and right, longer ago than the suite asks for */
  SIGHTING_NOT_KNOWN,
  SIGHTING_RIGHT
};
const char *sighting_state_key(enum sighting_state state); /* "too_many" */

struct sighting_drawer {
  int station;
  const struct facility_glass *piece;
  enum sighting_state state;
  int counted; /* where `when` is a moment */
  struct sighting_moment when;
  bool late;
  int elsewhere; /* of its mark and kind, that lost their status and of which nobody wrote what was done */
};

struct sighting_list {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t now_ms;
  int64_t
      since_ms; /* counted since: the suite's span back, or the first entry that told of glass; INT64_MIN */
  int unread;                             /* entries that could not be read */
  int case_count, open_count, lost_count; /* open: something is left; lost: and has no status */
  struct sighting_case *cases;            /* by when they were first seen */
  int count_count;
  struct sighting_count *counts; /* the most sightings first */
  int drawer_count;
  struct sighting_drawer *drawers; /* in the suite's order */
  /* what each number is, for telling */
  int entry_count;
  struct sighting_entry *entries;
};
/* Entries of kinds `glass` and `round`, in order of time.  NULL: they do not fit into the arena. */
struct sighting_list *sighting_look(const struct facility *facility, const struct when_zone *zone,
                                    const struct record_entry *entries, int count, int64_t now_ms,
                                    struct arena *arena);
/* The same of a record, by what was written down until then. */
NODISCARD enum err_code sighting_recorded(struct record *record, const struct facility *facility,
                                          const struct when_zone *zone, int64_t now_ms,
                                          struct arena *arena, struct sighting_list **out,
                                          struct err *err);

bool sighting_asks_a_person(const struct sighting_list *list); /* lost, missing, too many, unread */
/* "violet square F, beaker 1 L, seen at S1: ASTRAY, A3's" */
void sighting_put_case(const struct sighting_list *list, const struct sighting_case *c,
                       struct buf *out);
void sighting_text(const struct sighting_list *list, struct buf *out);
void sighting_json(const struct sighting_list *list, struct buf *out); /* inward.sightings.1 */

/* The limits within which the mean of a Poisson count lies with 95 % (Garwood 1936). */
void sighting_poisson_limits(int count, double *low_out, double *high_out);

#endif
