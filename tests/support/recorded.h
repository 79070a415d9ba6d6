#ifndef TESTS_SUPPORT_RECORDED_H
#define TESTS_SUPPORT_RECORDED_H

#include "record/record.h"

#include <limits.h>

/* A record in a folder of its own, with the points of a small suite bound. */
struct recorded {
  char folder[64], path[96];
  struct arena arena;
  struct facility *facility;
  struct feeds *feeds;
  struct record *record;
  struct err err;
};

/* The points of RECORDED_POINTS, by index. */
enum { P_PRESSURE, P_FLOW, P_BLOCKED, P_TEMPERATURE, P_COUNT };
/* old after: 20 min, 2 h, 4 h, 10 min; resolution: 0.1 Pa, 1 m3/h, -, 0.01 K */
#define RECORDED_POINTS                                                                            \
  "  p: {of: Etch, what: pressure, over: Gown, from: bus, at: a/p, unit: Pa, old after: 20 min}\n" \
  "  f: {of: A1, what: flow, from: bus, at: a/f, unit: m3/h, old after: 2 h}\n"                    \
  "  b: {of: A1, what: blocked, from: us}\n"                                                       \
  "  t: {of: Etch, what: temperature, from: bus, at: a/t, unit: degC, old after: 10 min}\n"

/* True when all of it is there; release in every case. */
bool recorded_new(struct recorded *r, const char *points);
/* The same file with other points, read by another feeds file. */
bool recorded_rebind(struct recorded *r, const char *points, int64_t now_ms);
bool recorded_reopen(struct recorded *r, enum record_mode mode);
void recorded_release(struct recorded *r); /* removes the folder */

struct feed_observation recorded_good(int point, int64_t t_ms, double si);
struct feed_observation recorded_none(int point, int64_t t_ms, enum feed_quality quality);

/* What a sink was given. */
struct recorded_list {
  struct feed_observation list[20000];
  int count;
};
struct feed_sink recorded_sink(struct recorded_list *list);

/* Runs SQL on the file behind the record's back; false when SQLite refused. */
bool recorded_sql(const char *path, const char *sql);
/* The one number that SQL gives; LLONG_MIN when it gives none. */
long long recorded_number(const char *path, const char *sql);

#endif
