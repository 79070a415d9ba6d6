#ifndef UNITS_UNITS_H
#define UNITS_UNITS_H

#include "base/buf.h"
#include "base/err.h"

#include <stdbool.h>

/*
 * Quantities: "450 m3/h", "15 Pa ± 2 Pa", "180 Pa at 1450 m3/h".
 *
 * Inside the program every number is SI and its name says so (drop_Pa,
 * flow_m3_s, temperature_K).  Other units exist at the edge only: this is the
 * one module that multiplies by a conversion factor, and the table of units is
 * closed, so that a refusal can list what is allowed.
 *
 * A dimension is more than its SI exponents: actual and standard flow, gauge
 * pressure and pressure difference, % open and % relative humidity, air changes
 * and frequency are kept apart because mixing them is how people get hurt.
 */
enum units_dimension {
#define DIMENSION(name, si_text, words) UNITS_##name,
#include "units/dimensions.def"
#undef DIMENSION
  UNITS_DIMENSION_COUNT
};

struct units_quantity {
  double si;
  bool has_plus_minus;
  double plus_minus_si; /* absolute, same dimension, >= 0 */
  bool has_at;
  double at_si; /* the dimension the caller named */
  bool has_at_plus_minus;
  double at_plus_minus_si; /* of what follows "at" */
};

/*
 * Reads  number unit [± number unit | ± number %] [at number unit [± ...]].
 * `at` is UNITS_NOTHING when no "at" part is allowed.  "+/-" and "+-" read as ±.
 * The decimal mark is '.'; "1,5" and "1 450" are refused with a hint.  A bare
 * number is refused, except for UNITS_RATIO, where it is the number itself.
 *
 * "± 5 %" is five parts in a hundred of the value, except that beside a SHARE it
 * is five points, beside a temperature it is refused, and beside %open and %RH
 * the unit must be repeated, because people mean either.  Beside a temperature
 * "± 1 K", "± 1 degC" and "± 2 degF" are differences.
 *
 * A pressure without (g) or (a) is a difference; where a gauge pressure is wanted
 * it is read as one; an absolute pressure needs (a), or is in atm.  Temperatures
 * and absolute pressures below zero are refused.
 *
 * On failure returns ERR_INPUT with err->col at the first byte not understood
 * (1-based, in bytes; one past the end where something is missing), says what is
 * allowed, and leaves *out alone.
 */
NODISCARD enum err_code units_parse(const char *text, enum units_dimension want,
                                    enum units_dimension at, struct units_quantity *out,
                                    struct err *err);
/*
 * A plain quantity from least to most, both allowed, for a key: without ±, in wide bounds that catch a
 * slip in the unit.  ERR_INPUT begins with the key.
 */
NODISCARD enum err_code units_parse_within(const char *key, const char *text,
                                           enum units_dimension dimension, double least_si,
                                           double most_si, double *si_out, struct err *err);

/* The SI unit's text, "Pa", and what people call the dimension, "pressure difference". */
const char *units_si_text(enum units_dimension dimension);
const char *units_words(enum units_dimension dimension);

/* Comma-separated texts of the units allowed for a dimension, for messages and the manual. */
void units_list(enum units_dimension dimension, struct buf *out);

enum units_system { UNITS_SYSTEM_SI, UNITS_SYSTEM_US };

/* Is this the text of a unit of that dimension, in any spelling? */
bool units_knows(const char *text, enum units_dimension dimension);

/*
 * Prints for people: value and unit at the dimension's everyday resolution
 * (10 m3/h, 0.5 Pa, 0.01 m/s; the table is in print.c), e.g. "1450 m³/h".  Small
 * values get a finer step, so that two digits remain; large ones no more than
 * four.  Only what is under a millionth of the everyday step prints as 0.
 * NaN prints as "not known".
 */
void units_print(struct buf *out, double si, enum units_dimension dimension,
                 enum units_system system);

/* Prints in the unit of that text, seven digits, whatever is everyday: "0.35 m3/s". */
void units_print_in(struct buf *out, double si, enum units_dimension dimension, const char *text);

/* Prints a finite number so that units_parse gives back the same bits, in the SI unit. */
void units_print_exact(struct buf *out, double si, enum units_dimension dimension);

/* ---- the table itself, for tests and the manual ---- */
struct units_unit {
  const char *text;
  enum units_dimension dimension;
  double zero, factor, per; /* si = (value - zero) * factor / per */
  const char *source;       /* where the factor comes from */
};
int units_count(void);
const struct units_unit *units_at(int index);

/* Other spellings: each stands for the text of a unit, in whatever dimensions that has. */
struct units_spelling {
  const char *text, *means;
};
int units_spelling_count(void);
const struct units_spelling *units_spelling_at(int index);

#endif
