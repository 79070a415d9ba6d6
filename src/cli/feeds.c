/* inward feeds SUITE [TABLE]: what is measured where; or a first mapping for a table. */
#include "cli/cli.h"

#include "base/emit.h"
#include "cli/read.h"
#include "feed/feed.h"

#include <stdio.h>
#include <string.h>

static const char help[] =
    "usage: inward feeds SUITE [TABLE] [--with OVERLAY]... [--json]\n\n"
    "Lists the sources and points of the feeds file that the suite names. With TABLE, an exported\n"
    "table (CSV) that nobody has described yet, it proposes a feeds file for it: what is certain is\n"
    "filled in, and each thing that must be asked is a comment. Nothing is changed.\n\n"
    "  --with F    apply an overlay file first; several apply in the order given\n"
    "  --json      for programs\n\n"
    "Exit: 0 answered; 1 the suite names no feeds file; 2 bad input; 3 could not.\n"
    "example: inward feeds examples/quillmere/suite.yaml trend.csv > feeds.yaml\n";

struct request {
  const char *suite, *table;
  const char *overlays[CLI_OVERLAYS_MAX];
  int overlay_count;
  bool json, help;
};

static enum err_code read_request(int argc, char **argv, struct request *r, struct err *err)
{
  for (int i = 0; i < argc; i++) {
    if (strcmp(argv[i], "--json") == 0)
      r->json = true;
    else if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
      r->help = true;
    else if (strcmp(argv[i], "--with") == 0 && i + 1 < argc) {
      if (cli_take_overlay(r->overlays, &r->overlay_count, argv[++i], err) != ERR_OK)
        return ERR_USAGE;
    } else if (argv[i][0] == '-')
      return err_set(err, ERR_USAGE, "'%.40s' is no option here, or lacks its value", argv[i]);
    else if (!r->suite)
      r->suite = argv[i];
    else if (!r->table)
      r->table = argv[i];
    else
      return err_set(err, ERR_USAGE, "one table at a time; what is '%.40s'?", argv[i]);
  }
  if (!r->suite && !r->help)
    return err_set(err, ERR_USAGE, "which suite? inward feeds SUITE [TABLE]");
  return ERR_OK;
}

/* ---- the list ---- */

static void put_place(const struct feeds_source *s, struct buf *out)
{
  static const char *const shapes[] = {"wide", "long"};

  switch (s->kind) {
  case FEEDS_CSV:
    buf_printf(out, "%s table, times %s in %s, %s%s", shapes[s->table.shape], s->table.pattern,
               s->table.zone, s->table.folder ? "folder " : "by inward take",
               s->table.folder ? s->table.folder : "");
    return;
  case FEEDS_CALENDAR:
    buf_printf(out, "folder %s, in %s", s->table.folder, s->table.zone);
    return;
  case FEEDS_MQTT:
  case FEEDS_MODBUS:
    buf_printf(out, "%s port %d", s->host, s->port);
    return;
  case FEEDS_BACNET:
    buf_printf(out, "%s port %d, device %d", s->host, s->port, s->device);
    return;
  case FEEDS_WEBHOOK:
  case FEEDS_HAND:
  default:
    buf_puts(out, "at the board");
  }
}

static void put_source(const struct feeds_source *s, struct buf *out)
{
  buf_printf(out, "  %-12s %-9s ", s->part.id, feeds_kind_name(s->kind));
  put_place(s, out);
  buf_puts(out, s->every_s > 0 ? "; every " : "");
  if (s->every_s > 0)
    when_print_span(out, s->every_s);
  buf_puts(out, "; old after ");
  when_print_span(out, s->old_after_s);
  buf_putc(out, '\n');
}

static void put_point(const struct facility *facility, const struct feeds *feeds,
                      const struct feeds_point *p, struct buf *out)
{
  struct buf about;

  buf_init(&about, 100);
  feeds_about(facility, p, &about);
  buf_printf(out, "  %-12s %-8s %-14s %-12s %s%s%s\n", p->part.id,
             about.used ? about.text : "suite", feeds_what_name(p->what),
             feeds->sources[p->source].part.id, p->at, p->unit_text ? " in " : "",
             p->unit_text ? p->unit_text : "");
  buf_release(&about);
}

static void print_list(const struct cli_reading *reading, struct buf *out)
{
  const struct feeds *feeds = reading->feeds;

  buf_printf(out, "%s\nsources\n", reading->feeds_text.file);
  for (int i = 0; i < feeds->source_count; i++)
    put_source(&feeds->sources[i], out);
  buf_puts(out, "points\n");
  for (int i = 0; i < feeds->point_count; i++)
    put_point(reading->facility, feeds, &feeds->points[i], out);
}

static void emit_sources(const struct feeds *feeds, struct emit *json)
{
  emit_array(json, "sources");
  for (int i = 0; i < feeds->source_count; i++) {
    const struct feeds_source *s = &feeds->sources[i];

    emit_object(json, NULL);
    emit_text(json, "id", s->part.id);
    emit_text(json, "kind", feeds_kind_name(s->kind));
    emit_number_if(json, "every_s", s->every_s > 0, s->every_s);
    emit_number(json, "old_after_s", s->old_after_s);
    emit_number(json, "clock_ahead_s", s->clock_ahead_s);
    emit_text(json, "zone", s->table.zone);
    emit_text(json, "folder", s->table.folder);
    emit_close(json);
  }
  emit_close(json);
}

static void emit_points(const struct cli_reading *reading, struct emit *json)
{
  struct buf about;

  buf_init(&about, 100);
  emit_array(json, "points");
  for (int i = 0; i < reading->feeds->point_count; i++) {
    const struct feeds_point *p = &reading->feeds->points[i];

    buf_clear(&about);
    feeds_about(reading->facility, p, &about);
    emit_object(json, NULL);
    emit_text(json, "id", p->part.id);
    emit_text(json, "of", about.used ? about.text : NULL);
    emit_text(json, "what", feeds_what_name(p->what));
    emit_text(json, "from", reading->feeds->sources[p->source].part.id);
    emit_text(json, "at", p->at);
    emit_text(json, "unit", p->unit_text);
    emit_text(json, "si_unit", units_si_text(p->dimension));
    emit_number(json, "old_after_s", p->old_after_s);
    emit_close(json);
  }
  emit_close(json);
  buf_release(&about);
}

static void print_json(const struct cli_reading *reading, const char *proposal, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.feeds.1");
  emit_text(&json, "suite_sha256", reading->facility->sha256);
  emit_text(&json, "feeds_sha256", reading->feeds ? reading->feeds->sha256 : NULL);
  if (proposal) {
    emit_text(&json, "proposal", proposal);
  } else if (reading->feeds) {
    emit_sources(reading->feeds, &json);
    emit_points(reading, &json);
  }
  emit_close(&json);
  emit_end(&json);
}

/* ---- */

static void print_faults(const struct cli_reading *reading)
{
  struct buf faults;

  buf_init(&faults, 1 << 20);
  cli_reading_print(reading, &faults);
  fputs(faults.text, stderr);
  buf_release(&faults);
}

/* 0, or the status of a failure that was told. */
static int propose(const struct cli_reading *reading, const struct request *r, struct buf *out,
                   struct err *err)
{
  struct facility_text text = {0};
  struct complaints complaints;
  struct buf proposal, faults;
  struct arena arena;
  int status = 0;

  if (cli_read_file(r->table, FEED_TABLE_MOST_BYTES, &text, err) != ERR_OK)
    return err_exit_status(err->code);
  arena_init(&arena, 1 << 20);
  complaints_init(&complaints, &arena);
  buf_init(&proposal, 8 << 20);
  if (!feed_propose(reading->facility, &text, &complaints, &proposal)) {
    buf_init(&faults, 1 << 20);
    complaints_print(&complaints, r->table, NULL, &faults);
    fputs(faults.text, stderr);
    buf_release(&faults);
    status = 2;
  } else if (r->json) {
    print_json(reading, proposal.text, out);
  } else {
    buf_puts(out, proposal.text);
  }
  buf_release(&proposal);
  arena_release(&arena);
  cli_free_file(&text);
  return status;
}

static int answer(struct cli_reading *reading, const struct request *r, struct buf *out,
                  struct err *err)
{
  if (cli_reading_read(reading, r->suite, r->overlays, r->overlay_count, err) != ERR_OK)
    return err_exit_status(err->code);
  /* A proposal is for a suite that may have none yet, or one that is not sound. */
  if (!r->table && cli_reading_feeds(reading, err) != ERR_OK)
    return err_exit_status(err->code);
  print_faults(reading);
  if (!reading->facility)
    return 2;
  if (r->table)
    return propose(reading, r, out, err);
  if (reading->facility->feeds_file && !reading->feeds)
    return 2;
  if (r->json)
    print_json(reading, NULL, out);
  else if (reading->feeds)
    print_list(reading, out);
  else
    buf_printf(out, "%s names no feeds file; write files: {feeds: feeds.yaml}\n", r->suite);
  return reading->feeds ? 0 : 1;
}

int cli_feeds(int argc, char **argv)
{
  struct request r = {0};
  struct cli_reading reading = {0};
  struct err err = {0};
  struct buf out;
  int status;

  if (read_request(argc, argv, &r, &err) != ERR_OK) {
    fprintf(stderr, "inward feeds: %s; 'inward feeds --help' explains\n", err.text);
    return 2;
  }
  if (r.help) {
    fputs(help, stdout);
    return 0;
  }
  buf_init(&out, 64 << 20);
  status = answer(&reading, &r, &out, &err);
  if (err.text[0])
    fprintf(stderr, "inward feeds: %s\n", err.text);
  else
    status = cli_show(&out, status);
  buf_release(&out);
  cli_reading_release(&reading);
  return status;
}
