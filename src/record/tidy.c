/* Retention: what is older than it says, a slice at a time. */
#include "record/record_impl.h"

static const char doing[] = "deleting what is older than is kept";

struct tidy {
  struct record *record;
  int64_t samples_ms, ten_ms; /* of before: deleted; INT64_MIN: for ever */
  long left, deleted;
};

static int64_t boundary(int64_t now_ms, double keep_s)
{
  if (!(keep_s > 0) || keep_s > 1e10)
    return INT64_MIN;
  return record_floor(now_ms - (int64_t)(keep_s * 1000),
                      HOUR_MS); /* whole hours, as roll-ups are */
}

static enum err_code one_number(struct record *record, sqlite3_stmt *statement, bool *has_out,
                                int64_t *out, struct err *err)
{
  enum err_code code = record_step(record, statement, has_out, doing, err);

  if (code == ERR_OK && *has_out)
    *out = sqlite3_column_int64(statement, 0);
  sqlite3_reset(statement);
  return code;
}

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
  sqlite3_bind_int64(statement, 2, tidy->left);
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

enum err_code record_tidy(struct record *record, const struct feeds *feeds, int64_t now_ms,
                          long most_rows, long *deleted_out, struct err *err)
{
  struct tidy tidy = {.record = record,
                      .samples_ms = boundary(now_ms, feeds->keep_raw_s),
                      .ten_ms = boundary(now_ms, feeds->keep_10min_s),
                      .left = most_rows};
  enum err_code code = record_writes(record, err);

  BUG_IF(most_rows < 1);
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
