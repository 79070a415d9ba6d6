#ifndef ROUND_ROUND_H
#define ROUND_ROUND_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/err.h"
#include "base/typed.h"
#include "base/when.h"
#include "facility/facility.h"
#include "glass/glass.h"
#include "record/record.h"

/*
 * Rounds: somebody walks from station to station, looks, and says what is so.
 *
 * What is looked at is the suite's (`rounds:`): a question, where it is asked, and how old an answer may
 * be.  An answer is yes, no, or not looked at.  A no stays an open finding until a later round says yes,
 * and so does a date that has passed; what nobody looked at is not known, whatever else was found.  A
 * station was known clear at the moment of a round that answered yes to all that is asked there, and at no
 * other moment.
 *
 * What was told is an entry of the record each (kind `round`, detail inward.round.1).  A round in words
 * alone (inward past --round) has no detail: it is a last round, and answers nothing.  No clock: entries,
 * the facility and the moment go in.
 *
 *     round_take(&asked, &arena, &told, &faults)            // what a person typed -> an entry
 *     round_recorded(record, facility, zone, now_ms, &arena, &list, &err);
 *     round_text(list, &out);
 */
enum round_said { ROUND_YES, ROUND_NO, ROUND_UNSEEN, ROUND_SAID_COUNT };
const char *round_said_name(enum round_said said);  /* "yes", "no", "unseen" */
int round_said_find(const char *name, size_t size); /* -1: none of them */

enum { ROUND_WORDS_MOST_BYTES = 500 };

/* ---- telling ---- */
struct round_asked {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t now_ms;
  double back_most_s; /* `at` may lie so far back */
  /* about, who, at, words; all: yes or unseen, what is not named; yes, no, unseen: items with commas
   * between; expires: "gel 2027-03-01", with commas between; with a no to an item of glass marks: mark,
   * piece, count of what was seen */
  const struct typed_pair *pairs;
  int count;
};
struct round_told {
  int station;
  int64_t t_ms;
  const char *about, *who, *text, *detail; /* of the entry */
};
/* ERR_INPUT: every fault is a line in `faults`, and *out is untouched. */
NODISCARD enum err_code round_take(const struct round_asked *asked, struct arena *arena,
                                   struct round_told *out, struct buf *faults);

/* The glass that a round's entry says was seen; false: it says of none. */
bool round_seen(const char *detail, struct arena *arena, struct glass_told *out);
/* Whether it answers, yes or no, what the suite asks there of glass marks. */
bool round_looked_at_glass(const struct facility *f, const char *detail, struct arena *arena);

/* ---- what is so ---- */
enum round_state {
  ROUND_OPEN,      /* a no, or a date that has passed, and no yes since */
  ROUND_OVERDUE,   /* answered longer ago than the suite asks for */
  ROUND_NOT_KNOWN, /* never answered */
  ROUND_LOOKED     /* yes, and no older than that */
};
const char *round_state_key(enum round_state state); /* "not_known" */

/* What stands of one item at one station. */
struct round_found {
  const struct facility_round_item *item;
  enum round_state state;
  enum round_said said; /* the newest answer; UNSEEN: none was given */
  int64_t t_ms, number; /* of its entry */
  const char *who, *words;
  int64_t since_ms;    /* of an open finding: when it was found first; else INT64_MIN */
  const char *expires; /* "2027-03-01"; NULL: not asked, or not told */
  bool late;           /* also of an open finding: the answer is older than the suite asks for */
};
struct round_moment {
  int64_t t_ms, number; /* t_ms INT64_MIN: there was none */
  const char *who;
};
struct round_station {
  int station;
  enum round_state state; /* the worst of its items; not known where nothing is asked */
  struct round_moment last, clear;
  bool in_words; /* the last round told no item */
  int count;
  struct round_found *found; /* in the suite's order */
};
struct round_list {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t now_ms;
  int count, unread;              /* unread: entries that could not be read */
  struct round_station *stations; /* all of the suite, in its order */
};
/* Entries in order of time, of kind `round`; one whose detail is no inward.round.1 is passed over, and
 * counted.  NULL: they do not fit into the arena. */
struct round_list *round_look(const struct facility *facility, const struct when_zone *zone,
                              const struct record_entry *entries, int count, int64_t now_ms,
                              struct arena *arena);
/* The same of a record, by what was written down until then. */
NODISCARD enum err_code round_recorded(struct record *record, const struct facility *facility,
                                       const struct when_zone *zone, int64_t now_ms,
                                       struct arena *arena, struct round_list **out,
                                       struct err *err);

bool round_asks_a_person(const struct round_list *list); /* open, overdue, not known, or unread */
void round_text(const struct round_list *list, struct buf *out);
void round_json(const struct round_list *list, struct buf *out); /* inward.rounds.1 */

#endif
