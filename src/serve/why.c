#include "serve/why_impl.h"

#include "past/past.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <time.h>

enum { ANSWER_MOST_BYTES = 4 << 20, WORK_BYTES = 256 << 20, KEPT_S = 60 };

struct why_desk {
  const struct facility *facility;
  const struct serve_live *live;
  pthread_mutex_t lock;
  pthread_t thread;
  atomic_bool stopping;
  /* under the lock; but text, json and err are the thread's alone while it works */
  bool has_thread, working, done, of_night;
  int64_t t_ms;          /* of the moment it is about */
  struct when_civil day; /* of_night: of its evening */
  time_t done_s;
  struct buf text, json, drawing;
  struct err err;
};

static time_t clock_s(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return now.tv_sec;
}

struct why_desk *why_desk_new(const struct facility *facility, const struct serve_live *live)
{
  struct why_desk *desk = calloc(1, sizeof *desk);

  if (!desk)
    err_no_memory();
  desk->facility = facility;
  desk->live = live;
  pthread_mutex_init(&desk->lock, NULL);
  buf_init(&desk->text, ANSWER_MOST_BYTES);
  buf_init(&desk->json, ANSWER_MOST_BYTES);
  buf_init(&desk->drawing, ANSWER_MOST_BYTES);
  return desk;
}

void why_desk_free(struct why_desk *desk)
{
  if (!desk)
    return;
  atomic_store(&desk->stopping, true);
  if (desk->has_thread)
    pthread_join(desk->thread, NULL);
  buf_release(&desk->text);
  buf_release(&desk->json);
  buf_release(&desk->drawing);
  pthread_mutex_destroy(&desk->lock);
  free(desk);
}

/* ---- in its thread ---- */

static bool goes_on(void *arg)
{
  struct why_desk *desk = arg;

  return !atomic_load(&desk->stopping);
}

static enum err_code explain_moment(struct why_desk *desk, const struct past_place *place,
                                    struct arena *arena, struct err *err)
{
  struct past_why why;
  enum err_code code = past_why_ask(place, desk->t_ms, INT64_MAX, arena, &why, err);

  if (code == ERR_OK) {
    past_why_text(place, &why, &desk->text);
    past_why_json(place, &why, &desk->json);
  }
  return code;
}

static enum err_code explain_night(struct why_desk *desk, const struct past_place *place,
                                   struct arena *arena, struct err *err)
{
  struct past_night night;
  enum err_code code = past_night_ask(place, &desk->day, keeper_now_ms(desk->live->keeper),
                                      INT64_MAX, arena, &night, err);

  if (code == ERR_OK)
    code = past_night_levels(place, &night, arena, err);
  if (code == ERR_OK) {
    past_night_page(place, &night, &desk->text, &desk->drawing);
    past_night_json(place, &night, &desk->json);
  }
  return code;
}

static enum err_code explain(struct why_desk *desk, struct err *err)
{
  struct past_place place = {.facility = desk->facility,
                             .feeds = desk->live->feeds,
                             .zone = desk->live->zone,
                             .goes_on = goes_on,
                             .arg = desk};
  struct arena arena;
  enum err_code code = record_open(desk->live->record_path, RECORD_READ, &place.record, err);

  arena_init(&arena, WORK_BYTES);
  if (code == ERR_OK)
    code = record_bind(place.record, desk->facility, desk->live->feeds,
                       keeper_now_ms(desk->live->keeper), err);
  if (code == ERR_OK)
    code = desk->of_night ? explain_night(desk, &place, &arena, err)
                          : explain_moment(desk, &place, &arena, err);
  record_close(place.record);
  arena_release(&arena);
  return code;
}

static void *work(void *arg)
{
  struct why_desk *desk = arg;
  struct err err = {0};

  buf_clear(&desk->text);
  buf_clear(&desk->json);
  buf_clear(&desk->drawing);
  enum err_code code = explain(desk, &err);

  pthread_mutex_lock(&desk->lock);
  desk->working = false;
  desk->done = true;
  desk->done_s = clock_s();
  desk->err = code == ERR_OK ? (struct err){0} : err;
  pthread_mutex_unlock(&desk->lock);
  return NULL;
}

/* ---- asking ---- */

static int say(struct buf *out, int status, const char *text)
{
  buf_puts(out, text);
  return status;
}

static int begin(struct why_desk *desk, int64_t t_ms, struct buf *out)
{
  if (desk->has_thread)
    pthread_join(desk->thread, NULL); /* it has done its work */
  desk->t_ms = t_ms;
  desk->done = false;
  desk->has_thread = desk->working = pthread_create(&desk->thread, NULL, work, desk) == 0;
  return desk->working ? say(out, 202, "It is being worked out; ask again in a few seconds.")
                       : say(out, 503, "There is no room to work it out just now.");
}

static int ask(struct why_desk *desk, int64_t t_ms, bool json, struct buf *out)
{
  bool same = desk->t_ms == t_ms;

  if (desk->working)
    return same ? say(out, 202, "It is being worked out; ask again in a few seconds.")
                : say(out, 503,
                      desk->of_night ? "Another night is being worked out; ask again in a minute."
                                     : "Another moment is being worked out; ask again in a "
                                       "minute.");
  if (!desk->done || !same || clock_s() - desk->done_s > KEPT_S)
    return begin(desk, t_ms, out);
  if (desk->err.code != ERR_OK)
    return say(out, 503, desk->err.text);
  return say(out, 200, json ? desk->json.text : desk->text.text);
}

int why_desk_ask(struct why_desk *desk, int64_t t_ms, bool json, struct buf *out)
{
  if (!desk->live->record_path)
    return say(out, 503, "Nothing is kept here: start the board with --record FILE.");
  pthread_mutex_lock(&desk->lock);
  int status = ask(desk, t_ms, json, out);

  pthread_mutex_unlock(&desk->lock);
  return status;
}

int night_desk_ask(struct why_desk *desk, const struct when_civil *day, bool json, struct buf *out,
                   struct buf *drawing)
{
  int64_t number = (int64_t)day->year * 10000 + day->month * 100 + day->day; /* of the evening */

  pthread_mutex_lock(&desk->lock);
  if (!desk->working) {
    desk->of_night = true;
    desk->day = *day;
  }
  int status = ask(desk, number, json, out);

  if (status == 200 && !json)
    buf_add(drawing, desk->drawing.text, desk->drawing.used);
  pthread_mutex_unlock(&desk->lock);
  return status;
}
