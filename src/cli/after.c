/* inward after SUITE --event "10s sash S3 work": what happens next, in time. */
#include "cli/cli.h"

#include "after/after.h"
#include "cli/read.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward after SUITE --event \"TIME WHAT\" [--event ...]... [--for TIME] [--scene NAME]\n"
    "                    [--with OVERLAY] [--us] [--json]\n\n"
    "What happens next: how far each room's pressure falls and for how long it is below its keep,\n"
    "where air turns round, how long a station takes, how hard a door is to open, and the three\n"
    "clocks: pressure, particles, gas. The worst comes first. Imagined: a trial, never live.\n\n"
    "  --event E     a time from the start and what happens then, in the order of their times:\n";
static const char help_end[] =
    "  --for T       how long; without it five minutes beyond the last event\n"
    "  --scene N     where it begins; without it everything is parked\n"
    "  --us, --json  cfm and inches of water; everything for programs (docs/api.md)\n\n"
    "How fast things move stands in the suite file (after, responds); what it leaves out is assumed,\n"
    "and the answer says so.\n"
    "Exit: 0 nothing is missed; 1 a keep is missed, a flow turns or a station runs short; 2 bad\n"
    "input; 3 could not. As a picture: inward print after SUITE --event ... -o after.pdf\n"
    "example: inward after examples/quillmere/suite.yaml --event \"10s door D2 open\" --event \"20s door "
    "D2 closed\"\n";

struct request {
  const char *suite, *scene;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  const char *events[AFTER_EVENTS_MAX];
  struct after_request after;
  bool json, us, help;
};

static void print_help(void)
{
  fputs(help, stdout);
  for (int i = 0; after_event_word(i); i++)
    printf("      %-30s %s\n", after_event_word(i)->example, after_event_word(i)->doc);
  fputs(help_end, stdout);
}

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strcmp(option, "--for") == 0)
    return after_read_span(value, &r->after.for_s, err);
  if (strcmp(option, "--scene") == 0) {
    r->scene = value;
    return ERR_OK;
  }
  if (strcmp(option, "--event") != 0)
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  if (r->after.event_count == AFTER_EVENTS_MAX)
    return err_set(err, ERR_USAGE, "more than %d events", AFTER_EVENTS_MAX);
  r->events[r->after.event_count++] = value;
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
  if (!r->help && (!r->suite || r->after.event_count == 0))
    return err_set(
        err, ERR_USAGE,
        "which suite, and what happens? inward after SUITE --event \"10s sash S3 work\"");
  return ERR_OK;
}

static int show(const struct facility *facility, struct request *r, struct err *err)
{
  struct arena arena;
  struct buf out;
  struct after_answer *answer;
  int status = 2;

  arena_init(&arena, AFTER_WORK_MAX_BYTES);
  buf_init(&out, 64 << 20);
  r->after.events = r->events;
  if (r->scene && scene_named(facility, r->scene, &r->after.scene, err) != ERR_OK)
    goto done;
  answer = after_ask(facility, &r->after, &arena, err);
  if (!answer) {
    status = err_exit_status(err->code);
    goto done;
  }
  if (r->json)
    after_json(answer, &out);
  else
    after_text(answer, r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &out);
  status = cli_show(&out, answer->missed ? 1 : 0);
done:
  buf_release(&out);
  arena_release(&arena);
  return status;
}

int cli_after(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct facility *facility;
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward after: %s; 'inward after --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    print_help();
    return 0;
  }
  facility = cli_load(r.suite, r.overlays, r.overlay_count, &err);
  if (!facility) {
    if (err.text[0])
      fprintf(stderr, "inward after: %s\n", err.text);
    return err.code ? err_exit_status(err.code) : 2;
  }
  status = show(facility, &r, &err);
  if (err.text[0])
    fprintf(stderr, "inward after: %s\n", err.text);
  facility_free(facility);
  return status;
}
