#ifndef BENCH_FANOUT_H
#define BENCH_FANOUT_H

#include <stdatomic.h>
#include <stdint.h>

/*
 * The rival of bench_stream: a bare libmicrohttpd server that sends the same bytes to every connection,
 * each suspended until there are some.  The same library, flags, threads and memory a connection as the
 * board; no guard, no headers beyond the type, no pings, no skipping, nothing freed.
 */
enum { MADE_MOST = 1 << 16 };

/* When each view was made, by its number; shared between the server's process and the readers'. */
struct made {
  _Atomic int64_t t_ns[MADE_MOST]; /* 0: not made */
};

/* Serves until `commands` is at its end; each byte of it makes one view of `size` bytes.  Prints its
 * address as the board does.  Its process's exit status. */
int fanout_serve(int commands, const char *view, int size, int threads, struct made *made);

#endif
