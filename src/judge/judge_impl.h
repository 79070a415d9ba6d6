#ifndef JUDGE_JUDGE_IMPL_H
#define JUDGE_JUDGE_IMPL_H

#include "judge/judge.h"

/* ---- scene.c ---- */
bool judge_is_same_scene(const struct facility *f, const struct scene *a, const struct scene *b);

/* ---- dwell.c ---- */
struct judge_latch {
  bool on, turning;
  int64_t since_ms; /* of turning */
};
struct judge_dwell { /* of a pool with a declared rule */
  bool begun;
  struct judge_latch near_limit, shortage;
};
/* Where a declared rule stands, its dwell times kept, when it says `level` now. */
enum facility_level judge_dwell(struct judge_dwell *d, const struct facility_declared *rule,
                                enum facility_level level, int64_t now_ms);
/* When it stands elsewhere though the rule says the same; INT64_MAX: never. */
int64_t judge_dwell_next_ms(const struct judge_dwell *d, const struct facility_declared *rule);

#endif
