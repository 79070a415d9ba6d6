#ifndef MATCH_TREND_IMPL_H
#define MATCH_TREND_IMPL_H

#include "match/match_impl.h"

#include "watch/watch.h"

/* What trend.c gathers and trend_tell.c tells. */

struct sum {
  double si;
  int count;
};

struct stretch {
  struct match_scene as;
  int64_t first_ms, last_ms;
  struct sum *sums; /* per point */
  long count;       /* of all of them */
  bool left_out;
};

/* What one point said over all of it. */
struct said {
  bool measures; /* something the model computes: `quantity` */
  struct match_quantity quantity;
  long heard, bad, frozen; /* values; of them no measurements, and such as never moved */
  bool stuck;
  double held_si; /* what it has said since */
  int64_t held_ms;
};

struct match_trend {
  struct match_trend_job job;
  const struct facility *f;
  const struct feeds *feeds;
  struct watch *watch;
  struct arena *arena;
  struct match_readings *out;
  struct stretch now, *kept; /* `now` is open where now.first_ms is not -1 */
  int kept_count, moved, unknown, alarms, beyond;
  int64_t moment_ms; /* what came for it is not believed yet; INT64_MIN: nothing did */
  struct said *said; /* per point */
};

enum { MATCH_TREND_NOTES = 16 };

/* What is in no reading, and why. */
void match_trend_tell(struct match_trend *t, int left_out);

#endif
