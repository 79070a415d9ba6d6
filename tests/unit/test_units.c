#include "units/units.h"

#include "check.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#define COUNT(rows) (sizeof(rows) / sizeof(rows)[0])

static void people_write_units_many_ways(void)
{
  /* Left: as written.  Right: arithmetic with the definitions of NIST SP 811, appendix B. */
  static const struct {
    const char *text;
    enum units_dimension want;
    double si;
  } rows[] = {
      {"450 m3/h", UNITS_FLOW, 0.125},
      {"450 m³/h", UNITS_FLOW, 0.125},
      {"450 m^3/h", UNITS_FLOW, 0.125},
      {"450 m3/hr", UNITS_FLOW, 0.125},
      {"450m3 / h", UNITS_FLOW, 0.125},
      {"450\xc2\xa0m³/h", UNITS_FLOW, 0.125},
      {"450 CMH", UNITS_FLOW, 0.125},
      {"125 L/s", UNITS_FLOW, 0.125},
      {"125 l/s", UNITS_FLOW, 0.125},
      {" 1000 cfm ", UNITS_FLOW, 0.4719474432},
      {"1000 ft3/min", UNITS_FLOW, 0.4719474432},
      {"1 kcfm", UNITS_FLOW, 0.4719474432},
      {"0.5inH2O", UNITS_PRESSURE_DIFFERENCE, 124.544455},
      {"0.5 in. w.g.", UNITS_PRESSURE_DIFFERENCE, 124.544455},
      {".5 inwc", UNITS_PRESSURE_DIFFERENCE, 124.544455},
      {"-250 Pa", UNITS_GAUGE_PRESSURE, -250.0},
      {"-1 inWC", UNITS_GAUGE_PRESSURE, -249.08891},
      {"15 psig", UNITS_GAUGE_PRESSURE, 15 * 6894.757293168361},
      {"983 hPa(a)", UNITS_ABSOLUTE_PRESSURE, 98300.0},
      {"983 hPa (a)", UNITS_ABSOLUTE_PRESSURE, 98300.0},
      {"1 atm", UNITS_ABSOLUTE_PRESSURE, 101325.0},
      {"100 fpm", UNITS_VELOCITY, 0.508},
      {"20 degC", UNITS_TEMPERATURE, 293.15},
      {"20 °C", UNITS_TEMPERATURE, 293.15},
      {"68 degF", UNITS_TEMPERATURE, 293.15},
      {"-40 °F", UNITS_TEMPERATURE, 233.15},
      {"293.15 K", UNITS_TEMPERATURE, 293.15},
      {"9 degF(diff)", UNITS_TEMPERATURE_DIFFERENCE, 5.0},
      {"6 1/h", UNITS_AIR_CHANGES, 6.0},
      {"6/h", UNITS_AIR_CHANGES, 6.0},
      {"1450 rpm", UNITS_ROTATION, 1450.0},
      {"40%", UNITS_SHARE, 0.4},
      {"40 %open", UNITS_OPEN_SHARE, 0.4},
      {"45 % RH", UNITS_RELATIVE_HUMIDITY, 0.45},
      {"0.8", UNITS_RATIO, 0.8},
      {"-1e-3", UNITS_RATIO, -1e-3},
      {"+1.8E+1 uPa·s", UNITS_VISCOSITY, 1.8e-5},
      {"1 Pa/(m3/h)^2", UNITS_RESISTANCE, 12960000.0},
      {"8 kg/m⁷", UNITS_RESISTANCE, 8.0},
      {"0.01 m3/(s Pa^n)", UNITS_LEAK_COEFFICIENT, 0.01},
      {"0.01 m3/(s·Paⁿ)", UNITS_LEAK_COEFFICIENT, 0.01},
      {"2610 cfm/(ft2 inH2O^0.5)", UNITS_ORIFICE_CONSTANT, 2610 * 0.00508 / 15.782550807775022},
      {"50 gr/lb", UNITS_HUMIDITY_RATIO, 50.0 / 7000.0},
      {"60 ft of head", UNITS_HEAD, 18.288},
      {"30 scfm", UNITS_STANDARD_FLOW, 30 * 4.719474432e-4},
  };

  for (size_t i = 0; i < COUNT(rows); i++) {
    struct units_quantity got = {0};
    struct err err = {0};

    CHECK_CASE("\"%s\"", rows[i].text);
    CHECK_INT(units_parse(rows[i].text, rows[i].want, UNITS_NOTHING, &got, &err), ERR_OK);
    CHECK_STR(err.text, "");
    CHECK_NEAR(got.si, rows[i].si, 1e-14, 0.0);
  }
}

static void a_quantity_may_carry_its_spread_and_its_condition(void)
{
  static const struct {
    const char *text;
    enum units_dimension want, at;
    double si, plus_minus, at_si; /* NaN for none */
  } rows[] = {
      {"15 Pa ± 2 Pa", UNITS_PRESSURE_DIFFERENCE, UNITS_NOTHING, 15, 2, NAN},
      {"15 Pa +/- 20 %", UNITS_PRESSURE_DIFFERENCE, UNITS_NOTHING, 15, 3, NAN},
      {"-15Pa+-20%", UNITS_PRESSURE_DIFFERENCE, UNITS_NOTHING, -15, 3, NAN},
      {"180 Pa at 1450 m3/h", UNITS_PRESSURE_DIFFERENCE, UNITS_FLOW, 180, NAN, 1450 / 3600.0},
      {"180 Pa ± 5 % at 3600 m3/h", UNITS_PRESSURE_DIFFERENCE, UNITS_FLOW, 180, 9, 1},
      {"180 Pa", UNITS_PRESSURE_DIFFERENCE, UNITS_FLOW, 180, NAN, NAN},
      {"20 degC ± 1 K", UNITS_TEMPERATURE, UNITS_NOTHING, 293.15, 1, NAN},
      {"20 degC ± 1 degC", UNITS_TEMPERATURE, UNITS_NOTHING, 293.15, 1, NAN},
      {"20 degC ± 1.8 degF", UNITS_TEMPERATURE, UNITS_NOTHING, 293.15, 1, NAN},
      {"50 % ± 5 %", UNITS_SHARE, UNITS_NOTHING, 0.5, 0.05, NAN},
      {"45 %RH ± 3 %RH", UNITS_RELATIVE_HUMIDITY, UNITS_NOTHING, 0.45, 0.03, NAN},
      {"0.65 ± 0.05", UNITS_RATIO, UNITS_NOTHING, 0.65, 0.05, NAN},
      {"0 Pa ± 5 %", UNITS_PRESSURE_DIFFERENCE, UNITS_NOTHING, 0, 0, NAN},
      {"1 atm\xc2\xa0"
       "at 20 degC",
       UNITS_ABSOLUTE_PRESSURE, UNITS_TEMPERATURE, 101325, NAN, 293.15},
  };

  for (size_t i = 0; i < COUNT(rows); i++) {
    struct units_quantity got = {0};
    struct err err = {0};

    CHECK_CASE("\"%s\"", rows[i].text);
    CHECK_INT(units_parse(rows[i].text, rows[i].want, rows[i].at, &got, &err), ERR_OK);
    CHECK_STR(err.text, "");
    CHECK_NEAR(got.si, rows[i].si, 1e-14, 0.0);
    CHECK_INT(got.has_plus_minus, !isnan(rows[i].plus_minus));
    CHECK_NEAR(got.plus_minus_si, isnan(rows[i].plus_minus) ? 0 : rows[i].plus_minus, 1e-14, 0.0);
    CHECK_INT(got.has_at, !isnan(rows[i].at_si));
    CHECK_NEAR(got.at_si, isnan(rows[i].at_si) ? 0 : rows[i].at_si, 1e-14, 0.0);
  }
}

static void a_refusal_says_where_and_why_and_leaves_the_answer_alone(void)
{
  static const struct {
    const char *text;
    enum units_dimension want;
    int col;
    const char *part; /* of the message */
  } rows[] = {
      {"", UNITS_FLOW, 1, "expected a number"},
      {"m3/h", UNITS_FLOW, 1, "expected a number"},
      {"nan m3/h", UNITS_FLOW, 1, "expected a number"},
      {"inf m3/h", UNITS_FLOW, 1, "expected a number"},
      {"0x10 m3/h", UNITS_FLOW, 2, "unknown unit 'x10 m3/h'"},
      {"12", UNITS_FLOW, 3, "a unit is required: volume flow (actual) may be in m3/h, L/s, cfm"},
      {"12 furlong", UNITS_FLOW, 4, "unknown unit 'furlong': volume flow (actual) may be in m3/h"},
      {"12 m3/hh", UNITS_FLOW, 4, "(did you mean 'm3/h'?)"},
      {"12 M3/H", UNITS_FLOW, 4, "(did you mean 'm3/h'?)"},
      {"12 pa", UNITS_PRESSURE_DIFFERENCE, 4, "(did you mean 'Pa'?)"},
      {"12 Pa", UNITS_FLOW, 4, "'Pa' measures pressure difference: volume flow (actual) may be in"},
      {"12 scfm", UNITS_FLOW, 4, "'scfm' is a flow at standard conditions it does not state"},
      {"12 Nm³/h", UNITS_FLOW, 4, "is a flow at standard conditions it does not state"},
      {"12 cfm", UNITS_STANDARD_FLOW, 4, "'cfm' measures volume flow (actual)"},
      {"983 hPa", UNITS_ABSOLUTE_PRESSURE, 5, "(did you mean 'hPa(a)'?)"},
      {"15 Pa(g)", UNITS_PRESSURE_DIFFERENCE, 4, "'Pa(g)' measures gauge pressure"},
      {"15 Pa(a)", UNITS_GAUGE_PRESSURE, 4, "'Pa(a)' measures absolute pressure"},
      {"45 %", UNITS_RELATIVE_HUMIDITY, 4, "(did you mean '%RH'?)"},
      {"20 C", UNITS_TEMPERATURE, 4, "write degC"},
      {"20 degC", UNITS_TEMPERATURE_DIFFERENCE, 4, "(did you mean 'degC(diff)'?)"},
      {"6 ACH", UNITS_AIR_CHANGES, 3, "fresh or total"},
      {"6 Hz", UNITS_AIR_CHANGES, 3, "'Hz' measures frequency"},
      {"0.5 inH20", UNITS_PRESSURE_DIFFERENCE, 5, "letter O"},
      {"1,5 Pa", UNITS_PRESSURE_DIFFERENCE, 2, "write the decimal mark as '.'"},
      {"1'450 m3/h", UNITS_FLOW, 2, "thousands without a mark"},
      {"1.5.2 m3/h", UNITS_FLOW, 4, "write the decimal mark as '.', once"},
      {"1 450 m3/h", UNITS_FLOW, 2, "thousands without a blank"},
      {"\xe2\x88\x92"
       "5 Pa",
       UNITS_PRESSURE_DIFFERENCE, 1, "plain '-'"},
      {"1e999 m3/h", UNITS_FLOW, 1, "too large"},
      {"1e-999 m3/h", UNITS_FLOW, 1, "too small"},
      {"1e308 MPa", UNITS_PRESSURE_DIFFERENCE, 1, "too large"},
      {"-300 degC", UNITS_TEMPERATURE, 1, "below zero"},
      {"-1 Pa(a)", UNITS_ABSOLUTE_PRESSURE, 1, "below zero"},
      {"5 %", UNITS_RATIO, 3, "'%' measures share (%): a plain number takes no unit"},
      {"15 ± 2 Pa", UNITS_PRESSURE_DIFFERENCE, 4, "a unit is required"},
      {"15 Pa ± -2 Pa", UNITS_PRESSURE_DIFFERENCE, 10, "must not be negative"},
      {"15 Pa ± 2", UNITS_PRESSURE_DIFFERENCE, 11, "a unit is required"},
      {"15 Pa ± 2 m", UNITS_PRESSURE_DIFFERENCE, 12, "'m' measures length"},
      {"15 Pa ± ", UNITS_PRESSURE_DIFFERENCE, 10, "expected a number"},
      {"20 degC ± 5 %", UNITS_TEMPERATURE, 14, "means nothing"},
      {"45 %RH ± 5 %", UNITS_RELATIVE_HUMIDITY, 13, "write the points as %RH"},
      {"15 Pa at 3 m3/h", UNITS_PRESSURE_DIFFERENCE, 7, "no 'at' is expected here"},
      {"15 Pa ± 1 Pa ± 2 Pa", UNITS_PRESSURE_DIFFERENCE, 15, "nothing more is expected"},
      {"15 \x01\xff", UNITS_PRESSURE_DIFFERENCE, 4, "unknown unit '?\?'"},
  };

  for (size_t i = 0; i < COUNT(rows); i++) {
    struct units_quantity got = {.si = -7.0, .at_si = -8.0};
    struct err err = {0};

    CHECK_CASE("\"%s\"", rows[i].text);
    CHECK_INT(units_parse(rows[i].text, rows[i].want, UNITS_NOTHING, &got, &err), ERR_INPUT);
    CHECK_INT(err.col, rows[i].col);
    CHECK_INT(err.code, ERR_INPUT);
    if (!CHECK(strstr(err.text, rows[i].part) != NULL))
      printf("  it says: %s\n", err.text);
    CHECK(got.si == -7.0 && got.at_si == -8.0);
  }
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(people_write_units_many_ways);
  RUN(a_quantity_may_carry_its_spread_and_its_condition);
  RUN(a_refusal_says_where_and_why_and_leaves_the_answer_alone);
  return check_end();
}
