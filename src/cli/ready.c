/* inward ready: may I start here now, station by station. */
#include "cli/cli.h"

#include "cli/day_site.h"
#include "cli/past_impl.h"
#include "cli/zone.h"
#include "standing/standing.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward ready SUITE [STATION] [--record FILE] [--at T] [--json] [--with OVERLAY]\n\n"
    "What is this place for, and may I start here now? A line a station, the worst reason first; of one\n"
    "station all that is known of it: who took it out of use, what runs or cools, what stands in its tanks,\n"
    "which family is on its deck, open findings, proofs in date, sash, own alarm and shared air. Each with its\n"
    "source, its age, how old it may be, and what to do.\n\n"
    "  NOT READY               something stands against it\n"
    "  NOT KNOWN, TREAT AS NO  something is not known, too old, or contradicts\n"
    "  READY UNDER CONDITIONS  as far as people told and points measured; the conditions stand beside it\n\n"
    "It grants nothing. What the suite asks for (`readiness`, `rounds`) is in docs/suite-file.md.\n\n"
    "  --record F              what people told and points measured; without it all of that is not known\n"
    "  --at T                  of that moment, otherwise now\n"
    "  --json                  everything for programs (docs/api.md)\n\n"
    "Exit: 0 under conditions; 1 not ready, or not known; 2 bad input; 3 could not.\n"
    "example: inward ready suite.yaml A3 --record wet.record\n";

struct asked {
  struct past_request past; /* suite, record, overlays, at, json */
  const char *station;
  bool help;
};

static enum err_code take_value(void *arg, const char *option, const char *value, struct err *err)
{
  struct asked *a = arg;

  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(a->past.overlays, &a->past.overlay_count, value, err);
  if (strcmp(option, "--record") == 0)
    a->past.record = value;
  else if (strcmp(option, "--at") == 0)
    a->past.at = value;
  else
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return ERR_OK;
}

static bool take_flag(void *arg, const char *word)
{
  struct asked *a = arg;

  if (strcmp(word, "--json") == 0)
    a->past.json = true;
  else if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0)
    a->help = true;
  else
    return false;
  return true;
}

static enum err_code take_word(void *arg, const char *word, struct err *err)
{
  struct asked *a = arg;

  if (!a->past.suite)
    a->past.suite = word;
  else if (!a->station)
    a->station = word;
  else
    return err_set(err, ERR_USAGE, "one station at a time; what is '%.40s'?", word);
  return ERR_OK;
}

static enum err_code read_words(int argc, char **argv, struct asked *a, struct err *err)
{
  static const struct cli_words words = {take_flag, take_value, take_word};
  enum err_code code = cli_read_words(argc, argv, &words, a, err);

  if (code == ERR_OK && !a->help && !a->past.suite)
    return err_set(err, ERR_USAGE, "which suite? inward ready SUITE [STATION] --record FILE");
  return code;
}

/* ---- what is asked ---- */

static enum err_code find_station(const struct facility *f, const char *id, int *out,
                                  struct err *err)
{
  const char *near;

  *out = id ? facility_station_find(f, id) : -1;
  if (!id || *out >= 0)
    return ERR_OK;
  near = facility_nearest_id(f, id);
  if (near && facility_station_find(f, near) >= 0)
    return err_set(err, ERR_INPUT, "the suite has no station '%.40s'; did you mean %s?", id, near);
  return err_set(err, ERR_INPUT, "the suite has no station '%.40s'", id);
}

/* The record's values belong to the points of the feeds file, where the suite names one. */
static enum err_code open_record(struct past *past, struct err *err)
{
  const struct past_request *asked = past->asked;

  if (!asked->record)
    return ERR_OK;
  if (past->facility->feeds_file) {
    past->feeds = cli_load_feeds(past->facility, asked->suite, err);
    if (!past->feeds)
      return err->code ? err->code : err_set(err, ERR_INPUT, "the feeds file has faults");
  }
  enum err_code code = record_open(asked->record, RECORD_READ, &past->record, err);

  if (code == ERR_OK)
    code = record_of(past->record, past->facility, err);
  if (code == ERR_OK && past->feeds)
    code = record_bind(past->record, past->facility, past->feeds, past->now_ms, err);
  return code;
}

/* Bookings that cannot be read are told, and the rest is answered. */
static void take_bookings(struct past *past, struct standing_asked *asked,
                          struct day_bookings *list)
{
  const struct cli_day_site site = {.facility = past->facility,
                                    .suite = past->asked->suite,
                                    .feeds = past->feeds,
                                    .zone = past->zone};
  struct err err = {0};

  if (!cli_day_has_bookings(&site))
    return;
  if (cli_day_bookings(&site, asked->t_ms, asked->t_ms + STANDING_AHEAD_MS, &past->arena, list,
                       &err) == ERR_OK)
    asked->bookings = list;
  else
    asked->bookings_why = arena_strdup(&past->arena, err.text);
}

static enum err_code answer(struct past *past, struct processes *processes, int64_t t_ms,
                            struct standing_table **out, struct err *err)
{
  const struct past_place place = past_place_of(past);
  struct standing_asked asked = {.t_ms = t_ms, .clock_ms = past->now_ms, .processes = processes};
  struct day_bookings bookings = {0};
  struct wet_place wet;

  take_bookings(past, &asked, &bookings);
  past->own = cli_lists_chemicals(past->facility, past->asked->suite);
  if (past->own) {
    wet = wet_place_of(past->facility, past->own, past->zone, &past->arena);
    asked.wet = &wet;
  }
  return standing_of_record(&place, &asked, &past->arena, out, err);
}

/* Who writes a station there, the commonest slip, is told where it belongs. */
static enum err_code read_at(const struct past *past, int64_t *t_out_ms, struct err *err)
{
  const char *at = past->asked->at;

  if (at && facility_station_find(past->facility, at) >= 0)
    return err_set(
        err, ERR_INPUT,
        "--at %.40s: that is a station, and --at wants a time; write 'inward ready SUITE "
        "%.40s'",
        at, at);
  return past_moment(past, "--at", at, past->now_ms, t_out_ms, err);
}

static int show(struct past *past, const struct asked *a, struct processes *processes,
                struct err *err)
{
  struct standing_table *table;
  int station;
  int64_t t_ms;

  if (cli_zone(past->facility, &past->arena, &past->zone, err) != ERR_OK ||
      find_station(past->facility, a->station, &station, err) != ERR_OK ||
      read_at(past, &t_ms, err) != ERR_OK)
    return err_exit_status(err->code);
  if (t_ms > past->now_ms)
    return err_exit_status(
        err_set(err, ERR_INPUT, "--at %.40s: that has not come yet", a->past.at));
  if (open_record(past, err) != ERR_OK || answer(past, processes, t_ms, &table, err) != ERR_OK)
    return err_exit_status(err->code);
  if (a->past.json)
    standing_json(table, station, &past->out);
  else
    standing_text(table, station, &past->out);
  return standing_asks_a_person(table, station) ? 1 : 0;
}

static int work(struct past *past, void *arg, struct err *err)
{
  struct processes *processes = cli_lists_processes(past->facility, past->asked->suite);
  int status = show(past, arg, processes, err);

  record_close(past->record);
  processes_free(processes);
  return status;
}

int cli_ready(int argc, char **argv)
{
  struct asked a = {0};
  struct err err = {0};

  if (read_words(argc, argv, &a, &err) != ERR_OK) {
    fprintf(stderr, "inward ready: %s; 'inward ready --help' explains\n", err.text);
    return 2;
  }
  if (a.help) {
    fputs(help, stdout);
    return 0;
  }
  return past_verb("ready", &a.past, work, &a);
}
