#include "readers.h"

#include "base/buf.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

enum { BLOCK = 256 << 10, EVENTS = 256, LINE_HEAD = 40, VIEW_MOST = 8 << 20 };

enum place { HEAD, CHUNK_SIZE, CHUNK, CHUNK_END };

struct reader {
  int fd;
  enum place place;
  int head_match;    /* how much of the empty line behind the head was seen */
  size_t chunk_left; /* or, in its size, what was read of the number */
  char line[LINE_HEAD + 1];
  size_t line_size;
  bool is_view, in_data;
  long id;
  size_t size;
  struct buf kept;
  bool keeps;
};

struct readers {
  int epoll, count;
  char *block;
  struct reader *list;
};

int64_t readers_clock_ns(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (int64_t)now.tv_sec * 1000000000 + now.tv_nsec;
}

/* ---- events ---- */

struct seeing {
  void (*see)(void *arg, const struct readers_view *view);
  void *arg;
  int64_t t_ns;
  int reader;
};

static void end_line(struct reader *r, const struct seeing *to)
{
  static const char id[] = "id: ", event[] = "event: live";

  if (r->line_size == 0) {
    const struct readers_view view = {to->reader, r->id, to->t_ns, r->kept.text, r->size};

    if (r->is_view)
      to->see(to->arg, &view);
    r->is_view = false;
    r->size = 0;
    buf_clear(&r->kept);
  } else if (strncmp(r->line, id, sizeof id - 1) == 0) {
    r->id = strtol(r->line + sizeof id - 1, NULL, 10);
  } else if (strcmp(r->line, event) == 0) {
    r->is_view = true;
  }
  r->line_size = 0;
  r->in_data = false;
}

/* A piece of a line, without its end. */
static void add_to_line(struct reader *r, const char *bytes, size_t size)
{
  static const char data[] = "data: ";
  enum { MARK = sizeof data - 1 };

  while (size > 0 && !r->in_data && r->line_size < LINE_HEAD) {
    r->line[r->line_size++] = *bytes++;
    r->line[r->line_size] = '\0';
    size--;
    r->in_data = r->line_size == MARK && memcmp(r->line, data, MARK) == 0;
  }
  if (!r->in_data)
    return;
  r->size += size;
  if (r->keeps)
    buf_add(&r->kept, bytes, size);
}

static void take_text(struct reader *r, const char *bytes, size_t size, const struct seeing *to)
{
  const char *end = bytes + size;

  while (bytes < end) {
    const char *line_end = memchr(bytes, '\n', (size_t)(end - bytes));

    add_to_line(r, bytes, (size_t)((line_end ? line_end : end) - bytes));
    if (!line_end)
      return;
    end_line(r, to);
    bytes = line_end + 1;
  }
}

/* ---- HTTP ---- */

static int hex(char c)
{
  return c >= '0' && c <= '9'                 ? c - '0'
         : (c | 32) >= 'a' && (c | 32) <= 'f' ? (c | 32) - 'a' + 10
                                              : -1;
}

static void take_bytes(struct reader *r, const char *bytes, size_t size, const struct seeing *to)
{
  static const char gap[] = "\r\n\r\n";

  for (size_t at = 0; at < size;) {
    char c = bytes[at];

    if (r->place == CHUNK) {
      size_t some = size - at < r->chunk_left ? size - at : r->chunk_left;

      take_text(r, bytes + at, some, to);
      r->chunk_left -= some;
      at += some;
      if (r->chunk_left == 0)
        r->place = CHUNK_END;
      continue;
    }
    at++;
    if (r->place == HEAD) {
      r->head_match = c == gap[r->head_match] ? r->head_match + 1 : c == gap[0];
      if (r->head_match == sizeof gap - 1)
        r->place = CHUNK_SIZE;
    } else if (c == '\n') {
      r->place = r->place == CHUNK_END ? CHUNK_SIZE : CHUNK;
    } else if (r->place == CHUNK_SIZE && hex(c) >= 0) {
      r->chunk_left = r->chunk_left * 16 + (size_t)hex(c);
    }
  }
}

/* All that is there; false when the stream ended. */
static bool read_one(struct readers *r, int index,
                     void (*see)(void *arg, const struct readers_view *view), void *arg)
{
  struct reader *reader = &r->list[index];

  for (;;) {
    ssize_t got = recv(reader->fd, r->block, BLOCK, MSG_DONTWAIT);
    struct seeing to = {see, arg, readers_clock_ns(), index};

    if (got <= 0)
      return got < 0 && (errno == EAGAIN || errno == EINTR);
    take_bytes(reader, r->block, (size_t)got, &to);
    if (got < BLOCK)
      return true;
  }
}

bool readers_read(struct readers *r, int wait_ms,
                  void (*see)(void *arg, const struct readers_view *view), void *arg)
{
  struct epoll_event events[EVENTS];
  int count = epoll_wait(r->epoll, events, EVENTS, wait_ms);
  bool all = count >= 0 || errno == EINTR;

  for (int i = 0; i < count; i++)
    all &= read_one(r, events[i].data.fd, see, arg);
  return all;
}

/* ---- opening ---- */

static bool ask(struct reader *reader, int port)
{
  static const char question[] = "GET /api/stream HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n";
  static const char wanted[] = "HTTP/1.1 200";
  struct sockaddr_in at = {.sin_family = AF_INET,
                           .sin_port = htons((uint16_t)port),
                           .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
  struct timeval patience = {.tv_sec = 10};
  char said[sizeof wanted] = "";

  reader->fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  setsockopt(reader->fd, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
  return connect(reader->fd, (struct sockaddr *)&at, sizeof at) == 0 &&
         send(reader->fd, question, sizeof question - 1, 0) == (ssize_t)sizeof question - 1 &&
         recv(reader->fd, said, sizeof wanted - 1, MSG_PEEK | MSG_WAITALL) ==
             (ssize_t)sizeof wanted - 1 &&
         memcmp(said, wanted, sizeof wanted - 1) == 0;
}

struct readers *readers_open(int port, int count, bool all_keep)
{
  struct readers *r = calloc(1, sizeof *r);

  if (!r)
    abort();
  r->list = calloc((size_t)count, sizeof *r->list);
  r->block = malloc(BLOCK);
  r->epoll = epoll_create1(EPOLL_CLOEXEC);
  if (!r->list || !r->block || r->epoll < 0)
    abort();
  for (int i = 0; i < count; i++) {
    struct reader *reader = &r->list[i];
    struct epoll_event event = {.events = EPOLLIN, .data.fd = i};

    reader->keeps = all_keep || i == 0;
    buf_init(&reader->kept, VIEW_MOST);
    r->count++;
    if (!ask(reader, port) || epoll_ctl(r->epoll, EPOLL_CTL_ADD, reader->fd, &event) != 0) {
      fprintf(stderr, "reader %d of %d was not let in: %s\n", i + 1, count, strerror(errno));
      readers_close(r);
      return NULL;
    }
  }
  return r;
}

void readers_close(struct readers *r)
{
  if (!r)
    return;
  for (int i = 0; i < r->count; i++) {
    buf_release(&r->list[i].kept);
    if (r->list[i].fd >= 0)
      close(r->list[i].fd);
  }
  close(r->epoll);
  free(r->block);
  free(r->list);
  free(r);
}
