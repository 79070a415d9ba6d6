#ifndef WIRE_WIRE_H
#define WIRE_WIRE_H

#include "base/err.h"
#include "facility/feeds.h"
#include "feed/feed.h"

/*
 * Connections to sources: drop folder, MQTT, Modbus TCP, BACnet/IP.  A thread for each source; each
 * opens, reads, waits and opens again by itself, for ever, with growing pauses.  Reads only: no
 * function here writes a value anywhere.
 *
 * What was read goes to the sink, in batches, from the source's thread: the sink must be ready for
 * several threads at once.  What cannot be read is counted and told once a minute at most.
 */
struct wire;

struct wire_health {
  bool connected;
  int64_t heard_ms; /* when anything last came; INT64_MIN: never */
  long observations, refused, reconnects;
  char why[160]; /* why it is not connected, or what was refused last; "" when all is well */
};

struct wire_callbacks {
  void (*take)(void *arg, const struct feed_observation *list, int count);
  /* A file was read whole (drop folder); text for people, and its bytes to keep. */
  void (*file)(void *arg, int source, const char *name, const void *bytes, size_t size,
               const char *report);
  int64_t (*now_ms)(void *arg); /* UTC */
  void *arg;
};

/* Starts all sources that have a connection; the ones that cannot be reached are no failure.
 * ERR_INPUT for a folder or a secret that is not there or open to others.  `folder` is that of the
 * feeds file. */
NODISCARD enum err_code wire_open(const struct facility *facility, const struct feeds *feeds,
                                  const char *folder, const struct wire_callbacks *callbacks,
                                  struct wire **wire_out, struct err *err);
void wire_close(struct wire *wire); /* stops and joins every thread; NULL is fine */
void wire_look(const struct wire *wire, int source, struct wire_health *out);

#endif
