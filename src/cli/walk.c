/* inward walk SUITE: half an hour with a manometer and an anemometer, predicted beforehand. */
#include "cli/cli.h"

#include "cli/read.h"
#include "cli/walk_impl.h"
#include "cli/write.h"
#include "walk/walk.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward walk SUITE [--scene NAME] [--technician] [--with OVERLAY] [--us] [--json]\n"
    "       inward walk SUITE ... --form FILE.csv [--replace]\n"
    "       inward walk SUITE ... --readings FILE.csv|FILE.xlsx\n"
    "       inward walk SUITE ... --type FILE.csv [--continue]\n\n"
    "The walk test: a few steps with few movements, what to set and what to read in each, and\n"
    "what the model says the instrument will show, with the band it must lie in, printed before\n"
    "anybody walks. Readings come back as a filled form or typed in here; each is compared, and a\n"
    "miss points at the figures of the suite file that would explain it. Stations that run, are\n"
    "blocked or withdrawn in the scene are left alone.\n\n"
    "  --scene N      what stands and runs while you walk; without it everything is parked\n"
    "  --technician   add what only the ventilation technician may do\n"
    "  --form F       write a form to fill in, one row per reading\n"
    "  --readings F   compare a filled form; a cell left empty is not read, never a pass\n"
    "  --type F       ask for each reading here and save every one at once in F;\n"
    "                 'skip' goes on, 'stop' ends; --continue goes on with F later\n"
    "  --replace      --form may replace a file\n"
    "  --us, --json   cfm, inches of water, fpm; everything for programs (docs/api.md)\n\n"
    "Exit: 0 all read and inside; 1 a miss, or something not read; 2 bad input; 3 could not.\n"
    "On paper: inward print walk SUITE -o walk.pdf\n"
    "example: inward walk examples/quillmere/suite.yaml --form readings.csv\n";

struct request {
  const char *suite, *scene, *form, *readings, *type;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool technician, json, us, replace, go_on, help;
};

static bool *flag_of(struct request *r, const char *option)
{
  const struct {
    const char *name;
    bool *flag;
  } flags[] = {{"--technician", &r->technician},
               {"--json", &r->json},
               {"--us", &r->us},
               {"--replace", &r->replace},
               {"--continue", &r->go_on},
               {"--help", &r->help},
               {"-h", &r->help}};

  for (size_t i = 0; i < sizeof flags / sizeof flags[0]; i++)
    if (strcmp(option, flags[i].name) == 0)
      return flags[i].flag;
  return NULL;
}

static const char **value_of(struct request *r, const char *option)
{
  const struct {
    const char *name;
    const char **value;
  } values[] = {{"--scene", &r->scene},
                {"--form", &r->form},
                {"--readings", &r->readings},
                {"--type", &r->type}};

  for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
    if (strcmp(option, values[i].name) == 0)
      return values[i].value;
  return NULL;
}

static enum err_code take(struct request *r, const char *option, const char *next, bool *used,
                          struct err *err)
{
  bool *flag = flag_of(r, option);
  const char **value = value_of(r, option);
  bool overlay = strcmp(option, "--with") == 0;

  if (flag)
    return *flag = true, ERR_OK;
  if ((value || overlay) && !next)
    return err_set(err, ERR_USAGE, "option '%.40s' wants a value", option);
  *used = value || overlay;
  if (overlay)
    return cli_take_overlay(r->overlays, &r->overlay_count, next, err);
  if (value)
    return *value = next, ERR_OK;
  if (option[0] == '-')
    return err_set(err, ERR_USAGE, "unknown option '%.40s'", option);
  if (r->suite)
    return err_set(err, ERR_USAGE, "one suite at a time; what is '%.40s'?", option);
  return r->suite = option, ERR_OK;
}

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    bool used = false;
    enum err_code code = take(r, argv[i], i + 1 < argc ? argv[i + 1] : NULL, &used, err);

    if (code != ERR_OK)
      return code;
    i += used;
  }
  if (r->help)
    return ERR_OK;
  if (!r->suite)
    return err_set(err, ERR_USAGE, "which suite? inward walk SUITE");
  if ((r->form != NULL) + (r->readings != NULL) + (r->type != NULL) > 1)
    return err_set(err, ERR_USAGE, "one of --form, --readings and --type at a time");
  return ERR_OK;
}

/* ---- a table from outside ---- */

struct filled {
  struct facility_text file;
  struct sheet_book *book;
  struct complaints complaints;
};

static void print_complaints(const struct filled *filled)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  complaints_print(&filled->complaints, filled->file.file,
                   filled->book && filled->book->format == SHEET_CSV ? filled->file.bytes : NULL,
                   &out);
  fputs(out.text, stderr);
  buf_release(&out);
}

static bool open_filled(struct filled *filled, const char *path, struct arena *arena,
                        struct err *err)
{
  *filled = (struct filled){0};
  complaints_init(&filled->complaints, arena);
  if (cli_read_file(path, SHEET_MOST_BYTES, &filled->file, err) != ERR_OK)
    return false;
  filled->book = sheet_read(filled->file.file, filled->file.bytes, filled->file.size, arena,
                            &filled->complaints);
  if (!filled->book)
    print_complaints(filled);
  return filled->book != NULL;
}

/* ---- the three ways ---- */

struct walking {
  const struct request *r;
  const struct facility *facility;
  struct walk_plan *plan;
  struct arena *arena;
  enum units_system system;
};

static int show_result(const struct walking *w, const struct walk_readings *readings,
                       struct err *err)
{
  struct walk_result *result = walk_compare(w->plan, readings, w->arena, err);
  struct buf out;
  int status;

  if (!result)
    return err_exit_status(err->code);
  buf_init(&out, 8 << 20);
  if (w->r->json)
    walk_result_json(result, &out);
  else
    walk_result_text(result, w->system, &out);
  status =
      cli_show(&out, result->outside == 0 && result->unread == 0 && !result->other_suite ? 0 : 1);
  buf_release(&out);
  return status;
}

static int write_form(const struct walking *w, struct err *err)
{
  struct buf out;
  enum err_code code;

  buf_init(&out, 8 << 20);
  walk_form(w->plan, w->system, NULL, &out);
  code = cli_write_file(w->r->form, out.text, out.used, w->r->replace, err);
  buf_release(&out);
  if (code != ERR_OK)
    return err_exit_status(code);
  printf("%s: a form for %d readings in %d steps, about %.0f minutes; compare it with\n"
         "  inward walk %s%s%s --readings %s\n",
         w->r->form, w->plan->reading_count, w->plan->step_count, w->plan->time_s / 60.0,
         w->r->suite, w->r->scene ? " --scene " : "", w->r->scene ? w->r->scene : "", w->r->form);
  return 0;
}

int cli_walk_readings(const struct walk_plan *plan, const char *path, struct arena *arena,
                      struct walk_readings **out, struct err *err)
{
  struct filled filled;
  int status = 2;

  *out = NULL;
  if (open_filled(&filled, path, arena, err)) {
    *out = walk_read(plan, filled.book, arena, &filled.complaints);
    if (!*out)
      print_complaints(&filled);
    status = *out ? 0 : 2;
  } else if (err->code != ERR_OK) {
    status = err_exit_status(err->code);
  }
  cli_free_file(&filled.file);
  return status;
}

/* ---- typing ---- */

static enum err_code save(const struct walking *w, const struct walk_readings *readings,
                          bool replace, struct err *err)
{
  struct buf out;
  enum err_code code;

  buf_init(&out, 8 << 20);
  walk_form(w->plan, w->system, readings, &out);
  code = replace ? cli_save_file(w->r->type, out.text, out.used, err)
                 : cli_write_file(w->r->type, out.text, out.used, false, err);
  buf_release(&out);
  return code;
}

static void say_step(const struct walking *w, int s)
{
  const struct walk_step *step = &w->plan->steps[s];

  fprintf(stderr, "\nStep %d: %s\n", s + 1, step->title);
  if (step->technician)
    fputs("  ONLY WITH THE VENTILATION TECHNICIAN THERE\n", stderr);
  for (int i = 0; i < step->act_count; i++)
    fprintf(stderr, "  > %s\n", step->acts[i]);
}

static void prompt(const struct walking *w, int i)
{
  const struct walk_reading *r = &w->plan->readings[i];
  struct buf text;

  buf_init(&text, 256);
  walk_print(&text, r->predicted_si, r->quantity.of, w->system);
  buf_puts(&text, ", ± ");
  walk_print(&text, r->band.half_si, r->quantity.of, w->system);
  fprintf(stderr, "  %s %s (%s; predicted %s), %s: ", r->id, r->what, r->how, text.text,
          walk_unit(r->quantity.of, w->system));
  buf_release(&text);
}

/* One line without its end; false at the end of input or at "stop". */
static bool ask_line(char *line, int size)
{
  int c;
  size_t length;

  if (!fgets(line, size, stdin))
    return false;
  length = strlen(line);
  if (length > 0 && line[length - 1] != '\n')
    while ((c = fgetc(stdin)) != EOF && c != '\n')
      ;
  line[strcspn(line, "\r\n")] = '\0';
  return strcmp(line, "stop") != 0;
}

/* Who walks, and when; an empty line leaves it open. */
static const char *ask_head(const struct walking *w, const char *question, const char *now)
{
  char line[128];

  if (now)
    return now;
  fprintf(stderr, "  %s: ", question);
  return ask_line(line, sizeof line) && line[0] ? arena_strdup(w->arena, line) : NULL;
}

/* False when the person, or the input, ends it. */
static bool ask_reading(const struct walking *w, int i, struct walk_entry *entry)
{
  char line[128];

  for (;;) {
    struct err err = {0};

    prompt(w, i);
    if (!ask_line(line, sizeof line))
      return false;
    if (line[0] == '\0' || strcmp(line, "skip") == 0)
      return true;
    if (walk_parse(&w->plan->readings[i], w->system, line, &entry->value_si, &err) == ERR_OK) {
      entry->read = true;
      return true;
    }
    fprintf(stderr, "    %s\n", err.text);
  }
}

static int type_in(const struct walking *w, struct err *err)
{
  struct walk_readings *readings = NULL;
  int status = 0;

  if (w->r->go_on)
    status = cli_walk_readings(w->plan, w->r->type, w->arena, &readings, err);
  else
    readings = walk_blank(w->plan, w->arena);
  if (status != 0 || !readings)
    return status ? status : 3;
  if (save(w, readings, w->r->go_on, err) != ERR_OK)
    return err_exit_status(err->code);
  fputs("Type a value, with its unit where it is another; 'skip' goes on, 'stop' ends. Every value "
        "is saved at once.\n",
        stderr);
  for (int i = 0; i < walk_caution_count; i++)
    fprintf(stderr, "  - %s\n", walk_cautions[i]);
  readings->date = ask_head(w, "date, as year-month-day", readings->date);
  readings->by = ask_head(w, "who reads", readings->by);
  for (int i = 0; i < w->plan->reading_count; i++) {
    struct walk_entry *entry = &readings->entries[i];

    if (i == w->plan->steps[w->plan->readings[i].step].first)
      say_step(w, w->plan->readings[i].step);
    if (entry->read)
      continue;
    if (!ask_reading(w, i, entry))
      break;
    if (entry->read && save(w, readings, true, err) != ERR_OK)
      return err_exit_status(err->code);
  }
  fputs("\n\n", stderr);
  return show_result(w, readings, err);
}

/* ---- putting it together ---- */

static int show_plan(const struct walking *w)
{
  struct buf out;
  int status;

  buf_init(&out, 8 << 20);
  if (w->r->json)
    walk_plan_json(w->plan, &out);
  else
    walk_plan_text(w->plan, w->system, &out);
  status = cli_show(&out, 0);
  buf_release(&out);
  return status;
}

/* A form made with --technician brings its step back without being told. */
static bool form_has_technician(const char *path, struct arena *arena)
{
  struct filled filled = {0};
  struct err ignored = {0};
  bool has = false;

  complaints_init(&filled.complaints, arena);
  if (cli_read_file(path, SHEET_MOST_BYTES, &filled.file, &ignored) == ERR_OK) {
    filled.book = sheet_read(filled.file.file, filled.file.bytes, filled.file.size, arena,
                             &filled.complaints);
    has = filled.book && walk_form_has_technician(filled.book);
  }
  cli_free_file(&filled.file);
  return has;
}

struct walk_plan *cli_walk_plan(const struct facility *facility, const char *scene_name,
                                bool technician, const char *readings, struct arena *arena,
                                struct err *err)
{
  const struct scene *named = NULL;
  struct scene scene;
  struct walk_options options = {.technician = technician ||
                                               (readings && form_has_technician(readings, arena))};

  if (scene_name && scene_named(facility, scene_name, &named, err) != ERR_OK)
    return NULL;
  scene = named ? scene_copy(facility, named, arena) : scene_parked(facility, arena);
  return walk_plan(facility, &scene, &options, arena, err);
}

static int walk_with(struct walking *w, struct err *err)
{
  const struct request *r = w->r;
  struct walk_readings *readings;
  int status;

  w->plan = cli_walk_plan(w->facility, r->scene, r->technician,
                          r->readings ? r->readings
                          : r->go_on  ? r->type
                                      : NULL,
                          w->arena, err);
  if (!w->plan)
    return err_exit_status(err->code);
  if (r->form)
    return write_form(w, err);
  if (r->type)
    return type_in(w, err);
  if (!r->readings)
    return show_plan(w);
  status = cli_walk_readings(w->plan, r->readings, w->arena, &readings, err);
  return readings ? show_result(w, readings, err) : status;
}

int cli_walk(int argc, char **argv)
{
  struct request r = {0};
  struct err err = {0};
  struct arena arena;
  struct walking w = {.r = &r, .arena = &arena};
  struct facility *facility;
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward walk: %s; 'inward walk --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  facility = cli_load(r.suite, r.overlays, r.overlay_count, &err);
  if (!facility) {
    if (err.text[0])
      fprintf(stderr, "inward walk: %s\n", err.text);
    return err.code ? err_exit_status(err.code) : 2;
  }
  arena_init(&arena, (size_t)512 << 20);
  w.facility = facility;
  w.system = r.us ? UNITS_SYSTEM_US : UNITS_SYSTEM_SI;
  status = walk_with(&w, &err);
  if (err.text[0])
    fprintf(stderr, "inward walk: %s\n", err.text);
  arena_release(&arena);
  facility_free(facility);
  return status;
}
