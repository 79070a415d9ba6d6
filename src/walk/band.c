/* How far a reading may lie from its prediction: JCGM 100:2008, uncorrelated parts. */
#include "walk/walk_impl.h"

#include <math.h>

double walk_combined_si(const struct walk_part *parts, int count)
{
  double sum = 0.0;

  for (int i = 0; i < count; i++) {
    double u = parts[i].plus_minus_si;

    if (parts[i].spread == WALK_LIMIT)
      u /= sqrt(3.0);
    else if (parts[i].spread == WALK_EXPANDED)
      u /= 2.0;
    sum += u * u;
  }
  return sqrt(sum);
}

double walk_coverage_factor_ratio(double covers_ratio, int readings)
{
  double each = pow(covers_ratio, 1.0 / (readings > 0 ? readings : 1)), low = 0.0, high = 10.0;

  while (high - low > 1e-12) {
    double middle = (low + high) / 2;

    if (1.0 - erfc(middle / sqrt(2.0)) < each)
      low = middle;
    else
      high = middle;
  }
  return high;
}

double walk_model_si(const struct facility *facility, enum facility_gauge_of of,
                     const double *plus_minus_si, int count)
{
  double figures_si = 0.0;

  for (int i = 0; i < count; i++)
    figures_si = facility->doubts_at_worst ? figures_si + fabs(plus_minus_si[i])
                                           : hypot(figures_si, plus_minus_si[i]);

  struct walk_part parts[] = {{WALK_EXPANDED, figures_si},
                              {WALK_EXPANDED, facility->walk.gauges[of].model_si}};

  return walk_combined_si(parts, 2);
}

struct walk_band walk_band_of(const struct facility *facility, const struct walk_quantity *quantity,
                              double predicted_si, double setting_si)
{
  const struct facility_gauge *g = &facility->walk.gauges[quantity->of];
  struct walk_part instrument = {WALK_LIMIT,
                                 fmax(g->reading_ratio * fabs(predicted_si), g->least_si)};
  struct walk_part setting[] = {{WALK_LIMIT, g->swing_si}, {WALK_LIMIT, setting_si}};

  return (struct walk_band){.instrument_si = walk_combined_si(&instrument, 1),
                            .setting_si = walk_combined_si(setting, 2)};
}

double walk_standard_si(const struct walk_band *band)
{
  struct walk_part parts[] = {{WALK_STANDARD, band->instrument_si},
                              {WALK_STANDARD, band->setting_si},
                              {WALK_STANDARD, band->model_si}};

  return walk_combined_si(parts, 3);
}
