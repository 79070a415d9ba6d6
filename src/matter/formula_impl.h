#ifndef MATTER_FORMULA_IMPL_H
#define MATTER_FORMULA_IMPL_H

#include "matter/matter.h"

#include <math.h>

/*
 * The rows of the formula table, one file per subject.  A row's compute function reads its
 * inputs by position, in the order of the row.
 */
struct formula_group {
  const char *title;
  const char *caution; /* said with every answer; NULL: none */
  const struct matter_formula *rows;
  int count;
};

extern const struct formula_group formula_air, formula_processes, formula_leaks, formula_buoyancy,
    formula_doors, formula_ducts, formula_duct_sizes, formula_fans, formula_dampers, formula_rooms,
    formula_stations, formula_heat, formula_solutions, formula_vapours, formula_etching,
    formula_use;

#define CAUTIOUS_GROUP_OF(title, caution, rows)                                                    \
  {                                                                                                \
    title, caution, rows, (int)(sizeof(rows) / sizeof(rows)[0])                                    \
  }
#define GROUP_OF(title, rows) CAUTIOUS_GROUP_OF(title, NULL, rows)

/* One input or output of a row: needed, assumed when left out, may be left out, given back. */
#define NEED(key, dimension, least, most, meaning)                                                 \
  {                                                                                                \
    key, UNITS_##dimension, meaning, false, 0, least, most                                         \
  }
#define ASSUME(key, dimension, standard, least, most, meaning)                                     \
  {                                                                                                \
    key, UNITS_##dimension, meaning, true, standard, least, most                                   \
  }
#define MAY(key, dimension, least, most, meaning)                                                  \
  {                                                                                                \
    key, UNITS_##dimension, meaning, true, (double)NAN, least, most                                \
  }
#define GIVE(key, dimension, meaning)                                                              \
  {                                                                                                \
    key, UNITS_##dimension, meaning, false, 0, 0, 0                                                \
  }

#define WIDE_RANGE "no source: wide bounds that catch a slip in the unit"

/* Works named more than once. */
#define AF21_1  "ASHRAE Handbook - Fundamentals 2021 (SI) ch. 1"
#define AF21_16 "ASHRAE Handbook - Fundamentals 2021 (SI) ch. 16"
#define AF21_21 "ASHRAE Handbook - Fundamentals 2021 (SI) ch. 21"

/* Inputs that many rows share. */
#define SITE_INPUTS                                                                                \
  MAY("pressure", ABSOLUTE_PRESSURE, 1e4, 1e6, "pressure; left out: 101.325 kPa, or by altitude"), \
      MAY("altitude", LENGTH, -5000, 11000, "height of the site: standard atmosphere, eq. 3")
#define DENSITY_INPUT                                                                              \
  ASSUME("density", DENSITY, 1.204, 0.05, 2000, "density of the air (or other fluid)")
#define SECTION_INPUTS                                                                             \
  MAY("flow", FLOW, 0, 1e4, "flow; or give velocity"),                                             \
      MAY("velocity", VELOCITY, 0, 200, "mean velocity; or give flow"),                            \
      MAY("diameter", LENGTH, 1e-4, 30, "inside diameter; or give width and height"),              \
      MAY("width", LENGTH, 1e-4, 30, "inside width of a rectangular section"),                     \
      MAY("height", LENGTH, 1e-4, 30, "inside height of a rectangular section")
enum { SECTION_INPUT_COUNT = 5 };

/* Site pressure from the two SITE_INPUTS at in_si[0]; NULL or what is wrong. */
const char *formula_site(const double *in_si, double *pressure_Pa);

/* A duct section from the SECTION_INPUTS at in_si[0]; NULL or what is wrong. */
struct section {
  double flow_m3_s, velocity_m_s, area_m2, hydraulic_m;
};
const char *formula_section(const double *in_si, struct section *out);

bool formula_given(double value_si); /* not left out */
int formula_given_count(const double *in_si, int count);

#endif
