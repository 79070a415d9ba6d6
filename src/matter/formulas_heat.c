#include "base/constants.h"
#include "matter/formula_impl.h"
#include "matter/moist_impl.h"

static const char *sensible_heat(const double *in_si, double *out_si)
{
  double rise_K = in_si[2] - in_si[1];

  out_si[0] = in_si[0] * in_si[3] / (1 + in_si[4]) * (1006 + 1860 * in_si[4]) * rise_K;
  out_si[1] = in_si[0] * in_si[3];
  return NULL;
}

static const char *latent_heat(const double *in_si, double *out_si)
{
  double water_kg_s = in_si[0] * in_si[3] * (in_si[2] - in_si[1]);

  out_si[0] = water_kg_s * (2501e3 + 1805 * (in_si[4] - ZERO_CELSIUS_K));
  out_si[1] = water_kg_s;
  return NULL;
}

static const char *sensible_heat_shortcut(const double *in_si, double *out_si)
{
  out_si[0] = 1230 * in_si[0] * (in_si[2] - in_si[1]);
  return NULL;
}

static const char *latent_heat_shortcut(const double *in_si, double *out_si)
{
  out_si[0] = 3.01e6 * in_si[0] * (in_si[2] - in_si[1]);
  return NULL;
}

static const char *total_heat(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[3] * (in_si[2] - in_si[1]);
  out_si[1] = in_si[0] * in_si[3];
  return NULL;
}

static const char *cooling_time(const double *in_si, double *out_si)
{
  out_si[0] = matter_cooling_time_s(in_si[0], in_si[1], in_si[2], in_si[3], in_si[4], in_si[5]);
  out_si[1] = out_si[0] + in_si[2];
  return isnan(out_si[0])
             ? "by these readings it never gets there: it must be warmer than its surroundings, cool "
               "from the first to the second, and the target lie above its surroundings"
             : NULL;
}

static const char *heating_energy(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[3] * 1006 * in_si[1] * in_si[2];
  return NULL;
}

static const char *temperature_rise(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / (in_si[1] * in_si[2] * 1006);
  return NULL;
}

static const char *humidifier_water(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * (in_si[2] - in_si[1]);
  return NULL;
}

#define HEAT_DENSITY                                                                               \
  ASSUME("density", DENSITY, 1.2, 0.05, 20, "of the air where the flow is counted")
#define FLOW_INPUT NEED("flow", FLOW, 0, 1e4, "air flow")
#define FROM_TO                                                                                    \
  NEED("temperature-in", TEMPERATURE, 173.15, 473.15, "before"),                                   \
      NEED("temperature-out", TEMPERATURE, 173.15, 473.15, "after")
#define WATER_FROM_TO                                                                              \
  NEED("humidity-ratio-in", HUMIDITY_RATIO, 0, 1, "before"),                                       \
      NEED("humidity-ratio-out", HUMIDITY_RATIO, 0, 1, "after")

static const struct matter_formula rows[] = {
    {"sensible-heat",
     "q = Q rho/(1 + W) (1006 + 1860 W)(t2 - t1)",
     AF21_16 " eq. 33 with the heats of ch. 1",
     WIDE_RANGE,
     "flow=2360L/s temperature-in=-3.1degC temperature-out=24degC",
     {FLOW_INPUT, FROM_TO, HEAT_DENSITY,
      ASSUME("humidity-ratio", HUMIDITY_RATIO, 0, 0, 1, "of the air")},
     {GIVE("heat", POWER, "given to the air; negative when taken"),
      GIVE("mass-flow", MASS_FLOW, "of moist air")},
     sensible_heat},
    {"latent-heat",
     "q = Q rho (W2 - W1)(2501 + 1.805 t) kJ/kg",
     AF21_16 " eq. 35",
     WIDE_RANGE,
     "flow=2360L/s humidity-ratio-in=0.83g/kg humidity-ratio-out=5.6g/kg",
     {FLOW_INPUT, WATER_FROM_TO, HEAT_DENSITY,
      ASSUME("temperature", TEMPERATURE, 293.15, 173.15, 473.15, "at which the water is vapour")},
     {GIVE("heat", POWER, "given to the air as vapour"), GIVE("water", MASS_FLOW, "put in")},
     latent_heat},
    {"sensible-heat-shortcut",
     "q = 1230 Q (t2 - t1), W with Q in m3/s",
     AF21_16 " eq. 34, the rounded factor near sea level",
     WIDE_RANGE,
     "flow=2360L/s temperature-in=-3.1degC temperature-out=24degC",
     {FLOW_INPUT, FROM_TO},
     {GIVE("heat", POWER, "given to the air; 2 % above first principles")},
     sensible_heat_shortcut},
    {"latent-heat-shortcut",
     "q = 3.01e6 Q (W2 - W1), W with Q in m3/s",
     AF21_16 " eq. 35, the rounded factor near sea level",
     WIDE_RANGE,
     "flow=2360L/s humidity-ratio-in=0.83g/kg humidity-ratio-out=5.6g/kg",
     {FLOW_INPUT, WATER_FROM_TO},
     {GIVE("heat", POWER, "given to the air as vapour")},
     latent_heat_shortcut},
    {"total-heat",
     "q = Q rho (h2 - h1)",
     "energy balance",
     WIDE_RANGE,
     "flow=1m3/s enthalpy-in=10kJ/kg enthalpy-out=40kJ/kg",
     {FLOW_INPUT, NEED("enthalpy-in", SPECIFIC_ENERGY, -2e5, 3e6, "before"),
      NEED("enthalpy-out", SPECIFIC_ENERGY, -2e5, 3e6, "after"), HEAT_DENSITY},
     {GIVE("heat", POWER, "given to the air"), GIVE("mass-flow", MASS_FLOW, "of the air")},
     total_heat},
    {"heating-energy",
     "E = Q rho 1006 dT time",
     "energy balance, dry air of 1006 J/(kg K)",
     WIDE_RANGE,
     "flow=1m3/s temperature-difference=1K time=8760h",
     {FLOW_INPUT, NEED("temperature-difference", TEMPERATURE_DIFFERENCE, -200, 200, "mean"),
      NEED("time", TIME, 0, 1e10, "over which"), HEAT_DENSITY},
     {GIVE("energy", ENERGY, "given to the air")},
     heating_energy},
    {"air-temperature-rise",
     "dT = q/(Q rho 1006)",
     "energy balance, dry air of 1006 J/(kg K)",
     WIDE_RANGE,
     "heat=5kW flow=1m3/s",
     {NEED("heat", POWER, -1e9, 1e9, "given to the air"), NEED("flow", FLOW, 1e-9, 1e4, "air flow"),
      HEAT_DENSITY},
     {GIVE("temperature-rise", TEMPERATURE_DIFFERENCE, "of the air")},
     temperature_rise},
    {"humidifier-water",
     "m = mda (W2 - W1)",
     AF21_1 " eq. 45",
     WIDE_RANGE,
     "dry-mass-flow=2kg/s humidity-ratio-in=1.8g/kg humidity-ratio-out=9.3g/kg",
     {NEED("dry-mass-flow", MASS_FLOW, 0, 1e4, "of dry air"), WATER_FROM_TO},
     {GIVE("water", MASS_FLOW, "put in; negative when taken out")},
     humidifier_water},
    {"cooling-time",
     "d(T - T0)/dt = -c (T - T0)^(1 + bend)",
     "Newton's law of cooling (bend 0); McAdams, Heat Transmission, 1954, ch. 7: free convection (1/4, 1/3)",
     WIDE_RANGE,
     "first=90degC second=60degC between=10min target=35degC around=20degC",
     {NEED("first", TEMPERATURE, 250, 700, "an earlier reading"),
      NEED("second", TEMPERATURE, 250, 700, "a later reading"),
      NEED("between", TIME, 1, 1e7, "them"), NEED("target", TEMPERATURE, 250, 700, "to reach"),
      NEED("around", TEMPERATURE, 250, 400, "of the surroundings"),
      ASSUME("bend", RATIO, 0, 0, 1, "of the law; 0: proportional")},
     {GIVE("time", TIME, "after the second reading"),
      GIVE("time-from-first", TIME, "after the first")},
     cooling_time},
};

const struct formula_group formula_heat = GROUP_OF("Heat and water", rows);
