#include "keeper/keeper_impl.h"

#include "nightly/nightly.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/*
 * The board's own match of each night.  The keeper's thread only begins it and takes what came of it: a thread
 * of its own reads the record through a handle of its own, by files that never change, up to the moment that
 * was due, and hands over two texts.  It is told to end when the board stops, and ends by itself after `match:
 * given up after`.  A night that was missed is made up for when the board runs again; one that was broken off
 * by its end, too.  A replay matches nothing.
 */
enum { WORK_BYTES = 1 << 30, LOOK_BYTES = 64 << 20, AGAIN_MS = 60 * 1000 };
enum { NIGHTS_BACK = 14 }; /* without a verdict, before it is forgotten */

struct keeper_night {
  pthread_t thread;
  bool runs;              /* it was begun and not joined */
  atomic_bool ends;       /* by the keeper: break off */
  atomic_bool is_through; /* by the thread: the texts are there */
  bool is_ready;          /* they are to be written down */
  bool looked;            /* in the record for the newest */
  int64_t done_ms;        /* what was due then is done, or given up */
  int64_t again_ms;       /* of the clock: not sooner, where that failed */
  /* The thread's own while it runs. */
  struct nightly_asked asked;
  const char *path;
  double until_s; /* of the monotonic clock */
  bool broken_off;
  struct buf text, detail;
};

/* ---- the thread of a night ---- */

static double monotonic_s(void)
{
  struct timespec now;

  clock_gettime(CLOCK_MONOTONIC, &now);
  return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static bool goes_on(void *arg)
{
  struct keeper_night *n = arg;

  n->broken_off = n->broken_off || monotonic_s() > n->until_s;
  return !n->broken_off && !atomic_load(&n->ends);
}

static enum err_code match(struct keeper_night *n, struct arena *arena,
                           const struct nightly_match **before, struct match_result **out,
                           struct err *err)
{
  struct nightly_asked *asked = &n->asked;
  struct nightly_list list;
  enum err_code code = record_open(n->path, RECORD_READ, &asked->record, err);

  if (code == ERR_OK)
    code = record_of(asked->record, asked->facility, err);
  if (code == ERR_OK)
    code = record_bind(asked->record, asked->facility, asked->feeds, asked->to_ms, err);
  if (code == ERR_OK)
    code = nightly_recorded(asked->record, asked->to_ms - 1, NIGHTLY_MOST, arena, &list, err);
  if (code == ERR_OK) {
    *before = nightly_before(&list, 0);
    code = nightly_match(asked, NULL, arena, out, err);
  }
  record_close(asked->record);
  asked->record = NULL;
  return code;
}

static void *run(void *arg)
{
  struct keeper_night *n = arg;
  const struct nightly_match *before = NULL;
  struct match_result *result = NULL;
  struct err err = {0};
  struct arena arena;

  arena_init(&arena, WORK_BYTES);
  if (match(n, &arena, &before, &result, &err) != ERR_OK)
    result = NULL;
  nightly_tell(&n->asked, result,
               n->broken_off ? "it took longer than it may (match: given up after)" : err.text,
               before, &n->text, &n->detail);
  arena_release(&arena);
  atomic_store(&n->is_through, true);
  return NULL;
}

/* ---- the keeper's thread ---- */

static bool is_wanted(const struct keeper *k)
{
  return k->given.facility->match.nightly_min >= 0 && k->given.record_path && !k->given.replay;
}

static struct keeper_night *night_of(struct keeper *k)
{
  if (!k->night) {
    k->night = calloc(1, sizeof *k->night);
    if (!k->night)
      err_no_memory();
    atomic_init(&k->night->ends, false);
    atomic_init(&k->night->is_through, false);
    buf_init(&k->night->text, RECORD_TEXT_MOST_BYTES);
    buf_init(&k->night->detail, RECORD_TEXT_MOST_BYTES);
    k->night->done_ms = INT64_MIN;
  }
  return k->night;
}

/* The newest that was written down; false: the record does not say. */
static bool look(struct keeper *k, struct keeper_night *n, int64_t now_ms)
{
  struct nightly_list list;
  struct err err = {0};
  struct arena arena;

  arena_init(&arena, LOOK_BYTES);
  n->looked = nightly_recorded(k->record, now_ms, 1, &arena, &list, &err) == ERR_OK;
  if (n->looked && list.count > 0)
    n->done_ms = list.list[0].t_ms;
  arena_release(&arena);
  return n->looked;
}

/* Nothing was recorded before that moment: a board's first day has no night behind it. */
static bool is_first_day(struct keeper *k, int64_t due_ms)
{
  struct err err = {0};
  int64_t first_ms;

  return record_first(k->record, &first_ms, &err) == ERR_OK && first_ms >= due_ms;
}

static void begin(struct keeper *k, struct keeper_night *n, int64_t due_ms)
{
  const struct facility *f = k->given.facility;

  n->path = k->given.record_path;
  n->asked = (struct nightly_asked){.facility = f,
                                    .feeds = k->given.feeds,
                                    .zone = k->given.zone,
                                    .from_ms = nightly_from_ms(f, due_ms),
                                    .to_ms = due_ms,
                                    .known_ms = INT64_MAX,
                                    .file = "record",
                                    .goes_on = goes_on,
                                    .arg = n};
  n->until_s = monotonic_s() + f->match.within_s;
  n->broken_off = false;
  buf_clear(&n->text);
  buf_clear(&n->detail);
  atomic_store(&n->is_through, false);
  n->runs = pthread_create(&n->thread, NULL, run, n) == 0;
  if (n->runs)
    n->done_ms = due_ms;
  else
    n->again_ms = keeper_clock_ms(k) + AGAIN_MS;
}

/* Waits in the texts while the record fails. */
static void write_down(struct keeper *k, struct keeper_night *n)
{
  struct record_entry entry = {.t_ms = n->asked.to_ms,
                               .kind = RECORD_MATCH,
                               .about = "",
                               .who = "inward",
                               .text = n->text.text,
                               .detail = n->detail.text};
  struct err err = {0};
  enum err_code code;

  if (!k->record || k->record_why[0])
    return;
  code = keeper_append(k, &entry, &err);
  n->is_ready = code != ERR_OK && code != ERR_INPUT; /* too long a text would never be taken */
  if (code == ERR_OK)
    keeper_look_for_reminders(k);
}

/* The clock may be stepped back meanwhile. */
static bool waits(const struct keeper *k, const struct keeper_night *n)
{
  int64_t clock_ms = keeper_clock_ms(k);

  return clock_ms < n->again_ms && clock_ms >= n->again_ms - AGAIN_MS;
}

void keeper_night_turn(struct keeper *k, int64_t now_ms)
{
  struct keeper_night *n;
  int64_t due_ms;

  if (!is_wanted(k))
    return;
  n = night_of(k);
  if (n->runs && atomic_load(&n->is_through)) {
    pthread_join(n->thread, NULL);
    n->runs = false;
    n->is_ready = true;
  }
  if (n->is_ready)
    write_down(k, n);
  if (n->runs || n->is_ready || !k->record || k->record_why[0] || waits(k, n) ||
      (!n->looked && !look(k, n, now_ms)))
    return;
  due_ms = nightly_due_ms(k->given.facility, k->given.zone, now_ms);
  if (due_ms <= n->done_ms)
    return;
  keeper_commit(k, true); /* what came by now is in the file */
  if (is_first_day(k, due_ms))
    n->again_ms = keeper_clock_ms(k) + AGAIN_MS;
  else
    begin(k, n, due_ms);
}

void keeper_drop_night(struct keeper *k)
{
  struct keeper_night *n = k->night;

  if (!n)
    return;
  atomic_store(&n->ends, true);
  if (n->runs)
    pthread_join(n->thread, NULL);
  buf_release(&n->text);
  buf_release(&n->detail);
  free(n);
  k->night = NULL;
}

/* ---- a thing to look at ---- */

enum err_code keeper_add_night(struct keeper *k, int64_t now_ms, struct arena *arena,
                               struct remind_list *list, struct err *err)
{
  const struct nightly_match *changed;
  struct nightly_list matches;
  struct remind_due *all;

  if (!is_wanted(k))
    return ERR_OK;

  enum err_code code = nightly_recorded(k->record, now_ms, NIGHTS_BACK, arena, &matches, err);

  if (code != ERR_OK)
    return code;
  changed = nightly_changed(&matches);
  if (!changed)
    return ERR_OK;
  all = ARENA_ARRAY(arena, struct remind_due, (size_t)list->count + 1);
  if (!all)
    return err_set(err, ERR_LIMIT, "too much is overdue");
  memcpy(all, list->list, (size_t)list->count * sizeof *all);
  all[list->count] = (struct remind_due){
      .key = "own match",
      .about = "",
      .text =
          arena_printf(arena, "a look at the board's own match: %s, another verdict than before",
                       changed->words),
      .since_ms = changed->t_ms};
  if (!all[list->count].text)
    return err_set(err, ERR_LIMIT, "too much is overdue");
  list->list = all;
  list->count++;
  return ERR_OK;
}
