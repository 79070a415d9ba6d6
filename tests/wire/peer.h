#ifndef TESTS_WIRE_PEER_H
#define TESTS_WIRE_PEER_H

#include "check.h"
#include "small_feeds.h"
#include "wire/wire_impl.h"

#include <sys/types.h>

/*
 * Other programs to talk to, on loopback, and an ear for what a wire says.
 *
 *     int port = peer_free_port();
 *     pid_t broker = peer_start((const char *[]){"mosquitto", "-c", file, NULL});
 *     struct ear ear;
 *     ear_open(&ear, feeds_text);
 *     CHECK(ear_hears(&ear, "flow", 0.5, FEED_GOOD, 5));
 *     ear_close(&ear);
 *     peer_stop(broker, SIGTERM);
 *
 * Everything waits for at most a given time.  A program that is started dies with the test.
 */
int peer_free_port(void);
pid_t peer_start(const char *const *argv);    /* its output goes nowhere */
bool peer_run(const char *const *argv);       /* to its end; did it succeed? */
void peer_stop(pid_t pid, int signal);        /* and waits for its end; 0 is fine */
bool peer_answers(int port, double within_s); /* does something accept there? */
const char *peer_folder(void);                /* a new folder of this test's own */
void peer_write(const char *path, const char *text, unsigned mode);
int peer_deaf_port(int *fd_out); /* accepts nothing and refuses nothing; close fd_out afterwards */

enum { EAR_MOST = 20000 };

struct ear {
  struct small_feeds world;
  struct wire *wire;
  pthread_mutex_t lock;
  struct feed_observation heard[EAR_MOST];
  int count;
  char said[4096];  /* what was told, a line each */
  char files[8192]; /* reports of files */
  int file_count, booking_count;
  struct feed_booking bookings[16]; /* their texts are not to be looked at */
  atomic_bool known;                /* what it answers when asked whether a file is known */
};

/* A pace at which nobody waits. */
extern const struct wire_pace ear_pace;

/* The text may hold %d, once: for a port. */
bool ear_open(struct ear *ear, const char *feeds_text, int port, const char *folder);
void ear_close(struct ear *ear);
/* Did or does the point say this value, from now on looking at everything since `since`? */
bool ear_hears(struct ear *ear, int since, const char *point, double si, enum feed_quality quality,
               double within_s);
int ear_count(struct ear *ear);
struct wire_health ear_look(const struct ear *ear, const char *source);
bool ear_connected(const struct ear *ear, const char *source, bool connected, double within_s);
/* Was, or is within the time, something told that holds `text`? */
bool ear_told(struct ear *ear, const char *text, double within_s);

#endif
