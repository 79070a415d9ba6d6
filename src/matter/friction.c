#include "matter/matter.h"

#include <math.h>

/*
 * Colebrook in x = 1/sqrt(f): x + 2 log10(e/3.7 + 2.51 x/Re) = 0.  The left side is concave and
 * rising, so Newton from Haaland's explicit estimate (within 2 %) converges in three steps.
 */
double matter_friction_factor(double reynolds, double roughness_ratio)
{
  double rough = roughness_ratio / 3.7, smooth = 2.51 / reynolds;

  if (!(reynolds > 0 && roughness_ratio >= 0 && roughness_ratio < 1))
    return NAN;
  if (reynolds <= 2300)
    return 64 / reynolds;
  double x = -1.8 * log10(pow(rough, 1.11) + 6.9 / reynolds);
  for (int i = 0; i < 20; i++) {
    double inside = rough + smooth * x;
    double step = (x + 2 * log10(inside)) / (1 + 2 * smooth / (inside * log(10)));

    x -= step;
    if (fabs(step) <= 1e-14 * x)
      break;
  }
  return 1 / (x * x);
}
