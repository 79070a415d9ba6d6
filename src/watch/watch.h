#ifndef WATCH_WATCH_H
#define WATCH_WATCH_H

#include "base/arena.h"
#include "facility/feeds.h"
#include "feed/feed.h"

/*
 * From observations to a belief: a scene, with the age and quality of everything it rests on.
 *
 * A watch remembers the newest observations of each point, in whatever order they come.  What a person
 * typed is an observation of a `hand` source, no more and no less.  Asked for a moment, a watch makes
 * the scene of that moment and says what it does not know.  No clock: `now` is handed in, so that a
 * replay and a live board are the same code.
 *
 *     watch_take(watch, &observation);                  // any number, in any order
 *     belief = watch_believe(watch, now_ms, &arena);    // changes nothing
 *     air_ask(air, &belief.scene, ...);
 *
 * What a point says of now (`enum watch_age`) is decided by its newest observation alone: where that
 * one says "missing", the value before it says nothing of now.  An observation from the future, or
 * without a time by something that may have kept it, is told and used for nothing.
 *
 * What is not known, and whom it concerns
 *
 *   not known                                concerns the pools ...
 *   a station's opening, or what stands      its main; the supplies that feed its room
 *   for it (below); `blocked` of a
 *   two-state station; `covered`
 *   a station's flow, where its pool         the same, if they declare by measured demand
 *   declares its demand as measured
 *   a fan                                    the mains that name it; else those of its two rooms
 *   a supply                                 itself; the mains that draw from rooms it feeds
 *   a door                                   those of its two rooms
 *   the building's alarm                     all
 *   own alarm, presence, outdoors            none: told, and the answer goes on
 *
 * "Those of a room": the supplies that feed it and the mains that draw from it.  For the other pools
 * the scene has such a station at work, so that they are judged at the demanding end, and no list
 * asks to lower it.
 *
 * How far up a sash is
 *
 *   1. a point for its opening: raised when it is above parked by more than the point's resolution;
 *      beyond what the sash can do by more than that contradicts the suite, and is not known
 *   2. else its flow, by the station's own rule.  Two-state: at work when nearer to the work flow.
 *      Follows opening: the opening that gives that flow; parked when the flow is at most what its rule
 *      gives when parked, to the point's resolution.  A constant or passive flow tells nothing
 *      A flow out of the station, beyond the resolution and two standard deviations, is not known
 *   3. else its presence: somebody there means at work; nobody there means nothing
 *   4. else as the feeds file says for stations without a point, told in `assumed`
 *
 * A sash whose opening rose by more than the feeds file's `moves` counts as at its mark, until it has not
 * risen for `rising for`: it will stand there in a moment, and its air is gone by then.  Rising is seen
 * between one reading and the next, or over that span; what was too old between them tells nothing.
 *
 * Two points for one thing: the newer of the good ones is used.  They contradict each other where the
 * older says something that the newer did not say just before and after that moment, by more than both
 * resolutions; as far back as the newer's last 64 values go.
 */
struct watch;

struct watch *watch_new(const struct facility *facility,
                        const struct feeds *feeds); /* borrows both */
void watch_free(struct watch *watch);               /* NULL is fine */
void watch_take(struct watch *watch, const struct feed_observation *observation);
/* A person took the station out of use, or gave it back: nobody may open it, and its own alarm
 * concerns nobody. */
void watch_withdraw(struct watch *watch, int station, bool withdrawn);
bool watch_is_withdrawn(const struct watch *watch, int station);
/* All work is stopped, until people released each station. */
struct watch_stop {
  int64_t since_ms;
  const char *act;       /* the largest words: "NO WORK AT 3 OF 5 STATIONS: NOT RELEASED" */
  const char *why;       /* "all work is stopped since ...: power was lost; told by M. Rao" */
  const char *next;      /* what comes first, and who does it */
  const bool *released;  /* per station: a person let work begin there again */
  const bool *withdrawn; /* per station: out of use, and so in no stop */
};
/* NULL: no longer.  Copied. */
void watch_stop(struct watch *watch, const struct watch_stop *stop);
/* A person said that what runs there needs its flow: no list asks to lower it.  NULL: no longer. */
void watch_need_flow(struct watch *watch, int station, const char *why);
/* The clock was stepped back: forgets what was observed at that moment or later. */
void watch_forget_from(struct watch *watch, int64_t t_ms);

enum watch_age {
  WATCH_FRESH,
  WATCH_OLD,   /* older than it may be */
  WATCH_NEVER, /* nothing came yet */
  WATCH_BAD,   /* the newest says missing, faulty, overridden ... */
  WATCH_FROZEN /* a number that has not moved at all for too long */
};
const char *watch_age_name(enum watch_age age); /* "fresh" */

struct watch_input {
  struct feed_observation newest; /* quality as it came; meaningless when NEVER */
  enum watch_age age;
  double age_s; /* NaN when NEVER */
  bool used;    /* the scene rests on it */
};

struct watch_station {
  bool not_known;  /* how far up its sash is, or what it draws, is not known */
  const char *why; /* in words, or NULL */
  bool assumed;    /* no point says its opening: counted as the feeds file says */
  int sash_point;  /* the point that says how far up it is, an opening or a flow; -1: none does */
  bool rising;     /* on its way up: the scene has it at its mark */
  const char *blocked_why; /* something may stand under it: why that is not known; or NULL */
  bool own_alarm;          /* fresh, and not withdrawn */
  bool has_presence, present;
  bool has_flow; /* measured, fresh */
  double flow_m3_s;
  bool has_deck_flow; /* measured, fresh */
  double deck_flow_m3_s;
};

/* One thing that is not known. */
struct watch_gap {
  const char *about;         /* id in the suite; "" for all of it */
  const char *text;          /* a sentence with the point, its source and age */
  bool needed;               /* some pool needs it */
  bool *of_main, *of_supply; /* which; per main, per supply */
};

/* The pressure of a room over a node, measured, fresh and not contradicted. */
struct watch_pressure {
  int room, over; /* nodes */
  int point;
  double pressure_Pa, resolution_Pa;
};

struct watch_belief {
  int64_t now_ms;
  struct scene scene;
  const struct watch_input *inputs;              /* per point */
  const struct watch_station *stations;          /* per station */
  const bool *main_not_known, *supply_not_known; /* something that pool needs is not known */
  int gap_count;
  const struct watch_gap *gaps;
  int assumed_count;
  const char *const *assumed; /* "D4: no point says whether it is open; taken as closed" */
  int pressure_count;
  const struct watch_pressure *pressures;
  bool building_alarm;
  const struct watch_stop *stop; /* of all work; NULL: none is known */
  bool any_not_known;            /* some pool */
};

/* The belief of a moment; lives in `arena`, which must not run out.  Changes nothing: ask as often as
 * you like.  A moment before the newest observation by more than the feeds file's `future` sees only
 * the few older ones that are still remembered. */
struct watch_belief watch_believe(const struct watch *watch, int64_t now_ms, struct arena *arena);

/* The next moment at which a belief changes though nothing comes: something grows too old.  INT64_MAX:
 * never. */
int64_t watch_next_ms(const struct watch *watch, int64_t now_ms);

#endif
