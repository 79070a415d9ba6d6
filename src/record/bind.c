/* Which rows of the record belong to which point of a feeds file. */
#include "record/record_impl.h"

#include "units/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char doing[] = "binding its points";

enum { HOLD_MOST_S = 31 * 86400 };

/* ---- what a point says, in words ---- */

static const char *kept(struct record *record, const char *text)
{
  const char *copy = arena_strdup(&record->arena, text ? text : "");

  BUG_IF(!copy); /* a feeds file is far smaller than the arena */
  return copy;
}

static void describe(struct record *record, const struct facility *facility,
                     const struct feeds_point *from, struct record_point *point)
{
  struct buf words;

  buf_init(&words, 1000);
  *point = (struct record_point){.suite = kept(record, facility->name),
                                 .id = kept(record, from->part.id)};
  feeds_about(facility, from, &words);
  point->about = kept(record, words.text);
  buf_clear(&words);
  buf_puts(&words, feeds_what_name(from->what));
  if (from->what == FEEDS_PRESSURE && from->of == FEEDS_OF_ROOM)
    buf_printf(&words, " over %s", facility_node_id(facility, from->over));
  point->what = kept(record, words.text);
  point->dimension = from->yes_no  ? "yes or no"
                     : from->count ? "count"
                                   : units_words(from->dimension);
  buf_release(&words);
}

static struct record_series counted(const struct feeds_point *from)
{
  double hold_s = from->old_after_s < HOLD_MOST_S ? from->old_after_s : HOLD_MOST_S;
  double base_si = -from->zero * from->factor; /* what the source's 0 is */
  bool plain = from->yes_no || from->count;

  return (struct record_series){.step_si = plain ? 1 : from->resolution_si,
                                .base_si = plain || !isfinite(base_si) ? 0 : base_si + 0.0,
                                .hold_ms = llround(hold_s * 1000),
                                .began_ms = INT64_MIN,
                                .ended_ms = INT64_MAX};
}

static bool counts_alike(const struct record_series *a, const struct record_series *b)
{
  return !islessgreater(a->step_si, b->step_si) && !islessgreater(a->base_si, b->base_si) &&
         a->hold_ms == b->hold_ms;
}

/* ---- the series of a point ---- */

static enum err_code find(struct record *record, struct record_point *point, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_SERIES_OF, err);
  bool row = true;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_text(statement, 1, point->suite, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 2, point->id, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 3, point->about, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 4, point->what, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 5, point->dimension, -1, SQLITE_STATIC);
  point->series_count = 0;
  for (;;) {
    enum err_code code = record_step(record, statement, &row, doing, err);

    if (code != ERR_OK || !row)
      return code;
    struct record_series *more =
        realloc(point->series, (size_t)(point->series_count + 1) * sizeof *more);

    if (!more)
      err_no_memory();
    point->series = more;
    more[point->series_count++] =
        (struct record_series){.number = sqlite3_column_int64(statement, 0),
                               .step_si = sqlite3_column_double(statement, 1),
                               .base_si = sqlite3_column_double(statement, 2),
                               .hold_ms = sqlite3_column_int64(statement, 3),
                               .began_ms = sqlite3_column_int64(statement, 4),
                               .ended_ms = sqlite3_column_int64(statement, 5)};
  }
}

enum err_code record_other_suite(struct record *record, const struct facility *facility,
                                 struct arena *arena, const char **name_out, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_OTHER_SUITE, err);
  bool row;

  *name_out = NULL;
  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_text(statement, 1, facility->name ? facility->name : "", -1, SQLITE_STATIC);
  enum err_code code = record_step(record, statement, &row, doing, err);

  if (code == ERR_OK && row)
    *name_out = arena_strdup(arena, (const char *)sqlite3_column_text(statement, 0));
  sqlite3_reset(statement);
  return code;
}

static enum err_code newest_series(struct record *record, int64_t *out, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_NEWEST_SERIES, err);
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  enum err_code code = record_step(record, statement, &row, doing, err);

  if (code == ERR_OK && row)
    *out = sqlite3_column_int64(statement, 0);
  sqlite3_reset(statement);
  return code;
}

enum err_code record_refresh(struct record *record, struct err *err)
{
  int64_t newest = 0;
  enum err_code code = newest_series(record, &newest, err);

  if (code != ERR_OK || newest == record->newest_series)
    return code;
  for (int i = 0; code == ERR_OK && i < record->point_count; i++)
    code = find(record, &record->points[i], err);
  if (code == ERR_OK)
    record->newest_series = newest;
  return code;
}

static enum err_code add_series(struct record *record, const struct record_point *point,
                                const struct record_series *series, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_ADD_SERIES, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_text(statement, 1, point->suite, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 2, point->id, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 3, point->about, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 4, point->what, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 5, point->dimension, -1, SQLITE_STATIC);
  sqlite3_bind_double(statement, 6, series->step_si);
  sqlite3_bind_double(statement, 7, series->base_si);
  sqlite3_bind_int64(statement, 8, series->hold_ms);
  sqlite3_bind_int64(statement, 9, series->began_ms);
  sqlite3_bind_int64(statement, 10, series->ended_ms);
  return record_done(record, statement, doing, err);
}

static enum err_code tell(struct record *record, const struct record_point *point, int64_t now_ms,
                          const char *text, struct err *err)
{
  struct record_entry entry = {.t_ms = now_ms,
                               .written_ms = now_ms,
                               .kind = RECORD_SETTINGS,
                               .about = point->about,
                               .who = "inward",
                               .text = text,
                               .detail = ""};

  return record_append_open(record, &entry, err);
}

/* A statement with one number in and perhaps one out. */
static enum err_code ask_number(struct record *record, sqlite3_stmt *statement, int64_t series,
                                int64_t *out, struct err *err)
{
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  enum err_code code = record_step(record, statement, &row, doing, err);

  if (code == ERR_OK && row && sqlite3_column_type(statement, 0) != SQLITE_NULL)
    *out = sqlite3_column_int64(statement, 0);
  sqlite3_reset(statement);
  return code;
}

/* What was said of a later moment (only without a value: it is from the future) goes along. */
static enum err_code move_samples(struct record *record, int64_t from, int64_t to, int64_t since_ms,
                                  struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_MOVE_SAMPLES, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, from);
  sqlite3_bind_int64(statement, 2, to);
  sqlite3_bind_int64(statement, 3, since_ms);
  return record_done(record, statement, doing, err);
}

static enum err_code end_series(struct record *record, const struct record_series *old,
                                int64_t newest_ms, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_END_SERIES, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, old->number);
  sqlite3_bind_int64(statement, 2, old->ended_ms);
  enum err_code code = record_done(record, statement, doing, err);

  if (code == ERR_OK && newest_ms != INT64_MIN) /* its last value's hold is known now */
    code = record_remake(record, old, newest_ms, newest_ms + old->hold_ms, err);
  return code;
}

/* The same point, counted otherwise from now on. */
static enum err_code go_on(struct record *record, const struct record_point *point,
                           struct record_series wanted, int64_t now_ms, struct err *err)
{
  struct record_series old = point->series[point->series_count - 1];
  int64_t newest_ms = INT64_MIN;
  enum err_code code = ask_number(record, record_sql(record, SQL_NEWEST_WITH_TIME, err), old.number,
                                  &newest_ms, err);

  if (code != ERR_OK)
    return code;
  wanted.began_ms = now_ms > newest_ms ? now_ms : newest_ms + 1;
  old.ended_ms = wanted.began_ms;
  code = end_series(record, &old, newest_ms, err);
  if (code == ERR_OK)
    code = add_series(record, point, &wanted, err);
  if (code == ERR_OK)
    code = move_samples(record, old.number, sqlite3_last_insert_rowid(record->db), wanted.began_ms,
                        err);
  if (code != ERR_OK)
    return code;

  struct buf text;

  buf_init(&text, 1000);
  buf_printf(&text, "point %s is kept otherwise from now on: steps of %.6g %s, old after %.6g s",
             point->id, wanted.step_si, "SI", (double)wanted.hold_ms * 1e-3);
  code = tell(record, point, now_ms, text.text, err);
  buf_release(&text);
  return code;
}

/* A point of that id said something else before? */
static enum err_code tell_change(struct record *record, const struct record_point *point,
                                 int64_t now_ms, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_SERIES_BY_ID, err);
  struct buf text;
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_text(statement, 1, point->suite, -1, SQLITE_STATIC);
  sqlite3_bind_text(statement, 2, point->id, -1, SQLITE_STATIC);
  enum err_code code = record_step(record, statement, &row, doing, err);

  if (code != ERR_OK || !row)
    return code;
  buf_init(&text, 1000);
  buf_printf(&text, "point %s says something else from now on: %s of %s (%s), before %s of %s (%s)",
             point->id, point->what, point->about[0] ? point->about : "the suite", point->dimension,
             (const char *)sqlite3_column_text(statement, 1),
             sqlite3_column_bytes(statement, 0) > 0
                 ? (const char *)sqlite3_column_text(statement, 0)
                 : "the suite",
             (const char *)sqlite3_column_text(statement, 2));
  sqlite3_reset(statement);
  code = tell(record, point, now_ms, text.text, err);
  buf_release(&text);
  return code;
}

static enum err_code bind_point(struct record *record, struct record_point *point,
                                const struct feeds_point *from, int64_t now_ms, struct err *err)
{
  struct record_series wanted = counted(from);
  enum err_code code = find(record, point, err);

  if (code != ERR_OK || record->mode == RECORD_READ)
    return code;
  if (point->series_count == 0) {
    code = tell_change(record, point, now_ms, err);
    if (code == ERR_OK)
      code = add_series(record, point, &wanted, err);
  } else if (!counts_alike(&point->series[point->series_count - 1], &wanted)) {
    code = go_on(record, point, wanted, now_ms, err);
  } else {
    return ERR_OK;
  }
  return code == ERR_OK ? find(record, point, err) : code;
}

static void unbind(struct record *record)
{
  for (int i = 0; i < record->point_count; i++)
    free(record->points[i].series);
  free(record->points);
  record->points = NULL;
  record->point_count = 0;
  arena_release(&record->arena);
}

enum err_code record_bind(struct record *record, const struct facility *facility,
                          const struct feeds *feeds, int64_t now_ms, struct err *err)
{
  enum err_code code;

  unbind(record);
  record->points = calloc((size_t)feeds->point_count + 1, sizeof *record->points);
  if (!record->points)
    err_no_memory();
  code = record_begin(record, err);
  if (code != ERR_OK)
    return code;
  for (int i = 0; code == ERR_OK && i < feeds->point_count; i++) {
    describe(record, facility, &feeds->points[i], &record->points[i]);
    record->point_count = i + 1;
    code = bind_point(record, &record->points[i], &feeds->points[i], now_ms, err);
  }
  if (code == ERR_OK)
    code = newest_series(record, &record->newest_series, err);
  code = record_end(record, code, err);
  if (code != ERR_OK)
    unbind(record);
  return code;
}
