#ifndef MATCH_MATCH_H
#define MATCH_MATCH_H

#include "air/air.h"
#include "base/arena.h"
#include "base/buf.h"
#include "base/complaints.h"
#include "facility/facility.h"
#include "feed/feed.h"
#include "sheet/sheet.h"
#include "walk/walk.h"

/*
 * Does the model match the building?  Figures of the suite file, and what instruments are off by for good,
 * fitted to what was measured.
 *
 *     struct match_readings *readings = match_table(facility, book, &arena, &complaints);
 *     struct match_result *result = match_fit(facility, readings, &options, &arena, &err);
 *     match_text(result, UNITS_SYSTEM_SI, &out);
 *
 * How (docs/why/033).  Each figure may be off by its own ±, each instrument by the lasting share of its
 * ±; each reading scatters by the rest.  What is sought is the smallest sum of squares of all three, each
 * in its own standard uncertainty, where what lies beyond `match: full until` pulls no harder (Huber,
 * Annals of Mathematical Statistics 35, 1964).  Slopes come from warm solves of a copy that is moved a
 * little; steps are those of Gauss and Newton, damped where they do not lead down (Marquardt, SIAM Journal
 * 11, 1963).  What a figure is known by afterwards is the inverse of the sum's curvature there.
 *
 * Readings, result and all in them live in the arena given and borrow the facility.
 */

/* ---- what was measured ---- */

enum match_what {
  MATCH_PRESSURE, /* node index over node `over` */
  MATCH_FACE,     /* station, m/s */
  MATCH_STATION,  /* flows, m3/s: station ... */
  MATCH_FEED,     /* ... terminal `over` of supply index */
  MATCH_SUPPLY,
  MATCH_MAIN,
  MATCH_EXHAUST,
  MATCH_SPEED /* fan, ratio */
};

struct match_quantity {
  enum match_what what;
  int index, over;
};

struct match_reading {
  const char *id, *name; /* "2b"; "Wet over Gown" */
  struct match_quantity quantity;
  enum facility_gauge_of gauge;
  int scene, instrument; /* instrument: -1 where its ± is the reading's own */
  double measured_si;
  double own_si;     /* standard uncertainty, without what its instrument is off by for good */
  double setting_si; /* the part of it that is the hand's */
  struct place place;
  const char *remark;                                    /* or NULL */
  bool printed;                                          /* it was predicted before it was taken: */
  double printed_si, printed_half_si, printed_middle_si; /* of the band, rounded as printed */
  double own_pm_si;                                      /* its row's own ±, k = 2; else 0 */
  bool blank;       /* of match_blanks: not read yet; measured_si is NaN */
  double own_ratio; /* of a blank: its row's ± as a share of what will be read; else 0 */
};

/* What one instrument is off by for good: standard uncertainties. */
struct match_instrument {
  const char *name; /* "manometer"; "M-2"; "Wet-dp" */
  enum facility_gauge_of gauge;
  double zero_si, slope_ratio;
};

struct match_scene {
  const char *words; /* "busy; door D2=open" */
  struct scene scene;
};

struct match_readings {
  const char *source; /* "walk test", "table", "trend", "record" */
  int count, scene_count, instrument_count, note_count;
  struct match_reading *list;
  struct match_scene *scenes;
  struct match_instrument *instruments;
  const char **notes;    /* what was left out, and why */
  const char *date, *by; /* as typed, or NULL */
  /* Of a sheet of predictions: the day it was printed, who signed it before anything was read; or NULL. */
  const char *printed_on, *signed_by;
  char suite_sha256[65]; /* of the form; "" when it does not say */
};

enum { MATCH_READINGS_MAX = 400, MATCH_SCENES_MAX = 60 };

/*
 * A table of readings (CSV or a workbook): titles 'of', 'what', 'value', and as wished 'reading', 'scene',
 * 'over', 'unit', '±', 'instrument', 'remark'.  NULL after a complaint.
 */
struct match_readings *match_table(const struct facility *facility, const struct sheet_book *book,
                                   struct arena *arena, struct complaints *complaints);
/* The same, with the rows that are not filled in yet. */
struct match_readings *match_blanks(const struct facility *facility, const struct sheet_book *book,
                                    struct arena *arena, struct complaints *complaints);

/*
 * A sheet of predictions: a table that match_table reads back once its values are filled in, with what the
 * suite file predicts and the band in which all of them lie as often as `walk: covers` asks, the file's hash,
 * and lines for the day, who reads, and who signs before anything is read.  A CSV.
 */
struct match_form_job {
  const struct facility *facility;
  const struct match_readings *blanks; /* NULL: all that can be read in the scene */
  const struct scene *scene;           /* of all that can be read; NULL: everything parked */
  const char *printed_on;              /* a day, or NULL: left to the pen */
  enum units_system system;
};
NODISCARD enum err_code match_form(const struct match_form_job *job, struct arena *arena,
                                   struct buf *out, struct err *err);

/* A filled form of a walk test. */
struct match_readings *match_walk(const struct walk_plan *plan, const struct walk_readings *filled,
                                  const char *file, struct arena *arena);

/*
 * Observations of a trend, in the order of their times, each seen when it was: the mean of each point over the
 * stretches in which nothing moved (`match: steady`, `settles`).  What is missing, faulty, frozen or too old
 * is in no mean, and is told; a point that stood still for `stuck after` is left out wholly.  Two points of one
 * thing are two instruments: where they exclude each other, the readings contradict each other.  NULL: not
 * enough memory.
 */
struct match_trend_job {
  const struct facility *facility;
  const struct feeds *feeds;
  const struct when_zone *zone; /* for words */
  const char *file;
  const struct feed_observation *list; /* of match_trend */
  long count;
};
struct match_readings *match_trend(const struct match_trend_job *job, struct arena *arena);

/*
 * The same of more than anybody would hold in memory, given twice: each observation is looked at, then each
 * is taken, in the order of their times.  It ends in every case; NULL as above.
 *
 *     struct match_trend *trend = match_trend_new(&job, &arena);
 *     ... match_trend_look(trend, &observation) ...
 *     ... match_trend_take(trend, &observation) ...
 *     readings = match_trend_end(trend);
 */
struct match_trend;
struct match_trend *match_trend_new(const struct match_trend_job *job, struct arena *arena);
void match_trend_look(struct match_trend *t, const struct feed_observation *o);
void match_trend_take(struct match_trend *t, const struct feed_observation *o);
struct match_readings *match_trend_end(struct match_trend *t); /* NULL in, NULL out */

/* ---- what came of it ---- */

enum match_verdict {
  MATCH_MATCHES,     /* every reading lies where the file's own ± allow it */
  MATCH_DIFFERS,     /* some do not; other figures would explain them */
  MATCH_UNEXPLAINED, /* some do not, and no figures explain them */
  MATCH_CONTRADICTS, /* two readings of one thing exclude each other */
  MATCH_TOO_FEW /* inside, but fewer than `match: least`, or no figure is known any better for them */
};

struct match_row {                  /* of a reading */
  double written_si, written_pm_si; /* by the file; ±: of file, instrument and reading, k = 2 */
  double fitted_si;                 /* as fitted, what the instrument would show */
  double before_ratio, after_ratio; /* what is left, in its standard uncertainty */
  double weight_ratio;              /* 1: counted in full */
  bool outside, outlier;            /* of the file's ±; of what the fit can explain */
  int against;                      /* a reading that contradicts it, or -1 */
};

enum match_of { MATCH_OF_FIGURE, MATCH_OF_EXPONENT, MATCH_OF_ZERO, MATCH_OF_SLOPE };
enum match_known {
  MATCH_KNOWN,    /* known now */
  MATCH_BETTER,   /* known better than before */
  MATCH_TOGETHER, /* only together with others */
  MATCH_NOT       /* no reading touches it */
};
enum { MATCH_WITH_MAX = 3 };

struct match_figure {
  enum match_of of;
  int index; /* input, leak, instrument */
  const char *name;
  enum units_dimension dimension;
  double written_si, was_pm_si, fitted_si, pm_si; /* a law scaled as a whole: its value 1 */
  double shift_ratio;                             /* in the ± it had */
  double left_ratio, alone_ratio;                 /* of its ±: now; if all others were known */
  enum match_known known;
  bool at_bound, beyond;                /* beyond: moved by more than its ± */
  int with_count, with[MATCH_WITH_MAX]; /* told only together with these figures */
};

enum { MATCH_NEXT_MAX = 3 };

struct match_next_reading {
  const char *what, *how, *scene; /* scene: the state of a walk; NULL: the figure itself */
  double after_m3_s;              /* the ± once it is read */
};

/* What would narrow most what is left in the pool that has least; NULL: no pool, nothing to narrow. */
struct match_next {
  const char *pool;
  double written_m3_s, now_m3_s; /* the ± by the file; by these readings too */
  int count;
  struct match_next_reading list[MATCH_NEXT_MAX]; /* the most useful first */
};

struct match_options {
  const struct scene *scene;  /* where the next reading is to tell; NULL: everything parked */
  bool no_next;               /* it is not looked for */
  bool (*goes_on)(void *arg); /* asked between steps; false ends it with ERR_LIMIT.  NULL: always */
  void *arg;
};

struct match_result {
  const struct facility *facility;
  const struct match_readings *readings;
  enum match_verdict verdict;
  const char *sentence, *next_action; /* why; what to do */
  struct match_row *rows;
  int figure_count;
  struct match_figure *figures;
  int outside, outliers, contradictions, known_count;
  bool converged, other_suite;
  int iterations;
  double misfit_ratio, misfit_most_ratio; /* of all readings together; what chance allows */
  double coverage_factor_ratio;
  struct match_next next;
  const double *shift_ratio;    /* per input of the facility: as fitted, in its ± */
  const double *exponent_ratio; /* per leak: as fitted, turned about the flow at pivot_Pa */
  const double *pivot_Pa;
  const double *spread_ratio; /* figure_count x figure_count: what is left, in halves of ± had */
};

/* NULL with err set: the air has no answer in a scene, or a limit. */
struct match_result *match_fit(const struct facility *facility,
                               const struct match_readings *readings,
                               const struct match_options *options, struct arena *arena,
                               struct err *err);

/* ---- words and contract ---- */
const char *match_verdict_words(enum match_verdict verdict); /* "MATCHES WITHIN ITS ±" */
const char *match_verdict_key(enum match_verdict verdict);
const char *match_known_key(enum match_known of); /* "better", as in inward.match.1 */
const char *match_of_key(enum match_of of);       /* "instrument zero" */
void match_text(const struct match_result *r, enum units_system system, struct buf *out);
void match_json(const struct match_result *r, struct buf *out);
/*
 * The figures that are known better, as an overlay for --with; false: there is nothing to change.
 * `leaves`: of the suite as it stands with its overlays (facility_print_suite, facility_leaves).
 */
bool match_overlay(const struct match_result *result, const struct facility_leaf *leaves, int count,
                   const char *readings_file, struct arena *arena, struct buf *out);
/* The same from the texts the facility was read from, the suite's first.  ERR_INPUT: nothing is known better. */
NODISCARD enum err_code match_write(const struct match_result *result,
                                    const struct facility_text *texts, int text_count,
                                    const char *readings_file, struct arena *arena, struct buf *out,
                                    struct err *err);

#endif
