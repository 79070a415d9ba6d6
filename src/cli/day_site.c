#include "cli/day_site.h"

#include "cli/zone.h"
#include "feed/feed.h"
#include "past/past.h"
#include "record/record.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { ANSWER_BYTES = 512 << 20, FAULTS_MOST = 200 };
static const int64_t day_ms = 86400000;

enum err_code cli_day_open(struct cli_day_site *site, struct err *err)
{
  arena_init(&site->arena, 64 << 20);
  enum err_code code = cli_zone(site->facility, &site->arena, &site->zone, err);

  if (code == ERR_OK && site->facility->feeds_file) {
    site->feeds = cli_load_feeds(site->facility, site->suite, err);
    code = site->feeds ? ERR_OK : err->code ? err->code : ERR_INPUT;
  }
  if (code == ERR_OK) {
    site->air = day_air_new(site->facility, err);
    code = site->air ? ERR_OK : err->code;
  }
  return code;
}

void cli_day_close(struct cli_day_site *site)
{
  day_air_free(site->air);
  feeds_free(site->feeds);
  arena_release(&site->arena);
}

/* ---- which files ---- */

struct paths {
  const char *list[CLI_DAY_FILES_MOST];
  int count;
  bool too_many;
};

static bool ends_in(const char *name, const char *end)
{
  size_t length = strlen(name), tail = strlen(end);

  return length > tail && strcmp(name + length - tail, end) == 0;
}

static void add_path(struct paths *paths, const char *path)
{
  if (paths->count == CLI_DAY_FILES_MOST)
    paths->too_many = true;
  else
    paths->list[paths->count++] = path;
}

static int by_name(const void *a, const void *b)
{
  const char *const *x = a, *const *y = b;

  return strcmp(*x, *y);
}

/* Calendars and tables of a folder by name, so that a later one wins; or the file itself. */
static enum err_code add_paths(struct paths *paths, const char *path, struct arena *arena,
                               struct err *err)
{
  struct stat about;
  int first = paths->count;

  if (stat(path, &about) != 0)
    return err_set(err, ERR_INPUT, "bookings %.200s: %s", path, strerror(errno));
  if (!S_ISDIR(about.st_mode)) {
    add_path(paths, path);
    return ERR_OK;
  }
  DIR *folder = opendir(path);

  if (!folder)
    return err_set(err, ERR_IO, "bookings %.200s: %s", path, strerror(errno));
  for (const struct dirent *entry = readdir(folder); entry; entry = readdir(folder))
    if (ends_in(entry->d_name, ".ics") || ends_in(entry->d_name, ".csv"))
      add_path(paths, arena_printf(arena, "%s/%s", path, entry->d_name));
  closedir(folder);
  qsort(paths->list + first, (size_t)(paths->count - first), sizeof *paths->list, by_name);
  return ERR_OK;
}

static const char *folder_of_feeds(const struct cli_day_site *site)
{
  for (int i = 0; site->feeds && i < site->feeds->source_count; i++)
    if (site->feeds->sources[i].kind == FEEDS_CALENDAR)
      return site->feeds->sources[i].table.folder;
  return NULL;
}

static enum err_code find_paths(const struct cli_day_site *site, struct paths *paths,
                                struct arena *arena, struct err *err)
{
  const char *of_suite = site->facility->day.bookings, *of_feeds = folder_of_feeds(site);
  enum err_code code = ERR_OK;

  for (int i = 0; code == ERR_OK && i < site->given_count; i++)
    code = add_paths(paths, site->given[i], arena, err);
  if (site->given_count == 0 && of_suite)
    code = add_paths(paths, cli_beside(site->suite, of_suite, arena), arena, err);
  else if (site->given_count == 0 && of_feeds)
    code = add_paths(
        paths,
        cli_beside(cli_beside(site->suite, site->facility->feeds_file, arena), of_feeds, arena),
        arena, err);
  else if (site->given_count == 0)
    return err_set(err, ERR_INPUT,
                   "nothing says where bookings stand: --bookings FILE, or 'day: {bookings: "
                   "FOLDER}' in the suite file");
  if (code == ERR_OK && paths->too_many)
    return err_set(err, ERR_INPUT, "more than %d files of bookings", CLI_DAY_FILES_MOST);
  return code;
}

/* ---- reading them ---- */

static void keep_faults(struct cli_day *day, const char **faults, const struct complaints *c)
{
  for (int i = 0; i < c->count && day->said.fault_count < FAULTS_MOST; i++)
    faults[day->said.fault_count++] =
        arena_printf(&day->arena, "%s:%d:%d: %s", c->list[i].place.file, c->list[i].place.line,
                     c->list[i].place.column, c->list[i].text);
}

static enum err_code read_files(const struct cli_day_site *site, struct cli_day *day,
                                const struct day_read_job *job, struct err *err)
{
  struct paths paths = {0};
  const char **files = ARENA_ARRAY(&day->arena, const char *, CLI_DAY_FILES_MOST);
  const char **faults = ARENA_ARRAY(&day->arena, const char *, FAULTS_MOST);
  enum err_code code = find_paths(site, &paths, &day->arena, err);

  BUG_IF(!files || !faults);
  day->said.files = files;
  day->said.faults = faults;
  for (int i = 0; code == ERR_OK && i < paths.count; i++) {
    struct facility_text text = {0};
    struct day_read_report report;
    struct complaints complaints;

    code = cli_read_file(paths.list[i], FEED_CALENDAR_MOST_BYTES, &text, err);
    if (code != ERR_OK)
      return code;
    complaints_init(&complaints, &day->arena);
    text.file = arena_strdup(&day->arena, paths.list[i]);
    if (!day_read(job, &text, &day->arena, &complaints, &day->bookings, &report))
      report.left_out++;
    complaints_sort(&complaints);
    complaints_print(&complaints, text.file, text.bytes, &day->faults);
    keep_faults(day, faults, &complaints);
    day->said.left_out += report.left_out;
    files[day->said.file_count++] = text.file;
    cli_free_file(&text);
  }
  day_sort(&day->bookings);
  return code;
}

bool cli_day_has_bookings(const struct cli_day_site *site)
{
  return site->given_count > 0 || site->facility->day.bookings || folder_of_feeds(site);
}

enum err_code cli_day_bookings(const struct cli_day_site *site, int64_t from_ms, int64_t to_ms,
                               struct arena *arena, struct day_bookings *out, struct err *err)
{
  const struct day_read_job job = {.facility = site->facility,
                                   .zone = site->zone,
                                   .from_ms = from_ms,
                                   .to_ms = to_ms,
                                   .columns = site->columns,
                                   .pattern = site->pattern};
  struct cli_day day = {.arena = *arena};

  buf_init(&day.faults, 1 << 20);
  enum err_code code = read_files(site, &day, &job, err);

  buf_release(&day.faults);
  *arena = day.arena;
  *out = day.bookings;
  return code;
}

/* ---- the record ---- */

enum err_code cli_day_uses(const struct cli_day_site *site, int64_t from_ms, int64_t to_ms,
                           struct arena *arena, struct day_uses *uses, struct err *err)
{
  struct record *record = NULL;
  int64_t first_ms = INT64_MAX;
  enum err_code code;

  if (!site->feeds)
    return err_set(err, ERR_INPUT,
                   "the suite names no feeds file, so nothing says what the record's "
                   "values mean");
  code = record_open(site->record, RECORD_READ, &record, err);
  if (code == ERR_OK)
    code = record_of(record, site->facility, err);
  if (code == ERR_OK)
    code = record_bind(record, site->facility, site->feeds, to_ms, err);
  if (code == ERR_OK)
    code = record_first(record, &first_ms, err);
  if (code == ERR_OK && first_ms < to_ms) {
    const struct past_place place = {
        .record = record, .facility = site->facility, .feeds = site->feeds, .zone = site->zone};
    const struct past_span span = {first_ms > from_ms ? first_ms : from_ms, to_ms, INT64_MAX};

    code = past_uses_ask(&place, &span, arena, uses, err);
  }
  record_close(record);
  return code;
}

/* ---- the question ---- */

static int64_t now_ms_of(const struct cli_day_site *site)
{
  return site->now_ms ? site->now_ms(site->now_arg) : cli_now_ms();
}

static enum err_code read_date(const struct cli_day_site *site, const char *text,
                               struct when_civil *out, int64_t *begin_ms, struct err *err)
{
  if (!text) {
    *out = when_civil(site->zone, now_ms_of(site), NULL);
  } else if (strlen(text) != 10 || when_read_bound(text, site->zone, begin_ms, err) != ERR_OK) {
    return err_set(err, ERR_INPUT, "date '%.40s': write it as 2026-12-01", text);
  } else {
    *out = when_civil(site->zone, *begin_ms, NULL);
  }
  char whole[16];

  snprintf(whole, sizeof whole, "%04d-%02d-%02d", out->year % 10000, out->month % 100,
           out->day % 100);
  return when_read_bound(whole, site->zone, begin_ms, err);
}

/* The midnight before a moment. */
static enum err_code begin_of_day(const struct cli_day_site *site, int64_t t_ms, int64_t *out_ms,
                                  struct err *err)
{
  const struct when_civil c = when_civil(site->zone, t_ms, NULL);
  char whole[16];

  snprintf(whole, sizeof whole, "%04d-%02d-%02d", c.year % 10000, c.month % 100, c.day % 100);
  return when_read_bound(whole, site->zone, out_ms, err);
}

/* "id=10:30" on that day. */
static enum err_code read_move(const struct cli_day_site *site, const char *text,
                               struct cli_day *day, struct err *err)
{
  struct day_request *r = &day->request;
  const char *equals = text ? strrchr(text, '=') : NULL;
  char whole[32];

  if (!text)
    return ERR_OK;
  if (!equals || equals == text || strlen(equals + 1) != 5)
    return err_set(err, ERR_INPUT, "move '%.60s': write ID=10:30, the booking and its new start",
                   text);
  r->move_id = arena_printf(&day->arena, "%.*s", (int)(equals - text), text);
  snprintf(whole, sizeof whole, "%04d-%02d-%02d %s", r->date.year % 10000, r->date.month % 100,
           r->date.day % 100, equals + 1);
  return when_read(whole, site->zone, NULL, &r->move_to_ms, err);
}

static void use_openings(const struct cli_day_site *site, const struct day_habits *habits)
{
  double openings_m[DAY_STATIONS_MOST];

  for (int i = 0; i < site->facility->station_count; i++)
    openings_m[i] = habits->stations[i].opening_m;
  day_air_openings(site->air, openings_m);
}

static enum err_code learn(struct cli_day_site *site, struct cli_day *day, int64_t begin_ms,
                           struct err *err)
{
  int64_t now_ms = now_ms_of(site), until_ms = begin_ms < now_ms ? begin_ms : now_ms;
  struct day_uses uses = {0};
  enum err_code code = ERR_OK;

  if (site->record && !(site->may_lack_record && access(site->record, F_OK) != 0))
    code = cli_day_uses(site, begin_ms - (int64_t)(site->facility->day.back_s * 1000), until_ms,
                        &day->arena, &uses, err);
  if (code != ERR_OK)
    return code;
  day->habits = day_learn(site->facility, &day->bookings, &uses, until_ms, &day->arena);
  use_openings(site, &day->habits);
  return ERR_OK;
}

enum err_code cli_day_ask(struct cli_day_site *site, const struct cli_day_asked *asked,
                          struct cli_day *out, struct err *err)
{
  int64_t begin_ms = 0, back_ms = (int64_t)(site->facility->day.back_s * 1000);
  enum err_code code;

  *out = (struct cli_day){0};
  arena_init(&out->arena, ANSWER_BYTES);
  buf_init(&out->faults, 1 << 20);
  code = read_date(site, asked->date, &out->request.date, &begin_ms, err);
  if (code != ERR_OK)
    return code;

  const struct when_civil date = out->request.date;

  code = begin_of_day(site, begin_ms + day_ms / 2 - when_weekday(&date) * day_ms, &out->monday_ms,
                      err);
  if (code != ERR_OK)
    return code;
  const struct day_read_job job = {.facility = site->facility,
                                   .zone = site->zone,
                                   .from_ms = begin_ms - back_ms,
                                   .to_ms = asked->weeks ? out->monday_ms + 8 * day_ms
                                                         : begin_ms + 2 * day_ms,
                                   .columns = site->columns,
                                   .pattern = site->pattern};

  code = read_files(site, out, &job, err);
  if (code == ERR_OK)
    code = read_move(site, asked->move, out, err);
  if (code == ERR_OK)
    code = learn(site, out, begin_ms, err);
  if (code != ERR_OK || asked->weeks)
    return code;
  out->request.facility = site->facility;
  out->request.zone = site->zone;
  out->request.air = site->air;
  out->request.bookings = &out->bookings;
  out->request.habits = &out->habits;
  out->request.better = true;
  cli_day_rules_load(site->facility, site->suite, site->zone, begin_ms, &out->arena, &out->rules);
  if (out->rules.asked) {
    out->request.may_not = cli_day_may_not;
    out->request.second_needs = cli_day_second_needs;
    out->request.second_can = cli_day_second_can;
    out->request.arg = &out->rules;
  }
  out->answer = day_ask(&out->request, &out->arena, err);
  return out->answer ? ERR_OK : err->code;
}

void cli_day_release(struct cli_day *day)
{
  cli_day_rules_release(&day->rules);
  arena_release(&day->arena);
  buf_release(&day->faults);
}

enum err_code cli_day_answer(void *arg, const struct query *query, struct buf *out, struct err *err)
{
  struct cli_day_asked asked = {0};
  struct cli_day day;

  for (int i = 0; i < query->count; i++) {
    const struct query_pair *pair = &query->pairs[i];

    if (strcmp(pair->key, "date") == 0)
      asked.date = pair->value;
    else if (strcmp(pair->key, "move") == 0)
      asked.move = pair->value;
    else
      return err_set(err, ERR_USAGE, "'%.40s': date and move are what may be asked", pair->key);
  }
  enum err_code code = cli_day_ask(arg, &asked, &day, err);

  if (code == ERR_OK)
    day_json(day.answer, &day.said, NULL, false, out);
  cli_day_release(&day);
  return code;
}

enum err_code cli_day_bookings_of(void *arg, int64_t from_ms, int64_t to_ms, struct arena *arena,
                                  struct day_bookings *out, struct err *err)
{
  return cli_day_bookings(arg, from_ms, to_ms, arena, out, err);
}
