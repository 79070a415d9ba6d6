#ifndef CLI_DAY_PLAN_H
#define CLI_DAY_PLAN_H

#include "day/day.h"

/* A day_solve_fn that starts inward-plan, which stands beside this program; `arg`: const double *, the gap
 * as a ratio.  The model goes through a file of its own that is gone afterwards. */
NODISCARD enum err_code cli_day_solve(void *arg, const struct day_model *model, double seconds_s,
                                      struct day_solution *out, struct err *err);

#endif
