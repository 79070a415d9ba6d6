/* inward print WHAT SUITE: pages for the wall. */
#include "cli/cli.h"

#include "base/emit.h"
#include "cli/print_impl.h"
#include "cli/read.h"
#include "cli/walk_impl.h"
#include "cli/write.h"
#include "papers/papers.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char help[] =
    "usage: inward print card  SUITE [STATION... | all] [options]\n"
    "       inward print marks SUITE [options]\n"
    "       inward print walk  SUITE [--scene NAME] [--technician] [--readings FILE] [options]\n"
    "       inward print stop  SUITE --off UNIT... [--from TIME] [--to TIME] [--scene NAME] [options]\n"
    "       inward print after SUITE --event \"10s door D2 open\"... [--for TIME] [--scene NAME] [options]\n"
    "       inward print together SUITE [--scene NAME] [--expires DATE] [options]\n"
    "       inward print failure  SUITE [PART | all] [--scene NAME] [--expires DATE] [options]\n"
    "       inward print leave | responder | restart SUITE [--record FILE [--at TIME]] [options]\n"
    "       inward print handover SUITE PART [--record FILE [--at TIME] [--to TIME]] [options]\n"
    "       inward print incident SUITE --record FILE --number N [options]\n"
    "       inward print run SUITE STATION --record FILE [options]\n"
    "       inward print label [SUITE] BATH ... [options]    ('inward print label --help')\n\n"
    "Pages for the wall, as a PDF: the same bytes for the same suite and options.\n\n"
    "  card        one card a station: what may not be used there, the mark of its glass, the sash\n"
    "              mark to scale, the alarm, what to wear, documents, whom to call; all stations\n"
    "              when none is named\n"
    "  marks       the marks of all stations' glass, and what is missing or given twice\n"
    "  walk        the walk test as a form to write on; with --readings, what was found\n"
    "              ('inward walk --help')\n"
    "  stop        the notice of a planned stop, for a door ('inward stop --help')\n"
    "  after       what happens next, as a picture ('inward after --help')\n"
    "  together    who may work together, for a wall ('inward together --help')\n"
    "  failure     a card for each fan, make-up unit and door that can be lost, or for one\n"
    "  leave       for the last person out; with --record, as far as is known now or at --at;\n"
    "              without, a form for the pen. So are the three that follow\n"
    "  responder   for the fire service at the door, one page\n"
    "  restart     after a loss of power or an evacuation, station by station\n"
    "  handover    for the ventilation technician, about one part ('inward past --help')\n"
    "  incident    what was told as entry N of a record, and what was measured around it; of an\n"
    "              exposure one page for the doctor; of a found beaker, for staff only, which stations\n"
    "              were used since the last round\n"
    "  run         the sign at a station where something runs or cools with nobody there, as told\n"
    "              ('inward run --help')\n"
    "  label       of a bath: names in full, shares, pictograms, cautions\n\n"
    "  --size S    A4 (the default), A5 or letter\n"
    "  --us        inches and cfm: of card, marks, walk and stop\n"
    "  --date D    print this date on it, as 2026-11-25; without it a page bears no date\n"
    "  --expires D print until when a wall sheet or failure card holds\n"
    "  --with F    apply an overlay file first; several apply in the order given\n"
    "  --svg       one page as SVG, for another program\n"
    "  -o F        write to F; without it card.pdf or marks.pdf, here\n"
    "  --replace   write over a file that is there already\n"
    "  --json      say what was written for programs\n\n"
    "What the suite does not say stands on the card as \"not stated: ask ...\", and is listed. Nothing\n"
    "is written when a text cannot be printed whole.\n\n"
    "Exit: 0 written; 1 written, and the pages show a fault (a mark given twice or missing);\n"
    "      2 bad input; 3 could not.\n"
    "example: inward print card examples/quillmere/suite.yaml A1 A3 --size A5 -o cards.pdf\n";

struct request {
  const char *what, *suite, *file;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  char **stations; /* as given */
  int station_count;
  const char *date;
  enum draw_size size;
  enum draw_format format;
  enum units_system units;
  bool replace, json, help, technician;
  const char *scene, *readings, *from, *to; /* of a walk or a stop */
  const char *record, *at;                  /* of a list */
  const char *expires;                      /* of a wall sheet or a failure card */
  const char *number;                       /* of an incident, in that record */
  const char *off[STOP_OFF_MAX];
  int off_count;
  const char *events[AFTER_EVENTS_MAX], *for_time; /* of what happens next */
  int event_count;
};

/* ---- the command line ---- */

static enum err_code take_size(struct request *r, const char *word, struct err *err)
{
  static const struct {
    const char *word;
    enum draw_size size;
  } rows[] = {{"A4", DRAW_A4}, {"a4", DRAW_A4},         {"A5", DRAW_A5},
              {"a5", DRAW_A5}, {"letter", DRAW_LETTER}, {"Letter", DRAW_LETTER}};

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    if (strcmp(word, rows[i].word) == 0) {
      r->size = rows[i].size;
      return ERR_OK;
    }
  return err_set(err, ERR_USAGE, "--size %.40s: write A4, A5 or letter", word);
}

/* A day of some year: whether February has it is the giver's affair, it is only printed. */
static bool is_date(const char *word)
{
  static const char form[] = "dddd-dd-dd";

  if (strlen(word) != strlen(form))
    return false;
  for (size_t i = 0; form[i]; i++)
    if (form[i] == 'd' ? word[i] < '0' || word[i] > '9' : word[i] != form[i])
      return false;

  long month = strtol(word + 5, NULL, 10), day = strtol(word + 8, NULL, 10);

  return month >= 1 && month <= 12 && day >= 1 && day <= 31;
}

static enum err_code take_date(struct request *r, const char *option, const char *word,
                               struct err *err)
{
  if (!is_date(word))
    return err_set(err, ERR_USAGE, "%s %.40s: write year, month and day: 2026-11-25", option, word);
  if (strcmp(option, "--date") == 0)
    r->date = word;
  else
    r->expires = word;
  return ERR_OK;
}

static const char **text_option(struct request *r, const char *option)
{
  const struct {
    const char *option;
    const char **value;
  } rows[] = {{"-o", &r->file},     {"--scene", &r->scene},   {"--readings", &r->readings},
              {"--from", &r->from}, {"--to", &r->to},         {"--record", &r->record},
              {"--at", &r->at},     {"--number", &r->number}, {"--for", &r->for_time}};

  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
    if (strcmp(option, rows[i].option) == 0)
      return rows[i].value;
  return NULL;
}

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  if (strcmp(option, "--size") == 0)
    return take_size(r, value, err);
  if (strcmp(option, "--date") == 0)
    return take_date(r, option, value, err);
  if (strcmp(option, "--expires") == 0)
    return take_date(r, option, value, err);
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strcmp(option, "--off") == 0) {
    if (r->off_count == STOP_OFF_MAX)
      return err_set(err, ERR_USAGE, "more than %d units are off", STOP_OFF_MAX);
    r->off[r->off_count++] = value;
    return ERR_OK;
  }
  if (strcmp(option, "--event") == 0) {
    if (r->event_count == AFTER_EVENTS_MAX)
      return err_set(err, ERR_USAGE, "more than %d events", AFTER_EVENTS_MAX);
    r->events[r->event_count++] = value;
    return ERR_OK;
  }
  *text_option(r, option) = value;
  return ERR_OK;
}

static bool takes_value(struct request *r, const char *word)
{
  return strcmp(word, "--size") == 0 || strcmp(word, "--date") == 0 ||
         strcmp(word, "--expires") == 0 || strcmp(word, "--with") == 0 ||
         strcmp(word, "--off") == 0 || strcmp(word, "--event") == 0 || text_option(r, word);
}

static bool take_flag(struct request *r, const char *word)
{
  if (strcmp(word, "--us") == 0)
    r->units = UNITS_SYSTEM_US;
  else if (strcmp(word, "--svg") == 0)
    r->format = DRAW_SVG;
  else if (strcmp(word, "--replace") == 0)
    r->replace = true;
  else if (strcmp(word, "--technician") == 0)
    r->technician = true;
  else if (strcmp(word, "--json") == 0)
    r->json = true;
  else if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0)
    r->help = true;
  else
    return false;
  return true;
}

/* Stations are moved to the front of argv. */
static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  int words = 0;

  r->stations = argv;
  for (int i = 0; i < argc; i++) {
    if (takes_value(r, argv[i]) && i + 1 < argc) {
      enum err_code code = take_value(r, argv[i], argv[i + 1], err);

      if (code != ERR_OK)
        return code;
      i++;
    } else if (take_flag(r, argv[i])) {
      continue;
    } else if (argv[i][0] == '-') {
      return err_set(err, ERR_USAGE, "'%.40s' is no option here, or lacks its value", argv[i]);
    } else if (words == 0) {
      r->what = argv[i];
      words++;
    } else if (words == 1) {
      r->suite = argv[i];
      words++;
    } else {
      argv[r->station_count++] = argv[i];
    }
  }
  if (!r->help && !r->suite)
    return err_set(err, ERR_USAGE, "print what, of which suite? inward print card SUITE");
  return ERR_OK;
}

/* ---- which stations ---- */

/* Indices in the order asked; all of them when none is named.  NULL: err says what is wrong. */
static const int *choose_stations(const struct request *r, const struct facility *f,
                                  struct arena *arena, int *count_out, struct err *err)
{
  bool all = r->station_count == 0 || (r->station_count == 1 && strcmp(r->stations[0], "all") == 0);
  int count = all ? f->station_count : r->station_count;
  int *chosen = ARENA_ARRAY(arena, int, (size_t)count + 1);

  for (int i = 0; i < count; i++) {
    chosen[i] = all ? i : facility_station_find(f, r->stations[i]);
    if (chosen[i] < 0) {
      (void)err_set(err, ERR_INPUT, "there is no station '%.40s'; 'all' prints every one",
                    r->stations[i]);
      return NULL;
    }
  }
  *count_out = count;
  return chosen;
}

/* ---- what there is to print ---- */

static enum err_code print_cards(const struct request *r, const struct papers_request *papers,
                                 struct buf *bytes, struct err *err)
{
  int count;
  const int *stations = choose_stations(r, papers->facility, papers->report->arena, &count, err);

  return stations ? papers_cards(papers, stations, count, bytes, err) : err->code;
}

static enum err_code print_marks(const struct request *r, const struct papers_request *papers,
                                 struct buf *bytes, struct err *err)
{
  if (r->station_count > 0)
    return err_set(err, ERR_USAGE, "the mark sheet is of all stations; what is '%.40s'?",
                   r->stations[0]);
  return papers_marks(papers, bytes, err);
}

static enum err_code print_walk(const struct request *r, const struct papers_request *papers,
                                struct buf *bytes, struct err *err)
{
  struct arena *arena = papers->report->arena;
  struct walk_plan *plan =
      cli_walk_plan(papers->facility, r->scene, r->technician, r->readings, arena, err);
  struct walk_result *result = NULL;
  struct walk_readings *readings;

  if (!plan)
    return err->code;
  if (r->readings) {
    if (cli_walk_readings(plan, r->readings, arena, &readings, err) != 0)
      return err->code != ERR_OK ? err->code
                                 : err_set(err, ERR_INPUT, "%.100s: see above", r->readings);
    result = walk_compare(plan, readings, arena, err);
    if (!result)
      return err->code;
  }
  return papers_walk(papers, plan, result, bytes, err);
}

static enum err_code print_stop(const struct request *r, const struct papers_request *papers,
                                struct buf *bytes, struct err *err)
{
  struct stop_request request = {
      .off_count = r->off_count, .off = r->off, .from = r->from, .to = r->to};
  struct stop_notice *notice;

  if (r->scene && scene_named(papers->facility, r->scene, &request.scene, err) != ERR_OK)
    return err->code;
  notice = stop_notice(papers->facility, &request, papers->report->arena, err);
  return notice ? papers_stop(papers, notice, bytes, err) : err->code;
}

static enum err_code print_after(const struct request *r, const struct papers_request *papers,
                                 struct buf *bytes, struct err *err)
{
  const struct cli_after_wanted wanted = {.scene = r->scene,
                                          .for_time = r->for_time,
                                          .event_count = r->event_count,
                                          .events = r->events};

  return cli_print_after(&wanted, papers, bytes, err);
}

static enum err_code print_together(const struct request *r, const struct papers_request *papers,
                                    struct buf *bytes, struct err *err)
{
  const struct cli_together_wanted wanted = {.failure = strcmp(r->what, "failure") == 0,
                                             .part = r->station_count > 0 ? r->stations[0] : NULL,
                                             .scene = r->scene,
                                             .expires = r->expires};

  if (r->station_count > wanted.failure)
    return err_set(err, ERR_USAGE, "what is '%.40s'?", r->stations[r->station_count - 1]);
  return cli_print_together(&wanted, papers, bytes, err);
}

static enum err_code print_list(const struct request *r, const struct papers_request *papers,
                                struct buf *bytes, struct err *err)
{
  const struct cli_list_wanted wanted = {.list = r->what,
                                         .suite = r->suite,
                                         .record = r->record,
                                         .at = r->at,
                                         .to = r->to,
                                         .part = r->station_count > 0 ? r->stations[0] : NULL};

  if (r->station_count > (strcmp(r->what, "handover") == 0))
    return err_set(err, ERR_USAGE, "what is '%.40s'?", r->stations[r->station_count - 1]);
  if (r->at && !r->record)
    return err_set(err, ERR_USAGE, "--at asks a record: which? --record FILE");
  return cli_print_list(&wanted, papers, bytes, err);
}

static enum err_code print_of_record(const struct request *r, const struct papers_request *papers,
                                     struct buf *bytes, struct err *err)
{
  const struct cli_incident_wanted wanted = {r->suite, r->record, r->number};

  return cli_print_incident(&wanted, papers, bytes, err);
}

static enum err_code print_sign(const struct request *r, const struct papers_request *papers,
                                struct buf *bytes, struct err *err)
{
  const struct cli_run_wanted wanted = {r->record, r->station_count > 0 ? r->stations[0] : NULL};

  if (r->station_count > 1)
    return err_set(err, ERR_USAGE, "one station, one sign: what is '%.40s'?", r->stations[1]);
  return cli_print_run(&wanted, papers, bytes, err);
}

static const struct kind {
  const char *name;
  enum err_code (*print)(const struct request *, const struct papers_request *, struct buf *,
                         struct err *);
} kinds[] = {
    {"card", print_cards},        {"marks", print_marks},      {"walk", print_walk},
    {"together", print_together}, {"failure", print_together}, {"stop", print_stop},
    {"after", print_after},       {"leave", print_list},       {"responder", print_list},
    {"restart", print_list},      {"handover", print_list},    {"incident", print_of_record},
    {"run", print_sign},
};

static const struct kind *find_kind(const char *name)
{
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
    if (strcmp(name, kinds[i].name) == 0)
      return &kinds[i];
  return NULL;
}

/* ---- what is said about it ---- */

static void say_text(const char *file, const struct papers_report *report, struct buf *out)
{
  buf_printf(out, "%s: %d page%s\n", file, report->page_count, report->page_count == 1 ? "" : "s");
  for (int i = 0; i < report->note_count; i++)
    buf_printf(out, "  %s%s: %s\n", report->notes[i].fault ? "FAULT " : "",
               report->notes[i].station, report->notes[i].text);
}

static void say_json(const char *file, const struct papers_request *papers, struct buf *out)
{
  const struct papers_report *report = papers->report;
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.print.1");
  emit_text(&json, "suite_sha256", papers->facility->sha256);
  emit_text(&json, "file", file);
  emit_int(&json, "pages", report->page_count);
  emit_int(&json, "faults", report->fault_count);
  emit_array(&json, "notes");
  for (int i = 0; i < report->note_count; i++) {
    emit_object(&json, NULL);
    emit_text(&json, "station", report->notes[i].station);
    emit_bool(&json, "fault", report->notes[i].fault);
    emit_text(&json, "text", report->notes[i].text);
    emit_close(&json);
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

/* ---- a run ---- */

static int refuse(const struct err *err)
{
  fprintf(stderr, "inward print: %s\n", err->text);
  return err_exit_status(err->code);
}

static void print_unprintable(const struct request *r, const struct papers_report *report)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  complaints_print(&report->unprintable, r->suite, NULL, &out);
  fputs(out.text, stderr);
  buf_release(&out);
}

static int write_pages(const struct request *r, const struct papers_request *papers,
                       const struct buf *bytes)
{
  const struct papers_report *report = papers->report;
  struct err err = {0};
  struct buf out;
  char usual[40];
  const char *file = r->file ? r->file : usual;

  snprintf(usual, sizeof usual, "%.20s.%s", r->what, r->format == DRAW_SVG ? "svg" : "pdf");
  if (cli_write_file(file, bytes->text, bytes->used, r->replace, &err) != ERR_OK)
    return refuse(&err);
  buf_init(&out, 4 << 20);
  if (r->json)
    say_json(file, papers, &out);
  else
    say_text(file, report, &out);

  int status = cli_show(&out, report->fault_count > 0 ? 1 : 0);

  buf_release(&out);
  return status;
}

static int print_of(const struct request *r, const struct kind *kind, const struct facility *f)
{
  struct err err = {0};
  struct arena arena;
  struct buf bytes;
  int status;

  arena_init(&arena, SIZE_MAX); /* bounded by the suite */
  buf_init(&bytes, (size_t)256 << 20);

  struct papers_report *report = ARENA_NEW(&arena, struct papers_report);
  struct papers_request papers = {.facility = f,
                                  .size = r->size,
                                  .format = r->format,
                                  .units = r->units,
                                  .date = r->date,
                                  .report = report};

  report->arena = &arena;
  if (f->station_count == 0)
    (void)err_set(&err, ERR_INPUT, "%.100s has no stations; there is nothing to print", r->suite);
  else
    (void)kind->print(r, &papers, &bytes, &err);
  if (err.code != ERR_OK) {
    print_unprintable(r, report);
    status = refuse(&err);
  } else {
    status = write_pages(r, &papers, &bytes);
  }
  buf_release(&bytes);
  arena_release(&arena);
  return status;
}

int cli_print(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};

  if (argc > 0 && strcmp(argv[0], "label") == 0)
    return cli_print_label(argc - 1, argv + 1);
  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward print: %s; 'inward print --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }

  const struct kind *kind = find_kind(r.what);

  if (!kind) {
    fprintf(
        stderr,
        "inward print: there is no '%.40s' to print; card, marks, walk, stop, after, together, failure,"
        " leave, responder, restart, handover, incident, run or label\n",
        r.what);
    return 2;
  }

  struct facility *f = cli_load(r.suite, r.overlays, r.overlay_count, &err);

  if (!f)
    return err.code == ERR_OK ? 2 : refuse(&err);

  int status = print_of(&r, kind, f);

  facility_free(f);
  return status;
}
