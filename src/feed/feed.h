#ifndef FEED_FEED_H
#define FEED_FEED_H

#include "base/arena.h"
#include "base/complaints.h"
#include "base/when.h"
#include "facility/feeds.h"

/*
 * What a source says becomes observations.  Codecs only: bytes in, observations out; no socket,
 * file, clock or thread (those are src/wire).  Nothing is guessed and nothing is filled in: a value
 * that is missing is an observation that says so.
 */
enum feed_quality {
  FEED_GOOD,
  FEED_MISSING,        /* the source has no value: empty, "No Data", a register's none */
  FEED_UNREADABLE,     /* a word or number that means nothing here */
  FEED_FAULTY,         /* the source says that its sensor is faulty */
  FEED_OVERRIDDEN,     /* set by hand there: no measurement */
  FEED_OUT_OF_SERVICE, /* the source says so */
  FEED_OLD,            /* it was old when it came: a retained message, a late batch's tail */
  FEED_FUTURE,         /* its time had not come yet */
  FEED_UNTIMED,        /* said without a time by something that may have kept it for long */
  FEED_QUALITY_COUNT
};

struct feed_observation {
  int point;       /* index into feeds->points */
  int64_t t_ms;    /* when it was so: the source's time, its clock put right; else when it came */
  int64_t seen_ms; /* when it came to us */
  double si;       /* yes or no: 1 or 0; NaN unless the quality is GOOD, OVERRIDDEN or OLD */
  enum feed_quality quality;
};

/* Where observations go.  Called in the order of the source; may be called very often. */
struct feed_sink {
  void (*take)(void *arg, const struct feed_observation *observation);
  void *arg;
};

const char *feed_quality_name(enum feed_quality quality); /* "out of service" */

/*
 * One text value of a point, as its source wrote it, to SI and quality: words of yes and no, words
 * that mean missing (capitals or not), the declared decimal mark.  Sets quality and si only.
 *
 * A number is digits with at most one decimal mark and an exponent; blanks or marks between its
 * digits make it UNREADABLE, because "1.234" is a thousand to some people and one to others.
 * `unit_text` is a unit that came with the value, or NULL; one may also stand behind the number
 * ("14.2 Pa").  One that differs from the point's is converted when it has the same dimension, else
 * the value is UNREADABLE.  So is a temperature below 0 K and a count that is no whole number.
 */
void feed_value(const struct feeds_point *point, bool decimal_comma, const char *text,
                const char *unit_text, struct feed_observation *out);
/* The same for a number that came as one, in the point's unit. */
void feed_number(const struct feeds_point *point, double value, struct feed_observation *out);
/*
 * Sets t_ms and seen_ms of an observation whose point, quality and si are set: puts the time right by
 * the source's clock, marks what is from the future, and what was good but old when it came (its si
 * stays: it was so then).  Rows of a table are never marked old: a table is about the past.
 * `timed` false: the source gave no time, t_ms is not looked at.  Times are of the years 0 to 9999.
 */
void feed_time(const struct feeds *feeds, int source, bool timed, int64_t t_ms, int64_t seen_ms,
               struct feed_observation *out);

/* ---- tables: csv.c ---- */
enum { FEED_TABLE_MOST_BYTES = 64 << 20, FEED_TABLE_MOST_COLUMNS = 2000 };

struct feed_table_job {
  const struct feeds *feeds;
  int source;                   /* of kind CSV */
  const struct when_zone *zone; /* the table's, read by the caller */
  const struct facility_text *text;
  int64_t seen_ms; /* when it came */
};

struct feed_table_report {
  long rows;        /* behind the header, blank lines aside */
  long unread_rows; /* not as wide as the header, quotes wrong, or no time: left out */
  long values, missing, unreadable, faulty, future; /* observations given out; values: good ones */
  long
      ambiguous_rows; /* local times that could be two moments and could not be told apart: left out */
  long never_rows;    /* local times that never were: left out */
  int64_t first_ms, last_ms; /* of the observations; 0 when there are none */
  const char *encoding;      /* "UTF-8" */
  /* WIDE: columns that no point names; LONG: names that no point has (the first 200). */
  int unmapped_count;
  const char *const *unmapped;
};

/*
 * A whole exported table.  Refused with complaints, and nothing given to the sink, when its columns
 * are not those of the mapping (the first ten lines are shown), or its bytes are not text; refused as
 * well when not one row could be read.  A row that cannot be read is complained about at its line, its
 * values left out, and the rest goes on; a value that cannot be read is given out as UNREADABLE, and the
 * first of each column complained about.
 *
 * Observations come in the order of the rows, point by point; rows of the hour that comes twice are held
 * until a row behind them settles which they are.  The text may be without a
 * NUL.  Memory from `arena`: three times the file if it is not UTF-8,
 * else a few hundred kB; what the report names lives there.
 */
NODISCARD bool feed_table(const struct feed_table_job *job, const struct feed_sink *sink,
                          struct arena *arena, struct complaints *complaints,
                          struct feed_table_report *report_out);
/* The report for people: "288 rows from ... to ...; 1140 values, 12 missing" and what follows. */
void feed_table_print(const struct feed_table_report *report, const struct when_zone *zone,
                      struct buf *out);

/*
 * A first mapping for a table nobody has described: a feeds file with what is certain filled in and
 * each thing that must be asked as a comment that says what to write.  False after a complaint.
 */
NODISCARD bool feed_propose(const struct facility *facility, const struct facility_text *text,
                            struct complaints *complaints, struct buf *out);

/* ---- messages: payload.c (MQTT and webhook) ---- */
enum { FEED_PAYLOAD_MOST_BYTES = 64 << 10, FEED_PAYLOAD_MOST_DEPTH = 8 };

struct feed_message {
  const char *topic;
  const void *bytes; /* may be NULL when there are none */
  size_t size;
  bool retained;
  int64_t seen_ms;
};

/*
 * One message of one topic, for every point that reads that topic.  `retained`: the broker kept it,
 * so without a time of its own it is UNTIMED.  ERR_INPUT says what could not be read; the points then
 * get an UNREADABLE observation each.
 */
NODISCARD enum err_code feed_payload(const struct feeds *feeds, int source,
                                     const struct feed_message *message,
                                     const struct feed_sink *sink, struct err *err);

/* ---- registers: registers.c (Modbus) ---- */
/* The words of one point, in the order they came, high bits of each word first. */
void feed_registers(const struct feeds *feeds, int point, const uint16_t *words, int count,
                    int64_t seen_ms, struct feed_observation *out);
int feed_register_words(enum feeds_register as); /* 1 or 2 */

/* ---- bookings: calendar.c (iCalendar, RFC 5545) ---- */
enum {
  FEED_CALENDAR_MOST_BYTES = 4 << 20,
  FEED_CALENDAR_MOST_EVENTS = 20000,  /* in a file */
  FEED_CALENDAR_MOST_BOOKINGS = 20000 /* in a window */
};

/* One time that something is booked, a recurrence counted out.  Texts live as long as the arena. */
struct feed_booking {
  const char *uid; /* the same for all recurrences of one */
  int64_t start_ms, end_ms;
  bool all_day;                   /* written as days: whole days of the calendar's zone */
  const char *summary, *location; /* "" where it says none */
  const char *who;                /* the first attendee, else the organizer: name, else address */
  const char *category;           /* the first of CATEGORIES */
  int line;                       /* of the first event of that uid in the text; 0: not known */
};

struct feed_booking_sink {
  void (*take)(void *arg, const struct feed_booking *booking);
  void *arg;
};

struct feed_window {
  const char *zone; /* name of the zone of days, and of times without one */
  int64_t from_ms, to_ms;
};

struct feed_calendar_report {
  int events, bookings, cancelled; /* cancelled: events that say so */
  int left_out;                    /* events that were complained about */
};

/*
 * The bookings of a calendar that overlap from_ms <= t < to_ms, as they stand in it: recurrences
 * counted out, exceptions left out, a moved one at its new time.  An event that cannot be read, or whose zone neither the calendar nor
 * the system knows, is complained about and left out; false only when the whole is no calendar, and
 * then nothing went to the sink.  Zones that the calendar does not define itself are read by libical
 * from the system's folder: the one place where a codec looks at a file.
 */
NODISCARD bool feed_calendar(const struct facility_text *text, const struct feed_window *window,
                             const struct feed_booking_sink *sink, struct arena *arena,
                             struct complaints *complaints,
                             struct feed_calendar_report *report_out);

#endif
