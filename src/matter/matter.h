#ifndef MATTER_MATTER_H
#define MATTER_MATTER_H

#include "units/units.h"

/*
 * Properties of air and single formulas of the trade: pure functions, each with
 * the source of its equation and the range it is stated for.
 *
 * Every formula a person may want alone is a row of the formula table, which
 * `inward calc` reads, docs/formulas.md is printed from, and the published
 * checks run through.  Outside a formula's stated range it refuses.
 *
 *     const struct matter_formula *drop = matter_formula_find("duct-drop");
 *     const char *given[] = {"flow=470L/s", "diameter=250mm", "roughness=0.12mm"};
 *     double out_si[MATTER_OUTPUTS_MAX];
 *     if (matter_formula_run(drop, 3, given, NULL, out_si, &err)) ...
 */

/* Moist air, ASHRAE Handbook - Fundamentals 2021 (SI) ch. 1.  Saturation: eqs 5 and 6. */
double matter_saturation_pressure_Pa(double temperature_K); /* 173.15..473.15 K, else NaN */
double matter_standard_pressure_Pa(double altitude_m);      /* eq. 3, -5000..11000 m, else NaN */
/* Perfect-gas moist air; pressure absolute, relative humidity as 0..1 (over ice below 0 degC).
 * NaN where the water vapour alone would exceed the pressure, and outside the range above. */
double matter_air_density_kg_m3(double temperature_K, double relative_humidity_ratio,
                                double pressure_Pa);
/* Sutherland as in the US Standard Atmosphere 1976 (value from memory, checked to 1 %). */
double matter_air_viscosity_Pa_s(double temperature_K);
/* Darcy friction factor: Colebrook to 1e-12, 64/Re at or below Re 2300 (ASHRAE ch. 21 eq. 19).
 * NaN unless reynolds > 0 and 0 <= roughness_ratio < 1. */
double matter_friction_factor(double reynolds, double roughness_ratio);

/* How long after the second of two readings what cools without stirring reaches the target: its rate goes
 * with (T - around)^(1 + bend).  bend 0: Newton's law; 1/4 and 1/3: free convection, laminar and turbulent
 * (McAdams, Heat Transmission, 3rd ed. 1954, ch. 7), slower at the end.  Negative: it was reached before.
 * NaN: it does not cool between the readings, or never gets there. */
double matter_cooling_time_s(double first_K, double second_K, double between_s, double target_K,
                             double around_K, double bend_ratio);
/* ISO 14644-1: particles of that size and larger per cubic metre in that class, three figures as the
 * standard rounds. */
double matter_class_limit_per_m3(double iso_class, double size_m);

/* ---- the formula table ---- */

enum { MATTER_INPUTS_MAX = 16, MATTER_OUTPUTS_MAX = 12 };

struct matter_variable {
  const char *key; /* as typed: "temperature=20degC"; NULL ends a list shorter than its room */
  enum units_dimension dimension;
  const char *meaning;
  bool has_default;
  double standard_si;       /* the default; NaN: may be left out */
  double least_si, most_si; /* the stated range, inclusive */
};

struct matter_formula {
  const char *name;     /* "saturation-pressure" */
  const char *equation; /* plain text, for the manual */
  const char *source;   /* work, edition, equation number; or "common practice, no source" */
  const char *range;    /* where the ranges of the inputs come from */
  const char *example;  /* arguments, separated by single blanks */
  struct matter_variable inputs[MATTER_INPUTS_MAX];
  struct matter_variable outputs[MATTER_OUTPUTS_MAX];
  /* Inputs are within range, NaN where left out.  Returns NULL, or what is wrong with them
   * together.  NaN in an output means it has no value there. */
  const char *(*compute)(const double *in_si, double *out_si);
};

int matter_formula_count(void);
const struct matter_formula *matter_formula_at(int index);
const struct matter_formula *matter_formula_find(const char *name);    /* NULL: none */
const struct matter_formula *matter_formula_nearest(const char *name); /* NULL: none is near */
const char *matter_formula_subject(int index); /* heading before this formula, or NULL */
/* Said with every answer of it, where work can hurt someone; or NULL. */
const char *matter_formula_caution(const struct matter_formula *formula);
int matter_input_count(const struct matter_formula *formula);
int matter_output_count(const struct matter_formula *formula);

/*
 * Reads "key=value" arguments against a formula's inputs, checks ranges, computes.
 * in_si (may be NULL) receives the inputs used, defaults included and NaN where left out.
 * ERR_INPUT with words ("temperature: 300 degC is above the stated 200 degC") on failure.
 */
NODISCARD enum err_code matter_formula_run(const struct matter_formula *formula, int argument_count,
                                           const char *const *arguments, double *in_si,
                                           double *out_si, struct err *err);
/*
 * A formula by its name over SI values by their keys, ended by a key of NULL; what is left out has its
 * default.  NULL and outputs, or why not: a value that is not known (NaN), or outside its stated range.
 */
struct matter_given {
  const char *key;
  double si;
};
const char *matter_formula_compute(const char *name, const struct matter_given *given,
                                   double *out_si);
void matter_print_manual(struct buf *out); /* docs/formulas.md */

#endif
