#include "serve/day_impl.h"

#include "ask/ask.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { KEPT_S = 20, ANSWER_MOST_BYTES = 16 << 20 };

struct day_desk {
  const struct serve_day *day;
  pthread_mutex_t lock;
  /* under the lock */
  bool kept;
  time_t kept_s;
  char search[QUERY_MAX_BYTES + 1];
  struct buf answer;
};

struct day_desk *day_desk_new(const struct serve_day *day)
{
  struct day_desk *desk = calloc(1, sizeof *desk);

  if (!desk)
    err_no_memory();
  desk->day = day;
  pthread_mutex_init(&desk->lock, NULL);
  buf_init(&desk->answer, ANSWER_MOST_BYTES);
  return desk;
}

void day_desk_free(struct day_desk *desk)
{
  if (!desk)
    return;
  pthread_mutex_destroy(&desk->lock);
  buf_release(&desk->answer);
  free(desk);
}

bool day_desk_knows(const char *path)
{
  return strcmp(path, "/api/day") == 0;
}

static time_t clock_s(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return now.tv_sec;
}

/* Under the lock. */
static enum err_code answer_anew(struct day_desk *desk, const char *search, struct err *err)
{
  struct query *query = calloc(1, sizeof *query);

  if (!query)
    err_no_memory();
  desk->kept = false;
  buf_clear(&desk->answer);
  enum err_code code = query_parse(search, strlen(search), query, err);

  if (code == ERR_OK)
    code = desk->day->answer(desk->day->arg, query, &desk->answer, err);
  free(query);
  if (code != ERR_OK)
    return code;
  desk->kept = true;
  desk->kept_s = clock_s();
  memcpy(desk->search, search, strlen(search) + 1);
  return ERR_OK;
}

int day_desk_get(struct day_desk *desk, const char *search, struct buf *out)
{
  struct err err = {0};
  enum err_code code = ERR_OK;

  if (!desk->day)
    return ask_refuse(out, 404, "this board was given no bookings");
  if (strlen(search) > QUERY_MAX_BYTES)
    return ask_refuse(out, 400, "the question is too long");
  pthread_mutex_lock(&desk->lock);
  if (!desk->kept || clock_s() - desk->kept_s >= KEPT_S || strcmp(desk->search, search) != 0)
    code = answer_anew(desk, search, &err);
  if (code == ERR_OK)
    buf_add(out, desk->answer.text, desk->answer.used);
  pthread_mutex_unlock(&desk->lock);
  if (code != ERR_OK)
    return ask_refuse(out, err_exit_status(code) == 2 ? 400 : 500, err.text);
  return out->full ? ask_refuse(out, 500, "the answer is too long") : 200;
}
