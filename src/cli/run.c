/* inward run: what runs or cools with nobody there, asked and told. */
#include "cli/cli.h"

#include "cli/past_impl.h"
#include "cli/zone.h"
#include "run/run.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward run SUITE --record FILE [--at T] [--json] [--us] [--with OVERLAY]\n"
    "       inward run SUITE --record FILE --who NAME ACT [--at T] [--with OVERLAY]\n\n"
    "What runs at which station with nobody there, until when and whom to call; what cools, and until when:\n"
    "the later of the clock of two readings and the wait of the house. By what people told.\n\n"
    "  --started A4 --what \"nitride strip\" --holds \"5 L phosphoric acid 85 %\" --hazards \"hot acid, 160 degC\"\n"
    "     --call \"M. Rao, 4217\" --until \"2026-12-01 01:00\" [--second \"desk, 4210\"] [--reads 160degC]\n"
    "  --read A4=85degC        a temperature; two of them, some time apart, make the clock\n"
    "  --later A4 --until T    it takes longer\n"
    "  --over A4               the heat is off: it cools; also --over A4=150degC\n"
    "  --cleared A4            looked at: cold, emptied, gone; --words \"carrier left in rinse\"\n"
    "  --who \"M. Rao\"          who tells it\n"
    "  --at T                  when it was; without an act: the list of that moment\n"
    "  --record F              the record; begun where there is none\n"
    "  --us, --json            degrees Fahrenheit; everything for programs (docs/api.md)\n\n"
    "The sign for the station: inward print run SUITE STATION --record FILE -o sign.pdf\n"
    "Exit: 0 nothing asks for a person, or it is written down; 1 overdue, to be measured, or not known; 2 bad\n"
    "input; 3 could not.\n"
    "example: inward run suite.yaml --record wet.record --over A4=150degC --who \"M. Rao\"\n";

enum { PAIRS_MOST = 16, FAULTS_BYTES = 8192 };

struct asked {
  struct past_request past; /* suite, record, overlays, who, at, json */
  bool us, help, tells;
  char station[64]; /* of "A4=85degC" */
  struct typed_pair pairs[PAIRS_MOST];
  int count;
};

static void add(struct asked *a, const char *key, const char *value)
{
  if (a->count < PAIRS_MOST)
    a->pairs[a->count++] = (struct typed_pair){key, value};
}

/* "A4=85degC": where, and what it reads. */
static enum err_code take_act(struct asked *a, enum run_act act, const char *value, struct err *err)
{
  size_t length = strcspn(value, "=");

  if (a->tells)
    return err_set(err, ERR_USAGE, "one act at a time; what is '--%s'?", run_act_name(act));
  if (length == 0 || length >= sizeof a->station)
    return err_set(err, ERR_INPUT, "--%s: '%.40s' is no station", run_act_name(act), value);
  a->tells = true;
  snprintf(a->station, sizeof a->station, "%.*s", (int)length, value);
  add(a, "act", run_act_name(act));
  add(a, "about", a->station);
  if (value[length])
    add(a, "temperature", value + length + 1);
  return ERR_OK;
}

static enum err_code take_value(void *arg, const char *option, const char *value, struct err *err)
{
  struct asked *a = arg;
  static const struct {
    const char *option, *key;
  } said[] = {{"--what", "what"},   {"--holds", "holds"},      {"--hazards", "hazards"},
              {"--call", "call"},   {"--second", "second"},    {"--until", "until"},
              {"--words", "words"}, {"--reads", "temperature"}};
  int act = run_act_find(option + 2);

  if (act >= 0)
    return take_act(a, (enum run_act)act, value, err);
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(a->past.overlays, &a->past.overlay_count, value, err);
  if (strcmp(option, "--record") == 0)
    a->past.record = value;
  else if (strcmp(option, "--who") == 0)
    a->past.who = value;
  else if (strcmp(option, "--at") == 0)
    a->past.at = value;
  else {
    for (size_t i = 0; i < sizeof said / sizeof said[0]; i++)
      if (strcmp(option, said[i].option) == 0) {
        add(a, said[i].key, value);
        return ERR_OK;
      }
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  }
  return ERR_OK;
}

static bool take_flag(void *arg, const char *word)
{
  struct asked *a = arg;

  if (strcmp(word, "--json") == 0)
    a->past.json = true;
  else if (strcmp(word, "--us") == 0)
    a->us = true;
  else if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0)
    a->help = true;
  else
    return false;
  return true;
}

static enum err_code take_word(void *arg, const char *word, struct err *err)
{
  struct asked *a = arg;

  if (a->past.suite)
    return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", word);
  a->past.suite = word;
  return ERR_OK;
}

static enum err_code read_words(int argc, char **argv, struct asked *a, struct err *err)
{
  static const struct cli_words words = {take_flag, take_value, take_word};
  enum err_code code = cli_read_words(argc, argv, &words, a, err);

  if (code != ERR_OK || a->help)
    return code;
  if (!a->past.suite || !a->past.record)
    return err_set(err, ERR_USAGE, "which suite, and which record? SUITE --record FILE");
  if (!a->tells && (a->count > 0 || a->past.who))
    return err_set(err, ERR_USAGE, "what is told? --started, --read, --later, --over or --cleared");
  if (a->tells && !a->past.who)
    return err_set(err, ERR_USAGE, "who says so? --who \"M. Rao\"");
  return ERR_OK;
}

/* ---- running it ---- */

static int show(struct past *past, void *arg, struct err *err)
{
  const struct asked *a = arg;
  struct run_list *list;
  int64_t t_ms;

  if (past_moment(past, "--at", a->past.at, past->now_ms, &t_ms, err) != ERR_OK ||
      run_recorded(past->record, past->facility, past->zone, t_ms, &past->arena, &list, err) !=
          ERR_OK)
    return err_exit_status(err->code);
  if (a->past.json)
    run_json(list, &past->out);
  else
    run_text(list, a->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &past->out);
  return run_asks_a_person(list) ? 1 : 0;
}

/* What was typed, as an entry; its faults go to standard error.  `now`: NULL: not known yet. */
static enum err_code take(struct past *past, struct asked *a, const struct run_list *now,
                          struct run_told *told, struct err *err)
{
  struct run_asked asked = {.facility = past->facility,
                            .zone = past->zone,
                            .now_ms = past->now_ms,
                            .pairs = a->pairs,
                            .count = a->count,
                            .now = now};
  enum err_code code = past_told_back_s(past, &asked.back_most_s, err);
  struct buf faults;

  if (code != ERR_OK)
    return code;
  buf_init(&faults, FAULTS_BYTES);
  code = run_take(&asked, &past->arena, told, &faults);
  if (code != ERR_OK)
    fprintf(stderr, "inward run: nothing was written down\n%s", faults.text);
  buf_release(&faults);
  return code;
}

static int tell(struct past *past, void *arg, struct err *err)
{
  struct run_list *list;
  struct run_told told;

  if (run_recorded(past->record, past->facility, past->zone, past->now_ms, &past->arena, &list,
                   err) != ERR_OK)
    return err_exit_status(err->code);
  if (take(past, arg, list, &told, err) != ERR_OK)
    return 2;

  struct record_entry entry = {.t_ms = told.t_ms,
                               .written_ms = past->now_ms,
                               .kind = RECORD_RUN,
                               .about = told.about,
                               .who = told.who,
                               .text = told.text,
                               .detail = told.detail};
  int status = past_append(past, &entry, err);

  if (status == 0)
    buf_printf(&past->out, "%s: %s\n", told.about, told.text);
  return status;
}

/* A record is begun only for what can be written down. */
static bool is_refused(struct past *past, void *arg, struct err *err)
{
  struct asked *a = arg;
  struct run_told told;

  add(a, "who", a->past.who);
  if (a->past.at)
    add(a, "at", a->past.at);
  return take(past, a, NULL, &told, err) != ERR_OK;
}

static int work(struct past *past, void *arg, struct err *err)
{
  const struct asked *a = arg;
  const struct past_telling telling = {a->tells, is_refused, tell, show};

  return past_told(past, &telling, arg, err);
}

int cli_run(int argc, char **argv)
{
  struct asked a = {0};
  struct err err = {0};

  if (read_words(argc, argv, &a, &err) != ERR_OK) {
    fprintf(stderr, "inward run: %s; 'inward run --help' explains\n", err.text);
    return 2;
  }
  if (a.help) {
    fputs(help, stdout);
    return 0;
  }
  return past_verb("run", &a.past, work, &a);
}
