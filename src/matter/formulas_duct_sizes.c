#include "base/constants.h"
#include "matter/formula_impl.h"
#include "matter/moist_impl.h"

/* A round duct with one quantity open. */
struct run {
  double flow_m3_s, diameter_m, length_m, roughness_m, loss_ratio, density_kg_m3, viscosity_Pa_s;
  double drop_Pa; /* wanted */
};

static double velocity_of(const struct run *run)
{
  return run->flow_m3_s / (PI / 4 * run->diameter_m * run->diameter_m);
}

static double reynolds_of(const struct run *run)
{
  return run->density_kg_m3 * velocity_of(run) * run->diameter_m / run->viscosity_Pa_s;
}

static double drop_of_Pa(const struct run *run)
{
  double f = matter_friction_factor(reynolds_of(run), run->roughness_m / run->diameter_m);
  double velocity_m_s = velocity_of(run);

  return (f * run->length_m / run->diameter_m + run->loss_ratio) * run->density_kg_m3 / 2 *
         velocity_m_s * velocity_m_s;
}

static double excess_at_diameter(double log_diameter, const void *context)
{
  struct run run = *(const struct run *)context;

  run.diameter_m = exp(log_diameter);
  return log(drop_of_Pa(&run) / run.drop_Pa);
}

static double excess_at_flow(double log_flow, const void *context)
{
  struct run run = *(const struct run *)context;

  run.flow_m3_s = exp(log_flow);
  return log(drop_of_Pa(&run) / run.drop_Pa);
}

/* length, roughness, loss coefficient, density, viscosity, drop, head at in_si[0]. */
static const char *read_run(const double *in_si, struct run *run)
{
  if (formula_given_count(in_si + 5, 2) != 1)
    return "give one of drop and head";
  run->length_m = in_si[0];
  run->roughness_m = in_si[1];
  run->loss_ratio = in_si[2];
  run->density_kg_m3 = in_si[3];
  run->viscosity_Pa_s = in_si[4];
  run->drop_Pa = formula_given(in_si[5]) ? in_si[5] : in_si[6] * in_si[3] * 9.81;
  return NULL;
}

static void run_outputs(const struct run *run, double *out_si)
{
  out_si[1] = velocity_of(run);
  out_si[2] = reynolds_of(run);
  out_si[3] = matter_friction_factor(out_si[2], run->roughness_m / run->diameter_m);
  out_si[4] = drop_of_Pa(run);
}

static const char *duct_diameter(const double *in_si, double *out_si)
{
  struct run run = {.flow_m3_s = in_si[0]};
  const char *wrong = read_run(in_si + 1, &run);

  if (wrong)
    return wrong;
  double low_m = fmax(1e-3, 2 * run.roughness_m);
  run.diameter_m = exp(matter_bisect_si(excess_at_diameter, &run, log(low_m), log(30)));
  if (isnan(run.diameter_m))
    return "no diameter from 1 mm to 30 m has that drop";
  out_si[0] = run.diameter_m;
  run_outputs(&run, out_si);
  return NULL;
}

/* Between laminar and Colebrook flow the drop leaps, so a drop within the leap gives its foot. */
static const char *duct_flow(const double *in_si, double *out_si)
{
  struct run run = {.diameter_m = in_si[0]};
  const char *wrong = read_run(in_si + 1, &run);

  if (!wrong && run.roughness_m > 0.5 * run.diameter_m)
    wrong = "the roughness is larger than the duct: check its unit";
  if (wrong)
    return wrong;
  run.flow_m3_s = exp(matter_bisect_si(excess_at_flow, &run, log(1e-9), log(1e5)));
  if (isnan(run.flow_m3_s))
    return "no flow has that drop";
  out_si[0] = run.flow_m3_s;
  run_outputs(&run, out_si);
  return NULL;
}

/* Swamee & Jain 1976: D = 0.66 [e^1.25 (L Q^2/(g h))^4.75 + nu Q^9.4 (L/(g h))^5.2]^0.04. */
static const char *duct_diameter_explicit(const double *in_si, double *out_si)
{
  struct run run = {.flow_m3_s = in_si[0]};
  const char *wrong = read_run(in_si + 1, &run);

  if (wrong)
    return wrong;
  double inverse = run.length_m / (run.drop_Pa / run.density_kg_m3);
  double nu = run.viscosity_Pa_s / run.density_kg_m3;

  if (run.loss_ratio > 0)
    return "this estimate has no fittings; use duct-diameter";
  out_si[0] =
      0.66 * pow(pow(run.roughness_m, 1.25) * pow(inverse * run.flow_m3_s * run.flow_m3_s, 4.75) +
                     nu * pow(run.flow_m3_s, 9.4) * pow(inverse, 5.2),
                 0.04);
  return NULL;
}

static const char *equivalent_diameter(const double *in_si, double *out_si)
{
  double a = in_si[0], b = in_si[1];

  out_si[0] = 1.30 * pow(a * b, 0.625) / pow(a + b, 0.25);
  out_si[1] = 2 * a * b / (a + b);
  out_si[2] = a * b;
  return NULL;
}

static const char *flat_oval_diameter(const double *in_si, double *out_si)
{
  double major_m = in_si[0], minor_m = in_si[1];

  if (minor_m > major_m)
    return "the minor axis is the longer one";
  double area_m2 = PI / 4 * minor_m * minor_m + minor_m * (major_m - minor_m);
  double perimeter_m = PI * minor_m + 2 * (major_m - minor_m);

  out_si[0] = 1.55 * pow(area_m2, 0.625) / pow(perimeter_m, 0.25);
  out_si[1] = 4 * area_m2 / perimeter_m;
  out_si[2] = area_m2;
  return NULL;
}

static const char *diameter_for_velocity(const double *in_si, double *out_si)
{
  out_si[1] = in_si[0] / in_si[1];
  out_si[0] = sqrt(4 * out_si[1] / PI);
  return NULL;
}

static const char *hydraulic_diameter(const double *in_si, double *out_si)
{
  out_si[0] = 4 * in_si[0] / in_si[1];
  return NULL;
}

#define RUN_INPUTS                                                                                 \
  NEED("length", LENGTH, 1e-3, 1e6, "of the duct"),                                                \
      ASSUME("roughness", LENGTH, 9e-5, 0, 0.01, "of the wall"),                                   \
      ASSUME("loss-coefficient", RATIO, 0, 0, 1e5, "sum of the fittings' C"),                      \
      ASSUME("density", DENSITY, 1.204, 0.05, 2000, "of the air or other fluid"),                  \
      ASSUME("viscosity", VISCOSITY, 1.813e-5, 1e-7, 10, "dynamic; assumed 20 degC air"),          \
      MAY("drop", PRESSURE_DIFFERENCE, 1e-6, 1e7, "to be spent; or give head"),                    \
      MAY("head", HEAD, 1e-6, 1e4, "to be spent, height of the fluid; or give drop")
#define RUN_OUTPUTS                                                                                \
  GIVE("velocity", VELOCITY, "mean"), GIVE("reynolds", RATIO, "on the diameter"),                  \
      GIVE("friction-factor", RATIO, "Darcy"),                                                     \
      GIVE("drop", PRESSURE_DIFFERENCE, "put back into the equation")
#define RUN_RANGE                                                                                  \
  "roughness: " AF21_21 " Table 1, 0.09 mm is average galvanised; otherwise " WIDE_RANGE

static const struct matter_formula rows[] = {
    {"duct-diameter",
     "dp = (f L/D + C) rho V^2/2 solved for D",
     AF21_21 " eqs 18, 19, 34",
     RUN_RANGE,
     "flow=0.35m3/s length=150m head=20m roughness=0mm density=1.145kg/m3",
     {NEED("flow", FLOW, 1e-9, 1e4, "to be carried"), RUN_INPUTS},
     {GIVE("diameter", LENGTH, "of a round duct"), RUN_OUTPUTS},
     duct_diameter},
    {"duct-flow",
     "dp = (f L/D + C) rho V^2/2 solved for Q",
     AF21_21 " eqs 18, 19, 34",
     RUN_RANGE,
     "diameter=267mm length=300m head=20m roughness=0mm density=1.145kg/m3",
     {NEED("diameter", LENGTH, 1e-4, 30, "inside"), RUN_INPUTS},
     {GIVE("flow", FLOW, "that has this drop"), RUN_OUTPUTS},
     duct_flow},
    {"duct-diameter-explicit",
     "D = 0.66 [e^1.25 (L Q^2/(g h))^4.75 + nu Q^9.4 (L/(g h))^5.2]^0.04",
     "Swamee & Jain 1976 (form from memory); within 2 % for turbulent flow",
     RUN_RANGE,
     "flow=0.35m3/s length=150m head=20m roughness=0mm density=1.145kg/m3",
     {NEED("flow", FLOW, 1e-9, 1e4, "to be carried"), RUN_INPUTS},
     {GIVE("diameter", LENGTH, "of a round duct")},
     duct_diameter_explicit},
    {"diameter-for-velocity",
     "A = Q/V; D = sqrt(4 A/pi)",
     "continuity",
     WIDE_RANGE,
     "flow=1440L/s velocity=14.5m/s",
     {NEED("flow", FLOW, 0, 1e4, "to be carried"), NEED("velocity", VELOCITY, 0.01, 200, "wanted")},
     {GIVE("diameter", LENGTH, "of a round duct"), GIVE("area", AREA, "of any duct")},
     diameter_for_velocity},
    {"equivalent-diameter",
     "De = 1.30 (a b)^0.625/(a + b)^0.25; Dh = 2 a b/(a + b)",
     AF21_21 " eqs 24 and 25",
     WIDE_RANGE,
     "width=400mm height=500mm",
     {NEED("width", LENGTH, 1e-3, 30, "inside"), NEED("height", LENGTH, 1e-3, 30, "inside")},
     {GIVE("diameter", LENGTH, "of the round duct with this flow and loss"),
      GIVE("hydraulic-diameter", LENGTH, "4 A/P"), GIVE("area", AREA, "of the section")},
     equivalent_diameter},
    {"equivalent-diameter-flat-oval",
     "De = 1.55 A^0.625/P^0.25; A = pi a^2/4 + a (A' - a)",
     AF21_21 " (form from memory)",
     WIDE_RANGE,
     "major=600mm minor=250mm",
     {NEED("major", LENGTH, 1e-3, 30, "longer axis"),
      NEED("minor", LENGTH, 1e-3, 30, "shorter axis")},
     {GIVE("diameter", LENGTH, "of the round duct with this flow and loss"),
      GIVE("hydraulic-diameter", LENGTH, "4 A/P"), GIVE("area", AREA, "of the section")},
     flat_oval_diameter},
    {"hydraulic-diameter",
     "Dh = 4 A/P",
     AF21_21 " eq. 24",
     WIDE_RANGE,
     "area=0.08m2 perimeter=1.2m",
     {NEED("area", AREA, 1e-9, 1e4, "of the section"),
      NEED("perimeter", LENGTH, 1e-6, 1e4, "wetted")},
     {GIVE("hydraulic-diameter", LENGTH, "4 A/P")},
     hydraulic_diameter},
};

const struct formula_group formula_duct_sizes = GROUP_OF("Duct sizes", rows);
