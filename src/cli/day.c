/* inward day SUITE: will the air last today? */
#include "cli/cli.h"

#include "cli/day_plan.h"
#include "cli/day_site.h"
#include "cli/write.h"
#include "cli/zone.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward day SUITE [--date DAY] [--bookings FILE]... [--record FILE] [--move ID=10:30]\n"
    "                  [--plan [--seconds N]] [--write FILE.ics|FILE.csv] [--names] [--with OVERLAY]\n"
    "                  [--weeks N [--groups G] [--seed N]] [--json]\n\n"
    "Will the air last today? Which quarter hours are busy, how likely the air runs short in them by the\n"
    "real model, what does not fit together, who could be the second person, and the one booking to move.\n"
    "It is not a place to book.\n\n"
    "  --date DAY      2026-12-01; today unless given\n"
    "  --bookings FILE a calendar (.ics), a table (.csv), or a folder of them; may be given again. Without it\n"
    "                  the folder that the suite's 'day' names, else that of the feeds file's calendar\n"
    "  --columns LIST  of a table: \"station=Where,start=From,end=To,who=Person,family=Chemistry,id=No\"\n"
    "  --pattern P     of a table's times: \"DD.MM.YYYY hh:mm\"; ISO unless given\n"
    "  --record FILE   what people did before: arrivals, overrun, no-shows, openings, like days\n"
    "  --move ID=10:30 a trial: that booking of the day then instead\n"
    "  --plan          a whole schedule on top: as few and as short moves as can be with air for all of it, by\n"
    "                  CBC, checked by the real model; --seconds N: stop after so long, 30 unless given\n"
    "  --weeks N       beyond the day: N weeks drawn by chance from the week of that date, now and with\n"
    "                  --groups G more groups: which hour needs more air first; --seed N for others\n"
    "  --write FILE    the day's bookings as a calendar or a table, by the ending; with --move or --plan as moved\n"
    "  --names         who and what, too: off by default\n"
    "  --with OVERLAY, --json\n\n"
    "Exit: 0 no quarter hour is likely short; 1 one is, or a conflict, or not known; 2 bad input, in which\n"
    "case the rest is answered all the same where it can be; 3 could not.\n"
    "example: inward day examples/quillmere/suite.yaml --date 2026-12-01\n";

struct request {
  struct cli_day_site site;
  struct cli_day_asked asked;
  const char *write;
  int seconds, weeks, groups, seed;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool json, plan, help;
};

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  const struct {
    const char *option, **place;
  } options[] = {{"--date", &r->asked.date},      {"--move", &r->asked.move},
                 {"--record", &r->site.record},   {"--columns", &r->site.columns},
                 {"--pattern", &r->site.pattern}, {"--write", &r->write}};

  const struct {
    const char *option;
    int most, *place;
  } counts[] = {{"--seconds", 86400, &r->seconds},
                {"--weeks", DAY_WEEKS_MOST, &r->weeks},
                {"--groups", 1000, &r->groups},
                {"--seed", 1000000000, &r->seed}};

  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  for (size_t i = 0; i < sizeof counts / sizeof *counts; i++)
    if (strcmp(option, counts[i].option) == 0)
      return cli_take_number(option, value, counts[i].most, counts[i].place, err);
  if (strcmp(option, "--bookings") == 0) {
    if (r->site.given_count == CLI_DAY_FILES_MOST)
      return err_set(err, ERR_USAGE, "at most %d --bookings", CLI_DAY_FILES_MOST);
    r->site.given[r->site.given_count++] = value;
    return ERR_OK;
  }
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
    const char *word = argv[i];
    enum err_code code = ERR_OK;

    if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0)
      r->help = true;
    else if (strcmp(word, "--json") == 0)
      r->json = true;
    else if (strcmp(word, "--plan") == 0)
      r->plan = true;
    else if (strcmp(word, "--names") == 0)
      r->asked.names = true;
    else if (word[0] != '-' && !r->site.suite)
      r->site.suite = word;
    else if (word[0] != '-')
      code = err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", word);
    else if (i + 1 == argc)
      code = err_set(err, ERR_USAGE, "option '%.40s' wants a value", word);
    else
      code = take_value(r, word, argv[++i], err);
    if (code != ERR_OK)
      return code;
  }
  if (!r->site.suite && !r->help)
    return err_set(err, ERR_USAGE, "which suite? inward day SUITE");
  return ERR_OK;
}

static enum err_code write_bookings(const struct request *r, const struct cli_day *day,
                                    struct err *err)
{
  size_t length = strlen(r->write);
  struct buf out;

  buf_init(&out, 64 << 20);
  if (length > 4 && strcmp(r->write + length - 4, ".ics") == 0)
    day_write_calendar(r->site.facility, &day->answer->day, r->asked.names, cli_now_ms(), &out);
  else
    day_write_table(r->site.facility, r->site.zone, &day->answer->day, r->asked.names, &out);
  enum err_code code = out.full ? err_set(err, ERR_LIMIT, "more bookings than are written")
                                : cli_write_file(r->write, out.text, out.used, false, err);

  buf_release(&out);
  return code;
}

/* A twentieth: further looking is worth less than asking people (common practice, no source). */
static const double gap_ratio = 0.05;

static enum err_code make_plan(const struct request *r, struct cli_day *day, struct day_plan *plan,
                               struct err *err)
{
  double gap = gap_ratio;
  const struct day_plan_job job = {
      .solve = cli_day_solve, .arg = &gap, .seconds_s = r->seconds > 0 ? r->seconds : 30};

  return day_plan(day->answer, &job, &day->arena, plan, err);
}

/* For --write: as planned; what found no place stays where it was. */
static void move_as_planned(struct day_bookings *list, const struct day_plan *plan)
{
  for (int i = 0; plan->found && i < list->count; i++) {
    struct day_booking *b = &list->list[i];

    if (plan->start_ms[i] == INT64_MIN)
      continue;
    b->end_ms += plan->start_ms[i] - b->start_ms;
    b->start_ms = plan->start_ms[i];
  }
}

static int show(const struct request *r, const struct cli_day *day, const struct day_plan *plan)
{
  struct buf out;

  buf_init(&out, 64 << 20);
  fputs(day->faults.text, stderr);
  if (r->json)
    day_json(day->answer, &day->said, plan, r->asked.names, &out);
  else
    day_text(day->answer, &day->said, r->asked.names, &out);
  if (plan && !r->json)
    day_plan_text(day->answer, plan, &out);
  int status = cli_show(&out, day->said.fault_count > 0       ? 2
                              : day_needs_person(day->answer) ? 1
                                                              : 0);

  buf_release(&out);
  return status;
}

static int show_weeks(const struct request *r, struct cli_day *day, struct err *err)
{
  const struct day_weeks_job job = {.facility = r->site.facility,
                                    .zone = r->site.zone,
                                    .air = r->site.air,
                                    .bookings = &day->bookings,
                                    .habits = &day->habits,
                                    .monday_ms = day->monday_ms,
                                    .week_count = r->weeks,
                                    .group_count = r->groups,
                                    .seed = (uint64_t)r->seed};
  struct day_weeks weeks;
  struct buf out;

  if (day_weeks_ask(&job, &day->arena, &weeks, err) != ERR_OK)
    return err_exit_status(err->code);
  fputs(day->faults.text, stderr);
  buf_init(&out, 16 << 20);
  if (r->json)
    day_weeks_json(&job, &weeks, &out);
  else
    day_weeks_text(&job, &weeks, &out);
  int status = cli_show(&out, day->said.fault_count > 0 ? 2 : weeks.worst >= 0 ? 1 : 0);

  buf_release(&out);
  return status;
}

static int answer_weeks(struct request *r, struct err *err)
{
  struct cli_day day = {0};
  int status = 2;

  r->asked.weeks = true;
  if (cli_day_open(&r->site, err) == ERR_OK) {
    if (cli_day_ask(&r->site, &r->asked, &day, err) == ERR_OK)
      status = show_weeks(r, &day, err);
    else if (day.faults.text)
      fputs(day.faults.text, stderr);
    cli_day_release(&day);
  }
  cli_day_close(&r->site);
  return err->code ? err_exit_status(err->code) : status;
}

static int answer(struct request *r, struct err *err)
{
  struct cli_day day = {0};
  int status = 2;

  if (r->weeks > 0)
    return answer_weeks(r, err);
  if (cli_day_open(&r->site, err) == ERR_OK) {
    struct day_plan plan = {0};

    if (cli_day_ask(&r->site, &r->asked, &day, err) == ERR_OK &&
        (!r->plan || make_plan(r, &day, &plan, err) == ERR_OK)) {
      status = show(r, &day, r->plan ? &plan : NULL);
      move_as_planned(&day.answer->day, &plan);
    }
    if (!err->code && r->write && day.answer)
      (void)write_bookings(r, &day, err);
    if (err->code && day.faults.text)
      fputs(day.faults.text, stderr);
    cli_day_release(&day);
  }
  cli_day_close(&r->site);
  return err->code ? err_exit_status(err->code) : status;
}

int cli_the_day(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  int status = 2;

  if (read_request(argc, argv, &r, &err) == ERR_OK) {
    if (r.help) {
      fputs(help, stdout);
      return 0;
    }
    struct facility *facility = cli_load(r.site.suite, r.overlays, r.overlay_count, &err);

    r.site.facility = facility;
    status = facility ? answer(&r, &err) : err.code ? err_exit_status(err.code) : 2;
    facility_free(facility);
  }
  if (err.text[0])
    fprintf(stderr, "inward day: %s\n", err.text);
  return status;
}
