#ifndef ENERGY_ENERGY_H
#define ENERGY_ENERGY_H

#include "base/arena.h"
#include "facility/facility.h"

/*
 * What open sashes cost, first in air: how much each station moved over a span, how much of it was
 * above its parked flow, and why.  (What that air costs in money and energy comes later, to the same
 * traces.)
 *
 * Knows no record and no clock: it is handed, per station, what was measured over the span in steps,
 * and the moments when it was not known.  Each figure is a range that holds whatever the unknown
 * moments were, as long as the station then drew between its parked and its most flow; beside it a
 * best estimate, only where something measured supports it.
 *
 *     struct energy_answer answer;
 *     energy_ask(&question, &arena, &answer);           // ERR_LIMIT: the arena is too small
 *     answer.all.excess.least_m3 .. most                // m3, actual, at the stations' inlets
 *
 * Volumes are actual, of the air that enters a station, as its flow is measured and as the suite gives
 * it (design 3.5): nothing is brought to standard conditions.
 *
 * Flow q of a moment: measured, where a point measures it.  Where no point does, it is computed by the
 * station's own rule (docs/air-state.md, "What a station asks") at the measured opening, exact while
 * the fans of its main run as the file says, at most that otherwise.  A flow that is measured and
 * missing may be anything from parked to most, each with its ± (from 0 while a fan is lost or not
 * known); the rule at a known opening is then the best estimate.
 *
 * Causes.  Let a be what the station asks at its opening (parked: its parked flow P; under a blocked
 * sash what it may draw at most), and d the ± of a: that of the suite's figures, and the resolutions.
 *   q - a >  d   q - a is `beyond` what it asks (a sensor that stands still, a drifting valve), and
 *                a - P belongs to the state
 *   else         all of q - P belongs to the state: attended, unattended, blocked or parked
 * Sums are signed, so that causes and excess agree to the last digit.  `untold` is no cause: it is how
 * much is surely above parked, or may be, without any of them being sure.
 *
 * Ranges only shrink when more is known, but for `untold`, whose least may grow: an excess becomes
 * sure before its cause does.  The best estimate lies inside them: it gives no cause more than it may
 * have, nor less than is surely its own; of what is untold it may hold less, as it may name a cause that
 * is likely but not sure.
 */

/* A value from its moment to the next step, or to the end of the span; before the first: not known. */
struct energy_step {
  int64_t from_ms;
  bool known;
  double si;
};
struct energy_trace {
  bool measured; /* some point says it; else nothing ever does, and that is no gap */
  int count;
  const struct energy_step *steps; /* from_ms grows */
};

enum energy_signal {
  ENERGY_OPENING,  /* m */
  ENERGY_FLOW,     /* m3/s */
  ENERGY_PRESENCE, /* 1: somebody is there; 0 */
  ENERGY_BLOCKED,  /* 1: something stands under the sash; 0 */
  ENERGY_SIGNALS
};
struct energy_given { /* of a station */
  struct energy_trace signals[ENERGY_SIGNALS];
  double opening_resolution_m, flow_resolution_m3_s;
  bool has_bounds; /* of a passive one: nothing in the file says what it draws */
  double parked_m3_s, most_m3_s;
};
struct energy_question {
  const struct facility *facility;
  int64_t from_ms, to_ms; /* from < to */
  double
      bridge_s; /* a gap no longer, the same before and after it, counts so in the best estimate */
  const struct energy_given *given; /* per station */
  const struct energy_trace *fans;  /* per fan: how many units run */
};

enum energy_cause {
  ENERGY_ATTENDED,   /* open, and somebody there */
  ENERGY_UNATTENDED, /* open, and nobody there */
  ENERGY_BLOCKED_SASH,
  ENERGY_BEYOND, /* above what its opening asks */
  ENERGY_PARKED, /* within the ± of its parked flow, or below it */
  ENERGY_CAUSES,
  ENERGY_UNTOLD = ENERGY_CAUSES, /* cannot be told */
  ENERGY_PARTS
};
const char *energy_cause_name(enum energy_cause cause); /* "open, nobody there" */

struct energy_range {
  double least_m3, most_m3;
  double best_m3; /* NaN: nothing measured supports one */
};

/* Side by side over the span, alike inside: what is drawn. */
struct energy_stretch {
  int64_t from_ms, to_ms;
  enum energy_cause cause; /* the largest; UNTOLD where it is not known */
  bool flow_known;         /* measured, or computed where no point measures it */
  bool told_on;            /* not known, but the same before and after: so, as far as it may be */
  struct energy_range excess, parts[ENERGY_PARTS];
};
struct energy_station {
  bool counted;       /* false: nothing in the suite bounds it, or it is out of service */
  bool measures_flow; /* else computed from its opening */
  double parked_m3;   /* what it draws parked, over the span */
  struct energy_range moved, excess, parts[ENERGY_PARTS];
  double part_s[ENERGY_PARTS]; /* for how long it was so, for sure */
  double not_known_s;          /* its flow was not known */
  double beyond_s, less_s; /* measured above, below what its opening asks, by more than the ± */
  double less_m3;          /* below: how much was missing */
  int stretch_count;
  const struct energy_stretch *stretches;
};
struct energy_sum {
  int station_count;
  double parked_m3;
  struct energy_range moved, excess, parts[ENERGY_PARTS];
};
struct energy_answer {
  const struct energy_station *stations; /* per station */
  const struct energy_sum *mains;        /* per main */
  const struct energy_sum *supplies;     /* per supply: the stations of its rooms */
  struct energy_sum all;
};
/* Everything lives in `arena`. */
NODISCARD enum err_code energy_ask(const struct energy_question *question, struct arena *arena,
                                   struct energy_answer *out, struct err *err);

#endif
