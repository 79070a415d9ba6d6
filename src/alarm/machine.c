#include "alarm/alarm_impl.h"

#include "base/utf8.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* The state machine of one alarm, and who explains whom. */

bool alarm_is_never_aside(enum feeds_when when)
{
  return when == FEEDS_WHEN_BUILDING || when == FEEDS_WHEN_OWN;
}

static void tell(struct alarms *a, int index, enum alarm_turn_kind kind, int64_t t_ms)
{
  struct alarm_turn turn = {t_ms, index, kind};

  if (a->given.turned)
    a->given.turned(a->given.arg, a, &turn);
}

/* ---- what is so ---- */

static int64_t after_ms(double seconds)
{
  return llround(seconds * 1000);
}

static void shelve(struct alarms *a, int index, const struct alarm_told *told, int64_t t_ms)
{
  struct alarm_item *item = &a->items[index];

  item->shelved = true;
  item->shown.until_ms = told->until_ms;
  snprintf(item->shown.who, sizeof item->shown.who, "%s", told->who);
  snprintf(item->shown.why, sizeof item->shown.why, "%s", told->why);
  utf8_mend_end(item->shown.who);
  utf8_mend_end(item->shown.why);
  alarm_explain(a);
  tell(a, index, ALARM_TURN_SHELVED, t_ms);
}

/* What was planned for this moment: done once, so that who takes it back is not overruled. */
static void shelve_as_planned(struct alarms *a, int index, int64_t t_ms)
{
  struct alarm *s = &a->items[index].shown;
  const struct alarm_told told = {
      .who = s->planned_who, .why = s->planned_why, .until_ms = s->planned_until_ms};

  s->planned_until_ms = INT64_MIN;
  shelve(a, index, &told, t_ms);
}

static void turn_on(struct alarms *a, int index, int64_t t_ms)
{
  struct alarm_item *item = &a->items[index];

  item->shown.is_so = true;
  item->shown.since_ms = t_ms;
  item->acknowledged = false;
  item->shown.who[0] = item->shelved ? item->shown.who[0] : '\0';
  if (!item->shelved && item->shown.planned_from_ms <= t_ms && t_ms < item->shown.planned_until_ms)
    shelve_as_planned(a, index, t_ms);
  alarm_explain(a);
  tell(a, index, ALARM_TURN_ON, t_ms);
}

static void turn_off(struct alarms *a, int index, int64_t t_ms)
{
  struct alarm_item *item = &a->items[index];

  item->shown.is_so = false;
  item->shown.since_ms = t_ms;
  /* Nobody was told of what was explained, put aside or for nobody: nobody need say that he saw it. */
  if (item->shown.state != ALARM_ACTIVE || item->shown.rule->priority == FEEDS_NOBODY)
    item->acknowledged = true;
  alarm_explain(a);
  tell(a, index, ALARM_TURN_OFF, t_ms);
}

static void end_shelf(struct alarms *a, int index, int64_t t_ms)
{
  struct alarm_item *item = &a->items[index];

  item->shelved = false;
  item->acknowledged = !item->shown.is_so;
  item->shown.who[0] = item->shown.why[0] = '\0';
  alarm_explain(a);
  tell(a, index, ALARM_TURN_UNSHELVED, t_ms);
}

/* When what already stands is put aside as planned; INT64_MAX: never. */
static int64_t alarm_planned_ms(const struct alarm_item *item)
{
  const struct alarm *s = &item->shown;

  return s->is_so && !item->shelved && s->planned_from_ms < s->planned_until_ms ? s->planned_from_ms
                                                                                : INT64_MAX;
}

int64_t alarm_due_ms(const struct alarm_item *item)
{
  const struct feeds_alarm *rule = item->shown.rule;
  int64_t turn_ms = item->said_ms + after_ms(item->said ? rule->on_after_s : rule->off_after_s);
  int64_t due_ms = item->said != item->shown.is_so ? turn_ms : INT64_MAX;
  int64_t planned_ms = alarm_planned_ms(item);

  due_ms = planned_ms < due_ms ? planned_ms : due_ms;
  return item->shelved && item->shown.until_ms < due_ms ? item->shown.until_ms : due_ms;
}

void alarm_pass(struct alarms *a, int index)
{
  struct alarm_item *item = &a->items[index];
  int64_t due_ms = alarm_due_ms(item);

  if (item->shelved && item->shown.until_ms == due_ms)
    end_shelf(a, index, due_ms);
  else if (alarm_planned_ms(item) == due_ms)
    shelve_as_planned(a, index, due_ms);
  else if (item->said)
    turn_on(a, index, due_ms);
  else
    turn_off(a, index, due_ms);
}

void alarm_say(struct alarms *a, int index, bool said, const char *measured, int64_t t_ms)
{
  struct alarm_item *item = &a->items[index];

  if (said && !item->shown.is_so && measured[0]) {
    snprintf(item->shown.measured, sizeof item->shown.measured, "%s", measured);
    utf8_mend_end(item->shown.measured);
  }
  if (said != item->said) {
    item->said = said;
    item->said_ms = t_ms;
  }
}

/* ---- who explains whom ---- */

static bool explains(enum feeds_when when)
{
  return when <= FEEDS_WHEN_PRESSURE && when != FEEDS_WHEN_OWN;
}

/* Whether another may stand for it. */
static bool is_explained(enum feeds_when when)
{
  return when == FEEDS_WHEN_SHORT || when == FEEDS_WHEN_PRESSURE || when == FEEDS_WHEN_NEAR_LIMIT ||
         when == FEEDS_WHEN_OWN;
}

static bool share_a_station(const struct alarms *a, const struct alarm_item *x,
                            const struct alarm_item *y)
{
  for (int s = 0; s < a->given.facility->station_count; s++)
    if (x->concerns[s] && y->concerns[s])
      return true;
  return false;
}

static bool can_explain(const struct alarms *a, const struct alarm_item *other,
                        const struct alarm_item *item)
{
  return other != item && other->shown.is_so && !other->shelved &&
         explains(other->shown.rule->when) && other->shown.rule->priority != FEEDS_NOBODY &&
         share_a_station(a, item, other);
}

/* The first of those before it; for a station's own alarm, of all. */
static int cause_of(const struct alarms *a, int index)
{
  const struct alarm_item *item = &a->items[index];
  int end = item->shown.rule->when == FEEDS_WHEN_OWN ? a->count : index;

  if (!is_explained(item->shown.rule->when) || !item->shown.is_so)
    return -1;
  for (int i = 0; i < end; i++)
    if (can_explain(a, &a->items[i], item))
      return a->items[i].shown.cause >= 0 ? a->items[i].shown.cause : i;
  return -1;
}

static enum alarm_state state_of(const struct alarm_item *item)
{
  const struct alarm *s = &item->shown;

  if (item->out_of_service)
    return ALARM_OUT_OF_SERVICE;
  if (item->shelved)
    return ALARM_SHELVED;
  if (s->is_so && s->cause >= 0 && !alarm_is_never_aside(s->rule->when))
    return ALARM_SUPPRESSED;
  if (s->is_so)
    return item->acknowledged ? ALARM_ACKNOWLEDGED : ALARM_ACTIVE;
  return item->acknowledged ? ALARM_NORMAL : ALARM_RETURNED;
}

/* What only waits for its delay to be over stays with the cause it had: it is told to nobody any more. */
static int cause_now(const struct alarms *a, int index)
{
  const struct alarm_item *item = &a->items[index];
  int cause = cause_of(a, index);

  return cause < 0 && item->shown.is_so && !item->said ? item->shown.cause : cause;
}

void alarm_explain(struct alarms *a)
{
  for (int own = 0; own <= 1; own++) /* a station's own last: it looks at all others */
    for (int i = 0; i < a->count; i++)
      if ((a->items[i].shown.rule->when == FEEDS_WHEN_OWN) == (own == 1))
        a->items[i].shown.cause = cause_now(a, i);
  for (int i = 0; i < a->count; i++) {
    a->items[i].shown.state = state_of(&a->items[i]);
    a->items[i].shown.priority = a->items[i].shown.rule->priority;
  }
  for (int i = 0; i < a->count; i++) {
    const struct alarm *s = &a->items[i].shown;

    if (s->state == ALARM_SUPPRESSED && s->rule->priority < a->items[s->cause].shown.priority)
      a->items[s->cause].shown.priority = s->rule->priority;
  }
}

/* ---- what people do ---- */

static bool is_of(const struct alarm_item *item, const char *about)
{
  return strcmp(item->shown.about, about) == 0;
}

int alarms_acknowledge(struct alarms *a, const char *about, const char *who, int64_t t_ms)
{
  int done = 0;

  for (int i = 0; i < a->count; i++) {
    struct alarm_item *item = &a->items[i];
    bool waits = item->shown.state == ALARM_ACTIVE || item->shown.state == ALARM_RETURNED;

    if (!waits || !is_of(item, about))
      continue;
    item->acknowledged = true;
    snprintf(item->shown.who, sizeof item->shown.who, "%s", who);
    utf8_mend_end(item->shown.who);
    alarm_explain(a);
    tell(a, i, ALARM_TURN_ACKNOWLEDGED, t_ms);
    done++;
  }
  return done;
}

static bool may_be_shelved(const struct alarm_item *item, const struct alarm_told *told)
{
  return is_of(item, told->about) && !alarm_is_never_aside(item->shown.rule->when) &&
         (item->shown.is_so || told->from_ms > told->t_ms);
}

static enum err_code check_shelf(const struct alarms *a, const struct alarm_told *told,
                                 struct err *err)
{
  int64_t from_ms = told->from_ms > told->t_ms ? told->from_ms : told->t_ms;
  int there = 0;

  for (int i = 0; i < a->count; i++)
    there += may_be_shelved(&a->items[i], told);
  if (there == 0)
    return err_set(
        err, ERR_INPUT,
        "no alarm of '%.40s' stands that may be put aside; the building's and a station's "
        "own never may",
        told->about[0] ? told->about : "the suite");
  if (!told->why[0])
    return err_set(err, ERR_INPUT, "why is it put aside? Give a reason");
  if (told->until_ms <= told->t_ms)
    return err_set(err, ERR_INPUT, "until when is it put aside? That moment is past");
  if (told->until_ms <= from_ms)
    return err_set(err, ERR_INPUT, "it would end before it begins");
  if (told->until_ms - from_ms > after_ms(a->given.feeds->shelf_most_s))
    return err_set(err, ERR_INPUT,
                   "put aside for too long: the feeds file allows %.3g h ('shelve at most')",
                   a->given.feeds->shelf_most_s / 3600);
  return ERR_OK;
}

static void plan(struct alarm *s, const struct alarm_told *told)
{
  s->planned_from_ms = told->from_ms;
  s->planned_until_ms = told->until_ms;
  snprintf(s->planned_who, sizeof s->planned_who, "%s", told->who);
  snprintf(s->planned_why, sizeof s->planned_why, "%s", told->why);
  utf8_mend_end(s->planned_who);
  utf8_mend_end(s->planned_why);
}

/* Every alarm of that part that may be, at once or when its time comes. */
static void put_aside(struct alarms *a, const struct alarm_told *told)
{
  for (int i = 0; i < a->count; i++) {
    if (!may_be_shelved(&a->items[i], told))
      continue;
    if (told->from_ms > told->t_ms)
      plan(&a->items[i].shown, told);
    else
      shelve(a, i, told, told->t_ms);
  }
}

enum err_code alarms_shelve(struct alarms *a, const struct alarm_told *told, struct err *err)
{
  enum err_code code = check_shelf(a, told, err);

  if (code == ERR_OK)
    put_aside(a, told);
  return code;
}

int alarms_unshelve(struct alarms *a, const char *about, int64_t t_ms)
{
  int done = 0;

  for (int i = 0; i < a->count; i++) {
    struct alarm_item *item = &a->items[i];
    bool planned = item->shown.planned_until_ms > t_ms;

    if (!is_of(item, about) || (!item->shelved && !planned))
      continue;
    item->shown.planned_until_ms = INT64_MIN;
    if (item->shelved)
      end_shelf(a, i, t_ms);
    done++;
  }
  return done;
}

/* ---- how things stood when the program stopped ---- */

static void recall_turn(struct alarms *a, int index, const struct alarm_told *told)
{
  struct alarm_item *item = &a->items[index];

  if (told->kind == ALARM_TURN_UNSHELVED && item->shelved)
    end_shelf(a, index, told->t_ms);
  if (told->kind != ALARM_TURN_ON && told->kind != ALARM_TURN_OFF)
    return;
  item->said = item->shown.is_so = told->kind == ALARM_TURN_ON;
  item->said_ms = item->shown.since_ms = told->t_ms;
  item->acknowledged = !item->said && told->state != ALARM_RETURNED;
  if (item->said && told->state == ALARM_SHELVED && item->shown.planned_until_ms > told->t_ms)
    shelve_as_planned(a, index, told->t_ms);
  if (item->said) {
    item->shown.who[0] = item->shelved ? item->shown.who[0] : '\0';
    snprintf(item->shown.measured, sizeof item->shown.measured, "%s", told->measured);
    utf8_mend_end(item->shown.measured);
  }
}

static void recall_act(struct alarms *a, const struct alarm_told *told)
{
  alarm_explain(a); /* what it was done to */
  if (told->kind == ALARM_TURN_ACKNOWLEDGED)
    alarms_acknowledge(a, told->about, told->who, told->t_ms);
  else if (told->kind == ALARM_TURN_UNSHELVED)
    alarms_unshelve(a, told->about, told->t_ms);
  else
    put_aside(a, told);
}

void alarms_recall(struct alarms *a, const struct alarm_told *list, int count)
{
  void (*turned)(void *arg, const struct alarms *a, const struct alarm_turn *turn) =
      a->given.turned;

  a->given.turned = NULL;
  for (int at = 0; at < count; at++) {
    if (list[at].when < 0)
      recall_act(a, &list[at]);
    for (int i = 0; list[at].when >= 0 && i < a->count; i++)
      if (is_of(&a->items[i], list[at].about) && (int)a->items[i].shown.rule->when == list[at].when)
        recall_turn(a, i, &list[at]);
  }
  alarm_explain(a);
  a->given.turned = turned;
}
