#include "matter/formula_impl.h"

#include "base/constants.h"

/* Rates from papers: where a plan begins, until the suite's own measured rate takes their place. */

static const double per_particle_J_mol = 96485.33212331001; /* 1 eV a particle, exact */
static const double micrometre_per_hour = 1e-6 / 3600;

static const char *potassium_hydroxide(const double *in_si, double *out_si)
{
  double hydroxide = in_si[0] * in_si[1] / 0.056105, water = (1 - in_si[0]) * in_si[1] / 0.018015;
  double energy_ev = in_si[3] / per_particle_J_mol;

  /* mol/L */
  out_si[0] = in_si[4] * pow(water * 1e-3, 4) * pow(hydroxide * 1e-3, 0.25) *
              exp(-in_si[3] / (GAS_CONSTANT_J_MOL_K * in_si[2])) * micrometre_per_hour;
  out_si[1] = hydroxide;
  out_si[2] = water;
  return energy_ev < 2 ? NULL : "an activation energy of more than 2 eV is no etch of silicon";
}

/* W in per cent by mass; the paper's energy grows with it. */
static const char *potassium_hydroxide_by_mass(const double *in_si, double *out_si)
{
  double percent = in_si[0] * 100, energy_ev = percent / 300 + 0.48;

  out_si[0] = 2.6e6 * pow(percent, 2.5) *
              exp(-energy_ev * per_particle_J_mol / (GAS_CONSTANT_J_MOL_K * in_si[1])) *
              micrometre_per_hour;
  return NULL;
}

static const char *other_temperature(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * exp(in_si[3] / GAS_CONSTANT_J_MOL_K * (1 / in_si[1] - 1 / in_si[2]));
  out_si[1] = out_si[0] / in_si[0];
  return NULL;
}

/* [HF] and [HF2-] from the two equilibria: h free protons, f free fluoride, u undissociated;
 * h f = K1 u, u f = K2 b, h = f + b, total = u + f + 2 b.  f by bisection: all grows with u. */
static void dissociate(double total, double K1, double K2, double *undissociated, double *pair)
{
  double low = 0, high = total, u = 0, f = 0;

  for (int i = 0; i < 200; i++) {
    u = 0.5 * (low + high);
    f = sqrt(K1 * u / (1 + u / K2)); /* h = f (1 + u/K2) */
    if (u + f + 2 * u * f / K2 > total)
      high = u;
    else
      low = u;
  }
  *undissociated = u;
  *pair = u * f / K2;
}

static const char *oxide_in_fluoride(const double *in_si, double *out_si)
{
  double undissociated, pair;

  dissociate(in_si[0] * 1e-3, in_si[1], in_si[2], &undissociated, &pair);
  out_si[0] = (2.50 * undissociated + 9.66 * pair - 0.14) * 1e-10;
  out_si[1] = undissociated * 1e3;
  out_si[2] = pair * 1e3;
  return out_si[0] > 0 ? NULL
                       : "so dilute that this form gives no etch at all: it does not hold there";
}

static const char *etch_time(const double *in_si, double *out_si)
{
  double slow_m_s = in_si[1] * (1 - in_si[3]), fast_m_s = in_si[1] * (1 + in_si[3]);

  out_si[0] = in_si[0] * (1 + in_si[2]) / slow_m_s * (1 + in_si[4]);
  out_si[1] = in_si[0] * (1 + in_si[4]) / in_si[1];
  if (formula_given(in_si[5])) {
    out_si[2] = in_si[5] * (out_si[0] - in_si[0] * (1 - in_si[2]) / fast_m_s);
    out_si[3] = in_si[1] / in_si[5];
    out_si[4] = in_si[5] * out_si[0];
  }
  return NULL;
}

static const char *parabolic(const double *in_si, double *out_si)
{
  double A = in_si[0], B = in_si[1];
  double tau_s = (in_si[3] * in_si[3] + A * in_si[3]) / B;

  out_si[0] = A / 2 * (sqrt(1 + (in_si[2] + tau_s) * 4 * B / (A * A)) - 1);
  out_si[1] = tau_s;
  out_si[2] = out_si[0] * (2.20 / 2.33) * (28.085 / 60.084); /* densities, molar masses */
  return NULL;
}

static const char *arrhenius(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * exp(-in_si[1] / (GAS_CONSTANT_J_MOL_K * in_si[2]));
  return NULL;
}

static const char *groove(const double *in_si, double *out_si)
{
  out_si[0] = atan(sqrt(2)) * 180 / PI;
  out_si[1] = in_si[0] / sqrt(2);
  return NULL;
}

static const char *oxide_uses_fluoride(const double *in_si, double *out_si)
{
  out_si[0] = 6 * in_si[0] * in_si[1] * 2200 / 0.060084; /* 6 HF to one SiO2 */
  return NULL;
}

#define BATH_AT(key, meaning) NEED(key, TEMPERATURE, 250, 550, meaning)
#define FURNACE_AT            NEED("temperature", TEMPERATURE, 900, 1600, "of the furnace")
#define DEAL_GROVE            "Deal and Grove, J. Appl. Phys. 36 (1965) 3770 (form from memory)"

static const struct matter_formula rows[] = {
    {"silicon-in-hydroxide",
     "R = k0 [H2O]^4 [KOH]^(1/4) exp(-Ea/(k T)), um/h, mol/L",
     "Seidel, Csepregi, Heuberger and Baumgaertel, J. Electrochem. Soc. 137 (1990) 3612 and 3626",
     "10..60 wt%; above 40 wt% it falls short of the paper's own table",
     "fraction=30wt% density=1.2905kg/L temperature=80degC",
     {NEED("fraction", MASS_FRACTION, 0.1, 0.6, "of potassium hydroxide"),
      NEED("density", DENSITY, 1000, 1800, "of the solution at 20 degC: the paper counts so"),
      BATH_AT("temperature", "of the bath"),
      ASSUME("activation", MOLAR_ENERGY, 0.595 * 96485.33212331001, 1e4, 3e5,
             "energy; (100): 0.595 eV, (110): 0.60 eV"),
      ASSUME("k0", RATIO, 2480, 1, 1e6, "(100): 2480, (110): 4500, um/h (mol/L)^-4.25")},
     {GIVE("rate", ETCH_RATE, "of silicon"), GIVE("hydroxide", MOLARITY, ""),
      GIVE("water", MOLARITY, "")},
     potassium_hydroxide},
    {"silicon-in-hydroxide-by-mass",
     "R = 2.6e6 W^2.5 exp[-(W/300 + 0.48)/(k T)], um/h, W in wt%, k T in eV",
     "Kendall and Shoultz, for (100), as a university page gives it",
     "10..60 wt%: no range was stated where it was read; that of the form above is taken",
     "fraction=30wt% temperature=80degC",
     {NEED("fraction", MASS_FRACTION, 0.1, 0.6, "of potassium hydroxide"),
      BATH_AT("temperature", "of the bath")},
     {GIVE("rate", ETCH_RATE, "of (100) silicon")},
     potassium_hydroxide_by_mass},
    {"rate-at-temperature",
     "R2 = R1 exp[Ea/R (1/T1 - 1/T2)]",
     "Arrhenius",
     WIDE_RANGE,
     "rate=55nm/min measured-at=70degC temperature=80degC activation=0.595eV",
     {NEED("rate", ETCH_RATE, 1e-15, 1e-3, "measured"),
      BATH_AT("measured-at", "where it was measured"), BATH_AT("temperature", "wanted"),
      NEED("activation", MOLAR_ENERGY, 1e3, 5e5, "energy")},
     {GIVE("rate", ETCH_RATE, "there"), GIVE("times", RATIO, "the measured one")},
     other_temperature},
    {"oxide-in-fluoride",
     "R = 2.50 [HF] + 9.66 [HF2-] - 0.14, angstrom/s, mol/L",
     "Judge, J. Electrochem. Soc. 118 (1971) 1772 (constants from memory)",
     "25 degC; other sources give half of it at 20 degC: measure",
     "molarity=2.63mol/L",
     {NEED("molarity", MOLARITY, 1, 1e4, "of all fluoride, no salt added"),
      ASSUME("k1", RATIO, 1.3e-3, 1e-6, 1, "[H+][F-]/[HF], mol/L"),
      ASSUME("k2", RATIO, 0.104, 1e-4, 10, "[HF][F-]/[HF2-], mol/L")},
     {GIVE("rate", ETCH_RATE, "of thermal oxide"), GIVE("undissociated", MOLARITY, "HF"),
      GIVE("pair", MOLARITY, "HF2-")},
     oxide_in_fluoride},
    {"etch-time",
     "t = d (1 + s)/(R (1 - r)) (1 + f); loss below = R' (t - d (1 - s)/(R (1 + r)))",
     "worst and best place of a wafer, arithmetic",
     WIDE_RANGE,
     "thickness=500nm rate=100nm/min over-etch=20%",
     {NEED("thickness", LENGTH, 1e-10, 1e-2, "of the layer"),
      NEED("rate", ETCH_RATE, 1e-15, 1e-3, "best the suite's own"),
      ASSUME("thickness-spread", SHARE, 0, 0, 0.5, "either way"),
      ASSUME("rate-spread", SHARE, 0, 0, 0.5, "either way"),
      ASSUME("over-etch", SHARE, 0, 0, 10, "of the time to clear"),
      MAY("rate-below", ETCH_RATE, 1e-18, 1e-3, "of the layer below: gives what it loses")},
     {GIVE("time", TIME, "so that the slowest place is over-etched so far"),
      GIVE("time-mean", TIME, "where nothing spreads"),
      GIVE("loss-below", LENGTH, "where it clears first"),
      GIVE("selectivity", RATIO, "of the rates"),
      GIVE("loss-open", LENGTH, "of such a layer that stands open from the beginning")},
     etch_time},
    {"oxide-thickness",
     "x = (A/2)[sqrt(1 + 4 B (t + tau)/A^2) - 1], tau = (xi^2 + A xi)/B",
     DEAL_GROVE,
     "not below about 30 nm in dry oxygen",
     "linear=0.165um parabolic=0.0117um2/h time=1h first=23nm",
     {NEED("linear", LENGTH, 1e-10, 1e-3, "A = B/(B/A)"),
      NEED("parabolic", PARABOLIC_RATE, 1e-22, 1e-12, "B, rate constant"),
      NEED("time", TIME, 0, 1e8, "in the furnace"),
      ASSUME("first", LENGTH, 0, 0, 1e-5, "oxide that is there, or xi of dry oxygen")},
     {GIVE("thickness", LENGTH, "of the oxide"),
      GIVE("tau", TIME, "as if it had grown for so long"),
      GIVE("silicon", LENGTH, "that it takes, counted from nothing")},
     parabolic},
    {"parabolic-rate",
     "B = B0 exp(-E/(R T))",
     DEAL_GROVE
     "; constants as in Jaeger (wet: 386 um2/h, 0.78 eV; dry: 772, 1.23; dry from memory)",
     "within 12 % of Deal and Grove's own table",
     "constant=386um2/h activation=0.78eV temperature=1100degC",
     {NEED("constant", PARABOLIC_RATE, 1e-22, 1e-6, "B0"),
      NEED("activation", MOLAR_ENERGY, 1e3, 5e5, "energy"), FURNACE_AT},
     {GIVE("parabolic", PARABOLIC_RATE, "at that temperature")},
     arrhenius},
    {"linear-rate",
     "B/A = C exp(-E/(R T))",
     DEAL_GROVE
     "; constants as in Jaeger (wet (111): 1.63e8 um/h, 2.05 eV; (100): 9.70e7, from memory)",
     "within 10 % of Deal and Grove's own table",
     "constant=1.63e8um/h activation=2.05eV temperature=1100degC",
     {NEED("constant", ETCH_RATE, 1e-12, 1e3, "C"),
      NEED("activation", MOLAR_ENERGY, 1e3, 5e5, "energy"), FURNACE_AT},
     {GIVE("linear", ETCH_RATE, "at that temperature")},
     arrhenius},
    {"groove",
     "depth = width/sqrt(2), angle = atan(sqrt(2))",
     "geometry of (111) planes in a (100) wafer",
     WIDE_RANGE,
     "width=100um",
     {NEED("width", LENGTH, 1e-9, 1e-1, "of the opening in the mask")},
     {GIVE("angle", RATIO, "of the walls against the surface, degrees"),
      GIVE("depth", LENGTH, "at which a groove ends by itself")},
     groove},
    {"fluoride-used",
     "n = 6 A d rho/M",
     "SiO2 + 6 HF -> H2SiF6 + 2 H2O, 2.20 g/cm3, 60.084 g/mol",
     WIDE_RANGE,
     "area=0.8836m2 thickness=1um",
     {NEED("area", AREA, 1e-8, 1e4, "of all oxide, both sides of each wafer"),
      NEED("thickness", LENGTH, 1e-10, 1e-2, "taken off")},
     {GIVE("amount", AMOUNT, "of HF that it takes")},
     oxide_uses_fluoride},
};

const struct formula_group formula_etching = CAUTIOUS_GROUP_OF(
    "Etching and oxidation",
    "A check of plausibility, not an instruction: sources differ by a factor of two, and the suite's own measured "
    "rate goes first.",
    rows);
