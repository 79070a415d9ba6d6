#include "matter/formula_impl.h"

#include "base/constants.h"

static const double normal_molar_volume_m3 = 0.022413969545014137; /* R 273.15 K / 101325 Pa */

static const char *molarity(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * in_si[1] / in_si[2];
  return NULL;
}

static const char *stock_volume(const double *in_si, double *out_si)
{
  if (in_si[2] < in_si[0])
    return "no dilution makes a solution stronger than its stock";
  out_si[0] = in_si[1] * in_si[0] / in_si[2];
  return NULL;
}

static const char *mix(const double *in_si, double *out_si)
{
  double first_kg = in_si[0] * in_si[1], second_kg = in_si[3] * in_si[4];

  out_si[0] = (first_kg * in_si[2] + second_kg * in_si[5]) / (first_kg + second_kg);
  out_si[1] = first_kg + second_kg;
  if (formula_given(in_si[6]))
    out_si[2] = out_si[1] / in_si[6];
  return NULL;
}

static const char *stock_ratio(const double *in_si, double *out_si)
{
  double wanted = in_si[2], strong = in_si[0], weak = in_si[1];

  if (!(weak < wanted && wanted < strong))
    return "the wanted fraction must lie between those of the two stocks";
  out_si[0] = (wanted - weak) / (strong - wanted);
  return NULL;
}

static const char *spike(const double *in_si, double *out_si)
{
  if (!(in_si[1] <= in_si[2] && in_si[2] < in_si[3]))
    return "the wanted fraction must lie between that of the bath and that of the stock";
  out_si[0] = in_si[0] * (in_si[2] - in_si[1]) / (in_si[3] - in_si[2]);
  return NULL;
}

static const char *feed_and_bleed(const double *in_si, double *out_si)
{
  out_si[0] = in_si[1] + (in_si[0] - in_si[1]) * pow(1 - in_si[2], in_si[3]);
  return NULL;
}

static const char *dilution_heat(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] * (in_si[1] - in_si[2]);
  return NULL;
}

static const char *adiabatic_rise(const double *in_si, double *out_si)
{
  out_si[0] = in_si[0] / (in_si[1] * in_si[2]);
  return NULL;
}

static const char *thomsen(const double *in_si, double *out_si)
{
  out_si[0] = -74.7e3 * in_si[0] / (in_si[0] + 1.7983);
  return NULL;
}

static const char *peroxide_gas(const double *in_si, double *out_si)
{
  double oxygen_mol = in_si[0] * in_si[1] * in_si[2] / in_si[3] / 2;

  out_si[0] = oxygen_mol * normal_molar_volume_m3 / in_si[2];
  out_si[1] = oxygen_mol * GAS_CONSTANT_J_MOL_K * in_si[4] / ATMOSPHERE_PA;
  return NULL;
}

#define ASSAY(key, meaning)      NEED(key, MASS_FRACTION, 0, 1, meaning)
#define LIQUID_DENSITY(key)      NEED(key, DENSITY, 500, 3000, "of the solution, at its temperature")
#define MOLAR_MASS_INPUT(what)   NEED("molar-mass", MOLAR_MASS, 1e-3, 1, what)
#define MASS_BALANCE             "mass balance"
#define HEAT_OF_SOLUTION_AND(of) "kJ per mol of solute, negative where heat is set free, " of

static const struct matter_formula rows[] = {
    {"molarity",
     "c = w rho/M",
     "definition",
     WIDE_RANGE,
     "fraction=49wt% density=1.15kg/L molar-mass=20.006g/mol",
     {ASSAY("fraction", "of the solute"), LIQUID_DENSITY("density"),
      MOLAR_MASS_INPUT("of the solute")},
     {GIVE("molarity", MOLARITY, "of the solute")},
     molarity},
    {"stock-volume",
     "V1 = V2 c2/c1; the water is what is left of the mass, for volumes do not add up",
     "definition",
     WIDE_RANGE,
     "molarity=1mol/L volume=1L stock-molarity=12.1mol/L",
     {NEED("molarity", MOLARITY, 0, 1e5, "wanted"), NEED("volume", VOLUME, 1e-9, 1e3, "wanted"),
      NEED("stock-molarity", MOLARITY, 1e-6, 1e5, "of the stock")},
     {GIVE("volume", VOLUME, "of the stock")},
     stock_volume},
    {"mix-two",
     "w = (m1 w1 + m2 w2)/(m1 + m2), m = V rho; V = (m1 + m2)/rho",
     MASS_BALANCE,
     WIDE_RANGE,
     "volume-1=1L density-1=1.8355kg/L fraction-1=96wt% volume-2=1L density-2=0.9982kg/L",
     {NEED("volume-1", VOLUME, 1e-9, 1e3, "of the first"), LIQUID_DENSITY("density-1"),
      ASSAY("fraction-1", "of the solute in it"),
      NEED("volume-2", VOLUME, 1e-9, 1e3, "of the other"), LIQUID_DENSITY("density-2"),
      ASSUME("fraction-2", MASS_FRACTION, 0, 0, 1, "of the same solute in the other"),
      MAY("density", DENSITY, 500, 3000, "of the product: with it, its volume")},
     {GIVE("fraction", MASS_FRACTION, "of the solute in the product"), GIVE("mass", MASS, "of it"),
      GIVE("volume", VOLUME, "of it, smaller than the sum where volumes contract")},
     mix},
    {"stock-ratio",
     "m1/m2 = (w - w2)/(w1 - w)",
     MASS_BALANCE,
     WIDE_RANGE,
     "strong=96wt% weak=0wt% fraction=30wt%",
     {ASSAY("strong", "of the stronger stock"), ASSAY("weak", "of the weaker, or 0wt%"),
      ASSAY("fraction", "wanted")},
     {GIVE("mass-ratio", RATIO, "parts by mass of the stronger to one of the weaker")},
     stock_ratio},
    {"spike",
     "dm = m (w - w0)/(ws - w)",
     MASS_BALANCE,
     WIDE_RANGE,
     "mass=12kg fraction-now=3wt% fraction=5wt% stock=30wt%",
     {NEED("mass", MASS, 1e-6, 1e5, "of the bath"), ASSAY("fraction-now", "in the bath"),
      ASSAY("fraction", "wanted"), ASSAY("stock", "in what is added")},
     {GIVE("mass", MASS, "of stock to add")},
     spike},
    {"feed-and-bleed",
     "w = w1 + (w0 - w1)(1 - f)^n",
     MASS_BALANCE ", well mixed each time",
     WIDE_RANGE,
     "fraction=2wt% fresh=5wt% replaced=20% times=3",
     {ASSAY("fraction", "in the bath"), ASSAY("fresh", "in what replaces it"),
      NEED("replaced", SHARE, 0, 1, "of the bath, each time"),
      NEED("times", RATIO, 0, 1000, "how often")},
     {GIVE("fraction", MASS_FRACTION, "in the bath after it")},
     feed_and_bleed},
    {"dilution-heat",
     "Q = n (h1 - h2)",
     "definition of the integral heat of solution",
     WIDE_RANGE,
     "amount=1mol before=9.213kJ/mol after=1.695kJ/mol",
     {NEED("amount", AMOUNT, 0, 1e6, "of solute"),
      NEED("before", MOLAR_ENERGY, -2e5, 2e5,
           HEAT_OF_SOLUTION_AND("at the first strength; or of dilution to infinity")),
      NEED("after", MOLAR_ENERGY, -2e5, 2e5, "at the second, of the same kind")},
     {GIVE("heat", ENERGY, "set free; negative: taken up")},
     dilution_heat},
    {"adiabatic-rise",
     "dT = Q/(m cp)",
     "definition; a mixture that would boil boils instead",
     WIDE_RANGE,
     "heat=766.8kJ mass=2.834kg specific-heat=2.2kJ/(kg*K)",
     {NEED("heat", ENERGY, -1e9, 1e9, "set free"), NEED("mass", MASS, 1e-6, 1e5, "of the mixture"),
      NEED("specific-heat", SPECIFIC_HEAT, 500, 5000, "of the mixture")},
     {GIVE("rise", TEMPERATURE_DIFFERENCE, "if none is lost: the most it can be")},
     adiabatic_rise},
    {"sulfuric-acid-heat",
     "h = -74.7 r/(r + 1.7983) kJ/mol",
     "Thomsen's form (value from memory)",
     "about 5 % short of Felder and Rousseau Table B.11 (value from memory)",
     "water-ratio=1",
     {NEED("water-ratio", RATIO, 0, 1e4, "mol of water to one of acid")},
     {GIVE("heat", MOLAR_ENERGY, "integral heat of solution of the liquid acid at 25 degC")},
     thomsen},
    {"peroxide-gas",
     "n(O2) = n(H2O2)/2",
     "stoichiometry",
     WIDE_RANGE,
     "fraction=30wt% density=1.111kg/L volume=1L",
     {ASSAY("fraction", "of hydrogen peroxide"), LIQUID_DENSITY("density"),
      NEED("volume", VOLUME, 1e-9, 1e3, "of the solution"),
      ASSUME("molar-mass", MOLAR_MASS, 0.0340147, 0.034, 0.0341, "of hydrogen peroxide"),
      ASSUME("temperature", TEMPERATURE, 298.15, 250, 400, "of the gas")},
     {GIVE("strength", RATIO, "volumes of oxygen at 0 degC and 1 atm per volume of liquid"),
      GIVE("oxygen", VOLUME, "at that temperature and 1 atm, when all of it has decomposed")},
     peroxide_gas},
};

const struct formula_group formula_solutions = CAUTIOUS_GROUP_OF(
    "Solutions",
    "Arithmetic, not a procedure: what may be mixed, in which order, vessel and amount, says the station's "
    "approved procedure. Acid into water, never water into acid.",
    rows);
