/* inward take SUITE TABLE...: an e-mailed table into the record. */
#include "cli/cli.h"
#include "past/past.h"

#include "base/emit.h"
#include "cli/read.h"
#include "cli/take_impl.h"
#include "cli/zone.h"
#include "feed/feed.h"
#include "record/record.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char help[] =
    "usage: inward take SUITE TABLE... [--source ID] (--record FILE | --dry) [--with OVERLAY]...\n"
    "                   [--json]\n\n"
    "Reads exported tables (CSV) by the mapping of the suite's feeds file and puts every value into\n"
    "the record, with the table itself. What could not be read, or was left out, is named. A table\n"
    "whose columns are not those of the mapping is refused, with its first ten lines. A table that\n"
    "was taken before adds nothing.\n\n"
    "  --source ID    the source of the feeds file; may be left out where only one has tables\n"
    "  --record FILE  the record; made where there is none\n"
    "  --dry          only say what would be taken, point by point\n"
    "  --with F       apply an overlay file first; several apply in the order given\n"
    "  --json         for programs\n\n"
    "Of a source of bookings (calendar) it lists what an .ics file says, with --source and --dry, from\n"
    "a day ago to two weeks ahead, or --from T --to T. Bookings are not kept in the record.\n\n"
    "Exit: 0 every table was taken; 2 one was refused, or bad input; 3 could not.\n"
    "example: inward take suite.yaml trend-2026-10.csv --source trend --dry\n";

enum { TABLES_MAX = 400, BATCH = 4096 };

struct request {
  const char *suite, *source, *record, *from, *to;
  const char *tables[TABLES_MAX];
  const char *overlays[CLI_OVERLAYS_MAX];
  int table_count, overlay_count;
  bool dry, json, help;
};

static enum err_code take_word(struct request *r, const char *word, struct err *err)
{
  if (!r->suite) {
    r->suite = word;
    return ERR_OK;
  }
  if (r->table_count == TABLES_MAX)
    return err_set(err, ERR_USAGE, "at most %d tables at once", TABLES_MAX);
  r->tables[r->table_count++] = word;
  return ERR_OK;
}

static enum err_code take_option(struct request *r, const char *option, const char *value,
                                 struct err *err)
{
  if (value && strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (value && strcmp(option, "--source") == 0)
    r->source = value;
  else if (value && strcmp(option, "--record") == 0)
    r->record = value;
  else if (value && strcmp(option, "--from") == 0)
    r->from = value;
  else if (value && strcmp(option, "--to") == 0)
    r->to = value;
  else
    return err_set(err, ERR_USAGE, "'%.40s' is no option here, or lacks its value", option);
  return ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; i < argc && code == ERR_OK; i++) {
    if (strcmp(argv[i], "--json") == 0)
      r->json = true;
    else if (strcmp(argv[i], "--dry") == 0)
      r->dry = true;
    else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
      r->help = true;
    else if (argv[i][0] != '-')
      code = take_word(r, argv[i], err);
    else {
      code = take_option(r, argv[i], i + 1 < argc ? argv[i + 1] : NULL, err);
      i++;
    }
  }
  if (code != ERR_OK || r->help)
    return code;
  if (r->table_count == 0)
    return err_set(err, ERR_USAGE, "which table? inward take SUITE TABLE...");
  if (!r->dry == !r->record)
    return err_set(err, ERR_USAGE,
                   r->dry ? "--dry writes nothing: take --record out, or --dry"
                          : "into which record? Name it with --record, or say --dry");
  return ERR_OK;
}

/* ---- one run ---- */

/* What was seen of one point, for judging a mapping. */
struct seen {
  long good, missing, unreadable, faulty, future;
  double lowest_si, highest_si;
};

struct run {
  const struct request *request;
  struct cli_reading reading;
  const struct facility *facility;
  const struct feeds *feeds;
  int source;
  struct arena arena; /* of the run */
  const struct when_zone *zone;
  struct record *record; /* NULL when dry */
  struct seen *seen;     /* by point, of one table */
  struct feed_observation *batch;
  int batch_count;
  struct record_added added;
  enum err_code code; /* of adding */
  struct err *err;
  struct emit json;
  struct buf out;
};

/* Opened by the first table that is not refused: bad input makes no file. */
static void open_record(struct run *run)
{
  if (run->request->dry || run->record || run->code != ERR_OK)
    return;
  run->code = record_open(run->request->record, RECORD_WRITE, &run->record, run->err);
  if (run->code == ERR_OK)
    run->code = record_of(run->record, run->facility, run->err);
  if (run->code == ERR_OK)
    run->code = record_bind(run->record, run->facility, run->feeds, cli_now_ms(), run->err);
}

static void hand_over(struct run *run)
{
  struct record_added added = {0};

  if (run->batch_count > 0)
    open_record(run);
  if (run->record && run->code == ERR_OK && run->batch_count > 0)
    run->code = record_add(run->record, run->batch, run->batch_count, &added, run->err);
  run->added.kept += added.kept;
  run->added.doubled += added.doubled;
  run->added.too_old += added.too_old;
  run->batch_count = 0;
}

static void take_observation(void *arg, const struct feed_observation *o)
{
  struct run *run = arg;
  struct seen *seen = &run->seen[o->point];

  if (o->quality == FEED_GOOD) {
    seen->lowest_si = seen->good == 0 || o->si < seen->lowest_si ? o->si : seen->lowest_si;
    seen->highest_si = seen->good == 0 || o->si > seen->highest_si ? o->si : seen->highest_si;
  }
  seen->good += o->quality == FEED_GOOD;
  seen->missing += o->quality == FEED_MISSING;
  seen->unreadable += o->quality == FEED_UNREADABLE;
  seen->faulty += o->quality == FEED_FAULTY;
  seen->future += o->quality == FEED_FUTURE;
  run->batch[run->batch_count++] = *o;
  if (run->batch_count == BATCH)
    hand_over(run);
}

/* ---- what is said of a table ---- */

static void put_si(const struct feeds_point *p, double si, struct buf *out)
{
  if (p->yes_no)
    buf_puts(out, si == 1 ? "yes" : "no");
  else if (p->count || p->dimension == UNITS_RATIO)
    buf_printf(out, "%.6g", si);
  else
    units_print_in(out, si, p->dimension,
                   p->unit_text && units_knows(p->unit_text, p->dimension)
                       ? p->unit_text
                       : units_si_text(p->dimension));
}

static void put_seen(const struct run *run, struct buf *out)
{
  buf_printf(out, "  %-12s %-8s %-14s %8s %8s %10s  %s\n", "point", "of", "what", "good", "missing",
             "unreadable", "from ... to");
  for (int i = 0; i < run->feeds->point_count; i++) {
    const struct feeds_point *p = &run->feeds->points[i];
    const struct seen *s = &run->seen[i];
    struct buf about;

    if (p->source != run->source)
      continue;
    buf_init(&about, 100);
    feeds_about(run->facility, p, &about);
    buf_printf(out, "  %-12s %-8s %-14s %8ld %8ld %10ld  ", p->part.id,
               about.used ? about.text : "suite", feeds_what_name(p->what), s->good, s->missing,
               s->unreadable + s->faulty + s->future);
    if (s->good > 0) {
      put_si(p, s->lowest_si, out);
      buf_puts(out, " ... ");
      put_si(p, s->highest_si, out);
    } else {
      buf_puts(out, "nothing was read");
    }
    buf_putc(out, '\n');
    buf_release(&about);
  }
}

static void emit_seen(struct run *run)
{
  struct emit *json = &run->json;

  emit_array(json, "points");
  for (int i = 0; i < run->feeds->point_count; i++) {
    const struct seen *s = &run->seen[i];

    if (run->feeds->points[i].source != run->source)
      continue;
    emit_object(json, NULL);
    emit_text(json, "id", run->feeds->points[i].part.id);
    emit_text(json, "si_unit", units_si_text(run->feeds->points[i].dimension));
    emit_int(json, "good", s->good);
    emit_int(json, "missing", s->missing);
    emit_int(json, "unreadable", s->unreadable);
    emit_int(json, "faulty", s->faulty);
    emit_int(json, "future", s->future);
    emit_number_if(json, "lowest_si", s->good > 0, s->lowest_si);
    emit_number_if(json, "highest_si", s->good > 0, s->highest_si);
    emit_close(json);
  }
  emit_close(json);
}

static void emit_report(struct run *run, const char *table, bool taken, bool known,
                        const struct feed_table_report *r)
{
  struct emit *json = &run->json;
  bool any = r->values + r->missing + r->unreadable + r->faulty + r->future > 0;

  emit_object(json, NULL);
  emit_text(json, "table", table);
  emit_bool(json, "taken", taken);
  emit_bool(json, "taken_before", known);
  emit_text(json, "encoding", r->encoding);
  when_emit(json, "from", any ? r->first_ms : INT64_MIN);
  when_emit(json, "to", any ? r->last_ms : INT64_MIN);
  emit_int(json, "rows", r->rows);
  emit_int(json, "values", r->values);
  emit_int(json, "missing", r->missing);
  emit_int(json, "unreadable", r->unreadable);
  emit_int(json, "faulty", r->faulty);
  emit_int(json, "future", r->future);
  emit_int(json, "rows_unread", r->unread_rows);
  emit_int(json, "rows_of_two_moments", r->ambiguous_rows);
  emit_int(json, "rows_of_no_moment", r->never_rows);
  emit_int(json, "kept", run->added.kept);
  emit_int(json, "doubled", run->added.doubled);
  emit_array(json, "unmapped");
  for (int i = 0; i < r->unmapped_count; i++)
    emit_text(json, NULL, r->unmapped[i]);
  emit_close(json);
  if (taken)
    emit_seen(run);
}

static void emit_faults(struct emit *json, const struct complaints *complaints)
{
  emit_array(json, "faults");
  for (int i = 0; i < complaints->count; i++) {
    emit_object(json, NULL);
    emit_int(json, "line", complaints->list[i].place.line);
    emit_int(json, "column", complaints->list[i].place.column);
    emit_text(json, "text", complaints->list[i].text);
    emit_close(json);
  }
  emit_close(json);
  emit_int(json, "faults_not_listed", complaints->dropped);
  emit_close(json); /* of the table */
}

/* ---- one table ---- */

/* The table itself and what was said of it, once its values are there. */
static enum err_code keep_table(struct run *run, const struct facility_text *text, int64_t seen_ms,
                                const char *said, bool *known_out)
{
  const char *slash = strrchr(text->file, '/');
  const char *id = run->feeds->sources[run->source].part.id;
  struct record_raw raw = {.source = id,
                           .name = slash ? slash + 1 : text->file,
                           .bytes = text->bytes,
                           .size = text->size,
                           .seen_ms = seen_ms};
  enum err_code code = record_keep_raw(run->record, &raw, known_out, run->err);
  struct record_entry entry = {.t_ms = seen_ms,
                               .written_ms = seen_ms,
                               .kind = RECORD_TAKEN,
                               .about = "",
                               .who = "inward",
                               .detail = ""};

  if (code != ERR_OK || *known_out)
    return code;
  entry.text = arena_printf(&run->arena, "%s from source %s: %s", raw.name, id, said);
  if (!entry.text)
    entry.text = raw.name;
  return record_append(run->record, &entry, run->err);
}

static void say_taken(struct run *run, const char *table, const struct feed_table_report *report,
                      const char *said, bool known)
{
  buf_printf(&run->out, "%s: %s", table, said);
  if (run->request->dry)
    buf_puts(&run->out, "dry: nothing was written\n");
  if (run->record)
    buf_printf(&run->out, "%ld kept, %ld were there already%s\n", run->added.kept,
               run->added.doubled, known ? " (this table was taken before)" : "");
  if (report->encoding && strcmp(report->encoding, "Windows-1252") == 0)
    buf_puts(&run->out, "it says no encoding and was read as Windows-1252\n");
  put_seen(run, &run->out);
}

static void print_faults(const struct complaints *complaints, const struct facility_text *text,
                         const char *encoding)
{
  bool shown = encoding && strcmp(encoding, "UTF-8") == 0; /* else its lines are no text to print */
  struct buf faults;

  buf_init(&faults, 1 << 20);
  complaints_print(complaints, text->file, shown ? text->bytes : NULL, &faults);
  fputs(faults.text, stderr);
  buf_release(&faults);
}

/* Exit status of one table; run->err says what the record could not. */
static int take_table(struct run *run, const char *table, struct facility_text *text)
{
  struct feed_table_job job = {run->feeds, run->source, run->zone, text, cli_now_ms()};
  struct feed_sink sink = {take_observation, run};
  struct feed_table_report report;
  struct complaints complaints;
  struct arena arena;
  struct buf said;
  bool taken, known = false;

  arena_init(&arena, (size_t)1 << 30);
  complaints_init(&complaints, &arena);
  buf_init(&said, 1 << 16);
  memset(run->seen, 0, (size_t)run->feeds->point_count * sizeof *run->seen);
  run->added = (struct record_added){0};
  taken = feed_table(&job, &sink, &arena, &complaints, &report);
  hand_over(run);
  feed_table_print(&report, run->zone, &said);
  if (taken)
    open_record(run);
  if (taken && run->record && run->code == ERR_OK)
    run->code = keep_table(run, text, job.seen_ms, said.text, &known);
  if (run->request->json) {
    emit_report(run, table, taken && run->code == ERR_OK, known, &report);
    emit_faults(&run->json, &complaints);
  } else {
    print_faults(&complaints, text, report.encoding);
    if (taken && run->code == ERR_OK)
      say_taken(run, table, &report, said.text, known);
    else if (!taken)
      buf_printf(&run->out, "%s: refused\n", table);
  }
  buf_release(&said);
  arena_release(&arena);
  return run->code != ERR_OK ? err_exit_status(run->code) : taken ? 0 : 2;
}

/* ---- bookings ---- */

static enum err_code window_of(const struct run *run, struct take_calendar *out)
{
  static const int64_t day_ms = 86400000;
  const struct request *r = run->request;
  enum err_code code = ERR_OK;

  out->from_ms = cli_now_ms() - day_ms;
  out->to_ms = cli_now_ms() + 14 * day_ms;
  if (r->from)
    code = when_read(r->from, run->zone, NULL, &out->from_ms, run->err);
  if (code == ERR_OK && r->to)
    code = when_read(r->to, run->zone, NULL, &out->to_ms, run->err);
  if (code == ERR_OK && out->from_ms >= out->to_ms)
    code = err_set(run->err, ERR_INPUT, "--from must be before --to");
  return code;
}

static int list_bookings(struct run *run)
{
  const struct request *r = run->request;
  struct take_calendar asked = {.source = &run->feeds->sources[run->source], .zone = run->zone};
  int worst = 0;

  if (window_of(run, &asked) != ERR_OK)
    return err_exit_status(run->err->code);
  for (int i = 0; i < r->table_count && !run->err->text[0]; i++) {
    asked.path = r->tables[i];
    int status = take_calendar(&asked, &run->out, r->json ? &run->json : NULL, run->err);

    worst = status > worst ? status : worst;
  }
  return worst;
}

static int take_all(struct run *run)
{
  int worst = 0;

  if (run->feeds->sources[run->source].kind == FEEDS_CALENDAR)
    return list_bookings(run);

  for (int i = 0; i < run->request->table_count && run->code == ERR_OK; i++) {
    struct facility_text text = {0};
    int status;

    if (cli_read_file(run->request->tables[i], FEED_TABLE_MOST_BYTES, &text, run->err) != ERR_OK)
      return err_exit_status(run->err->code);
    status = take_table(run, run->request->tables[i], &text);
    cli_free_file(&text);
    worst = status > worst ? status : worst;
  }
  return worst;
}

/* ---- before the first ---- */

static bool is_asked(const struct run *run, const struct feeds_source *source)
{
  const char *id = run->request->source;

  return id ? strcmp(source->part.id, id) == 0 : source->kind == FEEDS_CSV;
}

static enum err_code find_source(struct run *run)
{
  const char *id = run->request->source;
  int count = 0;

  for (int i = 0; i < run->feeds->source_count; i++)
    if (is_asked(run, &run->feeds->sources[i])) {
      run->source = i;
      count++;
    }
  if (count == 0)
    return err_set(run->err, ERR_INPUT,
                   id ? "no source '%.40s' in the feeds file"
                      : "the feeds file has no source of tables%s",
                   id ? id : " (csv)");
  if (count > 1)
    return err_set(run->err, ERR_USAGE, "which source? Name it with --source: %d have tables",
                   count);

  enum feeds_kind kind = run->feeds->sources[run->source].kind;

  if (kind != FEEDS_CSV && kind != FEEDS_CALENDAR)
    return err_set(run->err, ERR_INPUT,
                   "'%.40s' is no source of tables (csv) or bookings (calendar)", id);
  if (kind == FEEDS_CALENDAR && !run->request->dry)
    return err_set(run->err, ERR_USAGE, "bookings are not kept; look at them with --dry");
  if (kind == FEEDS_CSV && (run->request->from || run->request->to))
    return err_set(run->err, ERR_USAGE, "--from and --to are for bookings; a table is taken whole");
  return ERR_OK;
}

static enum err_code prepare(struct run *run)
{
  enum err_code code = find_source(run);

  if (code == ERR_OK)
    code = cli_zone_read(run->feeds->sources[run->source].table.zone, &run->arena, &run->zone,
                         run->err);
  run->seen = ARENA_ARRAY(&run->arena, struct seen, (size_t)run->feeds->point_count + 1);
  run->batch = ARENA_ARRAY(&run->arena, struct feed_observation, BATCH);
  BUG_IF(!run->seen || !run->batch);
  return code;
}

static int answer(struct run *run)
{
  const struct request *r = run->request;
  enum err_code code =
      cli_reading_read(&run->reading, r->suite, r->overlays, r->overlay_count, run->err);

  if (code == ERR_OK)
    code = cli_reading_feeds(&run->reading, run->err);
  if (code != ERR_OK)
    return err_exit_status(code);

  struct buf faults;

  buf_init(&faults, 1 << 20);
  cli_reading_print(&run->reading, &faults);
  fputs(faults.text, stderr);
  buf_release(&faults);
  run->facility = run->reading.facility;
  run->feeds = run->reading.feeds;
  if (run->facility && !run->facility->feeds_file)
    return err_exit_status(err_set(run->err, ERR_INPUT,
                                   "%.100s names no feeds file; write files: {feeds: feeds.yaml}",
                                   r->suite));
  if (!run->feeds)
    return 2;
  code = prepare(run);
  return code == ERR_OK ? take_all(run) : err_exit_status(code);
}

static void begin_json(struct run *run)
{
  emit_begin(&run->json, &run->out);
  emit_object(&run->json, NULL);
  emit_text(&run->json, "schema", "inward.take.1");
  emit_bool(&run->json, "dry", run->request->dry);
  emit_array(&run->json, "tables");
}

static void end_json(struct run *run)
{
  emit_close(&run->json);
  emit_close(&run->json);
  emit_end(&run->json);
}

int cli_take(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct run run = {.request = &r, .err = &err};
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward take: %s; 'inward take --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  arena_init(&run.arena, 64 << 20);
  buf_init(&run.out, 64 << 20);
  if (r.json)
    begin_json(&run);
  status = answer(&run);
  if (r.json)
    end_json(&run);
  if (err.text[0])
    fprintf(stderr, "inward take: %s\n", err.text);
  if (run.out.used > 0)
    status = cli_show(&run.out, status);
  record_close(run.record);
  buf_release(&run.out);
  arena_release(&run.arena);
  cli_reading_release(&run.reading);
  return status;
}
