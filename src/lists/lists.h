#ifndef LISTS_LISTS_H
#define LISTS_LISTS_H

#include "past/past.h"
#include "run/run.h"
#include "standing/standing.h"
#include "wet/wet.h"

/*
 * The sheets for the moments when people leave, come back, or the building acts: what one page says to
 * whom, made from a belief and the entries of the record.
 *
 *     leave      for the last person out: what is up, open, alarming, blocked, out of use, not known
 *     responder  for the fire service at the door: people, ventilation, which stations and what in them
 *     restart    after a loss of power or an evacuation, station by station; releases nothing
 *     handover   for the ventilation technician: one part, then and now, measured and computed
 *
 * Each is the same kind of page: an act in the largest words, lines, and sections of rows.  So text,
 * JSON, HTML and paper are made in one place each, and cannot say different things.
 *
 *     struct lists_moment moment = {.facility = f, .feeds = feeds, .belief = &belief, ...};
 *     struct lists_page *page = lists_leave(&moment, &arena);
 *     lists_text(page, &out);
 *
 * Without a feeds file or a belief a page is a form for the pen: every station is "go and look".  What
 * is not known is never left out and never counted as good; no page says that anything is safe, and
 * none gives permission.  No clock: the moment is handed in.  Everything lives in the arena, which must
 * not run out; what the moment points to is borrowed.
 */
enum lists_kind { LISTS_LEAVE, LISTS_RESPONDER, LISTS_RESTART, LISTS_HANDOVER, LISTS_KIND_COUNT };
const char *lists_kind_name(enum lists_kind kind); /* "leave" */
int lists_kind_find(const char *name);             /* -1: no such list */

enum { LISTS_CELLS_MOST = 6 };

struct lists_column {
  const char *key;    /* in JSON; NULL: a box for the pen, on paper only */
  const char *head;   /* over it */
  double share_ratio; /* of a page's width */
  bool is_age;        /* tells ages or moments: its change makes no new revision */
};

struct lists_row {
  const char *about; /* id in the suite, or NULL */
  const char *state; /* for programs: "up", "own_alarm", "not_known" ... or NULL */
  const char *cells[LISTS_CELLS_MOST]; /* NULL: nothing to say there */
  bool marked;                         /* needs a person */
  bool asks;                           /* a board offers an act for it */
};

struct lists_section {
  const char *key, *head;
  const char
      *nothing; /* said where there is no row; NULL: then it is left out of pages for people */
  int column_count, row_count, row_room;
  struct lists_column columns[LISTS_CELLS_MOST];
  struct lists_row *rows;
};

struct lists_line {
  const char *text;
  bool is_age; /* as of a column */
};

enum { LISTS_LINES_MOST = 24, LISTS_SECTIONS_MOST = 12 };

struct lists_page {
  enum lists_kind kind;
  const struct facility *facility;
  const struct when_zone *zone;
  const char *title, *question;
  int64_t t_ms;    /* the moment it is of; INT64_MIN: a form, of no moment */
  const char *act; /* the largest words */
  bool needs_person;
  bool opens; /* of a restart: the stop is open */
  int line_count, section_count;
  struct lists_line lines[LISTS_LINES_MOST];
  struct lists_section sections[LISTS_SECTIONS_MOST];
  const char *foot; /* what it does not say, and what comes next */
  char content[9];  /* of all that is no age: eight hex digits, the same for the same content */
  long revision;    /* counted by who asks; 0: not counted */
  struct arena *arena;
};

/* ---- what a page is made of ---- */
struct lists_moment {
  const struct facility *facility;
  const struct feeds *feeds;         /* NULL: the suite names none */
  const struct when_zone *zone;      /* for people */
  const struct watch_belief *belief; /* NULL: nothing is known */
  int64_t t_ms;                      /* INT64_MIN: a form */
  /* Per station who took it out of use, as past_withdrawals has it; NULL: not asked. */
  const struct record_entry *const *withdrawn;
  const struct record_entry *told; /* what people told that happened, of the last hours, in order */
  int told_count;
  const struct run_list *runs;   /* runs with nobody there, as told; NULL: not asked */
  const struct wet_baths *baths; /* what people told that stands in tanks ... */
  const struct wet_waste *waste; /* ... and in waste containers; both NULL: not asked */
};

struct lists_page *lists_leave(const struct lists_moment *m, struct arena *arena);
struct lists_page *lists_responder(const struct lists_moment *m, struct arena *arena);

/*
 * Both ask the record of `place` (bound, as past.h has it) themselves.  ERR_LIMIT when it does not fit.
 *
 * restart: the newest stop up to t_ms, as past_stop_find has it.
 */
NODISCARD enum err_code lists_restart(const struct past_place *place, int64_t t_ms,
                                      struct arena *arena, struct lists_page **out,
                                      struct err *err);
/* A restart list for the pen. */
struct lists_page *lists_restart_form(const struct facility *facility, struct arena *arena);

/* `detail` of an entry that stops all work, and of one that answers the questions before re-entry. */
void lists_stopped_json(const char *cause, struct buf *out);
void lists_reentry_json(const char *removed, const char *measured, struct buf *out);
/* `detail` of the release of one station from a stop: a release without it gives back one taken out of use. */
void lists_restarted_json(struct buf *out);
/* Why nobody can be released to go in, or a station to work, by that restart page (of lists_restart, not
 * a form), and what comes first; NULL: nothing stands against it.  `row` NULL: it has no such station. */
const char *lists_reentry_refusal(const struct lists_page *page);
const char *lists_release_refusal(const struct lists_page *page, const struct lists_row *row);
const struct lists_row *lists_station_row(const struct lists_page *page, const char *about);

/* What is handed over to the ventilation technician about one part; ERR_INPUT: no such part. */
NODISCARD enum err_code lists_handover(const struct past_place *place, const char *part,
                                       int64_t t_ms, int64_t now_ms, struct arena *arena,
                                       struct lists_page **out, struct err *err);
struct lists_page *lists_handover_form(const struct facility *facility, const char *part,
                                       struct arena *arena);

/* ---- any of them ---- */
struct lists_asked {
  enum lists_kind kind;
  const char *part; /* of a handover */
  int64_t t_ms;     /* INT64_MIN: a handover finds it */
  int64_t now_ms;
  const struct wet_place *wet; /* its chemistry: what stands in tanks is listed too; or NULL */
};
NODISCARD enum err_code lists_of_record(const struct past_place *place,
                                        const struct lists_asked *asked, struct arena *arena,
                                        struct lists_page **out, struct err *err);
/* For the pen; `feeds` may be NULL. */
struct lists_page *lists_form(const struct facility *facility, const struct feeds *feeds,
                              enum lists_kind kind, const char *part, struct arena *arena);
/* What people told, for a moment; it is borrowed. */
void lists_take(struct lists_moment *moment, const struct standing_told *told);

/* The newest entry of a print of the responder sheet; false: none, and nothing is set. */
struct lists_printed {
  int64_t t_ms;
  long revision;
  char content[9];
  char who[81];
};
NODISCARD enum err_code lists_printed_last(struct record *record, struct arena *arena,
                                           bool *found_out, struct lists_printed *out,
                                           struct err *err);
void lists_printed_json(const struct lists_page *page, struct buf *out); /* its detail */

/* ---- printed ---- */
void lists_text(const struct lists_page *page, struct buf *out);
void lists_json(const struct lists_page *page, struct buf *out); /* inward.list.1 */

struct lists_html {
  const char *style, *mark, *script; /* addresses; NULL: a file that stands alone */
  const char *links;                 /* HTML of the links to the board's pages, or NULL */
  const char *notice;                /* above the page, or NULL */
  const char *forms;                 /* HTML of what can be done on a board, or NULL */
  int again_s;                       /* asks again by itself; 0: the script does */
};
void lists_html(const struct lists_page *page, const struct lists_html *as, struct buf *out);
/* "of 2026-10-24 16:05:00 +02:00, revision 12 (3fa9c104)" */
void lists_of(const struct lists_page *page, struct buf *out);

#endif
