#ifndef SERVE_LIVE_IMPL_H
#define SERVE_LIVE_IMPL_H

#include "base/buf.h"
#include "base/when.h"
#include "keeper/keeper.h"
#include "serve/serve.h"

#include <stddef.h>

/*
 * What a board with a keeper answers besides pages and trials.  Knows no socket, so a test can ask it.
 *
 *   GET  /api/live           the newest view          (/api/stream is in serve.c: it never ends)
 *   GET  /api/entries        from the record, by time, part and kind
 *   GET  /api/plot           one point over a span
 *   GET  /past, /api/past    why the state turned before a moment: a page, JSON
 *   GET  /night, /api/past?night=   what a night cost in air
 *   GET  /alarms, /api/alarms   which alarms help, which are noise
 *   GET  /api/ready          how each station stands
 *   GET  /api/match          the board's own match of each night
 *   POST /api/hand           a value a person read
 *   POST /api/entry          a note, withdrawal, release, round, incident, acknowledgement
 *   POST /api/errand         what a person says to what is asked at a station
 *   GET  /api/tell           what may be told that happened, and what is said first
 *   POST /api/incident       that it happened
 *   GET  /sheet, /api/sheet  what was told and measured: a page, JSON
 *   POST /api/finding        that something which looks like a fault was one, or was none
 *   POST /api/webhook/ID     a value of a source that posts
 */
struct wet_place;
struct processes;
struct live {
  const struct facility *facility;
  const struct serve_live *given;    /* never NULL */
  struct why_desk *desk, *nights;    /* NULL without a keeper */
  struct sheet_desk *sheets;         /* NULL without a keeper */
  const struct wet_place *wet;       /* tanks and tables, of no moment; or NULL */
  const struct serve_day *day;       /* who knows the bookings; or NULL */
  const struct processes *processes; /* which bath is of which family; or NULL */
};

/* One thread's handle on the record, opened when it is first asked. */
struct live_reader {
  struct record *record;
};
void live_reader_release(struct live_reader *reader);
NODISCARD enum err_code live_need_record(const struct live *live, struct live_reader *reader,
                                         struct err *err);

/* Which method an address takes: "GET", "POST", or NULL: not one of these. */
const char *live_method(const char *path);
bool live_is_page(const char *path); /* HTML, not JSON */
/* What each of them answers where nothing is connected: 404, or 409 to what would be entered. */
int live_nobody(const struct live *live, const char *path, bool posted, struct buf *out);

enum { LIVE_BODY_MOST = 64 << 10 };

/* 200, or the status of a refusal; `out` holds the JSON, or the page. */
int live_get(const struct live *live, struct live_reader *reader, const char *path,
             const char *search, size_t size, struct buf *out);

struct live_post {
  const char *path, *search;
  const char *token; /* of an Authorization header, without "Bearer "; or NULL */
  const char *body;
  size_t size;
};
struct json_t; /* jansson's */
/* ---- errand.c: {station, answer, text, who}, all of them texts ---- */
int live_post_errand(const struct live *live, struct json_t *root, struct buf *out);
/* ---- finding.c: {answer, kind, part, since, who, text}, all of them texts ---- */
/* ---- nightly.c: GET /api/match; with nothing connected, too ---- */
int nightly_get(const struct live *live, struct live_reader *reader, const char *search,
                struct buf *out);
/* ---- round.c ---- */
/* The moment of a query with nothing but `at`; now where it has none. */
NODISCARD enum err_code live_asked_at(const struct live *live, const char *search, size_t size,
                                      int64_t *t_out_ms, struct err *err);
/* Of an answer that the record refused. */
int live_record_status(const struct live *live, enum err_code code);
int live_get_rounds(const struct live *live, struct live_reader *reader, const char *search,
                    size_t size, struct buf *out);
int live_post_round(const struct live *live, struct json_t *root, struct buf *out);
/* ---- sighting.c ---- */
int live_get_sightings(const struct live *live, struct live_reader *reader, const char *search,
                       size_t size, struct buf *out);
int live_post_sighting(const struct live *live, struct json_t *root, struct buf *out);
/* ---- ready.c ---- */
int live_get_ready(const struct live *live, struct live_reader *reader, const char *search,
                   size_t size, struct buf *out);
/* ---- run.c ---- */
int live_post_run(const struct live *live, struct json_t *root, struct buf *out);
int live_post_finding(const struct live *live, struct json_t *root, struct buf *out);

int live_post(const struct live *live, const struct live_post *post, struct buf *out);

#endif
