/* inward export SUITE -o FILE.html: the trial page in one file. */
#include "cli/cli.h"

#include "cli/read.h"
#include "cli/write.h"
#include "export/export.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward export SUITE -o FILE.html [--scene NAME] [--with OVERLAY] [--date YYYY-MM-DD]\n"
    "                     [--replace]\n\n"
    "The trial page in one file: the suite and the engine are inside, and whoever opens it in a\n"
    "browser can move sashes, doors, fans and decks with no program and no network. For\n"
    "teaching, and for mailing to colleagues. Everything in it is a trial, and marked so.\n\n"
    "  -o FILE.html   where to write it; a file that is there stays unless --replace\n"
    "  --scene NAME   the scene it begins with; without it all sashes are parked\n"
    "  --with F       an overlay file: add, change, remove by id\n"
    "  --date DAY     shown on the page; without it no date is\n\n"
    "The file contains every figure of the suite, its notes included (not its comments): pass it\n"
    "on only to those to whom you would give the suite file.\n\n"
    "Exit: 0 written; 2 bad input; 3 could not, for the reason printed.\n"
    "example: inward export examples/quillmere/suite.yaml --scene busy -o quillmere.html\n";

struct request {
  const char *suite, *scene, *file, *date;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool replace, help;
};

static bool is_day(const char *text)
{
  static const char pattern[] = "dddd-dd-dd";

  if (strlen(text) != sizeof pattern - 1)
    return false;
  for (size_t i = 0; i < sizeof pattern - 1; i++)
    if (pattern[i] == '-' ? text[i] != '-' : text[i] < '0' || text[i] > '9')
      return false;
  return true;
}

static enum err_code take_value(struct request *r, const char *option, const char *value,
                                struct err *err)
{
  if (strcmp(option, "--with") == 0)
    return cli_take_overlay(r->overlays, &r->overlay_count, value, err);
  if (strcmp(option, "--date") == 0 && !is_day(value))
    return err_set(err, ERR_USAGE, "--date takes a day such as 2026-11-25, not '%.40s'", value);
  if (strcmp(option, "--date") == 0)
    r->date = value;
  else if (strcmp(option, "--scene") == 0)
    r->scene = value;
  else if (strcmp(option, "-o") == 0)
    r->file = value;
  else
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  return ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0) {
      r->help = true;
    } else if (strcmp(argv[i], "--replace") == 0) {
      r->replace = true;
    } else if (argv[i][0] == '-' && argv[i][1]) {
      if (i + 1 == argc)
        return err_set(err, ERR_USAGE, "option '%.40s' wants a value", argv[i]);
      enum err_code code = take_value(r, argv[i], argv[i + 1], err);

      if (code)
        return code;
      i++;
    } else if (!r->suite) {
      r->suite = argv[i];
    } else {
      return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", argv[i]);
    }
  }
  if (!r->help && (!r->suite || !r->file))
    return err_set(err, ERR_USAGE, "which suite, and where to? inward export SUITE -o FILE.html");
  return ERR_OK;
}

/* The merged form, read back as the page will read it: what is mailed opens. */
static enum err_code merge(const struct cli_reading *reading, struct buf *merged, struct err *err)
{
  struct complaints complaints;
  struct arena arena;
  struct facility *again = NULL;

  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  if (facility_print_merged(&reading->texts[0], &reading->texts[1], reading->text_count - 1,
                            &complaints, merged) &&
      !merged->full) {
    const struct facility_text text = {"the suite in the page", merged->text, merged->used};

    again = facility_read_merged(&text, &complaints);
  }
  facility_free(again);
  enum err_code code =
      again ? ERR_OK
      : merged->full
          ? err_set(err, ERR_INPUT, "the suite has more than %d kB, too much for one page",
                    EXPORT_SUITE_MOST_BYTES >> 10)
          : err_set(err, ERR_IO, "the suite cannot be put into a page: %.120s",
                    complaints.count ? complaints.list[0].text : "");

  arena_release(&arena);
  return code;
}

static enum err_code write_page(const struct cli_reading *reading, const struct request *r,
                                struct err *err)
{
  struct export_wish wish = {.facility = reading->facility, .scene = "", .date = r->date};
  const struct scene *named = NULL;
  struct buf merged, page;

  if (r->scene && *r->scene && scene_named(reading->facility, r->scene, &named, err) != ERR_OK)
    return ERR_INPUT;
  if (named)
    wish.scene = named->name;
  wish.merged = &merged;
  buf_init(&merged, EXPORT_SUITE_MOST_BYTES);
  buf_init(&page, EXPORT_PAGE_MOST_BYTES);
  enum err_code code = merge(reading, &merged, err);

  if (!code) {
    export_page(&wish, &page);
    BUG_IF(page.full);
    code = cli_write_file(r->file, page.text, page.used, r->replace, err);
  }
  if (!code)
    printf(
        "%s: %s%s%s%s, from scene %s, %zu kB\n"
        "It contains the suite's figures: pass it on only to those to whom you would give them.\n",
        r->file, wish.facility->name, wish.facility->label ? " [" : "",
        wish.facility->label ? wish.facility->label : "", wish.facility->label ? "]" : "",
        *wish.scene ? wish.scene : "all parked", (page.used + 1023) / 1024);
  buf_release(&page);
  buf_release(&merged);
  return code;
}

int cli_export(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct cli_reading reading;
  enum err_code code = read_request(argc, argv, &r, &err);

  if (r.help && !code) {
    fputs(help, stdout);
    return 0;
  }
  if (code) {
    fprintf(stderr, "inward export: %s; 'inward export --help' explains\n", err.text);
    return 2;
  }
  code = cli_reading_read(&reading, r.suite, r.overlays, r.overlay_count, &err);
  if (!code && !reading.facility) {
    struct buf out;

    buf_init(&out, 1 << 20);
    cli_reading_print(&reading, &out);
    fputs(out.text, stderr);
    buf_release(&out);
    cli_reading_release(&reading);
    return 2;
  }
  if (!code)
    code = write_page(&reading, &r, &err);
  cli_reading_release(&reading);
  if (code)
    fprintf(stderr, "inward export: %s\n", err.text);
  return err_exit_status(code);
}
