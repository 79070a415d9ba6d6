#ifndef WALK_WALK_IMPL_H
#define WALK_WALK_IMPL_H

#include "walk/walk.h"

/* What the files of this folder share. */

/* ---- quantity.c ---- */
double walk_resolution_si(enum facility_gauge_of of, enum units_system system);
const char *walk_say(struct arena *arena, const char *fmt, ...) PRINTF_LIKE(2, 3);

/* ---- solve.c: the readings of a walk in variants of one suite ---- */
/* value_si[reading]: what each quantity would be, in the scene of its step; NaN where the air has no
 * solution or says nothing. */
void walk_values(const struct facility *facility, const struct walk_step *steps, int step_count,
                 const struct walk_reading *readings, double *value_si);

/* ---- band.c ---- */
/* The ± of a reading but for the model's, which plan.c adds from the figures' own. */
struct walk_band walk_band_of(const struct facility *facility, const struct walk_quantity *quantity,
                              double predicted_si, double setting_si);
/* The seam to `doubts`: the model's standard uncertainty from the ± that each figure alone puts on
 * the reading. */
double walk_model_si(const struct facility *facility, enum facility_gauge_of of,
                     const double *plus_minus_si, int count);
double walk_standard_si(const struct walk_band *band);

/* ---- cause.c ---- */
const char *walk_input_name(const struct facility *facility, int input,
                            struct arena *arena); /* "leak L-wet, area" */
void walk_find_causes(struct walk_result *result, struct arena *arena);

#endif
