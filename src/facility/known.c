/* Which ids an entry may be about, and the one that a mistyped word may have meant. */
#include "facility/facility.h"

#include "base/spelling.h"

#include <string.h>

enum { APART_MOST = 2 };

static int main_find(const struct facility *f, const char *id)
{
  for (int i = 0; i < f->main_count; i++)
    if (strcmp(f->mains[i].part.id, id) == 0)
      return i;
  return -1;
}

static int exhaust_find(const struct facility *f, const char *id)
{
  for (int i = 0; i < f->exhaust_count; i++)
    if (strcmp(f->exhausts[i].part.id, id) == 0)
      return i;
  return -1;
}

bool facility_has(const struct facility *f, const char *id)
{
  int unit;

  return facility_station_find(f, id) >= 0 || facility_node_find(f, id) >= 0 ||
         facility_door_find(f, id) >= 0 || facility_duct_find(f, id) >= 0 ||
         facility_supply_find(f, id) >= 0 || facility_fan_find(f, id, &unit) >= 0 ||
         main_find(f, id) >= 0 || exhaust_find(f, id) >= 0;
}

struct nearest {
  const char *id, *wanted;
  int apart;
};

static void look_at(struct nearest *n, const char *id)
{
  int apart = spelling_distance(n->wanted, strlen(n->wanted), id, APART_MOST);

  if (apart < n->apart) {
    n->apart = apart;
    n->id = id;
  }
}

const char *facility_nearest_id(const struct facility *f, const char *id)
{
  struct nearest n = {.wanted = id, .apart = APART_MOST + 1};

  for (int i = 0; i < f->station_count; i++)
    look_at(&n, f->stations[i].part.id);
  for (int i = 0; i < facility_node_count(f); i++)
    look_at(&n, facility_node_id(f, i));
  for (int i = 0; i < f->door_count; i++)
    look_at(&n, f->doors[i].part.id);
  for (int i = 0; i < f->main_count; i++)
    look_at(&n, f->mains[i].part.id);
  for (int i = 0; i < f->fan_count; i++)
    look_at(&n, f->fans[i].part.id);
  for (int i = 0; i < f->supply_count; i++)
    look_at(&n, f->supplies[i].part.id);
  for (int i = 0; i < f->duct_count; i++)
    look_at(&n, f->ducts[i].part.id);
  for (int i = 0; i < f->exhaust_count; i++)
    look_at(&n, f->exhausts[i].part.id);
  return n.apart < (int)strlen(id) ? n.id : NULL; /* not another word altogether */
}
