#include "matter/formula_impl.h"

static const char *orifice_flow(const double *in_si, double *out_si)
{
  out_si[1] = in_si[2] * sqrt(2 * in_si[1] / in_si[3]);
  out_si[0] = in_si[0] * out_si[1];
  return NULL;
}

static const char *orifice_area(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / (in_si[2] * sqrt(2 * in_si[1] / in_si[3]));
  return NULL;
}

static const char *orifice_pressure(const double *in_si, double *out_si)
{
  double through_m_s = in_si[0] / (in_si[2] * in_si[1]);

  out_si[0] = in_si[3] / 2 * through_m_s * through_m_s;
  return NULL;
}

static const char *orifice_constant(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * sqrt(2 / in_si[1]);
  return NULL;
}

static const char *constant_flow(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1] * pow(in_si[2], in_si[3]);
  return NULL;
}

static const char *power_law_leak(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * pow(in_si[2], in_si[1]);
  return NULL;
}

static const char *power_law_pressure(const double *in_si, double *out_si)
{
  out_si[0] = pow(in_si[0] / in_si[1], 1 / in_si[2]);
  return NULL;
}

static const char *leak_coefficient(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / pow(in_si[1], in_si[2]);
  return NULL;
}

static const char *leak_at_another_pressure(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * pow(in_si[2] / in_si[1], in_si[3]);
  return NULL;
}

/* Least squares of ln Q on ln dp over up to seven points. */
static const char *power_law_fit(const double *in_si, double *out_si)
{
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;

  for (int i = 0; i < 14; i += 2) {
    if (formula_given_count(in_si + i, 2) == 1)
      return "each point needs its flow and its pressure";
    if (!formula_given(in_si[i]))
      continue;
    double x = log(in_si[i + 1]), y = log(in_si[i]);
    n++;
    sx += x;
    sy += y;
    sxx += x * x;
    sxy += x * y;
  }
  double spread = n * sxx - sx * sx;
  if (n < 2 || !(spread > 1e-12 * n * sxx))
    return "two different pressures are needed at least";
  out_si[1] = (n * sxy - sx * sy) / spread;
  out_si[0] = exp((sy - out_si[1] * sx) / n);
  return NULL;
}

static const char *effective_leakage_area(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * sqrt(in_si[3] / (2 * in_si[1])) / in_si[2];
  return NULL;
}

static double leakage_area_m2(double flow_m3_s, double at_Pa, double discharge, double density)
{
  const double in_si[] = {flow_m3_s, at_Pa, discharge, density};
  double area_m2;

  effective_leakage_area(in_si, &area_m2);
  return area_m2;
}

/* The two conventions named in AF21-16: 4 Pa with Cd 1, 10 Pa with Cd 0.611. */
static const char *leakage_from_test(const double *in_si, double *out_si)
{
  double flow_m3_s = in_si[0], at_Pa = in_si[1], exponent = in_si[2], density = in_si[3];

  out_si[0] = flow_m3_s / pow(at_Pa, exponent);
  out_si[1] = out_si[0] * pow(4, exponent);
  out_si[2] = leakage_area_m2(out_si[1], 4, 1, density);
  out_si[3] = out_si[0] * pow(10, exponent);
  out_si[4] = leakage_area_m2(out_si[3], 10, 0.611, density);
  return NULL;
}

static const char *leakage_area_conversion(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1] / in_si[2] * pow(in_si[4] / in_si[3], in_si[5] - 0.5);
  return NULL;
}

static const char *leak_coefficient_from_area(const double *in_si, double *out_si)
{
  out_si[0] = in_si[2] * in_si[0] * sqrt(2 / in_si[4]) * pow(in_si[1], 0.5 - in_si[3]);
  return NULL;
}

static const char *wall_leak(const double *in_si, double *out_si)
{
  out_si[0] = in_si[2] * in_si[0] * sqrt(2 * in_si[1] / in_si[3]);
  out_si[1] = formula_given(in_si[4]) ? out_si[0] * in_si[4] : (double)NAN;
  return NULL;
}

static const char *areas_in_series(const double *in_si, double *out_si)
{
  double power = 1 / in_si[0], sum = 0;

  if (formula_given_count(in_si + 1, 8) < 1)
    return "give area-1, area-2, ...";
  for (int i = 1; i <= 8; i++)
    if (formula_given(in_si[i]))
      sum += pow(in_si[i], -power);
  out_si[0] = pow(sum, -in_si[0]);
  return NULL;
}

static const char *areas_in_parallel(const double *in_si, double *out_si)
{
  double sum_m2 = 0;

  if (formula_given_count(in_si, 8) < 1)
    return "give area-1, area-2, ...";
  for (int i = 0; i < 8; i++)
    if (formula_given(in_si[i]))
      sum_m2 += in_si[i];
  out_si[0] = sum_m2;
  return NULL;
}

static const char *room_pressure(const double *in_si, double *out_si)
{
  double area_m2 = in_si[1] + in_si[2] * in_si[3];
  double through_m_s = in_si[0] / (in_si[4] * area_m2);

  if (!(area_m2 > 0))
    return "a sealed room has no such pressure: give an opening or a wall";
  out_si[0] = area_m2;
  out_si[1] = in_si[5] / 2 * through_m_s * fabs(through_m_s);
  return NULL;
}

#define AIR_DENSITY   ASSUME("density", DENSITY, 1.2, 0.05, 20, "of the air")
#define DISCHARGE     ASSUME("discharge-coefficient", RATIO, 0.65, 0.01, 1.5, "of the opening")
#define DIFFERENCE    NEED("pressure", PRESSURE_DIFFERENCE, 0, 1e5, "difference across the opening")
#define SOME_PRESSURE NEED("pressure", PRESSURE_DIFFERENCE, 1e-6, 1e5, "difference across it")
#define LEAK_EXPONENT                                                                              \
  ASSUME("exponent", RATIO, 0.65, 0.5, 1, "0.5 sharp opening, 1 laminar crack, 0.65 usual mix")
#define LEAK_RANGE                                                                                 \
  "exponent: 0.5..1 are its limits in theory, 0.65 and 0.6..0.7 are " AF21_16                      \
  "'s; otherwise " WIDE_RANGE
#define AREAS                                                                                      \
  MAY("area-1", AREA, 1e-9, 1e4, "first"), MAY("area-2", AREA, 1e-9, 1e4, "second"),               \
      MAY("area-3", AREA, 1e-9, 1e4, "third"), MAY("area-4", AREA, 1e-9, 1e4, "fourth"),           \
      MAY("area-5", AREA, 1e-9, 1e4, "fifth"), MAY("area-6", AREA, 1e-9, 1e4, "sixth"),            \
      MAY("area-7", AREA, 1e-9, 1e4, "seventh"), MAY("area-8", AREA, 1e-9, 1e4, "eighth")
#define POINT(number)                                                                              \
  MAY("flow-" number, FLOW, 1e-9, 1e4, "of point " number),                                        \
      MAY("pressure-" number, PRESSURE_DIFFERENCE, 1e-6, 1e5, "of point " number)

static const struct matter_formula rows[] = {
    {"orifice-flow",
     "Q = Cd A sqrt(2 dp/rho)",
     AF21_16 " eq. 36, Cd 0.65 for one-way flow",
     WIDE_RANGE,
     "area=0.0189m2 pressure=10Pa",
     {NEED("area", AREA, 0, 1e4, "of the opening"), DIFFERENCE, DISCHARGE, AIR_DENSITY},
     {GIVE("flow", FLOW, "through the opening"), GIVE("velocity", VELOCITY, "flow per area")},
     orifice_flow},
    {"orifice-area",
     "A = Q/(Cd sqrt(2 dp/rho))",
     AF21_16 " eq. 36 solved for A",
     WIDE_RANGE,
     "flow=0.05m3/s pressure=10Pa",
     {NEED("flow", FLOW, 0, 1e4, "through the opening"), SOME_PRESSURE, DISCHARGE, AIR_DENSITY},
     {GIVE("area", AREA, "of the opening")},
     orifice_area},
    {"orifice-pressure",
     "dp = rho/2 (Q/(Cd A))^2",
     AF21_16 " eq. 36 solved for dp",
     WIDE_RANGE,
     "flow=0.05m3/s area=0.0189m2",
     {NEED("flow", FLOW, 0, 1e4, "through the opening"),
      NEED("area", AREA, 1e-9, 1e4, "of the opening"), DISCHARGE, AIR_DENSITY},
     {GIVE("pressure", PRESSURE_DIFFERENCE, "across the opening")},
     orifice_pressure},
    {"orifice-constant",
     "K = Cd sqrt(2/rho), for Q = K A sqrt(dp)",
     AF21_16 " eq. 36; printed elsewhere as 0.83, 0.839, 0.84 or 2610",
     WIDE_RANGE,
     "discharge-coefficient=0.65 density=1.2kg/m3",
     {DISCHARGE, AIR_DENSITY},
     {GIVE("constant", ORIFICE_CONSTANT, "flow per area and root of pressure")},
     orifice_constant},
    {"flow-by-constant",
     "Q = K A dp^n",
     "common practice (constant as printed by a standard)",
     WIDE_RANGE,
     "constant=0.83m3/(s*m2*Pa0.5) area=0.02m2 pressure=10Pa",
     {NEED("constant", ORIFICE_CONSTANT, 0, 10, "as printed"),
      NEED("area", AREA, 0, 1e4, "of the opening"), DIFFERENCE,
      ASSUME("exponent", RATIO, 0.5, 0.5, 1, "of the pressure")},
     {GIVE("flow", FLOW, "through the opening")},
     constant_flow},
    {"power-law-leak",
     "Q = c dp^n",
     AF21_16 " eq. 40",
     LEAK_RANGE,
     "coefficient=0.039322m3/(s*Pan) exponent=0.65 pressure=10Pa",
     {NEED("coefficient", LEAK_COEFFICIENT, 0, 1e3, "flow at 1 Pa"), LEAK_EXPONENT, DIFFERENCE},
     {GIVE("flow", FLOW, "through the leak")},
     power_law_leak},
    {"power-law-pressure",
     "dp = (Q/c)^(1/n)",
     AF21_16 " eq. 40 solved for dp",
     LEAK_RANGE,
     "flow=0.1m3/s coefficient=0.039322m3/(s*Pan) exponent=0.65",
     {NEED("flow", FLOW, 0, 1e4, "through the leak"),
      NEED("coefficient", LEAK_COEFFICIENT, 1e-9, 1e3, "flow at 1 Pa"), LEAK_EXPONENT},
     {GIVE("pressure", PRESSURE_DIFFERENCE, "across the leak")},
     power_law_pressure},
    {"leak-coefficient",
     "c = Q/dp^n",
     AF21_16 " eq. 40 solved for c",
     LEAK_RANGE,
     "flow=0.5m3/s pressure=50Pa exponent=0.65",
     {NEED("flow", FLOW, 0, 1e4, "measured"), SOME_PRESSURE, LEAK_EXPONENT},
     {GIVE("coefficient", LEAK_COEFFICIENT, "flow at 1 Pa")},
     leak_coefficient},
    {"leak-at-another-pressure",
     "Q2 = Q1 (dp2/dp1)^n",
     AF21_16 " eq. 40",
     LEAK_RANGE,
     "flow=0.5m3/s pressure-1=50Pa pressure-2=4Pa exponent=0.65",
     {NEED("flow", FLOW, 0, 1e4, "at the first pressure"),
      NEED("pressure-1", PRESSURE_DIFFERENCE, 1e-6, 1e5, "of the known flow"),
      NEED("pressure-2", PRESSURE_DIFFERENCE, 0, 1e5, "of the wanted flow"), LEAK_EXPONENT},
     {GIVE("flow", FLOW, "at the second pressure")},
     leak_at_another_pressure},
    {"power-law-fit",
     "least squares of ln Q = ln c + n ln dp",
     "elementary statistics",
     WIDE_RANGE,
     "flow-1=0.06m3/s pressure-1=10Pa flow-2=0.1m3/s pressure-2=25Pa",
     {POINT("1"), POINT("2"), POINT("3"), POINT("4"), POINT("5"), POINT("6"), POINT("7")},
     {GIVE("coefficient", LEAK_COEFFICIENT, "flow at 1 Pa"),
      GIVE("exponent", RATIO, "as fitted: outside 0.5..1 the points are not one leak")},
     power_law_fit},
    {"effective-leakage-area",
     "A = Q sqrt(rho/(2 dp))/Cd",
     AF21_16 " eq. 41; conventions 4 Pa with Cd 1, 10 Pa with Cd 0.611",
     WIDE_RANGE,
     "flow=0.0968m3/s pressure=4Pa discharge-coefficient=1",
     {NEED("flow", FLOW, 0, 1e4, "at the reference pressure"), SOME_PRESSURE,
      ASSUME("discharge-coefficient", RATIO, 1, 0.01, 1.5, "of the convention"), AIR_DENSITY},
     {GIVE("area", AREA, "that would leak the same")},
     effective_leakage_area},
    {"leakage-from-test",
     "c = Q/dp^n; Q4, Q10 = c dp^n; areas by eq. 41",
     AF21_16 " eqs 40 and 41: 4 Pa with Cd 1 (Sherman & Grimsrud), 10 Pa with Cd 0.611 (CGSB)",
     LEAK_RANGE,
     "flow=0.5m3/s pressure=50Pa exponent=0.65",
     {NEED("flow", FLOW, 0, 1e4, "measured"), SOME_PRESSURE, LEAK_EXPONENT, AIR_DENSITY},
     {GIVE("coefficient", LEAK_COEFFICIENT, "flow at 1 Pa"), GIVE("flow-at-4Pa", FLOW, "at 4 Pa"),
      GIVE("area-at-4Pa", AREA, "Cd 1"), GIVE("flow-at-10Pa", FLOW, "at 10 Pa"),
      GIVE("area-at-10Pa", AREA, "Cd 0.611")},
     leakage_from_test},
    {"leakage-area-conversion",
     "A2 = A1 (Cd1/Cd2)(dp2/dp1)^(n - 0.5)",
     AF21_16 " eq. 42",
     LEAK_RANGE,
     "area=375cm2 discharge-coefficient-1=1 discharge-coefficient-2=0.611 pressure-1=4Pa "
     "pressure-2=10Pa exponent=0.65",
     {NEED("area", AREA, 0, 1e4, "by the first convention"),
      NEED("discharge-coefficient-1", RATIO, 0.01, 1.5, "first"),
      NEED("discharge-coefficient-2", RATIO, 0.01, 1.5, "second"),
      NEED("pressure-1", PRESSURE_DIFFERENCE, 1e-6, 1e5, "first"),
      NEED("pressure-2", PRESSURE_DIFFERENCE, 1e-6, 1e5, "second"), LEAK_EXPONENT},
     {GIVE("area", AREA, "by the second convention")},
     leakage_area_conversion},
    {"leak-coefficient-from-area",
     "c = Cd A sqrt(2/rho) dp^(0.5 - n)",
     AF21_16 " eq. 45",
     LEAK_RANGE,
     "area=375cm2 pressure=4Pa discharge-coefficient=1 exponent=0.65",
     {NEED("area", AREA, 0, 1e4, "effective leakage area"), SOME_PRESSURE,
      ASSUME("discharge-coefficient", RATIO, 1, 0.01, 1.5, "of the convention"), LEAK_EXPONENT,
      AIR_DENSITY},
     {GIVE("coefficient", LEAK_COEFFICIENT, "flow at 1 Pa")},
     leak_coefficient_from_area},
    {"wall-leak",
     "Q/A = Cd ratio sqrt(2 dp/rho)",
     AF21_16 " eq. 36 with the area ratios of its Table 11",
     WIDE_RANGE,
     "area-ratio=0.00011 pressure=15Pa wall-area=40m2",
     {NEED("area-ratio", RATIO, 0, 1, "leakage area per wall area"), DIFFERENCE, DISCHARGE,
      AIR_DENSITY, MAY("wall-area", AREA, 0, 1e6, "of the wall")},
     {GIVE("flow-per-area", FLOW_PER_AREA, "through the wall"),
      GIVE("flow", FLOW, "through the whole wall, when its area is given")},
     wall_leak},
    {"areas-in-series",
     "1/Ae^(1/n) = sum 1/Ai^(1/n)",
     "Klote & Milke; NFPA 92 (n = 0.5; form from memory)",
     LEAK_RANGE,
     "area-1=0.02m2 area-2=0.04m2 area-3=0.03m2",
     {ASSUME("exponent", RATIO, 0.5, 0.5, 1, "of the flow law"), AREAS},
     {GIVE("area", AREA, "that alone would pass the same")},
     areas_in_series},
    {"areas-in-parallel",
     "Ae = sum Ai",
     "Klote & Milke; NFPA 92 (form from memory)",
     WIDE_RANGE,
     "area-1=1.08ft2 area-2=0.54ft2 area-3=0.54ft2",
     {AREAS},
     {GIVE("area", AREA, "that alone would pass the same")},
     areas_in_parallel},
    {"room-pressure",
     "A = A1 + ratio Awall; dp = rho/2 (Q/(Cd A))^2, with the sign of Q",
     AF21_16 " eq. 36; one room leaking to one surrounding",
     WIDE_RANGE,
     "surplus=0.05m3/s door-area=0.0189m2 wall-area=40m2 area-ratio=0.00011",
     {NEED("surplus", FLOW, -1e4, 1e4, "supply less exhaust"),
      NEED("door-area", AREA, 0, 1e4, "of gaps and openings"),
      ASSUME("wall-area", AREA, 0, 0, 1e6, "of leaking wall"),
      ASSUME("area-ratio", RATIO, 0, 0, 1, "leakage area per wall area"), DISCHARGE, AIR_DENSITY},
     {GIVE("area", AREA, "leakage in all"),
      GIVE("pressure", PRESSURE_DIFFERENCE, "of the room over its surroundings")},
     room_pressure},
};

const struct formula_group formula_leaks = GROUP_OF("Openings and leaks", rows);
