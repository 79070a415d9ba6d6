#include "feed/propose_impl.h"

#include <stdlib.h>
#include <string.h>

/* Which column holds the time, and how it is written: every pattern that all its cells fit. */

static const char *const dates[] = {"DD.MM.YYYY",  "DD.MM.YY",    "DD/MM/YYYY",  "MM/DD/YYYY",
                                    "DD/MM/YY",    "MM/DD/YY",    "DD-MM-YYYY",  "MM-DD-YYYY",
                                    "DD-MM-YY",    "MM-DD-YY",    "YYYY-MM-DD",  "YYYY/MM/DD",
                                    "YYYY.MM.DD",  "YY-MM-DD",    "DD-MMM-YYYY", "DD-MMM-YY",
                                    "DD MMM YYYY", "MMM DD YYYY", "YYYYMMDD"};
static const char *const clocks[] = {"hh:mm",       "hh:mm:ss", "hh:mm:ss.fff", "hh:mm am",
                                     "hh:mm:ss am", "hh.mm",    "hh.mm.ss",     "hhmm"};
enum { DATES = sizeof dates / sizeof dates[0], CLOCKS = sizeof clocks / sizeof clocks[0] };

/* The cells of a column, or of two joined by a blank. */
struct samples {
  struct feed_span *list;
  int count;
};

static struct samples samples_of(const struct guess *g, struct feed_rows rows, int date, int time,
                                 struct arena *arena)
{
  struct samples s = {.list = ARENA_ARRAY(arena, struct feed_span, GUESS_ROWS)};

  while (s.list && s.count < GUESS_ROWS && feed_rows_next(&rows, false)) {
    struct feed_span at, on = {"", 0};

    if (rows.fault || rows.cell_count < g->column_count || feed_row_is_blank(&rows))
      continue;
    at = rows.cells[time];
    if (date >= 0)
      on = rows.cells[date];
    if (at.size == 0 || at.size + on.size > 60)
      continue;

    char *copy = arena_printf(arena, "%.*s%s%.*s", (int)on.size, on.at, date >= 0 ? " " : "",
                              (int)at.size, at.at);

    if (copy)
      s.list[s.count++] = (struct feed_span){copy, strlen(copy)};
  }
  return s;
}

/* A few cells may be no time: a line at the end, a broken row. */
static bool all_fit(const struct samples *s, const struct when_pattern *pattern, bool *have_offset)
{
  int wrong = 0, offsets = 0;
  struct when_taken taken;

  for (int i = 0; i < s->count; i++) {
    if (!when_pattern_take(pattern, s->list[i].at, s->list[i].size, &taken)) {
      if (++wrong * 50 > s->count)
        return false;
      continue;
    }
    offsets += taken.has_offset;
  }
  *have_offset = offsets > 0 && offsets + wrong == s->count;
  return s->count > wrong;
}

static void try_pattern(struct guess *g, const struct samples *s, const char *text)
{
  struct when_pattern pattern;
  bool have_offset;

  if (g->pattern_count == GUESS_PATTERNS || when_pattern_read(text, &pattern, NULL) != ERR_OK ||
      !all_fit(s, &pattern, &have_offset))
    return;
  snprintf(g->patterns[g->pattern_count++], sizeof g->patterns[0], "%s", text);
  g->all_have_offset = have_offset;
}

static bool try_patterns(struct guess *g, const struct samples *s)
{
  char text[40];

  g->pattern_count = 0;
  if (s->count == 0)
    return false;
  try_pattern(g, s, "ISO");
  for (int d = 0; d < DATES && !(g->pattern_count > 0 && strcmp(g->patterns[0], "ISO") == 0); d++)
    for (int c = 0; c < CLOCKS; c++) {
      snprintf(text, sizeof text, "%s %s", dates[d], clocks[c]);
      try_pattern(g, s, text);
    }
  return g->pattern_count > 0;
}

static int by_size(const void *a, const void *b)
{
  const int64_t *x = a, *y = b;

  return (*x > *y) - (*x < *y);
}

/* The step that most rows keep: the middle one, where half of them are within a second of it. */
static void find_step(struct guess *g, const struct samples *s, struct arena *arena)
{
  int64_t *steps = ARENA_ARRAY(arena, int64_t, (size_t)s->count + 1), last = 0;
  struct when_pattern pattern;
  int count = 0, alike = 0;
  bool has_last = false;

  if (!steps || when_pattern_read(g->patterns[0], &pattern, NULL) != ERR_OK)
    return;
  for (int i = 0; i < s->count; i++) {
    struct when_taken taken;
    int64_t now, second;

    if (!when_pattern_take(&pattern, s->list[i].at, s->list[i].size, &taken))
      continue;
    when_of_taken(when_utc(), &taken, &now, &second);
    if (has_last && now != last)
      steps[count++] = now > last ? now - last : last - now;
    last = now;
    has_last = true;
  }
  if (count < 3)
    return;
  qsort(steps, (size_t)count, sizeof *steps, by_size);

  int64_t middle_ms = steps[count / 2];

  for (int i = 0; i < count; i++)
    alike += llabs(steps[i] - middle_ms) <= 1000;
  if (alike * 2 > count)
    g->every_s = (double)middle_ms * 1e-3;
}

static bool try_column(struct guess *g, struct feed_rows first, int date, int time,
                       struct arena *arena)
{
  struct samples s = samples_of(g, first, date, time, arena);

  if (!try_patterns(g, &s))
    return false;
  g->time = time;
  g->date = date;
  if (g->pattern_count == 1)
    find_step(g, &s, arena);
  return true;
}

void guess_time(struct guess *g, struct feed_rows first, struct arena *arena)
{
  int looked = g->column_count < 6 ? g->column_count : 6; /* times stand in front */

  for (int c = 0; c < looked; c++)
    if (try_column(g, first, -1, c, arena))
      return;
  for (int d = 0; d < looked; d++)
    for (int t = 0; t < looked; t++)
      if (t != d && try_column(g, first, d, t, arena))
        return;
}
