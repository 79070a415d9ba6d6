#ifndef PEOPLE_PEOPLE_H
#define PEOPLE_PEOPLE_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/complaints.h"
#include "base/when.h"
#include "facility/roster.h"

/*
 * Who is endorsed for what on a day: answer = f(people file, its tables, day).
 *
 * Tables come as other offices keep them: rows twice, blanks, two date styles, words for a status.
 * Nothing is guessed.  What is blank, in the future, or can be read two ways is not known; a person
 * who stands there twice is made one where nothing contradicts, else the stricter of both counts.
 * Every such thing is a remark with its place, and the rest still works.
 *
 *     struct people *people = people_read(roster, texts, today, &arena, &complaints);
 *     int who = people_find(people, "U14");                 // -1: nobody
 *     struct people_verdict v = people_endorsed(people, who, hf, day, &arena);
 *     // v.standing, v.until_day, v.why
 *
 * Memory is the arena's; the roster must outlive it.  Never written after people_read: share it.
 */
enum people_kind {
  PEOPLE_NOT_SAID, /* blank, or no such column */
  PEOPLE_ON_DAY,
  PEOPLE_UNCLEAR /* something stands there, and `why` says why it counts for nothing */
};

struct people_day {
  enum people_kind kind;
  int day;
  const char *why;   /* UNCLEAR */
  const char *where; /* "people.csv B7"; NULL: said nowhere */
};

enum people_status { PEOPLE_ACTIVE, PEOPLE_STATUS_UNKNOWN, PEOPLE_GONE };

struct people_person {
  const char *id;
  const char *name, *group; /* or NULL */
  enum people_status status;
  const char *status_why;           /* of what is not active */
  const struct people_day *granted; /* by endorsement */
  struct people_day last_use;
  const char *where; /* first place */
  int row_count;     /* how often the person stands there */
};

struct people {
  const struct roster *roster;
  char tables_sha256[65]; /* of all bytes of its tables, in their order; "" without tables */
  int unread_count; /* tables that are named and were not read: what they say of anybody is not known */
  int count;
  const struct people_person *list; /* by first appearance */
  struct people_index *index;
};

/* The bytes of one table; `bytes` NULL: it was not there, and `why` says so. */
struct people_table {
  const char *file; /* for messages */
  const void *bytes;
  size_t size;
  const char *why;
};

/*
 * `tables` in the order of roster->tables.  `today_day` is what a day is held to be in the future
 * of.  Remarks are added to `complaints`; only what a whole table lacks makes it drop out.
 */
struct people *people_read(const struct roster *roster, const struct people_table *tables,
                           int today_day, struct arena *arena, struct complaints *complaints);

int people_find(const struct people *people, const char *id); /* capital or not; -1: nobody */

/* Two ids under one name: perhaps one person. */
bool people_same_name(const struct people *people, int a, int b);

enum people_standing { PEOPLE_VALID, PEOPLE_NOT_KNOWN, PEOPLE_NOT_VALID };
const char *people_standing_word(enum people_standing standing); /* "valid" */

struct people_verdict {
  enum people_standing standing;
  int until_day;      /* VALID: the last day; ROSTER_NO_DAY: no end is set */
  const char *why;    /* "expired on 2026-02-03"; VALID: "until 2027-02-10" */
  const char *detail; /* why it was taken back, for who may see names; or NULL */
};

struct people_verdict people_endorsed(const struct people *people, int person, int endorsement,
                                      int day, struct arena *arena);

enum people_staffed { PEOPLE_STAFFED, PEOPLE_NOT_STAFFED, PEOPLE_HOURS_UNKNOWN };
struct people_hours {
  enum people_staffed now;
  const char *why;             /* "staffed 07:30-18:00", "holiday: winter closing" */
  int next_day, next_open_min; /* when staff come next; ROSTER_NO_DAY: not within a year */
};
/* At a local time of the suite's zone. */
struct people_hours people_hours(const struct roster *roster, const struct when_civil *at,
                                 struct arena *arena);

/* ---- the whole list, for the verb `inward people` ---- */
struct people_list {
  const struct facility *facility;
  const struct people *people;
  int day, only; /* only: one person, -1: all */
  bool names;
  const struct complaints *remarks;
};
void people_text(const struct people_list *l, struct buf *out);
void people_json(const struct people_list *l, struct buf *out);

#endif
