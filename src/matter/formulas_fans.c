#include "matter/formula_impl.h"

/* Fan laws: Q ~ N D^3, p ~ rho N^2 D^2, W ~ rho N^3 D^5.  What is given of the second state sets
 * the speed ratio; with none of it the speed stays. */
static const char *fan_laws(const double *in_si, double *out_si)
{
  double flow = in_si[0], pressure = in_si[1], power = in_si[2], speed = in_si[3];
  double size = 1, density = in_si[10] / in_si[9], n = 1;

  if (formula_given_count(in_si + 4, 4) > 1)
    return "give one of speed-2, flow-2, pressure-2, power-2, or none for the same speed";
  if (formula_given(in_si[8]))
    size = in_si[8];
  if (formula_given(in_si[4]))
    n = in_si[4] / speed;
  if (formula_given(in_si[5]))
    n = in_si[5] / flow / pow(size, 3);
  if (formula_given(in_si[6]))
    n = sqrt(in_si[6] / pressure / density) / size;
  if (formula_given(in_si[7]))
    n = cbrt(in_si[7] / power / density / pow(size, 5));
  if (isnan(n))
    return "the second state needs the same quantity of the first";
  out_si[0] = flow * n * pow(size, 3);
  out_si[1] = pressure * density * n * n * size * size;
  out_si[2] = power * density * n * n * n * pow(size, 5);
  out_si[3] = speed * n;
  out_si[4] = n;
  return NULL;
}

static const char *fan_power(const double *in_si, double *out_si)
{
  double shaft = in_si[2] * in_si[3], all = shaft * in_si[4];

  out_si[0] = in_si[0] * in_si[1];
  out_si[1] = out_si[0] / in_si[2];
  out_si[2] = out_si[0] / all;
  out_si[3] = out_si[2] / in_si[0];
  out_si[4] = in_si[1] / in_si[2] / (in_si[5] * 1006);
  return NULL;
}

static const char *fan_efficiency(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1];
  out_si[1] = out_si[0] / in_si[2];
  return NULL;
}

static const char *fan_static_pressure(const double *in_si, double *out_si)
{
  struct section outlet;
  const char *wrong = formula_section(in_si, &outlet);

  if (!wrong && formula_given_count(in_si + 5, 2) != 1)
    wrong = "give one of total-pressure and static-pressure";
  if (wrong)
    return wrong;
  out_si[0] = outlet.velocity_m_s;
  out_si[1] = in_si[7] / 2 * outlet.velocity_m_s * outlet.velocity_m_s;
  out_si[2] = formula_given(in_si[5]) ? in_si[5] - out_si[1] : in_si[6];
  out_si[3] = out_si[2] + out_si[1];
  return NULL;
}

static const char *fan_outlet_duct(const double *in_si, double *out_si)
{
  double root_mm = sqrt(in_si[1]) * 1000;

  out_si[0] = in_si[0] > 13 ? in_si[0] * root_mm / 4500 : root_mm / 350;
  return NULL;
}

/* a - b (Q/n)^2 = R Q^2 for n equal fans in parallel. */
static const char *fan_system_point(const double *in_si, double *out_si)
{
  double each = in_si[1] / (in_si[2] * in_si[2]);

  if (in_si[2] != floor(in_si[2]))
    return "the number of fans is a whole number";
  out_si[0] = sqrt(in_si[0] / (in_si[3] + each));
  out_si[1] = in_si[3] * out_si[0] * out_si[0];
  out_si[2] = out_si[0] / in_si[2];
  return NULL;
}

static const char *energy_used(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1];
  return NULL;
}

static const struct matter_formula rows[] = {
    {"fan-laws",
     "Q ~ N D^3; p ~ rho N^2 D^2; W ~ rho N^3 D^5",
     "fan laws, as in any handbook (form from memory)",
     WIDE_RANGE,
     "flow=2000cfm pressure=3inH2O power=1kW speed-1=1300rpm speed-2=1500rpm",
     {MAY("flow", FLOW, 1e-9, 1e4, "of the first state"),
      MAY("pressure", PRESSURE_DIFFERENCE, 1e-6, 1e6, "rise of the first state"),
      MAY("power", POWER, 1e-6, 1e9, "of the first state"),
      MAY("speed-1", ROTATION, 1e-3, 1e6, "of the first state"),
      MAY("speed-2", ROTATION, 1e-3, 1e6, "of the second state"),
      MAY("flow-2", FLOW, 1e-9, 1e4, "wanted in the second state"),
      MAY("pressure-2", PRESSURE_DIFFERENCE, 1e-6, 1e6, "wanted in the second state"),
      MAY("power-2", POWER, 1e-6, 1e9, "spent in the second state"),
      MAY("size-ratio", RATIO, 1e-3, 1e3, "second wheel diameter over the first"),
      ASSUME("density-1", DENSITY, 1.2, 0.05, 20, "of the first state"),
      ASSUME("density-2", DENSITY, 1.2, 0.05, 20, "of the second state")},
     {GIVE("flow", FLOW, "of the second state"),
      GIVE("pressure", PRESSURE_DIFFERENCE, "rise of the second state"),
      GIVE("power", POWER, "of the second state"), GIVE("speed", ROTATION, "of the second state"),
      GIVE("speed-ratio", RATIO, "second over first")},
     fan_laws},
    {"fan-power",
     "W = Q dp/(eta_fan eta_drive eta_motor); dT = dp/(eta_fan rho 1006)",
     AF21_21 " in form; US practice cfm inH2O/(6356 eta) hp",
     WIDE_RANGE,
     "flow=1440L/s pressure=1992Pa fan-efficiency=65% motor-efficiency=90%",
     {NEED("flow", FLOW, 1e-9, 1e4, "through the fan"),
      NEED("pressure", PRESSURE_DIFFERENCE, 0, 1e6, "total pressure rise"),
      NEED("fan-efficiency", SHARE, 0.01, 1, "of the fan"),
      ASSUME("drive-efficiency", SHARE, 1, 0.01, 1, "of belt or inverter"),
      ASSUME("motor-efficiency", SHARE, 1, 0.01, 1, "of the motor"),
      ASSUME("density", DENSITY, 1.2, 0.05, 20, "of the air")},
     {GIVE("air-power", POWER, "given to the air"), GIVE("shaft-power", POWER, "at the fan shaft"),
      GIVE("electrical-power", POWER, "taken by the motor"),
      GIVE("specific-power", PRESSURE_DIFFERENCE, "electrical power over flow; 1 Pa is 1 W/(m3/s)"),
      GIVE("temperature-rise", TEMPERATURE_DIFFERENCE, "of the air, motor outside the stream")},
     fan_power},
    {"fan-efficiency",
     "eta = Q dp/W",
     "definition",
     WIDE_RANGE,
     "flow=6000cfm pressure=4inH2O power=6hp",
     {NEED("flow", FLOW, 0, 1e4, "through the fan"),
      NEED("pressure", PRESSURE_DIFFERENCE, 0, 1e6, "total pressure rise"),
      NEED("power", POWER, 1e-6, 1e9, "taken")},
     {GIVE("air-power", POWER, "given to the air"),
      GIVE("efficiency", SHARE, "air power over power")},
     fan_efficiency},
    {"fan-static-pressure",
     "ps = pt - rho V^2/2 at the outlet",
     AF21_21 " eq. 17",
     WIDE_RANGE,
     "flow=1440L/s width=260mm height=310mm total-pressure=1992Pa",
     {SECTION_INPUTS, MAY("total-pressure", PRESSURE_DIFFERENCE, -1e5, 1e6, "rise of the fan"),
      MAY("static-pressure", PRESSURE_DIFFERENCE, -1e5, 1e6, "rise of the fan"),
      ASSUME("density", DENSITY, 1.204, 0.05, 20, "of the air")},
     {GIVE("velocity", VELOCITY, "at the outlet"),
      GIVE("velocity-pressure", PRESSURE_DIFFERENCE, "at the outlet"),
      GIVE("static-pressure", PRESSURE_DIFFERENCE, "rise of the fan"),
      GIVE("total-pressure", PRESSURE_DIFFERENCE, "rise of the fan")},
     fan_static_pressure},
    {"fan-outlet-duct",
     "Le = V sqrt(A)/4500 above 13 m/s, else sqrt(A)/350; A in mm2",
     AF21_21 " eqs 35 and 36 (the root from memory)",
     WIDE_RANGE,
     "velocity=18m/s area=0.0806m2",
     {NEED("velocity", VELOCITY, 0, 100, "in the duct"),
      NEED("area", AREA, 1e-6, 1e3, "of the duct")},
     {GIVE("length", LENGTH, "of straight duct for full recovery")},
     fan_outlet_duct},
    {"fan-system-point",
     "a - b (Q/n)^2 = R Q^2",
     "closed form",
     WIDE_RANGE,
     "shutoff-pressure=900Pa fall=150Pa/(m3/s)2 fans=3 resistance=50Pa/(m3/s)2",
     {NEED("shutoff-pressure", PRESSURE_DIFFERENCE, 0, 1e6, "a, of each fan"),
      NEED("fall", RESISTANCE, 0, 1e12, "b, of each fan"),
      ASSUME("fans", RATIO, 1, 1, 100, "equal fans in parallel"),
      NEED("resistance", RESISTANCE, 1e-9, 1e12, "R, of the system")},
     {GIVE("flow", FLOW, "of all fans"), GIVE("pressure", PRESSURE_DIFFERENCE, "across the fans"),
      GIVE("flow-each", FLOW, "of one fan")},
     fan_system_point},
    {"energy-used",
     "E = P time",
     "definition",
     WIDE_RANGE,
     "power=5kW time=8760h",
     {NEED("power", POWER, 0, 1e9, "taken"), NEED("time", TIME, 0, 1e10, "for which")},
     {GIVE("energy", ENERGY, "taken in all")},
     energy_used},
};

const struct formula_group formula_fans = GROUP_OF("Fans", rows);
