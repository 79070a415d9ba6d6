/* inward diff A B: what differs between two suites. */
#include "cli/cli.h"

#include "base/json.h"
#include "cli/read.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward diff BEFORE AFTER [--json]\n\n"
    "What differs between two suites, by id and key; order and comments do not count.\n"
    "Both must be without faults.\n\n"
    "  -  only in BEFORE      +  only in AFTER      ~  changed\n\n"
    "Exit: 0 the same; 1 they differ; 2 faults; 3 a file could not be read.\n"
    "example: inward diff suite.yaml suite-next.yaml\n";

struct request {
  const char *suites[2];
  int suite_count;
  bool json, help;
};

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0)
      r->json = true;
    else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
      r->help = true;
    else if (argv[i][0] == '-')
      return err_set(err, ERR_USAGE, "what is '%.40s'?", argv[i]);
    else if (r->suite_count < 2)
      r->suites[r->suite_count++] = argv[i];
    else
      return err_set(err, ERR_USAGE, "two suites, not more; what is '%.40s'?", argv[i]);
  }
  if (r->suite_count < 2 && !r->help)
    return err_set(err, ERR_USAGE, "which two suites? inward diff BEFORE AFTER");
  return ERR_OK;
}

static void print_text(const struct facility_difference *list, int count, struct buf *out)
{
  for (int i = 0; i < count; i++) {
    const struct facility_difference *d = &list[i];
    char mark = !d->before ? '+' : !d->after ? '-' : '~';

    buf_printf(out, "%c %s", mark, d->kind);
    if (d->id)
      buf_printf(out, " %s", d->id);
    if (d->key)
      buf_printf(out, ": %s", d->key);
    if (d->before && d->after)
      buf_printf(out, ": %s -> %s\n", d->before, d->after);
    else
      buf_printf(out, ": %s\n", d->before ? d->before : d->after);
  }
  if (count == 0)
    buf_puts(out, "no difference\n");
}

static void print_json(const struct request *r, const struct facility_difference *list, int count,
                       struct buf *out)
{
  struct json json;

  json_begin(&json, out);
  json_object(&json, NULL);
  json_text(&json, "schema", "inward diff 1");
  json_text(&json, "before", r->suites[0]);
  json_text(&json, "after", r->suites[1]);
  json_array(&json, "differences");
  for (int i = 0; i < count; i++) {
    json_object(&json, NULL);
    json_text(&json, "kind", list[i].kind);
    json_text(&json, "id", list[i].id);
    json_text(&json, "key", list[i].key);
    json_text(&json, "before", list[i].before);
    json_text(&json, "after", list[i].after);
    json_close(&json);
  }
  json_close(&json);
  json_close(&json);
  json_end(&json);
}

/* Both readings are without faults. */
static int print_differences(const struct request *r, const struct cli_reading *before,
                             const struct cli_reading *after)
{
  const struct facility_difference *list = NULL;
  struct arena arena;
  struct buf out;
  int count;

  arena_init(&arena, SIZE_MAX); /* bounded by the two files */
  buf_init(&out, 64 << 20);
  count = facility_diff(&before->texts[0], &after->texts[0], &arena, &list);
  if (r->json)
    print_json(r, list, count, &out);
  else
    print_text(list, count, &out);
  fwrite(out.text, 1, out.used, stdout);
  buf_release(&out);
  arena_release(&arena);
  return count > 0 ? 1 : 0;
}

/* Reads one side; prints what is wrong with it.  0 when nothing is. */
static int read_side(struct cli_reading *reading, const char *suite)
{
  struct err err = {0};
  struct buf out;

  if (cli_reading_read(reading, suite, NULL, 0, &err) != ERR_OK) {
    fprintf(stderr, "inward diff: %s\n", err.text);
    return err_exit_status(err.code);
  }
  buf_init(&out, 1 << 20);
  cli_reading_print(reading, &out);
  fputs(out.text, stderr);
  buf_release(&out);
  return reading->facility ? 0 : 2;
}

int cli_diff(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct cli_reading before, after;
  int status, other;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward diff: %s; 'inward diff --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  status = read_side(&before, r.suites[0]);
  other = read_side(&after, r.suites[1]);
  status = other > status ? other : status;
  if (status == 0)
    status = print_differences(&r, &before, &after);
  cli_reading_release(&before);
  cli_reading_release(&after);
  return status;
}
