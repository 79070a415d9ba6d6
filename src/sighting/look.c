/* From the entries to what is so now. */
#include "sighting/sighting_impl.h"

#include "round/round.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

const char *sighting_state_key(enum sighting_state state)
{
  static const char *const keys[] = {[SIGHTING_MISSING] = "missing",
                                     [SIGHTING_TOO_MANY] = "too_many",
                                     [SIGHTING_OVERDUE] = "overdue",
                                     [SIGHTING_NOT_KNOWN] = "not_known",
                                     [SIGHTING_RIGHT] = "right"};

  return keys[state];
}

const struct facility_glass *sighting_piece_of(const struct facility *f, int station,
                                               const char *piece, const char *drawer)
{
  const struct facility_card *card = &f->stations[station].card;
  const struct facility_glass *found = NULL;

  for (int i = 0; i < card->glass_count; i++) {
    const struct facility_glass *g = &card->glass[i];

    if (strcasecmp(g->what, piece) != 0 ||
        (drawer && (!g->drawer || strcasecmp(g->drawer, drawer) != 0)))
      continue;
    if (found)
      return NULL;
    found = g;
  }
  return found;
}

/* ---- entries ---- */

/* What it tells of glass; false: nothing, or it cannot be read and is counted. */
static bool read_entry(struct sighting_list *list, const struct record_entry *entry,
                       struct arena *arena, struct sighting_said *out)
{
  *out = (struct sighting_said){.act = SIGHTING_SEEN};
  if (entry->kind == RECORD_ROUND)
    return round_seen(entry->detail, arena, &out->seen);
  if (sighting_read(entry->detail, arena, out))
    return true;
  list->unread++;
  return false;
}

static bool read_all(struct sighting_list *list, const struct record_entry *entries, int count,
                     struct arena *arena)
{
  struct sighting_entry *all = ARENA_ARRAY(arena, struct sighting_entry, (size_t)count + 1);

  if (!all)
    return false;
  list->since_ms = INT64_MIN;
  for (int i = 0; i < count; i++) {
    struct sighting_said said;

    if (entries[i].t_ms > list->now_ms)
      continue;
    if (list->since_ms == INT64_MIN &&
        (entries[i].kind == RECORD_GLASS ||
         round_looked_at_glass(list->facility, entries[i].detail, arena)))
      list->since_ms = entries[i].t_ms;
    if (read_entry(list, &entries[i], arena, &said))
      all[list->entry_count++] =
          (struct sighting_entry){.entry = &entries[i], .said = said, .of_case = -1};
  }
  for (int i = 0; i < list->entry_count; i++)
    for (int k = 0; k < list->entry_count && all[i].said.act == SIGHTING_TAKEN_BACK; k++)
      if (all[k].entry->number == all[i].said.entry &&
          all[k].entry->number < all[i].entry->number && all[k].said.act != SIGHTING_TAKEN_BACK)
        all[k].is_void = true;
  list->entries = all;
  return true;
}

const struct sighting_entry *sighting_entry_find(const struct sighting_list *list, int64_t number)
{
  for (int i = 0; i < list->entry_count; i++)
    if (list->entries[i].entry->number == number)
      return &list->entries[i];
  return NULL;
}

struct sighting_case *sighting_case_of(const struct sighting_list *list, int64_t number)
{
  const struct sighting_entry *e = sighting_entry_find(list, number);

  return e && e->of_case >= 0 ? &list->cases[e->of_case] : NULL;
}

static struct sighting_moment moment_of(const struct sighting_entry *e)
{
  return (struct sighting_moment){e->entry->t_ms, e->entry->number, e->entry->who, e->said.words};
}

/* ---- cases ---- */

/* What was not said tells nothing apart. */
static bool is_like(const struct glass_told *a, const struct glass_told *b)
{
  return strcasecmp(a->mark, b->mark) == 0 &&
         (!a->piece || !b->piece || strcasecmp(a->piece, b->piece) == 0);
}

static void take_home(struct sighting_list *list, const struct sighting_entry *e)
{
  for (int i = 0; i < list->case_count; i++)
    if (list->cases[i].left > 0 && is_like(&list->cases[i].told, &e->said.seen))
      list->cases[i].home = moment_of(e);
}

static void take_again(struct sighting_case *c, const struct sighting_entry *e)
{
  const struct glass_told *seen = &e->said.seen;

  c->times++;
  c->last = moment_of(e);
  c->is_lost = c->is_lost || glass_is_lost(seen->verdict);
  if (seen->piece)
    c->told.piece = seen->piece;
  if (seen->count > c->told.count)
    c->told.count = seen->count;
  if (seen->count > c->left)
    c->left = seen->count;
}

static void take_seen(struct sighting_list *list, struct sighting_entry *e)
{
  const struct glass_told *seen = &e->said.seen;

  if (seen->verdict == GLASS_AT_HOME) {
    take_home(list, e);
    return;
  }
  for (int i = 0; i < list->case_count; i++)
    if (list->cases[i].left > 0 && strcmp(list->cases[i].about, e->entry->about) == 0 &&
        is_like(&list->cases[i].told, seen)) {
      take_again(&list->cases[i], e);
      e->of_case = i;
      return;
    }
  e->of_case = list->case_count;
  list->cases[list->case_count++] =
      (struct sighting_case){.about = e->entry->about,
                             .station = facility_station_find(list->facility, e->entry->about),
                             .told = *seen,
                             .is_lost = glass_is_lost(seen->verdict),
                             .times = 1,
                             .first = moment_of(e),
                             .last = moment_of(e),
                             .owner = -1,
                             .home = {.t_ms = INT64_MIN},
                             .left = seen->count,
                             .settled = {.t_ms = INT64_MIN}};
}

static void take_settled(struct sighting_list *list, const struct sighting_entry *e)
{
  struct sighting_case *c = sighting_case_of(list, e->said.entry);

  if (!c || c->left == 0)
    return;
  c->left = e->said.count == 0 || e->said.count > c->left ? 0 : c->left - e->said.count;
  c->done = e->said.act;
  c->settled = moment_of(e);
  c->how = e->said.how;
}

static void take_counted(struct sighting_list *list, const struct sighting_entry *e)
{
  int station = facility_station_find(list->facility, e->entry->about);
  const struct facility_glass *piece =
      station < 0 ? NULL
                  : sighting_piece_of(list->facility, station, e->said.piece, e->said.drawer);

  for (int i = 0; piece && i < list->drawer_count; i++)
    if (list->drawers[i].piece == piece) {
      list->drawers[i].counted = e->said.count;
      list->drawers[i].when = moment_of(e);
    }
}

static void fold(struct sighting_list *list, struct sighting_entry *all)
{
  for (int i = 0; i < list->entry_count; i++) {
    if (all[i].is_void)
      continue;
    switch (all[i].said.act) {
    case SIGHTING_SEEN:
      take_seen(list, &all[i]);
      break;
    case SIGHTING_CLEANED:
    case SIGHTING_DISCARDED:
      take_settled(list, &all[i]);
      break;
    case SIGHTING_COUNTED:
      take_counted(list, &all[i]);
      break;
    case SIGHTING_TAKEN_BACK:
    case SIGHTING_ACT_COUNT:
      break;
    }
  }
}

/* ---- what they come to ---- */

static int owner_of(const struct facility *f, const struct sighting_case *c, struct arena *arena)
{
  struct facility_mark mark;
  struct err err = {0};
  struct glass_seen *seen =
      c->station >= 0 && glass_read_mark(c->told.mark, arena, &mark, &err) == ERR_OK
          ? glass_seen_at(f, &mark, c->told.piece, c->station, arena)
          : NULL;

  return seen && seen->owner_count == 1 && seen->owners[0].exactly ? seen->owners[0].station : -1;
}

static bool begin_drawers(struct sighting_list *list, struct arena *arena)
{
  const struct facility *f = list->facility;
  size_t count = 0;

  for (int i = 0; i < f->station_count; i++)
    count += (size_t)f->stations[i].card.glass_count;
  list->drawers = ARENA_ARRAY(arena, struct sighting_drawer, count + 1);
  if (!list->drawers)
    return false;
  for (int i = 0; i < f->station_count; i++)
    for (int k = 0; k < f->stations[i].card.glass_count; k++)
      list->drawers[list->drawer_count++] = (struct sighting_drawer){
          .station = i, .piece = &f->stations[i].card.glass[k], .when = {.t_ms = INT64_MIN}};
  return true;
}

static void judge_drawer(const struct sighting_list *list, struct sighting_drawer *d)
{
  for (int i = 0; i < list->case_count; i++) {
    const struct sighting_case *c = &list->cases[i];

    if (c->is_lost && c->owner == d->station && c->told.piece &&
        strcasecmp(c->told.piece, d->piece->what) == 0)
      d->elsewhere += c->left;
  }
  if (d->when.t_ms == INT64_MIN) {
    d->state = SIGHTING_NOT_KNOWN;
    return;
  }
  d->late = (double)(list->now_ms - d->when.t_ms) * 1e-3 > list->facility->glass.count_at_most_s;
  if (d->counted < d->piece->count)
    d->state = SIGHTING_MISSING;
  else if (d->counted > d->piece->count)
    d->state = SIGHTING_TOO_MANY;
  else
    d->state = d->late ? SIGHTING_OVERDUE : SIGHTING_RIGHT;
}

struct sighting_list *sighting_look(const struct facility *facility, const struct when_zone *zone,
                                    const struct record_entry *entries, int count, int64_t now_ms,
                                    struct arena *arena)
{
  struct sighting_list *list = ARENA_ARRAY(arena, struct sighting_list, 1);

  if (!list)
    return NULL;
  *list = (struct sighting_list){.facility = facility, .zone = zone, .now_ms = now_ms};
  list->cases = ARENA_ARRAY(arena, struct sighting_case, (size_t)count + 1);
  if (!list->cases || !read_all(list, entries, count, arena) || !begin_drawers(list, arena))
    return NULL;
  fold(list, list->entries);
  for (int i = 0; i < list->case_count; i++) {
    struct sighting_case *c = &list->cases[i];

    c->owner = owner_of(facility, c, arena);
    list->open_count += c->left > 0;
    list->lost_count += c->left > 0 && c->is_lost;
  }
  for (int i = 0; i < list->drawer_count; i++)
    judge_drawer(list, &list->drawers[i]);
  return sighting_counts(list, arena) ? list : NULL;
}

/* In order of time; what was told later of the same moment stands after. */
static int by_time(const void *a, const void *b)
{
  const struct record_entry *p = a, *q = b;

  if (p->t_ms != q->t_ms)
    return p->t_ms < q->t_ms ? -1 : 1;
  return (p->number > q->number) - (p->number < q->number);
}

enum err_code sighting_recorded(struct record *record, const struct facility *facility,
                                const struct when_zone *zone, int64_t now_ms, struct arena *arena,
                                struct sighting_list **out, struct err *err)
{
  enum { MOST = 50000 }; /* the newest: some ten years of a dozen a day */
  const enum record_kind kinds[] = {RECORD_ROUND, RECORD_GLASS};
  struct record_entry *parts[2], *all;
  int counts[2] = {0, 0};

  for (int i = 0; i < 2; i++) {
    const struct record_wanted wanted = {.from_ms = INT64_MIN,
                                         .to_ms = now_ms == INT64_MAX ? now_ms : now_ms + 1,
                                         .kind = (int)kinds[i],
                                         .known_ms = INT64_MAX,
                                         .most = MOST};
    enum err_code code = record_entries(record, &wanted, arena, &parts[i], &counts[i], err);

    if (code != ERR_OK)
      return code;
  }
  all = ARENA_ARRAY(arena, struct record_entry, (size_t)counts[0] + (size_t)counts[1] + 1);
  if (!all)
    return err_set(err, ERR_LIMIT, "too many entries of rounds and glass");
  memcpy(all, parts[0], (size_t)counts[0] * sizeof *all);
  memcpy(all + counts[0], parts[1], (size_t)counts[1] * sizeof *all);
  qsort(all, (size_t)counts[0] + (size_t)counts[1], sizeof *all, by_time);
  *out = sighting_look(facility, zone, all, counts[0] + counts[1], now_ms, arena);
  return *out ? ERR_OK : err_set(err, ERR_LIMIT, "too many entries of rounds and glass");
}

bool sighting_asks_a_person(const struct sighting_list *list)
{
  for (int i = 0; i < list->drawer_count; i++)
    if (list->drawers[i].state == SIGHTING_MISSING || list->drawers[i].state == SIGHTING_TOO_MANY)
      return true;
  return list->lost_count > 0 || list->unread > 0;
}
