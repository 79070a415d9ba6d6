#include "rig.h"

#include <arpa/inet.h>
#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

const char *rig_node, *rig_script;

/* ---- the device ---- */

static int free_port(void)
{
  struct sockaddr_in any = {.sin_family = AF_INET, .sin_addr = {htonl(INADDR_LOOPBACK)}};
  socklen_t length = sizeof any;
  int fd = socket(AF_INET, SOCK_DGRAM, 0);

  CHECK(bind(fd, (struct sockaddr *)&any, sizeof any) == 0);
  CHECK(getsockname(fd, (struct sockaddr *)&any, &length) == 0);
  close(fd);
  return ntohs(any.sin_port);
}

static const char *hear_line(struct device *d)
{
  if (!CHECK(fgets(d->line, sizeof d->line, d->said) != NULL))
    d->line[0] = '\0';
  d->line[strcspn(d->line, "\n")] = '\0';
  return d->line;
}

void device_start_as(struct device *d, int instance, const char *interface)
{
  char port[16], number[16];
  int to[2] = {-1, -1}, from[2] = {-1, -1};

  snprintf(port, sizeof port, "%d", d->port);
  snprintf(number, sizeof number, "%d", instance);
  CHECK(pipe(to) == 0 && pipe(from) == 0);
  d->pid = fork();
  if (d->pid == 0) {
    dup2(to[0], 0);
    dup2(from[1], 1);
    close(to[1]);
    close(from[0]);
    execlp(rig_node, rig_node, rig_script, port, number, interface, (char *)NULL);
    _exit(127);
  }
  close(to[0]);
  close(from[1]);
  d->to = fdopen(to[1], "w");
  d->said = fdopen(from[0], "r");
  CHECK_STR(hear_line(d), "ready");
}

void device_start(struct device *d)
{
  device_start_as(d, INSTANCE, "127.0.0.1");
}

void device_stop(struct device *d, int signal)
{
  if (d->pid <= 0)
    return;
  kill(d->pid, signal);
  waitpid(d->pid, NULL, 0);
  fclose(d->to);
  fclose(d->said);
  d->pid = 0;
}

const char *tell(struct device *d, const char *fmt, ...)
{
  va_list args;

  va_start(args, fmt);
  vfprintf(d->to, fmt, args);
  va_end(args);
  fputc('\n', d->to);
  fflush(d->to);
  return hear_line(d);
}

long reported(struct device *d, const char *name)
{
  char key[60];
  const char *at = strstr(tell(d, "report"), (snprintf(key, sizeof key, " %s=", name), key));

  return at ? strtol(at + strlen(key), NULL, 10) : 0;
}

/* ---- what is read ---- */

static void take(void *arg, const struct feed_observation *list, int count)
{
  struct world *w = arg;

  pthread_mutex_lock(&w->lock);
  for (int i = 0; i < count; i++) {
    w->last[list[i].point] = list[i];
    w->counts[list[i].point]++;
    if (w->all_count < 400)
      w->all[w->all_count++] = list[i];
  }
  pthread_mutex_unlock(&w->lock);
}

static void say(void *arg, int source, const char *text)
{
  struct world *w = arg;

  (void)source;
  pthread_mutex_lock(&w->lock);
  if (w->said_count < 40)
    snprintf(w->said[w->said_count++], sizeof w->said[0], "%s", text);
  pthread_mutex_unlock(&w->lock);
}

static int64_t now_ms(void *arg)
{
  struct timespec now;

  (void)arg;
  clock_gettime(CLOCK_REALTIME, &now);
  return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

int times_said(struct world *w, const char *words)
{
  int times = 0;

  pthread_mutex_lock(&w->lock);
  for (int i = 0; i < w->said_count; i++)
    times += strstr(w->said[i], words) != NULL;
  pthread_mutex_unlock(&w->lock);
  return times;
}

static const char suite_text[] =
    "inward: 1 suite\n"
    "files: {feeds: feeds.yaml}\n"
    "rooms: {Etch: {}, Gown: {}}\n"
    "junctions: {J: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "doors: {D1: {from: Etch, to: Gown, closed: {area: 1 cm2}, open: {area: 1 m2}}}\n"
    "fans: {EF: {from: J, to: outdoors, count: 2, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [EF]}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";

static const struct wire_pace quick = {.first_pause_s = 0.1,
                                       .most_pause_s = 0.3,
                                       .steady_s = 60,
                                       .look_s = 0.1,
                                       .settle_s = 0.1,
                                       .unended_s = 0.1,
                                       .tell_s = 0,
                                       .answer_s = 0.5};

static struct wire_callbacks callbacks_of(struct world *w)
{
  return (struct wire_callbacks){.take = take, .say = say, .now_ms = now_ms, .arg = w};
}

bool world_read_at(struct world *w, const char *host, const char *more, const char *points)
{
  char text[6000];
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1};
  struct facility_text feeds = {"feeds.yaml", text, 0};

  *w = (struct world){.device.port = free_port()};
  pthread_mutex_init(&w->lock, NULL);
  arena_init(&w->arena, 1 << 20);
  complaints_init(&w->complaints, &w->arena);
  snprintf(text, sizeof text,
           "inward: 1 feeds\nsources:\n"
           "  bms: {every: 0.2 s, old after: 60 s, bacnet: {host: %s, port: %d, device: %d%s}}\n"
           "points:\n%s",
           host, w->device.port, INSTANCE, more, points);
  feeds.size = strlen(text);
  w->facility = facility_read(&suite, NULL, 0, &w->complaints);
  if (w->facility)
    w->feeds = feeds_read(w->facility, &feeds, &w->complaints);
  for (int i = 0; i < w->complaints.count; i++)
    printf("%s\n", w->complaints.list[i].text);
  return CHECK(w->feeds != NULL);
}

bool world_read(struct world *w, const char *more, const char *points)
{
  return world_read_at(w, "127.0.0.1", more, points);
}

bool world_open(struct world *w)
{
  struct wire_callbacks callbacks = callbacks_of(w);
  struct err err = {0};

  return CHECK(wire_open_paced(w->facility, w->feeds, ".", &callbacks, &quick, &w->wire, &err) ==
               ERR_OK);
}

void world_release(struct world *w)
{
  wire_close(w->wire);
  device_stop(&w->device, SIGTERM);
  feeds_free(w->feeds);
  facility_free(w->facility);
  arena_release(&w->arena);
  pthread_mutex_destroy(&w->lock);
}

void set_analog(struct device *d, int instance, double value, int flags, int units)
{
  tell(d, "set 0 %d 85 4 %.9g", instance, value);
  tell(d, "set 0 %d 111 8 %d", instance, flags);
  tell(d, "set 0 %d 117 9 %d", instance, units);
}

bool world_new(struct world *w, const char *more, const char *points)
{
  if (!world_read(w, more, points))
    return false;
  device_start(&w->device);
  set_analog(&w->device, 31, 14.5, 0, 53);
  set_analog(&w->device, 32, 21.5, 0, 62);
  return true;
}

static struct feed_observation last_of(struct world *w, int point)
{
  pthread_mutex_lock(&w->lock);

  struct feed_observation o = w->last[point];

  pthread_mutex_unlock(&w->lock);
  return o;
}

long count_of(struct world *w, int point)
{
  pthread_mutex_lock(&w->lock);

  long count = w->counts[point];

  pthread_mutex_unlock(&w->lock);
  return count;
}

enum { PATIENCE_MS = 20000, LOOK_MS = 20 };

void nap(void)
{
  nanosleep(&(struct timespec){0, LOOK_MS * 1000000L}, NULL);
}

bool reads(struct world *w, int point, enum feed_quality quality, double si)
{
  struct feed_observation o = last_of(w, point);

  if (count_of(w, point) == 0 || o.quality != quality)
    return false;
  return isnan(si) ? isnan(o.si) : fabs(o.si - si) < 1e-4;
}

bool is_connected(struct world *w)
{
  struct wire_health health;

  wire_look(w->wire, 0, &health);
  return health.connected;
}

static bool was_seen(struct world *w, int point, double si)
{
  bool seen = false;

  pthread_mutex_lock(&w->lock);
  for (int i = 0; i < w->all_count; i++)
    seen = seen || (w->all[i].point == point && fabs(w->all[i].si - si) < 1e-6);
  pthread_mutex_unlock(&w->lock);
  return seen;
}

#define WAIT_FOR(cond)                                                                             \
  for (int waited_ms = 0; !(cond) && waited_ms < PATIENCE_MS; waited_ms += LOOK_MS)                \
  nap()

bool until_reads(struct world *w, int point, enum feed_quality quality, double si)
{
  WAIT_FOR(reads(w, point, quality, si));
  return reads(w, point, quality, si);
}

bool until_said(struct world *w, const char *words)
{
  WAIT_FOR(times_said(w, words) > 0);
  return times_said(w, words) > 0;
}

bool until_reported(struct device *d, const char *name, long least)
{
  WAIT_FOR(reported(d, name) >= least);
  return reported(d, name) >= least;
}

bool until_count(struct world *w, int point, long least)
{
  WAIT_FOR(count_of(w, point) >= least);
  return count_of(w, point) >= least;
}

bool until_connected(struct world *w, bool connected)
{
  WAIT_FOR(is_connected(w) == connected);
  return is_connected(w) == connected;
}

bool until_seen(struct world *w, int point, double si)
{
  WAIT_FOR(was_seen(w, point, si));
  return was_seen(w, point, si);
}

void two_more(struct world *w, int point)
{
  long before = count_of(w, point);

  CHECK(until_count(w, point, before + 2));
}
