/* What is overdue, out of what people told of rounds, tanks and waste. */
#include "remind/remind.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct finding {
  struct arena *arena;
  struct remind_list *out;
  bool full;
};

static void add(struct finding *f, const char *kind, const char *about, int64_t since_ms,
                const char *text)
{
  struct remind_due *due = &f->out->list[f->out->count];

  *due = (struct remind_due){.key = arena_printf(f->arena, "%s %s", kind, about),
                             .about = arena_strdup(f->arena, about),
                             .text = text,
                             .since_ms = since_ms};
  f->full = f->full || !due->key || !due->about || !due->text;
  f->out->count += !f->full;
}

/* ---- rounds ---- */

/* The moment after the last of that day, as the zone has it. */
static int64_t day_over_ms(const struct when_zone *zone, const char *date)
{
  char midnight[32];
  struct err err = {0};
  int64_t t_ms = 0;

  snprintf(midnight, sizeof midnight, "%.10s 00:00", date);
  if (when_read(midnight, zone ? zone : when_utc(), NULL, &t_ms, &err) != ERR_OK)
    return INT64_MIN;
  return t_ms + 86400 * 1000; /* an hour off at most, where the clocks change that day */
}

static void add_round(struct finding *f, const struct round_list *list,
                      const struct round_station *s)
{
  const char *id = list->facility->stations[s->station].part.id, *items = "";
  int64_t since_ms = INT64_MAX;

  for (int i = 0; i < s->count && !f->full; i++) {
    const struct round_found *found = &s->found[i];

    if (found->said == ROUND_YES && found->state == ROUND_OPEN) /* its date has passed */
      add(f, arena_printf(f->arena, "date %s of", found->item->id), id,
          day_over_ms(list->zone, found->expires),
          arena_printf(f->arena, "%s: %s expired with %s", id, found->item->id, found->expires));
    if (!found->late)
      continue;

    int64_t late_ms = found->t_ms + llround(found->item->at_most_s * 1e3);

    since_ms = late_ms < since_ms ? late_ms : since_ms;
    items = arena_printf(f->arena, "%s%s%s", items, *items ? ", " : "", found->item->id);
    f->full = f->full || !items;
  }
  if (since_ms < INT64_MAX && !f->full)
    add(f, "round", id, since_ms, arena_printf(f->arena, "%s: round overdue (%s)", id, items));
}

/* ---- tanks and containers ---- */

static bool is_overdue(enum wet_state state, const struct wet_told *last)
{
  return (state == WET_DUE || state == WET_NOT_KNOWN) && last;
}

static int64_t since_of(const struct wet_place *place, int64_t due_ms, const struct wet_told *last)
{
  return due_ms != INT64_MIN && due_ms <= place->now_ms ? due_ms : last->t_ms;
}

static void add_tanks(struct finding *f, const struct wet_baths *baths)
{
  for (int i = 0; baths && i < baths->count && !f->full; i++) {
    const struct wet_tank *t = &baths->tanks[i];

    if (is_overdue(t->state, t->last) && t->reasons.count > 0)
      add(f, "tank", t->tank->part.id, since_of(baths->place, t->due_ms, t->last),
          arena_printf(f->arena, "tank %s: %s", t->tank->part.id, t->reasons.line[0]));
  }
}

static void add_containers(struct finding *f, const struct wet_waste *waste)
{
  for (int i = 0; waste && i < waste->count && !f->full; i++) {
    const struct wet_container *c = &waste->containers[i];

    if (is_overdue(c->state, c->last) && c->reasons.count > 0)
      add(f, "waste", c->id, since_of(waste->place, c->due_ms, c->last),
          arena_printf(f->arena, "waste %s: %s", c->id, c->reasons.line[0]));
  }
}

static int by_age(const void *a, const void *b)
{
  const struct remind_due *p = a, *q = b;

  if (p->since_ms != q->since_ms)
    return p->since_ms < q->since_ms ? -1 : 1;
  return strcmp(p->key, q->key);
}

bool remind_due(const struct round_list *rounds, const struct wet_baths *baths,
                const struct wet_waste *waste, struct arena *arena, struct remind_list *out)
{
  struct finding f = {.arena = arena, .out = out};
  size_t most = 1;

  for (int i = 0; rounds && i < rounds->count; i++)
    most += (size_t)rounds->stations[i].count + 1;
  most += (baths ? (size_t)baths->count : 0) + (waste ? (size_t)waste->count : 0);
  *out = (struct remind_list){.list = ARENA_ARRAY(arena, struct remind_due, most)};
  if (!out->list)
    return false;
  for (int i = 0; rounds && i < rounds->count && !f.full; i++)
    add_round(&f, rounds, &rounds->stations[i]);
  add_tanks(&f, baths);
  add_containers(&f, waste);
  qsort(out->list, (size_t)out->count, sizeof *out->list, by_age);
  return !f.full;
}
