#ifndef WET_WET_IMPL_H
#define WET_WET_IMPL_H

#include "wet/wet.h"

#include "base/emit.h"

/* ---- acts.c ---- */
/* What is said with it: "\"tank\", \"amount\"". */
const char *wet_act_needs(enum wet_act act, struct arena *arena);
/* Whether both tell the same, whoever did and whenever. */
bool wet_same_said(const struct wet_told *a, const struct wet_told *b);

/* ---- words.c ---- */
void wet_line(struct wet_lines *lines, const char *text); /* those too many are left out */
const char *wet_clock(const struct wet_place *place, int64_t t_ms, struct arena *arena);
double wet_until_s(const struct wet_place *place, int64_t t_ms); /* from now; NaN: no moment */
const char *wet_span(double span_s, struct arena *arena);
const char *wet_quantity(double si, enum units_dimension dimension, struct arena *arena);
/* The name of a bath of the house or of the tables; the id itself where none is known. */
const char *wet_bath_name(const struct wet_place *place, const char *id, struct arena *arena);
/* "25 wafers in T-1" */
const char *wet_told_words(const struct wet_told *told, struct arena *arena);
void wet_head_json(struct emit *json, const struct wet_place *place, const struct wet_past *past);
void wet_told_json(struct emit *json, const char *key, const struct wet_told *told);
void wet_lines_json(struct emit *json, const char *key, const struct wet_lines *lines);
void wet_wrap(struct buf *out, const char *before, const char *text); /* at 100 columns */
bool wet_same(const char *a, const char *b);                          /* both NULL, or equal */

/* ---- may.c ---- */
/* What `meet` knows by that name; NULL: it cannot be looked up. */
const struct meet_thing *wet_thing(const struct wet_place *place, const char *name,
                                   struct arena *arena);
/* Whether a bath is made of it among others: topping up with it brings nothing new. */
bool wet_is_part(const struct wet_place *place, const char *bath, const char *what,
                 struct arena *arena);
/* Whether the stream lists it, at whatever strength. */
bool wet_takes(const struct wet_place *place, const struct chemicals_stream *stream,
               const char *what, struct arena *arena);
/*
 * The verdict of one finding in a container of that stream.  What only the chart's letters forbid, and the
 * stream lists both, is by procedure: the house says so in writing (hydrofluoric acid with its own buffer
 * has the letters of a toxic gas).  A rule stays as it is.
 */
enum meet_verdict wet_finding(const struct wet_place *place, const struct chemicals_stream *stream,
                              const struct meet_answer *answer, const struct meet_finding *found,
                              struct arena *arena);
/* What becomes of a bath that is topped up with it; one of its own parts is nothing listed,
 * and *why_out NULL. */
enum meet_verdict wet_of_topping(const struct wet_place *place, const char *bath, const char *what,
                                 const char **why_out, struct arena *arena);
/* What the stream alone says of it: takes and never. */
enum meet_verdict wet_of_stream(const struct wet_place *place,
                                const struct chemicals_stream *stream, const char *what,
                                struct wet_lines *reasons, struct arena *arena);

/* The same of a drain. */
enum meet_verdict wet_of_drain(const struct wet_place *place, const struct chemicals_drain *drain,
                               const char *what, struct wet_lines *reasons, struct arena *arena);
/* What the drain lists as a stream would: for wet_takes and wet_finding. */
struct chemicals_stream wet_drain_as_stream(const struct chemicals_drain *drain);

/* ---- bench.c ---- */
struct wet_reading wet_reading_of(const struct wet_place *place, const struct chemicals_seen *seen,
                                  struct arena *arena);
/* How hot the bath of a tank is: measured now, else as told and not too old.  NaN: not known, and why. */
double wet_temperature_K(const struct wet_place *place, const struct wet_tank *tank,
                         const char **says_out, struct arena *arena);
const struct chemicals_heater *wet_heater_of(const struct wet_place *place,
                                             const struct wet_tank *tank);
/* What stands in it, for `meet`: the bath as it was poured and what it was topped up with; 0: not known. */
int wet_holds(const struct wet_place *place, const struct wet_tank *tank,
              const char *what[1 + WET_LINES_MOST], struct arena *arena);
/* ---- bench_heat.c ---- */
struct wet_heater wet_one_heater(const struct wet_baths *baths,
                                 const struct chemicals_heater *heater, struct arena *arena);
/* ---- bench_tray.c ---- */
struct wet_tray wet_one_tray(const struct wet_baths *baths, const struct chemicals_tray *tray,
                             struct arena *arena);
struct wet_rinse wet_one_rinse(const struct wet_place *place, const struct chemicals_rinse *rinse,
                               struct arena *arena);
/* ---- bench_out.c ---- */
void wet_benches_text(const struct wet_benches *benches, struct buf *out);
void wet_benches_json(const struct wet_benches *benches,
                      struct emit *json); /* into an object that is open */

/* One that stands and whose name is read for this one; NULL: none. */
const struct wet_container *wet_container_alike(const struct wet_waste *waste, const char *id);

#endif
