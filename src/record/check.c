/* Is the file sound?  Pages, roll-ups against samples, raw files against their hashes. */
#include "record/record_impl.h"

#include <inttypes.h>
#include <sodium.h>
#include <string.h>

static const char doing[] = "checking it";

enum { FAULTS_TOLD_MOST = 50 };

struct look {
  struct record *record;
  struct buf *out;
  int faults;
  /* of the level that is compared now */
  enum record_level level;
  int64_t series, from_ms;
  sqlite3_stmt *rows;
};

static PRINTF_LIKE(2, 3) void fault(struct look *look, const char *fmt, ...)
{
  va_list args;

  if (look->faults++ >= FAULTS_TOLD_MOST)
    return;
  va_start(args, fmt);
  buf_vprintf(look->out, fmt, args);
  va_end(args);
  buf_putc(look->out, '\n');
}

static enum err_code look_at_pages(struct look *look, struct err *err)
{
  sqlite3_stmt *statement = NULL;
  int step = SQLITE_ERROR;

  if (sqlite3_prepare_v2(look->record->db, "PRAGMA integrity_check(20)", -1, &statement, NULL) ==
      SQLITE_OK)
    while ((step = sqlite3_step(statement)) == SQLITE_ROW)
      if (strcmp((const char *)sqlite3_column_text(statement, 0), "ok") != 0)
        fault(look, "the file is damaged: %s", (const char *)sqlite3_column_text(statement, 0));
  enum err_code code = step == SQLITE_DONE ? ERR_OK : record_fail(look->record, doing, err);

  sqlite3_finalize(statement);
  return code;
}

/* ---- roll-ups ---- */

static bool same_row(const struct record_row *a, const struct record_row *b)
{
  return a->t_ms == b->t_ms && a->min == b->min && a->max == b->max && a->first == b->first &&
         a->last == b->last && a->integral == b->integral && a->good_ms == b->good_ms &&
         a->count == b->count;
}

static void tell_row(struct look *look, int64_t t_ms, const char *what)
{
  fault(look, "series %" PRId64 ", %s from %" PRId64 " ms: %s", look->series,
        look->level == LEVEL_10MIN ? "ten minutes" : "hour", t_ms, what);
}

/* give of the acc that makes them anew: the file must have the same next. */
static enum err_code compare_row(void *arg, const struct record_row *wanted, struct err *err)
{
  struct look *look = arg;
  struct record_row found;
  bool row;
  enum err_code code;

  if (wanted->t_ms < look->from_ms)
    return ERR_OK;
  code = record_step(look->record, look->rows, &row, doing, err);
  if (code != ERR_OK)
    return code;
  if (!row) {
    tell_row(look, wanted->t_ms, "the roll-up is missing");
    return ERR_OK;
  }
  record_read_row(look->rows, &found);
  if (!same_row(&found, wanted))
    tell_row(look, found.t_ms, "the roll-up is not what its samples give");
  return ERR_OK;
}

static enum err_code look_at_level(struct look *look, const struct record_series *series,
                                   struct err *err)
{
  struct record_acc acc = {
      .width_ms = record_level_ms[look->level], .give = compare_row, .arg = look};
  int64_t samples_ms, ten_ms;
  bool row = true;
  enum err_code code = record_kept_from(look->record, series->number, &samples_ms, &ten_ms, err);

  look->series = series->number;
  look->from_ms = look->level == LEVEL_10MIN && ten_ms > samples_ms ? ten_ms : samples_ms;
  look->rows =
      code == ERR_OK
          ? record_sql(look->record, look->level == LEVEL_10MIN ? SQL_SPAN_10MIN : SQL_SPAN_1H, err)
          : NULL;
  if (!look->rows)
    return err_same(code == ERR_OK ? ERR_IO : code);
  sqlite3_bind_int64(look->rows, 1, series->number);
  sqlite3_bind_int64(look->rows, 2, look->from_ms);
  sqlite3_bind_int64(look->rows, 3, INT64_MAX);
  const struct record_window window = {samples_ms, INT64_MAX, INT64_MAX};

  code = record_sweep(look->record, series, &window, &acc, 1, err);
  if (code == ERR_OK)
    code = record_step(look->record, look->rows, &row, doing, err);
  if (code == ERR_OK && row)
    tell_row(look, sqlite3_column_int64(look->rows, 0), "a roll-up without samples");
  sqlite3_reset(look->rows);
  return code;
}

static enum err_code look_at_rollups(struct look *look, struct err *err)
{
  sqlite3_stmt *all = record_sql(look->record, SQL_ALL_SERIES, err);
  enum err_code code = ERR_OK;
  bool row = true;

  if (!all)
    return err_same(ERR_IO);
  while (code == ERR_OK && row) {
    code = record_step(look->record, all, &row, doing, err);
    if (code != ERR_OK || !row)
      break;
    struct record_series series = {.number = sqlite3_column_int64(all, 0),
                                   .hold_ms = sqlite3_column_int64(all, 3),
                                   .began_ms = sqlite3_column_int64(all, 4),
                                   .ended_ms = sqlite3_column_int64(all, 5)};

    for (int level = 0; code == ERR_OK && level < LEVEL_COUNT; level++) {
      look->level = (enum record_level)level;
      code = look_at_level(look, &series, err);
    }
  }
  sqlite3_reset(all);
  return code;
}

/* ---- raw files ---- */

static enum err_code look_at_raw(struct look *look, struct err *err)
{
  sqlite3_stmt *all = record_sql(look->record, SQL_RAW_ALL, err);
  bool row = true;

  if (!all)
    return err_same(ERR_IO);
  for (;;) {
    unsigned char hash[crypto_hash_sha256_BYTES];
    enum err_code code = record_step(look->record, all, &row, doing, err);

    if (code != ERR_OK || !row)
      return code;
    crypto_hash_sha256(hash, sqlite3_column_blob(all, 2),
                       (unsigned long long)sqlite3_column_bytes(all, 2));
    if (sqlite3_column_bytes(all, 1) != HASH_BYTES ||
        memcmp(hash, sqlite3_column_blob(all, 1), HASH_BYTES) != 0)
      fault(look, "raw file %.100s: its bytes are not those that were read",
            (const char *)sqlite3_column_text(all, 0));
  }
}

enum err_code record_check(struct record *record, int *faults_out, struct buf *out, struct err *err)
{
  struct look look = {.record = record, .out = out};
  enum err_code code = record_run(record, "BEGIN", doing, err);

  if (code != ERR_OK)
    return code;
  code = look_at_pages(&look, err);
  if (code == ERR_OK && look.faults == 0) { /* what a damaged page holds says nothing */
    code = look_at_rollups(&look, err);
    if (code == ERR_OK)
      code = look_at_raw(&look, err);
  }
  code = record_end(record, code, err);
  if (code == ERR_OK) {
    if (look.faults > FAULTS_TOLD_MOST)
      buf_printf(out, "and %d more\n", look.faults - FAULTS_TOLD_MOST);
    *faults_out = look.faults;
  }
  return code;
}
