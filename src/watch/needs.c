#include "watch/watch_impl.h"

/* Whom it concerns that something is not known; the table of watch.h. */

static void need_main(struct believer *b, struct watch_gap *gap, int main)
{
  gap->of_main[main] = true;
  gap->needed = b->main_not_known[main] = b->out->any_not_known = true;
}

static void need_one_supply(struct believer *b, struct watch_gap *gap, int supply)
{
  gap->of_supply[supply] = true;
  gap->needed = b->supply_not_known[supply] = b->out->any_not_known = true;
}

static bool feeds_room(const struct facility_supply *supply, int node)
{
  for (int i = 0; i < supply->feed_count; i++)
    if (supply->feeds[i].room == node)
      return true;
  return false;
}

static void need_supplies_of(struct believer *b, struct watch_gap *gap, int node)
{
  for (int i = 0; i < b->f->supply_count; i++)
    if (feeds_room(&b->f->supplies[i], node))
      need_one_supply(b, gap, i);
}

static void need_mains_of(struct believer *b, struct watch_gap *gap, int node)
{
  for (int i = 0; i < b->f->station_count; i++)
    if (b->f->stations[i].room == node)
      need_main(b, gap, b->f->stations[i].main);
}

void need_station(struct believer *b, struct watch_gap *gap, int station)
{
  need_main(b, gap, b->f->stations[station].main);
  need_supplies_of(b, gap, b->f->stations[station].room);
}

static bool is_by_measured(const struct facility_declared *d)
{
  return d->given && d->demand_measured;
}

bool station_flow_is_demand(const struct facility *f, int station)
{
  const struct facility_station *s = &f->stations[station];
  bool is = is_by_measured(&f->mains[s->main].declared);

  for (int i = 0; i < f->supply_count; i++)
    is = is || (is_by_measured(&f->supplies[i].declared) && feeds_room(&f->supplies[i], s->room));
  return is;
}

void need_measured_flow(struct believer *b, struct watch_gap *gap, int station)
{
  const struct facility_station *s = &b->f->stations[station];

  if (is_by_measured(&b->f->mains[s->main].declared))
    need_main(b, gap, s->main);
  for (int i = 0; i < b->f->supply_count; i++)
    if (is_by_measured(&b->f->supplies[i].declared) && feeds_room(&b->f->supplies[i], s->room))
      need_one_supply(b, gap, i);
}

void need_room(struct believer *b, struct watch_gap *gap, int node)
{
  need_supplies_of(b, gap, node);
  need_mains_of(b, gap, node);
}

void need_fan(struct believer *b, struct watch_gap *gap, int fan)
{
  bool named = false;

  for (int i = 0; i < b->f->main_count; i++)
    for (int k = 0; k < b->f->mains[i].fan_count; k++)
      if (b->f->mains[i].fans[k] == fan) {
        need_main(b, gap, i);
        named = true;
      }
  if (named)
    return;
  need_room(b, gap, b->f->fans[fan].from);
  need_room(b, gap, b->f->fans[fan].to);
}

void need_supply(struct believer *b, struct watch_gap *gap, int supply)
{
  need_one_supply(b, gap, supply);
  for (int i = 0; i < b->f->supplies[supply].feed_count; i++)
    need_mains_of(b, gap, b->f->supplies[supply].feeds[i].room);
}

void need_all(struct believer *b, struct watch_gap *gap)
{
  for (int i = 0; i < b->f->main_count; i++)
    need_main(b, gap, i);
  for (int i = 0; i < b->f->supply_count; i++)
    need_one_supply(b, gap, i);
  b->out->any_not_known = gap->needed = true; /* a suite without pools, too */
}
