#include "wire/folder_impl.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* What is in the files of a folder: a table is given to the table codec, and reported. */

enum { MOST_ZONE_BYTES = 256 << 10, MOST_REPORT_BYTES = 16 << 10 };

/* ---- zones ---- */

static const char zone_folder[] = "/usr/share/zoneinfo"; /* Debian's tzdata */

static enum err_code read_zone(const char *name, struct arena *arena,
                               const struct when_zone **zone_out, struct err *err)
{
  char path[256];
  char *bytes = malloc(MOST_ZONE_BYTES);
  enum err_code code;
  ssize_t size = -1;
  int in = -1;

  if (!bytes)
    err_no_memory();
  if (when_zone_name_fits(name)) {
    snprintf(path, sizeof path, "%s/%s", zone_folder, name);
    in = open(path, O_RDONLY | O_CLOEXEC);
  }
  if (in >= 0) {
    size = read(in, bytes, MOST_ZONE_BYTES);
    close(in);
  }
  if (size < 0)
    code = err_set(err, ERR_INPUT, "this machine knows no zone '%.60s' (package tzdata)", name);
  else
    code = when_zone_read(name, bytes, (size_t)size, arena, zone_out, err);
  free(bytes);
  return code;
}

/* ---- a table ---- */

struct table_batch {
  struct wire_line *line;
  struct feed_observation list[WIRE_BATCH];
  int count;
};

static void hand_over(struct table_batch *batch)
{
  const struct wire_callbacks *callbacks = batch->line->callbacks;

  if (batch->count == 0)
    return;
  callbacks->take(callbacks->arg, batch->list, batch->count);
  wire_count(batch->line, batch->count);
  batch->count = 0;
}

static void take_into_batch(void *arg, const struct feed_observation *observation)
{
  struct table_batch *batch = arg;

  batch->list[batch->count++] = *observation;
  if (batch->count == WIRE_BATCH)
    hand_over(batch);
}

static void refuse_table(struct wire_line *line, const char *name,
                         const struct complaints *complaints, const struct err *err)
{
  if (complaints->count > 0)
    wire_refuse(line, "%s:%d: %s", name, complaints->list[0].place.line, complaints->list[0].text);
  else
    wire_refuse(line, "%s: %s", name, err->text);
}

static void read_table(struct wire_line *line, const struct facility_text *text,
                       struct arena *arena, struct complaints *complaints, struct buf *report)
{
  struct table_batch batch = {.line = line};
  struct feed_sink sink = {take_into_batch, &batch};
  struct feed_table_report counts = {0};
  struct feed_table_job job = {line->feeds, line->index, NULL, text, wire_now_ms(line)};
  struct err err = {0};

  if (read_zone(line->source->table.zone, arena, &job.zone, &err) == ERR_OK &&
      feed_table(&job, &sink, arena, complaints, &counts)) {
    hand_over(&batch);
    feed_table_print(&counts, job.zone, report);
    return;
  }
  refuse_table(line, text->file, complaints, &err);
  buf_printf(report, "refused%s%s\n", err.text[0] ? ": " : "", err.text);
}

void folder_take_table(struct wire_line *line, const char *name, const char *bytes, size_t size)
{
  const struct facility_text text = {name, bytes, size};
  struct complaints complaints;
  struct arena arena;
  struct buf report;

  arena_init(&arena, (size_t)1 << 30);
  complaints_init(&complaints, &arena);
  buf_init(&report, MOST_REPORT_BYTES);
  read_table(line, &text, &arena, &complaints, &report);
  complaints_print(&complaints, name, bytes, &report);
  if (line->callbacks->file)
    line->callbacks->file(line->callbacks->arg, line->index, name, bytes, size, report.text);
  buf_release(&report);
  arena_release(&arena);
}
