#include "serve/live_impl.h"

#include "ask/ask.h"
#include "base/query.h"
#include "past/past.h"
#include "serve/incident_impl.h"
#include "serve/route_impl.h"
#include "serve/why_impl.h"

#include <stdlib.h>
#include <string.h>

/* Questions to the record, each thread with a handle of its own. */

enum { AGAIN_S = 2, PLOT_MOST = 2000, ENTRIES_MOST = 1000, WORK_BYTES = 64 << 20 };

void live_reader_release(struct live_reader *reader)
{
  record_close(reader->record);
  reader->record = NULL;
}

enum err_code live_need_record(const struct live *live, struct live_reader *reader, struct err *err)
{
  enum err_code code;

  if (!live->given->record_path)
    return err_set(err, ERR_INPUT, "nothing is kept here: start the board with --record FILE");
  if (reader->record)
    return ERR_OK;
  code = record_open(live->given->record_path, RECORD_READ, &reader->record, err);
  if (code == ERR_OK)
    code = record_bind(reader->record, live->facility, live->given->feeds,
                       keeper_now_ms(live->given->keeper), err);
  if (code != ERR_OK)
    live_reader_release(reader);
  return code;
}

/* ---- parameters ---- */

static enum err_code take_keys(const struct query *query, const char *known, struct err *err)
{
  for (int i = 0; i < query->count; i++) {
    const char *key = query->pairs[i].key, *at = strstr(known, key);
    size_t length = strlen(key);

    if (!at || length == 0 || (at != known && at[-1] != '|') || (at[length] && at[length] != '|'))
      return err_set(err, ERR_INPUT, "no parameter \"%.32s\"; there are: %s", key, known);
    if (query_count(query, key) > 1)
      return err_set(err, ERR_INPUT, "\"%.32s\" twice; say it once", key);
  }
  return ERR_OK;
}

static enum err_code take_moment(const struct live *live, const struct query *query,
                                 const char *key, int64_t usual_ms, int64_t *out_ms,
                                 struct err *err)
{
  const char *text = query_find(query, key);

  enum err_code code = ERR_OK;

  *out_ms = usual_ms;
  if (text && strcmp(key, "at") == 0)
    code = when_read(text, live->given->zone, NULL, out_ms, err);
  else if (text)
    code = when_read_bound(text, live->given->zone, out_ms, err);
  if (code != ERR_OK)
    err_prefix(err, "%s: ", key);
  return code;
}

static enum err_code take_most(const struct query *query, int usual, int limit, int *out,
                               struct err *err)
{
  const char *text = query_find(query, "most");
  char *end;

  *out = usual;
  if (!text)
    return ERR_OK;
  long number = strtol(text, &end, 10);

  if (*text < '1' || *text > '9' || *end || number > limit)
    return err_set(err, ERR_INPUT, "most must be a whole number from 1 to %d", limit);
  *out = (int)number;
  return ERR_OK;
}

static enum err_code take_span(const struct live *live, const struct query *query,
                               double usual_back_s, int64_t *from_ms, int64_t *to_ms,
                               struct err *err)
{
  int64_t now_ms = keeper_now_ms(live->given->keeper);
  enum err_code code = take_moment(live, query, "to", now_ms, to_ms, err);

  if (code == ERR_OK)
    code = take_moment(live, query, "from", *to_ms - (int64_t)(usual_back_s * 1e3), from_ms, err);
  if (code == ERR_OK && *from_ms >= *to_ms)
    return err_set(err, ERR_INPUT, "from must be before to");
  return code;
}

/* ---- entries ---- */

static enum err_code get_entries(const struct live *live, struct live_reader *reader,
                                 const struct query *query, struct buf *out, struct err *err)
{
  const char *kind = query_find(query, "kind");
  struct record_wanted wanted = {
      .about = query_find(query, "about"), .kind = -1, .known_ms = INT64_MAX};
  struct past_entries found = {.suite = live->facility->name};
  struct record_entry *list;
  struct arena arena;
  char hex[65];
  enum err_code code = take_keys(query, "from|to|about|kind|most", err);

  if (code == ERR_OK)
    code = take_span(live, query, 7 * 86400.0, &wanted.from_ms, &wanted.to_ms, err);
  if (code == ERR_OK)
    code = take_most(query, 200, ENTRIES_MOST, &wanted.most, err);
  if (code != ERR_OK)
    return code;
  wanted.to_ms++; /* what was entered this very moment belongs to it */
  if (kind && (wanted.kind = record_kind_find(kind)) < 0)
    return err_set(err, ERR_INPUT, "no kind \"%.32s\"", kind);
  arena_init(&arena, WORK_BYTES);
  code = record_entries(reader->record, &wanted, &arena, &list, &found.count, err);
  if (code == ERR_OK)
    code = record_head(reader->record, &found.head_number, hex, err);
  if (code == ERR_OK) {
    found.list = list;
    found.head_hex = hex;
    past_entries_json(&found, live->given->zone, out);
  }
  arena_release(&arena);
  return code;
}

/* ---- plots ---- */

static enum err_code get_plot(const struct live *live, struct live_reader *reader,
                              const struct query *query, struct buf *out, struct err *err)
{
  const char *id = query_find(query, "point");
  struct record_plot plot = {.point = id ? feeds_point_find(live->given->feeds, id) : -1};
  enum err_code code = take_keys(query, "point|from|to|most", err);

  if (code == ERR_OK && plot.point < 0)
    code = err_set(err, ERR_INPUT, "\"point\" must be the id of a point of the feeds file");
  if (code == ERR_OK)
    code = take_span(live, query, 86400.0, &plot.from_ms, &plot.to_ms, err);
  if (code == ERR_OK)
    code = take_most(query, 600, PLOT_MOST, &plot.most, err);
  if (code != ERR_OK)
    return code;
  plot.most = plot.most < 2 ? 2 : plot.most;
  plot.list = calloc((size_t)plot.most, sizeof *plot.list);
  if (!plot.list)
    err_no_memory();
  code = record_plot(reader->record, &plot, err);
  if (code == ERR_OK)
    past_plot_json(live->given->feeds, &plot, out);
  free(plot.list);
  return code;
}

/* ---- pages of words ---- */

static const struct past_page why_page = {
    .title = "Why did it turn?", .path = "/past", .field = "moment", .key = "at"};
static const struct past_page alarms_page = {.title = "Which alarms help, and which are noise?",
                                             .path = "/alarms",
                                             .field = "since",
                                             .key = "from"};

static const struct past_page night_page = {.title = "What did the night cost, and why?",
                                            .path = "/night",
                                            .field = "evening of",
                                            .key = "night"};
static const struct past_page sheet_page = {.title = "What was told, and what was measured?"};

/* A page has a head, whatever it says. */
static void put_page(const struct live *live, struct past_page page, int status, const char *said,
                     struct buf *out)
{
  struct buf text, links;

  buf_init(&text, WORK_BYTES);
  buf_init(&links, WORK_BYTES);
  route_links(page.path ? page.path : "", &links);
  if (status != 200)
    buf_puts(&text, "The record\n\n");
  buf_puts(&text, said);
  page.text = text.text;
  page.suite = live->facility->name ? live->facility->name : "(no name)";
  page.label = live->facility->label;
  page.clock = live->given && keeper_is_replay(live->given->keeper) ? "REPLAY" : NULL;
  page.asked = page.asked ? page.asked : "";
  page.style = route_asset_path("/a/record.", ".css");
  page.mark = route_asset_path("/a/mark.", ".svg");
  page.links = links.text;
  page.again_s = status == 202 ? AGAIN_S : page.again_s;
  past_page_html(&page, out);
  buf_release(&links);
  buf_release(&text);
}

/* The words of an answer, or why there is none: on the page they belong to, or as JSON. */
static int put_said(const struct live *live, const struct past_page *page, const char *asked,
                    int status, const struct buf *said, struct buf *out)
{
  struct past_page shown;

  if (page) {
    shown = *page;
    shown.asked = asked;
    put_page(live, shown, status, said->text, out);
  } else if (status == 200) {
    buf_add(out, said->text, said->used);
  } else {
    ask_refuse(out, status, said->text);
  }
  return status;
}

int live_nobody(const struct live *live, const char *path, bool posted, struct buf *out)
{
  static const char why[] =
      "Nothing is connected to this board, so nothing is measured or recorded, and nothing can be "
      "entered. Name a feeds file in the suite (files: {feeds: feeds.yaml}), then start the board with "
      "inward serve SUITE --record FILE.";
  static const struct past_page *const pages[] = {&why_page, &alarms_page, &night_page, NULL};
  struct past_page page = {.title = sheet_page.title};

  if (!live_is_page(path))
    return ask_refuse(out, posted ? 409 : 404, why);
  for (int i = 0; pages[i]; i++)
    if (strcmp(pages[i]->path, path) == 0)
      page = *pages[i];
  put_page(live, page, 404, why, out);
  return 404;
}

/* ---- alarms ---- */

static enum err_code find_alarms(const struct live *live, struct live_reader *reader,
                                 const struct query *query, bool page, struct buf *said,
                                 struct err *err)
{
  struct past_place place = {.record = reader->record,
                             .facility = live->facility,
                             .feeds = live->given->feeds,
                             .zone = live->given->zone};
  struct past_span span = {.known_ms = INT64_MAX};
  struct past_alarms alarms;
  struct arena arena;
  enum err_code code = take_keys(query, "from|to", err);

  if (code == ERR_OK)
    code = take_span(live, query, 30 * 86400.0, &span.from_ms, &span.to_ms, err);
  if (code != ERR_OK)
    return code;
  arena_init(&arena, WORK_BYTES);
  code = past_alarms_ask(&place, &span, &arena, &alarms, err);
  if (code == ERR_OK && page)
    past_alarms_text(&place, &alarms, said);
  else if (code == ERR_OK)
    past_alarms_json(&place, &alarms, said);
  arena_release(&arena);
  return code;
}

static int get_alarms(const struct live *live, struct live_reader *reader, bool page,
                      const char *search, size_t size, struct buf *out)
{
  struct query query;
  struct err err = {0};
  struct buf said;
  enum err_code code = query_parse(search, size, &query, &err);
  const char *asked = code == ERR_OK ? query_find(&query, "from") : NULL;

  buf_init(&said, WORK_BYTES);
  if (code == ERR_OK)
    code = live_need_record(live, reader, &err);
  if (code == ERR_OK)
    code = find_alarms(live, reader, &query, page, &said, &err);
  if (code != ERR_OK) {
    buf_clear(&said);
    buf_puts(&said, err.text);
  }

  int status = put_said(live, page ? &alarms_page : NULL, asked,
                        code == ERR_OK               ? 200
                        : err_exit_status(code) == 2 ? 400
                                                     : 503,
                        &said, out);

  buf_release(&said);
  return status;
}

/* ---- night ---- */

/* The air state over a night is a night of scenes to solve, and no screen should wait for that: until it
 * is worked out the night is told without, and *again says to ask once more. */
struct night_said {
  bool page, again;         /* HTML, not JSON; ask once more in a moment */
  struct buf said, drawing; /* the drawing is empty where JSON is wanted */
};

static enum err_code tell_night(const struct past_place *place, const struct when_civil *date,
                                int64_t now_ms, const char *why, struct night_said *out,
                                struct err *err)
{
  struct past_night night;
  struct arena arena;

  arena_init(&arena, WORK_BYTES);
  enum err_code code = past_night_ask(place, date, now_ms, INT64_MAX, &arena, &night, err);

  if (code == ERR_OK)
    night.levels_why = why;
  if (code == ERR_OK && out->page)
    past_night_page(place, &night, &out->said, &out->drawing);
  else if (code == ERR_OK)
    past_night_json(place, &night, &out->said);
  arena_release(&arena);
  return code;
}

static enum err_code find_night(const struct live *live, struct live_reader *reader,
                                const struct query *query, struct night_said *out, struct err *err)
{
  struct past_place place = {.record = reader->record,
                             .facility = live->facility,
                             .feeds = live->given->feeds,
                             .zone = live->given->zone};
  int64_t now_ms = keeper_now_ms(live->given->keeper);
  const char *asked = query_find(query, "night");
  struct when_civil date;
  struct buf why;
  enum err_code code = take_keys(query, "night", err);

  if (code == ERR_OK)
    code = past_night_find(&place, asked && *asked ? asked : NULL, now_ms, &date, err);
  if (code != ERR_OK)
    return code;

  int status = night_desk_ask(live->nights, &date, !out->page, &out->said, &out->drawing);

  if (status == 200)
    return ERR_OK;
  buf_init(&why, 1000);
  buf_puts(&why, status == 202 ? "it is being worked out, a few seconds more" : out->said.text);
  buf_clear(&out->said);
  out->again = status == 202;
  code = tell_night(&place, &date, now_ms, why.text, out, err);
  buf_release(&why);
  return code;
}

static bool asks_night(const char *path, const char *search, size_t size)
{
  struct query query;
  struct err err = {0};

  return strcmp(path, "/night") == 0 ||
         (strcmp(path, "/api/past") == 0 && query_parse(search, size, &query, &err) == ERR_OK &&
          query_find(&query, "night"));
}

static int get_night(const struct live *live, struct live_reader *reader, bool page,
                     const char *search, size_t size, struct buf *out)
{
  struct night_said night = {.page = page};
  struct past_page shown = night_page;
  struct query query;
  struct err err = {0};

  buf_init(&night.said, WORK_BYTES);
  buf_init(&night.drawing, WORK_BYTES);
  enum err_code code = query_parse(search, size, &query, &err);
  const char *asked = code == ERR_OK ? query_find(&query, "night") : NULL;

  if (code == ERR_OK)
    code = live_need_record(live, reader, &err);
  if (code == ERR_OK)
    code = find_night(live, reader, &query, &night, &err);
  if (code != ERR_OK)
    buf_puts(&night.said, err.text);
  shown.drawing = code == ERR_OK ? night.drawing.text : NULL;
  shown.again_s = night.again ? AGAIN_S : 0;

  int status = put_said(live, page ? &shown : NULL, asked,
                        code == ERR_OK               ? 200
                        : err_exit_status(code) == 2 ? 400
                                                     : 503,
                        &night.said, out);

  buf_release(&night.drawing);
  buf_release(&night.said);
  return status;
}

/* ---- why ---- */

static int get_past(const struct live *live, bool page, const char *search, size_t size,
                    struct buf *out)
{
  struct query query;
  struct err err = {0};
  struct buf said;
  int64_t t_ms;
  enum err_code code = query_parse(search, size, &query, &err);
  const char *asked = code == ERR_OK ? query_find(&query, "at") : NULL;
  int status = 400;

  buf_init(&said, WORK_BYTES);
  if (code == ERR_OK)
    code = take_keys(&query, "at", &err);
  if (code == ERR_OK)
    code = take_moment(live, &query, "at", 0, &t_ms, &err);
  if (code == ERR_OK && !asked)
    code = err_set(&err, ERR_INPUT, "Which moment? Write it as 2026-10-26 14:10.");
  if (code == ERR_OK && t_ms > keeper_now_ms(live->given->keeper))
    code = err_set(&err, ERR_INPUT, "That moment has not come yet.");
  if (code != ERR_OK)
    buf_puts(&said, err.text);
  else
    status = why_desk_ask(live->desk, t_ms, !page, &said);
  status = put_said(live, page ? &why_page : NULL, asked, status, &said, out);
  buf_release(&said);
  return status;
}

/* ---- the sheet of an incident ---- */

static int get_sheet(const struct live *live, struct live_reader *reader, bool page,
                     const struct query *query, struct buf *out)
{
  struct err err = {0};
  struct buf said;
  enum err_code code = take_keys(query, "incident", &err);
  int status = 200;

  buf_init(&said, WORK_BYTES);
  if (code == ERR_OK)
    code = live_need_record(live, reader, &err);
  if (code == ERR_OK)
    code =
        incident_get_sheet(live, reader->record, query_find(query, "incident"), !page, &said, &err);
  if (code != ERR_OK) {
    status = err_exit_status(code) == 2 ? 400 : 503;
    buf_clear(&said);
    buf_puts(&said, err.text);
  }
  status = put_said(live, page ? &sheet_page : NULL, NULL, status, &said, out);
  buf_release(&said);
  return status;
}

static int get_live(const struct live *live, struct buf *out)
{
  const struct keeper_view *view = keeper_view(live->given->keeper);

  if (!view)
    return ask_refuse(out, 503, "nothing is known yet: ask again in a second");
  buf_add(out, view->json.text, view->json.used);
  keeper_view_release(view);
  return 200;
}

int live_get(const struct live *live, struct live_reader *reader, const char *path,
             const char *search, size_t size, struct buf *out)
{
  struct query query;
  struct err err = {0};
  enum err_code code;

  if (strcmp(path, "/api/live") == 0)
    return get_live(live, out);
  if (asks_night(path, search, size))
    return get_night(live, reader, live_is_page(path), search, size, out);
  if (strcmp(path, "/past") == 0 || strcmp(path, "/api/past") == 0)
    return get_past(live, live_is_page(path), search, size, out);
  if (strcmp(path, "/alarms") == 0 || strcmp(path, "/api/alarms") == 0)
    return get_alarms(live, reader, live_is_page(path), search, size, out);
  if (strcmp(path, "/api/ready") == 0)
    return live_get_ready(live, reader, search, size, out);
  if (strcmp(path, "/api/rounds") == 0)
    return live_get_rounds(live, reader, search, size, out);
  if (strcmp(path, "/api/sightings") == 0)
    return live_get_sightings(live, reader, search, size, out);
  if (strcmp(path, "/api/tell") == 0)
    return incident_get_forms(live, out);
  code = query_parse(search, size, &query, &err);
  if (code == ERR_OK && strstr(path, "/sheet"))
    return get_sheet(live, reader, live_is_page(path), &query, out);
  if (code == ERR_OK)
    code = live_need_record(live, reader, &err);
  if (code == ERR_OK)
    code = strcmp(path, "/api/plot") == 0 ? get_plot(live, reader, &query, out, &err)
                                          : get_entries(live, reader, &query, out, &err);
  if (code == ERR_OK)
    return 200;
  return ask_refuse(out, err_exit_status(code) == 2 ? 400 : 503, err.text);
}
