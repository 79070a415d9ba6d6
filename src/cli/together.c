/* inward together SUITE: which stations may work together. */
#include "cli/cli.h"

#include "cli/together_impl.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward together SUITE [--stations A1,S3,...] [--scene NAME] [change ...] [--lost no]\n"
    "                       [--with OVERLAY] [--json]\n"
    "       inward together SUITE --add OVERLAY [--use S9=30%]... [--record FILE] [--together 20%]\n\n"
    "Which stations may be open to work at the same time so that nothing is missed: in words for a\n"
    "wall, the largest sets, the tightest, the smallest that break something and what. Every set of\n"
    "at most 24 stations is judged by the exact laws. Then the same with each fan, make-up unit and\n"
    "door lost in turn.\n\n"
    "  --stations   these only; the others stay as the scene has them (all parked without one).\n"
    "               Without it: every station that may be raised\n"
    "  --scene, --off EF1, --door D2=open, ...   the state of the plant: 'inward air --help'\n"
    "  --lost no    without the parts lost in turn\n"
    "  --with F     an overlay file: add, change, remove by id\n"
    "  --json       everything, SI, for programs (docs/api.md)\n\n"
    "With --add, one station more: the overlay adds it; how probable near limit and short are by hour\n"
    "of week, before and after, each station by itself, all by a common cause, and as recorded days were.\n"
    "  --use U      share of the time at work: S9=30%, \"S9=60% Mon-Fri 13-17\"; all=20% for what neither\n"
    "               the record nor a --use of its own tells\n"
    "  --record F   what the record tells of use, and the days that were like it: as many days before\n"
    "  --until DAY  (now unless given) as the suite's 'day: back' says\n"
    "  --together P the correlation of those at work; the suite's 'day: together' unless given\n\n"
    "Exit: 0 answered; 1 none may be open, or not known; 2 bad input; 3 could not.\n"
    "On paper: inward print together SUITE; inward print failure SUITE [UNIT | all]\n"
    "example: inward together examples/quillmere/suite.yaml --off AF/2 --lost no\n"
    "         inward together suite.yaml --add new-hood.yaml --use all=20% --use \"S6=50% Tue 13-17\"\n";

struct request {
  struct cli_together_add asked; /* what both ways of asking share */
  const char *stations, *lost, *add;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool help;
};

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (scene_is_change(option + 2)) {
    if (r->asked.change_count == CLI_CHANGES_MOST)
      return err_set(err, ERR_USAGE, "more than %d changes", CLI_CHANGES_MOST);
    r->asked.verbs[r->asked.change_count] = option + 2;
    r->asked.arguments[r->asked.change_count++] = value;
    return ERR_OK;
  }
  if (strcmp(option, "--use") == 0) {
    if (r->asked.use_count == CLI_USES_MOST)
      return err_set(err, ERR_USAGE, "more than %d --use", CLI_USES_MOST);
    r->asked.uses[r->asked.use_count++] = value;
    return ERR_OK;
  }
  if (strcmp(option, "--lost") == 0 && strcmp(value, "yes") != 0 && strcmp(value, "no") != 0)
    return err_set(err, ERR_USAGE, "--lost is yes or no, not '%.40s'", value);

  const struct {
    const char *option, **place;
  } options[] = {{"--scene", &r->asked.scene},   {"--stations", &r->stations},
                 {"--lost", &r->lost},           {"--add", &r->add},
                 {"--record", &r->asked.record}, {"--together", &r->asked.together},
                 {"--until", &r->asked.until}};

  for (size_t i = 0; i < sizeof options / sizeof *options; i++)
    if (strcmp(option, options[i].option) == 0) {
      *options[i].place = value;
      return ERR_OK;
    }
  return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0) {
      r->asked.json = true;
    } else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
      r->help = true;
    } else if (strncmp(argv[i], "--", 2) == 0) {
      if (i + 1 == argc)
        return err_set(err, ERR_USAGE, "option '%.40s' wants a value", argv[i]);
      enum err_code code = take_value(r, argv[i], argv[i + 1], err);

      if (code != ERR_OK)
        return code;
      i++;
    } else if (!r->asked.suite) {
      r->asked.suite = argv[i];
    } else {
      return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", argv[i]);
    }
  }
  if (!r->asked.suite && !r->help)
    return err_set(err, ERR_USAGE, "which suite? inward together SUITE");
  if (!r->add && (r->asked.use_count > 0 || r->asked.record || r->asked.together || r->asked.until))
    return err_set(err, ERR_USAGE, "--use, --record, --until and --together go with --add OVERLAY");
  if (r->add && (r->stations || r->lost))
    return err_set(err, ERR_USAGE, "--add asks about all stations, without parts lost");
  return ERR_OK;
}

enum err_code cli_together_scene(const struct facility *facility,
                                 const struct cli_together_add *asked, struct scene *scene,
                                 struct arena *arena, struct err *err)
{
  const struct scene *named = NULL;

  if (asked->scene && scene_named(facility, asked->scene, &named, err) != ERR_OK)
    return ERR_INPUT;
  *scene = named ? scene_copy(facility, named, arena) : scene_parked(facility, arena);
  for (int i = 0; i < asked->change_count; i++) {
    enum err_code code = scene_change(facility, scene, asked->verbs[i], asked->arguments[i], err);

    if (code != ERR_OK)
      return code;
  }
  return ERR_OK;
}

static int answer_request(const struct facility *facility, const struct request *r, struct err *err)
{
  struct arena arena;
  struct scene scene;
  struct buf out;
  int stations[AIR_SETS_MAX], status = 2;
  struct together_request request = {
      .scene = &scene, .stations = stations, .lost = !r->lost || strcmp(r->lost, "no") != 0};
  struct together_answer *answer;

  arena_init(&arena, TOGETHER_WORK_MAX_BYTES);
  buf_init(&out, (size_t)64 << 20);
  if (cli_together_scene(facility, &r->asked, &scene, &arena, err) != ERR_OK)
    goto done;
  if (r->stations) {
    request.station_count = together_stations(facility, r->stations, stations, err);
    if (request.station_count < 0)
      goto done;
  }
  answer = together_ask(facility, &request, &arena, err);
  if (!answer) {
    status = err_exit_status(err->code);
    goto done;
  }
  if (r->asked.json)
    together_json(answer, &out);
  else
    together_text(answer, &out);
  status = cli_show(&out, answer->sets.known && !answer->sets.nothing ? 0 : 1);
done:
  buf_release(&out);
  arena_release(&arena);
  return status;
}

/* The suite once more, with what is added. */
static int answer_added(struct facility *before, struct request *r, struct err *err)
{
  struct arena arena;
  struct buf out;
  struct facility *after;
  int status;

  if (cli_take_overlay(r->overlays, &r->overlay_count, r->add, err) != ERR_OK)
    return err_exit_status(err->code);
  after = cli_load(r->asked.suite, r->overlays, r->overlay_count, err);
  if (!after)
    return err->code ? err_exit_status(err->code) : 2;
  arena_init(&arena, TOGETHER_WORK_MAX_BYTES);
  buf_init(&out, (size_t)64 << 20);
  status = cli_together_add(&r->asked, before, after, &arena, &out, err) == ERR_OK
               ? cli_show(&out, 0)
               : err_exit_status(err->code);
  buf_release(&out);
  arena_release(&arena);
  facility_free(after);
  return status;
}

int cli_together(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct facility *facility;
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward together: %s; 'inward together --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  facility = cli_load(r.asked.suite, r.overlays, r.overlay_count, &err);
  if (!facility) {
    if (err.text[0])
      fprintf(stderr, "inward together: %s\n", err.text);
    return err.code ? err_exit_status(err.code) : 2;
  }
  status = r.add ? answer_added(facility, &r, &err) : answer_request(facility, &r, &err);
  if (err.text[0])
    fprintf(stderr, "%s: %s\n", r.asked.suite, err.text);
  facility_free(facility);
  return status;
}
