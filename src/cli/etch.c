/* inward etch FILM --in BATH --depth D: how long, what else it takes, how long the bath lasts. */
#include "cli/cli.h"

#include "cli/read.h"
#include "cli/write.h"
#include "etch/etch.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward etch [SUITE.yaml] FILM --in BATH --depth 500nm [--over 20%] [--at 80degC] [--strength 30wt%]\n"
    "                   [--spread-film 5%] [--spread-rate 5%] [--rate 95nm/min [--rate-at 21degC]]\n"
    "                   [--under FILM] [--others FILM ...] [--mask FILM [--mask-thickness 1um]]\n"
    "                   [--opening 100um] [--thickness 525um] [-o section.svg [--replace]]\n"
    "                   [--wafers 25 --wafer 150mm [--sides 2] [--open 100%] [--volume 10L]]\n"
    "                   [--fall 10%] [--batches 40] [--life 8h] [--with OVERLAY] [--us] [--json]\n"
    "       inward etch --list [--json]\n\n"
    "How long a film must etch by published rates, source beside source; what the layers below and "
    "beside it\nlose; undercut, and the shape in silicon; how long the bath lasts. A sanity check, not an "
    "instruction.\n\n"
    "  --in B           a bath by its id, or its parts: \"10 water + 1 hf-49\", \"koh@30wt%\"; never a "
    "bare\n                   ratio: laboratories write it in both orders\n"
    "  --over F         over-etch, of the time to clear\n"
    "  --spread-film S  how unlike the film's thickness is, either way; --spread-rate the same of the "
    "rate\n"
    "  --rate R         measured here: goes before all that is printed, which stays beside it\n"
    "  --under F        the layer below, open once the film is gone; --others are open from the start\n"
    "  --opening W      in the mask: whether a groove in silicon ends by itself before the depth\n"
    "  -o FILE.svg      the cross-section, to scale\n"
    "  --fall F         how far what etches may fall before the bath is changed; --batches and --life "
    "the same\n                   by count and by hours\n"
    "  --us             temperatures in degF; thicknesses and rates stay metric\n"
    "  --list           films, baths, and what is listed in which\n\n"
    "A suite's own measured rates and bottles (its chemicals file) go before the tables.\n\n"
    "Exit: 0 answered; 1 not known, or shape or mask do not allow it; 2 bad input; 3 could not.\n"
    "example: inward etch oxide-thermal --in bhf-5 --depth 500nm --over 20% --spread-film 5% "
    "--spread-rate 10% \\\n           --under si-100 --mask resist-s1822\n";

struct request {
  struct etch_request etch;
  const char *suite, *out_path;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool json, us, help, list, replace;
};

/* An option without a value. */
static bool take_flag(struct request *r, const char *option)
{
  bool *flag = strcmp(option, "--json") == 0      ? &r->json
               : strcmp(option, "--us") == 0      ? &r->us
               : strcmp(option, "--help") == 0    ? &r->help
               : strcmp(option, "-h") == 0        ? &r->help
               : strcmp(option, "--list") == 0    ? &r->list
               : strcmp(option, "--replace") == 0 ? &r->replace
                                                  : NULL;

  if (flag)
    *flag = true;
  return flag != NULL;
}

static enum err_code take_option(struct request *r, const char *option, const char *value,
                                 struct err *err)
{
  size_t length = strlen(value);

  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strncmp(option, "--", 2) == 0)
    return etch_take(&r->etch, option + 2, value, err);
  if (strcmp(option, "-o") != 0)
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  if (length < 5 || strcmp(value + length - 4, ".svg") != 0)
    return err_set(err, ERR_USAGE, "-o: the drawing is an SVG; name it so, as section.svg");
  r->out_path = value;
  return ERR_OK;
}

static bool is_option(const char *word)
{
  return strcmp(word, "--with") == 0 || strcmp(word, "-o") == 0 ||
         (strncmp(word, "--", 2) == 0 && etch_has_key(word + 2));
}

/* A film has no full stop in its name; a suite is a file. */
static bool is_suite(const char *word)
{
  size_t length = strlen(word);

  return (length > 5 && strcmp(word + length - 5, ".yaml") == 0) ||
         (length > 4 && strcmp(word + length - 4, ".yml") == 0);
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; i < argc && code == ERR_OK; i++) {
    if (take_flag(r, argv[i]))
      continue;
    if (argv[i][0] != '-' && !r->suite && is_suite(argv[i])) {
      r->suite = argv[i];
      continue;
    }
    if (argv[i][0] != '-') {
      code = etch_take(&r->etch, "film", argv[i], err);
      continue;
    }
    if (i + 1 == argc && is_option(argv[i]))
      return err_set(err, ERR_USAGE, "option '%.40s' wants a value", argv[i]);
    bool others = strcmp(argv[i], "--others") == 0;

    code = take_option(r, argv[i], i + 1 < argc ? argv[i + 1] : "", err);
    i++;
    while (others && code == ERR_OK && i + 1 < argc && argv[i + 1][0] != '-')
      code = etch_take(&r->etch, "others", argv[++i], err);
  }
  return code;
}

static enum err_code draw(const struct request *r, const struct etch_answer *answer,
                          struct err *err)
{
  struct buf svg;
  enum err_code code;

  buf_init(&svg, 1 << 20);
  code = etch_drawing(answer, &svg, err);
  if (code == ERR_OK)
    code = cli_write_file(r->out_path, svg.text, svg.used, r->replace, err);
  buf_release(&svg);
  return code;
}

static int answer_it(struct request *r, struct arena *arena, struct buf *out, struct err *err)
{
  const struct chem *chem = chem_with(chem_read(arena), r->etch.own, arena);
  r->etch.system = r->us && !r->json ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI;

  const struct etch_answer *answer = etch_answer(chem, &r->etch, arena, err);

  if (!answer)
    return err_exit_status(err->code);
  if (r->out_path && draw(r, answer, err) != ERR_OK)
    return err_exit_status(err->code);
  if (r->json)
    etch_json(answer, out);
  else
    etch_text(answer, out);
  return cli_show(out, etch_exit_status(answer));
}

static int run(struct request *r, struct err *err)
{
  struct arena arena;
  struct buf out;
  int status;

  arena_init(&arena, (size_t)64 << 20);
  buf_init(&out, 1 << 20);
  if (r->list) {
    (r->json ? etch_list_json : etch_list)(chem_read(&arena), &out);
    status = cli_show(&out, 0);
  } else {
    status = answer_it(r, &arena, &out, err);
  }
  buf_release(&out);
  arena_release(&arena);
  return status;
}

/* With what the suite says of its own chemistry in front of the tables. */
static int run_for_suite(struct request *r, struct err *err)
{
  struct facility *facility = cli_load(r->suite, r->overlays, r->overlay_count, err);
  struct chemicals *own = NULL;
  int status = 2;

  if (!facility)
    return err->code ? err_exit_status(err->code) : 2;
  if (cli_load_chemicals(facility, r->suite, &own, err) == ERR_OK) {
    r->etch.facility = facility;
    r->etch.own = own;
    status = run(r, err);
  } else {
    status = err_exit_status(err->code);
  }
  chemicals_free(own);
  facility_free(facility);
  return status;
}

int cli_etch(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward etch: %s\n", err.text);
    return err_exit_status(err.code);
  }
  if (r.help || argc == 0) {
    fputs(help, r.help ? stdout : stderr);
    return r.help ? 0 : 2;
  }
  status = r.suite ? run_for_suite(&r, &err) : run(&r, &err);
  if (err.text[0])
    fprintf(stderr, "inward etch: %s\n", err.text);
  return status;
}
