#include "serve/live_impl.h"

#include "ask/ask.h"
#include "base/query.h"
#include "standing/standing.h"

#include <string.h>

/* How each station stands: of now from what the board believes, of a moment before from the record. */

enum { WORK_BYTES = 256 << 20 };

struct asking {
  const struct live *live;
  struct record *record; /* NULL: nothing is kept */
  int64_t now_ms, t_ms;
  bool at; /* a moment is named */
  int station;
  struct arena arena;
  struct standing_told *told;
  struct day_bookings bookings;
  const struct day_bookings *now_bookings; /* NULL */
  const char *bookings_why;                /* NULL */
  struct standing_table *table;
};

static enum err_code take_pair(struct asking *a, const char *key, const char *value,
                               struct err *err)
{
  enum err_code code = ERR_OK;

  if (strcmp(key, "at") == 0) {
    a->at = true;
    code = when_read(value, a->live->given->zone, NULL, &a->t_ms, err);
    if (code != ERR_OK)
      err_prefix(err, "at: ");
    else if (a->t_ms > a->now_ms)
      code = err_set(err, ERR_INPUT, "at: that has not come yet");
    return code;
  }
  if (strcmp(key, "station") != 0)
    return err_set(err, ERR_INPUT, "no parameter \"%.32s\"; there are: at, station", key);
  a->station = facility_station_find(a->live->facility, value);
  return a->station >= 0
             ? ERR_OK
             : err_set(err, ERR_INPUT, "station: the suite has no station '%.40s'", value);
}

static enum err_code take_query(struct asking *a, const char *search, size_t size, struct err *err)
{
  struct query query;
  enum err_code code = query_parse(search, size, &query, err);

  for (int i = 0; code == ERR_OK && i < query.count; i++)
    code = take_pair(a, query.pairs[i].key, query.pairs[i].value, err);
  return code;
}

/* Bookings that cannot be read are told, and the rest is answered. */
static const struct day_bookings *bookings_of(struct asking *a)
{
  const struct serve_day *day = a->live->day;
  struct err err = {0};

  if (!day || !day->bookings)
    return NULL;
  if (day->bookings(day->arg, a->t_ms, a->t_ms + STANDING_AHEAD_MS, &a->arena, &a->bookings,
                    &err) == ERR_OK)
    return &a->bookings;
  a->bookings_why = arena_strdup(&a->arena, err.text);
  return NULL;
}

/* ---- of a moment before ---- */

static enum err_code of_then(struct asking *a, struct err *err)
{
  const struct past_place place = {.record = a->record,
                                   .facility = a->live->facility,
                                   .feeds = a->live->given->feeds,
                                   .zone = a->live->given->zone};
  const struct day_bookings *bookings = bookings_of(a);
  const struct standing_asked asked = {.t_ms = a->t_ms,
                                       .clock_ms = a->now_ms,
                                       .wet = a->live->wet,
                                       .processes = a->live->processes,
                                       .bookings = bookings,
                                       .bookings_why = a->bookings_why};

  return standing_of_record(&place, &asked, &a->arena, &a->table, err);
}

/* ---- of now ---- */

static void see(void *arg, const struct answer_live *now)
{
  struct asking *a = arg;
  const struct standing_moment moment = {.facility = now->facility,
                                         .zone = now->zone,
                                         .now_ms = now->belief->now_ms,
                                         .told = a->told,
                                         .live = now,
                                         .processes = a->live->processes,
                                         .bookings = a->now_bookings,
                                         .bookings_why = a->bookings_why};

  a->table = standing_new(&moment, &a->arena);
}

static enum err_code of_now(struct asking *a, struct err *err)
{
  const struct standing_place place = {a->live->facility, a->live->given->zone, a->live->wet,
                                       a->now_ms};
  enum err_code code = ERR_OK;

  a->now_bookings = bookings_of(a);
  if (a->record)
    code = standing_recorded(a->record, &place, a->now_ms, &a->arena, &a->told, err);
  if (code == ERR_OK)
    code = keeper_look_live(a->live->given->keeper, see, a, err);
  if (code == ERR_OK)
    standing_settle(a->table);
  return code;
}

int live_get_ready(const struct live *live, struct live_reader *reader, const char *search,
                   size_t size, struct buf *out)
{
  bool kept = live->given->record_path != NULL;
  int64_t now_ms = keeper_now_ms(live->given->keeper);
  struct asking a = {.live = live, .station = -1, .now_ms = now_ms, .t_ms = now_ms};
  struct err err = {0};

  if (take_query(&a, search, size, &err) != ERR_OK)
    return ask_refuse(out, 400, err.text);
  enum err_code code = kept || a.at ? live_need_record(live, reader, &err) : ERR_OK;

  a.record = kept ? reader->record : NULL;
  arena_init(&a.arena, WORK_BYTES);
  if (code == ERR_OK)
    code = a.at ? of_then(&a, &err) : of_now(&a, &err);
  if (code == ERR_OK)
    standing_json(a.table, a.station, out);
  arena_release(&a.arena);
  if (code == ERR_OK)
    return 200;
  return ask_refuse(out, !kept ? 409 : err_exit_status(code) == 2 ? 400 : 503, err.text);
}
