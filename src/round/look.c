/* From the entries to what is so now. */
#include "round/round_impl.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

const char *round_state_key(enum round_state state)
{
  static const char *const keys[] = {[ROUND_OPEN] = "open",
                                     [ROUND_OVERDUE] = "overdue",
                                     [ROUND_NOT_KNOWN] = "not_known",
                                     [ROUND_LOOKED] = "looked_at"};

  return keys[state];
}

bool round_is_for(const struct facility_round_item *item, int station)
{
  for (int i = 0; i < item->station_count; i++)
    if (item->stations[i] == station)
      return true;
  return item->station_count == 0;
}

void round_day(const struct when_zone *zone, int64_t t_ms, char out[16])
{
  struct when_civil day = when_civil(zone ? zone : when_utc(), t_ms, NULL);

  snprintf(out, 16, "%04d-%02d-%02d", day.year % 10000, day.month, day.day);
}

/* ---- entries ---- */

/* A round in words is of a station, of its room, or of all. */
static bool is_about(const struct facility *f, const char *about, int station)
{
  const struct facility_station *s = &f->stations[station];

  return !*about || strcmp(about, s->part.id) == 0 ||
         (s->room >= 0 && strcmp(about, f->rooms[s->room].part.id) == 0);
}

static struct round_moment moment_of(const struct record_entry *entry)
{
  return (struct round_moment){.t_ms = entry->t_ms, .number = entry->number, .who = entry->who};
}

static void take_words(struct round_list *list, const struct record_entry *entry)
{
  for (int i = 0; i < list->count; i++)
    if (is_about(list->facility, entry->about, i)) {
      list->stations[i].last = moment_of(entry);
      list->stations[i].in_words = true;
    }
}

static const struct round_answer *answer_to(const struct round_answers *answers, const char *item)
{
  for (int i = 0; i < answers->count; i++)
    if (strcmp(answers->list[i].item, item) == 0)
      return &answers->list[i];
  return NULL;
}

static void take_answer(struct round_found *found, const struct round_answer *answer,
                        const struct record_entry *entry, const char *words)
{
  if (answer->said == ROUND_NO)
    found->since_ms = found->said == ROUND_NO ? found->since_ms : entry->t_ms;
  else
    found->since_ms = INT64_MIN;
  found->words = words                                                 ? words
                 : found->said == ROUND_NO && answer->said == ROUND_NO ? found->words
                                                                       : NULL;
  found->said = answer->said;
  found->t_ms = entry->t_ms;
  found->number = entry->number;
  found->who = entry->who;
  found->expires = answer->expires;
}

static void take(struct round_station *s, const struct record_entry *entry,
                 const struct round_answers *answers)
{
  bool clear = s->count > 0;

  for (int i = 0; i < s->count; i++) {
    const struct round_answer *answer = answer_to(answers, s->found[i].item->id);

    clear = clear && answer && answer->said == ROUND_YES &&
            (!s->found[i].item->expires || answer->expires);
    if (answer && answer->said != ROUND_UNSEEN)
      take_answer(&s->found[i], answer, entry, answers->words);
  }
  s->last = moment_of(entry);
  s->in_words = false;
  if (clear)
    s->clear = moment_of(entry);
}

/* ---- what they come to ---- */

/* A date is good until its last moment; the moment after, as far as a day tells, it was passed. */
static bool has_passed(const struct round_list *list, const char *date)
{
  char today[16];

  round_day(list->zone, list->now_ms, today);
  return strcmp(today, date) > 0;
}

static void judge_item(const struct round_list *list, struct round_found *found)
{
  if (found->said == ROUND_UNSEEN) {
    found->state = ROUND_NOT_KNOWN;
    return;
  }
  found->late = (double)(list->now_ms - found->t_ms) * 1e-3 > found->item->at_most_s;
  if (found->said == ROUND_NO || (found->expires && has_passed(list, found->expires)))
    found->state = ROUND_OPEN;
  else
    found->state = found->late ? ROUND_OVERDUE : ROUND_LOOKED;
}

static void judge(const struct round_list *list, struct round_station *s)
{
  s->state = s->count > 0 ? ROUND_LOOKED : ROUND_NOT_KNOWN;
  for (int i = 0; i < s->count; i++) {
    judge_item(list, &s->found[i]);
    if (s->found[i].state < s->state)
      s->state = s->found[i].state;
  }
}

static bool begin(struct round_list *list, int station, struct arena *arena)
{
  const struct facility_rounds *rounds = &list->facility->rounds;
  struct round_station *s = &list->stations[station];

  *s = (struct round_station){
      .station = station,
      .last = {.t_ms = INT64_MIN},
      .clear = {.t_ms = INT64_MIN},
      .found = ARENA_ARRAY(arena, struct round_found, (size_t)rounds->item_count + 1)};
  if (!s->found)
    return false;
  for (int i = 0; i < rounds->item_count; i++)
    if (round_is_for(&rounds->items[i], station))
      s->found[s->count++] = (struct round_found){.item = &rounds->items[i],
                                                  .said = ROUND_UNSEEN,
                                                  .t_ms = INT64_MIN,
                                                  .since_ms = INT64_MIN};
  return true;
}

struct round_list *round_look(const struct facility *facility, const struct when_zone *zone,
                              const struct record_entry *entries, int count, int64_t now_ms,
                              struct arena *arena)
{
  struct round_list *list = ARENA_ARRAY(arena, struct round_list, 1);
  struct round_station *stations =
      ARENA_ARRAY(arena, struct round_station, (size_t)facility->station_count + 1);

  if (!list || !stations)
    return NULL;
  *list = (struct round_list){.facility = facility,
                              .zone = zone,
                              .now_ms = now_ms,
                              .count = facility->station_count,
                              .stations = stations};
  for (int i = 0; i < list->count; i++)
    if (!begin(list, i, arena))
      return NULL;
  for (int i = 0; i < count; i++) {
    int station = facility_station_find(facility, entries[i].about);
    struct round_answers answers;

    if (entries[i].t_ms > now_ms)
      continue;
    if (!*entries[i].detail)
      take_words(list, &entries[i]);
    else if (station < 0 || !round_read(entries[i].detail, arena, &answers))
      list->unread++;
    else
      take(&stations[station], &entries[i], &answers);
  }
  for (int i = 0; i < list->count; i++)
    judge(list, &stations[i]);
  return list;
}

enum err_code round_recorded(struct record *record, const struct facility *facility,
                             const struct when_zone *zone, int64_t now_ms, struct arena *arena,
                             struct round_list **out, struct err *err)
{
  enum { MOST = 50000 }; /* the newest: some ten years of a dozen a day */
  const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                       .to_ms = now_ms == INT64_MAX ? now_ms : now_ms + 1,
                                       .kind = RECORD_ROUND,
                                       .known_ms = INT64_MAX,
                                       .most = MOST};
  struct record_entry *entries;
  int count = 0;
  enum err_code code = record_entries(record, &wanted, arena, &entries, &count, err);

  if (code != ERR_OK)
    return code;
  *out = round_look(facility, zone, entries, count, now_ms, arena);
  return *out ? ERR_OK : err_set(err, ERR_LIMIT, "too many entries of rounds");
}

bool round_asks_a_person(const struct round_list *list)
{
  for (int i = 0; i < list->count; i++)
    if (list->stations[i].state != ROUND_LOOKED)
      return true;
  return list->unread > 0;
}
