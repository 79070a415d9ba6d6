#include "matter/formula_impl.h"

/* A bound or a default as a person writes it; wide bounds keep a power of ten. */
static void put_value(struct buf *out, double si, enum units_dimension dimension)
{
  if (isnan(si))
    buf_puts(out, "may be left out");
  else if (si == 0 && dimension == UNITS_TEMPERATURE)
    buf_puts(out, "0 K");
  else
    units_print(out, si, dimension, UNITS_SYSTEM_SI);
}

static void put_formula(struct buf *out, const struct matter_formula *formula)
{
  buf_printf(out, "\n### %s\n\n`%s`\n\n", formula->name, formula->equation);
  buf_printf(out, "Source: %s.\nRange: %s.\n\n", formula->source, formula->range);
  buf_puts(out, "| input | meaning | from | to | if left out |\n|---|---|---|---|---|\n");
  for (int i = 0; i < matter_input_count(formula); i++) {
    const struct matter_variable *input = &formula->inputs[i];

    buf_printf(out, "| %s | %s | ", input->key, input->meaning);
    put_value(out, input->least_si, input->dimension);
    buf_puts(out, " | ");
    put_value(out, input->most_si, input->dimension);
    buf_puts(out, " | ");
    if (input->has_default)
      put_value(out, input->standard_si, input->dimension);
    else
      buf_puts(out, "needed");
    buf_puts(out, " |\n");
  }
  buf_puts(out, "\n| output | meaning | SI unit |\n|---|---|---|\n");
  for (int i = 0; i < matter_output_count(formula); i++) {
    const struct matter_variable *output = &formula->outputs[i];

    buf_printf(out, "| %s | %s | %s |\n", output->key, output->meaning,
               units_si_text(output->dimension));
  }
  buf_printf(out, "\n    inward calc %s %s\n", formula->name, formula->example);
}

void matter_print_manual(struct buf *out)
{
  buf_puts(out, "# Formulas\n\nPrinted from the formula table; `inward calc NAME --help` shows one "
                "row of it.\nEvery quantity is typed with its unit.  Outside the stated ranges a "
                "formula refuses.\n");
  for (int i = 0; i < matter_formula_count(); i++) {
    const char *subject = matter_formula_subject(i);

    if (subject)
      buf_printf(out, "\n## %s\n", subject);
    if (subject && matter_formula_caution(matter_formula_at(i)))
      buf_printf(out, "\n**%s**\n", matter_formula_caution(matter_formula_at(i)));
    put_formula(out, matter_formula_at(i));
  }
}
