/* inward serve SUITE: the board, on a port of this machine. */
#include "cli/cli.h"

#include "cli/day_site.h"
#include "cli/live_impl.h"
#include "cli/may_load.h"
#include "cli/read.h"
#include "cli/zone.h"
#include "serve/serve.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { HOSTS_MAX = 16 };

static const char help[] =
    "usage: inward serve SUITE [--scene NAME] [--with OVERLAY] [--port N] [--bind ADDRESS]\n"
    "                    [--host NAME] [--threads N] [--record FILE]\n"
    "                    [--replay TABLE --source ID [--speed N]] [--responder FILE]\n\n"
    "The board: open the address it prints in a browser. Everything tried there is a trial\n"
    "and changes nothing. Where the suite names a feeds file (files: {feeds: ...}) the board\n"
    "connects to its sources and shows what is live; it only reads. Ctrl-C stops it.\n\n"
    "  --record FILE   keeps what comes, and what people enter, in this file; made if not there\n"
    "  --replay TABLE  instead of connecting: plays a table of the source --source, its time\n"
    "                  running --speed times as fast (60 unless given). The page says REPLAY\n"
    "  --responder FILE  writes the responder sheet to FILE (HTML) at each change and every 20 s, whole or\n"
    "                  not at all: for a screen or printer at the gate\n"
    "  --scene NAME    the scene the board starts from, and then nothing is connected; without\n"
    "                  it, and without feeds, all sashes are parked\n"
    "  --with F        an overlay file: add, change, remove by id\n"
    "  --port N        8470 unless given; 0 takes a free one and prints it\n"
    "  --bind ADDRESS  127.0.0.1 unless given: this machine only. There is no sign-in and no\n"
    "                  encryption here; on a network that is not trusted put a proxy in front\n"
    "  --host NAME     a further name the board answers to, as browsers will write it\n"
    "  --threads N     2 unless given; each has its own solver\n\n"
    "Exit: 0 stopped as asked; 2 bad input; 3 could not, for the reason printed.\n"
    "example: inward serve examples/quillmere/suite.yaml --scene busy\n";

struct request {
  const char *suite, *scene, *record, *replay, *source, *responder;
  int speed;
  const char *overlays[CLI_OVERLAYS_MAX];
  const char *hosts[HOSTS_MAX];
  int overlay_count;
  struct serve_settings settings;
  bool help;
};

static enum err_code take_host(struct request *r, const char *name, struct err *err)
{
  if (r->settings.host_count == HOSTS_MAX)
    return err_set(err, ERR_USAGE, "at most %d --host names", HOSTS_MAX);
  r->hosts[r->settings.host_count++] = name;
  return ERR_OK;
}

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  if (strcmp(option, "--port") == 0)
    return cli_take_number(option, value, 65535, &r->settings.port, err);
  if (strcmp(option, "--threads") == 0)
    return cli_take_number(option, value, 16, &r->settings.thread_count, err);
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strcmp(option, "--host") == 0)
    return take_host(r, value, err);
  if (strcmp(option, "--speed") == 0)
    return cli_take_number(option, value, 100000, &r->speed, err);
  if (strcmp(option, "--scene") == 0)
    r->scene = value;
  else if (strcmp(option, "--record") == 0)
    r->record = value;
  else if (strcmp(option, "--replay") == 0)
    r->replay = value;
  else if (strcmp(option, "--source") == 0)
    r->source = value;
  else if (strcmp(option, "--responder") == 0)
    r->responder = value;
  else if (strcmp(option, "--bind") == 0)
    r->settings.bind = value;
  else
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
      r->help = true;
    } else if (strncmp(argv[i], "--", 2) == 0) {
      if (i + 1 == argc)
        return err_set(err, ERR_USAGE, "option '%.40s' wants a value", argv[i]);
      enum err_code code = take_value(r, argv[i], argv[i + 1], err);

      if (code)
        return code;
      i++;
    } else if (!r->suite) {
      r->suite = argv[i];
    } else {
      return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", argv[i]);
    }
  }
  if (!r->suite && !r->help)
    return err_set(err, ERR_USAGE, "which suite? inward serve SUITE");
  return ERR_OK;
}

/* A suite that cannot be asked for a day has a board all the same. */
static bool has_bookings(struct cli_day_site *site, struct err *err)
{
  bool fine = cli_day_open(site, err) == ERR_OK;

  *err = (struct err){0};
  return fine;
}

static int64_t board_now_ms(const void *keeper)
{
  return keeper_now_ms(keeper);
}

static enum err_code serve(const struct cli_reading *suite, const struct request *r,
                           struct err *err)
{
  const struct facility *facility = suite->facility;
  const struct scene *start = NULL;
  struct cli_live live = {0};
  struct serve_settings settings = r->settings;
  struct cli_may may = {0};
  const struct when_zone *zone = NULL;
  struct arena arena;
  sigset_t stop;
  enum err_code code = ERR_OK;

  cli_hold_stop(&stop);
  if (r->scene && scene_named(facility, r->scene, &start, err) != ERR_OK)
    return ERR_INPUT;
  if (!r->scene || r->record || r->replay)
    code = cli_live_open(&live, facility,
                         &(struct cli_live_wanted){.suite = r->suite,
                                                   .record = r->record,
                                                   .replay = r->replay,
                                                   .source = r->source,
                                                   .speed = r->speed},
                         err);
  arena_init(&arena, 16 << 20);
  struct scene parked = scene_parked(facility, &arena);

  live.serve.responder_file = r->responder;
  if (code == ERR_OK && !live.faulty && r->responder && !live.keeper)
    code = err_set(err, ERR_INPUT,
                   "--responder: nothing is connected, so nothing would ever change; 'inward print "
                   "responder' makes a form");
  settings.live = live.keeper ? &live.serve : NULL;
  if (code == ERR_OK && !live.faulty)
    code = cli_zone(facility, &arena, &zone, err);
  if (code == ERR_OK && !live.faulty)
    code = cli_may_load(facility, r->suite, zone, cli_day(zone, cli_now_ms()), &may, err);
  settings.texts = suite->texts;
  settings.text_count = suite->text_count;
  settings.zone = zone;
  settings.chemicals = may.own;
  settings.may = facility->processes_file ? may.may : NULL;
  struct cli_day_site site = {
      .facility = facility, .suite = r->suite, .record = r->record, .may_lack_record = true};
  struct serve_day day = {.answer = cli_day_answer, .arg = &site};

  if (live.keeper) {
    site.now_ms = board_now_ms;
    site.now_arg = live.keeper;
  }
  if (code == ERR_OK && !live.faulty && has_bookings(&site, err))
    settings.day = &day;
  if (settings.day && cli_day_has_bookings(&site))
    day.bookings = cli_day_bookings_of;
  if (code == ERR_OK && !live.faulty)
    code = serve_run(facility, start ? start : &parked, &settings, err);
  else if (code == ERR_OK)
    code = ERR_INPUT; /* its faults are printed */
  cli_live_close(&live);
  cli_may_release(&may);
  cli_day_close(&site);
  arena_release(&arena);
  return code;
}

/* The texts stay beside the facility: what is fitted to readings is written as changes of them. */
static enum err_code read_and_serve(const struct request *r, struct err *err)
{
  struct cli_reading suite;
  enum err_code code = cli_reading_read(&suite, r->suite, r->overlays, r->overlay_count, err);

  if (code == ERR_OK && suite.facility) {
    code = serve(&suite, r, err);
  } else if (code == ERR_OK) {
    struct buf out;

    buf_init(&out, 1 << 20);
    cli_reading_print(&suite, &out);
    fputs(out.text, stderr);
    buf_release(&out);
    code = ERR_INPUT;
  }
  cli_reading_release(&suite);
  return code;
}

int cli_serve(int argc, char **argv)
{
  struct request request = {.settings = serve_settings_default, .speed = 60};
  struct err err = {0};
  enum err_code code = read_request(argc, argv, &request, &err);

  request.settings.hosts = request.hosts;
  if (request.help && !code) {
    fputs(help, stdout);
    return 0;
  }
  if (code == ERR_OK)
    code = read_and_serve(&request, &err);
  if (err.code)
    fprintf(stderr, "inward serve: %s\n", err.text);
  return err_exit_status(err.code ? err.code : code);
}
