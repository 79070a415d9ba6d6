#include "chem/chem.h"

#include "base/constants.h"

#include <math.h>
#include <string.h>

/*
 * Laliberté and Cooper, J. Chem. Eng. Data 49 (2004) 1141; Laliberté, ibid. 54 (2009) 1725:
 *
 *   1/rho = (1 - w)/rho_water + w/rho_solute
 *   rho_solute = (c0 w + c1) exp(1e-6 (t + c4)^2)/(w + c2 + c3 t)
 *
 * with t in degC and rho_water from Kell's equation as printed there.
 */
enum { RANGE_ROOM_K = 5, EXTRAPOLATION_K = 25 };

double chem_water_density_kg_m3(double temperature_K)
{
  double t = temperature_K - ZERO_CELSIUS_K, sum = -2.8054253e-10;

  if (!(t >= 0 && t <= 100))
    return NAN;
  sum = sum * t + 1.0556302e-7;
  sum = sum * t - 4.6170461e-5;
  sum = sum * t - 0.0079870401;
  sum = sum * t + 16.945176;
  sum = sum * t + 999.83952;
  return sum / (1 + 0.01687985 * t);
}

static double by_model(const struct chem_solution *m, double w, double temperature_K)
{
  double t = temperature_K - ZERO_CELSIUS_K, apparent,
         water = chem_water_density_kg_m3(temperature_K);

  if (!(temperature_K >= m->from_K && temperature_K <= m->to_K && w <= m->most_ratio))
    return NAN;
  apparent = (m->c[0] * w + m->c[1]) * exp(1e-6 * (t + m->c[4]) * (t + m->c[4])) /
             (w + m->c[2] + m->c[3] * t);
  return 1 / ((1 - w) / water + w / apparent);
}

/* A straight line between the two rows around w; water at the weak end. */
static double by_table(const struct chem_substance *s, double w, double temperature_K,
                       struct chem_origin *of)
{
  double below_ratio = 0, below_kg_m3 = chem_water_density_kg_m3(temperature_K);

  for (int i = 0; i < s->density_row_count; i++) {
    const struct chem_density_row *row = &s->density_rows[i];

    if (fabs(temperature_K - row->temperature_K) > RANGE_ROOM_K)
      return NAN;
    *of = row->of;
    if (w <= row->fraction_ratio)
      return below_kg_m3 + (row->density_kg_m3 - below_kg_m3) * (w - below_ratio) /
                               (row->fraction_ratio - below_ratio);
    below_ratio = row->fraction_ratio;
    below_kg_m3 = row->density_kg_m3;
  }
  return NAN;
}

double chem_solution_density_kg_m3(const struct chem_substance *substance, double fraction_ratio,
                                   double temperature_K, struct chem_origin *of)
{
  struct chem_origin found = {CHEM_MEMORY, "", "no table here", ""};
  double density = NAN;

  if (!(fraction_ratio >= 0 && fraction_ratio <= 1))
    return NAN;
  if (substance->solution) {
    density = by_model(substance->solution, fraction_ratio, temperature_K);
    found = substance->solution->of;
  }
  if (isnan(density))
    density = by_table(substance, fraction_ratio, temperature_K, &found);
  if (of)
    *of = found;
  return density;
}

double chem_stock_density_kg_m3(const struct chem_stock *stock, double temperature_K,
                                struct chem_origin *of)
{
  const struct chem_figure *pure = &stock->substance->facts[CHEM_DENSITY];

  if (isfinite(stock->density_kg_m3) &&
      fabs(temperature_K - (ZERO_CELSIUS_K + 20)) <= RANGE_ROOM_K) {
    if (of)
      *of = stock->of;
    return stock->density_kg_m3;
  }
  if (stock->assay_ratio < 1)
    return chem_solution_density_kg_m3(stock->substance, stock->assay_ratio, temperature_K, of);
  if (of)
    *of = pure->of;
  if (strcmp(stock->substance->id, "water") == 0)
    return chem_water_density_kg_m3(temperature_K);
  if (!(fabs(temperature_K - pure->at_K) <= EXTRAPOLATION_K))
    return NAN;
  return pure->si;
}

double chem_vapour_pressure_Pa(const struct chem_substance *substance, double temperature_K,
                               bool *extrapolated)
{
  const struct chem_vapour *row = substance->vapour;
  double below_K, above_K;

  if (!row)
    return NAN;
  below_K = row->from_K - temperature_K;
  above_K = temperature_K - row->to_K;
  *extrapolated = below_K > 0 || above_K > 0;
  if (!(below_K <= EXTRAPOLATION_K && above_K <= EXTRAPOLATION_K))
    return NAN;
  return pow(10, row->a - row->b_K / (temperature_K + row->c_K));
}
