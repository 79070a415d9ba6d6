/*
 * From a facility to a network: which nodes and links there are.  Their values are
 * set in values.c.
 */
#include "air/air_impl.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- the shape: which links there are ---- */

static const char *derived_id(struct air *air, const char *id, const char *suffix)
{
  return air_say(&air->arena, "%s/%s", id, suffix);
}

static int add_link(struct air *air, enum air_link_kind kind, int index, int feed, const char *id,
                    int from, int to)
{
  int i = air->problem.link_count++;

  air->meanings[i] = (struct air_link_meaning){kind, index, feed, id};
  air->links[i] = (struct net_link){
      .from = from,
      .to = to,
      .law = NET_SHUT,
      .members = &air->members[i * AIR_MEMBERS_PER_LINK],
      .held = NET_NONE,
      .over = NET_NONE,
      .most_kg_s = INFINITY,
  };
  return i;
}

static void add_passive_links(struct air *air)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->leak_count; i++)
    add_link(air, AIR_LINK_LEAK, i, -1, f->leaks[i].part.id, f->leaks[i].from, f->leaks[i].to);
  for (int i = 0; i < f->door_count; i++)
    air->door_link[i] =
        add_link(air, AIR_LINK_DOOR, i, -1, f->doors[i].part.id, f->doors[i].from, f->doors[i].to);
  for (int i = 0; i < f->duct_count; i++)
    air->duct_link[i] =
        add_link(air, AIR_LINK_DUCT, i, -1, f->ducts[i].part.id, f->ducts[i].from, f->ducts[i].to);
  for (int i = 0; i < f->fan_count; i++) {
    const struct facility_fan *fan = &f->fans[i];

    air->fan_link[i] = add_link(air, AIR_LINK_FAN, i, -1, fan->part.id, fan->from, fan->to);
    air->stopped_link[i] = -1;
    if (fan->open_when_stopped)
      air->stopped_link[i] = add_link(air, AIR_LINK_FAN_STOPPED, i, -1,
                                      derived_id(air, fan->part.id, "stopped"), fan->from, fan->to);
  }
}

static void add_decreed_links(struct air *air)
{
  const struct facility *f = air->facility;
  int outdoors = facility_node_outdoors(f);

  for (int i = 0; i < f->exhaust_count; i++)
    air->exhaust_link[i] =
        add_link(air, AIR_LINK_EXHAUST, i, -1, f->exhausts[i].part.id, f->exhausts[i].from,
                 f->exhausts[i].to >= 0 ? f->exhausts[i].to : outdoors);
  for (int i = 0; i < f->station_count; i++)
    air->station_link[i] =
        add_link(air, AIR_LINK_STATION, i, -1, f->stations[i].part.id, f->stations[i].room,
                 f->stations[i].joins >= 0 ? f->stations[i].joins : outdoors);
  for (int i = 0; i < f->supply_count; i++) {
    const struct facility_supply *s = &f->supplies[i];
    int from = s->has_most ? facility_node_plenum(f, i) : outdoors;

    air->unit_link[i] = -1;
    if (s->has_most)
      air->unit_link[i] = add_link(air, AIR_LINK_UNIT, i, -1, s->part.id, outdoors, from);
    for (int j = 0; j < s->feed_count; j++)
      air->feed_link[i][j] =
          add_link(air, AIR_LINK_FEED, i, j, s->feeds[j].part.id, from, s->feeds[j].room);
  }
}

static int count_links(const struct facility *f)
{
  int count = f->leak_count + f->door_count + f->duct_count + 2 * f->fan_count + f->exhaust_count +
              f->station_count + f->supply_count;

  for (int i = 0; i < f->supply_count; i++)
    count += f->supplies[i].feed_count;
  return count;
}

static bool make_room(struct air *air)
{
  const struct facility *f = air->facility;
  struct arena *a = &air->arena;
  size_t links = (size_t)count_links(f) + 1, nodes = (size_t)facility_node_count(f) + 1;

  air->nodes = ARENA_ARRAY(a, struct net_node, nodes);
  air->links = ARENA_ARRAY(a, struct net_link, links);
  air->members = ARENA_ARRAY(a, struct net_member, links * AIR_MEMBERS_PER_LINK);
  air->meanings = ARENA_ARRAY(a, struct air_link_meaning, links);
  air->fans = ARENA_ARRAY(a, struct net_fan, (size_t)f->fan_count + 1);
  air->density_kg_m3 = ARENA_ARRAY(a, double, nodes);
  air->unmodelled = ARENA_ARRAY(a, bool, nodes);
  air->station_link = ARENA_ARRAY(a, int, (size_t)f->station_count + 1);
  air->exhaust_link = ARENA_ARRAY(a, int, (size_t)f->exhaust_count + 1);
  air->door_link = ARENA_ARRAY(a, int, (size_t)f->door_count + 1);
  air->duct_link = ARENA_ARRAY(a, int, (size_t)f->duct_count + 1);
  air->fan_link = ARENA_ARRAY(a, int, (size_t)f->fan_count + 1);
  air->stopped_link = ARENA_ARRAY(a, int, (size_t)f->fan_count + 1);
  air->unit_link = ARENA_ARRAY(a, int, (size_t)f->supply_count + 1);
  air->feed_link = ARENA_ARRAY(a, int *, (size_t)f->supply_count + 1);
  for (int i = 0; i < f->supply_count; i++)
    air->feed_link[i] = ARENA_ARRAY(a, int, (size_t)f->supplies[i].feed_count + 1);
  return true;
}

/* A file without one leak, door, duct or fan: plant totals and stations only. */
bool air_is_bare(const struct facility *f)
{
  return f->leak_count + f->door_count + f->duct_count + f->fan_count == 0;
}

/* A node that no law touches, only decreed flows, has no pressure to speak of:
 * it takes what air it needs.  Marking it keeps a coarse suite answerable. */
static void mark_unmodelled(struct air *air)
{
  const struct facility *f = air->facility;
  int outdoors = facility_node_outdoors(f);
  bool bare = air_is_bare(f);

  for (int i = 0; i < air->problem.node_count; i++)
    air->unmodelled[i] = i != outdoors && !air->nodes[i].fixed;
  for (int i = 0; i < air->problem.link_count; i++) {
    const struct air_link_meaning *m = &air->meanings[i];
    bool by_law = m->kind <= AIR_LINK_FAN_STOPPED || (m->kind == AIR_LINK_UNIT && !bare);

    if (m->kind == AIR_LINK_STATION)
      by_law = f->stations[m->index].joins >= 0;
    if (m->kind == AIR_LINK_EXHAUST)
      by_law = air->links[i].to != outdoors;
    if (m->kind == AIR_LINK_FEED)
      by_law = f->supplies[m->index].feeds[m->feed].form == FACILITY_FEED_HOLDS ||
               (!bare && f->supplies[m->index].feeds[m->feed].form == FACILITY_FEED_FOLLOWS);
    if (by_law) {
      air->unmodelled[air->links[i].from] = false;
      air->unmodelled[air->links[i].to] = false;
    }
  }
  for (int i = 0; i < f->junction_count; i++)
    if (f->junctions[i].gives_m3_s != 0.0)
      air->unmodelled[f->room_count + i] = false;
}

static enum err_code refuse_what_cannot_be(const struct facility *f, struct err *err)
{
  if (f->main_count + f->supply_count > AIR_POOLS_MAX)
    return err_set(err, ERR_LIMIT, "%d mains and supplies; at most %d are judged together",
                   f->main_count + f->supply_count, AIR_POOLS_MAX);
  for (int i = 0; i < f->station_count; i++)
    if (f->stations[i].flow == FACILITY_PASSIVE && f->stations[i].joins < 0)
      return err_set(err, ERR_INPUT,
                     "station %s is passive, so its main needs a network: give main %s an 'at'",
                     f->stations[i].part.id, f->mains[f->stations[i].main].part.id);
  return ERR_OK;
}

/* The solver refuses by number; a person knows the ids of the file. */
static void name_link(const struct air *air, struct err *err)
{
  char *rest, named[sizeof err->text];

  if (strncmp(err->text, "link ", 5) != 0)
    return;
  long link = strtol(err->text + 5, &rest, 10);

  snprintf(named, sizeof named, "%s%s", air->meanings[link].id, rest);
  memcpy(err->text, named, sizeof named);
}

enum err_code air_network_build(struct air *air, struct err *err)
{
  const struct facility *f = air->facility;
  enum err_code code = refuse_what_cannot_be(f, err);
  struct scene scene;

  if (code != ERR_OK)
    return code;
  make_room(air);
  air->problem.node_count = facility_node_count(f);
  add_passive_links(air);
  add_decreed_links(air);
  air->problem.nodes = air->nodes;
  air->problem.links = air->links;

  scene = scene_parked(f, &air->arena);
  air->last = scene;
  air_values_nodes(air, &scene);
  mark_unmodelled(air);
  air_values_all(air, &scene);
  air->net = net_new(&air->problem, err);
  if (!air->net && err)
    name_link(air, err);
  return air->net ? ERR_OK : ERR_INPUT;
}

double air_link_flow_m3_s(const struct air *air, int link)
{
  const struct net_link *l = &air->links[link];
  double g = net_flow_kg_s(air->net, link);
  enum air_link_kind kind = air->meanings[link].kind;
  int entering = g >= 0.0 ? l->from : l->to;

  if (air->failed)
    return (double)NAN;
  if (kind == AIR_LINK_UNIT || kind == AIR_LINK_FEED) /* a supply's flows are of supplied air */
    entering = facility_node_plenum(air->facility, air->meanings[link].index);
  return g / air->density_kg_m3[entering];
}

double air_station_branch_drop_Pa(const struct air *air, int station)
{
  int link = air->station_link[station];
  double drop = 0.0;

  for (int i = 0; i < air->links[link].member_count; i++)
    drop += net_member_drop_Pa(air->net, link, i);
  return drop;
}
