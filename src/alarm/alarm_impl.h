#ifndef ALARM_ALARM_IMPL_H
#define ALARM_ALARM_IMPL_H

#include "alarm/alarm.h"

/* One alarm with what the state machine remembers of it. */
struct alarm_item {
  struct alarm shown; /* first */
  int index;          /* of its part, among parts of that kind */
  bool *concerns;     /* per station */
  bool said;          /* as last judged */
  int64_t said_ms;    /* since when it is judged so */
  bool acknowledged, shelved, out_of_service;
};

struct alarms {
  struct alarms_settings given;
  struct arena arena;
  int count;
  struct alarm_item *items; /* by `when`, then by part: a cause stands before what it explains */
};

/* ---- conditions.c ---- */
/* Whether it is so, and how it was measured or computed, with its limit. */
bool alarm_is_said(const struct alarm_item *item, const struct judge_seen *seen,
                   struct buf *measured);
/* Whether anything says of now that it is or is not so: what is no longer heard has not ended. */
bool alarm_is_heard(const struct alarm_item *item, const struct judge_seen *seen);
bool alarm_is_withdrawn(const struct alarm_item *item, const struct judge_seen *seen);
/* Marks the stations that it concerns. */
void alarm_find_stations(const struct facility *f, struct alarm_item *item);
/* How many parts can have such an alarm, and the id of one. */
int alarm_part_count(const struct facility *f, enum feeds_when when);
const char *alarm_part_id(const struct facility *f, enum feeds_when when, int index);

/* ---- machine.c ---- */
/* What is judged now; `measured` is kept when it becomes so. */
void alarm_say(struct alarms *a, int index, bool said, const char *measured, int64_t t_ms);
/* When it turns by time alone; INT64_MAX: never.  And that turn. */
int64_t alarm_due_ms(const struct alarm_item *item);
void alarm_pass(struct alarms *a, int index);
void alarm_explain(struct alarms *a);            /* causes and states anew */
bool alarm_is_never_aside(enum feeds_when when); /* neither shelved nor suppressed */

#endif
