#include "peer.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* ---- ports ---- */

static struct sockaddr_in loopback(int port)
{
  return (struct sockaddr_in){.sin_family = AF_INET,
                              .sin_port = htons((uint16_t)port),
                              .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
}

static int bound_socket(int *port_out)
{
  struct sockaddr_in at = loopback(0);
  socklen_t size = sizeof at;
  int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);

  if (fd < 0 || bind(fd, (struct sockaddr *)&at, sizeof at) != 0 ||
      getsockname(fd, (struct sockaddr *)&at, &size) != 0)
    abort();
  *port_out = ntohs(at.sin_port);
  return fd;
}

int peer_free_port(void)
{
  int port;

  close(bound_socket(&port));
  return port;
}

/* A queue of one, filled: whoever comes now waits at the door. */
int peer_deaf_port(int *fd_out)
{
  static int inside[4];
  int port;

  *fd_out = bound_socket(&port);
  if (listen(*fd_out, 0) != 0)
    abort();
  for (size_t i = 0; i < sizeof inside / sizeof *inside; i++) {
    struct sockaddr_in at = loopback(port);

    inside[i] = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (connect(inside[i], (struct sockaddr *)&at, sizeof at) != 0 && errno != EINPROGRESS)
      abort();
  }
  return port;
}

static void rest(double wait_s)
{
  struct timespec t = {(time_t)wait_s, (long)(1e9 * (wait_s - floor(wait_s)))};

  nanosleep(&t, NULL);
}

bool peer_answers(int port, double within_s)
{
  double until_s = wire_clock_s() + within_s;

  do {
    struct sockaddr_in at = loopback(port);
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    bool answers = connect(fd, (struct sockaddr *)&at, sizeof at) == 0;

    close(fd);
    if (answers)
      return true;
    rest(0.05);
  } while (wire_clock_s() < until_s);
  return false;
}

/* ---- programs ---- */

static void become(char *const *argv, pid_t parent)
{
  int nowhere = open("/dev/null", O_RDWR);

  prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (getppid() != parent)
    _exit(126);
  dup2(nowhere, STDIN_FILENO);
  dup2(nowhere, STDOUT_FILENO);
  dup2(nowhere, STDERR_FILENO);
  execvp(argv[0], argv);
  _exit(127);
}

pid_t peer_start(const char *const *argv)
{
  enum { MOST_ARGUMENTS = 24, MOST_BYTES = 512 };
  static char texts[MOST_ARGUMENTS][MOST_BYTES]; /* exec's declaration is older than const */
  char *own[MOST_ARGUMENTS + 1] = {NULL};
  pid_t parent = getpid(), pid;

  for (int i = 0; argv[i] && i < MOST_ARGUMENTS; i++) {
    snprintf(texts[i], sizeof texts[i], "%s", argv[i]);
    own[i] = texts[i];
  }
  pid = fork();
  if (pid == 0)
    become(own, parent);
  return pid;
}

void peer_stop(pid_t pid, int signal)
{
  if (pid <= 0)
    return;
  kill(pid, signal);
  if (signal != SIGSTOP && signal != SIGCONT)
    waitpid(pid, NULL, 0);
}

bool peer_run(const char *const *argv)
{
  pid_t pid = peer_start(argv);
  int status = -1;

  return pid > 0 && waitpid(pid, &status, 0) == pid && WIFEXITED(status) &&
         WEXITSTATUS(status) == 0;
}

/* ---- files ---- */

static char folder_path[] = "/tmp/inward-wire-XXXXXX";

static void remove_folder(void)
{
  const char *argv[] = {"rm", "-rf", folder_path, NULL};

  peer_run(argv);
}

const char *peer_folder(void)
{
  static char path[sizeof folder_path + 16];
  static int count;

  if (count == 0) {
    if (!mkdtemp(folder_path))
      abort();
    atexit(remove_folder);
  }
  snprintf(path, sizeof path, "%s/%d", folder_path, ++count);
  if (mkdir(path, 0755) != 0)
    abort();
  return path;
}

void peer_write(const char *path, const char *text, unsigned mode)
{
  FILE *f = fopen(path, "w");

  if (!f || fputs(text, f) < 0 || fclose(f) != 0 || chmod(path, (mode_t)mode) != 0)
    abort();
}

/* ---- the ear ---- */

const struct wire_pace ear_pace = {.first_pause_s = 0.1,
                                   .most_pause_s = 0.4,
                                   .steady_s = 1,
                                   .look_s = 0.1,
                                   .settle_s = 0.3,
                                   .unended_s = 1.2,
                                   .tell_s = 0.2,
                                   .answer_s = 0.4};

static void on_take(void *arg, const struct feed_observation *list, int count)
{
  struct ear *ear = arg;

  pthread_mutex_lock(&ear->lock);
  for (int i = 0; i < count && ear->count < EAR_MOST; i++)
    ear->heard[ear->count++] = list[i];
  pthread_mutex_unlock(&ear->lock);
}

static void append(char *text, size_t room, const char *line)
{
  size_t used = strlen(text);

  snprintf(text + used, room - used, "%s\n", line);
}

static void on_file(void *arg, int source, const char *name, const void *bytes, size_t size,
                    const char *report)
{
  struct ear *ear = arg;

  (void)source;
  (void)bytes;
  (void)size;
  pthread_mutex_lock(&ear->lock);
  ear->file_count++;
  append(ear->files, sizeof ear->files, name);
  append(ear->files, sizeof ear->files, report);
  pthread_mutex_unlock(&ear->lock);
}

static bool on_known(void *arg, int source, const void *bytes, size_t size)
{
  (void)source;
  (void)bytes;
  (void)size;
  return atomic_load(&((struct ear *)arg)->known);
}

static void on_bookings(void *arg, int source, const struct feed_booking *list, int count)
{
  struct ear *ear = arg;

  (void)source;
  pthread_mutex_lock(&ear->lock);
  ear->booking_count = count;
  for (int i = 0; i < count && i < 16; i++)
    ear->bookings[i] = list[i];
  pthread_mutex_unlock(&ear->lock);
}

static void on_say(void *arg, int source, const char *text)
{
  struct ear *ear = arg;

  (void)source;
  pthread_mutex_lock(&ear->lock);
  append(ear->said, sizeof ear->said, text);
  pthread_mutex_unlock(&ear->lock);
}

static int64_t on_now_ms(void *arg)
{
  struct timespec now;

  (void)arg;
  clock_gettime(CLOCK_REALTIME, &now);
  return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

bool ear_open(struct ear *ear, const char *feeds_text, int port, const char *folder)
{
  struct wire_callbacks callbacks = {.take = on_take,
                                     .file = on_file,
                                     .known = on_known,
                                     .bookings = on_bookings,
                                     .say = on_say,
                                     .now_ms = on_now_ms,
                                     .arg = ear};
  const char *at = strstr(feeds_text, "%d");
  char text[8192];
  struct err err = {0};

  memset(ear, 0, sizeof *ear);
  atomic_init(&ear->known, false);
  pthread_mutex_init(&ear->lock, NULL);
  if (at)
    snprintf(text, sizeof text, "%.*s%d%s", (int)(at - feeds_text), feeds_text, port, at + 2);
  else
    snprintf(text, sizeof text, "%s", feeds_text);
  if (!CHECK(small_feeds_read(&ear->world, text)))
    return false;
  if (wire_open_paced(ear->world.facility, ear->world.feeds, folder, &callbacks, &ear_pace,
                      &ear->wire, &err) != ERR_OK)
    check_case("%s", err.text);
  return CHECK(ear->wire != NULL);
}

void ear_close(struct ear *ear)
{
  double began_s = wire_clock_s();

  wire_close(ear->wire);
  CHECK(wire_clock_s() - began_s < 2); /* whatever a source does, a board can be stopped */
  small_feeds_release(&ear->world);
  pthread_mutex_destroy(&ear->lock);
}

int ear_count(struct ear *ear)
{
  int count;

  pthread_mutex_lock(&ear->lock);
  count = ear->count;
  pthread_mutex_unlock(&ear->lock);
  return count;
}

static bool has_heard(struct ear *ear, int since, int point, double si, enum feed_quality quality)
{
  bool found = false;

  pthread_mutex_lock(&ear->lock);
  for (int i = since; i < ear->count && !found; i++) {
    const struct feed_observation *o = &ear->heard[i];

    found = o->point == point && o->quality == quality &&
            (isnan(si) ? isnan(o->si) : fabs(o->si - si) < 1e-9 + 1e-6 * fabs(si));
  }
  pthread_mutex_unlock(&ear->lock);
  return found;
}

bool ear_hears(struct ear *ear, int since, const char *point, double si, enum feed_quality quality,
               double within_s)
{
  int index = small_feeds_point(&ear->world, point);
  double until_s = wire_clock_s() + within_s;

  check_case("%s: %g, %s", point, si, feed_quality_name(quality));
  while (!has_heard(ear, since, index, si, quality)) {
    if (wire_clock_s() > until_s)
      return false;
    rest(0.02);
  }
  return true;
}

struct wire_health ear_look(const struct ear *ear, const char *source)
{
  struct wire_health health;

  wire_look(ear->wire, feeds_source_find(ear->world.feeds, source), &health);
  return health;
}

bool ear_connected(const struct ear *ear, const char *source, bool connected, double within_s)
{
  double until_s = wire_clock_s() + within_s;

  while (ear_look(ear, source).connected != connected) {
    if (wire_clock_s() > until_s)
      return false;
    rest(0.02);
  }
  return true;
}

/* Everything told, as it is now. */
static void copy_told(struct ear *ear, char *out, size_t room)
{
  pthread_mutex_lock(&ear->lock);
  snprintf(out, room, "%s%s", ear->said, ear->files);
  pthread_mutex_unlock(&ear->lock);
}

bool ear_told(struct ear *ear, const char *text, double within_s)
{
  double until_s = wire_clock_s() + within_s;
  char told[sizeof ear->said + sizeof ear->files];

  for (;;) {
    copy_told(ear, told, sizeof told);
    check_case("'%s' in: %s", text, told);
    if (strstr(told, text))
      return true;
    if (wire_clock_s() > until_s)
      return false;
    rest(0.02);
  }
}
