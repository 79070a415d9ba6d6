#include "recorded.h"

#include "check.h"

#include <math.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char suite_text[] =
    "inward: 1 suite\n"
    "name: Tarn\n"
    "rooms: {Etch: {}, Gown: {}}\n"
    "junctions: {J: {}}\n"
    "leaks: {L1: {from: Gown, to: outdoors, area: 1 cm2}}\n"
    "doors: {D1: {from: Etch, to: Gown, closed: {area: 1 cm2}, open: {area: 1 m2}}}\n"
    "fans: {EF: {from: J, to: outdoors, shut-off: 900 Pa, falls: 150 Pa/(m3/s)2}}\n"
    "mains: {Acid: {at: J, fans: [EF]}}\n"
    "stations:\n"
    "  A1: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n"
    "  A2: {kind: fume hood, room: Etch, main: Acid, flow: {constant: 900 m3/h}}\n";
static const char feeds_head[] = "inward: 1 feeds\n"
                                 "record: {samples: 30 d, ten minutes: 60 d}\n"
                                 "sources:\n"
                                 "  bus: {mqtt: {host: localhost}}\n"
                                 "  us: {hand: {}}\n"
                                 "points:\n";

static bool read_points(struct recorded *r, const char *points)
{
  struct complaints complaints;
  struct facility_text suite = {"suite.yaml", suite_text, sizeof suite_text - 1}, text;
  struct buf all, said;

  complaints_init(&complaints, &r->arena);
  buf_init(&all, 1 << 16);
  buf_puts(&all, feeds_head);
  buf_puts(&all, points);
  text = (struct facility_text){"feeds.yaml", all.text, all.used};
  if (!r->facility)
    r->facility = facility_read(&suite, NULL, 0, &complaints);
  feeds_free(r->feeds);
  r->feeds = r->facility ? feeds_read(r->facility, &text, &complaints) : NULL;
  buf_init(&said, 1 << 16);
  complaints_print(&complaints, "feeds.yaml", all.text, &said);
  fputs(said.text, stderr);
  buf_release(&said);
  buf_release(&all);
  return r->feeds != NULL;
}

bool recorded_new(struct recorded *r, const char *points)
{
  *r = (struct recorded){0};
  snprintf(r->folder, sizeof r->folder, "/tmp/inward-record-XXXXXX");
  arena_init(&r->arena, 16 << 20);
  if (!CHECK(mkdtemp(r->folder) != NULL) || !CHECK(read_points(r, points)))
    return false;
  snprintf(r->path, sizeof r->path, "%s/tarn.record", r->folder);
  return recorded_reopen(r, RECORD_WRITE);
}

bool recorded_reopen(struct recorded *r, enum record_mode mode)
{
  record_close(r->record);
  r->record = NULL;
  r->err = (struct err){0};
  if (record_open(r->path, mode, &r->record, &r->err) != ERR_OK ||
      record_bind(r->record, r->facility, r->feeds, 0, &r->err) != ERR_OK) {
    CHECK_STR(r->err.text, "");
    return false;
  }
  return true;
}

bool recorded_rebind(struct recorded *r, const char *points, int64_t now_ms)
{
  if (!CHECK(read_points(r, points)))
    return false;
  if (record_bind(r->record, r->facility, r->feeds, now_ms, &r->err) != ERR_OK) {
    CHECK_STR(r->err.text, "");
    return false;
  }
  return true;
}

void recorded_release(struct recorded *r)
{
  char command[128];

  record_close(r->record);
  feeds_free(r->feeds);
  facility_free(r->facility);
  arena_release(&r->arena);
  snprintf(command, sizeof command, "rm -rf '%s'", r->folder);
  if (strncmp(r->folder, "/tmp/inward-record-", 19) == 0)
    CHECK_INT(system(command), 0);
}

struct feed_observation recorded_good(int point, int64_t t_ms, double si)
{
  return (struct feed_observation){point, t_ms, t_ms + 40, si, FEED_GOOD};
}

struct feed_observation recorded_none(int point, int64_t t_ms, enum feed_quality quality)
{
  return (struct feed_observation){point, t_ms, t_ms + 40, (double)NAN, quality};
}

static void take(void *arg, const struct feed_observation *observation)
{
  struct recorded_list *list = arg;

  if (CHECK(list->count < (int)(sizeof list->list / sizeof list->list[0])))
    list->list[list->count++] = *observation;
}

struct feed_sink recorded_sink(struct recorded_list *list)
{
  list->count = 0;
  return (struct feed_sink){take, list};
}

bool recorded_sql(const char *path, const char *sql)
{
  sqlite3 *db = NULL;
  bool good = sqlite3_open(path, &db) == SQLITE_OK;

  if (good)
    sqlite3_busy_timeout(db, 5000);
  good = good && sqlite3_exec(db, sql, NULL, NULL, NULL) == SQLITE_OK;
  sqlite3_close(db);
  return good;
}

long long recorded_number(const char *path, const char *sql)
{
  sqlite3 *db = NULL;
  sqlite3_stmt *statement = NULL;
  long long number = LLONG_MIN;

  if (sqlite3_open(path, &db) == SQLITE_OK &&
      sqlite3_prepare_v2(db, sql, -1, &statement, NULL) == SQLITE_OK &&
      sqlite3_step(statement) == SQLITE_ROW)
    number = sqlite3_column_int64(statement, 0);
  sqlite3_finalize(statement);
  sqlite3_close(db);
  return number;
}
