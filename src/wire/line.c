#include "wire/wire_impl.h"

#include "base/utf8.h"

#include <math.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* What a connection hands to the frame: observations under a limit, health, and what is told. */

enum { TOLD_CONNECTION, TOLD_REFUSED, TOLD_FLOOD };

double wire_clock_s(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

int64_t wire_now_ms(const struct wire_line *line)
{
  return line->callbacks->now_ms(line->callbacks->arg);
}

bool wire_stopping(const struct wire_line *line)
{
  return atomic_load(line->stop);
}

double wire_poll_s(const struct wire_line *line)
{
  double every_s =
      line->source->every_s > 0 ? line->source->every_s : line->source->old_after_s / 3;

  return fmax(every_s, 0.05);
}

/* ---- birth and death ---- */

void wire_line_init(struct wire_line *line)
{
  const struct feeds *feeds = line->feeds;
  int *points = calloc((size_t)feeds->point_count + 1, sizeof *points);

  if (!points)
    err_no_memory();
  for (int i = 0; i < feeds->point_count; i++)
    if (feeds->points[i].source == line->index)
      points[line->point_count++] = i;
  line->points = points;
  line->held = calloc((size_t)line->point_count + 1, sizeof *line->held);
  line->is_held = calloc((size_t)line->point_count + 1, sizeof *line->is_held);
  if (!line->held || !line->is_held)
    err_no_memory();
  pthread_mutex_init(&line->lock, NULL);
  line->health.heard_ms = INT64_MIN;
  line->second_s = -INFINITY;
}

void wire_line_free(struct wire_line *line)
{
  if (line->own && line->forget)
    line->forget(line->own);
  pthread_mutex_destroy(&line->lock);
  free(line->held);
  free(line->is_held);
  free(line->points);
  free(line);
}

/* ---- what is told ---- */

/* Once a minute and kind at most; what was not said is counted into what is. */
static void tell(struct wire_line *line, int kind, const char *text)
{
  struct wire_told *told = &line->told[kind];
  char whole[400];

  if (!line->callbacks->say)
    return;
  if (told->ever && wire_clock_s() - told->at_s < line->pace->tell_s) {
    told->unsaid++;
    return;
  }
  if (told->unsaid > 0)
    snprintf(whole, sizeof whole, "%s (and %ld more like it before)", text, told->unsaid);
  else
    snprintf(whole, sizeof whole, "%s", text);
  *told = (struct wire_told){.ever = true, .at_s = wire_clock_s()};
  line->callbacks->say(line->callbacks->arg, line->index, whole);
}

void wire_up(struct wire_line *line)
{
  char text[200];

  line->up_s = wire_clock_s();
  pthread_mutex_lock(&line->lock);
  if (line->was_up)
    line->health.reconnects++;
  line->was_up = true;
  line->health.connected = true;
  line->health.why[0] = '\0';
  pthread_mutex_unlock(&line->lock);
  snprintf(text, sizeof text, "%s: connected", line->source->part.id);
  tell(line, TOLD_CONNECTION, text);
}

/* Under the lock: a reader sees one text or the other. */
static void set_why(struct wire_line *line, const char *fmt, va_list args) PRINTF_LIKE(2, 0);
static void set_why(struct wire_line *line, const char *fmt, va_list args)
{
  vsnprintf(line->health.why, sizeof line->health.why, fmt, args);
  utf8_mend_end(line->health.why);
}

void wire_down(struct wire_line *line, const char *fmt, ...)
{
  char text[300];
  bool news;
  va_list args;

  va_start(args, fmt);
  pthread_mutex_lock(&line->lock);
  news = line->health.connected || line->health.why[0] == '\0';
  line->health.connected = false;
  set_why(line, fmt, args);
  snprintf(text, sizeof text, "%s: not connected: %s", line->source->part.id, line->health.why);
  pthread_mutex_unlock(&line->lock);
  va_end(args);
  if (news)
    tell(line, TOLD_CONNECTION, text);
}

void wire_refuse(struct wire_line *line, const char *fmt, ...)
{
  char text[300];
  va_list args;

  va_start(args, fmt);
  pthread_mutex_lock(&line->lock);
  line->health.refused++;
  set_why(line, fmt, args);
  line->refused_s = wire_clock_s();
  snprintf(text, sizeof text, "%s: %s", line->source->part.id, line->health.why);
  pthread_mutex_unlock(&line->lock);
  va_end(args);
  tell(line, TOLD_REFUSED, text);
}

void wire_line_look(struct wire_line *line, struct wire_health *out)
{
  enum { FADES_S = 600 }; /* what was refused longer ago than this is no state of now */

  pthread_mutex_lock(&line->lock);
  *out = line->health;
  if (out->connected && wire_clock_s() - line->refused_s > FADES_S)
    out->why[0] = '\0';
  pthread_mutex_unlock(&line->lock);
}

void wire_count(struct wire_line *line, long observations)
{
  pthread_mutex_lock(&line->lock);
  line->health.observations += observations;
  line->health.heard_ms = wire_now_ms(line);
  pthread_mutex_unlock(&line->lock);
}

/* ---- observations ---- */

static void hand_over(struct wire_line *line)
{
  if (line->batch_count == 0)
    return;
  line->callbacks->take(line->callbacks->arg, line->batch, line->batch_count);
  wire_count(line, line->batch_count);
  line->batch_count = 0;
}

static void to_batch(struct wire_line *line, const struct feed_observation *observation)
{
  line->batch[line->batch_count++] = *observation;
  line->second_used++;
  if (line->batch_count == WIRE_BATCH)
    hand_over(line);
}

/* A new second: what was held back goes first, in turn, so that no point waits for ever. */
static void renew_second(struct wire_line *line)
{
  double now_s = wire_clock_s();

  if (now_s - line->second_s < 1)
    return;
  line->second_s = now_s;
  line->second_used = 0;
  for (int i = 0; i < line->point_count && line->held_count > 0; i++) {
    int at = line->next_held;

    if (line->second_used >= line->source->most_per_s)
      return;
    line->next_held = (at + 1) % line->point_count;
    if (line->is_held[at]) {
      line->is_held[at] = false;
      line->held_count--;
      to_batch(line, &line->held[at]);
    }
  }
}

static int place_of(const struct wire_line *line, int point)
{
  int low = 0, high = line->point_count;

  while (low < high) {
    int middle = (low + high) / 2;

    if (line->points[middle] < point)
      low = middle + 1;
    else
      high = middle;
  }
  BUG_IF(low == line->point_count || line->points[low] != point);
  return low;
}

static void drop_one(struct wire_line *line)
{
  char text[200];
  long dropped;

  pthread_mutex_lock(&line->lock);
  dropped = ++line->health.dropped;
  pthread_mutex_unlock(&line->lock);
  if (line->told[TOLD_FLOOD].ever &&
      wire_clock_s() - line->told[TOLD_FLOOD].at_s < line->pace->tell_s)
    return;
  snprintf(text, sizeof text,
           "%s: says more than %d values a second ('at most'); of each point the newest is kept, "
           "%ld were dropped so far",
           line->source->part.id, line->source->most_per_s, dropped);
  tell(line, TOLD_FLOOD, text);
}

void wire_put(struct wire_line *line, const struct feed_observation *observation)
{
  int at = place_of(line, observation->point);

  renew_second(line);
  if (line->is_held[at]) {
    line->held[at] = *observation;
    drop_one(line);
  } else if (line->second_used < line->source->most_per_s) {
    to_batch(line, observation);
  } else {
    line->held[at] = *observation;
    line->is_held[at] = true;
    line->held_count++;
  }
}

static void take_into_line(void *arg, const struct feed_observation *observation)
{
  wire_put(arg, observation);
}

struct feed_sink wire_sink(struct wire_line *line)
{
  return (struct feed_sink){take_into_line, line};
}

void wire_put_missing(struct wire_line *line)
{
  int64_t now_ms = wire_now_ms(line);

  for (int i = 0; i < line->point_count; i++) {
    struct feed_observation o = {.point = line->points[i],
                                 .t_ms = now_ms,
                                 .seen_ms = now_ms,
                                 .si = NAN,
                                 .quality = FEED_MISSING};

    wire_put(line, &o);
  }
}

void wire_flush(struct wire_line *line)
{
  renew_second(line);
  hand_over(line);
}

bool wire_wait(struct wire_line *line, double wait_s)
{
  double until_s = wire_clock_s() + wait_s;

  for (;;) {
    struct pollfd stop = {.fd = line->stop_fd, .events = POLLIN};
    double left_s = until_s - wire_clock_s();

    wire_flush(line);
    if (wire_stopping(line))
      return false;
    if (left_s <= 0)
      return true;
    left_s = fmin(left_s, line->held_count > 0 ? 1 : 3600);
    poll(&stop, 1, (int)ceil(1000 * left_s));
  }
}
