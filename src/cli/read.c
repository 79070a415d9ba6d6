#include "cli/read.h"

#include "chem/chem.h"
#include "cli/zone.h"
#include "wet/wet.h"

#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* ---- one file ---- */

/* What was read so far, so that nothing is written over it.  A verb reads a dozen files at most. */
static struct {
  dev_t device;
  ino_t number;
} have_read[32];
static size_t have_read_count;

bool cli_was_read(const char *path)
{
  struct stat about;

  if (stat(path, &about) != 0)
    return false;
  for (size_t i = 0; i < have_read_count; i++)
    if (have_read[i].device == about.st_dev && have_read[i].number == about.st_ino)
      return true;
  return false;
}

static enum err_code refuse(const char *path, struct err *err)
{
  switch (errno) {
  case ENOENT:
  case ENOTDIR:
    return err_set(err, ERR_INPUT, "%.120s: there is no such file", path);
  case EACCES:
    return err_set(err, ERR_IO, "%.120s: no permission to read it", path);
  default:
    return err_set(err, ERR_IO, "%.120s: %.60s", path, strerror(errno));
  }
}

static enum err_code read_bytes(FILE *file, const char *path, size_t limit,
                                struct facility_text *out, struct err *err)
{
  size_t room = 1 << 14, used = 0;
  char *bytes = malloc(room);

  if (!bytes)
    err_no_memory();
  for (;;) {
    used += fread(bytes + used, 1, room - used - 1, file);
    if (ferror(file) || used > limit) {
      free(bytes);
      return ferror(file)
                 ? refuse(path, err)
                 : err_set(err, ERR_INPUT, "%.120s: larger than %zu MB: is it the right file?",
                           path, limit >> 20);
    }
    if (feof(file))
      break;
    room *= 2;

    char *more = realloc(bytes, room);

    if (!more)
      err_no_memory();
    bytes = more;
  }
  bytes[used] = '\0';
  *out = (struct facility_text){.file = path, .bytes = bytes, .size = used};
  return ERR_OK;
}

enum err_code cli_read_file(const char *path, size_t limit, struct facility_text *out,
                            struct err *err)
{
  struct stat about;

  if (stat(path, &about) != 0)
    return refuse(path, err);
  if (S_ISDIR(about.st_mode))
    return err_set(err, ERR_INPUT, "%.120s: this is a folder; name the file in it", path);
  if (!S_ISREG(about.st_mode)) /* a pipe or a device may never end */
    return err_set(err, ERR_INPUT, "%.120s: not a regular file", path);

  FILE *file = fopen(path, "rb");

  if (!file)
    return refuse(path, err);

  enum err_code code = read_bytes(file, path, limit, out, err);

  fclose(file);
  if (have_read_count < sizeof have_read / sizeof have_read[0]) {
    have_read[have_read_count].device = about.st_dev;
    have_read[have_read_count++].number = about.st_ino;
  }
  return code;
}

void cli_free_file(struct facility_text *text)
{
  union {
    const char *lent;
    char *owned;
  } bytes = {.lent = text->bytes};

  free(bytes.owned);
  *text = (struct facility_text){0};
}

/* ---- a suite ---- */

enum err_code cli_take_overlay(const char **overlays, int *count, const char *file, struct err *err)
{
  if (*count == CLI_OVERLAYS_MAX)
    return err_set(err, ERR_USAGE, "at most %d overlays at once", CLI_OVERLAYS_MAX);
  overlays[(*count)++] = file;
  return ERR_OK;
}

enum err_code cli_read_words(int argc, char **argv, const struct cli_words *words, void *arg,
                             struct err *err)
{
  for (int i = 0; i < argc; i++) {
    enum err_code code = ERR_OK;

    if (words->flag(arg, argv[i]))
      continue;
    if (argv[i][0] != '-')
      code = words->word(arg, argv[i], err);
    else if (i + 1 == argc)
      code = err_set(err, ERR_USAGE, "option '%.40s' wants a value", argv[i]);
    else
      code = words->option(arg, argv[i], argv[i + 1], err);
    if (code != ERR_OK)
      return code;
    i += argv[i][0] == '-';
  }
  return ERR_OK;
}

enum err_code cli_take_number(const char *option, const char *value, int most, int *out,
                              struct err *err)
{
  char *end;
  long number = strtol(value, &end, 10);

  if (*value < '0' || *value > '9' || *end || number > most)
    return err_set(err, ERR_USAGE, "%s takes a whole number from 0 to %d, not '%.40s'", option,
                   most, value);
  *out = (int)number;
  return ERR_OK;
}

enum err_code cli_reading_read(struct cli_reading *reading, const char *suite,
                               const char *const *overlays, int overlay_count, struct err *err)
{
  enum err_code code;

  *reading = (struct cli_reading){0};
  arena_init(&reading->arena, 64 << 20);
  complaints_init(&reading->complaints, &reading->arena);
  BUG_IF(overlay_count > CLI_OVERLAYS_MAX);
  code = cli_read_file(suite, CLI_FILE_MAX, &reading->texts[0], err);
  if (code != ERR_OK)
    return code;
  reading->text_count = 1;
  for (int i = 0; i < overlay_count; i++) {
    code = cli_read_file(overlays[i], CLI_FILE_MAX, &reading->texts[i + 1], err);
    if (code != ERR_OK)
      return code;
    reading->text_count++;
  }
  reading->facility =
      facility_read(&reading->texts[0], &reading->texts[1], overlay_count, &reading->complaints);
  return ERR_OK;
}

/* ---- its feeds file ---- */

const char *cli_beside(const char *path, const char *name, struct arena *arena)
{
  const char *slash = strrchr(path, '/');
  const char *beside =
      arena_printf(arena, "%.*s%s", slash ? (int)(slash - path + 1) : 0, path, name);

  BUG_IF(!beside);
  return beside;
}

/* A zone that is not there is a fault of the file, wherever it is read. */
static bool zones_are_there(const struct feeds *feeds, const char *file, struct arena *arena,
                            struct complaints *complaints)
{
  const struct when_zone *zone;
  bool all = true;

  for (int i = 0; i < feeds->source_count; i++) {
    const char *name = feeds->sources[i].table.zone;
    struct err err = {0};

    if (!name || cli_zone_read(name, arena, &zone, &err) == ERR_OK)
      continue;
    complaints_add(complaints, (struct place){file, 0, 0}, 0, "source %s: %s",
                   feeds->sources[i].part.id, err.text);
    all = false;
  }
  return all;
}

static enum err_code read_feeds(struct cli_reading *reading, const struct facility *facility,
                                const char *suite, struct err *err)
{
  const char *path = cli_beside(suite, facility->feeds_file, &reading->arena);
  enum err_code code = cli_read_file(path, CLI_FILE_MAX, &reading->feeds_text, err);

  if (code != ERR_OK)
    return code;
  reading->feeds = feeds_read(facility, &reading->feeds_text, &reading->complaints);
  if (!reading->feeds ||
      zones_are_there(reading->feeds, path, &reading->arena, &reading->complaints))
    return ERR_OK;
  feeds_free(reading->feeds);
  reading->feeds = NULL;
  return ERR_OK;
}

enum err_code cli_reading_feeds(struct cli_reading *reading, struct err *err)
{
  if (!reading->facility || !reading->facility->feeds_file)
    return ERR_OK;
  return read_feeds(reading, reading->facility, reading->texts[0].file, err);
}

/* ---- its chemicals file ---- */

static bool names_fit(struct cli_reading *reading, const struct facility *facility)
{
  const struct chem *chem = chem_read(&reading->arena);
  bool is_not_read = facility->feeds_file && !reading->feeds;

  if (!chem_names_fit(chem, reading->chemicals, &reading->complaints))
    return false;
  bool fit = wet_names_fit(chem_with(chem, reading->chemicals, &reading->arena), reading->chemicals,
                           &reading->complaints);

  return (is_not_read ||
          wet_points_fit(facility, reading->feeds, reading->chemicals, &reading->complaints)) &&
         fit;
}

static enum err_code read_chemicals(struct cli_reading *reading, const struct facility *facility,
                                    const char *suite, struct err *err)
{
  const char *path = cli_beside(suite, facility->chemicals_file, &reading->arena);
  enum err_code code = cli_read_file(path, CLI_FILE_MAX, &reading->chemicals_text, err);

  if (code != ERR_OK)
    return code;
  reading->chemicals = chemicals_read(facility, &reading->chemicals_text, &reading->complaints);
  if (!reading->chemicals || names_fit(reading, facility))
    return ERR_OK;
  chemicals_free(reading->chemicals);
  reading->chemicals = NULL;
  return ERR_OK;
}

enum err_code cli_reading_chemicals(struct cli_reading *reading, struct err *err)
{
  if (!reading->facility || !reading->facility->chemicals_file)
    return ERR_OK;
  return read_chemicals(reading, reading->facility, reading->texts[0].file, err);
}

/* ---- its people, processes and rules files ---- */

static enum err_code read_beside(struct cli_reading *reading, const char *name,
                                 struct facility_text *out, struct err *err)
{
  return cli_read_file(cli_beside(reading->texts[0].file, name, &reading->arena), CLI_FILE_MAX, out,
                       err);
}

enum err_code cli_reading_people(struct cli_reading *reading, struct err *err)
{
  const struct facility *f = reading->facility;
  enum err_code code = ERR_OK;

  if (!f)
    return ERR_OK;
  if (f->people_file) {
    code = read_beside(reading, f->people_file, &reading->people_text, err);
    if (code == ERR_OK)
      reading->roster = roster_read(f, &reading->people_text, &reading->complaints);
  }
  if (code == ERR_OK && f->processes_file) {
    code = read_beside(reading, f->processes_file, &reading->processes_text, err);
    if (code == ERR_OK)
      reading->processes = processes_read(f, &reading->processes_text, &reading->complaints);
  }
  if (code == ERR_OK && f->rules_file) {
    code = read_beside(reading, f->rules_file, &reading->rules_text, err);
    if (code == ERR_OK)
      reading->rules = rules_read(f, &reading->rules_text, &reading->complaints);
  }
  return code;
}

void cli_reading_release(struct cli_reading *reading)
{
  rules_free(reading->rules);
  cli_free_file(&reading->rules_text);
  processes_free(reading->processes);
  cli_free_file(&reading->processes_text);
  roster_free(reading->roster);
  cli_free_file(&reading->people_text);
  chemicals_free(reading->chemicals);
  cli_free_file(&reading->chemicals_text);
  feeds_free(reading->feeds);
  cli_free_file(&reading->feeds_text);
  facility_free(reading->facility);
  for (int i = 0; i < reading->text_count; i++)
    cli_free_file(&reading->texts[i]);
  arena_release(&reading->arena);
  *reading = (struct cli_reading){0};
}

void cli_reading_print(const struct cli_reading *reading, struct buf *out)
{
  struct complaints of_file;
  const struct facility_text *const others[] = {&reading->feeds_text, &reading->chemicals_text,
                                                &reading->people_text, &reading->processes_text,
                                                &reading->rules_text};
  enum { OTHERS = sizeof others / sizeof others[0] };
  const struct facility_text *texts[CLI_OVERLAYS_MAX + 1 + OTHERS];
  int count = 0;

  for (int i = 0; i < reading->text_count; i++)
    texts[count++] = &reading->texts[i];
  for (int i = 0; i < OTHERS; i++)
    if (others[i]->file)
      texts[count++] = others[i];
  for (int i = 0; i < count; i++) {
    const struct facility_text *text = texts[i];

    of_file = (struct complaints){0};
    for (int k = 0; k < reading->complaints.count; k++)
      if (reading->complaints.list[k].place.file == text->file)
        of_file.list[of_file.count++] = reading->complaints.list[k];
    if (i == count - 1)
      of_file.dropped = reading->complaints.dropped;
    complaints_print(&of_file, text->file, text->bytes, out);
  }
}

static void print_complaints(const struct cli_reading *reading)
{
  struct buf out;

  buf_init(&out, 1 << 20);
  cli_reading_print(reading, &out);
  fputs(out.text, stderr);
  buf_release(&out);
}

struct facility *cli_load(const char *suite, const char *const *overlays, int overlay_count,
                          struct err *err)
{
  struct cli_reading reading;
  struct facility *facility = NULL;

  if (cli_reading_read(&reading, suite, overlays, overlay_count, err) == ERR_OK) {
    print_complaints(&reading);
    facility = reading.facility;
    reading.facility = NULL;
  }
  cli_reading_release(&reading);
  return facility;
}

struct feeds *cli_load_feeds(const struct facility *facility, const char *suite, struct err *err)
{
  struct cli_reading reading = {0};
  struct feeds *feeds = NULL;

  if (!facility->feeds_file) {
    err_write(err, ERR_INPUT, "%.120s names no feeds file; write files: {feeds: feeds.yaml}",
              suite);
    return NULL;
  }
  arena_init(&reading.arena, 64 << 20);
  complaints_init(&reading.complaints, &reading.arena);
  if (read_feeds(&reading, facility, suite, err) == ERR_OK) {
    print_complaints(&reading);
    feeds = reading.feeds;
    reading.feeds = NULL;
  }
  cli_reading_release(&reading);
  return feeds;
}

enum err_code cli_load_chemicals(const struct facility *facility, const char *suite,
                                 struct chemicals **out, struct err *err)
{
  struct cli_reading reading = {0};
  enum err_code code;

  *out = NULL;
  if (!facility->chemicals_file)
    return ERR_OK;
  arena_init(&reading.arena, 64 << 20);
  complaints_init(&reading.complaints, &reading.arena);
  code = read_chemicals(&reading, facility, suite, err);
  if (code == ERR_OK) {
    print_complaints(&reading);
    *out = reading.chemicals;
    reading.chemicals = NULL;
    if (!*out)
      code = err_set(err, ERR_INPUT, "the chemicals file has faults; 'inward check' lists them");
  }
  cli_reading_release(&reading);
  return code;
}

struct chemicals *cli_lists_chemicals(const struct facility *facility, const char *suite)
{
  struct chemicals *own = NULL;
  struct err err = {0};

  if (cli_load_chemicals(facility, suite, &own, &err) != ERR_OK)
    fprintf(stderr, "%s: what stands in tanks is not listed\n", err.text);
  return own;
}

struct processes *cli_lists_processes(const struct facility *facility, const char *suite)
{
  struct cli_reading reading = {0};
  struct processes *list = NULL;
  struct err err = {0};

  if (!facility->processes_file)
    return NULL;
  arena_init(&reading.arena, 64 << 20);
  complaints_init(&reading.complaints, &reading.arena);
  if (cli_read_file(cli_beside(suite, facility->processes_file, &reading.arena), CLI_FILE_MAX,
                    &reading.processes_text, &err) == ERR_OK)
    list = processes_read(facility, &reading.processes_text, &reading.complaints);
  if (!list)
    fprintf(stderr, "%s: no chemistry family is known\n",
            err.code ? err.text : "the processes file has faults; 'inward check' lists them");
  cli_reading_release(&reading);
  return list;
}
