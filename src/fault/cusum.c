#include "fault/fault.h"

#include <math.h>

/* Page's sum, and how often it errs. */

static void step(double *sum, int64_t *since_ms, double by, double hold, int64_t t_ms)
{
  if (!(*sum > 0))
    *since_ms = t_ms;
  *sum = fmin(hold, fmax(0, *sum + by));
}

void fault_cusum_step(struct fault_cusum *sum, double z_ratio, double allowance_ratio,
                      double hold_ratio, int64_t t_ms)
{
  step(&sum->up_ratio, &sum->up_since_ms, z_ratio - allowance_ratio, hold_ratio, t_ms);
  step(&sum->down_ratio, &sum->down_since_ms, -z_ratio - allowance_ratio, hold_ratio, t_ms);
}

static double one_side(double drift, double limit_ratio)
{
  const double overshoot = 1.166; /* Siegmund's correction for steps of one standard deviation */
  double b = limit_ratio + overshoot;

  if (fabs(drift) < 1e-6) /* the limit of the formula, free of its cancellation */
    return b * b;
  return (exp(-2 * drift * b) + 2 * drift * b - 1) / (2 * drift * drift);
}

double fault_run_length_ratio(double shift_ratio, double allowance_ratio, double limit_ratio)
{
  double up = one_side(shift_ratio - allowance_ratio, limit_ratio);
  double down = one_side(-shift_ratio - allowance_ratio, limit_ratio);

  return 1 / (1 / up + 1 / down);
}

double fault_limit_ratio(double allowance_ratio, double run_length_ratio)
{
  enum { HALVINGS = 60 };
  double low = 0, high = 1;

  while (fault_run_length_ratio(0, allowance_ratio, high) < run_length_ratio && high < 1e6)
    high *= 2;
  for (int i = 0; i < HALVINGS; i++) {
    double middle = (low + high) / 2;

    if (fault_run_length_ratio(0, allowance_ratio, middle) < run_length_ratio)
      low = middle;
    else
      high = middle;
  }
  return high;
}
