#ifndef MATTER_MOIST_IMPL_H
#define MATTER_MOIST_IMPL_H

/*
 * Perfect-gas moist air after ASHRAE Handbook - Fundamentals 2021 (SI) ch. 1,
 * per kilogram of dry air, enthalpy zero for dry air and liquid water at 0 degC.
 * Below 0 degC relative humidity, dew point and wet bulb are over ice.
 */
struct moist {
  double temperature_K, humidity_ratio, pressure_Pa;
};

extern const double moist_gas_constant_J_kg_K; /* dry air, eq. 1 */

/* Humidity ratios, kg of water per kg of dry air; NaN where there is none. */
double moist_vapour_to_ratio(double vapour_Pa, double pressure_Pa);
double moist_humidity_to_ratio(double temperature_K, double relative_humidity_ratio,
                               double pressure_Pa);
double moist_wet_bulb_to_ratio(double temperature_K, double wet_bulb_K, double pressure_Pa);
double moist_dew_point_to_ratio(double dew_point_K, double pressure_Pa);

double moist_vapour_Pa(const struct moist *air);
double moist_relative_humidity_ratio(const struct moist *air);
double moist_enthalpy_J_kg(const struct moist *air);
double moist_volume_m3_kg(const struct moist *air); /* per kilogram of dry air */
double moist_density_kg_m3(const struct moist *air);
double moist_dew_point_K(const struct moist *air); /* NaN for dry air */
double moist_wet_bulb_K(const struct moist *air);
double moist_temperature_K(double enthalpy_J_kg, double humidity_ratio);
double moist_vapour_enthalpy_J_kg(double temperature_K);

/*
 * The root between low and high of a function that rises (or falls) through zero once there:
 * bisection down to neighbouring doubles.  NaN when both ends have the same sign.
 */
double matter_bisect_si(double (*value_si)(double x_si, const void *context), const void *context,
                        double low_si, double high_si);

#endif
