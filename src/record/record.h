#ifndef RECORD_RECORD_H
#define RECORD_RECORD_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/err.h"
#include "feed/feed.h"

/*
 * What happened, kept: samples of every point with roll-ups, and entries that nobody can change.
 *
 * One interface; SQLite behind it.  One writer per file (a second is refused), any number of
 * readers, each in its own thread with its own handle.  A batch of samples is durable, with its
 * roll-ups, when record_add returns ERR_OK.  An entry (event, acknowledgement, withdrawal, note,
 * round, incident) is appended only; each holds the hash of the one before it, so that an entry
 * that was altered, taken out or moved is found by record_verify.
 *
 * A file knows the schema it was written with: older ones are migrated when opened for writing (the one
 * before is read as it is), newer ones are refused.
 *
 * Nothing here reads a clock.  A failed call leaves the file and everything acknowledged as it was.
 * A sink must not call the record that is calling it.  ERR_IO: the disk, the permissions or a damaged
 * file, said so; ERR_INPUT: the path, or what was asked.
 *
 *     record_open("quillmere.record", RECORD_WRITE, &record, &err);
 *     record_of(record, facility, &err);
 *     record_bind(record, facility, feeds, now_ms, &err);
 *     record_add(record, list, count, &added, &err);
 *     record_close(record);
 */
struct record;

enum record_mode { RECORD_WRITE, RECORD_READ };

/* WRITE makes the file where there is none.  READ works on a folder that may not be written, too. */
NODISCARD enum err_code record_open(const char *path, enum record_mode mode,
                                    struct record **record_out, struct err *err);
void record_close(struct record *record); /* NULL is fine */

/*
 * Binds the points of a feeds file to the rows of the record, by suite, point id and what the point
 * says (part, what, dimension); makes rows for new ones.  A point that says something else than
 * before begins anew; one whose resolution, zero or `old after` changed goes on in a series of its own
 * from now_ms, and is read as one.  Either is told in an entry.  Needed before samples are added or
 * asked by point index.  Keeps nothing of its arguments.
 */
NODISCARD enum err_code record_bind(struct record *record, const struct facility *facility,
                                    const struct feeds *feeds, int64_t now_ms, struct err *err);

/*
 * Whose record it is.  An entry carries the name of the suite it is about, and so do the points; what
 * older versions wrote is of the suite that the board named in its settings.
 *
 * record_of: what is asked is of this suite, and what is appended carries its name from then on.
 * ERR_INPUT when the newest entry is of another suite: nothing is mixed.  record_take_over does not ask:
 * it is for the board, where a suite was renamed, and the board tells it in an entry.
 */
NODISCARD enum err_code record_of(struct record *record, const struct facility *facility,
                                  struct err *err);
/* A suite without a name goes by the path of its file, which is another from each folder: its last part
 * counts. */
bool record_is_of(const char *said, const struct facility *facility);
void record_take_over(struct record *record, const struct facility *facility);
/* The name that the newest entry carries; NULL: nobody named one. */
NODISCARD enum err_code record_suite(struct record *record, struct arena *arena,
                                     const char **name_out, struct err *err);

/* The name of another suite whose values are in the file, the newest; NULL: none.  A suite that was
 * renamed finds its history under the old name. */
NODISCARD enum err_code record_other_suite(struct record *record, const struct facility *facility,
                                           struct arena *arena, const char **name_out,
                                           struct err *err);

/* ---- samples ----
 *
 * A value is kept as a whole number of the point's resolutions, counted from its source's own zero.
 * It is measured when its quality is GOOD, or OLD with a value: it was so then.  A measured value
 * holds until the next observation, but at most its point's `old after` (and 31 days); an observation
 * without a measured value ends it.  One from the FUTURE is kept and says nothing of any moment.
 */
struct record_added {
  long kept;
  long doubled; /* a second observation of the same point and moment: the first stays */
  long too_old; /* of a time whose samples retention has deleted: not kept */
};
/*
 * All or nothing, durable on ERR_OK.  Late ones are put in their place and their buckets are made
 * anew.  A number that no whole number of resolutions below 2^40 can hold is kept as UNREADABLE.
 */
NODISCARD enum err_code record_add(struct record *record, const struct feed_observation *list,
                                   int count, struct record_added *added_out, struct err *err);

/* The newest observation of each bound point, those from the future left out; quality MISSING and
 * t_ms INT64_MIN where there is none.  count: as many as were bound. */
NODISCARD enum err_code record_latest(struct record *record, struct feed_observation *list,
                                      int count, struct err *err);

/* When the oldest sample of the bound points is of; INT64_MAX: there is none. */
NODISCARD enum err_code record_first(struct record *record, int64_t *t_out_ms, struct err *err);

/* Samples of one point with from_ms <= t < to_ms, in order, and before them the one that still held
 * at from_ms.  known_ms: only what had come by then (INT64_MAX: all): `--as-of`. */
NODISCARD enum err_code record_samples(struct record *record, int point, int64_t from_ms,
                                       int64_t to_ms, int64_t known_ms,
                                       const struct feed_sink *sink, struct err *err);

/* All bound points together, in order of time, to replay a span; before them what still held at
 * from_ms. */
NODISCARD enum err_code record_replay(struct record *record, int64_t from_ms, int64_t to_ms,
                                      int64_t known_ms, const struct feed_sink *sink,
                                      struct err *err);

/*
 * One stretch of a plot.  first and last are the values at its first and last known moment, whether
 * observed there or held from before.  Where nothing was known good_s is 0 and the numbers are NaN;
 * good_s is 0 beside numbers when the newest value came at the very end.
 */
struct record_bucket {
  int64_t t_ms; /* its beginning, a multiple of the width after the origin */
  double min_si, max_si, first_si, last_si;
  double integral_si_s, good_s; /* mean = integral / good seconds */
  long count;                   /* measured values observed in it */
};
struct record_plot {
  int point;
  int64_t from_ms, to_ms;
  int most;                   /* buckets, 2 at least */
  struct record_bucket *list; /* the caller's, with room for them */
  int count;                  /* set: how many there are */
  double width_s;             /* set: of each */
  bool as_of;                 /* only what had come by known_ms */
  int64_t known_ms;
  int64_t
      origin_ms; /* what the widths are counted from: 0, or whole hours, minus a zone's offset */
};
/*
 * Fills buckets, side by side, that cover the span; the first may begin before from_ms, and the last
 * may end after to_ms.  From the coarsest table that is fine enough and still there (samples, 10 min,
 * 1 h), in a width that people count in.  As of a moment: from the samples, whatever the width; where
 * retention has deleted them nothing is known.  The newest value holds up to to_ms at most.
 */
NODISCARD enum err_code record_plot(struct record *record, struct record_plot *plot,
                                    struct err *err);

/* ---- entries ---- */
enum record_kind {
  RECORD_EVENT, /* what the program saw: a state turned, a source was lost or came back */
  RECORD_NOTE,
  RECORD_ACKNOWLEDGED,
  RECORD_WITHDRAWN, /* a station taken out of use, by whom and why */
  RECORD_RELEASED,  /* given back */
  RECORD_ROUND,
  RECORD_INCIDENT,
  RECORD_TAKEN,    /* a file was read: its name, hash and counts */
  RECORD_SETTINGS, /* suite or feeds file changed: old and new hash */
  RECORD_SHELVED,  /* alarms of a part put aside: by whom, why, until when */
  RECORD_UNSHELVED,
  RECORD_STOPPED,  /* all work stopped: power was lost, people left; by whom */
  RECORD_PRINTED,  /* a sheet that a change makes void: which, in what revision */
  RECORD_ANSWERED, /* a person answered what was asked at a station (src/errand) */
  RECORD_CONFIRMED, /* what looked like a fault was one: by whom, in what words; detail: kind, part */
  RECORD_REFUTED,   /* it was none, or another */
  RECORD_BATH,      /* what a person did at a tank; detail: src/wet */
  RECORD_WASTE,     /* and at a waste container */
  RECORD_RUN,       /* of a run with nobody there: src/run */
  RECORD_GLASS,     /* a piece of glass that was seen, counted, cleaned: src/sighting */
  RECORD_MATCH,     /* the board's own match of what it measured: src/nightly */
  RECORD_KIND_COUNT
};
const char *record_kind_name(enum record_kind kind); /* "withdrawn" */
/* Index by name; -1: no such kind. */
int record_kind_find(const char *name);

enum { RECORD_SHORT_MOST_BYTES = 200, RECORD_TEXT_MOST_BYTES = 64 << 10 };

struct record_entry {
  int64_t number;     /* from 1, without gaps */
  int64_t t_ms;       /* when it was so */
  int64_t written_ms; /* when it was written down */
  enum record_kind kind;
  const char *about;  /* id in the suite, "" for all of it */
  const char *who;    /* as the person said it, or "inward" */
  const char *text;   /* for people, one line or several */
  const char *detail; /* JSON for programs, or "" */
  const char *suite;  /* its name, as record_of says; "" where nobody named one */
  char hash_hex[65];  /* of this entry and the one before it */
};

/*
 * Appends one; number, suite and hash are set, the rest is the caller's.  Durable on ERR_OK.  ERR_INPUT:
 * about and who longer than RECORD_SHORT_MOST_BYTES, text and detail than RECORD_TEXT_MOST_BYTES, who
 * or text empty, not UTF-8, control characters in about or who.
 *
 * The hash is the SHA-256 (FIPS 180-4) of these bytes, one after the other:
 *   "inward entry 1" and a zero byte;
 *   the 32 bytes of the hash of the entry before (of none: 32 zero bytes);
 *   number, t_ms, written_ms: 8 bytes each, two's complement, the highest first;
 *   kind (its name), about, who, text, detail: of each its length in bytes (4 bytes, the highest
 *   first), then its UTF-8 bytes.
 * Where the entry carries a suite, the first line is "inward entry 2" and the suite follows detail, alike.
 * In the file: table `entry`, columns number, t, written, kind, about, who, text, detail, before, hash,
 * suite.
 */
NODISCARD enum err_code record_append(struct record *record, struct record_entry *entry,
                                      struct err *err);
/* Whether it would be refused, before there is a record. */
NODISCARD enum err_code record_entry_fits(const struct record_entry *entry, struct err *err);

struct record_wanted {
  int64_t from_ms, to_ms; /* from_ms <= t_ms < to_ms */
  const char *about;      /* NULL: any */
  int kind;               /* -1: any */
  int64_t known_ms;       /* written by then; INT64_MAX: all */
  int most;               /* the newest so many */
};
/* In order of time; texts live in `arena`, and so does the list.  ERR_LIMIT when they do not fit. */
NODISCARD enum err_code record_entries(struct record *record, const struct record_wanted *wanted,
                                       struct arena *arena, struct record_entry **list_out,
                                       int *count_out, struct err *err);

/* The last number and its hash: "entry 1412, 9f3c..."; 0 and 64 zeros for an empty record. */
NODISCARD enum err_code record_head(struct record *record, int64_t *number_out, char hash_hex[65],
                                    struct err *err);
/*
 * Walks the whole chain.  ERR_OK with no fault: unbroken.  Each fault is a line in `out` that names the
 * entries.  A head that was printed elsewhere (number 0: none; the hash may be its beginning, 8 digits
 * at least) finds what the chain alone cannot: the newest entries taken off, or all of it made anew.
 */
NODISCARD enum err_code record_verify(struct record *record, int64_t head_number,
                                      const char *head_hex, int *faults_out, struct buf *out,
                                      struct err *err);

/* ---- raw files: what was read, byte for byte ---- */
struct record_raw {
  const char *source, *name; /* id of the source; the file's name there */
  const void *bytes;
  size_t size;
  int64_t seen_ms;
};
/* The same bytes of the same source are kept once. */
NODISCARD enum err_code record_keep_raw(struct record *record, const struct record_raw *raw,
                                        bool *known_already_out, struct err *err);
/* Gives one back by the hash of its bytes; size_out is 0 and bytes_out NULL when it is not kept. */
NODISCARD enum err_code record_raw(struct record *record, const char *sha256_hex,
                                   struct arena *arena, const void **bytes_out, size_t *size_out,
                                   struct err *err);

/* ---- housekeeping ---- */
/*
 * What is due to be deleted at now_ms.  A value goes only when it is older than is kept by the clock, and
 * the record has had new values on as many later days (UTC, hours with values count): so a clock that is
 * wrong by years deletes nothing that the record has not lived through, and days without the board are not
 * counted.  What is dated after now_ms is no such day.
 */
struct record_due {
  int64_t samples_ms, ten_ms; /* of before, whole hours: to be deleted; INT64_MIN: nothing */
  long days, lived_days;      /* that single samples are kept, up to now; with values among them */
  bool waits;                 /* some are older by the clock, and stay for want of such days */
};
NODISCARD enum err_code record_due(struct record *record, const struct feeds *feeds, int64_t now_ms,
                                   struct record_due *out, struct err *err);
/* Deletes what is due, at most `most_rows` at a time, 0: nothing was left; entries are never deleted. */
NODISCARD enum err_code record_tidy(struct record *record, const struct record_due *due,
                                    long most_rows, long *deleted_out, struct err *err);
/* Single samples of before are not kept any more, of some point that is bound; INT64_MIN: all are. */
NODISCARD enum err_code record_kept(struct record *record, int64_t *from_out_ms, struct err *err);
/* A consistent copy while writing goes on; refuses a path where something is.  The copy is one file
 * and a record itself: to restore it, put it in the place of the lost one. */
NODISCARD enum err_code record_backup(struct record *record, const char *path, struct err *err);
/*
 * Whether the file is sound: its pages and indices, every roll-up against one made anew from the
 * samples, every raw file against its hash.  Each fault is a line in `out`.  Reads all of the file.
 */
NODISCARD enum err_code record_check(struct record *record, int *faults_out, struct buf *out,
                                     struct err *err);

#endif
