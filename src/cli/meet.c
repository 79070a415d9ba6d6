/* inward meet A B [C...]: may these stand or be poured together here. */
#include "cli/cli.h"

#include "chem/chem.h"
#include "cli/read.h"
#include "meet/meet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward meet [SUITE.yaml] A B [C...] [--place deck|drawer|waste|storage|shipment]\n"
    "                   [--held X]... [--vessel MATERIAL] [--at TEMPERATURE] [--station S]\n"
    "                   [--with OVERLAY] [--us] [--json]\n\n"
    "May these stand or be poured together here: one sentence for each two of them, the worst first,\n"
    "with the letters of the chart EPA-600/2-80-076, the rules it lacks, and where each is from.\n"
    "The verdicts: never · unknown · only by written procedure · nothing listed: not a clearance.\n\n"
    "  A B C       a substance, bottle or bath: acetone, hf-49, hf@10wt%, piranha, sc-1, bhf; a trace:\n"
    "              resist, rinse-solvent, wipes, water; 'A + B' for what is together already;\n"
    "              group:10 for a reactivity group of EPA-600/2-80-076; unlabelled for a bottle\n"
    "              without a label; a name that no table has is answered as unknown\n"
    "  --place P   adds the rules of that place; shipment alone shows the transport table\n"
    "  --held X    with --place waste: what the container ever held before\n"
    "  --vessel M  glass, quartz, ptfe, pfa, fep, pvdf, pp, hdpe, pvc, stainless, aluminium\n"
    "  --at T      temperature of what is in the vessel: 80degC\n"
    "  --station S  of the suite: what its file says is not to come there, and its procedures\n"
    "  --us, --json  degrees Fahrenheit; everything for programs (docs/api.md)\n\n"
    "Exit: 0 nothing listed, which is no clearance; 1 never, unknown or only by written procedure;\n"
    "2 bad input; 3 could not.\n"
    "example: inward meet piranha acetone wipes --place deck\n";

enum { ARENA_BYTES = 256 << 20 };

struct request {
  struct meet_request meet;
  const char *suite;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool json, us, help;
};

/* A suite is told by its file's ending: nothing that can be poured has one. */
static bool is_suite(const char *text)
{
  size_t length = strlen(text);

  return (length > 5 && strcmp(text + length - 5, ".yaml") == 0) ||
         (length > 4 && strcmp(text + length - 4, ".yml") == 0);
}

static enum err_code take_option(struct request *r, const char *option, const char *value,
                                 struct err *err)
{
  static const char *const known[] = {"--place", "--held",    "--vessel",
                                      "--at",    "--station", "--with"};
  size_t at = 0;

  while (at < sizeof known / sizeof *known && strcmp(known[at], option) != 0)
    at++;
  if (at == sizeof known / sizeof *known)
    return err_set(err, ERR_USAGE,
                   "unknown option '%.40s': --place, --held, --vessel, --at, --station, --with, "
                   "--us, --json",
                   option);
  if (!value)
    return err_set(err, ERR_USAGE, "option '%s' wants a value", option);
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  return meet_take(&r->meet, option + 2, value, err);
}

/* "--place=deck": its value goes with it.  NULL: the value is the next word. */
static const char *split(const char *text, char *option, size_t room)
{
  size_t length = strcspn(text, "=");

  snprintf(option, room, "%.*s", (int)(length < room ? length : room - 1), text);
  return text[length] ? text + length + 1 : NULL;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; i < argc && code == ERR_OK; i++) {
    if (strcmp(argv[i], "--json") == 0) {
      r->json = true;
    } else if (strcmp(argv[i], "--us") == 0) {
      r->us = true;
    } else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
      r->help = true;
    } else if (strncmp(argv[i], "--", 2) == 0) {
      char option[48];
      const char *value = split(argv[i], option, sizeof option);

      if (!value)
        value = ++i < argc ? argv[i] : NULL;
      code = take_option(r, option, value, err);
    } else if (!r->suite && is_suite(argv[i])) {
      r->suite = argv[i];
    } else {
      code = meet_take(&r->meet, "thing", argv[i], err);
    }
  }
  return code;
}

static int show(const struct request *r, const struct chemicals *own, struct err *err)
{
  struct arena arena;
  struct buf out;
  int status = 2;

  arena_init(&arena, ARENA_BYTES);
  buf_init(&out, 8 << 20);
  const struct chem *chem = chem_with(chem_read(&arena), own, &arena);
  const struct meet_facts *facts = meet_read(chem, &arena);
  const struct meet_answer *answer = meet_answer(facts, &r->meet, &arena, err);

  if (answer && r->json)
    meet_json(answer, &out);
  else if (answer)
    meet_text(answer, r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &out);
  status = answer ? cli_show(&out, answer->verdict == MEET_NOTHING_LISTED ? 0 : 1)
                  : err_exit_status(err->code);
  buf_release(&out);
  arena_release(&arena);
  return status;
}

static int answer(struct request *r, struct err *err)
{
  struct facility *facility = NULL;
  struct chemicals *own = NULL;
  int status = 2;

  if (r->suite) {
    facility = cli_load(r->suite, r->overlays, r->overlay_count, err);
    if (!facility || cli_load_chemicals(facility, r->suite, &own, err) != ERR_OK) {
      status = err->code ? err_exit_status(err->code) : 2;
      goto done;
    }
  } else if (r->overlay_count > 0) {
    err_write(err, ERR_USAGE, "--with changes a suite, and none is named");
    goto done;
  }
  r->meet.facility = facility;
  r->meet.own = own;
  status = show(r, own, err);
done:
  chemicals_free(own);
  facility_free(facility);
  return status;
}

int cli_meet(int argc, char **argv)
{
  struct request r = {.meet = {.at_K = NAN}};
  struct err err = {0};
  int status = 2;

  if (read_request(argc, argv, &r, &err) == ERR_OK) {
    if (r.help) {
      fputs(help, stdout);
      return 0;
    }
    status = answer(&r, &err);
  }
  if (err.text[0])
    fprintf(stderr, "inward meet: %s; 'inward meet --help' explains\n", err.text);
  return status;
}
