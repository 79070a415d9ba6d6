/* inward baths, inward waste, inward stock: a day at the wet benches, asked and told. */
#include "cli/cli.h"

#include "cli/past_impl.h"
#include "cli/zone.h"
#include "wet/wet.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const char baths_help[] =
    "usage: inward baths SUITE --record FILE [--at T] [--json] [--us] [--with OVERLAY]\n"
    "       inward baths SUITE --record FILE --may T-1 [--drain DR-2] [--at T] [--json]\n"
    "       inward baths SUITE --record FILE --who NAME ACT [--at T] [--anyway] [--with OVERLAY]\n\n"
    "Which bath stands in which tank, made when and by whom, what is due next and why: by what people\n"
    "told and the limits of the suite's chemicals file. Then the wet benches: decks, leak trays, heaters and\n"
    "what should lock them out, rinse tanks, drains, by what is measured. Without an act: the page of today.\n\n"
    "  --may T-1               may this bath be let down its drain now, or down --drain DR-2? Writes nothing,\n"
    "                          moves no valve, and is never a clearance\n"
    "  --made T-1              poured fresh\n"
    "  --found T-1             it stands there; since when is not known, and stays so\n"
    "  --wafers T-1=25         went through it\n"
    "  --temperature T-1=74.5degC, --level T-1=16L    read\n"
    "  --topped T-1=0.5L --what h2o2-30    it gives the bath no new life\n"
    "  --dumped T-1            emptied to its drain; or --into W-3, with --amount 18L\n"
    "  --take-back 12          entry 12 was told wrongly: it does not count\n"
    "  --who \"M. Rao\"          who tells it\n"
    "  --at T                  when it was; without an act: the page of that moment\n"
    "  --anyway                it was so, although it does not fit what was told before\n"
    "  --record F              the record; begun where there is none\n"
    "  --us, --json            degrees Fahrenheit; everything for programs (docs/api.md)\n\n"
    "Exit: 0 nothing that is set is due and nothing measured speaks against it, or it is written down, or\n"
    "nothing listed (no clearance); 1 due, not known, a person is needed, refused, never or only by written\n"
    "procedure; 2 bad input; 3 could not.\n"
    "example: inward baths suite.yaml --record wet.record --made T-1 --who \"M. Rao\"\n";

static const char waste_help[] =
    "usage: inward waste SUITE --record FILE [--at T] [--json] [--us] [--with OVERLAY]\n"
    "       inward waste SUITE --record FILE --may W-3 --what acetone [--what X] [--json]\n"
    "       inward waste SUITE --record FILE --who NAME ACT [--at T] [--anyway] [--with OVERLAY]\n\n"
    "Which waste containers stand where, what went into each, how full, until when; and whether something\n"
    "may go in, by all it ever held. By what people told; never a clearance.\n\n"
    "  --may W-3 --what X      asks; writes nothing\n"
    "  --opened W-3 --stream S an empty, clean container begins, for a stream of the chemicals file\n"
    "  --found W-3 --stream S  it stands there; what it held is not known, and stays so\n"
    "  --added W-3=0.5L --what al-etch     --added W-3 where nobody knows how much\n"
    "  --fill W-3=\"about two thirds\"       or 60%, \"60 % ± 5 %\", half: read by eye\n"
    "  --closed W-3            full, and shut for good\n"
    "  --collected W-3         taken away\n"
    "  --take-back 12          entry 12 was told wrongly: it does not count\n"
    "  --who, --at, --anyway, --record, --us, --json    as of inward baths\n\n"
    "Exit: 0 nothing that is set is due, or it is written down, or nothing listed (no clearance); 1 due, not\n"
    "known, refused, never or only by written procedure; 2 bad input; 3 could not.\n"
    "example: inward waste suite.yaml --record wet.record --may W-3 --what acetone\n";

static const char stock_help[] =
    "usage: inward stock SUITE [--json] [--us] [--with OVERLAY]\n\n"
    "How much stands in each cabinet and out of cabinets, by category of flammable liquid, against the\n"
    "limits that the suite's chemicals file sets. It says what exceeds and what is not known; what does\n"
    "not exceed is not a clearance.\n\n"
    "Exit: 0 nothing exceeds by what was counted; 1 something exceeds or is not known; 2 bad input;\n"
    "3 could not.\n"
    "example: inward stock suite.yaml\n";

/* ---- the command line ---- */

enum { WHAT_MOST = 4 };

struct asked {
  struct past_request past; /* suite, record, overlays, who, at, json */
  bool us, help, is_baths;
  const char *may, *drain;
  const char *what[WHAT_MOST];
  int what_count;
  struct wet_request wet;
  char subject[64]; /* of "T-1=25" */
};

static const struct {
  const char *option, *act;
  bool of_baths, of_waste;
} acts[] = {
    {"--made", "made", true, false},
    {"--found", "found", true, true},
    {"--topped", "topped", true, false},
    {"--wafers", "wafers", true, false},
    {"--temperature", "temperature", true, false},
    {"--level", "level", true, false},
    {"--dumped", "dumped", true, false},
    {"--opened", "opened", false, true},
    {"--added", "added", false, true},
    {"--fill", "fill", false, true},
    {"--closed", "closed", false, true},
    {"--collected", "collected", false, true},
    {"--take-back", "taken-back", true, true},
};

static const char *act_of(const struct asked *a, const char *option)
{
  for (size_t i = 0; i < sizeof acts / sizeof acts[0]; i++)
    if (strcmp(acts[i].option, option) == 0 && (a->is_baths ? acts[i].of_baths : acts[i].of_waste))
      return acts[i].act;
  return NULL;
}

/* "T-1=25": what it is about, and how much. */
static enum err_code take_act(struct asked *a, const char *option, const char *value,
                              struct err *err)
{
  const char *act = act_of(a, option);
  size_t length = strcspn(value, "=");
  enum err_code code = ERR_OK;

  if (a->wet.act)
    return err_set(err, ERR_USAGE, "one act at a time; what is '%.40s'?", option);
  if (length >= sizeof a->subject)
    return err_set(err, ERR_INPUT, "%s: '%.40s' is no id", option, value);
  snprintf(a->subject, sizeof a->subject, "%.*s", (int)length, value);
  if (!*a->subject)
    return err_set(err, ERR_INPUT, "%s: of which?", option);
  a->wet.act = act;
  if (strcmp(act, "taken-back") == 0)
    a->wet.entry = a->subject;
  else if (a->is_baths)
    a->wet.tank = a->subject;
  else
    a->wet.container = a->subject;
  if (value[length])
    code = wet_take(&a->wet, "amount", value + length + 1, err);
  return code;
}

static enum err_code take_value(struct asked *a, const char *option, const char *value,
                                struct err *err)
{
  const struct {
    const char *option, **place;
  } places[] = {{"--record", &a->past.record},
                {"--who", &a->past.who},
                {"--at", &a->past.at},
                {"--may", &a->may},
                {"--drain", a->is_baths ? &a->drain : NULL}};

  if (act_of(a, option))
    return take_act(a, option, value, err);
  for (size_t i = 0; i < sizeof places / sizeof places[0]; i++)
    if (places[i].place && strcmp(places[i].option, option) == 0) {
      *places[i].place = value;
      return ERR_OK;
    }
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(a->past.overlays, &a->past.overlay_count, value, err);
  if (strcmp(option, "--what") == 0) {
    if (a->what_count == WHAT_MOST)
      return err_set(err, ERR_USAGE, "at most %d things at once: ask in parts", WHAT_MOST);
    a->what[a->what_count++] = value;
    return ERR_OK;
  }
  if (strcmp(option, a->is_baths ? "--into" : "--stream") == 0 || strcmp(option, "--amount") == 0)
    return wet_take(&a->wet, option + 2, value, err);
  return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
}

static bool take_flag(struct asked *a, const char *word)
{
  if (strcmp(word, "--json") == 0)
    a->past.json = true;
  else if (strcmp(word, "--us") == 0)
    a->us = true;
  else if (strcmp(word, "--anyway") == 0)
    a->wet.anyway = "yes";
  else if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0)
    a->help = true;
  else
    return false;
  return true;
}

static enum err_code read_words(int argc, char **argv, struct asked *a, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    enum err_code code = ERR_OK;

    if (take_flag(a, argv[i]))
      continue;
    if (argv[i][0] == '-' && i + 1 == argc)
      return err_set(err, ERR_USAGE, "option '%.40s' wants a value", argv[i]);
    if (argv[i][0] == '-') {
      code = take_value(a, argv[i], argv[i + 1], err);
      i++;
    } else if (a->past.suite)
      code = err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", argv[i]);
    else
      a->past.suite = argv[i];
    if (code != ERR_OK)
      return code;
  }
  return ERR_OK;
}

static enum err_code check_words(struct asked *a, struct err *err)
{
  if (a->help)
    return ERR_OK;
  if (!a->past.suite || !a->past.record)
    return err_set(err, ERR_USAGE, "which suite, and which record? SUITE --record FILE");
  if (a->may && a->wet.act)
    return err_set(err, ERR_USAGE, "ask with --may, or tell: one at a time");
  if (a->drain && !a->may)
    return err_set(err, ERR_USAGE, "--drain: may which tank go down it? --may T-1");
  if (a->may && a->is_baths && a->what_count > 0)
    return err_set(err, ERR_USAGE,
                   "what stands in the tank is asked about: --what has no place here");
  if (a->may && !a->is_baths && a->what_count == 0)
    return err_set(err, ERR_USAGE, "may what go in? --what al-etch");
  if (a->wet.act && a->what_count > 1)
    return err_set(err, ERR_USAGE, "one thing at a time is told: --what al-etch");
  if (!a->wet.act && !a->may &&
      (a->what_count > 0 || a->wet.amount || a->wet.into || a->wet.stream || a->past.who))
    return err_set(err, ERR_USAGE, "what was done? 'inward %s --help' lists the acts",
                   a->is_baths ? "baths" : "waste");
  a->wet.what = a->wet.act && a->what_count == 1 ? a->what[0] : NULL;
  return ERR_OK;
}

/* ---- running it ---- */

struct running {
  struct asked *asked;
  struct past *past;
  struct wet_place place;
  const struct wet_past *told;
};

static int show_baths(struct running *r)
{
  const struct wet_baths *baths = wet_baths(&r->place, r->told, &r->past->arena);

  if (r->asked->past.json)
    wet_baths_json(baths, &r->past->out);
  else
    wet_baths_text(baths, r->asked->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &r->past->out);
  return baths->count == 0 || baths->state >= WET_DUE ||
                 wet_benches(baths, &r->past->arena)->need > WET_UNSEEN
             ? 1
             : 0;
}

static int show_dump(struct running *r)
{
  const struct wet_baths *baths = wet_baths(&r->place, r->told, &r->past->arena);
  const struct wet_dump *dump = wet_dump(baths, r->asked->may, r->asked->drain, &r->past->arena);

  if (r->asked->past.json)
    wet_dump_json(dump, &r->past->out);
  else
    wet_dump_text(dump, r->asked->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &r->past->out);
  return dump->verdict == MEET_NOTHING_LISTED ? 0 : 1;
}

static int show_waste(struct running *r)
{
  const struct wet_waste *waste = wet_waste(&r->place, r->told, &r->past->arena);

  if (r->asked->past.json)
    wet_waste_json(waste, &r->past->out);
  else
    wet_waste_text(waste, r->asked->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &r->past->out);
  return waste->state >= WET_DUE ? 1 : 0;
}

static int show_may(struct running *r)
{
  const struct wet_waste *waste = wet_waste(&r->place, r->told, &r->past->arena);
  const struct wet_may *may =
      wet_may(waste, r->asked->may, r->asked->what, r->asked->what_count, &r->past->arena);

  if (r->asked->past.json)
    wet_may_json(may, &r->past->out);
  else
    wet_may_text(may, r->asked->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &r->past->out);
  return may->verdict == MEET_NOTHING_LISTED ? 0 : 1;
}

static int tell(struct running *r, struct err *err)
{
  struct wet_telling telling;
  struct buf *out = &r->past->out;

  if (wet_tell(&r->place, r->told, &r->asked->wet, &r->past->arena, &telling, err) != ERR_OK)
    return err_exit_status(err->code);
  if (telling.refused) {
    buf_printf(out, "not written down: %s\n", telling.refused);
    return 1;
  }
  telling.entry.who = r->asked->past.who;
  telling.entry.t_ms = r->place.now_ms;
  telling.entry.written_ms = r->past->now_ms;
  if (past_append_check(r->past, &telling.entry, err) != ERR_OK)
    return err_exit_status(err->code);

  int status = past_append(r->past, &telling.entry, err);

  if (status == 0)
    buf_printf(out, "%s\n", telling.entry.text);
  return status == 0 && telling.warning ? 1 : status;
}

/* What was measured at that moment, where the suite measures anything. */
static enum err_code see(struct running *r, struct err *err)
{
  struct past *past = r->past;
  struct watch_belief belief;

  if (!past->feeds)
    return ERR_OK;
  enum err_code code = record_bind(past->record, past->facility, past->feeds, past->now_ms, err);

  if (code == ERR_OK) {
    const struct past_place place = past_place_of(past);

    code = past_believe(&place, r->place.now_ms, INT64_MAX, &past->arena, &belief, err);
  }
  if (code == ERR_OK)
    wet_see(&r->place, past->feeds, &belief, &past->arena);
  return code;
}

static int answer(struct running *r, struct err *err)
{
  struct wet_past *told;

  if (r->asked->is_baths && see(r, err) != ERR_OK)
    return err_exit_status(err->code);
  if (wet_recorded(r->past->record, r->past->now_ms, &r->past->arena, &told, err) != ERR_OK)
    return err_exit_status(err->code);
  r->told = told;
  if (r->asked->wet.act)
    return tell(r, err);
  if (r->asked->may)
    return r->asked->is_baths ? show_dump(r) : show_may(r);
  return r->asked->is_baths ? show_baths(r) : show_waste(r);
}

/* A record is begun only by a telling; who only asks is told that there is none. */
static int with_record(struct running *r, struct err *err)
{
  const struct asked *a = r->asked;
  bool tells = a->wet.act != NULL;
  int status;

  r->past->begun = tells && access(a->past.record, F_OK) != 0;
  if (tells && !a->past.who)
    return err_set(err, ERR_USAGE, "who says so? --who \"M. Rao\""), 2;
  if (record_open(a->past.record, tells ? RECORD_WRITE : RECORD_READ, &r->past->record, err) !=
      ERR_OK)
    return err_exit_status(err->code);
  status = record_of(r->past->record, r->past->facility, err) == ERR_OK
               ? answer(r, err)
               : err_exit_status(err->code);
  record_close(r->past->record);
  return status;
}

static int work(struct past *past, void *arg, struct err *err)
{
  struct running r = {.past = past, .asked = arg};
  const char *suite = past->asked->suite;

  if (cli_load_chemicals(past->facility, suite, &past->own, err) != ERR_OK)
    return err->code ? err_exit_status(err->code) : 2;
  if (r.asked->is_baths && past->facility->feeds_file &&
      !(past->feeds = cli_load_feeds(past->facility, suite, err)))
    return err->text[0] ? err_exit_status(err->code) : 2;
  if (cli_zone(past->facility, &past->arena, &past->zone, err) != ERR_OK)
    return err_exit_status(err->code);
  r.place = wet_place_of(past->facility, past->own, past->zone, &past->arena);
  if (past_moment(past, "--at", past->asked->at, past->now_ms, &r.place.now_ms, err) != ERR_OK)
    return err_exit_status(err->code);
  return with_record(&r, err);
}

static int verb(int argc, char **argv, bool is_baths)
{
  struct asked a = {.is_baths = is_baths};
  const char *name = is_baths ? "baths" : "waste";
  struct err err = {0};

  if (read_words(argc, argv, &a, &err) != ERR_OK || check_words(&a, &err) != ERR_OK) {
    fprintf(stderr, "inward %s: %s; 'inward %s --help' explains\n", name, err.text, name);
    return 2;
  }
  if (a.help) {
    fputs(is_baths ? baths_help : waste_help, stdout);
    return 0;
  }
  return past_verb(name, &a.past, work, &a);
}

int cli_baths(int argc, char **argv)
{
  return verb(argc, argv, true);
}

int cli_waste(int argc, char **argv)
{
  return verb(argc, argv, false);
}

/* ---- stock: no record, no moment ---- */

static int show_stock(const struct facility *facility, const struct chemicals *own,
                      const struct asked *a)
{
  struct arena arena;
  struct buf out;

  arena_init(&arena, (size_t)256 << 20);
  buf_init(&out, 8 << 20);

  const struct wet_place place = wet_place_of(facility, own, when_utc(), &arena);
  const struct wet_stock *stock = wet_stock(&place, &arena);

  if (a->past.json)
    wet_stock_json(stock, &out);
  else
    wet_stock_text(stock, a->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &out);
  int status = cli_show(&out, stock->exceeds || stock->unsure || stock->count == 0 ? 1 : 0);

  buf_release(&out);
  arena_release(&arena);
  return status;
}

static enum err_code read_stock(int argc, char **argv, struct asked *a, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    enum err_code code = ERR_OK;

    if (strcmp(argv[i], "--anyway") != 0 && take_flag(a, argv[i]))
      continue;
    if (strcmp(argv[i], "--with") == 0 && i + 1 < argc)
      code = cli_take_overlay(a->past.overlays, &a->past.overlay_count, argv[++i], err);
    else if (argv[i][0] == '-')
      code = err_set(err, ERR_USAGE, "unknown option '%.40s'", argv[i]);
    else if (a->past.suite)
      code = err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", argv[i]);
    else
      a->past.suite = argv[i];
    if (code != ERR_OK)
      return code;
  }
  return a->help || a->past.suite ? ERR_OK : err_set(err, ERR_USAGE, "which suite?");
}

int cli_stock(int argc, char **argv)
{
  struct asked a = {0};
  struct chemicals *own = NULL;
  struct facility *facility;
  struct err err = {0};
  int status = 2;

  if (read_stock(argc, argv, &a, &err) != ERR_OK) {
    fprintf(stderr, "inward stock: %s; 'inward stock --help' explains\n", err.text);
    return 2;
  }
  if (a.help) {
    fputs(stock_help, stdout);
    return 0;
  }
  facility = cli_load(a.past.suite, a.past.overlays, a.past.overlay_count, &err);
  if (facility && cli_load_chemicals(facility, a.past.suite, &own, &err) == ERR_OK)
    status = show_stock(facility, own, &a);
  else if (err.code)
    status = err_exit_status(err.code);
  if (err.text[0])
    fprintf(stderr, "inward stock: %s\n", err.text);
  chemicals_free(own);
  facility_free(facility);
  return status;
}
