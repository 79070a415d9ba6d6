#include "etch/etch_impl.h"
#include "matter/matter.h"

#include <math.h>
#include <string.h>

/* Rates computed from a form: docs/chemistry.md, chapter "How long must it etch". */

/* The row "rate-at-temperature" of the formula table; it wants a rate, and any does for the ratio. */
double etch_moved_ratio(double energy_J_mol, double from_K, double to_K)
{
  const struct matter_formula *formula = matter_formula_find("rate-at-temperature");
  double in_si[MATTER_INPUTS_MAX] = {1e-9, from_K, to_K, energy_J_mol};
  double out_si[MATTER_OUTPUTS_MAX] = {0};

  BUG_IF(!formula);
  BUG_IF(formula->compute(in_si, out_si) != NULL);
  return out_si[1];
}

/* A row of the formula table: the same code that `inward calc` and the published checks run.  NULL, or
 * which input is outside its range. */
static const char *by_formula(const char *name, const double *in_si, double *out_si,
                              struct arena *arena)
{
  const struct matter_formula *formula = matter_formula_find(name);

  BUG_IF(!formula);
  for (int i = 0; i < matter_input_count(formula); i++) {
    const struct matter_variable *input = &formula->inputs[i];

    if (!(in_si[i] >= input->least_si && in_si[i] <= input->most_si))
      return arena_printf(arena, "the %s is outside the range of its form", input->key);
  }
  return formula->compute(in_si, out_si);
}

static double hydroxide(const struct etch_tables *t, const struct etch_law *law,
                        const struct etch_place *place, struct arena *arena, const char **why)
{
  const struct chem_substance *koh = chem_find(t->chem, place->bath->strength_of);
  double density = chem_solution_density_kg_m3(koh, place->strength_ratio, 293.15, NULL);
  double in_si[MATTER_INPUTS_MAX] = {place->strength_ratio, density, place->at_K, law->energy_J_mol,
                                     law->k};
  double out_si[MATTER_OUTPUTS_MAX] = {0};

  if (isnan(density)) {
    *why = "no density of that strength is known, so its concentrations are not";
    return NAN;
  }
  *why = by_formula("silicon-in-hydroxide", in_si, out_si, arena);
  return *why ? (double)NAN : out_si[0];
}

static double hydroxide_by_mass(const struct etch_place *place, struct arena *arena,
                                const char **why)
{
  double in_si[MATTER_INPUTS_MAX] = {place->strength_ratio, place->at_K};
  double out_si[MATTER_OUTPUTS_MAX] = {0};

  *why = by_formula("silicon-in-hydroxide-by-mass", in_si, out_si, arena);
  return *why ? (double)NAN : out_si[0];
}

/* Judge's two constants are those of the formula's own row. */
static double fluoride(const struct etch_place *place, struct arena *arena, const char **why)
{
  const struct matter_formula *formula = matter_formula_find("oxide-in-fluoride");
  double in_si[MATTER_INPUTS_MAX] = {place->hf_mol_m3, formula->inputs[1].standard_si,
                                     formula->inputs[2].standard_si};
  double out_si[MATTER_OUTPUTS_MAX] = {0};

  *why = by_formula("oxide-in-fluoride", in_si, out_si, arena);
  return *why ? (double)NAN : out_si[0];
}

/* A straight line between the two points of a series that lie around the share of acid. */
static double between(const struct etch_tables *t, const struct etch_law *law,
                      const struct etch_place *place)
{
  double share = 1 / (1 + place->water_parts), low = -1, high = 2, low_m_s = 0, high_m_s = 0;

  for (int i = 0; i < t->row_count; i++) {
    const struct etch_row *row = &t->rows[i];
    double at = 1 / (1 + row->water_parts);

    if (!row->series[0] || row->bath != law->bath || row->film != law->film)
      continue;
    if (at <= share + 1e-9 && at > low) {
      low = at;
      low_m_s = row->rate_m_s;
    }
    if (at >= share - 1e-9 && at < high) {
      high = at;
      high_m_s = row->rate_m_s;
    }
  }
  if (low < 0 || high > 1)
    return NAN;
  return high > low ? low_m_s + (high_m_s - low_m_s) * (share - low) / (high - low) : low_m_s;
}

/* The (111) plane, by how much faster the plane of the wafer goes. */
static double by_ratio(const struct etch_tables *t, const struct etch_law *law,
                       const struct etch_place *place, struct arena *arena, const char **why)
{
  for (int i = 0; i < t->law_count; i++) {
    const struct etch_law *other = &t->laws[i];

    if (other->bath == law->bath && strcmp(other->name, "hydroxide") == 0 &&
        strcmp(other->film->id, "si-100") == 0)
      return hydroxide(t, other, place, arena, why) / law->k;
  }
  return NAN;
}

static const char *outside(const struct etch_tables *t, const struct etch_law *law,
                           const struct etch_place *place, struct arena *arena)
{
  double at_K = place->at_K, strength = place->strength_ratio, water = place->water_parts;

  if (isnan(at_K))
    return "the temperature of the bath is not said";
  if (at_K < law->at_from_K - 1e-6 || at_K > law->at_to_K + 1e-6)
    return arena_printf(arena, "it is for %s to %s", etch_degrees(law->at_from_K, t->system, arena),
                        etch_degrees(law->at_to_K, t->system, arena));
  if (!isnan(law->strength_from) && isnan(strength))
    return "the strength of the bath is not said";
  if (strength < law->strength_from - 1e-9 || strength > law->strength_to + 1e-9)
    return arena_printf(arena, "it is for %g to %g wt%%", law->strength_from * 100,
                        law->strength_to * 100);
  if (!isnan(law->water_from) && isnan(water))
    return "it is for acid of 49 % in water";
  if (water < law->water_from - 1e-6 || water > law->water_to + 1e-6)
    return arena_printf(arena, "it is for %g to %g parts of water to 1 of acid", law->water_from,
                        law->water_to);
  return NULL;
}

double etch_law_m_s(const struct etch_tables *t, const struct etch_law *law,
                    const struct etch_place *place, struct arena *arena, const char **why,
                    const char **how)
{
  *why = outside(t, law, place, arena);
  *how = "";
  if (*why)
    return NAN;
  if (strcmp(law->name, "hydroxide") == 0) {
    *how = "k0 [H2O]^4 [KOH]^(1/4) exp(-Ea/kT)";
    return hydroxide(t, law, place, arena, why);
  }
  if (strcmp(law->name, "hydroxide-by-mass") == 0) {
    *how = "2.6e6 W^2.5 exp(-(W/300 + 0.48)/kT)";
    return hydroxide_by_mass(place, arena, why);
  }
  if (strcmp(law->name, "fluoride") == 0) {
    *how = "2.50 [HF] + 9.66 [HF2-] - 0.14";
    return fluoride(place, arena, why);
  }
  if (strcmp(law->name, "ratio") == 0) {
    *how = arena_printf(arena, "the rate of (100) over %g", law->k);
    return by_ratio(t, law, place, arena, why);
  }
  if (strcmp(law->name, "between") == 0) {
    *how = "a straight line between points read off a plot";
    return between(t, law, place);
  }
  BUG_IF(strcmp(law->name, "proportional") != 0);
  *how = arena_printf(arena, "in proportion to the share of acid, from %g parts of water to 1",
                      law->water_parts);
  return law->rate_m_s * (1 + law->water_parts) / (1 + place->water_parts);
}
