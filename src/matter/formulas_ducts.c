#include "matter/formula_impl.h"

#include "base/constants.h"

const char *formula_section(const double *in_si, struct section *out)
{
  double flow_m3_s = in_si[0], velocity_m_s = in_si[1], diameter_m = in_si[2];
  double width_m = in_si[3], height_m = in_si[4];
  bool round = formula_given(diameter_m);

  if (formula_given_count(in_si, 2) != 1)
    return "give one of flow and velocity";
  if (formula_given_count(in_si + 3, 2) != (round ? 0 : 2))
    return "give the diameter, or width and height";
  out->area_m2 = round ? PI / 4 * diameter_m * diameter_m : width_m * height_m;
  out->hydraulic_m = round ? diameter_m : 2 * width_m * height_m / (width_m + height_m);
  out->velocity_m_s = formula_given(velocity_m_s) ? velocity_m_s : flow_m3_s / out->area_m2;
  out->flow_m3_s = out->velocity_m_s * out->area_m2;
  return NULL;
}

static double velocity_pressure_Pa(double velocity_m_s, double density_kg_m3)
{
  return density_kg_m3 / 2 * velocity_m_s * velocity_m_s;
}

static const char *friction_factor(const double *in_si, double *out_si)
{
  double Re = in_si[0], rough = in_si[1], swamee = log10(rough / 3.7 + 5.74 / pow(Re, 0.9));

  out_si[0] = matter_friction_factor(Re, rough);
  out_si[1] = out_si[0] / 4;
  if (Re <= 2300)
    return NULL;
  out_si[2] = 0.25 / (swamee * swamee);
  out_si[3] = pow(-1.8 * log10(pow(rough / 3.7, 1.11) + 6.9 / Re), -2);
  return NULL;
}

static const char *reynolds_number(const double *in_si, double *out_si)
{
  struct section section;
  const char *wrong = formula_section(in_si, &section);

  if (wrong)
    return wrong;
  out_si[0] = in_si[5] * section.velocity_m_s * section.hydraulic_m / in_si[6];
  out_si[1] = in_si[6] / in_si[5];
  return NULL;
}

static const char *duct_velocity(const double *in_si, double *out_si)
{
  struct section section;
  const char *wrong = formula_section(in_si, &section);

  if (wrong)
    return wrong;
  out_si[0] = section.velocity_m_s;
  out_si[1] = section.flow_m3_s;
  out_si[2] = section.area_m2;
  out_si[3] = section.hydraulic_m;
  out_si[4] = velocity_pressure_Pa(section.velocity_m_s, in_si[5]);
  out_si[5] = section.flow_m3_s * in_si[5];
  return NULL;
}

/* Still air has neither a Reynolds number nor a drop. */
static double friction_gradient_Pa_m(double reynolds, double rough, double pressure_Pa, double d_m)
{
  return reynolds > 0 ? matter_friction_factor(reynolds, rough) / d_m * pressure_Pa : 0;
}

static const char *duct_drop(const double *in_si, double *out_si)
{
  struct section section;
  const char *wrong = formula_section(in_si, &section);
  double length_m = in_si[5], roughness_m = in_si[6], density_kg_m3 = in_si[9];

  if (wrong)
    return wrong;
  double rough = roughness_m / section.hydraulic_m;
  if (rough > 0.5)
    return "the roughness is larger than the duct: check its unit";
  out_si[0] = section.velocity_m_s;
  out_si[1] = velocity_pressure_Pa(section.velocity_m_s, density_kg_m3);
  out_si[2] = density_kg_m3 * section.velocity_m_s * section.hydraulic_m / in_si[10];
  out_si[3] = matter_friction_factor(out_si[2], rough);
  out_si[4] = friction_gradient_Pa_m(out_si[2], rough, out_si[1], section.hydraulic_m);
  out_si[5] = out_si[4] * length_m;
  out_si[6] = in_si[7] * out_si[1];
  out_si[7] = out_si[5] + out_si[6] + in_si[8];
  out_si[8] = out_si[7] / (density_kg_m3 * 9.81);
  out_si[9] = out_si[7] * section.flow_m3_s;
  return NULL;
}

static const char *section_loss(const double *in_si, double *out_si)
{
  struct section section;
  const char *wrong = formula_section(in_si, &section);

  if (wrong)
    return wrong;
  out_si[0] = velocity_pressure_Pa(section.velocity_m_s, in_si[8]);
  out_si[1] = in_si[6] * in_si[5] / section.hydraulic_m * out_si[0];
  out_si[2] = in_si[7] * out_si[0];
  out_si[3] = out_si[1] + out_si[2];
  return NULL;
}

static const char *fitting_loss(const double *in_si, double *out_si)
{
  struct section section;
  const char *wrong = formula_section(in_si, &section);

  if (wrong)
    return wrong;
  out_si[0] = velocity_pressure_Pa(section.velocity_m_s, in_si[6]);
  out_si[1] = in_si[5] * out_si[0];
  out_si[2] = in_si[5] * in_si[6] / (2 * section.area_m2 * section.area_m2);
  return NULL;
}

/* Through the origin: C = sum(pv dp)/sum(pv^2); one pair is plain division. */
static const char *loss_coefficient(const double *in_si, double *out_si)
{
  double products = 0, squares = 0;

  for (int i = 0; i < 10; i += 2) {
    if (formula_given_count(in_si + i, 2) == 1)
      return "each drop needs its velocity pressure";
    if (!formula_given(in_si[i]))
      continue;
    products += in_si[i] * in_si[i + 1];
    squares += in_si[i + 1] * in_si[i + 1];
  }
  out_si[0] = products / squares;
  return NULL;
}

static const char *loss_coefficient_other_section(const double *in_si, double *out_si)
{
  double ratio = in_si[2] / in_si[1];

  out_si[0] = in_si[0] * ratio * ratio;
  return NULL;
}

static const char *velocity_pressure(const double *in_si, double *out_si)
{
  out_si[0] = velocity_pressure_Pa(in_si[0], in_si[1]);
  return NULL;
}

static const char *velocity_from_pressure(const double *in_si, double *out_si)
{
  out_si[0] = in_si[2] * sqrt(2 * in_si[0] / in_si[1]);
  return NULL;
}

static const char *flexible_duct(const double *in_si, double *out_si)
{
  out_si[0] = 1 + 0.58 * in_si[1] * 100 * exp(-0.00496 * in_si[0] * 1000);
  out_si[1] = formula_given(in_si[2]) ? out_si[0] * in_si[2] : (double)NAN;
  return NULL;
}

static const char *system_curve(const double *in_si, double *out_si)
{
  double ratio = in_si[2] / in_si[1];

  out_si[0] = in_si[0] * pow(ratio, in_si[3]);
  out_si[1] = in_si[3] == 2 ? in_si[0] / (in_si[1] * in_si[1]) : (double)NAN;
  return NULL;
}

static const char *balance_flow(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * sqrt(in_si[1] / in_si[2]);
  out_si[1] = (in_si[1] - in_si[2]) / in_si[1];
  return in_si[2] > in_si[1] ? "the lower pressure is the higher one" : NULL;
}

static const char *resistances_in_series(const double *in_si, double *out_si)
{
  double sum = 0;

  if (formula_given_count(in_si, 6) < 1)
    return "give resistance-1, resistance-2, ...";
  for (int i = 0; i < 6; i++)
    if (formula_given(in_si[i]))
      sum += in_si[i];
  out_si[0] = sum;
  out_si[1] = in_si[6] * in_si[6] * sum;
  return NULL;
}

static const char *resistances_in_parallel(const double *in_si, double *out_si)
{
  double sum = 0;

  if (formula_given_count(in_si, 6) < 1)
    return "give resistance-1, resistance-2, ...";
  for (int i = 0; i < 6; i++)
    if (formula_given(in_si[i]))
      sum += 1 / sqrt(in_si[i]);
  out_si[0] = 1 / (sum * sum);
  if (!formula_given(in_si[6]))
    return NULL;
  out_si[1] = in_si[6] * in_si[6] * out_si[0];
  for (int i = 0; i < 6; i++)
    out_si[2 + i] = sqrt(out_si[1] / in_si[i]);
  return NULL;
}

static const char *resistance_from_coefficient(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[2] / (2 * in_si[1] * in_si[1]);
  return NULL;
}

#define AIR_DENSITY ASSUME("density", DENSITY, 1.204, 0.05, 2000, "of the air or other fluid")
#define AIR_VISCOSITY                                                                              \
  ASSUME("viscosity", VISCOSITY, 1.813e-5, 1e-7, 10, "dynamic; assumed 20 degC air")
#define LENGTH_OF    ASSUME("length", LENGTH, 1, 0, 1e5, "of the duct")
#define COEFFICIENTS ASSUME("loss-coefficient", RATIO, 0, -10, 1e5, "sum of the fittings' C")
#define RESISTANCES                                                                                \
  MAY("resistance-1", RESISTANCE, 1e-9, 1e12, "first"),                                            \
      MAY("resistance-2", RESISTANCE, 1e-9, 1e12, "second"),                                       \
      MAY("resistance-3", RESISTANCE, 1e-9, 1e12, "third"),                                        \
      MAY("resistance-4", RESISTANCE, 1e-9, 1e12, "fourth"),                                       \
      MAY("resistance-5", RESISTANCE, 1e-9, 1e12, "fifth"),                                        \
      MAY("resistance-6", RESISTANCE, 1e-9, 1e12, "sixth")
#define PAIR(number)                                                                               \
  MAY("drop-" number, PRESSURE_DIFFERENCE, 0, 1e6, "of pair " number),                             \
      MAY("velocity-pressure-" number, PRESSURE_DIFFERENCE, 1e-6, 1e6, "of pair " number)

static const struct matter_formula rows[] = {
    {"friction-factor",
     "1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt f)); 64/Re up to Re 2300",
     AF21_21 " eq. 19 (Colebrook); explicit forms of Swamee & Jain and Haaland from memory",
     "common practice: Re to 1e9; the chart of Moody ends at e/D 0.05",
     "reynolds=1e5 roughness-ratio=0.001",
     {NEED("reynolds", RATIO, 1e-3, 1e9, "Reynolds number"),
      NEED("roughness-ratio", RATIO, 0, 0.1, "roughness over inside diameter")},
     {GIVE("friction-factor", RATIO, "Darcy"), GIVE("fanning", RATIO, "Fanning, a quarter of it"),
      GIVE("swamee-jain", RATIO, "explicit estimate, within 1 %"),
      GIVE("haaland", RATIO, "explicit estimate, within 2 %")},
     friction_factor},
    {"reynolds",
     "Re = rho V D/mu",
     AF21_21,
     WIDE_RANGE,
     "flow=470L/s diameter=250mm",
     {SECTION_INPUTS, AIR_DENSITY, AIR_VISCOSITY},
     {GIVE("reynolds", RATIO, "on the hydraulic diameter"),
      GIVE("kinematic-viscosity", KINEMATIC_VISCOSITY, "mu/rho")},
     reynolds_number},
    {"duct-velocity",
     "V = Q/A; Dh = 4 A/P; pv = rho V^2/2",
     AF21_21 " eqs 9 and 24",
     WIDE_RANGE,
     "flow=1440L/s diameter=355mm",
     {SECTION_INPUTS, AIR_DENSITY},
     {GIVE("velocity", VELOCITY, "mean"), GIVE("flow", FLOW, "through the section"),
      GIVE("area", AREA, "of the section"), GIVE("hydraulic-diameter", LENGTH, "4 A/P"),
      GIVE("velocity-pressure", PRESSURE_DIFFERENCE, "of the mean velocity"),
      GIVE("mass-flow", MASS_FLOW, "at the density")},
     duct_velocity},
    {"duct-drop",
     "dp = (f L/Dh + C) rho V^2/2 + equipment, f by friction-factor",
     AF21_21 " eqs 18, 19, 24, 34",
     "roughness: " AF21_21 " Table 1, 0.00046 smooth, 0.09 galvanised average, 3 mm rough; "
     "otherwise " WIDE_RANGE,
     "flow=470L/s diameter=250mm length=1.8m roughness=0.12mm",
     {SECTION_INPUTS, LENGTH_OF, ASSUME("roughness", LENGTH, 9e-5, 0, 0.01, "of the wall"),
      COEFFICIENTS,
      ASSUME("equipment-drop", PRESSURE_DIFFERENCE, 0, -1e5, 1e6, "of a filter, coil or the like"),
      AIR_DENSITY, AIR_VISCOSITY},
     {GIVE("velocity", VELOCITY, "mean"),
      GIVE("velocity-pressure", PRESSURE_DIFFERENCE, "of the mean velocity"),
      GIVE("reynolds", RATIO, "on the hydraulic diameter"), GIVE("friction-factor", RATIO, "Darcy"),
      GIVE("friction-per-length", PRESSURE_GRADIENT, "straight duct"),
      GIVE("friction-drop", PRESSURE_DIFFERENCE, "of the length"),
      GIVE("fitting-drop", PRESSURE_DIFFERENCE, "of the fittings"),
      GIVE("drop", PRESSURE_DIFFERENCE, "in all"),
      GIVE("head", HEAD, "the same as height of the fluid, g = 9.81"),
      GIVE("power", POWER, "drop times flow")},
     duct_drop},
    {"section-loss",
     "dp = (f L/Dh + C) rho V^2/2, f given (four times a Fanning factor)",
     AF21_21 " eq. 34",
     WIDE_RANGE,
     "flow=0.2m3/s diameter=150mm length=10m friction-factor=0.032 loss-coefficient=4",
     {SECTION_INPUTS, LENGTH_OF, NEED("friction-factor", RATIO, 0, 1, "Darcy"), COEFFICIENTS,
      AIR_DENSITY},
     {GIVE("velocity-pressure", PRESSURE_DIFFERENCE, "of the mean velocity"),
      GIVE("friction-drop", PRESSURE_DIFFERENCE, "of the length"),
      GIVE("fitting-drop", PRESSURE_DIFFERENCE, "of the fittings"),
      GIVE("drop", PRESSURE_DIFFERENCE, "in all")},
     section_loss},
    {"fitting-loss",
     "dp = C rho V^2/2",
     AF21_21,
     WIDE_RANGE,
     "flow=380L/s diameter=200mm loss-coefficient=1.67",
     {SECTION_INPUTS, NEED("loss-coefficient", RATIO, -10, 1e5, "C, on this section"), AIR_DENSITY},
     {GIVE("velocity-pressure", PRESSURE_DIFFERENCE, "of the mean velocity"),
      GIVE("drop", PRESSURE_DIFFERENCE, "total pressure lost"),
      GIVE("resistance", RESISTANCE, "drop over flow squared")},
     fitting_loss},
    {"loss-coefficient",
     "C = sum(pv dp)/sum(pv^2)",
     "least squares through zero",
     WIDE_RANGE,
     "drop-1=26.1Pa velocity-pressure-1=15.6Pa",
     {NEED("drop-1", PRESSURE_DIFFERENCE, 0, 1e6, "total pressure lost"),
      NEED("velocity-pressure-1", PRESSURE_DIFFERENCE, 1e-6, 1e6, "of the named section"),
      PAIR("2"), PAIR("3"), PAIR("4"), PAIR("5")},
     {GIVE("loss-coefficient", RATIO, "C")},
     loss_coefficient},
    {"loss-coefficient-other-section",
     "C2 = C1 (A2/A1)^2",
     AF21_21,
     WIDE_RANGE,
     "loss-coefficient=0.5 area-1=0.1m2 area-2=0.2m2",
     {NEED("loss-coefficient", RATIO, -10, 1e5, "on the first section"),
      NEED("area-1", AREA, 1e-9, 1e4, "first"), NEED("area-2", AREA, 1e-9, 1e4, "second")},
     {GIVE("loss-coefficient", RATIO, "on the second section")},
     loss_coefficient_other_section},
    {"velocity-pressure",
     "pv = rho V^2/2",
     AF21_21 " eq. 9; 4005 fpm per root inch is 0.1 % low",
     WIDE_RANGE,
     "velocity=10m/s",
     {NEED("velocity", VELOCITY, 0, 200, "of the air"), AIR_DENSITY},
     {GIVE("pressure", PRESSURE_DIFFERENCE, "velocity pressure")},
     velocity_pressure},
    {"velocity-from-pressure",
     "V = k sqrt(2 pv/rho)",
     AF21_21 " eq. 9 solved for V",
     WIDE_RANGE,
     "pressure=60Pa",
     {NEED("pressure", PRESSURE_DIFFERENCE, 0, 1e5, "velocity pressure"), AIR_DENSITY,
      ASSUME("probe-coefficient", RATIO, 1, 0.1, 2, "of the probe")},
     {GIVE("velocity", VELOCITY, "of the air")},
     velocity_from_pressure},
    {"flexible-duct",
     "1 + 0.58 K exp(-0.00496 D), K in %, D in mm",
     AF21_21 " eq. 22",
     "compression 0..45 %; " WIDE_RANGE,
     "diameter=250mm compression=15%",
     {NEED("diameter", LENGTH, 0.05, 1, "inside"),
      NEED("compression", SHARE, 0, 0.45, "of the stretched length"),
      MAY("stretched-drop", PRESSURE_DIFFERENCE, 0, 1e5, "when fully stretched")},
     {GIVE("multiplier", RATIO, "of the drop when fully stretched"),
      GIVE("drop", PRESSURE_DIFFERENCE, "compressed, when the stretched drop is given")},
     flexible_duct},
    {"system-curve",
     "dp2 = dp1 (Q2/Q1)^m",
     "common practice, no source",
     WIDE_RANGE,
     "drop=180Pa flow-1=1450m3/h flow-2=1200m3/h",
     {NEED("drop", PRESSURE_DIFFERENCE, 0, 1e6, "at the first flow"),
      NEED("flow-1", FLOW, 1e-9, 1e4, "first"), NEED("flow-2", FLOW, 0, 1e4, "second"),
      ASSUME("exponent", RATIO, 2, 1, 2, "2 turbulent, 1 laminar")},
     {GIVE("drop", PRESSURE_DIFFERENCE, "at the second flow"),
      GIVE("resistance", RESISTANCE, "drop over flow squared, when the exponent is 2")},
     system_curve},
    {"balance-flow",
     "Qc = Qd sqrt(Ph/Pl)",
     AF21_21 " eq. 42",
     WIDE_RANGE,
     "flow=850L/s higher-pressure=850Pa lower-pressure=762Pa",
     {NEED("flow", FLOW, 0, 1e4, "designed for the branch of the lower loss"),
      NEED("higher-pressure", PRESSURE_DIFFERENCE, 1e-3, 1e6, "loss of the governing branch"),
      NEED("lower-pressure", PRESSURE_DIFFERENCE, 1e-3, 1e6, "loss of this branch as designed")},
     {GIVE("flow", FLOW, "that balances"), GIVE("unbalance", SHARE, "(Ph - Pl)/Ph")},
     balance_flow},
    {"resistances-in-series",
     "R = sum Ri; dp = R Q^2",
     "common practice, no source",
     WIDE_RANGE,
     "resistance-1=0.4kg/m7 resistance-2=0.5kg/m7 flow=10m3/s",
     {RESISTANCES, MAY("flow", FLOW, 0, 1e4, "through all of them")},
     {GIVE("resistance", RESISTANCE, "in all"),
      GIVE("drop", PRESSURE_DIFFERENCE, "in all, when the flow is given")},
     resistances_in_series},
    {"resistances-in-parallel",
     "1/sqrt(R) = sum 1/sqrt(Ri)",
     "common practice, no source",
     WIDE_RANGE,
     "resistance-1=0.4kg/m7 resistance-2=0.6kg/m7 flow=47m3/s",
     {RESISTANCES, MAY("flow", FLOW, 0, 1e4, "through all of them")},
     {GIVE("resistance", RESISTANCE, "in all"),
      GIVE("drop", PRESSURE_DIFFERENCE, "when the flow is given"), GIVE("flow-1", FLOW, "its part"),
      GIVE("flow-2", FLOW, "its part"), GIVE("flow-3", FLOW, "its part"),
      GIVE("flow-4", FLOW, "its part"), GIVE("flow-5", FLOW, "its part"),
      GIVE("flow-6", FLOW, "its part")},
     resistances_in_parallel},
    {"resistance-from-coefficient",
     "R = C rho/(2 A^2)",
     "dp = C rho V^2/2 in terms of Q",
     WIDE_RANGE,
     "loss-coefficient=1.67 area=0.0314m2",
     {NEED("loss-coefficient", RATIO, 0, 1e6, "C"), NEED("area", AREA, 1e-9, 1e4, "of its section"),
      AIR_DENSITY},
     {GIVE("resistance", RESISTANCE, "drop over flow squared")},
     resistance_from_coefficient},
};

const struct formula_group formula_ducts = GROUP_OF("Ducts", rows);
