#ifndef FACILITY_ROSTER_H
#define FACILITY_ROSTER_H

#include "facility/facility.h"

/*
 * What a suite says of its people: its people file (`files: {people: ...}`), immutable once read.
 * Endorsements, staffed hours, holidays, people named here, demotions, and which column of which
 * table is what.  The tables themselves are read by src/people, which also says who counts for what.
 *
 * Days are counted since 1970-01-01 (roster_day); the grammar is in facility/roster.def.
 */
struct roster_span { /* a period by the calendar; both 0: none is said */
  int months, days;
};

struct roster_endorsement {
  struct facility_part part;
  const char *source;
  struct roster_span valid, unused;
  int need_count;
  const int *needs; /* indices */
};

struct roster_holiday {
  int from_day, until_day; /* both included */
  const char *called;
};

enum { ROSTER_STYLES_MAX = 6, ROSTER_ENDORSEMENTS_MAX = 64 };

struct roster_table {
  struct facility_part part;
  const char *file, *sheet;                               /* sheet: NULL: the first */
  int title_row;                                          /* counted from 1 */
  const char *id, *full_name, *group, *last_use, *status; /* titles; all but id may be NULL */
  int style_count;
  const char *styles[ROSTER_STYLES_MAX];
  const char *last_use_style;       /* or NULL */
  const char *const *columns;       /* by endorsement: its title, or NULL */
  const char *const *column_styles; /* by endorsement, or NULL: `styles` */
  int active_count, gone_count;
  const char *const *active, *const *gone; /* words */
  struct place place;                      /* of `file` */
};

enum { ROSTER_NO_DAY = -1000000 }; /* not said */

struct roster_person {
  struct facility_part part;
  const char *group; /* or NULL */
  bool gone;
  const int *granted_day; /* by endorsement; ROSTER_NO_DAY */
  int last_use_day;
  struct place place;
};

struct roster_demotion {
  struct facility_part part;
  const char *who, *by, *why;
  int from_day, until_day; /* until: ROSTER_NO_DAY: a new grant ends it */
  int endorsement_count;   /* 0: all */
  const int *endorsements;
  struct place place; /* of `who` */
};

struct roster {
  const char *file;
  char sha256[65];
  int endorsement_count, holiday_count, table_count, person_count, demotion_count;
  const struct roster_endorsement *endorsements;
  const struct roster_holiday *holidays;
  const struct roster_table *tables;
  const struct roster_person *people;
  const struct roster_demotion *demotions;
  bool has_hours;
  const char *hours_source;
  int opens_min[7], closes_min[7]; /* from Monday, minutes since midnight; both 0: not staffed */
  struct arena *arena;
};

/* NULL after at least one complaint.  The facility is only read.  Free before the facility. */
struct roster *roster_read(const struct facility *facility, const struct facility_text *text,
                           struct complaints *complaints);
void roster_free(struct roster *roster); /* NULL: nothing */

int roster_endorsement_find(const struct roster *roster, const char *id); /* -1: none */

int roster_day(const char *date); /* "2026-11-30", which must be one */
/* "2 years", "18 months", "4 weeks", "90 days"; false: it is none. */
bool roster_span_read(const char *text, struct roster_span *out);
/* The last day of a period that begins on `day`: months first, ending on the same day of the month or
 * on its last where it has none; then days. */
int roster_after(int day, struct roster_span span);
/* A day as a table has it, in one style: "ISO", "DD.MM.YYYY"; false: it is not written so. */
bool roster_style_read(const char *style, const char *text, int *day_out);
void roster_print_day(int day, struct buf *out); /* 2026-11-30 */

/* docs/people-file.md */
void roster_print_manual(struct buf *out);

#endif
