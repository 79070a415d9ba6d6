#ifndef PAST_PAST_H
#define PAST_PAST_H

#include "base/buf.h"
#include "base/when.h"
#include "record/record.h"

/*
 * Questions to the record, answered as text for people and JSON for programs, once for the command
 * line and the board.  Reads no clock and opens no file: the record is handed in.
 *
 * Each question is a struct that is asked (a function that fills it from the record) and then printed.
 * What is not known is a stretch of its own and says why; it is never bridged.
 */

/* A list of entries with the head of the chain they stand in. */
struct past_entries {
  const char *suite; /* its name, or NULL */
  const struct record_entry *list;
  int count;
  int64_t head_number;
  const char *head_hex;
};
/* Local time of `zone`; the head is the last line. */
void past_entries_text(const struct past_entries *entries, const struct when_zone *zone,
                       struct buf *out);
void past_entries_json(const struct past_entries *entries, struct buf *out); /* inward.entries.1 */

/* Where a question is asked: the points of `feeds` are bound to `record`. */
struct past_place {
  struct record *record;
  const struct facility *facility;
  const struct feeds *feeds;
  const struct when_zone *zone; /* for people */
};
struct past_span {
  int64_t from_ms, to_ms; /* from <= t < to */
  int64_t known_ms;       /* only what had come by then; INT64_MAX: all */
};

/* ---- timeline: what happened at a station ---- */

/*
 * A stretch of time in which a point said the same.  A quantity says the same while all of it stays
 * within two of its resolutions or a tenth of where the stretch began, whichever is more; a sash besides
 * while it does not pass between parked and open.
 */
struct past_piece {
  int64_t from_ms, to_ms;
  bool known;
  double low_si, high_si; /* known; yes or no: 1 or 0 */
  bool raised;            /* of a signal that tells the sash */
  const char *why;        /* not known: in words */
};
struct past_signal {
  int point;
  bool tells_sash; /* an opening, or the flow of a two-state station without one */
  int count, room;
  struct past_piece *list; /* side by side, from the beginning of the span to its end */
};
/* Sums over the span, s; NaN where no point says it. */
struct past_summary {
  double raised_s, sash_not_known_s;
  int raised_count;
  double raised_nobody_s;             /* raised, and nobody there */
  double raised_presence_not_known_s; /* raised, and not known whether somebody was there */
  double own_alarm_s;
  int own_alarm_count;
};
struct past_timeline {
  int station;
  struct past_span span;
  int signal_count;
  struct past_signal *signals; /* in the order of the feeds file */
  int entry_count;
  struct record_entry *entries; /* about the station */
  struct past_summary sum;
  bool any_known; /* at least one piece is */
};
/* ERR_LIMIT when it does not fit into `arena`. */
NODISCARD enum err_code past_timeline_ask(const struct past_place *place, int station,
                                          const struct past_span *span, struct arena *arena,
                                          struct past_timeline *out, struct err *err);
/* The newest `most` lines. */
void past_timeline_text(const struct past_place *place, const struct past_timeline *timeline,
                        int most, struct buf *out);
void past_timeline_json(const struct past_place *place, const struct past_timeline *timeline,
                        struct buf *out); /* inward.timeline.1 */

/* ---- plot: a point over a span, in rows side by side ---- */

/* A plot of what the record says; `plot` is asked for by record_plot.  As people write and as programs
 * read it: `inward.plot.1`, what the board's /api/plot gives too. */
NODISCARD enum err_code past_plot_ask(const struct past_place *place, int point,
                                      const struct past_span *span, int most, struct arena *arena,
                                      struct record_plot *out, struct err *err);
/* A table with bars that a terminal shows, at most 200 rows. */
void past_plot_text(const struct past_place *place, const struct record_plot *plot,
                    struct buf *out);
void past_plot_json(const struct feeds *feeds, const struct record_plot *plot, struct buf *out);
/* Several of one span: inward.plots.1. */
void past_plots_json(const struct past_place *place, const struct past_span *span,
                     const struct record_plot *plots, int count, struct buf *out);
bool past_plot_known(const struct record_plot *plot); /* anything of it */

#endif
