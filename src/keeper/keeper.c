#include "keeper/keeper_impl.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

/* ---- time ---- */

int64_t keeper_clock_ms(const struct keeper *k)
{
  struct timespec now;

  if (k->given.clock_ms)
    return k->given.clock_ms(k->given.clock_arg);
  clock_gettime(CLOCK_REALTIME, &now);
  return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

int64_t keeper_now_ms(const struct keeper *k)
{
  int64_t clock_ms = keeper_clock_ms(k);

  if (!k->given.replay)
    return clock_ms;
  return k->given.replay_from_ms +
         (int64_t)((double)(clock_ms - k->began_ms) * k->given.replay_speed);
}

static int64_t wire_now_ms(void *arg)
{
  return keeper_now_ms(arg);
}

/* ---- what comes in ---- */

/* A full queue keeps the newest of each point: a belief needs no other. */
static void thin_queue(struct keeper *k)
{
  int kept = 0;

  for (int i = 0; i < k->queued; i++) {
    bool newest = true;

    for (int n = i + 1; n < k->queued && n < i + 4096 && newest; n++)
      newest = k->queue[n].point != k->queue[i].point;
    if (newest)
      k->queue[kept++] = k->queue[i];
  }
  k->dropped += k->queued - kept;
  k->queued = kept;
}

void keeper_take(struct keeper *k, const struct feed_observation *list, int count)
{
  pthread_mutex_lock(&k->lock);
  for (int i = 0; i < count; i++) {
    if (k->queued == KEEPER_QUEUE_MOST)
      thin_queue(k);
    if (k->queued < KEEPER_QUEUE_MOST)
      k->queue[k->queued++] = list[i];
    else
      k->dropped++;
  }
  pthread_cond_signal(&k->turn);
  pthread_mutex_unlock(&k->lock);
}

static void take_from_wire(void *arg, const struct feed_observation *list, int count)
{
  keeper_take(arg, list, count);
}

/* ---- the thread ---- */

/* Waits until there is something to do, at most `most_ms`; takes what was queued. */
static int wait_and_take(struct keeper *k, int64_t most_ms, bool *closing_out)
{
  struct timespec until;
  int count;

  clock_gettime(CLOCK_REALTIME, &until);
  until.tv_sec += (time_t)(most_ms / 1000);
  until.tv_nsec += (long)(most_ms % 1000) * 1000000;
  if (until.tv_nsec >= 1000000000) {
    until.tv_sec++;
    until.tv_nsec -= 1000000000;
  }
  pthread_mutex_lock(&k->lock);
  while (k->queued == 0 && !k->first_job && !k->closing)
    if (pthread_cond_timedwait(&k->turn, &k->lock, &until) != 0)
      break;

  struct feed_observation *taken = k->queue;

  k->queue = k->batch;
  k->batch = taken;
  count = k->queued;
  k->queued = 0;
  *closing_out = k->closing;
  pthread_mutex_unlock(&k->lock);
  return count;
}

static void take_all(struct keeper *k, const struct feed_observation *list, int count)
{
  for (int i = 0; i < count; i++)
    watch_take(k->watch, &list[i]);
  keeper_keep(k, list, count);
}

/* Hands in what of a replay has come by now, moment by moment, so that each state is seen when it was. */
static void go_on_with_replay(struct keeper *k, int64_t now_ms)
{
  const struct feed_observation *list = k->given.replay;

  while (k->replayed < k->given.replay_count && list[k->replayed].t_ms <= now_ms) {
    long first = k->replayed;
    int64_t t_ms = list[first].t_ms;

    while (k->replayed < k->given.replay_count && list[k->replayed].t_ms == t_ms)
      k->replayed++;
    take_all(k, &list[first], (int)(k->replayed - first));
    keeper_judge(k, t_ms);
  }
}

static int64_t next_wait_ms(const struct keeper *k, int64_t clock_ms)
{
  int64_t wait_ms = KEEPER_VIEW_MS - (clock_ms - k->viewed_ms);

  if (k->given.replay && k->replayed < k->given.replay_count) {
    int64_t ahead_ms = (int64_t)((double)(k->given.replay[k->replayed].t_ms - keeper_now_ms(k)) /
                                 k->given.replay_speed);

    wait_ms = ahead_ms < wait_ms ? ahead_ms : wait_ms;
  }
  if (k->solved_changed && wait_ms > KEEPER_SOONEST_MS)
    wait_ms = KEEPER_SOONEST_MS;
  return wait_ms < 10 ? 10 : wait_ms > KEEPER_VIEW_MS ? KEEPER_VIEW_MS : wait_ms;
}

static void *run(void *arg)
{
  struct keeper *k = arg;
  bool closing = false;

  while (!closing) {
    int count = wait_and_take(k, next_wait_ms(k, keeper_clock_ms(k)), &closing);
    int64_t now_ms = keeper_now_ms(k), clock_ms = keeper_clock_ms(k);

    take_all(k, k->batch, count);
    if (k->given.replay)
      go_on_with_replay(k, now_ms);
    keeper_run_jobs(k);
    keeper_look_at_sources(k, now_ms);
    keeper_judge(k, now_ms);
    keeper_commit(k, closing);
    if (clock_ms - k->viewed_ms >= (k->solved_changed ? KEEPER_SOONEST_MS : KEEPER_VIEW_MS) ||
        clock_ms < k->viewed_ms) /* the clock was stepped back */
      keeper_show(k, now_ms);
  }
  keeper_run_jobs(k);
  return NULL;
}

/* ---- life ---- */

static void *made(size_t count, size_t size)
{
  void *memory = calloc(count, size);

  if (!memory)
    err_no_memory();
  return memory;
}

static void init(struct keeper *k, const struct keeper_settings *settings)
{
  size_t sources = (size_t)settings->feeds->source_count + 1;

  k->given = *settings;
  pthread_mutex_init(&k->lock, NULL);
  pthread_mutex_init(&k->waking, NULL);
  pthread_cond_init(&k->turn, NULL);
  pthread_cond_init(&k->job_done, NULL);
  k->last_job = &k->first_job;
  k->queue = made(KEEPER_QUEUE_MOST, sizeof *k->queue);
  k->batch = made(KEEPER_QUEUE_MOST, sizeof *k->batch);
  k->pending = made(KEEPER_PENDING_MOST, sizeof *k->pending);
  k->sources = made(sources, sizeof *k->sources);
  k->source_why = made(sources, sizeof *k->source_why);
  k->source_was = made(sources, sizeof *k->source_was);
  k->since_ms = INT64_MIN;
  k->watch = watch_new(settings->facility, settings->feeds);
  k->began_ms = keeper_clock_ms(k);
}

static void release(struct keeper *k)
{
  record_close(k->record);
  watch_free(k->watch);
  air_free(k->air);
  keeper_solved_free(k->now);
  keeper_solved_free(k->earlier);
  if (k->newest)
    keeper_view_release(&k->newest->view);
  free(k->queue);
  free(k->batch);
  free(k->pending);
  free(k->sources);
  free(k->source_why);
  free(k->source_was);
  pthread_cond_destroy(&k->job_done);
  pthread_cond_destroy(&k->turn);
  pthread_mutex_destroy(&k->waking);
  pthread_mutex_destroy(&k->lock);
  free(k);
}

static enum err_code open_wire(struct keeper *k, struct err *err)
{
  struct wire_callbacks callbacks = {.take = take_from_wire,
                                     .file = keeper_file,
                                     .known = keeper_known,
                                     .now_ms = wire_now_ms,
                                     .arg = k};

  if (!k->given.connect)
    return ERR_OK;
  return wire_open(k->given.facility, k->given.feeds, k->given.feeds_folder, &callbacks, &k->wire,
                   err);
}

static void stop_thread(struct keeper *k)
{
  pthread_mutex_lock(&k->lock);
  k->closing = true;
  pthread_cond_signal(&k->turn);
  pthread_mutex_unlock(&k->lock);
  pthread_join(k->thread, NULL);
}

enum err_code keeper_open(const struct keeper_settings *settings, struct keeper **keeper_out,
                          struct err *err)
{
  struct keeper *k = made(1, sizeof *k);
  enum err_code code;

  init(k, settings);
  k->air = air_new(settings->facility, err);
  code = k->air ? keeper_begin_record(k, err) : err->code;
  if (code == ERR_OK && pthread_create(&k->thread, NULL, run, k) != 0)
    code = err_set(err, ERR_IO, "the system gives no further thread");
  if (code != ERR_OK) {
    release(k);
    return code;
  }
  code = open_wire(k, err); /* its threads may wait for the keeper's, so that one runs already */
  if (code != ERR_OK) {
    stop_thread(k);
    release(k);
    return code;
  }
  *keeper_out = k;
  return ERR_OK;
}

void keeper_close(struct keeper *k)
{
  if (!k)
    return;

  struct wire *wire = k->wire;

  wire_close(wire); /* first: its threads may be waiting for the keeper's */
  stop_thread(k);
  release(k);
}
