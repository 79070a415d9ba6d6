#include "matter/matter.h"

#include "check.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* US Standard Atmosphere 1976, sea level (value from memory): 1.2250 kg/m3, 1.7894e-5 Pa s. */
static void air_at_sea_level_weighs_what_the_standard_atmosphere_says(void)
{
  CHECK_NEAR(matter_air_density_kg_m3(288.15, 0, 101325), 1.2250, 1e-4, 0);
  CHECK_NEAR(matter_air_viscosity_Pa_s(288.15), 1.7894e-5, 1e-4, 0);
}

static void damp_air_is_lighter_than_dry_air(void)
{
  for (double T = 250; T < 330; T += 10)
    CHECK(matter_air_density_kg_m3(T, 1, 101325) < matter_air_density_kg_m3(T, 0, 101325));
}

static void saturation_pressure_rises_with_temperature_through_the_freezing_point(void)
{
  double before = 0;

  for (double T = 173.15; T <= 473.15; T += 0.5) {
    CHECK(matter_saturation_pressure_Pa(T) > before);
    before = matter_saturation_pressure_Pa(T);
  }
}

static void nothing_is_said_outside_the_stated_range(void)
{
  CHECK(isnan(matter_saturation_pressure_Pa(173)));
  CHECK(isnan(matter_saturation_pressure_Pa(474)));
  CHECK(isnan(matter_saturation_pressure_Pa(NAN)));
  CHECK(isnan(matter_standard_pressure_Pa(12000)));
  CHECK(isnan(matter_air_density_kg_m3(293.15, 1.01, 101325)));
  CHECK(isnan(matter_air_density_kg_m3(374, 1, 101325))); /* boiling */
  CHECK(isnan(matter_friction_factor(0, 0)));
  CHECK(isnan(matter_friction_factor(1e5, -1)));
}

/* The equation itself (ASHRAE Fundamentals 2021 ch. 21 eq. 19), put back in. */
static void the_friction_factor_satisfies_colebrook(void)
{
  static const double rough[] = {0, 1e-6, 1e-4, 1e-3, 0.01, 0.05, 0.3};

  for (int i = 0; i < 7; i++)
    for (double Re = 2301; Re < 1e9; Re *= 1.7) {
      double x = 1 / sqrt(matter_friction_factor(Re, rough[i]));

      CHECK_CASE("Re %g, e/D %g", Re, rough[i]);
      CHECK_NEAR(x, -2 * log10(rough[i] / 3.7 + 2.51 * x / Re), 1e-12, 0);
    }
}

static void slow_flow_does_not_feel_the_roughness(void)
{
  CHECK_NEAR(matter_friction_factor(2300, 0.01), 64.0 / 2300, 1e-15, 0);
  CHECK_NEAR(matter_friction_factor(100, 0), 0.64, 1e-15, 0);
}

/* Runs a formula on text, parted by blanks; in_si may be NULL. */
static enum err_code run(const char *name, const char *text, double *in_si, double *out_si,
                         struct err *err)
{
  const struct matter_formula *formula = matter_formula_find(name);
  const char *arguments[2 * MATTER_INPUTS_MAX];
  char copy[1024];
  int count = 0;

  if (!formula)
    return err_set(err, ERR_INPUT, "no formula %s", name);
  snprintf(copy, sizeof copy, "%s", text);
  for (char *at = copy; *at && count < 2 * MATTER_INPUTS_MAX;) {
    size_t length = strcspn(at, " ");

    arguments[count++] = at;
    at += length + (at[length] != '\0');
    if (at[-1] == ' ')
      at[-1] = '\0';
  }
  return matter_formula_run(formula, count, arguments, in_si, out_si, err);
}

/* One output of a formula; NaN, with the reason printed, when it refuses. */
static double value(const char *name, const char *output, const char *text)
{
  const struct matter_formula *formula = matter_formula_find(name);
  double out_si[MATTER_OUTPUTS_MAX];
  struct err err = {0};

  if (run(name, text, NULL, out_si, &err)) {
    printf("%s: %s\n", name, err.text);
    return NAN;
  }
  for (int i = 0; i < matter_output_count(formula); i++)
    if (strcmp(formula->outputs[i].key, output) == 0)
      return out_si[i];
  printf("%s has no output %s\n", name, output);
  return NAN;
}

static const char *words(const char *fmt, ...) __attribute__((format(printf, 1, 2)));
static const char *words(const char *fmt, ...)
{
  static char room[4][256];
  static int turn;
  va_list args;
  char *text = room[turn = (turn + 1) % 4];

  va_start(args, fmt);
  vsnprintf(text, sizeof room[0], fmt, args);
  va_end(args);
  return text;
}

static void every_formula_names_its_source_and_runs_its_own_example(void)
{
  CHECK(matter_formula_count() > 80);
  for (int f = 0; f < matter_formula_count(); f++) {
    const struct matter_formula *formula = matter_formula_at(f);
    double out_si[MATTER_OUTPUTS_MAX];
    struct err err = {0};

    CHECK_CASE("%s", formula->name);
    CHECK(formula->source[0] && formula->equation[0] && formula->range[0]);
    CHECK(matter_formula_find(formula->name) == formula);
    CHECK(matter_output_count(formula) > 0);
    if (!CHECK_INT(run(formula->name, formula->example, NULL, out_si, &err), ERR_OK))
      printf("  %s\n", err.text);
    CHECK(!isnan(out_si[0]));
  }
}

static void keys_are_plain_words_and_defaults_lie_within_their_ranges(void)
{
  static const char letters[] = "abcdefghijklmnopqrstuvwxyz0123456789-";

  for (int f = 0; f < matter_formula_count(); f++) {
    const struct matter_formula *formula = matter_formula_at(f);

    CHECK_INT((long long)strspn(formula->name, letters), (long long)strlen(formula->name));
    for (int i = 0; i < matter_input_count(formula); i++) {
      const struct matter_variable *input = &formula->inputs[i];

      CHECK_CASE("%s %s", formula->name, input->key);
      CHECK_INT((long long)strspn(input->key, letters), (long long)strlen(input->key));
      CHECK(input->least_si < input->most_si);
      if (input->has_default && !isnan(input->standard_si))
        CHECK(input->standard_si >= input->least_si && input->standard_si <= input->most_si);
      for (int j = 0; j < i; j++)
        CHECK(strcmp(input->key, formula->inputs[j].key) != 0);
    }
  }
}

/* The example with one input moved out of its range. */
static enum err_code run_outside(const struct matter_formula *formula,
                                 const struct matter_variable *input, double si, struct err *err)
{
  double out_si[MATTER_OUTPUTS_MAX];
  char key[64], text[1024] = "";
  struct buf number;

  buf_init(&number, 80);
  units_print_exact(&number, si, input->dimension);
  for (char *p = number.text; *p; p++) /* arguments are parted by blanks here */
    if (*p == ' ')
      *p = '*';
  snprintf(key, sizeof key, "%s=", input->key);
  for (const char *at = formula->example; *at;) {
    size_t length = strcspn(at, " ");

    if (strncmp(at, key, strlen(key)) != 0)
      snprintf(text + strlen(text), sizeof text - strlen(text), "%.*s ", (int)length, at);
    at += length + (at[length] != '\0');
  }
  snprintf(text + strlen(text), sizeof text - strlen(text), "%s%s", key, number.text);
  buf_release(&number);
  return run(formula->name, text, NULL, out_si, err);
}

static void outside_its_range_every_input_is_refused_by_name(void)
{
  int tried = 0;

  for (int f = 0; f < matter_formula_count(); f++) {
    const struct matter_formula *formula = matter_formula_at(f);

    for (int i = 0; i < matter_input_count(formula); i++) {
      const struct matter_variable *input = &formula->inputs[i];
      double width_si = input->most_si - input->least_si;
      struct err err = {0};

      CHECK_CASE("%s %s", formula->name, input->key);
      CHECK_INT(run_outside(formula, input, input->most_si + 0.01 * width_si, &err), ERR_INPUT);
      CHECK(strstr(err.text, input->key) != NULL);
      CHECK_INT(run_outside(formula, input, input->least_si - 0.01 * width_si, &err), ERR_INPUT);
      CHECK(strstr(err.text, input->key) != NULL);
      tried++;
    }
  }
  CHECK(tried > 300);
}

static void a_refusal_leaves_the_outputs_alone_and_says_what_would_help(void)
{
  double out_si[MATTER_OUTPUTS_MAX] = {42}, in_si[MATTER_INPUTS_MAX] = {43};
  struct err err = {0};

  CHECK_INT(run("saturation-pressure", "temperature=300degC", in_si, out_si, &err), ERR_INPUT);
  CHECK_STR(err.text, "temperature: 300degC is above the stated 200.0 °C");
  CHECK_INT(run("duct-drop", "flw=1m3/s", in_si, out_si, &err), ERR_INPUT);
  CHECK(strstr(err.text, "did you mean 'flow'") != NULL);
  CHECK_INT(run("duct-drop", "flow", in_si, out_si, &err), ERR_INPUT);
  CHECK_INT(run("duct-drop", "flow=1m3/s flow=2m3/s", in_si, out_si, &err), ERR_INPUT);
  CHECK_STR(err.text, "flow: given twice");
  CHECK_INT(run("duct-drop", "flow=1m3/s velocity=2m/s diameter=1m", in_si, out_si, &err),
            ERR_INPUT);
  CHECK_INT(run("saturation-pressure", "", in_si, out_si, &err), ERR_INPUT);
  CHECK_INT(run("air-density", "temperature=20degC altitude=0m pressure=1atm", in_si, out_si, &err),
            ERR_INPUT);
  CHECK_NEAR(out_si[0], 42, 0, 0);
  CHECK_NEAR(in_si[0], 43, 0, 0);
}

static void a_misspelt_formula_is_guessed_and_nonsense_is_not(void)
{
  CHECK(matter_formula_find("moist_air") == matter_formula_find("moist-air"));
  CHECK(matter_formula_find("moist") == NULL);
  CHECK_STR(matter_formula_nearest("moistair")->name, "moist-air");
  CHECK_STR(matter_formula_nearest("duct-dorp")->name, "duct-drop");
  CHECK(matter_formula_nearest("xyzzy-plugh") == NULL);
}

/* Definitions: at saturation the three temperatures are one. */
static void in_saturated_air_dew_point_and_wet_bulb_are_the_temperature(void)
{
  for (int t = -60; t <= 90; t += 5) {
    const char *air = words("temperature=%ddegC relative-humidity=100%%RH", t);

    CHECK_CASE("%d degC", t);
    CHECK_NEAR(value("moist-air", "dew-point", air), t + 273.15, 0, 1e-3);
    CHECK_NEAR(value("moist-air", "wet-bulb", air), t + 273.15, 0, 1e-3);
    CHECK_NEAR(value("moist-air", "degree-of-saturation", air), 1, 1e-12, 0);
  }
}

static void humidity_survives_the_way_through_wet_bulb_dew_point_and_ratio(void)
{
  static const int temperatures[] = {-20, -5, 2, 15, 25, 40, 80};

  for (int i = 0; i < 7; i++)
    for (int rh = 10; rh <= 95; rh += 17)
      for (int site = 0; site <= 3000; site += 1500) {
        int t = temperatures[i];
        const char *air =
            words("temperature=%ddegC relative-humidity=%d%%RH altitude=%dm", t, rh, site);
        double bulb_K = value("moist-air", "wet-bulb", air);
        double dew_K = value("moist-air", "dew-point", air);
        double ratio = value("moist-air", "humidity-ratio", air);

        CHECK_CASE("%d degC %d %% at %d m", t, rh, site);
        CHECK_NEAR(value("moist-air-from-wet-bulb", "relative-humidity",
                         words("temperature=%ddegC wet-bulb=%.15gK altitude=%dm", t, bulb_K, site)),
                   rh / 100.0, 1e-9, 0);
        CHECK_NEAR(value("moist-air-from-dew-point", "relative-humidity",
                         words("temperature=%ddegC dew-point=%.15gK altitude=%dm", t, dew_K, site)),
                   rh / 100.0, 1e-9, 0);
        CHECK_NEAR(value("moist-air-from-humidity-ratio", "wet-bulb",
                         words("temperature=%ddegC humidity-ratio=%.15gkg/kg altitude=%dm", t,
                               ratio, site)),
                   bulb_K, 1e-9, 0);
        CHECK(dew_K <= bulb_K + 1e-9 && bulb_K <= t + 273.15 + 1e-9);
      }
}

static void fog_and_boiling_air_are_refused(void)
{
  double out_si[MATTER_OUTPUTS_MAX];

  CHECK_INT(run("moist-air", "temperature=120degC relative-humidity=100%RH", NULL, out_si, NULL),
            ERR_INPUT);
  CHECK_INT(run("moist-air-from-humidity-ratio", "temperature=20degC humidity-ratio=20g/kg", NULL,
                out_si, NULL),
            ERR_INPUT);
  CHECK_INT(run("moist-air-from-wet-bulb", "temperature=40degC wet-bulb=5degC", NULL, out_si, NULL),
            ERR_INPUT);
  CHECK_INT(
      run("moist-air-from-dew-point", "temperature=20degC dew-point=21degC", NULL, out_si, NULL),
      ERR_INPUT);
}

/* Conservation: dry air, water and energy in the mixture are those of the streams. */
static void mixing_air_loses_neither_water_nor_energy(void)
{
  double out_si[MATTER_OUTPUTS_MAX];

  CHECK_INT(run("mixed-air",
                "flow-1=2m3/s temperature-1=4degC wet-bulb-1=2degC flow-2=6.25m3/s "
                "temperature-2=25degC relative-humidity-2=50%RH",
                NULL, out_si, NULL),
            ERR_OK);
  double one =
      value("moist-air-from-wet-bulb", "humidity-ratio", "temperature=4degC wet-bulb=2degC");
  double two = value("moist-air", "humidity-ratio", "temperature=25degC relative-humidity=50%RH");
  double cold = value("moist-air-from-wet-bulb", "enthalpy", "temperature=4degC wet-bulb=2degC");
  double warm = value("moist-air", "enthalpy", "temperature=25degC relative-humidity=50%RH");

  CHECK_NEAR((out_si[0] + out_si[1]) * out_si[6], out_si[0] * one + out_si[1] * two, 1e-12, 0);
  CHECK_NEAR((out_si[0] + out_si[1]) * out_si[7], out_si[0] * cold + out_si[1] * warm, 1e-12, 0);
}

static void an_opening_found_from_a_flow_passes_that_flow(void)
{
  double area = value("orifice-area", "area", "flow=0.05m3/s pressure=12Pa");
  double flow = value("orifice-flow", "flow", words("area=%.17gm2 pressure=12Pa", area));

  CHECK_NEAR(flow, 0.05, 1e-12, 0);
  CHECK_NEAR(value("orifice-pressure", "pressure", words("flow=0.05m3/s area=%.17gm2", area)), 12,
             1e-12, 0);
  CHECK_NEAR(value("power-law-leak", "flow",
                   words("coefficient=%.17gm3/s/Pan pressure=50Pa exponent=0.6",
                         value("leak-coefficient", "coefficient",
                               "flow=0.5m3/s pressure=50Pa exponent=0.6"))),
             0.5, 1e-12, 0);
}

static void a_chain_of_openings_is_tighter_than_its_tightest(void)
{
  double chain = value("areas-in-series", "area", "area-1=0.01m2 area-2=0.5m2 area-3=3m2");

  CHECK(chain < 0.01 && chain > 0.0099);
  CHECK_NEAR(value("areas-in-series", "area", "area-1=0.03m2"), 0.03, 1e-12, 0);
  /* equal openings in series share the pressure: area over the root of their number */
  CHECK_NEAR(value("areas-in-series", "area", "area-1=2m2 area-2=2m2 area-3=2m2 area-4=2m2"), 1,
             1e-12, 0);
}

static void a_duct_sized_for_a_drop_has_that_drop(void)
{
  for (double drop = 0.05; drop < 5000; drop *= 3.7) {
    double diameter =
        value("duct-diameter", "diameter", words("flow=0.4m3/s length=20m drop=%.17gPa", drop));
    double got =
        value("duct-drop", "drop", words("flow=0.4m3/s length=20m diameter=%.17gm", diameter));
    double flow = value("duct-flow", "flow",
                        words("diameter=%.17gm length=20m drop=%.17gPa", diameter, drop));

    CHECK_CASE("%g Pa", drop);
    CHECK_NEAR(got, drop, 1e-9, 0);
    CHECK_NEAR(flow, 0.4, 1e-9, 0);
  }
}

static void still_air_has_no_drop(void)
{
  CHECK_NEAR(value("duct-drop", "drop", "flow=0m3/s diameter=0.2m length=10m"), 0, 0, 0);
  CHECK_NEAR(value("orifice-flow", "flow", "area=0.1m2 pressure=0Pa"), 0, 0, 0);
  CHECK_NEAR(value("power-law-leak", "flow", "coefficient=1m3/s/Pan pressure=0Pa"), 0, 0, 0);
}

static void a_square_duct_and_a_round_one_of_its_hydraulic_diameter_rub_alike(void)
{
  double square = value("duct-drop", "friction-per-length", "velocity=8m/s width=0.3m height=0.3m");

  CHECK_NEAR(value("duct-drop", "friction-per-length", "velocity=8m/s diameter=0.3m"), square,
             1e-12, 0);
}

/* Speeding up and back is no change; the wanted flow is met by the speed found for it. */
static void fan_laws_lead_there_and_back(void)
{
  const char *up = "flow=1m3/s pressure=500Pa power=1kW speed-1=1000rpm ";

  for (double n = 400; n < 3000; n *= 1.6) {
    double power = value("fan-laws", "power", words("%sspeed-2=%.17grpm", up, n));

    CHECK_NEAR(value("fan-laws", "speed", words("%spower-2=%.17gW", up, power)), n, 1e-12, 0);
    CHECK_NEAR(value("fan-laws", "speed",
                     words("%sflow-2=%.17gm3/s", up,
                           value("fan-laws", "flow", words("%sspeed-2=%.17grpm", up, n)))),
               n, 1e-12, 0);
    CHECK_NEAR(value("fan-laws", "speed",
                     words("%spressure-2=%.17gPa", up,
                           value("fan-laws", "pressure", words("%sspeed-2=%.17grpm", up, n)))),
               n, 1e-12, 0);
  }
}

static void thin_air_takes_less_power_at_the_same_flow(void)
{
  const char *text = "flow=1m3/s pressure=500Pa power=1kW density-1=1.2kg/m3 density-2=0.9kg/m3";

  CHECK_NEAR(value("fan-laws", "flow", text), 1, 1e-12, 0);
  CHECK_NEAR(value("fan-laws", "pressure", text), 375, 1e-12, 0);
  CHECK_NEAR(value("fan-laws", "power", text), 750, 1e-12, 0);
}

static void a_hood_read_from_its_suction_draws_what_was_set(void)
{
  double suction = value("hood-suction", "suction", "flow=0.5m3/s diameter=200mm loss-factor=0.5");

  CHECK_NEAR(
      value("hood-flow", "flow", words("suction=%.17gPa diameter=200mm loss-factor=0.5", suction)),
      0.5, 1e-12, 0);
}

static void the_manual_names_every_formula_and_input(void)
{
  struct buf manual;

  buf_init(&manual, 1 << 20);
  matter_print_manual(&manual);
  CHECK(!manual.full);
  for (int f = 0; f < matter_formula_count(); f++) {
    const struct matter_formula *formula = matter_formula_at(f);

    CHECK_CASE("%s", formula->name);
    CHECK(strstr(manual.text, words("### %s\n", formula->name)) != NULL);
    for (int i = 0; i < matter_input_count(formula); i++)
      CHECK(strstr(manual.text, words("| %s | %s |", formula->inputs[i].key,
                                      formula->inputs[i].meaning)) != NULL);
  }
  buf_release(&manual);
}

int main(int argc, char **argv)
{
  check_begin(argc, argv);
  RUN(air_at_sea_level_weighs_what_the_standard_atmosphere_says);
  RUN(damp_air_is_lighter_than_dry_air);
  RUN(saturation_pressure_rises_with_temperature_through_the_freezing_point);
  RUN(nothing_is_said_outside_the_stated_range);
  RUN(the_friction_factor_satisfies_colebrook);
  RUN(slow_flow_does_not_feel_the_roughness);
  RUN(every_formula_names_its_source_and_runs_its_own_example);
  RUN(keys_are_plain_words_and_defaults_lie_within_their_ranges);
  RUN(outside_its_range_every_input_is_refused_by_name);
  RUN(a_refusal_leaves_the_outputs_alone_and_says_what_would_help);
  RUN(a_misspelt_formula_is_guessed_and_nonsense_is_not);
  RUN(in_saturated_air_dew_point_and_wet_bulb_are_the_temperature);
  RUN(humidity_survives_the_way_through_wet_bulb_dew_point_and_ratio);
  RUN(fog_and_boiling_air_are_refused);
  RUN(mixing_air_loses_neither_water_nor_energy);
  RUN(an_opening_found_from_a_flow_passes_that_flow);
  RUN(a_chain_of_openings_is_tighter_than_its_tightest);
  RUN(a_duct_sized_for_a_drop_has_that_drop);
  RUN(still_air_has_no_drop);
  RUN(a_square_duct_and_a_round_one_of_its_hydraulic_diameter_rub_alike);
  RUN(fan_laws_lead_there_and_back);
  RUN(thin_air_takes_less_power_at_the_same_flow);
  RUN(a_hood_read_from_its_suction_draws_what_was_set);
  RUN(the_manual_names_every_formula_and_input);
  return check_end();
}
