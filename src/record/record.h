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
 * A file knows the schema it was written with: older ones are migrated when opened for writing, newer
 * ones are refused.
 */
struct record;

enum record_mode { RECORD_WRITE, RECORD_READ };

NODISCARD enum err_code record_open(const char *path, enum record_mode mode,
                                    struct record **record_out, struct err *err);
void record_close(struct record *record); /* NULL is fine */

/*
 * Binds the points of a feeds file to the rows of the record, by (suite, point id); makes rows for
 * new ones.  A point whose dimension changed, or whose resolution did, begins a new series and is
 * told in an entry.  Needed before samples are added or asked by point index.
 */
NODISCARD enum err_code record_bind(struct record *record, const struct facility *facility,
                                    const struct feeds *feeds, struct err *err);

/* ---- samples ---- */
/*
 * All or nothing, durable on ERR_OK.  A second observation of a point at the same moment replaces
 * nothing: the first stays, `doubled` counts it.  Late ones are put in their place and their buckets
 * are made anew.
 */
NODISCARD enum err_code record_add(struct record *record, const struct feed_observation *list,
                                   int count, int *doubled_out, struct err *err);

/* The newest observation of each bound point; quality MISSING and t_ms INT64_MIN where there is none. */
NODISCARD enum err_code record_latest(struct record *record, struct feed_observation *list,
                                      int count, struct err *err);

/* Samples of one point with from_ms <= t < to_ms, in order, and before them the one that still held
 * at from_ms.  known_ms: only what had come by then (INT64_MAX: all): `--as-of`. */
NODISCARD enum err_code record_samples(struct record *record, int point, int64_t from_ms,
                                       int64_t to_ms, int64_t known_ms,
                                       const struct feed_sink *sink, struct err *err);

/* All bound points together, in order of time: to replay a span. */
NODISCARD enum err_code record_replay(struct record *record, int64_t from_ms, int64_t to_ms,
                                      int64_t known_ms, const struct feed_sink *sink,
                                      struct err *err);

/* One stretch of a plot.  Where nothing was known good_s is 0 and the numbers are NaN. */
struct record_bucket {
  int64_t t_ms; /* its beginning */
  double min_si, max_si, first_si, last_si;
  double integral_si_s, good_s; /* mean = integral / good seconds */
  long count;
};
/* At most `most` buckets over the span, from the coarsest table that is fine enough.  Returns how
 * many in count_out; width_out_s is theirs. */
NODISCARD enum err_code record_plot(struct record *record, int point, int64_t from_ms,
                                    int64_t to_ms, int most, struct record_bucket *list,
                                    int *count_out, double *width_out_s, struct err *err);

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
  RECORD_KIND_COUNT
};

struct record_entry {
  int64_t number;     /* from 1, without gaps */
  int64_t t_ms;       /* when it was so */
  int64_t written_ms; /* when it was written down */
  enum record_kind kind;
  const char *about;  /* id in the suite, "" for all of it */
  const char *who;    /* as the person said it, or "inward" */
  const char *text;   /* for people, one line or several */
  const char *detail; /* JSON for programs, or "" */
  char hash_hex[65];  /* of this entry and the one before it */
};

/* number and hash are set.  Durable on ERR_OK. */
NODISCARD enum err_code record_append(struct record *record, struct record_entry *entry,
                                      struct err *err);

struct record_wanted {
  int64_t from_ms, to_ms; /* by t_ms */
  const char *about;      /* NULL: any */
  int kind;               /* -1: any */
  int64_t known_ms;       /* written by then; INT64_MAX: all */
  int most;               /* the newest so many */
};
/* In order of time; texts live in `arena`. */
NODISCARD enum err_code record_entries(struct record *record, const struct record_wanted *wanted,
                                       struct arena *arena, struct record_entry **list_out,
                                       int *count_out, struct err *err);

/* The last number and its hash: "entry 1412, 9f3c..."; 0 and 64 zeros for an empty record. */
NODISCARD enum err_code record_head(struct record *record, int64_t *number_out, char hash_hex[65],
                                    struct err *err);
/* Walks the whole chain.  ERR_OK with no complaint: unbroken.  Each fault is a line in `out`. */
NODISCARD enum err_code record_verify(struct record *record, int *faults_out, struct buf *out,
                                      struct err *err);

/* ---- raw files: what was read, byte for byte ---- */
NODISCARD enum err_code record_keep_raw(struct record *record, const char *source, const char *name,
                                        const void *bytes, size_t size, int64_t seen_ms,
                                        bool *known_already_out, struct err *err);

/* ---- housekeeping ---- */
/* Deletes what retention says, at most `most_rows` at a time; entries are never deleted. */
NODISCARD enum err_code record_tidy(struct record *record, const struct feeds *feeds,
                                    int64_t now_ms, long most_rows, long *deleted_out,
                                    struct err *err);
/* A consistent copy while writing goes on; refuses a path where something is. */
NODISCARD enum err_code record_backup(struct record *record, const char *path, struct err *err);

#endif
