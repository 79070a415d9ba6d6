/* inward vapour [SUITE] --of LIQUID --from WHAT: what reaches duct, room and person. */
#include "cli/cli.h"

#include "chem/chem.h"
#include "cli/read.h"
#include "vapour/vapour.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward vapour [SUITE] --of LIQUID [--of LIQUID ... --by mass|volume]\n"
    "                     --from beaker|bath|deck-spill|floor-spill --station ID | --room ID\n"
    "                     [--diameter 100mm | --area 0.01m2] [--freeboard 30mm] [--volume 1L]\n"
    "                     [--at 22degC] [--mixing 0.3..1] [--speed 0.1..0.5m/s] [--scene NAME]\n"
    "                     [--sash S3=work] [--with OVERLAY] [--us] [--json]\n\n"
    "What of a liquid reaches duct, room and person: as the air is now, with the sash parked, and\n"
    "with the fans of its main standing, with this station's own airflow. Bands by published\n"
    "correlations; one-sided against limits: never that one is kept. What boils, bubbles, fumes or\n"
    "reacts gets no figure. Also spelled vapor.\n\n"
    "  --of L        acetone, hf@49wt%, a bottle (hcl-37); with a share when several: acetone:0.7\n"
    "  --from W      a spill takes its area from --volume unless you measured it\n"
    "  --at T        of the liquid; else as warm as the room\n"
    "  --mixing A..B share of the fresh air that dilutes; else as the tables say\n"
    "  --sash, --door, --off ... change the scene as for 'inward air'\n"
    "  --us, --json  cfm, fpm and degF, the rest metric; everything for programs (docs/api.md)\n\n"
    "Without a suite: evaporation only. Exit: 0 figures, and nothing is or may be exceeded; 1 it is,\n"
    "may be, is not known, is ignitable above the liquid, is not to come to that station, or no figure\n"
    "is given; 2 bad input; 3 could not.\n"
    "example: inward vapour examples/quillmere/suite.yaml --of acetone --from beaker "
    "--diameter 100mm --station S3 --scene busy\n";

struct request {
  const char *suite;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  struct vapour_request vapour;
  bool json, us, help;
};

static bool take_flag(void *arg, const char *word)
{
  struct request *r = arg;
  bool *flag = strcmp(word, "--json") == 0                              ? &r->json
               : strcmp(word, "--us") == 0                              ? &r->us
               : strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0 ? &r->help
                                                                        : NULL;

  if (flag)
    *flag = true;
  return flag != NULL;
}

static enum err_code take_word(void *arg, const char *word, struct err *err)
{
  struct request *r = arg;

  if (r->suite)
    return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", word);
  r->suite = word;
  return ERR_OK;
}

static enum err_code take_option(void *arg, const char *option, const char *value, struct err *err)
{
  struct request *r = arg;

  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strncmp(option, "--", 2) != 0)
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return vapour_take(&r->vapour, option + 2, value, err);
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  static const struct cli_words words = {take_flag, take_option, take_word};

  return cli_read_words(argc, argv, &words, r, err);
}

static int show(struct request *r, const struct chemicals *own, struct err *err)
{
  struct arena arena;
  struct buf out;
  const struct vapour_answer *answer;
  int status;

  arena_init(&arena, (size_t)1 << 30);
  buf_init(&out, 8 << 20);
  r->vapour.chem = chem_with(chem_read(&arena), own, &arena);
  r->vapour.own = own;
  answer = vapour_answer(&r->vapour, &arena, err);
  if (!answer) {
    status = err_exit_status(err->code);
  } else {
    if (r->json)
      vapour_json(answer, &out);
    else
      vapour_text(answer, r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &out);
    status = cli_show(&out, vapour_is_no(answer) ? 1 : 0);
  }
  buf_release(&out);
  arena_release(&arena);
  return status;
}

int cli_vapour(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct facility *facility = NULL;
  struct chemicals *own = NULL;
  int status = 2;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward vapour: %s; 'inward vapour --help' explains\n", err.text);
    return 2;
  }
  if (r.help || argc == 0) {
    fputs(help, r.help ? stdout : stderr);
    return r.help ? 0 : 2;
  }
  if (r.suite) {
    facility = cli_load(r.suite, r.overlays, r.overlay_count, &err);
    r.vapour.facility = facility;
    if (!facility || cli_load_chemicals(facility, r.suite, &own, &err) != ERR_OK)
      status = err.code ? err_exit_status(err.code) : 2;
  }
  if (!r.suite || (facility && !err.code))
    status = show(&r, own, &err);
  if (err.text[0])
    fprintf(stderr, "inward vapour: %s\n", err.text);
  chemicals_free(own);
  facility_free(facility);
  return status;
}
