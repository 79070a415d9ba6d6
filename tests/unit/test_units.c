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

/* xorshift64 (Marsaglia 2003): the same bits on every machine. */
static uint64_t next_random(uint64_t *state)
{
  *state ^= *state << 13;
  *state ^= *state >> 7;
  *state ^= *state << 17;
  return *state;
}

static bool counts_from_zero(enum units_dimension dimension)
{
  return dimension == UNITS_TEMPERATURE || dimension == UNITS_ABSOLUTE_PRESSURE;
}

static uint64_t bits_of(double value)
{
  uint64_t bits;

  memcpy(&bits, &value, sizeof bits);
  return bits;
}

static void check_returns(double si, enum units_dimension dimension, struct buf *out)
{
  struct units_quantity got = {0};
  struct err err = {0};

  buf_clear(out);
  units_print_exact(out, si, dimension);
  CHECK_CASE("%s", out->text);
  CHECK_INT(units_parse(out->text, dimension, UNITS_NOTHING, &got, &err), ERR_OK);
  CHECK(bits_of(got.si) == bits_of(si));
}

static void what_is_printed_exactly_reads_back_to_the_same_bits(void)
{
  static const double edges[] = {0.0, -0.0, 1.0, 0.1, 1.0 / 3.0, 5e-324, 1.7976931348623157e308};
  uint64_t state = 0x9e3779b97f4a7c15u;
  struct buf out;
  int count = 0;

  buf_init(&out, 200);
  for (int d = UNITS_NOTHING + 1; d < UNITS_DIMENSION_COUNT; d++) {
    for (size_t i = 0; i < COUNT(edges); i++)
      check_returns(edges[i], (enum units_dimension)d, &out);
    for (int i = 0; i < 300; i++) {
      uint64_t bits = next_random(&state);
      double si;

      memcpy(&si, &bits, sizeof si);
      if (!isfinite(si) || (si < 0.0 && counts_from_zero((enum units_dimension)d)))
        continue;
      check_returns(si, (enum units_dimension)d, &out);
      count++;
    }
  }
  CHECK(count > 10000);
  buf_release(&out);
}

/* A text that may be a quantity, or nearly one. */
static void compose(uint64_t *state, char *text, size_t size)
{
  static const char *const pieces[] = {"15",  "-2.5", "1e3", "1e999", " ",    " Pa",  "m3/h",
                                       " ±",  "+/-",  "+-",  "%",     " at ", "degC", "(a)",
                                       ",",   ".",    "³",   "\xff",  "\t",   "inwc", "K",
                                       "0x1", "nan",  " 1",  "/",     "²"};
  size_t used = 0;

  text[0] = '\0';
  for (int i = 0; i < 8 && used + 8 < size; i++) {
    /* mostly a number first, or hardly anything would be read */
    size_t choices = i == 0 && (next_random(state) >> 20) % 4 ? 3 : COUNT(pieces);
    const char *piece = pieces[(next_random(state) >> 20) % choices];

    used += (size_t)snprintf(text + used, size - used, "%s", piece);
    if ((next_random(state) >> 20) % 4 == 0)
      break;
  }
}

static void whatever_is_written_the_answer_is_finite_or_a_place_inside_the_text(void)
{
  static const enum units_dimension wants[] = {UNITS_PRESSURE_DIFFERENCE, UNITS_TEMPERATURE,
                                               UNITS_FLOW, UNITS_SHARE, UNITS_RATIO};
  uint64_t state = 0x2545f4914f6cdd1du;
  int read = 0, refused = 0;

  for (int i = 0; i < 40000; i++) {
    struct units_quantity got = {.si = -7.0, .plus_minus_si = -9.0, .at_si = -8.0};
    struct err err = {0};
    char text[80];

    compose(&state, text, sizeof text);
    CHECK_CASE("\"%s\"", text);
    if (units_parse(text, wants[i % 5], UNITS_FLOW, &got, &err) == ERR_OK) {
      CHECK(isfinite(got.si) && isfinite(got.at_si) && got.plus_minus_si >= 0.0);
      read++;
      continue;
    }
    CHECK(err.col >= 1 && (size_t)err.col <= strlen(text) + 1);
    CHECK(err.code == ERR_INPUT && err.text[0] != '\0');
    CHECK(got.si == -7.0 && got.plus_minus_si == -9.0 && got.at_si == -8.0);
    refused++;
  }
  CHECK_CASE("%d read, %d refused", read, refused);
  CHECK(read > 500 && refused > 500);
}

static void check_message_is_whole(const char *text, enum units_dimension want)
{
  struct units_quantity got;
  struct err err = {0};

  CHECK_CASE("\"%s\" as %s", text, units_words(want));
  if (units_parse(text, want, UNITS_NOTHING, &got, &err) != ERR_OK)
    CHECK(err.text[0] && strlen(err.text) < sizeof err.text - 1);
}

static void every_refusal_fits_its_message_whole(void)
{
  static const char *const endless =
      "1 kg/(m2 s) and so on and so on and so on and so on and so on and so on and so on and so on";

  for (int d = UNITS_NOTHING + 1; d < UNITS_DIMENSION_COUNT; d++) {
    check_message_is_whole(endless, (enum units_dimension)d);
    for (int i = 0; i < units_count(); i++) {
      char text[80];

      snprintf(text, sizeof text, "1 %s%s", units_at(i)->text, i % 2 ? "" : "x");
      check_message_is_whole(text, (enum units_dimension)d);
    }
  }
}

static int rows_for(const char *text, int dimension)
{
  int count = 0;

  for (int i = 0; i < units_count(); i++)
    if (strcmp(units_at(i)->text, text) == 0)
      count += dimension < 0 || (int)units_at(i)->dimension == dimension;
  return count;
}

static void every_unit_and_every_spelling_is_read_as_what_it_says(void)
{
  for (int i = 0; i < units_count(); i++) {
    const struct units_unit *unit = units_at(i);
    struct units_quantity got = {0};
    char text[80];

    snprintf(text, sizeof text, "700 %s", unit->text);
    CHECK_CASE("\"%s\"", text);
    CHECK_INT(units_parse(text, unit->dimension, UNITS_NOTHING, &got, NULL), ERR_OK);
    CHECK_NEAR(got.si, (700 - unit->zero) * unit->factor / unit->per, 0.0, 0.0);
    CHECK_INT(rows_for(unit->text, (int)unit->dimension), 1);
    CHECK(unit->source[0] != '\0');
  }
  for (int i = 0; i < units_spelling_count(); i++) {
    const struct units_spelling *spelling = units_spelling_at(i);

    CHECK_CASE("\"%s\"", spelling->text);
    CHECK(rows_for(spelling->means, -1) > 0);
    CHECK_INT(rows_for(spelling->text, -1), 0);
    for (int j = 0; j < i; j++)
      CHECK(strcmp(units_spelling_at(j)->text, spelling->text) != 0);
    for (int j = 0; j < units_count(); j++) {
      struct units_quantity got = {0}, want = {0};
      const struct units_unit *unit = units_at(j);
      char text[80];

      if (strcmp(unit->text, spelling->means) != 0)
        continue;
      snprintf(text, sizeof text, "700%s%s", spelling->text[0] == '/' ? "" : " ", spelling->text);
      CHECK_INT(units_parse(text, unit->dimension, UNITS_NOTHING, &got, NULL), ERR_OK);
      snprintf(text, sizeof text, "700 %s", unit->text);
      CHECK_INT(units_parse(text, unit->dimension, UNITS_NOTHING, &want, NULL), ERR_OK);
      CHECK_NEAR(got.si, want.si, 0.0, 0.0);
    }
  }
}

static void the_list_of_units_names_them_all(void)
{
  struct buf out;

  buf_init(&out, 1000);
  units_list(UNITS_VELOCITY, &out);
  CHECK_STR(out.text, "m/s, fpm, ft/s, cm/s, mm/s, m/min, km/h, mph");
  buf_release(&out);
}

static void people_read_the_digits_that_mean_something(void)
{
  static const struct {
    double si;
    enum units_dimension dimension;
    enum units_system system;
    const char *text;
  } rows[] = {
      {1450.3 / 3600, UNITS_FLOW, UNITS_SYSTEM_SI, "1450 m³/h"},
      {95.4 / 3600, UNITS_FLOW, UNITS_SYSTEM_SI, "95 m³/h"},
      {0.034 / 3600, UNITS_FLOW, UNITS_SYSTEM_SI, "0.034 m³/h"},
      {1e-12, UNITS_FLOW, UNITS_SYSTEM_SI, "0 m³/h"},
      {-1e-12, UNITS_FLOW, UNITS_SYSTEM_SI, "0 m³/h"},
      {45678.0 / 3600, UNITS_FLOW, UNITS_SYSTEM_SI, "45680 m³/h"},
      {0.4719474432, UNITS_FLOW, UNITS_SYSTEM_US, "1000 cfm"},
      {15.2, UNITS_PRESSURE_DIFFERENCE, UNITS_SYSTEM_SI, "15.0 Pa"},
      {-15.3, UNITS_PRESSURE_DIFFERENCE, UNITS_SYSTEM_SI, "-15.5 Pa"},
      {9.96, UNITS_PRESSURE_DIFFERENCE, UNITS_SYSTEM_SI, "10.0 Pa"},
      {4.26, UNITS_PRESSURE_DIFFERENCE, UNITS_SYSTEM_SI, "4.3 Pa"},
      {0.0421, UNITS_PRESSURE_DIFFERENCE, UNITS_SYSTEM_SI, "0.042 Pa"},
      {0.0, UNITS_PRESSURE_DIFFERENCE, UNITS_SYSTEM_SI, "0 Pa"},
      {-0.0, UNITS_PRESSURE_DIFFERENCE, UNITS_SYSTEM_SI, "0 Pa"},
      {12.5, UNITS_PRESSURE_DIFFERENCE, UNITS_SYSTEM_US, "0.050 inH2O"},
      {98300.0, UNITS_ABSOLUTE_PRESSURE, UNITS_SYSTEM_SI, "983 hPa(a)"},
      {293.15, UNITS_TEMPERATURE, UNITS_SYSTEM_SI, "20.0 °C"},
      {293.15, UNITS_TEMPERATURE, UNITS_SYSTEM_US, "68.0 °F"},
      {273.15, UNITS_TEMPERATURE, UNITS_SYSTEM_SI, "0 °C"},
      {0.508, UNITS_VELOCITY, UNITS_SYSTEM_SI, "0.51 m/s"},
      {0.508, UNITS_VELOCITY, UNITS_SYSTEM_US, "100 fpm"},
      {0.45, UNITS_LENGTH, UNITS_SYSTEM_SI, "0.45 m"},
      {0.4572, UNITS_LENGTH, UNITS_SYSTEM_US, "18.0 in"},
      {0.4, UNITS_SHARE, UNITS_SYSTEM_SI, "40 %"},
      {0.4, UNITS_OPEN_SHARE, UNITS_SYSTEM_SI, "40 % open"},
      {1.8234e-5, UNITS_VISCOSITY, UNITS_SYSTEM_SI, "1.82e-05 Pa s"},
      {123456.0, UNITS_RESISTANCE, UNITS_SYSTEM_SI, "123000 Pa/(m³/s)²"},
      {0.65, UNITS_RATIO, UNITS_SYSTEM_SI, "0.650"},
      {NAN, UNITS_FLOW, UNITS_SYSTEM_SI, "not known"},
      {INFINITY, UNITS_FLOW, UNITS_SYSTEM_SI, "unlimited m³/h"},
  };
  struct buf out;

  buf_init(&out, 200);
  for (size_t i = 0; i < COUNT(rows); i++) {
    buf_clear(&out);
    units_print(&out, rows[i].si, rows[i].dimension, rows[i].system);
    CHECK_STR(out.text, rows[i].text);
  }
  buf_release(&out);
}

/* A difference of temperature is shown as °F to people, which is a temperature to the reader. */
static bool is_shown_shorter(int dimension, int system)
{
  return dimension == UNITS_TEMPERATURE_DIFFERENCE && system == UNITS_SYSTEM_US;
}

static void what_people_read_can_be_typed_back_within_a_tenth(void)
{
  struct buf out;

  buf_init(&out, 200);
  for (int d = UNITS_NOTHING + 1; d < UNITS_DIMENSION_COUNT; d++)
    for (int system = UNITS_SYSTEM_SI; system <= UNITS_SYSTEM_US; system++)
      for (double si = 1e-7; si < 1e7 && !is_shown_shorter(d, system); si *= 3.7) {
        struct units_quantity got = {0};
        double from = d == UNITS_TEMPERATURE ? 300.0 : 0.0; /* else 0.0001 K is -273.15 degC */

        buf_clear(&out);
        units_print(&out, from + si, (enum units_dimension)d, (enum units_system)system);
        CHECK_CASE("%s", out.text);
        CHECK_INT(units_parse(out.text, (enum units_dimension)d, UNITS_NOTHING, &got, NULL),
                  ERR_OK);
        CHECK_NEAR(got.si, from + si, strncmp(out.text, "0 ", 2) == 0 ? 1.0 : 0.05, 0.0);
      }
  buf_release(&out);
}

static void a_quantity_within_bounds_takes_both_ends_and_no_spread(void)
{
  double si = -1;
  struct err err = {0};

  CHECK_INT(units_parse_within("area", "2 m2", UNITS_AREA, 1, 2, &si, &err), ERR_OK);
  CHECK_NEAR(si, 2, 1e-15, 0);
  CHECK_INT(units_parse_within("area", "2.01 m2", UNITS_AREA, 1, 2, &si, &err), ERR_INPUT);
  CHECK(strstr(err.text, "area: '2.01 m2' is not within ") == err.text);
  CHECK_INT(units_parse_within("area", "2 m2 \u00b1 1 m2", UNITS_AREA, 1, 2, &si, &err), ERR_INPUT);
  CHECK_INT(units_parse_within("area", "2 s", UNITS_AREA, 1, 2, &si, &err), ERR_INPUT);
  CHECK(strncmp(err.text, "area: ", 6) == 0);
  CHECK_NEAR(si, 2, 1e-15, 0); /* untouched by what failed */
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(people_write_units_many_ways);
  RUN(a_quantity_may_carry_its_spread_and_its_condition);
  RUN(a_refusal_says_where_and_why_and_leaves_the_answer_alone);
  RUN(what_is_printed_exactly_reads_back_to_the_same_bits);
  RUN(whatever_is_written_the_answer_is_finite_or_a_place_inside_the_text);
  RUN(every_refusal_fits_its_message_whole);
  RUN(every_unit_and_every_spelling_is_read_as_what_it_says);
  RUN(the_list_of_units_names_them_all);
  RUN(people_read_the_digits_that_mean_something);
  RUN(what_people_read_can_be_typed_back_within_a_tenth);
  RUN(a_quantity_within_bounds_takes_both_ends_and_no_spread);
  return check_end();
}
