/* What can be read in a suite, by the words of a table, and which of it a mistyped id may have meant. */
#include "match/match_impl.h"

#include "base/spelling.h"

#include <string.h>
#include <strings.h>

enum { APART_MOST = 2, SHOWN_MOST = 4 };

struct looking {
  const struct facility *f;
  const char *wanted, *near;
  int apart, count;
  const char *shown[SHOWN_MOST];
};

static void look_at(struct looking *l, const struct match_quantity *q)
{
  const char *id = match_id(l->f, q);
  int apart = spelling_distance(l->wanted, strlen(l->wanted), id, APART_MOST);

  if (l->count < SHOWN_MOST)
    l->shown[l->count] = id;
  l->count++;
  if (apart < l->apart) {
    l->apart = apart;
    l->near = id;
  }
}

static void look_at_all(struct looking *l, enum match_what what, int count)
{
  for (int i = 0; i < count; i++) {
    struct match_quantity q = {what, i, 0};

    look_at(l, &q);
  }
}

static void look_at_flows(struct looking *l)
{
  look_at_all(l, MATCH_STATION, l->f->station_count);
  look_at_all(l, MATCH_SUPPLY, l->f->supply_count);
  for (int i = 0; i < l->f->supply_count; i++)
    for (int k = 0; k < l->f->supplies[i].feed_count; k++) {
      struct match_quantity q = {MATCH_FEED, i, k};

      look_at(l, &q);
    }
  look_at_all(l, MATCH_MAIN, l->f->main_count);
  look_at_all(l, MATCH_EXHAUST, l->f->exhaust_count);
}

static const char *list_words(const struct looking *l, struct arena *arena)
{
  const char *all = "";

  for (int i = 0; all && i < l->count && i < SHOWN_MOST; i++)
    all = arena_printf(arena, "%s%s%s", all, i > 0 ? ", " : "", l->shown[i]);
  return all && l->count > SHOWN_MOST ? arena_printf(arena, "%s ...", all) : all;
}

const char *match_no_such(const struct facility *f, const char *what, const char *id,
                          struct arena *arena)
{
  struct looking l = {.f = f, .wanted = id, .apart = APART_MOST + 1};
  const char *help;

  if (strcasecmp(what, "speed") == 0)
    look_at_all(&l, MATCH_SPEED, f->fan_count);
  else if (strcasecmp(what, "face velocity") == 0)
    look_at_all(&l, MATCH_FACE, f->station_count);
  else if (strcasecmp(what, "pressure") == 0)
    look_at_all(&l, MATCH_PRESSURE, facility_node_count(f));
  else
    look_at_flows(&l);
  if (l.near && l.apart < (int)strlen(id)) /* not another word altogether */
    help = arena_printf(arena, "; is it '%s'?", l.near);
  else if (l.count == 0)
    help = ", and nothing else in it has: take the row out";
  else
    help = arena_printf(arena, "; it is read of: %s", list_words(&l, arena));
  return arena_printf(arena, "'%.40s' has no %s in this suite%s", id, what, help ? help : "");
}
