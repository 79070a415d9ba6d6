#include "judge/judge_impl.h"

#include <math.h>

/*
 * Dwell times of declared rules: a level counts as entered, and as left, once it held for as long as
 * the rule says.  One latch a level, so that "near limit" need not wait for the dwell of "short".
 */

static void step(struct judge_latch *latch, bool is, double dwell_s, int64_t now_ms)
{
  if (is == latch->on) {
    latch->turning = false;
    return;
  }
  if (!latch->turning || latch->since_ms > now_ms) /* the clock was stepped back */
    *latch = (struct judge_latch){.on = latch->on, .turning = true, .since_ms = now_ms};
  if (now_ms - latch->since_ms >= llround(dwell_s * 1000))
    *latch = (struct judge_latch){.on = is};
}

static double dwell_s(const struct facility_threshold *t)
{
  return t->given ? t->dwell_s : 0.0;
}

enum facility_level judge_dwell(struct judge_dwell *d, const struct facility_declared *rule,
                                enum facility_level level, int64_t now_ms)
{
  if (level == FACILITY_NOT_KNOWN) { /* what comes after it counts at once */
    d->begun = false;
    return level;
  }
  if (!d->begun)
    *d = (struct judge_dwell){.begun = true,
                              .near_limit = {.on = level >= FACILITY_NEAR_LIMIT},
                              .shortage = {.on = level == FACILITY_SHORT}};
  step(&d->near_limit, level >= FACILITY_NEAR_LIMIT, dwell_s(&rule->near_limit), now_ms);
  step(&d->shortage, level == FACILITY_SHORT, dwell_s(&rule->shortage), now_ms);
  d->near_limit.on = d->near_limit.on || d->shortage.on; /* from short one comes to near limit */
  return d->shortage.on ? FACILITY_SHORT : d->near_limit.on ? FACILITY_NEAR_LIMIT : FACILITY_AMPLE;
}

static int64_t turns_ms(const struct judge_latch *latch, double after_s)
{
  return latch->turning ? latch->since_ms + llround(after_s * 1000) : INT64_MAX;
}

int64_t judge_dwell_next_ms(const struct judge_dwell *d, const struct facility_declared *rule)
{
  if (!d->begun)
    return INT64_MAX;
  int64_t near_limit_ms = turns_ms(&d->near_limit, dwell_s(&rule->near_limit));
  int64_t shortage_ms = turns_ms(&d->shortage, dwell_s(&rule->shortage));

  return near_limit_ms < shortage_ms ? near_limit_ms : shortage_ms;
}
