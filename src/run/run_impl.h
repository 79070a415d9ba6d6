#ifndef RUN_RUN_IMPL_H
#define RUN_RUN_IMPL_H

#include "run/run.h"

/* What one entry says: its detail. */
struct run_said {
  enum run_act act;
  struct run_words words;
  int64_t until_ms;     /* INT64_MIN: not said */
  double temperature_K; /* NaN: not said */
};
bool run_read(const char *detail, struct arena *arena, struct run_said *out);
void run_write(const struct run_said *said, struct buf *out);

/* clock.c: fills clock, wait, cold_ms, phase and why. */
void run_judge(const struct run_list *list, struct run *run, struct arena *arena);

#endif
