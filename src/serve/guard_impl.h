#ifndef SERVE_GUARD_IMPL_H
#define SERVE_GUARD_IMPL_H

#include <stdbool.h>
#include <stddef.h>

/*
 * What a request's head must look like before anything is done for it.
 *
 * HTTP libraries forgive more than RFC 9112 does, and each forgiveness is a way
 * for two programs in a row to read one request differently.  So: exactly one
 * Host (section 3.2), and never both or two of Content-Length and
 * Transfer-Encoding (section 6.3).  The Host must be a name we were told, or a
 * page from elsewhere could point its own name at this machine and read along.
 */
struct guard_head {
  int host_count, length_count, coding_count;
  const char *host;   /* of the first Host, or NULL */
  const char *length; /* of the first Content-Length, or NULL */
  /* Of an address that takes a body: at most so many bytes, JSON or a table, from a page of the board itself. */
  size_t body_most; /* 0: this address takes none */
  bool
      body_table; /* the bytes of a table, as a browser would not send them from elsewhere unasked */
  const char *type;   /* Content-Type, or NULL */
  const char *origin; /* Origin, or NULL: not from a page */
};

struct guard_names {
  const char *const *names; /* without ports; "[::1]" with its brackets */
  int count;
};

/* 0 to go on; else the status to answer with, and why. */
int guard_check(const struct guard_head *head, const struct guard_names *names,
                const char **why_out);

/* "localhost", "localhost:8470" and "LOCALHOST" all match the name "localhost". */
bool guard_host_known(const char *host, const struct guard_names *names);

/* Whether an Accept-Encoding header takes gzip; NULL takes nothing. */
bool guard_takes_gzip(const char *accept);

#endif
