#ifndef WIRE_WIRE_H
#define WIRE_WIRE_H

#include "base/err.h"
#include "facility/feeds.h"
#include "feed/feed.h"

/*
 * Connections to sources: drop folder, MQTT, Modbus TCP, BACnet/IP.  A thread for each source; each
 * opens, reads, waits and opens again by itself, for ever, with growing pauses.  Reads only: no
 * function here writes a value anywhere, and scripts/check_reads_only looks that none is linked.
 *
 * What was read goes to the sink, in batches, from the source's thread: the sink must be ready for
 * several threads at once.  What cannot be read is counted and told once a minute at most.  From a
 * source that says more a second than its `at most`, the newest of each point is kept and the rest
 * counted.  A table from a folder is no flood: all of it is handed over, and `take` may make its
 * thread wait.
 */
struct wire;

struct wire_health {
  bool connected;
  int64_t heard_ms; /* when anything last came; INT64_MIN: never */
  long observations, refused, reconnects;
  long dropped;  /* of a flood: each was followed by a newer one of its point */
  char why[160]; /* why it is not connected, or what was refused last; "" when all is well */
};

struct wire_callbacks {
  void (*take)(void *arg, const struct feed_observation *list, int count);
  /* A file was read whole (drop folder); text for people, and its bytes to keep.  Called after its
   * observations were taken, and for a file that was refused. */
  void (*file)(void *arg, int source, const char *name, const void *bytes, size_t size,
               const char *report);
  /* Was a file with these bytes read before, by an earlier run?  NULL: no. */
  bool (*known)(void *arg, int source, const void *bytes, size_t size);
  /* All bookings of a calendar, in place of the ones given before.  NULL: not wanted. */
  void (*bookings)(void *arg, int source, const struct feed_booking *list, int count);
  /* Connected, lost, refused, flooded: a line for people, once a minute and kind at most.  NULL:
   * not wanted; the same stands in wire_look. */
  void (*say)(void *arg, int source, const char *text);
  int64_t (*now_ms)(void *arg); /* UTC */
  void *arg;
};

/* Starts all sources that have a connection; the ones that cannot be reached are no failure.
 * ERR_INPUT for a folder or a secret that is not there, or a secret open to others.  `folder` is
 * that of the feeds file.  Everything borrowed must outlive the wire. */
NODISCARD enum err_code wire_open(const struct facility *facility, const struct feeds *feeds,
                                  const char *folder, const struct wire_callbacks *callbacks,
                                  struct wire **wire_out, struct err *err);
/* Stops and joins every thread: nothing more is called back, but wire_look goes on.  NULL is fine. */
void wire_stop(struct wire *wire);
void wire_close(struct wire *wire); /* stops, and forgets all; NULL is fine */
void wire_look(const struct wire *wire, int source, struct wire_health *out);

/*
 * The word behind "env:NAME" or "file:PATH" (relative to `folder`).  A file must be a regular one
 * that nobody but its owner may read: its mode is looked at, for mode bits do not stop root.  One
 * line end behind it is left out.  No error says what the word is.
 */
enum { WIRE_SECRET_MOST = 1024 };
NODISCARD enum err_code wire_secret(const char *where, const char *folder,
                                    char out[WIRE_SECRET_MOST], struct err *err);

#endif
