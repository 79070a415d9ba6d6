#include "wire/folder_impl.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

/* The calendars of a folder, read together: all of them say what is booked, the newest file of a
 * booking's uid is the one that counts. */

enum { MOST_BOOKINGS = 50000, AGAIN_S = 900 };

static const int64_t before_ms = (int64_t)1 * 86400 * 1000; /* the window around now */
static const int64_t after_ms = (int64_t)14 * 86400 * 1000;

struct booked {
  struct feed_booking booking;
  int file; /* the higher, the newer */
};

struct gathering {
  struct wire_line *line;
  struct booked *list;
  int count, file;
};

static void gather(void *arg, const struct feed_booking *booking)
{
  struct gathering *g = arg;

  if (g->count < MOST_BOOKINGS)
    g->list[g->count++] = (struct booked){*booking, g->file};
}

/* ---- which files ---- */

static bool is_calendar(const struct folder_file *file)
{
  size_t length = strlen(file->name);

  return !file->gone && S_ISREG(file->about.st_mode) && file->about.st_size > 0 &&
         file->about.st_size <= FEED_CALENDAR_MOST_BYTES && length > 4 &&
         strcmp(file->name + length - 4, ".ics") == 0;
}

static int by_age(const void *a, const void *b)
{
  const struct folder_file *const *left = a, *const *right = b;
  const struct timespec x = (*left)->about.st_mtim, y = (*right)->about.st_mtim;

  if (x.tv_sec != y.tv_sec)
    return x.tv_sec < y.tv_sec ? -1 : 1;
  if (x.tv_nsec != y.tv_nsec)
    return x.tv_nsec < y.tv_nsec ? -1 : 1;
  return strcmp((*left)->name, (*right)->name);
}

/* ---- one file ---- */

static void report(struct gathering *g, const struct folder_file *file, const char *bytes,
                   const struct feed_calendar_report *counts, struct complaints *complaints)
{
  const struct wire_callbacks *callbacks = g->line->callbacks;
  struct buf text;

  if (!callbacks->file)
    return;
  buf_init(&text, 16 << 10);
  buf_printf(&text,
             "%d events, %d of them cancelled; %d bookings from a day ago to two weeks ahead\n",
             counts->events, counts->cancelled, counts->bookings);
  complaints_print(complaints, file->name, bytes, &text);
  callbacks->file(callbacks->arg, g->line->index, file->name, bytes, (size_t)file->about.st_size,
                  text.text);
  buf_release(&text);
}

static void read_calendar(struct gathering *g, int folder, struct folder_file *file,
                          struct arena *arena)
{
  char *bytes = folder_read(folder, file);
  struct feed_booking_sink sink = {gather, g};
  struct feed_calendar_report counts;
  struct complaints complaints;
  int64_t now_ms = wire_now_ms(g->line);

  if (!bytes) {
    if (errno)
      wire_refuse(g->line, "%s: %s", file->name, strerror(errno));
    return; /* it changed: the next look reads all again */
  }

  const struct facility_text text = {file->name, bytes, (size_t)file->about.st_size};
  const struct feed_window window = {g->line->source->table.zone, now_ms - before_ms,
                                     now_ms + after_ms};

  complaints_init(&complaints, arena);
  /* A file that is no calendar is told each time: what it held is not booked any more. */
  bool whole = feed_calendar(&text, &window, &sink, arena, &complaints, &counts);

  if (complaints.count > 0 && (!whole || !file->done))
    wire_refuse(g->line, "%s:%d: %s", file->name, complaints.list[0].place.line,
                complaints.list[0].text);
  if (!file->done && !folder_is_known(g->line, bytes, text.size))
    report(g, file, bytes, &counts, &complaints);
  file->done = true;
  free(bytes);
}

/* ---- all of them ---- */

static int by_uid(const void *a, const void *b)
{
  const struct booked *x = a, *y = b;
  int uid = strcmp(x->booking.uid, y->booking.uid);

  return uid ? uid : x->file - y->file;
}

static int by_start(const void *a, const void *b)
{
  const struct feed_booking *x = a, *y = b;

  if (x->start_ms != y->start_ms)
    return x->start_ms < y->start_ms ? -1 : 1;
  return strcmp(x->uid, y->uid);
}

/* Leaves of each uid what its newest file says. */
static void hand_over(struct gathering *g)
{
  const struct wire_callbacks *callbacks = g->line->callbacks;
  struct feed_booking *list = calloc((size_t)g->count + 1, sizeof *list);
  int count = 0, end;

  if (!list)
    err_no_memory();
  qsort(g->list, (size_t)g->count, sizeof *g->list, by_uid);
  for (int i = 0; i < g->count; i = end) {
    const char *uid = g->list[i].booking.uid;

    for (end = i + 1; end < g->count && strcmp(g->list[end].booking.uid, uid) == 0;)
      end++;
    for (int j = i; j < end; j++)
      if (!*uid || g->list[j].file == g->list[end - 1].file)
        list[count++] = g->list[j].booking;
  }
  qsort(list, (size_t)count, sizeof *list, by_start);
  wire_count(g->line, count);
  if (callbacks->bookings)
    callbacks->bookings(callbacks->arg, g->line->index, list, count);
  free(list);
}

static void read_all(struct wire_line *line, int folder, struct folder_file **files, int count)
{
  struct gathering g = {.line = line};
  struct arena arena;

  arena_init(&arena, (size_t)256 << 20);
  g.list = calloc(MOST_BOOKINGS, sizeof *g.list);
  if (!g.list)
    err_no_memory();
  for (g.file = 0; g.file < count && !wire_stopping(line); g.file++)
    read_calendar(&g, folder, files[g.file], &arena);
  if (!wire_stopping(line))
    hand_over(&g);
  free(g.list);
  arena_release(&arena);
}

void folder_take_calendars(struct wire_line *line, int folder, struct folder_file *files, int count,
                           struct folder_calendars *last)
{
  struct folder_file **ready = calloc((size_t)count + 1, sizeof(struct folder_file *));
  double now_s = wire_clock_s();
  bool changed = !last->ever || now_s - last->read_s >= AGAIN_S, settled = true;
  int ready_count = 0;

  if (!ready)
    err_no_memory();
  for (int i = 0; i < count; i++)
    if (is_calendar(&files[i])) {
      settled = settled && now_s - files[i].since_s >= line->pace->settle_s;
      changed = changed || !files[i].done;
      ready[ready_count++] = &files[i];
    }
  if (settled && (changed || ready_count != last->count)) {
    qsort(ready, (size_t)ready_count, sizeof(struct folder_file *), by_age);
    read_all(line, folder, ready, ready_count);
    *last = (struct folder_calendars){.ever = true, .read_s = now_s, .count = ready_count};
  }
  free(ready);
}
