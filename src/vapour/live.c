/* A live scene: what of it is not known now, and what that leaves unanswered. */
#include "vapour/vapour_impl.h"

#include <string.h>

enum { SAID_MOST = 8 }; /* the board's own page has all of them */

static bool draws_from_room(const struct vapour_work *w, int main)
{
  const struct facility *f = w->facility;

  if (w->out->station >= 0)
    return f->stations[w->out->station].main == main;
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].room == w->out->room && f->stations[i].main == main)
      return true;
  return false;
}

static bool feeds_room(const struct facility_supply *supply, int room)
{
  for (int i = 0; i < supply->feed_count; i++)
    if (supply->feeds[i].room == room)
      return true;
  return false;
}

/* Its own sash is supposed to be parked, and to matter to nothing where the fans stand. */
static bool is_of_own_sash(const struct vapour_work *w, const struct vapour_gap *gap)
{
  return w->out->station >= 0 &&
         strcmp(gap->about, w->facility->stations[w->out->station].part.id) == 0;
}

static bool concerns(const struct vapour_work *w, const struct vapour_gap *gap,
                     enum vapour_when when)
{
  const struct facility *f = w->facility;

  if (when != VAPOUR_NOW && is_of_own_sash(w, gap))
    return false;
  for (int i = 0; i < f->main_count && when != VAPOUR_STOPPED; i++)
    if (gap->of_main[i] && draws_from_room(w, i))
      return true;
  for (int i = 0; i < f->supply_count; i++)
    if (gap->of_supply[i] && feeds_room(&f->supplies[i], w->out->room))
      return true;
  return false;
}

const char *vapour_live_gap(const struct vapour_work *w, enum vapour_when when)
{
  const struct vapour_live *live = w->out->live;

  for (int i = 0; live && i < live->gap_count; i++)
    if (concerns(w, &live->gaps[i], when))
      return live->gaps[i].text;
  return NULL;
}

static void add_some(struct vapour_work *w, const char **list, int *count, const char *text, int n)
{
  if (n < SAID_MOST)
    vapour_add(list, count, text);
  else if (n == SAID_MOST)
    vapour_add(list, count, arena_printf(w->arena, "and more: the board's own page has them all"));
}

void vapour_live_unknown(struct vapour_work *w)
{
  struct vapour_answer *a = w->out;
  const struct vapour_live *live = a->live;
  int said = 0;

  for (int i = 0; live && i < live->gap_count; i++)
    if (concerns(w, &live->gaps[i], VAPOUR_NOW))
      add_some(w, a->unknown, &a->unknown_count,
               arena_printf(w->arena, "now: %s", live->gaps[i].text), said++);
  for (int i = 0; live && i < live->assumed_count; i++)
    add_some(w, a->assumed, &a->assumed_count, live->assumed[i], i);
  if (w->measured_words)
    vapour_add(a->assumed, &a->assumed_count, w->measured_words);
}
