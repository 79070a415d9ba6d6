/* Retention: what is older than it says, a slice at a time. */
#include "record/record_impl.h"

static const char doing[] = "deleting what is older than is kept";

enum { RAW_OF_ROWS = 100 }; /* a raw file may be large: one for so many rows of a slice */

static const int64_t day_ms = 24 * (int64_t)HOUR_MS;

struct tidy {
  struct record *record;
  int64_t samples_ms, ten_ms; /* of before: deleted; INT64_MIN: for ever */
  long left, deleted;
};

static enum err_code one_number(struct record *record, sqlite3_stmt *statement, bool *has_out,
                                int64_t *out, struct err *err)
{
  enum err_code code = record_step(record, statement, has_out, doing, err);

  if (code == ERR_OK && *has_out)
    *out = sqlite3_column_int64(statement, 0);
  sqlite3_reset(statement);
  return code;
}

/* ---- before when ---- */

static bool is_for_ever(double keep_s)
{
  return !(keep_s > 0) || keep_s > 1e10;
}

/* Days of the calendar that it touches. */
static long days_of(double keep_s)
{
  return (long)(keep_s / 86400) + 1;
}

static int64_t by_clock(int64_t now_ms, double keep_s)
{
  if (is_for_ever(keep_s))
    return INT64_MIN;
  return record_floor(now_ms - (int64_t)(keep_s * 1000),
                      HOUR_MS); /* whole hours, as roll-ups are */
}

/* Any hour of the day before t_ms in which a value came, which is quick; else the newest before t_ms. */
static enum err_code hour_before(struct record *record, int64_t t_ms, bool *has_out,
                                 int64_t *hour_ms, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_HOUR_WITHIN, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, t_ms - day_ms);
  sqlite3_bind_int64(statement, 2, t_ms);
  enum err_code code = one_number(record, statement, has_out, hour_ms, err);

  if (code != ERR_OK || *has_out)
    return code;
  statement = record_sql(record, SQL_HOUR_BEFORE, err);
  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, t_ms);
  return one_number(record, statement, has_out, hour_ms, err);
}

struct lived {
  int64_t from_ms; /* where the newest so many days with values begin; INT64_MIN: they are fewer */
  long since;      /* how many of them are of the time by the clock */
  bool older;      /* there is one before that */
};

static enum err_code look_back(struct record *record, int64_t now_ms, int64_t by_clock_ms,
                               double keep_s, struct lived *out, struct err *err)
{
  int64_t day = record_floor(now_ms, day_ms) + day_ms;
  enum err_code code = ERR_OK;

  *out = (struct lived){.from_ms = INT64_MIN};
  for (long i = 0; i < days_of(keep_s); i++) {
    int64_t hour_ms = 0;
    bool has;

    code = hour_before(record, day, &has, &hour_ms, err);
    if (code != ERR_OK || !has)
      return code;
    day = record_floor(hour_ms, day_ms);
    if (day >= record_floor(by_clock_ms, day_ms))
      out->since++;
    else
      out->older = true;
  }
  out->from_ms = day;
  return code;
}

/* Of before this a table may be deleted. */
static enum err_code bound(struct record *record, int64_t now_ms, double keep_s, int64_t *out_ms,
                           struct lived *lived, struct err *err)
{
  int64_t by_clock_ms = by_clock(now_ms, keep_s);
  enum err_code code = ERR_OK;

  *lived = (struct lived){.from_ms = INT64_MIN};
  if (by_clock_ms != INT64_MIN)
    code = look_back(record, now_ms, by_clock_ms, keep_s, lived, err);
  if (code == ERR_OK)
    *out_ms = lived->from_ms < by_clock_ms ? lived->from_ms : by_clock_ms;
  return code;
}

enum err_code record_due(struct record *record, const struct feeds *feeds, int64_t now_ms,
                         struct record_due *out, struct err *err)
{
  struct record_due due = {.samples_ms = INT64_MIN, .ten_ms = INT64_MIN};
  struct lived samples, ten;
  enum err_code code = record_run(record, "BEGIN", doing, err);

  if (code != ERR_OK)
    return code;
  code = bound(record, now_ms, feeds->keep_raw_s, &due.samples_ms, &samples, err);
  if (code == ERR_OK)
    code = bound(record, now_ms, feeds->keep_10min_s, &due.ten_ms, &ten, err);
  code = record_end(record, code, err);
  if (code != ERR_OK)
    return code;
  due.days = is_for_ever(feeds->keep_raw_s) ? 0 : days_of(feeds->keep_raw_s);
  due.lived_days = samples.since;
  due.waits = samples.older && samples.since < due.days;
  *out = due;
  return ERR_OK;
}

/* ---- a slice ---- */

/* Where the slice ends: at the boundary, or after as many rows as are left to delete. */
static enum err_code slice_end(const struct tidy *tidy, enum record_statement nth, int64_t series,
                               int64_t boundary_ms, int64_t *out_ms, struct err *err)
{
  sqlite3_stmt *statement = record_sql(tidy->record, nth, err);
  bool has;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  sqlite3_bind_int64(statement, 2, boundary_ms);
  sqlite3_bind_int64(statement, 3, tidy->left);
  *out_ms = boundary_ms;
  return one_number(tidy->record, statement, &has, out_ms, err);
}

static enum err_code delete_before(struct tidy *tidy, enum record_statement which, int64_t series,
                                   int64_t a, int64_t b, struct err *err)
{
  sqlite3_stmt *statement = record_sql(tidy->record, which, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  sqlite3_bind_int64(statement, 2, a);
  sqlite3_bind_int64(statement, 3, b);
  enum err_code code = record_done(tidy->record, statement, doing, err);

  if (code == ERR_OK) {
    tidy->deleted += sqlite3_changes(tidy->record->db);
    tidy->left -= sqlite3_changes(tidy->record->db);
  }
  return code;
}

/* The sample that may still hold at the boundary stays: the first bucket after it needs it. */
static enum err_code tidy_samples(struct tidy *tidy, int64_t series, struct err *err)
{
  sqlite3_stmt *before = record_sql(tidy->record, SQL_BEFORE, err);
  int64_t holder_ms = INT64_MIN, end_ms;
  bool has;

  if (!before)
    return err_same(ERR_IO);
  sqlite3_bind_int64(before, 1, series);
  sqlite3_bind_int64(before, 2, tidy->samples_ms);
  sqlite3_bind_int64(before, 3, INT64_MAX);
  enum err_code code = one_number(tidy->record, before, &has, &holder_ms, err);

  if (code == ERR_OK)
    code = slice_end(tidy, SQL_NTH_SAMPLE, series, tidy->samples_ms, &end_ms, err);
  if (code == ERR_OK)
    code = delete_before(tidy, SQL_OLD_SAMPLES, series, end_ms, holder_ms, err);
  return code;
}

static enum err_code tidy_series(struct tidy *tidy, int64_t series, struct err *err)
{
  sqlite3_stmt *kept = record_sql(tidy->record, SQL_SET_KEPT, err);
  int64_t end_ms;

  if (!kept)
    return err_same(ERR_IO);
  sqlite3_bind_int64(kept, 1, series);
  sqlite3_bind_int64(kept, 2, tidy->samples_ms);
  sqlite3_bind_int64(kept, 3, tidy->ten_ms);
  enum err_code code = record_done(tidy->record, kept, doing, err);

  if (code == ERR_OK && tidy->samples_ms != INT64_MIN)
    code = tidy_samples(tidy, series, err);
  if (code != ERR_OK || tidy->ten_ms == INT64_MIN || tidy->left <= 0)
    return code;
  code = slice_end(tidy, SQL_NTH_10MIN, series, tidy->ten_ms, &end_ms, err);
  return code == ERR_OK ? delete_before(tidy, SQL_CLEAR_10MIN, series, INT64_MIN, end_ms, err)
                        : code;
}

static enum err_code tidy_raw(struct tidy *tidy, struct err *err)
{
  sqlite3_stmt *statement = record_sql(tidy->record, SQL_RAW_OLD, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, tidy->samples_ms);
  sqlite3_bind_int64(statement, 2, tidy->left / RAW_OF_ROWS + 1);
  enum err_code code = record_done(tidy->record, statement, doing, err);

  if (code == ERR_OK)
    tidy->deleted += sqlite3_changes(tidy->record->db);
  return code;
}

static enum err_code tidy_all(struct tidy *tidy, struct err *err)
{
  sqlite3_stmt *all = record_sql(tidy->record, SQL_ALL_SERIES, err);
  enum err_code code = ERR_OK;
  bool row = true;

  if (!all)
    return err_same(ERR_IO);
  while (code == ERR_OK && row && tidy->left > 0) {
    code = record_step(tidy->record, all, &row, doing, err);
    if (code == ERR_OK && row)
      code = tidy_series(tidy, sqlite3_column_int64(all, 0), err);
  }
  sqlite3_reset(all);
  if (code == ERR_OK && tidy->samples_ms != INT64_MIN && tidy->left > 0)
    code = tidy_raw(tidy, err);
  return code;
}

enum err_code record_tidy(struct record *record, const struct record_due *due, long most_rows,
                          long *deleted_out, struct err *err)
{
  struct tidy tidy = {
      .record = record, .samples_ms = due->samples_ms, .ten_ms = due->ten_ms, .left = most_rows};
  enum err_code code = record_writes(record, err);

  BUG_IF(most_rows < 1);
  if (code == ERR_OK && due->samples_ms == INT64_MIN && due->ten_ms == INT64_MIN) {
    *deleted_out = 0;
    return ERR_OK;
  }
  if (code == ERR_OK)
    code = record_begin(record, err);
  if (code != ERR_OK)
    return code;
  code = record_end(record, tidy_all(&tidy, err), err);
  if (code == ERR_OK && tidy.deleted > 0) /* gives the room back to the disk, a little at a time */
    code = record_run(record, "PRAGMA incremental_vacuum(1000);", doing, err);
  if (code == ERR_OK)
    *deleted_out = tidy.deleted;
  return code;
}

enum err_code record_kept(struct record *record, int64_t *from_out_ms, struct err *err)
{
  enum err_code code = record_run(record, "BEGIN", doing, err);
  int64_t from_ms = INT64_MIN, samples_ms, ten_ms;

  if (code != ERR_OK)
    return code;
  code = record_refresh(record, err);
  for (int i = 0; code == ERR_OK && i < record->point_count; i++)
    for (int s = 0; code == ERR_OK && s < record->points[i].series_count; s++) {
      code =
          record_kept_from(record, record->points[i].series[s].number, &samples_ms, &ten_ms, err);
      if (code == ERR_OK && samples_ms > from_ms)
        from_ms = samples_ms;
    }
  code = record_end(record, code, err);
  if (code == ERR_OK)
    *from_out_ms = from_ms;
  return code;
}
