#include "alarm/alarm_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Which alarms help, and which are noise. */

enum { TOP = 10, HASTE_MS = 60 * 1000 };

struct count {
  const struct feeds_figures *settings;
  const struct alarm_told *list;
  int list_count;
  struct arena *arena;
  struct alarm_figures *out;
  int64_t *told_ms; /* when a person was told, in order */
};

static void *room_for(struct arena *arena, int count, size_t size)
{
  void *room = arena_push(arena, (size_t)count + 1, size);

  BUG_IF(!room);
  return room;
}

static int64_t ms(double seconds)
{
  return llround(seconds * 1000);
}

/* A person was told: it came, or its shelf ended, and nothing explained it. */
static bool was_told(const struct alarm_told *told)
{
  return told->when >= 0 && told->priority != FEEDS_NOBODY && told->state == ALARM_ACTIVE &&
         (told->kind == ALARM_TURN_ON || told->kind == ALARM_TURN_UNSHELVED);
}

static bool is_inside(const struct count *c, int64_t t_ms)
{
  return t_ms >= c->out->from_ms && t_ms < c->out->to_ms;
}

/* ---- how many ---- */

static void count_one(struct count *c, const struct alarm_told *told)
{
  struct alarm_figures *f = c->out;

  if (was_told(told)) {
    c->told_ms[f->told++] = told->t_ms;
    f->by_priority[told->priority]++;
  } else if (told->when >= 0 && told->kind == ALARM_TURN_ON) {
    if (told->state == ALARM_SUPPRESSED)
      f->explained++;
    else if (told->state == ALARM_SHELVED)
      f->put_aside++;
    else
      f->noted++; /* for nobody, or of a station that is withdrawn */
  }
}

static void count_all(struct count *c)
{
  struct alarm_figures *f = c->out;

  for (int i = 0; i < c->list_count; i++)
    if (is_inside(c, c->list[i].t_ms))
      count_one(c, &c->list[i]);
  f->per_day = f->told * 86400e3 / (double)(f->to_ms - f->from_ms);
}

/* ---- in which stretches ---- */

static void count_windows(struct count *c)
{
  struct alarm_figures *f = c->out;
  int64_t window_ms = ms(c->settings->window_s);

  f->windows = (int)((f->to_ms - f->from_ms + window_ms - 1) / window_ms);
  for (int i = 0, in; i < f->told; i += in) {
    int64_t begins_ms = f->from_ms + (c->told_ms[i] - f->from_ms) / window_ms * window_ms;

    for (in = 1; i + in < f->told && c->told_ms[i + in] < begins_ms + window_ms; in++)
      ;
    f->windows_over += in > c->settings->flood_begins;
    if (in > f->most) {
      f->most = in;
      f->most_ms = begins_ms;
    }
  }
}

/* The tellings within the window that ends now: those from `gone` up to `come`. */
struct window {
  const int64_t *told_ms;
  int told, come, gone;
  int64_t long_ms;
};

/* On to the next moment at which one comes in or leaves; those of one moment together. */
static int64_t next_moment(struct window *w)
{
  int64_t leaves_ms = w->gone < w->come ? w->told_ms[w->gone] + w->long_ms : INT64_MAX;
  int64_t comes_ms = w->come < w->told ? w->told_ms[w->come] : INT64_MAX;
  int64_t t_ms = leaves_ms < comes_ms ? leaves_ms : comes_ms;

  while (w->come < w->told && w->told_ms[w->come] == t_ms)
    w->come++;
  while (w->gone < w->come && w->told_ms[w->gone] + w->long_ms == t_ms)
    w->gone++;
  return t_ms;
}

static void find_floods(struct count *c)
{
  struct alarm_figures *f = c->out;
  struct alarm_flood *floods = room_for(c->arena, f->told, sizeof *floods), *flood = NULL;
  struct window w = {c->told_ms, f->told, 0, 0, ms(c->settings->window_s)};

  while (w.come < f->told || (flood && w.gone < w.come)) {
    int before = w.come;
    int64_t t_ms = next_moment(&w);

    if (flood)
      flood->told += w.come - before;
    if (!flood && w.come - w.gone > c->settings->flood_begins) {
      flood = &floods[f->flood_count++];
      *flood = (struct alarm_flood){t_ms, f->to_ms, w.come - w.gone};
    } else if (flood && w.come - w.gone < c->settings->flood_ends) {
      flood->to_ms = t_ms < f->to_ms ? t_ms : f->to_ms;
      flood = NULL;
    }
  }
  for (int i = 0; i < f->flood_count; i++)
    f->flood_s += (double)(floods[i].to_ms - floods[i].from_ms) * 1e-3;
  f->floods = floods;
}

/* ---- by alarm ---- */

static int row_of(struct alarm_row *rows, int *count, const struct alarm_told *told)
{
  int i = 0;

  while (i < *count && ((int)rows[i].when != told->when || strcmp(rows[i].about, told->about) != 0))
    i++;
  if (i == *count) {
    rows[i] = (struct alarm_row){.about = told->about, .when = (enum feeds_when)told->when};
    (*count)++;
  }
  return i;
}

static bool is_of_row(const struct alarm_told *told, const struct alarm_row *row)
{
  return told->when == (int)row->when && strcmp(told->about, row->about) == 0;
}

static void add_stretch(const struct count *c, struct alarm_row *row, int64_t on_ms, int64_t off_ms)
{
  int64_t from_ms = on_ms > c->out->from_ms ? on_ms : c->out->from_ms;
  int64_t to_ms = off_ms < c->out->to_ms ? off_ms : c->out->to_ms;

  if (to_ms <= from_ms)
    return;
  row->spells++;
  row->stood_s += (double)(to_ms - from_ms) * 1e-3;
  row->longest_s = fmax(row->longest_s, (double)(to_ms - from_ms) * 1e-3);
  row->stale = row->stale || (double)(to_ms - on_ms) * 1e-3 > c->settings->stale_s;
}

static void measure_row(const struct count *c, struct alarm_row *row)
{
  int64_t on_ms = 0;
  bool on = false;

  for (int i = 0; i < c->list_count && c->list[i].t_ms < c->out->to_ms; i++) {
    const struct alarm_told *told = &c->list[i];

    if (!is_of_row(told, row))
      continue;
    if (is_inside(c, told->t_ms) && was_told(told)) {
      row->told++;
      row->priority = told->priority;
    }
    if (told->kind == ALARM_TURN_ON && !on) {
      on_ms = told->t_ms;
      on = true;
      row->priority = row->told ? row->priority : told->priority;
    } else if (told->kind == ALARM_TURN_OFF && on) {
      add_stretch(c, row, on_ms, told->t_ms);
      on = false;
    }
  }
  row->stands = on;
  if (on)
    add_stretch(c, row, on_ms, c->out->to_ms);
}

/* Times of its tellings, into `times` which has room for all. */
static int tellings_of(const struct count *c, const struct alarm_row *row, int64_t *times)
{
  int count = 0;

  for (int i = 0; i < c->list_count; i++)
    if (is_inside(c, c->list[i].t_ms) && was_told(&c->list[i]) && is_of_row(&c->list[i], row))
      times[count++] = c->list[i].t_ms;
  return count;
}

static void judge_chatter(const struct count *c, struct alarm_row *row, int64_t *times)
{
  int count = tellings_of(c, row, times), n = c->settings->chatter_count;
  double sum = 0;

  for (int i = 1; i < count; i++) /* a record tells seconds apart at best */
    sum += 1 / fmax(1, (double)(times[i] - times[i - 1]) * 1e-3);
  row->chatter_per_s = count > 1 ? sum / (count - 1) : 0;
  row->chatters = count >= n && row->chatter_per_s >= n / c->settings->chatter_s;
  for (int i = 0; i + n <= count; i++)
    row->chatters = row->chatters || times[i + n - 1] - times[i] < ms(c->settings->chatter_s);
}

static int by_told(const void *a, const void *b)
{
  const struct alarm_row *x = a, *y = b;

  if (x->told != y->told)
    return y->told - x->told;
  if (x->stood_s != y->stood_s)
    return x->stood_s < y->stood_s ? 1 : -1;
  return x->when != y->when ? (int)x->when - (int)y->when : strcmp(x->about, y->about);
}

static void judge_rows(struct count *c)
{
  struct alarm_figures *f = c->out;
  struct alarm_row *rows = room_for(c->arena, c->list_count, sizeof *rows);
  int64_t *times = room_for(c->arena, f->told, sizeof *times);
  int all = 0, top = 0;

  for (int i = 0; i < c->list_count; i++)
    if (c->list[i].when >= 0)
      row_of(rows, &all, &c->list[i]);
  for (int i = 0; i < all; i++) {
    measure_row(c, &rows[i]);
    judge_chatter(c, &rows[i], times);
    if (rows[i].told > 0 || (rows[i].stood_s > 0 && rows[i].priority != FEEDS_NOBODY))
      rows[f->row_count++] = rows[i];
  }
  qsort(rows, (size_t)f->row_count, sizeof *rows, by_told);
  for (int i = 0; i < f->row_count; i++) {
    top += i < TOP ? rows[i].told : 0;
    f->chattering += rows[i].chatters;
    f->stale += rows[i].stale;
  }
  f->top_ratio = f->told > 0 ? (double)top / f->told : 0;
  f->rows = rows;
}

/* ---- what people did ---- */

static int by_size(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

/* From each telling to the next acknowledgement of that part, unless it is told anew before. */
static void measure_answers(struct count *c)
{
  struct alarm_figures *f = c->out;
  double *answers = room_for(c->arena, f->told, sizeof *answers);

  for (int i = 0; i < c->list_count; i++) {
    const struct alarm_told *told = &c->list[i];

    if (!is_inside(c, told->t_ms) || !was_told(told))
      continue;
    for (int j = i + 1; j < c->list_count && is_inside(c, c->list[j].t_ms); j++) {
      const struct alarm_told *then = &c->list[j];

      if (strcmp(then->about, told->about) != 0)
        continue;
      if (then->kind == ALARM_TURN_ACKNOWLEDGED)
        answers[f->answered++] = (double)(then->t_ms - told->t_ms) * 1e-3;
      if (then->kind == ALARM_TURN_ACKNOWLEDGED || (then->when == told->when && was_told(then)))
        break;
    }
  }
  qsort(answers, (size_t)f->answered, sizeof *answers, by_size);
  f->answer_s = (double)NAN;
  if (f->answered > 0)
    f->answer_s = (answers[(f->answered - 1) / 2] + answers[f->answered / 2]) / 2;
}

/* By the same person within a minute of that one. */
static int haste_from(const struct count *c, int first, int *last_out)
{
  int count = 0;

  for (int i = first; i < c->list_count && c->list[i].t_ms - c->list[first].t_ms < HASTE_MS; i++)
    if (c->list[i].kind == ALARM_TURN_ACKNOWLEDGED &&
        strcmp(c->list[i].who, c->list[first].who) == 0) {
      count++;
      *last_out = i;
    }
  return count;
}

static void find_haste(struct count *c)
{
  struct alarm_figures *f = c->out;
  struct alarm_haste *hastes = room_for(c->arena, c->list_count, sizeof *hastes);

  for (int i = 0; i < c->list_count; i++) {
    int last = i;

    if (c->list[i].kind != ALARM_TURN_ACKNOWLEDGED || !is_inside(c, c->list[i].t_ms))
      continue;

    int count = haste_from(c, i, &last);

    if (count < c->settings->haste_count)
      continue;
    hastes[f->haste_count++] = (struct alarm_haste){c->list[i].t_ms, count};
    i = last;
  }
  f->hastes = hastes;
}

struct alarm_figures alarm_figures(const struct feeds_figures *settings,
                                   const struct alarm_told *list, int count, int64_t from_ms,
                                   int64_t to_ms, struct arena *arena)
{
  struct alarm_figures figures = {.from_ms = from_ms, .to_ms = to_ms};
  struct count c = {settings, list,     count,
                    arena,    &figures, room_for(arena, count, sizeof *c.told_ms)};

  BUG_IF(from_ms >= to_ms);
  count_all(&c);
  count_windows(&c);
  find_floods(&c);
  judge_rows(&c);
  measure_answers(&c);
  find_haste(&c);
  return figures;
}
