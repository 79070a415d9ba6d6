/* inward air SUITE: the steady air of a scene. */
#include "cli/cli.h"

#include "answer/answer.h"
#include "cli/read.h"

#include <stdio.h>
#include <string.h>
#include <time.h>

enum { CHANGES_MAX = 256 };

static const char help[] =
    "usage: inward air SUITE [--scene NAME] [change ...] [--why STATION] [--with OVERLAY]\n"
    "                  [--us] [--json] [--sure no] [--sample N [--seed S]] [--per-cm]\n\n"
    "The steady air of a suite: what state the shared air is in and why, how many more\n"
    "sashes may open, which to lower first, and every pressure and flow behind it.\n"
    "Without a scene all sashes are parked. Changes go on top, in the order given:\n\n"
    "  --sash S3=0.45m | S3=work | S3=parked    move a sash\n"
    "  --all work | parked                      move every sash\n"
    "  --door D2=open | closed                  a door\n"
    "  --off EF1 | EF1/2 | MU1                  stop a fan, one unit of a group, a make-up unit\n"
    "  --on EF1                                 start it\n"
    "  --cover S3=40%                           cover part of a deck\n"
    "  --shut A5                                close a damper\n"
    "  --unattended S2, --blocked S2            who is there, what stands in the way\n"
    "  --was ample | near-limit | short         the level before, for declared rules\n\n"
    "  --why S3    of one station: the pressure from its room to outdoors, how sure its flow and\n"
    "              its criterion are and by which figures, what one centimetre of its sash is worth\n"
    "  --with F    an overlay file: add, change, remove by id\n"
    "  --sure no   the best estimate only, without its ±\n"
    "  --sample N  N buildings drawn at random, every figure from its ±, each one solved: how\n"
    "              often each keep and criterion is missed, beside what the answer says of it\n"
    "  --seed S    other draws; 1 without it. The same seed gives the same draws\n"
    "  --per-cm    what one centimetre of each raised sash is worth, to keeps and to what is left\n"
    "  --us        cfm, inches of water, fpm\n"
    "  --json      everything, SI, for programs (docs/api.md)\n\n"
    "example: inward air examples/quillmere/suite.yaml --scene busy --sash S2=parked\n";

struct request {
  const char *suite, *scene, *why, *sure;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  const char *verbs[CHANGES_MAX], *arguments[CHANGES_MAX];
  int change_count;
  int sample, seed; /* 0: not asked for */
  bool json, us, help, per_cm;
};

enum { SAMPLE_MAX = 1000000, SEED_MAX = 1000000000, SAMPLE_PIECE = 200, SAMPLE_MOST_S = 60 };

static enum err_code take_change(struct request *r, const char *verb, const char *argument,
                                 struct err *err)
{
  if (r->change_count == CHANGES_MAX)
    return err_set(err, ERR_USAGE, "more than %d changes", CHANGES_MAX);
  r->verbs[r->change_count] = verb;
  r->arguments[r->change_count++] = argument;
  return ERR_OK;
}

static enum err_code take_count(const char *option, const char *value, int most, int *out,
                                struct err *err)
{
  enum err_code code = cli_take_number(option, value, most, out, err);

  return code == ERR_OK && *out == 0 ? err_set(err, ERR_USAGE, "%s is 1 or more", option) : code;
}

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (scene_is_change(option + 2))
    return take_change(r, option + 2, value, err);
  if (strcmp(option, "--scene") == 0)
    r->scene = value;
  else if (strcmp(option, "--why") == 0)
    r->why = value;
  else if (strcmp(option, "--sure") == 0 && (strcmp(value, "yes") == 0 || strcmp(value, "no") == 0))
    r->sure = value;
  else if (strcmp(option, "--sample") == 0)
    return take_count(option, value, SAMPLE_MAX, &r->sample, err);
  else if (strcmp(option, "--seed") == 0)
    return take_count(option, value, SEED_MAX, &r->seed, err);
  else if (strcmp(option, "--sure") == 0)
    return err_set(err, ERR_USAGE, "--sure is yes or no, not '%.40s'", value);
  else
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return ERR_OK;
}

/* What does not go together, or is missing. */
static enum err_code look_over(const struct request *r, struct err *err)
{
  if (r->per_cm && (r->why || r->sure || r->sample > 0))
    return err_set(err, ERR_USAGE, "--per-cm stands alone, without --why, --sure and --sample");
  if (r->sample > 0 && (r->why || r->sure))
    return err_set(err, ERR_USAGE, "--sample stands alone, without --why and --sure");
  if (r->seed > 0 && r->sample == 0)
    return err_set(err, ERR_USAGE, "--seed is for --sample");
  if (!r->suite && !r->help)
    return err_set(err, ERR_USAGE, "which suite? inward air SUITE");
  return ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0) {
      r->json = true;
    } else if (strcmp(argv[i], "--us") == 0) {
      r->us = true;
    } else if (strcmp(argv[i], "--per-cm") == 0) {
      r->per_cm = true;
    } else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
      r->help = true;
    } else if (strncmp(argv[i], "--", 2) == 0) {
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
  return look_over(r, err);
}

static enum err_code make_scene(const struct facility *facility, const struct request *r,
                                struct scene *scene, struct arena *arena, struct err *err)
{
  const struct scene *named = NULL;

  if (r->scene && scene_named(facility, r->scene, &named, err) != ERR_OK)
    return ERR_INPUT;
  *scene = named ? scene_copy(facility, named, arena) : scene_parked(facility, arena);
  for (int i = 0; i < r->change_count; i++) {
    enum err_code code = scene_change(facility, scene, r->verbs[i], r->arguments[i], err);

    if (code != ERR_OK)
      return code;
  }
  return ERR_OK;
}

static bool best_only(const struct request *r)
{
  return r->sure && strcmp(r->sure, "no") == 0;
}

static int print_why(struct air *air, const struct facility *facility, const struct scene *scene,
                     const struct request *r, struct arena *arena, struct buf *out, struct err *err)
{
  struct answer_why why = {facility, scene, facility_station_find(facility, r->why),
                           NULL,     NULL,  NULL};

  if (why.station < 0) {
    err_set(err, ERR_INPUT, "no station '%.40s' in this suite", r->why);
    return 2;
  }
  if (answer_why_of(air, !best_only(r), &why, arena, err) != ERR_OK)
    return err_exit_status(err->code);
  if (r->json)
    answer_why_json(&why, out);
  else
    answer_why_text(&why, r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, out);
  return 0;
}

/* A failed solve leaves a small reproduction beside whoever asked. */
static void leave_reproduction(struct air *air, const struct facility *facility)
{
  char name[64];
  struct buf out;
  bool written;
  FILE *file;

  snprintf(name, sizeof name, "inward-unsolved-%.8s.txt", facility->sha256);
  buf_init(&out, (size_t)16 << 20);
  air_print_problem(air, &out);
  file = fopen(name, "w");
  written = file && fwrite(out.text, 1, out.used, file) == out.used;
  if (file && fclose(file) != 0)
    written = false;
  if (written)
    fprintf(stderr, "the network is in %s: please send it to the makers\n", name);
  else
    fprintf(stderr, "the network could not be written to %s\n", name);
  buf_release(&out);
}

static int print_air(struct air *air, const struct facility *facility, const struct scene *scene,
                     const struct request *r, struct arena *arena, struct buf *out, struct err *err)
{
  struct air_answer *answer =
      air_ask(air, scene, best_only(r) ? &air_settings_default : &air_settings_sure, arena, err);

  if (!answer)
    return err_exit_status(err->code);
  if (r->json)
    answer_air_json(facility, scene, answer, out);
  else
    answer_air_text(facility, scene, answer, r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, out);
  if (!answer->solved) {
    leave_reproduction(air, facility);
    err_set(err, ERR_NO_SOLUTION, "the air could not be solved: %s", answer->report.reason);
    return 3;
  }
  return answer->state == FACILITY_AMPLE || answer->state == FACILITY_NEAR_LIMIT ? 0 : 1;
}

/* Draws in pieces, so that who asked for too many is not left waiting. */
static void draw(struct air_sampler *sampler, long count)
{
  time_t began = time(NULL);

  for (long done = 0; done < count && time(NULL) - began < SAMPLE_MOST_S; done += SAMPLE_PIECE)
    air_sampler_draw(sampler, count - done < SAMPLE_PIECE ? count - done : SAMPLE_PIECE);
}

static int print_sample(struct air *air, const struct facility *facility, const struct scene *scene,
                        const struct request *r, struct arena *arena, struct buf *out,
                        struct err *err)
{
  struct air_answer *answer = air_ask(air, scene, &air_settings_sure, arena, err);
  struct air_sampler *sampler;
  long seed;

  if (!answer)
    return err_exit_status(err->code);
  seed = r->seed > 0 ? r->seed : 1;
  sampler = air_sampler_new(air, scene, (uint64_t)seed, arena, err);
  if (!sampler)
    return err_exit_status(err->code);
  draw(sampler, r->sample);

  const struct answer_sample sample = {.facility = facility,
                                       .scene = scene,
                                       .answer = answer,
                                       .tally = air_sampler_tally(sampler),
                                       .seed = seed,
                                       .asked = r->sample};

  if (r->json)
    answer_sample_json(&sample, out);
  else
    answer_sample_text(&sample, out);
  air_sampler_free(sampler);
  return 0;
}

static int print_per_cm(struct air *air, const struct facility *facility, const struct scene *scene,
                        const struct request *r, struct arena *arena, struct buf *out,
                        struct err *err)
{
  const struct air_per_cm *per_cm = air_per_cm(air, scene, arena, err);

  if (!per_cm)
    return err_exit_status(err->code);
  if (r->json)
    answer_per_cm_json(facility, scene, per_cm, out);
  else
    answer_per_cm_text(facility, scene, per_cm, r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, out);
  return 0;
}

static int answer_request(const struct facility *facility, const struct request *r, struct err *err)
{
  struct arena arena;
  struct scene scene;
  struct buf out;
  struct air *air = NULL;
  int status = 2;

  arena_init(&arena, (size_t)256 << 20);
  buf_init(&out, (size_t)64 << 20);
  if (make_scene(facility, r, &scene, &arena, err) != ERR_OK)
    goto done;
  air = air_new(facility, err);
  if (!air)
    goto done;
  if (r->per_cm)
    status = print_per_cm(air, facility, &scene, r, &arena, &out, err);
  else if (r->sample > 0)
    status = print_sample(air, facility, &scene, r, &arena, &out, err);
  else
    status = r->why ? print_why(air, facility, &scene, r, &arena, &out, err)
                    : print_air(air, facility, &scene, r, &arena, &out, err);
  status = cli_show(&out, status);
done:
  air_free(air);
  buf_release(&out);
  arena_release(&arena);
  return status;
}

int cli_air(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct facility *facility;
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward air: %s; 'inward air --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  facility = cli_load(r.suite, r.overlays, r.overlay_count, &err);
  if (!facility) {
    if (err.text[0])
      fprintf(stderr, "inward air: %s\n", err.text);
    return err.code ? err_exit_status(err.code) : 2;
  }
  status = answer_request(facility, &r, &err);
  if (err.text[0])
    fprintf(stderr, "%s: %s\n", r.suite, err.text);
  facility_free(facility);
  return status;
}
