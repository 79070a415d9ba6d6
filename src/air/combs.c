/*
 * All sets of stations at once, where the network is one room and one header (net/comb.h).
 *
 * What a set may not miss is turned round into bounds of flows and pressures, once for a station parked
 * and once for it at work, so that the lanes need not know what a criterion is.  Each bound is what
 * outcome.c checks, solved for the flow.  What the lanes leave open is looked at one by one.
 */
#include "air/bounds_impl.h"

#include <math.h>

/* Above that many asked for, of a table, the lanes save nothing: few of its sets are of their kind. */
enum { ASKED_FREE = 128, SETS_PER_ASKED = 32 };

struct asking {
  struct air_sets *sets;
  int room, far;
  long *budget;
  long asked, most_asked;
  bool cut;
};

/* ---- what a station may not miss ---- */

/* Flows are of the air that enters: a station's, of its room. */
static void put_bound(const struct air *air, int station, const struct air_range *range, int open,
                      struct net_comb_bound *bounds)
{
  int link = air->station_link[station];
  double rho = air->density_kg_m3[air->links[link].from];

  bounds[link].least_kg_s[open] = range->least_m3_s * rho;
  bounds[link].most_kg_s[open] = range->most_m3_s * rho;
}

static bool bind_stations(struct air_sets *s, struct net_comb_bound *bounds)
{
  const struct air *air = s->search.air;

  for (int l = 0; l < air->problem.link_count; l++)
    bounds[l] = (struct net_comb_bound){{-(double)INFINITY, -(double)INFINITY},
                                        {(double)INFINITY, (double)INFINITY}};
  for (int i = 0; i < air->facility->station_count; i++)
    for (int open = 0; open < 2; open++) {
      const struct scene *scene = open ? &s->raised : &s->parked;
      bool moved = open && scene->stations[i].raised;
      struct air_range range;

      if (!air_station_range(air, scene, i, moved ? s->search.at_work[i] : s->search.own_fault[i],
                             &range))
        return false;
      put_bound(air, i, &range, open, bounds);
    }
  return true;
}

/* ---- what the plant may not miss, as pressures ---- */

static bool is_given(const struct air *air, int node)
{
  return air->nodes[node].fixed && !air->unmodelled[node];
}

/* Is anything judged besides one room, one supply without declared rules, and mains without them? */
static bool judges_more(const struct air *air, int room)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->room_count; i++)
    if (i != room && !air->unmodelled[i])
      return true;
  for (int p = 0; p < f->main_count; p++)
    if (f->mains[p].declared.given)
      return true;
  if (f->supply_count == 0)
    return false;
  return f->supply_count > 1 || f->supplies[0].feed_count != 1 || f->supplies[0].declared.given;
}

static bool bind_keeps(const struct air *air, int room, struct net_comb_bounds *b)
{
  const struct facility *f = air->facility;

  for (int j = 0; j < f->rooms[room].keep_count; j++) {
    const struct facility_keep *k = &f->rooms[room].keeps[j];
    double over_Pa = air->nodes[k->over].pressure_Pa;

    if (air->unmodelled[k->over])
      continue; /* the file cannot tell */
    if (!is_given(air, k->over))
      return false;
    if (k->has_least)
      b->room_least_Pa = fmax(b->room_least_Pa, over_Pa + k->least_Pa - f->met_tolerance_Pa);
    if (k->has_most)
      b->room_most_Pa = fmin(b->room_most_Pa, over_Pa + k->most_Pa + f->met_tolerance_Pa);
  }
  return true;
}

static bool bind_supply(const struct air *air, int room, struct net_comb_bounds *b)
{
  const struct facility *f = air->facility;
  const struct facility_feed *feed = f->supply_count > 0 ? &f->supplies[0].feeds[0] : NULL;

  if (!feed)
    return true;
  if (feed->form != FACILITY_FEED_HOLDS || feed->room != room || !is_given(air, feed->over))
    return false;
  b->room_least_Pa = fmax(b->room_least_Pa,
                          air->nodes[feed->over].pressure_Pa + feed->hold_Pa - f->met_tolerance_Pa);
  return true;
}

static bool bind_fans(const struct air *air, struct net_comb_bounds *b)
{
  const struct facility *f = air->facility;

  for (int i = 0; i < f->fan_count; i++) {
    const struct facility_fan *fan = &f->fans[i];

    if (!fan->holds)
      continue;
    if (air->links[air->fan_link[i]].law != NET_FAN || !is_given(air, fan->hold_over))
      return false;
    b->end_most_Pa = fmin(b->end_most_Pa, air->nodes[fan->hold_over].pressure_Pa + fan->hold_Pa +
                                              f->met_tolerance_Pa);
  }
  return true;
}

/* ---- all of them ---- */

static enum net_comb_verdict look(void *arg, uint32_t set, double *room_Pa, double *far_Pa)
{
  struct asking *q = arg;
  struct air_set found;

  if (++q->asked > q->most_asked)
    return NET_COMB_STOP;
  if (*q->budget <= 0) {
    q->cut = true;
    return NET_COMB_MISSED;
  }
  --*q->budget;
  air_sets_cold(q->sets);
  air_sets_look(q->sets, set, &found);
  if (found.answered) {
    *room_Pa = air_sets_pressure_Pa(q->sets, q->room);
    *far_Pa = air_sets_pressure_Pa(q->sets, q->far);
  }
  return air_set_is_fine(&found, set) ? NET_COMB_MET : NET_COMB_MISSED;
}

static struct net_comb *comb_of(struct air_sets *s, struct arena *arena)
{
  struct air *air = s->search.air;
  struct air_kept parked, raised;
  struct err why = {0};
  int links[AIR_SETS_MAX];

  air_network_set_scene(air, &s->parked);
  if (!air_keep(&parked, air, arena))
    return NULL;
  air_network_set_scene(air, &s->raised);
  if (!air_keep(&raised, air, arena))
    return NULL;
  for (int i = 0; i < s->count; i++)
    links[i] = air->station_link[s->station[i]];
  return net_comb_new(&parked.problem, &raised.problem, s->count, links, &why);
}

static bool solve(struct air_sets *s, struct net_comb *comb, struct arena *arena,
                  struct air_sets_work *work, unsigned char *fine)
{
  const struct air *air = s->search.air;
  size_t sets = (size_t)1 << s->count;
  struct asking asking = {.sets = s,
                          .room = net_comb_room(comb),
                          .far = net_comb_far(comb),
                          .budget = work->budget,
                          .most_asked = ASKED_FREE + (long)sets / SETS_PER_ASKED};
  struct net_comb_bound *link =
      ARENA_ARRAY(arena, struct net_comb_bound, (size_t)air->problem.link_count + 1);
  struct net_comb_bounds bounds = {-(double)INFINITY, (double)INFINITY, (double)INFINITY, link};
  struct net_comb_job job = {
      .path = work->path, .bounds = &bounds, .ask = look, .arg = &asking, .verdict = fine};
  struct net_comb_report report;

  if (!link || !bind_stations(s, link) || judges_more(air, asking.room) ||
      !bind_keeps(air, asking.room, &bounds) || !bind_supply(air, asking.room, &bounds) ||
      !bind_fans(air, &bounds))
    return false;
  net_comb_all(comb, &job, &report);
  if (report.stopped)
    return false;
  for (size_t i = 0; i < sets; i++)
    fine[i] = fine[i] == NET_COMB_MET;
  work->path = report.path;
  work->asked = asking.asked;
  work->worst_kg_s = report.worst_kg_s;
  work->cut = asking.cut;
  return true;
}

bool air_sets_all(struct air_sets *s, struct air_sets_work *work, unsigned char *fine)
{
  struct arena arena;
  struct net_comb *comb;
  bool done;

  if (s->count > AIR_SETS_ALL_MAX)
    return false;
  arena_init(&arena, (size_t)1 << 30);
  comb = comb_of(s, &arena);
  done = comb && solve(s, comb, &arena, work, fine);
  net_comb_free(comb);
  arena_release(&arena);
  air_sets_cold(s);
  return done;
}
