/* A stop of all work: told by a person or seen, and open until people released the stations. */
#include "past/past_impl.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ENTRIES_MOST = 100000 }; /* of one kind, the newest */
/* What belongs to one occurrence, even when it was closed meanwhile: common practice, no source. */
static const int64_t one_ms = 30LL * 60 * 1000;

static const struct {
  const char *key, *text;
  bool left; /* people left, or may not go in: the three questions come first */
} causes[] = {
    {"power", "power was lost", false},
    {"evacuation", "everybody left: evacuation", true},
    {"gas", "everybody left: gas", true},
    {"building", "the building's alarm", true}, /* seen, and not for a person to say */
    {"fans", "all fans were lost at once", false},
};
enum { CAUSE_BUILDING = 3, CAUSE_FANS = 4 };
_Static_assert(sizeof causes / sizeof causes[0] == PAST_STOP_CAUSES, "past.h counts the causes");

const char *past_stop_cause(int index)
{
  return index >= 0 && index < CAUSE_BUILDING ? causes[index].key : NULL;
}

const char *past_stop_cause_text(int index)
{
  return causes[index].text;
}

/* ---- what an entry says ---- */

bool past_says_yes(const char *said)
{
  const char *rest;

  if (!said)
    return false;
  said += strspn(said, " \t");
  if ((said[0] | 0x20) != 'y' || (said[1] | 0x20) != 'e' || (said[2] | 0x20) != 's')
    return false;
  rest = said + 3 + strspn(said + 3, " \t,.:;-");
  return rest > said + 3 && *rest;
}

static bool says(const json_t *root, const char *key, const char *value)
{
  const char *said = json_string_value(json_object_get(root, key));

  return said && strcmp(said, value) == 0;
}

/* ---- when it stopped ---- */

struct finding {
  const struct past_place *place;
  int64_t t_ms;
  bool *lost; /* per fan */
  struct past_stop stop;
  struct arena *arena;
};

static bool asks_reentry(const struct past_stop *stop)
{
  for (int i = 0; i < PAST_STOP_CAUSES; i++)
    if (stop->seen[i] && causes[i].left)
      return true;
  return false;
}

/* Until its questions were answered, and every station in use was released. */
static bool is_open(const struct finding *f)
{
  if (asks_reentry(&f->stop) && !f->stop.answered)
    return true;
  for (int i = 0; i < f->place->facility->station_count; i++)
    if (!f->stop.withdrawn[i] && !f->stop.released[i])
      return true;
  return false;
}

static bool work_began(const struct finding *f)
{
  for (int i = 0; i < f->place->facility->station_count; i++)
    if (f->stop.released[i])
      return true;
  return false;
}

/* Another than the one before, if there was one; who is withdrawn is so from either. */
static void begin(struct finding *f, int64_t t_ms, int64_t before_ms)
{
  f->stop = (struct past_stop){.found = true,
                               .first_ms = t_ms,
                               .before_ms = before_ms,
                               .released = f->stop.released,
                               .withdrawn = f->stop.withdrawn};
}

/*
 * Only a stop that is closed gives way to another.  A sign that meets an open one joins it, however late:
 * a loss of power must not take away what gas asks.  What was answered before the sign is asked again.
 */
static void sign(struct finding *f, const struct record_entry *entry, int cause, double delay_s)
{
  int64_t before_ms = entry->t_ms - (int64_t)llround(delay_s * 1000) - 1000;

  if (!f->stop.found || (entry->t_ms - f->stop.last_ms > one_ms && !is_open(f)))
    begin(f, entry->t_ms, before_ms);
  else if (work_began(f))
    f->stop.before_ms = before_ms;
  f->stop.last_ms = entry->t_ms;
  f->stop.seen[cause] = true;
  f->stop.answered = false;
  memset(f->stop.released, 0, (size_t)f->place->facility->station_count * sizeof *f->stop.released);
  if (entry->kind == RECORD_STOPPED)
    f->stop.told = entry;
}

/* A station given back after it was out of use is not released from a stop by that. */
bool past_is_of_stop(const struct record_entry *entry)
{
  json_t *root = *entry->detail ? json_loads(entry->detail, 0, NULL) : NULL;
  bool is = *entry->about
                ? says(root, "schema", "inward.restarted.1")
                : says(root, "schema", "inward.reentry.1") &&
                      past_says_yes(json_string_value(json_object_get(root, "source_removed"))) &&
                      past_says_yes(json_string_value(json_object_get(root, "measured")));

  json_decref(root);
  return is;
}

static void take_withdrawn(struct finding *f, const struct record_entry *entry)
{
  int station = past_withdrawal_station(f->place->facility, entry);

  if (station >= 0)
    f->stop.withdrawn[station] = true;
}

static void take_released(struct finding *f, const struct record_entry *entry)
{
  int station = past_station_of(f->place->facility, entry->about);
  int back = past_withdrawal_station(f->place->facility, entry);
  bool since = past_is_of_stop(entry) && f->stop.found && entry->t_ms > f->stop.last_ms;

  if (back >= 0)
    f->stop.withdrawn[back] = false;
  if (station >= 0) {
    f->stop.released[station] = f->stop.released[station] || since;
  } else if (!*entry->about) {
    f->stop.answered = f->stop.answered || since;
  }
}

static void take_told(struct finding *f, const struct record_entry *entry)
{
  json_t *root = json_loads(entry->detail, 0, NULL);
  int cause = 1; /* one that a person wrote by hand: the more careful reading */

  for (int i = 0; i < CAUSE_BUILDING; i++)
    if (says(root, "cause", causes[i].key))
      cause = i;
  json_decref(root);
  sign(f, entry, cause, 0);
}

/* Fewer than usual of every fan is no loss of power yet: none of any runs is. */
static bool all_stand(const struct finding *f, int64_t t_ms)
{
  struct watch_belief belief;
  struct err err = {0};
  bool all = f->place->facility->fan_count > 0;

  if (past_believe(f->place, t_ms, INT64_MAX, f->arena, &belief, &err) != ERR_OK)
    return false;
  for (int i = 0; i < f->place->facility->fan_count; i++)
    all = all && belief.scene.fan_running[i] == 0;
  return all;
}

static void take_fan(struct finding *f, const struct record_entry *entry, bool on)
{
  int unit, fan = facility_fan_find(f->place->facility, entry->about, &unit);
  bool all = true;

  if (fan < 0)
    return;
  f->lost[fan] = on;
  for (int i = 0; i < f->place->facility->fan_count; i++)
    all = all && f->lost[i];
  if (on && all && all_stand(f, entry->t_ms))
    sign(f, entry, CAUSE_FANS, f->place->feeds->alarms[FEEDS_WHEN_FAN].on_after_s);
}

bool past_may_be_of_stop(const char *detail)
{
  return strstr(detail, "inward.alarm.1") && (strstr(detail, feeds_when_name(FEEDS_WHEN_FAN)) ||
                                              strstr(detail, feeds_when_name(FEEDS_WHEN_BUILDING)));
}

static void take_event(struct finding *f, const struct record_entry *entry)
{
  if (!past_may_be_of_stop(entry->detail))
    return; /* most events: none of those is parsed */
  json_t *root = json_loads(entry->detail, 0, NULL);
  bool on = says(root, "turn", "on"), off = says(root, "turn", "off");

  if (says(root, "schema", "inward.alarm.1") && (on || off)) {
    if (says(root, "when", feeds_when_name(FEEDS_WHEN_FAN)))
      take_fan(f, entry, on);
    else if (on && says(root, "when", feeds_when_name(FEEDS_WHEN_BUILDING)))
      sign(f, entry, CAUSE_BUILDING, f->place->feeds->alarms[FEEDS_WHEN_BUILDING].on_after_s);
  }
  json_decref(root);
}

static const struct {
  enum record_kind kind;
  void (*take)(struct finding *f, const struct record_entry *entry);
} taken[] = {{RECORD_STOPPED, take_told},
             {RECORD_RELEASED, take_released},
             {RECORD_WITHDRAWN, take_withdrawn},
             {RECORD_EVENT, take_event}};
enum { TAKEN_COUNT = sizeof taken / sizeof taken[0] };

static int by_time(const void *a, const void *b)
{
  const struct record_entry *const *x = a, *const *y = b;

  if ((*x)->t_ms != (*y)->t_ms)
    return (*x)->t_ms < (*y)->t_ms ? -1 : 1;
  return ((*x)->number > (*y)->number) - ((*x)->number < (*y)->number);
}

/* From the first entry on: a stop that nobody closed does not end by growing old. */
static enum err_code entries_taken(const struct finding *f, const struct record_entry ***all_out,
                                   int *count_out, struct err *err)
{
  struct record_wanted wanted = {
      .from_ms = INT64_MIN, .to_ms = f->t_ms + 1, .known_ms = INT64_MAX, .most = ENTRIES_MOST};
  struct record_entry *lists[TAKEN_COUNT];
  int counts[TAKEN_COUNT], total = 0;

  for (int k = 0; k < TAKEN_COUNT; k++) {
    wanted.kind = (int)taken[k].kind;
    if (record_entries(f->place->record, &wanted, f->arena, &lists[k], &counts[k], err) != ERR_OK)
      return err->code;
    total += counts[k];
  }
  *all_out = ARENA_ARRAY(f->arena, const struct record_entry *, (size_t)total + 1);
  if (!*all_out)
    return err_set(err, ERR_LIMIT, "too many entries to tell whether work is stopped");
  *count_out = 0;
  for (int k = 0; k < TAKEN_COUNT; k++)
    for (int i = 0; i < counts[k]; i++)
      (*all_out)[(*count_out)++] = &lists[k][i];
  qsort(*all_out, (size_t)total, sizeof(const struct record_entry *), by_time);
  return ERR_OK;
}

enum err_code past_stop_find(const struct past_place *place, int64_t t_ms, struct arena *arena,
                             struct past_stop *out, struct err *err)
{
  size_t fans = (size_t)place->facility->fan_count + 1,
         stations = (size_t)place->facility->station_count + 1;
  struct finding f = {.place = place, .t_ms = t_ms, .arena = arena};
  const struct record_entry **all = NULL;
  int count = 0;
  enum err_code code = entries_taken(&f, &all, &count, err);

  f.lost = ARENA_ARRAY(arena, bool, fans);
  f.stop.released = ARENA_ARRAY(arena, bool, stations);
  f.stop.withdrawn = ARENA_ARRAY(arena, bool, stations);
  BUG_IF(!f.lost || !f.stop.released || !f.stop.withdrawn);
  for (int i = 0; code == ERR_OK && i < count; i++)
    for (int k = 0; k < TAKEN_COUNT; k++)
      if (taken[k].kind == all[i]->kind)
        taken[k].take(&f, all[i]);
  f.stop.asks_reentry = f.stop.found && asks_reentry(&f.stop);
  f.stop.is_open = f.stop.found && is_open(&f);
  *out = f.stop;
  return code;
}

int past_stop_left(const struct past_stop *stop, const struct facility *facility)
{
  int left = 0;

  for (int i = 0; i < facility->station_count; i++)
    left += !stop->withdrawn[i] && !stop->released[i];
  return left;
}

void past_stop_causes(const struct past_stop *stop, struct buf *out)
{
  bool any = false;

  for (int i = 0; i < PAST_STOP_CAUSES; i++)
    if (stop->seen[i]) {
      buf_printf(out, "%s%s", any ? "; " : "", causes[i].text);
      any = true;
    }
}

void past_stop_act(const struct past_stop *stop, const struct facility *facility, struct buf *out)
{
  int left = past_stop_left(stop, facility);

  if (stop->asks_reentry && !stop->answered)
    buf_puts(out, "NOBODY GOES IN: SOURCE REMOVED? MEASURED? RELEASED BY WHOM?");
  else if (left > 0)
    buf_printf(out, "NO WORK AT %d OF %d STATIONS: NOT RELEASED", left, facility->station_count);
  else
    buf_puts(out, "EVERY STATION IN USE WAS RELEASED BY A PERSON");
}

/* "all work is stopped since 2026-10-24 16:05: power was lost; told by M. Rao" */
static const char *why_words(const struct past_place *place, const struct past_stop *stop,
                             struct arena *arena)
{
  struct buf text;

  buf_init(&text, 4000);
  buf_puts(&text, "all work is stopped since ");
  when_print(&text, place->zone ? place->zone : when_utc(), stop->first_ms);
  buf_puts(&text, ": ");
  past_stop_causes(stop, &text);
  if (stop->told)
    buf_printf(&text, "; told by %s", stop->told->who);

  const char *words = arena_strdup(arena, text.text);

  buf_release(&text);
  BUG_IF(!words);
  return words;
}

struct watch_stop past_stop_belief(const struct past_place *place, const struct past_stop *stop,
                                   struct arena *arena)
{
  bool asks = stop->asks_reentry && !stop->answered;
  struct buf act;

  buf_init(&act, 400);
  past_stop_act(stop, place->facility, &act);
  struct watch_stop said = {
      .since_ms = stop->first_ms,
      .act = arena_strdup(arena, act.text),
      .why = why_words(place, stop, arena),
      .next = asks ? "nobody goes in before people answered, on the restart list: source removed? "
                     "measured? released by whom?"
                   : "people release stations, one by one, after they saw flow there: see the "
                     "restart list",
      .released = stop->released,
      .withdrawn = stop->withdrawn};

  BUG_IF(!said.act);
  buf_release(&act);
  return said;
}
