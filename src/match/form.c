/*
 * A sheet of predictions: what the file says each reading will be, and within which band, written down before
 * anybody reads.  match_table reads it back, so that it knows afterwards whether the prediction was met.
 */
#include "match/match_impl.h"

#include <math.h>
#include <string.h>

/* ---- all that can be read in a scene ---- */

struct listing {
  const struct facility *f;
  struct match_readings *out;
  struct arena *arena;
};

static void add(struct listing *l, enum match_what what, int index, int over)
{
  struct match_reading r = {.quantity = {what, index, over}, .blank = true, .measured_si = NAN};
  struct match_readings *out = l->out;

  if (out->count == MATCH_READINGS_MAX)
    return;
  for (int i = 0; i < out->count; i++)
    if (memcmp(&out->list[i].quantity, &r.quantity, sizeof r.quantity) == 0)
      return;
  r.gauge = match_gauge(l->f, &r.quantity);
  r.name = match_name(l->f, &r.quantity, l->arena);
  r.instrument = match_instrument(out, l->f, match_usual_instrument(r.gauge, r.name), r.gauge);
  out->list[out->count++] = r;
}

static bool has_pair(const struct listing *l, int a, int b)
{
  for (int i = 0; i < l->out->count; i++) {
    const struct match_quantity *q = &l->out->list[i].quantity;

    if ((q->index == a && q->over == b) || (q->index == b && q->over == a))
      return true;
  }
  return false;
}

static void add_pressures(struct listing *l)
{
  const struct facility *f = l->f;

  for (int i = 0; i < f->room_count; i++)
    for (int k = 0; k < f->rooms[i].keep_count; k++)
      add(l, MATCH_PRESSURE, i, f->rooms[i].keeps[k].over);
  for (int d = 0; d < f->door_count; d++)
    if (f->doors[d].from < f->room_count && f->doors[d].to < f->room_count &&
        !has_pair(l, f->doors[d].from, f->doors[d].to))
      add(l, MATCH_PRESSURE, f->doors[d].from, f->doors[d].to);
}

static void add_flows(struct listing *l, const struct scene *scene)
{
  const struct facility *f = l->f;

  for (int i = 0; i < f->supply_count; i++)
    for (int k = 0; k < f->supplies[i].feed_count; k++)
      add(l, MATCH_FEED, i, k);
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].in_service)
      add(l, MATCH_STATION, i, 0);
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].in_service && scene->stations[i].raised)
      add(l, MATCH_FACE, i, 0);
  for (int i = 0; i < f->exhaust_count; i++)
    add(l, MATCH_EXHAUST, i, 0);
}

static void add_ducts(struct listing *l)
{
  const struct facility *f = l->f;
  int outdoors = facility_node_outdoors(f);

  for (int i = 0; i < f->fan_count; i++)
    if (f->fans[i].holds && f->fans[i].hold_node >= f->room_count)
      add(l, MATCH_PRESSURE, f->fans[i].hold_node, outdoors);
  for (int i = 0; i < f->walk.tap_count; i++)
    add(l, MATCH_PRESSURE, f->walk.taps[i], outdoors);
  for (int i = 0; i < f->fan_count; i++)
    if (f->fans[i].holds)
      add(l, MATCH_SPEED, i, 0);
}

static struct match_readings *list_all(const struct match_form_job *job, struct arena *arena)
{
  const struct facility *f = job->facility;
  struct match_readings *out = ARENA_NEW(arena, struct match_readings);
  struct listing l = {f, out, arena};
  size_t room = MATCH_READINGS_MAX + 1;
  struct scene parked;

  if (!out)
    return NULL;
  out->list = ARENA_ARRAY(arena, struct match_reading, room);
  out->instruments = ARENA_ARRAY(arena, struct match_instrument, room);
  out->scenes = ARENA_ARRAY(arena, struct match_scene, 1);
  if (!out->list || !out->instruments || !out->scenes)
    return NULL;
  parked = scene_parked(f, arena);
  out->scene_count = 1;
  out->scenes[0] = (struct match_scene){job->scene ? job->scene->name : "parked",
                                        job->scene ? *job->scene : parked};
  add_pressures(&l);
  add_flows(&l, &out->scenes[0].scene);
  add_ducts(&l);
  return out;
}

/* ---- predictions ---- */

struct predicting {
  const struct match_form_job *job;
  struct match_readings *readings;
  struct match_model model;
  double *predicted_si, *half_si;
  struct arena *arena;
};

/* Its own uncertainty were it read as predicted. */
static double own_si(const struct predicting *p, int i)
{
  const struct match_reading *r = &p->readings->list[i];
  const struct facility *f = p->job->facility;
  double value_si = p->predicted_si[i];

  if (r->instrument >= 0)
    return match_own_si(
        f, r->gauge, value_si,
        match_setting_si(f, &p->readings->scenes[r->scene].scene, &r->quantity, value_si));
  if (r->own_ratio > 0.0) {
    struct walk_part parts[] = {{WALK_EXPANDED, r->own_ratio * fabs(value_si)},
                                {WALK_EXPANDED, f->walk.gauges[r->gauge].model_si}};

    return walk_combined_si(parts, 2);
  }
  return r->own_si;
}

static void drop_silent(struct predicting *p)
{
  struct match_readings *r = p->readings;
  int kept = 0;

  for (int i = 0; i < r->count; i++)
    if (isfinite(p->predicted_si[i])) {
      p->predicted_si[kept] = p->predicted_si[i];
      r->list[kept++] = r->list[i];
    }
  r->count = kept;
}

static bool fill_bands(struct predicting *p)
{
  int m = p->readings->count, n = p->model.count;
  double *x = ARENA_ARRAY(p->arena, double, (size_t)n + 1);
  double *slope = ARENA_ARRAY(p->arena, double, (size_t)m *(size_t)n + 1);
  double factor = match_coverage_factor_ratio(p->job->facility, m > 0 ? m : 1);

  if (!x || !slope || !match_model_slopes(&p->model, x, p->predicted_si, slope))
    return false;
  for (int i = 0; i < m; i++) {
    double sum = own_si(p, i) * own_si(p, i);

    for (int k = 0; k < n; k++)
      sum += slope[i * n + k] * slope[i * n + k];
    p->half_si[i] = factor * sqrt(sum);
  }
  return true;
}

static enum err_code predict(struct predicting *p, struct err *err)
{
  const struct facility *f = p->job->facility;
  size_t room = (size_t)p->readings->count + 1;
  double *x;

  p->predicted_si = ARENA_ARRAY(p->arena, double, room);
  p->half_si = ARENA_ARRAY(p->arena, double, room);
  if (!p->predicted_si || !p->half_si)
    return err_set(err, ERR_LIMIT, "the sheet is larger than the memory set aside for it");
  if (!match_model_make(&p->model, f, p->readings, p->arena, err))
    return err->code;
  x = ARENA_ARRAY(p->arena, double, (size_t)p->model.count + 1);
  if (x)
    match_model_predict(&p->model, x, p->predicted_si);
  if (x && !p->job->blanks)
    drop_silent(p);
  return x && fill_bands(p)
             ? ERR_OK
             : err_set(err, ERR_INPUT,
                       "the air of these scenes has no answer with the file's own figures");
}

/* ---- the sheet ---- */

enum column {
  COLUMN_READING,
  COLUMN_SCENE,
  COLUMN_OF,
  COLUMN_WHAT,
  COLUMN_OVER,
  COLUMN_UNIT,
  COLUMN_PREDICTED,
  COLUMN_FROM,
  COLUMN_TO,
  COLUMN_VALUE,
  COLUMN_PLUS_MINUS,
  COLUMN_INSTRUMENT,
  COLUMN_REMARK,
  COLUMN_COUNT
};
static const char *const titles[COLUMN_COUNT] = {"reading", "scene",      "of",    "what", "over",
                                                 "unit",    "predicted",  "from",  "to",   "value",
                                                 "±",       "instrument", "remark"};
enum { HEAD_ROWS = 6 };

struct filling {
  const struct predicting *p;
  struct sheet_cell *cells;
  int row;
};

static void put(struct filling *s, int column, const char *text)
{
  struct sheet_cell *cell = &s->cells[s->row * COLUMN_COUNT + column];

  cell->kind = text && text[0] ? SHEET_TEXT : SHEET_EMPTY;
  cell->text = text ? text : "";
}

static void head(struct filling *s, const char *what, const char *value, const char *hint)
{
  put(s, 0, what);
  put(s, 1, value);
  put(s, 2, hint);
  s->row++;
}

/* Without the unit, which has a column of its own. */
static void put_number(struct filling *s, int column, double si, enum facility_gauge_of of)
{
  struct buf text;
  char *copy;

  buf_init(&text, 64);
  walk_print(&text, si, of, s->p->job->system);
  copy = arena_strdup(s->p->arena, text.text);
  buf_release(&text);
  if (copy && strchr(copy, ' '))
    *strchr(copy, ' ') = '\0';
  put(s, column, isfinite(si) ? copy : "");
}

static const char *what_word(enum match_what what)
{
  switch (what) {
  case MATCH_PRESSURE:
    return "pressure";
  case MATCH_FACE:
    return "face velocity";
  case MATCH_SPEED:
    return "speed";
  case MATCH_STATION:
  case MATCH_FEED:
  case MATCH_SUPPLY:
  case MATCH_MAIN:
  case MATCH_EXHAUST:
    break;
  }
  return "flow";
}

/* As it stood in the table, in the sheet's unit. */
static void put_plus_minus(struct filling *s, const struct match_reading *r)
{
  struct buf text;

  buf_init(&text, 64);
  if (r->own_ratio > 0.0)
    buf_printf(&text, "%g %%", 100.0 * r->own_ratio);
  else if (r->own_pm_si > 0.0)
    units_print_in(&text, r->own_pm_si, walk_dimension(r->gauge),
                   walk_unit(r->gauge, s->p->job->system));
  put(s, COLUMN_PLUS_MINUS, text.used > 0 ? arena_strdup(s->p->arena, text.text) : "");
  buf_release(&text);
}

static void put_row(struct filling *s, int i)
{
  const struct match_readings *all = s->p->readings;
  const struct match_reading *r = &all->list[i];
  const struct facility *f = s->p->job->facility;
  double predicted_si = s->p->predicted_si[i], half_si = s->p->half_si[i];

  put(s, COLUMN_READING, r->id ? r->id : arena_printf(s->p->arena, "%d", i + 1));
  put(s, COLUMN_SCENE, all->scenes[r->scene].words);
  put(s, COLUMN_OF, match_id(f, &r->quantity));
  put(s, COLUMN_WHAT, what_word(r->quantity.what));
  put(s, COLUMN_OVER,
      r->quantity.what == MATCH_PRESSURE ? facility_node_id(f, r->quantity.over) : "");
  put(s, COLUMN_UNIT, walk_unit(r->gauge, s->p->job->system));
  put_number(s, COLUMN_PREDICTED, predicted_si, r->gauge);
  put_number(s, COLUMN_FROM, predicted_si - half_si, r->gauge);
  put_number(s, COLUMN_TO, predicted_si + half_si, r->gauge);
  put_plus_minus(s, r);
  if (r->instrument >= 0)
    put(s, COLUMN_INSTRUMENT, all->instruments[r->instrument].name);
  put(s, COLUMN_REMARK, r->remark);
  s->row++;
}

/* A band of a flow that goes below nothing. */
static bool turns_in_band(const struct predicting *p)
{
  bool turns = false;

  for (int i = 0; i < p->readings->count; i++) {
    enum match_what what = p->readings->list[i].quantity.what;

    turns = turns || (what != MATCH_PRESSURE && what != MATCH_SPEED && p->predicted_si[i] > 0.0 &&
                      p->predicted_si[i] < p->half_si[i]);
  }
  return turns;
}

static bool print(const struct predicting *p, struct buf *out)
{
  const struct facility *f = p->job->facility;
  bool turns = turns_in_band(p);
  int rows = HEAD_ROWS + 1 + p->readings->count;
  struct filling s = {p, ARENA_ARRAY(p->arena, struct sheet_cell, (size_t)rows * COLUMN_COUNT), 0};
  struct sheet_table table = {
      .name = "", .row_count = rows, .column_count = COLUMN_COUNT, .cells = s.cells};

  if (!s.cells)
    return false;
  for (int i = 0; i < rows * COLUMN_COUNT; i++)
    s.cells[i] = (struct sheet_cell){.kind = SHEET_EMPTY, .text = "", .number = NAN};
  head(&s, "Inward readings to be taken", f->name, f->label);
  head(&s, "suite", f->sha256, "do not change");
  head(&s, MATCH_HEAD_PRINTED, p->job->printed_on,
       turns ? "predicted, from and to are the suite file's of that day; a flow below 0 would run "
               "against its usual way: where it cannot turn, its band ends at 0"
             : "predicted, from and to are the suite file's of that day");
  head(&s, MATCH_HEAD_SIGNED, NULL, "name; before anything is read");
  head(&s, "date", NULL, "year-month-day of the readings");
  head(&s, "by", NULL, "who reads. A row left empty is a reading not taken");
  BUG_IF(s.row != HEAD_ROWS);
  for (int c = 0; c < COLUMN_COUNT; c++)
    put(&s, c, titles[c]);
  s.row++;
  for (int i = 0; i < p->readings->count; i++)
    put_row(&s, i);
  sheet_write_csv(&table, out);
  return true;
}

enum err_code match_form(const struct match_form_job *job, struct arena *arena, struct buf *out,
                         struct err *err)
{
  struct match_readings *readings = ARENA_NEW(arena, struct match_readings);
  struct predicting p = {.job = job, .arena = arena};
  enum err_code code;

  p.readings = job->blanks ? readings : list_all(job, arena);
  if (!readings || !p.readings)
    return err_set(err, ERR_LIMIT, "the sheet is larger than the memory set aside for it");
  if (job->blanks)
    *readings = *job->blanks;
  code = predict(&p, err);
  match_model_release(&p.model);
  if (code == ERR_OK && p.readings->count == 0)
    code = err_set(err, ERR_INPUT, "nothing of this suite can be read in that scene");
  if (code == ERR_OK && !print(&p, out))
    code = err_set(err, ERR_LIMIT, "the sheet is larger than the memory set aside for it");
  return code;
}
