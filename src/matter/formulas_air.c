#include "matter/formula_impl.h"
#include "matter/moist_impl.h"

static const char *saturation_pressure(const double *in_si, double *out_si)
{
  out_si[0] = matter_saturation_pressure_Pa(in_si[0]);
  return NULL;
}

static const char *standard_atmosphere(const double *in_si, double *out_si)
{
  out_si[0] = matter_standard_pressure_Pa(in_si[0]);
  out_si[1] = 288.15 - 0.0065 * in_si[0];
  out_si[2] = matter_air_density_kg_m3(out_si[1], 0, out_si[0]);
  return NULL;
}

/* The ten outputs that every moist-air row gives, in MOIST_OUTPUTS order. */
static const char *moist_outputs(const struct moist *air, double *out_si)
{
  double saturated = moist_humidity_to_ratio(air->temperature_K, 1, air->pressure_Pa);

  if (isnan(air->humidity_ratio))
    return "there is no such air: the water would be boiling at this pressure";
  if (air->humidity_ratio < 0)
    return "there is no air that dry";
  if (air->humidity_ratio > saturated * (1 + 1e-9))
    return "the air would be foggy: more water than it can hold at this temperature";
  out_si[0] = moist_relative_humidity_ratio(air);
  out_si[1] = air->humidity_ratio;
  out_si[2] = moist_vapour_Pa(air);
  out_si[3] = moist_enthalpy_J_kg(air);
  out_si[4] = moist_volume_m3_kg(air);
  out_si[5] = moist_density_kg_m3(air);
  out_si[6] = moist_dew_point_K(air);
  out_si[7] = moist_wet_bulb_K(air);
  out_si[8] = air->humidity_ratio / saturated;
  out_si[9] = matter_air_viscosity_Pa_s(air->temperature_K);
  return NULL;
}

static const char *moist_air(const double *in_si, double *out_si)
{
  struct moist air = {.temperature_K = in_si[0]};
  const char *wrong = formula_site(in_si + 2, &air.pressure_Pa);

  air.humidity_ratio = moist_humidity_to_ratio(in_si[0], in_si[1], air.pressure_Pa);
  return wrong ? wrong : moist_outputs(&air, out_si);
}

static const char *moist_air_from_wet_bulb(const double *in_si, double *out_si)
{
  struct moist air = {.temperature_K = in_si[0]};
  const char *wrong = formula_site(in_si + 2, &air.pressure_Pa);

  if (!wrong && in_si[1] > in_si[0])
    wrong = "a wet bulb is never warmer than the air";
  air.humidity_ratio = moist_wet_bulb_to_ratio(in_si[0], in_si[1], air.pressure_Pa);
  return wrong ? wrong : moist_outputs(&air, out_si);
}

static const char *moist_air_from_dew_point(const double *in_si, double *out_si)
{
  struct moist air = {.temperature_K = in_si[0]};
  const char *wrong = formula_site(in_si + 2, &air.pressure_Pa);

  if (!wrong && in_si[1] > in_si[0])
    wrong = "a dew point is never above the air's temperature";
  air.humidity_ratio = moist_dew_point_to_ratio(in_si[1], air.pressure_Pa);
  return wrong ? wrong : moist_outputs(&air, out_si);
}

static const char *moist_air_from_humidity_ratio(const double *in_si, double *out_si)
{
  struct moist air = {.temperature_K = in_si[0], .humidity_ratio = in_si[1]};
  const char *wrong = formula_site(in_si + 2, &air.pressure_Pa);

  return wrong ? wrong : moist_outputs(&air, out_si);
}

static const char *air_temperature_from_enthalpy(const double *in_si, double *out_si)
{
  out_si[0] = moist_temperature_K(in_si[0], in_si[1]);
  return NULL;
}

static const char *saturated_air(const double *in_si, double *out_si)
{
  struct moist air = {.temperature_K = in_si[0]};
  const char *wrong = formula_site(in_si + 1, &air.pressure_Pa);

  air.humidity_ratio = moist_humidity_to_ratio(in_si[0], 1, air.pressure_Pa);
  if (!wrong && isnan(air.humidity_ratio))
    wrong = "water boils at this temperature and pressure";
  if (wrong)
    return wrong;
  out_si[0] = matter_saturation_pressure_Pa(in_si[0]);
  out_si[1] = air.humidity_ratio;
  out_si[2] = moist_volume_m3_kg(&air);
  out_si[3] = moist_enthalpy_J_kg(&air);
  out_si[4] = moist_density_kg_m3(&air);
  return NULL;
}

static const char *dry_air(const double *in_si, double *out_si)
{
  struct moist air = {.temperature_K = in_si[0]};
  const char *wrong = formula_site(in_si + 1, &air.pressure_Pa);

  if (wrong)
    return wrong;
  out_si[0] = moist_volume_m3_kg(&air);
  out_si[1] = moist_enthalpy_J_kg(&air);
  out_si[2] = moist_density_kg_m3(&air);
  return NULL;
}

static const char *air_density(const double *in_si, double *out_si)
{
  double pressure_Pa;
  const char *wrong = formula_site(in_si + 2, &pressure_Pa);

  if (wrong)
    return wrong;
  out_si[0] = matter_air_density_kg_m3(in_si[0], in_si[1], pressure_Pa);
  out_si[1] = out_si[0] / 1.2;
  return isnan(out_si[0]) ? "water boils at this temperature and pressure" : NULL;
}

static const char *air_viscosity(const double *in_si, double *out_si)
{
  double pressure_Pa;
  const char *wrong = formula_site(in_si + 1, &pressure_Pa);
  struct moist air = {in_si[0], 0, 0};

  if (wrong)
    return wrong;
  air.pressure_Pa = pressure_Pa;
  out_si[0] = matter_air_viscosity_Pa_s(in_si[0]);
  out_si[1] = out_si[0] / moist_density_kg_m3(&air);
  return NULL;
}

/* 530/(460 + F), with F + 459.67 = 1.8 T; 29.92 inHg are 101320.75 Pa. */
static const char *density_factor(const double *in_si, double *out_si)
{
  double pressure_Pa;
  const char *wrong = formula_site(in_si + 1, &pressure_Pa);

  out_si[1] = 530 / (1.8 * in_si[0] + 0.33);
  out_si[2] = pressure_Pa / 101320.75;
  out_si[0] = out_si[1] * out_si[2];
  return wrong;
}

static const char *actual_flow(const double *in_si, double *out_si)
{
  double pressure_Pa;
  const char *wrong = formula_site(in_si + 4, &pressure_Pa);

  if (!wrong)
    out_si[0] = in_si[0] * in_si[3] / in_si[1] * in_si[2] / pressure_Pa;
  return wrong;
}

static const char *flow_at_another_density(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1] / in_si[2];
  out_si[1] = in_si[0] * in_si[1];
  return NULL;
}

/* A row of fewer than four inputs has room for the site's two. */
#define MOIST_OUTPUTS                                                                              \
  {                                                                                                \
    GIVE("relative-humidity", RELATIVE_HUMIDITY, "over ice below 0 degC"),                         \
        GIVE("humidity-ratio", HUMIDITY_RATIO, "water per dry air"),                               \
        GIVE("vapour-pressure", ABSOLUTE_PRESSURE, "partial pressure of the water"),               \
        GIVE("enthalpy", SPECIFIC_ENERGY, "per dry air, zero at 0 degC"),                          \
        GIVE("specific-volume", SPECIFIC_VOLUME, "per dry air"),                                   \
        GIVE("density", DENSITY, "of the moist air"),                                              \
        GIVE("dew-point", TEMPERATURE, "frost point below 0 degC"),                                \
        GIVE("wet-bulb", TEMPERATURE, "thermodynamic wet bulb, iced below 0 degC"),                \
        GIVE("degree-of-saturation", RATIO, "humidity ratio over that of saturated air"),          \
        GIVE("viscosity", VISCOSITY, "of dry air at this temperature")                             \
  }
#define AIR_TEMPERATURE NEED("temperature", TEMPERATURE, 173.15, 473.15, "of the air (dry bulb)")
#define MOIST_EQUATION                                                                             \
  "W = 0.621945 pw/(p - pw); h = 1.006 t + W (2501 + 1.86 t) kJ/kg; "                              \
  "v = 0.287042 T (1 + 1.607858 W)/p; density = (1 + W)/v"
#define MOIST_SOURCE AF21_1 ", perfect-gas forms (from memory; they reproduce its Examples 1-6)"
#define MOIST_RANGE                                                                                \
  "-100..200 degC is that of eqs 5 and 6; the perfect-gas forms are stated within 0.7 % at "       \
  "-50..50 degC and 101.325 kPa"

static const struct matter_formula rows[] = {
    {"saturation-pressure",
     "ln p = C1/T + C2 + C3 T + C4 T^2 + C5 T^3 + C6 T^4 + C7 ln T over ice below 0 degC; "
     "ln p = C8/T + C9 + C10 T + C11 T^2 + C12 T^3 + C13 ln T over liquid water",
     AF21_1 " eqs 5 and 6",
     "as stated there: -100..0 and 0..200 degC",
     "temperature=20degC",
     {AIR_TEMPERATURE},
     {GIVE("pressure", ABSOLUTE_PRESSURE, "of saturated water vapour")},
     saturation_pressure},
    {"standard-atmosphere",
     "p = 101.325 (1 - 2.25577e-5 Z)^5.2559 kPa; t = 15 - 0.0065 Z degC",
     AF21_1 " eqs 3 and 4",
     "as stated there: -5000..11000 m",
     "altitude=260m",
     {NEED("altitude", LENGTH, -5000, 11000, "above sea level")},
     {GIVE("pressure", ABSOLUTE_PRESSURE, "of the standard atmosphere"),
      GIVE("temperature", TEMPERATURE, "of the standard atmosphere"),
      GIVE("density", DENSITY, "of dry air at both")},
     standard_atmosphere},
    {"moist-air",
     "pw = RH pws(T); " MOIST_EQUATION,
     MOIST_SOURCE,
     MOIST_RANGE,
     "temperature=21degC relative-humidity=40%RH",
     {AIR_TEMPERATURE, NEED("relative-humidity", RELATIVE_HUMIDITY, 0, 1, "over ice below 0 degC"),
      SITE_INPUTS},
     MOIST_OUTPUTS,
     moist_air},
    {"moist-air-from-wet-bulb",
     "W = [(2501 - 2.326 t*) Ws* - 1.006 (t - t*)]/(2501 + 1.86 t - 4.186 t*); over ice "
     "W = [(2830 - 0.24 t*) Ws* - 1.006 (t - t*)]/(2830 + 1.86 t - 2.1 t*)",
     MOIST_SOURCE,
     MOIST_RANGE,
     "temperature=40degC wet-bulb=20degC",
     {AIR_TEMPERATURE, NEED("wet-bulb", TEMPERATURE, 173.15, 473.15, "iced below 0 degC"),
      SITE_INPUTS},
     MOIST_OUTPUTS,
     moist_air_from_wet_bulb},
    {"moist-air-from-dew-point",
     "pw = pws(dew point); " MOIST_EQUATION,
     MOIST_SOURCE,
     MOIST_RANGE,
     "temperature=21degC dew-point=7degC",
     {AIR_TEMPERATURE, NEED("dew-point", TEMPERATURE, 173.15, 473.15, "frost point below 0 degC"),
      SITE_INPUTS},
     MOIST_OUTPUTS,
     moist_air_from_dew_point},
    {"moist-air-from-humidity-ratio",
     MOIST_EQUATION,
     MOIST_SOURCE,
     MOIST_RANGE,
     "temperature=21degC humidity-ratio=6.2g/kg",
     {AIR_TEMPERATURE, NEED("humidity-ratio", HUMIDITY_RATIO, 0, 10, "water per dry air"),
      SITE_INPUTS},
     MOIST_OUTPUTS,
     moist_air_from_humidity_ratio},
    {"air-temperature-from-enthalpy",
     "t = (h - 2501 W)/(1.006 + 1.86 W)",
     MOIST_SOURCE,
     WIDE_RANGE,
     "enthalpy=51.5kJ/kg humidity-ratio=4.38g/kg",
     {NEED("enthalpy", SPECIFIC_ENERGY, -2e5, 3e6, "per dry air"),
      NEED("humidity-ratio", HUMIDITY_RATIO, 0, 10, "water per dry air")},
     {GIVE("temperature", TEMPERATURE, "of the air")},
     air_temperature_from_enthalpy},
    {"saturated-air",
     "pw = pws(T); " MOIST_EQUATION,
     MOIST_SOURCE,
     MOIST_RANGE,
     "temperature=20degC",
     {AIR_TEMPERATURE, SITE_INPUTS},
     {GIVE("vapour-pressure", ABSOLUTE_PRESSURE, "of the water"),
      GIVE("humidity-ratio", HUMIDITY_RATIO, "water per dry air"),
      GIVE("specific-volume", SPECIFIC_VOLUME, "per dry air"),
      GIVE("enthalpy", SPECIFIC_ENERGY, "per dry air"),
      GIVE("density", DENSITY, "of the moist air")},
     saturated_air},
    {"dry-air",
     "v = 287.042 T/p; h = 1.006 t kJ/kg",
     MOIST_SOURCE,
     MOIST_RANGE,
     "temperature=20degC",
     {AIR_TEMPERATURE, SITE_INPUTS},
     {GIVE("specific-volume", SPECIFIC_VOLUME, "of dry air"),
      GIVE("enthalpy", SPECIFIC_ENERGY, "zero at 0 degC"), GIVE("density", DENSITY, "of dry air")},
     dry_air},
    {"air-density",
     "density = (1 + W) p/(287.042 T (1 + 1.607858 W)); factor = density/1.2",
     MOIST_SOURCE,
     MOIST_RANGE,
     "temperature=21degC relative-humidity=40%RH altitude=260m",
     {AIR_TEMPERATURE,
      ASSUME("relative-humidity", RELATIVE_HUMIDITY, 0, 0, 1, "over ice below 0 degC"),
      SITE_INPUTS},
     {GIVE("density", DENSITY, "of the moist air"),
      GIVE("factor", RATIO, "of 1.2 kg/m3, on which printed flows and fan curves often stand")},
     air_density},
    {"air-viscosity",
     "mu = 1.458e-6 T^1.5/(T + 110.4) Pa s; nu = mu/density of dry air",
     "US Standard Atmosphere 1976 (value from memory; textbooks differ by 0.65 %)",
     "no source: where the equation is used in practice",
     "temperature=20degC",
     {NEED("temperature", TEMPERATURE, 100, 1500, "of the air"), SITE_INPUTS},
     {GIVE("viscosity", VISCOSITY, "dynamic"),
      GIVE("kinematic-viscosity", KINEMATIC_VISCOSITY, "of dry air")},
     air_viscosity},
    {"density-factor",
     "d = 530/(460 + F) * inHg/29.92",
     "US industrial-ventilation practice, as in textbook arithmetic of the trade",
     WIDE_RANGE,
     "temperature=90degF pressure=27.5inHg(a)",
     {NEED("temperature", TEMPERATURE, 200, 1000, "of the air"), SITE_INPUTS},
     {GIVE("factor", RATIO, "density over that of 70 degF and 29.92 inHg"),
      GIVE("temperature-factor", RATIO, "its first part"),
      GIVE("pressure-factor", RATIO, "its second part")},
     density_factor},
    {"actual-flow",
     "Q = Qstd (T/Tstd)(pstd/p)",
     "perfect-gas law",
     WIDE_RANGE,
     "standard-flow=30slm standard-temperature=0degC standard-pressure=1013.25mbar(a) "
     "temperature=20degC",
     {NEED("standard-flow", STANDARD_FLOW, 0, 1e4, "at the stated standard conditions"),
      NEED("standard-temperature", TEMPERATURE, 250, 320, "of the standard conditions"),
      NEED("standard-pressure", ABSOLUTE_PRESSURE, 8e4, 1.2e5, "of the standard conditions"),
      NEED("temperature", TEMPERATURE, 100, 1500, "of the flowing gas"), SITE_INPUTS},
     {GIVE("flow", FLOW, "as it flows")},
     actual_flow},
    {"flow-at-another-density",
     "Q2 = Q1 rho1/rho2",
     "conservation of mass",
     WIDE_RANGE,
     "flow=1000m3/h density-1=1.2kg/m3 density-2=1.1kg/m3",
     {NEED("flow", FLOW, 0, 1e4, "at the first density"),
      NEED("density-1", DENSITY, 0.05, 2000, "first"),
      NEED("density-2", DENSITY, 0.05, 2000, "second")},
     {GIVE("flow", FLOW, "at the second density"),
      GIVE("mass-flow", MASS_FLOW, "the same for both")},
     flow_at_another_density},
};

const struct formula_group formula_air = GROUP_OF("Air", rows);
