#ifndef BASE_CONSTANTS_H
#define BASE_CONSTANTS_H

/* Numbers that several folders share and nobody sets.  Factors between units are src/units' alone. */
#define PI                   3.14159265358979323846
#define GAS_CONSTANT_J_MOL_K 8.31446261815324 /* SI 2019, exact */
#define ZERO_CELSIUS_K       273.15
#define ATMOSPHERE_PA        101325.0 /* the standard atmosphere: NIST SP 811 */

#endif
