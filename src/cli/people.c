/* inward people SUITE: who is endorsed for what, and every row of the tables that says too little. */
#include "cli/cli.h"

#include "cli/people_load.h"
#include "cli/zone.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward people SUITE [--who ID] [--on 2026-12-01] [--names] [--with OVERLAY] [--json]\n\n"
    "Who is endorsed for what on a day, until when, or why not: from the suite's people file and the\n"
    "tables it names. Every row that is twice, blank, in the future or not understood is a remark with\n"
    "its cell and what would mend it; the rest still works.\n\n"
    "  --who ID   one person\n"
    "  --on DAY   another day than today\n"
    "  --names    names and groups too: only where the suite's privacy rules allow it\n"
    "  --json     for programs (docs/api.md)\n\n"
    "Exit: 0 read without a remark; 1 there are remarks; 2 bad input; 3 could not.\n"
    "example: inward people examples/quillmere/suite.yaml --who U14 --on 2026-12-01\n";

struct request {
  const char *suite, *who, *on;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool names, json, help;
};

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  if (!value)
    return err_set(err, ERR_USAGE, "option '%.40s' is none, or wants a value", option);
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strcmp(option, "--who") == 0)
    r->who = value;
  else if (strcmp(option, "--on") == 0)
    r->on = value;
  else
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; i < argc && code == ERR_OK; i++) {
    if (strcmp(argv[i], "--json") == 0)
      r->json = true;
    else if (strcmp(argv[i], "--names") == 0)
      r->names = true;
    else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
      r->help = true;
    else if (argv[i][0] == '-') {
      code = take_value(r, argv[i], i + 1 < argc ? argv[i + 1] : NULL, err);
      i++;
    } else if (!r->suite)
      r->suite = argv[i];
    else
      return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", argv[i]);
  }
  if (code == ERR_OK && !r->suite && !r->help)
    return err_set(err, ERR_USAGE, "which suite? inward people SUITE");
  return code;
}

/* Remarks without the row itself, which has names in it, unless names are asked for. */
static void say_remarks(const struct cli_people *p, bool names)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  if (!names)
    complaints_print(&p->remarks, p->roster->file, NULL, &out);
  for (int i = 0; names && i < p->text_count; i++) {
    struct complaints of_file = {.dropped = i + 1 == p->text_count ? p->remarks.dropped : 0};

    for (int k = 0; k < p->remarks.count; k++)
      if (p->texts[i].file && p->remarks.list[k].place.file &&
          strcmp(p->remarks.list[k].place.file, p->texts[i].file) == 0)
        of_file.list[of_file.count++] = p->remarks.list[k];
    complaints_print(&of_file, p->texts[i].file, p->texts[i].bytes, &out);
  }
  fputs(out.text, stderr);
  buf_release(&out);
}

static int show(const struct request *r, const struct facility *facility, struct err *err)
{
  struct cli_people p = {0};
  const struct when_zone *zone;
  struct arena arena;
  struct buf out;
  int status = 2, today;

  arena_init(&arena, 8 << 20);
  buf_init(&out, 32 << 20);
  if (cli_zone(facility, &arena, &zone, err) != ERR_OK)
    goto done;
  today = cli_day(zone, cli_now_ms());
  struct people_list list = {.facility = facility, .day = today, .only = -1, .names = r->names};

  if (r->on && !roster_style_read("ISO", r->on, &list.day)) {
    err_write(err, ERR_INPUT, "--on '%.40s' is no day; write it as 2026-12-01", r->on);
    goto done;
  }
  /* A list of another day holds that day's future against a grant, so that it reads the same always. */
  if (cli_people_load(facility, r->suite, r->on ? list.day : today, &p, err) != ERR_OK)
    goto done;
  list.people = p.people;
  list.remarks = &p.remarks;
  if (r->who)
    list.only = people_find(p.people, r->who);
  if (r->who && list.only < 0) {
    err_write(err, ERR_INPUT, "nobody has the id '%.40s'", r->who);
    goto done;
  }
  if (r->json) {
    people_json(&list, &out);
  } else {
    say_remarks(&p, r->names);
    people_text(&list, &out);
  }
  status = cli_show(&out, p.remarks.count > 0 ? 1 : 0);
done:
  if (err->code)
    status = err_exit_status(err->code);
  cli_people_release(&p);
  buf_release(&out);
  arena_release(&arena);
  return status;
}

int cli_people(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  int status = 2;

  if (read_request(argc, argv, &r, &err) == ERR_OK) {
    if (r.help) {
      fputs(help, stdout);
      return 0;
    }
    struct facility *facility = cli_load(r.suite, r.overlays, r.overlay_count, &err);

    if (facility)
      status = show(&r, facility, &err);
    else if (err.code)
      status = err_exit_status(err.code);
    facility_free(facility);
  }
  if (err.text[0])
    fprintf(stderr, "inward people: %s; 'inward people --help' explains\n", err.text);
  return status;
}
