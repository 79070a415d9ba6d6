#include "base/utf8.h"
#include "post/post_impl.h"
#include "wire/wire.h"

#include <curl/curl.h>
#include <math.h>
#include <pthread.h>
#include <signal.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* Threads and queues: one of each for each of the file's messages. */

enum { QUEUE = 32, TRIES = 3 };

const double post_pause_usual_s = 20, post_most_usual_s = 30;

struct channel {
  struct post *post;
  int index;
  const struct feeds_message *to;
  char user[WIRE_SECRET_MOST], secret[WIRE_SECRET_MOST], token[WIRE_SECRET_MOST];
  pthread_t thread;
  bool started;
  /* under the post's lock */
  struct post_letter queue[QUEUE];
  int first, count;
  long held; /* not told yet */
  int64_t held_ms;
  struct post_causes causes;
  struct post_health health;
  /* the thread's own */
  struct post_limit limit;
};

struct post {
  struct post_settings given;
  pthread_mutex_t lock;
  pthread_cond_t turn;
  atomic_bool stop;
  int count;
  struct channel *channels;
};

static int64_t now_ms(void)
{
  struct timespec now;

  clock_gettime(CLOCK_REALTIME, &now);
  return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* Under the lock; until something is put, the post ends, or so long. */
static void wait_a_while(struct post *post, int64_t most_ms)
{
  struct timespec until;

  clock_gettime(CLOCK_MONOTONIC, &until);
  until.tv_sec += (time_t)(most_ms / 1000);
  until.tv_nsec += (long)(most_ms % 1000) * 1000000;
  if (until.tv_nsec >= 1000000000) {
    until.tv_sec++;
    until.tv_nsec -= 1000000000;
  }
  pthread_cond_timedwait(&post->turn, &post->lock, &until);
}

/* ---- what is put ---- */

static void copy(char *out, size_t size, const char *text)
{
  snprintf(out, size, "%s", text);
  utf8_mend_end(out);
}

static void hold(struct channel *c, int64_t t_ms)
{
  c->held++;
  c->health.held++;
  c->held_ms = t_ms;
}

void post_put(struct post *post, int channel, const struct post_item *item)
{
  struct channel *c = &post->channels[channel];

  pthread_mutex_lock(&post->lock);
  if (post_cause_is_told(&c->causes, item->cause, now_ms())) {
    pthread_mutex_unlock(&post->lock);
    return;
  }
  if (c->count == QUEUE)
    hold(c, item->t_ms);
  else {
    struct post_letter *letter = &c->queue[(c->first + c->count++) % QUEUE];

    *letter = (struct post_letter){.t_ms = item->t_ms};
    copy(letter->what, sizeof letter->what, item->what);
    copy(letter->priority, sizeof letter->priority, item->priority);
    copy(letter->about, sizeof letter->about, item->about);
    copy(letter->text, sizeof letter->text, item->text);
  }
  pthread_cond_broadcast(&post->turn);
  pthread_mutex_unlock(&post->lock);
}

void post_look(struct post *post, int channel, struct post_health *out)
{
  pthread_mutex_lock(&post->lock);
  *out = post->channels[channel].health;
  pthread_mutex_unlock(&post->lock);
}

/* ---- sending ---- */

static void write_letter(const struct channel *c, const struct post_letter *letter, struct buf *out)
{
  if (c->to->url)
    post_json(&c->post->given, letter, out);
  else
    post_mail(&c->post->given, c->to, letter, now_ms(), out);
}

static bool try_thrice(struct channel *c, const struct buf *body, char why[160])
{
  struct post *post = c->post;
  struct post_way way = {.to = c->to,
                         .folder = post->given.folder,
                         .user = c->user[0] ? c->user : NULL,
                         .secret = c->secret[0] ? c->secret : NULL,
                         .token = c->token[0] ? c->token : NULL,
                         .stop = &post->stop,
                         .most_s = post->given.most_s};

  for (int i = 0; i < TRIES && !atomic_load(&post->stop); i++) {
    int64_t until_ms = now_ms() + (int64_t)(post->given.pause_s * 1000 * i);

    pthread_mutex_lock(&post->lock);
    while (i > 0 && now_ms() < until_ms && !atomic_load(&post->stop))
      wait_a_while(post, until_ms - now_ms());
    pthread_mutex_unlock(&post->lock);
    if (post_send(&way, body->text, body->used, why))
      return true;
  }
  return false;
}

static void note_outcome(struct channel *c, bool sent, const char *why)
{
  struct post *post = c->post;
  bool turned;

  pthread_mutex_lock(&post->lock);
  struct post_health *h = &c->health;

  turned = sent == h->failing;
  h->failing = !sent;
  if (sent) {
    h->sent++;
    h->sent_ms = now_ms();
  } else
    h->not_sent++;
  snprintf(h->why, sizeof h->why, "%s", sent ? "" : why);
  utf8_mend_end(h->why);
  pthread_mutex_unlock(&post->lock);
  if (turned && post->given.told && !atomic_load(&post->stop))
    post->given.told(post->given.arg, c->index, sent, why);
}

static void send_letter(struct channel *c, const struct post_letter *letter)
{
  struct buf body;
  char why[160] = "the board is stopping";

  buf_init(&body, 1 << 16);
  write_letter(c, letter, &body);
  post_limit_note(&c->limit, now_ms());
  bool sent = try_thrice(c, &body, why);

  note_outcome(c, sent, why);
  buf_release(&body);
}

/* The next that may go; under the lock.  What was held back goes with it, or alone as soon as it may. */
static bool take_next(struct channel *c, struct post_letter *out, int64_t *wait_ms)
{
  int64_t free_ms = post_limit_free_ms(&c->limit, c->to->most_per_h, now_ms()) - now_ms();

  *wait_ms = 60000;
  if (free_ms > 0) {
    for (; c->count > 0; c->count--, c->first = (c->first + 1) % QUEUE)
      hold(c, c->queue[c->first].t_ms);
    *wait_ms = free_ms < *wait_ms ? free_ms : *wait_ms;
    return false;
  }
  if (c->count > 0) {
    *out = c->queue[c->first];
    c->first = (c->first + 1) % QUEUE;
    c->count--;
  } else if (c->held > 0)
    *out = (struct post_letter){
        .what = "digest", .text = "More was not sent one by one", .t_ms = c->held_ms};
  else
    return false;
  out->more = c->held;
  c->held = 0;
  return true;
}

static void *run(void *arg)
{
  struct channel *c = arg;
  struct post *post = c->post;

  while (!atomic_load(&post->stop)) {
    struct post_letter letter;
    int64_t wait_ms;

    pthread_mutex_lock(&post->lock);
    bool any = take_next(c, &letter, &wait_ms);

    if (!any && !atomic_load(&post->stop))
      wait_a_while(post, wait_ms);
    pthread_mutex_unlock(&post->lock);
    if (any)
      send_letter(c, &letter);
  }
  return NULL;
}

/* ---- life ---- */

static enum err_code read_words(struct channel *c, const char *folder, struct err *err)
{
  const char *const where[] = {c->to->user, c->to->secret, c->to->token};
  char *const words[] = {c->user, c->secret, c->token};

  for (int i = 0; i < 3; i++)
    if (where[i] && wire_secret(where[i], folder, words[i], err) != ERR_OK) {
      err_prefix(err, "message %s: ", c->to->part.id);
      return err->code;
    }
  return ERR_OK;
}

/* Signals are for the program's own threads. */
static enum err_code start(struct channel *c, struct err *err)
{
  sigset_t all, before;

  sigfillset(&all);
  pthread_sigmask(SIG_SETMASK, &all, &before);
  c->started = pthread_create(&c->thread, NULL, run, c) == 0;
  pthread_sigmask(SIG_SETMASK, &before, NULL);
  return c->started ? ERR_OK : err_set(err, ERR_IO, "the system gives no further thread");
}

enum err_code post_open(const struct post_settings *settings, struct post **post_out,
                        struct err *err)
{
  struct post *post = calloc(1, sizeof *post);
  pthread_condattr_t monotonic;
  enum err_code code = ERR_OK;

  if (!post)
    err_no_memory();
  post->given = *settings;
  post->count = settings->feeds->message_count;
  post->channels = calloc((size_t)post->count + 1, sizeof *post->channels);
  if (!post->channels)
    err_no_memory();
  pthread_mutex_init(&post->lock, NULL);
  pthread_condattr_init(&monotonic);
  pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
  pthread_cond_init(&post->turn, &monotonic);
  pthread_condattr_destroy(&monotonic);
  atomic_init(&post->stop, false);
  curl_global_init(CURL_GLOBAL_DEFAULT);
  for (int i = 0; i < post->count && code == ERR_OK; i++) {
    struct channel *c = &post->channels[i];

    c->post = post;
    c->index = i;
    c->to = &settings->feeds->messages[i];
    c->health.sent_ms = INT64_MIN;
    code = read_words(c, settings->folder, err);
    if (code == ERR_OK)
      code = start(c, err);
  }
  if (code == ERR_OK)
    *post_out = post;
  else
    post_close(post);
  return code;
}

void post_close(struct post *post)
{
  if (!post)
    return;
  pthread_mutex_lock(&post->lock);
  atomic_store(&post->stop, true);
  pthread_cond_broadcast(&post->turn);
  pthread_mutex_unlock(&post->lock);
  for (int i = 0; i < post->count; i++)
    if (post->channels[i].started)
      pthread_join(post->channels[i].thread, NULL);
  sodium_memzero(post->channels, (size_t)post->count * sizeof *post->channels);
  curl_global_cleanup();
  pthread_cond_destroy(&post->turn);
  pthread_mutex_destroy(&post->lock);
  free(post->channels);
  free(post);
}
