#include "matter/matter.h"

#include "base/constants.h"

#include "matter/moist_impl.h"

#include <math.h>

/* ASHRAE Handbook - Fundamentals 2021 (SI) ch. 1 is AF21-1 below. */

const double moist_gas_constant_J_kg_K = 287.042; /* AF21-1 eq. 1 */

static const double mass_ratio = 0.621945;         /* water to dry air, AF21-1 */
static const double gas_constant_ratio = 1.607858; /* its reciprocal as printed there */
static const double dry_heat = 1006, vapour_heat = 1860, vapour_at_zero = 2501e3;

static double over_ice_Pa(double T) /* AF21-1 eq. 5 */
{
  return exp(-5.6745359e3 / T + 6.3925247 - 9.6778430e-3 * T + 6.2215701e-7 * T * T +
             2.0747825e-9 * T * T * T - 9.4840240e-13 * T * T * T * T + 4.1635019 * log(T));
}

static double over_liquid_Pa(double T) /* AF21-1 eq. 6 */
{
  return exp(-5.8002206e3 / T + 1.3914993 - 4.8640239e-2 * T + 4.1764768e-5 * T * T -
             1.4452093e-8 * T * T * T + 6.5459673 * log(T));
}

double matter_saturation_pressure_Pa(double temperature_K)
{
  if (!(temperature_K >= 173.15 && temperature_K <= 473.15))
    return NAN;
  return temperature_K < ZERO_CELSIUS_K ? over_ice_Pa(temperature_K)
                                        : over_liquid_Pa(temperature_K);
}

double matter_standard_pressure_Pa(double altitude_m) /* AF21-1 eq. 3 */
{
  if (!(altitude_m >= -5000 && altitude_m <= 11000))
    return NAN;
  return ATMOSPHERE_PA * pow(1 - 2.25577e-5 * altitude_m, 5.2559);
}

double matter_air_density_kg_m3(double temperature_K, double relative_humidity_ratio,
                                double pressure_Pa)
{
  struct moist air = {temperature_K, 0, pressure_Pa};

  air.humidity_ratio = moist_humidity_to_ratio(temperature_K, relative_humidity_ratio, pressure_Pa);
  return moist_density_kg_m3(&air);
}

double matter_air_viscosity_Pa_s(double temperature_K)
{
  if (!(temperature_K > 0))
    return NAN;
  return 1.458e-6 * temperature_K * sqrt(temperature_K) / (temperature_K + 110.4);
}

double moist_vapour_to_ratio(double vapour_Pa, double pressure_Pa)
{
  if (!(vapour_Pa >= 0 && vapour_Pa < pressure_Pa))
    return NAN;
  return mass_ratio * vapour_Pa / (pressure_Pa - vapour_Pa);
}

double moist_humidity_to_ratio(double temperature_K, double relative_humidity_ratio,
                               double pressure_Pa)
{
  if (!(relative_humidity_ratio >= 0 && relative_humidity_ratio <= 1))
    return NAN;
  return moist_vapour_to_ratio(
      relative_humidity_ratio * matter_saturation_pressure_Pa(temperature_K), pressure_Pa);
}

double moist_dew_point_to_ratio(double dew_point_K, double pressure_Pa)
{
  return moist_vapour_to_ratio(matter_saturation_pressure_Pa(dew_point_K), pressure_Pa);
}

/* The energy balance of a wetted bulb: AF21-1 for liquid at and above 0 degC, for ice below. */
double moist_wet_bulb_to_ratio(double temperature_K, double wet_bulb_K, double pressure_Pa)
{
  double t = temperature_K - ZERO_CELSIUS_K, bulb = wet_bulb_K - ZERO_CELSIUS_K;
  double saturated = moist_dew_point_to_ratio(wet_bulb_K, pressure_Pa);

  if (wet_bulb_K >= ZERO_CELSIUS_K)
    return ((2501 - 2.326 * bulb) * saturated - 1.006 * (t - bulb)) /
           (2501 + 1.86 * t - 4.186 * bulb);
  return ((2830 - 0.24 * bulb) * saturated - 1.006 * (t - bulb)) / (2830 + 1.86 * t - 2.1 * bulb);
}

double moist_vapour_Pa(const struct moist *air)
{
  return air->pressure_Pa * air->humidity_ratio / (mass_ratio + air->humidity_ratio);
}

double moist_relative_humidity_ratio(const struct moist *air)
{
  return moist_vapour_Pa(air) / matter_saturation_pressure_Pa(air->temperature_K);
}

double moist_vapour_enthalpy_J_kg(double temperature_K)
{
  return vapour_at_zero + vapour_heat * (temperature_K - ZERO_CELSIUS_K);
}

double moist_enthalpy_J_kg(const struct moist *air)
{
  return dry_heat * (air->temperature_K - ZERO_CELSIUS_K) +
         air->humidity_ratio * moist_vapour_enthalpy_J_kg(air->temperature_K);
}

double moist_temperature_K(double enthalpy_J_kg, double humidity_ratio)
{
  return ZERO_CELSIUS_K + (enthalpy_J_kg - humidity_ratio * vapour_at_zero) /
                              (dry_heat + humidity_ratio * vapour_heat);
}

double moist_volume_m3_kg(const struct moist *air)
{
  return moist_gas_constant_J_kg_K * air->temperature_K *
         (1 + gas_constant_ratio * air->humidity_ratio) / air->pressure_Pa;
}

double moist_density_kg_m3(const struct moist *air)
{
  return (1 + air->humidity_ratio) / moist_volume_m3_kg(air);
}

double matter_bisect_si(double (*value_si)(double x_si, const void *context), const void *context,
                        double low_si, double high_si)
{
  bool low_positive = value_si(low_si, context) > 0;

  if ((value_si(high_si, context) > 0) == low_positive)
    return NAN;
  for (;;) {
    double middle_si = low_si + (high_si - low_si) / 2;

    if (!(middle_si > low_si && middle_si < high_si))
      return middle_si;
    if ((value_si(middle_si, context) > 0) == low_positive)
      low_si = middle_si;
    else
      high_si = middle_si;
  }
}

static double vapour_missing(double T, const void *context)
{
  return matter_saturation_pressure_Pa(T) - *(const double *)context;
}

double moist_dew_point_K(const struct moist *air)
{
  double vapour_Pa = moist_vapour_Pa(air);

  return matter_bisect_si(vapour_missing, &vapour_Pa, 173.15, 473.15);
}

static double humidity_missing(double bulb_K, const void *context)
{
  const struct moist *air = context;
  double ratio = moist_wet_bulb_to_ratio(air->temperature_K, bulb_K, air->pressure_Pa);

  /* Above the boiling point there is no limit to the vapour a bulb could give. */
  return isnan(ratio) ? HUGE_VAL : ratio - air->humidity_ratio;
}

/*
 * A bulb at 0 degC may be wet or frozen, and just below the liquid branch's humidity at 0 degC
 * both balances have a root.  The frozen one is taken, so that the answer is single.
 */
double moist_wet_bulb_K(const struct moist *air)
{
  double T = air->temperature_K, low = 173.15, high = T + 1e-6; /* so that saturation is inside */

  if (T >= ZERO_CELSIUS_K && humidity_missing(ZERO_CELSIUS_K, air) <= 0)
    low = ZERO_CELSIUS_K;
  else
    high = fmin(high, nextafter(ZERO_CELSIUS_K, 0));
  return fmin(T, matter_bisect_si(humidity_missing, air, low, high));
}
