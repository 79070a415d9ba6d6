#ifndef ALARM_ALARM_H
#define ALARM_ALARM_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/emit.h"
#include "base/err.h"
#include "judge/judge.h"

/*
 * What needs a person, told once: alarms by the practice of IEC 62682 and ANSI/ISA-18.2.
 *
 * Each thing that can need a person (`feeds_when`: a fan lost, a pool short, a sash up with nobody
 * there ...) of each part of the suite is one alarm.  Its state moves between the seven of that
 * practice:
 *
 *                   becomes so, for `on after`        is over, for `off after`
 *     normal  ------------------------->  active  ------------------->  returned
 *        ^                                  |  acknowledged                |  acknowledged
 *        |                                  v                              v
 *        +------- is over -------------  acknowledged                   normal
 *
 *   shelved: a person put it aside, with a reason, until a moment; suppressed: another alarm explains
 *   it; out of service: its station is withdrawn.  Leaving those three it is active where it still is
 *   so, and not acknowledged.
 *
 * One cause, one message: an alarm that another explains (a main whose fan is lost is short) is
 * suppressed and told in that one's message, which takes on its priority.  A station's own alarm is never suppressed.  The building's
 * alarm and a station's own cannot be shelved.
 *
 * No clock: moments are those of the judgements.  Nothing changes between two of them but time, so a
 * delay that ended between them ends at its own moment.
 *
 *     alarms_see(alarms, seen);                 // from judge_settings.seen
 *     alarms_acknowledge(alarms, "AF", "M. Rao", t_ms);
 *     for (i = 0; i < alarms_count(alarms); i++) alarms_at(alarms, i) ...
 */
struct alarms;

enum alarm_state {
  ALARM_NORMAL,
  ALARM_ACTIVE,       /* not acknowledged */
  ALARM_ACKNOWLEDGED, /* and still so */
  ALARM_RETURNED,     /* over, and nobody acknowledged it */
  ALARM_SHELVED,
  ALARM_SUPPRESSED,
  ALARM_OUT_OF_SERVICE,
  ALARM_STATE_COUNT
};
const char *alarm_state_name(enum alarm_state state); /* "not acknowledged" */
const char *alarm_state_key(enum alarm_state state);  /* "active", in JSON */

enum { ALARM_MESSAGE_MOST = 160, ALARM_TEXT_MOST_BYTES = 200, ALARM_WHO_MOST_BYTES = 201 };

struct alarm {
  const struct feeds_alarm *rule;
  enum feeds_priority priority; /* its rule's, or that of the worst that it explains */
  const char *about;            /* id of its part; "" for the suite */
  enum alarm_state state;
  bool is_so;                           /* active, whoever acknowledged, shelved or explained it */
  int64_t since_ms;                     /* of being so, or of being over; INT64_MIN: never was */
  char measured[ALARM_TEXT_MOST_BYTES]; /* with its limit, when it became so */
  int cause;                            /* the alarm that explains it, by index; -1: none */
  char who[ALARM_WHO_MOST_BYTES];       /* acknowledged or shelved it; "" */
  int64_t until_ms;                     /* shelved until */
  char why[ALARM_TEXT_MOST_BYTES];      /* shelved because */
  int64_t planned_from_ms;              /* to be shelved when it is so from then on ... */
  int64_t planned_until_ms;             /* ... before this; INT64_MIN: no such plan */
  char planned_who[ALARM_WHO_MOST_BYTES], planned_why[ALARM_TEXT_MOST_BYTES];
};

enum alarm_turn_kind {
  ALARM_TURN_ON,
  ALARM_TURN_OFF,
  ALARM_TURN_ACKNOWLEDGED,
  ALARM_TURN_SHELVED,
  ALARM_TURN_UNSHELVED
};
const char *alarm_turn_name(enum alarm_turn_kind kind); /* "on" */

struct alarm_turn {
  int64_t t_ms;
  int index;
  enum alarm_turn_kind kind;
};

struct alarms_settings {
  const struct facility *facility;
  const struct feeds *feeds;
  void (*turned)(void *arg, const struct alarms *a, const struct alarm_turn *turn); /* or NULL */
  void *arg;
};

struct alarms *alarms_new(const struct alarms_settings *settings); /* borrows what they name */
void alarms_free(struct alarms *a);                                /* NULL is fine */

void alarms_see(struct alarms *a, const struct judge_seen *seen);
/* When one turns though nothing comes; INT64_MAX: never.  For judge_settings.next_ms. */
int64_t alarms_next_ms(const struct alarms *a);
void alarms_begin_again(struct alarms *a); /* all normal: a clock stepped back, a new replay */

/* Every alarm of that part which waits for it; says how many. */
int alarms_acknowledge(struct alarms *a, const char *about, const char *who, int64_t t_ms);
struct alarm_told;
/*
 * Every alarm of told->about which is so is put aside from told->t_ms until told->until_ms, for
 * told->why; with told->from_ms later than t_ms (a planned stop) each when it is so within that span.
 * ERR_INPUT: there is none, or none that may be put aside; no reason; an end that is past, before its
 * beginning, or later than the feeds file allows.
 */
NODISCARD enum err_code alarms_shelve(struct alarms *a, const struct alarm_told *told,
                                      struct err *err);
int alarms_unshelve(struct alarms *a, const char *about, int64_t t_ms);

/* ---- what was told, as the record keeps it ---- */

/* One turn of one alarm, or what a person did with all alarms of a part. */
struct alarm_told {
  int64_t t_ms;
  const char *about, *who, *why;
  enum alarm_turn_kind kind;
  int when; /* enum feeds_when; -1: all of that part */
  /* of one alarm: */
  enum feeds_priority priority;
  enum alarm_state state; /* that it turned to */
  const char *measured;
  /* of what is put aside: */
  int64_t from_ms, until_ms; /* from: not later than t_ms: at once */
};
/* inward.alarm.1 and inward.shelved.1, each on a line: the details of such entries. */
void alarms_turn_json(const struct alarms *a, const struct alarm_turn *turn, struct buf *out);
void alarms_shelf_json(int64_t from_ms, int64_t until_ms, struct buf *out);
/* From an entry's kind ("event", "acknowledged", "shelved", "unshelved") and detail; time, part and words are
 * the caller's.  False: it is about no alarm.  `measured` lives in `arena`. */
bool alarm_told_read(const char *kind, const char *detail, struct arena *arena,
                     struct alarm_told *out);

/* Takes on, before the first alarms_see, how things stood when the program stopped: in order of time.
 * Tells nobody. */
void alarms_recall(struct alarms *a, const struct alarm_told *list, int count);

/* ---- figures: which alarms help, and which are noise ---- */

struct alarm_row { /* one alarm over the span */
  const char *about;
  enum feeds_when when;
  enum feeds_priority priority; /* when it was told last */
  int told;                     /* so often a person was told */
  double chatter_per_s;         /* mean of 1 / (time from one telling to the next) */
  bool chatters;
  int spells;                /* how often it stood in the span, whether somebody was told or not */
  double stood_s, longest_s; /* of these, in the span */
  bool stands, stale;        /* at its end; stood for longer than the settings allow */
};
struct alarm_flood {
  int64_t from_ms, to_ms;
  int told;
};
struct alarm_haste { /* one person acknowledged so many within a minute, beginning then */
  int64_t t_ms;
  int count;
};
struct alarm_figures {
  int64_t from_ms, to_ms;
  int told;                        /* to a person: neither explained, noted nor put aside */
  int explained, noted, put_aside; /* that came meanwhile and were not told */
  int by_priority[FEEDS_NOBODY];   /* of those told */
  double per_day;                  /* told */
  int windows, windows_over, most; /* windows side by side; told in the busiest ... */
  int64_t most_ms;                 /* ... which begins then */
  int flood_count, haste_count;    /* in order of time */
  const struct alarm_flood *floods;
  const struct alarm_haste *hastes;
  double flood_s;
  int row_count; /* that were told, or stood: the most told first, then the longest */
  const struct alarm_row *rows;
  double top_ratio;      /* of all told: the ten most frequent */
  int chattering, stale; /* rows that are */
  int answered;          /* told and acknowledged in the span */
  double answer_s;       /* the median of how long that took; NaN: none */
};
/*
 * Of what was told in from <= t < to; what stood before it begins is in the list, too.  In order of time.
 * Flood: from the moment more than `flood begins` were told within `window` until fewer than `flood
 * ends` were (ANSI/ISA-18.2).  Chatter: told `chatter` times within `chatter within`, or a mean of
 * 1 / (time from one telling to the next) at least as high as their ratio: the chattering index of
 * Kondaveeti, Izadi, Shah, Shook, Kadali and Chen (Chem. Eng. Res. Des. 91, 2013), whose limit of
 * 0.05 per second is three in a minute (value from memory).  Lives in `arena`, which must not run out.
 */
struct alarm_figures alarm_figures(const struct feeds_figures *settings,
                                   const struct alarm_told *list, int count, int64_t from_ms,
                                   int64_t to_ms, struct arena *arena);

int alarms_count(const struct alarms *a);
const struct alarm *alarms_at(const struct alarms *a, int index);
/* Those that wait for a person, what is still so first, worst first, oldest first: neither suppressed, shelved nor for
 * nobody.  `list` has room for alarms_count; says how many. */
int alarms_waiting(const struct alarms *a, int *list);

/* "AF: 1 of the usual 2 running. Cap and lower what is open there; call the ventilation technician", at
 * most 160 characters: place, measure with its limit, action. */
void alarms_message(const struct alarms *a, int index, struct buf *out);
/* Without the action: "AF: 1 of the usual 2 running". */
void alarms_place(const struct alarms *a, int index, struct buf *out);
/* The message, and what it explains: at most ten lines. */
void alarms_story(const struct alarms *a, int index, struct buf *out);
/* The `alarms` of inward.live.1 (docs/api.md). */
void alarms_json(const struct alarms *a, int64_t now_ms, struct emit *json, const char *key);
/* What is planned, has not begun and is not over: a row an alarm. */
void alarms_planned_json(const struct alarms *a, int64_t now_ms, struct emit *json,
                         const char *key);

#endif
