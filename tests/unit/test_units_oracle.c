#include "units/units.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <udunits2.h>

/*
 * Every factor against libudunits2 (UCAR), which was written by other people from
 * other tables.  What its grammar cannot say, or what it keeps to seven digits, is
 * checked below by arithmetic with definitions.
 */

#define COUNT(rows) (sizeof(rows) / sizeof(rows)[0])

/* How udunits says what we say, where it does not understand our text, or takes
 * it for something else. */
static const struct {
  const char *ours, *theirs;
} said[] = {
    {"", "1"},
    {"ratio", "1"},
    {"%open", "%"},
    {"ratio(open)", "1"},
    {"%RH", "%"},
    {"ratio(RH)", "1"},
    {"gal(US)", "231 in^3"}, /* its own US_liquid_gallon has seven digits */
    {"oz", "lb/16"},         /* its own oz is a volume */
    {"degC(diff)", "K"},
    {"degF(diff)", "K/1.8"},
    {"inH2O", "inch conventional_water"},
    {"mmH2O", "mm conventional_water"},
    {"ftH2O", "foot conventional_water"},
    {"fpm", "ft/min"},
    {"mph", "mile/h"},
    {"cfm", "ft^3/min"},
    {"kcfm", "1000 ft^3/min"},
    {"gpm", "231 in^3/min"},
    {"m3/s(std)", "m3/s"},
    {"m3/h(std)", "m3/h"},
    {"scfm", "ft^3/min"},
    {"slm", "L/min"},
    {"sccm", "cm^3/min"},
    {"Nm3/h", "m3/h"},
    {"cfm/ft2", "(ft^3/min)/ft^2"},
    {"inH2O/100ft", "(inch conventional_water)/(100 ft)"},
    {"cfm/ft", "(ft^3/min)/ft"},
    {"rpm", "1/min"},
    {"rev/s", "1/s"},
    {"cP", "centipoise"},
    {"lb/(ft s)", "lb/(ft.s)"},
    {"inH2O/cfm2", "(inch conventional_water)/(ft^3/min)^2"},
    {"inH2O/cfm", "(inch conventional_water)/(ft^3/min)"},
    {"hp", "550 ft.lbf/s"}, /* its own horsepower has seven digits */
    {"kWh", "kW.h"},
    {"MWh", "MW.h"},
    {"Wh", "W.h"},
    {"therm(US)", "US_therm"},
    {"gr/lb", "lb/lb/7000"},
    {"%vol", "%"},
    {"m(head)", "m"},
    {"ft(head)", "ft"},
    {"mm(head)", "mm"},
    {"wt%", "%"},
    {"ratio(wt)", "1"},
    {"ppm(wt)", "1e-6"},
    {"eV(particle)", "1.602176634e-19 J.6.02214076e23/mol"},
    {"kcal/mol", "4184 J/mol"},
    {"cal/(g K)", "4.184 J/(g.K)"},
    {"kJ/(kg K)", "kJ/(kg.K)"},
    {"J/(kg K)", "J/(kg.K)"},
    {"mm2/s(diff)", "mm2/s"},
    {"m2/s(diff)", "m2/s"},
    {"m/s(etch)", "m/s"},
    {"m2/s(oxide)", "m2/s"},
};

/* Dimensions kept in something that is not udunits' own base. */
static const struct {
  enum units_dimension dimension;
  const char *base;
} kept[] = {
    {UNITS_AIR_CHANGES, "1/h"},
    {UNITS_ROTATION, "1/min"},
};

/*
 * No powers of a half and no unknown powers in udunits.  A root of a pressure is
 * the root of a factor checked above; "Pan" is a number of pascals whatever n is.
 */
static const struct {
  const char *text;
  double si;
} by_arithmetic[] = {
    {"m3/(s m2 Pa0.5)", 1.0},     {"L/(s m2 Pa0.5)", 0.001},
    {"cfm/(ft2 inH2O0.5)", -1.0}, /* 0.3048/60 over a root: computed in the test */
    {"m3/(s Pan)", 1.0},          {"L/(s Pan)", 0.001},
    {"m3/(h Pan)", 1.0 / 3600.0}, {"cfm/Pan", 0.3048 * 0.3048 * 0.3048 / 60.0},
};

static ut_system *units_of_others;

static const char *their_text(const char *ours, char *plain, size_t size)
{
  snprintf(plain, size, "%s", ours);
  char *tag = strstr(plain, "(a)");

  tag = tag ? tag : strstr(plain, "(g)");
  if (tag)
    *tag = '\0';
  for (size_t i = 0; i < COUNT(said); i++)
    if (strcmp(said[i].ours, plain) == 0)
      return said[i].theirs;
  return plain;
}

static const char *their_base(enum units_dimension dimension, char *plain, size_t size)
{
  for (size_t i = 0; i < COUNT(kept); i++)
    if (kept[i].dimension == dimension)
      return kept[i].base;
  return their_text(units_si_text(dimension), plain, size);
}

/* What udunits makes of `value` of their unit, in base; NaN when it cannot. */
static double converted(const char *theirs, const char *base, double value)
{
  ut_unit *from = ut_parse(units_of_others, theirs, UT_UTF8);
  ut_unit *to = ut_parse(units_of_others, base, UT_UTF8);
  cv_converter *converter = from && to ? ut_get_converter(from, to) : NULL;
  double result = converter ? cv_convert_double(converter, value) : (double)NAN;

  cv_free(converter);
  ut_free(from);
  ut_free(to);
  return result;
}

static double ours(const struct units_unit *unit, double value)
{
  struct units_quantity got = {.si = NAN};
  char text[80];

  snprintf(text, sizeof text, "%.17g %s", value, unit->text);
  if (units_parse(text, unit->dimension, UNITS_NOTHING, &got, NULL) != ERR_OK)
    return NAN;
  return got.si;
}

static int arithmetic_row(const char *text)
{
  for (size_t i = 0; i < COUNT(by_arithmetic); i++)
    if (strcmp(by_arithmetic[i].text, text) == 0)
      return (int)i;
  return -1;
}

static void every_factor_is_what_udunits_says(void)
{
  int compared = 0, left = 0;

  for (int i = 0; i < units_count(); i++) {
    const struct units_unit *unit = units_at(i);
    char theirs[80], base[80];

    CHECK_CASE("%s as %s", unit->text, units_words(unit->dimension));
    if (arithmetic_row(unit->text) >= 0) {
      left++;
      continue;
    }
    for (double value = 1.0; value < 1e4; value *= 41.3) {
      double want = converted(their_text(unit->text, theirs, sizeof theirs),
                              their_base(unit->dimension, base, sizeof base), value);

      CHECK_NEAR(ours(unit, value), want, 1e-12, 0.0);
    }
    compared++;
  }
  printf("%d units compared with udunits, %d left to arithmetic\n", compared, left);
  CHECK_CASE("all rows");
  CHECK(compared > 200);
  CHECK_INT(left, (long long)COUNT(by_arithmetic));
}

static void roots_and_unknown_powers_follow_from_their_definitions(void)
{
  double inch_of_water_Pa = converted("inch conventional_water", "Pa", 1.0);

  for (int i = 0; i < units_count(); i++) {
    const struct units_unit *unit = units_at(i);
    int row = arithmetic_row(unit->text);

    if (row < 0)
      continue;
    double want = by_arithmetic[row].si;

    CHECK_CASE("%s", unit->text);
    if (want < 0.0)
      want = converted("(ft^3/min)/ft^2", "m/s", 1.0) / sqrt(inch_of_water_Pa);
    CHECK_NEAR(ours(unit, 1.0), want, 1e-12, 0.0);
  }
}

/* Six or seven digits as printed in NIST SP 811 (2008), appendix B.8; values from
 * memory of that table, so that both udunits and the definitions are checked too. */
static void the_printed_conversion_tables_agree(void)
{
  static const struct {
    const char *text;
    enum units_dimension dimension;
    double printed, relative;
  } rows[] = {
      {"1 inH2O", UNITS_PRESSURE_DIFFERENCE, 2.490889e2, 1e-6},
      {"1 mmH2O", UNITS_PRESSURE_DIFFERENCE, 9.80665, 1e-7},
      {"1 inHg", UNITS_PRESSURE_DIFFERENCE, 3.386389e3, 1e-6},
      {"1 mmHg", UNITS_PRESSURE_DIFFERENCE, 1.333224e2, 1e-6},
      {"1 psi", UNITS_PRESSURE_DIFFERENCE, 6.894757e3, 1e-6},
      {"1 ft3/min", UNITS_FLOW, 4.719474e-4, 1e-6},
      {"1 gpm", UNITS_FLOW, 6.309020e-5, 1e-6},
      {"1 hp", UNITS_POWER, 7.456999e2, 1e-6},
      {"1 Btu", UNITS_ENERGY, 1.055056e3, 1e-6},
      {"1 therm", UNITS_ENERGY, 1.054804e8, 1e-7},
      {"1 lbf", UNITS_FORCE, 4.448222, 1e-6},
      {"1 lb/ft3", UNITS_DENSITY, 1.601846e1, 1e-6},
      {"1 oz", UNITS_MASS, 2.834952e-2, 1e-6},
  };

  for (size_t i = 0; i < COUNT(rows); i++) {
    struct units_quantity got = {.si = NAN};

    CHECK_CASE("%s", rows[i].text);
    CHECK_INT(units_parse(rows[i].text, rows[i].dimension, UNITS_NOTHING, &got, NULL), ERR_OK);
    CHECK_NEAR(got.si, rows[i].printed, rows[i].relative, 0.0);
  }
}

static const struct units_unit *first_unit(const char *text)
{
  for (int i = 0; i < units_count(); i++)
    if (strcmp(units_at(i)->text, text) == 0)
      return units_at(i);
  return NULL;
}

/* A spelling that udunits reads too, as the same kind of thing, must be as large. */
static void other_spellings_mean_what_udunits_takes_them_for(void)
{
  int compared = 0;

  for (int i = 0; i < units_spelling_count(); i++) {
    const struct units_spelling *spelling = units_spelling_at(i);
    const struct units_unit *unit = first_unit(spelling->means);
    char base[80];

    CHECK_CASE("%s", spelling->text);
    REQUIRE(unit != NULL);
    double want = converted(spelling->text, their_base(unit->dimension, base, sizeof base), 1.0);

    if (isnan(want))
      continue;
    /* udunits keeps its own gallon to seven digits */
    CHECK_NEAR(ours(unit, 1.0), want, strstr(spelling->text, "gal") ? 1e-6 : 1e-12, 0.0);
    compared++;
  }
  printf("%d spellings compared with udunits\n", compared);
  CHECK(compared > 40);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  ut_set_error_message_handler(ut_ignore);
  units_of_others = ut_read_xml(NULL);
  if (!units_of_others) {
    printf("udunits' own table of units is not installed\n");
    return 1;
  }
  RUN(every_factor_is_what_udunits_says);
  RUN(roots_and_unknown_powers_follow_from_their_definitions);
  RUN(the_printed_conversion_tables_agree);
  RUN(other_spellings_mean_what_udunits_takes_them_for);
  ut_free_system(units_of_others);
  return check_end();
}
