/* inward match SUITE: does the model match what was measured? */
#include "cli/cli.h"

#include "cli/match_impl.h"
#include "cli/read.h"
#include "cli/walk_impl.h"
#include "cli/write.h"
#include "match/match.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward match SUITE --readings TABLE [--scene NAME] [--write OVERLAY] [--with OVERLAY]\n"
    "                    [--us] [--json]\n"
    "       inward match SUITE --walk FORM [--scene NAME] [--technician] ...\n"
    "       inward match SUITE --trend TABLE [--source ID] ...\n"
    "       inward match SUITE --record FILE [--from T] [--to T] [--at T] [--keep] ...\n"
    "       inward match SUITE --form SHEET [--readings TABLE] [--scene NAME] [--date DAY] [--us]\n\n"
    "Does the model match the building? Fits leaks, exponents, resistances, fans, flows and what the\n"
    "instruments are off by to what was measured, each inside its own ±, and says what is known better\n"
    "for it, what only together, and what no reading tells. It is no test of containment.\n\n"
    "  --readings T  a table (CSV, XLSX, ODS), a row a reading: titles of, what, value; as wished\n"
    "                reading, scene, over, unit, ±, instrument, remark. what: pressure, face velocity,\n"
    "                flow, speed. scene: parked, a scene of the suite, changes: \"busy; sash A3=work\"\n"
    "  --walk F      a filled form of 'inward walk SUITE --form F', with its --scene and --technician\n"
    "  --trend T     a table of the feeds file's source --source (not asked where only one writes tables):\n"
    "                the means of what stood still; what was not known or moved is left out, and told\n"
    "  --record R    the same of what the record holds: from --from to --to, else the last\n"
    "                'match: looks back' of the suite before its newest value; nothing behind --at\n"
    "  --keep        writes what came of it into the record, as the board does each night\n"
    "  --form F      writes a sheet to fill in and read back by --readings, with what the suite file predicts\n"
    "                and lines for who signs before anything is read: all that can be read in --scene, or the\n"
    "                rows of --readings; --date: the day on it, today without it; never over a file\n"
    "  --scene N     where the reading that is proposed next is to tell; of a walk also its own\n"
    "  --write F     the figures known better, as an overlay for --with; never over a file\n"
    "  --with F      an overlay file first: add, change, remove by id\n"
    "  --us, --json  cfm and inches of water; everything for programs (docs/api.md)\n\n"
    "Exit: 0 it matches; 1 it does not, the readings contradict each other or are too few; 2 bad\n"
    "input; 3 could not. The board does it each night where the suite says so (match: each night at).\n"
    "example: inward match examples/quillmere/suite.yaml --readings examples/quillmere/balancing.csv\n";

struct request {
  const char *suite, *readings, *walk, *trend, *record, *source, *scene, *write, *form, *date;
  const char *from, *to, *at;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool technician, keep, json, us, help;
};

/* ---- the command line ---- */

static bool take_flag(void *arg, const char *word)
{
  struct request *r = arg;
  const struct {
    const char *name;
    bool *flag;
  } flags[] = {{"--technician", &r->technician},
               {"--keep", &r->keep},
               {"--json", &r->json},
               {"--us", &r->us},
               {"--help", &r->help},
               {"-h", &r->help}};

  for (size_t i = 0; i < sizeof flags / sizeof flags[0]; i++)
    if (strcmp(word, flags[i].name) == 0)
      return *flags[i].flag = true;
  return false;
}

static enum err_code take_option(void *arg, const char *option, const char *value, struct err *err)
{
  struct request *r = arg;
  const struct {
    const char *name;
    const char **value;
  } values[] = {{"--readings", &r->readings},
                {"--walk", &r->walk},
                {"--trend", &r->trend},
                {"--source", &r->source},
                {"--scene", &r->scene},
                {"--write", &r->write},
                {"--record", &r->record},
                {"--from", &r->from},
                {"--to", &r->to},
                {"--at", &r->at},
                {"--form", &r->form},
                {"--date", &r->date}};

  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
    if (strcmp(option, values[i].name) == 0) {
      *values[i].value = value;
      return ERR_OK;
    }
  return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
}

static enum err_code take_word(void *arg, const char *word, struct err *err)
{
  struct request *r = arg;

  if (r->suite)
    return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", word);
  r->suite = word;
  return ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  static const struct cli_words words = {take_flag, take_option, take_word};
  enum err_code code = cli_read_words(argc, argv, &words, r, err);

  if (code != ERR_OK || r->help)
    return code;
  if (!r->suite)
    return err_set(err, ERR_USAGE, "which suite? inward match SUITE --readings TABLE");
  if (r->date && !r->form)
    return err_set(err, ERR_USAGE, "--date goes with --form");
  if (r->form)
    return r->walk || r->trend || r->record || r->write || r->json
               ? err_set(err, ERR_USAGE,
                         "--form goes with --readings, --scene, --date and --us alone")
               : ERR_OK;
  if ((r->readings != NULL) + (r->walk != NULL) + (r->trend != NULL) + (r->record != NULL) != 1)
    return err_set(err, ERR_USAGE,
                   "what was measured? one of --readings TABLE, --walk FORM, --trend TABLE and "
                   "--record FILE");
  if ((r->from || r->to || r->at || r->keep) && !r->record)
    return err_set(err, ERR_USAGE, "--from, --to, --at and --keep go with --record");
  if (r->keep && r->overlay_count > 0)
    return err_set(err, ERR_USAGE, "--keep is of the suite file as it stands: leave --with out");
  if (r->source && !r->trend)
    return err_set(err, ERR_USAGE, "--source goes with --trend");
  if (!r->walk && r->technician)
    return err_set(err, ERR_USAGE, "--technician goes with --walk");
  return ERR_OK;
}

/* ---- readings ---- */

struct matching {
  const struct request *r;
  struct cli_reading *suite;
  const struct facility *facility;
  struct arena *arena;
  struct match_readings *readings;
  struct nightly_asked stretch; /* of a record */
};

static void print_faults(const struct complaints *complaints, const struct facility_text *file,
                         const struct sheet_book *book)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  complaints_print(complaints, file->file, book && book->format == SHEET_CSV ? file->bytes : NULL,
                   &out);
  fputs(out.text, stderr);
  buf_release(&out);
}

/* 0, or the exit status after faults were printed or err set. */
static int read_table(struct matching *m, struct err *err)
{
  struct facility_text file = {0};
  struct complaints complaints;
  struct sheet_book *book;

  complaints_init(&complaints, m->arena);
  if (cli_read_file(m->r->readings, SHEET_MOST_BYTES, &file, err) != ERR_OK)
    return err_exit_status(err->code);
  book = sheet_read(m->r->readings, file.bytes, file.size, m->arena, &complaints);
  if (book)
    m->readings =
        (m->r->form ? match_blanks : match_table)(m->facility, book, m->arena, &complaints);
  if (!m->readings)
    print_faults(&complaints, &file, book);
  cli_free_file(&file);
  return m->readings ? 0 : 2;
}

static int read_walk(struct matching *m, struct err *err)
{
  struct walk_readings *filled = NULL;
  struct walk_plan *plan =
      cli_walk_plan(m->facility, m->r->scene, m->r->technician, m->r->walk, m->arena, err);
  int status;

  if (!plan)
    return err_exit_status(err->code);
  status = cli_walk_readings(plan, m->r->walk, m->arena, &filled, err);
  if (filled)
    m->readings = match_walk(plan, filled, m->r->walk, m->arena);
  if (filled && !m->readings)
    return err_exit_status(err_set(err, ERR_LIMIT, "the walk needs more memory than set aside"));
  return status;
}

/* ---- the overlay ---- */

static const char *source_of(const struct request *r)
{
  const char *said = r->readings ? r->readings : r->walk ? r->walk : r->trend;

  return said ? said : r->record;
}

static enum err_code write_overlay(struct matching *m, const struct match_result *result,
                                   struct err *err)
{
  const struct request *r = m->r;
  enum err_code code;
  struct buf out;

  buf_init(&out, 1 << 20);
  code =
      match_write(result, m->suite->texts, m->suite->text_count, source_of(r), m->arena, &out, err);
  if (code == ERR_OK)
    code = cli_write_file(r->write, out.text, out.used, false, err);
  buf_release(&out);
  return code;
}

static int show(struct matching *m, const struct match_result *result, struct err *err)
{
  struct buf out;
  int status;

  if (m->r->write && write_overlay(m, result, err) != ERR_OK)
    return err_exit_status(err->code);
  if (m->r->keep &&
      cli_match_keep(&(struct cli_match_record){.facility = m->facility, .record = m->r->record},
                     &m->stretch, result, m->arena, err) != ERR_OK)
    return err_exit_status(err->code);
  buf_init(&out, 16 << 20);
  if (m->r->json)
    match_json(result, &out);
  else
    match_text(result, m->r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI, &out);
  if (m->r->write && !m->r->json)
    buf_printf(&out, "%s: the figures known better; try them with --with %s\n", m->r->write,
               m->r->write);
  status = cli_show(&out, result->verdict == MATCH_MATCHES ? 0 : 1);
  buf_release(&out);
  return status;
}

/* Both know the points by the feeds file. */
static int read_points(struct matching *m, struct err *err)
{
  const struct request *r = m->r;
  struct feeds *feeds = cli_load_feeds(m->facility, r->suite, err);
  int status = 2;

  if (feeds && r->record)
    status = cli_match_record(
        &(struct cli_match_record){m->facility, feeds, r->record, r->from, r->to, r->at}, m->arena,
        &m->stretch, &m->readings, err);
  else if (feeds)
    status = cli_match_trend(&(struct cli_match_trend){m->facility, feeds, r->trend, r->source},
                             m->arena, &m->readings, err);
  else if (err->code)
    status = err_exit_status(err->code);
  feeds_free(feeds);
  return status;
}

static int read_any(struct matching *m, struct err *err)
{
  if (m->r->readings)
    return read_table(m, err);
  return m->r->walk ? read_walk(m, err) : read_points(m, err);
}

static int write_form(struct matching *m, struct err *err)
{
  struct cli_match_form asked = {
      m->facility, NULL, m->r->form, m->r->date, m->r->us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI,
      NULL};
  int status = m->r->readings ? read_table(m, err) : 0;

  if (status != 0)
    return status;
  if (m->r->scene && scene_named(m->facility, m->r->scene, &asked.scene, err) != ERR_OK)
    return err_exit_status(err->code);
  asked.blanks = m->readings;
  return cli_match_form(&asked, m->arena, err);
}

static int match_with(struct matching *m, struct err *err)
{
  struct match_options options = {0};
  const struct match_result *result;
  int status;

  if (m->r->form)
    return write_form(m, err);
  status = read_any(m, err);

  if (!m->readings || status != 0)
    return status ? status : 3;
  if (m->r->write && cli_may_write_new(m->r->write, err) != ERR_OK)
    return err_exit_status(err->code);
  if (m->r->scene && scene_named(m->facility, m->r->scene, &options.scene, err) != ERR_OK)
    return err_exit_status(err->code);
  result = match_fit(m->facility, m->readings, &options, m->arena, err);
  return result ? show(m, result, err) : err_exit_status(err->code);
}

static int run(const struct request *r, struct err *err)
{
  struct cli_reading suite;
  struct arena arena;
  int status = 2;

  arena_init(&arena, (size_t)1 << 30);
  if (cli_reading_read(&suite, r->suite, r->overlays, r->overlay_count, err) != ERR_OK) {
    status = err_exit_status(err->code);
  } else if (!suite.facility) {
    struct buf out;

    buf_init(&out, 1 << 20);
    cli_reading_print(&suite, &out);
    fputs(out.text, stderr);
    buf_release(&out);
  } else {
    struct matching m = {.r = r, .suite = &suite, .facility = suite.facility, .arena = &arena};

    status = match_with(&m, err);
  }
  arena_release(&arena);
  cli_reading_release(&suite);
  return status;
}

int cli_match(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward match: %s; 'inward match --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  status = run(&r, &err);
  if (err.text[0])
    fprintf(stderr, "inward match: %s\n", err.text);
  return status;
}
