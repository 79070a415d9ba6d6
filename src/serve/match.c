#include "serve/match_impl.h"

#include "ask/ask.h"
#include "base/query.h"
#include "base/utf8.h"
#include "match/match.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum {
  WORK_BYTES = 512 << 20,
  MATCH_MOST_S = 10, /* a connection that is silent for longer is closed (serve.c) */
  NAME_MOST_BYTES = 120
};

static const char form_path[] = "/api/match-form";

struct match_desk {
  const struct facility *facility;
  const struct facility_text *texts;
  int text_count;
  const struct when_zone *zone;
  pthread_mutex_t one; /* held while a match is worked out */
};

struct match_desk *match_desk_new(const struct facility *facility,
                                  const struct facility_text *texts, int text_count,
                                  const struct when_zone *zone)
{
  struct match_desk *desk = calloc(1, sizeof *desk);

  if (!desk)
    err_no_memory();
  *desk = (struct match_desk){
      .facility = facility, .texts = texts, .text_count = text_count, .zone = zone};
  pthread_mutex_init(&desk->one, NULL);
  return desk;
}

void match_desk_free(struct match_desk *desk)
{
  if (!desk)
    return;
  pthread_mutex_destroy(&desk->one);
  free(desk);
}

bool match_desk_gets(const char *path)
{
  return strcmp(path, form_path) == 0;
}

bool match_desk_posts(const char *path)
{
  return match_desk_gets(path) || strcmp(path, "/api/match") == 0 ||
         strcmp(path, "/api/match-overlay") == 0;
}

/* ---- what is asked ---- */

struct asking {
  struct match_desk *desk;
  const struct scene *scene; /* or NULL: everything parked */
  enum units_system system;
  const char *file, *date; /* date: or NULL, today */
  struct arena arena;
  struct query query;
  struct match_served *as;
};

static enum err_code take_name(struct asking *a, const char *name, struct err *err)
{
  char said[UTF8_SAID_BYTES];

  if (!*name || strlen(name) > NAME_MOST_BYTES)
    return err_set(err, ERR_INPUT, "file is the table's name, at most %d bytes", NAME_MOST_BYTES);
  if (utf8_unseen(name, said))
    return err_set(err, ERR_INPUT, "file: %s", said);
  a->file = name;
  return ERR_OK;
}

static enum err_code take_pair(struct asking *a, const struct query_pair *pair, bool form,
                               struct err *err)
{
  if (query_count(&a->query, pair->key) > 1)
    return err_set(err, ERR_INPUT, "\"%.32s\" twice; say it once", pair->key);
  if (strcmp(pair->key, "file") == 0)
    return take_name(a, pair->value, err);
  if (strcmp(pair->key, "scene") == 0)
    return *pair->value ? scene_named(a->desk->facility, pair->value, &a->scene, err) : ERR_OK;
  if (form && strcmp(pair->key, "date") == 0) {
    a->date = pair->value;
    return ERR_OK;
  }
  if (form && strcmp(pair->key, "units") == 0) {
    a->system = strcmp(pair->value, "us") == 0 ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI;
    return a->system == UNITS_SYSTEM_US || strcmp(pair->value, "si") == 0
               ? ERR_OK
               : err_set(err, ERR_INPUT, "units is si or us, not \"%.32s\"", pair->value);
  }
  return err_set(err, ERR_INPUT, "no parameter \"%.32s\": use scene, and file%s", pair->key,
                 form ? ", date, units" : "");
}

static enum err_code take_search(struct asking *a, const char *search, bool form, struct err *err)
{
  enum err_code code = query_parse(search, strlen(search), &a->query, err);

  a->file = "readings";
  for (int i = 0; code == ERR_OK && i < a->query.count; i++)
    code = take_pair(a, &a->query.pairs[i], form, err);
  return code;
}

/* ---- readings ---- */

typedef struct match_readings *read_table(const struct facility *facility,
                                          const struct sheet_book *book, struct arena *arena,
                                          struct complaints *complaints);

/* NULL after every fault was put into `out`, a line each. */
static struct match_readings *readings_of(struct asking *a, const struct live_post *post,
                                          read_table *read, struct buf *out)
{
  struct complaints complaints;
  struct match_readings *readings = NULL;
  struct sheet_book *book;
  struct buf why;

  complaints_init(&complaints, &a->arena);
  book = sheet_read(a->file, post->body, post->size, &a->arena, &complaints);
  if (book)
    readings = read(a->desk->facility, book, &a->arena, &complaints);
  if (readings)
    return readings;
  buf_init(&why, 1 << 20);
  complaints_print(&complaints, a->file, NULL, &why);
  buf_trim_end(&why);
  ask_refuse(out, 400, why.text);
  buf_release(&why);
  return NULL;
}

static double clock_s(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static bool goes_on(void *arg)
{
  return clock_s() < *(const double *)arg;
}

static int status_of(enum err_code code)
{
  return err_exit_status(code) == 2 ? 400 : code == ERR_LIMIT ? 503 : 500;
}

/* NULL, with the status of a refusal in `out`. */
static struct match_result *matched(struct asking *a, const struct match_readings *readings,
                                    struct buf *out, int *status_out)
{
  double until_s = clock_s() + MATCH_MOST_S;
  struct match_options options = {.scene = a->scene, .goes_on = goes_on, .arg = &until_s};
  struct match_result *result;
  struct err err = {0};

  if (pthread_mutex_trylock(&a->desk->one) != 0) {
    *status_out = ask_refuse(out, 503, "another match is being worked out: ask again in a moment");
    return NULL;
  }
  result = match_fit(a->desk->facility, readings, &options, &a->arena, &err);
  pthread_mutex_unlock(&a->desk->one);
  if (result)
    return result;
  if (err.code == ERR_LIMIT && !goes_on(&until_s))
    err_set(&err, ERR_LIMIT,
            "this match takes longer than the %d s a board gives it: part the table, or "
            "use inward match",
            MATCH_MOST_S);
  *status_out = ask_refuse(out, status_of(err.code), err.text);
  return NULL;
}

/* ---- the answers ---- */

static int put_form(struct asking *a, const struct match_readings *blanks, struct buf *out)
{
  int64_t t_ms = (int64_t)time(NULL) * 1000;
  struct match_form_job job = {
      .facility = a->desk->facility, .blanks = blanks, .scene = a->scene, .system = a->system};
  struct when_civil day;
  struct err err = {0};
  enum err_code code = a->date ? when_read_bound(a->date, a->desk->zone, &t_ms, &err) : ERR_OK;

  day = when_civil(a->desk->zone, t_ms, NULL);
  job.printed_on = arena_printf(&a->arena, "%04d-%02d-%02d", day.year, day.month, day.day);
  if (code == ERR_OK)
    code = match_form(&job, &a->arena, out, &err);
  if (code != ERR_OK)
    return ask_refuse(out, status_of(code), err.text);
  *a->as = (struct match_served){"text/csv; charset=utf-8", "readings.csv"};
  return 200;
}

static int put_overlay(struct asking *a, const struct match_result *result, struct buf *out)
{
  struct err err = {0};
  enum err_code code =
      match_write(result, a->desk->texts, a->desk->text_count, a->file, &a->arena, out, &err);

  if (code != ERR_OK)
    return ask_refuse(out, status_of(code), err.text);
  *a->as = (struct match_served){"application/yaml; charset=utf-8", "fitted.yaml"};
  return 200;
}

static int answer(struct asking *a, const struct live_post *post, struct buf *out)
{
  bool form = match_desk_gets(post->path);
  const struct match_readings *readings =
      readings_of(a, post, form ? match_blanks : match_table, out);
  const struct match_result *result;
  int status = 400;

  if (!readings)
    return 400;
  if (form)
    return put_form(a, readings, out);
  result = matched(a, readings, out, &status);
  if (!result)
    return status;
  if (strcmp(post->path, "/api/match-overlay") == 0)
    return put_overlay(a, result, out);
  match_json(result, out);
  return 200;
}

/* `post` is NULL for a question that was read. */
static int asked(struct match_desk *desk, const char *search, const struct live_post *post,
                 struct buf *out, struct match_served *as)
{
  struct asking *a = calloc(1, sizeof *a);
  struct err err = {0};
  int status;

  if (!a)
    err_no_memory();
  a->desk = desk;
  a->as = as;
  arena_init(&a->arena, WORK_BYTES);
  if (take_search(a, search, !post || match_desk_gets(post->path), &err) != ERR_OK)
    status = ask_refuse(out, 400, err.text);
  else
    status = post ? answer(a, post, out) : put_form(a, NULL, out);
  arena_release(&a->arena);
  free(a);
  return status == 200 && out->full ? ask_refuse(out, 500, "the answer is too long") : status;
}

int match_desk_get(struct match_desk *desk, const char *search, struct buf *out,
                   struct match_served *as)
{
  return asked(desk, search, NULL, out, as);
}

int match_desk_post(struct match_desk *desk, const struct live_post *post, struct buf *out,
                    struct match_served *as)
{
  return asked(desk, post->search, post, out, as);
}
