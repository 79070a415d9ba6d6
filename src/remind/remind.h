#ifndef REMIND_REMIND_H
#define REMIND_REMIND_H

#include "base/arena.h"
#include "base/buf.h"
#include "base/emit.h"
#include "base/when.h"
#include "facility/feeds.h"
#include "round/round.h"
#include "wet/wet.h"

/*
 * Reminders: what people said they would look at, change or send away, and did not in time.
 *
 * Overdue is what the suite's own limits make so: a round whose answers are too old, a date that passed (the
 * gel for HF), a tank or a waste container that is due or of which nobody told how it is.  What was never told
 * at all is no reminder: the lists say so.  It is never an alarm, and never stands among them.
 *
 * One message gathers what has been overdue for `after`, outside quiet hours, and comes at most every `apart`;
 * of the same thing again after `again`, while it lasts.  What is done is gone, without a word.
 *
 *     remind_due(&places, &arena, &list);                    // what is overdue now
 *     reminders_see(reminders, &list, now_ms);
 *     if (reminders_tell(reminders, now_ms, &text, &detail)) ... // one message, now
 *
 * No clock, no file, no thread of its own.
 */

/* ---- what is overdue ---- */
struct remind_due {
  const char *key;   /* the same for the same thing: "round A3" */
  const char *about; /* id of a station, a tank or a container */
  const char *text;  /* "A3: round overdue (deck, waste)" */
  int64_t since_ms;  /* overdue since */
};
struct remind_list {
  int count;
  struct remind_due *list; /* the longest overdue first */
};
/* Each may be NULL.  False: the arena is full. */
bool remind_due(const struct round_list *rounds, const struct wet_baths *baths,
                const struct wet_waste *waste, struct arena *arena, struct remind_list *out);

/* ---- when it is told ---- */
struct reminders;
struct reminders *reminders_new(const struct feeds_reminders *settings,
                                const struct when_zone *zone); /* borrows both; zone NULL: UTC */
void reminders_free(struct reminders *r);                      /* NULL is fine */

/* What is overdue now; copied.  What is no longer among them is forgotten. */
void reminders_see(struct reminders *r, const struct remind_list *list);
/* True: a message is to be sent now: its text, and what it told, for the record (inward.reminder.1). */
bool reminders_tell(struct reminders *r, int64_t now_ms, struct buf *text, struct buf *detail);
/* What an entry of the record told at t_ms; in order of time, before the first reminders_see.  False: none. */
bool reminders_restore(struct reminders *r, const char *detail, int64_t t_ms);

/* `reminders` of inward.live.1: what has been overdue for `after`. */
void reminders_json(const struct reminders *r, int64_t now_ms, struct emit *json);

#endif
