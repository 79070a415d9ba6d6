#ifndef PAST_PAST_H
#define PAST_PAST_H

#include "air/air.h"
#include "alarm/alarm.h"
#include "base/buf.h"
#include "base/when.h"
#include "day/day.h"
#include "energy/energy.h"
#include "incident/incident.h"
#include "record/record.h"
#include "watch/watch.h"

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
/* inward.entries.1; each time as local time of `zone` too. */
void past_entries_json(const struct past_entries *entries, const struct when_zone *zone,
                       struct buf *out);

/* Where a question is asked: the points of `feeds` are bound to `record`. */
struct past_place {
  struct record *record;
  const struct facility *facility;
  const struct feeds *feeds;
  const struct when_zone *zone; /* for people */
  bool (*goes_on)(void *arg);   /* asked while a span is judged; false ends it with ERR_LIMIT */
  void *arg;
};
struct past_span {
  int64_t from_ms, to_ms; /* from <= t < to */
  int64_t known_ms;       /* only what had come by then; INT64_MAX: all */
};

/* ---- who took what out of use ---- */

/*
 * Per station the entry by which it was taken out of use, under its id or the one that it had before, and
 * not given back since; NULL: there is none.  By entries of t_ms or before that were written down by
 * known_ms (INT64_MAX: all); the newest written down counts.  A release from a stop gives back nothing.
 */
NODISCARD enum err_code past_withdrawals(struct record *record, const struct facility *facility,
                                         int64_t t_ms, int64_t known_ms, struct arena *arena,
                                         const struct record_entry *const **out, struct err *err);

/* The station that an entry takes out of use or gives back, found so; -1: none, or a release from a stop. */
int past_withdrawal_station(const struct facility *f, const struct record_entry *entry);

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

/* ---- uses: when sashes were up, for the habits of src/day ---- */

/* Of every station whose sash some point tells: each stretch up, and each that is not known.  ERR_LIMIT
 * when they do not fit. */
NODISCARD enum err_code past_uses_ask(const struct past_place *place, const struct past_span *span,
                                      struct arena *arena, struct day_uses *out, struct err *err);

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

/* ---- believe: what was known at a moment ---- */

/* The belief of that moment, as a board would have had it; nothing is solved.  Lives in `arena`, which
 * must not run out. */
NODISCARD enum err_code past_believe(const struct past_place *place, int64_t t_ms, int64_t known_ms,
                                     struct arena *arena, struct watch_belief *out,
                                     struct err *err);

/* ---- what looked like a fault ---- */

struct past_finding {
  const char *kind, *part; /* as a finding names them */
  char since[40];          /* of the finding; "": the newest of that kind and part, and filled in */
};
/* Whether the record tells that it came, or was named as an alternative. */
NODISCARD enum err_code past_finding_find(struct record *record, struct past_finding *wanted,
                                          bool *found_out, struct err *err);

/* ---- a stop of all work ---- */

enum { PAST_STOP_CAUSES = 5, PAST_STOP_ONE_MS = 30 * 60 * 1000 };

/*
 * The newest stop up to a moment: a person's entry (kind "stopped"), the building's alarm, or every fan of
 * the suite lost, as the alarm entries tell.  It is open, however old, until its questions were answered and
 * every station in use was released after its last sign; a later sign joins an open one, so that the graver
 * questions stay.  Signs less than PAST_STOP_ONE_MS apart are one: common practice, no source.  The board's
 * belief, the restart list and what may be asked of people all rest on this.
 */
struct past_stop {
  bool found, is_open;
  bool asks_reentry, answered; /* nobody goes in before three questions are answered; they are */
  int64_t first_ms, last_ms;   /* its first and last sign */
  int64_t before_ms;           /* the last moment before it */
  bool seen[PAST_STOP_CAUSES];
  const struct record_entry *told; /* by a person; or NULL */
  bool *released, *withdrawn;      /* per station: since the last sign; now */
};
NODISCARD enum err_code past_stop_find(const struct past_place *place, int64_t t_ms,
                                       struct arena *arena, struct past_stop *out, struct err *err);
/* Stations in use that nobody released. */
int past_stop_left(const struct past_stop *stop, const struct facility *facility);
/* In the largest words, as long as the building's alarm is not on. */
void past_stop_act(const struct past_stop *stop, const struct facility *facility, struct buf *out);
void past_stop_causes(const struct past_stop *stop, struct buf *out); /* "power was lost" */
/* For watch_stop and a belief; lives in `arena`, and points to the stop's stations. */
struct watch_stop past_stop_belief(const struct past_place *place, const struct past_stop *stop,
                                   struct arena *arena);

/* The causes a person may give, as `detail` of the entry keeps them; NULL behind the last. */
const char *past_stop_cause(int index);      /* "power" */
const char *past_stop_cause_text(int index); /* "power was lost" */
/* "yes", then words: what an answer before re-entry must be to count. */
bool past_says_yes(const char *said);
/* A release of a station from a stop, or the questions answered; one given back after it was out of use is
 * not released from a stop by that. */
bool past_is_of_stop(const struct record_entry *entry);
/* An event with that detail may be a sign of one: it is to be looked for again. */
bool past_may_be_of_stop(const char *detail);

/* ---- replay: the air state over a span, by a rule ---- */

/*
 * The record's span through the air-state rule of a suite, as if every value had come at the moment it
 * is of.  Judged by the files as they are now, whatever they were then: `settings_changed` says how
 * often the record tells of other ones.  The outdoor temperature is followed in steps of 0.5 K.  A little of what came before is heard to warm up; a level
 * that a declared rule has held for longer than that may begin otherwise.
 */
struct past_level {
  int64_t from_ms, to_ms;
  enum facility_level level;
};
struct past_levels { /* side by side over the span */
  int count, room;
  struct past_level *list;
};
struct past_replay {
  struct past_span span;
  const struct facility *facility;
  int pool_count;
  struct past_levels air, *pools; /* the worst of all; per pool: mains, then supplies */
  int settings_changed;
};
NODISCARD enum err_code past_replay_ask(const struct past_place *place,
                                        const struct past_span *span, struct arena *arena,
                                        struct past_replay *out, struct err *err);
enum { PAST_LEVELS = FACILITY_NOT_KNOWN + 1 };
double past_level_s(const struct past_levels *levels, enum facility_level level);
int past_level_changes(const struct past_levels *levels);

/* Two replays of one span: for how long the first said one thing and the second another. */
struct past_miss { /* one said ample, the other short */
  int64_t from_ms, to_ms;
  enum facility_level was, would_be;
};
struct past_difference {
  double both_s[PAST_LEVELS][PAST_LEVELS]; /* [first][second] */
  double differ_s;
  int miss_count;
  struct past_miss *misses;
};
NODISCARD enum err_code past_replay_compare(const struct past_replay *first,
                                            const struct past_replay *second, struct arena *arena,
                                            struct past_difference *out, struct err *err);
/* `second` and `difference` may be NULL: one rule. */
void past_replay_text(const struct past_place *place, const struct past_replay *first,
                      const struct past_replay *second, const struct past_difference *difference,
                      struct buf *out);
void past_replay_json(const struct past_place *place, const struct past_replay *first,
                      const struct past_replay *second, const struct past_difference *difference,
                      struct buf *out); /* inward.replay.1 */

/* ---- why: the turn of the air state nearest before a moment ---- */

struct past_why_pool {
  enum facility_level before, state;
  bool has_figures; /* known, and computed */
  double demand_m3_s, limit_m3_s;
  bool at_most;  /* parking all of the pool does not end what is missed: it has no limit to name */
  bool declared; /* the limit is what the suite declares; else what was computed */
  const char *binding; /* what stops it first, or what its rule says; or NULL */
};
struct past_why_station {
  bool raised, known, withdrawn, own_alarm, has_opening, above_mark;
  bool presence_known, present;
  double opening_m, flow_m3_s; /* flow: asked, as its rule gives it */
  bool blocked;
  const char *why; /* not known */
};
struct past_move { /* what moved before the turn */
  int64_t t_ms;
  const char *text;
};
struct past_gap {
  const char *about, *text;
  bool needed; /* some pool needs it */
};
enum { PAST_MOVES_MOST = 8 };

struct past_why {
  int64_t asked_ms, known_ms;
  int64_t looked_from_ms; /* how far back a turn was looked for */
  bool found;             /* a turn; else the state was the same all the time since then */
  enum facility_level before, state, after; /* after: meaningful when it ended */
  int64_t from_ms, to_ms; /* the spell: from the turn to the next, or to the end of what is known */
  bool ended;             /* by the next turn */
  bool advises;           /* no alarm, and all that is needed was known */
  int64_t last_from_ms, last_to_ms; /* the last spell before it that was near limit or short ... */
  bool has_last;                    /* ... where this one is ample */
  int pool_count;
  struct past_why_pool *pools;
  struct past_why_station *stations; /* per station */
  int move_count;
  struct past_move moves[PAST_MOVES_MOST]; /* the newest last */
  int reason_count;
  const char **reasons;
  int gap_count;
  struct past_gap *gaps;
  /* Near limit or short, while the board could advise: */
  int sash_count;
  struct air_lower *sashes; /* each alone would have been enough for a better state: state_after */
  struct air_lower_list together; /* what was enough together: the board's own list */
  /* Of the spell: lowering what stood open with nobody there, and nothing else, would have kept it
   * ample; and for how long that cannot be told (an alarm, something not known, nobody's presence). */
  double spared_s, not_told_s;
  int settings_changed; /* since the turn; it is judged by the files as they are now */
};
NODISCARD enum err_code past_why_ask(const struct past_place *place, int64_t t_ms, int64_t known_ms,
                                     struct arena *arena, struct past_why *out, struct err *err);
void past_why_text(const struct past_place *place, const struct past_why *why, struct buf *out);
void past_why_json(const struct past_place *place, const struct past_why *why,
                   struct buf *out); /* inward.why.1 */

/* ---- alarms: which help, which are noise ---- */

struct past_alarms {
  struct past_span span; /* that is told of */
  struct alarm_figures figures;
  bool watched;     /* a board wrote to the record: else nothing could be told */
  bool begins_late; /* more was asked for; the span begins with the first entry */
  bool cut;         /* there is more than is looked at */
};
NODISCARD enum err_code past_alarms_ask(const struct past_place *place,
                                        const struct past_span *span, struct arena *arena,
                                        struct past_alarms *out, struct err *err);
void past_alarms_text(const struct past_place *place, const struct past_alarms *alarms,
                      struct buf *out);
void past_alarms_json(const struct past_place *place, const struct past_alarms *alarms,
                      struct buf *out); /* inward.alarm-figures.1 */

/* ---- night: what it cost in air, and why ---- */

/* What was not known of a point that counts. */
struct past_night_gap {
  const char *about; /* id of the station or fan */
  enum feeds_what what;
  int64_t from_ms, to_ms;
  const char *why; /* in words */
};
enum { PAST_NIGHTS_MOST = 31 }; /* earlier nights that are looked at */

/*
 * The night of the evening `date`, by the feeds file's `night` in the zone of the suite, as long as it
 * was: 11 or 13 hours where the clocks changed.  Judged by the files as they are now.
 */
struct past_night {
  struct when_civil date;
  struct past_span span; /* of one that goes on: to the moment it was asked for */
  int64_t end_ms;        /* when it ends */
  bool ended, any_known;
  struct energy_answer air;
  const int
      *order; /* stations, what cost most first; those without a best estimate by their most */
  int gap_count;
  const struct past_night_gap *gaps;
  /* The air state over the night; has_levels false: it cannot be judged, and why. */
  bool has_levels;
  const char *levels_why;
  struct past_replay levels;
  /* The nights before, newest first, back to the first of the record. */
  int earlier_count;      /* with a best estimate */
  int earlier_left;       /* without one: not compared */
  double earlier_m3;      /* the median of their excess; NaN: none */
  const int *same_nights; /* per station: so many nights before this one, too, for the same cause */
  int settings_changed;
};
/*
 * Which night: "2026-10-24" is the one that begins on that evening; NULL: the last that is over, or the
 * one that goes on once half of it has passed, or where none before it is in the record.  ERR_INPUT: no
 * date, one that does not exist, a night that has not begun by now_ms or was over before the record
 * began.
 */
NODISCARD enum err_code past_night_find(const struct past_place *place, const char *text,
                                        int64_t now_ms, struct when_civil *date_out,
                                        struct err *err);
/* `known_ms` as in a span; to `now_ms` at most, of a night that goes on to the newest value. */
NODISCARD enum err_code past_night_ask(const struct past_place *place,
                                       const struct when_civil *date, int64_t now_ms,
                                       int64_t known_ms, struct arena *arena,
                                       struct past_night *out, struct err *err);
/* The air state over it, by solving every scene of it: a second or two of one processor.  A suite whose
 * air cannot be computed has a night all the same: has_levels stays false, and levels_why says why. */
NODISCARD enum err_code past_night_levels(const struct past_place *place, struct past_night *night,
                                          struct arena *arena, struct err *err);
void past_night_text(const struct past_place *place, const struct past_night *night,
                     struct buf *out);
void past_night_json(const struct past_place *place, const struct past_night *night,
                     struct buf *out); /* inward.night.1 */
/* For a page: the words without the table, and what is drawn: stations over the night, then the table. */
void past_night_page(const struct past_place *place, const struct past_night *night,
                     struct buf *text, struct buf *drawing);

/* ---- sheet: one incident, what was measured around it, what adds to it ---- */

/* place->feeds may be NULL (nothing was measured); ERR_INPUT: that entry is no incident.  Printed by
 * src/incident; everything lives in `arena`. */
NODISCARD enum err_code past_sheet_ask(const struct past_place *place, int64_t number,
                                       int64_t now_ms, struct arena *arena,
                                       struct incident_sheet *out, struct err *err);

/* Only what was told: no point is looked at, and place->feeds may be NULL. */
NODISCARD enum err_code past_sheet_told(const struct past_place *place, int64_t number,
                                        struct arena *arena, struct incident_sheet *out,
                                        struct err *err);
/* Whether what adds to it may: the same kind and place.  A place that was left out is filled in. */
NODISCARD enum err_code past_sheet_takes(const struct incident_sheet *sheet,
                                         struct incident_told *told, struct err *err);

/* Such a text as a page of the board; its first line is the head where no suite is named. */
struct past_page {
  const char *suite, *label; /* whose page it is, and a word beside it; each may be NULL */
  const char *clock;         /* another word there, where it is not of now; or NULL */
  const char *text;
  const char *title; /* the question that it answers */
  const char
      *path; /* its own address, without what is asked; NULL: nothing may be asked for, and the
                     * text stands as it is, with its columns */
  const char *field, *key;  /* what may be asked for: "moment", "at" */
  const char *asked;        /* as it was typed; stands in the field */
  const char *style, *mark; /* addresses of the style sheet and the icon */
  const char *links;        /* HTML of the links to the board's pages, or NULL */
  const char *drawing;      /* of our own making, in HTML, behind the first block; or NULL */
  int again_s;              /* the page asks again after so long; 0: never */
};
void past_page_html(const struct past_page *page, struct buf *out);

#endif
