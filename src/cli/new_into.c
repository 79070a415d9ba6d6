/* inward new LIST --into SUITE, and --sheet SUITE: a list and a suite kept in step. */
#include "cli/new_impl.h"

#include "cli/cli.h"

#include "cli/write.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static int say(const struct err *err)
{
  fprintf(stderr, "inward new: %s\n", err->text);
  return err_exit_status(err->code);
}

/* ---- what would change ---- */

static void print_change(const struct intake_change *c, struct buf *out)
{
  if (c->kind == INTAKE_MISSING)
    buf_printf(out, "- station %s: not in the list\n", c->id);
  else if (c->kind == INTAKE_ADDED)
    buf_printf(out, "+ station %s: %s   (%s)\n", c->id, c->after, c->place);
  else
    buf_printf(out, "~ station %s: %s: %s -> %s   (%s)\n", c->id, c->key,
               c->before ? c->before : "nothing", c->after, c->place);
}

static int count_of(const struct intake_change *list, int count, enum intake_change_kind kind)
{
  int n = 0;

  for (int i = 0; i < count; i++)
    n += list[i].kind == kind;
  return n;
}

static void print_text(const struct new_work *w, const struct new_request *r,
                       const struct intake_change *list, int count, bool applied, struct buf *out)
{
  int missing = count_of(list, count, INTAKE_MISSING);

  new_print_summary(w, true, out);
  buf_printf(out, "\n%s\n", r->into);
  for (int i = 0; i < count; i++)
    print_change(&list[i], out);
  if (count == 0)
    buf_puts(out, "no difference\n");
  if (missing > 0 && !r->remove_missing)
    buf_puts(out, "What the list lacks stays in the suite; --remove-missing takes it out.\n");
  if (applied)
    buf_printf(out, "%s is changed. Now: inward air %s\n", r->into, r->into);
  else if (count > (r->remove_missing ? 0 : missing))
    buf_puts(out, "Nothing is changed yet; --apply does it.\n");
}

static void print_json(const struct new_work *w, const struct new_request *r,
                       const struct intake_change *list, int count, bool applied, struct buf *out)
{
  static const char *const kinds[] = {"changed", "added", "missing"};
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.new.1");
  new_json_result(w, &json);
  emit_text(&json, "into", r->into);
  emit_bool(&json, "applied", applied);
  emit_array(&json, "changes");
  for (int i = 0; i < count; i++) {
    emit_object(&json, NULL);
    emit_text(&json, "kind", kinds[list[i].kind]);
    emit_text(&json, "station", list[i].id);
    emit_text(&json, "key", list[i].key);
    emit_text(&json, "before", list[i].before);
    emit_text(&json, "after", list[i].after);
    emit_text(&json, "cell", list[i].place);
    emit_close(&json);
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

/* ---- making it so ---- */

static bool agrees(const struct new_request *r, const struct intake_change *list, int count)
{
  char reply[40];

  if (r->apply)
    return true;
  if (r->json || r->answers || !isatty(STDIN_FILENO) || !isatty(STDERR_FILENO))
    return false;
  for (int i = 0; i < count; i++) {
    struct buf line;

    buf_init(&line, 16000);
    print_change(&list[i], &line);
    fputs(line.text, stderr);
    buf_release(&line);
  }
  fprintf(stderr, "\nChange %s so? yes or no: ", r->into);
  return fgets(reply, sizeof reply, stdin) && (reply[0] == 'y' || reply[0] == 'Y');
}

/* 0 when the suite was changed, read back, and kept. */
static int apply(struct new_work *w, const struct new_request *r)
{
  struct facility *facility = NULL;
  struct err err = {0};
  struct buf text;
  int status = 0;

  buf_init(&text, CLI_FILE_MAX);
  if (!intake_apply(w->intake, &w->suite, r->remove_missing, &w->complaints, &text)) {
    status = new_refuse(w, r->into, w->suite.bytes);
  } else {
    struct facility_text changed = {r->into, text.text, text.used};

    facility = facility_read(&changed, NULL, 0, &w->complaints);
    if (!facility) {
      fprintf(stderr, "inward new: changed so, %s would have these faults; it stays as it was\n",
              r->into);
      status = new_refuse(w, r->into, text.text);
    } else if (cli_change_file(&w->suite, text.text, text.used, &err) != ERR_OK) {
      status = say(&err);
    }
  }
  facility_free(facility);
  buf_release(&text);
  return status;
}

int new_into(struct new_work *w, const struct new_request *r)
{
  const struct intake_change *list;
  struct err err = {0};
  struct buf out;
  int count, status;
  bool applied = false;

  if (cli_read_file(r->into, CLI_FILE_MAX, &w->suite, &err) != ERR_OK)
    return say(&err);
  status = new_read_list(w, r);
  if (status != 0)
    return status;
  count = intake_compare(w->intake, &w->suite, &w->complaints, &list);
  if (count < 0)
    return new_refuse(w, r->into, w->suite.bytes);

  int to_do = count - (r->remove_missing ? 0 : count_of(list, count, INTAKE_MISSING));

  if (to_do > 0 && agrees(r, list, count)) {
    status = apply(w, r);
    if (status != 0)
      return status;
    applied = true;
  }
  buf_init(&out, 16 << 20);
  (r->json ? print_json : print_text)(w, r, list, count, applied, &out);
  status = cli_show(&out, count > 0 && !applied ? 1 : 0);
  buf_release(&out);
  return status;
}

/* ---- the list back ---- */

static bool ends_in(const char *path, const char *ending)
{
  size_t length = strlen(path), end = strlen(ending);

  return length > end && strcmp(path + length - end, ending) == 0;
}

/* The library writes into a file only: into one beside it, then into its place. */
static enum err_code write_xlsx(const struct sheet_book *book, const struct new_request *r,
                                struct err *err)
{
  struct facility_text bytes = {0};
  char beside[PATH_MAX];
  enum err_code code;

  if (snprintf(beside, sizeof beside, "%s.%ld.new", r->out, (long)getpid()) >= (int)sizeof beside)
    return err_set(err, ERR_INPUT, "%.120s...: the name is too long", r->out);

  FILE *room =
      fopen(beside, "wx"); /* the library would speak of its own of a folder it cannot use */

  if (!room)
    return err_set(err, ERR_IO, "%.120s: it could not be written: %.60s", r->out, strerror(errno));
  fclose(room);
  code = sheet_write_xlsx(book, 1, beside, err);
  if (code == ERR_OK)
    code = cli_read_file(beside, SHEET_MOST_BYTES, &bytes, err);
  if (code == ERR_OK)
    code = cli_write_file(r->out, bytes.bytes, bytes.size, r->replace, err);
  unlink(beside);
  cli_free_file(&bytes);
  return code;
}

int new_sheet(struct new_work *w, const struct new_request *r)
{
  const struct sheet_table *table;
  struct err err = {0};
  struct buf csv;
  int status = 0;

  if (cli_read_file(r->sheet, CLI_FILE_MAX, &w->suite, &err) != ERR_OK)
    return say(&err);

  struct facility *facility = facility_read(&w->suite, NULL, 0, &w->complaints);

  facility_free(facility);
  table = facility ? intake_list(&w->suite, &w->arena, &w->complaints) : NULL;
  if (!table)
    return new_refuse(w, r->sheet, w->suite.bytes);
  if (r->out && ends_in(r->out, ".xlsx")) {
    struct sheet_book book = {
        .file = r->out, .format = SHEET_XLSX, .table_count = 1, .tables = table};

    return write_xlsx(&book, r, &err) == ERR_OK ? 0 : say(&err);
  }
  if (r->out && !ends_in(r->out, ".csv")) {
    fprintf(stderr, "inward new: '%s': a list is written as .csv or .xlsx\n", r->out);
    return 2;
  }
  buf_init(&csv, 16 << 20);
  sheet_write_csv(table, &csv);
  if (!r->out)
    status = cli_show(&csv, 0);
  else if (cli_write_file(r->out, csv.text, csv.used, r->replace, &err) != ERR_OK)
    status = say(&err);
  buf_release(&csv);
  return status;
}
