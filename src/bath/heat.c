/* How hot it gets: integral heats of solution, heat capacities, boiling, and peroxide breaking down. */
#include "bath/bath_impl.h"

#include "base/constants.h"

#include "matter/matter.h"

#include <math.h>
#include <string.h>

static const double water_per_molal_mol = 55.508; /* mol in a kilogram of water */
static const double water_boils_K = 373.124;      /* at 101.325 kPa: IAPWS */
static const double near_ratio = 1e-9;            /* shares that differ by less are the same */

/* ---- curves of data/solution_heats.csv ---- */

enum { CURVE_MOST = 40 };

/* Heat content of a mole of the solute over x = r/(r + 1), r being moles of water for it. */
struct curve {
  int count;
  double x[CURVE_MOST], heat_J_mol[CURVE_MOST];
  double spread_ratio;
};

static double place_of(double water)
{
  return isfinite(water) ? water / (water + 1) : 1;
}

static double row_at(const struct chem_table *t, int row)
{
  return strcmp(chem_cell(t, row, "at"), "infinite") == 0 ? (double)INFINITY
                                                          : chem_cell_number(t, row, "at");
}

static bool is_row(const struct chem_table *t, int row, const char *substance, const char *kind)
{
  return strcmp(chem_cell(t, row, "substance"), substance) == 0 &&
         strcmp(chem_cell(t, row, "kind"), kind) == 0;
}

static void put(struct curve *c, double x, double heat_J_mol)
{
  int at = c->count;

  BUG_IF(c->count == CURVE_MOST);
  for (; at > 0 && c->x[at - 1] > x; at--) {
    c->x[at] = c->x[at - 1];
    c->heat_J_mol[at] = c->heat_J_mol[at - 1];
  }
  c->x[at] = x;
  c->heat_J_mol[at] = heat_J_mol;
  c->count++;
}

/* "solution": of the pure substance, 0 without water.  "dilution": above infinite dilution. */
static void read_curve(const struct chem_table *t, const char *substance, const char *kind,
                       struct curve *c)
{
  bool dilution = strcmp(kind, "dilution") == 0;

  *c = (struct curve){0};
  for (int i = 0; i < t->row_count; i++) {
    double at;

    if (!is_row(t, i, substance, kind))
      continue;
    at = row_at(t, i);
    put(c, place_of(dilution ? water_per_molal_mol / at : at),
        chem_cell_si(t, i, "heat", UNITS_MOLAR_ENERGY));
    c->spread_ratio = chem_cell_si(t, i, "spread", UNITS_SHARE);
  }
  if (c->count > 0)
    put(c, dilution ? 1 : 0, 0);
}

/* A straight line between two rows, which bends away from it: the spread stands for that. */
static double curve_at(const struct curve *c, double water)
{
  double x = place_of(water);

  if (x <= c->x[0])
    return c->heat_J_mol[0];
  for (int i = 1; i < c->count; i++)
    if (x <= c->x[i])
      return c->heat_J_mol[i - 1] + (c->heat_J_mol[i] - c->heat_J_mol[i - 1]) * (x - c->x[i - 1]) /
                                        (c->x[i] - c->x[i - 1]);
  return c->heat_J_mol[c->count - 1];
}

static double limit_J_mol(const struct chem_table *t, const char *substance, const char *kind,
                          double *spread)
{
  for (int i = 0; i < t->row_count; i++)
    if (is_row(t, i, substance, kind)) {
      *spread = chem_cell_si(t, i, "spread", UNITS_SHARE);
      return fabs(chem_cell_si(t, i, "heat", UNITS_MOLAR_ENERGY));
    }
  return NAN;
}

double bath_heat_row_J_mol(const char *substance, const char *kind, double at, struct arena *arena)
{
  const struct chem_table *t = chem_table("solution_heats", arena);

  for (int i = 0; i < t->row_count; i++)
    if (is_row(t, i, substance, kind) &&
        (row_at(t, i) == at || fabs(row_at(t, i) - at) < near_ratio))
      return chem_cell_si(t, i, "heat", UNITS_MOLAR_ENERGY);
  return NAN;
}

static struct bath_band band_of(double low, double high, double spread)
{
  return (struct bath_band){true, fmin(low * (1 - spread), low * (1 + spread)),
                            fmax(high * (1 - spread), high * (1 + spread))};
}

/* Q = n [H(r1) - H(r2)]: chem.md 2.1. */
static struct bath_band by_curves(const struct chem_table *t, const char *substance, double n,
                                  double from, double to_low, double to_high)
{
  double spread = 0, pure;
  struct curve c;

  read_curve(t, substance, "solution", &c);
  if (c.count > 0)
    return band_of(n * (curve_at(&c, from) - curve_at(&c, to_low)),
                   n * (curve_at(&c, from) - curve_at(&c, to_high)), c.spread_ratio);
  read_curve(t, substance, "dilution", &c);
  if (c.count > 0) { /* stronger than its rows: from the last of them to the pure liquid */
    double first = curve_at(&c, from);

    pure = place_of(from) < c.x[0] ? limit_J_mol(t, substance, "liquid", &spread) : first;
    return band_of(n * (first - curve_at(&c, to_low)), n * (pure - curve_at(&c, to_high)),
                   c.spread_ratio);
  }
  pure = limit_J_mol(t, substance, "limit", &spread); /* most of it went when the stock was made */
  if (isnan(pure))
    return (struct bath_band){false, NAN, NAN};
  return (struct bath_band){true, 0, n * pure * (1 + spread)};
}

struct bath_band bath_dilution_heat_J(const char *substance, double amount_mol, double from_water,
                                      double to_water, struct arena *arena)
{
  return by_curves(chem_table("solution_heats", arena), substance, amount_mol, from_water, to_water,
                   to_water);
}

/* ---- heat of a mix ---- */

static bool is_water(const struct chem_substance *s)
{
  return strcmp(s->id, "water") == 0;
}

static double moles(const struct bath_holds *h)
{
  return h->mass_kg / h->substance->facts[CHEM_MOLAR_MASS].si;
}

/*
 * From each part's strength to the bath's.  With other things in it the solute sees at least the
 * water; the upper end counts all else as water too.
 */
static struct bath_band heat_of(struct bath_work *w, const struct chem_table *t,
                                const struct bath_holds *h, double *least_change)
{
  struct bath_band sum = {true, 0, 0};
  double all = 0, water = 0, n = moles(h);
  double least_of_solid = bath_setting(w, "solid-least", "share", UNITS_SHARE);
  double water_kg_mol = chem_find(w->place->chem, "water")->facts[CHEM_MOLAR_MASS].si;

  for (int i = 0; i < w->answer->holds_count; i++) {
    const struct bath_holds *other = &w->holds[i];

    if (is_water(other->substance))
      water = moles(other);
    if (other->substance != h->substance)
      all += moles(other);
  }
  for (int i = 0; i < w->part_count; i++) {
    const struct bath_part *p = &w->parts[i];
    double held_kg = p->mass_kg * p->stock.assay_ratio, part_mol, from;
    struct bath_band one;

    if (p->stock.substance != h->substance)
      continue;
    part_mol = held_kg / h->substance->facts[CHEM_MOLAR_MASS].si;
    from = (p->mass_kg - held_kg) / water_kg_mol / part_mol; /* the rest of a bottle is water */
    *least_change = fmax(*least_change, all / n - from);
    one = by_curves(t, h->substance->id, part_mol, from, water / n, all / n);
    if (p->stock.solid && one.known) /* nothing of it went when a bottle was made */
      one.low = fmax(one.low, one.high * least_of_solid);
    sum.known = sum.known && one.known;
    sum.low += one.low;
    sum.high += one.high;
  }
  return sum;
}

static bool in_group(const struct chem_substance *s, int from, int to)
{
  for (int i = 0; i < s->group_count; i++)
    if (s->groups[i] >= from && s->groups[i] <= to)
      return true;
  return false;
}

static const struct bath_holds *held(const struct bath_work *w, const char *id)
{
  for (int i = 0; i < w->answer->holds_count; i++)
    if (strcmp(w->holds[i].substance->id, id) == 0)
      return &w->holds[i];
  return NULL;
}

/* Acid meeting base: EPA groups 1 to 3 and 10. */
static bool neutralises(const struct bath_work *w)
{
  bool acid = false, base = false;

  for (int i = 0; i < w->answer->holds_count; i++) {
    acid = acid || in_group(w->holds[i].substance, 1, 3);
    base = base || in_group(w->holds[i].substance, 10, 10);
  }
  return acid && base;
}

static struct bath_band reactions_J(const struct bath_work *w, const char *kind)
{
  const struct chem_table *t = chem_table("reaction_heats", w->arena);
  struct bath_band sum = {false, 0, 0};

  for (int i = 0; i < t->row_count; i++) {
    const char *second = chem_cell(t, i, "second");
    const struct bath_holds *a = held(w, chem_cell(t, i, "first")), *b = held(w, second);
    double mol, spread = chem_cell_si(t, i, "spread", UNITS_SHARE), J;

    if (strcmp(chem_cell(t, i, "kind"), kind) != 0 || !a || (*second && !b))
      continue;
    mol = moles(a) * chem_cell_number(t, i, "per_first");
    if (b)
      mol = fmin(mol, moles(b) * chem_cell_number(t, i, "per_second"));
    J = mol * chem_cell_si(t, i, "heat", UNITS_MOLAR_ENERGY);
    sum = (struct bath_band){true, sum.low + J * (1 - spread), sum.high + J * (1 + spread)};
  }
  return sum;
}

/* ---- heat capacity ---- */

struct capacity {
  double J_kg_K, spread_ratio;
};

/* Between the rows of data/solution_heat_capacities.csv, water at the weak end. */
static struct capacity capacity_at(const struct chem_table *t, const char *substance, double w)
{
  struct capacity below = {NAN, 0};
  double below_ratio = 0;

  for (int i = 0; i < t->row_count; i++)
    if (strcmp(chem_cell(t, i, "substance"), "water") == 0)
      below.J_kg_K = chem_cell_si(t, i, "heat_capacity", UNITS_SPECIFIC_HEAT);
  if (strcmp(substance, "water") == 0)
    return below;
  for (int i = 0; i < t->row_count; i++) {
    double ratio = chem_cell_si(t, i, "fraction", UNITS_MASS_FRACTION);
    double here = chem_cell_si(t, i, "heat_capacity", UNITS_SPECIFIC_HEAT);

    if (strcmp(chem_cell(t, i, "substance"), substance) != 0)
      continue;
    if (w <= ratio + near_ratio)
      return (struct capacity){below.J_kg_K + (here - below.J_kg_K) * (w - below_ratio) /
                                                  (ratio - below_ratio),
                               chem_cell_si(t, i, "spread", UNITS_SHARE)};
    below_ratio = ratio;
    below.J_kg_K = here;
  }
  return (struct capacity){NAN, 0};
}

double bath_heat_capacity_J_kg_K(const char *substance, double fraction_ratio, struct arena *arena)
{
  return capacity_at(chem_table("solution_heat_capacities", arena), substance, fraction_ratio)
      .J_kg_K;
}

/* The least that any solution of the table has, over what its water alone would have. */
static double least_over_water(const struct chem_table *t, double water_J_kg_K)
{
  double least = 1;

  for (int i = 0; i < t->row_count; i++) {
    double ratio = chem_cell_si(t, i, "fraction", UNITS_MASS_FRACTION);

    if (strcmp(chem_cell(t, i, "substance"), "water") != 0 && ratio < 0.5)
      least = fmin(least, chem_cell_si(t, i, "heat_capacity", UNITS_SPECIFIC_HEAT) /
                              ((1 - ratio) * water_J_kg_K));
  }
  return least;
}

/*
 * Of the whole bath, J/K.  Each solute adds what its own solution in all the water has beyond that
 * water; one of which there is no row takes off at most what the worst row does, and adds at most as
 * much as water would.
 */
static struct bath_band capacity_of(const struct bath_work *w)
{
  const struct chem_table *t = chem_table("solution_heat_capacities", w->arena);
  const struct bath_holds *water = held(w, "water");
  double cp = capacity_at(t, "water", 1).J_kg_K, water_J_K = water ? water->mass_kg * cp : 0;
  double least = least_over_water(t, cp);
  struct bath_band sum = {true, water_J_K, water_J_K};

  for (int i = 0; i < w->answer->holds_count; i++) {
    const struct bath_holds *h = &w->holds[i];
    double both_kg = h->mass_kg + (water ? water->mass_kg : 0);
    struct capacity c;

    if (is_water(h->substance))
      continue;
    c = capacity_at(t, h->substance->id, h->mass_kg / both_kg);
    if (isnan(c.J_kg_K)) {
      sum.low -= (1 - least) * water_J_K;
      sum.high += h->mass_kg * cp;
    } else {
      double J_K = c.J_kg_K * both_kg;

      sum.low += J_K * (1 - c.spread_ratio) - water_J_K;
      sum.high += J_K * (1 + c.spread_ratio) - water_J_K;
    }
  }
  sum.known = sum.low > 0 && sum.high > 0;
  return sum;
}

/* ---- boiling ---- */

/* By how much water boils below 100 degC at the pressure of the site. */
static double sooner_K(const struct facility *f)
{
  double low_K = 330, high_K = 380;

  if (!f || !(f->site_pressure_Pa > 0))
    return 0;
  for (int i = 0; i < 60; i++) {
    double middle_K = (low_K + high_K) / 2;

    if (matter_saturation_pressure_Pa(middle_K) < f->site_pressure_Pa)
      low_K = middle_K;
    else
      high_K = middle_K;
  }
  return fmax(water_boils_K - low_K, 0);
}

static double boiling_of(const struct chem_table *t, const struct chem_substance *s, double w)
{
  double below_ratio = 0, below_K = water_boils_K;

  for (int i = 0; i < t->row_count; i++) {
    double ratio = chem_cell_si(t, i, "fraction", UNITS_MASS_FRACTION);
    double here_K = chem_cell_si(t, i, "boiling", UNITS_TEMPERATURE);

    if (strcmp(chem_cell(t, i, "substance"), s->id) != 0)
      continue;
    if (w <= ratio + near_ratio)
      return below_K + (here_K - below_K) * (w - below_ratio) / (ratio - below_ratio);
    below_ratio = ratio;
    below_K = here_K;
  }
  if (below_ratio > 0)
    return below_K;
  return w < 1 - near_ratio ? (double)NAN : s->facts[CHEM_BOILING].si;
}

/*
 * The lowest that any substance gives in the water there is, and never above water itself: where it is
 * not mixed yet it boils first, and throws what it is poured on.
 */
static double boiling_point_K(const struct bath_work *w)
{
  const struct chem_table *t = chem_table("solution_boiling", w->arena);
  const struct bath_holds *water = held(w, "water");
  double least_K = water ? water_boils_K : (double)INFINITY;

  for (int i = 0; i < w->answer->holds_count; i++) {
    const struct bath_holds *h = &w->holds[i];
    double both_kg = h->mass_kg + (water ? water->mass_kg : 0), K;

    if (is_water(h->substance))
      continue;
    K = boiling_of(t, h->substance, h->mass_kg / both_kg);
    least_K = fmin(least_K, isnan(K) ? water_boils_K : K);
  }
  return least_K - sooner_K(w->place->facility);
}

static enum bath_boils boils(double from_K, double low_K, double high_K, double boiling_K)
{
  if (isnan(high_K))
    return BATH_HEAT_NOT_KNOWN;
  return from_K + low_K >= boiling_K    ? BATH_WILL_BOIL
         : from_K + high_K >= boiling_K ? BATH_MAY_BOIL
                                        : BATH_STAYS_BELOW;
}

/* ---- all of it ---- */

static bool is_solid(const struct bath_work *w, const struct chem_substance *s)
{
  for (int i = 0; i < w->part_count; i++)
    if (w->parts[i].stock.substance == s && w->parts[i].stock.solid)
      return true;
  return false;
}

/* Whose figures they are, and how little they say where only the whole heat of solution is known. */
static void say_source(struct bath_work *w, const struct chem_table *t, struct bath_heat_of *one)
{
  static const char *const kinds[] = {"solution", "dilution", "limit"};
  const char *name = one->substance->name;

  for (int k = 0; k < 3; k++)
    for (int i = 0; i < t->row_count; i++) {
      if (!is_row(t, i, one->substance->id, kinds[k]))
        continue;
      one->of = chem_cell_origin(t, i);
      BUG_IF(!one->of.source || !one->of.note);
      bath_line(&w->answer->sources, bath_words(w, "heat of %s: %s (%s)%s%s", name, one->of.source,
                                                chem_basis_words(one->of.basis),
                                                *one->of.note ? "; " : "", one->of.note));
      if (k == 2 && !is_solid(w, one->substance))
        bath_line(
            &w->answer->assumed,
            bath_words(w,
                       "heat of %s: only that of dissolving all of it is known; the upper end "
                       "counts the whole, though most went when the bottle was made",
                       name));
      return;
    }
}

static void add_heat_of(struct bath_work *w, const struct chem_table *t, struct bath_heat *heat,
                        const struct bath_holds *h)
{
  struct bath_heat_of *one = &heat->of[heat->of_count];
  double change = 0;
  struct bath_band band = heat_of(w, t, h, &change);

  if (change <= near_ratio)
    return; /* no water is added to it */
  heat->mixes = true;
  heat->of_count++;
  *one = (struct bath_heat_of){
      .substance = h->substance, .known = band.known, .low_J = band.low, .high_J = band.high};
  one->infinite_J_mol = bath_heat_row_J_mol(h->substance->id, "limit", INFINITY, w->arena);
  if (!band.known) {
    heat->complete = false;
    bath_line(
        &w->answer->unknown,
        bath_words(w, "the heat of diluting or mixing %s: treat it as hot", h->substance->name));
    return;
  }
  say_source(w, t, one);
  heat->low_J += band.low;
  heat->high_J += band.high;
}

static void add_heats(struct bath_work *w, struct bath_heat *heat)
{
  const struct chem_table *t = chem_table("solution_heats", w->arena);

  for (int i = 0; i < w->answer->holds_count; i++)
    if (!is_water(w->holds[i].substance))
      add_heat_of(w, t, heat, &w->holds[i]);
}

static void add_reactions(struct bath_work *w, struct bath_heat *heat)
{
  struct bath_band J = reactions_J(w, "neutralisation");

  if (!neutralises(w))
    return;
  heat->mixes = true;
  if (J.known) {
    heat->low_J += J.low;
    heat->high_J += J.high;
    return;
  }
  heat->complete = false;
  bath_line(&w->answer->unknown,
            "the heat of this acid meeting this base: treat it as hot, and add slowly");
}

static void add_peroxide(struct bath_work *w, struct bath_heat *heat, struct bath_band capacity)
{
  static const double gas_K = 298.15;
  const struct bath_holds *peroxide = held(w, "h2o2");
  struct bath_band J = reactions_J(w, "decomposition");
  double low_K, high_K;

  heat->peroxide_K = NAN;
  if (!peroxide)
    return;
  heat->peroxide_J = (J.low + J.high) / 2;
  heat->oxygen_m3 = moles(peroxide) / 2 * GAS_CONSTANT_J_MOL_K * gas_K / ATMOSPHERE_PA;
  low_K = capacity.known ? (heat->low_J + J.low) / capacity.high : (double)NAN;
  high_K = capacity.known ? (heat->high_J + J.high) / capacity.low : (double)NAN;
  heat->peroxide_boils = boils(w->answer->temperature_K, low_K, high_K, heat->boiling_K);
  if (heat->peroxide_boils == BATH_STAYS_BELOW)
    heat->peroxide_K = high_K;
}

void bath_heat(struct bath_work *w)
{
  struct bath_heat *heat = &w->answer->heat;
  struct bath_band capacity = capacity_of(w);

  *heat = (struct bath_heat){.complete = true, .low_K = NAN, .high_K = NAN};
  heat->boiling_K = boiling_point_K(w);
  add_heats(w, heat);
  add_reactions(w, heat);
  if (heat->mixes && capacity.known) {
    heat->low_K = heat->low_J / (heat->low_J < 0 ? capacity.low : capacity.high);
    heat->high_K = heat->high_J / (heat->high_J < 0 ? capacity.high : capacity.low);
  }
  heat->boils = boils(w->answer->temperature_K, heat->low_K, heat->high_K, heat->boiling_K);
  if (!heat->complete && heat->boils == BATH_STAYS_BELOW)
    heat->boils = BATH_HEAT_NOT_KNOWN;
  add_peroxide(w, heat, capacity);
}
