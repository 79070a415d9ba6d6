#ifndef INCIDENT_INCIDENT_H
#define INCIDENT_INCIDENT_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/typed.h"
#include "base/when.h"
#include "facility/facility.h"
#include "facility/feeds.h"
#include "feed/feed.h"

/*
 * A person tells that something happened: it smells, a spill, an exposure, a near miss, a beaker
 * without a label.  What each is asked, what is said before anything is asked, and what is kept, in one
 * table; what was told as a struct and as the JSON of an entry; what was measured around it; and the
 * sheet that puts it together.  Pure: no clock, no file, no record.
 *
 *     struct typed_pair pairs[] = {{"incident", "odour"}, {"about", "A3"}, {"smell", "vinegar"}};
 *     struct incident_asked asked = {.facility = f, .zone = zone, .now_ms = now, .pairs = pairs, .count = 3};
 *     if (incident_take(&asked, &arena, &told, &faults) == ERR_OK)
 *       ...an entry of told.about, told.t_ms, told.text and told.detail...
 *
 * Nothing here rates how bad something is, says that a place is in order again, or times anybody's care:
 * it says whom to call, and keeps what was said.
 */
enum incident_kind {
  INCIDENT_ODOUR,
  INCIDENT_SPILL_INSIDE,  /* a station */
  INCIDENT_SPILL_OUTSIDE, /* of any */
  INCIDENT_EXPOSURE,
  INCIDENT_NEAR_MISS,
  INCIDENT_BEAKER, /* a vessel without a label */
  INCIDENT_OTHER,  /* told in words only; what an entry without detail is */
  INCIDENT_KINDS
};

enum { INCIDENT_FIELDS_MOST = 12, INCIDENT_FIRST_MOST = 3, INCIDENT_FIELD_MOST_BYTES = 500 };

struct incident_field {
  const char *key;     /* "substance" */
  const char *ask;     /* "Which substance?" */
  const char *choices; /* '|' between; NULL: in the teller's words */
  bool required;       /* when it is first told */
  bool next;           /* asked afterwards: before anybody goes back */
};
enum incident_place { INCIDENT_ANYWHERE, INCIDENT_AT_PART, INCIDENT_AT_STATION };

struct incident_form {
  const char *id;    /* "spill-inside" */
  const char *title; /* "A spill inside a station" */
  const char *says;  /* begins the entry: "a spill inside" */
  enum incident_place place;
  const char *first[INCIDENT_FIRST_MOST]; /* said before anything is asked; {call}: whom to call */
  const char *next;                       /* what must be asked before anybody goes back; or NULL */
  const char *kept;                       /* what is kept with it */
  const struct incident_field *fields;
  int field_count;
};
const struct incident_form *incident_form(enum incident_kind kind);
int incident_find(const char *id); /* -1: no such kind */
/* Whom to call: the station's own (station -1: none), then the suite's. */
void incident_call(const struct facility *facility, int station, struct buf *out);
/* One of form->first, {call} filled in. */
void incident_put_first(const char *line, const struct facility *facility, int station,
                        struct buf *out);
/* inward.tell.1: the whole table for a page, with {call} of the suite. */
void incident_forms_json(const struct facility *facility, struct buf *out);

/* ---- what was told ---- */
struct incident {
  enum incident_kind kind;
  int64_t adds_to; /* number of the entry this adds to; 0: none, it is the first */
  bool at_said;    /* the entry's time is when it was; else only when it was told */
  const char *values[INCIDENT_FIELDS_MOST]; /* as the form's fields; NULL: not said */
};

struct incident_asked {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t now_ms;
  double back_most_s;             /* `at` may lie so far back; 0: however far */
  const struct typed_pair *pairs; /* incident, about, who, at, adds_to, and the form's fields */
  int count;
};
struct incident_told {
  struct incident what;
  const char *about, *who;   /* who: "somebody" where nobody is named */
  int64_t t_ms;              /* when it was; now, where not said */
  const char *text, *detail; /* of the entry */
};
/*
 * ERR_INPUT: every fault is a line in `faults`, and *out is untouched.  Texts live in `arena`.  What
 * adds to an entry may leave its place out: `about` is then "".
 */
NODISCARD enum err_code incident_take(const struct incident_asked *asked, struct arena *arena,
                                      struct incident_told *out, struct buf *faults);

/* Of an entry's detail: inward.incident.1.  False: it is none. */
bool incident_read(const char *detail, struct arena *arena, struct incident *out);

/* ---- what was measured around it ---- */
enum { INCIDENT_TURNS_MOST = 24, INCIDENT_GAPS_MOST = 8 };

struct incident_stretch {
  double from_s, to_s; /* from the incident on; before it negative */
};
struct incident_turn {
  double at_s, si;
};
/* One point.  Numbers are NaN where nothing was known; yes or no: 1 or 0. */
struct incident_point {
  const char *id, *of, *what, *over, *unit; /* over: NULL; unit: SI, or "yes_no", "count" */
  double first_si, then_si, last_si;        /* at the beginning, at the incident, at the end */
  double least_si, greatest_si, known_s;
  int gap_count, gaps_more; /* not known; `more`: so many are left out of the list */
  struct incident_stretch gaps[INCIDENT_GAPS_MOST];
  /* It turned: another word, or further than two resolutions and a tenth from where it had been. */
  int turn_count, turns_more;
  struct incident_turn turns[INCIDENT_TURNS_MOST];
};
struct incident_frozen {
  int64_t number; /* of the incident's entry */
  int64_t from_ms, t_ms, to_ms;
  int point_count, points_left_out;
  struct incident_point
      *points; /* the station's own first, then its room's, its main's, the rest */
};
double incident_known_s(const struct incident_frozen *frozen); /* of all points together */

/* Takes observations in order of time, of all points mixed, as record_replay gives them. */
struct incident_freezer;
struct incident_freezer *incident_freezer_new(const struct facility *facility,
                                              const struct feeds *feeds, const char *about,
                                              const struct incident_frozen *span,
                                              struct arena *arena);
void incident_freezer_take(void *freezer, const struct feed_observation *o);
struct incident_frozen *incident_freezer_end(struct incident_freezer *freezer);

/* inward.freeze.1 on one line, at most `most` bytes: turns, then the farthest points are left out, and
 * said. */
void incident_frozen_json(const struct incident_frozen *frozen, size_t most, struct buf *out);
/* False: it is none. */
bool incident_frozen_read(const char *detail, struct arena *arena, struct incident_frozen *out);

/* ---- the sheet of one incident ---- */
struct incident_more { /* an entry that adds to it */
  int64_t number, t_ms, told_ms;
  const char *who, *text;
  struct incident what;
};
struct incident_event { /* another entry of the time around it */
  int64_t number, t_ms;
  const char *kind, *about, *text;
};
enum incident_source { INCIDENT_NOTHING, INCIDENT_SAMPLES, INCIDENT_ENTRY };

struct incident_use {
  int64_t from_ms, to_ms;
  const char *what; /* "sash up", "somebody there", "not known: nothing was heard" */
};
struct incident_used { /* of a found beaker: a station since it was last known clear */
  int station;
  int64_t from_ms, round_number; /* round_number 0: no round is told; from_ms is how far it looks */
  bool measured;                 /* by any sensor that tells its use */
  int use_count;
  struct incident_use *uses; /* in order of time */
};
struct incident_sheet {
  const struct facility *facility;
  const struct when_zone *zone;
  int64_t number, told_ms, now_ms;
  int64_t t_ms; /* when it was, as said last; when it was told, where nobody said */
  bool at_said;
  const char *about, *who, *text;
  struct incident what;
  int station; /* -1: not at one */
  int more_count;
  const struct incident_more *more;
  enum incident_source source;
  int64_t frozen_number, frozen_written_ms; /* INCIDENT_ENTRY */
  bool waits;                               /* the time after it is not over */
  const struct incident_frozen *frozen;     /* NULL with INCIDENT_NOTHING */
  int event_count;
  const struct incident_event *events;
  int near_count;
  const int *near;          /* stations of the same room, then of the same main */
  int64_t withdrawn_number; /* the station was withdrawn then; 0: it was not */
  int used_count;
  const struct incident_used *used;
};
/* The value of a field as it was last said, in the first entry or one that adds to it; NULL: never. */
const char *incident_said(const struct incident_sheet *sheet, const char *key);
/* "12 °C", "yes", "not known": a value of a point. */
void incident_put_value(const struct incident_point *point, double si, struct buf *out);
/* A moment for people, local time and UTC. */
void incident_put_moment(const struct when_zone *zone, int64_t t_ms, struct buf *out);
/* `staff`: the list of use of a found beaker too, which is for staff only. */
void incident_sheet_text(const struct incident_sheet *sheet, bool staff, struct buf *out);
void incident_sheet_json(const struct incident_sheet *sheet, bool staff,
                         struct buf *out); /* inward.incident_sheet.1 */

#endif
