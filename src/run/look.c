/* From the entries to what is so now. */
#include "run/run_impl.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *run_phase_key(enum run_phase phase)
{
  static const char *const keys[] = {[RUN_RUNS] = "runs",
                                     [RUN_OVERDUE] = "overdue",
                                     [RUN_COOLS] = "cools",
                                     [RUN_MAY_BE_COLD] = "may_be_cold",
                                     [RUN_NOT_KNOWN] = "not_known"};

  return keys[phase];
}

const char *run_phase_words(enum run_phase phase)
{
  static const char *const words[] = {[RUN_RUNS] = "RUNS",
                                      [RUN_OVERDUE] = "OVERDUE",
                                      [RUN_COOLS] = "COOLS",
                                      [RUN_MAY_BE_COLD] = "MAY BE COLD: MEASURE",
                                      [RUN_NOT_KNOWN] = "COOLS, UNTIL WHEN IS NOT KNOWN"};

  return words[phase];
}

static void add_reading(struct run *run, int64_t t_ms, double temperature_K)
{
  if (isnan(temperature_K))
    return;
  if (run->reading_count == RUN_READINGS_MOST) {
    memmove(run->readings, run->readings + 1, sizeof run->readings - sizeof *run->readings);
    run->reading_count--;
  }
  run->readings[run->reading_count++] = (struct run_reading){t_ms, temperature_K};
}

/* What was written down before the run that stands was told is of the one before it. */
static void take(struct run *run, const struct record_entry *entry, const struct run_said *said,
                 int station)
{
  if (said->act != RUN_STARTED && entry->number < run->number)
    return;
  switch (said->act) {
  case RUN_STARTED:
    *run = (struct run){.station = station,
                        .number = entry->number,
                        .who = entry->who,
                        .words = said->words,
                        .started_ms = entry->t_ms,
                        .until_ms = said->until_ms,
                        .over_ms = INT64_MIN};
    break;
  case RUN_LATER:
    run->until_ms = said->until_ms;
    break;
  case RUN_OVER:
    if (run->over_ms == INT64_MIN)
      run->over_ms = entry->t_ms;
    break;
  case RUN_READ:
    break;
  case RUN_CLEARED:
  case RUN_ACT_COUNT:
    run->number = 0;
    break;
  }
  add_reading(run, entry->t_ms, said->temperature_K);
}

/* The station was renamed or taken out: what runs there does not go away with its name. */
static void take_stranger(struct run_list *list, const struct record_entry *entry,
                          const struct run_said *said)
{
  struct run_stranger *at = list->strangers;
  int kept = 0;

  if (said->act != RUN_STARTED && said->act != RUN_CLEARED)
    return;
  for (int i = 0; i < list->stranger_count; i++)
    if (strcmp(at[i].about, entry->about) != 0)
      at[kept++] = at[i];
  if (said->act == RUN_STARTED && kept == RUN_STRANGERS_MOST)
    memmove(at, at + 1, (size_t)--kept * sizeof *at);
  if (said->act == RUN_STARTED)
    at[kept++] = (struct run_stranger){entry->about, said->words, entry->number};
  list->stranger_count = kept;
}

/* Overdue first, then what is not known, what runs, what cools, what may be cold. */
static int rank(enum run_phase phase)
{
  static const int ranks[] = {[RUN_OVERDUE] = 0,
                              [RUN_NOT_KNOWN] = 1,
                              [RUN_RUNS] = 2,
                              [RUN_COOLS] = 3,
                              [RUN_MAY_BE_COLD] = 4};

  return ranks[phase];
}

static int by_urgency(const void *a, const void *b)
{
  const struct run *p = a, *q = b;

  return rank(p->phase) != rank(q->phase) ? rank(p->phase) - rank(q->phase)
                                          : p->station - q->station;
}

struct run_list *run_look(const struct facility *f, const struct when_zone *zone,
                          const struct record_entry *entries, int count, int64_t now_ms,
                          struct arena *arena)
{
  struct run_list *list = ARENA_ARRAY(arena, struct run_list, 1);
  struct run *at = ARENA_ARRAY(arena, struct run, (size_t)f->station_count + 1);

  if (!list || !at)
    return NULL;
  *list = (struct run_list){.facility = f, .zone = zone, .now_ms = now_ms, .runs = at};
  memset(at, 0, ((size_t)f->station_count + 1) * sizeof *at);
  for (int i = 0; i < count; i++) {
    int station = facility_station_find(f, entries[i].about);
    struct run_said said;

    if (entries[i].t_ms > now_ms)
      continue;
    if (!run_read(entries[i].detail, arena, &said))
      list->unread++;
    else if (station < 0) {
      list->unread++;
      take_stranger(list, &entries[i], &said);
    } else if (said.act == RUN_STARTED || at[station].number > 0)
      take(&at[station], &entries[i], &said, station);
  }
  for (int i = 0; i < f->station_count; i++)
    if (at[i].number > 0) {
      struct run run = at[i];

      run_judge(list, &run, arena);
      at[list->count++] = run;
    }
  qsort(at, (size_t)list->count, sizeof *at, by_urgency);
  return list;
}

enum err_code run_recorded(struct record *record, const struct facility *f,
                           const struct when_zone *zone, int64_t now_ms, struct arena *arena,
                           struct run_list **out, struct err *err)
{
  enum { MOST = 20000 }; /* the newest: some ten years of five a day */
  const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                       .to_ms = now_ms == INT64_MAX ? now_ms : now_ms + 1,
                                       .kind = RECORD_RUN,
                                       .known_ms = INT64_MAX,
                                       .most = MOST};
  struct record_entry *entries;
  int count = 0;
  enum err_code code = record_entries(record, &wanted, arena, &entries, &count, err);

  if (code != ERR_OK)
    return code;
  *out = run_look(f, zone, entries, count, now_ms, arena);
  return *out ? ERR_OK : err_set(err, ERR_LIMIT, "too many entries of runs");
}

const struct run *run_at(const struct run_list *list, int station)
{
  for (int i = 0; i < list->count; i++)
    if (list->runs[i].station == station)
      return &list->runs[i];
  return NULL;
}

const char *run_needs_flow(const struct run *run)
{
  return run && run->phase != RUN_MAY_BE_COLD ? run->words.what : NULL;
}

bool run_asks_a_person(const struct run_list *list)
{
  for (int i = 0; i < list->count; i++)
    if (list->runs[i].phase == RUN_OVERDUE || list->runs[i].phase == RUN_NOT_KNOWN ||
        list->runs[i].phase == RUN_MAY_BE_COLD)
      return true;
  return list->unread > 0;
}
