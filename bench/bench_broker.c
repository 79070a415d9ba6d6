/*
 * usage: bench_broker INWARD SUITE [COUNT]      from a broker to a screen
 *
 * A mosquitto broker and the board are started on free ports; one sash of the suite is a topic there.
 * COUNT times a new value is published at a moment nobody can foresee, and timed until a screen that
 * follows /api/stream has the whole view that shows it.  In the same run a bare libmosquitto subscriber
 * waits for the same messages: what it does not need is the board's.
 *
 * A value that no view shows within 5 s ends the run with exit 1; one beyond its target is said.
 */
#include "readers.h"

#include "peer.h"

#include <mosquitto.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { COUNT_MOST = 5000, FIRST_MM = 100, VALUES = 300, SHOWN_WITHIN_MS = 5000 };
enum { LEAST_PAUSE_MS = 300, MORE_PAUSE_MS = 1000 };
static const char topic[] = "demo/A1/sash";
static const double shown_ceiling_ms = 1000; /* keeper.h: what came is shown within a second */

/* ---- the suite, with the sash at a broker ---- */

/* With all that it names, now and later: the feeds file is written over. */
static bool copy_suite(const char *suite, const char *folder)
{
  const char *slash = strrchr(suite, '/');
  char from[300];

  snprintf(from, sizeof from, "%.*s/.", slash ? (int)(slash - suite) : 1, slash ? suite : ".");
  return peer_run((const char *[]){"cp", "-R", from, folder, NULL});
}

static void write_feeds(const char *folder, int port)
{
  char path[300], text[700];

  snprintf(path, sizeof path, "%s/feeds.yaml", folder);
  snprintf(text, sizeof text,
           "inward: 1 feeds\n"
           "note: DEMO, for bench_broker\n"
           "sources:\n"
           "  bus: {old after: 60 s, mqtt: {host: 127.0.0.1, port: %d}}\n"
           "points:\n"
           "  A1-sash: {of: A1, what: opening, from: bus, at: %s, unit: m, resolution: 1 mm}\n",
           port, topic);
  peer_write(path, text, 0600);
}

/* ---- the broker, and the bare subscriber ---- */

static _Atomic int64_t heard_ns[COUNT_MOST];
static _Atomic int heard;

static void on_message(struct mosquitto *client, void *arg, const struct mosquitto_message *message)
{
  int i = atomic_load(&heard);

  (void)client, (void)arg, (void)message;
  if (i < COUNT_MOST)
    atomic_store(&heard_ns[i], readers_clock_ns());
  atomic_store(&heard, i + 1);
}

static void on_connect(struct mosquitto *client, void *arg, int code)
{
  (void)arg;
  if (code == 0)
    mosquitto_subscribe(client, NULL, topic, 1);
}

static struct mosquitto *client_new(int port, bool subscribes)
{
  struct mosquitto *client = mosquitto_new(NULL, true, NULL);

  if (!client)
    abort();
  if (subscribes) {
    mosquitto_connect_callback_set(client, on_connect);
    mosquitto_message_callback_set(client, on_message);
  }
  if (mosquitto_connect(client, "127.0.0.1", port, 60) != 0 || mosquitto_loop_start(client) != 0)
    fprintf(stderr, "the broker does not answer\n");
  return client;
}

static void client_free(struct mosquitto *client)
{
  mosquitto_disconnect(client);
  mosquitto_loop_stop(client, false);
  mosquitto_destroy(client);
}

/* ---- one value ---- */

struct waiting {
  char words[40]; /* what the view must show */
  int64_t t_ns;   /* 0: not yet */
};

static void look(void *arg, const struct readers_view *view)
{
  struct waiting *w = arg;
  size_t length = strlen(w->words);

  for (const char *at = view->data; w->t_ns == 0 && view->size >= length;) {
    at = memchr(at, w->words[0], view->size - (size_t)(at - view->data));
    if (!at || (size_t)(at - view->data) + length > view->size)
      return;
    if (memcmp(at, w->words, length) == 0)
      w->t_ns = view->t_ns;
    at++;
  }
}

static int64_t until(int64_t from_ns, int ms)
{
  return from_ns + (int64_t)ms * 1000000;
}

/* Publishes it and waits; the moments go to *sent and *shown. */
static bool show_one(struct mosquitto *publisher, struct readers *screen, int value_mm,
                     int64_t *sent_ns, int64_t *shown_ns)
{
  struct waiting waiting = {.t_ns = 0};
  char text[20];

  snprintf(text, sizeof text, "0.%03d", value_mm);
  /* As measured: a sash that rises counts at its mark, so the scene's opening may be another. */
  snprintf(waiting.words, sizeof waiting.words, "\"value_m\": %g,", value_mm * 1e-3);
  *sent_ns = readers_clock_ns();
  if (mosquitto_publish(publisher, NULL, topic, (int)strlen(text), text, 1, false) != 0)
    return false;
  while (waiting.t_ns == 0 && readers_clock_ns() < until(*sent_ns, SHOWN_WITHIN_MS))
    if (!readers_read(screen, 5, look, &waiting))
      return false;
  *shown_ns = waiting.t_ns;
  return waiting.t_ns != 0;
}

static void see_nothing(void *arg, const struct readers_view *view)
{
  (void)arg, (void)view;
}

static uint64_t seed = 5;

static int below(int n)
{
  seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
  return (int)((seed >> 33) % (uint64_t)n);
}

static void pause_a_while(struct readers *screen)
{
  int64_t end_ns = until(readers_clock_ns(), LEAST_PAUSE_MS + below(MORE_PAUSE_MS));

  for (int64_t now_ns; (now_ns = readers_clock_ns()) < end_ns;) {
    int left_ms = (int)((end_ns - now_ns) / 1000000);

    readers_read(screen, left_ms < 1 ? 1 : left_ms, see_nothing, NULL);
  }
}

/* ---- all of them ---- */

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

static double quantile(const double *list, int count, double q)
{
  return list[(int)(q * (count - 1))];
}

/* What a process has used so far, ms: other programs do not count. */
static double used_ms(pid_t pid)
{
  char path[40], text[600] = "";

  snprintf(path, sizeof path, "/proc/%d/stat", (int)pid);
  FILE *file = fopen(path, "r");

  if (file) {
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
  }
  const char *at = strrchr(text, ')'); /* its name; behind it the 3rd field of proc(5) */
  double ticks = 0;

  for (int field = 3; at && field <= 15; field++) {
    at = strchr(at + 1, ' ');
    if (at && field >= 14)
      ticks += strtod(at, NULL);
  }
  return ticks * 1e3 / (double)sysconf(_SC_CLK_TCK);
}

static void print_result(double *board_ms, double *bare_ms, int count)
{
  qsort(board_ms, (size_t)count, sizeof *board_ms, ascending);
  qsort(bare_ms, (size_t)count, sizeof *bare_ms, ascending);
  double board[2] = {quantile(board_ms, count, 0.5), quantile(board_ms, count, 0.99)};
  double bare[2] = {quantile(bare_ms, count, 0.5), quantile(bare_ms, count, 0.99)};

  printf("broker to screen, %d values, one every %d to %d ms\n", count, LEAST_PAUSE_MS,
         LEAST_PAUSE_MS + MORE_PAUSE_MS);
  printf("  published to shown: p50 %.1f ms, p99 %.1f ms; target p99 <= %.0f ms%s\n", board[0],
         board[1], shown_ceiling_ms, board[1] > shown_ceiling_ms ? "  ABOVE ITS TARGET" : "");
  printf("  bare subscriber:    p50 %.1f ms, p99 %.1f ms\n", bare[0], bare[1]);
  printf("  the board's own:    p50 %.1f ms, p99 %.1f ms more (%.0f and %.0f times)\n",
         board[0] - bare[0], board[1] - bare[1], board[0] / bare[0], board[1] / bare[1]);
}

static bool follow(int broker_port, int board_port, pid_t board, int count)
{
  static double board_ms[COUNT_MOST], bare_ms[COUNT_MOST];
  struct mosquitto *publisher = client_new(broker_port, false);
  struct mosquitto *bare = client_new(broker_port, true);
  struct readers *screen = readers_open(board_port, 1, true);
  int64_t sent_ns = 0, shown_ns = 0;
  bool good = screen != NULL;

  for (int i = 0; i < 50 && good && atomic_load(&heard) == 0; i++) { /* until both listen */
    good = mosquitto_publish(publisher, NULL, topic, 5, "0.050", 1, false) == 0;
    pause_a_while(screen);
  }
  pause_a_while(screen);
  double before_ms = used_ms(board);

  for (int i = 0; i < count && good; i++) {
    int before = atomic_load(&heard);

    good = show_one(publisher, screen, FIRST_MM + i % VALUES, &sent_ns, &shown_ns);
    if (!good)
      printf("  FAULT: value %d of %d was not shown within %d ms\n", i + 1, count, SHOWN_WITHIN_MS);
    board_ms[i] = (double)(shown_ns - sent_ns) * 1e-6;
    pause_a_while(screen);
    if (good && atomic_load(&heard) != before + 1) {
      printf("  FAULT: the bare subscriber did not hear value %d\n", i + 1);
      good = false;
    }
    bare_ms[i] = (double)(atomic_load(&heard_ns[before]) - sent_ns) * 1e-6;
  }
  if (good) {
    print_result(board_ms, bare_ms, count);
    printf("  the board's processor time a value, all it does besides included: %.1f ms\n",
           (used_ms(board) - before_ms) / count);
  }
  readers_close(screen);
  client_free(publisher);
  client_free(bare);
  return good;
}

static bool bench(const char *inward, const char *suite, int count)
{
  const char *folder = peer_folder();
  int broker_port = peer_free_port(), board_port = peer_free_port();
  char conf[300], text[100], copied[300], number[12];
  const char *broker_argv[] = {"mosquitto", "-c", conf, NULL};
  const char *board_argv[] = {inward, "serve", copied, "--port", number, NULL};

  snprintf(conf, sizeof conf, "%s/broker.conf", folder);
  snprintf(text, sizeof text, "listener %d 127.0.0.1\nuser root\nallow_anonymous true\n",
           broker_port);
  peer_write(conf, text, 0600);
  snprintf(copied, sizeof copied, "%s/suite.yaml", folder);
  snprintf(number, sizeof number, "%d", board_port);
  if (!copy_suite(suite, folder)) {
    fprintf(stderr, "%s cannot be read\n", suite);
    return false;
  }
  write_feeds(folder, broker_port);
  pid_t broker = peer_start(broker_argv);
  bool good = peer_answers(broker_port, 10);
  pid_t board = good ? peer_start(board_argv) : 0;

  good = good && peer_answers(board_port, 20);
  if (!good)
    printf("  FAULT: the broker or the board did not start\n");
  good = good && follow(broker_port, board_port, board, count);
  peer_stop(board, SIGTERM);
  peer_stop(broker, SIGTERM);
  return good;
}

int main(int argc, char **argv)
{
  int count = argc > 3 ? (int)strtol(argv[3], NULL, 10) : 300;

  if (argc < 3 || count < 1 || count > COUNT_MOST - 60) {
    fputs("usage: bench_broker INWARD SUITE [COUNT]\n", stderr);
    return 2;
  }
  mosquitto_lib_init();
  return bench(argv[1], argv[2], count) ? 0 : 1;
}
