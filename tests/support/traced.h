#ifndef TESTS_SUPPORT_TRACED_H
#define TESTS_SUPPORT_TRACED_H

#include "fault/fault.h"

/*
 * Invented traces of the demo suite, with one fault in the truth.  The truth is the suite with every
 * figure drawn from its own ±; its readings get noise and rounding, go through a watch, and the fault
 * module sees them with the healthy suite as its model.  Reproducible: same seed, same trace.
 */
struct traced_world {
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  struct fault_model *model;
};
/* `more`: with speeds of the fans, duct pressures and face velocities of the benches beside what the
 * suite measures.  Reads examples/quillmere/; false after printing why not. */
bool traced_open(struct traced_world *w, bool more);
void traced_close(struct traced_world *w);

enum { TRACED_HEALTHY = -1 };

struct traced_fault {
  int kind;          /* enum fault_kind, or TRACED_HEALTHY */
  const char *part;  /* id of the part, or of the point */
  double size_ratio; /* as its kind means it, see traced.c */
};

struct traced_plan {
  struct traced_fault fault;
  double noise_ratio; /* of 1 % of a flow, 0.3 Pa, 0.5 % of a speed, 3 % of a velocity */
  uint64_t seed;
  int healthy_steps, steps; /* of five minutes; the fault begins within two hours after the first */
  int after_steps; /* findings are judged so many steps after the first alarm; 0: at the end */
};

struct traced_result {
  bool false_alarm;  /* before the fault */
  bool alarm;        /* since then */
  double delay_s;    /* from the fault to the alarm; NaN */
  bool first, named; /* its kind and part lead a finding; are among its guesses */
  bool first_kind;   /* its kind leads, at whatever part */
  double healthy_peak_ratio, peak_ratio;
  /* yardstick: limit checks at 20 %, keeps and half an hour without a change; and the largest share by
   * which a flow was off in two readings running */
  bool limit_false_alarm, limit_alarm;
  double limit_delay_s, limit_peak_healthy_ratio, limit_peak_ratio;
  int finding_count;
  enum fault_kind said; /* the first finding's first guess; meaningless without one */
};

/* `text`: NULL, or gets the sentence of the first finding, from `arena`. */
struct traced_result traced_run(struct traced_world *w, const struct traced_plan *plan,
                                struct arena *arena, const char **text);

#endif
