/* Samples in: the usual one comes after all others of its point and costs one insert. */
#include "record/record_impl.h"

#include <math.h>
#include <stdlib.h>

static const char doing[] = "adding samples";
static const double most_steps = 1099511627776.0; /* 2^40: times an hour in ms it fits 63 bits */

static struct record_series *current(struct record_point *point)
{
  return &point->series[point->series_count - 1];
}

/* ---- where a point stands ---- */

static enum err_code load_row(struct record *record, enum record_statement which, int64_t series,
                              struct record_row *out, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, which, err);
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  enum err_code code = record_step(record, statement, &row, doing, err);

  *out = (struct record_row){0};
  if (code == ERR_OK && row)
    record_read_row(statement, out);
  sqlite3_reset(statement);
  return code;
}

static enum err_code load_newest(struct record *record, int64_t series, bool *has_out,
                                 struct record_sample *out, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_LATEST, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  enum err_code code = record_step(record, statement, has_out, doing, err);

  if (code == ERR_OK && *has_out)
    record_read_sample(statement, out);
  sqlite3_reset(statement);
  return code;
}

static enum err_code load(struct record *record, struct record_point *point, struct err *err)
{
  static const enum record_statement newest[LEVEL_COUNT] = {SQL_NEWEST_10MIN, SQL_NEWEST_1H};
  int64_t series = current(point)->number;
  enum err_code code = load_newest(record, series, &point->has_newest, &point->newest, err);

  for (int i = 0; code == ERR_OK && i < LEVEL_COUNT; i++) {
    point->arg[i] = (struct record_level_arg){record, series, (enum record_level)i};
    point->acc[i] = (struct record_acc){
        .width_ms = record_level_ms[i], .give = record_put_row, .arg = &point->arg[i]};
    code = load_row(record, newest[i], series, &point->acc[i].row, err);
  }
  point->loaded = code == ERR_OK;
  return code;
}

/* ---- one observation ---- */

static struct record_sample scaled(const struct record_series *series,
                                   const struct feed_observation *from)
{
  struct record_sample sample = {
      .t_ms = from->t_ms, .lag_ms = from->seen_ms - from->t_ms, .quality = from->quality};
  double steps = (from->si - series->base_si) / series->step_si;

  if (isnan(from->si))
    return sample;
  if (!(fabs(steps) < most_steps)) {
    sample.quality = FEED_UNREADABLE;
    return sample;
  }
  sample.has_v = true;
  sample.v = llround(steps);
  return sample;
}

static enum err_code insert(struct record *record, int64_t series,
                            const struct record_sample *sample, bool *new_out, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_ADD_SAMPLE, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  sqlite3_bind_int64(statement, 2, sample->t_ms);
  if (sample->has_v)
    sqlite3_bind_int64(statement, 3, sample->v);
  else
    sqlite3_bind_null(statement, 3);
  sqlite3_bind_int(statement, 4, (int)sample->quality);
  sqlite3_bind_int64(statement, 5, sample->lag_ms);
  enum err_code code = record_done(record, statement, doing, err);

  *new_out = code == ERR_OK && sqlite3_changes(record->db) > 0;
  return code;
}

/* Newer than all of its point: what held until now is known, and no bucket of before changes. */
static enum err_code follow(struct record_point *point, const struct record_sample *sample,
                            struct err *err)
{
  const struct record_sample *before = &point->newest;
  int64_t end_ms = point->has_newest ? before->t_ms + current(point)->hold_ms : INT64_MIN;
  bool held = point->has_newest && record_measured(before->quality, before->has_v);
  bool measured = record_measured(sample->quality, sample->has_v);
  enum err_code code = ERR_OK;

  if (end_ms > sample->t_ms)
    end_ms = sample->t_ms;
  for (int i = 0; code == ERR_OK && i < LEVEL_COUNT; i++) {
    if (held)
      code = record_acc_hold(&point->acc[i], before->v, before->t_ms, end_ms, err);
    if (code == ERR_OK && measured)
      code = record_acc_observe(&point->acc[i], sample->v, sample->t_ms, err);
  }
  point->newest = *sample;
  point->has_newest = true;
  return code;
}

static void mark_dirty(struct record *record, int point, int series, int64_t from_ms, int64_t to_ms)
{
  if (record->dirty_count == record->dirty_room) {
    int room = record->dirty_room ? 2 * record->dirty_room : 64;
    struct record_dirty *more = realloc(record->dirty, (size_t)room * sizeof *more);

    if (!more)
      err_no_memory();
    record->dirty = more;
    record->dirty_room = room;
  }
  record->dirty[record->dirty_count++] = (struct record_dirty){point, series, from_ms, to_ms};
}

/* Late: whatever stood until the next sample is to be made anew. */
static enum err_code fall_behind(struct record *record, int point, int series,
                                 const struct record_sample *sample, struct err *err)
{
  const struct record_series *in = &record->points[point].series[series];
  sqlite3_stmt *statement = record_sql(record, SQL_NEXT_T, err);
  int64_t end_ms = sample->t_ms + in->hold_ms;
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, in->number);
  sqlite3_bind_int64(statement, 2, sample->t_ms);
  enum err_code code = record_step(record, statement, &row, doing, err);

  if (code == ERR_OK && row && sqlite3_column_int64(statement, 0) < end_ms)
    end_ms = sqlite3_column_int64(statement, 0);
  sqlite3_reset(statement);
  mark_dirty(record, point, series, sample->t_ms, end_ms);
  return code;
}

static int series_at(const struct record_point *point, int64_t t_ms)
{
  int series = point->series_count - 1;

  while (series > 0 && t_ms < point->series[series].began_ms)
    series--;
  return series;
}

static enum err_code is_too_old(struct record *record, int64_t series, int64_t t_ms, bool *out,
                                struct err *err)
{
  int64_t samples_ms, ten_ms;
  enum err_code code = record_kept_from(record, series, &samples_ms, &ten_ms, err);

  *out = t_ms < samples_ms;
  return code;
}

static enum err_code add_one(struct record *record, const struct feed_observation *from,
                             struct record_added *added, struct err *err)
{
  struct record_point *point = &record->points[from->point];
  int at = series_at(point, from->t_ms);
  struct record_series *series = &point->series[at];
  struct record_sample sample = scaled(series, from);
  bool follows = at == point->series_count - 1 &&
                 (!point->has_newest || sample.t_ms > point->newest.t_ms) &&
                 sample.quality != FEED_FUTURE;
  bool too_old = false, is_new = false;
  enum err_code code = ERR_OK;

  if (!follows || !point->has_newest)
    code = is_too_old(record, series->number, sample.t_ms, &too_old, err);
  if (code != ERR_OK || too_old) {
    added->too_old += too_old;
    return code;
  }
  code = insert(record, series->number, &sample, &is_new, err);
  if (code != ERR_OK || !is_new) {
    added->doubled += code == ERR_OK;
    return code;
  }
  added->kept++;
  point->touched = true;
  if (sample.quality == FEED_FUTURE)
    return ERR_OK;
  return follows ? follow(point, &sample, err) : fall_behind(record, from->point, at, &sample, err);
}

/* ---- a batch ---- */

static enum err_code put_latest(struct record *record, const struct record_point *point,
                                struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_PUT_LATEST, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, point->series[point->series_count - 1].number);
  sqlite3_bind_int64(statement, 2, point->newest.t_ms);
  if (point->newest.has_v)
    sqlite3_bind_int64(statement, 3, point->newest.v);
  else
    sqlite3_bind_null(statement, 3);
  sqlite3_bind_int(statement, 4, (int)point->newest.quality);
  sqlite3_bind_int64(statement, 5, point->newest.lag_ms);
  return record_done(record, statement, doing, err);
}

static enum err_code finish(struct record *record, struct record_point *point, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; code == ERR_OK && i < LEVEL_COUNT; i++)
    code = record_acc_flush(&point->acc[i], err);
  if (code == ERR_OK && point->has_newest)
    code = put_latest(record, point, err);
  return code;
}

static int by_place(const void *a, const void *b)
{
  const struct record_dirty *x = a, *y = b;

  if (x->point != y->point)
    return x->point < y->point ? -1 : 1;
  if (x->series != y->series)
    return x->series < y->series ? -1 : 1;
  return (x->from_ms > y->from_ms) - (x->from_ms < y->from_ms);
}

/* Neighbours are made anew together: a late table would else make each hour once a row. */
static enum err_code remake_all(struct record *record, struct err *err)
{
  enum err_code code = ERR_OK;

  if (record->dirty_count > 0)
    qsort(record->dirty, (size_t)record->dirty_count, sizeof *record->dirty, by_place);
  for (int i = 0; code == ERR_OK && i < record->dirty_count;) {
    struct record_dirty all = record->dirty[i++];
    struct record_point *point = &record->points[all.point];

    for (; i < record->dirty_count; i++) {
      const struct record_dirty *next = &record->dirty[i];

      if (next->point != all.point || next->series != all.series ||
          next->from_ms > all.to_ms + HOUR_MS)
        break;
      if (next->to_ms > all.to_ms)
        all.to_ms = next->to_ms;
    }
    code = record_remake(record, &point->series[all.series], all.from_ms, all.to_ms, err);
    point->loaded = false; /* the newest stretch may be another now */
  }
  return code;
}

static enum err_code add_all(struct record *record, const struct feed_observation *list, int count,
                             struct record_added *added, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; code == ERR_OK && i < count; i++) {
    struct record_point *point = &record->points[list[i].point];

    if (!point->loaded)
      code = load(record, point, err);
    if (code == ERR_OK)
      code = add_one(record, &list[i], added, err);
  }
  for (int i = 0; code == ERR_OK && i < count; i++) {
    struct record_point *point = &record->points[list[i].point];

    if (point->touched)
      code = finish(record, point, err);
    point->touched = false;
  }
  return code == ERR_OK ? remake_all(record, err) : code;
}

enum err_code record_add(struct record *record, const struct feed_observation *list, int count,
                         struct record_added *added_out, struct err *err)
{
  struct record_added added = {0};
  enum err_code code = record_writes(record, err);

  for (int i = 0; i < count; i++)
    BUG_IF(list[i].point < 0 || list[i].point >= record->point_count);
  if (code == ERR_OK)
    code = record_begin(record, err);
  if (code != ERR_OK)
    return code;
  record->dirty_count = 0;
  code = record_end(record, add_all(record, list, count, &added, err), err);
  if (code == ERR_OK) {
    *added_out = added;
    return ERR_OK;
  }
  for (int i = 0; i < count; i++) { /* what stands in memory is not what stands in the file */
    record->points[list[i].point].loaded = false;
    record->points[list[i].point].touched = false;
  }
  return code;
}
