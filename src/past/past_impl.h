#ifndef PAST_PAST_IMPL_H
#define PAST_PAST_IMPL_H

#include "past/past.h"

#include "base/emit.h"
#include "judge/judge.h"

/* withdrawn.c: by the station's id, or the one that it had before; -1 */
int past_station_of(const struct facility *f, const char *about);

/* ---- words.c: what the files of this folder print alike ---- */
/* suite, from, to, as_of, zone. */
void past_put_span(struct emit *json, const struct past_place *place, const struct past_span *span);
/* "Quillmere   [DEMO]   WHAT\n2026-10-24 12:00 +02:00 to ... (25 h)\n" */
/* Where single values of a span that begins then are not kept any more: until when; INT64_MIN: all are. */
int64_t past_kept_ms(const struct past_place *place, int64_t from_ms);
/* And so it is said: nothing, where all are kept. */
void past_put_kept(const struct past_place *place, int64_t from_ms, struct buf *out);
void past_emit_kept(const struct past_place *place, int64_t from_ms, struct emit *json);
void past_head(const struct past_place *place, const char *what, const struct past_span *span,
               struct buf *out);
/* A value of a point: "1450 m³/h", "yes". */
void past_put_value(const struct feeds_point *point, double si, struct buf *out);
/* A cell of a table: its text and blanks, one at least. */
void past_put_cell(const char *text, int wide, struct buf *out);
/* "14:10", and seconds where there are any. */
void past_put_clock(const struct when_zone *zone, int64_t t_ms, struct buf *out);
/* "2026-10-24, Saturday, +02:00" */
void past_put_day(const struct when_zone *zone, int64_t t_ms, struct buf *out);
bool past_is_same_day(const struct when_zone *zone, int64_t a_ms, int64_t b_ms); /* and offset */
/* "2026-10-24 16:05:00 +02:00 to 16:50 (45 min)" */
void past_put_stretch(const struct past_place *place, int64_t from_ms, int64_t to_ms,
                      struct buf *out);
const char *past_unit(const struct feeds_point *point); /* SI; "" of yes or no and of counts */

/* ---- judged.c ---- */
int64_t past_warm_up_ms(const struct past_place *place);
/* `changes` grows where the air was solved anew or the state turned.  False: that was enough. */
typedef bool past_seen_fn(void *arg, const struct judge_seen *seen, long changes);
/* Every moment of the span at which something was seen or grew too old, in order, and some before it to
 * warm up.  Stations are withdrawn and released as the entries say. */
NODISCARD enum err_code past_judge_span(const struct past_place *place,
                                        const struct past_span *span, past_seen_fn *seen, void *arg,
                                        struct err *err);

/* ---- replay.c ---- */
/* How often the record tells of other files within the span. */
NODISCARD enum err_code past_count_settings(const struct past_place *place,
                                            const struct past_span *span, struct arena *arena,
                                            int *count_out, struct err *err);
/* past_replay_ask, but what comes after the first turn of the worst level behind enough_ms is left out:
 * the level turned to is drawn to the end. */
NODISCARD enum err_code past_replay_until(const struct past_place *place,
                                          const struct past_span *span, int64_t enough_ms,
                                          struct arena *arena, struct past_replay *out,
                                          struct err *err);

#endif
