#ifndef VAPOUR_VAPOUR_IMPL_H
#define VAPOUR_VAPOUR_IMPL_H

#include "air/air.h"
#include "matter/matter.h"
#include "vapour/vapour.h"

enum { VAPOUR_THERE_MAX = 16 };

/* One question on its way: what every step reads and writes. */
struct vapour_work {
  const struct vapour_request *request;
  const struct facility *facility;
  struct arena *arena;
  struct err *err;
  struct vapour_answer *out;
  struct scene scenes[VAPOUR_WHEN_COUNT];
  const struct air_answer *airs[VAPOUR_WHEN_COUNT];
  const struct chem_table *settings;
  double volume_m3;           /* of the room; NaN */
  double air_K;               /* of the room */
  const char *measured_words; /* how a measured flow compares with the computed one; or NULL */
  int there_count;            /* what is in the liquid, with a figure or without */
  const struct chem_substance *there[VAPOUR_THERE_MAX];
};

/* A row of data/vapour_settings.csv. */
struct vapour_band vapour_setting(const struct vapour_work *w, const char *what,
                                  enum units_dimension dimension);

/* Each adds to the answer; ERR_INPUT when the question cannot be meant.  A liquid that gets no
 * figure sets out->refused. */
enum err_code vapour_read_liquid(struct vapour_work *w);
enum err_code vapour_find_place(struct vapour_work *w); /* station, room and the scenes */
enum err_code vapour_find_surface(struct vapour_work *w);
enum err_code vapour_solve_air(struct vapour_work *w);
/* ---- live.c ---- */
/* What keeps a state of the air from being known now; NULL: nothing that is told. */
const char *vapour_live_gap(const struct vapour_work *w, enum vapour_when when);
void vapour_live_unknown(struct vapour_work *w); /* adds to what is not known, and assumed */

void vapour_evaporate(struct vapour_work *w, struct vapour_case *c);
double vapour_gas_m3_s(const struct vapour_work *w, int part, double kg_s); /* at room's air */
void vapour_reach(struct vapour_work *w); /* duct, main, room, person */
void vapour_judge(struct vapour_work *w); /* limits, shares, purge, ignition */
void vapour_say(struct vapour_work *w);   /* headline, cautions, what is not known, whom to ask */

/* Until one part is used up at this rate; far off when nobody said how much there is. */
double vapour_lasts_s(const struct vapour_work *w, int part, double kg_s);
/* Mean of the room at the fast end after that time, should no fresh air come at all. */
double vapour_unthinned_ratio(const struct vapour_work *w, int part, double time_s);

/* The part of least flash point at or below the liquid's temperature; NULL: none that is known. */
const struct vapour_part *vapour_flashes(const struct vapour_answer *a);
void vapour_refuse(struct vapour_work *w, const char *headline);
void vapour_add(const char **list, int *count, const char *text);

/* Two digits in that unit: "0.32"; a band "0.32 to 1.1 g/s". */
void vapour_put(struct buf *out, double si, enum units_dimension dimension, const char *unit);
void vapour_put_band(struct buf *out, struct vapour_band band, enum units_dimension dimension,
                     const char *unit);
void vapour_put_time(struct buf *out, double time_s); /* "41 min" */
const char *vapour_time_words(struct arena *arena, double time_s);
const char *vapour_band_words(struct arena *arena, struct vapour_band band,
                              enum units_dimension dimension, const char *unit);

#endif
