/*
 * usage: bench_stream SUITE TABLE [STREAMS [VIEWS [ROUNDS]]]      live views to many screens at once
 *
 * The board serves a replay of TABLE, a few views a second; STREAMS readers in this process follow it.
 * Timed: from the moment a view is made to the moment its last byte has been read, for every reader and
 * view.  Then a bare libmicrohttpd server does the same with the same bytes (fanout.c).  The two take
 * turns, ROUNDS times, each in a process of its own.
 *
 * A stream that ends, a last view that does not come to all, or one that is not as long to all, ends the
 * run with exit 1; a ratio beyond its target is said, and views that a reader skipped because it was slow.
 */
#include "fanout.h"
#include "readers.h"

#include "base/buf.h"
#include "cli/live_impl.h"
#include "cli/read.h"
#include "keeper/keeper.h"

#include <dirent.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

enum { STREAMS_MOST = 1050, VIEWS_MOST = 1000, ROUNDS_MOST = 20, THREADS = 2, SPEED = 600 };
enum {
  VIEW_EVERY_MS = 500,
  PATIENCE_MS = 20000,
  SETTLE_VIEWS = 3,
  FILES_USUAL = 1024,
  RECENT = 256
};
static const double p99_ceiling = 1.3;

static struct made *made;

/* ---- when a view is made: the board's own ear is called through ours ---- */

static struct {
  struct keeper *keeper;
  void (*wake)(void *arg);
} board;

/* NOLINTBEGIN(readability-identifier-naming): the linker puts the second in place of keeper_on_view
 * (--wrap) and calls it by the first. */
void __real_keeper_on_view(struct keeper *k, void (*wake)(void *arg), void *arg);
void __wrap_keeper_on_view(struct keeper *k, void (*wake)(void *arg), void *arg);
/* NOLINTEND(readability-identifier-naming) */

static void note_and_wake(void *arg)
{
  int64_t t_ns = readers_clock_ns();
  const struct keeper_view *view = keeper_view(board.keeper);

  if (view->number < MADE_MOST)
    atomic_store(&made->t_ns[view->number], t_ns);
  keeper_view_release(view);
  board.wake(arg);
}

/* NOLINTNEXTLINE(readability-identifier-naming) */
void __wrap_keeper_on_view(struct keeper *k, void (*wake)(void *arg), void *arg)
{
  if (wake) {
    board.keeper = k;
    board.wake = wake;
  }
  __real_keeper_on_view(k, wake ? note_and_wake : NULL, arg);
}

static void files_at_most(rlim_t count)
{
  struct rlimit files;

  getrlimit(RLIMIT_NOFILE, &files);
  files.rlim_cur = count < files.rlim_max ? count : files.rlim_max;
  setrlimit(RLIMIT_NOFILE, &files);
}

/* ---- servers, each in a process of its own ---- */

struct server {
  pid_t pid;
  int port, commands;
};

static int serve_board(const char *suite, const char *table)
{
  struct cli_live_wanted wanted = {
      .suite = suite, .replay = table, .source = "trend", .speed = SPEED};
  struct serve_settings settings = serve_settings_default;
  struct cli_live live = {0};
  struct err err = {0};
  struct arena arena;
  struct facility *facility = cli_load(suite, NULL, 0, &err);
  enum err_code code = facility ? cli_live_open(&live, facility, &wanted, &err) : ERR_INPUT;

  arena_init(&arena, 16 << 20);
  if (code == ERR_OK) {
    struct scene parked = scene_parked(facility, &arena);

    settings.port = 0;
    settings.thread_count = THREADS;
    settings.live = &live.serve;
    code = serve_run(facility, &parked, &settings, &err);
  }
  if (code != ERR_OK)
    fprintf(stderr, "the board: %s\n", err.text);
  cli_live_close(&live);
  facility_free(facility);
  arena_release(&arena);
  return code == ERR_OK ? 0 : 1;
}

struct wanted {
  const char *suite, *table;
  const struct buf *view; /* of the bare server; NULL: the board */
};

/* True when it has said where it listens. */
static bool start(struct server *s, const struct wanted *w)
{
  int to[2], from[2];
  char line[200] = "";

  if (pipe(to) != 0 || pipe(from) != 0)
    return false;
  fflush(NULL);
  memset(made, 0, sizeof *made);
  s->pid = fork();
  if (s->pid == 0) {
    dup2(from[1], STDOUT_FILENO);
    close(to[1]);
    if (!w->view)
      files_at_most(FILES_USUAL); /* as a shell gives them: the board looks after its own */
    exit(w->view ? fanout_serve(to[0], w->view->text, (int)w->view->used, THREADS, made)
                 : serve_board(w->suite, w->table));
  }
  close(to[0]);
  close(from[1]);
  s->commands = to[1];
  FILE *said = fdopen(from[0], "r");
  bool good = said && fgets(line, sizeof line, said) && strstr(line, "127.0.0.1:");

  if (good)
    s->port = (int)strtol(strstr(line, "127.0.0.1:") + sizeof "127.0.0.1:" - 1, NULL, 10);
  if (said)
    fclose(said);
  return good;
}

static double ticks_of(const char *stat_path)
{
  char text[600] = "";
  FILE *file = fopen(stat_path, "r");
  double ticks = 0;

  if (!file)
    return 0;
  text[fread(text, 1, sizeof text - 1, file)] = '\0';
  fclose(file);
  const char *at = strstr(text, "(MHD-worker)"); /* behind it the 3rd field of proc(5) */

  at = at ? strchr(at, ')') : NULL;
  for (int field = 3; at && field <= 15; field++) {
    at = strchr(at + 1, ' ');
    if (at && field >= 14)
      ticks += strtod(at, NULL);
  }
  return ticks;
}

/* What the library's threads of a server have used, ms: other programs and the keeper do not count. */
static double sending_ms(pid_t pid)
{
  char path[300];
  double ticks = 0;

  snprintf(path, sizeof path, "/proc/%d/task", (int)pid);
  DIR *tasks = opendir(path);

  for (struct dirent *entry; tasks && (entry = readdir(tasks)) != NULL;)
    if (entry->d_name[0] != '.') {
      snprintf(path, sizeof path, "/proc/%d/task/%.20s/stat", (int)pid, entry->d_name);
      ticks += ticks_of(path);
    }
  if (tasks)
    closedir(tasks);
  return ticks * 1e3 / (double)sysconf(_SC_CLK_TCK);
}

static bool stop(struct server *s)
{
  int status = -1;

  close(s->commands);
  kill(s->pid, SIGTERM);
  return waitpid(s->pid, &status, 0) == s->pid;
}

/* ---- one turn: so many views, by all readers ---- */

struct turn {
  int streams;
  long *last;     /* per reader: the number of its newest view */
  double *waited; /* ms, of every reader and view that counts */
  long count, room;
  long first;            /* views from this one on count */
  long newest;           /* number */
  int complete;          /* readers that have the newest */
  int following;         /* readers that have any */
  int arrived;           /* readers that have the last wanted, or a newer one */
  long wanted;           /* the last */
  size_t recent[RECENT]; /* bytes of a view, by its number */
  bool differ;
  double sending_ms; /* of all turns, what the library's threads used */
  long sent;         /* views in them */
  long missed;
  struct buf *view; /* where to put one */
};

static void take_last(struct turn *t, const struct readers_view *view)
{
  long *last = &t->last[view->reader];

  t->following += *last == 0;
  t->arrived += *last < t->wanted && view->id >= t->wanted;
  t->missed += t->first > 0 && *last >= t->first && view->id != *last + 1;
  *last = view->id;
}

static void see(void *arg, const struct readers_view *view)
{
  struct turn *t = arg;
  int64_t made_ns = view->id < MADE_MOST ? atomic_load(&made->t_ns[view->id]) : 0;
  size_t *size = &t->recent[view->id % RECENT];

  if (view->id > t->newest) {
    t->newest = view->id;
    t->complete = 0;
    *size = view->size;
  }
  t->complete += view->id == t->newest;
  t->differ = t->differ || *size != view->size;
  take_last(t, view);
  if (view->reader == 0) {
    buf_clear(t->view);
    buf_add(t->view, view->data, view->size);
  }
  if (t->first > 0 && view->id >= t->first && made_ns > 0 && t->count < t->room)
    t->waited[t->count++] = (double)(view->t_ns - made_ns) * 1e-6;
}

static void begin_turn(struct turn *t)
{
  t->first = t->newest = 0;
  t->complete = t->following = t->arrived = 0;
  t->wanted = LONG_MAX;
  memset(t->last, 0, (size_t)t->streams * sizeof *t->last);
}

/* The bare server's next view, when it is time and everybody has the one before. */
static bool make_next(const struct turn *t, const struct server *s, int64_t *next_ns)
{
  int64_t now_ns = readers_clock_ns();

  if (now_ns < *next_ns || t->newest >= t->wanted || (t->newest > 0 && t->complete < t->streams))
    return true;
  *next_ns = now_ns + (int64_t)VIEW_EVERY_MS * 1000000;
  return write(s->commands, "v", 1) == 1;
}

static bool follow(struct turn *t, const struct server *s, bool is_bare, int views)
{
  struct readers *readers = readers_open(s->port, t->streams, false);
  int64_t next_ns = 0, patience_ns = ((int64_t)views * VIEW_EVERY_MS * 4 + PATIENCE_MS) * 1000000;
  int64_t until_ns = readers_clock_ns() + patience_ns;
  bool good = readers != NULL;

  begin_turn(t);
  while (good && t->arrived < t->streams) {
    good = (!is_bare || make_next(t, s, &next_ns)) && readers_read(readers, 5, see, t) &&
           readers_clock_ns() < until_ns && !t->differ;
    if (t->wanted == LONG_MAX && t->following == t->streams) {
      t->first = t->newest + SETTLE_VIEWS;
      t->wanted = t->first + views - 1;
    }
  }
  if (!good)
    printf("  FAULT: %s\n", !readers    ? "not all were let in"
                            : t->differ ? "a view is not the same to all"
                                        : "a stream ended, or a view did not come");
  readers_close(readers);
  return good;
}

static bool take_turn(struct turn *t, const struct wanted *w, int views)
{
  struct server server = {0};
  bool good = start(&server, w) && follow(t, &server, w->view != NULL, views);

  t->sending_ms += sending_ms(server.pid);
  t->sent += t->newest;
  return stop(&server) && good;
}

/* ---- all turns ---- */

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;

  return (x > y) - (x < y);
}

static double quantile(const struct turn *t, double q)
{
  return t->count > 0 ? t->waited[(long)(q * (double)(t->count - 1))] : 0;
}

static void turn_new(struct turn *t, int streams, int views, int rounds, struct buf *view)
{
  *t = (struct turn){.streams = streams, .view = view};
  t->room = (long)streams * (views + 100L) * rounds;
  t->last = calloc((size_t)streams, sizeof *t->last);
  t->waited = calloc((size_t)t->room, sizeof *t->waited);
  if (!t->last || !t->waited)
    err_no_memory();
}

static void turn_release(struct turn *t)
{
  free(t->last);
  free(t->waited);
}

static void print_result(struct turn *ours, struct turn *bare, int views, int rounds)
{
  qsort(ours->waited, (size_t)ours->count, sizeof *ours->waited, ascending);
  qsort(bare->waited, (size_t)bare->count, sizeof *bare->waited, ascending);
  double p50 = quantile(ours, 0.5) / quantile(bare, 0.5),
         p99 = quantile(ours, 0.99) / quantile(bare, 0.99);

  printf("stream, %d screens, %d views of %zu bytes, %d turns each\n", ours->streams, views,
         ours->view->used, rounds);
  printf(
      "  from made to last byte: board p50 %.1f ms, p99 %.1f ms; bare p50 %.1f ms, p99 %.1f ms\n",
      quantile(ours, 0.5), quantile(ours, 0.99), quantile(bare, 0.5), quantile(bare, 0.99));
  printf("  board over bare: p50 %.2f, p99 %.2f; target p99 <= %.2f%s\n", p50, p99, p99_ceiling,
         p99 > p99_ceiling ? "  ABOVE ITS TARGET" : "");
  double board_ms = ours->sending_ms / (double)ours->sent,
         bare_ms = bare->sending_ms / (double)bare->sent;

  printf(
      "  processor time of the sending threads, a view to all: board %.1f ms, bare %.1f ms, ratio "
      "%.2f\n",
      board_ms, bare_ms, board_ms / bare_ms);
  printf("  views skipped: board %ld, bare %ld, of %ld each\n", ours->missed, bare->missed,
         ours->count);
}

static bool bench(const char *suite, const char *table, int streams, int views, int rounds)
{
  struct turn ours, bare;
  struct buf view;
  bool good = true;

  buf_init(&view, 8 << 20);
  turn_new(&ours, streams, views, rounds, &view);
  turn_new(&bare, streams, views, rounds, &view);
  for (int i = 0; i < rounds && good; i++) {
    const struct wanted board_wanted = {suite, table, NULL}, bare_wanted = {suite, table, &view};

    good = take_turn(&ours, &board_wanted, views) && take_turn(&bare, &bare_wanted, views);
  }
  if (good)
    print_result(&ours, &bare, views, rounds);
  good = good && ours.count > 0 && bare.count > 0;
  turn_release(&ours);
  turn_release(&bare);
  buf_release(&view);
  return good;
}

static int number(int argc, char **argv, int at, int usual)
{
  return argc > at ? (int)strtol(argv[at], NULL, 10) : usual;
}

int main(int argc, char **argv)
{
  int streams = number(argc, argv, 3, 1000), views = number(argc, argv, 4, 40);
  int rounds = number(argc, argv, 5, 3);

  if (argc < 3 || streams < 1 || streams > STREAMS_MOST || views < 1 || views > VIEWS_MOST ||
      rounds < 1 || rounds > ROUNDS_MOST) {
    fputs("usage: bench_stream SUITE TABLE [STREAMS [VIEWS [ROUNDS]]]\n", stderr);
    return 2;
  }
  FILE *shared = tmpfile();

  if (!shared || ftruncate(fileno(shared), sizeof *made) != 0)
    err_no_memory();
  made = mmap(NULL, sizeof *made, PROT_READ | PROT_WRITE, MAP_SHARED, fileno(shared), 0);
  if (made == MAP_FAILED)
    err_no_memory();
  files_at_most(RLIM_INFINITY);
  return bench(argv[1], argv[2], streams, views, rounds) ? 0 : 1;
}
