#ifndef RUN_RUN_H
#define RUN_RUN_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/emit.h"
#include "base/err.h"
#include "base/typed.h"
#include "base/when.h"
#include "facility/facility.h"
#include "record/record.h"
#include "units/units.h"

/*
 * Runs with nobody there: what people told of them, and what is so now.
 *
 * A run begins when a person says what runs at a station, until when and whom to call; it is over when
 * somebody says that the heat is off; and it ends when somebody has looked, and says so.  Between the
 * two last it cools.  When that ends is the later of
 *
 *     the clock    made of the last two temperatures read since it was over: the fast end by Newton's law
 *                  with the readings at the kind end of their ±, the slow end by turbulent free convection
 *                  (bend 1/3) with them at the unkind end.  Evaporation, which ends as it cools, makes it
 *                  slower still, so a new reading replaces the old ones
 *     the wait     of the house for that station, from when it was over
 *
 * and of neither it is known that nothing is hot: "measure before you touch" stands beside every end.
 *
 * What was told is an entry of the record each (kind `run`, detail inward.run.1); nothing is changed
 * afterwards.  No clock: entries, the facility and the moment go in.
 *
 *     run_take(&asked, &arena, &told, &faults)             // what a person typed -> an entry
 *     run_recorded(record, facility, zone, now_ms, &arena, &list, &err);
 *     run_text(list, UNITS_SYSTEM_SI, &out);
 */
enum run_act {
  RUN_STARTED,
  RUN_READ,    /* a temperature */
  RUN_LATER,   /* it takes longer: until another moment */
  RUN_OVER,    /* the heat is off, it cools */
  RUN_CLEARED, /* somebody looked: cold, emptied, gone */
  RUN_ACT_COUNT
};
const char *run_act_name(enum run_act act); /* "started" */
int run_act_find(const char *name);         /* -1: no such act */

enum { RUN_WORDS_MOST_BYTES = 500, RUN_READINGS_MOST = 50, RUN_STRANGERS_MOST = 8 };

struct run_words {
  const char *what, *holds, *hazards; /* the process; chemicals by their full names; what they do */
  const char *call, *second;          /* whom to call, and who else knows of it */
};

/* ---- telling ---- */
struct run_asked {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t now_ms;
  double back_most_s; /* `at` may lie so far back */
  /* act, about, who, at; of started: what, holds, hazards, call, second, until; of later: until;
   * of read, and if wanted of started and over: temperature; of cleared: words */
  const struct typed_pair *pairs;
  int count;
  /* What stands at the station now, so that nothing is told in vain; NULL: not known here. */
  const struct run_list *now;
};
struct run_told {
  enum run_act act;
  int station;
  int64_t t_ms;
  const char *about, *who, *text, *detail; /* of the entry */
};
/* ERR_INPUT: every fault is a line in `faults`, and *out is untouched. */
NODISCARD enum err_code run_take(const struct run_asked *asked, struct arena *arena,
                                 struct run_told *out, struct buf *faults);

/* ---- what is so ---- */
enum run_phase {
  RUN_RUNS,
  RUN_OVERDUE, /* until has passed, and nobody said that it is over */
  RUN_COOLS,
  RUN_MAY_BE_COLD, /* by the clock and the wait: to be measured */
  RUN_NOT_KNOWN    /* it is over, and neither clock nor wait tells when it is cold */
};
const char *run_phase_key(enum run_phase phase); /* "may_be_cold" */
const char *run_phase_words(enum run_phase phase);

struct run_reading {
  int64_t t_ms;
  double temperature_K;
};

struct run {
  int station;
  int64_t number; /* of the entry that began it */
  const char *who;
  struct run_words words;
  int64_t started_ms, until_ms, over_ms; /* over_ms: INT64_MIN: not yet */
  int reading_count;
  struct run_reading readings[RUN_READINGS_MOST]; /* the newest */
  enum run_phase phase;
  bool has_clock;
  int64_t clock_from_ms, clock_to_ms; /* cold between */
  const struct facility_wait *wait;   /* NULL: the house has none for that station */
  int64_t wait_ms;                    /* when it ends */
  int64_t cold_ms;                    /* the later of the two; INT64_MAX: not known */
  const char *why; /* the phase in a sentence: what governs, or what is missing */
};

struct run_list {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t now_ms;
  int count,
      unread; /* unread: entries that could not be read, or of a station that is not in the suite */
  int stranger_count;
  struct run_stranger { /* started at a station that the suite does not name, and not cleared */
    const char *about;
    struct run_words words;
    int64_t number;
  } strangers[RUN_STRANGERS_MOST]; /* the newest */
  struct run *runs;                /* that are not cleared, the worst first, then by station */
};
/* Entries in order of time, of kind `run`; one whose detail is no inward.run.1 is passed over, and counted.
 * NULL: they do not fit into the arena. */
struct run_list *run_look(const struct facility *f, const struct when_zone *zone,
                          const struct record_entry *entries, int count, int64_t now_ms,
                          struct arena *arena);
/* The same of a record, by what was written down until then. */
NODISCARD enum err_code run_recorded(struct record *record, const struct facility *f,
                                     const struct when_zone *zone, int64_t now_ms,
                                     struct arena *arena, struct run_list **out, struct err *err);
/* NULL: none at that station. */
const struct run *run_at(const struct run_list *list, int station);
/* Why that station needs its flow and may not be asked to lower: one sentence; NULL: it does not. */
const char *run_needs_flow(const struct run *run);

bool run_asks_a_person(const struct run_list *list); /* something is overdue, or not known */
void run_text(const struct run_list *list, enum units_system system, struct buf *out);
void run_json(const struct run_list *list, struct buf *out); /* inward.runs.1 */
void run_emit(struct emit *json, const struct run_list *list, const struct run *run);

#endif
