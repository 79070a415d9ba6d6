#ifndef ENERGY_ENERGY_IMPL_H
#define ENERGY_ENERGY_IMPL_H

#include "energy/energy.h"

/* ---- law.c: what a station may draw, and what a moment's air is for ---- */

enum { ENERGY_NOT_KNOWN = 2, ENERGY_NEVER = -1 }; /* beside 0 and 1 of a yes or no */
enum energy_fans { ENERGY_ALL_RUN, ENERGY_FEWER_RUN, ENERGY_FANS_NOT_KNOWN };

struct energy_law {
  const struct facility_station *station;
  const struct energy_given *given;
  double parked_m3_s, most_m3_s;
  double doubt_ratio; /* of its figures */
};
/* What is known of a moment. */
struct energy_moment {
  bool opening_known, flow_known;
  double opening_m, flow_m3_s;
  int presence, blocked; /* 0, 1, NOT_KNOWN, NEVER */
  enum energy_fans fans;
};
/* Flows, m3/s above parked. */
struct energy_split {
  double least_m3_s[ENERGY_PARTS], most_m3_s[ENERGY_PARTS]; /* per part */
  double excess_least_m3_s, excess_most_m3_s;
  bool has_best;
  double best_m3_s[ENERGY_PARTS];
  double over_m3_s;  /* measured flow minus what the opening asks; NaN: one of them is not known */
  double doubt_m3_s; /* the ± of what it asks */
};
/* False: nothing bounds what it draws. */
bool energy_law_of(const struct facility *f, int station, const struct energy_given *given,
                   struct energy_law *out);
struct energy_split energy_split_of(const struct energy_law *law, const struct energy_moment *m);

#endif
