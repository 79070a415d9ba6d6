#ifndef KEEPER_KEEPER_IMPL_H
#define KEEPER_KEEPER_IMPL_H

#include "alarm/alarm.h"
#include "answer/answer.h"
#include "errand/errand.h"
#include "judge/judge.h"
#include "keeper/keeper.h"
#include "post/post.h"
#include "remind/remind.h"
#include "run/run.h"
#include "watch/watch.h"
#include "wire/wire.h"

#include <pthread.h>
#include <stdatomic.h>

/*
 * Who may touch what: `lock` guards the queue, the jobs and the newest view; all that stands below
 * "the thread's own" belongs to the keeper's thread, and to keeper_open before it is started.
 */
enum {
  KEEPER_QUEUE_MOST = 1 << 16,
  KEEPER_BATCH = 500, /* rows of one commit */
  KEEPER_PENDING_MOST = 1 << 17,
  KEEPER_COMMIT_MS = 1000,   /* what came is durable within */
  KEEPER_LOOK_MS = 500,      /* what grows old is noticed within */
  KEEPER_VIEW_MS = 5000,     /* a view at least so often: it says that the keeper is there */
  KEEPER_VALUES_MS = 1000,   /* new values are shown within */
  KEEPER_SOONEST_MS = 250,   /* solves and views come no more often than this */
  KEEPER_RETRY_MS = 5000,    /* a record that failed is tried again */
  KEEPER_EVENTS_MOST = 1000, /* that wait for such a record */
  /* what a source is in trouble with is told so often at most (common practice, no source) */
  KEEPER_TROUBLE_MS = 3600 * 1000
};

/* Something that must be done by the keeper's thread while another waits. */
struct keeper_job {
  enum err_code (*run)(struct keeper *k, void *arg, struct err *err);
  void *arg;
  struct err *err;
  enum err_code code;
  bool done;
  struct keeper_job *next;
};

/* An event that waits for the record. */
struct keeper_event {
  int64_t t_ms;
  char *about, *text, *detail;
};

/* What a source said that could not be taken, as far as it was told. */
struct keeper_trouble {
  long refused, dropped;
  bool told;
  int64_t told_ms; /* of the clock */
};

/* Retention, of tidy.c. */
struct keeper_tidy {
  struct record_due due;
  bool goes_on;    /* something of it is left */
  bool waits;      /* the record lived through too few days: a thing to look at */
  int64_t next_ms; /* of the clock; 0: not looked yet */
  int64_t waits_ms, told_ms;
  long deleted; /* rows, not told yet */
};

struct keeper_shown {
  struct keeper_view view; /* first: a view is given out as this */
  struct keeper *keeper;
  int holders; /* under the keeper's lock */
};

struct keeper {
  struct keeper_settings given;
  pthread_t thread;
  pthread_mutex_t lock, waking;
  pthread_cond_t turn, job_done, room;
  struct feed_observation *queue;
  int queued;
  bool *in_queue; /* per point: for thinning */
  long dropped;
  struct keeper_job *first_job, **last_job;
  bool closing;
  struct keeper_shown *newest;
  void (*wake)(void *arg); /* under `waking` */
  void *wake_arg;
  struct wire *_Atomic wire; /* NULL until all sources were started */
  _Atomic int64_t began_ms;  /* of the clock, when a replay began; any thread asks */
  atomic_bool replay_over;

  /* ---- the thread's own ---- */
  struct watch *watch;
  struct judge *judge;
  struct alarms *alarms;
  struct errands *errands;
  struct post *post;                /* NULL: nothing goes out */
  bool answering;                   /* a person answers an errand just now */
  struct keeper_faults *faults;     /* of faults.c */
  struct record *record;            /* NULL: nothing is kept */
  struct feed_observation *batch;   /* taken from the queue */
  struct feed_observation *pending; /* for the record */
  int pending_count;
  long pending_lost;
  int64_t pending_since_ms, retry_ms; /* of the clock */
  char record_why[200];
  int event_count;
  struct keeper_event *events; /* in order of time */
  long events_lost;
  int64_t head;
  char head_hash[65];
  long replayed;
  long changes;        /* of the judge, when last looked at */
  bool solved_changed; /* since the last view */
  bool values_changed;
  bool behind;         /* the scene differs from the one solved, which was too short a time ago */
  int64_t solved_ms;   /* of the clock */
  int64_t last_now_ms; /* to see that the clock was stepped back */
  struct answer_live_source *sources;
  char (*source_why)[160];
  int64_t *source_heard_ms; /* by what came from it */
  bool *source_was;         /* connected, when last looked at; meaningless before source_seen */
  bool source_seen;
  struct keeper_trouble *troubles;         /* per source */
  struct keeper_incidents *incidents;      /* incidents.c; NULL: not looked yet */
  struct keeper_night *night;              /* nightly.c; NULL: none was due yet */
  struct answer_live_withdrawn *withdrawn; /* per station; NULL: none was yet */
  char **withdrawn_words;                  /* who and why, one block each */
  struct arena runs_arena;
  struct run_list *runs; /* runs.c; NULL: not looked yet, or nothing is kept */
  int64_t runs_next_ms;  /* a phase turns */
  struct keeper_tidy tidy;
  struct reminders *reminders;
  int64_t reminders_look_ms, reminders_turn_ms; /* the next time, though nothing was told */
  long views;
  int64_t viewed_ms; /* of the clock */
};

int64_t keeper_clock_ms(const struct keeper *k); /* the clock itself */
int64_t keeper_wall_ms(
    const struct keeper *k); /* when something is written down, in a replay too */

/* ---- jobs.c ---- */
/* Runs it in the keeper's thread and waits. */
enum err_code keeper_do(struct keeper *k,
                        enum err_code (*run)(struct keeper *k, void *arg, struct err *err),
                        void *arg, struct err *err);
void keeper_run_jobs(struct keeper *k);
void keeper_file(void *arg, int source, const char *name, const void *bytes, size_t size,
                 const char *report);
bool keeper_known(void *arg, int source, const void *bytes, size_t size);

/* ---- kept.c: the thread's dealings with the record ---- */
enum err_code keeper_begin_record(struct keeper *k, struct err *err);
void keeper_keep(struct keeper *k, const struct feed_observation *list, int count);
void keeper_commit(struct keeper *k, bool all);
/* Appends; a failure is remembered for the views. */
enum err_code keeper_append(struct keeper *k, struct record_entry *entry, struct err *err);
void keeper_note_event(struct keeper *k, const struct keeper_told *told);
void keeper_drop_events(struct keeper *k);

/* ---- alarms.c ---- */
void keeper_alarm_turned(void *arg, const struct alarms *alarms, const struct alarm_turn *turn);
void keeper_acknowledge(struct keeper *k, const struct record_entry *entry);
/* As the record says they stood: acknowledged and put aside holds over a restart. */
enum err_code keeper_recall_alarms(struct keeper *k, struct err *err);
void keeper_take_back(struct keeper *k, const struct record_entry *entry);
struct keeper_shown_alarms {
  const struct alarms *alarms;
  struct keeper *keeper;
  int64_t now_ms;
};
void keeper_add_alarms(void *arg, struct emit *json); /* to a view; arg: keeper_shown_alarms */

/* ---- stops.c ---- */
/* In the record, for the belief; what cannot be read ends no stop. */
void keeper_look_for_stop(struct keeper *k);
/* ---- runs.c ---- */
void keeper_look_for_runs(struct keeper *k);
void keeper_runs_turn(struct keeper *k, int64_t now_ms);
const char *keeper_run_needs_flow(const struct keeper *k, int station); /* NULL: it does not */
void keeper_add_runs(const struct keeper *k, struct emit *json);        /* to a view */
void keeper_drop_runs(struct keeper *k);
/* ---- reminders.c ---- */
void keeper_look_for_reminders(struct keeper *k);
void keeper_reminders_turn(struct keeper *k, int64_t now_ms);
enum err_code keeper_take_reminders(struct keeper *k, struct err *err);
/* ---- nightly.c: the board's own match, in a thread of its own ---- */
/* Begins one that is due, takes what came of one; waits for nothing. */
void keeper_night_turn(struct keeper *k, int64_t now_ms);
void keeper_drop_night(struct keeper *k); /* breaks off one that runs */
/* Another verdict than the night before is a thing to look at. */
enum err_code keeper_add_night(struct keeper *k, int64_t now_ms, struct arena *arena,
                               struct remind_list *list, struct err *err);
/* ---- tidy.c: deletes what is older than is kept ---- */
/* A slice, when one is due; closing: tells what was deleted, and deletes nothing. */
void keeper_tidy_turn(struct keeper *k, int64_t now_ms, bool closing);
/* That too few days were lived through for what is older to be deleted is a thing to look at. */
enum err_code keeper_add_tidy(const struct keeper *k, struct arena *arena, struct remind_list *list,
                              struct err *err);
/* ---- errands.c ---- */
void keeper_errand_turned(void *arg, const struct errands *e, const struct errand *errand,
                          int64_t t_ms);
void keeper_see_errands(struct keeper *k, const struct judge_seen *seen);
void keeper_begin_errands_again(struct keeper *k);
/* Those that were open, or not to be asked again yet, when the program stopped. */
enum err_code keeper_take_errands(struct keeper *k, struct err *err);
/* ---- faults.c: what looks like a fault, and what people answered ---- */
enum err_code keeper_begin_faults(struct keeper *k, struct err *err);
void keeper_end_faults(struct keeper *k);
/* The clock was stepped back, a replay begins again: `why`, in words.  What is gone by it is told. */
void keeper_forget_faults(struct keeper *k, const char *why, int64_t now_ms);
void keeper_see_faults(struct keeper *k, const struct judge_seen *seen);
enum err_code keeper_count_answers(struct keeper *k, struct err *err); /* those of the record */
void keeper_answered(struct keeper *k, const struct record_entry *entry);
void keeper_faults_json(const struct keeper_faults *faults, struct emit *json); /* into a view */
void keeper_faults_text(const struct keeper *k, struct buf *out);

/* ---- incidents.c ---- */
/* Keeps what was measured around those whose time is over. */
void keeper_look_at_incidents(struct keeper *k, int64_t now_ms);
void keeper_incident_told(struct keeper *k); /* or more of one has come: look again */
void keeper_drop_incidents(struct keeper *k);

/* ---- messages.c ---- */
enum err_code keeper_open_post(struct keeper *k, struct err *err);
void keeper_post_alarm(struct keeper *k, const struct alarms *alarms,
                       const struct alarm_turn *turn);
void keeper_post_errand(struct keeper *k, const struct errand *errand, int64_t t_ms);
void keeper_add_messages(struct keeper *k, struct emit *json);

/* ---- withdrawn.c: which stations people took out of use, by whom and why ---- */
/* Stations that are withdrawn stay so until somebody releases them. */
enum err_code keeper_take_withdrawals(struct keeper *k, struct err *err);
void keeper_withdraw(struct keeper *k, int station, const struct record_entry *entry);
void keeper_release_station(struct keeper *k, int station);
void keeper_drop_withdrawals(struct keeper *k);

/* ---- view.c ---- */
void keeper_show(struct keeper *k, int64_t now_ms);
void keeper_look_at_sources(struct keeper *k, int64_t now_ms);

#endif
