#include "serve/wet_impl.h"

#include "ask/ask.h"
#include "base/emit.h"
#include "base/query.h"
#include "past/past.h"
#include "serve/body_impl.h"
#include "wet/wet.h"

#include <math.h>
#include <string.h>

/* A day at the wet benches on the board: what stands and what is due, what may go in, and what people tell. */

enum { WORK_BYTES = 256 << 20, AHEAD_MOST_MS = 5 * 60 * 1000, WHAT_MOST = 4 };

static const struct {
  const char *path, *method;
  bool needs_record;
} rows[] = {
    {"/api/baths", "GET", true},  {"/api/waste", "GET", true}, {"/api/waste-may", "GET", true},
    {"/api/stock", "GET", false}, {"/api/told", "POST", true}, {"/api/drain-may", "GET", true},
};

static int row_of(const char *path)
{
  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
    if (strcmp(rows[i].path, path) == 0)
      return (int)i;
  return -1;
}

const char *wet_method(const char *path)
{
  int row = row_of(path);

  return row >= 0 ? rows[row].method : NULL;
}

bool wet_needs_record(const char *path)
{
  int row = row_of(path);

  return row >= 0 && rows[row].needs_record;
}

/* ---- asked ---- */

struct asking {
  const struct live *live;
  struct wet_place place;
  const struct wet_past *past;
  struct arena arena;
  struct query query;
  const char *container, *tank, *drain;
  bool at_given;
  const char *what[WHAT_MOST];
  int what_count;
};

enum asked { ASKED_PLAIN, ASKED_WASTE_MAY, ASKED_DRAIN_MAY };

static enum err_code take_pair(struct asking *a, enum asked of, const char *key, const char *value,
                               struct err *err)
{
  static const char *const more[] = {"", ", container, what (at most 4)", ", tank, drain"};
  bool may = of == ASKED_WASTE_MAY, drain = of == ASKED_DRAIN_MAY;
  int64_t now_ms = a->place.now_ms;

  if (strcmp(key, "at") == 0 && *value) {
    if (when_read(value, a->place.zone, NULL, &a->place.now_ms, err) != ERR_OK) {
      err_prefix(err, "at: ");
      return err->code;
    }
    a->at_given = true;
    return a->place.now_ms <= now_ms ? ERR_OK
                                     : err_set(err, ERR_INPUT, "at: that has not come yet");
  }
  if (may && strcmp(key, "container") == 0)
    a->container = value;
  else if (may && strcmp(key, "what") == 0 && a->what_count < WHAT_MOST)
    a->what[a->what_count++] = value;
  else if (drain && strcmp(key, "tank") == 0)
    a->tank = value;
  else if (drain && strcmp(key, "drain") == 0)
    a->drain = *value ? value : NULL;
  else
    return err_set(err, ERR_INPUT, "no parameter \"%.32s\" here; there are: at%s", key, more[of]);
  return ERR_OK;
}

static enum err_code take_query(struct asking *a, const char *path, const char *search, size_t size,
                                struct err *err)
{
  enum asked of = strcmp(path, "/api/waste-may") == 0   ? ASKED_WASTE_MAY
                  : strcmp(path, "/api/drain-may") == 0 ? ASKED_DRAIN_MAY
                                                        : ASKED_PLAIN;
  enum err_code code = query_parse(search, size, &a->query, err);

  if (code == ERR_OK && !wet_needs_record(path) && a->query.count > 0)
    return err_set(err, ERR_INPUT, "no parameter \"%.32s\": this address takes none",
                   a->query.pairs[0].key);
  for (int i = 0; code == ERR_OK && i < a->query.count; i++)
    code = take_pair(a, of, a->query.pairs[i].key, a->query.pairs[i].value, err);
  if (code == ERR_OK && of == ASKED_WASTE_MAY && (!a->container || a->what_count == 0))
    code = err_set(err, ERR_INPUT, "which \"container\", and may \"what\" go in?");
  if (code == ERR_OK && of == ASKED_DRAIN_MAY && !a->tank)
    code = err_set(err, ERR_INPUT, "may which \"tank\" be let down its drain?");
  return code;
}

static enum err_code read_past(struct asking *a, struct live_reader *reader, struct err *err)
{
  struct wet_past *past;
  enum err_code code = live_need_record(a->live, reader, err);

  if (code == ERR_OK)
    code =
        wet_recorded(reader->record, keeper_now_ms(a->live->given->keeper), &a->arena, &past, err);
  if (code == ERR_OK)
    a->past = past;
  return code;
}

/* What is measured: now by the board itself, of another moment by the record. */
struct seeing {
  struct asking *asking;
  const struct feeds *feeds;
};

static void see_now(void *arg, const struct watch_belief *belief)
{
  struct seeing *s = arg;

  wet_see(&s->asking->place, s->feeds, belief, &s->asking->arena);
}

static enum err_code see(struct asking *a, struct live_reader *reader, struct err *err)
{
  const struct feeds *feeds = a->live->given->feeds;
  struct seeing seeing = {a, feeds};
  struct watch_belief belief;

  if (!a->at_given)
    return keeper_look(a->live->given->keeper, see_now, &seeing, err);
  const struct past_place place = {.record = reader->record,
                                   .facility = a->live->facility,
                                   .feeds = feeds,
                                   .zone = a->place.zone};
  enum err_code code = past_believe(&place, a->place.now_ms, INT64_MAX, &a->arena, &belief, err);

  if (code == ERR_OK)
    wet_see(&a->place, feeds, &belief, &a->arena);
  return code;
}

static bool is_measured(const char *path)
{
  return strcmp(path, "/api/baths") == 0 || strcmp(path, "/api/drain-may") == 0;
}

static void put_answer(struct asking *a, const char *path, struct buf *out)
{
  if (strcmp(path, "/api/stock") == 0)
    wet_stock_json(wet_stock(&a->place, &a->arena), out);
  else if (strcmp(path, "/api/baths") == 0)
    wet_baths_json(wet_baths(&a->place, a->past, &a->arena), out);
  else if (strcmp(path, "/api/waste") == 0)
    wet_waste_json(wet_waste(&a->place, a->past, &a->arena), out);
  else if (strcmp(path, "/api/drain-may") == 0)
    wet_dump_json(wet_dump(wet_baths(&a->place, a->past, &a->arena), a->tank, a->drain, &a->arena),
                  out);
  else
    wet_may_json(wet_may(wet_waste(&a->place, a->past, &a->arena), a->container, a->what,
                         a->what_count, &a->arena),
                 out);
}

static void begin(struct asking *a, const struct live *live, const struct chemistry *chemistry)
{
  *a = (struct asking){.live = live, .place = chemistry_place(chemistry)};
  arena_init(&a->arena, WORK_BYTES);
  a->place.zone = live->given ? live->given->zone : when_utc();
  a->place.now_ms = live->given ? keeper_now_ms(live->given->keeper) : 0;
}

/* What nothing is kept for is a refusal of what is asked for, not of how. */
static int status_of(const struct live *live, enum err_code code)
{
  if (!live->given->record_path)
    return 409;
  return err_exit_status(code) == 2 ? 400 : 503;
}

int wet_get(const struct live *live, const struct chemistry *chemistry, struct live_reader *reader,
            const char *path, const char *search, struct buf *out)
{
  struct asking asking;
  struct err err = {0};
  int status = 200;

  begin(&asking, live, chemistry);
  enum err_code code = take_query(&asking, path, search, strlen(search), &err);

  if (code != ERR_OK)
    status = 400;
  else if (wet_needs_record(path)) {
    code = read_past(&asking, reader, &err);
    if (code == ERR_OK && is_measured(path))
      code = see(&asking, reader, &err);
    status = code == ERR_OK ? 200 : status_of(live, code);
  }
  if (code == ERR_OK)
    put_answer(&asking, path, out);
  arena_release(&asking.arena);
  if (code != ERR_OK)
    return ask_refuse(out, status, err.text);
  return out->full ? ask_refuse(out, 500, "the answer is too long") : status;
}

/* ---- told ---- */

static enum err_code take_body(struct asking *a, json_t *root, struct wet_request *request,
                               struct err *err)
{
  const char *at = live_text(root, "at");
  int64_t now_ms = a->place.now_ms;
  double back_s = a->live->given->feeds->told_back_s;
  const char *key;
  json_t *value;
  enum err_code code = ERR_OK;

  if (!live_is_person(live_text(root, "who")))
    return err_set(err, ERR_INPUT, "\"who\" says so? At most 80 bytes, and not inward");
  json_object_foreach(root, key, value)
  {
    if (code == ERR_OK && strcmp(key, "who") != 0 && strcmp(key, "at") != 0)
      code = wet_take(request, key, json_string_value(value), err);
  }
  if (code != ERR_OK || !at)
    return code;
  if (when_read(at, a->place.zone, NULL, &a->place.now_ms, err) != ERR_OK) {
    err_prefix(err, "\"at\": ");
    return err->code;
  }
  if (a->place.now_ms > now_ms + AHEAD_MOST_MS)
    return err_set(err, ERR_INPUT, "\"at\": that has not come yet");
  if (a->place.now_ms < now_ms - llround(back_s * 1e3))
    return err_set(err, ERR_INPUT, "\"at\": too long ago: " FEEDS_TOLD_BACK, back_s / 86400);
  if (a->place.now_ms > now_ms)
    a->place.now_ms = now_ms; /* a tablet's clock is ahead: it is told now, and asked about now */
  return ERR_OK;
}

static int entered(int64_t number, const char *hash, const char *note, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.entered.1");
  emit_int(&json, "number", number);
  emit_text(&json, "hash", hash);
  emit_text(&json, "note", note);
  emit_close(&json);
  emit_end(&json);
  return 200;
}

static int write_down(struct asking *a, struct wet_telling *telling, const char *who,
                      struct buf *out)
{
  struct keeper *keeper = a->live->given->keeper;
  struct err err = {0};

  if (telling->already)
    return entered(telling->already, NULL, "it was told with the same tap: it counts once", out);
  if (telling->refused)
    return ask_refuse(out, 409, telling->refused);
  telling->entry.who = who;
  telling->entry.t_ms = a->place.now_ms;
  telling->entry.written_ms = keeper_now_ms(keeper);
  if (keeper_enter(keeper, &telling->entry, &err) != ERR_OK)
    return ask_refuse(out, err.code == ERR_INPUT ? 400 : 503, err.text);
  return entered(telling->entry.number, telling->entry.hash_hex, telling->warning, out);
}

static int tell(struct asking *a, struct live_reader *reader, json_t *root, struct buf *out)
{
  struct wet_request request = {0};
  struct wet_telling telling;
  struct err err = {0};

  if (take_body(a, root, &request, &err) != ERR_OK)
    return ask_refuse(out, 400, err.text);
  enum err_code code = read_past(a, reader, &err);

  if (code == ERR_OK)
    code = see(a, reader, &err);
  if (code != ERR_OK)
    return ask_refuse(out, status_of(a->live, code), err.text);
  if (wet_tell(&a->place, a->past, &request, &a->arena, &telling, &err) != ERR_OK)
    return ask_refuse(out, 400, err.text);
  return write_down(a, &telling, live_text(root, "who"), out);
}

int wet_post(const struct live *live, const struct chemistry *chemistry, struct live_reader *reader,
             const struct live_post *post, struct buf *out)
{
  struct asking asking;
  int status;
  json_t *root = live_read_object(post, out, &status);

  if (!root)
    return status;
  begin(&asking, live, chemistry);
  status = live_check_texts(root, out);
  if (status == 200)
    status = tell(&asking, reader, root, out);
  arena_release(&asking.arena);
  json_decref(root);
  return status;
}
