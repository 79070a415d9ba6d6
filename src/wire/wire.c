#include "wire/wire_impl.h"

#include <errno.h>
#include <math.h>
#include <mosquitto.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/stat.h>
#include <unistd.h>

/* The frame: threads, pauses, and stop.  What a connection hands to it is in line.c. */

struct wire {
  int source_count;
  struct wire_line **lines; /* per source; NULL: it has no connection */
  struct wire_pace pace;
  struct wire_callbacks callbacks;
  char *folder;
  int stop_fd;
  atomic_bool stop;
};

const struct wire_pace wire_pace_usual = {.first_pause_s = 1,
                                          .most_pause_s = 30,
                                          .steady_s = 60,
                                          .look_s = 2,
                                          .settle_s = 5,
                                          .unended_s = 30,
                                          .tell_s = 60,
                                          .answer_s = 1};

/* ---- a thread ---- */

/* Between 0.75 and 1.25: so that ten sources lost together do not come back together for ever. */
static double jitter(const struct wire_line *line, int attempt)
{
  unsigned x = (unsigned)line->index * 2654435761U + (unsigned)attempt * 40503U;

  x ^= x >> 15;
  x *= 2246822519U;
  x ^= x >> 13;
  return 0.75 + 0.5 * (double)(x & 0xffff) / 65535.0;
}

static void *run_line(void *arg)
{
  struct wire_line *line = arg;
  double pause_s = line->pace->first_pause_s;

  for (int attempt = 0; !wire_stopping(line); attempt++) {
    line->up_s = -1;
    line->run(line);
    wire_flush(line);
    if (line->up_s >= 0 && wire_clock_s() - line->up_s >= line->pace->steady_s)
      pause_s = line->pace->first_pause_s;
    if (!wire_wait(line, pause_s * jitter(line, attempt)))
      break;
    pause_s = fmin(2 * pause_s, line->pace->most_pause_s);
  }
  return NULL;
}

/* ---- what is there to be started ---- */

static void (*const runners[])(struct wire_line *line) = {
    [FEEDS_CSV] = wire_run_folder,      [FEEDS_MQTT] = wire_run_mqtt,
    [FEEDS_MODBUS] = wire_run_modbus,   [FEEDS_BACNET] = wire_run_bacnet,
    [FEEDS_CALENDAR] = wire_run_folder,
};

static bool has_connection(const struct feeds_source *source)
{
  return runners[source->kind] && (source->kind != FEEDS_CSV || source->table.folder);
}

static enum err_code check_folder(const struct feeds_source *source, const char *folder,
                                  struct err *err)
{
  char path[4096];
  struct stat st;
  int length = snprintf(path, sizeof path, "%s/%s", folder, source->table.folder);

  if (length < 0 || (size_t)length >= sizeof path)
    return err_set(err, ERR_INPUT, "source %s: the name of its folder is too long",
                   source->part.id);
  if (stat(path, &st) != 0)
    return err_set(err, ERR_INPUT, "source %s: folder %s: %s; make it, or mend 'folder'",
                   source->part.id, source->table.folder, strerror(errno));
  if (!S_ISDIR(st.st_mode))
    return err_set(err, ERR_INPUT, "source %s: %s is no folder", source->part.id,
                   source->table.folder);
  return ERR_OK;
}

static enum err_code check_secret(const struct feeds_source *source, const char *where,
                                  const char *folder, struct err *err)
{
  char word[WIRE_SECRET_MOST];
  enum err_code code = where ? wire_secret(where, folder, word, err) : ERR_OK;

  if (code)
    err_prefix(err, "source %s: ", source->part.id);
  wire_forget_secret(word);
  return code;
}

/* What is wrong here is wrong for ever, so it is told before anything starts. */
static enum err_code check_source(const struct feeds_source *source, const char *folder,
                                  struct err *err)
{
  enum err_code code = ERR_OK;

  if (!has_connection(source))
    return ERR_OK;
  if (source->table.folder)
    code = check_folder(source, folder, err);
  if (!code)
    code = check_secret(source, source->user, folder, err);
  if (!code)
    code = check_secret(source, source->secret, folder, err);
  return code;
}

static struct wire_line *new_line(struct wire *wire, const struct facility *facility,
                                  const struct feeds *feeds, int index)
{
  struct wire_line *line = calloc(1, sizeof *line);

  if (!line)
    err_no_memory();
  line->facility = facility;
  line->feeds = feeds;
  line->source = &feeds->sources[index];
  line->index = index;
  line->folder = wire->folder;
  line->callbacks = &wire->callbacks;
  line->pace = &wire->pace;
  line->stop_fd = wire->stop_fd;
  line->stop = &wire->stop;
  line->run = runners[line->source->kind];
  wire_line_init(line);
  return line;
}

/* Signals are for the program's own threads. */
static enum err_code start(struct wire_line *line, struct err *err)
{
  sigset_t all, before;
  int failed;

  sigfillset(&all);
  pthread_sigmask(SIG_SETMASK, &all, &before);
  failed = pthread_create(&line->thread, NULL, run_line, line);
  pthread_sigmask(SIG_SETMASK, &before, NULL);
  if (failed)
    return err_set(err, ERR_IO, "no thread for source %s: %s", line->source->part.id,
                   strerror(failed));
  line->started = true;
  return ERR_OK;
}

static struct wire *new_wire(const struct feeds *feeds, const char *folder,
                             const struct wire_callbacks *callbacks, const struct wire_pace *pace)
{
  struct wire *wire = calloc(1, sizeof *wire);

  if (!wire)
    err_no_memory();
  wire->lines = calloc((size_t)feeds->source_count + 1, sizeof(struct wire_line *));
  wire->folder = strdup(folder);
  if (!wire->lines || !wire->folder)
    err_no_memory();
  wire->source_count = feeds->source_count;
  wire->pace = *pace;
  wire->callbacks = *callbacks;
  atomic_init(&wire->stop, false);
  wire->stop_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
  mosquitto_lib_init();
  return wire;
}

enum err_code wire_open_paced(const struct facility *facility, const struct feeds *feeds,
                              const char *folder, const struct wire_callbacks *callbacks,
                              const struct wire_pace *pace, struct wire **wire_out, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; i < feeds->source_count && !code; i++)
    code = check_source(&feeds->sources[i], folder, err);
  if (code)
    return code;

  struct wire *wire = new_wire(feeds, folder, callbacks, pace);

  if (wire->stop_fd < 0)
    code = err_set(err, ERR_IO, "no descriptor to stop threads with: %s", strerror(errno));
  for (int i = 0; i < feeds->source_count && !code; i++)
    if (has_connection(&feeds->sources[i])) {
      wire->lines[i] = new_line(wire, facility, feeds, i);
      code = start(wire->lines[i], err);
    }
  if (code)
    wire_close(wire);
  else
    *wire_out = wire;
  return code;
}

enum err_code wire_open(const struct facility *facility, const struct feeds *feeds,
                        const char *folder, const struct wire_callbacks *callbacks,
                        struct wire **wire_out, struct err *err)
{
  return wire_open_paced(facility, feeds, folder, callbacks, &wire_pace_usual, wire_out, err);
}

void wire_stop(struct wire *wire)
{
  static const uint64_t one = 1;

  if (!wire || atomic_exchange(&wire->stop, true))
    return;
  if (wire->stop_fd >= 0)
    BUG_IF(write(wire->stop_fd, &one, sizeof one) != (ssize_t)sizeof one);
  for (int i = 0; i < wire->source_count; i++)
    if (wire->lines[i] && wire->lines[i]->started)
      pthread_join(wire->lines[i]->thread, NULL);
}

void wire_close(struct wire *wire)
{
  if (!wire)
    return;
  wire_stop(wire);
  for (int i = 0; i < wire->source_count; i++)
    if (wire->lines[i])
      wire_line_free(wire->lines[i]);
  if (wire->stop_fd >= 0)
    close(wire->stop_fd);
  mosquitto_lib_cleanup();
  free(wire->lines);
  free(wire->folder);
  free(wire);
}

void wire_look(const struct wire *wire, int source, struct wire_health *out)
{
  BUG_IF(source < 0 || source >= wire->source_count);
  if (wire->lines[source])
    wire_line_look(wire->lines[source], out);
  else
    *out = (struct wire_health){.heard_ms = INT64_MIN};
}
