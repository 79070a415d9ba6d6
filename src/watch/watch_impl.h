#ifndef WATCH_WATCH_IMPL_H
#define WATCH_WATCH_IMPL_H

#include "watch/watch.h"

/* What the files of this folder share: what is remembered of a point, and how points that say the
 * same of one part are found. */

enum { WATCH_KEPT = 64 };

struct memory { /* of a point; the same for the same observations in any order */
  int kept_count;
  struct feed_observation kept[WATCH_KEPT]; /* the newest, in order, newest first */
  bool has_aside;
  struct feed_observation aside; /* the last that said nothing of any moment */
  /* measured values only, for what does not move */
  bool has_value, has_other;
  struct feed_observation value; /* the newest */
  int64_t first_ms;              /* the oldest */
  int64_t other_ms;              /* the newest that differs from `value` */
};

/* Points that say the same of the same part. */
struct group {
  enum feeds_of of;
  enum feeds_what what;
  int index, unit, over;
  int count;
  int *points;
};

struct watch {
  const struct facility *facility;
  const struct feeds *feeds;
  struct arena arena;
  struct memory *memories; /* per point */
  bool *withdrawn;         /* per station */
  bool is_stopped;
  struct watch_stop stop; /* in stop_arena */
  struct arena stop_arena;
  const char **needs_flow; /* per station: a person said so; NULL: none did */
  int group_count;
  struct group *groups;
  int (*station_group)[FEEDS_WHAT_COUNT]; /* per station; -1: no point says it */
  int *door_group, *supply_group;
  int **fan_group; /* per fan: [0] the whole, [1 + unit] a unit */
  int outdoors_group, alarm_group;
};

/* ---- memory.c ---- */
void memory_take(struct memory *m, const struct feed_observation *o);
void memory_forget_from(struct memory *m, int64_t t_ms);
bool observation_is_measured(const struct feed_observation *o);
/* The newest that is not ahead of that moment, or NULL. */
const struct feed_observation *memory_newest(const struct memory *m, int64_t until_ms);
/* Since when the number is what it is, as far as that can be told; never later than the truth. */
int64_t memory_unmoved_since_ms(const struct memory *m);

/* ---- rising.c: a point for an opening ---- */
bool memory_is_rising(const struct watch *watch, int point, int64_t now_ms);
/* When it is no longer rising though nothing comes; INT64_MAX: never. */
int64_t memory_rise_ends_ms(const struct watch *watch, int point, int64_t now_ms);

/* ---- groups.c ---- */
void groups_make(struct watch *watch);

/* ---- believe.c and its parts ---- */
struct believer {
  const struct watch *watch;
  const struct facility *f;
  const struct feeds *feeds;
  int64_t now_ms;
  struct arena *arena;
  struct watch_belief *out;
  struct watch_input *inputs;
  struct watch_station *stations;
  bool *main_not_known, *supply_not_known;
  struct watch_gap *gaps;
  const char **assumed;
  struct watch_pressure *pressures;
};

struct reading { /* what a group says of now */
  bool has_points, known;
  double si, resolution_si;
  int point;       /* the one used; -1: none */
  const char *why; /* not known: a sentence */
};

const char *believer_say(struct believer *b, const char *fmt, ...) PRINTF_LIKE(2, 3);
void believer_assume(struct believer *b, const char *text);
/* A gap that nobody needs, until one of the following says who does. */
struct watch_gap *believer_gap(struct believer *b, const char *about, const char *text);
/* ---- readings.c ---- */
struct watch_input input_of(const struct watch *watch, int point, int64_t now_ms);
struct reading reading_of(struct believer *b, int group); /* -1: no points */

/* ---- needs.c: whom it concerns ---- */
void need_station(struct believer *b, struct watch_gap *gap, int station);
void need_measured_flow(struct believer *b, struct watch_gap *gap, int station);
bool station_flow_is_demand(const struct facility *f, int station);
void need_room(struct believer *b, struct watch_gap *gap, int node);
void need_fan(struct believer *b, struct watch_gap *gap, int fan);
void need_supply(struct believer *b, struct watch_gap *gap, int supply);
void need_all(struct believer *b, struct watch_gap *gap);

/* ---- stopped.c ---- */
void believe_stop(struct believer *b);

/* ---- stations.c ---- */
void believe_stations(struct believer *b);

#endif
