#ifndef ERRAND_ERRAND_IMPL_H
#define ERRAND_ERRAND_IMPL_H

#include "errand/errand.h"

enum { ERRAND_TIMES_MOST = 1000 }; /* that a median is made from, the newest */

struct errands {
  struct errands_settings given;
  struct arena arena;
  struct errand *items;                      /* per station */
  bool *has;                                 /* per station: something was asked there */
  char (*needs)[ERRAND_TEXT_MOST_BYTES * 2]; /* per station, while it cannot */
  int64_t last_ms;                           /* of the last judgement */
  /* the shortage that lasts */
  bool is_short, advises;
  int64_t short_since_ms;
  int named_count;
  struct air_lower *named; /* what the act names */
  bool differs;            /* the figures name others */
  int64_t differs_since_ms;
  bool calls; /* the figures say that lowering is not enough, or said so less than `hold` ago */
  int64_t called_ms;
  struct errands_tally tally;
  int time_count;
  double times_s[ERRAND_TIMES_MOST]; /* a ring: from asked to moved */
};

int64_t errand_ms(double s);
void errand_tell(struct errands *e, struct errand *errand, int64_t t_ms);
/* Ends or moves it on, counts and tells. */
void errand_turn(struct errands *e, struct errand *errand, enum errand_state state,
                 const char *because, int64_t t_ms);

/* ---- named.c ---- */
void errand_name(struct errands *e, const struct judge_seen *seen);
bool errand_is_named(const struct errands *e, int station);
/* Why it may not be asked, or no longer; NULL: it may. */
const char *errand_barred(const struct judge_seen *seen, int station, const struct air_lower *what);

/* ---- machine.c ---- */
void errand_follow(struct errands *e, const struct judge_seen *seen);
void errand_ask(struct errands *e, const struct judge_seen *seen);
/* At or below where it is asked to be, as measured. */
bool errand_is_there(const struct errands *e, const struct judge_seen *seen, int station,
                     const struct air_lower *what);

#endif
