/* inward past SUITE --record FILE ...: ask the record, add to it, verify and copy it. */
#include "cli/cli.h"

#include "cli/past_impl.h"
#include "cli/zone.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* clang-format off */
static const struct past_act acts[] = {
    {"--entries", false, false, RECORD_READ, past_entries, RECORD_EVENT, NULL},
    {"--timeline", true, true, RECORD_READ, past_timeline, RECORD_EVENT, past_timeline_check},
    {"--plot", true, true, RECORD_READ, past_plot, RECORD_EVENT, past_plot_check},
    {"--why", true, true, RECORD_READ, past_why, RECORD_EVENT, past_why_check},
    {"--replay", false, true, RECORD_READ, past_replay, RECORD_EVENT, past_span_check},
    {"--night", false, true, RECORD_READ, past_night, RECORD_EVENT, past_night_check},
    {"--leave", false, true, RECORD_READ, past_list, RECORD_EVENT, past_list_check},
    {"--responder", false, true, RECORD_READ, past_list, RECORD_EVENT, past_list_check},
    {"--restart", false, true, RECORD_READ, past_list, RECORD_EVENT, past_list_check},
    {"--handover", true, true, RECORD_READ, past_list, RECORD_EVENT, past_list_check},
    {"--alarms", false, true, RECORD_READ, past_alarms, RECORD_EVENT, past_span_check},
    {"--matches", false, false, RECORD_READ, past_matches, RECORD_EVENT, NULL},
    {"--verify", false, false, RECORD_READ, past_verify, RECORD_EVENT, NULL},
    {"--backup", true, false, RECORD_READ, past_backup, RECORD_EVENT, NULL},
    {"--note", true, false, RECORD_WRITE, past_write, RECORD_NOTE, past_write_check},
    {"--acknowledge", true, false, RECORD_WRITE, past_write, RECORD_ACKNOWLEDGED, past_write_check},
    {"--withdraw", true, false, RECORD_WRITE, past_write, RECORD_WITHDRAWN, past_write_check},
    {"--release", true, false, RECORD_WRITE, past_write, RECORD_RELEASED, past_write_check},
    {"--round", true, false, RECORD_WRITE, past_write, RECORD_ROUND, past_write_check},
    {"--incident", true, false, RECORD_WRITE, past_incident, RECORD_INCIDENT, past_incident_check},
    {"--sheet", true, false, RECORD_READ, past_sheet, RECORD_EVENT, past_sheet_check},
    {"--confirm", true, true, RECORD_WRITE, past_finding, RECORD_CONFIRMED, past_finding_check},
    {"--refute", true, true, RECORD_WRITE, past_finding, RECORD_REFUTED, past_finding_check},
    {"--stopped", true, false, RECORD_WRITE, past_stopped, RECORD_STOPPED, past_stopped_check},
    {"--reentry", true, true, RECORD_WRITE, past_reentry, RECORD_RELEASED, past_reentry_check},
    {"--restarted", true, true, RECORD_WRITE, past_restarted, RECORD_RELEASED, past_restarted_check},
};
/* clang-format on */

/* ---- the command line ---- */

static const struct past_act *act_of(const char *option)
{
  for (size_t i = 0; i < sizeof acts / sizeof acts[0]; i++)
    if (strcmp(option, acts[i].option) == 0)
      return &acts[i];
  return NULL;
}

static const char **place_of(struct past_request *r, const char *option)
{
  const struct {
    const char *option, **place;
  } options[] = {{"--record", &r->record},     {"--about", &r->about},
                 {"--who", &r->who},           {"--kind", &r->kind},
                 {"--head", &r->head},         {"--at", &r->at},
                 {"--from", &r->from},         {"--to", &r->to},
                 {"--as-of", &r->as_of},       {"--most", &r->most},
                 {"--measured", &r->measured}, {"--is", &r->is},
                 {"--adds-to", &r->adds_to}};

  for (size_t i = 0; i < sizeof options / sizeof options[0]; i++)
    if (strcmp(option, options[i].option) == 0)
      return options[i].place;
  return NULL;
}

static enum err_code take_act(struct past_request *r, const struct past_act *act, struct err *err)
{
  if (r->act && r->act != act)
    return err_set(err, ERR_USAGE, "one act at a time: %s or %s?", r->act->option, act->option);
  r->act = act;
  return ERR_OK;
}

static enum err_code take_value(struct past_request *r, const char *option, const char *value,
                                struct err *err)
{
  const struct past_act *act = act_of(option);
  const char **place = place_of(r, option);

  if (act) {
    r->value = value;
    return take_act(r, act, err);
  }
  if (strcmp(option, "--field") == 0) {
    if (r->field_count == PAST_FIELDS_MOST)
      return err_set(err, ERR_USAGE, "more than %d fields", PAST_FIELDS_MOST);
    r->fields[r->field_count++] = value;
    return ERR_OK;
  }
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (!place)
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  *place = value;
  return ERR_OK;
}

/* A day may follow --night, or the suite. */
static bool is_value(const struct past_request *r, const char *word)
{
  return word[0] != '-' && (r->suite || (word[0] >= '0' && word[0] <= '9'));
}

static enum err_code take_argument(struct past_request *r, int argc, char **argv, int *at,
                                   struct err *err)
{
  const char *word = argv[*at];
  const struct past_act *act = act_of(word);

  if (strcmp(word, "--json") == 0) {
    r->json = true;
    return ERR_OK;
  }
  if (act && act->run == past_night && *at + 1 < argc && is_value(r, argv[*at + 1]))
    r->value = argv[++*at];
  if (act && !act->has_value)
    return take_act(r, act, err);
  if (word[0] == '-') {
    if (*at + 1 == argc)
      return err_set(err, ERR_USAGE, "option '%.40s' wants a value", word);
    return take_value(r, word, argv[++*at], err);
  }
  if (r->suite)
    return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", word);
  r->suite = word;
  return ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct past_request *r, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; code == ERR_OK && i < argc; i++)
    code = take_argument(r, argc, argv, &i, err);
  if (code != ERR_OK)
    return code;
  if (!r->suite || !r->record)
    return err_set(err, ERR_USAGE,
                   "which suite, and which record? inward past SUITE --record FILE");
  if (!r->act)
    return err_set(err, ERR_USAGE, "what about the record? --entries, --timeline, --note ...");
  return ERR_OK;
}

/* ---- for the acts ---- */

enum err_code past_moment(const struct past *past, const char *option, const char *text,
                          int64_t otherwise_ms, int64_t *out_ms, struct err *err)
{
  *out_ms = otherwise_ms;
  if (!text)
    return ERR_OK;
  enum err_code code = when_read(text, past->zone, NULL, out_ms, err);

  if (code != ERR_OK)
    err_prefix(err, "%s %.40s: ", option, text);
  return code;
}

enum err_code past_bound(const struct past *past, const char *option, const char *text,
                         int64_t otherwise_ms, int64_t *out_ms, struct err *err)
{
  *out_ms = otherwise_ms;
  if (!text)
    return ERR_OK;
  enum err_code code = when_read_bound(text, past->zone, out_ms, err);

  if (code != ERR_OK)
    err_prefix(err, "%s %.40s: ", option, text);
  return code;
}

enum err_code past_read_most(const struct past *past, int usual, int limit, int *out,
                             struct err *err)
{
  const char *text = past->asked->most;
  char *end;
  long most = usual;

  if (text) {
    errno = 0;
    most = strtol(text, &end, 10);
    if (end == text || *end || errno != 0 || most < 1 || most > limit)
      return err_set(err, ERR_INPUT, "--most %.20s: a number from 1 to %d", text, limit);
  }
  *out = (int)most;
  return ERR_OK;
}

/* ---- running it ---- */

static int run(struct past *past, void *arg, struct err *err)
{
  const struct past_request *asked = arg;
  int status;

  if (cli_zone(past->facility, &past->arena, &past->zone, err) != ERR_OK)
    return err_exit_status(err->code);
  if (asked->act->measured && !(past->feeds = cli_load_feeds(past->facility, asked->suite, err)))
    return err->text[0] ? err_exit_status(err->code) : 2;
  if (asked->act->check && asked->act->check(past, err) != ERR_OK)
    return err_exit_status(err->code);
  past->begun = asked->act->mode == RECORD_WRITE && access(asked->record, F_OK) != 0;
  if (record_open(asked->record, asked->act->mode, &past->record, err) != ERR_OK)
    return err_exit_status(err->code);
  if (asked->act->run != past_verify && asked->act->run != past_backup &&
      record_of(past->record, past->facility, err) != ERR_OK)
    status = err_exit_status(err->code);
  else if (asked->act->measured &&
           record_bind(past->record, past->facility, past->feeds, past->now_ms, err) != ERR_OK)
    status = 3;
  else
    status = asked->act->run(past, err);
  record_close(past->record);
  return err->text[0] ? err_exit_status(err->code) : status;
}

int cli_past(int argc, char **argv)
{
  struct past_request asked = {0};
  struct err err = {0};

  if (past_help(argc, argv))
    return 0;
  if (read_request(argc, argv, &asked, &err) != ERR_OK) {
    fprintf(stderr, "inward past: %s; 'inward past --help' explains\n", err.text);
    return 2;
  }
  return past_verb("past", &asked, run, &asked);
}
