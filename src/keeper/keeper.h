#ifndef KEEPER_KEEPER_H
#define KEEPER_KEEPER_H

#include "base/buf.h"
#include "base/err.h"
#include "facility/feeds.h"
#include "feed/feed.h"
#include "record/record.h"
#include "wet/wet.h"

/*
 * The keeper of a live suite: one thread that takes what the sources say, writes it to the record,
 * keeps the belief, solves the air when something changed, and hands out immutable views.
 *
 *     keeper_open(&settings, &keeper, &err);
 *     struct keeper_view *view = keeper_view(keeper);       // any thread
 *     ... view->json, view->number ...
 *     keeper_view_release(view);
 *
 * Everything that comes in goes through one queue with a limit; when it is full the newest of each
 * point are kept and the rest counted, but a table waits until there is room.  When the record cannot
 * be written, or not yet be opened, the views say so, what came and the events wait for it, up to a
 * limit, and the belief goes on.
 *
 * What grows too old is not known within a second; what came is shown within one, a state that turned
 * within a quarter of one.  The air is solved at most four times a second and only when the scene
 * changed.  A state that turned, a source lost or back, a file taken, other settings than before and a
 * clock that was stepped back become entries.
 *
 * Times are UTC of this machine's clock, or in a replay of a clock that began at replay_from_ms and
 * runs `replay_speed` times as fast.
 */
struct keeper;

/* An event: a state that turned, an alarm that came or went, a source that was lost or came back, a clock stepped back. */
struct keeper_told {
  int64_t t_ms;
  const char *about;  /* id of a source, or "" */
  const char *text;   /* for people */
  const char *detail; /* JSON for programs, or "" */
  const char *state;  /* where the state turned, its name in JSON; else NULL */
  const char *act;    /* and the act now, in the largest words */
  bool after_replay;  /* the table that is replayed was over before it */
};

struct keeper_settings {
  const struct facility *facility;
  const struct feeds *feeds;
  const char *feeds_folder;
  const struct when_zone *zone; /* of the suite */
  const char *record_path;      /* NULL: nothing is kept */
  bool connect;                 /* open the sources; else only what is handed in */
  /* A replay: observations in order of time, handed in when their moment comes.  NULL: now is now. */
  const struct feed_observation *replay;
  long replay_count;
  double replay_speed;
  int64_t replay_from_ms;
  bool replay_again; /* from the beginning when it is over: for a demo, without a record */
  bool texts;        /* views hold their text, too */
  const struct wet_place *wet; /* tanks and waste, of no moment, to be reminded of; or NULL */
  /* Called from the keeper's thread for each event, in order; or NULL.  It must not call the keeper. */
  void (*told)(void *arg, const struct keeper_told *told);
  void *told_arg;
  /* For tests: the clock, in ms; NULL: this machine's. */
  int64_t (*clock_ms)(void *arg);
  void *clock_arg;
};

/* Borrows everything in the settings.  ERR_INPUT or ERR_IO from the record or a source. */
NODISCARD enum err_code keeper_open(const struct keeper_settings *settings,
                                    struct keeper **keeper_out, struct err *err);
void keeper_close(struct keeper *k); /* writes what came; NULL is fine */

int64_t keeper_now_ms(const struct keeper *k); /* of the replay, in a replay */

bool keeper_is_replay(const struct keeper *k);
/* The last observation of a replay is judged; from any thread. */
bool keeper_is_replay_over(const struct keeper *k);

/* From any thread; waits for nothing.  Points are those of the feeds. */
void keeper_take(struct keeper *k, const struct feed_observation *list, int count);

/* Appends an entry; waits until it is durable.  Without a record: ERR_INPUT, but a withdrawal and a
 * release hold all the same. */
NODISCARD enum err_code keeper_enter(struct keeper *k, struct record_entry *entry, struct err *err);

/* Calls `see` from the keeper's thread with the belief of now, borrowed for the time of the call, and
 * waits for it.  It must not call the keeper.  ERR_IO: the board is stopping. */
struct watch_belief;
NODISCARD enum err_code keeper_look(struct keeper *k,
                                    void (*see)(void *arg, const struct watch_belief *belief),
                                    void *arg, struct err *err);

/* The same with the air of it and who took what out of use, as a view has them. */
struct answer_live;
NODISCARD enum err_code keeper_look_live(struct keeper *k,
                                         void (*see)(void *arg, const struct answer_live *live),
                                         void *arg, struct err *err);

/* What an entry of that kind would not do, in words that fit behind it: a release of what is not
 * withdrawn, an acknowledgement where no alarm stands; NULL: nothing of the sort. */
const char *keeper_in_vain(struct keeper *k, const struct record_entry *entry);

/* Puts the alarms of entry->about aside, as alarms_shelve, and appends the entry. */
NODISCARD enum err_code keeper_shelve(struct keeper *k, struct record_entry *entry, int64_t from_ms,
                                      int64_t until_ms, struct err *err);

/* Whether a finding of that kind and part stands now, or the record tells of it; its `since` is filled in. */
struct past_finding;
NODISCARD enum err_code keeper_find_finding(struct keeper *k, struct past_finding *finding,
                                            bool *found_out, struct err *err);

/* What a person at entry->about, a station, says to what is asked there: done, or why it cannot be (entry->text);
 * entry->who may be "".  Appends an entry where there is a record; number 0: there is none.  ERR_INPUT: nothing
 * is asked there. */
NODISCARD enum err_code keeper_answer(struct keeper *k, struct record_entry *entry, bool done,
                                      struct err *err);

struct keeper_view {
  long number; /* grows by one with each view */
  int64_t now_ms;
  bool is_known;   /* the state is */
  struct buf json; /* `/api/live` */
  struct buf text; /* the same for people, where settings ask for it */
};
/* The newest; release it.  NULL until the first is made. */
const struct keeper_view *keeper_view(struct keeper *k);
void keeper_view_release(const struct keeper_view *view);
/* `wake` is called from the keeper's thread for each new view; NULL ends that, and returns when no call
 * is on its way. */
void keeper_on_view(struct keeper *k, void (*wake)(void *arg), void *arg);

#endif
