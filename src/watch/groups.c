#include "watch/watch_impl.h"

/* Which points say the same of the same part; found once. */

static bool says_the_same(const struct group *g, const struct feeds_point *p)
{
  return g->what == p->what && g->of == p->of && g->index == p->index && g->unit == p->unit &&
         (p->what != FEEDS_PRESSURE || g->over == p->over);
}

/* Those of a bench speak for themselves: a station has several tanks and trays. */
static bool is_grouped(const struct feeds_point *p)
{
  return p->what != FEEDS_OTHER && !feeds_what_is_of_bench(p->what);
}

static struct group *group_for(struct watch *watch, const struct feeds_point *p)
{
  for (int i = 0; i < watch->group_count; i++)
    if (says_the_same(&watch->groups[i], p))
      return &watch->groups[i];

  struct group *g = &watch->groups[watch->group_count++];

  *g = (struct group){
      .of = p->of, .what = p->what, .index = p->index, .unit = p->unit, .over = p->over};
  return g;
}

static int *none_of(struct watch *watch, int count)
{
  int *list = ARENA_ARRAY(&watch->arena, int, (size_t)count + 1);

  BUG_IF(!list);
  for (int i = 0; i < count; i++)
    list[i] = -1;
  return list;
}

static void find_groups(struct watch *watch)
{
  const struct feeds *feeds = watch->feeds;

  watch->groups = ARENA_ARRAY(&watch->arena, struct group, (size_t)feeds->point_count + 1);
  BUG_IF(!watch->groups);
  for (int i = 0; i < feeds->point_count; i++)
    if (is_grouped(&feeds->points[i]))
      group_for(watch, &feeds->points[i])->count++;
  for (int i = 0; i < watch->group_count; i++) {
    watch->groups[i].points = none_of(watch, watch->groups[i].count);
    watch->groups[i].count = 0;
  }
  for (int i = 0; i < feeds->point_count; i++)
    if (is_grouped(&feeds->points[i])) {
      struct group *g = group_for(watch, &feeds->points[i]);

      BUG_IF(!g->points);
      g->points[g->count++] = i;
    }
}

static void make_room(struct watch *watch)
{
  const struct facility *f = watch->facility;

  watch->station_group =
      arena_push(&watch->arena, (size_t)f->station_count + 1, sizeof *watch->station_group);
  watch->fan_group = ARENA_ARRAY(&watch->arena, int *, (size_t)f->fan_count + 1);
  BUG_IF(!watch->station_group || !watch->fan_group);
  for (int i = 0; i < f->station_count; i++)
    for (int what = 0; what < FEEDS_WHAT_COUNT; what++)
      watch->station_group[i][what] = -1;
  for (int i = 0; i < f->fan_count; i++)
    watch->fan_group[i] = none_of(watch, f->fans[i].count + 1);
  watch->door_group = none_of(watch, f->door_count);
  watch->supply_group = none_of(watch, f->supply_count);
  watch->outdoors_group = watch->alarm_group = -1;
}

static void place(struct watch *watch, int i)
{
  const struct group *g = &watch->groups[i];

  if (g->of == FEEDS_OF_STATION)
    watch->station_group[g->index][g->what] = i;
  else if (g->of == FEEDS_OF_DOOR)
    watch->door_group[g->index] = i;
  else if (g->of == FEEDS_OF_FAN && g->what == FEEDS_RUNNING)
    watch->fan_group[g->index][g->unit + 1] = i;
  else if (g->of == FEEDS_OF_SUPPLY && g->what == FEEDS_RUNNING)
    watch->supply_group[g->index] = i;
  else if (g->of == FEEDS_OF_OUTDOORS && g->what == FEEDS_TEMPERATURE)
    watch->outdoors_group = i;
  else if (g->of == FEEDS_OF_SUITE && g->what == FEEDS_ALARM)
    watch->alarm_group = i;
}

void groups_make(struct watch *watch)
{
  find_groups(watch);
  make_room(watch);
  for (int i = 0; i < watch->group_count; i++)
    place(watch, i);
}
