#ifndef MATCH_MATCH_IMPL_H
#define MATCH_MATCH_IMPL_H

#include "match/match.h"

/* What the files of this folder share. */

/* The head of a sheet of predictions, for who writes it and who reads it back. */
#define MATCH_HEAD_PRINTED "predicted on"
#define MATCH_HEAD_SIGNED  "signed before the test by"

/* ---- least.c: robust least squares with priors, whatever the model ---- */

struct match_least {
  int readings, unknowns;
  const double *measured, *own; /* own: standard uncertainty of each reading */
  const double *prior;          /* per unknown: 1 where its own ± counts, 0 where it has none */
  const double *low, *high;     /* per unknown; in standard uncertainties, as all unknowns are */
  double full_ratio;            /* beyond, pulls do not grow */
  int iterations_most;
  void *of;
  /* What the readings would be at x; false: no answer there. */
  bool (*predict)(void *of, const double *x, double *out);
  /* The same, and slope[reading * unknowns + unknown]. */
  bool (*slopes)(void *of, const double *x, double *out, double *slope);
};

struct match_solution {
  bool answered, converged;
  int iterations;
  double cost;
  double *x, *predicted, *slope, *covariance; /* the last: unknowns x unknowns */
  bool *at_bound;
};

double match_weight(double ratio, double full_ratio); /* Huber's */
/* Starts from x = 0.  All of it in the arena. */
struct match_solution *match_least_solve(const struct match_least *least, struct arena *arena);

/* ---- model.c: the suite's figures and its instruments as unknowns ---- */

struct match_unknown {
  enum match_of of;
  int index;
};

struct match_model {
  const struct facility *f;
  const struct match_readings *readings;
  struct air_moved *moved;
  int count;
  struct match_unknown *unknowns;
  double *low, *high;
  double *pivot_Pa; /* per leak: where its exponent turns */
  double *scratch_si;
  const struct match_options *asked; /* or NULL */
  bool stopped;                      /* it was not to go on */
};

/* False with err set.  Release in every case. */
bool match_model_make(struct match_model *m, const struct facility *f,
                      const struct match_readings *readings, struct arena *arena, struct err *err);
void match_model_release(struct match_model *m);
bool match_model_predict(void *of, const double *x, double *out_si);
bool match_model_slopes(void *of, const double *x, double *out_si, double *slope_si);
double match_model_exponent(const struct match_model *m, int leak, double x);

/* ---- readings.c ---- */
const char *match_name(const struct facility *f, const struct match_quantity *q,
                       struct arena *arena);
enum facility_gauge_of match_gauge(const struct facility *f, const struct match_quantity *q);
/* Sets own_si and the instrument of a reading whose value is set, from the suite's `walk`. */
int match_instrument(struct match_readings *readings, const struct facility *f, const char *name,
                     enum facility_gauge_of gauge);
double match_own_si(const struct facility *f, enum facility_gauge_of gauge, double value_si,
                    double setting_si);

/* How far a face velocity goes with the height a hand sets; 0 of all else. */
double match_setting_si(const struct facility *f, const struct scene *scene,
                        const struct match_quantity *q, double value_si);
/* What reads it where nobody says with what: "manometer", or the thing's own sensor `name`. */
const char *match_usual_instrument(enum facility_gauge_of gauge, const char *name);
const char *match_id(const struct facility *f, const struct match_quantity *q);

/* ---- named.c ---- */
/* "'MU/Gwn' has no flow in this suite; is it 'MU/Gown'?"; NULL: not enough memory. */
const char *match_no_such(const struct facility *f, const char *what, const char *id,
                          struct arena *arena);

/* ---- judge.c ---- */
/* How far all `count` may lie off, each in its standard uncertainty, before a reading is outside. */
double match_coverage_factor_ratio(const struct facility *f, int count);
bool match_judge(struct match_result *result, const struct match_model *model,
                 const struct match_solution *first, const struct match_solution *end,
                 struct arena *arena);

/* The figure that moved most, and is known by it; or -1. */
int match_most_moved(const struct match_result *r);

/* ---- text.c ---- */
bool match_is_foretold(const struct match_reading *r); /* inside the band that was printed */

/* ---- action.c ---- */
/* NULL: not enough memory. */
const char *match_next_action(const struct match_result *r, struct arena *arena);

/* ---- next.c: what it could find stands in result->next ---- */
void match_find_next(struct match_result *result, struct match_model *model, const double *x,
                     const struct scene *scene, struct arena *arena);

#endif
