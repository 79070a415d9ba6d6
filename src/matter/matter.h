#ifndef MATTER_MATTER_H
#define MATTER_MATTER_H

#include "units/units.h"

/*
 * Properties of air and single formulas of the trade: pure functions, each with
 * the source of its equation and the range it is stated for.
 *
 * Every formula a person may want alone is a row of the formula table, which
 * `inward calc` reads, docs/physics.md is printed from, and the published
 * checks run through.  Outside a formula's stated range it refuses.
 */

/* Moist air, ASHRAE Handbook - Fundamentals 2021 (SI) ch. 1.  Saturation: eqs 5 and 6. */
double matter_saturation_pressure_Pa(double temperature_K); /* 173.15..473.15 K, else NaN */
double matter_standard_pressure_Pa(double altitude_m);      /* eq. 3, -5000..11000 m, else NaN */
/* Perfect-gas moist air; pressure absolute, relative humidity as 0..1 (over ice below 0 degC). */
double matter_air_density_kg_m3(double temperature_K, double humidity_ratio_rh, double pressure_Pa);
/* Sutherland as in the US Standard Atmosphere 1976 (value from memory, checked to 1 %). */
double matter_air_viscosity_Pa_s(double temperature_K);
/* Darcy friction factor: Colebrook to 1e-12, 64/Re at or below Re 2300 (ASHRAE ch. 21 eq. 19). */
double matter_friction_factor(double reynolds, double roughness_ratio);

/* ---- the formula table ---- */

enum { MATTER_INPUTS_MAX = 12, MATTER_OUTPUTS_MAX = 6 };

struct matter_variable {
  const char *key; /* as typed: "temperature=20degC" */
  enum units_dimension dimension;
  const char *meaning;
  bool has_default;
  double standard_si;       /* the default */
  double least_si, most_si; /* the stated range, inclusive */
};

struct matter_formula {
  const char *name;     /* "saturation-pressure" */
  const char *equation; /* plain text, for the manual */
  const char *source;   /* work, edition, equation number; or "common practice, no source" */
  int input_count;
  struct matter_variable inputs[MATTER_INPUTS_MAX];
  int output_count;
  struct matter_variable outputs[MATTER_OUTPUTS_MAX];
  /* Inputs within range.  NaN in an output means it has no value there. */
  void (*compute)(const double *in_si, double *out_si);
};

int matter_formula_count(void);
const struct matter_formula *matter_formula_at(int index);
const struct matter_formula *matter_formula_find(const char *name); /* NULL: none */

/*
 * Reads "key=value" arguments against a formula's inputs, checks ranges, computes.
 * ERR_INPUT with words ("temperature: 300 degC is above the stated 200 degC") on failure.
 */
NODISCARD enum err_code matter_formula_run(const struct matter_formula *formula, int argument_count,
                                           const char *const *arguments, double *out_si,
                                           struct err *err);
void matter_print_manual(struct buf *out); /* docs/formulas.md */

#endif
