#ifndef WIRE_WIRE_IMPL_H
#define WIRE_WIRE_IMPL_H

#include "wire/wire.h"

#include <pthread.h>
#include <stdatomic.h>

/*
 * What a connection is to the frame, and the frame to a connection.
 *
 * There is one runner a kind.  A runner is one connection: it opens, says wire_up, reads until the
 * connection is lost or wire_stopping, closes everything it opened, says wire_down with the reason
 * when it was lost, and returns.  The frame waits a pause that grows while the source stays away,
 * and runs it again.  A runner never sleeps but in wire_wait or in a poll that holds stop_fd too.
 *
 *     void wire_run_gauge(struct wire_line *line)
 *     {
 *       if (!gauge_open(...)) {
 *         wire_down(line, "%s does not answer", line->source->host);
 *         return;
 *       }
 *       wire_up(line);
 *       do {
 *         ... feed_number(...); feed_time(...); wire_put(line, &observation);
 *       } while (wire_wait(line, wire_poll_s(line)));
 *       gauge_close(...);
 *     }
 */

/* How long the frame waits for what.  Tests hand in shorter ones. */
struct wire_pace {
  double first_pause_s, most_pause_s; /* between two attempts; doubled each time */
  double steady_s;  /* a connection that held so long begins with the first pause */
  double look_s;    /* between two looks into a folder */
  double settle_s;  /* a file that has not changed for so long is complete */
  double unended_s; /* the same for one whose last line has no end: it may be half of one */
  double tell_s;    /* between two tellings of a kind */
  double answer_s;  /* the longest wait for an answer to a question */
};
extern const struct wire_pace wire_pace_usual;

enum { WIRE_BATCH = 256, WIRE_TOLD_KINDS = 3 };

struct wire_told {
  bool ever;
  double at_s; /* wire_clock_s */
  long unsaid; /* since then */
};

struct wire_line {
  const struct facility *facility;
  const struct feeds *feeds;
  const struct feeds_source *source;
  int index;   /* of the source */
  int *points; /* indices of its points, ascending */
  int point_count;
  const char *folder; /* of the feeds file */
  const struct wire_callbacks *callbacks;
  const struct wire_pace *pace;
  int stop_fd; /* readable once the wire closes: poll it beside a socket, never read it */
  void *own;   /* what a runner keeps from one connection to the next; see `forget` */
  void (*forget)(void *own); /* set by the runner together with own */

  /* From here on wire.c's own. */
  const atomic_bool *stop;
  void (*run)(struct wire_line *line);
  pthread_t thread;
  bool started;
  struct feed_observation batch[WIRE_BATCH];
  int batch_count;
  struct feed_observation *held; /* per point of the source: the newest beyond the limit */
  bool *is_held;
  int held_count, next_held;
  double second_s; /* when this second of the limit began */
  int second_used;
  double up_s; /* when it connected; negative: it did not */
  struct wire_told told[WIRE_TOLD_KINDS];
  pthread_mutex_t lock; /* guards health and refused_s */
  struct wire_health health;
  double refused_s;
  bool was_up;
};

bool wire_stopping(const struct wire_line *line);
/* Hands over what is held back, then waits; false when the wire closes. */
bool wire_wait(struct wire_line *line, double wait_s);
double wire_clock_s(void); /* monotonic, from anywhere */
int64_t wire_now_ms(const struct wire_line *line);
/* How often to ask: `every`; without it a third of the time after which a value is old. */
double wire_poll_s(const struct wire_line *line);

/* One observation of a point of this source; in order.  May be called very often. */
void wire_put(struct wire_line *line, const struct feed_observation *observation);
struct feed_sink wire_sink(struct wire_line *line); /* wire_put as a sink */
void wire_flush(struct wire_line *line);            /* after each burst; wire_wait does it too */
/* All of its points at once, as missing: the source said that it is not there. */
void wire_put_missing(struct wire_line *line);

void wire_up(struct wire_line *line); /* connected */
void wire_down(struct wire_line *line, const char *fmt, ...) PRINTF_LIKE(2, 3);
void wire_refuse(struct wire_line *line, const char *fmt, ...) PRINTF_LIKE(2, 3);
void wire_count(struct wire_line *line, long observations); /* that did not go through wire_put */

/* ---- line.c, for wire.c ---- */
void wire_line_init(struct wire_line *line); /* after its source and settings are set */
void wire_line_free(struct wire_line *line); /* after its thread was joined */
void wire_line_look(struct wire_line *line, struct wire_health *out);
void wire_forget_secret(char word[WIRE_SECRET_MOST]); /* overwrites it; secret.c */

/* ---- runners ---- */
void wire_run_folder(struct wire_line *line); /* folder.c: tables and calendars */
void wire_run_mqtt(struct wire_line *line);   /* mqtt.c */
void wire_run_modbus(struct wire_line *line); /* modbus.c */
void wire_run_bacnet(struct wire_line *line); /* bacnet.c */

/* wire_open at another pace. */
NODISCARD enum err_code wire_open_paced(const struct facility *facility, const struct feeds *feeds,
                                        const char *folder, const struct wire_callbacks *callbacks,
                                        const struct wire_pace *pace, struct wire **wire_out,
                                        struct err *err);

#endif
