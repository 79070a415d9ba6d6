#ifndef TESTS_BACNET_RIG_H
#define TESTS_BACNET_RIG_H

#include "wire/wire_impl.h"

#include "check.h"

#include <stdio.h>
#include <sys/types.h>

/*
 * A device whose BACnet is not ours (device.mjs, by the npm package node-bacnet), a suite with points
 * of it, and all that the wire says of them.
 */
extern const char *rig_node, *rig_script;

enum { INSTANCE = 20417, MOST_POINTS = 40 };

struct device {
  pid_t pid;
  int port;
  FILE *to, *said;
  char line[2000];
};

void device_start(struct device *d); /* on loopback, as INSTANCE, at d->port */
void device_start_as(struct device *d, int instance, const char *interface);
void device_stop(struct device *d, int signal);
/* A command of device.mjs; its answer is good until the next one. */
const char *tell(struct device *d, const char *fmt, ...) PRINTF_LIKE(2, 3);
/* A number of its report; 0: it does not name it. */
long reported(struct device *d, const char *name);
/* An analog input with all that it needs: 31 and 32 are there from the start. */
void set_analog(struct device *d, int instance, double value, int flags, int units);

/* Points: a room's pressure of analog-input 31, and its temperature of 32. */
#define DP31                                                                                       \
  "  p: {of: Etch, what: pressure, over: Gown, from: bms, at: analog-input 31, unit: Pa}\n"
#define T32 "  t: {of: Etch, what: temperature, from: bms, at: analog-input 32, unit: degC}\n"

struct world {
  struct device device;
  struct arena arena;
  struct complaints complaints;
  struct facility *facility;
  struct feeds *feeds;
  struct wire *wire;
  pthread_mutex_t lock;
  struct feed_observation last[MOST_POINTS];
  long counts[MOST_POINTS];
  struct feed_observation all[400];
  int all_count;
  char said[40][300];
  int said_count;
};

/* A world read and not started; started with its device; and opened.  Release it in every case. */
bool world_read(struct world *w, const char *more, const char *points);
bool world_read_at(struct world *w, const char *host, const char *more, const char *points);
bool world_new(struct world *w, const char *more, const char *points);
bool world_open(struct world *w);
void world_release(struct world *w);

long count_of(struct world *w, int point);
int times_said(struct world *w, const char *words);
bool reads(struct world *w, int point, enum feed_quality quality, double si);
bool is_connected(struct world *w);

/* Each waits until it is so, and says whether it came to be. */
bool until_reads(struct world *w, int point, enum feed_quality quality, double si);
bool until_said(struct world *w, const char *words);
bool until_reported(struct device *d, const char *name, long least);
bool until_count(struct world *w, int point, long least);
bool until_connected(struct world *w, bool connected);
bool until_seen(struct world *w, int point, double si);
/* Two observations that began after now: what was changed before has arrived. */
void two_more(struct world *w, int point);
void nap(void); /* 20 ms */

#endif
