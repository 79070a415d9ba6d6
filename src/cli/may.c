/* inward may SUITE: may this person start this process at this station then. */
#include "cli/cli.h"

#include "cli/may_load.h"
#include "cli/write.h"
#include "cli/zone.h"
#include "papers/papers.h"
#include "record/record.h"
#include "standing/standing.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward may SUITE --who U14 --do P7 --at A3 [--from \"2026-12-01 18:30\"] [--for 2h]\n"
    "                  [--inside U22,... | --alone] [--beside P3,... | --beside none] [--unattended]\n"
    "                  [--confirm WORDS]... [--scene NAME] [--record FILE] [--names]\n"
    "                  [--with OVERLAY] [--json]\n"
    "       inward may SUITE --request FILE --at A3 [--scene NAME] [--json]      a new process\n"
    "       inward may SUITE --list [--json]      what is done where\n\n"
    "Whether the rules are met, with every reason at once and its source: person and endorsements,\n"
    "station, chemistry, air, hours, second person, document, house rules. What is not known is never\n"
    "yes: it is listed as something to confirm. It never gives permission: it says who gives it.\n\n"
    "  --who, --do, --at   ids of a person, a process and a station\n"
    "  --from, --for       local time, otherwise now; how long, otherwise as the process says\n"
    "  --inside, --alone   who else is inside; nobody else\n"
    "  --beside            which processes are at the station now; none\n"
    "  --unattended        it is to be left alone for a while\n"
    "  --confirm WORDS     somebody has looked: a rule's words, or \"station in use\"\n"
    "  --scene NAME        the openings the air is computed for: imagined, and said so\n"
    "  --record FILE       what people told of the station: out of use, runs, proofs, rounds, tanks, waste,\n"
    "                      glass and incidents, as 'inward ready' has them\n"
    "  --request FILE      one process, written as in a processes file, that is not done here yet:\n"
    "                      against all that it would stand beside at that station\n"
    "  --letter FILE       the same as a page for who asked and who decides, as PDF; --replace an old one\n"
    "  --names             print the person's name: only where the suite's privacy rules allow it\n"
    "  --json              for programs (docs/api.md)\n\n"
    "Exit: 0 the rules are met, which is no permission; 1 no, or something is to be confirmed;\n"
    "2 bad input; 3 could not. Not to be wired to an interlock.\n"
    "example: inward may examples/quillmere/suite.yaml --who U14 --do P7 --at A3 --from \"2026-12-01 "
    "18:30\" --inside U22\n";

struct request {
  struct may_request may;
  struct arena arena; /* of its lists */
  const char *suite, *scene, *record, *asked;
  struct processes *asked_file;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  const char *letter;
  bool json, list, replace, help;
};

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  static const char *const keys[] = {"--who", "--do",     "--at",     "--from",
                                     "--for", "--inside", "--beside", "--confirm"};

  for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
    if (strcmp(keys[i], option) == 0)
      return value ? may_take(&r->may, option + 2, value, &r->arena, err)
                   : err_set(err, ERR_USAGE, "option '%s' wants a value", option);
  if (!value)
    return err_set(err, ERR_USAGE, "option '%.40s' is none, or wants a value", option);
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strcmp(option, "--scene") == 0)
    r->scene = value;
  else if (strcmp(option, "--record") == 0)
    r->record = value;
  else if (strcmp(option, "--request") == 0)
    r->asked = value;
  else if (strcmp(option, "--letter") == 0)
    r->letter = value;
  else
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return ERR_OK;
}

/* True when the word was one that stands alone. */
static bool take_word(struct request *r, const char *word)
{
  const struct {
    const char *word;
    bool *out;
  } words[] = {{"--json", &r->json},       {"--list", &r->list},
               {"--replace", &r->replace}, {"--help", &r->help},
               {"-h", &r->help},           {"--alone", &r->may.alone},
               {"--names", &r->may.names}, {"--unattended", &r->may.unattended}};

  for (size_t i = 0; i < sizeof words / sizeof *words; i++)
    if (strcmp(words[i].word, word) == 0) {
      *words[i].out = true;
      return true;
    }
  return false;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; i < argc && code == ERR_OK; i++) {
    if (take_word(r, argv[i]))
      continue;
    if (argv[i][0] == '-') {
      code = take_value(r, argv[i], i + 1 < argc ? argv[i + 1] : NULL, err);
      i++;
    } else if (!r->suite) {
      r->suite = argv[i];
    } else {
      return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", argv[i]);
    }
  }
  if (code == ERR_OK && !r->suite && !r->help)
    return err_set(err, ERR_USAGE, "which suite? inward may SUITE --who U14 --do P7 --at A3");
  return code;
}

/* ---- what the record says of the station ---- */

static enum err_code look_in_record(struct request *r, const struct cli_may *m, struct err *err)
{
  const struct facility *facility = m->place.facility;
  const struct wet_place wet = {.facility = facility,
                                .own = m->own,
                                .chem = m->place.chem,
                                .meet = m->place.meet,
                                .zone = m->place.zone};
  const struct standing_place place = {facility, m->place.zone, &wet, 0};
  int station = facility_station_find(facility, r->may.station);
  struct standing_told *told = NULL;
  struct record *record = NULL;

  if (station < 0)
    return ERR_OK; /* said by may_answer */
  enum err_code code = record_open(r->record, RECORD_READ, &record, err);

  if (code == ERR_OK)
    code = standing_recorded(record, &place, r->may.now_ms, &r->arena, &told, err);
  record_close(record);
  if (code == ERR_OK)
    standing_tell_may(&place, told, station, &r->arena, &r->may);
  return code;
}

/* ---- a new process ---- */

static enum err_code read_asked(struct request *r, const struct facility *facility, struct err *err)
{
  struct facility_text text = {0};
  struct complaints faults;
  enum err_code code = cli_read_file(r->asked, CLI_FILE_MAX, &text, err);

  if (code != ERR_OK)
    return code;
  complaints_init(&faults, &r->arena);
  r->asked_file = processes_read(facility, &text, &faults);
  cli_say_faults(&faults, &text);
  cli_free_file(&text);
  if (!r->asked_file)
    return err_set(err, ERR_INPUT, "the request has faults");
  if (r->asked_file->count != 1)
    return err_set(err, ERR_INPUT, "%.120s: %d processes; a request is one", r->asked,
                   r->asked_file->count);
  r->may.asked = &r->asked_file->list[0];
  return ERR_OK;
}

/* ---- the answer ---- */

static int status_of(enum may_verdict verdict)
{
  return verdict == MAY_MET ? 0 : 1;
}

/* The letter, where one is wanted. */
static enum err_code write_letter(const struct request *r, const struct may_answer *answer,
                                  struct arena *arena, struct err *err)
{
  struct papers_report report = {.arena = arena};
  struct papers_request papers = {
      .facility = may_place(answer->may)->facility, .size = DRAW_A4, .report = &report};
  struct when_civil at = when_civil(may_place(answer->may)->zone, answer->from_ms, NULL);
  const char *when = r->asked ? NULL
                              : arena_printf(arena, "%04d-%02d-%02d %02d:%02d", at.year, at.month,
                                             at.day, at.hour, at.minute);
  struct buf bytes;
  enum err_code code;

  if (!r->letter)
    return ERR_OK;
  buf_init(&bytes, 16 << 20);
  code = papers_letter(&papers, answer, when, &bytes, err);
  if (code == ERR_OK)
    code = cli_write_file(r->letter, bytes.text, bytes.used, r->replace, err);
  else if (report.unprintable.count > 0)
    err_write(err, ERR_INPUT, "--letter: %.150s", report.unprintable.list[0].text);
  buf_release(&bytes);
  return code;
}

static int show(struct request *r, const struct cli_may *m, struct err *err)
{
  struct arena arena;
  struct buf out;
  int status = 2;

  arena_init(&arena, (size_t)1 << 30);
  buf_init(&out, 8 << 20);
  const struct may_answer *answer = r->list    ? NULL
                                    : r->asked ? may_new_process(m->may, &r->may, &arena, err)
                                               : may_answer(m->may, &r->may, &arena, err);

  if (r->list) {
    if (r->json)
      may_processes_json(&m->place, &out);
    else
      may_processes_text(&m->place, &out);
    status = cli_show(&out, 0);
  } else if (answer) {
    if (r->json)
      may_json(answer, &out);
    else
      may_text(answer, &out);
    status = write_letter(r, answer, &arena, err) == ERR_OK
                 ? cli_show(&out, status_of(answer->verdict))
                 : err_exit_status(err->code);
  } else {
    status = err_exit_status(err->code);
  }
  buf_release(&out);
  arena_release(&arena);
  return status;
}

static int with_facility(struct request *r, const struct facility *facility, struct err *err)
{
  struct cli_may m = {0};
  const struct when_zone *zone;
  int status = 2;

  r->may.now_ms = cli_now_ms();
  if (cli_zone(facility, &r->arena, &zone, err) == ERR_OK &&
      (!r->scene || scene_named(facility, r->scene, &r->may.scene, err) == ERR_OK) &&
      (!r->asked || read_asked(r, facility, err) == ERR_OK) &&
      cli_may_load(facility, r->suite, zone, cli_day(zone, r->may.now_ms), &m, err) == ERR_OK &&
      (!r->record || !r->may.station || look_in_record(r, &m, err) == ERR_OK))
    status = show(r, &m, err);
  else
    status = err_exit_status(err->code);
  cli_may_release(&m);
  processes_free(r->asked_file);
  return status;
}

int cli_may(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct facility *facility = NULL;
  int status = 2;

  arena_init(&r.arena, 256 << 20);
  if (read_request(argc, argv, &r, &err) == ERR_OK) {
    if (r.help) {
      fputs(help, stdout);
      arena_release(&r.arena);
      return 0;
    }
    facility = cli_load(r.suite, r.overlays, r.overlay_count, &err);
    if (facility)
      status = with_facility(&r, facility, &err);
    else if (err.code)
      status = err_exit_status(err.code);
  }
  if (err.text[0])
    fprintf(stderr, "inward may: %s; 'inward may --help' explains\n", err.text);
  facility_free(facility);
  arena_release(&r.arena);
  return status;
}
