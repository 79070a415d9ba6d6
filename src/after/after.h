#ifndef AFTER_AFTER_H
#define AFTER_AFTER_H

#include "air/air.h"
#include "base/arena.h"
#include "base/buf.h"
#include "facility/facility.h"
#include "numeric/numeric.h"
#include "units/units.h"

/*
 * What happens next: the air in time after sashes, doors, fans, power.
 * answer = f(facility, scene, events).
 *
 * Valves, terminals, fans and sensors move; the rooms' pressures follow them at once (a room settles
 * in about a second, docs/physics.md, "In time").  Particles are carried from room to room as the air
 * goes.  What a part's speed is stands in the suite file (`after`, `responds`) or is assumed, and
 * then the answer says so.
 *
 *     struct after_request request = {.event_count = 2,
 *                                     .events = (const char *[]){"10s door D2 open", "20s door D2 closed"}};
 *     struct after_answer *a = after_ask(facility, &request, &arena, &err);
 *     after_text(a, UNITS_SYSTEM_SI, &out);
 *
 * Times count from the start, at which the scene is steady.  Memory from the arena; the facility is
 * borrowed and must outlive the answer.  An answer depends on nothing asked before.
 */
enum {
  AFTER_EVENTS_MAX = 64,
  AFTER_TEXT_MAX = 200,
  AFTER_WORK_MAX_BYTES =
      512 << 20 /* of memory for one answer: what is enough for a day of events */
};

struct after_request {
  const struct scene *scene; /* where it begins; NULL: all parked, doors shut */
  int event_count;
  const char *const *events; /* "10s sash S3 work", in the order of their times */
  double for_s;              /* 0: five minutes beyond the last event */
};

/* The events there are, for documents; NULL behind the last. */
struct after_event_word {
  const char *verb, *example, *doc;
};
const struct after_event_word *after_event_word(int index);

/* The worst of a turn; the later the worse. */
enum after_severity {
  AFTER_NOTHING_MISSED,
  AFTER_STATION_SHORT, /* less than nine tenths of what it asks */
  AFTER_KEEP_MISSED,
  AFTER_TURNED_ROUND, /* a keep, or the air at a door */
  AFTER_STATION_LOST, /* less than half of what it asks */
  AFTER_OUT_OF_STATION
};

/* A keep after one turn, until the next. */
struct after_keep {
  int room, keep;
  double least_wanted_Pa; /* NaN: it has no least */
  double lowest_Pa, lowest_at_s;
  bool below, reversed; /* reversed: the lowest has the other sign than at the start */
  double below_from_s, below_s;
  bool till_end; /* still below when the next turn, or the end, comes */
};

/* Air the other way than at the start. */
struct after_reversal {
  bool at_door; /* else out of a station into its room */
  int index;
  double from_s, for_s, most_m3_s;
  bool till_end;
};

/* A station whose sash was moved, or which gets less than it asks. */
struct after_station {
  int station;
  bool moved;
  double steady_m3_s; /* where it goes, by the steady answer; NaN: none */
  double to_90_s,
      within_10_s; /* from when the sash begins to move; NaN: not before the next turn */
  double lowest_ratio, lowest_at_s; /* of its flow to what it asks; 1 where nothing is asked */
  double short_s;                   /* with less than nine tenths of it */
};

struct after_force { /* on a shut door */
  int door;
  double most_Pa, force_N, at_s;
};

struct after_particles {
  int room;
  double most_per_m3, limit_per_m3, above_s, clear_at_s; /* clear_at_s NaN: not before the end */
};

/* All events of one moment, and what comes until the next. */
struct after_turn {
  double at_s, until_s;
  int first_event, event_count;
  int keep_count, reversal_count, station_count;
  struct after_keep *keeps; /* every keep that could be told */
  struct after_reversal *reversals;
  struct after_station *stations;
  struct after_force force; /* the largest; door -1: none */
  double settled_s; /* from at_s until every keep stays within 0.5 Pa; NaN: not before the next */
  int worst;        /* enum after_severity */
};

/* After the last event, as the air then is. */
struct after_clock {
  int room;
  bool has_volume;
  double particles_s; /* to a hundredth; NaN: never, or not known */
  double gas_s, gas_least_s,
      gas_most_s;             /* the same by fresh air only: mixed perfectly, well, poorly */
  double fresh_changes_per_h; /* that it amounts to */
};

/* Everything at one time: columns by what they are (after_trace). */
struct after_trace {
  int count, width;
  double **rows;
  /* gases: share of a room's air; gas_out: m3 that have left the suite */
  int keeps, door_flows, door_drops, door_ratios, stations, asks, openings, particles, gases,
      gas_out, fans, feeds;
};

struct after_event {
  double at_s;
  const char *text; /* as given, time left away */
};

struct after_answer {
  const struct facility *facility;
  const char *scene;
  double for_s;
  bool missed; /* a keep, a reversal, a station short */
  int event_count, turn_count, clock_count, particle_count, assumed_count, unknown_count;
  struct after_event *events;
  struct after_turn *turns;
  int *worst_first; /* turns in that order */
  struct after_clock *clocks;
  struct after_particles *particles;
  const char **assumed, **unknown;
  struct after_trace trace;
  struct numeric_steps steps;
  int located,
      passed_over; /* turns of a control or a flow found in time; too quick to be looked for */
  bool lost;       /* some moment had no solution */
};

/* NULL with err: ERR_INPUT says which event and where in it ("event 2:5: ..."). */
struct after_answer *after_ask(const struct facility *facility, const struct after_request *request,
                               struct arena *arena, struct err *err);

/* How long the answer goes on: "10min", at most a day. */
NODISCARD enum err_code after_read_span(const char *text, double *out_s, struct err *err);

/* What one turn does, in sentences, the worst first; the last one is the act. */
const char *after_turn_words(const struct after_answer *a, const struct after_turn *turn,
                             enum units_system system, struct arena *arena);
const char *after_turn_title(const struct after_answer *a, const struct after_turn *turn,
                             struct arena *arena);

void after_text(const struct after_answer *a, enum units_system system, struct buf *out);
void after_json(const struct after_answer *a, struct buf *out);

#endif
