#ifndef STOP_STOP_H
#define STOP_STOP_H

#include "air/air.h"
#include "base/arena.h"
#include "base/buf.h"
#include "facility/facility.h"
#include "units/units.h"

/*
 * A planned stop: what a fan or a make-up unit that stands for two hours does to the people at the
 * stations.  notice = f(facility, scene, what is off).
 *
 * The air is solved with everything parked and the units off, at the doubtful end of the figures:
 * what may stay open is what any choice allows (guaranteed), with what the best estimate would allow
 * beside it, never instead.  A station that could not open even alone is taken out before the others
 * are counted.  A scene, when there is one, tells which runs cannot simply be parked.
 *
 *     struct stop_request request = {.scene = NULL, .off_count = 1, .off = (const char *[]){"AF/2"},
 *                                    .from = "2026-12-03 07:00", .to = "09:00"};
 *     struct stop_notice *notice = stop_notice(facility, &request, &arena, &err);
 *     stop_text(notice, UNITS_SYSTEM_SI, &out);
 *
 * A main without network, but with a capacity by running fans, is answered from that: there `off`
 * names the main, once for each fan that stands.  The notice advises; it never says that what stays
 * open is safe.  Memory from the arena; the facility is borrowed.
 */
enum { STOP_OFF_MAX = 16, STOP_LINES_MAX = 64 };

struct stop_request {
  const struct scene *scene; /* who runs what then; NULL: nothing is known of it */
  int off_count;
  const char *const *off; /* "AF/2", "AF", "MU"; a coarse main: "Acid" */
  const char *from, *to;  /* "2026-12-03 07:00", and the same or "09:00"; NULL: not said yet */
};

enum stop_station {
  STOP_UNTOUCHED, /* its main and its room are as on any day */
  STOP_COUNTED,   /* one of those of which any n may stay open */
  STOP_PARKED,    /* must be parked: it may not open even alone, or there is no air for one */
  STOP_WITHOUT,   /* gets less than its parked flow */
  STOP_OUT        /* not in service, or withdrawn */
};

struct stop_pool {
  int pool;                    /* as air_pool_id counts */
  bool affected;               /* fewer may open than on another day, or something is missed */
  bool known;                  /* else its numbers say nothing */
  int usual_of, usual;         /* with everything running: any `usual` of `usual_of` */
  int of, guaranteed, perhaps; /* with the units off: any of those that may open alone */
  const char *binding;
};

struct stop_notice {
  const struct facility *facility;
  const char *scene; /* or NULL */
  const char *when;  /* "Thursday 2026-12-03, 07:00 to 09:00"; or NULL */
  const char *what;  /* "AF/2 (Acid fans)" */
  bool affected, solved;
  const struct air_answer *usual, *parked; /* everything parked: all running; the units off */
  int pool_count;
  struct stop_pool *pools;
  enum stop_station *stations;
  const char **why; /* per station: what stops it, or NULL */
  int act_count, missed_count, ask_count, unknown_count;
  const char **acts;    /* for users, in order */
  const char **missed;  /* keeps missed with everything parked */
  const char **asks;    /* stations that cannot simply be parked, and whom to ask */
  const char **unknown; /* what this answer does not know */
};

/* NULL with err: ERR_INPUT when a unit or a time cannot be meant. */
struct stop_notice *stop_notice(const struct facility *facility, const struct stop_request *request,
                                struct arena *arena, struct err *err);

/* "any 2 of the other 8 may be open" and the like, for one main or make-up unit. */
const char *stop_pool_words(const struct stop_notice *n, const struct stop_pool *pool,
                            struct arena *arena);
/* Its stations in that condition, with commas; "" when there is none. */
const char *stop_station_ids(const struct stop_notice *n, int pool, enum stop_station which,
                             struct arena *arena);

void stop_text(const struct stop_notice *n, enum units_system system, struct buf *out);
/* The part below the line: pools, fans, reasons. */
void stop_technician_text(const struct stop_notice *n, enum units_system system, struct buf *out);
void stop_json(const struct stop_notice *n, struct buf *out);

#endif
