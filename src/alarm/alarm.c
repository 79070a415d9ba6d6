#include "alarm/alarm_impl.h"

#include <stdlib.h>
#include <string.h>

/* All alarms of a suite: made once, seen with each judgement. */

static const struct {
  const char *name, *key;
} states[ALARM_STATE_COUNT] = {
    {"normal", "normal"},
    {"not acknowledged", "active"},
    {"acknowledged", "acknowledged"},
    {"over, not acknowledged", "returned"},
    {"put aside", "shelved"},
    {"explained by another", "suppressed"},
    {"out of service", "out_of_service"},
};
static const char *const turn_names[] = {"on", "off", "acknowledged", "shelved", "unshelved"};

const char *alarm_state_name(enum alarm_state state)
{
  return states[state].name;
}

const char *alarm_state_key(enum alarm_state state)
{
  return states[state].key;
}

const char *alarm_turn_name(enum alarm_turn_kind kind)
{
  return turn_names[kind];
}

/* ---- life ---- */

static void reset(struct alarm_item *item)
{
  item->said = item->shelved = item->out_of_service = false;
  item->acknowledged = true;
  item->shown.is_so = false;
  item->shown.since_ms = item->shown.planned_until_ms = INT64_MIN;
  item->shown.planned_from_ms = INT64_MAX;
  item->shown.cause = -1;
  item->shown.state = ALARM_NORMAL;
  item->shown.priority = item->shown.rule->priority;
  item->shown.measured[0] = item->shown.who[0] = item->shown.why[0] = '\0';
}

static void add_item(struct alarms *a, enum feeds_when when, int index)
{
  const struct facility *f = a->given.facility;
  struct alarm_item *item = &a->items[a->count++];

  item->shown.rule = &a->given.feeds->alarms[when];
  item->shown.about = alarm_part_id(f, when, index);
  item->index = index;
  item->concerns = ARENA_ARRAY(&a->arena, bool, (size_t)f->station_count + 1);
  BUG_IF(!item->concerns);
  alarm_find_stations(f, item);
  reset(item);
}

struct alarms *alarms_new(const struct alarms_settings *settings)
{
  const struct facility *f = settings->facility;
  struct alarms *a = calloc(1, sizeof *a);
  int most = 0;

  if (!a)
    err_no_memory();
  a->given = *settings;
  arena_init(&a->arena, SIZE_MAX); /* bounded by the parts of a suite */
  for (int when = 0; when < FEEDS_WHEN_COUNT; when++)
    most += alarm_part_count(f, (enum feeds_when)when);
  a->items = ARENA_ARRAY(&a->arena, struct alarm_item, (size_t)most + 1);
  BUG_IF(!a->items);
  for (int when = 0; when < FEEDS_WHEN_COUNT; when++)
    for (int i = 0; i < alarm_part_count(f, (enum feeds_when)when); i++)
      add_item(a, (enum feeds_when)when, i);
  return a;
}

void alarms_free(struct alarms *a)
{
  if (!a)
    return;
  arena_release(&a->arena);
  free(a);
}

void alarms_begin_again(struct alarms *a)
{
  for (int i = 0; i < a->count; i++)
    reset(&a->items[i]);
}

/* ---- a judgement ---- */

static int first_due(const struct alarms *a)
{
  int first = 0;

  for (int i = 1; i < a->count; i++)
    if (alarm_due_ms(&a->items[i]) < alarm_due_ms(&a->items[first]))
      first = i;
  return first;
}

/* There always is the building's. */
int64_t alarms_next_ms(const struct alarms *a)
{
  return alarm_due_ms(&a->items[first_due(a)]);
}

/* What turns by time alone, up to a moment, one after the other. */
static void pass_until(struct alarms *a, int64_t t_ms)
{
  while (alarms_next_ms(a) <= t_ms)
    alarm_pass(a, first_due(a));
}

void alarms_see(struct alarms *a, const struct judge_seen *seen)
{
  struct buf measured;

  pass_until(a, seen->t_ms - 1); /* by what was so until now */
  buf_init(&measured, 1 << 16);
  for (int i = 0; i < a->count; i++) {
    struct alarm_item *item = &a->items[i];

    buf_clear(&measured);
    /* What is not heard is as it was: a scene that assumes the worst alarms nobody. */
    bool said = alarm_is_heard(item, seen) ? alarm_is_said(item, seen, &measured) : item->said;

    item->out_of_service = alarm_is_withdrawn(item, seen);
    alarm_say(a, i, said, measured.text, seen->t_ms);
  }
  pass_until(a, seen->t_ms);
  alarm_explain(a);
  buf_release(&measured);
}

int alarms_count(const struct alarms *a)
{
  return a->count;
}

const struct alarm *alarms_at(const struct alarms *a, int index)
{
  return &a->items[index].shown;
}

/* ---- who waits ---- */

static bool waits(const struct alarm *s)
{
  return s->rule->priority != FEEDS_NOBODY &&
         (s->state == ALARM_ACTIVE || s->state == ALARM_ACKNOWLEDGED || s->state == ALARM_RETURNED);
}

/* What is still so before what is over, then the worse, then the older. */
static bool comes_first(const struct alarm *x, const struct alarm *y)
{
  if (x->is_so != y->is_so)
    return x->is_so;
  if (x->priority != y->priority)
    return x->priority < y->priority;
  return x->since_ms < y->since_ms;
}

int alarms_waiting(const struct alarms *a, int *list)
{
  int count = 0;

  for (int i = 0; i < a->count; i++) {
    int at = count;

    if (!waits(&a->items[i].shown))
      continue;
    for (; at > 0 && comes_first(&a->items[i].shown, &a->items[list[at - 1]].shown); at--)
      list[at] = list[at - 1];
    list[at] = i;
    count++;
  }
  return count;
}
