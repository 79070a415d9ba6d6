#include "facility/feeds_impl.h"

#include <string.h>

/* Alarms: the usual ones, and what the file says in their place. */

static const char *const when_names[] = {
    "building alarm", "own alarm", "fan lost",  "supply lost", "door open", "short",     "pressure",
    "leak",           "deck flow", "not known", "unattended",  "blocked",   "near limit"};
static const char *const priority_names[] = {"urgent", "high", "low", "none"};

static const char practice[] = "common practice, no source";

/* Times and priorities are where a suite begins: each suite sets its own in its feeds file. */
static const struct feeds_alarm usual[FEEDS_WHEN_COUNT] = {
    {"building", FEEDS_WHEN_BUILDING, FEEDS_URGENT, 0, 0, 0, "Leave as the building tells you",
     "fire, gas, or a test", "people are in danger", "the building's own plan decides"},
    {"own", FEEDS_WHEN_OWN, FEEDS_URGENT, 0, 0, 60,
     "Follow the station: stop, close the sash, step away", "too little air at this station",
     "vapour at the person", "the station's manual decides"},
    {"fan", FEEDS_WHEN_FAN, FEEDS_URGENT, 10, 30, 300,
     "Cap and lower what is open there; call the ventilation technician",
     "motor, drive, belt or power", "its stations lose their air", practice},
    {"supply", FEEDS_WHEN_SUPPLY, FEEDS_URGENT, 10, 30, 300,
     "Lower what is open in its rooms; call the ventilation technician",
     "motor, filter, frost or fire damper", "rooms lose their overpressure; doors pull hard",
     practice},
    {"door", FEEDS_WHEN_DOOR, FEEDS_LOW, 30, 10, 300, "Shut it", "held open",
     "the room loses its overpressure", practice},
    {"short", FEEDS_WHEN_SHORT, FEEDS_HIGH, 30, 60, 300,
     "Lower first what the wall names; ask the person there",
     "more sashes up than the air is for, or less air than usual",
     "face velocity and overpressure are lost", practice},
    {"pressure", FEEDS_WHEN_PRESSURE, FEEDS_HIGH, 60, 60, 600,
     "Shut doors, lower sashes; if it stays, call the ventilation technician",
     "a door, too many sashes, a loaded filter", "the room is no longer as clean as it must be",
     practice},
    {"leak", FEEDS_WHEN_LEAK, FEEDS_URGENT, 0, 30, 300,
     "Step away from the bench, touch nothing; call the person in charge",
     "a tank, a drain or a pipe leaks, or was overfilled", "what stands above may meet in the tray",
     practice},
    {"deck", FEEDS_WHEN_DECK, FEEDS_HIGH, 30, 30, 300,
     "Start nothing there, stop what gives vapour; call the person in charge",
     "a covered deck, a closed damper, the bench's own fan",
     "vapour of what stands there is not carried off", practice},
    {"not-known", FEEDS_WHEN_NOT_KNOWN, FEEDS_HIGH, 60, 10, 900,
     "Treat it as no, and look at the source named",
     "a source is lost, or two contradict each other", "nobody sees when the air is short",
     practice},
    {"unattended", FEEDS_WHEN_UNATTENDED, FEEDS_LOW, 600, 10, 1800,
     "Ask whose it is, then lower it to parked", "forgotten, or a run without its sign",
     "air that others wait for", practice},
    {"blocked", FEEDS_WHEN_BLOCKED, FEEDS_LOW, 120, 10, 1800,
     "Ask whose it is; clear the sash's path", "something stands under the sash",
     "the sash cannot be closed when it must be", practice},
    {"near-limit", FEEDS_WHEN_NEAR_LIMIT, FEEDS_NOBODY, 60, 60, 900, "Lower what nobody works at",
     "many sashes are up", "the next sash makes it short", practice},
};

const char *feeds_when_name(enum feeds_when when)
{
  return when_names[when];
}

const char *feeds_priority_name(enum feeds_priority priority)
{
  return priority_names[priority];
}

/* ---- from the file ---- */

static const char *text_or(struct feeds_build *b, const struct record *r, enum schema_key_id key,
                           const char *otherwise)
{
  const struct value *value = record_given(r, key);

  return value ? build_text(&b->build, value->text) : otherwise;
}

static void check_action(struct feeds_build *b, const struct record *r)
{
  const struct value *action = record_given(r, KEY_feeds_alarm_action);

  if (action && strlen(action->text) > FEEDS_ACTION_MOST_BYTES)
    reader_complain(b->reader, r->who, action->tree->place, action->tree->width,
                    "an action of %zu bytes; a message of 160 characters has room for %d",
                    strlen(action->text), (int)FEEDS_ACTION_MOST_BYTES);
}

/* What outranks everything is told at once, whatever a file says. */
enum { OUTRANKING_WAITS_S = 60 }; /* at most; common practice, no source */

static void check_outranking(struct feeds_build *b, const struct record *r, enum feeds_when when)
{
  const struct value *on = record_value(r, KEY_feeds_alarm_on);
  const struct value *priority = record_value(r, KEY_feeds_alarm_priority);

  if (when != FEEDS_WHEN_BUILDING && when != FEEDS_WHEN_OWN)
    return;
  if (on->si > OUTRANKING_WAITS_S)
    reader_complain(b->reader, r->who, on->tree->place, on->tree->width,
                    "%s cannot wait for %g s; at most %d s", when_names[when], on->si,
                    OUTRANKING_WAITS_S);
  if (priority->number == FEEDS_NOBODY)
    reader_complain(b->reader, r->who, priority->tree->place, priority->tree->width,
                    "%s is always told: urgent, high or low", when_names[when]);
}

static struct feeds_alarm one_alarm(struct feeds_build *b, const struct record *r)
{
  enum feeds_when when = (enum feeds_when)record_value(r, KEY_feeds_alarm_when)->number;
  const struct feeds_alarm *otherwise = &usual[when];

  check_action(b, r);
  check_outranking(b, r, when);
  return (struct feeds_alarm){
      .id = build_part(&b->build, r).id,
      .when = when,
      .priority = (enum feeds_priority)record_value(r, KEY_feeds_alarm_priority)->number,
      .on_after_s = record_si(r, KEY_feeds_alarm_on),
      .off_after_s = record_si(r, KEY_feeds_alarm_off),
      .within_s = record_si(r, KEY_feeds_alarm_within),
      .action = text_or(b, r, KEY_feeds_alarm_action, otherwise->action),
      .cause = text_or(b, r, KEY_feeds_alarm_cause, otherwise->cause),
      .consequence = text_or(b, r, KEY_feeds_alarm_consequence, otherwise->consequence),
      .source = text_or(b, r, KEY_feeds_alarm_source, practice)};
}

/* Two for the same thing would both ask. */
static void check_once(struct feeds_build *b, const struct value *from, int i, const bool *taken)
{
  const struct record *r = from->records[i];
  int when = record_value(r, KEY_feeds_alarm_when)->number;

  if (taken[when])
    reader_complain(b->reader, r->who, r->place, r->width,
                    "another alarm is for '%s' too; one says what to do", when_names[when]);
}

void feeds_build_alarms(struct feeds_build *b, const struct value *from)
{
  struct feeds_alarm *list = ARENA_ARRAY(b->feeds->arena, struct feeds_alarm, FEEDS_WHEN_COUNT);
  bool taken[FEEDS_WHEN_COUNT] = {false};

  BUG_IF(!list);
  memcpy(list, usual, sizeof usual);
  for (int i = 0; i < from->count; i++) {
    struct feeds_alarm alarm = one_alarm(b, from->records[i]);

    check_once(b, from, i, taken);
    taken[alarm.when] = true;
    list[alarm.when] = alarm;
  }
  b->feeds->alarms = list;
}

/* ---- for the manual ---- */

void feeds_print_usual_alarms(struct buf *out)
{
  buf_puts(
      out,
      "\n## The usual alarms\n\n"
      "| when | priority | on after | off after | within | action | cause | consequence | source |\n"
      "|---|---|---|---|---|---|---|---|---|\n");
  for (int i = 0; i < FEEDS_WHEN_COUNT; i++) {
    const struct feeds_alarm *a = &usual[i];

    buf_printf(out, "| %s | %s | %g s | %g s | %g s | %s | %s | %s | %s |\n", when_names[a->when],
               priority_names[a->priority], a->on_after_s, a->off_after_s, a->within_s, a->action,
               a->cause, a->consequence, a->source);
  }
}
