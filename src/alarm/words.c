#include "alarm/alarm_impl.h"

#include "base/when.h"

#include <string.h>

/* Alarms in words: one line for a telephone, ten at most with what a cause explains. */

enum { STORY_LINES = 10, NAMES_MOST_BYTES = 90 };

/* Cut at a whole character, with a mark that it was. */
static void add_shortened(struct buf *out, const char *text, size_t most)
{
  static const char mark[] = "...";
  size_t end = most - (sizeof mark - 1);

  if (strlen(text) <= most) {
    buf_puts(out, text);
    return;
  }
  while (end > 0 && ((unsigned char)text[end] & 0xc0) == 0x80) /* inside a UTF-8 character */
    end--;
  buf_add(out, text, end);
  buf_puts(out, mark);
}

static void add_place(const struct alarm *s, size_t most, struct buf *out)
{
  const char *place = s->about[0] ? s->about : "Suite";

  buf_printf(out, "%s: ", place);
  add_shortened(out, s->measured[0] ? s->measured : feeds_when_name(s->rule->when),
                most - strlen(place) - strlen(": "));
}

void alarms_place(const struct alarms *a, int index, struct buf *out)
{
  add_place(&a->items[index].shown, ALARM_MESSAGE_MOST, out);
}

/* Never longer than a short message, counted in bytes: so it is not in characters either. */
void alarms_message(const struct alarms *a, int index, struct buf *out)
{
  const struct alarm *s = &a->items[index].shown;

  add_place(s, ALARM_MESSAGE_MOST - strlen(s->rule->action) - strlen(". "), out);
  buf_printf(out, ". %s", s->rule->action);
}

/* "Own alarms: A1, A2, A3 and 11 more" */
static bool own_alarms(const struct alarms *a, int cause, struct buf *out)
{
  size_t begun = out->used;
  int more = 0;

  for (int i = 0; i < a->count; i++) {
    const struct alarm *s = &a->items[i].shown;

    if (s->cause != cause || s->rule->when != FEEDS_WHEN_OWN)
      continue;
    if (out->used - begun > NAMES_MOST_BYTES)
      more++;
    else
      buf_printf(out, "%s%s", out->used == begun ? "Own alarms, to be followed: " : ", ", s->about);
  }
  if (more > 0)
    buf_printf(out, " and %d more", more);
  if (out->used > begun)
    buf_putc(out, '\n');
  return out->used > begun;
}

void alarms_story(const struct alarms *a, int index, struct buf *out)
{
  int lines = 1, more = 0;

  alarms_message(a, index, out);
  buf_putc(out, '\n');
  lines += own_alarms(a, index, out);
  for (int i = 0; i < a->count; i++) {
    const struct alarm *s = &a->items[i].shown;

    if (s->cause != index || s->rule->when == FEEDS_WHEN_OWN)
      continue;
    if (lines < STORY_LINES - 1) {
      buf_printf(out, "With it: %s: %s\n", s->about, s->measured);
      lines++;
    } else
      more++;
  }
  if (more > 0)
    buf_printf(out, "With it: %d more\n", more);
}

/* ---- for programs ---- */

static void explained_json(const struct alarms *a, int cause, struct emit *json)
{
  emit_array(json, "explains");
  for (int i = 0; i < a->count; i++) {
    const struct alarm *s = &a->items[i].shown;

    if (s->cause != cause)
      continue;
    emit_object(json, NULL);
    emit_text(json, "about", s->about);
    emit_text(json, "when", feeds_when_name(s->rule->when));
    emit_text(json, "measured", s->measured);
    emit_close(json);
  }
  emit_close(json);
}

static void one_json(const struct alarms *a, int index, int64_t now_ms, struct emit *json)
{
  const struct alarm *s = &a->items[index].shown;
  struct buf message;

  buf_init(&message, 1 << 12);
  alarms_message(a, index, &message);
  emit_object(json, NULL);
  emit_text(json, "about", s->about);
  emit_text(json, "when", feeds_when_name(s->rule->when));
  emit_text(json, "priority", feeds_priority_name(s->priority));
  emit_text(json, "state", alarm_state_key(s->state));
  emit_text(json, "state_text", alarm_state_name(s->state));
  emit_bool(json, "is_so", s->is_so);
  when_emit(json, "since", s->since_ms);
  emit_number(json, "since_s", (double)(now_ms - s->since_ms) * 1e-3);
  emit_text(json, "message", message.text);
  emit_text(json, "measured", s->measured);
  emit_text(json, "action", s->rule->action);
  emit_number(json, "within_s", s->rule->within_s);
  emit_text(json, "cause", s->rule->cause);
  emit_text(json, "consequence", s->rule->consequence);
  emit_text(json, "source", s->rule->source);
  emit_text(json, "who", s->who[0] ? s->who : NULL);
  if (s->state == ALARM_SHELVED) {
    when_emit(json, "until", s->until_ms);
    emit_text(json, "why", s->why);
  }
  explained_json(a, index, json);
  emit_close(json);
  buf_release(&message);
}

void alarms_planned_json(const struct alarms *a, int64_t now_ms, struct emit *json, const char *key)
{
  emit_array(json, key);
  for (int i = 0; i < a->count; i++) {
    const struct alarm *s = &a->items[i].shown;

    if (s->planned_until_ms <= now_ms)
      continue;
    emit_object(json, NULL);
    emit_text(json, "about", s->about);
    emit_text(json, "when", feeds_when_name(s->rule->when));
    when_emit(json, "from", s->planned_from_ms);
    when_emit(json, "until", s->planned_until_ms);
    emit_text(json, "who", s->planned_who);
    emit_text(json, "why", s->planned_why);
    emit_close(json);
  }
  emit_close(json);
}

void alarms_json(const struct alarms *a, int64_t now_ms, struct emit *json, const char *key)
{
  struct arena arena;
  int *list, count;

  arena_init(&arena, SIZE_MAX);
  list = ARENA_ARRAY(&arena, int, (size_t)a->count + 1);
  BUG_IF(!list);
  count = alarms_waiting(a, list);
  emit_array(json, key);
  for (int i = 0; i < count; i++)
    one_json(a, list[i], now_ms, json);
  for (int i = 0; i < a->count; i++) /* told too: what is put aside must not be forgotten */
    if (a->items[i].shown.state == ALARM_SHELVED &&
        a->items[i].shown.rule->priority != FEEDS_NOBODY)
      one_json(a, i, now_ms, json);
  emit_close(json);
  arena_release(&arena);
}
