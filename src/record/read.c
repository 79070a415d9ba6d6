/* Samples out. */
#include "record/record_impl.h"

#include <math.h>
#include <stdlib.h>

static const char doing[] = "reading samples";

enum { DAY_MS = 24 * HOUR_MS };

static struct feed_observation observation(int point, const struct record_series *series,
                                           const struct record_sample *sample)
{
  return (struct feed_observation){
      .point = point,
      .t_ms = sample->t_ms,
      .seen_ms = sample->t_ms + sample->lag_ms,
      .si = sample->has_v ? series->base_si + series->step_si * (double)sample->v : (double)NAN,
      .quality = sample->quality};
}

/* ---- the newest ---- */

static enum err_code newest_of(struct record *record, int point, struct feed_observation *out,
                               struct err *err)
{
  const struct record_point *p = &record->points[point];

  *out = (struct feed_observation){point, INT64_MIN, INT64_MIN, (double)NAN, FEED_MISSING};
  for (int i = p->series_count - 1; i >= 0; i--) {
    sqlite3_stmt *statement = record_sql(record, SQL_LATEST, err);
    struct record_sample sample;
    bool row;

    if (!statement)
      return err_same(ERR_IO);
    sqlite3_bind_int64(statement, 1, p->series[i].number);
    enum err_code code = record_step(record, statement, &row, doing, err);

    if (code == ERR_OK && row) {
      record_read_sample(statement, &sample);
      *out = observation(point, &p->series[i], &sample);
    }
    sqlite3_reset(statement);
    if (code != ERR_OK || row)
      return code;
  }
  return ERR_OK;
}

enum err_code record_latest(struct record *record, struct feed_observation *list, int count,
                            struct err *err)
{
  BUG_IF(count != record->point_count);
  enum err_code code = record_run(record, "BEGIN", doing, err);

  if (code != ERR_OK)
    return code;
  code = record_refresh(record, err);
  for (int i = 0; code == ERR_OK && i < count; i++)
    code = newest_of(record, i, &list[i], err);
  return record_end(record, code, err);
}

/* ---- the oldest ---- */

static enum err_code oldest_of(struct record *record, int64_t series, int64_t *t_ms,
                               struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_NEXT_T, err);
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  sqlite3_bind_int64(statement, 2, INT64_MIN);
  enum err_code code = record_step(record, statement, &row, doing, err);

  if (code == ERR_OK && row && sqlite3_column_int64(statement, 0) < *t_ms)
    *t_ms = sqlite3_column_int64(statement, 0);
  sqlite3_reset(statement);
  return code;
}

enum err_code record_first(struct record *record, int64_t *t_out_ms, struct err *err)
{
  enum err_code code = record_run(record, "BEGIN", doing, err);
  int64_t t_ms = INT64_MAX;

  if (code != ERR_OK)
    return code;
  code = record_refresh(record, err);
  for (int i = 0; code == ERR_OK && i < record->point_count; i++)
    for (int k = 0; code == ERR_OK && k < record->points[i].series_count; k++)
      code = oldest_of(record, record->points[i].series[k].number, &t_ms, err);
  if (code == ERR_OK)
    *t_out_ms = t_ms;
  return record_end(record, code, err);
}

/* ---- one point ---- */

struct span {
  struct record *record;
  int64_t from_ms, to_ms, known_ms;
  const struct feed_sink *sink;
};

/* The one whose value or lack of one still held at from_ms. */
static enum err_code holder(const struct span *span, int point, bool *has_out,
                            struct feed_observation *out, struct err *err)
{
  const struct record_point *p = &span->record->points[point];

  *has_out = false;
  for (int i = p->series_count - 1; i >= 0; i--) {
    if (p->series[i].began_ms >= span->from_ms)
      continue;
    sqlite3_stmt *statement = record_sql(span->record, SQL_BEFORE, err);
    struct record_sample sample;
    bool row;

    if (!statement)
      return err_same(ERR_IO);
    sqlite3_bind_int64(statement, 1, p->series[i].number);
    sqlite3_bind_int64(statement, 2, span->from_ms);
    sqlite3_bind_int64(statement, 3, span->known_ms);
    enum err_code code = record_step(span->record, statement, &row, doing, err);

    if (code == ERR_OK && row) {
      record_read_sample(statement, &sample);
      *out = observation(point, &p->series[i], &sample);
      *has_out = sample.t_ms > span->from_ms - p->series[i].hold_ms &&
                 p->series[i].ended_ms > span->from_ms;
    }
    sqlite3_reset(statement);
    if (code != ERR_OK || row)
      return code;
  }
  return ERR_OK;
}

static enum err_code give_series(const struct span *span, int point,
                                 const struct record_series *series, struct err *err)
{
  sqlite3_stmt *statement = record_sql(span->record, SQL_SPAN, err);
  bool row = true;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series->number);
  sqlite3_bind_int64(statement, 2, span->from_ms);
  sqlite3_bind_int64(statement, 3, span->to_ms);
  sqlite3_bind_int64(statement, 4, span->known_ms);
  for (;;) {
    struct record_sample sample;
    enum err_code code = record_step(span->record, statement, &row, doing, err);

    if (code != ERR_OK || !row)
      return code;
    record_read_sample(statement, &sample);

    struct feed_observation given = observation(point, series, &sample);

    span->sink->take(span->sink->arg, &given);
  }
}

static enum err_code give_point(const struct span *span, int point, struct err *err)
{
  const struct record_point *p = &span->record->points[point];
  struct feed_observation held;
  bool has;
  enum err_code code = holder(span, point, &has, &held, err);

  if (code == ERR_OK && has)
    span->sink->take(span->sink->arg, &held);
  for (int i = 0; code == ERR_OK && i < p->series_count; i++)
    if (p->series[i].began_ms < span->to_ms && p->series[i].ended_ms > span->from_ms)
      code = give_series(span, point, &p->series[i], err);
  return code;
}

enum err_code record_samples(struct record *record, int point, int64_t from_ms, int64_t to_ms,
                             int64_t known_ms, const struct feed_sink *sink, struct err *err)
{
  struct span span = {record, from_ms, to_ms, known_ms, sink};

  BUG_IF(point < 0 || point >= record->point_count);
  enum err_code code = record_run(record, "BEGIN", doing, err);

  if (code != ERR_OK)
    return code;
  code = record_refresh(record, err);
  if (code == ERR_OK)
    code = give_point(&span, point, err);
  return record_end(record, code, err);
}

/* ---- all points, in order of time: a day is read, put in order and given ---- */

struct heap {
  struct feed_observation *list;
  size_t count, room;
};

static void collect(void *arg, const struct feed_observation *observation)
{
  struct heap *heap = arg;

  if (heap->count == heap->room) {
    size_t room = heap->room ? 2 * heap->room : 1024;
    struct feed_observation *more = realloc(heap->list, room * sizeof *more);

    if (!more)
      err_no_memory();
    heap->list = more;
    heap->room = room;
  }
  heap->list[heap->count++] = *observation;
}

static int by_time(const void *a, const void *b)
{
  const struct feed_observation *x = a, *y = b;

  if (x->t_ms != y->t_ms)
    return x->t_ms < y->t_ms ? -1 : 1;
  return x->point - y->point;
}

static void give_heap(struct heap *heap, const struct feed_sink *sink)
{
  if (heap->count > 0)
    qsort(heap->list, heap->count, sizeof *heap->list, by_time);
  for (size_t i = 0; i < heap->count; i++)
    sink->take(sink->arg, &heap->list[i]);
  heap->count = 0;
}

static enum err_code earliest(struct record *record, int64_t series, int64_t from_ms,
                              int64_t *earliest_ms, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_NEAREST_LATER, err);
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  sqlite3_bind_int64(statement, 2, from_ms);
  enum err_code code = record_step(record, statement, &row, doing, err);

  if (code == ERR_OK && row && sqlite3_column_type(statement, 0) != SQLITE_NULL &&
      sqlite3_column_int64(statement, 0) < *earliest_ms)
    *earliest_ms = sqlite3_column_int64(statement, 0);
  sqlite3_reset(statement);
  return code;
}

/* Moves from_ms on to the first sample there is; to_ms when there is none. */
static enum err_code skip_empty(struct span *span, struct err *err)
{
  const struct record *record = span->record;
  int64_t first_ms = span->to_ms;
  enum err_code code = ERR_OK;

  for (int i = 0; code == ERR_OK && i < record->point_count; i++)
    for (int s = 0; code == ERR_OK && s < record->points[i].series_count; s++)
      code =
          earliest(span->record, record->points[i].series[s].number, span->from_ms, &first_ms, err);
  span->from_ms = first_ms;
  return code;
}

static enum err_code replay_day(const struct span *day, struct err *err)
{
  const struct record *record = day->record;
  enum err_code code = ERR_OK;

  for (int i = 0; code == ERR_OK && i < record->point_count; i++)
    for (int s = 0; code == ERR_OK && s < record->points[i].series_count; s++)
      code = give_series(day, i, &record->points[i].series[s], err);
  return code;
}

static enum err_code replay(struct span span, struct heap *heap, const struct feed_sink *sink,
                            struct err *err)
{
  enum err_code code = record_refresh(span.record, err);

  for (int i = 0; code == ERR_OK && i < span.record->point_count; i++) {
    struct feed_observation held;
    bool has;

    code = holder(&span, i, &has, &held, err);
    if (code == ERR_OK && has)
      collect(heap, &held);
  }
  give_heap(heap, sink);
  while (code == ERR_OK) {
    code = skip_empty(&span, err);
    if (code != ERR_OK || span.from_ms >= span.to_ms)
      break;
    struct span day = span;

    if (span.to_ms - DAY_MS > span.from_ms)
      day.to_ms = span.from_ms + DAY_MS;
    code = replay_day(&day, err);
    give_heap(heap, sink);
    span.from_ms = day.to_ms;
  }
  return code;
}

enum err_code record_replay(struct record *record, int64_t from_ms, int64_t to_ms, int64_t known_ms,
                            const struct feed_sink *sink, struct err *err)
{
  struct heap heap = {0};
  const struct feed_sink collector = {collect, &heap};
  enum err_code code = record_run(record, "BEGIN", doing, err);

  if (code != ERR_OK)
    return code;
  code = replay((struct span){record, from_ms, to_ms, known_ms, &collector}, &heap, sink, err);
  free(heap.list);
  return record_end(record, code, err);
}
