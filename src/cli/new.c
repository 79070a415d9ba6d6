/* inward new: from a station list to a first suite, and back. */
#include "cli/cli.h"

#include "base/emit.h"
#include "cli/new_impl.h"
#include "cli/read.h"
#include "cli/write.h"
#include "intake/intake.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static const char help[] =
    "usage: inward new LIST [-o SUITE] [--answers FILE] [--table NAME] [--with OVERLAY]... [--json]\n"
    "       inward new LIST --into SUITE [--apply] [--remove-missing] [--answers FILE] [--json]\n"
    "       inward new --sheet SUITE [-o LIST.csv|LIST.xlsx]\n\n"
    "A first suite from the station list you have: XLSX, ODS or CSV. Finds the list among the\n"
    "sheets, reads its columns by their headers, and names every cell it cannot be sure of. One bad\n"
    "row never refuses the list. Asks at most five questions; \"don't know\" is an answer.\n\n"
    "  -o FILE          write it there; without it the suite is printed\n"
    "  --replace        the file may exist already\n"
    "  --answers FILE   'key: answer' lines instead of questions; with neither this nor a terminal\n"
    "                   every answer is \"don't know\"\n"
    "  --table NAME     which sheet, or the cell where the header begins: Stations!A20\n"
    "  --with OVERLAY   apply an overlay and write one suite that stands alone\n"
    "  --into SUITE     read the list again: shows what would change in an existing suite\n"
    "  --apply          ... and changes it, leaving everything else of the file as it stands\n"
    "  --remove-missing ... and takes out stations that the list no longer has\n"
    "  --sheet SUITE    write the station list back\n"
    "  --json           faults by cell, questions and answers, as JSON\n\n"
    "Exit: 0 done; 1 with --into: something would change; 2 refused, nothing written; 3 could not.\n"
    "example: inward new stations.xlsx -o suite.yaml && inward air suite.yaml\n";

static enum err_code take_value(int argc, char **argv, int *i, const char **into, struct err *err)
{
  if (*into)
    return err_set(err, ERR_USAGE, "%.40s twice", argv[*i]);
  if (*i + 1 == argc)
    return err_set(err, ERR_USAGE, "%.40s: a value is missing", argv[*i]);
  *into = argv[++*i];
  return ERR_OK;
}

static enum err_code read_option(int argc, char **argv, int *i, struct new_request *r,
                                 struct err *err)
{
  const struct {
    const char *word;
    const char **text;
    bool *flag;
  } options[] = {{"-o", &r->out, NULL},        {"--answers", &r->answers, NULL},
                 {"--table", &r->table, NULL}, {"--into", &r->into, NULL},
                 {"--sheet", &r->sheet, NULL}, {"--replace", NULL, &r->replace},
                 {"--apply", NULL, &r->apply}, {"--remove-missing", NULL, &r->remove_missing},
                 {"--json", NULL, &r->json},   {"--help", NULL, &r->help},
                 {"-h", NULL, &r->help}};
  const char *overlay = NULL;

  for (size_t k = 0; k < sizeof options / sizeof options[0]; k++) {
    if (strcmp(argv[*i], options[k].word) != 0)
      continue;
    if (options[k].text)
      return take_value(argc, argv, i, options[k].text, err);
    *options[k].flag = true;
    return ERR_OK;
  }
  if (strcmp(argv[*i], "--with") == 0) {
    enum err_code code = take_value(argc, argv, i, &overlay, err);

    return code == ERR_OK ? cli_take_overlay(r->overlays, &r->overlay_count, overlay, err) : code;
  }
  if (argv[*i][0] == '-' && argv[*i][1] != '\0')
    return err_set(err, ERR_USAGE, "what is '%.40s'?", argv[*i]);
  if (r->list)
    return err_set(err, ERR_USAGE, "one list at a time; what is '%.40s'?", argv[*i]);
  r->list = argv[*i];
  return ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct new_request *r, struct err *err)
{
  enum err_code code = ERR_OK;

  for (int i = 0; i < argc && code == ERR_OK; i++)
    code = read_option(argc, argv, &i, r, err);
  if (code != ERR_OK || r->help)
    return code;
  if (r->sheet && (r->list || r->into))
    return err_set(err, ERR_USAGE, "--sheet SUITE stands alone, with -o at most");
  if (!r->sheet && !r->list)
    return err_set(err, ERR_USAGE, "which list? inward new LIST");
  if (!r->into && (r->apply || r->remove_missing))
    return err_set(err, ERR_USAGE, "--apply and --remove-missing go with --into SUITE");
  if (r->into && (r->out || r->overlay_count > 0))
    return err_set(err, ERR_USAGE, "--into SUITE goes with neither -o nor --with");
  return ERR_OK;
}

/* ---- asking ---- */

/* One line from the terminal, without its end; false at the end of input. */
static bool read_reply(char *text, size_t size)
{
  if (!fgets(text, (int)size, stdin))
    return false;
  text[strcspn(text, "\r\n")] = '\0';
  return true;
}

static void ask_one(struct intake *in, const struct intake_question *q)
{
  enum { TRIES = 3 };
  const char *key = q->key;
  struct err err = {0};
  char reply[400];

  fprintf(stderr, "\n%s\n", q->ask);
  if (!q->same)
    fprintf(stderr, "  where: %s\n  e.g. %s; Enter: don't know\n", q->find, q->hint);
  for (int i = 0; i < TRIES; i++) {
    fputs("> ", stderr);
    if (!read_reply(reply, sizeof reply))
      break;
    if (intake_answer(in, key, reply, &err) == ERR_OK)
      return;
    fprintf(stderr, "  %s\n", err.text);
  }
  if (intake_answer(in, key, "don't know", &err) != ERR_OK)
    BUG_IF(true);
  fputs("  taken as: don't know\n", stderr);
}

/* What was made of the sheets and columns, before anybody answers anything about them. */
static void say_heard(const struct new_work *w)
{
  struct intake_result heard = intake_heard(w->intake);

  fprintf(stderr, "%s%s%s: %d rows, %d stations\n", w->list.file,
          heard.table[0] != '\0' ? ", sheet " : "", heard.table, heard.row_count,
          heard.station_count);
  for (int i = 0; i < heard.remark_count; i++)
    fprintf(stderr, "  %s%s%s\n", heard.remarks[i].place,
            heard.remarks[i].place[0] != '\0' ? ": " : "", heard.remarks[i].text);
  fprintf(stderr,
          "A few questions; nothing is written before the last. Ctrl-C ends it, to mend the "
          "list first.\n");
}

static void ask_all(struct new_work *w, bool interactive)
{
  struct intake *in = w->intake;
  const struct intake_question *q;
  struct err err = {0};

  if (interactive && intake_next(in))
    say_heard(w);
  while ((q = intake_next(in)) != NULL)
    if (interactive)
      ask_one(in, q);
    else if (intake_answer(in, q->key, "don't know", &err) != ERR_OK)
      BUG_IF(true);
}

/* ---- reading ---- */

int new_refuse(const struct new_work *w, const char *file, const char *source)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  complaints_print(&w->complaints, file, source, &out);
  fputs(out.text, stderr);
  buf_release(&out);
  return 2;
}

static int answers_from_file(struct new_work *w, const struct new_request *r)
{
  struct err err = {0};

  if (cli_read_file(r->answers, 1 << 16, &w->answers, &err) != ERR_OK) {
    fprintf(stderr, "inward new: %s\n", err.text);
    return err_exit_status(err.code);
  }
  if (intake_answers(w->intake, &w->answers, &w->complaints))
    return 0;
  return new_refuse(w, w->answers.file, w->answers.bytes);
}

int new_read_list(struct new_work *w, const struct new_request *r)
{
  struct err err = {0};
  struct sheet_book *book;

  if (cli_read_file(r->list, SHEET_MOST_BYTES, &w->list, &err) != ERR_OK) {
    fprintf(stderr, "inward new: %s\n", err.text);
    return err_exit_status(err.code);
  }
  book = sheet_read(w->list.file, w->list.bytes, w->list.size, &w->arena, &w->complaints);
  w->intake = book ? intake_read(book, r->table, &w->arena, &w->complaints) : NULL;
  if (!w->intake)
    return new_refuse(w, w->list.file, NULL);
  if (r->into)
    intake_beside_suite(w->intake);
  if (r->answers) {
    int status = answers_from_file(w, r);

    if (status != 0)
      return status;
  }
  ask_all(w, !r->answers && !r->json && isatty(STDIN_FILENO) && isatty(STDERR_FILENO));
  w->result = intake_finish(w->intake);
  return 0;
}

void new_work_begin(struct new_work *w)
{
  *w = (struct new_work){0};
  arena_init(&w->arena, SIZE_MAX); /* bounded by what sheet and intake take */
  complaints_init(&w->complaints, &w->arena);
}

void new_work_end(struct new_work *w)
{
  cli_free_file(&w->list);
  cli_free_file(&w->answers);
  cli_free_file(&w->suite);
  arena_release(&w->arena);
}

/* ---- what was read ---- */

static void print_remarks(const struct new_work *w, enum intake_weight weight, const char *title,
                          struct buf *out)
{
  const struct intake_result *r = w->result;
  bool any = false;

  for (int i = 0; i < r->remark_count; i++) {
    const struct intake_remark *m = &r->remarks[i];

    if (m->weight != weight)
      continue;
    if (!any)
      buf_printf(out, "\n%s\n", title);
    any = true;
    buf_printf(out, "  %s: %s%s%s\n", w->list.file, m->place, m->place[0] != '\0' ? ": " : "",
               m->text);
  }
}

void new_print_summary(const struct new_work *w, bool into, struct buf *out)
{
  const struct intake_result *r = w->result;
  const struct intake_reply *replies;
  int count = intake_replies(w->intake, &replies);

  buf_printf(out, "%s%s%s: %d rows, %d stations", w->list.file,
             r->table[0] != '\0' ? ", sheet " : "", r->table, r->row_count, r->station_count);
  if (r->left_out_count > 0)
    buf_printf(out, into ? ", %d without a flow" : ", %d left out", r->left_out_count);
  buf_putc(out, '\n');
  print_remarks(w, INTAKE_FAULT, "Not used; mend these in the list:", out);
  print_remarks(w, INTAKE_NOTICE, "To know:", out);
  if (r->remarks_dropped > 0)
    buf_printf(out, "  and %d more\n", r->remarks_dropped);
  if (count > 0)
    buf_puts(out, "\nAnswers\n");
  for (int i = 0; i < count; i++)
    buf_printf(out, "  %s: %s%s\n", replies[i].key,
               replies[i].text ? replies[i].text : "don't know",
               replies[i].used ? "" : "   (not needed for this list)");
}

void new_json_result(const struct new_work *w, struct emit *json)
{
  const struct intake_result *r = w->result;
  const struct intake_reply *replies;
  int count = intake_replies(w->intake, &replies);

  emit_text(json, "list", w->list.file);
  emit_text(json, "table", r->table);
  emit_int(json, "rows", r->row_count);
  emit_int(json, "stations", r->station_count);
  emit_int(json, "left_out", r->left_out_count);
  emit_array(json, "remarks");
  for (int i = 0; i < r->remark_count; i++) {
    const struct intake_remark *m = &r->remarks[i];

    emit_object(json, NULL);
    emit_text(json, "weight", m->weight == INTAKE_FAULT ? "fault" : "notice");
    emit_text(json, "cell", m->row < 0 ? NULL : m->place);
    emit_text(json, "text", m->text);
    emit_close(json);
  }
  emit_close(json);
  emit_int(json, "remarks_not_listed", r->remarks_dropped);
  emit_array(json, "answers");
  for (int i = 0; i < count; i++) {
    emit_object(json, NULL);
    emit_text(json, "key", replies[i].key);
    emit_text(json, "answer", replies[i].text);
    emit_bool(json, "asked", replies[i].asked);
    emit_bool(json, "used", replies[i].used);
    emit_close(json);
  }
  emit_close(json);
}

/* ---- a first suite ---- */

static void print_made(const struct new_work *w, const struct new_request *r,
                       const struct buf *suite)
{
  struct buf out;

  buf_init(&out, 8 << 20);
  if (r->json) {
    struct emit json;

    emit_begin(&json, &out);
    emit_object(&json, NULL);
    emit_text(&json, "schema", "inward.new.1");
    new_json_result(w, &json);
    emit_text(&json, "written", r->out);
    emit_text(&json, "suite_yaml", r->out ? NULL : suite->text);
    emit_close(&json);
    emit_end(&json);
    fputs(out.text, stdout);
  } else {
    new_print_summary(w, false, &out);
    if (r->out)
      buf_printf(&out, "\n%s is written. Now: inward air %s\n", r->out, r->out);
    else
      fputs(suite->text, stdout);
    fputs(out.text, r->out ? stdout : stderr);
  }
  buf_release(&out);
}

static const char *base_name(const char *path)
{
  const char *slash = strrchr(path, '/');

  return slash ? slash + 1 : path;
}

/* A name of a file may hold what would end the comment. */
static void put_name(struct buf *out, const char *path)
{
  for (const char *p = base_name(path); *p != '\0'; p++)
    buf_putc(out, (unsigned char)*p < 0x20 || *p == 0x7F ? ' ' : *p);
}

/* The merged text with a line that says what it was made of, behind the one for editors. */
static void say_made_of(const struct new_request *r, const struct buf *merged, struct buf *suite)
{
  size_t first = strcspn(merged->text, "\n") + 1;

  buf_clear(suite);
  buf_add(suite, merged->text, first);
  buf_puts(suite, "# Made by `inward new ");
  put_name(suite, r->list);
  if (r->answers) {
    buf_puts(suite, " --answers ");
    put_name(suite, r->answers);
  }
  for (int i = 0; i < r->overlay_count; i++) {
    buf_puts(suite, " --with ");
    put_name(suite, r->overlays[i]);
  }
  buf_puts(suite, "`: change those, not this.\n");
  buf_add(suite, merged->text + first, merged->used - first);
}

/* The overlays applied: one suite that stands alone takes the place of the text. */
static int merge(struct new_work *w, const struct new_request *r, struct buf *suite)
{
  struct facility_text texts[CLI_OVERLAYS_MAX] = {0}, text = {"the list", suite->text, suite->used};
  struct err err = {0};
  struct buf merged;
  int status = 0, read = 0;

  buf_init(&merged, 8 << 20);
  for (; read < r->overlay_count && status == 0; read++)
    if (cli_read_file(r->overlays[read], CLI_FILE_MAX, &texts[read], &err) != ERR_OK) {
      fprintf(stderr, "inward new: %s\n", err.text);
      status = err_exit_status(err.code);
    }
  if (status == 0 && !facility_print_suite(&text, texts, r->overlay_count, &w->complaints, &merged))
    status = new_refuse(w, "", NULL);
  if (status == 0)
    say_made_of(r, &merged, suite);
  for (int i = 0; i < read; i++)
    cli_free_file(&texts[i]);
  buf_release(&merged);
  return status;
}

/* The text of the suite passes `check`, or nothing is written. */
static bool suite_is_good(struct new_work *w, const struct new_request *r, struct buf *suite)
{
  struct facility_text text = {r->out ? r->out : "suite.yaml", suite->text, suite->used};
  struct facility *facility = facility_read(&text, NULL, 0, &w->complaints);

  if (!facility)
    new_refuse(w, text.file, suite->text);
  facility_free(facility);
  return facility != NULL;
}

static int make(struct new_work *w, const struct new_request *r)
{
  struct err err = {0};
  struct buf suite;
  int status;

  if (r->out && cli_may_write(r->out, r->replace, &err) != ERR_OK) { /* before anything is asked */
    fprintf(stderr, "inward new: %s\n", err.text);
    return err_exit_status(err.code);
  }
  status = new_read_list(w, r);
  if (status != 0)
    return status;
  if (w->result->station_count == 0) {
    struct buf out;

    buf_init(&out, 8 << 20);
    new_print_summary(w, false, &out);
    fputs(out.text, stderr);
    fprintf(stderr,
            "\ninward new: no station could be written from this list; nothing was written\n");
    buf_release(&out);
    return 2;
  }
  buf_init(&suite, 8 << 20);
  intake_suite(w->intake, &suite);
  status = r->overlay_count > 0 ? merge(w, r, &suite) : 0;
  if (status != 0) {
    /* said already */
  } else if (suite.full || !suite_is_good(w, r, &suite)) {
    status = 2;
  } else if (r->out && cli_write_file(r->out, suite.text, suite.used, r->replace, &err) != ERR_OK) {
    fprintf(stderr, "inward new: %s\n", err.text);
    status = err_exit_status(err.code);
  } else {
    print_made(w, r, &suite);
  }
  buf_release(&suite);
  return status;
}

int cli_new(int argc, char **argv)
{
  struct new_request r = {0};
  struct new_work w;
  struct err err = {0};
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward new: %s; 'inward new --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  new_work_begin(&w);
  status = r.sheet ? new_sheet(&w, &r) : r.into ? new_into(&w, &r) : make(&w, &r);
  new_work_end(&w);
  return status;
}
