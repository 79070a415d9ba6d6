#ifndef STANDING_STANDING_H
#define STANDING_STANDING_H

#include "answer/answer.h"
#include "day/day.h"
#include "facility/processes.h"
#include "past/past.h"
#include "round/round.h"
#include "run/run.h"
#include "sighting/sighting.h"
#include "wet/wet.h"

/*
 * How each station stands: one row a station, made of facts that others hold apart, and what they come
 * to in one line.  "May I start here now?"
 *
 * What people told is folded from the record once (standing_recorded).  What points measure and the
 * shared air come as a live answer.  Each becomes facts: what is so, by what source, of when, how old it
 * may be, until when, what to do.  A fact stands against a start, or contradicts another, or is not known,
 * or is a condition, or is only told; the worst is the reason of the row.
 *
 *     standing_recorded(record, &place, now_ms, &arena, &told, &err);
 *     struct standing_table *table = standing_new(&moment, &arena);
 *     standing_add(table, station, &fact);      // what another module knows; any number
 *     standing_settle(table);                   // the worst first
 *     standing_text(table, -1, &out);
 *
 * Age makes no fact that stands against a start weaker, and one that speaks for it not known once it is
 * older than it may be.  What nobody told or measured is not known, and never good.  Nothing here grants
 * anything: the best that is said is under which conditions.
 *
 * No clock: the moment is handed in.  Everything lives in the arena, which must not run out; what the
 * moment points to is borrowed.
 */

/* ---- what people told, of a moment ---- */
struct standing_told {
  int64_t t_ms;
  const struct record_entry *const *withdrawn; /* per station, as past_withdrawals has it */
  const struct run_list *runs;
  const struct round_list *rounds;
  const struct sighting_list *glass; /* NULL: not asked for */
  const struct wet_baths *baths;     /* both NULL: no tank is named, and nothing was told of one */
  const struct wet_waste *waste;
  const struct record_entry *incidents; /* that still count, in order of time */
  int incident_count;
  /* Of stations taken out of use, runs, rounds, incidents and glass, of a moment that has not come: a
   * clock was ahead, or was set back since. */
  const struct record_entry *ahead;
  int ahead_count;
  const char *other_suite; /* the record is of another one; NULL */
};
struct standing_place {
  const struct facility *facility;
  const struct when_zone *zone;
  const struct wet_place *wet; /* its chemistry; NULL: what stands in tanks is not asked */
  int64_t clock_ms; /* what the clock says, where it is later than the moment asked of; or 0 */
};
/* ERR_LIMIT when it does not fit. */
NODISCARD enum err_code standing_recorded(struct record *record, const struct standing_place *place,
                                          int64_t t_ms, struct arena *arena,
                                          struct standing_told **out, struct err *err);
/*
 * What `inward may` is told of a station: who took it out of use, what runs there with nobody there, and
 * what of incidents, proofs, rounds, tanks, waste and glass stands against a start then or asks for a
 * person.  Of a record of another suite, that it is.  In `arena`, which must not run out.
 */
struct may_request;
void standing_tell_may(const struct standing_place *place, const struct standing_told *told,
                       int station, struct arena *arena, struct may_request *request);

/* ---- facts ---- */
enum standing_says { /* by falling gravity */
                     STANDING_AGAINST,
                     STANDING_CONTRADICTORY,
                     STANDING_NOT_KNOWN,
                     STANDING_CONDITION,
                     STANDING_NOTED,
                     STANDING_SAYS_COUNT
};
const char *standing_says_key(enum standing_says says); /* "not_known" */

struct standing_fact {
  const char
      *kind; /* one of the words of docs/api.md, which is also its rank: "run", "own alarm" */
  enum standing_says says;
  const char *line;   /* in a few words, to be read from afar: "COOLS UNTIL 19:40" */
  const char *text;   /* a sentence, or two */
  const char *next;   /* what to do about it; NULL: nothing that is known */
  const char *source; /* "entry 14 of the record", "the suite file" */
  const char *who;    /* who told it, or holds it; NULL */
  int64_t t_ms;       /* of when it is; INT64_MIN: of no moment */
  double at_most_s;   /* it may be so old; NaN: no limit is set, or none is needed */
  int64_t until_ms;   /* it is so until then; INT64_MIN: not said */
  bool by_day;        /* of both only the day is known: the first moment of one, and the one behind
                         the last */
};

enum standing_state { STANDING_NOT_READY, STANDING_TREAT_AS_NO, STANDING_UNDER_CONDITIONS };
const char *standing_state_key(enum standing_state state);   /* "not_known" */
const char *standing_state_words(enum standing_state state); /* "NOT KNOWN, TREAT AS NO" */

struct standing_row {
  enum standing_state state;
  const char *line; /* "NOT READY: COOLS UNTIL 19:40" */
  int fact_count, fact_room;
  struct standing_fact *facts; /* once settled: the worst first */
  /* The chemistry family on its deck, by what people told; NULL: not known, or none. */
  const char *family;
  bool is_deck_free; /* was told so, and nothing since */
};

#define STANDING_AHEAD_MS INT64_C(43200000) /* bookings are asked for so far ahead */

struct standing_moment {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t now_ms;
  const struct standing_told *told;  /* NULL: nothing is kept */
  const struct answer_live *live;    /* NULL: nothing is connected */
  const struct processes *processes; /* which bath is of which family; NULL */
  const struct day_bookings
      *bookings;            /* of now and of the hours after, by start; NULL: none are asked */
  const char *bookings_why; /* why they cannot be read; NULL */
};

struct standing_table {
  const struct standing_moment *moment;
  struct arena *arena;
  struct standing_row *rows; /* per station, in the order of the file */
};
/* With every fact of the moment, not settled yet. */
struct standing_table *standing_new(const struct standing_moment *moment, struct arena *arena);
/* Copies the struct; its texts must live as long as the table. */
void standing_add(struct standing_table *table, int station, const struct standing_fact *fact);
/* Sorts, and says what they come to; again after more was added. */
void standing_settle(struct standing_table *table);

/* ---- of a record, without a board ---- */
struct standing_asked {
  int64_t t_ms;
  int64_t clock_ms;                    /* as in struct standing_place */
  const struct wet_place *wet;         /* NULL: as in struct standing_place */
  const struct processes *processes;   /* or NULL */
  const struct day_bookings *bookings; /* as in struct standing_moment */
  const char *bookings_why;
};
/*
 * The table of a moment of the record of `place` (bound, as past.h has it; its feeds NULL: nothing is
 * connected): what was told and measured until then, and the air of that.  It borrows `place`.
 */
NODISCARD enum err_code standing_of_record(const struct past_place *place,
                                           const struct standing_asked *asked, struct arena *arena,
                                           struct standing_table **out, struct err *err);

/* ---- printed; station -1: all ---- */
void standing_text(const struct standing_table *table, int station, struct buf *out);
void standing_json(const struct standing_table *table, int station,
                   struct buf *out); /* inward.ready.1 */
/* Some station is not ready, or not known; of one: that one. */
bool standing_asks_a_person(const struct standing_table *table, int station);

#endif
