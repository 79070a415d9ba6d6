#ifndef TESTS_SUPPORT_MATCHED_TREND_H
#define TESTS_SUPPORT_MATCHED_TREND_H

#include "matched.h"

#include <stdlib.h>

/* A table of a feeds file as readings: what a night's match of the board makes of a record. */
struct matched_rows {
  struct feed_observation *list;
  long count, room;
};

static inline void matched_row(void *arg, const struct feed_observation *o)
{
  struct matched_rows *rows = arg;

  if (rows->count == rows->room) {
    rows->room = rows->room ? 2 * rows->room : 1 << 14;
    rows->list = realloc(rows->list, (size_t)rows->room * sizeof *rows->list);
    if (!rows->list)
      err_no_memory();
  }
  rows->list[rows->count] = *o;
  rows->list[rows->count++].seen_ms = o->t_ms;
}

static inline int matched_by_time(const void *a, const void *b)
{
  const struct feed_observation *x = a, *y = b;

  return x->t_ms != y->t_ms ? (x->t_ms > y->t_ms) - (x->t_ms < y->t_ms)
                            : (x->point > y->point) - (x->point < y->point);
}

static inline struct facility_text matched_bytes(const char *path, struct arena *arena)
{
  enum { MOST = 1 << 20 };
  FILE *file = fopen(path, "rb");
  char *bytes = arena_push(arena, MOST, 1);
  size_t size = file && bytes ? fread(bytes, 1, MOST, file) : 0;

  if (file)
    fclose(file);
  CHECK(size > 0 && size < MOST);
  return (struct facility_text){path, bytes, size};
}

/* The feeds are the caller's to free. */
static inline struct match_readings *matched_trend(struct walked *w, const char *feeds_path,
                                                   const char *table_path, struct feeds **feeds_out)
{
  struct facility_text feeds_text = matched_bytes(feeds_path, &w->arena),
                       table = matched_bytes(table_path, &w->arena),
                       zone_text = matched_bytes("/usr/share/zoneinfo/Europe/Paris", &w->arena);
  struct feed_table_job job = {.text = &table, .seen_ms = INT64_MAX / 2};
  struct matched_rows rows = {0};
  struct feed_sink sink = {matched_row, &rows};
  struct match_readings *out = NULL;
  struct feed_table_report report;
  struct complaints complaints;
  struct err err = {0};

  complaints_init(&complaints, &w->arena);
  *feeds_out = feeds_read(w->facility, &feeds_text, &complaints);
  if (!*feeds_out || when_zone_read("Europe/Paris", zone_text.bytes, zone_text.size, &w->arena,
                                    &job.zone, &err) != ERR_OK)
    return NULL;
  job.feeds = *feeds_out;
  job.source = feeds_source_find(*feeds_out, "trend");
  if (feed_table(&job, &sink, &w->arena, &complaints, &report)) {
    qsort(rows.list, (size_t)rows.count, sizeof *rows.list, matched_by_time);
    out = match_trend(&(struct match_trend_job){w->facility, *feeds_out, job.zone, table_path,
                                                rows.list, rows.count},
                      &w->arena);
  }
  free(rows.list);
  return out;
}

#endif
