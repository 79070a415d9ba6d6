/* Stretches of time: what was known in them, exactly, in whole numbers. */
#include "record/record_impl.h"

static const char doing[] = "writing roll-ups";

bool record_measured(enum feed_quality quality, bool has_v)
{
  return has_v && (quality == FEED_GOOD || quality == FEED_OLD);
}

int64_t record_floor(int64_t t_ms, int64_t width_ms)
{
  int64_t over = t_ms % width_ms;

  return t_ms - (over < 0 ? over + width_ms : over);
}

/* ---- one stretch after the other ---- */

enum err_code record_acc_flush(struct record_acc *acc, struct err *err)
{
  if (!acc->dirty)
    return ERR_OK;
  acc->dirty = false;
  return acc->give(acc->arg, &acc->row, err);
}

/* The stretch that t is in; the one before it is given away. */
static enum err_code turn_to(struct record_acc *acc, int64_t t_ms, struct err *err)
{
  if (acc->row.any && t_ms < acc->row.t_ms + acc->width_ms)
    return ERR_OK;
  enum err_code code = record_acc_flush(acc, err);

  acc->row = (struct record_row){.t_ms = record_floor(t_ms, acc->width_ms)};
  return code;
}

static void take_value(struct record_row *row, int64_t v)
{
  if (!row->any) {
    row->min = row->max = row->first = v;
    row->any = true;
  }
  if (v < row->min)
    row->min = v;
  if (v > row->max)
    row->max = v;
  row->last = v;
}

enum err_code record_acc_hold(struct record_acc *acc, int64_t v, int64_t from_ms, int64_t to_ms,
                              struct err *err)
{
  while (from_ms < to_ms) {
    enum err_code code = turn_to(acc, from_ms, err);

    if (code != ERR_OK)
      return code;
    int64_t end_ms = acc->row.t_ms + acc->width_ms;

    if (end_ms > to_ms)
      end_ms = to_ms;
    take_value(&acc->row, v);
    acc->row.integral += v * (end_ms - from_ms);
    acc->row.good_ms += end_ms - from_ms;
    acc->dirty = true;
    from_ms = end_ms;
  }
  return ERR_OK;
}

enum err_code record_acc_observe(struct record_acc *acc, int64_t v, int64_t t_ms, struct err *err)
{
  enum err_code code = turn_to(acc, t_ms, err);

  if (code != ERR_OK)
    return code;
  take_value(&acc->row, v);
  acc->row.count++;
  acc->dirty = true;
  return ERR_OK;
}

/* ---- to and from the file ---- */

void record_read_sample(sqlite3_stmt *statement, struct record_sample *sample)
{
  *sample = (struct record_sample){.t_ms = sqlite3_column_int64(statement, 0),
                                   .has_v = sqlite3_column_type(statement, 1) != SQLITE_NULL,
                                   .v = sqlite3_column_int64(statement, 1),
                                   .lag_ms = sqlite3_column_int64(statement, 3)};
  int64_t quality = sqlite3_column_int64(statement, 2);

  sample->quality =
      quality >= 0 && quality < FEED_QUALITY_COUNT ? (enum feed_quality)quality : FEED_UNREADABLE;
}

void record_read_row(sqlite3_stmt *statement, struct record_row *row)
{
  *row = (struct record_row){.t_ms = sqlite3_column_int64(statement, 0),
                             .min = sqlite3_column_int64(statement, 1),
                             .max = sqlite3_column_int64(statement, 2),
                             .first = sqlite3_column_int64(statement, 3),
                             .last = sqlite3_column_int64(statement, 4),
                             .integral = sqlite3_column_int64(statement, 5),
                             .good_ms = sqlite3_column_int64(statement, 6),
                             .count = sqlite3_column_int64(statement, 7),
                             .any = true};
}

enum err_code record_put_row(void *arg, const struct record_row *row, struct err *err)
{
  const struct record_level_arg *to = arg;
  sqlite3_stmt *statement =
      record_sql(to->record, to->level == LEVEL_10MIN ? SQL_PUT_10MIN : SQL_PUT_1H, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, to->series);
  sqlite3_bind_int64(statement, 2, row->t_ms);
  sqlite3_bind_int64(statement, 3, row->min);
  sqlite3_bind_int64(statement, 4, row->max);
  sqlite3_bind_int64(statement, 5, row->first);
  sqlite3_bind_int64(statement, 6, row->last);
  sqlite3_bind_int64(statement, 7, row->integral);
  sqlite3_bind_int64(statement, 8, row->good_ms);
  sqlite3_bind_int64(statement, 9, row->count);
  return record_done(to->record, statement, doing, err);
}

enum err_code record_kept_from(struct record *record, int64_t series, int64_t *samples_out_ms,
                               int64_t *ten_out_ms, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, SQL_KEPT_FROM, err);
  bool row;

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  enum err_code code = record_step(record, statement, &row, doing, err);

  *samples_out_ms = *ten_out_ms = INT64_MIN;
  if (code == ERR_OK && row) {
    *samples_out_ms = sqlite3_column_int64(statement, 0);
    *ten_out_ms = sqlite3_column_int64(statement, 1);
  }
  sqlite3_reset(statement);
  return code;
}

/* ---- made from samples ---- */

/* What a sweep fills, and between which moments. */
struct sweep {
  const struct record_series *series;
  const struct record_window *window;
  struct record_acc *accs;
  int acc_count;
};

/* One sample's part of the span, up to end_ms. */
static enum err_code take_part(const struct sweep *sweep, const struct record_sample *sample,
                               int64_t end_ms, struct record_acc *acc, struct err *err)
{
  int64_t from_ms = sweep->window->from_ms, to_ms = sweep->window->to_ms;
  enum err_code code = ERR_OK;

  if (sample->t_ms >= sweep->window->from_ms && sample->t_ms < sweep->window->to_ms)
    code = record_acc_observe(acc, sample->v, sample->t_ms, err);
  if (code == ERR_OK)
    code = record_acc_hold(acc, sample->v, sample->t_ms > from_ms ? sample->t_ms : from_ms,
                           end_ms < to_ms ? end_ms : to_ms, err);
  return code;
}

static enum err_code take_sample(const struct sweep *sweep, const struct record_sample *sample,
                                 int64_t next_ms, struct err *err)
{
  int64_t end_ms = sample->t_ms + sweep->series->hold_ms;
  enum err_code code = ERR_OK;

  if (!record_measured(sample->quality, sample->has_v))
    return ERR_OK;
  if (end_ms > next_ms)
    end_ms = next_ms;
  for (int i = 0; code == ERR_OK && i < sweep->acc_count; i++)
    code = take_part(sweep, sample, end_ms, &sweep->accs[i], err);
  return code;
}

/* The sample whose value may hold at a moment begins the sweep. */
static enum err_code sweep_from(struct record *record, int64_t series,
                                const struct record_window *window, int64_t *out_ms,
                                struct err *err)
{
  sqlite3_stmt *before = record_sql(record, SQL_BEFORE, err);
  bool row;

  if (!before)
    return err_same(ERR_IO);
  sqlite3_bind_int64(before, 1, series);
  sqlite3_bind_int64(before, 2, window->from_ms);
  sqlite3_bind_int64(before, 3, window->known_ms);
  enum err_code code = record_step(record, before, &row, doing, err);

  *out_ms = code == ERR_OK && row ? sqlite3_column_int64(before, 0) : window->from_ms;
  sqlite3_reset(before);
  return code;
}

enum err_code record_sweep(struct record *record, const struct record_series *series,
                           const struct record_window *window, struct record_acc *accs,
                           int acc_count, struct err *err)
{
  const struct sweep sweep = {series, window, accs, acc_count};
  struct record_sample sample = {0}, next;
  bool has = false, row = true;
  int64_t start_ms;
  enum err_code code = sweep_from(record, series->number, window, &start_ms, err);
  sqlite3_stmt *statement = code == ERR_OK ? record_sql(record, SQL_SWEEP, err) : NULL;

  if (!statement)
    return err_same(code == ERR_OK ? ERR_IO : code);
  sqlite3_bind_int64(statement, 1, series->number);
  sqlite3_bind_int64(statement, 2, start_ms);
  sqlite3_bind_int64(statement, 3, window->known_ms);
  while (code == ERR_OK && row && !(has && sample.t_ms >= window->to_ms)) {
    code = record_step(record, statement, &row, doing, err);
    if (code != ERR_OK || !row)
      break;
    record_read_sample(statement, &next);
    if (has)
      code = take_sample(&sweep, &sample, next.t_ms, err);
    sample = next;
    has = true;
  }
  /* Until something follows, the newest is known at its own moment only; an ended series' to its end. */
  if (code == ERR_OK && has && !row)
    code = take_sample(&sweep, &sample,
                       series->ended_ms == INT64_MAX ? sample.t_ms : series->ended_ms, err);
  sqlite3_reset(statement);
  for (int i = 0; code == ERR_OK && i < acc_count; i++)
    code = record_acc_flush(&accs[i], err);
  return code;
}

static enum err_code clear(struct record *record, enum record_statement which, int64_t series,
                           int64_t from_ms, int64_t to_ms, struct err *err)
{
  sqlite3_stmt *statement = record_sql(record, which, err);

  if (!statement)
    return err_same(ERR_IO);
  sqlite3_bind_int64(statement, 1, series);
  sqlite3_bind_int64(statement, 2, from_ms);
  sqlite3_bind_int64(statement, 3, to_ms);
  return record_done(record, statement, doing, err);
}

enum err_code record_remake(struct record *record, const struct record_series *series,
                            int64_t from_ms, int64_t to_ms, struct err *err)
{
  struct record_level_arg args[LEVEL_COUNT];
  struct record_acc accs[LEVEL_COUNT];
  struct record_window window = {.known_ms = INT64_MAX};
  enum err_code code;

  from_ms = from_ms == INT64_MIN ? from_ms : record_floor(from_ms, HOUR_MS);
  to_ms = to_ms > INT64_MAX - HOUR_MS ? to_ms : record_floor(to_ms, HOUR_MS) + HOUR_MS;
  window.from_ms = from_ms;
  window.to_ms = to_ms;
  for (int i = 0; i < LEVEL_COUNT; i++) {
    args[i] = (struct record_level_arg){record, series->number, (enum record_level)i};
    accs[i] = (struct record_acc){
        .width_ms = record_level_ms[i], .give = record_put_row, .arg = &args[i]};
  }
  code = clear(record, SQL_CLEAR_10MIN, series->number, from_ms, to_ms, err);
  if (code == ERR_OK)
    code = clear(record, SQL_CLEAR_1H, series->number, from_ms, to_ms, err);
  if (code == ERR_OK)
    code = record_sweep(record, series, &window, accs, LEVEL_COUNT, err);
  return code;
}
