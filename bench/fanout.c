#include "fanout.h"

#include "readers.h"

#include <microhttpd.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { CONNECTIONS_MOST = 2000, BLOCK = 16 << 10, MEMORY = 64 << 10 };

struct frame {
  size_t size;
  char bytes[];
};

struct follower {
  struct MHD_Connection *connection;
  const struct frame *now; /* to send, NULL: nothing */
  size_t sent;
  bool suspended;
};

static struct {
  pthread_mutex_t lock;
  struct follower list[CONNECTIONS_MOST];
  int count;
} all = {.lock = PTHREAD_MUTEX_INITIALIZER};

static ssize_t send_some(void *arg, uint64_t at, char *out, size_t room)
{
  struct follower *f = arg;
  size_t some = 0;

  (void)at;
  pthread_mutex_lock(&all.lock);
  if (f->now) {
    some = f->now->size - f->sent < room ? f->now->size - f->sent : room;
    memcpy(out, f->now->bytes + f->sent, some);
    f->sent += some;
    if (f->sent == f->now->size)
      f->now = NULL;
  } else {
    f->suspended = true;
    MHD_suspend_connection(f->connection);
  }
  pthread_mutex_unlock(&all.lock);
  return (ssize_t)some;
}

/* NOLINTNEXTLINE(readability-function-size): the library's eight parameters */
static enum MHD_Result follow(void *arg, struct MHD_Connection *connection, const char *url,
                              const char *method, const char *version, const char *upload,
                              size_t *upload_bytes, void **own)
{
  static int begun;

  (void)arg, (void)url, (void)method, (void)version, (void)upload;
  *upload_bytes = 0;
  if (!*own) {
    *own = &begun;
    return MHD_YES;
  }
  pthread_mutex_lock(&all.lock);
  struct follower *f = all.count < CONNECTIONS_MOST ? &all.list[all.count++] : NULL;

  pthread_mutex_unlock(&all.lock);
  if (!f)
    return MHD_NO;
  f->connection = connection;

  struct MHD_Response *response =
      MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, BLOCK, send_some, f, NULL);

  MHD_add_response_header(response, "Content-Type", "text/event-stream; charset=utf-8");
  enum MHD_Result sent = MHD_queue_response(connection, MHD_HTTP_OK, response);

  MHD_destroy_response(response);
  return sent;
}

static void make_view(long number, const char *view, int size, struct made *made)
{
  enum { AROUND = 64 };
  struct frame *frame = malloc(sizeof *frame + (size_t)size + AROUND);

  if (!frame)
    abort();
  atomic_store(&made->t_ns[number], readers_clock_ns());
  int head = snprintf(frame->bytes, AROUND, "id: %ld\nevent: live\ndata: ", number);

  memcpy(frame->bytes + head, view, (size_t)size);
  memcpy(frame->bytes + head + size, "\n\n", 2);
  frame->size = (size_t)head + (size_t)size + 2;
  pthread_mutex_lock(&all.lock);
  for (int i = 0; i < all.count; i++) {
    struct follower *f = &all.list[i];

    if (f->now) /* still sending: this one misses the view, and the bench fails */
      continue;
    f->now = frame;
    f->sent = 0;
    if (f->suspended) {
      f->suspended = false;
      MHD_resume_connection(f->connection);
    }
  }
  pthread_mutex_unlock(&all.lock);
}

int fanout_serve(int commands, const char *view, int size, int threads, struct made *made)
{
  unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_USE_ITC | MHD_ALLOW_SUSPEND_RESUME;
  struct MHD_Daemon *daemon =
      MHD_start_daemon(flags, 0, NULL, NULL, follow, NULL, MHD_OPTION_CONNECTION_MEMORY_LIMIT,
                       (size_t)MEMORY, MHD_OPTION_CONNECTION_LIMIT, (unsigned)CONNECTIONS_MOST,
                       threads > 1 ? MHD_OPTION_THREAD_POOL_SIZE : MHD_OPTION_END,
                       (unsigned)threads, MHD_OPTION_END);
  char command;

  if (!daemon)
    return 1;
  printf("bare at http://127.0.0.1:%d/\n",
         MHD_get_daemon_info(daemon, MHD_DAEMON_INFO_BIND_PORT)->port);
  fflush(stdout);
  for (long number = 1; number < MADE_MOST && read(commands, &command, 1) == 1; number++)
    make_view(number, view, size, made);
  _exit(0); /* with connections suspended the library must not be stopped */
}
