/* A span in few stretches, from the coarsest table that will do. */
#include "record/record_impl.h"

#include <math.h>

static const char doing[] = "reading roll-ups";

static const int64_t longest_ms = (int64_t)200 * 366 * 24 * HOUR_MS;

struct filling {
  struct record *record;
  const struct record_series *series; /* whose rows come in now */
  int64_t from_ms, to_ms;             /* asked for */
  int64_t known_ms, origin_ms;
  int64_t first_ms, width_ms;
  int most, count;
  bool from_samples;
  enum record_level level; /* else */
  struct record_bucket *list;
};

/* ---- which table, how wide ---- */

static bool fits(struct filling *p, int64_t width_ms)
{
  p->width_ms = width_ms;
  p->first_ms = record_floor(p->from_ms - p->origin_ms, width_ms) + p->origin_ms;

  int64_t count = (p->to_ms - p->first_ms + width_ms - 1) / width_ms;

  p->count = (int)(count < p->most ? count : p->most);
  return count <= p->most;
}

/* Widths that people count in, finest first; of what takes more hours, whole days. */
static const int64_t sample_widths_ms[] = {1,     2,     5,     10,    20,     50,
                                           100,   200,   500,   1000,  2000,   5000,
                                           10000, 20000, 30000, 60000, 120000, 300000};
static const int64_t wide_widths_ms[] = {TEN_MIN_MS,  2 * TEN_MIN_MS, 3 * TEN_MIN_MS, HOUR_MS,
                                         2 * HOUR_MS, 3 * HOUR_MS,    4 * HOUR_MS,    6 * HOUR_MS,
                                         8 * HOUR_MS, 12 * HOUR_MS,   24 * HOUR_MS};

static bool fits_samples(struct filling *p)
{
  p->from_samples = true;
  for (size_t i = 0; i < sizeof sample_widths_ms / sizeof sample_widths_ms[0]; i++)
    if (fits(p, sample_widths_ms[i]))
      return true;
  return false;
}

static void fit_wide(struct filling *p, int64_t least_ms)
{
  const int64_t day_ms = 24 * (int64_t)HOUR_MS;
  int64_t days = (p->to_ms - p->from_ms) / p->most / day_ms;

  for (size_t i = 0; i < sizeof wide_widths_ms / sizeof wide_widths_ms[0]; i++)
    if (wide_widths_ms[i] >= least_ms && fits(p, wide_widths_ms[i]))
      return;
  while (!fits(p, (days < 2 ? 2 : days) * day_ms))
    days = days < 2 ? 3 : days + 1;
}

static enum err_code choose(struct filling *p, const struct record_point *point, struct err *err)
{
  bool has_samples = true, has_ten = true;
  enum err_code code = ERR_OK;

  if (p->known_ms != INT64_MAX) { /* a roll-up has forgotten what came when */
    if (!fits_samples(p))
      fit_wide(p, TEN_MIN_MS);
    return ERR_OK;
  }

  for (int i = 0; code == ERR_OK && i < point->series_count; i++) {
    int64_t samples_ms, ten_ms;

    if (point->series[i].ended_ms <= p->from_ms)
      continue;
    code = record_kept_from(p->record, point->series[i].number, &samples_ms, &ten_ms, err);
    has_samples &= p->from_ms >= samples_ms;
    has_ten &= p->from_ms >= ten_ms;
  }
  if (code != ERR_OK || (has_samples && fits_samples(p)))
    return code;
  p->from_samples = false;
  fit_wide(p, has_ten ? TEN_MIN_MS : HOUR_MS);
  p->level = p->width_ms >= HOUR_MS ? LEVEL_1H : LEVEL_10MIN;
  return ERR_OK;
}

/* ---- filling it ---- */

static enum err_code merge(void *arg, const struct record_row *row, struct err *err)
{
  const struct filling *p = arg;
  const struct record_series *series = p->series;
  int64_t at = (row->t_ms - p->first_ms) / p->width_ms;
  double step_si = series->step_si, base_si = series->base_si;
  double low_si = base_si + step_si * (double)row->min,
         high_si = base_si + step_si * (double)row->max;

  (void)err;
  if (row->t_ms < p->first_ms || at >= p->count)
    return ERR_OK;
  struct record_bucket *bucket = &p->list[at];

  if (isnan(bucket->first_si)) {
    bucket->first_si = base_si + step_si * (double)row->first;
    bucket->min_si = low_si;
    bucket->max_si = high_si;
    bucket->integral_si_s = 0;
  }
  bucket->min_si = fmin(bucket->min_si, low_si);
  bucket->max_si = fmax(bucket->max_si, high_si);
  bucket->last_si = base_si + step_si * (double)row->last;
  bucket->integral_si_s +=
      (base_si * (double)row->good_ms + step_si * (double)row->integral) * 1e-3;
  bucket->good_s += (double)row->good_ms * 1e-3;
  bucket->count += row->count;
  return ERR_OK;
}

static enum err_code fill_from_level(struct filling *p, struct err *err)
{
  sqlite3_stmt *statement =
      record_sql(p->record, p->level == LEVEL_10MIN ? SQL_SPAN_10MIN : SQL_SPAN_1H, err);
  struct record_row row;
  bool more = true;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, p->series->number);
  sqlite3_bind_int64(statement, 2, p->first_ms);
  sqlite3_bind_int64(statement, 3, p->first_ms + p->count * p->width_ms);
  for (;;) {
    enum err_code code = record_step(p->record, statement, &more, doing, err);

    if (code != ERR_OK || !more)
      return code;
    record_read_row(statement, &row);
    (void)merge(p, &row, err);
  }
}

static struct record_acc merging(struct filling *p)
{
  return (struct record_acc){.width_ms = p->width_ms, .give = merge, .arg = p};
}

/* The newest value has no successor yet: it held, as far as is known, to the end of the span. */
static enum err_code fill_tail(struct filling *p, struct err *err)
{
  bool all = p->known_ms == INT64_MAX;
  sqlite3_stmt *statement = record_sql(p->record, all ? SQL_LATEST : SQL_BEFORE, err);
  struct record_acc acc = merging(p);
  struct record_sample newest;
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, p->series->number);
  if (!all) {
    sqlite3_bind_int64(statement, 2, INT64_MAX);
    sqlite3_bind_int64(statement, 3, p->known_ms);
  }
  enum err_code code = record_step(p->record, statement, &row, doing, err);

  if (code != ERR_OK || !row)
    return code;
  record_read_sample(statement, &newest);
  sqlite3_reset(statement);
  if (!record_measured(newest.quality, newest.has_v) || newest.t_ms >= p->to_ms)
    return ERR_OK;
  int64_t from_ms = newest.t_ms > p->first_ms ? newest.t_ms : p->first_ms;
  int64_t to_ms = newest.t_ms + p->series->hold_ms;

  code = record_acc_hold(&acc, newest.v, from_ms, to_ms < p->to_ms ? to_ms : p->to_ms, err);
  return code == ERR_OK ? record_acc_flush(&acc, err) : code;
}

static enum err_code fill(struct filling *p, const struct record_point *point, struct err *err)
{
  const struct record_window window = {p->first_ms, p->first_ms + p->count * p->width_ms,
                                       p->known_ms};
  enum err_code code = ERR_OK;

  for (int i = 0; code == ERR_OK && i < point->series_count; i++) {
    struct record_acc acc = merging(p);

    p->series = &point->series[i];
    if (p->series->ended_ms <= p->first_ms || p->series->began_ms >= p->to_ms)
      continue;
    code = p->from_samples ? record_sweep(p->record, p->series, &window, &acc, 1, err)
                           : fill_from_level(p, err);
    if (code == ERR_OK && p->series->ended_ms == INT64_MAX)
      code = fill_tail(p, err);
  }
  return code;
}

enum err_code record_plot(struct record *record, struct record_plot *plot, struct err *err)
{
  struct filling filling = {.record = record,
                            .from_ms = plot->from_ms,
                            .to_ms = plot->to_ms,
                            .known_ms = plot->as_of ? plot->known_ms : INT64_MAX,
                            .origin_ms = plot->origin_ms,
                            .most = plot->most,
                            .list = plot->list};

  BUG_IF(plot->point < 0 || plot->point >= record->point_count || plot->most < 2);
  if (plot->from_ms < -longest_ms || plot->to_ms > longest_ms || plot->from_ms >= plot->to_ms)
    return err_set(err, ERR_INPUT,
                   "a span ends after it begins, and lies within 200 years of 1970");
  enum err_code code = record_run(record, "BEGIN", doing, err);

  if (code != ERR_OK)
    return code;
  code = record_refresh(record, err);
  if (code == ERR_OK)
    code = choose(&filling, &record->points[plot->point], err);
  for (int i = 0; code == ERR_OK && i < filling.count; i++)
    plot->list[i] = (struct record_bucket){.t_ms = filling.first_ms + i * filling.width_ms,
                                           .min_si = (double)NAN,
                                           .max_si = (double)NAN,
                                           .first_si = (double)NAN,
                                           .last_si = (double)NAN,
                                           .integral_si_s = (double)NAN};
  if (code == ERR_OK)
    code = fill(&filling, &record->points[plot->point], err);
  code = record_end(record, code, err);
  if (code == ERR_OK) {
    plot->count = filling.count;
    plot->width_s = (double)filling.width_ms * 1e-3;
  }
  return code;
}
