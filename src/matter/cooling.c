#include "matter/matter.h"

#include <math.h>

/*
 * With D = T - around: d(D)/dt = -c D^(1 + bend).  Then log(D) falls in step with time where bend is 0, and
 * D^-bend rises in step with it otherwise; c falls out between the two readings.
 */
double matter_cooling_time_s(double first_K, double second_K, double between_s, double target_K,
                             double around_K, double bend_ratio)
{
  double first = first_K - around_K, second = second_K - around_K, target = target_K - around_K;

  if (!(first > second && second > 0 && target > 0 && between_s > 0 && bend_ratio >= 0))
    return NAN;
  if (bend_ratio == 0)
    return between_s * log(second / target) / log(first / second);
  return between_s * (pow(target, -bend_ratio) - pow(second, -bend_ratio)) /
         (pow(second, -bend_ratio) - pow(first, -bend_ratio));
}
