#include "serve/body_impl.h"

#include "ask/ask.h"
#include "base/emit.h"
#include "base/query.h"
#include "base/spelling.h"
#include "base/typed.h"
#include "base/utf8.h"
#include "base/when.h"
#include "serve/incident_impl.h"

#include <jansson.h>
#include <math.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

/* What people and programs tell the board.  Nothing of it goes to any equipment. */

enum { WHO_MOST = 80, TEXT_MOST = 2000 };

/* ---- reading ---- */

json_t *live_read_object(const struct live_post *post, struct buf *out, int *status_out)
{
  json_error_t error;
  json_t *root = json_loadb(post->body, post->size, JSON_REJECT_DUPLICATES, &error);
  char why[240];

  *status_out = 0;
  if (json_is_object(root))
    return root;
  if (root)
    snprintf(why, sizeof why, "the body must be one JSON object");
  else
    snprintf(why, sizeof why, "the body is no JSON: line %d, column %d: %.120s", error.line,
             error.column, error.text);
  json_decref(root);
  *status_out = ask_refuse(out, 400, why);
  return NULL;
}

const char *live_text(const json_t *root, const char *key)
{
  return json_string_value(json_object_get(root, key));
}

int live_pairs(json_t *root, struct typed_pair *pairs, int most)
{
  const char *key;
  json_t *value;
  int count = 0;

  json_object_foreach(root, key, value)
  {
    if (count < most)
      pairs[count++] = (struct typed_pair){key, json_string_value(value)};
  }
  return count;
}

/* The first key that is none of the '|' list, or NULL. */
const char *live_strange_key(json_t *root, const char *known)
{
  const char *key;
  json_t *value;

  json_object_foreach(root, key, value)
  {
    size_t length = strlen(key);
    bool found = false;

    for (const char *at = known; *at && !found; at += strcspn(at, "|"), at += *at == '|')
      found = strcspn(at, "|") == length && strncmp(at, key, length) == 0;
    if (!found)
      return key;
  }
  return NULL;
}

int live_refuse_key(struct buf *out, const char *key, const char *known)
{
  struct buf why;

  buf_init(&why, 1000);
  spelling_refuse(&why, key, known);

  int status = ask_refuse(out, 400, why.text);

  buf_release(&why);
  return status;
}

int live_check_texts(json_t *root, struct buf *out)
{
  char said[UTF8_SAID_BYTES], why[UTF8_SAID_BYTES + 60] = "";
  const char *key;
  json_t *value;

  json_object_foreach(root, key, value)
  {
    if (!json_is_string(value))
      snprintf(why, sizeof why, "\"%.40s\" must be a text", key);
    else if (utf8_unseen(json_string_value(value), said))
      snprintf(why, sizeof why, "\"%.40s\": %s", key, said);
    if (*why)
      return ask_refuse(out, 400, why);
  }
  return 200;
}

bool live_is_filled(const char *text, size_t most)
{
  return text && text[strspn(text, " \t\r\n")] && strlen(text) <= most;
}

static int tell_entered(const struct record_entry *entry, const char *vain, struct buf *out)
{
  struct emit json;

  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.entered.1");
  emit_int(&json, "number", entry->number);
  emit_text(&json, "hash", entry->hash_hex);
  emit_text(&json, "note", vain);
  emit_close(&json);
  emit_end(&json);
  return 200;
}

int live_enter_as_is(const struct live *live, struct record_entry *entry, struct buf *out)
{
  const char *vain = keeper_in_vain(live->given->keeper, entry);
  struct err err = {0};

  if (keeper_enter(live->given->keeper, entry, &err) != ERR_OK)
    return ask_refuse(out, err.code == ERR_INPUT ? 400 : 503, err.text);
  return tell_entered(entry, vain, out);
}

int live_enter(const struct live *live, struct record_entry *entry, struct buf *out)
{
  entry->t_ms = entry->written_ms = keeper_now_ms(live->given->keeper);
  return live_enter_as_is(live, entry, out);
}

/* Who signs as the program would put words into its mouth. */
bool live_is_person(const char *who)
{
  return live_is_filled(who, WHO_MOST) && strcmp(who, "inward") != 0;
}

/* ---- a value by hand ---- */

static int hand_point(const struct live *live, const char *id)
{
  const struct feeds *feeds = live->given->feeds;
  int point = id ? feeds_point_find(feeds, id) : -1;

  return point >= 0 && feeds->sources[feeds->points[point].source].kind == FEEDS_HAND ? point : -1;
}

/* "parked" and "work" are openings of the station. */
static bool take_mark(const struct live *live, const struct feeds_point *p, const char *text,
                      struct feed_observation *o)
{
  const struct facility_station *s = &live->facility->stations[p->index];
  bool parked = strcmp(text, "parked") == 0;

  if (p->what != FEEDS_OPENING || !s->has_openings || (!parked && strcmp(text, "work") != 0))
    return false;
  o->si = parked ? s->parked_m : s->work_m;
  o->quality = FEED_GOOD;
  return true;
}

static int post_hand(const struct live *live, json_t *root, struct buf *out)
{
  static const char keys[] = "point|value|unit|who";
  const char *value = live_text(root, "value"), *who = live_text(root, "who");
  const char *strange = live_strange_key(root, keys);
  int point = hand_point(live, live_text(root, "point"));
  int64_t now_ms = keeper_now_ms(live->given->keeper);
  struct feed_observation o = {.point = point};
  struct buf about;

  if (strange)
    return live_refuse_key(out, strange, keys);
  if (point < 0)
    return ask_refuse(out, 400, "\"point\" must be the id of a point whose source is `hand`");
  if (!live_is_filled(value, 200) || !live_is_person(who))
    return ask_refuse(
        out, 400,
        "\"value\" and \"who\" must be filled texts of at most 200 and 80 bytes, and \"who\" not inward");

  const struct feeds_point *p = &live->given->feeds->points[point];

  if (!take_mark(live, p, value, &o))
    feed_value(p, false, value, live_text(root, "unit"), &o);
  if (o.quality != FEED_GOOD)
    return ask_refuse(out, 400,
                      "that value cannot be read: write a number with a point and its "
                      "unit, yes or no, parked or work");
  feed_time(live->given->feeds, p->source, true, now_ms, now_ms, &o);
  buf_init(&about, 128);
  feeds_about(live->facility, p, &about);

  char text[400];
  const char *unit = live_text(root, "unit");

  snprintf(text, sizeof text, "%s: %s%s%s, by hand", feeds_what_name(p->what), value,
           unit ? " " : "", unit ? unit : "");
  char detail[80];

  snprintf(detail, sizeof detail, "{\"point\": \"%s\"}", p->part.id);
  struct record_entry entry = {
      .kind = RECORD_NOTE, .about = about.text, .who = who, .text = text, .detail = detail};
  int status = live_enter(live, &entry, out);

  if (status == 200)
    keeper_take(live->given->keeper, &o, 1);
  buf_release(&about);
  return status;
}

/* ---- an entry ---- */

/* "from" and "until" of what is put aside: local time of the suite, or with its offset. */
static int enter_shelved(const struct live *live, struct record_entry *entry, json_t *root,
                         struct buf *out)
{
  const char *from = live_text(root, "from"), *until = live_text(root, "until");
  int64_t from_ms, until_ms;
  struct err err = {0};

  entry->t_ms = entry->written_ms = from_ms = keeper_now_ms(live->given->keeper);
  if (from && when_read(from, live->given->zone, NULL, &from_ms, &err) != ERR_OK)
    return ask_refuse(out, 400, "\"from\" must be a moment: 2026-10-26 07:00");
  if (!until || when_read(until, live->given->zone, NULL, &until_ms, &err) != ERR_OK)
    return ask_refuse(out, 400, "\"until\" must be a moment: 2026-10-26 14:10");
  if (keeper_shelve(live->given->keeper, entry, from_ms, until_ms, &err) != ERR_OK)
    return ask_refuse(out, err.code == ERR_INPUT ? 400 : 503, err.text);
  return tell_entered(entry, NULL, out);
}

/* All else is told in a form of its own, or is the program's to write. */
static bool may_be_entered(int kind)
{
  static const enum record_kind kinds[] = {RECORD_NOTE,     RECORD_ACKNOWLEDGED, RECORD_WITHDRAWN,
                                           RECORD_RELEASED, RECORD_ROUND,        RECORD_INCIDENT,
                                           RECORD_SHELVED,  RECORD_UNSHELVED};

  for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
    if (kind == (int)kinds[i])
      return true;
  return false;
}

static int post_entry(const struct live *live, json_t *root, struct buf *out)
{
  static const char keys[] = "kind|about|who|text|from|until";
  const char *kind_text = live_text(root, "kind"), *about = live_text(root, "about");
  const char *who = live_text(root, "who"), *text = live_text(root, "text");
  const char *strange = live_strange_key(root, keys);
  int kind = kind_text ? record_kind_find(kind_text) : -1;
  bool of_station = kind == RECORD_WITHDRAWN || kind == RECORD_RELEASED;

  about = about ? about : "";
  if (strange)
    return live_refuse_key(out, strange, keys);
  if (!may_be_entered(kind))
    return ask_refuse(out, 400,
                      "\"kind\" must be note, acknowledged, withdrawn, released, round, incident, "
                      "shelved or unshelved");
  if ((kind == RECORD_SHELVED) != (live_text(root, "until") != NULL) ||
      (kind != RECORD_SHELVED && live_text(root, "from")))
    return ask_refuse(out, 400,
                      "\"shelved\" needs \"until\" and may have \"from\"; nothing else takes them");
  if (!live_is_filled(text, TEXT_MOST) || !live_is_person(who))
    return ask_refuse(
        out, 400,
        "\"text\" and \"who\" must be filled texts of at most 2000 and 80 bytes, and \"who\" not inward");
  if (of_station ? facility_station_find(live->facility, about) < 0
                 : *about && !facility_has(live->facility, about))
    return ask_refuse(out, 400,
                      of_station ? "\"about\" must be the id of a station"
                                 : "\"about\" must be an id of the suite, or empty");
  struct record_entry entry = {
      .kind = (enum record_kind)kind, .about = about, .who = who, .text = text, .detail = ""};

  return kind == RECORD_SHELVED ? enter_shelved(live, &entry, root, out)
                                : live_enter(live, &entry, out);
}

/* ---- a webhook ---- */

static const char webhook_folder[] = "/api/webhook/";

struct counted {
  const struct live *live;
  int count;
};

static void pass_on(void *arg, const struct feed_observation *o)
{
  struct counted *c = arg;

  c->count++;
  keeper_take(c->live->given->keeper, o, 1);
}

/* In a time that does not tell how much of it was right. */
static bool token_fits(const char *want, const char *shown)
{
  unsigned char a[crypto_generichash_BYTES], b[crypto_generichash_BYTES];

  if (!want || !shown)
    return false;
  crypto_generichash(a, sizeof a, (const unsigned char *)want, strlen(want), NULL, 0);
  crypto_generichash(b, sizeof b, (const unsigned char *)shown, strlen(shown), NULL, 0);
  return sodium_memcmp(a, b, sizeof a) == 0;
}

static int post_webhook(const struct live *live, const struct live_post *post, struct buf *out)
{
  const struct feeds *feeds = live->given->feeds;
  int source = feeds_source_find(feeds, post->path + sizeof webhook_folder - 1);
  struct counted counted = {.live = live};
  struct feed_sink sink = {pass_on, &counted};
  struct query query;
  struct err err = {0};
  struct emit json;

  if (source < 0 || feeds->sources[source].kind != FEEDS_WEBHOOK)
    return ask_refuse(out, 404, "no source of that name posts here");
  if (!token_fits(live->given->tokens[source], post->token))
    return ask_refuse(out, 401, "show the source's word: Authorization: Bearer WORD");
  if (query_parse(post->search, strlen(post->search), &query, &err) != ERR_OK)
    return ask_refuse(out, 400, err.text);

  const char *at = query_find(&query, "at");

  if (!at)
    return ask_refuse(out, 400, "which point? Post to /api/webhook/SOURCE?at=POINT");

  struct feed_message message = {at, post->body, post->size, false,
                                 keeper_now_ms(live->given->keeper)};

  if (feed_payload(feeds, source, &message, &sink, &err) != ERR_OK)
    return ask_refuse(out, 400, err.text);
  if (counted.count == 0)
    return ask_refuse(out, 404, "no point of this source reads that");
  emit_begin(&json, out);
  emit_object(&json, NULL);
  emit_text(&json, "schema", "inward.taken.1");
  emit_int(&json, "taken", counted.count);
  emit_close(&json);
  emit_end(&json);
  return 200;
}

static int post_to(const struct live *live, const char *path, json_t *root, struct buf *out)
{
  if (strcmp(path, "/api/hand") == 0)
    return post_hand(live, root, out);
  if (strcmp(path, "/api/errand") == 0)
    return live_post_errand(live, root, out);
  if (strcmp(path, "/api/incident") == 0)
    return incident_post(live, root, out);
  if (strcmp(path, "/api/round") == 0)
    return live_post_round(live, root, out);
  if (strcmp(path, "/api/sighting") == 0)
    return live_post_sighting(live, root, out);
  if (strcmp(path, "/api/run") == 0)
    return live_post_run(live, root, out);
  return strcmp(path, "/api/finding") == 0 ? live_post_finding(live, root, out)
                                           : post_entry(live, root, out);
}

int live_post(const struct live *live, const struct live_post *post, struct buf *out)
{
  int status;

  if (strncmp(post->path, webhook_folder, sizeof webhook_folder - 1) == 0)
    return post_webhook(live, post, out);

  json_t *root = live_read_object(post, out, &status);

  if (!root)
    return status;
  status = live_check_texts(root, out);
  if (status == 200)
    status = post_to(live, post->path, root, out);
  json_decref(root);
  return status;
}

bool live_is_page(const char *path)
{
  return strncmp(path, "/api/", 5) != 0;
}

const char *live_method(const char *path)
{
  static const struct {
    const char *path, *method;
  } rows[] = {
      {"/api/live", "GET"},      {"/api/stream", "GET"},   {"/api/entries", "GET"},   //
      {"/api/plot", "GET"},      {"/api/past", "GET"},     {"/past", "GET"},          //
      {"/api/alarms", "GET"},    {"/alarms", "GET"},       {"/api/hand", "POST"},     //
      {"/api/entry", "POST"},    {"/api/errand", "POST"},  {"/api/incident", "POST"}, //
      {"/api/tell", "GET"},      {"/api/sheet", "GET"},    {"/sheet", "GET"},         //
      {"/night", "GET"},         {"/api/finding", "POST"}, {"/api/run", "POST"},      //
      {"/api/round", "POST"},    {"/api/rounds", "GET"},   {"/api/sighting", "POST"},
      {"/api/sightings", "GET"}, {"/api/ready", "GET"},
  };

  for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
    if (strcmp(rows[i].path, path) == 0)
      return rows[i].method;
  return strncmp(path, webhook_folder, sizeof webhook_folder - 1) == 0 ? "POST" : NULL;
}
