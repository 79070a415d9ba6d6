#include "serve/sheets_impl.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* A file that is not written anew for longer than twice STILL_S was left by a board that stopped. */
enum { WORK_BYTES = 256 << 20, LOOK_MS = 1000, STILL_S = 20 };

struct sheet_desk {
  const struct facility *facility;
  const struct serve_live *live;
  const struct wet_place *wet;
  struct record *record; /* the thread's own, opened when it can be; NULL */
  pthread_t thread;
  pthread_mutex_t lock;
  pthread_cond_t turn;
  bool stopping; /* this and below: under the lock */
  long revision;
  char content[9];
  bool has_printed;
  struct lists_printed printed;
};

/* ---- revisions ---- */

void sheet_desk_number(struct sheet_desk *desk, struct lists_page *page)
{
  pthread_mutex_lock(&desk->lock);
  if (strcmp(desk->content, page->content) != 0) {
    desk->revision++;
    snprintf(desk->content, sizeof desk->content, "%s", page->content);
  }
  page->revision = desk->revision;
  pthread_mutex_unlock(&desk->lock);
}

static void put_clock(const struct sheet_desk *desk, int64_t t_ms, struct buf *out)
{
  when_print(out, desk->live->zone, t_ms);
}

bool sheet_desk_say(struct sheet_desk *desk, const struct lists_page *page, struct buf *out)
{
  pthread_mutex_lock(&desk->lock);
  const struct lists_printed *p = &desk->printed;
  bool void_now = desk->has_printed &&
                  (p->revision != page->revision || strcmp(p->content, page->content) != 0);

  if (!desk->has_printed) {
    buf_puts(out, "No print of this sheet is known. What hangs at the door may be of any day.");
  } else {
    buf_puts(out, void_now ? "OUT OF DATE at the door: printed " : "Printed ");
    put_clock(desk, p->t_ms, out);
    buf_printf(out, " by %s, revision %ld", p->who, p->revision);
    if (void_now)
      buf_printf(out, "; now it is revision %ld. Print again, and take the old one away.",
                 page->revision);
    else
      buf_puts(out, ": nothing on it has changed since, but for ages and who stands where.");
  }
  pthread_mutex_unlock(&desk->lock);
  return void_now;
}

void sheet_desk_was_printed(struct sheet_desk *desk, const struct lists_page *page, const char *who)
{
  pthread_mutex_lock(&desk->lock);
  desk->has_printed = true;
  desk->printed = (struct lists_printed){.t_ms = page->t_ms, .revision = page->revision};
  snprintf(desk->printed.content, sizeof desk->printed.content, "%s", page->content);
  snprintf(desk->printed.who, sizeof desk->printed.who, "%s", who);
  pthread_mutex_unlock(&desk->lock);
}

/* ---- the file at the gate ---- */

/* Whole or not at all: a screen that reads it never sees half a sheet. */
static bool put_file(const char *path, const struct buf *html)
{
  char beside[4096];
  int length = snprintf(beside, sizeof beside, "%s.new", path);

  if (length < 0 || (size_t)length >= sizeof beside)
    return false;
  int fd = open(beside, O_WRONLY | O_CREAT | O_TRUNC, 0644);
  size_t put = 0;

  if (fd < 0)
    return false;
  while (put < html->used) {
    ssize_t got = write(fd, html->text + put, html->used - put);

    if (got < 0 && errno == EINTR)
      continue;
    if (got <= 0)
      break;
    put += (size_t)got;
  }
  bool whole = put == html->used;

  if (close(fd) != 0 || !whole || rename(beside, path) != 0) {
    unlink(beside);
    return false;
  }
  return true;
}

static void write_sheet(struct sheet_desk *desk, const struct lists_page *page)
{
  struct buf html;

  buf_init(&html, WORK_BYTES);
  lists_html(page,
             &(struct lists_html){
                 .notice = "Written anew every 20 s and at each change. If the time below is "
                           "older than a minute, the board has stopped: nothing here is "
                           "known.",
                 .again_s = 5},
             &html);
  if (html.full || !put_file(desk->live->responder_file, &html))
    fprintf(stderr, "inward serve: --responder %s could not be written\n",
            desk->live->responder_file);
  buf_release(&html);
}

/* ---- the thread ---- */

static void look(struct sheet_desk *desk, long *written, time_t *written_s)
{
  struct lists_page *page;
  struct arena arena;
  struct err err = {0};
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  arena_init(&arena, WORK_BYTES);
  if (!desk->record && desk->live->record_path &&
      record_open(desk->live->record_path, RECORD_READ, &desk->record, &err) != ERR_OK)
    desk->record = NULL; /* asked again in a second */

  const struct lists_ask ask = {desk->facility, desk->live, desk->wet, desk->record,
                                LISTS_RESPONDER};

  if (lists_now(&ask, &arena, &page, &err) == ERR_OK) {
    sheet_desk_number(desk, page);
    if (desk->live->responder_file &&
        (page->revision != *written || now.tv_sec - *written_s >= STILL_S)) {
      write_sheet(desk, page);
      *written = page->revision;
      *written_s = now.tv_sec;
    }
  }
  arena_release(&arena);
}

static void *work(void *arg)
{
  struct sheet_desk *desk = arg;
  long written = 0;
  time_t written_s = 0;

  pthread_mutex_lock(&desk->lock);
  while (!desk->stopping) {
    struct timespec until;

    pthread_mutex_unlock(&desk->lock);
    look(desk, &written, &written_s);
    pthread_mutex_lock(&desk->lock);
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += LOOK_MS / 1000;
    if (!desk->stopping)
      pthread_cond_timedwait(&desk->turn, &desk->lock, &until);
  }
  pthread_mutex_unlock(&desk->lock);
  return NULL;
}

/* The board goes on where an earlier one stopped counting. */
static void remember(struct sheet_desk *desk)
{
  struct record *record = NULL;
  struct arena arena;
  struct err err = {0};

  arena_init(&arena, WORK_BYTES);
  if (desk->live->record_path &&
      record_open(desk->live->record_path, RECORD_READ, &record, &err) == ERR_OK &&
      lists_printed_last(record, &arena, &desk->has_printed, &desk->printed, &err) == ERR_OK &&
      desk->has_printed) {
    desk->revision = desk->printed.revision;
    memcpy(desk->content, desk->printed.content, sizeof desk->content);
  }
  record_close(record);
  arena_release(&arena);
}

struct sheet_desk *sheet_desk_new(const struct facility *facility, const struct serve_live *live,
                                  const struct wet_place *wet)
{
  struct sheet_desk *desk = calloc(1, sizeof *desk);

  if (!desk)
    err_no_memory();
  desk->facility = facility;
  desk->live = live;
  desk->wet = wet;
  pthread_mutex_init(&desk->lock, NULL);
  pthread_cond_init(&desk->turn, NULL);
  remember(desk);
  if (pthread_create(&desk->thread, NULL, work, desk) != 0) {
    pthread_cond_destroy(&desk->turn);
    pthread_mutex_destroy(&desk->lock);
    free(desk);
    return NULL;
  }
  return desk;
}

void sheet_desk_free(struct sheet_desk *desk)
{
  if (!desk)
    return;
  pthread_mutex_lock(&desk->lock);
  desk->stopping = true;
  pthread_cond_signal(&desk->turn);
  pthread_mutex_unlock(&desk->lock);
  pthread_join(desk->thread, NULL);
  record_close(desk->record);
  pthread_cond_destroy(&desk->turn);
  pthread_mutex_destroy(&desk->lock);
  free(desk);
}
