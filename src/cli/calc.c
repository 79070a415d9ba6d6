#include "cli/cli.h"

#include "base/emit.h"
#include "matter/matter.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* How each dimension is shown: the ending of its JSON key, the SI unit people read, another they
 * use, and the US unit.  Empty: none. */
static const struct shown {
  const char *ending, *si, *also, *us;
} shown[UNITS_DIMENSION_COUNT] = {
    [UNITS_RATIO] = {"", "", "", ""},
    [UNITS_SHARE] = {"_ratio", "%", "", ""},
    [UNITS_OPEN_SHARE] = {"_ratio", "%open", "", ""},
    [UNITS_RELATIVE_HUMIDITY] = {"_ratio", "%RH", "", ""},
    [UNITS_LENGTH] = {"_m", "m", "mm", "in"},
    [UNITS_AREA] = {"_m2", "m2", "cm2", "ft2"},
    [UNITS_VOLUME] = {"_m3", "m3", "L", "ft3"},
    [UNITS_TIME] = {"_s", "s", "min", ""},
    [UNITS_MASS] = {"_kg", "kg", "", "lb"},
    [UNITS_TEMPERATURE] = {"_K", "degC", "K", "degF"},
    [UNITS_TEMPERATURE_DIFFERENCE] = {"_K", "K", "", "degF(diff)"},
    [UNITS_PRESSURE_DIFFERENCE] = {"_Pa", "Pa", "", "inH2O"},
    [UNITS_GAUGE_PRESSURE] = {"_Pa", "Pa(g)", "", "inH2O(g)"},
    [UNITS_ABSOLUTE_PRESSURE] = {"_Pa", "Pa(a)", "kPa(a)", "psi(a)"},
    [UNITS_VELOCITY] = {"_m_s", "m/s", "", "fpm"},
    [UNITS_FLOW] = {"_m3_s", "m3/s", "m3/h", "cfm"},
    [UNITS_STANDARD_FLOW] = {"_m3_s", "m3/s(std)", "m3/h(std)", "scfm"},
    [UNITS_MASS_FLOW] = {"_kg_s", "kg/s", "g/s", "lb/min"},
    [UNITS_FLOW_PER_AREA] = {"_m_s", "m3/(s m2)", "L/(s m2)", "cfm/ft2"},
    [UNITS_FLOW_PER_LENGTH] = {"_m2_s", "m3/(s m)", "L/(s m)", "cfm/ft"},
    [UNITS_AIR_CHANGES] = {"_per_h", "1/h", "", ""},
    [UNITS_FREQUENCY] = {"_Hz", "Hz", "", ""},
    [UNITS_ROTATION] = {"_rpm", "rpm", "", ""},
    [UNITS_DENSITY] = {"_kg_m3", "kg/m3", "", "lb/ft3"},
    [UNITS_VISCOSITY] = {"_Pa_s", "Pa s", "", "lb/(ft s)"},
    [UNITS_KINEMATIC_VISCOSITY] = {"_m2_s", "m2/s", "", "ft2/s"},
    [UNITS_RESISTANCE] = {"_Pa_s2_m6", "Pa/(m3/s)2", "", "inH2O/cfm2"},
    [UNITS_LINEAR_RESISTANCE] = {"_Pa_s_m3", "Pa/(m3/s)", "", "inH2O/cfm"},
    [UNITS_ORIFICE_CONSTANT] = {"_m_s_Pa05", "m3/(s m2 Pa0.5)", "", "cfm/(ft2 inH2O0.5)"},
    [UNITS_LEAK_COEFFICIENT] = {"_m3_s_Pan", "m3/(s Pan)", "", "cfm/Pan"},
    [UNITS_FORCE] = {"_N", "N", "", "lbf"},
    [UNITS_POWER] = {"_W", "W", "kW", "hp"},
    [UNITS_ENERGY] = {"_J", "J", "kWh", "Btu"},
    [UNITS_SPECIFIC_ENERGY] = {"_J_kg", "J/kg", "kJ/kg", "Btu/lb"},
    [UNITS_SPECIFIC_VOLUME] = {"_m3_kg", "m3/kg", "", "ft3/lb"},
    [UNITS_HUMIDITY_RATIO] = {"_kg_kg", "kg/kg", "g/kg", "gr/lb"},
    [UNITS_CONCENTRATION] = {"_m3_m3", "ppm", "", ""},
    [UNITS_HEAD] = {"_m", "m", "", "ft"},
    [UNITS_PRESSURE_GRADIENT] = {"_Pa_m", "Pa/m", "", "inH2O/100ft"},
    [UNITS_MASS_FRACTION] = {"_kg_kg", "wt%", "", ""},
    [UNITS_MOLAR_MASS] = {"_kg_mol", "g/mol", "", ""},
    [UNITS_MOLARITY] = {"_mol_m3", "mol/L", "", ""},
    [UNITS_AMOUNT] = {"_mol", "mol", "", ""},
    [UNITS_MOLAR_ENERGY] = {"_J_mol", "kJ/mol", "", ""},
    [UNITS_SPECIFIC_HEAT] = {"_J_kg_K", "kJ/(kg K)", "", ""},
    [UNITS_DIFFUSIVITY] = {"_m2_s", "cm2/s", "", ""},
    [UNITS_ETCH_RATE] = {"_m_s", "nm/min", "um/h", ""},
    [UNITS_PARABOLIC_RATE] = {"_m2_s", "um2/h", "", ""},
};

static const char help[] =
    "Any single formula of the formula table.\n\n"
    "usage: inward calc                            lists the formulas\n"
    "       inward calc NAME --help                its inputs, range, equation, source, example\n"
    "       inward calc NAME key=value ... [--json] [--us]\n"
    "       inward calc --manual                   every formula, as docs/formulas.md\n\n"
    "  --json   the answer as JSON, schema inward.calc.1, in SI\n"
    "  --us     US units beside the SI ones\n\n"
    "example: inward calc duct-drop flow=470L/s diameter=250mm length=1.8m roughness=0.12mm\n";

static void put_quantity(struct buf *out, double si, enum units_dimension dimension, bool us)
{
  const struct shown *how = &shown[dimension];

  if (isnan(si)) {
    buf_puts(out, "no value here");
    return;
  }
  units_print_in(out, si, dimension, how->si);
  if (*how->also) {
    buf_puts(out, " = ");
    units_print_in(out, si, dimension, how->also);
  }
  if (us && *how->us) {
    buf_puts(out, " = ");
    units_print_in(out, si, dimension, how->us);
  }
}

static void put_key(struct buf *out, const struct matter_variable *variable)
{
  for (const char *p = variable->key; *p; p++)
    buf_putc(out, *p == '-' ? '_' : *p);
  buf_puts(out, shown[variable->dimension].ending);
}

static void put_numbers(struct emit *json, const char *name, const struct matter_variable *list,
                        int count, const double *si, bool left_out)
{
  struct buf key;

  buf_init(&key, 100);
  emit_object(json, name);
  for (int i = 0; i < count; i++) {
    if (isnan(si[i]) && left_out)
      continue;
    buf_clear(&key);
    put_key(&key, &list[i]);
    emit_number(json, key.text, si[i]);
  }
  emit_close(json);
  buf_release(&key);
}

static bool was_given(const char *key, int count, const char *const *arguments)
{
  for (int i = 0; i < count; i++) {
    size_t length = strcspn(arguments[i], "=");
    bool same = strlen(key) == length;

    for (size_t j = 0; same && j < length; j++)
      same = key[j] == (arguments[i][j] == '_' ? '-' : arguments[i][j]);
    if (same)
      return true;
  }
  return false;
}

static void print_json(struct buf *out, const struct matter_formula *formula, int count,
                       const char *const *arguments, const double *in_si, const double *out_si)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.calc.1");
  emit_text(&json, "name", formula->name);
  put_numbers(&json, "inputs", formula->inputs, matter_input_count(formula), in_si, true);
  emit_array(&json, "assumed");
  for (int i = 0; i < matter_input_count(formula); i++)
    if (!isnan(in_si[i]) && !was_given(formula->inputs[i].key, count, arguments))
      emit_text(&json, NULL, formula->inputs[i].key);
  emit_close(&json);
  put_numbers(&json, "outputs", formula->outputs, matter_output_count(formula), out_si, false);
  emit_text(&json, "equation", formula->equation);
  emit_text(&json, "source", formula->source);
  emit_text(&json, "caution", matter_formula_caution(formula));
  emit_close(&json);
  emit_end(&json);
}

static void print_text(struct buf *out, const struct matter_formula *formula, int count,
                       const char *const *arguments, const double *in_si, const double *out_si,
                       bool us)
{
  for (int i = 0; i < matter_output_count(formula); i++) {
    buf_printf(out, "%-24s ", formula->outputs[i].key);
    put_quantity(out, out_si[i], formula->outputs[i].dimension, us);
    buf_putc(out, '\n');
  }
  for (int i = 0; i < matter_input_count(formula); i++) {
    if (isnan(in_si[i]) || was_given(formula->inputs[i].key, count, arguments))
      continue;
    buf_printf(out, "assumed: %s ", formula->inputs[i].key);
    units_print_in(out, in_si[i], formula->inputs[i].dimension,
                   shown[formula->inputs[i].dimension].si);
    buf_putc(out, '\n');
  }
  buf_printf(out, "%s\nsource: %s\n", formula->equation, formula->source);
  if (matter_formula_caution(formula))
    buf_printf(out, "CAUTION: %s\n", matter_formula_caution(formula));
}

/* Parentheses and stars mean something to a shell. */
static void put_example(struct buf *out, const struct matter_formula *formula)
{
  const char *p = formula->example;

  buf_printf(out, "example: inward calc %s", formula->name);
  while (*p) {
    size_t length = strcspn(p, " ");
    bool quote = strcspn(p, "()*") < length;

    buf_printf(out, " %s%.*s%s", quote ? "'" : "", (int)length, p, quote ? "'" : "");
    p += length;
    p += *p == ' ';
  }
  buf_putc(out, '\n');
}

static void put_input(struct buf *out, const struct matter_variable *input)
{
  const char *unit = shown[input->dimension].si;

  buf_printf(out, "  %-22s %s; ", input->key, input->meaning);
  units_print_in(out, input->least_si, input->dimension, unit);
  buf_puts(out, " to ");
  units_print_in(out, input->most_si, input->dimension, unit);
  if (input->has_default && isnan(input->standard_si))
    buf_puts(out, "; may be left out");
  else if (input->has_default) {
    buf_puts(out, "; left out: ");
    units_print_in(out, input->standard_si, input->dimension, unit);
  }
  buf_putc(out, '\n');
  if (input->dimension == UNITS_RATIO)
    return;
  buf_puts(out, "                         in ");
  units_list(input->dimension, out);
  buf_putc(out, '\n');
}

static void print_help(struct buf *out, const struct matter_formula *formula)
{
  buf_printf(out, "%s: %s\nsource: %s\nranges: %s\n\ninputs:\n", formula->name, formula->equation,
             formula->source, formula->range);
  for (int i = 0; i < matter_input_count(formula); i++)
    put_input(out, &formula->inputs[i]);
  buf_puts(out, "\noutputs:\n");
  for (int i = 0; i < matter_output_count(formula); i++)
    buf_printf(out, "  %-22s %s%s%s\n", formula->outputs[i].key, formula->outputs[i].meaning,
               *shown[formula->outputs[i].dimension].si ? "; " : "",
               shown[formula->outputs[i].dimension].si);
  buf_putc(out, '\n');
  put_example(out, formula);
}

static void print_list(struct buf *out)
{
  for (int i = 0; i < matter_formula_count(); i++) {
    const struct matter_formula *formula = matter_formula_at(i);
    const char *subject = matter_formula_subject(i);

    if (subject)
      buf_printf(out, "%s%s\n", i ? "\n" : "", subject);
    buf_printf(out, "  %-32s %s\n", formula->name, formula->equation);
  }
  buf_puts(out, "\n'inward calc NAME --help' shows the inputs of one.\n");
}

struct request {
  bool json, us, help, manual;
  int count;
  const char *arguments[2 * MATTER_INPUTS_MAX];
};

static const char *read_request(int argc, char **argv, struct request *request)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0)
      request->json = true;
    else if (strcmp(argv[i], "--us") == 0)
      request->us = true;
    else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
      request->help = true;
    else if (strcmp(argv[i], "--manual") == 0)
      request->manual = true;
    else if (strncmp(argv[i], "--", 2) == 0)
      return argv[i];
    else if (request->count < 2 * MATTER_INPUTS_MAX)
      request->arguments[request->count++] = argv[i];
  }
  return NULL;
}

static int refuse_name(const char *name)
{
  const struct matter_formula *meant = matter_formula_nearest(name);

  fprintf(stderr, "inward calc: no formula '%.60s'%s%s%s; 'inward calc' lists them\n", name,
          meant ? " (did you mean '" : "", meant ? meant->name : "", meant ? "'?)" : "");
  return 2;
}

static int compute(const struct request *request, const struct matter_formula *formula,
                   struct buf *out)
{
  double in_si[MATTER_INPUTS_MAX], out_si[MATTER_OUTPUTS_MAX];
  const char *const *arguments = request->arguments + 1;
  int count = request->count - 1;
  struct err err = {0};

  if (matter_formula_run(formula, count, arguments, in_si, out_si, &err)) {
    fprintf(stderr, "inward calc: %s\n", err.text);
    return err_exit_status(err.code);
  }
  if (request->json)
    print_json(out, formula, count, arguments, in_si, out_si);
  else
    print_text(out, formula, count, arguments, in_si, out_si, request->us);
  return 0;
}

int cli_calc(int argc, char **argv)
{
  struct request request = {0};
  const char *unknown = read_request(argc, argv, &request);
  const struct matter_formula *formula = NULL;
  struct buf out;
  int status = 0;

  if (unknown) {
    fprintf(stderr, "inward calc: no option '%.40s'; 'inward calc --help' explains\n", unknown);
    return 2;
  }
  if (request.count > 0 && !(formula = matter_formula_find(request.arguments[0])))
    return refuse_name(request.arguments[0]);
  buf_init(&out, 1 << 20);
  if (request.manual)
    matter_print_manual(&out);
  else if (formula && request.help)
    print_help(&out, formula);
  else if (formula)
    status = compute(&request, formula, &out);
  else if (request.help)
    buf_puts(&out, help);
  else
    print_list(&out);
  status = cli_show(&out, status);
  buf_release(&out);
  return status;
}
