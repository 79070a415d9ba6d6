/* The balance of masses, and what it fills. */
#include "bath/bath_impl.h"

#include <math.h>
#include <string.h>

static bool is_water(const struct chem_substance *s)
{
  return strcmp(s->id, "water") == 0;
}

static struct bath_holds *hold_of(struct bath_work *w, const struct chem_substance *s)
{
  struct bath_answer *a = w->answer;

  for (int i = 0; i < a->holds_count; i++)
    if (w->holds[i].substance == s)
      return &w->holds[i];
  w->holds[a->holds_count] = (struct bath_holds){.substance = s, .molarity_mol_m3 = NAN};
  return &w->holds[a->holds_count++];
}

/*
 * w_k = sum(m_i w_ik)/sum(m_i): mass is kept whatever the volumes do.  What a stock does not hold of
 * its substance is water.
 */
void bath_hold(struct bath_work *w)
{
  struct bath_answer *a = w->answer;
  const struct chem_substance *water = chem_find(w->place->chem, "water");
  double water_kg = 0;

  a->holds_count = 0;
  a->mass_kg = 0;
  for (int i = 0; i < w->part_count; i++) {
    const struct bath_part *p = &w->parts[i];
    double held_kg = is_water(p->stock.substance) ? 0 : p->mass_kg * p->stock.assay_ratio;

    a->mass_kg += p->mass_kg;
    water_kg += p->mass_kg - held_kg;
    if (held_kg > 0)
      hold_of(w, p->stock.substance)->mass_kg += held_kg;
  }
  if (water_kg > 0)
    hold_of(w, water)->mass_kg = water_kg;
  for (int i = 0; i < a->holds_count; i++)
    w->holds[i].fraction_ratio = w->holds[i].mass_kg / a->mass_kg;
  a->holds = w->holds;
}

/* Of one substance in water by the model; of several it is not known. */
static void find_density(struct bath_work *w)
{
  struct bath_answer *a = w->answer;
  const struct bath_holds *solute = NULL;
  int solutes = 0;

  for (int i = 0; i < a->holds_count; i++)
    if (!is_water(w->holds[i].substance)) {
      solute = &w->holds[i];
      solutes++;
    }
  a->density_kg_m3 = NAN;
  if (w->part_count == 1) {
    a->density_kg_m3 = w->parts[0].density_kg_m3;
    a->density_of = w->parts[0].density_of;
  } else if (solutes == 0) {
    a->density_kg_m3 = chem_water_density_kg_m3(a->temperature_K);
    a->density_of = (struct chem_origin){CHEM_COMPUTED, "", "Kell's equation for water", ""};
  } else if (solutes == 1) {
    a->density_kg_m3 = chem_solution_density_kg_m3(solute->substance, solute->fraction_ratio,
                                                   a->temperature_K, &a->density_of);
  }
}

static double sum_of_volumes(const struct bath_work *w)
{
  double sum = 0;

  for (int i = 0; i < w->part_count; i++)
    sum += w->parts[i].mass_kg / w->parts[i].density_kg_m3;
  return sum;
}

/* Which part has no density: its index, or -1. */
static int without_density(const struct bath_work *w)
{
  for (int i = 0; i < w->part_count; i++)
    if (isnan(w->parts[i].density_kg_m3))
      return i;
  return -1;
}

/* To the mass asked for, or to the volume: the product's where its density is known, else the sum. */
enum err_code bath_scale(struct bath_work *w)
{
  const struct bath_request *r = w->request;
  double factor = NAN;

  bath_hold(w);
  find_density(w);
  if (r->has_mass) {
    factor = r->mass_kg / w->answer->mass_kg;
  } else if (r->has_volume && isfinite(w->answer->density_kg_m3)) {
    factor = r->volume_m3 * w->answer->density_kg_m3 / w->answer->mass_kg;
  } else if (r->has_volume) {
    int none = without_density(w);

    if (none >= 0)
      return err_set(
          w->err, ERR_INPUT,
          "volume: the density of %s at that temperature is not known here, so no volume "
          "can be made up; give --mass, and weigh",
          w->parts[none].stock.name);
    factor = r->volume_m3 / sum_of_volumes(w);
  } else {
    return err_set(w->err, ERR_INPUT, "how much? --volume 4L or --mass 5kg");
  }
  for (int i = 0; i < w->part_count; i++)
    w->parts[i].mass_kg *= factor;
  return ERR_OK;
}

void bath_volumes(struct bath_work *w)
{
  struct bath_answer *a = w->answer;
  double volume_m3;

  bath_hold(w);
  find_density(w);
  for (int i = 0; i < w->part_count; i++)
    w->parts[i].volume_m3 = w->parts[i].mass_kg / w->parts[i].density_kg_m3;
  a->sum_m3 = sum_of_volumes(w);
  a->volume_m3 = a->mass_kg / a->density_kg_m3;
  volume_m3 = isfinite(a->volume_m3) ? a->volume_m3 : a->sum_m3;
  for (int i = 0; i < a->holds_count; i++)
    w->holds[i].molarity_mol_m3 =
        w->holds[i].mass_kg / w->holds[i].substance->facts[CHEM_MOLAR_MASS].si / volume_m3;
  a->parts = w->parts;
  a->part_count = w->part_count;
}
