#include "matter/formula_impl.h"

#include "base/constants.h"

/* What reaches the air from a liquid, and what share of it burns.  Several published forms of the same
 * thing stand side by side on purpose: they differ by more than a factor of three. */

static const double torr_Pa = 133.322387415, foot_m = 0.3048;

static const char *vapour_pressure(const double *in_si, double *out_si)
{
  out_si[0] = pow(10, in_si[0] - in_si[1] / (in_si[3] + in_si[2]));
  return in_si[3] + in_si[2] > 0 ? NULL : "the temperature lies below the pole of this equation";
}

static const char *mass_concentration(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1] * in_si[3] / (GAS_CONSTANT_J_MOL_K * in_si[2]);
  return NULL;
}

static const char *saturation(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / in_si[1];
  return in_si[0] < in_si[1] ? NULL : "it boils: no evaporation figure is given";
}

static const char *pool(const double *in_si, double *out_si)
{
  if (in_si[1] >= in_si[5])
    return "it boils: no evaporation figure is given";
  /* QR lb/min = 0.284 U^0.78 M^(2/3) A P/(82.05 T), ft2 and mmHg */
  double lb_min = 0.284 * pow(in_si[4], 0.78) * cbrt(in_si[0] * 1e3 * in_si[0] * 1e3) *
                  (in_si[2] / (foot_m * foot_m)) * (in_si[1] / torr_Pa) / (82.05 * in_si[3]);

  out_si[0] = lb_min * 0.45359237 / 60;
  return NULL;
}

static const char *liquid_factor(const double *in_si, double *out_si)
{
  out_si[0] =
      0.284 * cbrt(in_si[0] * 1e3 * in_si[0] * 1e3) * (in_si[1] / torr_Pa) / (82.05 * in_si[2]);
  return NULL;
}

/* G g/s; M g/mol, P torr, v ft/min, A cm2, L cm, T K, Pa atm. */
static const char *penetration(const double *in_si, double *out_si)
{
  double M = in_si[0] * 1e3, torr = in_si[1] / torr_Pa, v = in_si[4] / foot_m * 60;
  double A = in_si[2] * 1e4, L = in_si[5] * 100, T = in_si[3], atm = in_si[6] / ATMOSPHERE_PA;

  if (in_si[1] >= in_si[6])
    return "it boils: no evaporation figure is given";
  out_si[0] = 8.24e-8 * pow(M, 0.835) * torr * pow(1 / 29.0 + 1 / M, 0.25) * sqrt(v) * A /
              (pow(T, 0.05) * sqrt(L) * sqrt(atm)) * 1e-3;
  return NULL;
}

static const char *transfer(const double *in_si, double *out_si)
{
  double M = in_si[0] * 1e3, torr = in_si[1] / torr_Pa, v = in_si[4] / foot_m * 60;
  double A = in_si[2] * 1e4, L = in_si[5] * 100, T = in_si[3];

  if (in_si[1] >= in_si[6])
    return "it boils: no evaporation figure is given";
  out_si[0] = 1.93e-7 * pow(M, 0.78) * torr * pow(v, 0.78) * A * cbrt(1 / 29.0 + 1 / M) /
              (pow(T, 0.4) * pow(L, 0.11) * cbrt(pow(sqrt(T) - 5.87, 2))) * 1e-3;
  return NULL;
}

static const char *plate(const double *in_si, double *out_si)
{
  double reynolds = in_si[4] * in_si[5] / in_si[7], schmidt = in_si[7] / in_si[6];
  double per_m_s = 0.664 * sqrt(reynolds) * cbrt(schmidt) * in_si[6] / in_si[5];

  if (reynolds > 5e5)
    return "turbulent: this form is for a laminar layer";
  out_si[0] = per_m_s * in_si[2] * in_si[0] * in_si[1] / (GAS_CONSTANT_J_MOL_K * in_si[3]);
  out_si[1] = reynolds;
  return NULL;
}

/* k[m/h] = 0.0292 U^0.78 X^-0.11 Sc^-0.67 with U in m/h, X in m. */
static const char *turbulent_pool(const double *in_si, double *out_si)
{
  double schmidt = in_si[7] / in_si[6];
  double per_m_s =
      0.0292 * pow(in_si[4] * 3600, 0.78) * pow(in_si[5], -0.11) * pow(schmidt, -0.67) / 3600;

  out_si[0] = per_m_s * in_si[2] * in_si[0] * in_si[1] / (GAS_CONSTANT_J_MOL_K * in_si[3]);
  out_si[1] = per_m_s;
  return NULL;
}

/* Through still air that the vapour itself must push aside: the logarithm. */
static const char *freeboard(const double *in_si, double *out_si)
{
  double pressure_Pa = in_si[6];

  if (in_si[1] >= pressure_Pa)
    return "it boils: no evaporation figure is given";
  out_si[0] = in_si[0] * in_si[2] * in_si[5] * pressure_Pa /
              (GAS_CONSTANT_J_MOL_K * in_si[3] * in_si[4]) * -log1p(-in_si[1] / pressure_Pa);
  return NULL;
}

/* V dy/dt = G - Q y, solved: y = y0 exp(-Q t/V) + G/Q (1 - exp(-Q t/V)). */
static const char *build_up(const double *in_si, double *out_si)
{
  double volume_m3 = in_si[0], flow_m3_s = in_si[1] * in_si[5],
         changes = flow_m3_s * in_si[3] / volume_m3;
  double gained_m3 =
      flow_m3_s > 0 ? in_si[2] / flow_m3_s * -expm1(-changes) : in_si[2] * in_si[3] / volume_m3;

  out_si[0] = in_si[4] * exp(-changes) + gained_m3;
  return out_si[0] <= 1 ? NULL : "more vapour than there is room for";
}

static const char *diffusivity(const double *in_si, double *out_si)
{
  double T = in_si[2], M = 2 / (1 / (in_si[0] * 1e3) + 1 / 28.97);
  double sum = cbrt(in_si[1]) + cbrt(19.7);

  out_si[0] = 0.00143 * pow(T, 1.75) / (in_si[3] / 1e5 * sqrt(M) * sum * sum) * 1e-4;
  return NULL;
}

static const char *source_concentration(const double *in_si, double *out_si)
{
  double flow = in_si[2] * in_si[5];

  out_si[0] = in_si[0] / in_si[1] * GAS_CONSTANT_J_MOL_K * in_si[3] / in_si[4] / flow;
  return NULL;
}

static const char *dilution_flow(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1] / in_si[2] * GAS_CONSTANT_J_MOL_K * in_si[4] / in_si[5] *
              in_si[6] / in_si[3];
  return NULL;
}

static const char *purge_time(const double *in_si, double *out_si)
{
  if (in_si[2] < in_si[3])
    return "the last concentration is above the first";
  out_si[0] = in_si[4] * in_si[0] / in_si[1] * log(in_si[2] / in_si[3]);
  return NULL;
}

/* Shares of the fuel alone; what is left out is not there. */
static const char *mixture_limit(const double *in_si, double *out_si)
{
  double sum = 0, fuel = 0;

  for (int i = 0; i < 4; i++) {
    if (formula_given(in_si[2 * i]) != formula_given(in_si[2 * i + 1]))
      return "each share needs its limit, and each limit its share";
    if (!formula_given(in_si[2 * i]))
      continue;
    fuel += in_si[2 * i];
    sum += in_si[2 * i] / in_si[2 * i + 1];
  }
  out_si[0] = fuel / sum;
  return NULL;
}

static const char *limit_at(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * (1 - 0.000721 * (in_si[1] - 298.15));
  return NULL;
}

static const char *mean_exposure(const double *in_si, double *out_si)
{
  double sum = 0, hours_s = 0;

  for (int i = 0; i < 4; i++) {
    if (formula_given(in_si[2 * i]) != formula_given(in_si[2 * i + 1]))
      return "each concentration needs its time, and each time its concentration";
    if (!formula_given(in_si[2 * i]))
      continue;
    sum += in_si[2 * i] * in_si[2 * i + 1];
    hours_s += in_si[2 * i + 1];
  }
  out_si[0] = sum / (8 * 3600);
  return hours_s <= 8 * 3600 ? NULL : "more than eight hours";
}

#define MOLECULE NEED("molar-mass", MOLAR_MASS, 1e-3, 1, "of the vapour")
#define PARTIAL                                                                                    \
  NEED("vapour-pressure", ABSOLUTE_PRESSURE, 0, 2e5, "over the liquid, at its temperature")
#define SURFACE       NEED("area", AREA, 1e-8, 1e3, "of the surface")
#define LIQUID_AT     ASSUME("temperature", TEMPERATURE, 298.15, 200, 500, "of the liquid's surface")
#define WIND          NEED("speed", VELOCITY, 1e-4, 50, "of the air over it")
#define ALONG         NEED("length", LENGTH, 1e-4, 50, "of the surface along the air")
#define ROOM_PRESSURE ASSUME("pressure", ABSOLUTE_PRESSURE, ATMOSPHERE_PA, 2e4, 2e5, "of the air")
#define GAS_AT        ASSUME("temperature", TEMPERATURE, 298.15, 200, 500, "of the air")
#define RATE                                                                                       \
  GIVE("rate", MASS_FLOW, "of vapour; isothermal: an upper bound for a spill that cools itself")
#define PART(n)                                                                                    \
  MAY("share-" #n, CONCENTRATION, 0, 1, "of fuel " #n),                                            \
      MAY("limit-" #n, CONCENTRATION, 1e-6, 1, "of fuel " #n)
#define SPELL(n)                                                                                   \
  MAY("concentration-" #n, CONCENTRATION, 0, 1, "in spell " #n),                                   \
      MAY("time-" #n, TIME, 0, 28800, "of spell " #n)
#define OPPT                                                                                       \
  "US EPA, Chemical Engineering Branch manual, 1991; Hummel, Braun and Fehrenbacher, AIHA J. 57 (1996) 519 (constants from memory, derived anew)"

static const struct matter_formula rows[] = {
    {"vapour-pressure",
     "log10(p/Pa) = A - B/(T + C)",
     "Antoine's form",
     "the range of the three figures is their source's",
     "a=9.80588 b=1475.6 c=14.73 temperature=20degC",
     {NEED("a", RATIO, -100, 100, "of the substance, for Pa and K"),
      NEED("b", RATIO, -1e5, 1e5, "K"), NEED("c", RATIO, -1e3, 1e3, "K"),
      NEED("temperature", TEMPERATURE, 50, 1500, "of the liquid")},
     {GIVE("vapour-pressure", ABSOLUTE_PRESSURE, "of the pure substance")},
     vapour_pressure},
    {"mass-concentration",
     "c = y M p/(R T)",
     "ideal gas",
     WIDE_RANGE,
     "concentration=3ppm molar-mass=20.006g/mol",
     {NEED("concentration", CONCENTRATION, 0, 1, "by volume"), MOLECULE, GAS_AT, ROOM_PRESSURE},
     {GIVE("mass-concentration", DENSITY, "mass per volume of air")},
     mass_concentration},
    {"saturation-concentration",
     "y = p/p_air",
     "Dalton's law",
     WIDE_RANGE,
     "vapour-pressure=33mmHg(a)",
     {PARTIAL, ROOM_PRESSURE},
     {GIVE("concentration", CONCENTRATION, "right above the liquid, at most")},
     saturation},
    {"pool-evaporation",
     "Q = 0.284 U^0.78 M^(2/3) A p/(82.05 T), lb/min, m/s, ft2, mmHg, K",
     "US EPA 550-B-99-009 eq. D-1, after Mackay and Matsugu 1973",
     "for vapour pressures well below that of the air",
     "molar-mass=58.08g/mol vapour-pressure=231mmHg(a) area=78.5cm2 speed=0.508m/s",
     {MOLECULE, PARTIAL, SURFACE, LIQUID_AT, WIND, ROOM_PRESSURE},
     {RATE},
     pool},
    {"liquid-factor",
     "LFA = 0.284 M^(2/3) p/(82.05 T), g/mol, mmHg, K",
     "US EPA 550-B-99-009 app. D (ambient liquid factor)",
     WIDE_RANGE,
     "molar-mass=53.06g/mol vapour-pressure=108mmHg(a)",
     {MOLECULE, PARTIAL, ASSUME("temperature", TEMPERATURE, 298, 200, 500, "of the liquid")},
     {GIVE("factor", RATIO, "of that document's tables")},
     liquid_factor},
    {"slow-air-evaporation",
     "G = 8.24e-8 M^0.835 p (1/29 + 1/M)^0.25 v^0.5 A/(T^0.05 L^0.5 P^0.5), g/s, torr, ft/min, cm, atm",
     OPPT ": penetration model",
     "air up to 100 ft/min (0.508 m/s), indoors",
     "molar-mass=58.08g/mol vapour-pressure=231mmHg(a) area=78.5cm2 speed=100fpm length=10cm",
     {MOLECULE, PARTIAL, SURFACE, LIQUID_AT,
      NEED("speed", VELOCITY, 1e-4, 0.5081, "of the air over it"), ALONG, ROOM_PRESSURE},
     {RATE},
     penetration},
    {"fast-air-evaporation",
     "G = 1.93e-7 M^0.78 p v^0.78 A (1/29 + 1/M)^(1/3)/(T^0.4 L^0.11 (T^0.5 - 5.87)^(2/3)), as above",
     OPPT ": mass-transfer model",
     "air from 100 ft/min (0.508 m/s) on",
     "molar-mass=58.08g/mol vapour-pressure=231mmHg(a) area=78.5cm2 speed=100fpm length=10cm",
     {MOLECULE, PARTIAL, SURFACE, LIQUID_AT,
      NEED("speed", VELOCITY, 0.5079, 50, "of the air over it"), ALONG, ROOM_PRESSURE},
     {RATE},
     transfer},
    {"plate-evaporation",
     "Sh = 0.664 Re^(1/2) Sc^(1/3); G = Sh D/L A M p/(R T)",
     "laminar boundary layer on a flat plate, any textbook of heat and mass transfer",
     "Re up to 5e5",
     "molar-mass=58.08g/mol vapour-pressure=231mmHg(a) area=78.5cm2 speed=0.508m/s length=10cm "
     "diffusivity=0.1224cm2/s",
     {MOLECULE, PARTIAL, SURFACE, LIQUID_AT, WIND, ALONG,
      NEED("diffusivity", DIFFUSIVITY, 1e-7, 1e-3, "of the vapour in air"),
      ASSUME("viscosity", KINEMATIC_VISCOSITY, 1.55e-5, 1e-6, 1e-4, "of the air, kinematic")},
     {RATE, GIVE("reynolds", RATIO, "along the surface")},
     plate},
    {"turbulent-pool-evaporation",
     "k = 0.0292 U^0.78 X^-0.11 Sc^-0.67, m/h; G = k A M p/(R T)",
     "Mackay and Matsugu, Can. J. Chem. Eng. 51 (1973) 434 (form and figures from memory)",
     "pools outdoors; a small vessel indoors lies outside what was measured",
     "molar-mass=58.08g/mol vapour-pressure=231mmHg(a) area=78.5cm2 speed=0.508m/s length=10cm "
     "diffusivity=0.1224cm2/s",
     {MOLECULE, PARTIAL, SURFACE, LIQUID_AT, WIND, ALONG,
      NEED("diffusivity", DIFFUSIVITY, 1e-7, 1e-3, "of the vapour in air"),
      ASSUME("viscosity", KINEMATIC_VISCOSITY, 1.55e-5, 1e-6, 1e-4, "of the air, kinematic")},
     {RATE, GIVE("transfer", VELOCITY, "mass transfer coefficient")},
     turbulent_pool},
    {"freeboard-evaporation",
     "G = A M D p_air/(R T z) ln(p_air/(p_air - p))",
     "Stefan's diffusion through a stagnant layer, any textbook of mass transfer",
     "still air in the freeboard: air that reaches in carries off more",
     "molar-mass=58.08g/mol vapour-pressure=231mmHg(a) area=78.5cm2 freeboard=30mm "
     "diffusivity=0.1224cm2/s",
     {MOLECULE, PARTIAL, SURFACE, LIQUID_AT,
      NEED("freeboard", LENGTH, 1e-4, 10, "from the liquid up to the rim"),
      NEED("diffusivity", DIFFUSIVITY, 1e-7, 1e-3, "of the vapour in air"), ROOM_PRESSURE},
     {GIVE("rate", MASS_FLOW, "of vapour, while the air in the freeboard stands still")},
     freeboard},
    {"vapour-build-up",
     "y = y0 exp(-m Q t/V) + G/(m Q) (1 - exp(-m Q t/V))",
     "mass balance of a well mixed room, solved",
     WIDE_RANGE,
     "volume=100m3 flow=0.5m3/s source=0.02L/s time=10min",
     {NEED("volume", VOLUME, 1e-3, 1e7, "of the room"),
      NEED("flow", FLOW, 0, 1e4, "of fresh air, not of air that is filtered and comes back"),
      NEED("source", FLOW, 0, 1e3, "of vapour, as a volume of gas"),
      NEED("time", TIME, 0, 1e8, "since the source began"),
      ASSUME("first", CONCENTRATION, 0, 0, 1, "at that moment"),
      ASSUME("mixing", RATIO, 1, 0.01, 1, "1 perfect; 0.1 poor")},
     {GIVE("concentration", CONCENTRATION, "on average: near the source far more")},
     build_up},
    {"vapour-diffusivity",
     "D = 0.00143 T^1.75/(P M^0.5 (V^(1/3) + 19.7^(1/3))^2), cm2/s, bar, M = 2/(1/Ma + 1/28.97)",
     "Fuller, Schettler and Giddings 1969, as in Poling, Prausnitz and O'Connell",
     "typical error 5 to 10 %",
     "molar-mass=18.015g/mol volume=13.1",
     {MOLECULE, NEED("volume", RATIO, 1, 1000, "diffusion volume of the vapour, by Fuller's table"),
      GAS_AT, ROOM_PRESSURE},
     {GIVE("diffusivity", DIFFUSIVITY, "in air")},
     diffusivity},
    {"source-concentration",
     "y = G R T/(M p Q k)",
     "mass balance, ideal gas",
     "mixing 0.1..1 (EPA's high-end set: 0.1; typical: 0.5, value from memory)",
     "rate=0.0504g/s molar-mass=58.08g/mol flow=3000cfm mixing=0.5",
     {NEED("rate", MASS_FLOW, 0, 1e3, "of vapour into the air"), MOLECULE,
      NEED("flow", FLOW, 1e-9, 1e4, "of fresh air"), GAS_AT, ROOM_PRESSURE,
      ASSUME("mixing", RATIO, 1, 0.01, 1, "1 perfect; 0.1 poor")},
     {GIVE("concentration", CONCENTRATION,
           "in the end, on average: at a person it may be far more")},
     source_concentration},
    {"dilution-flow",
     "Q = V rho R T K/(M p C)",
     "ACGIH Industrial Ventilation, dilution chapter (form from memory)",
     "K 3..10 as stated there",
     "liquid=946mL/h density=0.805g/mL molar-mass=72.1g/mol limit=200ppm mixing-factor=4",
     {NEED("liquid", FLOW, 0, 1, "that evaporates, as a volume of liquid"),
      NEED("density", DENSITY, 300, 3000, "of the liquid"), MOLECULE,
      NEED("limit", CONCENTRATION, 1e-9, 1, "not to be passed, on average"),
      ASSUME("temperature", TEMPERATURE, 294.26, 200, 800, "of the air"), ROOM_PRESSURE,
      ASSUME("mixing-factor", RATIO, 1, 1, 100, "1 perfect, 10 poor")},
     {GIVE("flow", FLOW, "of fresh air")},
     dilution_flow},
    {"purge-time",
     "t = k (V/Q) ln(C1/C2)",
     "mass balance; mixing factor k up to 10 (MMWR 43(RR-13), 1994)",
     WIDE_RANGE,
     "volume=100m3 flow=0.5m3/s first=1000ppm last=10ppm",
     {NEED("volume", VOLUME, 1e-3, 1e7, "of the room"),
      NEED("flow", FLOW, 1e-9, 1e4, "of fresh air, not of air that is filtered and comes back"),
      NEED("first", CONCENTRATION, 1e-12, 1, "when the source is gone"),
      NEED("last", CONCENTRATION, 1e-12, 1, "wanted"),
      ASSUME("mixing-factor", RATIO, 1, 1, 100, "1 perfect, 10 poor")},
     {GIVE("time", TIME,
           "at that flow; going in again needs more: the source removed, and measured")},
     purge_time},
    {"flammable-mixture",
     "L = 1/sum(y_i/L_i), y of the fuel alone",
     "Le Chatelier's rule",
     WIDE_RANGE,
     "share-1=0.8%vol limit-1=1.1%vol share-2=2%vol limit-2=5%vol share-3=0.5%vol limit-3=2.7%vol",
     {NEED("share-1", CONCENTRATION, 0, 1, "of fuel 1"),
      NEED("limit-1", CONCENTRATION, 1e-6, 1, "of fuel 1, lower or upper"), PART(2), PART(3),
      PART(4)},
     {GIVE("limit", CONCENTRATION, "of the mixture")},
     mixture_limit},
    {"flammable-limit",
     "L(T) = L25 (1 - 0.000721 (T - 25 degC))",
     "Zabetakis, Bureau of Mines Bulletin 627 (1965) (value from memory)",
     WIDE_RANGE,
     "limit=2.5%vol temperature=100degC",
     {NEED("limit", CONCENTRATION, 1e-6, 1, "lower, at 25 degC"),
      NEED("temperature", TEMPERATURE, 200, 900, "of the mixture")},
     {GIVE("limit", CONCENTRATION, "lower, at that temperature")},
     limit_at},
    {"mean-exposure",
     "E = sum(C_i t_i)/8 h",
     "29 CFR 1910.1000(d)(1)",
     "a mean over a shift; a short or a ceiling limit is another test",
     "concentration-1=150ppm time-1=2h concentration-2=75ppm time-2=2h concentration-3=50ppm time-3=4h",
     {NEED("concentration-1", CONCENTRATION, 0, 1, "in spell 1"),
      NEED("time-1", TIME, 0, 28800, "of spell 1"), SPELL(2), SPELL(3), SPELL(4)},
     {GIVE("mean", CONCENTRATION, "over eight hours")},
     mean_exposure},
};

const struct formula_group formula_vapours = CAUTIOUS_GROUP_OF(
    "Vapours",
    "An estimate of averages: at a person it may be many times more, and nothing below a limit is cleared by "
    "it. Measure, and ask the safety officer.",
    rows);
