#ifndef PAST_NIGHT_IMPL_H
#define PAST_NIGHT_IMPL_H

#include "past/past_impl.h"

#include "energy/energy.h"

/* ---- night_traces.c: from the record's samples to what src/energy takes ---- */

struct night_traces {
  struct energy_given *given; /* per station */
  struct energy_trace *fans;  /* per fan */
  int gap_count, gap_room;
  struct past_night_gap *gaps; /* of the points that count */
  bool any_known;
};
/* given[].has_bounds and what goes with it are the caller's. */
NODISCARD enum err_code night_traces_read(const struct past_place *place,
                                          const struct past_span *span, struct arena *arena,
                                          struct night_traces *out, struct err *err);

/* ---- night_when.c ---- */
/* From the evening of that day on, however long it is. */
struct past_span night_span(const struct past_place *place, const struct when_civil *evening);
/* The evening so many days before. */
struct when_civil night_before(const struct past_place *place, const struct when_civil *evening,
                               int days);

/* ---- night_words.c: what text and JSON say alike ---- */
/* What made most of a station's air, beside work; ENERGY_PARTS: nothing did. */
enum energy_cause night_leading(const struct energy_station *s);
/* When it was so: the first moment to the last, in how many goes. */
struct night_when {
  int64_t from_ms, to_ms;
  int goes;
  double s;
};
struct night_when night_when_of(const struct energy_station *s, enum energy_cause cause);
/* What to do next, in one sentence. */
void night_next(const struct past_place *place, const struct past_night *night, struct buf *out);
/* "22:10"; with its offset where that time comes twice: "02:20 +01:00". */
void night_put_clock(const struct when_zone *zone, int64_t t_ms, struct buf *out);
/* "12 300 m³": three digits that count; rounded down (-1), to the nearest (0) or up (1). */
void night_put_m3(struct buf *out, double volume_m3, int round);
/* A range in m3: one figure where it is a point. */
void night_put_range(struct buf *cell, const struct energy_range *r);
/* "blocked sash 18:24 to 06:59, the same in the 3 nights before" */
void night_put_cause(const struct past_place *place, const struct past_night *night, int station,
                     struct buf *out);
void night_put_words(const struct past_place *place, const struct past_night *night, bool table,
                     struct buf *out);
/* The first sentence: the result. */
void night_put_result(const struct past_place *place, const struct past_night *night,
                      struct buf *out);
/* How it compares with the nights before. */
void night_put_earlier(const struct past_night *night, struct buf *out);

#endif
