#ifndef BENCH_READERS_H
#define BENCH_READERS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * Many readers of one stream of server-sent events (WHATWG HTML, 9.2; RFC 9112, 7.1 for the chunks it
 * comes in), in one thread over epoll: the browsers of a bench.
 *
 *     struct readers *r = readers_open(port, 1000);
 *     while (...)
 *       readers_read(r, 100, see, &own);        // calls see for every view that came whole
 *     readers_close(r);
 */
struct readers;

struct readers_view {
  int reader;
  long id;
  int64_t t_ns;     /* steady clock: when its last byte had been read */
  const char *data; /* of reader 0, and of all where they keep: the view, without a NUL */
  size_t size;
};

/* Connects `count` readers to /api/stream on loopback, one after the other.  NULL: not all were let in;
 * standard error says why.  `all_keep`: the bytes of every reader are kept, to compare them. */
struct readers *readers_open(int port, int count, bool all_keep);
void readers_close(struct readers *r); /* NULL is fine */

/* Reads what comes within wait_ms; returns at once after something came.  False: a stream ended. */
bool readers_read(struct readers *r, int wait_ms,
                  void (*see)(void *arg, const struct readers_view *view), void *arg);

int64_t readers_clock_ns(void); /* the steady clock, the same in every process */

#endif
