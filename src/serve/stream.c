#include "serve/stream_impl.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* The bytes of one view, shared by all that send it; freed by the last. */
struct frame {
  int holders; /* under the hub's lock */
  long number;
  struct buf bytes;
};

struct stream {
  struct stream_hub *hub;
  struct MHD_Connection *connection;
  struct frame *now; /* being sent, or NULL */
  size_t sent;       /* of it */
  long last;         /* number of the last frame begun */
  int64_t spoke_ms;
  bool suspended;
  struct stream *before, *next;
};

struct stream_hub {
  struct keeper *keeper;
  pthread_mutex_t lock;
  pthread_cond_t turn;
  pthread_t pinger;
  struct frame *newest;
  struct stream *first;
  int count;
  bool closing;
};

static int64_t steady_ms(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* ---- frames; under the lock ---- */

static void let_go(struct frame *frame)
{
  if (!frame || --frame->holders > 0)
    return;
  buf_release(&frame->bytes);
  free(frame);
}

static void resume_all(struct stream_hub *hub)
{
  for (struct stream *s = hub->first; s; s = s->next)
    if (s->suspended) {
      s->suspended = false;
      MHD_resume_connection(s->connection);
    }
}

/* One event is one line of data: the line breaks of the JSON are only for the eye, and its texts have
 * none. */
static void add_as_one_line(struct buf *out, const struct buf *json)
{
  const char *from = json->text, *end = json->text + json->used;

  while (from < end) {
    size_t line = strcspn(from, "\n");

    buf_add(out, from, line);
    from += line;
    while (from < end && (*from == '\n' || *from == ' '))
      from++;
  }
}

static struct frame *frame_of(const struct keeper_view *view)
{
  enum { AROUND = 64 };
  struct frame *frame = calloc(1, sizeof *frame);

  if (!frame)
    err_no_memory();
  frame->holders = 1;
  frame->number = view->number;
  buf_init(&frame->bytes, view->json.used + AROUND);
  buf_printf(&frame->bytes, "id: %ld\nevent: live\ndata: ", view->number);
  add_as_one_line(&frame->bytes, &view->json);
  buf_puts(&frame->bytes, "\n\n");
  BUG_IF(frame->bytes.full);
  return frame;
}

static void wake(void *arg)
{
  struct stream_hub *hub = arg;
  const struct keeper_view *view = keeper_view(hub->keeper);

  if (!view)
    return;
  struct frame *frame = frame_of(view);

  keeper_view_release(view);
  pthread_mutex_lock(&hub->lock);
  let_go(hub->newest);
  hub->newest = frame;
  resume_all(hub);
  pthread_mutex_unlock(&hub->lock);
}

/* ---- one stream ---- */

static size_t copy_frame(struct stream *s, char *out, size_t room)
{
  size_t left = s->now->bytes.used - s->sent, some = left < room ? left : room;

  memcpy(out, s->now->bytes.text + s->sent, some);
  s->sent += some;
  if (some == left) {
    let_go(s->now);
    s->now = NULL;
  }
  return some;
}

/* What to send next: the frame begun, else the newest, else a sign of life, else nothing yet. */
static ssize_t next_bytes(struct stream *s, char *out, size_t room)
{
  static const char ping[] = "event: here\ndata: 1\n\n";
  struct stream_hub *hub = s->hub;
  int64_t now_ms = steady_ms();

  if (hub->closing)
    return MHD_CONTENT_READER_END_OF_STREAM;
  if (!s->now && hub->newest && hub->newest->number > s->last) {
    s->now = hub->newest;
    s->now->holders++;
    s->sent = 0;
    s->last = s->now->number;
  }
  if (s->now) {
    s->spoke_ms = now_ms;
    return (ssize_t)copy_frame(s, out, room);
  }
  if (now_ms - s->spoke_ms >= STREAM_PING_SECONDS * 1000 && room >= sizeof ping - 1) {
    s->spoke_ms = now_ms;
    memcpy(out, ping, sizeof ping - 1);
    return sizeof ping - 1;
  }
  s->suspended = true;
  MHD_suspend_connection(s->connection);
  return 0;
}

static ssize_t read_stream(void *arg, uint64_t at, char *out, size_t room)
{
  struct stream *s = arg;

  (void)at;
  pthread_mutex_lock(&s->hub->lock);
  ssize_t count = next_bytes(s, out, room);

  pthread_mutex_unlock(&s->hub->lock);
  return count;
}

static void free_stream(void *arg)
{
  struct stream *s = arg;
  struct stream_hub *hub = s->hub;

  pthread_mutex_lock(&hub->lock);
  if (s->before)
    s->before->next = s->next;
  else
    hub->first = s->next;
  if (s->next)
    s->next->before = s->before;
  let_go(s->now);
  hub->count--;
  pthread_cond_broadcast(&hub->turn);
  pthread_mutex_unlock(&hub->lock);
  free(s);
}

struct MHD_Response *stream_response(struct stream_hub *hub, struct MHD_Connection *connection)
{
  enum { BLOCK = 16 << 10 };
  struct stream *s = calloc(1, sizeof *s);
  bool taken = false;

  if (!s)
    err_no_memory();
  *s = (struct stream){.hub = hub, .connection = connection, .last = -1, .spoke_ms = steady_ms()};
  pthread_mutex_lock(&hub->lock);
  if (hub->count < STREAM_MOST && !hub->closing) {
    taken = true;
    hub->count++;
    s->next = hub->first;
    if (hub->first)
      hub->first->before = s;
    hub->first = s;
  }
  pthread_mutex_unlock(&hub->lock);
  if (!taken) {
    free(s);
    return NULL;
  }

  struct MHD_Response *response =
      MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, BLOCK, read_stream, s, free_stream);

  if (!response)
    free_stream(s);
  return response;
}

int stream_count(struct stream_hub *hub)
{
  pthread_mutex_lock(&hub->lock);
  int count = hub->count;

  pthread_mutex_unlock(&hub->lock);
  return count;
}

/* ---- the hub ---- */

static struct timespec seconds_from_now(int seconds)
{
  struct timespec at;

  clock_gettime(CLOCK_REALTIME, &at);
  at.tv_sec += seconds;
  return at;
}

static void *ping(void *arg)
{
  struct stream_hub *hub = arg;

  pthread_mutex_lock(&hub->lock);
  while (!hub->closing) {
    struct timespec at = seconds_from_now(STREAM_PING_SECONDS);

    pthread_cond_timedwait(&hub->turn, &hub->lock, &at);
    resume_all(hub);
  }
  pthread_mutex_unlock(&hub->lock);
  return NULL;
}

struct stream_hub *stream_open(struct keeper *keeper, struct err *err)
{
  struct stream_hub *hub = calloc(1, sizeof *hub);

  if (!hub)
    err_no_memory();
  hub->keeper = keeper;
  pthread_mutex_init(&hub->lock, NULL);
  pthread_cond_init(&hub->turn, NULL);
  if (pthread_create(&hub->pinger, NULL, ping, hub) != 0) {
    err_set(err, ERR_IO, "the system gives no further thread");
    pthread_cond_destroy(&hub->turn);
    pthread_mutex_destroy(&hub->lock);
    free(hub);
    return NULL;
  }
  wake(hub); /* what is there already */
  keeper_on_view(keeper, wake, hub);
  return hub;
}

void stream_end(struct stream_hub *hub)
{
  struct timespec until = seconds_from_now(2);
  int waited = 0;

  keeper_on_view(hub->keeper, NULL, NULL);
  pthread_mutex_lock(&hub->lock);
  hub->closing = true;
  resume_all(hub);
  pthread_cond_broadcast(&hub->turn);
  while (hub->count > 0 && waited == 0)
    waited = pthread_cond_timedwait(&hub->turn, &hub->lock, &until);
  pthread_mutex_unlock(&hub->lock);
  pthread_join(hub->pinger, NULL);
}

void stream_free(struct stream_hub *hub)
{
  if (!hub)
    return;
  let_go(hub->newest);
  pthread_cond_destroy(&hub->turn);
  pthread_mutex_destroy(&hub->lock);
  free(hub);
}
