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

bool facility_has(const struct facility *facility, const char *id)
{
  int unit;

  return facility_station_find(facility, id) >= 0 || facility_node_find(facility, id) >= 0 ||
         facility_door_find(facility, id) >= 0 || facility_duct_find(facility, id) >= 0 ||
         facility_supply_find(facility, id) >= 0 || facility_fan_find(facility, id, &unit) >= 0 ||
         main_find(facility, id) >= 0 || exhaust_find(facility, id) >= 0;
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

const char *facility_nearest_id(const struct facility *facility, const char *id)
{
  struct nearest n = {.wanted = id, .apart = APART_MOST + 1};

  for (int i = 0; i < facility->station_count; i++)
    look_at(&n, facility->stations[i].part.id);
  for (int i = 0; i < facility_node_count(facility); i++)
    look_at(&n, facility_node_id(facility, i));
  for (int i = 0; i < facility->door_count; i++)
    look_at(&n, facility->doors[i].part.id);
  for (int i = 0; i < facility->main_count; i++)
    look_at(&n, facility->mains[i].part.id);
  for (int i = 0; i < facility->fan_count; i++)
    look_at(&n, facility->fans[i].part.id);
  for (int i = 0; i < facility->supply_count; i++)
    look_at(&n, facility->supplies[i].part.id);
  for (int i = 0; i < facility->duct_count; i++)
    look_at(&n, facility->ducts[i].part.id);
  for (int i = 0; i < facility->exhaust_count; i++)
    look_at(&n, facility->exhausts[i].part.id);
  return n.apart < (int)strlen(id) ? n.id : NULL; /* not another word altogether */
}
