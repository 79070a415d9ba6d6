/* The table of a trend for `inward match`: read, put in order, made into readings. */
#include "cli/match_impl.h"

#include "cli/read.h"
#include "cli/zone.h"

#include <stdio.h>
#include <stdlib.h>

struct rows {
  struct feed_observation *list;
  long count, room;
};

static void take_row(void *arg, const struct feed_observation *o)
{
  struct rows *rows = arg;

  if (rows->count == rows->room) {
    rows->room = rows->room ? 2 * rows->room : 4096;

    struct feed_observation *more = realloc(rows->list, (size_t)rows->room * sizeof *rows->list);

    if (!more)
      err_no_memory();
    rows->list = more;
  }
  rows->list[rows->count] = *o;
  rows->list[rows->count++].seen_ms = o->t_ms; /* the past, as it was seen then */
}

static int by_time(const void *a, const void *b)
{
  const struct feed_observation *x = a, *y = b;

  return x->t_ms != y->t_ms ? (x->t_ms > y->t_ms) - (x->t_ms < y->t_ms)
                            : (x->point > y->point) - (x->point < y->point);
}

static enum err_code find_source(const struct cli_match_trend *asked, int *out, struct err *err)
{
  int tables = 0;

  *out = asked->source ? feeds_source_find(asked->feeds, asked->source) : -1;
  for (int i = 0; !asked->source && i < asked->feeds->source_count; i++)
    if (asked->feeds->sources[i].kind == FEEDS_CSV) {
      *out = i;
      tables++;
    }
  if (!asked->source && tables != 1)
    return err_set(err, ERR_INPUT,
                   "sources of the feeds file that write tables: %d; say --source ID", tables);
  if (*out < 0)
    return err_set(err, ERR_INPUT, "no source '%.40s' in the feeds file", asked->source);
  if (asked->feeds->sources[*out].kind != FEEDS_CSV)
    return err_set(err, ERR_INPUT, "source %.40s writes no tables", asked->source);
  return ERR_OK;
}

static bool read_rows(const struct feed_table_job *job, struct rows *rows, struct arena *arena)
{
  struct feed_sink sink = {take_row, rows};
  struct feed_table_report report;
  struct complaints complaints;
  struct buf out;
  bool taken;

  complaints_init(&complaints, arena);
  taken = feed_table(job, &sink, arena, &complaints, &report);
  buf_init(&out, 1 << 20);
  complaints_print(&complaints, job->text->file, job->text->bytes, &out);
  fputs(out.text, stderr);
  buf_release(&out);
  if (taken && rows->count > 1)
    qsort(rows->list, (size_t)rows->count, sizeof *rows->list, by_time);
  return taken;
}

int cli_match_trend(const struct cli_match_trend *asked, struct arena *arena,
                    struct match_readings **out, struct err *err)
{
  struct feed_table_job job = {.feeds = asked->feeds, .seen_ms = INT64_MAX / 2};
  struct facility_text text = {0};
  struct rows rows = {0};
  int status = 2;

  if (find_source(asked, &job.source, err) != ERR_OK ||
      cli_zone_read(asked->feeds->sources[job.source].table.zone, arena, &job.zone, err) !=
          ERR_OK ||
      cli_read_file(asked->table, FEED_TABLE_MOST_BYTES, &text, err) != ERR_OK)
    return err_exit_status(err->code);
  job.text = &text;
  if (read_rows(&job, &rows, arena)) {
    *out = match_trend(&(struct match_trend_job){asked->facility, asked->feeds, job.zone,
                                                 asked->table, rows.list, rows.count},
                       arena);
    status = *out ? 0 : err_exit_status(err_set(err, ERR_LIMIT, "the trend needs more memory"));
  }
  free(rows.list);
  cli_free_file(&text);
  return status;
}
