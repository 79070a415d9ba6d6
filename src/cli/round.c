/* inward round: what was looked at on rounds, asked and told. */
#include "cli/cli.h"

#include "cli/past_impl.h"
#include "cli/zone.h"
#include "round/round.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward round SUITE --record FILE [--at T] [--json] [--with OVERLAY]\n"
    "       inward round SUITE --record FILE --who NAME --told STATION ANSWERS [--at T] [--with OVERLAY]\n\n"
    "For each station: the last round, when it was known clear, what was found and not mended since, what is overdue,\n"
    "and what nobody ever looked at. What is looked at, and how often, is the suite's: `rounds` in docs/suite-file.md.\n\n"
    "  --told A3               what one looked at there; what is not answered was not looked at\n"
    "  --all yes               to all that is not answered by itself\n"
    "  --deck no               an item of the suite: yes (as it should be), no, or unseen\n"
    "  --gel yes,2027-03-01    one with a date: until when it keeps\n"
    "  --words TEXT            what was found, in one line\n"
    "  --seen \"violet square F\"  which mark stood there, with a no to what is asked of glass; and --piece\n"
    "                          \"beaker 1 L\", --count 2: `inward glass` counts it\n"
    "  --who \"M. Rao\"          who looked\n"
    "  --at T                  when it was; without --told: the list of that moment\n"
    "  --record F              the record; begun where there is none\n"
    "  --json                  everything for programs (docs/api.md)\n\n"
    "Exit: 0 all was looked at in time and nothing is open, or it is written down; 1 something is open, overdue or\n"
    "not known; 2 bad input; 3 could not.\n"
    "example: inward round suite.yaml --record wet.record --told A3 --all yes --deck no --words \"beaker\" --who \"M. Rao\"\n";

enum { PAIRS_MOST = 16, FAULTS_BYTES = 8192, LIST_BYTES = 1000 };

struct asked {
  struct past_request past; /* suite, record, overlays, who, at, json */
  bool help, tells;
  struct typed_pair pairs[PAIRS_MOST];
  int count;
  char said[ROUND_SAID_COUNT][LIST_BYTES], expires[LIST_BYTES]; /* items, with commas between */
};

static void add(struct asked *a, const char *key, const char *value)
{
  if (a->count < PAIRS_MOST)
    a->pairs[a->count++] = (struct typed_pair){key, value};
}

static void add_answers(struct asked *a)
{
  for (int i = 0; i < ROUND_SAID_COUNT; i++)
    if (*a->said[i])
      add(a, round_said_name((enum round_said)i), a->said[i]);
  if (*a->expires)
    add(a, "expires", a->expires);
}

static bool append(char list[LIST_BYTES], const char *item, const char *more)
{
  size_t used = strlen(list);
  int wrote = snprintf(list + used, LIST_BYTES - used, "%s%s%s%s", used ? ", " : "", item,
                       *more ? " " : "", more);

  return wrote >= 0 && (size_t)wrote < LIST_BYTES - used;
}

/* "--deck no", "--gel yes,2027-03-01": whether there is such an item is seen when the suite is read. */
static enum err_code take_answer(struct asked *a, const char *option, const char *value,
                                 struct err *err)
{
  size_t size = strcspn(value, ", ");
  int said = round_said_find(value, size);
  const char *date = value + size + strspn(value + size, ", ");

  if (said < 0)
    return err_set(err, ERR_USAGE, "%.40s: yes, no or unseen, not '%.40s'", option, value);
  if (!append(a->said[said], option + 2, "") || (*date && !append(a->expires, option + 2, date)))
    return err_set(err, ERR_USAGE, "that is more than anybody looks at");
  return ERR_OK;
}

static enum err_code take_value(void *arg, const char *option, const char *value, struct err *err)
{
  struct asked *a = arg;
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(a->past.overlays, &a->past.overlay_count, value, err);
  if (strcmp(option, "--record") == 0)
    a->past.record = value;
  else if (strcmp(option, "--who") == 0)
    a->past.who = value;
  else if (strcmp(option, "--at") == 0)
    a->past.at = value;
  else if (strcmp(option, "--seen") == 0)
    add(a, "mark", value);
  else if (strcmp(option, "--words") == 0 || strcmp(option, "--all") == 0 ||
           strcmp(option, "--piece") == 0 || strcmp(option, "--count") == 0)
    add(a, option + 2, value);
  else if (strcmp(option, "--told") == 0) {
    if (a->tells)
      return err_set(err, ERR_USAGE, "one station at a time");
    a->tells = true;
    add(a, "about", value);
  } else
    return take_answer(a, option, value, err);
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

static bool answers(const struct asked *a)
{
  for (int i = 0; i < ROUND_SAID_COUNT; i++)
    if (*a->said[i])
      return true;
  return false;
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
  if (!a->tells && (a->count > 0 || a->past.who || answers(a)))
    return err_set(err, ERR_USAGE, "of which station is it told? --told STATION");
  if (a->tells && !a->past.who)
    return err_set(err, ERR_USAGE, "who looked? --who \"M. Rao\"");
  return ERR_OK;
}

/* ---- running it ---- */

static int show(struct past *past, void *arg, struct err *err)
{
  const struct asked *a = arg;
  struct round_list *list;
  int64_t t_ms;

  if (past_moment(past, "--at", a->past.at, past->now_ms, &t_ms, err) != ERR_OK ||
      round_recorded(past->record, past->facility, past->zone, t_ms, &past->arena, &list, err) !=
          ERR_OK)
    return err_exit_status(err->code);
  if (a->past.json)
    round_json(list, &past->out);
  else
    round_text(list, &past->out);
  return round_asks_a_person(list) ? 1 : 0;
}

/* What was typed, as an entry; its faults go to standard error. */
static enum err_code take(struct past *past, const struct asked *a, struct round_told *told,
                          struct err *err)
{
  struct round_asked asked = {.facility = past->facility,
                              .zone = past->zone,
                              .now_ms = past->now_ms,
                              .pairs = a->pairs,
                              .count = a->count};
  enum err_code code = past_told_back_s(past, &asked.back_most_s, err);
  struct buf faults;

  if (code != ERR_OK)
    return code;
  buf_init(&faults, FAULTS_BYTES);
  code = round_take(&asked, &past->arena, told, &faults);
  if (code != ERR_OK)
    fprintf(stderr, "inward round: nothing was written down\n%s", faults.text);
  buf_release(&faults);
  return code;
}

static int tell(struct past *past, void *arg, struct err *err)
{
  struct round_told told;

  if (take(past, arg, &told, err) != ERR_OK)
    return 2;

  struct record_entry entry = {.t_ms = told.t_ms,
                               .written_ms = past->now_ms,
                               .kind = RECORD_ROUND,
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
  struct round_told told;

  add(a, "who", a->past.who);
  if (a->past.at)
    add(a, "at", a->past.at);
  add_answers(a);
  return take(past, a, &told, err) != ERR_OK;
}

static int work(struct past *past, void *arg, struct err *err)
{
  const struct asked *a = arg;
  const struct past_telling telling = {a->tells, is_refused, tell, show};

  return past_told(past, &telling, arg, err);
}

int cli_round(int argc, char **argv)
{
  struct asked a = {0};
  struct err err = {0};

  if (read_words(argc, argv, &a, &err) != ERR_OK) {
    fprintf(stderr, "inward round: %s; 'inward round --help' explains\n", err.text);
    return 2;
  }
  if (a.help) {
    fputs(help, stdout);
    return 0;
  }
  return past_verb("round", &a.past, work, &a);
}
