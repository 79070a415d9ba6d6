/* inward watch SUITE: what turns, a line each as it turns. */
#include "cli/cli.h"

#include "base/emit.h"
#include "cli/live_impl.h"
#include "cli/read.h"
#include "cli/zone.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { LINES_MOST_BYTES = 4 << 20, LOOK_MS = 100, WAIT_S = 15, WAIT_MOST_S = 3600 };

static const char help[] =
    "usage: inward watch SUITE [--with OVERLAY] [--record FILE] [--json]\n"
    "                    [--once [--wait S]] [--replay TABLE --source ID [--speed N]]\n\n"
    "Connects to the sources of the suite's feeds file and prints a line whenever the state turns,\n"
    "with the act and the reasons, and when a source is lost or comes back. It only reads. Ctrl-C\n"
    "ends it; a replay ends with its table.\n\n"
    "  --once          prints the live answer one time, as soon as all that it needs is known, and\n"
    "                  ends; after --wait seconds (15 unless given) whatever is known by then\n"
    "  --record FILE   keeps what comes in this file, as the board does; one of them at a time\n"
    "  --replay TABLE  instead of connecting: plays a table of the source --source, its time\n"
    "                  running --speed times as fast (60 unless given)\n"
    "  --with F        an overlay file: add, change, remove by id\n"
    "  --json          a line of JSON each; with --once the live answer as JSON (docs/api.md)\n\n"
    "Exit: 0 stopped as asked, or over; with --once 1 where something is not known; 2 bad input;\n"
    "3 could not.\n"
    "example: inward watch suite.yaml --replay day.csv --source trend --speed 100000\n";

struct request {
  const char *suite;
  struct cli_live_wanted live;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count, wait_s;
  bool once, json, help;
};

/* ---- lines: made by the keeper's thread, printed by this one, so that a slow reader stops nothing ---- */

struct lines {
  pthread_mutex_t lock;
  struct buf text;
  long lost;
  bool json;
  const struct when_zone *zone;
};

static void line_text(const struct lines *lines, const struct keeper_told *told, struct buf *out)
{
  when_print(out, lines->zone, told->t_ms);
  buf_puts(out, "  ");
  if (told->act)
    buf_printf(out, "%s: ", told->act);
  buf_printf(out, "%s\n", told->text);
}

static void line_json(const struct keeper_told *told, struct buf *out)
{
  struct emit json;

  emit_begin_line(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.told.1");
  when_emit(&json, "t", told->t_ms);
  emit_text(&json, "about", told->about);
  emit_text(&json, "state", told->state);
  emit_text(&json, "act", told->act);
  emit_text(&json, "text", told->text);
  emit_close(&json);
  emit_end(&json);
}

static void take_line(void *arg, const struct keeper_told *told)
{
  struct lines *lines = arg;
  struct buf line;

  if (told->after_replay)
    return;
  buf_init(&line, RECORD_TEXT_MOST_BYTES * 2);
  if (lines->json)
    line_json(told, &line);
  else
    line_text(lines, told, &line);
  pthread_mutex_lock(&lines->lock);
  if (line.full || lines->text.used + line.used >= LINES_MOST_BYTES)
    lines->lost++;
  else
    buf_puts(&lines->text, line.text);
  pthread_mutex_unlock(&lines->lock);
  buf_release(&line);
}

/* False when nobody reads any more. */
static bool print_lines(struct lines *lines)
{
  struct buf taken;
  long lost;

  pthread_mutex_lock(&lines->lock);
  taken = lines->text;
  buf_init(&lines->text, LINES_MOST_BYTES);
  lost = lines->lost;
  lines->lost = 0;
  pthread_mutex_unlock(&lines->lock);
  fwrite(taken.text, 1, taken.used, stdout);
  buf_release(&taken);
  if (lost > 0)
    fprintf(stderr, "inward watch: %ld lines were not read in time and are lost\n", lost);
  return fflush(stdout) == 0;
}

/* ---- waiting ---- */

/* Until asked to stop, or `most_ms`; true: asked. */
static bool wait_for_stop(const sigset_t *stop, int most_ms)
{
  struct timespec most = {most_ms / 1000, (long)(most_ms % 1000) * 1000000};

  return sigtimedwait(stop, NULL, &most) > 0;
}

static int follow(struct cli_live *live, struct lines *lines, const sigset_t *stop)
{
  bool over = false;

  while (!over) {
    /* Looked at first: what was told before the end is printed after it. */
    over = live->rows && keeper_is_replay_over(live->keeper);
    if (!over && wait_for_stop(stop, LOOK_MS))
      over = true;
    if (!print_lines(lines))
      return 3;
  }
  return 0;
}

static int print_view(const struct keeper_view *view, bool json)
{
  if (!view) {
    fputs("inward watch: stopped before there was an answer\n", stderr);
    return 3;
  }
  fputs(json ? view->json.text : view->text.text, stdout);
  return view->is_known ? 0 : 1;
}

static int show_once(const struct request *r, struct cli_live *live, const sigset_t *stop)
{
  const struct keeper_view *view = keeper_view(live->keeper);
  int status;

  for (int waited_ms = 0; waited_ms < r->wait_s * 1000 && !(view && view->is_known);
       waited_ms += LOOK_MS) {
    if (wait_for_stop(stop, LOOK_MS))
      break;
    if (view)
      keeper_view_release(view);
    view = keeper_view(live->keeper);
  }
  status = print_view(view, r->json);
  if (view)
    keeper_view_release(view);
  return status;
}

static int watch(const struct facility *facility, const struct request *r, struct err *err)
{
  struct lines lines = {.lock = PTHREAD_MUTEX_INITIALIZER, .json = r->json};
  struct cli_live_wanted wanted = r->live;
  struct cli_live live = {0};
  struct arena arena;
  sigset_t stop;
  int status = 2;

  buf_init(&lines.text, LINES_MOST_BYTES);
  wanted.suite = r->suite;
  wanted.texts = r->once && !r->json;
  wanted.told = r->once ? NULL : take_line;
  wanted.told_arg = &lines;
  arena_init(&arena, 1 << 20);
  cli_hold_stop(&stop);
  if (cli_zone(facility, &arena, &lines.zone, err) == ERR_OK &&
      cli_live_open(&live, facility, &wanted, err) == ERR_OK && !live.faulty) {
    if (!live.keeper)
      err_set(err, ERR_INPUT,
              "the suite names no feeds file, so nothing says what is measured; add "
              "'files: {feeds: feeds.yaml}', or ask 'inward air' about a scene");
    else if (r->once)
      status = show_once(r, &live, &stop);
    else
      status = follow(&live, &lines, &stop);
  }
  cli_live_close(&live);
  if (!err->text[0] && status != 3 && !r->once)
    print_lines(&lines); /* what was told while it closed */
  buf_release(&lines.text);
  arena_release(&arena);
  return err->text[0] ? err_exit_status(err->code) : status;
}

/* ---- the command line ---- */

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strcmp(option, "--speed") == 0)
    return cli_take_number(option, value, 100000, &r->live.speed, err);
  if (strcmp(option, "--wait") == 0)
    return cli_take_number(option, value, WAIT_MOST_S, &r->wait_s, err);
  if (strcmp(option, "--record") == 0)
    r->live.record = value;
  else if (strcmp(option, "--replay") == 0)
    r->live.replay = value;
  else if (strcmp(option, "--source") == 0)
    r->live.source = value;
  else
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return ERR_OK;
}

static bool take_word(struct request *r, const char *word)
{
  if (strcmp(word, "--json") == 0)
    r->json = true;
  else if (strcmp(word, "--once") == 0)
    r->once = true;
  else if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0)
    r->help = true;
  else
    return false;
  return true;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    enum err_code code = ERR_OK;

    if (take_word(r, argv[i]))
      continue;
    if (argv[i][0] == '-') {
      if (i + 1 == argc)
        return err_set(err, ERR_USAGE, "option '%.40s' wants a value", argv[i]);
      code = take_value(r, argv[i], argv[i + 1], err);
      i++;
    } else if (r->suite) {
      code = err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", argv[i]);
    } else {
      r->suite = argv[i];
    }
    if (code)
      return code;
  }
  if (!r->suite && !r->help)
    return err_set(err, ERR_USAGE, "which suite? inward watch SUITE");
  return ERR_OK;
}

int cli_watch(int argc, char **argv)
{
  struct request request = {.live = {.speed = 60}, .wait_s = WAIT_S};
  struct facility *facility;
  struct err err = {0};
  int status = 2;

  if (read_request(argc, argv, &request, &err) != ERR_OK) {
    fprintf(stderr, "inward watch: %s; 'inward watch --help' explains\n", err.text);
    return 2;
  }
  if (request.help) {
    fputs(help, stdout);
    return 0;
  }
  facility = cli_load(request.suite, request.overlays, request.overlay_count, &err);
  if (facility)
    status = watch(facility, &request, &err);
  else if (err.code)
    status = err_exit_status(err.code);
  facility_free(facility);
  if (err.text[0])
    fprintf(stderr, "inward watch: %s\n", err.text);
  return status;
}
