#include "rule/rule.h"

/* docs/rules-file.md: prose, the names of the language, then the table of the file. */

static const char introduction[] =
    "# The rules file\n"
    "\n"
    "The rules of the house as data: each in words for people, with its source, and in an expression\n"
    "that `inward may` judges. The suite names the file: `files: {rules: rules.yaml}`. This page is\n"
    "printed by `inward schema --rules`; `inward check SUITE` reads every expression, runs every test,\n"
    "and finds rules that can never be met or contradict each other for a process at its station.\n"
    "\n"
    "```yaml\n"
    "inward: 1 rules\n"
    "rules:\n"
    "  R20:\n"
    "    text: Nobody works with HF alone.\n"
    "    source: house rule 20\n"
    "    when: process uses \"hf\"\n"
    "    must: inside with \"hf\" >= 2 and confirmed \"the gel is in date\"\n"
    "    valid from: 2026-01-01\n"
    "    tests:\n"
    "      - {given: ['process uses \"hf\"', 'inside with \"hf\" = 1'], expect: no}\n"
    "      - {given: ['not process uses \"hf\"'], expect: yes}\n"
    "```\n"
    "\n"
    "It is written like a suite file ([how](suite-file.md#how-it-is-written)); an expression in which\n"
    "a text stands in quotes is a plain text all the same, and stands in 'single quotes' inside a list.\n"
    "\n"
    "**A rule is no law and no permission.** It says what this house has agreed on. What the law\n"
    "demands, and who may waive what, is for those who answer for the place.\n"
    "\n"
    "## Expressions\n"
    "\n"
    "Names, comparisons (`=`, `!=`, `<`, `<=`, `>`, `>=`), `and`, `or`, `not`, brackets. `and` binds\n"
    "closer than `or`. Texts stand in \"quotes\", figures have their unit (`60 degC`, `2 h`), times of\n"
    "day are written 18:00.\n"
    "\n"
    "**Unknown stays unknown**: what is not known is neither yes nor no. Unknown *and* no is no; unknown\n"
    "*or* yes is yes; everything else with unknown in it is unknown, and `inward may` then asks for it.\n"
    "A rule whose expression cannot be read, that names what the suite does not know, or that fails one\n"
    "of its own tests is unknown, never met. A vessel's material is named by its id, a hazard by its\n"
    "GHS code.\n"
    "\n"
    "| name | is | meaning |\n"
    "|---|---|---|\n";

static const char tests[] =
    "\n"
    "`confirmed \"...\"` is for what no file knows: a person looks, there and then, and says so with\n"
    "`inward may --confirm \"...\"`.\n"
    "\n"
    "**Tests** stand beside the rule. `given` lists facts: one name (`staffed`), not one (`not\n"
    "staffed`), or what one is (`inside = 2`); everything else is unknown. `expect` is what the rule\n"
    "must then say: `yes` also where it does not apply.\n"
    "\n";

static void print_type(const struct rule_name_row *row, struct buf *out)
{
  static const char *const types[] = {"so or not", "a word", "a figure", "a count",
                                      "a time of day"};

  buf_puts(out, types[row->type]);
  if (row->type == RULE_QUANTITY)
    buf_printf(out, ": %s", units_words(row->dimension));
  for (const char *c = row->possible ? row->possible : ""; *c; c++) {
    if (c == row->possible)
      buf_puts(out, ": ");
    if (*c == '|')
      buf_puts(out, ", ");
    else
      buf_putc(out, *c);
  }
}

void rule_print_manual(struct buf *out)
{
  buf_puts(out, introduction);
  for (int i = 0; i < RULE_NAME_COUNT; i++) {
    const struct rule_name_row *row = rule_name_row((enum rule_name)i);
    bool argument = row->argument != RULE_NONE && row->type != RULE_TEXT;

    buf_printf(out, "| `%s%s` | ", row->words, argument ? " \"...\"" : "");
    print_type(row, out);
    buf_printf(out, " | %s |\n", row->meaning);
  }
  buf_puts(out, tests);
  rules_print_manual(out);
}
