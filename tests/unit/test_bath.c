/* Baths: the tables, the balance of masses and the heat. */
#include "bath_ask.h"

#include "check.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static struct arena arena;
static const struct chem *chem;

static double held(const struct bath_answer *a, const char *substance)
{
  for (int i = 0; i < a->holds_count; i++)
    if (strcmp(a->holds[i].substance->id, substance) == 0)
      return a->holds[i].fraction_ratio;
  return 0;
}

static double molarity(const struct bath_answer *a, const char *substance)
{
  for (int i = 0; i < a->holds_count; i++)
    if (strcmp(a->holds[i].substance->id, substance) == 0)
      return a->holds[i].molarity_mol_m3;
  return NAN;
}

static const struct bath_part *poured(const struct bath_answer *a, const char *stock)
{
  for (int i = 0; i < a->part_count; i++)
    if (strcmp(a->parts[i].stock.id, stock) == 0)
      return &a->parts[i];
  return NULL;
}

/* ---- tables ---- */

static void every_row_of_the_tables_has_its_source_and_names_what_there_is(void)
{
  static const char *const tables[] = {
      "baths",          "bath_parts",       "bath_substances",
      "bath_kin",       "solution_heats",   "solution_heat_capacities",
      "reaction_heats", "solution_boiling", "hazard_codes"};

  for (size_t k = 0; k < sizeof tables / sizeof *tables; k++) {
    const struct chem_table *t = chem_table(tables[k], &arena);

    CHECK(t->row_count >= 5);
    for (int row = 0; row < t->row_count; row++) {
      CHECK_CASE("data/%s.csv:%d", tables[k], row + 2);
      CHECK(chem_cell_origin(t, row).source[0] != '\0');
      if (k >= 2 && k != 3 && k != 6 && k != 8)
        CHECK(chem_find(chem, chem_cell(t, row, "substance")) != NULL);
    }
  }
}

static void every_code_of_a_substance_has_its_words_and_its_pictogram_is_one_of_nine(void)
{
  static const char *const pictograms[] = {"",       "flame",       "flame-over-circle",
                                           "skull",  "exclamation", "corrosion",
                                           "health", "environment", "gas-cylinder"};
  const struct chem_table *t = chem_table("hazard_codes", &arena);

  for (int s = 0; s < chem->substance_count; s++)
    for (int k = 0; k < chem->substances[s].hazard_count; k++) {
      const char *code = chem->substances[s].hazards[k];
      int rows = 0;

      if (code[0] != 'H')
        continue; /* "not classified" */
      CHECK_CASE("%s of %s", code, chem->substances[s].id);
      for (int i = 0; i < t->row_count; i++)
        rows += strcmp(chem_cell(t, i, "code"), code) == 0;
      CHECK_INT(rows, 1);
    }
  for (int i = 0; i < t->row_count; i++) {
    int known = 0;

    CHECK_CASE("%s", chem_cell(t, i, "code"));
    CHECK(chem_cell(t, i, "class")[0] != '\0');
    for (int k = 0; k < 9; k++)
      known += strcmp(chem_cell(t, i, "pictogram"), pictograms[k]) == 0;
    CHECK_INT(known, 1);
  }
}

/* UN GHS rev. 9, chapters 3.1 to 4.1, tables of label elements: from memory. */
static void codes_lead_to_the_pictograms_of_the_ghs(void)
{
  static const char *const rows[][2] = {{"H225", "flame"},       {"H272", "flame-over-circle"},
                                        {"H290", "corrosion"},   {"H300", "skull"},
                                        {"H310", "skull"},       {"H314", "corrosion"},
                                        {"H318", "corrosion"},   {"H319", "exclamation"},
                                        {"H330", "skull"},       {"H331", "skull"},
                                        {"H302", "exclamation"}, {"H335", "exclamation"},
                                        {"H370", "health"},      {"H360D", "health"},
                                        {"H334", "health"},      {"H410", "environment"},
                                        {"H400", "environment"}, {"H412", ""}};
  const struct chem_table *t = chem_table("hazard_codes", &arena);

  for (size_t k = 0; k < sizeof rows / sizeof *rows; k++)
    for (int i = 0; i < t->row_count; i++)
      if (strcmp(chem_cell(t, i, "code"), rows[k][0]) == 0) {
        CHECK_CASE("%s", rows[k][0]);
        CHECK_STR(chem_cell(t, i, "pictogram"), rows[k][1]);
      }
}

/* A label has the worst of each class: the tables' rows stand so.  UN GHS rev. 9, from memory. */
static void the_worst_of_a_class_stands_above_the_others(void)
{
  static const char *const rows[][3] = {
      {"H314", "H318", "eye"},           {"H318", "H319", "eye"},     {"H314", "H315", "skin"},
      {"H300", "H302", "swallowed"},     {"H330", "H332", "inhaled"}, {"H271", "H272", "oxidiser"},
      {"H410", "H400", "water at once"}, {"H350", "H351", "cancer"}};
  const struct chem_table *t = chem_table("hazard_codes", &arena);

  for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
    int worse = -1, other = -1;

    for (int i = 0; i < t->row_count; i++) {
      worse = strcmp(chem_cell(t, i, "code"), rows[k][0]) == 0 ? i : worse;
      other = strcmp(chem_cell(t, i, "code"), rows[k][1]) == 0 ? i : other;
    }
    CHECK_CASE("%s %s", rows[k][0], rows[k][1]);
    REQUIRE(worse >= 0 && other >= 0);
    CHECK(worse < other);
    CHECK(strstr(chem_cell(t, worse, "class"), rows[k][2]) != NULL);
    CHECK(strstr(chem_cell(t, other, "class"), rows[k][2]) != NULL);
  }
}

/* ---- masses ---- */

static void check_balance(const struct bath_answer *a)
{
  double parts_kg = 0, holds_kg = 0;

  for (int i = 0; i < a->part_count; i++)
    parts_kg += a->parts[i].mass_kg;
  for (int i = 0; i < a->holds_count; i++) {
    double poured_kg = 0;
    const struct chem_substance *s = a->holds[i].substance;

    holds_kg += a->holds[i].mass_kg;
    for (int k = 0; k < a->part_count; k++)
      if (a->parts[k].stock.substance == s && strcmp(s->id, "water") != 0)
        poured_kg += a->parts[k].mass_kg * a->parts[k].stock.assay_ratio;
    if (strcmp(s->id, "water") != 0)
      CHECK_NEAR(a->holds[i].mass_kg, poured_kg, 1e-12, 0);
  }
  CHECK_NEAR(a->mass_kg, parts_kg, 1e-12, 0);
  CHECK_NEAR(holds_kg, parts_kg, 1e-12, 0);
}

static void masses_are_kept_in_every_named_bath(void)
{
  const struct chem_table *t = chem_table("baths", &arena);
  int made = 0;

  for (int i = 0; i < t->row_count; i++) {
    char name[60];
    const struct bath_answer *a;

    snprintf(name, sizeof name, "name=%s", chem_cell(t, i, "id"));
    CHECK_CASE("%s", name);
    a = ASK(name, name, "volume=4L", NULL);
    REQUIRE(a != NULL);
    made += a->state == BATH_MADE;
    if (a->state == BATH_MADE)
      check_balance(a);
    else
      CHECK(a->part_count == 0 && a->holds_count == 0 && isnan(a->mass_kg) && isnan(a->sum_m3));
  }
  CHECK(made >= 15);
}

static void a_share_by_mass_is_made_exactly_and_fills_the_volume(void)
{
  const struct bath_answer *a = ASK("5 wt%", "of=hf", "to=5wt%", "from=hf-49", "volume=2L", NULL);

  REQUIRE(a != NULL);
  check_balance(a);
  CHECK_NEAR(held(a, "hf"), 0.05, 1e-12, 0);
  CHECK_NEAR(a->volume_m3, 2e-3, 1e-12, 0);
  CHECK_NEAR(poured(a, "hf-49")->mass_kg / a->mass_kg, 0.05 / 0.49, 1e-12, 0);
  CHECK_STR(a->parts[0].stock.id, "water");
  CHECK_STR(a->parts[1].stock.id, "hf-49"); /* hydrofluoric acid last */
}

static void a_molarity_is_met_by_the_density_of_the_product(void)
{
  const struct bath_answer *a = ASK("1 M", "of=hcl", "to=1mol/L", "from=hcl-37", "volume=1L", NULL);

  REQUIRE(a != NULL);
  CHECK_NEAR(molarity(a, "hcl"), 1000, 1e-10, 0);
  check_balance(a);
  /* 1 mol of HCl in 37 wt% of 1.185 kg/L: 83.2 mL, as wall charts print 83 */
  CHECK_NEAR(poured(a, "hcl-37")->volume_m3, 83e-6, 0.01, 0);
}

static void a_spiked_bath_ends_at_its_target(void)
{
  const struct bath_answer *a =
      ASK("spike", "of=hf", "bath=20kg@8wt%", "to=10wt%", "from=hf-49", NULL);

  REQUIRE(a != NULL && a->part_count == 2);
  CHECK_NEAR(a->parts[1].mass_kg, 20 * 0.02 / 0.39, 1e-12, 0); /* chem.md 1.1 */
  CHECK_NEAR(held(a, "hf"), 0.10, 1e-12, 0);
  check_balance(a);
}

/* What a mix holds and what it was made from give how much of each was poured. */
static void a_mix_undone_gives_its_parts(void)
{
  const struct bath_answer *a =
      ASK("mix", "part=nh4f-40=5", "part=hf-49=1", "part=water=2", "mass=7kg", NULL);
  const struct bath_answer *b;
  char hf[60], nh4f[60];

  REQUIRE(a != NULL);
  snprintf(hf, sizeof hf, "to=hf=%.17gwt%%", held(a, "hf") * 100);
  snprintf(nh4f, sizeof nh4f, "to=nh4f=%.17gwt%%", held(a, "nh4f") * 100);
  b = ASK("undone", hf, nh4f, "from=hf-49", "from=nh4f-40", "mass=7kg", NULL);
  REQUIRE(b != NULL);
  CHECK_INT(b->part_count, 3);
  for (int i = 0; i < a->part_count; i++) {
    CHECK_CASE("%s", a->parts[i].stock.id);
    CHECK_NEAR(poured(b, a->parts[i].stock.id)->mass_kg, a->parts[i].mass_kg, 1e-12, 0);
  }
}

static void unknown_density_leaves_the_volume_unknown_and_the_sum_as_its_bound(void)
{
  const struct bath_answer *a = ASK("sc-1", "name=sc-1", "volume=7L", NULL);

  REQUIRE(a != NULL);
  CHECK(isnan(a->volume_m3) && isnan(a->density_kg_m3));
  CHECK_NEAR(a->sum_m3, 7e-3, 1e-12, 0);
  CHECK_NEAR(a->parts[1].volume_m3, 1e-3, 1e-12, 0);
  CHECK_STR(a->parts[2].stock.id, "h2o2-30"); /* peroxide last */
  CHECK(a->unknown.count > 0);
}

static void a_solid_is_weighed(void)
{
  const struct bath_answer *a = ASK("koh", "name=koh-30", "mass=2.9kg", NULL);

  REQUIRE(a != NULL);
  CHECK_NEAR(held(a, "koh"), 0.30, 1e-12, 0);
  CHECK_NEAR(poured(a, "koh-pellets")->mass_kg, 2.9 * 0.30 / 0.87, 1e-12, 0);
}

/* ---- heat ---- */

static void acid_into_water_is_banded_and_half_and_half_will_boil(void)
{
  const struct bath_answer *a = ASK("1 in 6", "part=h2so4-96=1L", "part=water=5L", NULL);

  REQUIRE(a != NULL);
  /* chem_checks.csv H-11, H-12 */
  CHECK(a->heat.low_J < 1100e3 && a->heat.high_J > 1100e3 * 0.97);
  CHECK(a->heat.low_K < 48.7 && a->heat.high_K > 48);
  CHECK_INT(a->heat.boils, BATH_STAYS_BELOW);
  a = ASK("1 in 2", "part=h2so4-96=1L", "part=water=1L", NULL);
  REQUIRE(a != NULL);
  CHECK_INT(a->heat.boils, BATH_WILL_BOIL); /* H-14: 123 K */
}

static void a_bath_that_may_boil_gets_no_temperature(void)
{
  const struct bath_answer *a = ASK("hot", "part=h2so4-96=1L", "part=water=1L", NULL);
  struct buf out;

  REQUIRE(a != NULL);
  CHECK_INT(a->heat.boils, BATH_WILL_BOIL);
  buf_init(&out, 1 << 20);
  bath_text(a, UNITS_SYSTEM_SI, &out);
  CHECK(strstr(out.text, "WILL BOIL") != NULL);
  CHECK(strstr(out.text, "a rise of") == NULL);
  buf_clear(&out);
  bath_json(a, &out);
  CHECK(strstr(out.text, "\"high_rise_K\": null") != NULL);
  buf_release(&out);
}

static void heat_that_is_not_known_is_treated_as_hot(void)
{
  const struct bath_answer *a = ASK("bhf", "name=bhf-5", "volume=6L", NULL);
  struct buf out;

  REQUIRE(a != NULL);
  CHECK(!a->heat.complete);
  CHECK_INT(a->heat.boils, BATH_HEAT_NOT_KNOWN);
  buf_init(&out, 1 << 20);
  bath_text(a, UNITS_SYSTEM_SI, &out);
  CHECK(strstr(out.text, "not known: treat as hot") != NULL);
  buf_release(&out);
}

static void peroxide_that_breaks_down_is_told_apart(void)
{
  const struct bath_answer *a = ASK("sc-2", "name=sc-2", "volume=8L", NULL);

  REQUIRE(a != NULL);
  CHECK(a->heat.peroxide_J > 4 * a->heat.high_J);
  CHECK_NEAR(a->heat.oxygen_m3, 0.120, 0.01, 0); /* of one litre of 30 %: chem_checks.csv H-19 */
}

/* Rows of data/solution_heats.csv against formation values of NBS 1982 (from memory): H-01 to H-05.
 * H-06, ammonia, does not reproduce: the CRC table prints -30.50, the formation values give -34.18;
 * unresolved, so the larger is what the upper end counts. */
static void heats_of_solution_agree_with_formation_values_or_the_larger_is_used(void)
{
  static const struct {
    const char *substance;
    double made_kJ, dissolved_kJ, allowed_ratio;
  } rows[] = {{"hf", -271.1, -332.63, 0.005},    {"naoh", -425.609, -470.114, 0.002},
              {"koh", -424.764, -482.37, 0.002}, {"hcl", -92.307, -167.159, 0.002},
              {"hno3", -174.10, -207.36, 0.002}, {"nh3", -46.11, -80.29, 0.002}};

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
    CHECK_CASE("%s", rows[i].substance);
    CHECK_NEAR(bath_heat_row_J_mol(rows[i].substance, "limit", INFINITY, &arena) / 1e3,
               rows[i].dissolved_kJ - rows[i].made_kJ, rows[i].allowed_ratio, 0);
  }
  CHECK(bath_heat_row_J_mol("nh3", "limit", INFINITY, &arena) <
        bath_heat_row_J_mol("nh3", "printed", INFINITY, &arena));
  CHECK(isnan(bath_heat_row_J_mol("nh3", "printed", 3, &arena)));
}

/* CRC, Enthalpy of Dilution of Acids: H-07 and H-08, through the curve a bath is computed with. */
static void heats_of_dilution_are_those_of_the_table(void)
{
  static const double water_mol = 55.508;
  struct bath_band hf = bath_dilution_heat_J("hf", 1, water_mol / 20, water_mol / 1, &arena);

  CHECK(hf.known);
  CHECK_NEAR((hf.low + hf.high) / 2, 1580, 1e-9, 0);
  CHECK_NEAR(bath_heat_row_J_mol("hcl", "dilution", 9, &arena) -
                 bath_heat_row_J_mol("hcl", "dilution", 1, &arena),
             7518, 1e-9, 0);
  /* the other table of the program, Felder and Rousseau's, between the same two: within 12 % */
  struct bath_band hcl = bath_dilution_heat_J("hcl", 1, water_mol / 9, water_mol / 1, &arena);

  CHECK_NEAR((hcl.low + hcl.high) / 2, 7518, 0.12, 0);
  CHECK(!bath_dilution_heat_J("nh4f", 1, 1, 10, &arena).known);
}

/* Felder and Rousseau B.11 at its own rows; H-10: Thomsen's form, 5 % under it. */
static void the_curve_passes_through_the_rows_of_the_table(void)
{
  struct bath_band one = bath_dilution_heat_J("h2so4", 1, 0, 1, &arena);

  CHECK_NEAR((one.low + one.high) / 2, 28070, 1e-9, 0);
  CHECK_NEAR(one.low, 74700 / (1 + 1.7983), 0.01, 0);
  one = bath_dilution_heat_J("naoh", 1, 0, 10, &arena); /* H-16 */
  CHECK_NEAR((one.low + one.high) / 2, 42510, 1e-9, 0);
  CHECK_NEAR(bath_heat_capacity_J_kg_K("h2so4", 0.258, &arena), 3350, 0.01, 0); /* H-11 */
  CHECK_NEAR(bath_heat_capacity_J_kg_K("h2so4", 0.62, &arena), 2200, 0.02, 0);  /* H-13 */
  CHECK_NEAR(bath_heat_capacity_J_kg_K("naoh", 0.18, &arena), 3600, 0.03, 0);   /* H-16 */
  CHECK(isnan(bath_heat_capacity_J_kg_K("hf", 0.1, &arena)));
}

/* H-20: at 64.7 wt% (from memory, peroxide handbooks) decomposition just boils off all the water:
 * 98.05 kJ/mol less what warms products to 100 degC against 40.7 kJ/mol of water.  Here the part that
 * the program has: 94.7 kJ/mol, of 1 kg: 1.80 MJ. */
static void decomposition_heat_is_that_of_the_handbooks(void)
{
  const struct bath_answer *a = ASK("strong", "part=h2o2@64.7wt%=1kg", NULL);

  REQUIRE(a != NULL);
  CHECK_NEAR(a->heat.peroxide_J, 0.647 / 34.014e-3 * 94.7e3, 1e-9, 0);
  CHECK_INT(a->heat.peroxide_boils, BATH_WILL_BOIL);
}
int main(int argc, char **argv)
{
  check_begin(argc, argv);
  arena_init(&arena, (size_t)1 << 30);
  chem = chem_read(&arena);
  bath_ask_begin(&arena, chem);
  RUN(every_row_of_the_tables_has_its_source_and_names_what_there_is);
  RUN(every_code_of_a_substance_has_its_words_and_its_pictogram_is_one_of_nine);
  RUN(codes_lead_to_the_pictograms_of_the_ghs);
  RUN(the_worst_of_a_class_stands_above_the_others);
  RUN(masses_are_kept_in_every_named_bath);
  RUN(a_share_by_mass_is_made_exactly_and_fills_the_volume);
  RUN(a_molarity_is_met_by_the_density_of_the_product);
  RUN(a_spiked_bath_ends_at_its_target);
  RUN(a_mix_undone_gives_its_parts);
  RUN(unknown_density_leaves_the_volume_unknown_and_the_sum_as_its_bound);
  RUN(a_solid_is_weighed);
  RUN(acid_into_water_is_banded_and_half_and_half_will_boil);
  RUN(a_bath_that_may_boil_gets_no_temperature);
  RUN(heat_that_is_not_known_is_treated_as_hot);
  RUN(peroxide_that_breaks_down_is_told_apart);
  RUN(heats_of_solution_agree_with_formation_values_or_the_larger_is_used);
  RUN(heats_of_dilution_are_those_of_the_table);
  RUN(the_curve_passes_through_the_rows_of_the_table);
  RUN(decomposition_heat_is_that_of_the_handbooks);
  arena_release(&arena);
  return check_end();
}
