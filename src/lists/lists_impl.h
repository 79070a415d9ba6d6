#ifndef LISTS_LISTS_IMPL_H
#define LISTS_LISTS_IMPL_H

#include "lists/lists.h"

/* ---- page.c: making one ---- */
struct lists_page *page_new(enum lists_kind kind, const struct facility *facility,
                            const struct when_zone *zone, int64_t t_ms, struct arena *arena);
/* Text in the page's arena. */
const char *page_words(struct lists_page *page, const char *fmt, ...) PRINTF_LIKE(2, 3);
void page_line(struct lists_page *page, const char *text);
void page_age_line(struct lists_page *page, const char *text);
struct lists_section *page_section(struct lists_page *page, const char *key, const char *head,
                                   const char *nothing);
void section_column(struct lists_section *section, const struct lists_column *column);
struct lists_row *section_row(struct lists_page *page, struct lists_section *section,
                              const char *about, const char *state);
/* Sets `content` from all that is no age. */
void page_seal(struct lists_page *page);

/* ---- words.c: facts in words, in the page's arena ---- */
const char *words_span(struct lists_page *page, double span_s);  /* "3 min" */
const char *words_moment(struct lists_page *page, int64_t t_ms); /* local time */
const char *words_clock(struct lists_page *page,
                        int64_t t_ms); /* "14:05", with its day if another */
const char *words_si(struct lists_page *page, double si, enum units_dimension dimension);
const char *words_value(struct lists_page *page, const struct feeds_point *point, double si);
const char *part_words(struct lists_page *page,
                       const struct facility_part *part); /* "A3 HF hood" */
const char *room_name(const struct facility *facility, int station);
const char *chemistry_of(const struct facility *facility, int station); /* or "not stated ..." */

/* What the belief does not know about that part, put together; NULL: nothing. */
const char *gaps_about(struct lists_page *page, const struct watch_belief *belief,
                       const char *about);
/* The point that says `what` of that part and is heard best: used, else the freshest; -1: none. */
int point_of(const struct lists_moment *m, enum feeds_of of, int index, enum feeds_what what);
/* Fresh, and a value: says it. */
bool point_says(const struct lists_moment *m, int point, double *si_out);
/* "3 min ago", "last 14:05, too old", "never heard" */
const char *point_age(struct lists_page *page, const struct lists_moment *m, int point);

/* How a station stands, for every page. */
enum stands {
  STANDS_ALARM,    /* its own alarm is on */
  STANDS_UP,       /* sash not down, or drawing as if */
  STANDS_BLOCKED,  /* down as far as is known, but something may stand under it */
  STANDS_UNKNOWN,  /* not known, or no point says it */
  STANDS_SOMEBODY, /* down, and somebody is sensed there */
  STANDS_DOWN
};
bool sash_is_known(const struct lists_moment *m, int i);
enum stands station_stands(const struct lists_moment *m, int i);
const char *stands_key(enum stands stands);
/* "sash up 0.45 m, somebody there" */
const char *station_words(struct lists_page *page, const struct lists_moment *m, int i);
bool is_withdrawn(const struct lists_moment *m, int i);
/* The entry that took it out of use, or NULL. */
const struct record_entry *withdrawal_of(const struct lists_moment *m, int i);
/* A stop of all work that is open: a line; and a section of what people told that happened. */
void say_stop(struct lists_page *page, const struct lists_moment *m);
void add_told(struct lists_page *page, const struct lists_moment *m);
/* runs.c: what runs or cools with nobody there, by what people told; `pen` as below. */
void add_runs(struct lists_page *page, const struct lists_moment *m, bool pen);
/* standing.c: what stands in tanks and waste containers; `pen`: with a column to fill in. */
void add_standing(struct lists_page *page, const struct lists_moment *m, bool pen);
const char *people_words(struct lists_page *page, const struct lists_moment *m);
/* Doors that stand open, and those of which it is not known. */
enum door_stands { DOOR_SHUT, DOOR_OPEN, DOOR_UNKNOWN };
enum door_stands door_stands(const struct lists_moment *m, int door);
const char *door_words(struct lists_page *page, const struct lists_moment *m, int door);

/* ---- handover ---- */
/* What belongs to the branch of a part: marked per station, fan, supply, room, door, main. */
struct branch {
  const struct facility *facility;
  bool *stations, *fans, *supplies, *rooms, *doors, *mains;
  int station;      /* the part itself, where it is one; else -1 */
  const char *kind; /* "station" */
};
NODISCARD bool branch_find(const struct facility *facility, const char *part, struct arena *arena,
                           struct branch *out);
bool branch_has(const struct branch *b, const struct feeds_point *point);

/* One moment, believed and computed. */
struct handed {
  struct lists_moment moment;
  const struct air_answer
      *air; /* NULL: it could not be computed, or something it needs is not known */
};
/* What the model gives for that point; false: nothing. */
bool handed_computed(const struct handed *h, const struct feeds_point *point, double *si_out);
bool handed_measured(const struct handed *h, int point, double *si_out);
/* Does the measured value lie within two standard deviations of a reading (the feeds file's own) and
 * its resolution of the computed one? */
bool handed_agrees(const struct handed *h, int point, double measured_si, double computed_si);
/* The sections "what speaks against it" and "evidence that is missing". */
void handover_evidence(struct lists_page *page, const struct handed *then, const struct branch *b);

#endif
