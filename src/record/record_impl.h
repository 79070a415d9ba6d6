#ifndef RECORD_RECORD_IMPL_H
#define RECORD_RECORD_IMPL_H

#include "record/record.h"

#include <sqlite3.h>

/* ---- sql.c: every statement of the record, by name ---- */
enum record_statement {
#define STATEMENT(name, sql) SQL_##name,
#include "record/statements.def"
#undef STATEMENT
  SQL_COUNT
};

enum record_level { LEVEL_10MIN, LEVEL_1H, LEVEL_COUNT };

enum { HOUR_MS = 3600 * 1000, TEN_MIN_MS = 600 * 1000 };
static const int64_t record_level_ms[LEVEL_COUNT] = {TEN_MIN_MS, HOUR_MS};

/* A stretch of time in whole resolutions: a row of r10m or r1h. */
struct record_row {
  int64_t t_ms, min, max, first, last;
  int64_t integral; /* resolutions x ms */
  int64_t good_ms;
  int64_t count;
  bool any; /* something was known in it */
};

/* The stretch that is being filled; a full one is given away before the next begins. */
struct record_acc {
  int64_t width_ms;
  struct record_row row;
  bool dirty;
  enum err_code (*give)(void *arg, const struct record_row *row, struct err *err);
  void *arg;
};

/* A span of one point whose numbers are counted alike. */
struct record_series {
  int64_t number;
  double step_si, base_si; /* SI = base + step * v */
  int64_t hold_ms;
  int64_t began_ms, ended_ms; /* began <= t < ended; INT64_MIN, INT64_MAX: open */
};

struct record_sample {
  int64_t t_ms, v, lag_ms;
  bool has_v;
  enum feed_quality quality;
};

struct record_level_arg {
  struct record *record;
  int64_t series;
  enum record_level level;
};

struct record_point {
  const char *suite, *id, *about, *what, *dimension;
  struct record_series *series; /* the oldest first; the last is the one written to */
  int series_count;
  /* of the writer: the newest sample and the stretches it stands in */
  bool loaded, touched, has_newest;
  struct record_sample newest;
  struct record_acc acc[LEVEL_COUNT];
  struct record_level_arg arg[LEVEL_COUNT];
};

struct record_dirty { /* whose stretches must be made anew */
  int point, series;
  int64_t from_ms, to_ms;
};

struct record {
  sqlite3 *db;
  enum record_mode mode;
  char *path, *lock_path;
  char *suite; /* whose entries are written, as record_of says; NULL: nobody said */
  int lock;
  sqlite3_stmt *statements[SQL_COUNT];
  struct arena arena; /* of what is bound */
  struct record_point *points;
  int point_count;
  int64_t newest_series; /* when the points' series were read */
  struct record_dirty *dirty;
  int dirty_count, dirty_room;
};

/* Takes what SQLite said last; `doing` as in "adding samples". */
enum err_code record_fail(const struct record *record, const char *doing, struct err *err);
NODISCARD enum err_code record_run(struct record *record, const char *sql, const char *doing,
                                   struct err *err);
/* Reset and ready to be bound; NULL after a failure. */
sqlite3_stmt *record_sql(struct record *record, enum record_statement which, struct err *err);
/* For a statement without rows. */
NODISCARD enum err_code record_done(struct record *record, sqlite3_stmt *statement,
                                    const char *doing, struct err *err);
/* *row_out: there was one. */
NODISCARD enum err_code record_step(struct record *record, sqlite3_stmt *statement, bool *row_out,
                                    const char *doing, struct err *err);
NODISCARD enum err_code record_begin(struct record *record, struct err *err);
/* Ends what record_begin began: kept when code is ERR_OK, else taken back.  Returns the code. */
enum err_code record_end(struct record *record, enum err_code code, struct err *err);
NODISCARD enum err_code record_writes(const struct record *record, struct err *err);

/* ---- schema.c ---- */
NODISCARD enum err_code record_schema(struct record *record, struct err *err);

/* ---- bind.c ---- */
/* Reads anew which series there are, when a writer has begun one. */
NODISCARD enum err_code record_refresh(struct record *record, struct err *err);

/* ---- rollups.c ---- */
bool record_measured(enum feed_quality quality, bool has_v);
NODISCARD enum err_code record_acc_flush(struct record_acc *acc, struct err *err);
/* v was so from from_ms until to_ms. */
NODISCARD enum err_code record_acc_hold(struct record_acc *acc, int64_t v, int64_t from_ms,
                                        int64_t to_ms, struct err *err);
NODISCARD enum err_code record_acc_observe(struct record_acc *acc, int64_t v, int64_t t_ms,
                                           struct err *err);
/* Fills accs from the samples of a series and flushes them. */
struct record_window {
  int64_t from_ms, to_ms; /* from_ms <= t < to_ms */
  int64_t known_ms;       /* come by then */
};
NODISCARD enum err_code record_sweep(struct record *record, const struct record_series *series,
                                     const struct record_window *window, struct record_acc *accs,
                                     int acc_count, struct err *err);
/* Makes the stretches of the hours that touch the span anew. */
NODISCARD enum err_code record_remake(struct record *record, const struct record_series *series,
                                      int64_t from_ms, int64_t to_ms, struct err *err);
/* Where retention has begun to delete: samples and ten minutes of before are not to be relied on. */
NODISCARD enum err_code record_kept_from(struct record *record, int64_t series,
                                         int64_t *samples_out_ms, int64_t *ten_out_ms,
                                         struct err *err);
int64_t record_floor(int64_t t_ms, int64_t width_ms);
/* give of an acc whose arg is a record_level_arg: writes the row. */
enum err_code record_put_row(void *arg, const struct record_row *row, struct err *err);
void record_read_row(sqlite3_stmt *statement, struct record_row *row); /* columns t ... count */
void record_read_sample(sqlite3_stmt *statement, struct record_sample *sample); /* t, v, q, lag */

/* ---- chain.c ---- */
enum { HASH_BYTES = 32 };
void record_hash(const unsigned char before[HASH_BYTES], const struct record_entry *entry,
                 const char *kind, unsigned char out[HASH_BYTES]);
/* ---- entries.c: inside a transaction that is open ---- */
NODISCARD enum err_code record_append_open(struct record *record, struct record_entry *entry,
                                           struct err *err);
NODISCARD enum err_code record_newest_entry(struct record *record, int64_t *number_out,
                                            unsigned char hash[HASH_BYTES], struct err *err);

#endif
