#ifndef WALK_WALK_H
#define WALK_WALK_H

#include "air/air.h"
#include "base/arena.h"
#include "base/buf.h"
#include "base/complaints.h"
#include "facility/facility.h"
#include "sheet/sheet.h"
#include "units/units.h"

/*
 * The walk test: half an hour with a manometer and a vane anemometer that shows whether the suite
 * file describes the place.
 *
 * A plan is a short list of steps, least disturbing first: what to set, what to read, what the model
 * says it will read, and the band the reading must lie in, all of it fixed before anybody walks.
 * Readings come back and are compared; a reading outside its band points at the figures of the suite
 * file that would explain it.  plan = f(facility, scene); result = f(plan, readings).
 *
 *     struct walk_plan *plan = walk_plan(facility, scene, &options, arena, &err);
 *     walk_form(plan, UNITS_SYSTEM_SI, NULL, &csv);                  // give out, have it filled in
 *     struct walk_readings *readings = walk_read(plan, book, arena, complaints);
 *     struct walk_result *result = walk_compare(plan, readings, arena, &err);
 *
 * The bands: each reading's own ± (instrument, hand and sash, and that of the prediction) are added
 * as the GUM adds them (JCGM 100:2008), and widened so that a whole walk ends without a miss in the
 * share of cases the suite asks for (docs/why/014).  Plan and result live in the arena given and
 * borrow the facility.  A walk never asks to open a station whose scene says that it is running,
 * blocked or withdrawn, nor for a state in which the model misses anything.
 */

/* What is read.  `of` says with which instrument; room: index over `over`, both node indices; face:
 * station; duct: node over outdoors; supply, speed: supply, fan. */
struct walk_quantity {
  enum facility_gauge_of of;
  int index, over;
};

struct walk_band { /* standard uncertainties, and the half width at the plan's coverage factor */
  double instrument_si, setting_si, model_si, half_si;
};

enum { WALK_BEARS_MAX = 3 };

struct walk_reading {
  const char *id; /* "2b": step and letter, as on the form */
  int step;
  struct walk_quantity quantity;
  const char *what; /* "Wet over Gown", "face of A5" */
  const char *how;  /* "tube under door D2, door shut" */
  double predicted_si;
  struct walk_band band;
  int bears_count; /* the figures it depends on most, the first most of all */
  const char *bears[WALK_BEARS_MAX];
};

struct walk_step {
  const char *title;
  int act_count;
  const char **acts; /* what to set, in order */
  struct scene scene;
  bool technician; /* only with the ventilation technician there */
  double time_s;
  int first, count; /* its readings */
};

struct walk_plan {
  const struct facility *facility;
  const char *scene;
  enum air_tier tier;
  int step_count, reading_count;
  struct walk_step *steps;
  struct walk_reading *readings;
  double time_s, coverage_factor_ratio;
  int before_count, left_out_count; /* what to see to first; what was left out, and why */
  const char **before, **left_out;
  /* [input of the facility][reading]: what adding the figure's ± does to it; private to walk */
  int input_count;
  double *effect_si;
};

struct walk_options {
  bool technician; /* add what only the ventilation technician may do */
  bool everything; /* all that could be read, not only what tells most; without its bearings */
};

/* NULL with err set: nothing to read in this suite, the air has no solution, or a limit. */
struct walk_plan *walk_plan(const struct facility *facility, const struct scene *scene,
                            const struct walk_options *options, struct arena *arena,
                            struct err *err);

/* What the answer says the instrument will show; NaN when it cannot say. */
double walk_predicted_si(const struct facility *facility, const struct air_answer *answer,
                         const struct walk_quantity *quantity);
enum units_dimension walk_dimension(enum facility_gauge_of of);

/* ---- uncertainty, after JCGM 100:2008 ---- */

enum walk_spread {
  WALK_STANDARD, /* a standard deviation */
  WALK_LIMIT,    /* hardly ever passed, all values between alike: a / sqrt 3 (4.3.7) */
  WALK_EXPANDED, /* k = 2: U / 2 (4.3.3) */
};
struct walk_part {
  enum walk_spread spread;
  double plus_minus_si;
};
double walk_combined_si(const struct walk_part *parts, int count); /* root of squares, 5.1.2 */
/* How many standard uncertainties, so that all of `readings` lie inside with at least that
 * probability: each alone in its root (Sidak 1967; holds whatever they have in common). */
double walk_coverage_factor_ratio(double covers_ratio, int readings);

/* ---- readings ---- */

struct walk_entry {
  bool read;
  double value_si;
  const char *remark; /* or NULL */
  bool printed;       /* the form's own prediction and band came along */
  double printed_si, printed_half_si;
};

struct walk_readings {
  char suite_sha256[65]; /* of the form; "" when it does not say */
  const char *date, *by; /* as typed, or NULL */
  int entry_count;       /* the plan's reading_count */
  struct walk_entry *entries;
  int foreign_count; /* readings of another revision's walk that this one does not ask */
};

/* Nothing read yet. */
struct walk_readings *walk_blank(const struct walk_plan *plan, struct arena *arena);

/* The form as a table: CSV.  `readings` (may be NULL) fills it. */
void walk_form(const struct walk_plan *plan, enum units_system system,
               const struct walk_readings *readings, struct buf *out);

/* Reads a filled form.  NULL after a complaint; a cell left empty is a reading not taken. */
struct walk_readings *walk_read(const struct walk_plan *plan, const struct sheet_book *book,
                                struct arena *arena, struct complaints *complaints);
/* The steps a form holds, so that the right plan is made for it: was the technician's asked for? */
bool walk_form_has_technician(const struct sheet_book *book);

/* One typed reading: "12.5", "12,5", "0.05 inWC"; without a unit it is in the form's.  A decimal
 * comma is taken where it cannot be anything else. */
NODISCARD enum err_code walk_parse(const struct walk_reading *reading, enum units_system system,
                                   const char *text, double *out_si, struct err *err);

/* ---- the result ---- */

enum walk_verdict { WALK_NOT_READ, WALK_INSIDE, WALK_OUTSIDE };

struct walk_row {
  enum walk_verdict verdict, printed_verdict; /* by the suite as it is; by what the form printed */
  double difference_si;                       /* measured minus predicted */
};

/* One figure, instrument or hand that would explain misses if it were other than written. */
struct walk_cause {
  const char *figure; /* "leak L-wet, area"; "the manometer's zero" */
  int input;          /* of the facility, or -1: no figure of the file */
  double value_si;    /* what it would have to be; for an instrument or hand NaN */
  int explains;       /* misses that end with it */
  double left_ratio;  /* of the squared misfit of all readings, what remains */
  const char *look;   /* where to look next */
};

enum { WALK_CAUSES_MAX = 5 };

struct walk_result {
  const struct walk_plan *plan;
  const struct walk_readings *readings;
  struct walk_row *rows;
  int inside, outside, unread;
  bool other_suite; /* read against another revision of the file */
  int cause_count;
  struct walk_cause causes[WALK_CAUSES_MAX];
  bool unexplained; /* misses that no single figure explains */
  const char *sentence, *next;
};

struct walk_result *walk_compare(const struct walk_plan *plan, const struct walk_readings *readings,
                                 struct arena *arena, struct err *err);

/* ---- words and contract ---- */
void walk_plan_text(const struct walk_plan *plan, enum units_system system, struct buf *out);
void walk_plan_json(const struct walk_plan *plan, struct buf *out);
void walk_result_text(const struct walk_result *result, enum units_system system, struct buf *out);
/* "leak L-wet, area: about 610 cm2 where the file says 420 cm2 (would ...)" */
void walk_cause_words(const struct walk_result *result, int cause, enum units_system system,
                      struct buf *out);
void walk_result_json(const struct walk_result *result, struct buf *out);

/* A value and its unit at the resolution of a form: "10.2 Pa".  walk_unit: the form's unit. */
void walk_print(struct buf *out, double si, enum facility_gauge_of of, enum units_system system);
void walk_print_step(struct buf *out, double si, enum facility_gauge_of of,
                     enum units_system system); /* with its sign: "+3.1 Pa" */
const char *walk_unit(enum facility_gauge_of of, enum units_system system);

/* What is said before anybody starts, and on every paper. */
extern const char *const walk_cautions[];
extern const int walk_caution_count;

#endif
