#ifndef WATCH_WATCH_H
#define WATCH_WATCH_H

#include "base/arena.h"
#include "facility/feeds.h"
#include "feed/feed.h"

/*
 * From observations to a belief: a scene, with the age and quality of everything it rests on.
 *
 * A watch remembers the newest observation of each point, in whatever order they come, and what
 * people entered by hand.  Asked for a moment, it makes the scene of that moment and says what it
 * does not know.  No clock: `now` is handed in, so that a replay and a live board are the same code.
 */
struct watch;

struct watch *watch_new(const struct facility *facility,
                        const struct feeds *feeds); /* borrows both */
void watch_free(struct watch *watch);               /* NULL is fine */
void watch_take(struct watch *watch, const struct feed_observation *observation);

enum watch_age {
  WATCH_FRESH,
  WATCH_OLD,   /* older than it may be */
  WATCH_NEVER, /* nothing came yet */
  WATCH_BAD,   /* the newest says missing, faulty, overridden ... */
  WATCH_FROZEN /* a number that has not moved at all for too long */
};

struct watch_input {
  struct feed_observation newest; /* quality as it came; meaningless when NEVER */
  enum watch_age age;
  double age_s;
  bool used; /* the scene rests on it */
};

struct watch_station {
  bool not_known;  /* its opening or flow is needed and not known */
  const char *why; /* in words, or NULL */
  bool assumed;    /* no point says its opening: counted as the feeds file says */
  bool own_alarm, presence_known, present;
  bool has_flow; /* measured, fresh */
  double flow_m3_s;
};

struct watch_belief {
  int64_t now_ms;
  struct scene scene;
  const struct watch_input *inputs;              /* per point */
  const struct watch_station *stations;          /* per station */
  const bool *main_not_known, *supply_not_known; /* something that pool needs is not known */
  int reason_count;
  const char *const *reasons; /* what is not known, each a sentence with its source and age */
  int assumed_count;
  const char *const *assumed; /* "D4: no point says whether it is open; taken as closed" */
  bool building_alarm;
  bool any_not_known;
};

/* The belief of a moment; lives in `arena`.  Changes nothing: ask as often as you like. */
struct watch_belief watch_believe(const struct watch *watch, int64_t now_ms, struct arena *arena);

/* The next moment at which a belief changes though nothing comes: something grows too old. */
int64_t watch_next_ms(const struct watch *watch, int64_t now_ms);

#endif
