#include "keeper/keeper_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { AFTER_MS = 300000 }; /* how long a replay is over before it begins again, of its own time */

/* ---- time ---- */

int64_t keeper_clock_ms(const struct keeper *k)
{
  struct timespec now;

  if (k->given.clock_ms)
    return k->given.clock_ms(k->given.clock_arg);
  clock_gettime(k->given.replay ? CLOCK_MONOTONIC : CLOCK_REALTIME, &now);
  return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

int64_t keeper_now_ms(const struct keeper *k)
{
  int64_t clock_ms = keeper_clock_ms(k);

  if (!k->given.replay)
    return clock_ms;
  return k->given.replay_from_ms +
         (int64_t)((double)(clock_ms - atomic_load(&k->began_ms)) * k->given.replay_speed);
}

int64_t keeper_wall_ms(const struct keeper *k)
{
  struct timespec now;

  if (!k->given.replay)
    return keeper_clock_ms(k);
  clock_gettime(CLOCK_REALTIME, &now);
  return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

bool keeper_is_replay(const struct keeper *k)
{
  return k->given.replay != NULL;
}

bool keeper_is_replay_over(const struct keeper *k)
{
  return atomic_load(&k->replay_over);
}

static int64_t wire_now_ms(void *arg)
{
  return keeper_now_ms(arg);
}

/* ---- what comes in ---- */

/* A full queue keeps the newest of each point: a belief needs no other. */
static void thin_queue(struct keeper *k)
{
  int kept = KEEPER_QUEUE_MOST;

  memset(k->in_queue, 0, (size_t)k->given.feeds->point_count * sizeof *k->in_queue);
  for (int i = k->queued - 1; i >= 0; i--)
    if (!k->in_queue[k->queue[i].point]) {
      k->in_queue[k->queue[i].point] = true;
      k->queue[--kept] = k->queue[i];
    }
  memmove(k->queue, k->queue + kept, (size_t)(KEEPER_QUEUE_MOST - kept) * sizeof *k->queue);
  k->dropped += k->queued - (KEEPER_QUEUE_MOST - kept);
  k->queued = KEEPER_QUEUE_MOST - kept;
}

static void put(struct keeper *k, const struct feed_observation *o)
{
  if (k->queued == KEEPER_QUEUE_MOST)
    thin_queue(k);
  if (k->queued < KEEPER_QUEUE_MOST)
    k->queue[k->queued++] = *o;
  else
    k->dropped++;
}

void keeper_take(struct keeper *k, const struct feed_observation *list, int count)
{
  pthread_mutex_lock(&k->lock);
  for (int i = 0; i < count; i++)
    put(k, &list[i]);
  pthread_cond_signal(&k->turn);
  pthread_mutex_unlock(&k->lock);
}

/* A table is all wanted, and nobody waits for its reader. */
static void take_table(struct keeper *k, const struct feed_observation *list, int count)
{
  pthread_mutex_lock(&k->lock);
  for (int i = 0; i < count; i++) {
    while (k->queued == KEEPER_QUEUE_MOST && !k->closing) {
      pthread_cond_signal(&k->turn);
      pthread_cond_wait(&k->room, &k->lock);
    }
    put(k, &list[i]);
  }
  pthread_cond_signal(&k->turn);
  pthread_mutex_unlock(&k->lock);
}

static void take_from_wire(void *arg, const struct feed_observation *list, int count)
{
  struct keeper *k = arg;
  const struct feeds *feeds = k->given.feeds;

  if (count > 0 && feeds->sources[feeds->points[list[0].point].source].kind == FEEDS_CSV)
    take_table(k, list, count);
  else
    keeper_take(k, list, count);
}

/* ---- the thread ---- */

/* Waits until there is something to do, at most `most_ms`; takes what was queued. */
static int wait_and_take(struct keeper *k, int64_t most_ms, bool *closing_out)
{
  struct timespec until;
  int count;

  clock_gettime(CLOCK_MONOTONIC, &until); /* whatever is done to the other clock meanwhile */
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
  pthread_cond_broadcast(&k->room);
  pthread_mutex_unlock(&k->lock);
  return count;
}

static void take_all(struct keeper *k, const struct feed_observation *list, int count)
{
  for (int i = 0; i < count; i++) {
    int source = k->given.feeds->points[list[i].point].source;

    watch_take(k->watch, &list[i]);
    if (list[i].seen_ms > k->source_heard_ms[source])
      k->source_heard_ms[source] = list[i].seen_ms;
  }
  k->values_changed = k->values_changed || count > 0;
  keeper_keep(k, list, count);
}

static void look_at_judge(struct keeper *k, int64_t clock_ms)
{
  long changes = judge_now(k->judge).changes;

  if (changes == k->changes)
    return;
  k->changes = changes;
  k->solved_changed = true;
  k->solved_ms = clock_ms;
}

static void tell_turn(struct keeper *k, const struct judge_seen *seen)
{
  struct buf text, detail, act;
  struct answer_live_asked asked;
  struct answer_live live = {.facility = seen->facility,
                             .feeds = seen->feeds,
                             .belief = seen->belief,
                             .air = seen->air,
                             .zone = k->given.zone,
                             .asked = errands_named(k->errands, &asked) ? &asked : NULL,
                             .since_ms = INT64_MIN};

  buf_init(&text, RECORD_TEXT_MOST_BYTES);
  buf_init(&detail, RECORD_TEXT_MOST_BYTES);
  buf_init(&act, 400);
  judge_turn_text(seen, &text);
  judge_turn_json(seen, &detail);
  answer_live_act(&live, seen->verdict, &act);
  keeper_note_event(k, &(struct keeper_told){.t_ms = seen->t_ms,
                                             .about = "",
                                             .text = text.text,
                                             .detail = detail.full ? "" : detail.text,
                                             .state = air_level_key(seen->verdict->state),
                                             .act = act.text,
                                             .after_replay = keeper_is_replay_over(k)});
  buf_release(&text);
  buf_release(&detail);
  buf_release(&act);
}

static void see(void *arg, const struct judge_seen *seen)
{
  struct keeper *k = arg;

  keeper_see_errands(k, seen);
  if (seen->turned)
    tell_turn(k, seen);
  alarms_see(k->alarms, seen);
  keeper_see_faults(k, seen);
}

static int64_t least(int64_t a, int64_t b)
{
  return a < b ? a : b;
}

static int64_t next_turn_ms(void *arg)
{
  const struct keeper *k = arg;

  return least(alarms_next_ms(k->alarms), errands_next_ms(k->errands));
}

/* At most so often, unless at once: most of a busy moment's changes are followed by others. */
static void judge(struct keeper *k, int64_t now_ms, bool at_once)
{
  int64_t clock_ms = keeper_clock_ms(k), since_ms = clock_ms - k->solved_ms;
  bool may_solve = at_once || since_ms < 0 || since_ms >= KEEPER_SOONEST_MS;

  k->behind = !judge_at(k->judge, now_ms, may_solve);
  look_at_judge(k, clock_ms);
}

/* More of a replay has come by now, but it took long to get here: nobody would be heard meanwhile. */
static bool breaks_off(const struct keeper *k, int64_t began_ms, int64_t now_ms)
{
  return k->replayed < k->given.replay_count && k->given.replay[k->replayed].t_ms <= now_ms &&
         keeper_clock_ms(k) - began_ms >= KEEPER_SOONEST_MS;
}

/* Hands in what of a replay has come by now, moment by moment, so that each state is seen when it was;
 * the moment it has got to. */
static int64_t go_on_with_replay(struct keeper *k, int64_t now_ms)
{
  const struct feed_observation *list = k->given.replay;
  int64_t began_ms = keeper_clock_ms(k);

  while (k->replayed < k->given.replay_count && list[k->replayed].t_ms <= now_ms) {
    long first = k->replayed;
    int64_t t_ms = list[first].t_ms;

    while (k->replayed < k->given.replay_count && list[k->replayed].t_ms == t_ms)
      k->replayed++;
    judge_until(k->judge, t_ms);
    take_all(k, &list[first], (int)(k->replayed - first));
    judge(k, t_ms, true);
    if (breaks_off(k, began_ms, now_ms))
      return t_ms;
  }
  if (k->replayed == k->given.replay_count)
    atomic_store(&k->replay_over, true);
  judge_until(k->judge, now_ms);
  return now_ms;
}

/* The same day once more. */
static void begin_again(struct keeper *k)
{
  int64_t ended_ms = k->last_now_ms;

  atomic_store(&k->began_ms, keeper_clock_ms(k));
  k->replayed = 0;
  watch_forget_from(k->watch, INT64_MIN);
  k->last_now_ms = INT64_MIN;
  judge_begin_again(k->judge);
  alarms_begin_again(k->alarms);
  keeper_begin_errands_again(k);
  keeper_forget_faults(k, "the replay begins again", ended_ms);
  for (int i = 0; i < k->given.feeds->source_count; i++)
    k->source_heard_ms[i] = INT64_MIN;
}

/* What was observed later than now was observed by another clock. */
static void look_at_clock(struct keeper *k, int64_t now_ms)
{
  int64_t future_ms = llround(k->given.feeds->future_s * 1000);

  if (k->last_now_ms != INT64_MIN && now_ms < k->last_now_ms - future_ms) {
    struct buf text;

    buf_init(&text, 300);
    buf_puts(&text, "this machine's clock was stepped back by ");
    when_print_span(&text, (double)(k->last_now_ms - now_ms) * 1e-3);
    buf_puts(&text, "; what was observed meanwhile is not used");
    watch_forget_from(k->watch, now_ms + future_ms + 1);
    judge_begin_again(k->judge);
    alarms_begin_again(k->alarms);
    keeper_begin_errands_again(k);
    keeper_note_event(
        k, &(struct keeper_told){.t_ms = now_ms, .about = "", .text = text.text, .detail = ""});
    keeper_forget_faults(k, "this machine's clock was stepped back", now_ms);
    buf_release(&text);
  }
  k->last_now_ms = now_ms;
}

/* How long after the last view the next is due. */
static int64_t view_after_ms(const struct keeper *k)
{
  return k->solved_changed   ? KEEPER_SOONEST_MS
         : k->values_changed ? KEEPER_VALUES_MS
                             : KEEPER_VIEW_MS;
}

static int64_t next_wait_ms(const struct keeper *k, int64_t clock_ms)
{
  int64_t wait_ms = least(KEEPER_LOOK_MS, view_after_ms(k) - (clock_ms - k->viewed_ms));

  if (k->behind)
    wait_ms = least(wait_ms, KEEPER_SOONEST_MS - (clock_ms - k->solved_ms));
  if (k->given.replay && k->replayed < k->given.replay_count)
    wait_ms =
        least(wait_ms, (int64_t)((double)(k->given.replay[k->replayed].t_ms - keeper_now_ms(k)) /
                                 k->given.replay_speed));
  return wait_ms < 10 ? 10 : least(wait_ms, KEEPER_LOOK_MS);
}

static void go_round(struct keeper *k, int count, bool closing)
{
  int64_t now_ms = keeper_now_ms(k), clock_ms = keeper_clock_ms(k);

  look_at_clock(k, now_ms);
  take_all(k, k->batch, count);
  if (k->given.replay)
    now_ms = go_on_with_replay(k, now_ms);
  keeper_run_jobs(k);
  keeper_look_at_sources(k, now_ms);
  keeper_runs_turn(k, now_ms);
  keeper_reminders_turn(k, now_ms);
  keeper_night_turn(k, now_ms);
  judge(k, now_ms, closing);
  keeper_tidy_turn(k, now_ms, closing);
  keeper_commit(k, closing);
  keeper_look_at_incidents(k, now_ms);
  if (!k->behind && (clock_ms - k->viewed_ms >= view_after_ms(k) || clock_ms < k->viewed_ms))
    keeper_show(k, now_ms);
  if (k->given.replay && k->given.replay_again && k->replayed == k->given.replay_count &&
      now_ms - k->given.replay[k->given.replay_count - 1].t_ms > AFTER_MS)
    begin_again(k);
}

static void *run(void *arg)
{
  struct keeper *k = arg;
  bool closing = false;

  while (!closing) {
    int count = wait_and_take(k, next_wait_ms(k, keeper_clock_ms(k)), &closing);

    go_round(k, count, closing);
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
  pthread_condattr_t monotonic;

  k->given = *settings;
  pthread_mutex_init(&k->lock, NULL);
  pthread_mutex_init(&k->waking, NULL);
  pthread_condattr_init(&monotonic);
  pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
  pthread_cond_init(&k->turn, &monotonic);
  pthread_condattr_destroy(&monotonic);
  pthread_cond_init(&k->job_done, NULL);
  pthread_cond_init(&k->room, NULL);
  k->last_job = &k->first_job;
  k->queue = made(KEEPER_QUEUE_MOST, sizeof *k->queue);
  k->batch = made(KEEPER_QUEUE_MOST, sizeof *k->batch);
  k->pending = made(KEEPER_PENDING_MOST, sizeof *k->pending);
  k->sources = made(sources, sizeof *k->sources);
  k->source_why = made(sources, sizeof *k->source_why);
  k->source_was = made(sources, sizeof *k->source_was);
  k->troubles = made(sources, sizeof *k->troubles);
  k->source_heard_ms = made(sources, sizeof *k->source_heard_ms);
  k->in_queue = made((size_t)settings->feeds->point_count + 1, sizeof *k->in_queue);
  k->events = made(KEEPER_EVENTS_MOST, sizeof *k->events);
  for (size_t i = 0; i < sources; i++)
    k->source_heard_ms[i] = INT64_MIN;
  k->last_now_ms = INT64_MIN;
  k->watch = watch_new(settings->facility, settings->feeds);
  k->alarms = alarms_new(
      &(struct alarms_settings){settings->facility, settings->feeds, keeper_alarm_turned, k});
  k->errands = errands_new(&(struct errands_settings){settings->facility, settings->feeds,
                                                      settings->zone, keeper_errand_turned, k});
  k->reminders = reminders_new(&settings->feeds->reminders, settings->zone);
  atomic_init(&k->began_ms, keeper_clock_ms(k));
}

static void release(struct keeper *k)
{
  keeper_drop_night(k);
  post_close(k->post);
  record_close(k->record);
  watch_free(k->watch);
  judge_free(k->judge);
  alarms_free(k->alarms);
  errands_free(k->errands);
  reminders_free(k->reminders);
  keeper_end_faults(k);
  if (k->newest)
    keeper_view_release(&k->newest->view);
  free(k->queue);
  free(k->batch);
  free(k->pending);
  free(k->sources);
  free(k->source_why);
  free(k->source_was);
  free(k->troubles);
  free(k->source_heard_ms);
  free(k->in_queue);
  keeper_drop_events(k);
  keeper_drop_incidents(k);
  keeper_drop_withdrawals(k);
  keeper_drop_runs(k);
  free(k->events);
  pthread_cond_destroy(&k->room);
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
  struct wire *wire = NULL;
  enum err_code code = ERR_OK;

  if (k->given.connect)
    code =
        wire_open(k->given.facility, k->given.feeds, k->given.feeds_folder, &callbacks, &wire, err);
  if (code == ERR_OK)
    atomic_store(&k->wire, wire);
  return code;
}

static void stop_thread(struct keeper *k)
{
  pthread_mutex_lock(&k->lock);
  k->closing = true;
  pthread_cond_signal(&k->turn);
  pthread_cond_broadcast(&k->room);
  pthread_mutex_unlock(&k->lock);
  pthread_join(k->thread, NULL);
}

enum err_code keeper_open(const struct keeper_settings *settings, struct keeper **keeper_out,
                          struct err *err)
{
  struct keeper *k = made(1, sizeof *k);
  enum err_code code;

  init(k, settings);
  struct judge_settings judging = {.facility = settings->facility,
                                   .feeds = settings->feeds,
                                   .zone = settings->zone,
                                   .watch = k->watch,
                                   .seen = see,
                                   .next_ms = next_turn_ms,
                                   .arg = k};

  code = judge_new(&judging, &k->judge, err);
  if (code == ERR_OK)
    code = keeper_begin_faults(k, err);
  if (code == ERR_OK)
    code = keeper_begin_record(k, err);
  if (code == ERR_OK) /* its threads wait for the keeper's only when something is sent */
    code = keeper_open_post(k, err);
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

  struct wire *wire = atomic_load(&k->wire);

  wire_stop(
      wire); /* first: its threads may be waiting for the keeper's, which looks at it to the end */
  stop_thread(k);
  wire_close(wire);
  release(k);
}
