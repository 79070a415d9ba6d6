#include "cli/live_impl.h"

#include "cli/read.h"
#include "cli/zone.h"
#include "wire/wire.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void cli_hold_stop(sigset_t *stop_out)
{
  sigemptyset(stop_out);
  sigaddset(stop_out, SIGINT);
  sigaddset(stop_out, SIGTERM);
  pthread_sigmask(SIG_BLOCK, stop_out, NULL);
}

/* ---- a table to replay ---- */

struct rows {
  struct feed_observation *list;
  long count, room;
};

static void keep_row(void *arg, const struct feed_observation *o)
{
  struct rows *rows = arg;

  if (rows->count == rows->room) {
    rows->room = rows->room ? 2 * rows->room : 4096;

    struct feed_observation *more = realloc(rows->list, (size_t)rows->room * sizeof *rows->list);

    if (!more)
      err_no_memory();
    rows->list = more;
  }
  rows->list[rows->count++] = *o;
}

static int by_time(const void *a, const void *b)
{
  const struct feed_observation *x = a, *y = b;

  return x->t_ms != y->t_ms ? (x->t_ms > y->t_ms) - (x->t_ms < y->t_ms)
                            : (x->point > y->point) - (x->point < y->point);
}

static enum err_code find_source(const struct feeds *feeds, const char *id, int *source_out,
                                 struct err *err)
{
  *source_out = id ? feeds_source_find(feeds, id) : -1;
  if (!id)
    return err_set(err, ERR_USAGE, "--replay wants --source ID: which source wrote the table?");
  if (*source_out < 0)
    return err_set(err, ERR_INPUT, "no source '%.40s' in the feeds file", id);
  if (feeds->sources[*source_out].kind != FEEDS_CSV)
    return err_set(err, ERR_INPUT, "source %.40s writes no tables", id);
  return ERR_OK;
}

static enum err_code read_rows(struct cli_live *live, const struct cli_live_wanted *wanted,
                               struct rows *rows, struct err *err)
{
  const struct feeds *feeds = live->feeds;
  const struct when_zone *zone;
  struct facility_text text = {0};
  struct feed_table_report report;
  struct complaints complaints;
  struct feed_sink sink = {keep_row, rows};
  struct buf out;
  int source;
  enum err_code code = find_source(feeds, wanted->source, &source, err);

  if (code == ERR_OK)
    code = cli_zone_read(feeds->sources[source].table.zone, &live->arena, &zone, err);
  if (code == ERR_OK)
    code = cli_read_file(wanted->replay, FEED_TABLE_MOST_BYTES, &text, err);
  if (code != ERR_OK)
    return code;
  complaints_init(&complaints, &live->arena);

  struct feed_table_job job = {feeds, source, zone, &text, INT64_MAX / 2};

  if (!feed_table(&job, &sink, &live->arena, &complaints, &report))
    live->faulty = true;
  buf_init(&out, 1 << 20);
  complaints_print(&complaints, text.file, text.bytes, &out);
  fputs(out.text, stderr);
  buf_release(&out);
  cli_free_file(&text);
  if (!live->faulty && rows->count == 0)
    return err_set(err, ERR_INPUT, "%.100s: no value of a mapped point in it", wanted->replay);
  return ERR_OK;
}

/* In order of time, each seen when it was. */
static void order(struct rows *rows)
{
  if (rows->count > 1)
    qsort(rows->list, (size_t)rows->count, sizeof *rows->list, by_time);
  for (long i = 0; i < rows->count; i++)
    rows->list[i].seen_ms = rows->list[i].t_ms;
}

/* ---- words of webhooks ---- */

static enum err_code read_tokens(struct cli_live *live, const char *const **tokens_out,
                                 struct err *err)
{
  const struct feeds *feeds = live->feeds;
  const char **tokens = ARENA_ARRAY(&live->arena, const char *, (size_t)feeds->source_count + 1);
  char word[WIRE_SECRET_MOST];

  BUG_IF(!tokens);
  for (int i = 0; i < feeds->source_count; i++)
    if (feeds->sources[i].token) {
      enum err_code code = wire_secret(feeds->sources[i].token, live->folder, word, err);

      if (code != ERR_OK)
        return code;
      tokens[i] = arena_strdup(&live->arena, word);
    }
  *tokens_out = tokens;
  return ERR_OK;
}

/* ---- all of it ---- */

static const char *folder_of(const char *path, struct arena *arena)
{
  const char *slash = strrchr(path, '/');

  return slash ? arena_printf(arena, "%.*s", (int)(slash - path), path) : ".";
}

/* Tanks and waste, so that the keeper can remind of them; nothing where nothing is kept. */
static enum err_code load_wet(struct cli_live *live, const struct facility *facility,
                              const struct cli_live_wanted *wanted, struct err *err)
{
  const struct when_zone *zone = when_utc();
  enum err_code code;

  if (!wanted->record || !facility->chemicals_file)
    return ERR_OK;
  code = cli_zone(facility, &live->arena, &zone, err);
  if (code == ERR_OK)
    code = cli_load_chemicals(facility, wanted->suite, &live->own, err);
  if (code == ERR_OK && live->own)
    live->wet = wet_place_of(facility, live->own, zone, &live->arena);
  return code;
}

static enum err_code open_keeper(struct cli_live *live, const struct facility *facility,
                                 const struct cli_live_wanted *wanted, struct err *err)
{
  struct rows rows = {0};
  const struct when_zone *zone = when_utc();
  const char *const *tokens = NULL;
  enum err_code code = ERR_OK;

  code = cli_zone(facility, &live->arena, &zone, err);
  if (code == ERR_OK)
    code = read_tokens(live, &tokens, err);
  if (code == ERR_OK && wanted->replay)
    code = read_rows(live, wanted, &rows, err);
  live->rows = rows.list;
  if (code != ERR_OK || live->faulty)
    return code;
  order(&rows);

  struct keeper_settings settings = {.facility = facility,
                                     .feeds = live->feeds,
                                     .feeds_folder = live->folder,
                                     .zone = zone,
                                     .record_path = wanted->record,
                                     .texts = wanted->texts,
                                     .wet = live->own ? &live->wet : NULL,
                                     .told = wanted->told,
                                     .told_arg = wanted->told_arg,
                                     .connect = !wanted->replay,
                                     .replay = rows.list,
                                     .replay_count = rows.count,
                                     .replay_speed = wanted->speed > 0 ? wanted->speed : 1,
                                     .replay_from_ms = rows.count > 0 ? rows.list[0].t_ms : 0};

  code = keeper_open(&settings, &live->keeper, err);
  if (code == ERR_OK && wanted->record && access(wanted->record, F_OK) != 0)
    fprintf(stderr, "nothing is kept: %s could not be made; every page says so too\n",
            wanted->record);
  live->serve = (struct serve_live){.keeper = live->keeper,
                                    .feeds = live->feeds,
                                    .record_path = wanted->record,
                                    .zone = zone,
                                    .tokens = tokens};
  return code;
}

enum err_code cli_live_open(struct cli_live *live, const struct facility *facility,
                            const struct cli_live_wanted *wanted, struct err *err)
{
  *live = (struct cli_live){0};
  arena_init(&live->arena, (size_t)256 << 20);
  if (!facility->feeds_file && (wanted->record || wanted->replay))
    return err_set(err, ERR_INPUT,
                   "the suite names no feeds file, so nothing says what is measured; add "
                   "'files: {feeds: feeds.yaml}'");
  if (!facility->feeds_file)
    return ERR_OK;
  live->feeds = cli_load_feeds(facility, wanted->suite, err);
  if (!live->feeds) {
    live->faulty = !err->code; /* its faults are printed */
    return err->code;
  }
  live->folder =
      folder_of(cli_beside(wanted->suite, facility->feeds_file, &live->arena), &live->arena);
  enum err_code code = load_wet(live, facility, wanted, err);

  return code != ERR_OK || live->faulty ? err->code : open_keeper(live, facility, wanted, err);
}

void cli_live_close(struct cli_live *live)
{
  keeper_close(live->keeper);
  free(live->rows);
  feeds_free(live->feeds);
  chemicals_free(live->own);
  arena_release(&live->arena);
  *live = (struct cli_live){0};
}
