/* When what is overdue is told, so that nobody is told twice. */
#include "remind/remind.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KEY_BYTES = 96, TEXT_BYTES = 200, MESSAGE_BYTES = 300, MINUTE_MS = 60 * 1000 };

static const char schema[] = "inward.reminder.1";

struct thing {
  char key[KEY_BYTES], about[KEY_BYTES], text[TEXT_BYTES];
  int64_t since_ms, told_ms; /* told_ms INT64_MIN: not yet */
  bool stands;               /* it is overdue now; else it is only remembered from the record */
};

struct reminders {
  const struct feeds_reminders *settings;
  const struct when_zone *zone;
  int64_t last_ms; /* of a message; INT64_MIN */
  int count;
  struct thing *list;
};

struct reminders *reminders_new(const struct feeds_reminders *settings,
                                const struct when_zone *zone)
{
  struct reminders *r = calloc(1, sizeof *r);

  if (!r)
    err_no_memory();
  *r = (struct reminders){
      .settings = settings, .zone = zone ? zone : when_utc(), .last_ms = INT64_MIN};
  return r;
}

void reminders_free(struct reminders *r)
{
  if (r)
    free(r->list);
  free(r);
}

/* Overdue from the same moment: a thing that was done and is overdue again is another. */
static const struct thing *known(const struct reminders *r, const char *key, int64_t since_ms)
{
  for (int i = 0; i < r->count; i++)
    if (r->list[i].since_ms == since_ms && strcmp(r->list[i].key, key) == 0)
      return &r->list[i];
  return NULL;
}

void reminders_see(struct reminders *r, const struct remind_list *list)
{
  struct thing *now = calloc((size_t)list->count + 1, sizeof *now);

  if (!now)
    err_no_memory();
  for (int i = 0; i < list->count; i++) {
    const struct remind_due *due = &list->list[i];
    struct thing *thing = &now[i];

    snprintf(thing->key, sizeof thing->key, "%s", due->key);
    snprintf(thing->about, sizeof thing->about, "%s", due->about);
    snprintf(thing->text, sizeof thing->text, "%s", due->text);
    thing->since_ms = due->since_ms;
    thing->stands = true;

    const struct thing *before = known(r, thing->key, due->since_ms);

    thing->told_ms = before ? before->told_ms : INT64_MIN;
  }
  free(r->list);
  r->list = now;
  r->count = list->count;
}

/* ---- when ---- */

static int64_t ms(double span_s)
{
  return llround(span_s * 1e3);
}

static bool is_quiet(const struct reminders *r, int64_t now_ms)
{
  struct when_civil at = when_civil(r->zone, now_ms, NULL);
  int minute = at.hour * 60 + at.minute, from = r->settings->quiet_from_min,
      to = r->settings->quiet_to_min;

  return from <= to ? minute >= from && minute < to : minute >= from || minute < to;
}

static bool is_ripe(const struct reminders *r, const struct thing *thing, int64_t now_ms)
{
  return thing->stands && now_ms - thing->since_ms >= ms(r->settings->after_s);
}

static bool is_wanted(const struct reminders *r, const struct thing *thing, int64_t now_ms)
{
  if (!is_ripe(r, thing, now_ms))
    return false;
  return thing->told_ms == INT64_MIN ||
         (r->settings->again_s > 0 && now_ms - thing->told_ms >= ms(r->settings->again_s));
}

/* As many as there is room for; how many were left out. */
static void put_things(const struct reminders *r, int64_t now_ms, int wanted, struct buf *text)
{
  int shown = 0;

  buf_printf(text, "Reminder, no alarm: %d overdue. ", wanted);
  for (int i = 0; i < r->count; i++) {
    const struct thing *thing = &r->list[i];

    if (!is_wanted(r, thing, now_ms) || text->used + strlen(thing->text) + 60 > MESSAGE_BYTES)
      continue;
    buf_printf(text, "%s%s, since ", shown++ ? "; " : "", thing->text);
    when_print(text, r->zone, thing->since_ms);
  }
  if (shown < wanted)
    buf_printf(text, "%sand %d more on the board", shown ? "; " : "", wanted - shown);
}

static void put_detail(struct reminders *r, int64_t now_ms, struct buf *detail)
{
  struct emit json;

  emit_begin_line(&json, detail);
  emit_object(&json, NULL);
  emit_text(&json, "schema", schema);
  emit_array(&json, "told");
  for (int i = 0; i < r->count; i++) {
    if (!is_wanted(r, &r->list[i], now_ms))
      continue;
    emit_object(&json, NULL);
    emit_text(&json, "key", r->list[i].key);
    emit_int(&json, "since_ms", r->list[i].since_ms);
    emit_close(&json);
    r->list[i].told_ms = now_ms;
  }
  emit_close(&json);
  emit_close(&json);
  emit_end(&json);
}

bool reminders_tell(struct reminders *r, int64_t now_ms, struct buf *text, struct buf *detail)
{
  int wanted = 0;

  if (is_quiet(r, now_ms) || (r->last_ms != INT64_MIN && now_ms >= r->last_ms &&
                              now_ms - r->last_ms < ms(r->settings->apart_s)))
    return false;
  for (int i = 0; i < r->count; i++)
    wanted += is_wanted(r, &r->list[i], now_ms);
  if (wanted == 0)
    return false;
  put_things(r, now_ms, wanted, text);
  put_detail(r, now_ms, detail);
  r->last_ms = now_ms;
  return true;
}

/* ---- over a restart ---- */

bool reminders_restore(struct reminders *r, const char *detail, int64_t t_ms)
{
  json_t *root = *detail ? json_loads(detail, JSON_REJECT_DUPLICATES, NULL) : NULL;
  const char *is = json_string_value(json_object_get(root, "schema"));
  const json_t *told = json_object_get(root, "told");
  size_t count = is && strcmp(is, schema) == 0 ? json_array_size(told) : 0;
  struct thing *list = count ? realloc(r->list, ((size_t)r->count + count) * sizeof *list) : NULL;

  if (count && !list)
    err_no_memory();
  for (size_t i = 0; i < count; i++) {
    const json_t *one = json_array_get(told, i);
    const char *key = json_string_value(json_object_get(one, "key"));
    struct thing *thing = &list[r->count];

    if (!key)
      continue;
    *thing = (struct thing){.since_ms = json_integer_value(json_object_get(one, "since_ms")),
                            .told_ms = t_ms};
    snprintf(thing->key, sizeof thing->key, "%s", key);
    for (int k = 0; k < r->count; k++) /* the newest counts */
      if (strcmp(list[k].key, thing->key) == 0 && list[k].since_ms == thing->since_ms)
        list[k].told_ms = t_ms;
    r->count++;
  }
  if (count) {
    r->list = list;
    r->last_ms = t_ms;
  }
  json_decref(root);
  return count > 0;
}

void reminders_json(const struct reminders *r, int64_t now_ms, struct emit *json)
{
  emit_array(json, "reminders");
  for (int i = 0; i < r->count; i++) {
    const struct thing *thing = &r->list[i];

    if (!is_ripe(r, thing, now_ms))
      continue;
    emit_object(json, NULL);
    emit_text(json, "about", thing->about);
    emit_text(json, "text", thing->text);
    when_emit(json, "since", thing->since_ms);
    when_emit(json, "told", thing->told_ms);
    emit_close(json);
  }
  emit_close(json);
}
