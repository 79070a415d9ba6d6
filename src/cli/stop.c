/* inward stop SUITE --off UNIT: who is affected by a planned stop, and what may stay open. */
#include "cli/cli.h"

#include "cli/read.h"
#include "stop/stop.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward stop SUITE --off UNIT [--off UNIT]... [--from \"2026-12-03 07:00\" [--to 09:00]]\n"
    "                   [--scene NAME] [--with OVERLAY] [--us] [--json]\n\n"
    "A planned stop of a fan or a make-up unit: what users must do, how many stations of each main\n"
    "may be open meanwhile and which not, which rooms lose their pressure, whom to ask, and what is\n"
    "not known. Solved with everything parked and the units off, at the doubtful end of the figures.\n\n"
    "  --off U       a fan, one unit of it (AF/2) or a make-up unit; of a main that is flows only, the\n"
    "                main, once for each of its fans (needs its capacity 'by running fans')\n"
    "  --from, --to  local time, printed as typed; --to may be a time of the same day\n"
    "  --scene N     what is expected to run then: who cannot simply park is named\n"
    "  --us, --json  cfm and inches of water; everything for programs (docs/api.md)\n\n"
    "Exit: 0 no station is affected; 1 some are, or it is not known; 2 bad input; 3 could not.\n"
    "On paper: inward print stop SUITE --off UNIT ... -o stop.pdf\n"
    "example: inward stop examples/quillmere/suite.yaml --off AF/2 --from \"2026-12-03 07:00\" --to "
    "09:00\n";

struct request {
  const char *suite, *scene;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  const char *off[STOP_OFF_MAX];
  struct stop_request stop;
  bool json, us, help;
};

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strcmp(option, "--off") == 0) {
    if (r->stop.off_count == STOP_OFF_MAX)
      return err_set(err, ERR_USAGE, "more than %d units", STOP_OFF_MAX);
    r->off[r->stop.off_count++] = value;
    return ERR_OK;
  }
  if (strcmp(option, "--scene") == 0)
    r->scene = value;
  else if (strcmp(option, "--from") == 0)
    r->stop.from = value;
  else if (strcmp(option, "--to") == 0)
    r->stop.to = value;
  else
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0) {
      r->json = true;
    } else if (strcmp(argv[i], "--us") == 0) {
      r->us = true;
    } else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
      r->help = true;
    } else if (argv[i][0] == '-') {
      if (i + 1 == argc)
        return err_set(err, ERR_USAGE, "option '%.40s' wants a value", argv[i]);
      enum err_code code = take_value(r, argv[i], argv[i + 1], err);

      if (code != ERR_OK)
        return code;
      i++;
    } else if (!r->suite) {
      r->suite = argv[i];
    } else {
      return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", argv[i]);
    }
  }
  if (r->help)
    return ERR_OK;
  if (!r->suite || r->stop.off_count == 0)
    return err_set(err, ERR_USAGE, "which suite, and what is off? inward stop SUITE --off UNIT");
  return ERR_OK;
}

static int show(const struct facility *facility, struct request *r, struct err *err)
{
  struct arena arena;
  struct buf out;
  struct stop_notice *notice;
  int status = 2;

  arena_init(&arena, (size_t)1 << 30);
  buf_init(&out, 8 << 20);
  r->stop.off = r->off;
  if (r->scene && scene_named(facility, r->scene, &r->stop.scene, err) != ERR_OK)
    goto done;
  notice = stop_notice(facility, &r->stop, &arena, err);
  if (!notice) {
    status = err_exit_status(err->code);
    goto done;
  }
  if (r->json)
    stop_json(notice, &out);
  else
    stop_text(notice, r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &out);
  status = cli_show(&out, notice->affected || !notice->solved ? 1 : 0);
done:
  buf_release(&out);
  arena_release(&arena);
  return status;
}

int cli_stop(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct facility *facility;
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward stop: %s; 'inward stop --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  facility = cli_load(r.suite, r.overlays, r.overlay_count, &err);
  if (!facility) {
    if (err.text[0])
      fprintf(stderr, "inward stop: %s\n", err.text);
    return err.code ? err_exit_status(err.code) : 2;
  }
  status = show(facility, &r, &err);
  if (err.text[0])
    fprintf(stderr, "inward stop: %s\n", err.text);
  facility_free(facility);
  return status;
}
