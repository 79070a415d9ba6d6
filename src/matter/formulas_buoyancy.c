#include "matter/formula_impl.h"

#include "base/constants.h"

static const double gravity = 9.81; /* as AF21-21 eq. 14 prints it */

static const char *stack_pressure(const double *in_si, double *out_si)
{
  out_si[0] = gravity * (in_si[0] - in_si[1]) * (in_si[3] - in_si[2]);
  out_si[1] = in_si[4] - out_si[0];
  return NULL;
}

static const char *stack_pressure_from_temperatures(const double *in_si, double *out_si)
{
  double pressure_Pa;
  const char *wrong = formula_site(in_si + 4, &pressure_Pa);

  if (wrong)
    return wrong;
  out_si[1] = matter_air_density_kg_m3(in_si[0], 0, pressure_Pa);
  out_si[2] = pressure_Pa / (287.042 * in_si[1]);
  out_si[0] = gravity * (out_si[1] - out_si[2]) * (in_si[3] - in_si[2]);
  return NULL;
}

static const char *envelope_stack(const double *in_si, double *out_si)
{
  double outdoors_K = in_si[1];
  double density_kg_m3 =
      formula_given(in_si[4]) ? in_si[4] : matter_air_density_kg_m3(outdoors_K, 0, ATMOSPHERE_PA);

  out_si[0] = density_kg_m3 * (in_si[0] - outdoors_K) / in_si[0] * gravity * (in_si[2] - in_si[3]);
  return NULL;
}

static const char *wind_pressure(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[2] * in_si[1] * in_si[1] / 2;
  return NULL;
}

static const char *large_opening_coefficient(const double *in_si, double *out_si)
{
  out_si[0] = 0.40 + 0.0045 * fabs(in_si[0]);
  return NULL;
}

static const char *stack_ventilation(const double *in_si, double *out_si)
{
  double warm_K = fmax(in_si[3], in_si[4]), cold_K = fmin(in_si[3], in_si[4]);

  out_si[0] = in_si[1] * in_si[0] * sqrt(2 * gravity * in_si[2] * (warm_K - cold_K) / warm_K);
  return NULL;
}

static const char *doorway_exchange(const double *in_si, double *out_si)
{
  double warm_K = fmax(in_si[2], in_si[3]), cold_K = fmin(in_si[2], in_si[3]);
  double discharge = formula_given(in_si[4]) ? in_si[4] : 0.40 + 0.0045 * (warm_K - cold_K);

  out_si[0] = discharge * in_si[0] / 3 * pow(in_si[1], 1.5) *
              sqrt(gravity * (warm_K - cold_K) / ((warm_K + cold_K) / 2));
  out_si[1] = discharge;
  return NULL;
}

#define HEIGHTS                                                                                    \
  NEED("height-1", LENGTH, -1000, 1000, "where the air enters"),                                   \
      NEED("height-2", LENGTH, -1000, 1000, "where the air leaves")

static const struct matter_formula rows[] = {
    {"stack-pressure",
     "dp = g (rho_a - rho)(z2 - z1); fan = loss - dp",
     AF21_21 " eq. 14, g = 9.81",
     WIDE_RANGE,
     "density-around=1.204kg/m3 density=0.898kg/m3 height-1=15m height-2=30m",
     {NEED("density-around", DENSITY, 0.05, 20, "of the air around the duct"),
      NEED("density", DENSITY, 0.05, 20, "of the air in the duct"), HEIGHTS,
      ASSUME("loss", PRESSURE_DIFFERENCE, 0, 0, 1e5, "of the duct, to be overcome")},
     {GIVE("pressure", PRESSURE_DIFFERENCE, "that helps the flow from 1 to 2"),
      GIVE("fan-pressure", PRESSURE_DIFFERENCE, "what is left for a fan")},
     stack_pressure},
    {"stack-pressure-from-temperatures",
     "as stack-pressure, densities of dry air p/(287.042 T)",
     AF21_21 " eq. 14",
     "outdoors as stated for " AF21_1 " eqs 5 and 6; " WIDE_RANGE,
     "temperature-around=20degC temperature=120degC height-1=15m height-2=30m",
     {NEED("temperature-around", TEMPERATURE, 173.15, 473.15, "of the air around the duct"),
      NEED("temperature", TEMPERATURE, 100, 2000, "of the air in the duct"), HEIGHTS, SITE_INPUTS},
     {GIVE("pressure", PRESSURE_DIFFERENCE, "that helps the flow from 1 to 2"),
      GIVE("density-around", DENSITY, "of dry air"), GIVE("density", DENSITY, "of dry air")},
     stack_pressure_from_temperatures},
    {"envelope-stack",
     "dp = rho_o (Ti - To)/Ti g (Hnpl - H)",
     AF21_16 " eq. 24",
     WIDE_RANGE,
     "temperature-inside=21degC temperature-outside=-10degC neutral-height=6m height=0m",
     {NEED("temperature-inside", TEMPERATURE, 200, 400, "of the building"),
      NEED("temperature-outside", TEMPERATURE, 200, 400, "outdoors"),
      NEED("neutral-height", LENGTH, -1000, 1000, "of the neutral pressure level"),
      NEED("height", LENGTH, -1000, 1000, "of the leak"),
      MAY("density", DENSITY, 0.5, 2, "outdoors; left out: dry air at 101.325 kPa")},
     {GIVE("pressure", PRESSURE_DIFFERENCE, "outside over inside; positive drives air in")},
     envelope_stack},
    {"wind-pressure",
     "p = Cp rho U^2/2",
     AF21_16 " eq. 25; walls: 0.6 windward, -0.3 lee, -0.65 sides",
     WIDE_RANGE,
     "pressure-coefficient=0.6 velocity=5m/s",
     {NEED("pressure-coefficient", RATIO, -5, 2, "of the surface"),
      NEED("velocity", VELOCITY, 0, 100, "of the wind"),
      ASSUME("density", DENSITY, 1.2, 0.05, 20, "of the air")},
     {GIVE("pressure", PRESSURE_DIFFERENCE, "over the static pressure outdoors")},
     wind_pressure},
    {"large-opening-coefficient",
     "Cd = 0.40 + 0.0045 |Ti - To|",
     AF21_16 " eq. 39 (after Kiel & Wilson 1986)",
     WIDE_RANGE,
     "temperature-difference=10K",
     {NEED("temperature-difference", TEMPERATURE_DIFFERENCE, -60, 60, "inside less outside")},
     {GIVE("discharge-coefficient", RATIO, "of two-way exchange through one large opening")},
     large_opening_coefficient},
    {"stack-ventilation",
     "Q = Cd A sqrt(2 g H (Ti - To)/Ti)",
     AF21_16 " natural ventilation by stack alone (form from memory)",
     WIDE_RANGE,
     "area=1m2 height=3m temperature-inside=25degC temperature-outside=15degC",
     {NEED("area", AREA, 0, 1e4, "of the lower opening"),
      ASSUME("discharge-coefficient", RATIO, 0.65, 0.01, 1.5, "of the opening"),
      NEED("height", LENGTH, 0, 1000, "from the lower opening to the neutral pressure level"),
      NEED("temperature-inside", TEMPERATURE, 200, 400, "inside"),
      NEED("temperature-outside", TEMPERATURE, 200, 400, "outside")},
     {GIVE("flow", FLOW, "through the opening")},
     stack_ventilation},
    {"doorway-exchange",
     "Q = Cd W/3 H^1.5 sqrt(g dT/T)",
     "Kiel & Wilson 1986 (form from memory); Cd by " AF21_16 " eq. 39",
     WIDE_RANGE,
     "width=0.9m height=2.1m temperature-1=22degC temperature-2=20degC",
     {NEED("width", LENGTH, 0, 20, "of the doorway"),
      NEED("height", LENGTH, 0, 20, "of the doorway"),
      NEED("temperature-1", TEMPERATURE, 200, 400, "on one side"),
      NEED("temperature-2", TEMPERATURE, 200, 400, "on the other"),
      MAY("discharge-coefficient", RATIO, 0.01, 1.5, "left out: by eq. 39")},
     {GIVE("flow", FLOW, "each way, with no net flow"),
      GIVE("discharge-coefficient", RATIO, "used")},
     doorway_exchange},
};

const struct formula_group formula_buoyancy = GROUP_OF("Buoyancy and wind", rows);
