#include "facility/reader_impl.h"

#include <string.h>

/* ---- nodes ---- */

int facility_node_count(const struct facility *facility)
{
  return facility->room_count + facility->junction_count + 1 + facility->supply_count;
}

int facility_node_outdoors(const struct facility *facility)
{
  return facility->room_count + facility->junction_count;
}

int facility_node_plenum(const struct facility *facility, int supply)
{
  BUG_IF(supply < 0 || supply >= facility->supply_count);
  return facility_node_outdoors(facility) + 1 + supply;
}

const char *facility_node_id(const struct facility *facility, int node)
{
  int outdoors = facility_node_outdoors(facility);

  BUG_IF(node < 0 || node >= facility_node_count(facility));
  if (node < facility->room_count)
    return facility->rooms[node].part.id;
  if (node < outdoors)
    return facility->junctions[node - facility->room_count].part.id;
  return node == outdoors ? "outdoors" : facility->supplies[node - outdoors - 1].plenum_id;
}

int facility_node_find(const struct facility *facility, const char *id)
{
  for (int node = 0; node < facility_node_count(facility); node++)
    if (strcmp(facility_node_id(facility, node), id) == 0)
      return node;
  return -1;
}

const char *facility_kind_name(enum facility_station_kind kind)
{
  static const char *const names[] = {[FACILITY_FUME_HOOD] = "fume hood",
                                      [FACILITY_WET_BENCH] = "wet bench",
                                      [FACILITY_CABINET] = "ventilated cabinet",
                                      [FACILITY_OTHER_KIND] = "other"};

  return names[kind];
}

/* ---- parts by id: every part struct begins with its facility_part ---- */

static int find(const void *parts, int count, size_t size, const char *id)
{
  for (int i = 0; i < count; i++) {
    const struct facility_part *part =
        (const struct facility_part *)(const void *)((const char *)parts + (size_t)i * size);

    if (strcmp(part->id, id) == 0)
      return i;
  }
  return -1;
}

int facility_station_find(const struct facility *facility, const char *id)
{
  return find(facility->stations, facility->station_count, sizeof *facility->stations, id);
}

int facility_door_find(const struct facility *facility, const char *id)
{
  return find(facility->doors, facility->door_count, sizeof *facility->doors, id);
}

int facility_duct_find(const struct facility *facility, const char *id)
{
  return find(facility->ducts, facility->duct_count, sizeof *facility->ducts, id);
}

int facility_supply_find(const struct facility *facility, const char *id)
{
  return find(facility->supplies, facility->supply_count, sizeof *facility->supplies, id);
}

int facility_fan_find(const struct facility *facility, const char *id, int *unit_out)
{
  char base[40];
  int unit = reader_split_unit(id, base);
  int fan =
      find(facility->fans, facility->fan_count, sizeof *facility->fans, unit >= 0 ? base : id);

  if (fan < 0 || unit >= facility->fans[fan].count)
    return -1;
  if (unit_out)
    *unit_out = unit;
  return fan;
}
